"""The circuit of a plan over its steps: held against the same circuit with the source in it, and against what may not
change or may only fall."""

from __future__ import annotations

import dataclasses
import random
from pathlib import Path

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from syrupy.assertion import SnapshotAssertion

from groundlint.electrical.solver.network import BALANCED, Energized, Impedance, Network, Scenario, ThreePhaseSource
from groundlint.electrical.solver.solution import Solution, Values
from groundlint.electrical.solver.solve import solve
from groundlint.electrical.study.extents import Extents
from groundlint.electrical.study.results import LeadDuty, RodResult, exposure, lead_duty, rod_result
from groundlint.electrical.study.study import Study, study_of
from groundlint.plan.models import Lead, Person, SupplySource
from groundlint.reading import read_plan
from groundlint.text import Source
from groundlint.timeline import replay
from groundlint.values import Bounds, Unknown
from groundlint.values.bounds import ends

EXAMPLES = Path(__file__).parents[2] / "examples"
SOUND = (
    "bucket-cutouts.tpg",
    "customer-generation.tpg",
    "delta-jumper.tpg",
    "dual-point-crossarm.tpg",
    "single-point-insulator.tpg",
    "small-neutral.tpg",
    "standard-procedure.tpg",
)


def study(text: str, folder: Path = EXAMPLES) -> Study:
    result = read_plan(Source("plan.tpg", text), lambda name: Source(name, (folder / name).read_text("utf-8")))
    assert not result.plan.unread, [d.message for d in result.diagnostics]
    found = study_of(replay(result.plan))
    assert isinstance(found, Study)
    return found


def of_example(name: str) -> Study:
    return study((EXAMPLES / name).read_text("utf-8"))


def sources(found: Study) -> list[SupplySource]:
    return [s for s in found.timeline.plan.of(SupplySource) if isinstance(s, SupplySource)]


def people(found: Study) -> list[Person]:
    return [p for p in found.timeline.plan.of(Person) if isinstance(p, Person)]


@pytest.mark.parametrize("name", ["single-point-insulator.tpg", "delta-jumper.tpg", "customer-generation.tpg"])
def test_returning_by_the_terminals_is_what_a_source_in_the_circuit_gives(name: str) -> None:
    """With every value in the middle of its bounds, against the same circuit with all sources in it, each by itself and
    those that may drive at once together."""
    text = (EXAMPLES / name).read_text("utf-8")
    # nothing then says that the dairy's generator is held off
    text = text.replace("cutout    F48 between Digester and LB48 normally closed\n", "")
    text = "\n".join(line for line in text.split("\n") if "F48," not in line)
    found = study_of(replay(read_plan(Source("plan.tpg", text)).plan))
    assert isinstance(found, Study)
    site = dataclasses.replace(found.site, values=())
    rng = random.Random(7)
    states = sorted(rng.sample(range(len(site.states)), min(3, len(site.states))))
    extents = Extents(site, {state: found.extents.wanted[state] for state in states}, {})
    in_place: list[ThreePhaseSource] = []
    for source in sources(found):
        ports = site.ports[source]
        equivalent = site.sources[source]
        emf = (equivalent.emf * BALANCED[0], equivalent.emf * BALANCED[1], equivalent.emf * BALANCED[2])
        phases = (ports[0][0], ports[1][0], ports[2][0])
        z0 = equivalent.z0
        assert z0 is None or isinstance(z0, complex)
        in_place.append(ThreePhaseSource(source.name, phases, ports[0][1], emf, equivalent.z1, z0))
    network = Network((*site.network.elements, *in_place), site.network.isolated)
    for source in sources(found):
        ways = site.ways(source, states[0])
        assert all(site.ways(source, state) == ways for state in states)
        assert any(way.others for way in ways) is (len(in_place) > 1)
        scenarios = [
            Scenario(way.way, tuple(Energized(one.name, poles) for one, poles in way.driving.items())) for way in ways
        ]
        direct = solve(network, [site.states[s] for s in states], scenarios)
        assert isinstance(direct, Solution)
        compared = 0
        for lead, elements in site.leads.items():
            for row, state in enumerate(states):
                on = next((element for element in elements if element not in site.states[state]), None)
                if on is None:
                    continue
                ours = extents.extent(state, source, lead).ends
                theirs = direct.current(on)
                assert isinstance(theirs, Values)
                scale = float(ours.max())
                assert np.abs(theirs.values[row, 0]).max() == pytest.approx(ours[1].max(), rel=1e-4, abs=1e-6 * scale)
                compared += 1
        assert compared > 3


