"""The calculation record: what it gathers, worked again by hand, and what must hold of it for any plan."""

from __future__ import annotations

import math
from pathlib import Path

import pytest
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st
from less_said import less
from sound_plans import sound_plan

from groundlint.electrical.record.equations import EQUATIONS
from groundlint.electrical.record.figures import PINT_UNITS, Figure, share_of
from groundlint.electrical.record.record import CalculationRecord, calculation_record
from groundlint.language.reader import read_statements
from groundlint.language.writer import write_plan
from groundlint.plan.models import Lead, Person, Plan, SupplySource
from groundlint.reading import read_plan
from groundlint.text import Source
from groundlint.timeline import replay
from groundlint.values import Bounds, Gap, Unknown
from groundlint.values.bounds import ends

EXAMPLES = Path(__file__).parents[2] / "examples"
RELAY = (Path(__file__).parents[1] / "report" / "duty_plans" / "relay-and-circuit.tpg").read_text("utf-8")
GAP = (Gap("something"),)


def record(text: str, **asked: object) -> CalculationRecord:
    plan = read_plan(Source("plan.tpg", text), lambda name: Source(name, (EXAMPLES / name).read_text("utf-8"))).plan
    return calculation_record(replay(plan), **asked)  # type: ignore[arg-type]


def example(name: str) -> CalculationRecord:
    return record((EXAMPLES / name).read_text("utf-8"))


def figure(found: CalculationRecord, thing: str, quantity: str, criterion: str = "", source: str = "") -> Figure:
    rows = [
        one
        for one in found.figures
        if (one.thing, one.quantity) == (thing, quantity)
        and criterion in ("", one.criterion)
        and source in ("", one.source)
    ]
    assert rows, (thing, quantity)
    return rows[0]


def high(value: object) -> float:
    assert isinstance(value, (float, Bounds)), value
    return ends(value)[1]


def test_results_of_a_lead_are_its_current_worked_by_hand() -> None:
    found = example("dual-point-crossarm.tpg")
    current = high(figure(found, "G4", "fault-current", source="Hobnail").value)
    ta, t = 6 / (2 * math.pi * 60), 18 / 60
    duty = current * math.sqrt(1 + ta / t * (1 - math.exp(-2 * t / ta)))
    one = figure(found, "G4", "duty", source="Hobnail")
    assert high(one.value) == pytest.approx(duty, rel=1e-9)
    assert high(figure(found, "G4", "heat", source="Hobnail").value) == pytest.approx(duty**2 * t, rel=1e-9)
    peak = math.sqrt(2) * current * (1 + math.exp(-math.pi / 6))
    assert high(figure(found, "G4", "first-peak", source="Hobnail").value) == pytest.approx(peak, rel=1e-9)
    # F855 grade 3: 27 kA for 15 cycles, 20 kA for 30; the smaller I2t is that of the longer
    rating = math.sqrt(20e3**2 * 0.5 / t)
    assert one.limit == pytest.approx(min(rating, 27e3), rel=0.05)
    margin = one.margin
    assert isinstance(margin, Bounds)
    assert margin.low == pytest.approx(one.limit / duty, rel=1e-6)  # type: ignore[operator]


def test_a_worker_is_held_against_each_limit_through_its_own_body() -> None:
    found = example("dual-point-crossarm.tpg")
    volts = figure(found, "Heron", "voltage", source="Hobnail")
    assert volts.limit == 75.0  # DOE-HDBK-1092-2004 4.15.2(3)c to 30 cycles
    for criterion, limit, ohms in (
        ("dalziel-50kg", 0.116, 1000),
        ("dalziel-70kg", 0.157, 1000),
        ("osha-fibrillation", 0.116, 500),
    ):
        one = figure(found, "Heron", f"body-current-{ohms}-ohm", criterion, "Hobnail")
        assert one.limit == pytest.approx(limit / math.sqrt(0.3))
        assert high(one.value) == pytest.approx(high(volts.value) / ohms)
    heron = next(one for one in found.plan.of(Person) if one.name == "Heron")
    source = next(one for one in found.plan.of(SupplySource) if one.name == "Hobnail")
    assert isinstance(heron, Person)
    assert isinstance(source, SupplySource)
    worst = found.worst(heron, source)
    assert worst is not None
    assert worst.exposure.voltage == volts.value


