"""Quantities: the table against pint, the traps of unit parsers, the number grammar, the patterns that grammars use."""

from __future__ import annotations

import pickle
import re
from collections.abc import Callable
from decimal import Decimal
from fractions import Fraction

import lark
import pint
import pytest
from hypothesis import example, given
from hypothesis import strategies as st

from groundlint.values.registry import registry
from groundlint.values.units import (
    LARGEST,
    QUANTITY_PATTERN,
    SI_UNIT,
    UNIT_PATTERN,
    UNITS,
    Quantity,
    Unit,
    UnitProblem,
    find_unit,
    parse_quantity,
)

# The same unit in pint's words, by main spelling; pint is the judge of factor and dimension.
IN_PINT = {
    "m": "meter",
    "km": "kilometer",
    "cm": "centimeter",
    "mm": "millimeter",
    "ft": "foot",
    "in": "inch",
    "mi": "mile",
    "A": "ampere",
    "kA": "kiloampere",
    "mA": "milliampere",
    "V": "volt",
    "kV": "kilovolt",
    "mV": "millivolt",
    "ohm": "ohm",
    "kohm": "kiloohm",
    "mohm": "milliohm",
    "microohm": "microohm",
    "ohm m": "ohm * meter",
    "ohm cm": "ohm * centimeter",
    "ohm/mi": "ohm / mile",
    "ohm/km": "ohm / kilometer",
    "ohm/m": "ohm / meter",
    "ohm/kft": "ohm / kilofoot",
    "s": "second",
    "ms": "millisecond",
    "min": "minute",
    "days": "day",
    "h": "hour",
    "VA": "volt_ampere",
    "kVA": "kilovolt_ampere",
    "MVA": "megavolt_ampere",
    "W": "watt",
    "kW": "kilowatt",
    "MW": "megawatt",
    "Hz": "hertz",
    "m2": "meter ** 2",
    "mm2": "millimeter ** 2",
    "kcmil": "kilocircular_mil",
    "cmil": "circular_mil",
    "deg": "degree",
    "C": "degree_Celsius",
    "F": "degree_Fahrenheit",
    "kg": "kilogram",
    "lb": "pound",
    "N m": "newton * meter",
    "ft lb": "foot * force_pound",
    "in lb": "inch * force_pound",
    "percent": "percent",
}
MAIN = sorted({unit.spelling: unit for unit in UNITS.values()}.values())


PINT_UNIT: dict[str, str] = {
    dimension: unit.replace(" ", " * ").replace("m2", "m ** 2") for dimension, unit in SI_UNIT.items()
} | {
    "power": "volt_ampere",
    "temperature": "kelvin",
    "cycles": "",
}
"""SI units in pint's spelling."""


def number_in_si(unit: Unit, number: float) -> pint.Quantity:
    """What pint makes of a number of the unit, in the SI unit of its dimension."""
    return registry().Quantity(number, IN_PINT[unit.spelling]).to(PINT_UNIT[unit.dimension] or "dimensionless")


@pytest.mark.parametrize("unit", [u for u in MAIN if u.dimension != "cycles"], ids=lambda u: u.spelling)
@pytest.mark.parametrize("number", [1.0, 0.37, 1234.5])
def test_factor_offset_and_dimension_are_those_of_pint(unit: Unit, number: float) -> None:
    ours = parse_quantity(f"{number} {unit.spelling}")
    assert isinstance(ours, Quantity)
    theirs = number_in_si(unit, number)
    assert ours.si == pytest.approx(theirs.magnitude, rel=1e-14)
    assert ours.to(unit.spelling) == pytest.approx(number, rel=1e-12)


def test_every_unit_is_held_against_pint_and_none_twice() -> None:
    assert {u.spelling for u in MAIN} == {*IN_PINT, "cycles"}
    assert len(MAIN) == len({u.spelling for u in MAIN})
    assert {u.dimension for u in MAIN} == set(SI_UNIT)


def test_there_is_one_registry() -> None:
    assert registry() is registry()


# ------------------------------------------------------------------ traps
def test_an_expression_is_not_a_quantity_and_is_not_worked_out() -> None:
    found = parse_quantity("9**9**9 V")
    assert isinstance(found, UnitProblem)
    assert found.kind == "unknown-unit"


