"""What has no answer says so and why; what has one keeps its digits however far apart the impedances are."""

from __future__ import annotations

import math
from fractions import Fraction

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from groundlint.electrical.solver.ladder import ladder_infinite
from groundlint.electrical.solver.layout import lay_out
from groundlint.electrical.solver.network import (
    BALANCED,
    EARTH,
    Bond,
    CapacitiveCoupling,
    CurrentSource,
    Element,
    Energized,
    Impedance,
    InducedEmf,
    Network,
    NotSolvable,
    Scenario,
    ShuntAdmittance,
    Span,
    ThreePhaseSource,
    Variant,
    VoltageSource,
    sequence_matrix,
)
from groundlint.electrical.solver.solution import Solution, Values
from groundlint.electrical.solver.solve import solve

NOTHING_OFF = [frozenset[str]()]
EMF = tuple(7200 * phase for phase in BALANCED)
STATION = ThreePhaseSource("station", ("A", "B", "C"), EARTH, EMF, 0.1 + 1j, 0.2 + 2j)
SOURCE = VoltageSource("source", EARTH, "A", 100, 1)
ON = Scenario("on", (Energized("source"),))


def _solve(*elements: Element, scenario: Scenario = ON, pairs: tuple[tuple[str, str], ...] = (), **more) -> Solution:
    network = Network(elements, more.pop("isolated", frozenset()))
    solution = solve(network, more.pop("states", NOTHING_OFF), [scenario], pairs=pairs, **more)
    assert isinstance(solution, Solution), solution
    return solution


def _value(quantity: Values | NotSolvable) -> complex:
    assert isinstance(quantity, Values)
    value = quantity.at(0)
    assert isinstance(value, complex), value
    return value


def _reason(quantity: Values | NotSolvable) -> NotSolvable:
    assert isinstance(quantity, Values)
    reason = quantity.at(0)
    assert isinstance(reason, NotSolvable), reason
    assert quantity.values[0, 0, 0] == np.inf
    assert isinstance(quantity.worst(), NotSolvable)
    return reason


# --- islands -------------------------------------------------------------------------------------------------------


def test_an_island_without_a_path_to_earth_has_no_potential_but_its_inner_quantities() -> None:
    solution = _solve(
        Impedance("load", "A", EARTH, 9),
        SOURCE,
        VoltageSource("inner", "x", "y", 12, 1),
        Impedance("inner load", "x", "y", 5),
        scenario=Scenario("on", (Energized("source"), Energized("inner"))),
        pairs=(("y", "x"), ("x", "A"), ("A", EARTH)),
    )
    assert _reason(solution.voltage("x")).nodes == ("x", "y")
    assert "path to earth" in _reason(solution.voltage("y")).reason
    assert _value(solution.current("inner load")) == pytest.approx(-2)
    assert _value(solution.open_circuit(("y", "x"))) == pytest.approx(10)
    assert _value(solution.thevenin(("y", "x"))) == pytest.approx(5 / 6)
    assert _reason(solution.body_current(("x", "A"), 1000)).nodes == ("x", "y")
    assert _value(solution.voltage("A")) == pytest.approx(90)
    assert _value(solution.body_current(("A", EARTH), 1000)) == pytest.approx(90 / 1000.9)


def test_an_island_stated_to_be_isolated_and_uncharged_is_at_zero_only_where_nothing_drives_it() -> None:
    quiet = (Impedance("load", "A", EARTH, 9), SOURCE, Impedance("rail", "x", "y", 1))
    solution = _solve(*quiet, isolated=frozenset({"y"}), pairs=(("A", "x"),))
    assert _value(solution.voltage("x")) == 0
    assert _value(solution.open_circuit(("A", "x"))) == pytest.approx(90)
    assert _value(solution.body_current(("A", "x"), 500)) == 0
    assert solution.thevenin(("A", "x")).values[0, 0, 0] == np.inf
    driven = VoltageSource("inner", "x", "y", 12, 1)
    both = Scenario("on", (Energized("source"), Energized("inner")))
    solution = _solve(*quiet, driven, scenario=both, isolated=frozenset({"y"}), pairs=(("A", "x"),))
    assert "path to earth" in _reason(solution.body_current(("A", "x"), 500)).reason