def test_a_relay_that_never_trips_is_reported_and_held_against_let_go() -> None:
    found = record(RELAY)
    device = found.devices[0]
    assert device.relayed
    assert high(device.clearing.multiple) < 1
    assert device.slower == math.inf
    assert high(device.clearing.time) == math.inf
    one = figure(found, "Dunlin", "body-current-1000-ohm", "dalziel-50kg")
    assert ends(one.limit)[0] == 0.006  # type: ignore[arg-type]
    assert "let-go" in one.basis


def test_the_grounds_slow_the_relay_by_what_its_curve_says() -> None:
    """IEC very inverse, 13.5/(M - 1) times the dial: through a neutral the fault is smaller, and the relay slower."""
    text = RELAY.replace("  no neutral\n", "  neutral   N multigrounded carries the fault\n")
    text = text.replace("wires     A B C 1/0 acsr", "wires     A B C N 1/0 acsr")
    text = text.replace("attach G1 to R1, then to K1", "attach G1 to ER12 N, then to K1 by H1")
    work = text.replace("7. enter", "7. attach G4 to K1, then to ER12 C by H1\n  8. enter").replace(
        "  8. attach G4 to K1, then to ER12 C by H1\n", ""
    )
    found = record(work)
    assert not found.plan.unread
    (device,) = found.devices
    slower, least = device.slower, device.clearing.least
    assert isinstance(slower, Bounds)
    assert isinstance(least, Bounds)
    times = [0.2 * 13.5 / (amps / 300 - 1) + 5 / 60 for amps in (least.low, device.bolted)]
    assert slower.high == pytest.approx(times[0] - times[1], rel=1e-6)
    assert 0 < slower.low < slower.high


def test_an_induced_current_is_held_against_limits_for_currents_that_last() -> None:
    found = record(RELAY)
    limits = {one.criterion: one.limit for one in found.figures if one.kind == "induction"}
    assert limits == {"let-go-men": 0.009, "let-go-women": 0.006, "osha-reaction": 0.001}
    assert "body-resistance" in [one.assumption.name for one in found.assumed]


def test_what_was_measured_stands_beside_the_bounds_it_replaces() -> None:
    found = record(RELAY)
    measured = {one.assumption.name: one.measured for one in found.assumed if one.measured is not None}
    assert measured == {"clamp-contact-resistance": 0.2e-3}


def test_every_input_stands_where_the_plan_states_it() -> None:
    lines = RELAY.splitlines()
    found = record(RELAY)
    words = {
        ("EastRidge", "voltage"): "voltage",
        ("A", "wire"): "wires",
        ("Plover", "three-phase fault current"): "3 kA",
        ("Plover", "pickup"): "pickup 300 A",
        ("soil", "resistivity"): "soil",
        ("Curlew", "distance"): "parallel",
        ("Curlew", "current"): "400 A",
        ("ER11", "span after"): "route",
        ("R1", "depth as set"): "2. set",
        ("R1", "diameter"): "5/8 in",
        ("G4", "grade"): "lead",
    }
    seen = {(one.thing, one.quantity): lines[one.span.line - 1] for one in found.inputs}
    for key, part in words.items():
        assert part in seen[key], (key, seen[key])


def test_a_record_can_be_narrowed() -> None:
    plan: Plan = read_plan(Source("plan.tpg", RELAY)).plan
    timeline = replay(plan)
    whole = calculation_record(timeline)
    lead = next(one for one in plan.of(Lead) if one.name == "G3")
    assert {one.thing for one in calculation_record(timeline, things=[lead]).figures} == {"G3"}
    assert calculation_record(timeline, sources=[]).figures == tuple(
        one for one in whole.figures if one.kind == "induction" or one.source == "Curlew"
    )
    nothing_on = calculation_record(timeline, within=[0])
    assert not nothing_on.leads
    assert not nothing_on.rods
    assert not nothing_on.stretches
    narrowed = calculation_record(timeline, within=[whole.stretches[0].first])
    assert [one.lead.name for one in narrowed.leads] == ["G1", "G2", "G3"]
    currents = {one.lead: one.current for one in whole.leads}
    assert all(high(one.current) <= high(currents[one.lead]) * (1 + 1e-9) for one in narrowed.leads)


