"""Dimensions of quantities in rules, so that feet are never held against kiloamperes.

A dimension is a product of powers of base dimensions. Those with a name in `NAMED` multiply out of metre, kilogram,
second and ampere; a name that is not there is a base of its own, so that it agrees with nothing else.
"""

from __future__ import annotations

from typing import TypeAlias

Powers: TypeAlias = tuple[tuple[str, int], ...]
"""Bases with their exponents, none of them zero, sorted by base."""

NUMBER: Powers = ()


def _powers(**exponents: int) -> Powers:
    return tuple(sorted((base, power) for base, power in exponents.items() if power))


NAMED: dict[str, Powers] = {
    "number": NUMBER,
    "length": _powers(m=1),
    "area": _powers(m=2),
    "volume": _powers(m=3),
    "mass": _powers(kg=1),
    "time": _powers(s=1),
    "frequency": _powers(s=-1),
    "speed": _powers(m=1, s=-1),
    "force": _powers(kg=1, m=1, s=-2),
    "energy": _powers(kg=1, m=2, s=-2),
    "power": _powers(kg=1, m=2, s=-3),
    "current": _powers(A=1),
    "heat": _powers(A=2, s=1),
    "charge": _powers(A=1, s=1),
    "voltage": _powers(kg=1, m=2, s=-3, A=-1),
    "resistance": _powers(kg=1, m=2, s=-3, A=-2),
    "resistivity": _powers(kg=1, m=3, s=-3, A=-2),
    "resistance-per-length": _powers(kg=1, m=1, s=-3, A=-2),
    "inductance": _powers(kg=1, m=2, s=-2, A=-2),
    "capacitance": _powers(kg=-1, m=-2, s=4, A=2),
}


def powers(dimension: str) -> Powers:
    """The powers that a dimension's name stands for."""
    return NAMED.get(dimension, ((dimension, 1),))


def product(left: Powers, right: Powers, sign: int = 1) -> Powers:
    """Powers of a product, or of a quotient with ``sign`` -1."""
    found = dict(left)
    for base, power in right:
        found[base] = found.get(base, 0) + sign * power
    return tuple(sorted((base, power) for base, power in found.items() if power))


def name(dimension: Powers) -> str:
    """How to call it in a message: its name where it has one, else its bases."""
    for known, value in NAMED.items():
        if value == dimension:
            return "a bare number" if known == "number" else f"a {known}".replace("a a", "an a").replace("a e", "an e")
    return " ".join(base if power == 1 else f"{base}^{power}" for base, power in dimension)
