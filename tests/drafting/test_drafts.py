"""From heads of all kinds to whole plans: none is broken, and what a head does not state is asked for."""

from __future__ import annotations

from collections import Counter
from collections.abc import Callable
from dataclasses import replace
from pathlib import Path
from random import Random
from typing import NamedTuple

import pytest
from crowd import on_every_core, opener, reviewed
from houses import head_of, house
from less_said import less
from sound_plans import draft, head

from groundlint.drafting.heads import Head, drafted
from groundlint.drafting.job import Job
from groundlint.drafting.policy import Choices
from groundlint.drafting.site import NoSuchJobError
from groundlint.findings.model import Ask, Kind, Review
from groundlint.findings.pasting import paster_of
from groundlint.language.reader import read_statements
from groundlint.language.writer import write_plan
from groundlint.plan.models import Plan
from groundlint.reading import read_plan
from groundlint.text import Severity, Source
from groundlint.text.edits import edited

SHARE, WHOLE = 40, 2_000
COMPUTED_SHARE, COMPUTED_WHOLE = 4, 100
LESS_SHARE, LESS_WHOLE = 40, 1_000
EXAMPLES = Path(__file__).parents[2] / "examples"
BY_HAND = Path(__file__).parents[1] / "sound"
TITLES_OF_MORE = (
    "delta-jumper",
    "20-tension-stringing-over-crossing",
    "30-ground-lifted-for-phasing",
    "62-jumper-cut-under-bridge",
    "63-lifted-for-resistance-test",
    "70-stringing-under-a-live-circuit",
    "80-dead-end-cut-to-stay-open",
    "113-switch-cut-in-bridged-from-bucket",
)
TO_MEND = {"52-two-buckets-34-5": {"lead-length-limit"}} | {name: {"words-replace-no-step"} for name in TITLES_OF_MORE}
"""Drafts that break a rule which the plan by hand does not: the leads left are those of the trucks, too long for wires;
or the title, which is the work's words, tells of what no drafted step does, as to cut or to string a conductor. The
command prints no such plan, and says why."""
NOT_DRAFTED = {
    "cable-splice",  # a cable
    "two-days-first",  # parts of a job
    "two-days-second",
    "11-no-grounds-new-line-from-pole",
    "12-no-grounds-transformer-tap",
    "29-cable-spiked-and-spliced",
    "76-second-part-with-a-bridged-cut",
    "94-second-half-of-a-job-parts",
    "100-pulled-in-between-brackets",  # people at the ends of the route, who stand by their machines
}


class Drafted(NamedTuple):
    """A head with its steps; its text is empty where the steps lack something."""

    plan: Plan
    made: Job
    text: str


def from_head(
    text: str,
    at: tuple[str, ...] = (),
    choices: Choices | None = None,
    folder: Path = EXAMPLES,
    access: str | None = None,
) -> Drafted:
    """The draft of a head's text."""
    written = Head.of(Source("head.tpg", text)).with_method(None, access)
    plan = read_plan(written.source, opener(folder)).plan
    made = drafted(plan, at, choices or Choices())
    return Drafted(plan, made, "" if made.lacks else written.text(made))


def asks_of(plan: Plan, made: Job) -> list[Ask]:
    """What the steps lack, as it is asked for."""
    paster = paster_of(plan)
    return [Ask((gap,), paster.paste(gap), Severity.DANGER, ()) for gap in made.lacks]


def named(review: Review) -> bool:
    """Whether all that is not shown waits for something that is asked for."""
    return all(one.gaps for one in review.open_findings if one.kind is Kind.UNSHOWN)


def kinds(review: Review) -> set[Kind]:
    return {one.kind for one in review.open_findings}


# ------------------------------------------------------------------------------ many heads
def look(seed: int, computed: bool = False) -> tuple[str, list[tuple[str, str]]]:
    """What became of one head in the way of some house, and what was wrong with it. Two in three have all the equipment
    that any way takes; the third has what the steps of another way took."""
    text, site = head(seed)
    if seed % 3 == 0:
        text = head_of(draft(seed).text())
    at = tuple(site.structures[place] for place in site.works)
    access = "bucket" if site.bucket else "steel" if site.material == "steel" else "pole"
    choices = house(Random(f"house {seed}"), metric=site.metric)
    found = from_head(text, at, replace(choices, rod_away=site.length(16, 5)), access=access)
    if not found.text:
        asks = asks_of(found.plan, found.made)
        return "asks", [("cannot be pasted", ask.fact) for ask in asks if ask.paste is None]
    review = reviewed(found.text, computed=computed)
    wrong = [(one.slug, one.message) for one in review.open_findings if one.kind is not Kind.UNSHOWN or not one.gaps]
    return review.word(), wrong


