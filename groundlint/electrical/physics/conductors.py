"""Bare overhead conductors by size and kind: resistance at a temperature, GMR, diameter, area, each with its source.

`find_conductor` reads a designation as the trade writes it (``336.4 kcmil acsr``, ``4/0 acsr``, ``2/0 copper``,
``95 mm2 copper``, ``266.8 26/7 acsr``, ``3/8 in steel``). What is not in the tables is an `Unknown` that names the
nearest size, never an exception.
"""

from __future__ import annotations

import math
import re
from fractions import Fraction
from functools import cache
from typing import Final, NamedTuple

from groundlint.electrical.physics import conductor_data as data
from groundlint.electrical.physics.constants import FOOT, INCH, KCMIL, MILE, MM2, RHO_COPPER_20, Real
from groundlint.electrical.physics.provenance import HowKnown, Provenance
from groundlint.values import Unknown


class Metal(NamedTuple):
    """A conductor metal: resistivity at 20 C (ohm m) and the temperature K0 (C) of its linear resistance law."""

    name: str
    resistivity_20: float
    k0: float
    source: Provenance


_IEEE_80: Final = Provenance("IEEE 80-2000 Table 1", HowKnown.RECOMPUTES)
METALS: Final[dict[str, Metal]] = {
    metal.name: metal
    for metal in (
        Metal("copper", RHO_COPPER_20 / 0.973, 241.5, Provenance("97.3 % IACS hard-drawn copper", HowKnown.SEEN)),
        Metal("soft copper", RHO_COPPER_20, 234.5, Provenance("100 % IACS annealed copper", HowKnown.SEEN)),
        Metal("aluminium", RHO_COPPER_20 / 0.612, 228.0, Provenance("61.2 % IACS aluminium 1350-H19", HowKnown.SEEN)),
        Metal("acsr", RHO_COPPER_20 / 0.612, 228.0, Provenance("61.2 % IACS aluminium 1350-H19", HowKnown.SEEN)),
        Metal("acss", RHO_COPPER_20 / 0.63, 228.0, Provenance("63 % IACS aluminium 1350-O", HowKnown.MEMORY)),
        Metal("aluminium alloy", RHO_COPPER_20 / 0.525, 268.0, _IEEE_80),
        Metal("aluminium-clad steel", 8.48e-8, 258.0, _IEEE_80),
        Metal("steel", 20.1e-8, 293.0, _IEEE_80),
    )
}
LAY: Final = 1.02
"""Extra length of the strands of a concentric-lay conductor: 2 %, the allowance of NEC Chapter 9 Table 8."""

REFERENCE_C: Final = 50.0
"""Temperature at which the AWG and kcmil tables print resistance."""

STATED: Final = Provenance("stated in the plan", HowKnown.SEEN)

_STEEL_LOG_GMR: Final = -7.5
"""ln(GMR/radius) of steel strand: -mu_r/4 at mu_r = 30. Its internal inductance changes with current; approximate."""

_CLAD_LOG_GMR: Final = -2.04
"""ln(GMR/radius) of aluminium-clad steel strand, from a tabled 0.0021 ft for 7 no 8; from memory, approximate."""


class ByCurrent(NamedTuple):
    """What a magnetic wire may have at any current: resistance as a share of that of the tables, ln(GMR/radius)."""

    resistance: tuple[float, float]
    log_gmr: tuple[float, float]


BY_CURRENT: Final = {
    # 7/16 and 3/8 in: 0.8 of EHS class A at little current with a heavier coat of zinc, 1.16 at 100 A (EPRI,
    # Transmission Line Reference Book 345 kV and Above, 2nd edition, as printed in Short, Electric Power Distribution
    # Handbook, Table 2.5; seen); the high end leaves room for more current, and permeability lies anywhere from none,
    # as in a fault that saturates it, to 200 (common practice, no source).
    "steel": ByCurrent((0.8, 1.4), (-50.0, -0.25)),
    # common practice, no source: from a wire that is not magnetic to twice the internal inductance of the tables
    "aluminium-clad steel": ByCurrent((0.95, 1.2), (-4.0, -0.25)),
}
"""Wires that change with the current, by metal."""

_SINGLE_LAYER_ACSR: Final = 0.35
"""GMR/radius of 6/1 ACSR, 0.27 to 0.48 in the AWG rows: one aluminium layer magnetises the core."""


