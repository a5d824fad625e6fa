"""Vertical rods in soil of two horizontal layers, alone or in groups, by image series and the method of moments.

Each rod is cut into segments that leak evenly, all at one potential. The potential of a point source in a two-layer
earth is a series of images in powers of K = (rho2 - rho1)/(rho2 + rho1) (Tagg, Earth Resistances; Sunde); averaged
over a segment it is closed form, so that no integral is taken numerically. One layer is K = 0. With one segment in
uniform soil this is Dwight's formula but for terms of order d/L; with more it is lower by 1 to 2 %, because the ends
leak more.
"""

from __future__ import annotations

import math
from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from typing import Final, NamedTuple

import numpy as np
from numpy.typing import ArrayLike

from groundlint.electrical.physics.constants import FloatArray, Real
from groundlint.values import Unknown

SERIES_REST: Final = 1e-7
"""The image series ends where K^n falls below this, or goes on as a sum over far images."""

FAR: Final = 40.0
"""Images this many times as far as anything of interest are summed as if all were straight below."""

NEAREST: Final = 0.01
FARTHEST: Final = 1e4
"""Distances in m between which a distance to keep is looked for."""

MOST_IMAGES: Final = 200_000
BLOCK: Final = 1 << 18
SEGMENTS: Final = 12
"""Segments a rod is cut into; a rod through both layers is cut at the boundary besides."""


class Soil(NamedTuple):
    """Two horizontal layers: `upper` ohm m down to `depth` m, `lower` below. `depth` None is one uniform layer."""

    upper: float
    lower: float
    depth: float | None

    @property
    def reflection(self) -> float:
        """K = (rho2 - rho1)/(rho2 + rho1); 0 for uniform soil."""
        return 0.0 if self.depth is None else (self.lower - self.upper) / (self.lower + self.upper)


def uniform(resistivity: float) -> Soil:
    """Soil of one resistivity, ohm m."""
    return Soil(resistivity, resistivity, None)


class Rod(NamedTuple):
    """A vertical rod: where it stands in m, how deep it reaches in m, its diameter in m."""

    x: float
    y: float
    depth: float
    diameter: float


@dataclass(frozen=True, slots=True)
class RodGroup:
    """Rods joined together, solved: `resistance` ohm, `share` of the current by rod, and the segments' currents for 1
    A."""

    soil: Soil
    resistance: float
    share: tuple[float, ...]
    _x: FloatArray
    _y: FloatArray
    _top: FloatArray
    _bottom: FloatArray
    _current: FloatArray

    def surface_potential(self, x: ArrayLike, y: ArrayLike) -> FloatArray:
        """Potential in V of the surface at points (x, y) in m for 1 A into the group; broadcasts."""
        px, py = np.broadcast_arrays(np.asarray(x, dtype=np.float64), np.asarray(y, dtype=np.float64))
        away = np.hypot(px[..., None] - self._x, py[..., None] - self._y)
        return np.asarray(_surface(self.soil, away, self._top, self._bottom) @ self._current)

    def surface_share(self, x: ArrayLike, y: ArrayLike) -> FloatArray:
        """Surface potential as a share of the rods' own; at most 1."""
        return np.asarray(np.minimum(self.surface_potential(x, y) / self.resistance, 1.0))

    def distance_to_keep(self, rise: float, limit: float, pace: float | None = 1.0) -> float:
        """Least distance in m from the middle of the group past which a voltage is at most `limit` V at a `rise` in V.

        The voltage is that of a step of `pace` m outward, or of the surface itself for None. The worst of 16
        directions, outside the circle around all rods. ``inf`` where no distance up to 10 km will do, and for a limit
        that is not positive.
        """
        x0, y0 = float(self._x.mean()), float(self._y.mean())
        edge = float(np.hypot(self._x - x0, self._y - y0).max()) + NEAREST
        angles = np.linspace(0, 2 * math.pi, 16, endpoint=False)

        def at(r: FloatArray) -> FloatArray:
            near = self.surface_share(x0 + r * np.cos(angles), y0 + r * np.sin(angles))
            if pace is None:
                return abs(rise) * near
            far = r + pace
            return abs(rise) * (near - self.surface_share(x0 + far * np.cos(angles), y0 + far * np.sin(angles)))

        if rise == 0:
            return edge
        low, high = np.full(16, edge), np.full(16, FARTHEST)
        if not limit > 0 or bool(np.any(at(high) > limit)):
            return math.inf
        for _ in range(50):
            middle = np.sqrt(low * high)
            above = at(middle) > limit
            low, high = np.where(above, middle, low), np.where(above, high, middle)
        return float(high.max())


