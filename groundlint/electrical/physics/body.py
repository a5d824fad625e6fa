"""What a body can stand: fibrillation, let-go and reaction limits, voltage criteria, and body resistance.

Currents in A, voltages in V, times in s, resistances in ohm. A limit outside the durations for which its source gives
it is `Unknown`; the array form gives such elements a limit of zero, which nothing but zero meets, and says which they
are.
"""

from __future__ import annotations

import math
from typing import Final, Literal, NamedTuple

import numpy as np
from numpy.typing import ArrayLike

from groundlint.electrical.physics.constants import BoolArray, FloatArray
from groundlint.electrical.physics.provenance import HowKnown, Provenance
from groundlint.values import Unknown

Quantity = Literal["current", "voltage"]


class Criterion(NamedTuple):
    """A limit on what a worker may be exposed to, as a setting names it.

    `points` are (duration s, limit) that hold at those durations: `law` says how the limit runs between them:
    ``root`` is limit/sqrt(t) with a single constant, ``loglog`` a straight line on logarithmic axes, ``steps`` the
    limit of the next longer duration. `shortest` and `longest` bound the durations for which the source gives it.
    `body` is the resistance in ohm of the body that the source holds a current against.
    """

    name: str
    quantity: Quantity
    law: Literal["root", "loglog", "steps"]
    points: tuple[tuple[float, float], ...]
    shortest: float
    longest: float
    meaning: str
    source: Provenance
    steady: bool = False
    body: float = 1000.0


_IEEE_80: Final = Provenance("IEEE 80-2000 clause 6.1 (Dalziel)", HowKnown.RECOMPUTES)
CRITERIA: Final[dict[str, Criterion]] = {
    row.name: row
    for row in (
        Criterion(
            "dalziel-50kg",
            "current",
            "root",
            ((1.0, 0.116),),
            0.03,
            3.0,
            "no fibrillation in 99.5 % of persons of 50 kg: 0.116/sqrt(t)",
            _IEEE_80,
        ),
        Criterion(
            "dalziel-70kg",
            "current",
            "root",
            ((1.0, 0.157),),
            0.03,
            3.0,
            "no fibrillation in 99.5 % of persons of 70 kg: 0.157/sqrt(t)",
            _IEEE_80,
        ),
        Criterion(
            "osha-fibrillation",
            "current",
            "root",
            ((1.0, 0.116),),
            0.0083,
            3.0,
            "no fibrillation in 95.5 % of adults of 50 kg or more: 0.116/sqrt(t)",
            Provenance("29 CFR 1910.269 Appendix C III (2014 rule), after IEEE 1048", HowKnown.MEMORY),
            body=500.0,
        ),
        Criterion(
            "iec-c1",
            "current",
            "loglog",
            ((0.01, 0.5), (0.1, 0.4), (1.0, 0.05), (3.0, 0.04)),
            0.01,
            10.0,
            "left hand to both feet, below curve c1: fibrillation unlikely",
            Provenance(
                "IEC 60479-1 Figure 20 curve c1",
                HowKnown.APPROXIMATE,
                "straight between four points on logarithmic axes, constant from 3 s to 10 s",
            ),
        ),
        Criterion(
            "doe-voltage",
            "voltage",
            "steps",
            ((0.25, 100.0), (0.5, 75.0)),
            0.0,
            0.5,
            "across the work area, 100 V for 15 cycles, 75 V for 30 cycles",
            Provenance("DOE-HDBK-1092-2004 4.15.2(3)c", HowKnown.SEEN),
        ),
        Criterion(
            "let-go-men",
            "current",
            "steps",
            ((math.inf, 0.009),),
            0.0,
            math.inf,
            "99 % of men can let go",
            Provenance("Dalziel and Lee, review of let-go currents", HowKnown.SEEN),
            steady=True,
        ),
        Criterion(
            "let-go-women",
            "current",
            "steps",
            ((math.inf, 0.006),),
            0.0,
            math.inf,
            "99 % of women can let go",
            Provenance("Dalziel, as cited in secondary texts", HowKnown.SEEN),
            steady=True,
        ),
        Criterion(
            "let-go-public",
            "current",
            "steps",
            ((math.inf, 0.005),),
            0.0,
            math.inf,
            "safety level for the public, with children",
            Provenance("Dalziel and Lee, review of let-go currents", HowKnown.SEEN),
            steady=True,
        ),
        Criterion(
            "osha-protected",
            "current",
            "steps",
            ((math.inf, 0.006),),
            0.0,
            math.inf,
            "where a worker is protected from the effects of an involuntary reaction, any duration",
            Provenance("29 CFR 1910.269 Appendix C (2014 rule)", HowKnown.MEMORY),
            steady=True,
            body=500.0,
        ),
        Criterion(
            "osha-reaction",
            "current",
            "steps",
            ((math.inf, 0.001),),
            0.0,
            math.inf,
            "where a worker is not protected from the effects of an involuntary reaction",
            Provenance("29 CFR 1910.269 Appendix C (2014 rule)", HowKnown.MEMORY),
            steady=True,
            body=500.0,
        ),
    )
}
"""Limits by the name a book's setting gives them. `steady` ones are for currents that last, such as induction."""


def limits(criterion: Criterion, durations: ArrayLike) -> tuple[FloatArray, BoolArray]:
    """Limit in A or V for each duration in s, and where the source gives one; elsewhere the limit is zero.

    An unlimited duration (``inf``) is known for steady criteria only.
    """
    t = np.asarray(durations, dtype=np.float64)
    # A duration computed from cycles may miss the edge of a range by rounding.
    slack = 1e-9
    with np.errstate(invalid="ignore"):
        known = (t > 0) & (t >= criterion.shortest * (1 - slack)) & (t <= criterion.longest * (1 + slack))
    inside = np.where(known, t, 1.0)
    times = np.array([point[0] for point in criterion.points])
    values = np.array([point[1] for point in criterion.points])
    if criterion.law == "root":
        limit = values[0] / np.sqrt(inside)
    elif criterion.law == "loglog":
        limit = np.exp(np.interp(np.log(inside), np.log(times), np.log(values)))
    else:
        row = np.searchsorted(times * (1 + slack), inside)
        limit = values[np.minimum(row, len(values) - 1)]
    return np.asarray(np.where(known, limit, 0.0)), np.asarray(known)


def limit(criterion: Criterion, duration: float) -> float | Unknown:
    """Limit in A or V for one duration in s; `Unknown` outside the durations of the source."""
    values, known = limits(criterion, duration)
    if bool(known):
        return float(values)
    span = f"{criterion.shortest:g} s to {criterion.longest:g} s"
    return Unknown.of(
        f"limit {criterion.name} at {duration:g} s, given for {span}", "a clearing time within that range"
    )


DESIGN_RESISTANCE: Final = 1000.0
"""Hand to hand, hand to feet, foot to foot; IEEE 80-2000 8.1 (seen)."""