@pytest.mark.parametrize("name", SOUND)
def test_every_step_of_a_sound_example_has_an_exposure_and_the_worst_is_named(
    name: str, snapshot: SnapshotAssertion
) -> None:
    found = of_example(name)
    rows = []
    steps = 0
    for person in people(found):
        for source in sources(found):
            worst = None
            for at in range(found.timeline.n + 1):
                here = exposure(found, person, source, at)
                if here is None:
                    continue
                steps += 1
                assert not isinstance(here.voltage, Unknown), here.voltage
                if worst is None or ends(here.voltage)[1] > ends(worst.voltage)[1]:  # type: ignore[arg-type]
                    worst = here
            if worst is not None and worst.pair is not None:
                low, high = ends(worst.voltage)  # type: ignore[arg-type]
                step = found.timeline.actions[worst.at - 1]
                rows.append(
                    f"{person} after step {step.number}, {step.kind}: {low:.3g} to {high:.3g} V between "
                    f"{worst.pair[0]} and {worst.pair[1]}, {source} returning by {worst.way}"
                )
    assert steps > 0
    assert rows == snapshot


SITE = """\
line Larkspur
  voltage   12.47 kV
  frequency 60 Hz
  phases    A B C
  neutral   N multigrounded carries the fault
  no shield wire
  wires     A B C 336.4 kcmil acsr, N 4/0 acsr
  spacing   crossarm-8ft
  route     211 (52 m) 212 (48 m) 213
source West beyond 211
  fault     {fault} kA three-phase, {ground} kA to ground, x/r {ratio}
  clears    in 24 cycles
no other source
no parallel line
structure 211 212 213 wood pole
soil      {soil} ohm m
rod       R1 6 ft x 5/8 in
bar       K1
lead      G1..G5 G9 {size} copper {length} ft grade 3
stick     H1 8 ft
crew      lineman L1
set R1 at 212, 16 ft from the pole, 6 ft deep
mount K1 at 212 below the feet
attach G1 to R1, then to K1
attach G2 to K1, then to 212 N by H1
attach G3 to K1, then to 212 A by H1
attach G4 to 212 A by H1, then to 212 B by H1
attach G5 to 212 B by H1, then to 212 C by H1
{more}enter L1 at 212 on the pole, reaching {reach}
"""

sites = st.fixed_dictionaries(
    {
        "fault": st.sampled_from(["1.2", "4", "6.8", "12"]),
        "ground": st.sampled_from(["0.9", "1.1"]),
        "ratio": st.sampled_from(["2", "6", "9", "15"]),
        "soil": st.sampled_from(["20", "120", "900"]),
        "size": st.sampled_from(["2 AWG", "1/0", "2/0", "4/0"]),
        "length": st.sampled_from(["10", "25", "40"]),
    }
)
PAIRS = [
    ("212 A", "212 B"),
    ("212 B", "212 C"),
    ("212 A", "212 C"),
    ("K1", "212 A"),
    ("212 N", "212 C"),
    ("K1", "212 B"),
]


def worst_voltage(found: Study) -> tuple[float, float]:
    (person,), (source,) = people(found), sources(found)
    here = exposure(found, person, source, found.timeline.n)
    assert here is not None
    assert not isinstance(here.voltage, Unknown)
    return ends(here.voltage)


