"""A fault to ground on a circuit beside the line: textbook equations for what it puts across a worker, its own clearing
time, and bounds over what is not stated of it. Of the product's equations nothing is imported here."""

from __future__ import annotations

import itertools
import math
import re

import pytest

from groundlint.electrical.study.results import Exposure, exposure
from groundlint.electrical.study.study import Study, study_of
from groundlint.plan.models import ParallelCircuit, Person
from groundlint.reading import read_plan
from groundlint.text import Source
from groundlint.timeline import replay
from groundlint.values import Bounds, Unknown
from groundlint.values.bounds import ends

FOOT, MILE = 0.3048, 1609.344
PLAN = """\
plan "Beside"
line Larkspur
  voltage   115 kV
  frequency 60 Hz
  phases    A
  no neutral
  no shield wire
  wires     A 795 kcmil acsr 26/7
  place     A (0 m, 12 m)
  route     S1 (2 km) S2 (3 km) S3
source West beyond S1
  fault     8 kA three-phase, 6 kA to ground, x/r 9
  clears    in 6 cycles
no other source
parallel Birch beside S1 to S3 at 25 m
  fault     5 kA to ground, x/r 10
  clears    in 12 cycles
  spacing   h-frame-115kv
no live neighbour
structure S1 steel pole footing 10 ohm
structure S2 wood pole
structure S3 steel pole footing 20 ohm
measured  conductor-temperature 50 C
measured  earth-return-resistivity 100 ohm m
measured  parallel-earth-return 100 %
lead      G1 G2 4/0 copper 30 ft grade 5
stick     H1 8 ft
crew      lineman L1
attach    G1 to S1 steel, then to S1 A by H1
"""
BOTH = "attach    G2 to S3 steel, then to S3 A by H1\nenter L1 at S3 on the ground, reaching S3 steel\n"
ONE = "enter L1 at S3 on the ground, reaching S3 A\n"


def studied(text: str) -> Study:
    result = read_plan(Source("plan.tpg", text))
    assert not result.diagnostics, result.diagnostics
    found = study_of(replay(result.plan))
    assert isinstance(found, Study)
    return found


def worst(text: str) -> Exposure:
    """What is found of the worker at the end of a plan."""
    study = studied(text)
    (person,), (circuit,) = (study.timeline.plan.of(kind) for kind in (Person, ParallelCircuit))
    assert isinstance(person, Person)
    assert isinstance(circuit, ParallelCircuit)
    found = exposure(study, person, circuit, study.timeline.n)
    assert found is not None
    return found


def carson(apart: float) -> complex:
    """Impedance with earth return in ohm a metre, of a distance or a GMR in m, at 60 Hz in 100 ohm m: Kersting's form
    of modified Carson (Distribution System Modeling and Analysis, 2nd ed., equations 4.41 and 4.42, from memory)."""
    log = math.log(FOOT / apart) + 7.6786 + 0.5 * math.log(100 / 60)
    return complex(0.00158836 * 60, 0.00202237 * 60 * log) / MILE


def offset(seconds: float, ratio: float) -> float:
    """Decrement factor of a fully offset current (IEEE 80-2013 equation 79, seen): Ta = X/(w R)."""
    constant = ratio / (2 * math.pi * 60)
    return math.sqrt(1 + constant / seconds * (1 - math.exp(-2 * seconds / constant)))


APART = math.hypot(25, 50 * FOOT - 12)
"""The nearest phase of an H-frame of 115 kV hangs at 50 ft."""


def test_a_line_that_is_grounded_at_one_end_has_all_of_it_at_the_other() -> None:
    """3 I0 Zm times the length, with the offset of X/R 10 over 0.2 s."""
    found = worst(PLAN + ONE)
    by_hand = 5000 * abs(carson(APART)) * 5000 * offset(0.2, 10)
    for end in ends(found.voltage):  # type: ignore[arg-type]
        assert end == pytest.approx(by_hand, rel=0.005)
    assert found.time == pytest.approx(0.2)


def test_a_line_that_is_grounded_at_both_ends_has_the_drop_in_the_footing() -> None:
    """The loop of the phase, 0.1288 ohm a mile and GMR 0.0375 ft (Kersting, appendix A), and both footings."""
    found = worst(PLAN + BOTH)
    own = (0.1288 / MILE + carson(0.0375 * FOOT)) * 5000
    by_hand = 5000 * abs(carson(APART) * 5000 / (own + 10 + 20)) * 20 * offset(0.2, 10)
    for end in ends(found.voltage):  # type: ignore[arg-type]
        assert end == pytest.approx(by_hand, rel=0.005)
    body = found.needed("dalziel-50kg")
    for end in ends(body):  # type: ignore[arg-type]
        assert end == pytest.approx(by_hand / (0.116 / math.sqrt(0.2)), rel=0.005)


def test_a_fault_within_the_way_beside_can_be_the_worst() -> None:
    """With grounds at S1 and S3 and a worker at S2, current along one side alone drives more than along both, where it
    is the same in all: what of the way is not in step with the other."""
    text = PLAN + "attach    G2 to S3 steel, then to S3 A by H1\nenter L1 at S2 on the ground, reaching S2 A\n"
    found = worst(text)
    e, own = 5000 * carson(APART), 0.1288 / MILE + carson(0.0375 * FOOT)
    by_hand = []
    for near, far in ((2000, 3000), (2000, 0), (0, 3000)):
        current = e * (near + far) / (own * 5000 + 30)
        by_hand.append(abs(e * near - current * (own * 2000 + 10)) * offset(0.2, 10))
    assert max(by_hand) > by_hand[0]
    for end in ends(found.voltage):  # type: ignore[arg-type]
        assert end == pytest.approx(max(by_hand), rel=0.005)