def test_per_unit_is_refused_and_says_why() -> None:
    found = parse_quantity("1 pu")
    assert isinstance(found, UnitProblem)
    assert found[:3] == ("unknown-unit", "pu", None)
    assert "base" in found.message


def test_feet_and_inches_are_a_length() -> None:
    assert parse_quantity("15 ft 6 in") == Quantity(15.5 * 0.3048, "length")


def test_small_a_is_not_a_year_nor_an_ampere() -> None:
    assert parse_quantity("1 a") == UnitProblem("unknown-unit", "a", "A")


def test_cycles_are_a_count_that_waits_for_a_frequency() -> None:
    assert parse_quantity("12 cycles") == Quantity(12.0, "cycles")


@pytest.mark.parametrize("number", ["9" * 6000, "9" * 6000 + "/7", "1e999", "1e15", "5/0", "1e-999", "-1e300"])
def test_numbers_out_of_range_are_problems(number: str) -> None:
    found = parse_quantity(f"{number} V")
    assert isinstance(found, UnitProblem)
    assert found.kind == "bad-number"
    assert len(found.message) < 120


@pytest.mark.parametrize("piece", ["1", "1 ", "1 ft ", " ", "1/"])
def test_work_is_linear_in_the_text(piece: str, calls: Callable[[Callable[[], object]], int]) -> None:
    def taken(times: int) -> int:
        text = f"5{piece * times}x"
        assert isinstance(parse_quantity(text), UnitProblem)
        return calls(lambda: parse_quantity(text))

    assert taken(80_000) <= 8 * taken(10_000)


# ------------------------------------------------------------------ what is taken
@pytest.mark.parametrize(
    ("text", "si", "dimension"),
    [
        ("6 ft 4 in", 76 * 0.0254, "length"),
        ("6ft 4in", 76 * 0.0254, "length"),
        ("6 ft-4 in", 76 * 0.0254, "length"),
        ("6 feet 4 1/2 inches", 76.5 * 0.0254, "length"),
        ("0 ft 11.5 in", 11.5 * 0.0254, "length"),
        ("5/8 in", 0.625 * 0.0254, "length"),
        ("1 1/2 in", 1.5 * 0.0254, "length"),
        ("25ft", 7.62, "length"),
        ("  3 \t ft ", 0.9144, "length"),
        ("5 KV", 5000, "voltage"),
        ("5 kv", 5000, "voltage"),
        ("5 Ft", 1.524, "length"),
        ("6.8 KA", 6800, "current"),
        ("60 HZ", 60, "frequency"),
        ("25 Ohm", 25, "resistance"),
        ("25 \u03a9", 25, "resistance"),
        ("25 \u2126", 25, "resistance"),
        ("500 microohm", 500e-6, "resistance"),
        ("1.2 milliohms", 0.0012, "resistance"),
        ("120 ohm-m", 120, "resistivity"),
        ("120 ohm·m", 120, "resistivity"),
        ("120 OHM-M", 120, "resistivity"),
        ("120 \u2126 m", 120, "resistivity"),
        ("95 mm²", 95e-6, "area"),
        ("95 mm^2", 95e-6, "area"),
        ("-10 C", 263.15, "temperature"),
        ("\u221210 °C", 263.15, "temperature"),
        ("0 F", 255.3722222, "temperature"),
        ("1.5e3 V", 1500, "voltage"),
        ("0 V", 0, "voltage"),
        ("12 ft-lb", 12 * 1.3558179483, "torque"),
        ("5 %", 0.05, "number"),
    ],
)
def test_read_as(text: str, si: float, dimension: str) -> None:
    found = parse_quantity(text)
    assert isinstance(found, Quantity)
    assert found.si == pytest.approx(si, rel=1e-9)
    assert (found.dimension, found.text) == (dimension, text)
    if text == text.strip():
        assert re.fullmatch(QUANTITY_PATTERN, text)


