"""Exact factors to SI, physical constants, and the array types of the electrical stage."""

from __future__ import annotations

import math
from typing import Final

import numpy as np
from numpy.typing import NDArray

FloatArray = NDArray[np.float64]
BoolArray = NDArray[np.bool_]
ComplexArray = NDArray[np.complex128]
Real = float | FloatArray
"""A number or an array of numbers: functions that take `Real` broadcast."""

FOOT: Final = 0.3048
INCH: Final = 0.0254
MILE: Final = 1609.344
MM2: Final = 1e-6
CMIL: Final = math.pi / 4 * (0.001 * INCH) ** 2
"""One circular mil in m2: the area of a circle of 0.001 in diameter."""

KCMIL: Final = 1000 * CMIL
MU_0: Final = 4e-7 * math.pi
"""Permeability of free space, H/m (the value before 2019; the change is 5e-10)."""

EPSILON_0: Final = 8.8541878128e-12
"""Permittivity of free space, F/m."""

RHO_COPPER_20: Final = 1.7241e-8
"""Resistivity of annealed copper at 20 C, ohm m: 100 % IACS (17.241 ohm mm2/km)."""
