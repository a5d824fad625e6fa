"""What a review asks for can be pasted: where its ask says, each text reads, states its fact, breaks nothing."""

from __future__ import annotations

import re
from collections import Counter
from collections.abc import Callable
from pathlib import Path
from random import Random

import pytest
from crowd import reviewer
from less_said import less
from sound_plans import sound_plan

from groundlint.findings.model import Ask, Kind, Review
from groundlint.findings.pasting import Where, paster_of
from groundlint.language.reader import read_statements
from groundlint.language.writer import write_plan
from groundlint.plan.models import SupplySource
from groundlint.report.text import asks_text
from groundlint.text import Source
from groundlint.text.edits import edited
from groundlint.values import Gap

EXAMPLES = Path(__file__).parents[2] / "examples"
PLANS = tuple(
    path
    for path in sorted(EXAMPLES.rglob("*.tpg"))
    if not {"comparison", "quillback-rules"} & set(path.relative_to(EXAMPLES).parts)
)

# Facts for which no text is offered, and why.
NO_TEXT = {
    "the numbers of the steps": "every step is to be numbered, not one line",
    "neutral grounds per mile": "an assumption that no measurement replaces",
    "which the plan language has no words for": "as it says",
    "which side of the cut": "the step at the cut names the side, and either may be meant",
    "rating of": "no table has it, whatever the plan says",
    "fault currents and X/R that agree": "two stated values contradict each other; which is wrong is for the writer",
    "minimum approach distance below": "the source gives none",
    "can feed a fault here": "the way is not stated, and no one line states it",
    "who has the line in reach": "a step for each person who works",
    "is joined to": "the leads that join it are many steps",
    "which point": "the message at the name says what to write",
    "lead heating": "an assumption that no measurement replaces",
    "which is said never to": "that it clears never is stated",
    "which phases the line has": "no line is declared, which the text says",
    "with which lead": "no lead of the plan is left",
    "a ground at the work beside": "the leads that make it are many steps",
    "to the bar but the neutral": "the same",
    "which gloves": "the plan declares none",
    "is covered with": "the plan declares nothing to cover with",
    "which source feeds the line": "no route is stated",
}


def reviewed(text: str, name: str = "plan.tpg") -> Review:
    return reviewer(computed=True).review(Source(name, text))


def asks_of(text: str) -> dict[str, Ask]:
    return {ask.fact: ask for ask in reviewed(text).asks()}


def places(review: Review) -> Counter[str]:
    """At how many places each fact is not stated."""
    return Counter(fact for fact, _where in {(gap.fact, gap.where) for one in review.findings for gap in one.gaps})


def wrong_with(review: Review, ask: Ask) -> list[str]:
    """What is wrong with the plan in which an ask is pasted as it stands."""
    assert ask.paste is not None
    after = reviewed(edited(review.plan.source, [ask.paste.edit]).text, review.plan.source.name)
    before, missing = places(review), places(after)  # a fact may lack at another place too
    wrong = [f"still not stated: {gap.fact}" for gap in ask.gaps if missing[gap.fact] >= before[gap.fact]]
    known = {(finding.kind, finding.slug) for finding in review.findings}
    # A value that only the writer knows decides rules, either way; nothing else may.
    decides = bool(ask.paste.yours or ask.paste.before)
    return wrong + [
        f"{finding.kind.value}: {finding.slug} in line {finding.span.line}: {finding.message}"
        for finding in after.findings
        if finding.kind is not Kind.UNSHOWN and (finding.kind, finding.slug) not in known
        if not (decides and finding.kind is Kind.BROKEN)
    ]