def _inner(u: FloatArray, away: FloatArray) -> FloatArray:
    """Second antiderivative of 1/sqrt(u2 + r2) in u."""
    return np.asarray(u * np.arcsinh(u / away) - np.sqrt(u * u + away * away))


def _mean(source: tuple[FloatArray, FloatArray], seen: tuple[FloatArray, FloatArray], away: FloatArray) -> FloatArray:
    """Mean of 1/distance between points of two vertical segments at horizontal distance `away`, each (low, high)."""
    (a, b), (c, d) = source, seen
    total = _inner(d - a, away) - _inner(c - a, away) - _inner(d - b, away) + _inner(c - b, away)
    return np.asarray(total / ((b - a) * (d - c)))


def _images(soil: Soil, reach: float) -> int:
    """Number of images to sum one by one; what is left decays as K^n or lies far outside `reach` m, see `_tail`."""
    k, h = soil.reflection, soil.depth
    if h is None or k == 0:
        return 0
    decayed = math.inf if abs(k) >= 1 else math.log(SERIES_REST) / math.log(abs(k))
    return math.ceil(min(decayed, max(50.0, FAR * reach / (2 * h))))


def _tail(soil: Soil, images: int) -> float:
    """Sum over n past `images` of K^n/(2nh), 1/m: images so far away that their distance is 2nh."""
    k, h = soil.reflection, soil.depth
    if h is None or not 0 < abs(k) < 1:
        return 0.0
    n = np.arange(1, images + 1)
    return (-math.log1p(-k) - float((k**n / n).sum())) / (2 * h)


