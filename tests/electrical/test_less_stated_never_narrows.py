"""What a plan no longer states never makes a computed result narrower, nor one known that was not.

Lines and clauses are taken out of sound examples at random, but for the steps themselves, and for a relay and a stated
time: that a fault clears as stated where no relay is known is asked of the plan by a rule of its own.
"""

from __future__ import annotations

import random
import re
from collections.abc import Callable, Iterator
from pathlib import Path

import pytest

from groundlint.electrical.study.results import exposure, lead_duty, rod_result
from groundlint.electrical.study.study import Study, study_of
from groundlint.plan.models import Lead, Person, Rod, SupplySource
from groundlint.reading import read_plan
from groundlint.text import Source
from groundlint.timeline import replay
from groundlint.values import Unknown
from groundlint.values.bounds import ends

EXAMPLES = Path(__file__).parents[2] / "examples"
NAMES = ("single-point-insulator.tpg", "small-neutral.tpg", "delta-jumper.tpg", "storm-repair.tpg")
CLAUSES = (
    r", x/r [0-9]+",
    r", [0-9.]+ kA to ground",
    r"[0-9.]+ kA three-phase, ",
    r" \([0-9]+ m\)",
    r" grade [0-9]",
    r" copper(?= [0-9]+ ft)",
    r" [0-9]+ ft(?= grade)",
    r" multigrounded",
    r" x 5/8 in",
    r", [0-9]+ ft deep",
    r" beyond \w+",
    r" guyed",
    r" wood pole",
)
LINES = r"\s*(measured|soil|surface|wires|spacing|voltage|frequency|neutral|no neutral|fault|no source|no other)\b.*\n"
WIDER = 0.06
"""What is not followed may add that much to bounds (`test_bounds_hold`)."""

Result = tuple[float, float] | None


def results(text: str) -> dict[str, Result]:
    """Bounds by what they are of; None for what is not known."""
    read = read_plan(Source("plan.tpg", text), lambda name: Source(name, (EXAMPLES / name).read_text("utf-8")))
    found = study_of(replay(read.plan))
    return dict(_results(found)) if isinstance(found, Study) else {}


def _results(found: Study) -> Iterator[tuple[str, Result]]:
    plan, last = found.timeline.plan, found.timeline.n
    for source in plan.of(SupplySource):
        assert isinstance(source, SupplySource)
        for thing in (*plan.of(Lead), *plan.of(Rod), *plan.of(Person)):
            values: dict[str, object] = {}
            if isinstance(thing, Lead) and (duty := lead_duty(found, thing, source)) is not None:
                values = {"loading": getattr(duty, "loading", duty)}
            elif isinstance(thing, Rod) and (kept := rod_result(found, thing, source)) is not None:
                values = {"keep away": getattr(kept, "keep_away", kept), "rise": getattr(kept, "rise", kept)}
            elif isinstance(thing, Person):
                for at in range(last + 1):
                    if (one := exposure(found, thing, source, at)) is not None:
                        values[f"needed at {at}"] = one.needed("dalziel-50kg")
                        values[f"volts at {at}"] = one.voltage
            for name, value in values.items():
                yield f"{thing} {source} {name}", None if isinstance(value, Unknown) else ends(value)  # type: ignore[arg-type]


def without(text: str, rng: random.Random) -> tuple[str, str]:
    """The text with a line or a clause less, and that."""
    spots = [one.span() for pattern in (*CLAUSES, rf"(?m)^{LINES}") for one in re.finditer(pattern, text)]
    first, last = rng.choice(spots)
    return text[:first] + text[last:], text[first:last].strip()


@pytest.mark.parametrize("name", NAMES)
def test_taking_out_what_is_stated_never_narrows(name: str, seeds: Callable[[int, int], range]) -> None:
    text = (EXAMPLES / name).read_text("utf-8")
    whole = results(text)
    assert any(value is not None for value in whole.values())
    for seed in seeds(4, 75):
        less, gone = without(text, random.Random(f"{name} {seed}"))
        for key, after in results(less).items():
            before = whole.get(key, after)
            if after is None:
                continue
            assert before is not None, (seed, gone, key, after)
            assert after[1] >= before[1] * (1 - WIDER) - 1e-9, (seed, gone, key, before, after)
            assert after[0] <= before[0] * (1 + WIDER) + 1e-9, (seed, gone, key, before, after)