@given(site=sites, pair=st.sampled_from(PAIRS))
@settings(max_examples=25, deadline=None)
def test_a_sound_lead_beside_never_raises_the_exposure_it_bridges(site: dict[str, str], pair: tuple[str, str]) -> None:
    reach = " ".join(place.removeprefix("212 ") for place in pair)
    lead = f"attach G9 to {pair[0]}{'' if pair[0] == 'K1' else ' by H1'}, then to {pair[1]} by H1\n"
    before = worst_voltage(study(SITE.format(**site, more="", reach=reach)))
    after = worst_voltage(study(SITE.format(**site, more=lead, reach=reach)))
    for with_it, without in zip(after, before, strict=True):
        assert with_it <= without * 1.03  # so far a bound may lie from what it bounds


@given(site=sites, seed=st.integers(0, 10**6))
@settings(max_examples=15, deadline=None)
def test_the_order_of_declarations_and_the_units_change_nothing(site: dict[str, str], seed: int) -> None:
    text = SITE.format(**site, more="", reach="A B C and the pole")
    lines = text.split("\n")
    first = next(i for i, line in enumerate(lines) if line.startswith("source"))
    last = next(i for i, line in enumerate(lines) if line.startswith("set R1"))
    blocks = [lines[first : first + 3], *([line] for line in lines[first + 3 : last])]
    random.Random(seed).shuffle(blocks)
    shuffled = [*lines[:first], *(line for block in blocks for line in block), *lines[last:]]
    metric = "\n".join(shuffled)
    for old, new in (
        ("(52 m)", "(5200 cm)"),
        ("6 ft deep", "1.8288 m deep"),
        (f" {site['length']} ft grade", f" {float(site['length']) * 0.3048:.4f} m grade"),
        ("in 24 cycles", "in 0.4 s"),
        ("12.47 kV", "12470 V"),
    ):
        assert old in metric
        metric = metric.replace(old, new)
    ours, theirs = study(text), study(metric)
    assert worst_voltage(theirs) == pytest.approx(worst_voltage(ours), rel=1e-6)
    for lead in ours.site.leads:
        twin = next(one for one in theirs.site.leads if one.name == lead.name)
        one, other = lead_duty(ours, lead, sources(ours)[0]), lead_duty(theirs, twin, sources(theirs)[0])
        assert one is not None
        assert other is not None
        assert ends(other.duty) == pytest.approx(ends(one.duty), rel=1e-6)  # type: ignore[union-attr, arg-type]


def test_a_measured_value_narrows_and_never_moves_a_result() -> None:
    site = {"fault": "6.8", "ground": "5.2", "ratio": "9", "soil": "120", "size": "2/0", "length": "25"}
    text = SITE.format(**site, more="", reach="A B C and the pole")
    low, high = worst_voltage(study(text))
    inner = worst_voltage(study("measured clamp-contact-resistance 0.1 mohm\n" + text))
    assert low < inner[0] <= inner[1] < high


def test_nothing_is_credited_beyond_a_dead_end() -> None:
    """Within what was possible while nothing was said of what is beyond, and no neutral there to take its share."""
    site = {"fault": "6.8", "ground": "5.2", "ratio": "9", "soil": "120", "size": "2/0", "length": "25"}
    text = SITE.format(**site, more="", reach="A B C and the pole")
    ends_here = text.replace(
        "structure 211 212 213 wood pole", "structure 211 212 wood pole\nstructure 213 wood pole dead end"
    )
    open_, shut = study(text), study(ends_here)
    assert "neutral-beyond-route" in open_.site.register.used
    assert "neutral-beyond-route" not in shut.site.register.used
    (low, high), inner = worst_voltage(open_), worst_voltage(shut)
    assert low * 0.99 <= inner[0] <= inner[1] <= high * 1.01  # what is not followed is added, more or less of it
    beyond = next(one for one in shut.site.network.elements if one.name == "neutral beyond 213")
    assert isinstance(beyond, Impedance)
    assert beyond.z == 1e5  # the most that was possible: as good as none
    assert "neutral beyond 213" not in {value.element for value in shut.site.values}
    assert "neutral beyond 213" in {value.element for value in open_.site.values}


