"""The multigrounded neutral beyond the route that is modelled, as one impedance to remote earth.

The neutral is a ladder: spans of series impedance, and at each pole a ground. Its impedance follows from writing that
one more section changes nothing. Mutual impedance to the phase conductors is left out: the equivalent stands for the
neutral where the phases carry no fault current, as beyond the fault.
"""

from __future__ import annotations

import cmath

from groundlint.electrical.solver.network import NotSolvable


def ladder_infinite(z_span: complex, z_ground: complex) -> complex | NotSolvable:
    """Impedance (ohm) into an endless ladder that begins with a span of `z_span`, then a ground of `z_ground`, and so
    on.

    The passive root of Z = z_span + z_ground Z / (z_ground + Z), that is z_span/2 + sqrt(z_span^2/4 + z_span z_ground).
    Both are needed passive (resistance not negative) and `z_ground` not zero.
    """
    if (problem := _check(z_span, z_ground)) is not None:
        return problem
    root = cmath.sqrt(z_span * z_span / 4 + z_span * z_ground)
    # Of the two roots only one is the limit of finite ladders: the one whose reflected wave dies out.
    first, second = z_span / 2 + root, z_span / 2 - root
    return first if abs(first + z_ground) >= abs(second + z_ground) else second


def _check(z_span: complex, z_ground: complex) -> NotSolvable | None:
    if not (cmath.isfinite(z_span) and cmath.isfinite(z_ground)):
        return NotSolvable("an impedance of the ladder is not a finite number")
    if z_span.real < 0 or z_ground.real < 0 or z_ground == 0:
        return NotSolvable("an impedance of the ladder is not passive, or a ground of it is zero")
    return None