class Conductor(NamedTuple):
    """A bare conductor. `area` is the conducting area in m2 (aluminium alone in ACSR), `diameter` and `gmr` in m,
    `resistance_ref` in ohm/m at `reference_c`."""

    designation: str
    metal: str
    size: str
    stranding: str
    area: float
    diameter: float
    gmr: float
    resistance_ref: float
    reference_c: float
    k0: float
    source: Provenance

    @property
    def radius(self) -> float:
        """Outer radius, m."""
        return self.diameter / 2

    def resistance(self, temperature_c: Real) -> Real:
        """Resistance in ohm/m at a temperature in C, by R2 = R1 (K0 + T2)/(K0 + T1); broadcasts."""
        return self.resistance_ref * (self.k0 + temperature_c) / (self.k0 + self.reference_c)


def stated(
    tabled: Conductor | None,
    size: str,
    word: str,
    diameter: float | None,
    resistance: float | None,
    at: float | None,
    gmr: float | None,
) -> Conductor | None:
    """The conductor of the tables with what a plan states in the place of its own: `diameter` and `gmr` in m,
    `resistance` in ohm/m `at` C; all of them where the tables have none. `word` is a metal of `METAL_WORDS`.

    Resistance changes with temperature as its metal's does. None where something is left out, and where the GMR lies
    outside the diameter.
    """
    metal = METALS[METAL_WORDS[word]]
    if tabled is None:
        if diameter is None or resistance is None or at is None or gmr is None:
            return None
        area = metal.resistivity_20 * LAY * (metal.k0 + at) / (metal.k0 + 20) / resistance
        name = _designation(size, "named", word, "")
        return Conductor(name, metal.name, size, "", area, diameter, gmr, resistance, at, metal.k0, STATED)
    made = tabled
    if diameter is not None:
        made = made._replace(diameter=diameter, source=STATED)
    if resistance is not None and at is not None:
        made = made._replace(resistance_ref=resistance, reference_c=at, source=STATED)
    if gmr is not None:
        made = made._replace(gmr=gmr, source=STATED)
    return made if made.gmr <= made.radius else None


def at_any_current(one: Conductor) -> tuple[Conductor, ...]:
    """A magnetic wire as it is at little current and at much, after that of the tables; any other alone."""
    spread = BY_CURRENT.get(one.metal)
    if spread is None:
        return (one,)
    ends = zip(spread.resistance, reversed(spread.log_gmr), strict=True)
    return (
        one,
        *(
            one._replace(resistance_ref=one.resistance_ref * ohms, gmr=one.radius * math.exp(log_gmr))
            for ohms, log_gmr in ends
        ),
    )


def strand_across(word: str, diameter: float) -> Conductor | None:
    """The wire of steel or aluminium-clad steel of the tables that is so many m across, or is called so, within 2 %."""
    metal = METAL_WORDS.get(word)
    for unit, one, _ in _table() if metal in BY_CURRENT else ():
        called = float(Fraction(one.size)) * INCH if unit == "in" else one.diameter
        if one.metal == metal and min(abs(called / diameter - 1), abs(one.diameter / diameter - 1)) < 0.02:
            return one
    return None


def bundled(one: Conductor, count: int, apart: float) -> Conductor:
    """One conductor in the place of a bundle of `count`, `apart` m from each to the next in a regular polygon.

    The current is shared alike. Radius and GMR are (n r R^(n-1))^(1/n) with R the radius of the circle through the
    subconductors: of two the root of r d, of three the cube root of r d2, of four 1.09 (r d3)^(1/4) (Grainger and
    Stevenson, Power System Analysis, 1994, equations 4.53 to 4.55 and 5.13; from memory).
    """
    circle = apart / (2 * math.sin(math.pi / count))

    def mean(radius: float) -> float:
        return float((count * radius * circle ** (count - 1)) ** (1 / count))

    return one._replace(
        designation=f"{count} x {one.designation}",
        area=count * one.area,
        diameter=2 * mean(one.radius),
        gmr=mean(one.gmr),
        resistance_ref=one.resistance_ref / count,
    )


def awg_area(gauge: int) -> float:
    """Area in m2 of an AWG size; 1/0 is 0, 2/0 is -1, 4/0 is -3. Diameter is 0.005 in x 92^((36 - n)/39) (ASTM
    B258)."""
    return math.pi / 4 * (float(0.005 * 92.0 ** ((36 - gauge) / 39)) * INCH) ** 2


def size_area(size: str) -> float:
    """Area in m2 of a size as the tables write it: ``4``, ``2/0`` are AWG, larger numbers are kcmil."""
    if size.endswith("/0"):
        return awg_area(1 - int(size[:-2]))
    number = float(size)
    return awg_area(int(number)) if number < 20 else number * KCMIL


_UNITS_OF_SIZE: Final = {"awg": " AWG", "kcmil": " kcmil", "mm2": " mm2", "in": " in", "named": ""}


