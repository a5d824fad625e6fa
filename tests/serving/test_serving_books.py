"""The server for the files of a book: what is wrong in them, what their words mean, where what they name stands."""

from __future__ import annotations

from pathlib import Path
from typing import Any

import pytest
from lsprotocol import types as lsp

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
    assert not await editor.client.text_document_completion_async(
        lsp.CompletionParams(**editor.at(of_rule, "require", 2))
    )


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