def test_each_ask_pasted_as_it_says_reads_and_settles_its_fact(
    daily_seed: int, how_many: Callable[[int, int], int], report: Callable[[str], None]
) -> None:
    rng = Random(daily_seed)
    counts: Counter[str] = Counter()
    failed = []
    for seed in range(how_many(5, 500)):
        if rng.random() < 0.5:
            path = rng.choice(PLANS)
            name, text = path.name, path.read_text("utf-8")
        else:
            name, text = "made.tpg", sound_plan(daily_seed * 1000 + seed)
        what, said = [], read_statements(Source(name, text)).text
        for _ in range(rng.choice((0, 1, 1, 2, 3))):
            gone, said = rng.choice(list(less(said)))
            what.append(gone)
        review = reviewed(write_plan(said), name)
        if any(finding.kind is Kind.UNREAD for finding in review.findings):
            counts["plans not read whole, of which nothing is asked"] += 1
            continue
        asks = review.asks()
        for ask in rng.sample(asks, min(len(asks), how_many(3, len(asks)))):
            if ask.paste is None:
                counts["without a text"] += 1
                in_another_file = ask.where is not None and ask.where.source is not review.plan.source
                if not in_another_file and not any(words in ask.fact for words in NO_TEXT):
                    failed.append(f"{name} without {what}: {ask.fact}: no text is given, and no reason is known")
                continue
            wrong = wrong_with(review, ask)
            counts["pasted"] += 1
            if wrong:
                failed.append(f"{name} without {what}: {ask.fact}: {ask.paste}: {'; '.join(wrong[:3])}")
    assert counts["pasted"]
    right = counts["pasted"] - sum("no reason is known" not in one for one in failed)
    said = ", ".join(f"{number} {word}" for word, number in counts.items() if word != "pasted")
    report(f"asks pasted as they stand: {right} of {counts['pasted']} settle their fact and break nothing; {said}")
    assert not failed, "\n".join(failed)


PLAN = """\
method dual-point from pole
line Elm
  voltage 12.47 kV
  frequency 60 Hz
  phases A B C
  no neutral
  route E1 E2 E3
source Mill beyond E1
  fault 6 kA three-phase
switch SW7 between Mill and E1 normally closed
structure E1..E3 wood pole
rod R1 6 ft x 5/8 in
lead G1..G4 25 ft  # one set
bar K1
stick H1
crew lineman Wren
stage isolate
  1. brief all
  2. open SW7 and tag it
  3. set R1 at E2, 16 ft from the pole
  4. attach G1 to E2 A, then to E2 B by hand
  5. enter Wren at E2 on the pole, reaching A
  6. work "look" at E2
"""


@pytest.mark.parametrize(
    ("fact", "where", "line", "text"),
    [
        ("that there is no other source", Where.OWN, 17, "no other source"),
        ("the grade of lead G1", Where.END, 13, "grade 3"),
        ("whether the gap of SW7 can be seen", Where.END, 19, "gap seen"),
        ("the clearing time of source Mill", Where.BELOW, 8, "clears in 24 cycles"),
        (
            "whether G1 goes on E2 A by stick or by hand",
            Where.INSTEAD,
            21,
            "4. attach G1 to E2 A by H1, then to E2 B by hand",
        ),
        ("the depth of rod R1", Where.END, 20, "6 ft deep"),
        ("whether Wren wears rubber gloves", Where.BEFORE, 22, "4a. gloves on Wren"),
    ],
)
def test_where_a_fact_goes_and_in_which_words(fact: str, where: Where, line: int, text: str) -> None:
    asks = asks_of(PLAN)
    assert fact in asks, list(asks)
    paste = asks[fact].paste
    assert paste is not None
    assert (paste.place, paste.line, paste.text) == (where, line, text)


def test_a_text_stands_before_the_comment_of_its_line() -> None:
    ask = asks_of(PLAN)["the grade of lead G1"]
    assert ask.paste is not None
    assert "lead G1..G4 25 ft grade 3  # one set\n" in edited(Source("plan.tpg", PLAN), [ask.paste.edit]).text


def test_that_there_is_none_comes_after_the_question_whether_there_is_one() -> None:
    asks = asks_of(PLAN.replace("  no neutral\n", ""))
    for fact in ("that there is no other source", "whether the line has a neutral"):
        assert str(asks[fact].paste).startswith("declare ")


def test_the_form_shows_every_ask_and_every_rule_that_waits() -> None:
    review = reviewed(PLAN)
    form = asks_text(review)
    for ask in review.asks():
        assert ask.fact in form
        assert all(rule in form for rule in ask.rules)
        assert ask.paste is None or str(ask.paste) in form


OPEN = """\
plan      "Replace the insulator at the site"
given     site as structure
given     volts as voltage
line L
  voltage given volts
  phases A B C
  neutral N
  route 1 2 3
structure 1..3 wood pole
bar K1
lead G1 G2
stick H1
crew lineman P1
stage ground
  mount K1 at site below the feet
  clean site N A B C
  attach G1 to K1, then to site A by H1
  enter P1 at site on the pole, reaching site A, B C and the pole
  work "change it" at site by P1
  leave P1
"""


