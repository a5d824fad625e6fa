"""How fast 100 steps by 6 scenarios are solved together, beside a loop that assembles and solves each.

Run ``python tests/bench/bench_network.py``. Three contestants take the same network and give the same numbers
(checked): the batched solver; a loop with arrays (admittance matrices by incidence matrices, one
``numpy.linalg.solve`` for the node voltages and the pairs' Thevenin impedances of one step and scenario); and a loop
that adds branch after branch. All are measured in turn within one run, best of several, and ratios are what is
reported. The circuit simulator, where it is installed, is given one step and scenario; its time is mostly that of
starting a process, so no goal hangs on it.
"""

from __future__ import annotations

import math
import shutil
import subprocess
import tempfile
import time
from collections.abc import Callable
from pathlib import Path

import numpy as np
from size import SMALLEST

from groundlint.electrical.solver.layout import block_matrix, ends
from groundlint.electrical.solver.network import (
    BALANCED,
    EARTH,
    Element,
    Energized,
    Impedance,
    Network,
    Scenario,
    Span,
    ThreePhaseSource,
    matrix,
    terminals,
)
from groundlint.electrical.solver.solution import Solution
from groundlint.electrical.solver.solve import solve

STEPS, REPEATS = (4, 1) if SMALLEST else (100, 15)
PAIRS = (("A1", "bar1"), ("bar1", EARTH), ("N2", "bar2"), ("C3", "bar3"))


def line() -> tuple[Network, list[frozenset[str]], list[Scenario], list[Scenario]]:
    """A line of four poles with a neutral, every lead of which is on at some of 100 steps, no two steps the same."""
    rng = np.random.default_rng(1)
    names, poles = "ABCN", 4
    emf = tuple(7200 * phase for phase in BALANCED)
    source = ThreePhaseSource("source", ("A0", "B0", "C0"), EARTH, (emf[0], emf[1], emf[2]), 0.1 + 1j, 0.2 + 2j)
    elements: list[Element] = [source]
    place = np.arange(4) * 0.9
    distance = np.abs(np.subtract.outer(place, place)) + 0.005 * np.eye(4)
    z = 0.05922 + 0.3 * np.eye(4) + 1j * 0.0754 * (np.log(1 / distance) + 6.746)
    ends_of = [tuple(f"{n}{k}" for n in names) for k in range(poles)]
    elements.extend(Span(f"span{k}", ends_of[k], ends_of[k + 1], matrix(z)) for k in range(poles - 1))
    leads = []
    for k in range(poles):
        elements.append(Impedance(f"rod{k}", f"bar{k}", EARTH, 25.0))
        elements.append(Impedance(f"neutral ground{k}", f"N{k}", EARTH, 15.0))
        elements.extend(Impedance(f"pole{n}{k}", f"{n}{k}", EARTH, 1e5) for n in "ABC")
        for n in names:
            elements.append(Impedance(f"lead{n}{k}", f"{n}{k}", f"bar{k}", 1e-3 + 1e-3j))
            leads.append(f"lead{n}{k}")
    states: dict[frozenset[str], None] = {}
    while len(states) < STEPS:
        states[frozenset(lead for lead in leads if rng.random() < 0.5)] = None
    full = [
        Scenario(f"phasor {k}", (Energized("source", None, complex(math.cos(k), math.sin(k)) * (1 + 0.01 * k)),))
        for k in range(6)
    ]
    ways = [tuple(at in way for at in range(3)) for way in ((0, 1, 2), (0,), (1,), (2,), (0, 1), (1, 2))]
    parts = [Scenario(str(way), (Energized("source", way),)) for way in ways]
    return Network(tuple(elements)), list(states), full, parts


