"""The page: text never becomes markup, what is unknown is said, the same bytes each time, small and still."""

from __future__ import annotations

import os
import re
import subprocess
import sys
from collections import Counter
from dataclasses import replace
from html.parser import HTMLParser
from pathlib import Path

import pytest
from briefing_plans import EVERY_EXAMPLE, EVIL, example, hostile_plan, long_plan, made_up, review_of
from syrupy.assertion import SnapshotAssertion

from groundlint.report.brief import NOT_COMPUTED, Electrical, brief_html
from groundlint.report.brief.chart import Mark, worst_of
from groundlint.report.brief.page import Brief, grouped
from groundlint.report.brief.results import Duty, Exposure
from groundlint.report.brief.svg import plain_text
from groundlint.report.pages import environment
from groundlint.report.text import MOST_ALIKE
from groundlint.review import Reviewer
from groundlint.text import Source
from groundlint.values import Unknown

VOID = {"meta", "link", "br", "img", "input", "hr"}


class Seen(HTMLParser):
    """Elements and attributes of a page, its text by the element that holds it, and whether elements close in order."""

    def __init__(self, page: str) -> None:
        super().__init__(convert_charrefs=True)
        self.tags: Counter[str] = Counter()
        self.attributes: list[tuple[str, str, str | None]] = []
        self.texts: list[str] = []
        self.open: list[str] = []
        self.ids: list[str] = []
        self.feed(page)
        self.close()
        assert self.open == []

    def handle_starttag(self, tag: str, attrs: list[tuple[str, str | None]]) -> None:
        self.tags[tag] += 1
        self.attributes.extend((tag, name, value) for name, value in attrs)
        self.ids.extend(value or "" for name, value in attrs if name == "id")
        if tag not in VOID:
            self.open.append(tag)

    def handle_startendtag(self, tag: str, attrs: list[tuple[str, str | None]]) -> None:
        self.tags[tag] += 1
        self.attributes.extend((tag, name, value) for name, value in attrs)

    def handle_endtag(self, tag: str) -> None:
        assert self.open
        assert self.open.pop() == tag, f"</{tag}> closes another element"

    def handle_data(self, data: str) -> None:
        if self.open and self.open[-1] not in ("style", "script"):
            self.texts.append(data)

    @property
    def text(self) -> str:
        """All of it, blanks made single."""
        return " ".join("".join(self.texts).split())


def page_of(name: str, electrical: Electrical | None = None) -> str:
    review = example(name)
    return brief_html(review, "0.1.0", electrical if electrical is not None else made_up(review.plan))


@pytest.mark.one_in(3)
@pytest.mark.parametrize("path", EVERY_EXAMPLE, ids=lambda path: path.stem)
def test_the_page_of_every_example_is_whole_small_and_still(path: Path) -> None:
    page = page_of(path.name)
    seen = Seen(page)
    assert len(page.encode()) < 1_000_000
    assert page == page_of(path.name)
    assert not seen.tags.keys() & {"script", "link", "img", "iframe", "object", "form", "input", "a" * 99}
    assert not [value for _, name, value in seen.attributes if name.startswith("on")]
    assert {value[0] for tag, name, value in seen.attributes if name == "href" and value} <= {"#"}
    assert not [value for _, name, value in seen.attributes if name in ("src", "srcset", "action", "xlink:href")]
    assert not re.search(r"@import|url\((?!#)", page)
    assert len(seen.ids) == len(set(seen.ids))
    targets = {value[1:] for _, name, value in seen.attributes if name == "href" and value}
    assert targets <= set(seen.ids)
    labelled = [values or "" for _, name, values in seen.attributes if name == "aria-labelledby"]
    words = [value for values in labelled for value in values.split()]
    assert set(words) <= set(seen.ids)
    for heading in ("The job", "Drawing", "Exposure timeline", "Step sheet", "Ground register", "Calculation record"):
        assert heading in seen.text


def parts_of(name: str, reader: str) -> set[str]:
    review = example(name)
    page = brief_html(review, "0.1.0", made_up(review.plan), reader=reader)
    links = set(re.findall(r'href="#([a-z]+)"', page))
    parts = set(re.findall(r'<section id="([a-z]+)"', page))
    assert links == parts
    return parts


def test_each_reader_gets_what_they_need() -> None:
    every = {"job", "drawing", "stages", "exposure", "sheet", "register", "findings", "record", "cautions"}
    assert parts_of("deliberate-slips.tpg", "all") == every
    crew = {"job", "drawing", "sheet", "register", "cautions"}
    assert parts_of("standard-procedure.tpg", "crew") == crew
    assert parts_of("deliberate-slips.tpg", "crew") == crew | {"findings"}  # no crew goes up without a word of them
    assert parts_of("small-neutral.tpg", "engineer") == every - {"job", "stages", "sheet"}


