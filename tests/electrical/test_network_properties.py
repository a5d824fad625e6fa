"""Laws of any network: Kirchhoff, reciprocity, superposition, passivity, and what names and units may not change."""

from __future__ import annotations

import dataclasses
import math
from dataclasses import dataclass

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from groundlint.electrical.solver.layout import ComplexArray, block_matrix, ends
from groundlint.electrical.solver.network import (
    EARTH,
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
    VoltageSource,
    matrix,
    sequence_matrix,
    terminals,
)
from groundlint.electrical.solver.ports import port_impedances
from groundlint.electrical.solver.solution import Solution, Values
from groundlint.electrical.solver.solve import solve

NOTHING_OFF = [frozenset[str]()]


@dataclass(frozen=True)
class Case:
    """A random line: poles in a row, a coupled span between neighbours, leads and electrodes at each, a source at one
    end."""

    network: Network
    scenario: Scenario
    pairs: tuple[tuple[str, str], ...]


def _random_case(seed: int, resistive: bool = False, capacitive: bool = False, sources: int = 4) -> Case:
    rng = np.random.default_rng(seed)
    size, poles = int(rng.integers(3, 6)), int(rng.integers(1, 5))
    name = ["A", "B", "C", "N", "W"][:size]
    elements: list[Element] = []

    def branch(low: float, high: float) -> complex:
        r = 10 ** rng.uniform(math.log10(low), math.log10(high))
        return complex(r, 0 if resistive else r * rng.uniform(0, 3))

    def coupled(scale: float) -> tuple[tuple[complex, ...], ...]:
        factor = rng.normal(size=(size, size))
        real = factor @ factor.T + 0.2 * np.eye(size)
        factor = rng.normal(size=(size, size))
        imaginary = 0 * real if resistive else factor @ factor.T + 0.5 * np.eye(size)
        return matrix(scale * (real + 1j * imaginary))

    for pole in range(poles):
        here, there = [f"{k}{pole}" for k in name], [f"{k}{pole + 1}" for k in name]
        elements.append(Span(f"span{pole}", tuple(here), tuple(there), coupled(float(10 ** rng.uniform(-2, 0)))))
    for pole in range(poles + 1):
        bar = f"bar{pole}"
        elements.append(Impedance(f"rod{pole}", bar, EARTH, branch(5, 500)))
        leads = [k for k in name if rng.random() < 0.6]
        elements.extend(Impedance(f"lead{k}{pole}", f"{k}{pole}", bar, branch(1e-4, 1e-2)) for k in leads)
        if capacitive:
            y = 1j * 10 ** rng.uniform(-8, -6) * (np.eye(size) * size - 0.5)
            elements.append(ShuntAdmittance(f"shunt{pole}", tuple(f"{k}{pole}" for k in name), matrix((y + y.T) / 2)))
    # Every phase has a path to earth through high resistance, so no island is left without a reference.
    elements.extend(Impedance(f"pole{k}", f"{k}0", EARTH, branch(1e3, 1e6)) for k in name)
    emf = tuple(complex(*rng.normal(size=2)) * 7000 for _ in range(3))
    drawn: list[Element] = [
        ThreePhaseSource("station", ("A0", "B0", "C0"), EARTH, emf, branch(0.1, 5), branch(0.1, 9)),
        VoltageSource("generator", EARTH, f"B{poles}", complex(*rng.normal(size=2)) * 240, branch(0.1, 5)),
        CurrentSource("stray", EARTH, f"bar{poles}", complex(*rng.normal(size=2)) * 30),
        InducedEmf("parallel", "span0", tuple(complex(*rng.normal(size=2)) * 50 for _ in name)),
    ][:sources]
    if resistive:
        drawn = [
            dataclasses.replace(e, emf=tuple(v.real for v in e.emf))
            if isinstance(e, ThreePhaseSource | InducedEmf)
            else e
            for e in drawn
        ]
    scenario = Scenario("all", tuple(Energized(e.name) for e in drawn))
    nodes = sorted({n for e in elements for n in terminals(e)})
    chosen = [tuple(str(n) for n in rng.choice(nodes, 2, replace=False)) for _ in range(4)]
    return Case(Network((*elements, *drawn)), scenario, tuple(dict.fromkeys(chosen)))


