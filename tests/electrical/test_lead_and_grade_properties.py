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
    SMALLEST_LEAD,
    LeadSize,
    cable_withstand,
    find_lead,
    gang_shares,
    ganged_rating,
    lead_impedance,
    lead_rating,
    lead_resistance,
    self_reactance,
    smallest_lead,
    smallest_rated_lead,
)
from groundlint.electrical.physics.withstand import (
    MATERIALS,
    SOFT_COPPER,
    decrement,
    fault_duty,
    final_temperature,
    ieee80_current,
    onderdonk,
    peak_factor,
    required_area,
)
from groundlint.values import Unknown

areas = st.floats(10 * MM2, 400 * MM2)
times = st.floats(0.01, 3.0)
materials = st.sampled_from(list(MATERIALS.values()))
plain = st.sampled_from(list(GRADES.values()))


@given(areas, times, materials, st.floats(0, 40))
def test_fusing_current_area_and_temperature_agree(area, t, material, ambient) -> None:  # type: ignore[no-untyped-def]
    """Eq 37, solved for current, for area and for temperature, is one equation."""
    current = ieee80_current(area, t, material, ambient)
    assert float(required_area(current, t, material, ambient)) == pytest.approx(area, rel=1e-9)
    below, fuses = final_temperature(current * 0.999, t, area, material, ambient)
    assert not fuses
    assert ambient < float(below) < material.fusing_c
    top, fuses = final_temperature(current * 1.001, t, area, material, ambient)
    assert fuses
    assert float(top) == pytest.approx(material.fusing_c)
    assert float(ieee80_current(area, t, material, ambient, float(below))) == pytest.approx(0.999 * current, rel=1e-6)


@given(areas, times, st.floats(1.01, 4))
def test_current_for_a_size_scales(area: float, t: float, factor: float) -> None:
    for rating in (onderdonk, ieee80_current):
        assert float(rating(area * factor, t)) == pytest.approx(factor * float(rating(area, t)))
        assert float(rating(area, t * factor**2)) == pytest.approx(float(rating(area, t)) / factor)
    assert float(ieee80_current(area, t, ambient_c=20.0)) > float(ieee80_current(area, t, ambient_c=40.0))


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


@given(st.floats(1, 1e5), times, st.floats(0, 50))
def test_duty(current: float, t: float, x_over_r: float) -> None:
    duty = fault_duty(current, t, x_over_r)
    assert duty.symmetrical <= duty.effective <= math.sqrt(3) * duty.symmetrical
    assert float(duty.i2t) == pytest.approx(float(duty.effective) ** 2 * t)
    assert float(duty.first_peak) >= math.sqrt(2) * current * 0.999999


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


@given(st.integers(2, 4), st.floats(1, 12))
def test_ganged_leads(count: int, length: float) -> None:
    size = find_lead("4/0 copper")
    assert isinstance(size, LeadSize)
    one = cable_withstand(size, 0.5)
    assert isinstance(one, Rating)
    together = ganged_rating([(size, length, one)] * count)
    assert isinstance(together, Rating)
    assert together.current == pytest.approx(0.9 * count * one.current)
    assert ganged_rating([(size, length, one)]) == one


@given(st.lists(st.complex_numbers(min_magnitude=1e-4, max_magnitude=1), min_size=1, max_size=4))
def test_shares_sum_to_one(impedances: list[complex]) -> None:
    z = np.array([abs(value.real) + 1e-5 + 1j * abs(value.imag) for value in impedances])
    shares = gang_shares(z)
    assert complex(shares.sum()) == pytest.approx(1)
    assert np.allclose(shares * z, (shares * z)[0])


@given(areas, st.floats(0.5, 20), st.floats(-20, 80), st.floats(0, 1e-3), st.floats(1, 1.1))
def test_lead_impedance(area: float, length: float, temperature: float, contact: float, lay: float) -> None:
    size = LeadSize("test", "copper", area)
    z = complex(lead_impedance(size, length, temperature, contact, lay))
    assert z.real == pytest.approx(float(lead_resistance(area, length, temperature, "copper", lay)) + 2 * contact)
    assert z.imag > 0
    longer = complex(lead_impedance(size, length * 1.5, temperature, contact, lay))
    hotter = complex(lead_impedance(size, length, temperature + 10, contact, lay))
    assert longer.real > z.real or contact > z.real
    assert longer.imag > z.imag
    assert hotter.real > z.real
    beside = complex(lead_impedance(size, length, temperature, contact, lay, distance=0.5))
    assert beside.real == z.real


def test_straight_lead_inductance() -> None:
    """Rosa: 1 m of 10 mm diameter is 2e-7 (ln(400) - .75) = 1.048 microhenry."""
    assert float(self_reactance(1.0, 0.005)) / (2 * math.pi * 60) == pytest.approx(1.048e-6, rel=1e-3)


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


@given(st.floats(1e3, 6e4), st.floats(0.05, 1))
def test_smallest_lead_that_would_do(current: float, t: float) -> None:
    found = smallest_lead(current, t)
    need = float(required_area(current, t, SOFT_COPPER))
    if isinstance(found, Unknown):
        assert need > AWG_LEADS[-1].area
        return
    assert found.area >= need
    assert found.area >= SMALLEST_LEAD.area
    smaller = [size for size in AWG_LEADS if size.area < found.area]
    assert not smaller or smaller[-1].area < max(need, SMALLEST_LEAD.area)


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


def test_no_lead_for_what_is_not_known() -> None:
    for current, t in ((math.nan, 0.5), (5e3, math.inf), (0.0, 0.5), (5e3, -1.0)):
        assert isinstance(smallest_lead(current, t), Unknown)


def test_units_do_not_matter() -> None:
    assert {size.designation for size in MM2_LEADS} >= {"95 mm2 copper"}
    assert AWG_LEADS[7].area == pytest.approx(211.6 * KCMIL)
    assert float(lead_resistance(107.2 * MM2, 25 * FOOT)) == pytest.approx(
        float(lead_resistance(211.6 * KCMIL, 7.62)), rel=1e-3
    )
