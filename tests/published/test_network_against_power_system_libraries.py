"""The network solver beside two independent power-system libraries: sources, coupled lines and the usual faults.

OpenDSS takes phase matrices and any number of conductors; power-grid-model takes sequence quantities and has a
short-circuit calculation of its own, which multiplies the source's voltage by the maximum voltage factor of IEC
60909-0 (1.1 over 1 kV). Both see the same numbers as the solver; nothing is fitted.
"""

from __future__ import annotations

import importlib.util
import math
from collections.abc import Callable

import numpy as np
import pytest

from groundlint.electrical.solver.network import (
    BALANCED,
    EARTH,
    Bond,
    Element,
    Energized,
    Impedance,
    Network,
    Scenario,
    Span,
    ThreePhaseSource,
    matrix,
    sequence_matrix,
)
from groundlint.electrical.solver.solution import Solution, Values
from groundlint.electrical.solver.solve import solve

SCENARIO = Scenario("on", (Energized("source"),))
LIMIT = 1e-6
JOINT = 1e-4
"""Ohm between two phases that are faulted to earth together, for OpenDSS, which has no ideal connection between
phases."""
VOLTAGE_FACTOR = 1.1
FAULTS = ("three-phase", "phase to earth", "phase to phase", "two phases to earth")


def _solve(elements: list[Element]) -> Solution:
    solution = solve(Network(tuple(elements)), [frozenset()], [SCENARIO])
    assert isinstance(solution, Solution), solution
    return solution


def _one(values: object) -> complex:
    assert isinstance(values, Values)
    value = values.at(0)
    assert isinstance(value, complex), value
    return value


def _fault(kind: str, resistance: float, joint: float | None) -> list[Element]:
    a, b, c = ("a1", "b1", "c1")
    match kind:
        case "three-phase":
            return [Impedance(f"fault{k}", node, EARTH, resistance) for k, node in enumerate((a, b, c))]
        case "phase to earth":
            return [Impedance("fault0", a, EARTH, resistance)]
        case "phase to phase":
            return [Impedance("fault0", b, c, resistance)]
        case _:
            joined = Bond("joint", b, c) if joint is None else Impedance("joint", b, c, joint)
            return [joined, Impedance("fault0", b, EARTH, resistance)]


def _carson_like(rng: np.random.Generator, conductors: int) -> np.ndarray:
    """Series impedance per kilometre with earth return: modified Carson at 60 Hz and 100 ohm-metre, ohm."""
    place = np.arange(conductors) * rng.uniform(0.6, 3)
    distance = np.abs(np.subtract.outer(place, place))
    np.fill_diagonal(distance, rng.uniform(0.002, 0.01))
    resistance = 0.05922 + np.diag(rng.uniform(0.05, 0.8, conductors))
    z: np.ndarray = resistance + 1j * 0.0754 * (np.log(1 / distance) + 6.746)
    return z


def _source(rng: np.random.Generator, kilovolts: float) -> ThreePhaseSource:
    x1, x0 = float(10 ** rng.uniform(-1, 0.7)), float(10 ** rng.uniform(-1, 1))
    emf = tuple(kilovolts * 1000 / math.sqrt(3) * phase for phase in BALANCED)
    z1, z0 = complex(x1 / rng.uniform(2, 30), x1), complex(x0 / rng.uniform(2, 30), x0)
    return ThreePhaseSource("source", ("a0", "b0", "c0"), EARTH, (emf[0], emf[1], emf[2]), z1, z0)


# --- OpenDSS -------------------------------------------------------------------------------------------------------


def _rows(values: np.ndarray) -> str:
    return "[" + " | ".join(" ".join(repr(float(x)) for x in row) for row in values) + "]"