def _solved(case: Case, **changes: object) -> Solution:
    network = changes.get("network", case.network)
    assert isinstance(network, Network)
    solution = solve(network, NOTHING_OFF, [case.scenario], pairs=case.pairs)
    assert isinstance(solution, Solution), solution
    return solution


def _between_pairs(case: Case) -> ComplexArray:
    z = port_impedances(case.network, NOTHING_OFF, case.pairs)
    assert not isinstance(z, NotSolvable), z
    return np.asarray(z[0])


def _one(quantity: Values | NotSolvable) -> complex:
    assert isinstance(quantity, Values), quantity
    value = quantity.at(0)
    assert isinstance(value, complex), value
    return value


def _voltage(solution: Solution, node: str) -> complex:
    return _one(solution.voltage(node))


seeds = st.integers(0, 2**32 - 1)


@given(seeds, st.booleans())
@settings(max_examples=60, deadline=None)
def test_kirchhoff_laws_hold_at_every_node_and_along_every_arm(seed: int, capacitive: bool) -> None:
    case = _random_case(seed, capacitive=capacitive)
    solution = _solved(case)
    emf: dict[tuple[str, int], complex] = {}
    into: dict[str, complex] = {}
    gross: dict[str, float] = {}
    for element in case.network.elements:
        match element:
            case ThreePhaseSource() | InducedEmf():
                target = element.span if isinstance(element, InducedEmf) else element.name
                for k, value in enumerate(element.emf):
                    emf[target, k] = emf.get((target, k), 0) + value
            case VoltageSource():
                emf[element.name, 0] = element.emf
            case CurrentSource():
                into[element.b] = into.get(element.b, 0) + element.current
                gross[element.b] = gross.get(element.b, 0) + abs(element.current)
            case _:
                pass
    for element in case.network.elements:
        begin, end = ends(element)
        if not begin:
            continue
        current = np.array([_one(solution.current(element.name, k)) for k in range(len(begin))])
        along = np.array([_voltage(solution, a) - _voltage(solution, b) for a, b in zip(begin, end, strict=True)])
        driven = along + np.array([emf.get((element.name, k), 0) for k in range(len(begin))])
        z = np.array(block_matrix(element))
        level = max(abs(_voltage(solution, n)) for n in (*begin, *end)) + abs(driven).max()
        if isinstance(element, ShuntAdmittance):
            assert np.abs(current - z @ along).max() <= 1e-12 * (abs(z) @ abs(along)).max()
        else:
            assert np.abs(driven - z @ current).max() <= 1e-12 * (level + (abs(z) @ abs(current)).max())
        for k, (a, b) in enumerate(zip(begin, end, strict=True)):
            for node, sign in ((a, -1), (b, 1)):
                into[node] = into.get(node, 0) + sign * current[k]
                gross[node] = gross.get(node, 0) + abs(current[k])
    largest = max(gross.values())
    for node, left_over in into.items():
        if node != EARTH:
            # At the open end of a coupled conductor the true current is zero and rounding of its neighbours' is left.
            assert abs(left_over) <= 1e-11 * gross[node] + 1e-14 * largest, node


@given(seeds)
@settings(max_examples=40, deadline=None)
def test_reciprocity_of_transfer_impedances(seed: int) -> None:
    z = _between_pairs(_random_case(seed, capacitive=True))
    level = np.sqrt(np.outer(np.abs(np.diag(z)), np.abs(np.diag(z))))
    assert (np.abs(z - z.T) <= 1e-11 * np.maximum(level, np.abs(z))).all()


