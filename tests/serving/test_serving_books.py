"""The server for the files of a book: what is wrong in them, what their words mean, where what they name stands."""

from __future__ import annotations

import re
from pathlib import Path
from typing import Any

import pytest
from lsprotocol import types as lsp
from pygls.exceptions import JsonRpcException

pytestmark = pytest.mark.asyncio(loop_scope="module")

BOOK = """\
book mine
  title   "Mine"
  scope   "lines"
  edition "first"
  setting rod-apart 10 ft known common practice because "a habit of ours 😋"
"""
RULE = """\
# what we ask 😋
condition stands (rod rod) means
  distance of rod >= rod-apart

rule rod-stands-off
  level    warning
  title    "A rod stands off"
  cites    common practice, no source
  known    common practice
  because  "its rise would reach the pole"
  at       set rod
  require  stands(rod)
  say      "{rod} is near"
  passes
    | set R1 at 212, 16 ft from the pole, 6 ft deep
  fails
    > set R1 at 212, 2 ft from the pole, 6 ft deep
"""
BASE = "line L\nstructure 212\nrod R1\n"


def book(editor: Any) -> tuple[str, str]:
    folder = editor.folder / "rules" / "mine"
    (folder / "bases").mkdir(parents=True, exist_ok=True)
    (folder / "bases" / "base.tpg").write_text(BASE)
    (folder / "book.book").write_text(BOOK)
    (folder / "off.rule").write_text(RULE)
    return editor.open("rules/mine/book.book", BOOK), editor.open("rules/mine/off.rule", RULE)


async def test_a_sound_book_shows_nothing_and_a_mistake_is_shown_where_it_stands(editor: Any) -> None:
    of_book, of_rule = book(editor)
    assert await editor.reviewed(of_book) == []
    assert await editor.reviewed(of_rule) == []
    at = RULE.index("stands(rod)")
    editor.change(of_rule, at, at + len("stands"), "stand")
    (wrong,) = await editor.reviewed(of_rule)
    assert editor.stretch(of_rule, wrong.range).startswith("stand")
    assert wrong.severity == lsp.DiagnosticSeverity.Error
    assert "stand" in wrong.message
    asked = lsp.CodeActionParams(editor.of(of_rule), wrong.range, lsp.CodeActionContext([wrong]))
    (action,) = await editor.client.text_document_code_action_async(asked)
    assert editor.edited(of_rule, action.edit.changes[of_rule]) == RULE
    editor.change(of_book, 0, 0, "# 😋\n")
    (other,) = await editor.reviewed(of_book)
    assert "off.rule" in other.message  # a book with a mistake in any file reviews nothing
    editor.write(of_rule, RULE)
    assert await editor.reviewed(of_rule) == []
    assert (editor.folder / "rules" / "mine" / "off.rule").read_text() == RULE


async def test_what_a_book_names_is_found(editor: Any) -> None:
    of_book, of_rule = book(editor)
    ask = editor.client.text_document_definition_async
    (condition,) = await ask(lsp.DefinitionParams(**editor.at(of_rule, "stands(rod)", 2)))
    assert (condition.uri, editor.stretch(of_rule, condition.range)) == (of_rule, "stands")
    (setting,) = await ask(lsp.DefinitionParams(**editor.at(of_rule, "rod-apart", 2)))
    assert (setting.uri, editor.stretch(of_book, setting.range)) == (of_book, "rod-apart")
    editor.write(of_book, BOOK + '  adopt practice\n  retire leave-before-removal because "ours are long"\n')
    (rule,) = await ask(lsp.DefinitionParams(**editor.at(of_book, "leave-before-removal", 2)))
    assert rule.uri.endswith(".rule")
    (shipped,) = await ask(lsp.DefinitionParams(**editor.at(of_book, "practice\n", 2)))
    assert shipped.uri.endswith("/practice/book.book")
    editor.write(of_rule, RULE.replace("  passes", "  passes on base"))
    (base,) = await ask(lsp.DefinitionParams(**editor.at(of_rule, "on base", 4)))
    assert base.uri == Path(editor.folder / "rules" / "mine" / "bases" / "base.tpg").as_uri()
    assert not await ask(lsp.DefinitionParams(**editor.at(of_rule, "its rise", 5)))


