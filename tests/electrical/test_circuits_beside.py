"""What a circuit beside the line induces: textbook equations for the electromotive force along a conductor, and bounds
over what of that circuit is not stated."""

from __future__ import annotations

import cmath
import itertools
import math
from pathlib import Path

import numpy as np
import pytest

from groundlint.electrical.solver.network import InducedEmf
from groundlint.electrical.study.study import Study, study_of
from groundlint.plan.models import ParallelCircuit, Person
from groundlint.reading import read_plan
from groundlint.text import Source
from groundlint.timeline import replay

EXAMPLES = Path(__file__).parents[2] / "examples"
TEXT = (EXAMPLES / "steel-shield-wire.tpg").read_text("utf-8").replace("  route ", "  spacing   post-69kv\n  route ", 1)
CIRCUIT = "  current   380 A\n"
FOOT = 0.3048


def studied(said: str, text: str = TEXT) -> Study:
    """The example with more said of the circuit beside it."""
    result = read_plan(Source("plan.tpg", text.replace(CIRCUIT, CIRCUIT + said)))
    assert not result.diagnostics, result.diagnostics
    found = study_of(replay(result.plan))
    assert isinstance(found, Study)
    return found


def along(study: Study, way: str) -> np.ndarray:
    """Electromotive force along each conductor over the whole of the way beside, V [column, conductor]."""
    (mine,) = (one for one in study.site.returns if one.way == way)
    emfs = {one.name: one.emf for one in study.site.network.elements if isinstance(one, InducedEmf)}
    scenarios = [study.site.scenarios[column] for column in mine.columns]
    return np.array([np.sum([emfs[on.source] for on in one.on], axis=0) for one in scenarios])


def by_hand(apart: float, length: float, resistivity: float) -> complex:
    """Mutual impedance with earth return of two conductors, ohm: Kersting's form of modified Carson at 60 Hz, in ohm
    per mile and feet (Distribution System Modeling and Analysis, 2nd ed., equations 4.42 and 4.39, from memory)."""
    apart_ft = apart / FOOT
    log = math.log(1 / apart_ft) + 7.6786 + 0.5 * math.log(resistivity / 60)
    return complex(0.00158836 * 60, 0.00202237 * 60 * log) * length / 1609.344


def test_balanced_load_in_three_places_induces_by_their_differences() -> None:
    """Post 69 kV beside H-frame 115 kV, 90 ft off: phases of the circuit at 0, 12 and 24 ft from its nearest."""
    study = studied("  spacing   h-frame-115kv\n  residual  0 A\n")
    length = sum(one.span_after or 0.0 for one in study.timeline.plan.route[:-1])
    own = [(-4, 48), (4, 45), (-4, 42)]  # the phases of the line's own spacing, ft
    there = [(4 + 90 + 12 * k, 50) for k in range(3)]
    found = along(study, "magnetic")
    for order in (there, there[::-1]):
        turned = [cmath.rect(380, -2 * math.pi * k / 3) for k in range(3)]
        hand = [
            sum(
                amps * by_hand(math.dist(at, place) * FOOT, length, 100)
                for amps, place in zip(turned, order, strict=True)
            )
            for at in own
        ]
        assert any(np.allclose(one[: len(hand)], hand, rtol=0.005) for one in found), (hand, found)
    assert not [one for one in study.site.returns if one.way == "residual"]


def test_zero_sequence_current_induces_all_of_it_through_the_earth() -> None:
    """3 I0 Zm times the length: 36 A that does not come back in the circuit, in deep soil of 1,000 ohm m, measured."""
    text = TEXT.replace("\nsource ", "\nmeasured earth-return-resistivity 1000 ohm m\nsource ", 1)
    study = studied("  spacing   h-frame-115kv\n  residual  36 A\n", text)
    length = sum(one.span_after or 0.0 for one in study.timeline.plan.route[:-1])
    hand = 36 * by_hand(math.dist((4, 45), (94, 50)) * FOOT, length, 1000)  # phase B is the nearest
    (found,) = along(study, "residual")
    assert found[1] == pytest.approx(hand, rel=0.005)


def induced(study: Study) -> list[tuple[float, float]]:
    """Bounds of the currents through whoever stands somewhere, by place in the plan."""
    plan, found = study.timeline.plan, []
    for person, at in itertools.product(plan.of(Person), range(study.timeline.n + 1)):
        assert isinstance(person, Person)
        for circuit in plan.of(ParallelCircuit):
            mine = study.induced_currents(person, circuit, at)
            assert isinstance(mine, tuple)
            found += [(float(one.ends[0, 0]), float(one.ends[1, 0])) for one in mine]
    return found