@given(seeds)
@settings(max_examples=40, deadline=None)
def test_superposition_of_sources(seed: int) -> None:
    case = _random_case(seed)
    together = _solved(case)
    # A source without electromotive force is a short behind its impedance: the network stays, only its drive changes.
    single = [
        Scenario(one.source, tuple(dataclasses.replace(e, scale=float(e is one)) for e in case.scenario.on))
        for one in case.scenario.on
    ]
    apart = solve(case.network, NOTHING_OFF, single, pairs=case.pairs)
    assert isinstance(apart, Solution)
    for array, parts in ((together.rows.nodes, apart.rows.nodes), (together.rows.arms, apart.rows.arms)):
        assert np.abs(array[0, 0, 0] - parts[0, 0].sum(axis=0)).max() <= 1e-10 * np.abs(parts[0, 0]).max()
    open_circuit, parts = together.rows.open_circuit[0, 0, 0], apart.rows.open_circuit[0, 0]
    assert (np.abs(open_circuit - parts.sum(axis=0)) <= 1e-10 * (np.abs(parts).sum(axis=0) + 1e-9)).all()


@given(seeds)
@settings(max_examples=40, deadline=None)
def test_passive_networks_take_up_power_at_every_pair(seed: int) -> None:
    z = _between_pairs(_random_case(seed, capacitive=True))
    hermitian = np.linalg.eigvalsh((z + z.conj().T) / 2)
    assert hermitian.min() >= -1e-11 * np.abs(z).max()
    assert (np.diag(z).real > 0).all()


@given(seeds)
@settings(max_examples=40, deadline=None)
def test_order_and_names_of_nodes_and_elements_change_nothing(seed: int) -> None:
    case = _random_case(seed)
    rng = np.random.default_rng(seed)
    shuffled = list(case.network.elements)
    rng.shuffle(shuffled)
    before, after = _solved(case), _solved(case, network=Network(tuple(shuffled)))
    level = max(abs(_voltage(before, node)) for node in before.names)
    for node in before.names:
        assert _voltage(after, node) == pytest.approx(_voltage(before, node), rel=1e-9, abs=1e-12 * level)
    for pair in case.pairs:
        left, right = _one(before.thevenin(pair)), _one(after.thevenin(pair))
        assert abs(left - right) <= 1e-10 * abs(left)


@given(seeds, st.floats(1e-3, 1e3))
@settings(max_examples=40, deadline=None)
def test_scale_of_units_changes_nothing_but_the_units(seed: int, factor: float) -> None:
    """Ohm counted in other units: impedances and electromotive forces times a factor leave currents as they are."""
    case = _random_case(seed)

    def scaled(element: Element) -> Element:
        match element:
            case Impedance():
                return dataclasses.replace(element, z=element.z * factor)
            case Span():
                return dataclasses.replace(element, z=matrix(np.array(element.z) * factor))
            case ThreePhaseSource():
                emf = tuple(e * factor for e in element.emf)
                assert element.z0 is not None
                return dataclasses.replace(element, emf=emf, z1=element.z1 * factor, z0=element.z0 * factor)
            case VoltageSource():
                return dataclasses.replace(element, emf=element.emf * factor, z=element.z * factor)
            case InducedEmf():
                return dataclasses.replace(element, emf=tuple(e * factor for e in element.emf))
            case _:
                return element

    before = _solved(case)
    after = _solved(case, network=Network(tuple(scaled(e) for e in case.network.elements)))
    largest = np.abs(before.rows.arms).max()
    assert np.abs(after.rows.arms - before.rows.arms).max() <= 1e-10 * largest
    for pair in case.pairs:
        assert _one(after.thevenin(pair)) == pytest.approx(factor * _one(before.thevenin(pair)), rel=1e-9)


def _exposure(network: Network, scenario: Scenario, pair: tuple[str, str], body: float) -> float:
    solution = solve(network, NOTHING_OFF, [scenario], pairs=[pair])
    assert isinstance(solution, Solution)
    return abs(_one(solution.body_current(pair, body)))


