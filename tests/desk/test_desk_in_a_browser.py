"""The page as a person has it: a plan is typed, marked, mended and saved, in a real browser."""

from __future__ import annotations

import re

import pytest
from desk_at_work import EXAMPLE, Running, Sheet

from groundlint.language.layout import laid_out
from groundlint.language.reader import read_statements
from groundlint.text import Source

pytestmark = pytest.mark.slow

TEXT = EXAMPLE.read_text(encoding="utf-8")
LINES = TEXT.split("\n")


def line_of(words: str) -> int:
    return next(at for at, line in enumerate(LINES, 1) if words in line)


INSPECTS, BARRICADES, ENTERS = line_of("inspect "), line_of("barricade "), line_of("enter     Sora")
PROVES = line_of("prove ")


@pytest.fixture(autouse=True)
def _as_it_was(sheet: Sheet) -> None:
    """Each test begins with the plan as the example has it, in the file and on the page."""
    if sheet.text != TEXT:
        sheet.write(TEXT)
    if sheet.plan.read_bytes() != EXAMPLE.read_bytes():
        sheet.page.click("#save")
        sheet.page.wait_for_selector("#state:text('as in the file')")


def test_a_sound_plan_is_shown_with_what_it_comes_to(sheet: Sheet) -> None:
    assert sheet.said("said") == "The review has nothing at warning or above against this plan."
    assert "0 broken" in sheet.said("counts")
    assert sheet.said("tally") == "None."
    assert "not what is in the field" in sheet.said("caution")
    assert sheet.said("name") == "Plan of the day.tpg"


def test_the_drawing_and_who_is_exposed_follow_the_cursor(sheet: Sheet) -> None:
    sheet.go(ENTERS)
    sheet.page.wait_for_selector("#title:text('after step 23')")
    assert sheet.page.locator("#drawing svg.drawing").count() >= 1
    (row,) = sheet.page.locator("#rows tr").all()
    who, worst, limit, verdict, between, _ = (cell.inner_text() for cell in row.locator("td").all())
    assert (who, verdict) == ("Sora", "within the limit")
    assert re.fullmatch(r"[\d.]+–\d+ V", worst)
    assert re.fullmatch(r"\d+(–\d+)? V", limit)
    assert "OS07" in between
    sheet.go(INSPECTS)
    sheet.page.wait_for_selector("#title:text('after step 7')")
    assert sheet.said("nobody") == "Nobody is in place at this step."
    assert sheet.page.locator("#exposed").is_hidden()


def test_what_is_typed_is_marked_explained_mended_and_saved(sheet: Sheet) -> None:
    page = sheet.page
    sheet.go(PROVES)
    for keys in ("Home", "Shift+End", "Backspace", "Backspace"):
        page.keyboard.press(keys)
    sheet.reviewed()
    assert sheet.said("state") == "changed, not saved"
    assert "Not fit for use" in sheet.said("said")
    assert "danger" in sheet.said("tally")
    finding = page.locator("#list .finding", has_text="detector-proven-before").first
    assert finding.locator(".level").inner_text() == "DANGER"
    assert page.locator(".squiggly-error").count() >= 1

    finding.locator(".go", has_text="Line").click()
    assert page.evaluate("monaco.editor.getEditors()[0].getPosition().lineNumber") == PROVES + 1
    page.keyboard.press("Control+k")
    page.keyboard.press("Control+i")
    page.wait_for_selector(".monaco-hover:has-text('detector-proven-before'):has-text('source:')")
    page.keyboard.press("Escape")
    finding.locator(".go", has_text="Rule").click()
    page.wait_for_selector("#rule:has-text('source: ')")
    page.keyboard.press("Escape")
    page.wait_for_selector("#rule", state="hidden")

    page.click("#fixes")
    page.wait_for_selector(".action-widget:has-text('prove V2 on T2')")
    page.keyboard.press("Enter")
    page.wait_for_selector("#tally:text('None.')")
    assert "prove V2 on T2" in sheet.text
    assert sheet.plan.read_text(encoding="utf-8") == TEXT, "nothing is written before it is saved"

    page.keyboard.press("Control+s")
    page.wait_for_selector("#state:text('as in the file')")
    assert sheet.plan.read_text(encoding="utf-8") == sheet.text


