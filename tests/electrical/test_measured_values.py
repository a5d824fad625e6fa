"""A plan says what was measured in the place of an assumption: within its bounds, and only then."""

from __future__ import annotations

from pathlib import Path

import pytest
from hypothesis import given
from hypothesis import strategies as st

from groundlint.electrical.study.assumptions import ASSUMPTIONS
from groundlint.electrical.study.line import line_constants
from groundlint.electrical.study.parts import Between, Register, stated_or, strap_between
from groundlint.electrical.study.results import exposure
from groundlint.electrical.study.study import Study, study_of
from groundlint.plan.measured import MEASURABLE
from groundlint.plan.models import Person, Structure, SupplySource
from groundlint.reading import read_plan
from groundlint.text import Source
from groundlint.timeline import replay
from groundlint.values import Unknown
from groundlint.values.bounds import ends
from groundlint.values.units import SI_UNIT

EXAMPLES = Path(__file__).parents[2] / "examples"


def read(text: str) -> tuple[dict[str, float], list[tuple[str, str, str]], bool]:
    result = read_plan(Source("x.tpg", text))
    return dict(result.plan.measured), [(d.code, d.message, d.mend) for d in result.diagnostics], result.plan.unread


def test_a_measured_value_is_taken_in_si() -> None:
    found, problems, unread = read("measured clamp-contact-resistance 0.2 mohm\nmeasured lead-temperature 50 F\n")
    assert found == {"clamp-contact-resistance": pytest.approx(2e-4), "lead-temperature": pytest.approx(10.0)}
    assert (problems, unread) == ([], False)


def test_the_bounds_themselves_can_be_measured_in_any_unit() -> None:
    for name, value in MEASURABLE.items():
        for end in (value.low, value.high, *value.possible):
            unit = {"temperature": "C", "number": "%"}.get(value.dimension) or SI_UNIT[value.dimension]
            times = 100 if unit == "%" else 1
            assert read(f"measured {name} {times * end:.12f} {unit}") == ({name: pytest.approx(end)}, [], False)
    assert read("measured lead-temperature -4 F") == ({"lead-temperature": pytest.approx(-20.0)}, [], False)


def test_more_is_measured_than_is_assumed_of_a_neutral_in_rock() -> None:
    found, problems, _ = read("measured neutral-back-to-source 9 ohm")
    assert (found, problems) == ({"neutral-back-to-source": pytest.approx(9.0)}, [])
    assert ASSUMPTIONS["neutral-back-to-source"].bounds == (0.01, 4.2)
    assert Register(found).bounds("neutral-back-to-source") == (9.0, 9.0)


@pytest.mark.parametrize(
    ("text", "code", "words"),
    [
        ("measured clamp-contact 0.2 mohm", "unknown-name", "clamp-contact-resistance"),
        ("measured whim 0.2 mohm", "unknown-name", "wood-pole-resistance"),
        ("measured clamp-contact-resistance 5 mohm", "out-of-bounds", "replace what was measured"),
        ("measured wood-pole-resistance 1 ohm", "out-of-bounds", "300 to 1,000,000 ohm"),
        ("measured lead-temperature 200 C", "out-of-bounds", "-50 to 60 C"),
        ("measured neutral-back-to-source 2 kohm", "out-of-bounds", "0.01 to 1,000 ohm"),
        ("measured station-ground-resistance 1 kV", "wrong-dimension", "write it in ohm"),
        ("measured body-resistance 800 ohm\nmeasured body-resistance 900 ohm", "said-twice", "keep one"),
    ],
)
def test_what_cannot_be_is_refused_and_the_plan_is_not_clean(text: str, code: str, words: str) -> None:
    _, problems, unread = read(text)
    assert [problem[0] for problem in problems] == [code]
    assert words in problems[0][1] + problems[0][2]
    assert unread


ELSEWHERE = {
    "steel-structure-footing-resistance": "structure 211 steel pole {}\n",
    "pole-ground-resistance": "structure 211 wood pole {}\n",
    "conductor-spacing": "line Larkspur\n  phases A B C\n  no neutral\n  {}\n  route 211 (50 m) 212\n",
    "conductor-stranding": "line Larkspur\n  phases A B C\n  no neutral\n  {}\n  route 211 (50 m) 212\n",
    "parallel-spacing": "parallel Birch at 30 m\n  {}\n",
    "parallel-height": "parallel Birch at 30 m\n  {}\n",
    "parallel-residual": "parallel Birch at 30 m\n  {}\n",
}
"""Assumptions that a plan replaces by more than a measured value, each with the statement that does it."""
NOWHERE = {"lead-heating"}
"""Those that nothing written could replace; the register says why."""


@pytest.mark.parametrize("name", ASSUMPTIONS)
def test_whatever_decides_can_be_written_or_the_register_says_why_not(name: str) -> None:
    row = ASSUMPTIONS[name]
    if name in NOWHERE:
        assert (row.write, "a plan cannot state" in row.reason) == ("", True)
        return
    found, problems, unread = read(ELSEWHERE.get(name, "{}").format(row.write))
    assert (problems, unread) == ([], False)
    assert list(found) == ([] if name in ELSEWHERE else [name])
    if found:
        register = Register(found)
        assert register.bounds(name) == (found[name], found[name])
        assert not register.used  # so that no result can rest on it, or name it as what decides