def _blocks(images: int, width: int) -> Iterator[FloatArray]:
    """Image numbers 1 to `images` in blocks [m] small enough for `width` values each."""
    size = max(1, BLOCK // max(1, width))
    for first in range(1, images + 1, size):
        yield np.arange(first, min(first + size, images + 1), dtype=np.float64)


def _matrix(soil: Soil, top: FloatArray, bottom: FloatArray, away: FloatArray) -> FloatArray:
    """Mean potential of segment i for 1 A out of segment j, ohm [n, n]."""
    sa, sb = top[None, :], bottom[None, :]
    oa, ob = top[:, None], bottom[:, None]

    def real(shift: Real, sign: float) -> FloatArray:
        """Mean with the source moved down by `shift`, or mirrored at the surface first (`sign` -1)."""
        low, high = (sa + shift, sb + shift) if sign > 0 else (shift - sb, shift - sa)
        return _mean((low, high), (oa, ob), away)

    four_pi = 4 * math.pi
    direct, mirrored = real(0.0, 1), real(0.0, -1)
    k, h = soil.reflection, soil.depth
    if h is None or k == 0:
        return np.asarray(soil.upper / four_pi * (direct + mirrored))
    middle = (top + bottom) / 2
    s_up, o_up = (middle <= h)[None, :], (middle <= h)[:, None]
    both_up, both_down = s_up & o_up, ~s_up & ~o_up
    upper = direct + mirrored
    cross = direct + mirrored
    lower = direct - k * real(2 * h, -1) + (1 - k * k) * mirrored
    reach = max(float(bottom.max()), float(away.max()))
    images = _images(soil, reach)
    for numbers in _blocks(images, away.size):
        n = numbers[:, None, None]
        power, far = k**n, 2 * n * h
        # Source images at depths far -/+ s and, above the surface, their mirror images.
        below, above_mirror = real(far, 1), real(-far, -1)
        above, below_mirror = real(-far, 1), real(far, -1)
        upper = upper + (power * (below + below_mirror + above + above_mirror)).sum(axis=0)
        # Across the boundary the path from the deeper to the shallower end lengthens by 2nh, whichever is the source.
        down = np.where(s_up, above, below)
        cross = cross + (power * (down + above_mirror)).sum(axis=0)
        lower = lower + (1 - k * k) * (power * above_mirror).sum(axis=0)
    rest = _tail(soil, images)
    upper, cross, lower = upper + 4 * rest, cross + 2 * rest, lower + (1 - k * k) * rest
    value = np.where(
        both_up,
        soil.upper * upper,
        np.where(both_down, soil.lower * lower, soil.upper * (1 + k) * cross),
    )
    return np.asarray(value / four_pi)


def _surface(soil: Soil, away: FloatArray, top: FloatArray, bottom: FloatArray) -> FloatArray:
    """Potential at the surface, at horizontal distances [..., n], for 1 A out of each of n segments."""
    tiny = np.maximum(away, 1e-6)

    def line(shift: Real, sign: float) -> FloatArray:
        low, high = (top + shift, bottom + shift) if sign > 0 else (shift - bottom, shift - top)
        return np.asarray((np.arcsinh(high / tiny) - np.arcsinh(low / tiny)) / (bottom - top))

    four_pi = 4 * math.pi
    k, h = soil.reflection, soil.depth
    base = 2 * line(0.0, 1)
    if h is None or k == 0:
        return np.asarray(soil.upper / four_pi * base)
    up = (top + bottom) / 2 <= h
    upper, lower = base, base
    images = min(_images(soil, max(float(bottom.max()), float(away.max(initial=0.0)))), MOST_IMAGES)
    for numbers in _blocks(images, tiny.size):
        n = numbers.reshape(-1, *([1] * tiny.ndim))
        below, mirror = line(2 * n * h, 1), line(2 * n * h, -1)
        upper = upper + (k**n * 2 * (below + mirror)).sum(axis=0)
        lower = lower + (k**n * 2 * below).sum(axis=0)
    rest = _tail(soil, images)
    upper, lower = upper + 4 * rest, lower + 2 * rest
    return np.asarray(np.where(up, soil.upper * upper, soil.upper * (1 + k) * lower) / four_pi)


def rods(group: Sequence[Rod], soil: Soil, segments: int = SEGMENTS) -> RodGroup | Unknown:
    """Resistance of rods joined together, in soil of one or two layers.

    `Unknown` for no rods, sizes or resistivities that are not positive numbers, and rods that touch.
    """
    numbers = [soil.upper, soil.lower, *(value for rod in group for value in (rod.depth, rod.diameter))]
    if soil.depth is not None:
        numbers.append(soil.depth)
    if not group or not all(0 < value < math.inf for value in numbers):
        return Unknown.of("soil resistivity, and depth and diameter of each rod", "soil 120 ohm m")
    for i, one in enumerate(group):
        for other in group[:i]:
            if math.hypot(one.x - other.x, one.y - other.y) <= (one.diameter + other.diameter) / 2:
                return Unknown.of("distance between rods", "rods one rod length apart")
    x, y, top, bottom, radius, owner = [], [], [], [], [], []
    for index, rod in enumerate(group):
        for upper, lower in _cut(rod.depth, soil.depth, segments):
            x.append(rod.x)
            y.append(rod.y)
            top.append(upper)
            bottom.append(lower)
            radius.append(rod.diameter / 2)
            owner.append(index)
    xs, ys, a, b = np.array(x), np.array(y), np.array(top), np.array(bottom)
    who = np.array(owner)
    apart = np.hypot(xs[:, None] - xs[None, :], ys[:, None] - ys[None, :])
    away = np.where(who[:, None] == who[None, :], np.array(radius)[None, :], apart)
    if _images(soil, max(float(b.max()), float(away.max()))) > MOST_IMAGES:
        return Unknown.of("an upper layer of soil that is thick enough to matter", "soil of one layer")
    matrix = _matrix(soil, a, b, away)
    # Reciprocity holds for the exact potential; the mean over both removes what rounding leaves.
    current = np.linalg.solve((matrix + matrix.T) / 2, np.ones(len(a)))
    total = float(current.sum())
    if not (math.isfinite(total) and total > 0):
        return Unknown.of("an arrangement of rods that can be solved", "rods one rod length apart")
    share = tuple(float(current[who == index].sum()) / total for index in range(len(group)))
    return RodGroup(soil, 1 / total, share, xs, ys, a, b, np.asarray(current / total))


def _cut(depth: float, boundary: float | None, segments: int) -> list[tuple[float, float]]:
    """Segments (top, bottom) of a rod, cut at the boundary of layers if it reaches so far."""
    parts = [(0.0, depth)] if boundary is None or boundary >= depth else [(0.0, boundary), (boundary, depth)]
    cut: list[tuple[float, float]] = []
    for low, high in parts:
        count = max(1, round(segments * (high - low) / depth))
        edges = np.linspace(low, high, count + 1)
        cut.extend((float(edges[i]), float(edges[i + 1])) for i in range(count))
    return cut
