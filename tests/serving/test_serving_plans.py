"""The server as an editor has it: each thing that can be asked of a plan, over a real process."""

from __future__ import annotations

import json
from collections.abc import Callable
from pathlib import Path
from random import Random
from typing import Any

import pytest
from lsprotocol import types as lsp
from pygls.exceptions import JsonRpcException

from groundlint.cli import main

pytestmark = pytest.mark.asyncio(loop_scope="module")

EXAMPLES = Path(__file__).resolve().parents[2] / "examples"
SOUND = (EXAMPLES / "single-point-insulator.tpg").read_text()
SHORT = """\
plan "Change the insulator at 212 😋"
line Larkspur
  voltage 12.47 kV
  phases A B C
structure 211 212 wood pole
rod R1 6 ft x 5/8 in
bar K1
lead G1 G2 2/0 copper
stick H1 8 ft
crew lineman L1
stage "ground 😋"
  1. set R1 at 212, 16 ft from the pole, 6 ft deep
  2. mount K1 at 212 below the feet
  3. attach G1 to R1, then to K1
  4. attach G2 to 212 A by H1, then to K1
stage work
  5. enter L1 at 212 on the pole, reaching A
  6. work "change it"
"""
ASKED = ("--as-of", "2026-06-30", "--book", "practice", "--book", "us-29cfr1910-269")
BROKEN = "attach G2 to 212 A by H1, then to K1"


def json_of(path: Path, capsys: pytest.CaptureFixture[str]) -> list[Any]:
    """The findings of `review --format json` of a file, as a server shows them."""
    main(["review", "--format", "json", *ASKED, str(path)])
    said = json.loads(capsys.readouterr().out)
    assert not said["failures"]
    (plan,) = said["plans"]
    places = [(one, one["place"]) for one in plan["findings"]]
    return sorted(
        (
            place["line"] - 1,
            place["utf16_column"] - 1,
            place["end_line"] - 1,
            place["utf16_end_column"] - 1,
            one["rule"],
            one["message"].split("\n")[0],
        )
        for one, place in places
    )


def seen(shown: list[lsp.Diagnostic]) -> list[Any]:
    """The same of what is shown, without what is said of the text as a whole."""
    return sorted(
        (
            one.range.start.line,
            one.range.start.character,
            one.range.end.line,
            one.range.end.character,
            one.code,
            one.message.split("\n")[0].rsplit(" (", 1)[0]
            if "steps in a row" in one.message
            else one.message.split("\n")[0],
        )
        for one in shown
        if one.code is not None
    )


async def test_findings_are_those_of_a_review(editor: Any, capsys: pytest.CaptureFixture[str]) -> None:
    for text in (SHORT, SHORT.replace("\n", "\r\n"), SHORT.replace("bar K1", "bra K1"), SOUND):
        uri = editor.open("plan.tpg", text)
        assert seen(await editor.reviewed(uri)) == json_of(editor.folder / "plan.tpg", capsys)


async def test_a_finding_says_its_rule_what_to_do_and_the_lines_behind_it(editor: Any) -> None:
    uri = editor.open("plan.tpg", SHORT)
    found = next(one for one in await editor.reviewed(uri) if one.code == "ground-end-first")
    assert found.severity == lsp.DiagnosticSeverity.Error
    assert found.source == "groundlint"
    assert "\nnext: " in found.message
    behind = next(one for one in await editor.reviewed(uri) if one.code == "clean-contact").related_information
    assert [editor.stretch(uri, one.location.range) for one in behind] == ["G2"]
    shown = await editor.client.text_document_hover_async(lsp.HoverParams(**editor.at(uri, BROKEN)))
    assert "The ground end goes on first" in shown.contents.value
    assert "29 CFR 1910.269(n)(6)(i)" in shown.contents.value


async def test_a_sound_plan_shows_nothing_and_one_that_is_not_read_shows_why(editor: Any) -> None:
    uri = editor.open("plan.tpg", SOUND)
    assert await editor.reviewed(uri) == []
    editor.write(uri, SOUND.replace("attach", "atach", 1))
    assert any(one.severity == lsp.DiagnosticSeverity.Error for one in await editor.reviewed(uri))
    editor.write(uri, SOUND + "\N{RIGHT-TO-LEFT OVERRIDE}\n")
    assert any(one.code == "direction-character" for one in await editor.reviewed(uri))