def test_an_isolated_conductor_beside_a_loaded_one_is_driven_by_it() -> None:
    span = Span("span", ("A", "x"), ("A1", "x1"), ((1 + 2j, 0.1 + 1j), (0.1 + 1j, 1 + 2j)))
    solution = _solve(
        span, SOURCE, Impedance("end", "A1", EARTH, 1), isolated=frozenset({"x"}), pairs=(("x", "x1"), ("x", EARTH))
    )
    assert _reason(solution.voltage("x")).nodes == ("x", "x1")
    current = _value(solution.current("span"))
    assert _value(solution.open_circuit(("x", "x1"))) == pytest.approx((0.1 + 1j) * current)
    assert _value(solution.current("span", 1)) == pytest.approx(0, abs=1e-12)
    assert _reason(solution.body_current(("x", EARTH), 500)).nodes == ("x", "x1")


def test_a_current_put_into_an_island_has_no_way_back() -> None:
    solution = _solve(
        Impedance("load", "A", EARTH, 9),
        SOURCE,
        Impedance("rail", "x", "y", 1),
        CurrentSource("stray", EARTH, "x", 3),
        scenario=Scenario("on", (Energized("source"), Energized("stray"))),
        pairs=(("x", "y"),),
    )
    assert "current is put into" in _reason(solution.voltage("x")).reason
    assert "current is put into" in _reason(solution.current("rail")).reason
    assert "current is put into" in _reason(solution.body_current(("x", "y"), 500)).reason
    assert _value(solution.voltage("A")) == pytest.approx(90)


def test_an_ungrounded_source_feeds_a_phase_to_phase_fault_and_no_phase_to_earth_fault() -> None:
    delta = ThreePhaseSource("delta", ("A", "B", "C"), EARTH, EMF, 1j, None)
    scenario = Scenario("on", (Energized("delta"),))
    fault = Impedance("fault", "A", "B", 1e-3)
    solution = _solve(delta, fault, scenario=scenario, pairs=(("A", "B"), ("A", EARTH)))
    assert abs(_value(solution.current("fault"))) == pytest.approx(7200 * math.sqrt(3) / abs(2j + 1e-3))
    assert "path to earth" in _reason(solution.body_current(("A", EARTH), 500)).reason
    grounded = _solve(delta, Impedance("lead", "A", EARTH, 1e-3), scenario=scenario, pairs=(("B", EARTH),))
    assert abs(_value(grounded.current("lead"))) == pytest.approx(0, abs=1e-9)
    assert abs(_value(grounded.voltage("B"))) == pytest.approx(7200 * math.sqrt(3))


# --- singular and ill-conditioned ----------------------------------------------------------------------------------


def test_a_resonance_is_reported_at_its_nodes_and_nowhere_else() -> None:
    solution = _solve(
        Impedance("load", "A", EARTH, 9),
        SOURCE,
        Impedance("inductance", "x", EARTH, 100j),
        Impedance("capacitance", "x", EARTH, -100j),
        pairs=(("x", EARTH), ("A", EARTH)),
    )
    reason = _reason(solution.voltage("x"))
    assert "singular" in reason.reason
    assert reason.nodes == ("x",)
    assert "singular" in _reason(solution.body_current(("x", EARTH), 500)).reason
    assert "singular" in _reason(solution.current("inductance")).reason
    assert _value(solution.voltage("A")) == pytest.approx(90)
    assert np.isfinite(solution.condition).all()


def test_a_resonance_a_hair_away_from_singular_is_past_the_stated_limit() -> None:
    """The scaled matrix must not hide it: rows are scaled by what was added up, not by the little that is left over."""
    for detuning, known in ((1e-13, False), (1e-6, True)):
        capacitance = -100j * (1 + detuning)
        solution = _solve(
            SOURCE,
            Impedance("link", "A", "x", 1e12),
            Impedance("inductance", "x", EARTH, 100j),
            Impedance("capacitance", "x", EARTH, capacitance),
        )
        if known:
            tank = 1 / (1 / 100j + 1 / capacitance)
            assert _value(solution.voltage("x")) == pytest.approx(100 * tank / (1 + 1e12 + tank), rel=1e-8)
        else:
            reason = _reason(solution.voltage("x"))
            assert "condition number" in reason.reason
            assert "x" in reason.nodes