@pytest.mark.parametrize("name", ELSEWHERE)
def test_what_a_declaration_states_leaves_its_assumption_unused(name: str) -> None:
    plan = read_plan(Source("x.tpg", ELSEWHERE[name].format(ASSUMPTIONS[name].write))).plan
    register = Register()
    if plan.line is not None:
        line_constants(plan, plan.line.conductors, 60.0, register)
        assert register.used
    for structure in plan.of(Structure):
        if name in ("conductor-spacing", "conductor-stranding"):
            continue
        assert isinstance(structure, Structure)
        stated = structure.pole_ground_resistance if name == "pole-ground-resistance" else structure.footing
        found = stated_or(stated, name, register)
        assert found.low == found.high == float(ASSUMPTIONS[name].write.split()[-2])
    assert name not in register.used


@pytest.mark.parametrize("name", ASSUMPTIONS)
def test_where_nothing_is_known_all_that_is_assumed_counts(name: str) -> None:
    assert Register().bounds(name) == ASSUMPTIONS[name].bounds
    assert Register().bounds(name, -100.0) == ASSUMPTIONS[name].bounds


def test_every_measurable_value_is_an_assumption_with_the_same_bounds() -> None:
    assert {name for name, row in ASSUMPTIONS.items() if row.write.startswith("measured ")} == set(MEASURABLE)
    for name, value in MEASURABLE.items():
        assert ASSUMPTIONS[name].bounds == (value.low, value.high)
        found, problems, _ = read(ASSUMPTIONS[name].write)
        assert (list(found), problems) == ([name], [])


def most_volts(said: str) -> float:
    """The largest voltage that somebody of an example meets, with some measured in the place of all else, V."""
    text = (EXAMPLES / "small-neutral.tpg").read_text("utf-8")
    bare = "\n".join(line for line in text.split("\n") if not line.startswith("measured"))
    found = study_of(replay(read_plan(Source("x.tpg", bare.replace("\nsource ", f"\n{said}\nsource ", 1))).plan))
    assert isinstance(found, Study)
    plan = found.timeline.plan
    volts = [
        ends(here.voltage)[1]
        for person in plan.of(Person)
        for source in plan.of(SupplySource)
        for at in range(found.timeline.n + 1)
        if isinstance(person, Person) and isinstance(source, SupplySource)
        if (here := exposure(found, person, source, at)) is not None and not isinstance(here.voltage, Unknown)
    ]
    return max(volts)


@pytest.mark.parametrize("pole", ["300 ohm", "100 kohm", "1000 kohm"])
def test_a_dry_pole_says_nothing_good_of_the_strap_on_it(pole: str) -> None:
    """A strap is a share of the pole that it is on: 142 V that a plan has with nothing measured were 30 V as soon as
    the pole was said to be dry."""
    assert most_volts(f"measured wood-pole-resistance {pole}") == pytest.approx(most_volts(""), rel=0.02)
    with_both = f"measured wood-pole-resistance {pole}\nmeasured bar-to-pole-resistance 0.1 ohm"
    assert most_volts(with_both) < most_volts("") / 2


def test_a_measured_wood_pole_has_no_say_on_a_strap_on_concrete() -> None:
    register = Register({"wood-pole-resistance": 1e5})
    wood, concrete = (
        thing
        for thing in read_plan(Source("x.tpg", "structure 211 wood pole\nstructure 212 concrete pole\n")).plan.of(
            Structure
        )
        if isinstance(thing, Structure)
    )
    assert strap_between(wood, register).high == pytest.approx(1e5 / 30)
    assert strap_between(concrete, register).high == 10


@given(
    ohms=st.floats(*MEASURABLE["neutral-back-to-source"][:2]),
    share=st.floats(*MEASURABLE["neutral-back-reactance"][:2]),
)
def test_the_neutrals_way_back_holds_every_impedance_of_the_magnitude_that_was_measured(
    ohms: float, share: float
) -> None:
    """The arc of one magnitude, by plain complex numbers, lies in what is taken of it; nothing in that gives out power,
    and to know more takes in nothing more."""
    names = "neutral-back-to-source", "neutral-back-reactance"
    there = ohms * complex((1 - share * share) ** 0.5, share)
    known = dict(zip(names, (ohms, share), strict=True))
    both = Register(known).impedance(*names)
    assert both.turn * both.low == pytest.approx(there)
    assert both.turn * both.high == pytest.approx(there)
    whole = Register().impedance(*names)
    for name in names:
        one = Register({name: known[name]}).impedance(*names)
        assert _within(one, there)
        for corner in (one.low, one.high, complex(one.low.real, one.high.imag), complex(one.high.real, one.low.imag)):
            assert _within(whole, one.turn * corner)
            assert (one.turn * corner).real >= -1e-9


def _within(box: Between, z: complex) -> bool:
    x = z / box.turn
    return (
        box.low.real - 1e-9 <= x.real <= box.high.real + 1e-9 and box.low.imag - 1e-9 <= x.imag <= box.high.imag + 1e-9
    )
