"""The equations behind results, in symbols and words, each with its source and how well that is known.

A calculation record names them beside every value, so that whoever signs beside it can work any of them again by hand.
"""

from __future__ import annotations

from typing import Final, NamedTuple

from groundlint.electrical.physics.body import CRITERIA
from groundlint.electrical.physics.earth import DWIGHT
from groundlint.electrical.physics.f855 import TABLE_1, TABLE_2
from groundlint.electrical.physics.leads import UFC
from groundlint.electrical.physics.protection import CURVES
from groundlint.electrical.physics.provenance import HowKnown, Provenance


class Equation(NamedTuple):
    """How a kind of result is found: `name` is what results refer to, `symbols` the equation, `words` what stands in
    it."""

    name: str
    symbols: str
    words: str
    source: Provenance


_NETWORK: Final = Provenance(
    "Kirchhoff's laws, Thevenin's theorem, symmetrical components (Fortescue 1918, from memory)",
    HowKnown.DERIVED,
    "line impedance by Carson 1926, modified; held against other programs in the tests",
)
_STEP: Final = Provenance("IEEE 80-2000 Eq 29 with Eq 27, surface potential of a rod by Dwight", HowKnown.RECOMPUTES)
_EQUATIONS: Final = (
    Equation(
        "source-equivalent",
        "Z1 = V/(sqrt3 I3), angle atan(X/R); Z0 = 3 V/(sqrt3 I1) - 2 Z1 at that angle",
        "V between phases, I3 three-phase and I1 phase-to-ground fault current; behind a stated impedance, that",
        Provenance("symmetrical components (Fortescue 1918, from memory)", HowKnown.DERIVED),
    ),
    Equation(
        "fault-current",
        "(Zc + Zs) I = E",
        "Zc the circuit of line, leads, rods and poles as joined at that step, seen from the source's terminals, Zs "
        "the source; all three phases, each alone and each pair; the largest current in the lead; rms, symmetrical",
        _NETWORK,
    ),
    Equation(
        "decrement",
        "Id = I sqrt(1 + Ta/t (1 - exp(-2 t/Ta))), Ta = (X/R)/(2 pi f)",
        "rms over the clearing time t of a fully offset current; 1 for a current that nothing ends, and for H grades, "
        "whose tests have the offset in them",
        Provenance("IEEE 80-2000 Eq 79", HowKnown.RECOMPUTES),
    ),
    Equation(
        "first-peak",
        "Ip = sqrt2 I (1 + exp(-pi/(X/R)))",
        "first peak of a fully offset current",
        Provenance("textbook form; the peaks of ASTM F855 Table 2 recompute by it", HowKnown.RECOMPUTES),
    ),
    Equation(
        "heat",
        "I2t = Id^2 t",
        "Id with the decrement factor, t the clearing time",
        Provenance("definition", HowKnown.DERIVED),
    ),
    Equation(
        "lead-rating",
        "the lower of grade and cable, withstand at the clearing time",
        "between printed durations by the smaller I2t; for a current that nothing ends the continuous rating; "
        f"leads that share, 10 % less ({UFC.source})",
        Provenance(f"{TABLE_1.source}; {TABLE_2.source}", TABLE_1.how, "Table 2 for H grades"),
    ),
    Equation(
        "loading",
        "Id over rating",
        "over 1 the lead may melt; the margin is its inverse, the least over the ways of returning, each with its own "
        "time; the duty and the rating beside it are of the way with the largest duty or, where a duty is or may be "
        "more than is rated, of that way",
        Provenance("definition", HowKnown.DERIVED),
    ),
    Equation(
        "final-temperature",
        "T = (K0 + Ta) exp(Id^2 t/(A^2 h)) - K0",
        "without loss of heat, from Ta 40 C; h and K0 of annealed copper; no more than the melting point, 1083 C",
        Provenance("IEEE 80-2000 Eq 37 solved for T, Table 1", HowKnown.RECOMPUTES),
    ),
    Equation(
        "lead-needed",
        "the smallest size of which the table's withstand is at least Id",
        "a single copper lead in its own grade, not under 2 AWG",
        TABLE_1,
    ),
    Equation(
        "rod-resistance",
        "R = rho/(2 pi L) (ln(8 L/d) - 1)",
        "L the depth as set, d the diameter; two layers of soil by images",
        DWIGHT,
    ),
    Equation(
        "rod-rise",
        "V = Df R I",
        "of the network as joined at that step; over remote earth; Df the decrement factor (IEEE 80-2013 15.10)",
        _NETWORK,
    ),
    Equation(
        "distance-to-keep",
        "step(x) = V (u(x) - u(x + 1 m)) <= (1000 + 6 Cs rho) 0.116/sqrt(t), u(x) = asinh(L/x)/(ln(8 L/d) - 1)",
        "past it a step of 1 m is within the limit for 50 kg; Cs of the stated surface layer, 1 without one",
        _STEP,
    ),
    Equation(
        "exposure",
        "V = Df |Va - Vb|, the largest over the pairs in reach and the ways of returning",
        "open circuit: the worker's own current is not taken off; hand to hand, and hand to what one stands on unless "
        "that is an insulated lift; Df the decrement factor (IEEE 80-2013 15.10); the margin is the least over "
        "the ways of returning, each with its own time",
        _NETWORK,
    ),
    Equation(
        "body-current",
        "Ib = V/Rb",
        "Rb of the limit's own source, 1000 ohm, or 500 ohm for that of Appendix C; no credit for gloves, boots or the "
        "circuit behind V",
        Provenance("IEEE 80-2000 8.1; 29 CFR 1910.269 Appendix C (from memory)", HowKnown.SEEN),
    ),
    Equation(
        "induced-current",
        "(Zc + Rb) Ib = E by magnetic plus E by electric coupling",
        "the two added as if in phase; Rb from the assumptions, or as measured; held against limits for currents that "
        "last",
        _NETWORK,
    ),
    Equation(
        "least-fault",
        "the smallest I over the ways of returning, as a share of the bolted current of the same kind",
        "with workers in place, or, where none ever are, with the most leads on",
        _NETWORK,
    ),
    Equation(
        "pickup-multiple",
        "M = I/pickup",
        "under 1 the device does not trip; its time is not assured under about 1.5 (from memory)",
        Provenance("definition", HowKnown.DERIVED),
    ),
    Equation(
        "clearing-time",
        "t = dial (a/(M^p - 1) + b) + breaker time",
        "a, b and p of the stated curve; M no more than 20",
        Provenance(
            "; ".join(dict.fromkeys(curve.source.source for curve in CURVES.values())),
            HowKnown.SEEN,
            "constants seen, times derived",
        ),
    ),
    Equation(
        "stated-time",
        "t as the plan states it",
        "for any current; a source that is stated never to clear lasts without end",
        Provenance("the plan", HowKnown.SEEN),
    ),
    Equation(
        "slower",
        "t through the grounds less t of the bolted fault of the same kind",
        "29 CFR 1910.269(n)(4)(iii) asks that the grounds do not delay the device",
        Provenance("definition", HowKnown.DERIVED),
    ),
    *(
        Equation(
            row.name,
            row.meaning,
            "for a current of any duration"
            if row.steady
            else f"given for {row.shortest:g} s to {row.longest:g} s; a current without end is held against let-go",
            row.source,
        )
        for row in CRITERIA.values()
    ),
)
EQUATIONS: Final[dict[str, Equation]] = {row.name: row for row in _EQUATIONS}
"""Every equation by name: those of results, and the criteria that a body is held against."""