async def test_what_is_typed_letter_by_letter_comes_to_the_same(
    editor: Any, capsys: pytest.CaptureFixture[str], seeds: Callable[[int, int], range]
) -> None:
    uri = editor.open("typed.tpg", "")
    for at, letter in enumerate(SHORT):
        editor.change(uri, at, at, letter)
        if at % 40 == 0:
            asked = editor.at(uri, editor.texts[uri][at:], 0)
            await editor.client.text_document_completion_async(lsp.CompletionParams(**asked))
            await editor.client.text_document_hover_async(lsp.HoverParams(**asked))
            await editor.client.text_document_document_symbol_async(lsp.DocumentSymbolParams(editor.of(uri)))
    (editor.folder / "typed.tpg").write_text(SHORT)
    assert seen(await editor.reviewed(uri)) == json_of(editor.folder / "typed.tpg", capsys)
    for seed in seeds(3, 30):
        random = Random(seed)
        for _ in range(12):
            text = editor.texts[uri]
            start = random.randrange(len(text) + 1)
            end = min(len(text), start + random.choice((0, 0, 1, 3, 40)))
            put = random.choice(
                ("", "\n", "😋", "\r\n", '"', "#", "  ", "attach G1", random.choice(SHORT.splitlines()) + "\n")
            )
            editor.change(uri, start, end, put)
        (editor.folder / "typed.tpg").write_text(editor.texts[uri], newline="")
        assert seen(await editor.reviewed(uri)) == json_of(editor.folder / "typed.tpg", capsys), seed
        editor.write(uri, SHORT)


async def test_names_are_found_and_renamed(editor: Any) -> None:
    uri = editor.open("plan.tpg", SHORT)
    client, at = editor.client, editor.at(uri, "to K1\n  4", 3)
    (declared,) = await client.text_document_definition_async(lsp.DefinitionParams(**at))
    assert editor.stretch(uri, declared.range) == "K1"
    assert declared.range.start.line == SHORT[: SHORT.index("bar K1")].count("\n")
    uses = await client.text_document_references_async(lsp.ReferenceParams(lsp.ReferenceContext(True), **at))
    assert [editor.stretch(uri, one.range) for one in uses] == ["K1"] * SHORT.count("K1")
    fewer = await client.text_document_references_async(lsp.ReferenceParams(lsp.ReferenceContext(False), **at))
    assert len(fewer) == len(uses) - 1
    place = await client.text_document_prepare_rename_async(lsp.PrepareRenameParams(**at))
    assert editor.stretch(uri, place) == "K1"
    edit = await client.text_document_rename_async(lsp.RenameParams(new_name="Bar-7", **at))
    assert editor.edited(uri, edit.changes[uri]) == SHORT.replace("K1", "Bar-7")
    for name in ("G1", "two words", "by", "", "7 ft", '"', "#"):
        with pytest.raises(JsonRpcException):
            await client.text_document_rename_async(lsp.RenameParams(new_name=name, **at))


async def test_a_name_of_a_used_file_is_found_there(editor: Any) -> None:
    parts = editor.open("parts/leads.tpg", "# 😋\nlead G7 2/0 copper\n")
    uri = editor.open("plan.tpg", 'use "parts/leads.tpg"\n' + SHORT.replace("attach G2", "attach G7"))
    at = editor.at(uri, "attach G7", 8)
    (found,) = await editor.client.text_document_definition_async(lsp.DefinitionParams(**at))
    assert (found.uri, editor.stretch(parts, found.range)) == (parts, "G7")
    shown = await editor.client.text_document_hover_async(lsp.HoverParams(**at))
    assert "`G7`: lead" in shown.contents.value
    (file,) = await editor.client.text_document_definition_async(lsp.DefinitionParams(**editor.at(uri, '"parts', 2)))
    assert file.uri == parts
    before = await editor.reviewed(uri)
    assert not any(one.code == "undeclared-name" for one in before)
    editor.write(parts, "# nothing is left of it\n")  # what is open holds, saved or not
    editor.published.pop(uri, None)
    assert any(one.code == "undeclared-name" for one in await editor.reviewed(uri))
    assert all(one.code is None for one in await editor.reviewed(parts))
    editor.close(parts)


async def test_words_of_the_language_say_what_they_mean(editor: Any) -> None:
    uri = editor.open("plan.tpg", SHORT)
    client = editor.client
    verb = await client.text_document_hover_async(lsp.HoverParams(**editor.at(uri, "mount K1", 2)))
    assert "A cluster bar is put on a structure" in verb.contents.value
    assert editor.stretch(uri, verb.range) == "mount"
    clause = await client.text_document_hover_async(lsp.HoverParams(**editor.at(uri, "2/0", 1)))
    assert "wire size" in clause.contents.value
    assert await client.text_document_hover_async(lsp.HoverParams(**editor.at(uri, "😋", 0))) is not None


