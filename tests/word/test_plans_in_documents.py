"""A plan in a Word document comes to what it comes to in a file of its own: the same findings at the same words."""

from __future__ import annotations

import re
from collections.abc import Callable
from functools import cache
from pathlib import Path
from random import Random

import pytest
from crowd import opener, reviewed, reviewer
from documents import FORMS, document
from sound_plans import sound_plan

from groundlint.findings.model import Review
from groundlint.reading.word import read_document

EXAMPLES = Path(__file__).resolve().parents[2] / "examples"
NAMES = sorted(path.name for path in EXAMPLES.glob("*.tpg"))
SHARE, WHOLE = 2, 200
_PLACE = re.compile(r"\b(line|paragraph|step) [0-9]+[a-z]?\b( \([^()]*\))?")
_PLAIN = str.maketrans("“”‑\u00a0", '""- ')


def read(text: str, form: str, seed: int = 1) -> Review:
    source, problems = read_document(document(text, form, seed), "plan.docx")
    return reviewer().review(source, opener(EXAMPLES), problems=problems)


def found(review: Review) -> set[tuple[object, ...]]:
    return {
        (
            one.kind,
            one.slug,
            one.level,
            _PLACE.sub("there", one.message),
            one.span.text.translate(_PLAIN),
            one.span.source.name.split(".")[0],
        )
        for one in review.findings
    }


@cache
def as_text(text: str) -> Review:
    return reviewed(text, at_home=opener(EXAMPLES))


@pytest.mark.one_in(20)
@pytest.mark.parametrize("form", FORMS)
@pytest.mark.parametrize("name", NAMES)
def test_an_example_comes_to_the_same_in_a_document(name: str, form: str) -> None:
    text = (EXAMPLES / name).read_text("utf-8")
    review = read(text, form)
    assert found(review) == found(as_text(text))
    assert [str(action.span.text).translate(_PLAIN) for action in review.plan.actions] == [
        action.span.text for action in as_text(text).plan.actions
    ]
    assert [action.number for action in review.plan.actions] == [a.number for a in as_text(text).plan.actions]


def test_plans_that_are_made_come_to_the_same_in_a_document(
    seeds: Callable[[int, int], range], report: Callable[[str], None]
) -> None:
    tried = 0
    for seed in seeds(SHARE, WHOLE):
        rng = Random(f"word {seed}")
        text, form = spoiled(sound_plan(seed), rng), rng.choice(sorted(FORMS))
        assert found(read(text, form, seed)) == found(reviewed(text)), (seed, form)
        tried += 1
    report(f"plans read from Word documents as from text: {tried}")


def spoiled(text: str, rng: Random) -> str:
    """A plan with some of its lines left out, so that there is something to find."""
    lines = text.split("\n")
    return "\n".join(line for line in lines if line.casefold().startswith(("plan", "routine")) or rng.random() > 0.03)


def test_messages_name_the_step_and_not_a_line() -> None:
    text = (EXAMPLES / "deliberate-open-wire.tpg").read_text("utf-8")
    for form in ("in_list", "in_style"):
        review = read(text, form)
        numbers = {one.span.start: one.number for one in review.plan.actions if one.use is None}
        for one in review.findings:
            number = numbers.get(one.span.start)
            assert one.span.address == f"plan.docx: {one.span.called}"
            assert one.span.called == f"step {number}" if number else one.span.called.startswith("paragraph ")


def test_a_message_that_names_another_step_says_its_number() -> None:
    text = (EXAMPLES / "dual-point-crossarm.tpg").read_text("utf-8")
    again = text.replace(" 25. ", " 25. detach P4 from SC16 C by H1, then from K3\n 26. ")
    assert again != text
    said = [one.message for one in read(again, "in_list").findings if one.slug == "detach-not-on"]
    assert said
    assert not any("line " in message for message in said)
    assert all("(step 24)" in message for message in said)  # the list counts it