@given(seeds, st.booleans(), st.floats(1e-4, 1e3), st.floats(0, math.pi / 2), st.floats(300, 5000))
@settings(max_examples=60, deadline=None)
def test_a_lead_across_the_body_never_raises_its_current_without_capacitance(
    seed: int, resistive: bool, size: float, angle: float, body: float
) -> None:
    """Adding a lead of impedance Zl across a pair divides the body's current by 1 + Zp/Zl.

    Zp is the pair's own impedance with the body across it.

    |1 + Zp/Zl| >= 1 whenever Zp and Zl are at most 90 degrees apart. That holds for every network and lead of
    resistance and inductance (mutual too, when both the resistance and the inductance matrices are passive), for then
    both lie in the first quadrant. With capacitance it does not: see the counterexample below.
    """
    case = _random_case(seed, resistive=resistive)
    pair = case.pairs[0]
    lead = complex(size) if resistive else size * complex(math.cos(angle), math.sin(angle))
    lead = complex(max(lead.real, 0.0), lead.imag)
    before = _exposure(case.network, case.scenario, pair, body)
    added = Network((*case.network.elements, Impedance("added", *pair, lead)))
    after = _exposure(added, case.scenario, pair, body)
    z = _one(_solved(case).thevenin(pair))
    assert z.real > 0
    assert z.imag >= -1e-9 * abs(z)
    assert after <= before * (1 + 1e-9)
    with_body = z * body / (z + body)
    assert after == pytest.approx(before / abs(1 + with_body / lead), rel=1e-7)


def test_with_capacitance_a_lead_across_the_body_can_raise_its_current() -> None:
    """An inductive lead in resonance with a line's capacitance: the reason for the condition stated above."""
    network = Network(
        (
            ShuntAdmittance("line", ("A",), ((1e-4j,),)),
            CapacitiveCoupling("parallel", ("A",), ((5e-5j,),), (66e3,)),
        )
    )
    scenario = Scenario("induced", (Energized("parallel"),))
    bare = _exposure(network, scenario, ("A", EARTH), 1000)
    added = Network((*network.elements, Impedance("added", "A", EARTH, 1 + 9000j)))
    assert _exposure(added, scenario, ("A", EARTH), 1000) > bare
    good = Network((*network.elements, Impedance("added", "A", EARTH, 0.01 + 0.01j)))
    assert _exposure(good, scenario, ("A", EARTH), 1000) < 1e-3 * bare


def test_a_lead_elsewhere_can_raise_the_current_of_a_body() -> None:
    """Only a lead across the same pair is sure to help: bonding a tower to the neutral raises the tower over the
    soil."""
    network = Network(
        (
            VoltageSource("source", EARTH, "neutral", 1000, 1),
            Impedance("neutral ground", "neutral", EARTH, 1),
            Impedance("tower", "tower", EARTH, 10),
        )
    )
    scenario = Scenario("return", (Energized("source"),))
    bonded = Network((*network.elements, Impedance("bond", "tower", "neutral", 0.01)))
    assert _exposure(bonded, scenario, ("tower", EARTH), 1000) > _exposure(network, scenario, ("tower", EARTH), 1000)


@given(seeds, st.floats(300, 5000))
@settings(max_examples=40, deadline=None)
def test_body_currents_equal_those_of_a_network_that_holds_the_bodies(seed: int, body: float) -> None:
    case = _random_case(seed)
    solution = _solved(case)
    for pair in case.pairs:
        held = _solved(case, network=Network((*case.network.elements, Impedance("body", *pair, body))))
        assert _one(solution.body_current(pair, body)) == pytest.approx(_one(held.current("body")), rel=1e-8, abs=1e-12)


@given(seeds)
@settings(max_examples=20, deadline=None)
def test_a_batch_gives_what_its_members_give_alone(seed: int) -> None:
    case = _random_case(seed)
    rng = np.random.default_rng(seed)
    leads = [e.name for e in case.network.elements if e.name.startswith("lead")]
    states = [frozenset(name for name in leads if rng.random() < 0.4) for _ in range(6)]
    scenarios = [
        case.scenario,
        Scenario("A", (Energized("station", (True, False, False)),)),
        Scenario("BC", (Energized("station", (False, True, True), 0.5), Energized("generator"))),
    ]
    batch = solve(case.network, states, scenarios, pairs=case.pairs)
    assert isinstance(batch, Solution)
    for s, state in enumerate(states):
        kept = Network(tuple(e for e in case.network.elements if e.name not in state))
        for c, scenario in enumerate(scenarios):
            alone = solve(kept, NOTHING_OFF, [scenario])
            assert isinstance(alone, Solution)
            for node in alone.names:
                voltage, single = batch.voltage(node), alone.voltage(node)
                assert isinstance(voltage, Values)
                assert isinstance(single, Values)
                one, other = voltage.at(s, 0, c), single.at(0)
                if isinstance(one, NotSolvable) or isinstance(other, NotSolvable):
                    assert isinstance(one, NotSolvable) == isinstance(other, NotSolvable)
                else:
                    assert one == pytest.approx(other, rel=1e-9, abs=1e-9)


