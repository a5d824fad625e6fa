"""What only a browser can tell: no network is asked, nothing is cut off, labels are apart, rules of WCAG hold."""

from __future__ import annotations

import re
from pathlib import Path
from typing import Any

import pytest
from briefing_plans import EVERY_EXAMPLE, example, hostile_plan, long_plan, made_up, review_of

from groundlint.findings.model import Review
from groundlint.report.brief import NOT_COMPUTED, brief_html, drawing_svg

MM = 96 / 25.4
PAPER = {"Letter": (612, 792, 215.9, 279.4), "A4": (595, 842, 210.0, 297.0)}
"""Points as a PDF has them, then mm."""
MARGINS = (24.0, 28.0)
"""Millimetres that the margins of the page take, across and down; `@page` in the style."""
CREW_MARGINS = 18.0
"""Millimetres that the margins of the crew's sheets take across."""

SMALLEST_WORDS = """
() => Math.min(...[...document.querySelectorAll('svg text')].map(
  text => parseFloat(getComputedStyle(text).fontSize) * text.ownerSVGElement.getScreenCTM().a))
"""

OVERLAPS = """
() => {
  const bad = [];
  for (const svg of document.querySelectorAll('svg')) {
    const frame = svg.getBoundingClientRect();
    const boxes = [...svg.querySelectorAll('text')].map(t => {
      const range = document.createRange();
      const last = t.lastChild;
      range.selectNodeContents(last);
      return [last.textContent, range.getBoundingClientRect()];
    });
    for (const [text, b] of boxes) {
      if (b.left < frame.left - 1 || b.right > frame.right + 1 || b.top < frame.top - 1 || b.bottom > frame.bottom + 1)
        bad.push([text, 'outside']);
    }
    for (let i = 0; i < boxes.length; i++) for (let j = i + 1; j < boxes.length; j++) {
      const a = boxes[i][1], b = boxes[j][1];
      if (a.left + 0.6 < b.right && b.left + 0.6 < a.right && a.top + 0.6 < b.bottom && b.top + 0.6 < a.bottom)
        bad.push([boxes[i][0], boxes[j][0]]);
    }
  }
  return [document.querySelectorAll('svg text').length, bad];
}
"""

CUT_OFF = """
([wide, high]) => {
  const bad = [];
  for (const node of document.querySelectorAll('body *')) {
    if (node.closest('svg') && node.tagName !== 'svg') continue;
    const b = node.getBoundingClientRect();
    if (!b.width || node.classList.contains('skip')) continue;
    if (b.right > wide + 1 || b.left < -1) bad.push([node.tagName, node.className.toString(), b.left, b.right]);
    if (node.tagName === 'svg' && b.height > high) bad.push(['svg', 'taller than the page', b.height, high]);
    if (node.tagName === 'TR' && b.height > high) bad.push(['row', 'taller than the page', b.height, high]);
    const how = getComputedStyle(node);
    if (how.overflowX !== 'visible' && node.scrollWidth > node.clientWidth + 1)
      bad.push([node.tagName, 'scrolls', node.scrollWidth, node.clientWidth]);
  }
  return bad;
}
"""


def review_named(name: str) -> Review:
    return {"long": lambda: review_of(long_plan()), "hostile": lambda: review_of(hostile_plan())}.get(
        name, lambda: example(name)
    )()


NAMES = [*(path.name for path in EVERY_EXAMPLE), "long", "hostile"]


class Pages:
    """Briefings of plans by the names of their files, each made when it is first opened."""

    def __init__(self, folder: Path) -> None:
        self.folder = folder

    def __truediv__(self, file: str) -> Path:
        path = self.folder / file
        if not path.exists():
            name = file.removesuffix(".svg").removesuffix(".html").removesuffix(".plain")
            review = review_named(name)
            for ending, text in (
                ("html", brief_html(review, "0.1.0", made_up(review.plan))),
                ("plain.html", brief_html(review, "0.1.0", NOT_COMPUTED)),
                ("svg", drawing_svg(review, None, made_up(review.plan))),
            ):
                (self.folder / f"{name}.{ending}").write_text(text, encoding="utf-8")
        return path


@pytest.fixture(scope="module")
def folder(tmp_path_factory: pytest.TempPathFactory) -> Pages:
    return Pages(tmp_path_factory.mktemp("briefings"))


def opened(browser: Any, path: Path, **options: Any) -> tuple[Any, list[str]]:
    """A page opened from disk, and all that it asked for or complained of, but itself."""
    page = browser.new_page(**options)
    seen: list[str] = []
    page.on("request", lambda request: seen.append(request.url) if request.url != path.as_uri() else None)
    page.on("console", lambda message: seen.append(f"console: {message.text}"))
    page.on("pageerror", lambda error: seen.append(f"error: {error}"))
    page.on("dialog", lambda dialog: seen.append("dialog") or dialog.dismiss())
    page.goto(path.as_uri())
    return page, seen