async def test_the_outline_goes_by_stage_and_folds(editor: Any) -> None:
    routine = "routine up (leads a)\n  attach a to K1\n\n"
    uri = editor.open("plan.tpg", SHORT.replace("stage", f"{routine}stage", 1))
    found = await editor.client.text_document_document_symbol_async(lsp.DocumentSymbolParams(editor.of(uri)))
    stages = {one.name: [step.name for step in one.children] for one in found if one.children}
    assert stages["stage work"] == ["5. enter L1 at 212 on the pole, reaching A", '6. work "change it"']
    assert list(stages) == ["routine up (leads a)", 'stage "ground 😋"', "stage work"]
    folds = await editor.client.text_document_folding_range_async(lsp.FoldingRangeParams(editor.of(uri)))
    lines = editor.texts[uri].splitlines()
    assert [(lines[one.start_line], lines[one.end_line].strip()) for one in folds] == [
        ("routine up (leads a)", "attach a to K1"),
        ('stage "ground 😋"', f"4. {BROKEN}"),
        ("stage work", '6. work "change it"'),
    ]


async def test_layout_is_that_of_tidy(editor: Any, capsys: pytest.CaptureFixture[str]) -> None:
    options = lsp.FormattingOptions(2, True)
    uri = editor.open("plan.tpg", SHORT)
    asked = lsp.DocumentFormattingParams(editor.of(uri), options)
    edits = await editor.client.text_document_formatting_async(asked)
    main(["tidy", str(editor.folder / "plan.tpg")])
    assert editor.edited(uri, edits) == capsys.readouterr().out
    editor.write(uri, SHORT.replace("bar", "bra"))
    assert not await editor.client.text_document_formatting_async(asked)


async def test_words_are_coloured_by_their_kinds(editor: Any) -> None:
    uri = editor.open("plan.tpg", SHORT)
    found = await editor.client.text_document_semantic_tokens_full_async(lsp.SemanticTokensParams(editor.of(uri)))
    words: list[str] = []
    line = column = 0
    for at in range(0, len(found.data), 5):
        down, right, length, _, _ = found.data[at : at + 5]
        line, column = line + down, right if down else column + right
        words.append(editor.stretch(uri, lsp.Range(lsp.Position(line, column), lsp.Position(line, column + length))))
    assert '"Change the insulator at 212 😋"' in words
    assert words[words.index("attach") + 1] == "G1"
    assert words[-2:] == ["work", '"change it"']


async def test_repairs_are_offered_as_mend_makes_them(editor: Any, capsys: pytest.CaptureFixture[str]) -> None:
    uri = editor.open("plan.tpg", SHORT)
    found = next(one for one in await editor.reviewed(uri) if one.code == "rod-barricaded")
    asked = lsp.CodeActionParams(editor.of(uri), found.range, lsp.CodeActionContext([found]))
    actions = await editor.client.text_document_code_action_async(asked)
    (one,) = [one for one in actions if one.is_preferred]
    assert [said.code for said in one.diagnostics] == ["rod-barricaded"]
    set_rod = "  1. set R1 at 212, 16 ft from the pole, 6 ft deep\n"
    wanted = SHORT.replace(set_rod, f"{set_rod} 1a. barricade R1\n")
    assert editor.edited(uri, one.edit.changes[uri]) == wanted
    every = next(one for one in actions if one.kind == lsp.CodeActionKind.SourceFixAll)
    whole = await editor.client.code_action_resolve_async(every)
    main(["mend", "--write", *ASKED, str(editor.folder / "plan.tpg")])
    capsys.readouterr()
    assert editor.edited(uri, whole.edit.changes[uri]) == (editor.folder / "plan.tpg").read_text()


async def test_a_slip_of_the_pen_can_be_put_right(editor: Any) -> None:
    uri = editor.open("plan.tpg", SHORT.replace("copper", "cooper").replace("mount ", "muont "))
    shown = [one for one in await editor.reviewed(uri) if "did you mean" in one.message]
    edits = []
    for one in shown:
        asked = lsp.CodeActionParams(editor.of(uri), one.range, lsp.CodeActionContext([one]))
        actions = await editor.client.text_document_code_action_async(asked)
        (action,) = [action for action in actions if action.title.startswith("Write `")]
        edits += action.edit.changes[uri]
    assert len(edits) == 2
    assert editor.edited(uri, edits) == SHORT