def _designation(size: str, unit: str, metal: str, stranding: str) -> str:
    unit_text = "" if size.endswith("/0") and unit == "awg" else _UNITS_OF_SIZE[unit]
    return f"{size}{unit_text} {metal} {stranding}".strip()


def _imperial(metal: str, rows: tuple[data.ImperialRow, ...]) -> list[tuple[str, Conductor, str]]:
    made = []
    for size, stranding, diameter, gmr, ohm, word in rows:
        unit = "awg" if size.endswith("/0") or float(size) < 20 else "kcmil"
        how = data.BETTER_KNOWN.get((metal, f"{size} {stranding}"), HowKnown.MEMORY)
        made.append(
            (
                unit,
                Conductor(
                    _designation(size, unit, metal, stranding),
                    metal,
                    size,
                    stranding,
                    size_area(size),
                    diameter * INCH,
                    gmr * FOOT,
                    ohm / MILE,
                    REFERENCE_C,
                    METALS[metal].k0,
                    data.KERSTING._replace(how=how),
                ),
                word,
            )
        )
    return made


def _from_strands(
    metal: str, size: str, unit: str, stranding: str, area: float, diameter: float, source: Provenance
) -> Conductor:
    """A conductor whose resistance follows from metal and strand area, and whose GMR from its stranding."""
    kind = METALS[metal]
    magnetic = {"steel": _STEEL_LOG_GMR, "aluminium-clad steel": _CLAD_LOG_GMR}
    share = math.exp(magnetic[metal]) if metal in magnetic else data.GMR_SHARE[stranding]
    return Conductor(
        _designation(size, unit, metal, stranding),
        metal,
        size,
        stranding,
        area,
        diameter,
        share * diameter / 2,
        kind.resistivity_20 / area * LAY,
        20.0,
        kind.k0,
        source,
    )


_ENVELOPE: Final = {3: 2.1547, 7: 3.0, 19: 5.0, 37: 7.0, 61: 9.0}
"""Outer diameter of a concentric strand in strand diameters."""


@cache
def _table() -> tuple[tuple[str, Conductor, str], ...]:
    """Every conductor with the unit of its size and its code word; of several strandings of a size the usual one comes
    first."""
    rows = _imperial("acsr", data.ACSR) + _imperial("copper", data.COPPER) + _imperial("aluminium", data.ALUMINIUM)
    soft = METALS["acss"].resistivity_20 / METALS["acsr"].resistivity_20
    rows += [
        (
            unit,
            one._replace(
                designation=one.designation.replace("acsr", "acss"),
                metal="acss",
                resistance_ref=one.resistance_ref * soft,
                source=one.source._replace(note="the ACSR of the size, its aluminium annealed: 63 % IACS (ASTM B856)"),
            ),
            f"{word}/acss" if word else "",
        )
        for unit, one, word in rows
        if one.metal == "acsr"
    ]
    for metal, sizes, source in (
        ("aluminium alloy", data.ALLOY_6201, "ASTM B399 sizes; resistance from 52.5 % IACS, GMR from stranding"),
        ("acsr", data.ACSR_BY_STRANDS, "ASTM B232 sizes; resistance from 61.2 % IACS, GMR from stranding"),
        ("aluminium", data.ALUMINIUM_BY_STRANDS, "ASTM B231 sizes; resistance from 61.2 % IACS, GMR from stranding"),
    ):
        known = Provenance(source, HowKnown.MEMORY)
        for size, stranding, diameter, word in sizes:
            made = _from_strands(metal, size, "kcmil", stranding, float(size) * KCMIL, diameter * INCH, known)
            rows.append(("kcmil", made, word))
    for size, strands, strand in data.DIN_STRANDED:
        for metal in ("copper", "aluminium"):
            area = strands * math.pi / 4 * strand**2 * MM2
            diameter = strand * 1e-3 * _ENVELOPE[strands]
            made = _from_strands(metal, size, "mm2", str(strands), area, diameter, data.DIN_WIRES)
            rows.append(("mm2", made, ""))
    for nominal, (aluminium, _steel, stranding, millimetre, ohm) in zip(
        data.DIN_ACSR_NOMINAL, data.DIN_ACSR, strict=True
    ):
        share = _SINGLE_LAYER_ACSR if stranding == "6/1" else data.GMR_SHARE[stranding]
        diameter = millimetre * 1e-3
        made = Conductor(
            _designation(nominal, "mm2", "acsr", stranding),
            "acsr",
            nominal,
            stranding,
            aluminium * MM2,
            diameter,
            share * diameter / 2,
            ohm / 1000,
            20.0,
            METALS["acsr"].k0,
            data.DIN if stranding != "6/1" else data.DIN._replace(note="GMR approximate: the core is magnetised"),
        )
        rows.append(("mm2", made, ""))
    clad = Provenance(
        "AWG strands; resistance from IEEE 80-2000 Table 1 resistivity", HowKnown.DERIVED, "GMR approximate"
    )
    for size, strands, strand in data.CLAD_STEEL:
        area = strands * math.pi / 4 * (strand * INCH) ** 2
        diameter = strand * INCH * _ENVELOPE[strands]
        made = _from_strands("aluminium-clad steel", size, "named", str(strands), area, diameter, clad)
        rows.append(("named", made, ""))
    steel = Provenance(
        "ASTM A475 strand sizes; resistance from IEEE 80-2000 Table 1 resistivity",
        HowKnown.DERIVED,
        "both resistance and reactance of steel rise with current",
    )
    for size, strands, strand in data.STEEL_STRAND:
        area = strands * math.pi / 4 * (strand * INCH) ** 2
        made = _from_strands("steel", size, "in", str(strands), area, 3 * strand * INCH, steel)
        rows.append(("in", made, ""))
    return tuple(rows)


