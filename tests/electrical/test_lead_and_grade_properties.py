"""Leads and grades: what must rise rises, what is not known is not rated, and equations invert each other."""

from __future__ import annotations

import math
from itertools import pairwise

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from groundlint.electrical.physics.constants import FOOT, KCMIL, MM2
from groundlint.electrical.physics.f855 import (
    CYCLE,
    GRADES,
    H_GRADES,
    TABLE_1,
    Grade,
    Rating,
    between_durations,
    find_grade,
    grade_rating,
    lowest,
)
from groundlint.electrical.physics.leads import (
    AWG_LEADS,
    MM2_LEADS,
    LeadSize,
    cable_withstand,
    find_lead,
    lead_rating,
    lead_resistance,
    smallest_rated_lead,
)
from groundlint.electrical.physics.withstand import (
    AMBIENT_C,
    LEAD_METALS,
    decrement,
    final_temperature,
    peak_factor,
)
from groundlint.values import Unknown

areas = st.floats(10 * MM2, 400 * MM2)
times = st.floats(0.01, 3.0)
materials = st.sampled_from(list(LEAD_METALS.values()))
plain = st.sampled_from(list(GRADES.values()))


@given(areas, times, materials, st.floats(0, 40), st.floats(0.1, 2))
def test_final_temperature_is_eq_37(area, t, material, ambient, load) -> None:  # type: ignore[no-untyped-def]
    """IEEE 80-2000 Eq 37, the current that brings a conductor to a temperature, solved here for current."""
    heat = material.tcap * 1e-4 / (material.alpha_20 * material.resistivity_20)

    def current(final_c: float) -> float:
        log = math.log((material.k0 + final_c) / (material.k0 + ambient))
        return 1000 * area / MM2 * math.sqrt(heat / t * log)

    fusing = current(material.fusing_c)
    end, fuses = final_temperature(load * fusing, t, area, material, ambient)
    assert bool(fuses) == (load >= 1) or load == pytest.approx(1)
    assert ambient < float(end) <= material.fusing_c * (1 + 1e-9)
    if not fuses:
        assert current(float(end)) == pytest.approx(load * fusing, rel=1e-6)


@given(areas, times, st.floats(1, 1e5), st.floats(1.01, 4))
def test_the_temperature_goes_by_the_current_for_the_size_and_by_its_square_for_the_time(
    area: float, t: float, current: float, factor: float
) -> None:
    one = float(final_temperature(current, t, area)[0])
    assert float(final_temperature(current * factor, t, area * factor)[0]) == pytest.approx(one)
    assert float(final_temperature(current / factor, t * factor**2, area)[0]) == pytest.approx(one)
    assert float(final_temperature(current, t, area, ambient_c=AMBIENT_C - 20)[0]) <= one


@given(times, st.floats(0, 60), st.floats(0.01, 5), st.sampled_from([50.0, 60.0]))
def test_decrement(t: float, x_over_r: float, more: float, f: float) -> None:
    factor = float(decrement(t, x_over_r, f))
    assert 1 <= factor <= math.sqrt(3)
    assert float(decrement(t, x_over_r + more, f)) >= factor
    assert float(decrement(t + more, x_over_r, f)) <= factor
    # The factor counts in time constants: cycles at either frequency are the same.
    assert float(decrement(t * 60 / f, x_over_r, f)) == pytest.approx(float(decrement(t, x_over_r, 60.0)), rel=1e-9)
    assert math.sqrt(2) <= float(peak_factor(x_over_r)) < 2 * math.sqrt(2)


def test_decrement_is_the_rms_of_an_offset_current() -> None:
    """By numeric integration of sin(wt) less its decaying offset over whole half cycles."""
    for x_over_r in (2.0, 10.0, 30.0):
        tau = x_over_r / (2 * math.pi * 60)
        t = np.linspace(0, 0.25, 2_000_001)
        offset = math.sqrt(2) * np.exp(-t / tau)
        squared = 1 + offset**2  # symmetrical rms squared plus the offset's own; their product averages out
        assert float(decrement(0.25, x_over_r)) == pytest.approx(math.sqrt(np.trapezoid(squared, t) / 0.25), rel=1e-6)