async def test_what_is_not_stated_can_be_put_in_and_is_not_stated_by_that(editor: Any) -> None:
    text = SHORT.replace(" by H1", "")
    uri = editor.open("plan.tpg", text)
    everywhere = lsp.Range(lsp.Position(0, 0), lsp.Position(999, 0))
    before = await editor.reviewed(uri)
    asked = lsp.CodeActionParams(editor.of(uri), everywhere, lsp.CodeActionContext([]))
    actions = await editor.client.text_document_code_action_async(asked)
    asks = [one for one in actions if one.kind == lsp.CodeActionKind.QuickFix and not one.is_preferred]
    assert len(asks) > 5
    blank = [one for one in asks if "with your own value" in one.title]
    assert blank
    for one in blank:
        put = "".join(edit.new_text for edit in one.edit.changes[uri])
        assert "?" in put, one.title
    editor.write(uri, editor.edited(uri, blank[0].edit.changes[uri]))
    after = await editor.reviewed(uri)
    assert len([one for one in after if "may change once" in one.message]) > 0
    assert len(before) > 0


async def test_what_is_on_stands_beside_the_steps(editor: Any) -> None:
    uri = editor.open("plan.tpg", SHORT)
    await editor.reviewed(uri)
    place = lsp.Range(lsp.Position(0, 0), lsp.Position(999, 0))
    hints = await editor.client.text_document_inlay_hint_async(lsp.InlayHintParams(editor.of(uri), place))
    lines = SHORT.splitlines()
    assert [(lines[one.position.line].strip(), one.label) for one in hints] == [
        ("3. attach G1 to R1, then to K1", "1 on"),
        (f"4. {BROKEN}", "2 on"),
    ]


async def test_a_procedure_is_served_within_its_fences(editor: Any, capsys: pytest.CaptureFixture[str]) -> None:
    text = f"# Procedure 😋\n\nlead on\n\n```tpg\n{SHORT}```\n\nattach the form\n"
    uri = editor.open("procedure.md", text, language="markdown")
    assert seen(await editor.reviewed(uri)) == json_of(editor.folder / "procedure.md", capsys)
    (fold, *_) = await editor.client.text_document_folding_range_async(lsp.FoldingRangeParams(editor.of(uri)))
    assert editor.texts[uri].splitlines()[fold.start_line] == "```tpg"
    assert editor.texts[uri].splitlines()[fold.end_line] == "```"
    outside = editor.at(uri, "attach the form", 7)
    assert not await editor.client.text_document_completion_async(lsp.CompletionParams(**outside))
    inside = editor.at(uri, "attach G1", 7)
    assert await editor.client.text_document_completion_async(lsp.CompletionParams(**inside))
    editor.write(uri, "# No plan\n\n```sh\nls\n```\n")
    assert await editor.reviewed(uri) == []


async def test_settings_of_the_folder_hold(editor: Any) -> None:
    uri = editor.open("bad/plan.tpg", SHORT)
    await editor.reviewed(uri)
    (editor.folder / "bad" / "groundlint.toml").write_text('boks = ["practice"]\n')
    editor.client.workspace_did_change_watched_files(lsp.DidChangeWatchedFilesParams([]))
    editor.published.pop(uri, None)
    (said,) = await editor.reviewed(uri)
    assert said.severity == lsp.DiagnosticSeverity.Error
    assert "no setting is named `boks`" in said.message
    (editor.folder / "bad" / "groundlint.toml").write_text('books = ["ieee-c2"]\n')
    editor.client.text_document_did_save(lsp.DidSaveTextDocumentParams(lsp.TextDocumentIdentifier("file:///other")))
    editor.published.pop(uri, None)
    shown = await editor.reviewed(uri)
    assert "no setting" not in "".join(one.message for one in shown)
    editor.close(uri)


async def test_a_plan_that_is_not_saved_is_reviewed(editor: Any) -> None:
    uri = "untitled:Untitled-1"
    editor.show(uri, SHORT)
    assert any(one.code == "ground-end-first" for one in await editor.reviewed(uri))
    editor.close(uri)


