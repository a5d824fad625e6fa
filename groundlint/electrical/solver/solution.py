"""What a solved network tells: voltages, currents, and what a body between two things would carry.

Every quantity is an array over [state, variant, scenario]. Where there is no answer the array holds infinity, never
NaN, so that a careless comparison errs to the dangerous side, and `Values.at` and `Values.worst` give the reason
instead.
"""

from __future__ import annotations

import math
from collections.abc import Mapping
from dataclasses import dataclass
from typing import NamedTuple

import numpy as np
from numpy.typing import NDArray

from groundlint.electrical.solver.layout import ComplexArray, FloatArray, IntArray
from groundlint.electrical.solver.network import NotSolvable

CodeArray = NDArray[np.int32]


class Worst(NamedTuple):
    """The largest magnitude of a quantity, its phasor, and where it is: state, variant and scenario numbers."""

    magnitude: float
    value: complex
    state: int
    variant: int
    scenario: int


@dataclass(frozen=True, slots=True)
class Values:
    """One quantity: `values` [state, variant, scenario], complex rms, infinite where `codes` is not 0.

    Code k refers to ``reasons[k - 1]``.
    """

    values: ComplexArray
    codes: CodeArray
    reasons: tuple[NotSolvable, ...]

    def at(self, state: int, variant: int = 0, scenario: int = 0) -> complex | NotSolvable:
        """The phasor at one state, variant and scenario, or why there is none."""
        code = int(self.codes[state, variant, scenario])
        return complex(self.values[state, variant, scenario]) if code == 0 else self.reasons[code - 1]

    def worst(self, state: int | None = None, variant: int | None = None) -> Worst | NotSolvable:
        """The largest magnitude over scenarios, and over all states and variants that are not given.

        One case without a value makes the whole not solvable: the worst might be there.
        """
        states = np.arange(self.values.shape[0]) if state is None else np.array([state])
        variants = np.arange(self.values.shape[1]) if variant is None else np.array([variant])
        part = np.ix_(states, variants, np.arange(self.values.shape[2]))
        codes = self.codes[part]
        if codes.size == 0:
            return NotSolvable("there is no state, variant or scenario to solve")
        if codes.any():
            return self.reasons[int(codes[codes != 0][0]) - 1]
        size = np.abs(self.values[part])
        s, v, c = (int(i) for i in np.unravel_index(int(size.argmax()), size.shape))
        value = complex(self.values[states[s], variants[v], c])
        return Worst(float(size[s, v, c]), value, int(states[s]), int(variants[v]), c)


@dataclass(frozen=True, slots=True)
class Rows:
    """Results of distinct states: arrays [state, variant, scenario, ...] and, for each, codes of what has no value."""

    nodes: ComplexArray
    arms: ComplexArray
    open_circuit: ComplexArray
    thevenin: ComplexArray
    node_codes: CodeArray
    arm_codes: CodeArray
    pair_codes: CodeArray
    condition: FloatArray


@dataclass(frozen=True, slots=True)
class Solution:
    """Answers of a network; `row` says which row of `rows` each asked state has, for states that are the same share
    one."""

    names: Mapping[str, int]
    first_arm: Mapping[str, int]
    arm_count: Mapping[str, int]
    pairs: tuple[tuple[str, str], ...]
    row: IntArray
    rows: Rows
    reasons: tuple[NotSolvable, ...]

    def voltage(self, node: str) -> Values | NotSolvable:
        """Voltage of a node to remote earth, volt."""
        number = self.names.get(node)
        if number is None:
            return NotSolvable(f"there is no node {node}", (node,))
        return self._values(self.rows.nodes[..., number], self.rows.node_codes[..., number])

    def current(self, element: str, conductor: int = 0) -> Values | NotSolvable:
        """Current of a branch's conductor from a to b, ampere; a source's is positive out of its terminal."""
        first = self.first_arm.get(element)
        if first is None or not 0 <= conductor < self.arm_count[element]:
            return NotSolvable(f"there is no branch {element} with a conductor {conductor}")
        return self._values(self.rows.arms[..., first + conductor], self.rows.arm_codes[..., first + conductor])

    def open_circuit(self, pair: tuple[str, str]) -> Values | NotSolvable:
        """Voltage of the first node of a pair over the second with nothing between them, volt."""
        number = self._pair(pair)
        if isinstance(number, NotSolvable):
            return number
        return self._values(self.rows.open_circuit[..., number], self.rows.pair_codes[..., number])

    def thevenin(self, pair: tuple[str, str]) -> Values | NotSolvable:
        """Impedance seen between the nodes of a pair, ohm; solved and infinite where one is stated to be isolated."""
        number = self._pair(pair)
        if isinstance(number, NotSolvable):
            return number
        return self._values(self.rows.thevenin[..., number], self.rows.pair_codes[..., number])

    def body_current(self, pair: tuple[str, str], resistance: float) -> Values | NotSolvable:
        """Current through `resistance` (ohm, over 0) that bridges one pair and nothing else, ampere, first node to
        second."""
        number = self._pair(pair)
        if isinstance(number, NotSolvable):
            return number
        if not (math.isfinite(resistance) and resistance > 0):
            return NotSolvable("the resistance that bridges a pair is not a positive finite number", pair)
        codes = self.rows.pair_codes[..., number]
        own = self.rows.thevenin[..., number]
        closed = (codes == 0) & np.isfinite(own)
        volts: ComplexArray = np.where(closed, self.rows.open_circuit[..., number], 0)
        current: ComplexArray = volts / np.where(closed, own + resistance, 1)
        return self._values(current, codes)

    @property
    def condition(self) -> FloatArray:
        """Condition number of the matrix that was inverted [state, variant, scenario], scaled, 1-norm."""
        taken: FloatArray = self.rows.condition[self.row]
        return taken

    def _pair(self, pair: tuple[str, str]) -> int | NotSolvable:
        try:
            return self.pairs.index(pair)
        except ValueError:
            return NotSolvable("the pair was not asked for when the network was solved", pair)

    def _values(self, values: ComplexArray, codes: CodeArray) -> Values:
        codes = codes[self.row]
        return Values(np.where(codes == 0, values[self.row], np.inf), codes, self.reasons)
