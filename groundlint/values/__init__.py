"""Values with three truths, quantities with units, and wire sizes."""

from groundlint.values.bounds import Bounds
from groundlint.values.truth import FALSE, TRUE, UNKNOWN, Gap, Truth, Unknown
from groundlint.values.units import Quantity, UnitProblem, parse_quantity

__all__ = ["FALSE", "TRUE", "UNKNOWN", "Bounds", "Gap", "Quantity", "Truth", "UnitProblem", "Unknown", "parse_quantity"]