def test_any_text_of_a_plan_stands_as_text() -> None:
    review = review_of(hostile_plan())
    assert review.plan.unread
    tame = Seen(brief_html(review_of(re.sub(r"[<>&{}\"'](?=[^\n]*\")(?<!\")", "", hostile_plan())), "0"))
    page = brief_html(review, "0", made_up(review.plan))
    seen = Seen(page)
    assert not seen.tags.keys() - tame.tags.keys() - {"code", "strong", "pattern", "defs", "circle", "rect"}
    assert not seen.tags.keys() & {"script", "b"}
    assert not [name for _, name, _ in seen.attributes if name.startswith("on")]
    for text in EVIL:
        assert " ".join(plain_text(text.replace('"', "'")).split()) in seen.text
    assert "long long long long" in seen.text
    assert "49" not in seen.texts


def test_text_of_ten_thousand_characters_renders_as_text() -> None:
    """No statement may be that long, but a plan may be made by a program."""
    review = review_of(hostile_plan())
    for evil in EVIL:
        text = (evil * (10_000 // len(evil) + 1))[:10_000]
        changed = {"title": text, "document": text, "revision": text, "cautions": (text,), "emergencies": (text,)}
        kept = {name: getattr(review.plan, name) for name in changed}
        for name, value in changed.items():
            review.plan.__dict__[name] = value
        try:
            page = brief_html(review, "0", made_up(review.plan))
        finally:
            review.plan.__dict__.update(kept)
        seen = Seen(page)
        assert seen.text.count(" ".join(plain_text(text).split())) >= 3
        assert not seen.tags.keys() & {"script", "b"}
        assert len(page.encode()) < 1_000_000


def test_the_same_bytes_whatever_the_order_of_hashes(tmp_path: Path) -> None:
    pages = []
    for seed in ("1", "77"):
        code = (
            "import sys; sys.path[:0] = ['tests/report', 'tests/generate']\n"
            "from briefing_plans import *\n"
            "from groundlint.report.brief import brief_html, drawing_svg\n"
            "r = example('steel-shield-wire.tpg')\n"
            "sys.stdout.buffer.write((brief_html(r, '0', made_up(r.plan)) + drawing_svg(r)).encode())"
        )
        root = Path(__file__).resolve().parents[2]
        env = {**os.environ, "PYTHONHASHSEED": seed}
        run = subprocess.run((sys.executable, "-c", code), cwd=root, env=env, capture_output=True, check=True)
        pages.append(run.stdout)
    assert pages[0] == pages[1]
    assert len(pages[0]) > 50_000


def test_without_computed_values_the_page_says_so_and_why() -> None:
    text = Seen(page_of("dual-point-crossarm.tpg", NOT_COMPUTED)).text
    assert "Not shown: the currents and voltages of this plan were not computed." in text
    assert "duty, rating: not shown" in text
    assert re.search(r"Heron21 to 23\s*not shown\s*not shown\s*not shown: the currents", text)


def test_each_unknown_value_says_what_is_missing() -> None:
    text = Seen(page_of("dual-point-crossarm.tpg")).text
    assert text.count("the contact resistance of the clamps (write `contact 0.2 mohm`)") >= 3
    assert "rise of R1" in text
    assert "not shown: the contact resistance" in text


@pytest.mark.parametrize(
    ("name", "word", "said"),
    [
        ("dual-point-crossarm.tpg", "clean", "nothing at warning or above"),
        ("deliberate-sins.tpg", "broken", "Not fit for use: the review found rules broken"),
        ("deliberate-silence.tpg", "not-shown", "Not fit for use yet"),
    ],
)
def test_the_head_says_what_the_review_came_to(name: str, word: str, said: str) -> None:
    page = page_of(name)
    assert f'class="status {word}"' in page
    assert said in Seen(page).text


def test_what_is_to_be_written_stands_as_code_and_a_lone_backquote_as_it_is() -> None:
    show = environment("groundlint.report.brief").from_string("{{ said|written }}").render
    assert show(said="write `spacing <2 ft`, or `contact 0.2 mohm`") == (
        "write <code>spacing &lt;2 ft</code>, or <code>contact 0.2 mohm</code>"
    )
    assert show(said="a ` of <the> plan") == "a ` of &lt;the&gt; plan"


def test_a_plan_that_could_not_be_read_whole_is_not_fit_for_use() -> None:
    text = Seen(brief_html(review_of(hostile_plan()), "0")).text
    assert "Not fit for use: a part of the plan could not be read." in text
    assert "this line is <b>not</b> read" in text


def test_a_plan_without_anything_gives_a_page() -> None:
    for source in ("", 'plan "x"\n', "structure S1\n"):
        text = Seen(brief_html(review_of(source), "0")).text
        assert "The plan has no steps." in text
        assert "Nobody is in place at any step" in text


def test_findings_waivers_and_what_is_not_stated() -> None:
    seen = Seen(page_of("deliberate-sins.tpg"))
    review = example("deliberate-sins.tpg")
    for group in grouped(review.findings):
        for finding in group[: MOST_ALIKE + 1]:
            assert " ".join(finding.message.split()) in seen.text
        assert f"line {group[0].span.line}" in seen.text
    for ask in review.asks():
        assert " ".join(ask.fact.split()) in seen.text
    assert review.waived or "Nothing is waived." in seen.text


def test_hold_points_and_initials() -> None:
    page = page_of("dual-point-crossarm.tpg")
    brief = Brief(example("dual-point-crossarm.tpg"), NOT_COMPUTED)
    kinds = Counter(step.kind for step in brief.steps)
    assert page.count('<tr class="hold">') == kinds["hold"] == 1
    assert page.count("HOLD</strong>") == kinds["hold"]
    sheet = page[page.index('id="sheet"') : page.index('id="register"')]
    assert sheet.count('<td class="box">') == len(brief.steps) - kinds["note"]


def test_the_job_names_its_capacitors_and_counts_in_words_that_agree() -> None:
    page = page_of("earthing-words.tpg")
    assert "Capacitors on it: CB1 at BK22." in page
    assert "of 4 leads, 1 bar and 1 rod taken along." in page
    assert "Capacitors" not in page_of("dual-point-crossarm.tpg")


def test_the_body_of_a_page_without_its_drawings(snapshot: SnapshotAssertion) -> None:
    page = page_of("small-neutral.tpg")
    body = page[page.index("<body>") :]
    body = re.sub(r"<svg.*?</svg>", "[drawing]", body, flags=re.DOTALL)
    body = re.sub(r"\d+ met, \d+ not applicable", "… met, … not applicable", body)  # the books grow
    assert "\n".join(line for line in body.splitlines() if line.strip()) == snapshot


MISSING = Unknown.of("x")


def exposure(volts: float | Unknown, limit: float | Unknown = 100.0, at: int = 0) -> Exposure:
    return Exposure("Heron", at, volts, limit)


def test_the_timeline_takes_the_gravest_of_several_values_of_a_step() -> None:
    review = example("dual-point-crossarm.tpg")
    brief = Brief(review, NOT_COMPUTED)
    step = next(s for s in brief.steps if s.number == "22")

    def shown(*values: Exposure) -> Mark:
        electrical = Electrical(tuple(replace(v, at=step.first) for v in values))
        marks = Brief(review, electrical).chart().marks
        return next(m for m in marks if m.step == "22" and m.worker == "Heron")

    assert shown(exposure(20.0), exposure(60.0), exposure(40.0)).volts == 60.0
    assert shown(exposure(20.0), exposure(MISSING)).volts is MISSING
    assert shown(exposure(20.0), exposure(MISSING), exposure(120.0)).volts == 120.0
    assert shown(exposure(50.0, 100.0), exposure(45.0, 60.0)).volts == 45.0
    assert shown(exposure(0.0)).verdict == "within the limit"
    assert shown(exposure(100.0)).verdict == "within the limit"
    assert shown(exposure(100.1)).verdict == "over the limit"
    assert shown().verdict == "not shown"


def test_the_worst_step_is_the_first_that_comes_nearest_to_its_limit() -> None:
    def mark(column: int, volts: float | Unknown, limit: float = 100.0) -> Mark:
        return Mark(column, "L", volts, limit, str(column), "", "", "")

    marks = [mark(0, 40.0), mark(1, 90.0), mark(2, 90.0), mark(3, MISSING), mark(4, 80.0, 1000.0)]
    assert worst_of(marks) == (marks[1],)
    assert worst_of([mark(0, MISSING)]) == ()


def test_a_duty_over_its_rating_is_marked() -> None:
    review = example("dual-point-crossarm.tpg")
    duties = (Duty("G1", 15000.0, 14000.0), Duty("G2", 14000.0, 14000.0))
    rated = {row.lead: row for row in Brief(review, Electrical(duties=duties)).page("0").rated}
    assert rated["G1"].verdict == "over its rating"
    assert (rated["G2"].verdict, rated["G2"].share) == ("within its rating", "100 %")
    (others,) = [row for name, row in rated.items() if name not in ("G1", "G2")]
    assert others.verdict == "not shown: no duty was computed for this lead"
    assert others.lead.startswith("G3, G4, G5, G11")
    assert 'class="mark"' in page_of("dual-point-crossarm.tpg", Electrical(duties=duties))


def test_a_plan_of_a_hundred_leads_stays_small() -> None:
    review = review_of(long_plan(20, 20, 5))
    page = brief_html(review, "0", made_up(review.plan))
    assert len(page.encode()) < 1_000_000


def test_what_the_plan_leaves_open_is_there_to_fill_in() -> None:
    text = (
        'plan "Look"\ngiven site as structure\ngiven volts as voltage\nline L\n  voltage given volts\n  route S1 S2\n'
    )
    open_ = Reviewer([]).review(Source("plan.tpg", text))
    filled = Reviewer([]).review(Source("plan.tpg", text), None, {"site": "S1", "volts": "12.47 kV"})
    assert (open_.plan.blanks, filled.plan.blanks) == (("site", "volts"), ())
    page = brief_html(open_, "0.1.0", made_up(open_.plan), reader="crew")
    assert "To fill in before the job" in page
    assert "<bdi>volts</bdi>" in page
    assert "To fill in before the job" not in brief_html(filled, "0.1.0", made_up(filled.plan), reader="crew")
