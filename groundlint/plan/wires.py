"""What a plan says of its line's conductors: sizes, bundles, and data that it states in the place of the tables'.

What no conductor can have is refused: a geometric mean radius beyond the surface, less resistance than solid copper.
"""

from __future__ import annotations

from collections.abc import Callable
from math import pi
from typing import Any, Final

from groundlint.language import statements as s
from groundlint.language.nodes import Amount
from groundlint.plan.names import Names
from groundlint.values.units import ZERO_CELSIUS

BUNDLES: Final = (2, 3, 4)
"""Subconductors of a bundle: side by side, in a triangle, in a square."""
WIDEST_BUNDLE: Final = 1.0
"""Largest distance in m from one subconductor to the next: twice what is common (0.3 to 0.5 m; from memory)."""
HOTTEST: Final = 250.0
"""C; what ACSS is run at, at most (from memory). No conductor is hotter when a fault begins."""
COPPER: Final = 1.7241e-8
"""Resistivity in ohm m of annealed copper at 20 C, 100 % IACS (IEC 60028); its linear law ends at -234.5 C."""
COPPER_K0: Final = 234.5
LEAST_GMR: Final = 0.5
"""Of the radius, in wire of one metal that is not magnetic: three strands have 0.678, a solid wire 0.7788."""

Taking = Callable[[Amount | None, str, str], float | None]


def fields_of(wire: s.Wire, names: Names, positive: Taking) -> dict[str, Any] | None:
    """The fields of a `Conductor` that a wire of the plan states, in SI, temperature in C; None where it is refused.

    ``positive`` gives a quantity of a dimension above zero, by what it is called; None where it is refused or left
    open.
    """
    refused = len(names.diagnostics)
    if wire.bundle is not None and int(wire.bundle[:3]) not in BUNDLES:
        names.refuse(
            "bad-bundle",
            wire.bundle.span,
            f"a bundle of {wire.bundle} is not known; bundles are of 2, 3 or 4 subconductors",
            "write `2 x`, `3 x` or `4 x` before the size, and no number for one conductor",
        )
    if wire.apart is not None and wire.bundle is None:
        names.refuse(
            "bad-bundle",
            wire.apart.span,
            "one conductor has no subconductors that could be apart",
            "say how many there are, such as `2 x`, or take the distance out",
        )
    apart = positive(wire.apart, "length", "a distance")
    if apart is not None and wire.apart is not None and apart > WIDEST_BUNDLE:
        names.refuse(
            "bad-bundle",
            wire.apart.span,
            f"the subconductors of a bundle are not {wire.apart} apart",
            f"write the distance from one subconductor to the next, at most {WIDEST_BUNDLE:g} m",
        )
    diameter = positive(wire.diameter, "length", "a diameter")
    resistance = positive(wire.resistance, "resistance-per-length", "a resistance")
    kelvin = positive(wire.at, "temperature", "a temperature")
    gmr = positive(wire.gmr, "length", "a geometric mean radius")
    at = kelvin - ZERO_CELSIUS if kelvin is not None else None
    if at is not None and wire.at is not None and not -60 <= at <= HOTTEST:
        names.refuse(
            "impossible-wire", wire.at.span, f"no wire is at {wire.at}", f"write -60 C to {HOTTEST:g} C, such as 50 C"
        )
    if diameter is not None and gmr is not None and wire.gmr is not None:
        one_metal = wire.metal is not None and wire.metal not in ("acsr", "acss", "steel", "aluminum-clad steel")
        if gmr > diameter / 2:
            why = f"a geometric mean radius of {wire.gmr} is more than half of {wire.diameter}"
        elif one_metal and gmr < LEAST_GMR * diameter / 2:
            why = f"a geometric mean radius of {wire.gmr} is too small for {wire.metal} {wire.diameter} across"
        else:
            why = ""
        if why:
            names.refuse("impossible-wire", wire.gmr.span, why, "write both as the maker's table has them, with units")
    if diameter is not None and resistance is not None and at is not None and wire.resistance is not None:
        solid = COPPER * (COPPER_K0 + at) / (COPPER_K0 + 20) / (pi / 4 * diameter**2)
        if resistance < solid:
            names.refuse(
                "impossible-wire",
                wire.resistance.span,
                f"{wire.resistance} is less than solid copper of {wire.diameter} has",
                "write both as the maker's table has them, with units",
            )
    if len(names.diagnostics) > refused:
        return None
    return {
        "size": str(wire.size) if wire.size is not None else None,
        "metal": str(wire.metal) if wire.metal is not None else None,
        "stranding": str(wire.stranding) if wire.stranding is not None else None,
        "form": str(wire.form) if wire.form is not None else None,
        "bundle": int(wire.bundle) if wire.bundle is not None else 1,
        "apart": apart,
        "diameter": diameter,
        "resistance": resistance,
        "resistance_at": at,
        "gmr": gmr,
    }