def test_a_value_left_open_is_asked_for_once_and_nothing_is_unread() -> None:
    review = reviewed(OPEN)
    assert not [finding for finding in review.findings if finding.kind is Kind.UNREAD]
    asks = {ask.fact: str(ask.paste) for ask in review.asks()}
    assert asks["what site stands for"].startswith(
        "give it by `--given site=VALUE`, or add to the end of line 2: `defa"
    )
    assert asks["the line's voltage"].startswith("give it by `--given volts=VALUE`, or add to the end of line 3: `defa")
    filled = reviewer(computed=True).review(Source("plan.tpg", OPEN), None, {"site": "2", "volts": "12.47 kV"})
    assert not {"what site stands for", "the line's voltage"} & {ask.fact for ask in filled.asks()}
    assert not [finding for finding in filled.findings if finding.kind is Kind.UNREAD]


TWICE = PLAN.replace("phases A B C", "phases R Y B").replace("E2 A, then to E2 B", "E2 R, then to E2 Y")
TWICE = TWICE.replace("reaching A", "reaching R").replace(
    "  3. set",
    "  2.1. test E2 R by hand\n  2.2. test E2 Y by hand\n  2.3. inspect G1..G4\n"
    "  2.4. clearance Elm received by Heron\n  2.5. clearance Elm transferred to Wren, operator told, crew told\n"
    "  2.6. bond K1 to R1 by hand\n  3. set",
)
TWICE = TWICE.replace("lineman Wren", "lineman Wren Heron").replace("stick H1\n", "stick H1\ndetector D1\n")


@pytest.mark.parametrize(
    ("fact", "texts"),
    [
        ("which detector tests", {"with D1"}),  # at each of the two tests
        ("who hands over the clearance", {"by Heron"}),  # who holds it, not who is named first
        ("with which lead the bond is made", {"with G2"}),  # G1 is in use
    ],
)
def test_a_text_is_what_fits_in_this_plan(fact: str, texts: set[str]) -> None:
    asks = [ask for ask in reviewed(TWICE).asks() if fact in ask.fact]
    assert {ask.paste.text if ask.paste else "" for ask in asks} == texts
    assert len(asks) == (2 if fact == "which detector tests" else 1)


def test_amperes_are_no_phase() -> None:
    plan = reviewed(TWICE).plan
    (source,) = plan.of(SupplySource)
    paste = paster_of(plan).paste(Gap("pickup of the relay", "relay iec-very-inverse pickup 300 A", source.span))
    assert paste is not None
    assert paste.text == "relay iec-very-inverse pickup 300 A"


def test_a_value_is_no_name_of_the_plan_that_is_spelled_as_its_number() -> None:
    """A structure is called 8, and the text to paste says that a stick has 8 ft."""
    plan = (EXAMPLES / "dual-point-crossarm.tpg").read_text(encoding="utf-8")
    plan = plan.replace("SC14..SC18", "SC14 SC15..SC18").replace("SC14", "8")
    asks = asks_of(re.sub(r"(?m)^(stick +\S+).*$", r"\1", plan))
    sticks = [ask.paste.yours for fact, ask in asks.items() if "length of stick" in fact and ask.paste is not None]
    assert sticks
    assert set(sticks) == {("8 ft",)}


def test_the_side_of_a_clamp_is_said_where_it_goes_on() -> None:
    plan = (EXAMPLES.parent / "tests" / "sound" / "31-storm-broken-conductors.tpg").read_text(encoding="utf-8")
    sideless = re.sub(r"(?m)^(.*attach .*?) (?:near|far) side", r"\1", plan)
    asks = [ask for ask in reviewed(sideless).asks() if "on which side of the cut" in ask.fact]
    assert asks
    for ask in asks:
        assert ask.paste is not None
        assert ask.paste.place is Where.INSTEAD
        assert "near side" in ask.paste.text
        assert dict(ask.paste.choices) == {"near side": "near side or far side"}


def test_what_no_line_of_a_plan_can_state_points_to_a_waiver() -> None:
    text = (EXAMPLES / "cable-splice.tpg").read_text(encoding="utf-8")
    review = reviewed(re.sub(r"(?m)^waive .*\n(?: .*\n)*", "", text))
    (ask,) = [ask for ask in review.asks() if "impedances of cable" in ask.fact]
    assert ask.where is None
    (waiver,) = re.findall(r"`(waive [^`]+)`", ask.how(review.plan))
    assert ask.rules[0] in waiver
    assert read_statements(Source("plan.tpg", waiver.replace("DATE", "2026-12-31"))).diagnostics == ()