@pytest.mark.one_in(10)
@pytest.mark.parametrize("name", NAMES)
def test_the_page_opens_from_disk_asks_for_nothing_and_its_labels_are_apart(
    chromium: Any, folder: Pages, name: str
) -> None:
    for file in (f"{name}.html", f"{name}.plain.html"):
        page, seen = opened(chromium, folder / file, viewport={"width": 1280, "height": 900})
        count, bad = page.evaluate(OVERLAPS)
        assert bad == []
        assert count > 20
        assert seen == []
        assert page.evaluate("document.scripts.length") == 0
        page.close()
    page, seen = opened(chromium, folder / f"{name}.svg")
    count, bad = page.evaluate(OVERLAPS)
    assert (bad, seen) == ([], [])
    assert count > 10
    page.close()


@pytest.mark.slow
@pytest.mark.one_in(2)
@pytest.mark.parametrize("name", ["long", "hostile"])
@pytest.mark.parametrize("paper", PAPER)
def test_it_prints_on_both_papers_with_nothing_cut_off(chromium: Any, folder: Pages, name: str, paper: str) -> None:
    points_wide, points_high, mm_wide, mm_high = PAPER[paper]
    wide, high = (mm_wide - MARGINS[0]) * MM, (mm_high - MARGINS[1]) * MM
    page, seen = opened(chromium, folder / f"{name}.html", viewport={"width": int(wide), "height": int(high)})
    page.emulate_media(media="print")
    assert page.evaluate(CUT_OFF, [int(wide), high]) == []
    pdf = page.pdf(format=paper, print_background=True)
    sizes = {(float(w), float(h)) for w, h in re.findall(rb"/MediaBox \[0 0 ([\d.]+) ([\d.]+)\]", pdf)}
    assert len(sizes) == 1
    assert all(abs(w - points_wide) < 2 and abs(h - points_high) < 2 for w, h in sizes)
    assert len(re.findall(rb"/Type\s*/Page\b", pdf)) >= 4
    assert seen == []
    page.close()


@pytest.mark.slow
@pytest.mark.parametrize("name", ["dual-point-crossarm.tpg", "storm-repair.tpg", "small-neutral.tpg"])
def test_a_crew_takes_two_to_four_sheets_along(chromium: Any, tmp_path: Path, name: str) -> None:
    """The two longest of the sound examples, and a small one; the words of the drawings can be read on paper."""
    review = example(name)
    path = tmp_path / "crew.html"
    path.write_text(brief_html(review, "0.1.0", made_up(review.plan), reader="crew"), encoding="utf-8")
    page, seen = opened(chromium, path, viewport={"width": int((PAPER["A4"][2] - CREW_MARGINS) * MM), "height": 950})
    page.emulate_media(media="print")
    assert page.evaluate(SMALLEST_WORDS) * 72 / 96 >= 5
    for paper in PAPER:
        assert 2 <= len(re.findall(rb"/Type\s*/Page\b", page.pdf(format=paper, print_background=True))) <= 4, paper
    assert seen == []
    page.close()


@pytest.mark.slow
@pytest.mark.one_in(2)
@pytest.mark.parametrize(
    ("name", "scheme", "wide"),
    [
        ("dual-point-crossarm.tpg", "dark", 390),
        ("deliberate-silence.tpg", "dark", 1280),
        ("hostile", "light", 1280),
    ],
)
def test_no_rule_of_wcag_is_broken(chromium: Any, folder: Pages, name: str, scheme: str, wide: int) -> None:
    from axe_playwright_python.sync_playwright import Axe

    page, _ = opened(chromium, folder / f"{name}.html", viewport={"width": wide, "height": 900}, color_scheme=scheme)
    found = Axe().run(page).response
    said = [(one["id"], [node["html"][:200] for node in one["nodes"][:3]]) for one in found["violations"]]
    assert said == []
    assert len(found["passes"]) > 15, "the rules were asked"
    page.close()


@pytest.mark.one_in(2)
@pytest.mark.parametrize("wide", [320, 390, 768])
def test_the_page_never_scrolls_sideways_as_a_whole(chromium: Any, folder: Pages, wide: int) -> None:
    for name in ("dual-point-crossarm.tpg", "hostile"):
        page, _ = opened(chromium, folder / f"{name}.html", viewport={"width": wide, "height": 800})
        assert page.evaluate("document.documentElement.scrollWidth") <= wide
        page.close()


def test_everything_can_be_reached_by_keyboard(chromium: Any, folder: Pages) -> None:
    page, _ = opened(chromium, folder / "dual-point-crossarm.tpg.html", viewport={"width": 390, "height": 800})
    page.keyboard.press("Tab")
    assert page.evaluate("document.activeElement.className") == "skip"
    page.keyboard.press("Enter")
    assert page.evaluate("location.hash") == "#sheet"
    scrolling = page.evaluate(
        "[...document.querySelectorAll('*')].filter(n => n.scrollWidth > n.clientWidth + 1 && !n.closest('svg')"
        " && getComputedStyle(n).overflowX === 'auto' && n.tabIndex < 0).length"
    )
    assert scrolling == 0
    page.close()


def test_the_words_of_a_step_stand_on_its_mark(chromium: Any, folder: Pages) -> None:
    page, _ = opened(chromium, folder / "dual-point-crossarm.tpg.html")
    titles = page.evaluate("[...document.querySelectorAll('.chart .mark title')].map(t => t.textContent)")
    assert any("step 21, Heron, Rook go to work at SC16" in title and "limit 147 V" in title for title in titles)
    page.close()
