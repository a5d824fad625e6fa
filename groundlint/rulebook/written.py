"""The units that a plan writes its quantities in: messages say its values in its own words."""

from __future__ import annotations

from collections.abc import Iterable

from groundlint.values.units import Quantity, find_unit

_METRIC = {"ft": "m", "in": "m", "mi": "km", "kcmil": "mm2", "AWG": "mm2"}
"""The unit for who writes no other than metric ones."""
_NOT_METRIC = {"ft", "in", "mi", "kcmil", "cmil", "AWG"}


def _unit(quantity: Quantity) -> str:
    """The main spelling of a quantity's unit; feet for feet and inches, a gauge for a wire without unit."""
    word = quantity.text.lstrip("0123456789./ -\u2212")
    found = find_unit(word)
    return found.spelling if found is not None else "AWG" if quantity.dimension == "area" else "ft"


class Written:
    """How a plan writes quantities."""

    def __init__(self, stated: Iterable[Quantity]) -> None:
        self._words: dict[tuple[str, float], str] = {}
        units: dict[str, set[str]] = {}
        for one in stated:
            units.setdefault(one.dimension, set()).add(_unit(one))
            if one.si and one.dimension != "area":  # the size of a wire is no area to its reader
                self._words.setdefault((one.dimension, _key(one.si)), " ".join(one.text.split()))
        self._metric = {dimension for dimension, found in units.items() if not found & _NOT_METRIC}

    def exactly(self, si: float, dimension: str) -> str:
        """A value as the plan writes it; empty where it does not."""
        return self._words.get((dimension, _key(si)), "")

    def unit(self, unit: str, dimension: str) -> str:
        """The unit to say a value in: that given, or the metric one in its place for a plan that has no other."""
        return _METRIC.get(unit, unit) if dimension in self._metric else unit


def _key(si: float) -> float:
    """A value without what conversions leave behind."""
    return float(f"{si:.12g}")


__all__ = ["Written"]