class Arrays:
    """What both loops may prepare once: arms, incidence and the admittance of all arms of a scenario."""

    def __init__(self, network: Network) -> None:
        self.network = network
        self.nodes = sorted({n for e in network.elements for n in terminals(e)} - {EARTH})
        at = {n: k for k, n in enumerate(self.nodes)} | {EARTH: len(self.nodes)}
        self.arms = [
            (e, k, at[a], at[b]) for e in network.elements for k, (a, b) in enumerate(zip(*ends(e), strict=True))
        ]
        self.incidence = np.zeros((len(self.arms), len(self.nodes) + 1))
        for row, (_, _, a, b) in enumerate(self.arms):
            self.incidence[row, a] += 1
            self.incidence[row, b] -= 1
        self.incidence = self.incidence[:, :-1]
        self.pairs = np.zeros((len(self.nodes) + 1, len(PAIRS)))
        for column, (a, b) in enumerate(PAIRS):
            self.pairs[at[a], column] += 1
            self.pairs[at[b], column] -= 1
        self.pairs = self.pairs[:-1]

    def scenario(self, scenario: Scenario) -> tuple[np.ndarray, np.ndarray]:
        """The arm admittance matrix with all leads on, and the arms' electromotive forces."""
        y = np.zeros((len(self.arms),) * 2, dtype=complex)
        emf = np.zeros(len(self.arms), dtype=complex)
        row = 0
        for element in self.network.elements:
            size = len(ends(element)[0])
            inverse = np.zeros((size, size), dtype=complex)
            on = np.ones(size, dtype=bool)
            if isinstance(element, ThreePhaseSource):
                (entry,) = scenario.on
                on = np.array(entry.poles or (True,) * 3)
                emf[row : row + 3] = np.array(element.emf) * entry.scale
            chosen = np.ix_(on, on)
            inverse[chosen] = np.linalg.inv(np.array(block_matrix(element))[chosen])
            y[row : row + size, row : row + size] = inverse
            row += size
        return y, emf


def loop_of_arrays(network: Network, states: list[frozenset[str]], scenarios: list[Scenario]) -> np.ndarray:
    """Pairs' open-circuit voltages and Thevenin impedances [state, scenario, 2, pair], one solution at a time."""
    arrays = Arrays(network)
    prepared = [arrays.scenario(scenario) for scenario in scenarios]
    names = np.array([e.name for e, _, _, _ in arrays.arms])
    out = np.empty((len(states), len(scenarios), 2, len(PAIRS)), dtype=complex)
    for s, off in enumerate(states):
        on = ~np.isin(names, list(off))
        incidence = arrays.incidence[on]
        for c, (y, emf) in enumerate(prepared):
            weighted = incidence.T @ y[np.ix_(on, on)]
            right = np.concatenate([-(weighted @ emf[on])[:, None], arrays.pairs], axis=1)
            answer = arrays.pairs.T @ np.linalg.solve(weighted @ incidence, right)
            out[s, c] = answer[:, 0], np.diagonal(answer[:, 1:])
    return out


def loop_of_branches(network: Network, states: list[frozenset[str]], scenarios: list[Scenario]) -> np.ndarray:
    """The same, where each matrix is added up branch after branch."""
    arrays = Arrays(network)
    prepared = [arrays.scenario(scenario) for scenario in scenarios]
    n = len(arrays.nodes)
    out = np.empty((len(states), len(scenarios), 2, len(PAIRS)), dtype=complex)
    for s, off in enumerate(states):
        for c, (y, emf) in enumerate(prepared):
            matrix_ = np.zeros((n + 1, n + 1), dtype=complex)
            right = np.zeros((n + 1, 1 + len(PAIRS)), dtype=complex)
            row = 0
            for element in network.elements:
                size = len(ends(element)[0])
                if element.name not in off:
                    for p in range(row, row + size):
                        _, _, a, b = arrays.arms[p]
                        for q in range(row, row + size):
                            _, _, i, j = arrays.arms[q]
                            value = y[p, q]
                            matrix_[a, i] += value
                            matrix_[a, j] -= value
                            matrix_[b, i] -= value
                            matrix_[b, j] += value
                            right[a, 0] -= value * emf[q]
                            right[b, 0] += value * emf[q]
                row += size
            right[:n, 1:] = arrays.pairs
            answer = arrays.pairs.T @ np.linalg.solve(matrix_[:n, :n], right[:n])
            out[s, c] = answer[:, 0], np.diagonal(answer[:, 1:])
    return out


def batched(network: Network, states: list[frozenset[str]], scenarios: list[Scenario]) -> np.ndarray:
    """The solver itself."""
    solution = solve(network, states, scenarios, pairs=PAIRS)
    assert isinstance(solution, Solution), solution
    assert not solution.rows.pair_codes.any()
    return np.stack([solution.rows.open_circuit, solution.rows.thevenin], axis=-2)[:, 0]