def test_a_shunt_that_joins_nodes_but_not_earth_is_singular_and_said_to_be() -> None:
    floating = ShuntAdmittance("between", ("x", "y"), ((1e-6j, -1e-6j), (-1e-6j, 1e-6j)))
    solution = _solve(SOURCE, Impedance("load", "A", EARTH, 9), floating)
    assert "singular" in _reason(solution.voltage("x")).reason
    assert _value(solution.voltage("A")) == pytest.approx(90)


def _exact(branches: list[tuple[str, str, Fraction]], emf: Fraction, inner: Fraction) -> dict[str, Fraction]:
    """Node voltages in rational arithmetic: a nodal matrix and elimination, nothing rounded. The source feeds node
    n0."""
    nodes = sorted({n for a, b, _ in branches for n in (a, b)} - {EARTH})
    at = {n: k for k, n in enumerate(nodes)}
    size = len(nodes)
    rows = [[Fraction(0)] * (size + 1) for _ in nodes]
    for a, b, r in [*branches, (EARTH, "n0", inner)]:
        for one, other in ((a, b), (b, a)):
            if one != EARTH:
                rows[at[one]][at[one]] += 1 / r
                if other != EARTH:
                    rows[at[one]][at[other]] -= 1 / r
    rows[at["n0"]][size] += emf / inner
    for k in range(size):
        pivot = next(j for j in range(k, size) if rows[j][k] != 0)
        rows[k], rows[pivot] = rows[pivot], rows[k]
        for j in range(size):
            if j != k and rows[j][k] != 0:
                factor = rows[j][k] / rows[k][k]
                rows[j] = [x - factor * y for x, y in zip(rows[j], rows[k], strict=True)]
    return {n: rows[k][size] / rows[k][k] for n, k in at.items()} | {EARTH: Fraction(0)}


@given(st.integers(0, 2**32 - 1))
@settings(max_examples=60, deadline=None)
def test_digits_survive_eighteen_orders_of_magnitude_against_rational_arithmetic(seed: int) -> None:
    rng = np.random.default_rng(seed)
    size = int(rng.integers(3, 9))
    branches: list[tuple[str, str, Fraction]] = []
    for k in range(1, size):
        r = Fraction(float(10 ** rng.uniform(-5, 13)))
        branches.append((f"n{int(rng.integers(0, k))}", f"n{k}", r))
    for _ in range(size):
        a, b = rng.choice(size, 2, replace=False)
        branches.append((f"n{a}", f"n{b}", Fraction(float(10 ** rng.uniform(-5, 13)))))
    branches.append((f"n{int(rng.integers(0, size))}", EARTH, Fraction(float(10 ** rng.uniform(-5, 13)))))
    exact = _exact(branches, Fraction(7200), Fraction(1, 2))
    elements = [Impedance(f"r{k}", a, b, float(r)) for k, (a, b, r) in enumerate(branches)]
    pairs = tuple(dict.fromkeys((a, b) for a, b, _ in branches))
    solution = _solve(*elements, VoltageSource("source", EARTH, "n0", 7200, 0.5), pairs=pairs)
    total = (Fraction(7200) - exact["n0"]) * 2
    for k, (a, b, r) in enumerate(branches):
        current = (exact[a] - exact[b]) / r
        # Currents are held to their own size or to what the source delivers to the last digit, whichever is larger.
        slack = 1e-9 * abs(float(current)) + 1e-13 * abs(float(total))
        assert abs(_value(solution.current(f"r{k}")) - float(current)) <= slack
    for node, volts in exact.items():
        assert _value(solution.voltage(node)) == pytest.approx(float(volts), rel=1e-9, abs=1e-12)