def test_figures_are_had_as_pint_quantities() -> None:
    found = record(RELAY)
    rows = list(found.quantities())
    assert rows
    units = set()
    for one, low, top in rows:
        assert low.magnitude == ends(one.value)[0]  # type: ignore[arg-type]
        assert top >= low
        units.add(str(low.units))
    assert {"ampere", "volt", "second", "ohm", "meter"} <= units
    rise = next(low for one, low, _ in rows if one.quantity == "rise")
    current = next(low for one, low, _ in rows if (one.kind, one.quantity) == ("rod", "current"))
    ohms = next(low for one, low, _ in rows if one.quantity == "resistance")
    assert (current * ohms).to("volt").magnitude == pytest.approx(rise.magnitude, rel=1e-3)
    unknown = Figure("lead", "G1", "S", 0, 0, "duty", Unknown(GAP), "A", "decrement")
    assert unknown.quantities() == Unknown(GAP)


def test_a_plan_without_a_line_or_a_source_says_what_to_write() -> None:
    found = record('plan "Nothing yet"\n')
    assert found.missing is not None
    assert found.missing.gaps[0].write
    assert not found.figures
    assert not found.decided
    found = record("line L\n  voltage 12.47 kV\n  frequency 60 Hz\n  phases A B C\n  wires A B C 1/0 acsr\n")
    assert found.missing is not None
    assert "energize" in found.missing.gaps[0].fact


def test_share_of_what_has_no_bounds() -> None:
    assert share_of(6.0, 2.0) == 3.0
    assert share_of(1.0, 0.0) == math.inf
    assert share_of(Unknown(GAP), 1.0) == Unknown(GAP)
    found = share_of(1.0, Bounds(0.0, 2.0, GAP))
    assert isinstance(found, Bounds)
    assert (found.low, found.high) == (0.5, math.inf)


def coherent(found: CalculationRecord) -> None:
    for one in found.figures:
        assert one.equation in EQUATIONS
        assert one.criterion == "" or one.criterion in EQUATIONS
        assert one.unit in PINT_UNITS
        assert 0 <= one.at <= one.last <= found.timeline.n
        if isinstance(one.value, Unknown):
            assert one.gaps
            assert all(gap.fact for gap in one.gaps)
            continue
        low, top = ends(one.value)
        assert not math.isnan(low)
        assert not math.isnan(top)
        if isinstance(one.limit, Unknown) or one.limit is None:
            continue
        margin = one.margin
        assert margin is not None
        if not isinstance(margin, Unknown):
            assert 0 <= ends(margin)[0] <= ends(margin)[1]
    names = {one.name for one in found.equations}
    assert {one.equation for one in found.figures} <= names


@pytest.mark.one_in(5)
@pytest.mark.parametrize("name", sorted(path.name for path in EXAMPLES.glob("*.tpg")))
def test_every_example_has_a_coherent_record(name: str) -> None:
    coherent(example(name))


@settings(max_examples=2, deadline=None, suppress_health_check=[HealthCheck.too_slow])
@given(st.integers(0, 10**6))
def test_any_sound_plan_has_a_coherent_record(seed: int) -> None:
    found = record(sound_plan(seed))
    coherent(found)
    assert found.inputs


@settings(max_examples=4, deadline=None, suppress_health_check=[HealthCheck.too_slow])
@given(st.integers(0, 200), st.randoms(use_true_random=False))
def test_a_plan_that_says_less_gives_reasons_and_no_traceback(seed: int, rng: object) -> None:
    whole = read_statements(Source("plan.tpg", sound_plan(seed))).text
    _, said = rng.choice(list(less(whole)))  # type: ignore[attr-defined]
    coherent(record(write_plan(said)))