def _opendss(source: ThreePhaseSource, kilovolts: float, z: np.ndarray, grounds: list[float], fault: str, ohms: float):
    """Node voltages and currents into the line from OpenDSS, for a line whose conductors past the third are a
    neutral."""
    import opendssdirect as dss

    assert source.z0 is not None
    size = z.shape[0]
    nodes = "".join(f".{k + 1}" for k in range(size))
    faults = {
        "three-phase": [f"new fault.f bus1=end.1.2.3 phases=3 r={ohms!r}"],
        "phase to earth": [f"new fault.f bus1=end.1 phases=1 r={ohms!r}"],
        "phase to phase": [f"new fault.f bus1=end.2 bus2=end.3 phases=1 r={ohms!r}"],
        "two phases to earth": [
            f"new fault.j bus1=end.2 bus2=end.3 phases=1 r={JOINT!r}",
            f"new fault.f bus1=end.2 phases=1 r={ohms!r}",
        ],
    }[fault]
    commands = [
        "clear",
        f"new circuit.c basekv={kilovolts!r} pu=1.0 angle=0 phases=3 bus1=start frequency=60 basefreq=60 "
        f"R1={source.z1.real!r} X1={source.z1.imag!r} R0={source.z0.real!r} X0={source.z0.imag!r}",
        f"new linecode.code nphases={size} basefreq=60 units=none rmatrix={_rows(z.real)} xmatrix={_rows(z.imag)} "
        f"cmatrix={_rows(np.zeros_like(z.real))}",
        f"new line.line bus1=start{nodes} bus2=end{nodes} linecode=code length=1 units=none",
        *(
            f"new reactor.g{k} bus1={bus}.4 phases=1 r={g!r} x=0"
            for k, (bus, g) in enumerate(zip(("start", "end"), grounds, strict=False))
        ),
        *faults,
        "set voltagebases=[12.47]",
        "solve mode=direct",
    ]
    for command in commands:
        dss.Text.Command(command)
    assert dss.Solution.Converged()
    pairs = np.array(dss.Circuit.AllBusVolts()).reshape(-1, 2)
    volts = dict(zip(dss.Circuit.AllNodeNames(), (complex(x, y) for x, y in pairs), strict=True))
    dss.Circuit.SetActiveElement("line.line")
    currents = [complex(x, y) for x, y in np.array(dss.CktElement.Currents()).reshape(-1, 2)[:size]]
    return volts, currents


def _difference_from_opendss(seed: int) -> float:
    rng = np.random.default_rng(seed)
    kilovolts = float(rng.choice([4.16, 12.47, 34.5, 115]))
    size = int(rng.integers(3, 5))
    z = _carson_like(rng, size) * rng.uniform(0.2, 20)
    source = _source(rng, kilovolts)
    grounds = [float(10 ** rng.uniform(0, 2)) for _ in range(2)] if size == 4 else []
    fault, ohms = FAULTS[seed % 4], float(10 ** rng.uniform(-3, 2))
    names = "abcn"[:size]
    elements: list[Element] = [
        source,
        Span("line", tuple(f"{n}0" for n in names), tuple(f"{n}1" for n in names), matrix(z)),
        *(Impedance(f"ground{k}", f"n{k}", EARTH, g) for k, g in enumerate(grounds)),
        *_fault(fault, ohms, JOINT),
    ]
    solution = _solve(elements)
    volts, currents = _opendss(source, kilovolts, z, grounds, fault, ohms)
    ours, theirs = [], []
    for bus, end in (("start", "0"), ("end", "1")):
        for k, n in enumerate(names):
            ours.append(_one(solution.voltage(f"{n}{end}")))
            theirs.append(volts[f"{bus}.{k + 1}"])
    apart = np.abs(np.subtract(ours, theirs)).max() / np.abs(theirs).max()
    amps = [_one(solution.current("line", k)) for k in range(size)]
    return float(max(apart, np.abs(np.subtract(amps, currents)).max() / np.abs(currents).max()))


@pytest.mark.slow
@pytest.mark.skipif(importlib.util.find_spec("opendssdirect") is None, reason="OpenDSSDirect.py is not installed")
def test_faults_through_coupled_lines_agree_with_opendss(record_property: Callable[[str, object], None]) -> None:
    differences = np.array([_difference_from_opendss(seed) for seed in range(80)])
    figure = f"{differences.size} faults, worst relative difference {differences.max():.1e}"
    record_property("opendss", figure)
    print(figure)
    assert differences.max() <= LIMIT, (int(differences.argmax()), figure)


# --- power-grid-model ----------------------------------------------------------------------------------------------