def test_a_milliohm_lead_beside_insulation_of_a_teraohm_keeps_the_voltage_across_the_lead() -> None:
    """A worker across a good lead on a line held only by insulation: the case that plain nodal analysis loses."""
    solution = _solve(
        VoltageSource("source", EARTH, "A", 7200, 1e13),
        Impedance("lead", "A", "bar", 1e-4),
        Impedance("insulation", "bar", EARTH, 1e12),
        pairs=(("A", "bar"),),
    )
    assert _value(solution.open_circuit(("A", "bar"))) == pytest.approx(7200 / 1.1e13 * 1e-4, rel=1e-10)
    assert _value(solution.thevenin(("A", "bar"))) == pytest.approx(1e-4, rel=1e-10)


# --- bonds, states, variants, cache --------------------------------------------------------------------------------


def test_a_bond_makes_one_node_of_two_and_can_be_off_at_a_state() -> None:
    states = [frozenset[str](), frozenset({"jumper"})]
    solution = _solve(
        SOURCE,
        Impedance("load", "A", EARTH, 9),
        Bond("jumper", "A", "x"),
        Impedance("branch", "x", EARTH, 9),
        states=states,
        pairs=(("A", "x"),),
    )
    volts = solution.voltage("A")
    assert isinstance(volts, Values)
    assert volts.at(0) == pytest.approx(100 * 4.5 / 5.5)
    assert volts.at(1) == pytest.approx(90)
    across = solution.open_circuit(("A", "x"))
    assert isinstance(across, Values)
    assert across.at(0) == 0
    assert across.at(1) == pytest.approx(90)
    body = solution.body_current(("A", "x"), 500)
    assert isinstance(body, Values)
    assert body.at(0) == 0


def test_variants_bound_a_result() -> None:
    rod = Impedance("rod", "A", EARTH, 25)
    variants = [Variant(str(ohms), (Impedance("rod", "A", EARTH, ohms),)) for ohms in (5, 50)]
    solution = _solve(SOURCE, rod, variants=variants)
    volts = solution.voltage("A")
    assert isinstance(volts, Values)
    assert [volts.at(0, v) for v in (0, 1)] == pytest.approx([100 * 5 / 6, 100 * 50 / 51])
    worst = volts.worst()
    assert not isinstance(worst, NotSolvable)
    assert (worst.variant, worst.scenario) == (1, 0)


def test_the_seven_returns_of_a_source() -> None:
    ways = [(a, b, c) for a in (True, False) for b in (True, False) for c in (True, False) if a or b or c]
    ways.sort(key=sum)
    scenarios = [Scenario(str(way), (Energized("station", way),)) for way in ways]
    leads = [Impedance(f"lead{k}", k, "bar", 1e-3) for k in "ABC"]
    network = Network((STATION, *leads, Impedance("rod", "bar", EARTH, 10)))
    solution = solve(network, NOTHING_OFF, scenarios)
    assert isinstance(solution, Solution)
    amps = [solution.current(f"lead{k}") for k in "ABC"]
    at = np.array([[abs(values.at(0, 0, c)) for c in range(7)] for values in amps])
    assert at[:, 6] == pytest.approx([7200 / abs(0.101 + 1j)] * 3)
    assert at[0, 0] == pytest.approx(7200 / abs(10.001 + (2 * STATION.z1 + STATION.z0) / 3))
    assert at[1:, 0] == pytest.approx([0, 0], abs=1e-12)


def test_a_state_that_changes_nothing_is_not_solved_again() -> None:
    elements = (SOURCE, Impedance("load", "A", EARTH, 9), Impedance("lead", "A", EARTH, 1))
    states = [frozenset({"lead"}), frozenset[str](), frozenset({"lead"}), frozenset({"lead"})]
    found = _solve(*elements, states=states, pairs=(("A", EARTH),))
    assert found.rows.nodes.shape[0] == 2
    for number, volts in enumerate([90, 100 * 0.9 / 1.9, 90, 90]):
        value = found.voltage("A")
        assert isinstance(value, Values)
        assert value.at(number) == pytest.approx(volts)
        current = found.current("lead")
        assert isinstance(current, Values)
        assert current.at(number) == pytest.approx(volts if number == 1 else 0)


# --- questions that are not well-formed ----------------------------------------------------------------------------