METAL_WORDS: Final = {
    "acsr": "acsr",
    "acss": "acss",
    "copper": "copper",
    "cu": "copper",
    "aluminium": "aluminium",
    "aluminum": "aluminium",
    "al": "aluminium",
    "aac": "aluminium",
    "aa": "aluminium",
    "aaac": "aluminium alloy",
    "6201": "aluminium alloy",
    "aluminium-clad steel": "aluminium-clad steel",
    "aluminum-clad steel": "aluminium-clad steel",
    "acs": "aluminium-clad steel",
    "steel": "steel",
    "ehs": "steel",
    "ehs steel": "steel",
}


class Size(NamedTuple):
    """A wire size as read: `unit` is awg, kcmil, mm2, in or named; `text` its number as the tables write it."""

    unit: str
    text: str

    @property
    def area(self) -> float | None:
        """Nominal area in m2, None for sizes that do not state one (``3/8 in``)."""
        if self.unit == "mm2":
            return float(self.text) * MM2
        return size_area(self.text) if self.unit in ("awg", "kcmil") else None


_AUGHT = re.compile(r"^(?:awg\s*|#\s*)?(?:([1-4])/0|(0{1,4}))(?![\d/.])(?:\s*awg\b)?")
_NAMED = re.compile(r"^(3|7|19|37)\s*(?:no\.?|#|x)\s*(\d{1,2})\b(?:\s*awg\b)?")
_METRIC = re.compile(r"^(\d+(?:\.\d+)?)(?:/\d+(?:\.\d+)?)?\s*(?:mm2|mm\^2|sq\s*mm|sqmm)(?![\w])")
_INCHES = re.compile(r"^(\d+/\d+)\s*(?:in\b\.?|inch\b|\")")
_KCMIL = re.compile(r"^(\d+(?:\.\d+)?)\s*(?:kcmil|mcm)\b")
_CMIL = re.compile(r"^(\d{5,7})(?:\.0+)?(?![\d.])(?:\s*cmil\b)?")
_GAUGE = re.compile(r"^(?:awg\s*)?(?:#|no\.?)?\s*(\d{1,2})\b(?![/.])(?:\s*awg\b)?")
_BARE_KCMIL = re.compile(r"^(\d{3}(?:\.\d+)?)\b")
_BARE_INCHES = re.compile(r"^(1/4|5/16|3/8|7/16|1/2)\b")


def read_size(text: str) -> tuple[Size, str] | None:
    """The wire size a designation begins with, and the rest of the text; None where there is none."""
    text = _normal(text)
    if match := _NAMED.match(text):
        return Size("named", f"{match[1]} no {match[2]}"), text[match.end() :].strip()
    if match := _AUGHT.match(text):
        return Size("awg", f"{match[1] or len(match[2])}/0"), text[match.end() :].strip()
    if match := _METRIC.match(text):
        return Size("mm2", f"{float(match[1]):g}"), text[match.end() :].strip()
    if match := _INCHES.match(text) or _BARE_INCHES.match(text):
        return Size("in", match[1]), text[match.end() :].strip()
    if match := _KCMIL.match(text):
        return Size("kcmil", f"{float(match[1]):g}"), text[match.end() :].strip()
    if match := _CMIL.match(text):
        return Size("kcmil", f"{int(match[1]) / 1000:g}"), text[match.end() :].strip()
    if (match := _GAUGE.match(text)) and int(match[1]) < 20:
        return Size("awg", match[1]), text[match.end() :].strip()
    if match := _BARE_KCMIL.match(text):
        return Size("kcmil", f"{float(match[1]):g}"), text[match.end() :].strip()
    return None