def test_a_plan_that_is_not_read_says_so_first_and_nothing_else(sheet: Sheet) -> None:
    sheet.go(INSPECTS, len(LINES[INSPECTS - 1]) + 1)
    sheet.page.keyboard.type(" and thn")
    sheet.reviewed()
    assert sheet.said("said") == "Not fit for use: a part of the plan could not be read."
    assert sheet.said("counts") == ""
    (finding,) = sheet.page.locator("#list .finding").all()
    assert "NOT READ" in finding.inner_text().upper()
    for part in ("line", "exposure"):
        assert sheet.page.locator(f"#{part}").is_hidden()


def test_what_was_said_of_another_text_is_not_said_of_this_one(sheet: Sheet) -> None:
    more = "one => { one.setValue(one.getValue() + '# more'); return document.getElementById('said').innerText; }"
    assert sheet.page.evaluate(f"({more})(monaco.editor.getEditors()[0])").startswith("Being reviewed")
    sheet.reviewed()
    assert sheet.said("said").startswith("The review has nothing")


def test_what_can_stand_next_is_offered(sheet: Sheet) -> None:
    sheet.go(INSPECTS, len(LINES[INSPECTS - 1]) + 1)
    sheet.page.keyboard.press("End")
    sheet.page.keyboard.type(" R")
    sheet.page.wait_for_selector(".suggest-widget.visible :text('R4')")
    sheet.page.keyboard.press("Escape")


def test_a_plan_is_laid_out(sheet: Sheet) -> None:
    sheet.write(TEXT.replace("  7. inspect   ", "  7. inspect "))
    sheet.page.click("#tidy")
    source = Source("plan.tpg", TEXT)
    wanted = laid_out(source, read_statements(source))
    sheet.until(lambda: sheet.text == wanted)


@pytest.mark.parametrize("mine", [True, False])
def test_a_file_that_somebody_else_has_changed_is_not_written_over_unasked(sheet: Sheet, mine: bool) -> None:
    theirs = f"{TEXT}# theirs\n"
    sheet.plan.write_text(theirs, encoding="utf-8")
    sheet.go(1, 1)
    sheet.page.keyboard.type("# mine ")
    written = sheet.text
    sheet.page.click("#save")
    sheet.page.wait_for_selector("#trouble:has-text('changed by somebody else')")
    assert sheet.plan.read_text(encoding="utf-8") == theirs
    sheet.page.click("#leave")
    sheet.page.click("#save")
    sheet.page.click("#over" if mine else "#again")
    sheet.page.wait_for_selector("#trouble", state="hidden")
    assert sheet.plan.read_text(encoding="utf-8") == (written if mine else theirs)
    assert sheet.text == (written if mine else theirs)
    assert sheet.said("state") == "as in the file"


HOSTILE = (
    "</script><img src=x onerror=alert(1)>",
    "<script>alert(1)</script>",
    "</title></svg><svg onload=alert(1)>",
    "' onmouseover='alert(1)' x='",
    "![picture](http://elsewhere.example/x.png) [link](http://elsewhere.example/)",
    "` ![picture](http://elsewhere.example/x.png)",
)
"""Texts that want to be markup, or to have something fetched."""