@pytest.mark.parametrize(
    ("old", "new", "marked"),
    [
        (
            "structure 211 212 213 wood pole",
            "structure 211 213 wood pole\nstructure 212 wood pole dead-end",
            "dead-end",
        ),
        ("structure 211 212 213 wood pole", "structure 211 dead end\nstructure 212 213 wood pole", "211"),
        ("structure 211 212 213 wood pole", "structure 211 212 213 300 wood pole dead end", "dead end"),
    ],
)
def test_a_dead_end_is_at_an_end_of_the_route_with_nothing_beyond(old: str, new: str, marked: str) -> None:
    site = {"fault": "6.8", "ground": "5.2", "ratio": "9", "soil": "120", "size": "2/0", "length": "25"}
    text = SITE.format(**site, more="", reach="A B C and the pole").replace(old, new)
    found = read_plan(Source("plan.tpg", text))
    assert found.plan.unread
    assert ("no-dead-end", marked) in [(one.code, one.span.text) for one in found.diagnostics]


def test_a_lead_of_no_stated_length_leaves_everything_open_while_it_is_on() -> None:
    site = {"fault": "6.8", "ground": "5.2", "ratio": "9", "soil": "120", "size": "2/0", "length": "25"}
    text = SITE.format(**site, more="", reach="A B C and the pole").replace("25 ft grade", "grade")
    found = study(text)
    (person,), (source,) = people(found), sources(found)
    here = exposure(found, person, source, found.timeline.n)
    assert here is not None
    assert isinstance(here.voltage, Unknown)
    assert "the length of lead G1" in {gap.fact for gap in here.voltage.gaps}


def test_gravel_underfoot_lets_people_come_nearer_to_a_rod() -> None:
    site = {"fault": "6.8", "ground": "5.2", "ratio": "9", "soil": "120", "size": "2/0", "length": "25"}
    text = SITE.format(**site, more="", reach="A B C and the pole")
    far = []
    for surface in ("", "surface gravel 3000 ohm m 0.1 m\n", "surface gravel 3000 ohm m\n"):
        found = study(surface + text)
        result = rod_result(found, next(iter(found.site.rods)), sources(found)[0])
        assert result is not None
        assert not isinstance(result, Unknown)
        assert not isinstance(result.keep_away, Unknown)
        far.append(ends(result.keep_away))
    assert far[1] < far[0]
    assert far[2] == far[0]  # a layer of no stated thickness is no layer


def test_a_rod_set_twice_is_as_bad_as_the_worse_of_two_rods_that_are_set_once() -> None:
    site = {"fault": "6.8", "ground": "5.2", "ratio": "9", "soil": "120", "size": "2/0", "length": "25"}
    text = SITE.format(**site, more="", reach="A B C and the pole")
    found = {}
    for depths in (("6",), ("5",), ("6", "5"), ("5", "6")):
        again = (
            f"detach G1 from R1\npull R1\nset R1 at 212, 16 ft from the pole, {deep} ft deep\nattach G1 to R1\n"
            for deep in depths[1:]
        )
        made = study(text.replace("pole, 6 ft deep", f"pole, {depths[0]} ft deep") + "".join(again))
        rod = next(iter(made.site.rods))
        result = rod_result(made, rod, sources(made)[0])
        assert isinstance(result, RodResult)
        assert len(made.site.rods[rod]) == len(depths)
        found[depths] = [ends(one)[1] for one in (result.resistance, result.current, result.rise, result.keep_away)]
    worse = [max(pair) for pair in zip(found["6",], found["5",], strict=True)]
    assert found["6", "5"] == pytest.approx(worse, rel=1e-3)  # as a search ends
    assert found["5", "6"] == pytest.approx(worse, rel=1e-3)