@given(plain, st.floats(0.001, 0.5), st.floats(1e-4, 0.2))
def test_rating_falls_with_duration_and_never_claims_more_energy(grade: Grade, t: float, more: float) -> None:
    first, second = grade_rating(grade, t, 1.0), grade_rating(grade, min(t + more, 0.5), 1.0)
    assert isinstance(first, Rating)
    assert isinstance(second, Rating)
    assert second.current <= first.current
    assert first.current <= grade.withstand[0][1]
    assert first.current >= grade.withstand[-1][1]
    printed = [amp**2 * cycles * CYCLE for cycles, amp in grade.withstand]
    assert first.current**2 * t <= max(printed) * (1 + 1e-9)


@pytest.mark.parametrize("grade", GRADES.values(), ids=lambda grade: grade.name)
def test_printed_points_are_met_exactly(grade: Grade) -> None:
    for basis, points in (("withstand", grade.withstand), ("ultimate", grade.ultimate)):
        for cycles, amp in points:
            for t in (cycles / 60, cycles * CYCLE):
                rating = grade_rating(grade, t, 0.0, basis)  # type: ignore[arg-type]
                assert isinstance(rating, Rating)
                assert rating.current == amp
                assert rating.source == TABLE_1


def test_grades_rise() -> None:
    for low, high in pairwise(GRADES.values()):
        for cycles in (1, 15, 20, 30):
            a, b = grade_rating(low, cycles * CYCLE, 1.0), grade_rating(high, cycles * CYCLE, 1.0)
            assert isinstance(a, Rating)
            assert isinstance(b, Rating)
            assert a.current < b.current


@given(plain, st.floats(0.05, 0.5), st.floats(1.81, 60), st.floats(0.01, 5))
def test_allowance_for_asymmetry_only_takes_away(grade: Grade, t: float, x_over_r: float, more: float) -> None:
    table = grade_rating(grade, t, 1.8)
    reduced = grade_rating(grade, t, x_over_r, beyond="decrement")
    further = grade_rating(grade, t, x_over_r + more, beyond="decrement")
    for rating in (table, reduced, further):
        assert isinstance(rating, Rating)
    assert further.current <= reduced.current < table.current  # type: ignore[union-attr]
    assert "no source" in str(reduced.source)  # type: ignore[union-attr]
    # Heat of the offset current and its first peak are within what the table was tested for.
    assert reduced.current * float(decrement(t, x_over_r)) <= table.current * (1 + 1e-9)  # type: ignore[union-attr]
    assert reduced.current * float(peak_factor(x_over_r)) <= table.current * float(peak_factor(1.8)) * (1 + 1e-9)  # type: ignore[union-attr]


def test_between_durations_refuses_nonsense() -> None:
    points = ((0.25, 27e3), (0.5, 20e3))
    for t in (0.0, -1.0, math.nan, math.inf, 0.51):
        assert between_durations(points, t) is None
    assert between_durations(points, 0.1) == 27e3
    # 27 kA for 15 cycles is 182 MA2s, 20 kA for 30 is 200: the smaller one is spread over the duration.
    assert between_durations(points, 0.3) == pytest.approx(27e3 * math.sqrt(0.25 / 0.3))
    assert between_durations(points, 0.49) == 20e3


@given(st.lists(st.floats(1e3, 1e5), min_size=1, max_size=5), st.floats(1e3, 1e5))
def test_an_assembly_is_no_better_than_a_part(currents: list[float], other: float) -> None:
    parts = [Rating(current, "", TABLE_1) for current in currents]
    alone, more = lowest(parts), lowest([*parts, Rating(other, "", TABLE_1)])
    assert isinstance(alone, Rating)
    assert isinstance(more, Rating)
    assert alone.current == min(currents)
    assert more.current <= alone.current


@pytest.mark.parametrize("text", ["3", "Grade 3", "grade 3", " 3 "])
def test_grades_by_name(text: str) -> None:
    assert find_grade(text) == GRADES["3"]
    assert find_grade(text.strip() + "h") == H_GRADES["3H"]