def look_computed(seed: int) -> tuple[str, list[tuple[str, str]]]:
    return look(seed, computed=True)


@pytest.mark.slow
def test_no_draft_is_broken(seeds: Callable[[int, int], range], report: Callable[[str], None]) -> None:
    asked = seeds(SHARE, WHOLE)
    seen = on_every_core(look, asked)
    counts = Counter(word for word, _ in seen)
    report(f"{len(asked)} heads drafted: {', '.join(f'{count} {word}' for word, count in sorted(counts.items()))}")
    assert [(seed, *one) for seed, (_, wrong) in zip(asked, seen, strict=True) for one in wrong] == []
    assert counts["clean"] > 0


@pytest.mark.slow
def test_no_draft_is_broken_when_its_circuit_is_solved(
    seeds: Callable[[int, int], range], report: Callable[[str], None]
) -> None:
    asked = seeds(COMPUTED_SHARE, COMPUTED_WHOLE)
    seen = on_every_core(look_computed, asked, 2)
    report(f"{len(asked)} heads drafted with their circuits: {dict(Counter(word for word, _ in seen))}")
    assert [(seed, *one) for seed, (_, wrong) in zip(asked, seen, strict=True) for one in wrong] == []


def said_less(seed: int) -> tuple[str, list[tuple[str, str, str]]]:
    """A head without one of its facts."""
    text, site = head(seed)
    at = tuple(site.structures[place] for place in site.works)
    every = list(less(read_statements(Source("head.tpg", text)).text))
    gone, lesser = Random(f"less {seed}").choice(every)
    source = Source("head.tpg", write_plan(lesser))
    if read_plan(source).plan.unread:
        return "not read", []
    try:
        found = from_head(source.text, at)
    except NoSuchJobError:
        return "refused", []
    if not found.text:
        return "asks", []
    review = reviewed(found.text)
    return review.word(), [(gone, one.slug, one.message) for one in review.findings if one.kind is not Kind.UNSHOWN]


@pytest.mark.slow
def test_a_head_that_states_less_is_asked_and_never_broken(
    seeds: Callable[[int, int], range], report: Callable[[str], None]
) -> None:
    asked = seeds(LESS_SHARE, LESS_WHOLE)
    seen = on_every_core(said_less, asked)
    report(f"{len(asked)} heads without one of their facts: {dict(Counter(word for word, _ in seen))}")
    assert [(seed, *one) for seed, (_, wrong) in zip(asked, seen, strict=True) for one in wrong] == []


# ------------------------------------------------------------------------------ heads of plans written by hand
@pytest.mark.parametrize(
    "path",
    [one for one in sorted((*EXAMPLES.glob("*.tpg"), *BY_HAND.glob("*.tpg"))) if "deliberate" not in one.stem],
    ids=lambda path: path.stem,
)
def test_the_head_of_a_plan_written_by_hand_is_drafted(path: Path) -> None:
    text = path.read_text("utf-8")
    plan = read_plan(Source("plan.tpg", text), opener(path.parent)).plan
    places = [action.slots.get("structure") for action in plan.actions if action.kind == "enter"]
    at = dict.fromkeys(str(one) for one in places if one in plan.route)
    if path.stem in NOT_DRAFTED:
        with pytest.raises(NoSuchJobError):
            from_head(head_of(text), tuple(at), folder=path.parent)
        return
    found = from_head(head_of(text), tuple(at), folder=path.parent)
    if found.text:
        review = reviewed(found.text, at_home=opener(path.parent))
        own = {one.slug for one in reviewed(text, at_home=opener(path.parent)).findings}
        own |= TO_MEND.get(path.stem, set())
        assert {one.slug for one in review.findings if one.kind is not Kind.UNSHOWN} <= own
        assert named(review)
        assert found.text.startswith(head_of(text).rstrip())
    else:
        assert all(ask.paste is not None for ask in asks_of(found.plan, found.made))


def test_what_is_asked_for_is_enough_for_steps() -> None:
    """A head of a name and a line alone: what is asked for is pasted until there are steps, which break nothing."""
    text = 'plan "Change an insulator at 212"\nline Larkspur\n  route 211 212 213\n'
    for _ in range(4):
        found = from_head(text)
        if found.text:
            break
        pieces = [ask.paste.edit for ask in asks_of(found.plan, found.made) if ask.paste is not None]
        assert len(pieces) == len(found.made.lacks)
        text = edited(found.plan.source, pieces).text
    assert kinds(reviewed(found.text)) == {Kind.UNSHOWN}
    assert named(reviewed(found.text))