def test_its_own_time_decides_and_not_that_of_the_source() -> None:
    quick, slow = (worst(PLAN.replace("12 cycles", f"{cycles} cycles") + BOTH) for cycles in (12, 120))
    assert (quick.time, slow.time) == (pytest.approx(0.2), pytest.approx(2.0))
    (low,), (high,) = ({ends(one.needed("dalziel-50kg"))[1]} for one in (quick, slow))  # type: ignore[arg-type]
    assert high == pytest.approx(low * math.sqrt(10) * offset(2, 10) / offset(0.2, 10), rel=1e-3)
    never = worst(PLAN.replace("clears    in 12 cycles", "clears    never") + BOTH)
    need = ends(never.needed("dalziel-50kg"))[1]  # type: ignore[arg-type]
    volts = ends(never.voltage)[1]  # type: ignore[arg-type]
    assert need == pytest.approx(volts / 0.006, rel=1e-3)  # let-go, and no offset that lasts


UNSTATED = {
    "  fault     5 kA to ground, x/r 10\n": "what a fault to ground draws",
    "  clears    in 12 cycles\n": "the clearing time of a fault on circuit Birch",
    " at 25 m": "where circuit Birch runs beside the line",
}


@pytest.mark.parametrize("line", UNSTATED)
def test_what_is_not_stated_is_not_known(line: str) -> None:
    found = worst(PLAN.replace(line, "\n" if line.startswith("  ") else "") + BOTH)
    needed = found.needed("dalziel-50kg")
    assert isinstance(needed, Unknown)
    assert UNSTATED[line] in needed.gaps[0].fact


WIDER = {
    ", x/r 10": (", x/r 1", ", x/r 10", ", x/r 60"),
    "  spacing   h-frame-115kv\n": (
        "  spacing   h-frame-115kv\n",
        "  spacing   crossarm-8ft\n",
        "  spacing   post-69kv\n",
    ),
    "measured  earth-return-resistivity 100 ohm m\n": tuple(
        f"measured  earth-return-resistivity {one} ohm m\n" for one in (10, 40, 100, 350, 1000)
    ),
    "measured  parallel-earth-return 100 %\n": tuple(
        f"measured  parallel-earth-return {one} %\n" for one in (20, 50, 100)
    ),
}


@pytest.mark.parametrize("steps", [ONE, BOTH])
@pytest.mark.parametrize("line", WIDER)
def test_bounds_hold_whatever_is_not_stated(line: str, steps: str) -> None:
    assert line in PLAN
    whole = worst(PLAN.replace(line, "") + steps)
    assert isinstance(whole.voltage, Bounds)
    for said in WIDER[line]:
        stated = worst(PLAN.replace(line, said) + steps)
        for outer, inner in (
            (whole.voltage, stated.voltage),
            (whole.needed("dalziel-50kg"), stated.needed("dalziel-50kg")),
        ):
            (low, high), (least, most) = ends(outer), ends(inner)  # type: ignore[arg-type]
            assert low * (1 - 1e-4) <= least <= most <= high * (1 + 1e-4), said


def test_what_decides_can_be_stated_and_is_named() -> None:
    for line, name in (
        ("measured  earth-return-resistivity 100 ohm m\n", "earth return resistivity"),
        ("measured  parallel-earth-return 100 %\n", "parallel earth return"),
        ("  spacing   h-frame-115kv\n", "parallel height"),
        (", x/r 10", "X/R of circuit Birch"),
    ):
        found = worst(PLAN.replace(line, "") + ONE).voltage
        assert isinstance(found, Bounds)
        assert name in [gap.fact for gap in found.gaps], line


def test_a_circuit_that_is_beside_at_one_structure_may_be_so_for_any_length() -> None:
    found = worst(PLAN.replace("beside S1 to S3", "beside S2 to S2") + BOTH).needed("dalziel-50kg")
    assert isinstance(found, Unknown)
    assert "between which structures" in found.gaps[0].fact


@pytest.mark.parametrize(
    ("said", "code"),
    [("fault 5 kA three-phase, 4 kA to ground", "not-of-a-circuit"), ("fault 0 A to ground", "not-positive")],
)
def test_what_a_circuit_cannot_state_is_refused(said: str, code: str) -> None:
    result = read_plan(Source("plan.tpg", re.sub("fault     5 kA to ground, x/r 10", said, PLAN)))
    assert [one.code for one in result.diagnostics] == [code]


def test_draws_within_the_bounds_of_all_assumptions() -> None:
    """Corners of what is measured, tried one after another, against the bounds with nothing measured."""
    bare = "\n".join(line for line in PLAN.split("\n") if not line.startswith("measured"))
    for steps in (ONE, BOTH):
        low, high = ends(worst(bare + steps).voltage)  # type: ignore[arg-type]
        for values in itertools.product((0, 75), (10, 1000), (20, 100), ("1e5", "1e7")):
            names = ("conductor-temperature", "earth-return-resistivity", "parallel-earth-return", "leakage-resistance")
            units = ("C", "ohm m", "%", "ohm")
            said = "\n".join(f"measured {n} {v} {u}" for n, v, u in zip(names, values, units, strict=True))
            text = bare.replace("\nlead ", f"\n{said}\nlead ", 1) + steps
            least, most = ends(worst(text).voltage)  # type: ignore[arg-type]
            assert low * (1 - 2e-5) <= least <= most <= high * (1 + 2e-5), values