@pytest.mark.parametrize(
    ("text", "designation"),
    [
        ("2/0 copper", "2/0 copper"),
        ("2/0 cu", "2/0 copper"),
        ("#2 Copper", "2 AWG copper"),
        ("250 kcmil copper", "250 kcmil copper"),
        ("95 mm2 copper", "95 mm2 copper"),
        ("95 mm² copper", "95 mm2 copper"),
        ("4/0 aluminum", "4/0 aluminium"),
    ],
)
def test_lead_sizes(text: str, designation: str) -> None:
    found = find_lead(text)
    assert isinstance(found, LeadSize)
    assert found.designation == designation


@pytest.mark.parametrize("text", ["", "2/0", "copper", "2/0 acsr", "2/0 steel", "3/8 in steel", "2/0 copper-ish"])
def test_lead_sizes_that_do_not_say_enough(text: str) -> None:
    assert isinstance(find_lead(text), Unknown)


@given(st.text(max_size=30))
def test_any_text_of_a_lead_gives_an_answer(text: str) -> None:
    assert isinstance(find_lead(text), (LeadSize, Unknown))
    assert isinstance(find_grade(text), Unknown) or text.strip()


@pytest.mark.parametrize(
    ("cable", "grade", "x_over_r", "expected"),
    [
        ("2/0 copper", "3", 1.0, 27e3),
        ("2/0 copper", "5", 1.0, 27e3),
        ("4/0 copper", "3", 1.0, 27e3),
        ("70 mm2 copper", "5", 1.0, 27e3),
        ("2/0 copper", "5H", 9.0, 31e3),
        ("2/0 copper", "2H", 9.0, 25e3),
        ("500 kcmil copper", "7H", 9.0, 68e3),
        ("2/0 copper", "3", 9.0, None),
        ("2/0 copper", "3", None, None),
        ("2/0 copper", "9", 1.0, None),
        ("4 AWG copper", "1", 1.0, None),
        ("4/0 aluminium", "3", 1.0, None),
    ],
)
def test_the_lower_of_grade_and_cable(cable: str, grade: str, x_over_r: float | None, expected: float | None) -> None:
    size = find_lead(cable)
    assert isinstance(size, LeadSize)
    rating = lead_rating(size, find_grade(grade), 0.25, x_over_r)
    assert (rating.current if isinstance(rating, Rating) else None) == expected


def test_cables_without_a_row() -> None:
    one = find_lead("1 AWG copper")
    small, aluminium = find_lead("4 AWG copper"), find_lead("4/0 aluminium")
    assert isinstance(one, LeadSize)
    assert isinstance(small, LeadSize)
    assert isinstance(aluminium, LeadSize)
    taken = cable_withstand(one, 0.25)
    assert isinstance(taken, Rating)
    assert taken.current == 14e3
    assert isinstance(cable_withstand(small, 0.25), Unknown)
    assert isinstance(cable_withstand(aluminium, 0.25), Unknown)
    assert isinstance(cable_withstand(one, 0.51), Unknown)


@pytest.mark.parametrize(
    ("current", "t", "expected"),
    [
        (14e3, 0.25, "2 AWG copper"),
        (14.1e3, 0.25, "1/0 copper"),
        (20e3, 0.5, "2/0 copper"),
        (20.1e3, 0.5, "3/0 copper"),
    ],
)
def test_smallest_lead_by_table(current: float, t: float, expected: str) -> None:
    found = smallest_rated_lead(current, t)
    assert isinstance(found, LeadSize)
    assert found.designation == expected
    assert isinstance(smallest_rated_lead(80e3, t), Unknown)


def test_units_do_not_matter() -> None:
    assert {size.designation for size in MM2_LEADS} >= {"95 mm2 copper"}
    assert AWG_LEADS[7].area == pytest.approx(211.6 * KCMIL)
    assert float(lead_resistance(107.2 * MM2, 25 * FOOT)) == pytest.approx(
        float(lead_resistance(211.6 * KCMIL, 7.62)), rel=1e-3
    )