async def test_words_of_rules_are_explained_and_coloured(editor: Any) -> None:
    _, of_rule = book(editor)
    ask = editor.client.text_document_hover_async
    clause = await ask(lsp.HoverParams(**editor.at(of_rule, "require", 2)))
    assert "what must hold" in clause.contents.value
    fact = await ask(lsp.HoverParams(**editor.at(of_rule, "distance", 2)))
    assert "distance of rod" in fact.contents.value
    found = await editor.client.text_document_semantic_tokens_full_async(lsp.SemanticTokensParams(editor.of(of_rule)))
    assert len(found.data) % 5 == 0
    assert list(found.data[:5]) == [0, 0, len("# what we ask 😋") + 1, found.data[3], 0]
    parts = await editor.client.text_document_document_symbol_async(lsp.DocumentSymbolParams(editor.of(of_rule)))
    assert [one.name for one in parts] == ["condition stands", "rule rod-stands-off"]


@pytest.mark.parametrize(
    ("written", "offered", "not_offered"),
    [
        ("\n", "rule condition book", "level require"),
        ("\nrule other\n  ", "level require fails", "rule adopt"),
        ("\nrule other\n  level ", "danger notice", "require known"),
        ("\nrule other\n  known ", "published", "danger"),
        ("\nrule other\n  at ", "set attach goes-on each", "rod-apart at"),
        ("\nrule other\n  at attach ", "lead to by", "set at"),
        ("\nrule other\n  at attach lead to p point\n  require ", "lead p it each stands rod-apart", "stick and"),
        ("\nrule other\n  at attach lead to point\n  require lead is ", "on not known", "length dead"),
        ("\nrule other\n  at attach lead to point\n  require earlier did ", "set goes-on", "lead each"),
        ("\nrule other\n  at attach lead to point\n  require each ", "bar lead", "on lead-side"),
        ("\nrule other\n  at attach lead to point\n  require each w worker: w is 😋 and ", "", "on w"),
        ("\nrule other\n  at attach lead to point\n  require each w worker: ", "w lead it", "worker"),
        ("\nrule other\n  for r rod where ", "r distance", "means"),
        ("\nrule other\n  repair ", "before bring", "first"),
        ("\nrule other\n  repair before ", "first last", "set"),
        ("\nrule other\n  repair before last ", "set goes-on", "first"),
        ("\nrule other\n  passes on ", "base", "practice"),
        ("\nrule other\n  passes\n    | ", "attach lead", "require"),
        ("\nrule other\n  lacks ", "unshown", "passes"),
        ('\nrule other\n  say "', "", "rule require"),
        ("\n# ", "", "rule"),
        ("\ncondition other (r ", "rod", "means"),
        ("\ncondition other (r rod) ", "means", "rod"),
        ("\ncondition other (r rod) means ", "r distance rod-apart", "means"),
    ],
)
async def test_what_could_be_written_next_in_a_rule(editor: Any, written: str, offered: str, not_offered: str) -> None:
    _, of_rule = book(editor)
    editor.write(of_rule, RULE + written)
    found = await offers(editor, of_rule)
    assert set(offered.split()) <= found
    assert not found & set(not_offered.split())


@pytest.mark.parametrize(
    ("written", "offered", "not_offered"),
    [
        ("  ", "adopt setting retire", "require level"),
        ("  adopt ", "practice electrical", "mine rod-apart"),
        ("  adopt practice\n  retire ", "leave-before-removal rod-stands-off", "rod-apart because"),
        ("  adopt practice\n  retire leave-before-removal ", "because", "leave-before-removal"),
        ("  adopt practice\n  raise leave-before-removal ", "to because", "danger"),
        ("  adopt practice\n  raise leave-before-removal to ", "danger", "published"),
        ("  adopt practice\n  set ", "rod-apart rod-distance", "leave-before-removal"),
        ("  setting other 3 ft known ", "published", "danger"),
        ("  take a, b from ", "practice", "mine"),
    ],
)
async def test_what_could_be_written_next_in_a_book(editor: Any, written: str, offered: str, not_offered: str) -> None:
    of_book, _ = book(editor)
    editor.write(of_book, BOOK + written)
    found = await offers(editor, of_book)
    assert set(offered.split()) <= found
    assert not found & set(not_offered.split())


async def offers(editor: Any, uri: str) -> set[str]:
    """What is offered at the end of a text; what is taken stands after what is written."""
    text = editor.texts[uri]
    items = await editor.client.text_document_completion_async(lsp.CompletionParams(**editor.at(uri, text, len(text))))
    assert all(editor.edited(uri, [item.text_edit]) == text + item.text_edit.new_text for item in items)
    return {item.label for item in items}


async def test_a_word_that_is_begun_is_replaced(editor: Any) -> None:
    _, of_rule = book(editor)
    place = editor.at(of_rule, "rod-apart", 4)
    found = await editor.client.text_document_completion_async(lsp.CompletionParams(**place))
    (setting,) = [item for item in found if item.label == "rod-apart"]
    assert setting.detail == "setting"
    assert editor.stretch(of_rule, setting.text_edit.range) == "rod-"