@pytest.mark.parametrize("spacing", ["crossarm-8ft", "armless", "vertical-distribution", "post-69kv", "h-frame-230kv"])
@pytest.mark.parametrize("residual", [0, 20])
def test_what_is_not_stated_of_a_circuit_is_within_the_bounds(spacing: str, residual: int) -> None:
    whole = induced(studied(""))
    stated = induced(studied(f"  spacing   {spacing}\n  residual  {residual} A\n"))
    assert whole
    assert len(whole) == len(stated)
    for (low, high), (least, most) in zip(whole, stated, strict=True):
        assert low * (1 - 1e-6) <= least <= most <= high * (1 + 1e-6)


def test_a_spacing_without_three_phases_says_nothing_of_a_circuit() -> None:
    study = studied("  spacing   single-phase\n")
    (circuit,) = study.timeline.plan.of(ParallelCircuit)
    (gap,) = study.site.missing[circuit]
    assert "three phases" in gap.fact


def test_a_residual_current_below_nothing_is_refused() -> None:
    result = read_plan(Source("plan.tpg", TEXT.replace(CIRCUIT, CIRCUIT + "  residual -5 A\n")))
    assert result.diagnostics


CHARGED = """\
plan "Charged"
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
  voltage   115 kV
  current   0.0001 A
  residual  0 A
  spacing   h-frame-115kv
no live neighbour
structure S1 steel pole footing 10 ohm
structure S2 S3 wood pole
measured  body-resistance 1000 ohm
measured  leakage-resistance 1e7 ohm
measured  conductor-temperature 50 C
measured  earth-return-resistivity 100 ohm m
measured  parallel-conductor-radius 14 mm
lead      G1 4/0 copper 30 ft grade 5
stick     H1 8 ft
crew      lineman L1
"""


def charging_current() -> float:
    """Current in A that the other circuit's voltage drives into a wire that is grounded, over 5 km: w C12 V, of
    Maxwell's potential coefficients (Grainger and Stevenson, Power System Analysis, 1994, chapter 5)."""
    places = [(0.0, 12.0), *((25 + 12 * k * FOOT, 50 * FOOT) for k in range(3))]
    radii = [1.108 * 0.0254 / 2, 0.014, 0.014, 0.014]

    def ratio(i: int, k: int) -> float:
        (x, y), (other, high) = places[i], places[k]
        return 2 * y / radii[i] if i == k else math.hypot(x - other, y + high) / math.hypot(x - other, y - high)

    potential = np.log([[ratio(i, k) for k in range(4)] for i in range(4)]) / (2 * math.pi * 8.8541878128e-12)
    mutual = np.linalg.inv(potential)[0, 1:]
    turned = np.exp(-2j * math.pi * np.arange(3) / 3)
    return float(abs(2 * math.pi * 60 * mutual @ turned) * 115e3 / math.sqrt(3) * 5000)


def charged(ground: str) -> tuple[float, float]:
    """Bounds of the current through who touches the far end of the line."""
    result = read_plan(Source("plan.tpg", CHARGED + ground + "enter L1 at S3 on the ground, reaching S3 A\n"))
    assert not result.diagnostics, result.diagnostics
    study = study_of(replay(result.plan))
    assert isinstance(study, Study)
    return induced(study)[-1]


def test_the_voltage_of_a_circuit_beside_charges_a_line_that_is_not_grounded() -> None:
    """All of the charging current flows through who touches it; insulators take next to nothing of it."""
    for end in charged(""):
        assert end == pytest.approx(charging_current(), rel=0.005)


def test_the_voltage_of_a_circuit_beside_charges_a_line_that_is_grounded_at_one_point() -> None:
    """What it drives into the last 1.5 km, the 2.5 km about S2 and the first 1 km flows through the line and 10 ohm of
    footing; who touches the far end has the voltage along them across 1,000 ohm. The line: 0.1288 ohm a mile, GMR
    0.0375 ft (Kersting, appendix A)."""
    own = 0.1288 / 1609.344 + by_hand(0.0375 * FOOT, 1.0, 100)
    drop = 10 + own * 2000 * 4000 / 5000 + own * 3000 * 1500 / 5000
    inner = 10 + own * 5000  # of the line as the body sees it
    for end in charged("attach G1 to S1 steel, then to S1 A by H1\n"):
        assert end == pytest.approx(charging_current() * abs(drop / (inner + 1000)), rel=0.005)