# ------------------------------------------------------------------ what is refused
@pytest.mark.parametrize(
    ("text", "kind", "unit", "nearest"),
    [
        ("5 ma", "unknown-unit", "ma", "mA"),
        ("5 MA", "unknown-unit", "MA", "mA"),
        ("5 mva", "unknown-unit", "mva", "MVA"),
        ("5 MM", "unknown-unit", "MM", "mm"),
        ("5 M", "unknown-unit", "M", "m"),
        ("5 S", "unknown-unit", "S", "s"),
        ("5 v", "unknown-unit", "v", "V"),
        ("5 kvolts", "unknown-unit", "kvolts", "volts"),
        ("5 feets", "unknown-unit", "feets", "feet"),
        ("5 furlong", "unknown-unit", "furlong", None),
        ("6 '", "unknown-unit", "'", "ft"),
        ("6' 4\"", "unknown-unit", "' 4\"", None),
        ("6 ft 13 in", "unknown-unit", "ft 13 in", None),
        ("2 h 30 min", "unknown-unit", "h 30 min", None),
        ("5", "no-unit", "5", None),
        ("1,200 A", "bad-number", "1,200 A", None),
        ("1,2 A", "bad-number", "1,2 A", None),
        (".5 ohm", "bad-number", ".5 ohm", None),
        ("5. V", "bad-number", "5. V", None),
        ("5.2.3 V", "bad-number", "5.2.3 V", None),
        ("five V", "bad-number", "five V", None),
        ("inf V", "bad-number", "inf V", None),
        ("nan V", "bad-number", "nan V", None),
        ("1_000 V", "unknown-unit", "_000 V", None),
        ("0x10 V", "unknown-unit", "x10 V", None),
        ("\u0661\u0662 V", "bad-number", "\u0661\u0662 V", None),
        ("-300 C", "bad-number", "-300 C", None),
        ("2 AWG", "unknown-unit", "AWG", None),
        ("", "bad-number", "", None),
    ],
)
def test_refused(text: str, kind: str, unit: str, nearest: str | None) -> None:
    found = parse_quantity(text)
    assert isinstance(found, UnitProblem)
    assert found[:3] == (kind, unit, nearest)
    assert found.message
    assert not re.fullmatch(QUANTITY_PATTERN, text) or text == "-300 C"


def test_a_comma_says_what_to_write() -> None:
    found = parse_quantity("1,200 A")
    assert isinstance(found, UnitProblem)
    assert "comma" in found.message


# ------------------------------------------------------------------ patterns
def spelled(word: str) -> set[str]:
    """A plain spelling in the forms a plan may have it in."""
    forms = {word} | {word.replace(" ", joint) for joint in ("-", "·", ".", "  ")}
    forms |= {form.replace("ohm", sign) for form in forms for sign in ("\u03a9", "\u2126")}
    return forms | {form.replace("2", square) for form in forms for square in ("²", "^2")}


def test_the_pattern_takes_every_spelling_that_the_table_takes() -> None:
    checked = 0
    for word in UNITS:
        for form in spelled(word) | {word.upper(), word.lower(), word.title()}:
            assert bool(re.fullmatch(UNIT_PATTERN, form)) == (find_unit(form) is not None), form
            checked += 1
    assert checked > 500


@pytest.mark.parametrize("after", ["m", "_", "3", "/ft", "-x", "²", "^2", "'"])
def test_a_unit_ends_where_the_word_ends(after: str) -> None:
    for word in ("ohm", "ft", "A", "kcmil"):
        if find_unit(word + after) is None:
            assert re.match(UNIT_PATTERN, word + after) is None, word + after


@pytest.mark.parametrize("after", [" to ground", ", x/r 9", ")", " three-phase", "", "# note", ". Then"])
def test_what_may_follow_a_unit(after: str) -> None:
    found = re.match(QUANTITY_PATTERN, "6.8 kA" + after)
    assert found is not None
    assert found[0] == "6.8 kA"


def test_two_quantities_in_a_row_stay_two_where_inches_would_not_do() -> None:
    assert re.findall(QUANTITY_PATTERN, "6 ft 5/8 in x 20 ft 30 in, 16 ft") == [
        "6 ft 5/8 in",
        "20 ft",
        "30 in",
        "16 ft",
    ]


def test_the_pattern_serves_as_a_terminal() -> None:
    quantity = re.sub(r"(?<!\\)/", r"\\/", QUANTITY_PATTERN)
    parser = lark.Lark(
        f"start: (QUANTITY | WORD)*\nQUANTITY.2: /{quantity}/\nWORD: /[\\w-]+/\n%ignore /[ ,]+/", parser="lalr"
    )
    tokens = parser.parse("set 16 ft from 120 ohm m and 5 KV at 15 ma").children
    assert [str(t) for t in tokens if t.type == "QUANTITY"] == ["16 ft", "120 ohm m", "5 KV"]  # type: ignore[union-attr]