BAD_ELEMENTS: list[tuple[Element, str]] = [
    (Impedance("bad", "A", EARTH, 0), "zero"),
    (Impedance("bad", "A", EARTH, complex(math.inf)), "finite"),
    (Impedance("bad", "A", EARTH, complex(math.nan)), "finite"),
    (Impedance("bad", "A", EARTH, 1e-320), "zero"),
    (Impedance("bad", "A", EARTH, -1), "negative"),
    (VoltageSource("bad", EARTH, "A", math.nan, 1), "finite"),
    (Span("bad", ("A", "B"), ("x",), ((1, 0), (0, 1))), "same number"),
    (Span("bad", ("A", "B"), ("x", "y"), ((1,),)), "2 by 2"),
    (Span("bad", ("A", "B"), ("x", "y"), ((1, 0.5), (0.4, 1))), "reciprocal"),
    (Span("bad", ("A", "B"), ("x", "y"), ((1, 2), (2, 1))), "passive"),
    (Span("bad", ("A", "B"), ("x", "y"), ((1, 1), (1, 1))), "singular"),
    (Span("bad", ("A", "B"), ("x", "y"), ((1, math.nan), (math.nan, 1))), "finite"),
    (ShuntAdmittance("bad", ("A",), ((-1,),)), "passive"),
    (ThreePhaseSource("bad", ("A", "B", "C"), EARTH, EMF, 0, 1), "zero"),
    (ThreePhaseSource("bad", ("A", "B", "C"), EARTH, EMF, 1j, -2j), "cancel"),
    (CurrentSource("bad", EARTH, "A", math.inf), "finite"),
    (CapacitiveCoupling("bad", ("A",), ((1j, 2j),), (1,)), "fit"),
    (InducedEmf("bad", "nowhere", (1,)), "no span"),
    (Impedance("source", "A", EARTH, 1), "twice"),
]


@pytest.mark.parametrize(("element", "word"), BAD_ELEMENTS, ids=lambda value: str(value)[:40])
def test_a_faulty_element_makes_a_reason(element: Element, word: str) -> None:
    answer = solve(Network((SOURCE, element)), NOTHING_OFF, [ON])
    assert isinstance(answer, NotSolvable)
    assert word in answer.reason


def test_questions_that_do_not_fit_the_network() -> None:
    network = Network((SOURCE, Impedance("load", "A", EARTH, 9)))
    twice = Scenario("on", (Energized("source"), Energized("source")))
    answers = [
        solve(network, NOTHING_OFF, [Scenario("on", (Energized("other"),))]),
        solve(network, NOTHING_OFF, [Scenario("on", (Energized("source", (True, True)),))]),
        solve(network, NOTHING_OFF, [Scenario("on", (Energized("source", None, math.nan),))]),
        solve(network, NOTHING_OFF, [twice]),
        solve(network, [frozenset({"other"})], [ON]),
        solve(network, [frozenset({"source"})], [ON]),
        solve(network, NOTHING_OFF, [ON], pairs=[("A", "other")]),
        solve(network, NOTHING_OFF, [ON], variants=[Variant("low", (Impedance("load", "A", "B", 1),))]),
        solve(network, NOTHING_OFF, [ON], variants=[Variant("low", (Impedance("load", "A", EARTH, 0),))]),
    ]
    assert all(isinstance(answer, NotSolvable) for answer in answers)
    solution = solve(network, NOTHING_OFF, [ON], pairs=[("A", EARTH)])
    assert isinstance(solution, Solution)
    assert isinstance(solution.voltage("other"), NotSolvable)
    assert isinstance(solution.current("load", 1), NotSolvable)
    assert isinstance(solution.thevenin(("A", "A")), NotSolvable)
    assert isinstance(solution.body_current(("A", EARTH), 0), NotSolvable)
    assert isinstance(solution.body_current(("A", EARTH), math.nan), NotSolvable)