async def test_hostile_texts_and_messages_are_answered(editor: Any) -> None:
    client = editor.client
    for text in (
        "\x00\r\r\n\u2028",
        "(" * 5000,
        '"' * 999,
        "x" * 300_000,
        'use "../../etc"\n',
        "\ud800 lead G1",
        "do a\n" * 400,
    ):
        uri = editor.open("hostile.tpg", text, on_disk=False)
        for line, character in ((0, 0), (0, 99999), (4_000_000, 4_000_000)):
            place = {"text_document": editor.of(uri), "position": lsp.Position(line, character)}
            await client.text_document_completion_async(lsp.CompletionParams(**place))
            await client.text_document_hover_async(lsp.HoverParams(**place))
            await client.text_document_definition_async(lsp.DefinitionParams(**place))
        await client.text_document_semantic_tokens_full_async(lsp.SemanticTokensParams(editor.of(uri)))
        await client.text_document_folding_range_async(lsp.FoldingRangeParams(editor.of(uri)))
        await editor.reviewed(uri)
    with pytest.raises(JsonRpcException):
        await client.text_document_hover_async(
            lsp.HoverParams(lsp.TextDocumentIdentifier("file:///nowhere"), lsp.Position(0, 0))
        )
    client.text_document_did_change(
        lsp.DidChangeTextDocumentParams(lsp.VersionedTextDocumentIdentifier(2, "file:///nowhere"), [])
    )
    uri = editor.open("plan.tpg", SOUND)
    assert await editor.reviewed(uri) == []


async def test_the_file_is_never_written(editor: Any) -> None:
    uri = editor.open("kept.tpg", SHORT)
    editor.change(uri, 0, 4, "PLAN")
    await editor.reviewed(uri)
    assert (editor.folder / "kept.tpg").read_text() == SHORT


async def shown_at(editor: Any, uri: str, words: str) -> Any:
    """What is shown beside a text when the cursor is at some words of it."""
    place = editor.at(uri, words)["position"]
    asked = {"textDocument": {"uri": uri}, "position": {"line": place.line, "character": place.character}}
    return await editor.client.protocol.send_request_async("groundlint/picture", asked)


async def test_the_line_after_the_step_at_a_place_can_be_shown(editor: Any) -> None:
    text = SHORT.replace("stage work", "routine again (lead x)\n  inspect x\nstage work").replace(
        "  5. enter", "  5. do again (G1)\n  6. enter"
    )
    uri = editor.open("plan.tpg", text.replace("  6. work", "  7. work"))
    await editor.reviewed(uri)
    for words, title in (
        ("set R1", "The line after step 1"),
        ("to 212 A", "The line after step 4"),
        ("stage work", "The line after step 4"),
        ("do again", "The line after step 5.1"),
        ("inspect x", "The line after step 5.1"),
        ('work "change', "The line after step 7"),
    ):
        shown = await shown_at(editor, uri, words)
        assert shown.picture.title == title, words
    assert shown.version == editor.versions[uri]
    assert (shown.failure, shown.unread) == ("", False)
    assert shown.status.word == "broken"
    assert [one.worker for one in shown.picture.exposed] == ["L1"]
    assert shown.picture.drawings[0].startswith("<svg ")
    assert any("G2" in words for words in shown.picture.words)
    before = await shown_at(editor, uri, "plan ")
    assert before.picture.title.startswith("The line while the work is done")


async def test_of_a_plan_that_is_not_read_nothing_is_drawn(editor: Any) -> None:
    uri = editor.open("plan.tpg", SHORT + "  7. nonsense\n")
    await editor.reviewed(uri)
    shown = await shown_at(editor, uri, "set R1")
    assert (shown.picture, shown.unread, shown.failure) == (None, True, "")
    assert shown.status.said == "Not fit for use: a part of the plan could not be read."


async def test_the_page_of_a_rule_is_that_of_the_command(editor: Any, capsys: pytest.CaptureFixture[str]) -> None:
    uri = editor.open("plan.tpg", SHORT)
    for rule in ("rod-barricaded", "no-such-rule"):
        asked = {"textDocument": {"uri": uri}, "rule": rule}
        page = await editor.client.protocol.send_request_async("groundlint/rule", asked)
        main(["rules", "--book", "practice", rule])
        assert page.strip() == capsys.readouterr().out.strip()


async def test_backquotes_of_a_plan_end_no_words_as_they_are_written(editor: Any) -> None:
    uri = editor.open("plan.tpg", SHORT.replace("stick H1 8 ft", "stick H1 8 ft # ``` ` ![x](y)"))
    await editor.reviewed(uri)
    found = await editor.client.text_document_hover_async(lsp.HoverParams(**editor.at(uri, "H1 8 ft")))
    assert "```` stick H1 8 ft # ``` ` ![x](y) ````" in found.contents.value