def test_hostile_text_of_a_plan_stays_text(sheet: Sheet, asked_for: list[str]) -> None:
    page = sheet.page
    page.on("dialog", lambda dialog: asked_for.append("dialog") or dialog.dismiss())
    texts = "".join(f'caution "{text}"\n' for text in HOSTILE)
    person = f"crew lineman Pipit Sora qualified, groundman Wren  # {HOSTILE[-1]}\n"
    waived = f'waive rod-barricaded because "{HOSTILE[1]}" by "{HOSTILE[0]}" until 2026-12-31\n'
    sheet.write(texts + waived + re.sub(r"crew .*\n", person, TEXT.replace(LINES[BARRICADES - 1], "")))
    assert HOSTILE[0] in sheet.said("list")
    line = sheet.text.split("\n").index(person.strip()) + 1
    for at, column, words in ((line, person.index("Sora") + 2, "Pipit Sora"), (1, 3, "caution")):
        sheet.go(at, column)
        page.keyboard.press("Control+k")
        page.keyboard.press("Control+i")
        page.wait_for_selector(f".monaco-hover:visible:has-text('{words}')")
        page.keyboard.press("Escape")
    page.click("summary")
    assert page.locator("#side img, #side script, #side a, .monaco-hover img").count() == 0
    assert (
        page.evaluate("[...document.querySelectorAll('*')].filter(n => n.onload || n.onerror || n.onmouseover).length")
        == 0
    )
    assert page.evaluate("[...document.querySelectorAll('svg *')].map(n => n.tagName).includes('script')") is False


def test_the_page_would_take_no_markup(sheet: Sheet, asked_for: list[str]) -> None:
    def complaints() -> list[str]:
        return [one for one in asked_for if "TrustedHTML" in one]

    assert not complaints(), "until it is tried here, nobody has tried"
    with pytest.raises(Exception, match="TrustedHTML"):
        sheet.page.evaluate("document.createElement('p').innerHTML = '<b>markup</b>'")
    sheet.until(lambda: bool(complaints()))
    asked_for.remove(*complaints())


@pytest.mark.parametrize(("scheme", "wide"), [("light", 768), ("dark", 1400)])
def test_no_rule_of_wcag_is_broken(sheet: Sheet, scheme: str, wide: int) -> None:
    from axe_playwright_python.sync_playwright import Axe

    sheet.page.set_viewport_size({"width": wide, "height": 900})
    sheet.page.emulate_media(color_scheme=scheme)
    sheet.go(ENTERS)
    sheet.page.wait_for_selector("#rows tr")
    assert sheet.page.evaluate("document.documentElement.scrollWidth") <= wide
    found = Axe().run(sheet.page).response
    said = [(one["id"], [node["html"][:200] for node in one["nodes"][:3]]) for one in found["violations"]]
    assert said == []
    assert len(found["passes"]) > 15, "the rules were asked"


def test_everything_can_be_reached_by_keyboard(sheet: Sheet) -> None:
    sheet.go(ENTERS)
    sheet.page.wait_for_selector("#rows tr")
    reached = []
    for _ in range(12):
        sheet.page.keyboard.press("Tab")
        reached.append(sheet.page.evaluate("document.activeElement.id || document.activeElement.tagName"))
    assert {"drawing", "SUMMARY", "exposed"} <= set(reached), "Tab leaves the text"
    sheet.go(ENTERS)
    for _ in "12":
        sheet.page.keyboard.press("Shift+Tab")
    assert sheet.page.evaluate("document.activeElement.closest('.tools') !== null")


def test_nothing_was_asked_of_anybody_else(sheet: Sheet, desk: Running, asked_for: list[str]) -> None:
    """Of all that was done before."""
    ours = (f"{desk.origin}/", f"ws://{desk.origin.partition('//')[2]}/talk", "data:")
    others = [one for one in asked_for if not one.startswith(ours)]
    assert [one for one in others if "axe-core" not in one] == [], "that is put into the page by the tests"
    assert any(one.endswith("/vs/editor/editor.main.js") for one in asked_for)


def test_ctrl_c_ends_the_server_and_the_page_keeps_the_text_and_says_so(sheet: Sheet, desk: Running) -> None:
    """The last test, since it ends the server of all."""
    sheet.go(1)
    sheet.page.keyboard.type("# mine ")
    assert desk.end() == (0, "")
    sheet.page.wait_for_selector("#trouble:has-text('has ended')")
    sheet.page.click("#save")
    sheet.page.wait_for_selector("#trouble:has-text('Not saved')")
    assert sheet.text.startswith("# mine ")
    assert sheet.said("said").startswith("Being reviewed")