def _power_grid_model(source: ThreePhaseSource, kilovolts: float, z1: complex, z0: complex, fault: str, zf: complex):
    """Voltages at the fault and fault currents by phase from power-grid-model's short-circuit calculation."""
    import power_grid_model as pgm

    assert source.z0 is not None
    volts = kilovolts * 1000
    node = pgm.initialize_array("input", "node", 2)
    node["id"], node["u_rated"] = [1, 2], [volts, volts]
    line = pgm.initialize_array("input", "line", 1)
    line["id"], line["from_node"], line["to_node"], line["from_status"], line["to_status"] = [3], [1], [2], [1], [1]
    line["r1"], line["x1"], line["c1"], line["tan1"] = [z1.real], [z1.imag], [0], [0]
    line["r0"], line["x0"], line["c0"], line["tan0"], line["i_n"] = [z0.real], [z0.imag], [0], [0], [1000]
    feed = pgm.initialize_array("input", "source", 1)
    feed["id"], feed["node"], feed["status"], feed["u_ref"] = [4], [1], [1], [1.0]
    feed["sk"], feed["rx_ratio"] = [volts**2 / abs(source.z1)], [source.z1.real / source.z1.imag]
    feed["z01_ratio"] = [abs(source.z0) / abs(source.z1)]
    short = pgm.initialize_array("input", "fault", 1)
    short["id"], short["status"], short["fault_object"] = [5], [1], [2]
    kind, phase = {
        "three-phase": (pgm.FaultType.three_phase, pgm.FaultPhase.abc),
        "phase to earth": (pgm.FaultType.single_phase_to_ground, pgm.FaultPhase.a),
        "phase to phase": (pgm.FaultType.two_phase, pgm.FaultPhase.bc),
        "two phases to earth": (pgm.FaultType.two_phase_to_ground, pgm.FaultPhase.bc),
    }[fault]
    short["fault_type"], short["fault_phase"], short["r_f"], short["x_f"] = [kind], [phase], [zf.real], [zf.imag]
    model = pgm.PowerGridModel({"node": node, "line": line, "source": feed, "fault": short})
    result = model.calculate_short_circuit(calculation_method=pgm.CalculationMethod.iec60909)
    at_fault, flow = result["node"][1], result["fault"][0]
    voltage = at_fault["u"] * np.exp(1j * at_fault["u_angle"])
    return voltage, flow["i_f"] * np.exp(1j * flow["i_f_angle"])


def _difference_from_power_grid_model(seed: int) -> float:
    rng = np.random.default_rng(seed)
    kilovolts = float(rng.choice([4.16, 12.47, 34.5, 115]))
    base = _source(rng, kilovolts)
    # The library gives a source one R/X for both sequences.
    source = ThreePhaseSource("source", base.phases, EARTH, base.emf, base.z1, base.z1 * float(rng.uniform(0.3, 4)))
    driven = Scenario("on", (Energized("source", None, VOLTAGE_FACTOR),))
    x = float(rng.uniform(0.2, 20))
    z1 = complex(x * rng.uniform(0.1, 1), x)
    z0 = complex(z1.real + rng.uniform(0.1, 1) * x, x * rng.uniform(1.2, 4))
    fault = FAULTS[seed % 4]
    ohms = float(10 ** rng.uniform(-2, 2))
    line = Span("line", ("a0", "b0", "c0"), ("a1", "b1", "c1"), sequence_matrix(z1, z0))
    elements = [source, line, *_fault(fault, ohms, None)]
    solution = solve(Network(tuple(elements)), [frozenset()], [driven])
    assert isinstance(solution, Solution)
    volts, amps = _power_grid_model(source, kilovolts, z1, z0, fault, complex(ohms))
    ours = np.array([_one(solution.voltage(f"{n}1")) for n in "abc"])
    flow = np.array([_one(solution.current("line", k)) for k in range(3)])
    return float(max(np.abs(ours - volts).max() / np.abs(volts).max(), np.abs(flow - amps).max() / np.abs(amps).max()))


@pytest.mark.slow
@pytest.mark.skipif(importlib.util.find_spec("power_grid_model") is None, reason="power-grid-model is not installed")
def test_short_circuits_agree_with_power_grid_model(record_property: Callable[[str, object], None]) -> None:
    differences = np.array([_difference_from_power_grid_model(seed) for seed in range(80)])
    figure = f"{differences.size} faults, worst relative difference {differences.max():.1e}"
    record_property("power-grid-model", figure)
    print(figure)
    assert differences.max() <= LIMIT, (int(differences.argmax()), figure)