async def test_where_a_name_of_a_book_is_named(editor: Any) -> None:
    of_book, of_rule = book(editor)
    editor.write(of_rule, RULE.replace("is near", "is near, within {rod-apart}"))

    async def named(uri: str, words: str, into: int, declaration: bool = False) -> list[tuple[str, str]]:
        asked = lsp.ReferenceParams(context=lsp.ReferenceContext(declaration), **editor.at(uri, words, into))
        found = await editor.client.text_document_references_async(asked)
        return [(one.uri, editor.stretch(one.uri, one.range)) for one in found]

    assert await named(of_book, "rod-apart", 3) == [(of_rule, "rod-apart")] * 2
    assert await named(of_rule, "rod-apart", 3, True) == [(of_book, "rod-apart"), *[(of_rule, "rod-apart")] * 2]
    assert await named(of_rule, "stands (", 1) == [(of_rule, "stands")]
    assert await named(of_rule, "distance", 1) == []  # the catalogue's
    assert await named(of_rule, "its rise", 5) == []


async def test_any_text_of_a_book_is_answered(editor: Any) -> None:
    _, of_rule = book(editor)
    for text in (
        "",
        "rule\n",
        "rule a\n\tlevel x\n",
        "(" * 900,
        "\x00\r\n\ud800",
        RULE.replace("\n", "\r\n"),
        RULE[:200],
    ):
        editor.write(of_rule, text)
        await editor.reviewed(of_rule)
        for line in range(4):
            place = {"text_document": editor.of(of_rule), "position": lsp.Position(line, 9)}
            await editor.client.text_document_hover_async(lsp.HoverParams(**place))
            await editor.client.text_document_definition_async(lsp.DefinitionParams(**place))
        await editor.client.text_document_semantic_tokens_full_async(lsp.SemanticTokensParams(editor.of(of_rule)))
        await editor.client.text_document_folding_range_async(lsp.FoldingRangeParams(editor.of(of_rule)))


async def test_a_name_that_a_book_declares_gets_another(editor: Any) -> None:
    of_book, of_rule = book(editor)
    folder = editor.folder / "rules" / "another"
    folder.mkdir(exist_ok=True)
    adopts = BOOK.replace("book mine", "book another").replace(
        BOOK.splitlines()[-1], "  adopt mine\n  set rod-apart 12 ft"
    )
    (folder / "book.book").write_text(adopts)
    of_other = editor.open("rules/another/book.book", adopts)

    async def renamed(uri: str, words: str, name: str) -> dict[str, str]:
        asked = lsp.RenameParams(new_name=name, **editor.at(uri, words, 3))
        edit = await editor.client.text_document_rename_async(asked)
        return {one: editor.edited(one, edits) for one, edits in edit.changes.items()}

    place = await editor.client.text_document_prepare_rename_async(
        lsp.PrepareRenameParams(**editor.at(of_rule, "rod-apart", 3))
    )
    assert editor.stretch(of_rule, place) == "rod-apart"
    texts = {of_book: BOOK, of_rule: RULE, of_other: adopts}
    expected = {uri: text.replace("rod-apart", "rods-apart") for uri, text in texts.items()}
    assert await renamed(of_rule, "rod-apart", "rods-apart") == expected
    assert await renamed(of_rule, "stands (", "stands-off") == {
        of_rule: RULE.replace("stands (", "stands-off (").replace("stands(rod)", "stands-off(rod)")
    }
    refused = [
        *(
            (of_rule, "rod-apart", name)
            for name in ("stands", "distance", "attach", "rule", "two words", "Rods", "", "7")
        ),
        (of_rule, "distance", "far"),
        (of_rule, "its rise", "far"),
        (of_other, "rod-apart", "rods-apart"),  # another book declares it
    ]
    for uri, words, name in refused:
        with pytest.raises(JsonRpcException):
            await renamed(uri, words, name)


async def test_files_of_a_book_are_laid_out(editor: Any) -> None:
    of_book, of_rule = book(editor)
    options = lsp.FormattingOptions(2, True)
    crooked = RULE.replace("  at       set", "  at set").replace("  fails\n    >", "  fails\n      >")
    for uri, text, straight in ((of_rule, crooked, RULE), (of_book, BOOK, re.sub(r"(?m)^  (\w+) +", _apart, BOOK))):
        editor.write(uri, text)
        asked = lsp.DocumentFormattingParams(editor.of(uri), options)
        edits = await editor.client.text_document_formatting_async(asked)
        assert editor.edited(uri, edits) == straight != text
        editor.write(uri, text.replace("  title", "\ttitle"))
        assert not await editor.client.text_document_formatting_async(asked)


def _apart(found: re.Match[str]) -> str:
    return f"  {found[1]:<8} "