NUMBERS = st.one_of(
    st.integers(0, 10**6).map(str),
    st.floats(0.001, 1e6).map(lambda x: f"{x:.6f}"),
    st.tuples(st.integers(0, 99), st.integers(0, 99)).map(lambda f: f"{f[0]}/{f[1]}"),
    st.text("0123456789.,/-eE+ ", max_size=8),
)


@given(NUMBERS, st.sampled_from(["", " ", "  ", "\t"]), st.one_of(st.sampled_from(sorted(UNITS)), st.text(max_size=6)))
def test_pattern_and_reading_agree(number: str, gap: str, unit: str) -> None:
    text = number + gap + unit
    found = parse_quantity(text)
    if re.fullmatch(QUANTITY_PATTERN, text):
        assert isinstance(found, Quantity) or found.kind == "bad-number"
    elif isinstance(found, Quantity):
        assert re.fullmatch(QUANTITY_PATTERN, text.strip(" \t"))


@given(st.text(max_size=30))
def test_any_text_gives_a_quantity_or_a_problem_with_a_message(text: str) -> None:
    found = parse_quantity(text)
    if isinstance(found, Quantity):
        assert abs(found.si) < LARGEST
        assert found.text == text
    else:
        assert found.message


# ------------------------------------------------------------------ the value itself
@pytest.mark.parametrize(
    "same",
    [
        ("15 ft", "180 in", "15 ft 0 in", "4.572 m", "457.2 cm", "4572 mm"),
        ("0.1 ft", "1.2 in", "1 1/5 in", "6/5 in", "1.20 in", "12e-1 in"),
        ("1/3 ft", "4 in", "0 ft 4 in"),
        ("0.7 kA", "700 A", "700000 mA"),
        ("30 cycles", "30.0 cycle"),
        ("1.1 h", "66 min", "3960 s", "3960000 ms"),
        ("-40 C", "-40 F"),
        ("212 F", "100 C"),
    ],
)
def test_the_same_value_in_other_units_is_the_same_float(same: tuple[str, ...]) -> None:
    found = [parse_quantity(text) for text in same]
    assert all(isinstance(quantity, Quantity) for quantity in found), found
    assert len({quantity.si for quantity in found}) == 1, found  # type: ignore[union-attr]


@given(
    st.decimals(0, 10**9, allow_nan=False, places=4), st.sampled_from([u for u in MAIN if isinstance(u.numerator, int)])
)
@example(Decimal(10**9), UNITS["MVA"])
@example(Decimal(10**9) - 1, UNITS["MVA"])
def test_conversion_gives_the_float_nearest_to_the_true_value_or_says_that_it_is_out_of_range(
    number: Decimal, unit: Unit
) -> None:
    found = parse_quantity(f"{number:f} {unit.spelling}")
    exact = (Fraction(number) + Fraction(unit.shift, 100)) * unit.numerator / unit.denominator
    if float(exact) < LARGEST:
        assert isinstance(found, Quantity)
        assert found.si == float(exact)
    else:
        assert isinstance(found, UnitProblem)
        assert "out of range" in found.message


def test_equality_goes_by_value_not_by_words() -> None:
    assert parse_quantity("12 in") == parse_quantity("1 ft")
    assert parse_quantity("12 in") != parse_quantity("12 ft")
    assert Quantity(1.0, "length") != Quantity(1.0, "time")


def test_it_is_frozen_and_travels() -> None:
    quantity = parse_quantity("25 ft")
    assert isinstance(quantity, Quantity)
    with pytest.raises(AttributeError):
        quantity.si = 1.0  # type: ignore[misc]
    assert pickle.loads(pickle.dumps(quantity)) == quantity


def test_to_another_unit_and_not_to_another_dimension() -> None:
    quantity = parse_quantity("25 ft")
    assert isinstance(quantity, Quantity)
    assert quantity.to("in") == pytest.approx(300)
    assert parse_quantity("104 F").to("C") == pytest.approx(40)  # type: ignore[union-attr]
    for unit in ("kA", "furlong"):
        with pytest.raises(ValueError, match="length"):
            quantity.to(unit)