def test_rock_below_keeps_people_farther_from_a_rod() -> None:
    """Over rock the current runs along the surface, so a step is long above its limit; two layers alike are one."""
    site = {"fault": "6.8", "ground": "5.2", "ratio": "9", "size": "2/0", "length": "25"}
    far = []
    for layers in ("120 ohm m", "120 ohm m to 2 m, then 120.001 ohm m", "120 ohm m to 2 m, then 2400 ohm m"):
        text = SITE.format(**site, soil="120", more="", reach="A B C and the pole")
        text = "".join(f"soil {layers}\n" if line.startswith("soil") else line for line in text.splitlines(True))
        found = study(text)
        result = rod_result(found, next(iter(found.site.rods)), sources(found)[0])
        assert result is not None
        assert not isinstance(result, Unknown)
        assert not isinstance(result.keep_away, Unknown)
        far.append(ends(result.keep_away))
    # the one solves how much leaks where, the other takes it as even
    assert far[1][1] == pytest.approx(far[0][1], rel=0.03)
    assert far[2][1] > 1.05 * far[0][1]


def test_never_cleared_means_continuous_current_and_let_go() -> None:
    site = {"fault": "6.8", "ground": "5.2", "ratio": "9", "soil": "120", "size": "2/0", "length": "25"}
    text = SITE.format(**site, more="", reach="A B C and the pole").replace("clears    in 24 cycles", "clears    never")
    found = study(text)
    lead = next(lead for lead in found.site.leads if lead.name == "G3")
    assert isinstance(lead, Lead)
    duty = lead_duty(found, lead, sources(found)[0])
    assert duty is not None
    assert not isinstance(duty, Unknown)
    assert duty.rating == 300.0  # ASTM F855 Table 1, grade 3, continuous; seen
    assert isinstance(duty.loading, (float, Bounds))
    assert ends(duty.loading)[0] > 3
    assert duty.time == float("inf")


def test_the_final_temperature_of_a_lead_is_that_of_its_duty() -> None:
    """IEEE 80-2000 Eq 37 for T, worked out here: 2/0 copper of 67.43 mm2, from 40 C, Table 1 soft-drawn."""
    found = of_example("dual-point-crossarm.tpg")
    lead = next(one for one in found.timeline.plan.of(Lead) if one.name == "G4")
    duty = lead_duty(found, lead, sources(found)[0])
    assert isinstance(duty, LeadDuty)
    i2t, temperature = duty.i2t, duty.temperature
    assert not isinstance(i2t, Unknown)
    assert not isinstance(temperature, Unknown)
    heat = 3.42e-4 / (0.00393 * 1.72)
    for a2s, end in zip(ends(i2t), ends(temperature), strict=True):
        expected = (234 + 40) * np.exp(a2s / 1e6 / 67.43**2 / heat) - 234
        assert end == pytest.approx(expected, rel=1e-3)
        assert end > 45


def test_rods_at_one_pole_share_the_soil_around_them() -> None:
    """Two rods together have more than half the resistance of one, unless they stand far apart: IEEE 142 gives 1.16
    times half for one rod length between them; the plan says how far each is from the pole, not from the other."""
    site = {"fault": "6.8", "ground": "5.2", "ratio": "9", "soil": "120", "size": "2/0", "length": "25"}
    text = SITE.format(**site, more="", reach="A B C and the pole").replace(
        "neutral   N multigrounded carries the fault", "no neutral"
    )
    text = text.replace(", N 4/0 acsr", "").replace("attach G2 to K1, then to 212 N by H1\n", "")
    two = text.replace("rod       R1 6 ft x 5/8 in", "rod       R1 R2 6 ft x 5/8 in").replace(
        "attach G3 to K1", "set R2 at 212, 16 ft from the pole, 6 ft deep\nattach G9 to R2, then to K1\nattach G3 to K1"
    )
    found = study(two)
    here = next(e for e in found.site.network.elements if e.name == "rod R1")
    value = next(value for value in found.site.values if value.element == "rod R1")
    assert isinstance(here, Impedance)
    assert 1.16 * (here.z + value.low).real <= (here.z + value.high).real
    assert not any(value.element == "rod R1" for value in study(text).site.values)