def _normal(text: str) -> str:
    """Lower case, one space between words, no thousands separators, ``mm²`` as ``mm2``, ``26x7`` left alone."""
    text = text.strip().lower().replace("²", "2").replace("sq. mm", "sq mm")
    text = re.sub(r"(?<=\d),(?=\d{3}\b)", "", text)
    return re.sub(r"\s+", " ", text)


_STRANDING = re.compile(
    r"\b(\d{1,2}/(?:1|7|19))(?![\d/])|\b(\d{1,2})[ -](?:strands?|strd|wires?|str)\b|\b(solid|sld)\b"
)


def _kind(rest: str) -> tuple[str | None, str | None, str]:
    """Metal, stranding and what is left of the words after a size."""
    stranding = None
    if match := _STRANDING.search(rest):
        stranding = match[1] or match[2] or "solid"
        rest = (rest[: match.start()] + " " + rest[match.end() :]).strip()
    words = re.sub(r"\s+", " ", rest).strip()
    metal = METAL_WORDS.get(words)
    return metal, stranding, "" if metal else words


def _steel_of(metal: str, size: Size) -> Conductor:
    """A wire of steel or aluminium-clad steel of so many mm2, taken to be of seven wires, or of so many of a gauge."""
    source = Provenance("strands; resistance from IEEE 80-2000 Table 1 resistivity", HowKnown.DERIVED)
    strands, area = 7, size.area
    if area is None:
        strands, gauge = map(int, size.text.split(" no "))
        area = strands * awg_area(gauge)
    across = _ENVELOPE[strands] * math.sqrt(4 * area / strands / math.pi)
    return _from_strands(metal, size.text, size.unit, str(strands), area, across, source)


def stranding_in_words(conductor: Conductor) -> str:
    """A stranding as a plan writes it: ``26/7``, ``12 strands``, ``solid``."""
    return f"{conductor.stranding} strands" if conductor.stranding.isdecimal() else conductor.stranding


def find_conductor(text: str) -> Conductor | Unknown:
    """The conductor a designation names, with the usual stranding where none is given; see `find_conductors`."""
    found = find_conductors(text)
    return found if isinstance(found, Unknown) else found[0]


def find_conductors(text: str) -> tuple[Conductor, ...] | Unknown:
    """The conductors that a designation may name: one for each stranding of the size where none is given, the usual
    one first.

    `Unknown` for a size that is not in the tables (the gap proposes the nearest of that metal), for a designation
    without a metal, and for a stranding that the size does not come in.
    """
    fact = f"resistance and GMR of conductor '{text.strip()}'"
    words = _normal(text)
    word = re.sub(r"\s*(acsr|aac|aaac)$", "", words)
    for _, conductor, name in _table():
        if name and name == word:
            return (conductor,)
    read = read_size(words)
    if read is None:
        return Unknown.of(fact, "336.4 kcmil acsr")
    size, rest = read
    metal, stranding, left = _kind(rest)
    if metal is None or left:
        return Unknown.of(f"metal of conductor '{text.strip()}'", f"{words} acsr" if not left else f"{size.text} acsr")
    same_metal = [(unit, conductor) for unit, conductor, _ in _table() if conductor.metal == metal]
    same_size = [conductor for unit, conductor in same_metal if unit == size.unit and _same(size, conductor.size)]
    if not same_size and metal in BY_CURRENT and stranding in (None, "7") and size.unit in ("mm2", "named"):
        return (_steel_of(metal, size),)
    if not same_size:
        return Unknown.of(fact, _nearest(size, [conductor for _, conductor in same_metal]))
    if stranding is None:
        return tuple(same_size)
    for conductor in same_size:
        if conductor.stranding == stranding:
            return (conductor,)
    return Unknown.of(f"{fact} in stranding {stranding}", same_size[0].designation)


def _same(size: Size, printed: str) -> bool:
    if size.unit != "kcmil":
        return size.text == printed
    # 336 is written for 336.4, 266 for 266.8; no two sizes of a metal are nearer than 5 kcmil.
    return printed[-2:] != "/0" and abs(float(size.text) - float(printed)) < 0.85


def _nearest(size: Size, candidates: list[Conductor]) -> str:
    area = size.area
    if area is None or not candidates:
        return candidates[0].designation if candidates else ""
    return min(candidates, key=lambda conductor: abs(math.log(conductor.area / area))).designation