def in_turn(work: list[Callable[[], object]]) -> list[float]:
    """Best processor time of each, measured one after the other in every round: other work on the machine counts
    less."""
    best = [math.inf] * len(work)
    for _ in range(REPEATS):
        for number, run in enumerate(work):
            start = time.process_time()
            run()
            best[number] = min(best[number], time.process_time() - start)
    return best


def simulator_time(network: Network) -> float:
    """Seconds the circuit simulator takes for one step and scenario, process and all; the spans' coupling as K
    elements."""
    nodes = {EARTH: "0"}
    lines = ["bench"]
    omega = 2 * math.pi * 60
    for number, (element, k, _, _) in enumerate(Arrays(network).arms):
        a, b = (nodes.setdefault(side[k], f"n{len(nodes)}") for side in ends(element))
        z = np.array(block_matrix(element))
        middle = f"m{number}"
        if isinstance(element, ThreePhaseSource):
            lines.append(f"V{number} {middle}v {a} dc 0 ac {abs(element.emf[k])!r} {-120 * k}")
            a = f"{middle}v"
        lines.append(f"R{number} {a} {middle} {float(z[k, k].real)!r}")
        lines.append(f"L{number} {middle} {b} {max(float(z[k, k].imag), 1e-9) / omega!r}")
        for other in range(k):
            factor = float(z[k, other].imag / math.sqrt(z[k, k].imag * z[other, other].imag))
            lines.append(f"K{number}_{other} L{number} L{number - k + other} {factor!r}")
    lines += [".control", "ac lin 1 60 60", "print all", "quit", ".endc", ".end", ""]
    with tempfile.TemporaryDirectory() as folder:
        path = Path(folder) / "bench.cir"
        path.write_text("\n".join(lines))
        start = time.perf_counter()
        done = subprocess.run(["ngspice", "-b", str(path)], capture_output=True, text=True, check=False)
        taken = time.perf_counter() - start
    assert "No. of Data Rows : 1" in done.stdout, done.stdout + done.stderr
    return taken


def main() -> None:
    """Print the ratios."""
    network, states, phasors, poles = line()
    cases = len(states) * 6
    for title, scenarios in (("sources' phasors differ", phasors), ("connected poles differ", poles)):
        ours, arrays, branches = (f(network, states, scenarios) for f in (batched, loop_of_arrays, loop_of_branches))
        for other in (arrays, branches):
            assert np.abs(ours - other).max() <= 1e-6 * np.abs(other).max()
        times = in_turn(
            [
                lambda s=scenarios: batched(network, states, s),
                lambda s=scenarios: loop_of_arrays(network, states, s),
                lambda s=scenarios: loop_of_branches(network, states, s),
            ]
        )
        print(f"{len(states)} steps x 6 scenarios, {title}; {len(Arrays(network).nodes)} nodes")
        print(
            f"  batched                {times[0] * 1e3:8.2f} ms  {times[0] / cases * 1e6:7.1f} us a step and scenario"
        )
        print(f"  loop of arrays         {times[1] * 1e3:8.2f} ms  {times[1] / times[0]:7.1f} x the batched time")
        print(f"  loop of branches       {times[2] * 1e3:8.2f} ms  {times[2] / times[0]:7.1f} x the batched time")
        if shutil.which("ngspice"):
            simulator = min(simulator_time(network) for _ in range(5))
            one = simulator / (times[0] / cases)
            print(f"  circuit simulator      {simulator * 1e3:8.2f} ms  {one:7.0f} x, one case each")
    growth = []
    for count in (1, 10) if SMALLEST else (1, 10, 100, 1000):
        many = [frozenset({f"lead{'ABCN'[k % 4]}{k // 4}" for k in range(16) if n >> k & 1}) for n in range(count)]
        (taken,) = in_turn([lambda m=many: batched(network, m, phasors)])
        growth.append(f"{count}: {taken / count * 1e3:.3f}")
    print("ms a step by number of steps, all different:", ", ".join(growth))


if __name__ == "__main__":
    main()