def test_empty_questions_have_empty_answers() -> None:
    nothing = solve(Network(()), [], [])
    assert isinstance(nothing, Solution)
    bare = solve(Network(()), NOTHING_OFF, [Scenario("none", ())])
    assert isinstance(bare, Solution)
    assert _value(bare.voltage(EARTH)) == 0
    no_scenario = solve(Network((SOURCE,)), NOTHING_OFF, [])
    assert isinstance(no_scenario, Solution)
    volts = no_scenario.voltage("A")
    assert isinstance(volts, Values)
    assert isinstance(volts.worst(), NotSolvable)
    only_bonds = solve(Network((Bond("b", "A", EARTH),)), NOTHING_OFF, [Scenario("none", ())], pairs=[("A", EARTH)])
    assert isinstance(only_bonds, Solution)
    assert _value(only_bonds.body_current(("A", EARTH), 500)) == 0
    alone = solve(Network((Bond("b", "A", "B"),)), NOTHING_OFF, [Scenario("none", ())])
    assert isinstance(alone, Solution)
    assert _reason(alone.voltage("A")).nodes == ("A", "B")


def test_batches_are_cut_so_that_memory_stays_bounded(monkeypatch: pytest.MonkeyPatch) -> None:
    leads = [Impedance(f"lead{k}", "A", EARTH, k + 1) for k in range(6)]
    states = [frozenset(f"lead{k}" for k in range(6) if number >> k & 1) for number in range(63)]
    whole = _solve(SOURCE, *leads, states=states)
    monkeypatch.setattr("groundlint.electrical.solver.solve.BATCH_NUMBERS", 40)
    cut = _solve(SOURCE, *leads, states=states)
    assert np.array_equal(whole.rows.nodes, cut.rows.nodes)
    conductance = [sum(1 / (k + 1) for k in range(6) if not number >> k & 1) for number in range(63)]
    assert cut.rows.nodes[:, 0, 0, cut.names["A"]] == pytest.approx([100 / (1 + g) for g in conductance])


def test_a_layout_numbers_earth_last_and_merges_bonds_into_it() -> None:
    network = Network((Bond("b", "x", EARTH), Impedance("z", "x", "y", 1)))
    layout = lay_out(network, frozenset(), (Variant("v"),))
    assert layout.nodes == 1
    assert {layout.index[layout.names.index(one)] for one in ("x", EARTH)} == {1}
    assert layout.members([0]) == ("y",)


# --- ladders -------------------------------------------------------------------------------------------------------

ladders = st.tuples(st.floats(1e-2, 1), st.floats(0, 1), st.floats(1, 100))


def ladder_finite(sections: list[tuple[complex, complex]], end: complex) -> complex:
    """Impedance into spans and grounds, the nearest first, closed by `end`: section by section from the far end."""
    for span, ground in reversed(sections):
        end = span + ground * end / (ground + end)
    return end


@given(ladders)
def test_an_endless_ladder_is_not_changed_by_one_more_section(values: tuple[float, float, float]) -> None:
    span, ground = complex(values[0], values[1]), complex(values[2])
    z = ladder_infinite(span, ground)
    assert isinstance(z, complex)
    assert z.real > 0
    more = ladder_finite([(span, ground)], z)
    assert more == pytest.approx(z, rel=1e-9)
    assert ladder_finite([(span, ground)] * 3000, ground) == pytest.approx(z, rel=1e-4)


def test_a_finite_ladder_equals_the_network_it_stands_for() -> None:
    sections = [(0.1 + 0.3j, 25.0), (0.2 + 0.1j, 40.0), (0.05 + 0.2j, 10.0)]
    elements: list[Element] = [SOURCE]
    at = "A"
    for k, (span, ground) in enumerate(sections):
        elements += [Impedance(f"span{k}", at, f"p{k}", span), Impedance(f"ground{k}", f"p{k}", EARTH, ground)]
        at = f"p{k}"
    z = _value(_solve(*elements, Impedance("end", at, EARTH, 2), pairs=(("A", EARTH),)).thevenin(("A", EARTH)))
    ladder = ladder_finite(sections, 2)
    assert z == pytest.approx(ladder / (1 + ladder))


def test_ladders_that_have_no_impedance_say_so() -> None:
    assert isinstance(ladder_infinite(-1, 1), NotSolvable)
    assert isinstance(ladder_infinite(1, math.inf), NotSolvable)
    assert isinstance(ladder_infinite(1, 0), NotSolvable)
    assert np.array(sequence_matrix(1, 1))[0, 1] == 0
