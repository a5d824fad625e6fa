"""What a crew or a shop may have measured and nobody else writes into a plan: by name, with the bounds else assumed.

The reasons and sources of the bounds stand in the register of assumptions of the electrical stage. A measured value
outside of what equipment and site can have is refused: a clamp of ten times the resistance that any should have is to
be replaced, not computed with. A sound site can have more or less than what is assumed where nobody measured, as with
a neutral in rock or a line in the far north; what was measured there can be said. A plan that leaves it out again is
computed with what is assumed, which may look better: no plan can show that something was measured and not written.
"""

from __future__ import annotations

import math
from collections.abc import Callable
from typing import NamedTuple

from groundlint.language import statements as s
from groundlint.language.nodes import Amount
from groundlint.plan.names import Names
from groundlint.text.near import nearest
from groundlint.values import Quantity
from groundlint.values.units import ZERO_CELSIUS
from groundlint.words.quantities import rounded


class Measurable(NamedTuple):
    """Bounds in SI (temperatures in C) and the dimension of a value that may be measured; `unit` to write it in. A
    measured one may be from `least` to `most` where these are further apart (common practice, no source)."""

    low: float
    high: float
    dimension: str
    unit: str
    least: float = math.inf
    most: float = -math.inf

    @property
    def possible(self) -> tuple[float, float]:
        """The bounds of what can be measured."""
        return min(self.low, self.least), max(self.high, self.most)


MILE = 1609.344
"""Metres."""

MEASURABLE: dict[str, Measurable] = {
    "clamp-contact-resistance": Measurable(0.02e-3, 0.5e-3, "resistance", "mohm"),
    "lead-temperature": Measurable(-20.0, 60.0, "temperature", "C", least=-50.0),
    "lead-loop-distance": Measurable(0.3, 2.0, "length", "m"),
    "wood-pole-resistance": Measurable(300.0, 1e6, "resistance", "ohm"),
    "concrete-structure-resistance": Measurable(5.0, 500.0, "resistance", "ohm", most=1e4),
    "station-ground-resistance": Measurable(0.1, 5.0, "resistance", "ohm", least=0.01, most=100.0),
    "source-ground-resistance": Measurable(0.1, 1e5, "resistance", "ohm"),
    "neutral-ground-resistance": Measurable(1.0, 4000.0, "resistance", "ohm"),
    "neutral-ground-spacing": Measurable(MILE / 8, MILE / 4, "length", "m", least=20.0),
    "neutral-beyond-route": Measurable(1.0, 1e5, "resistance", "ohm"),
    "neutral-back-to-source": Measurable(0.01, 4.2, "resistance", "ohm", most=1000.0),
    "neutral-back-reactance": Measurable(0.0, 0.99, "number", "%"),
    "guy-anchor-resistance": Measurable(5.0, 1000.0, "resistance", "ohm", most=1e4),
    "body-resistance": Measurable(500.0, 1000.0, "resistance", "ohm"),
    "cluster-bar-resistance": Measurable(0.0, 50e-6, "resistance", "mohm"),
    "bar-to-pole-resistance": Measurable(0.01, 10.0, "resistance", "ohm"),
    "unnamed-bond-resistance": Measurable(0.2e-3, 10e-3, "resistance", "mohm"),
    "conductor-temperature": Measurable(0.0, 75.0, "temperature", "C", least=-50.0, most=100.0),
    "earth-return-resistivity": Measurable(10.0, 1000.0, "resistivity", "ohm m", least=1.0, most=2e4),
    "vehicle-to-earth-resistance": Measurable(100.0, 1e7, "resistance", "ohm", least=1.0),
    "leakage-resistance": Measurable(1e5, 1e7, "resistance", "ohm"),
    "rope-lay-factor": Measurable(1.02, 1.06, "number", "%"),
    "rod-sharing": Measurable(0.0, 1.0, "number", "%"),
    "parallel-conductor-radius": Measurable(0.0025, 0.25, "length", "m"),
    "parallel-earth-return": Measurable(0.2, 1.0, "number", "%"),
}


def read_measured(
    st: s.Measured, names: Names, amount: Callable[[Amount | None, str], float | None], found: dict[str, float]
) -> None:
    """Take in a measured value, if it is one that can be measured and lies where such values lie.

    ``amount`` gives a quantity of a dimension in SI, None where it is refused or left open. ``found`` takes the value
    in SI, a temperature in C.
    """
    name = str(st.ident).lower()
    known = MEASURABLE.get(name)
    if known is None:
        near = nearest(name, MEASURABLE)
        mend = f"did you mean {near}?" if near else f"it is one of {', '.join(MEASURABLE)}"
        names.refuse("unknown-name", st.place("ident"), f"no value that is measured is called {name}", mend)
        return
    if name in found:
        names.refuse("said-twice", st.span, f"{name} is stated already", "keep one")
        return
    quantity = st.amount.quantity
    if quantity is not None and quantity.dimension != known.dimension:
        message = f"{st.amount} is a {quantity.dimension}; {name} is a {known.dimension}"
        names.refuse("wrong-dimension", st.place("amount"), message, f"write it in {known.unit}")
        return
    value = amount(st.amount, known.dimension)
    if value is None:
        return
    shift = ZERO_CELSIUS if known.dimension == "temperature" else 0.0
    least, most = (end + shift for end in known.possible)
    if not least * (1 - 1e-9) <= value <= most * (1 + 1e-9):  # a bound written in another unit is within
        low, high = (rounded(Quantity(end, known.dimension).to(known.unit)) for end in (least, most))
        names.refuse(
            "out-of-bounds",
            st.place("amount"),
            f"{st.amount} is outside the {low} to {high} {known.unit} of {name} where equipment and site are sound",
            "measure again, or replace what was measured",
        )
        return
    found[name] = value - shift