def test_sequence_matrix_has_the_sequence_impedances_as_eigenvalues() -> None:
    z = np.array(sequence_matrix(1 + 4j, 2 + 9j))
    assert sorted(np.linalg.eigvals(z), key=abs) == pytest.approx([1 + 4j, 1 + 4j, 2 + 9j])


def _extended(case: Case) -> dict[str | tuple[str, int], complex]:
    """Node voltages and arm currents by another way: one system of all of them, eliminated in extended precision."""
    on = {entry.source for entry in case.scenario.on}
    arms: list[tuple[str, int, str, str]] = []
    for element in case.network.elements:
        begin, end = ends(element)
        arms += [(element.name, k, a, b) for k, (a, b) in enumerate(zip(begin, end, strict=True))]
    nodes = sorted({n for arm in arms for n in arm[2:]} - {EARTH})
    at = {n: k for k, n in enumerate(nodes)}
    arm_at = {arm[:2]: len(nodes) + k for k, arm in enumerate(arms)}
    size = len(nodes) + len(arms)
    system = np.zeros((size, size + 1), dtype=np.clongdouble)
    for name, k, a, b in arms:
        row = arm_at[name, k]
        for node, sign in ((a, 1), (b, -1)):
            if node != EARTH:
                system[at[node], row] += sign
    for element in case.network.elements:
        begin, end = ends(element)
        z = np.array(block_matrix(element), dtype=np.clongdouble)
        for k, (a, b) in enumerate(zip(begin, end, strict=True)):
            row = arm_at[element.name, k]
            if isinstance(element, ShuntAdmittance):
                system[row, row] = 1
                for j, node in enumerate(begin):
                    system[row, at[node]] -= z[k, j]
                continue
            for node, sign in ((a, 1), (b, -1)):
                if node != EARTH:
                    system[row, at[node]] += sign
            for j in range(len(begin)):
                system[row, arm_at[element.name, j]] -= z[k, j]
        if element.name not in on:
            continue
        match element:
            case ThreePhaseSource() | InducedEmf():
                target = element.span if isinstance(element, InducedEmf) else element.name
                for k, value in enumerate(element.emf):
                    system[arm_at[target, k], size] -= value
            case VoltageSource():
                system[arm_at[element.name, 0], size] -= element.emf
            case CurrentSource():
                system[at[element.b], size] += element.current
            case _:
                pass
    system /= np.abs(system[:, :size]).max(axis=1)[:, None]
    for k in range(size):
        pivot = k + int(np.abs(system[k:, k]).argmax())
        system[[k, pivot]] = system[[pivot, k]]
        system[k] /= system[k, k]
        factors = system[:, k].copy()
        factors[k] = 0
        system -= factors[:, None] * system[k]
    answer = system[:, size]
    return {n: complex(answer[k]) for n, k in at.items()} | {key: complex(answer[k]) for key, k in arm_at.items()}


@pytest.mark.skipif(np.finfo(np.longdouble).eps > 1e-18, reason="no extended precision here to compare with")
@given(seeds, st.booleans())
@settings(max_examples=40, deadline=None)
def test_small_currents_beside_large_ones_keep_their_digits(seed: int, capacitive: bool) -> None:
    case = _random_case(seed, capacitive=capacitive)
    solution, exact = _solved(case), _extended(case)
    level = max(abs(v) for key, v in exact.items() if isinstance(key, str))
    amperes = max(abs(v) for key, v in exact.items() if not isinstance(key, str))
    for key, value in exact.items():
        if isinstance(key, str):
            assert abs(_voltage(solution, key) - value) <= 1e-9 * abs(value) + 1e-14 * level
        else:
            assert abs(_one(solution.current(*key)) - value) <= 1e-9 * abs(value) + 1e-14 * amperes
