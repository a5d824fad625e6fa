"""Bounds hold everything that they say they hold: random draws of all that is assumed, each value by itself, corners
tried one after another, and what is known of more values."""

from __future__ import annotations

import itertools
import math
import random
import re
from collections.abc import Callable, Iterator, Mapping
from pathlib import Path

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from sound_plans import sound_plan

from groundlint.electrical.solver.extremes import Begin, Chains, Extreme, extremes
from groundlint.electrical.solver.layout import FloatArray
from groundlint.electrical.solver.network import EARTH, CurrentSource, Energized, Impedance, Network, Scenario, Variant
from groundlint.electrical.solver.ports import port_impedances
from groundlint.electrical.solver.solution import Solution, Values
from groundlint.electrical.solver.solve import solve
from groundlint.electrical.study import circuit, extents, following
from groundlint.electrical.study.assumptions import ASSUMPTIONS
from groundlint.electrical.study.parts import Register
from groundlint.electrical.study.study import Study, study_of
from groundlint.plan.measured import MEASURABLE
from groundlint.reading import read_plan
from groundlint.text import Source, store
from groundlint.text.store import Store
from groundlint.timeline import Timeline, replay
from groundlint.values import Unknown
from groundlint.values.bounds import ends

EXAMPLES = Path(__file__).parents[2] / "examples"
NO_CIRCUIT = ("cable-splice.tpg", "deliberate-cable.tpg", "deliberate-handbooks.tpg")
DRAWN = sorted(one.name for one in EXAMPLES.glob("*.tpg") if one.name not in NO_CIRCUIT)
SLACK = 2e-5
"""What the bounds are widened by for rounding, twice."""


def replayed(text: str) -> Timeline:
    return replay(
        read_plan(Source("plan.tpg", text), lambda name: Source(name, (EXAMPLES / name).read_text("utf-8"))).plan
    )


def studied(timeline: Timeline) -> Study:
    found = study_of(timeline)
    assert isinstance(found, Study)
    return found


class Drawn(Register):
    """A register that gives one value within the bounds, another each time it is asked: at an end, or between. What
    stands in `same` is at that share of its bounds whenever it is asked."""

    rng = random.Random(0)
    same: Mapping[str, float] = {}

    def bounds(self, name: str, least: float = -math.inf) -> tuple[float, float]:
        low, high = super().bounds(name, least)
        share = self.same.get(name, self.rng.choice((0.0, 1.0, self.rng.random())))
        even = low <= 0 or self.rng.random() < 0.5
        value = low + share * (high - low) if even else math.exp(math.log(low) + share * math.log(high / low))
        return value, value


def by_source(study: Study) -> dict[tuple[object, ...], extents.Extent]:
    """Bounds of all that can be asked, by state, returning source and key."""
    found = study.extents
    for state in found.wanted:
        for source in found.site.sources:
            found.extent(state, source, extents.POLES)
            found.extent(state, source, extents.WEAKEST)
    every = {**found._things, **found._poles}
    for key, low in found.lows({state: set(asked) for state, asked in found.wanted.items()}).items():
        moved = np.maximum(low.moved, every[key].moved)
        every[key] = every[key]._replace(ends=np.array([low.ends[0], every[key].ends[1]]), moved=moved)
    return every


def from_beside(study: Study) -> dict[tuple[object, ...], extents.Extent]:
    """Bounds of what circuits beside the line induce: by a fault on them, and for good."""
    found: dict[tuple[object, ...], extents.Extent] = {**study.induced.by_fault_beside}
    if study.site.body is not None:
        for (state, circuit), pairs in study.induced.by_induction.items():
            found |= {(state, circuit, pair, "for good"): extent for pair, extent in pairs.items()}
    return found


def deciding(key: tuple[object, ...], by_way: FloatArray) -> FloatArray:
    """The largest over all ways, or what only the weakest counts of, the least."""
    return np.asarray(by_way.min(axis=-1) if key[2] == extents.WEAKEST else by_way.max(axis=-1))


def outside(
    whole: dict[tuple[object, ...], extents.Extent], beside: dict[tuple[object, ...], extents.Extent], drawn: Study
) -> Iterator[str]:
    """What of a drawn circuit lies outside of the bounds of the whole, by its own sources and by what is beside it."""
    assert not drawn.site.values
    inside = by_source(drawn)
    for key, extent in whole.items():
        every = key[2] in (extents.POLES, extents.LEAST)
        low, high = extent.ends if every else deciding(key, extent.ends)
        ends = inside[key].ends
        value = np.where(np.isfinite(ends[1]), ends[1], ends[0])  # of a circuit without bounds, where either was asked
        here = value if every else deciding(key, value)
        floor = 1e-9 * np.max(high, where=np.isfinite(high), initial=0.0)
        if np.any(here > high * (1 + SLACK) + floor) or np.any(here < low * (1 - SLACK) - floor):
            yield f"state {key[0]} {key[1]} {key[2]}: {here} outside {low} to {high}"
    inside = from_beside(drawn) if beside else {}
    for key, extent in beside.items():
        low, high = extent.ends.max(axis=1)
        least, most = inside[key].ends.max(axis=1)
        if most > high * (1 + SLACK) or least < low * (1 - SLACK):
            yield f"state {key[0]} {key[1]} {key[2:]}: {least} to {most} outside {low} to {high}"


def draw(timeline: Timeline, rng: random.Random, count: int, monkeypatch: pytest.MonkeyPatch) -> None:
    study = studied(timeline)
    whole, beside = by_source(study), from_beside(study)
    monkeypatch.setattr(circuit, "Register", Drawn)
    monkeypatch.setattr(Drawn, "rng", rng)
    for number in range(count):
        # of every other draw all values of one name are at one end: what a crew meets where all of them are wet, or old
        corner = {name: rng.choice((0.0, 1.0)) for name in ASSUMPTIONS} if number % 2 else {}
        monkeypatch.setattr(Drawn, "same", corner)
        found = list(outside(whole, beside, studied(timeline)))
        assert not found, (number, found[:3])


@pytest.mark.one_in(6)
@pytest.mark.parametrize("name", DRAWN)
def test_no_draw_of_what_is_assumed_is_outside(
    name: str, daily_seed: int, how_many: Callable[[int, int], int], monkeypatch: pytest.MonkeyPatch
) -> None:
    timeline = replayed((EXAMPLES / name).read_text("utf-8"))
    draw(timeline, random.Random(f"{name} {daily_seed}"), how_many(6, 1000), monkeypatch)


@pytest.mark.one_in(12)
@pytest.mark.parametrize("name", [*DRAWN, *map(str, range(60))])
def test_no_draw_is_outside_where_nothing_was_measured(
    name: str, daily_seed: int, how_many: Callable[[int, int], int], monkeypatch: pytest.MonkeyPatch
) -> None:
    """Of the examples without their measured values, and of sound plans that are made."""
    text = (EXAMPLES / name).read_text("utf-8") if name in DRAWN else sound_plan(int(name))
    timeline = replayed("\n".join(line for line in text.split("\n") if not line.startswith("measured")))
    draw(timeline, random.Random(f"bare {name} {daily_seed}"), how_many(2, 16), monkeypatch)


def test_two_values_that_do_nothing_alone_are_followed_together(monkeypatch: pytest.MonkeyPatch) -> None:
    """A bad strap on a pole that is dry, or a good one on a wet pole, has next to no voltage; both together have more
    than all else in reach, though the drop along the leads is the larger one in the middle of the bounds."""
    text = (EXAMPLES / "small-neutral.tpg").read_text("utf-8")
    bare = replayed("\n".join(line for line in text.split("\n") if not line.startswith("measured")))
    whole = studied(bare)
    monkeypatch.setattr(circuit, "Register", Drawn)
    wet = dict.fromkeys(ASSUMPTIONS, 1.0) | {"wood-pole-resistance": 0.0, "station-ground-resistance": 0.0}
    monkeypatch.setattr(Drawn, "same", wet)
    assert not list(outside(by_source(whole), from_beside(whole), studied(bare)))


def test_bounds_that_were_kept_are_those_found_anew(monkeypatch: pytest.MonkeyPatch, tmp_path: Path) -> None:
    """Of a revision that shares most of its states, and of one in which each value that matters to a key is another;
    from memory, and from a file of another run."""
    monkeypatch.setattr(extents, "KEPT", Store("circuits.db", 512, 10**8))
    monkeypatch.setattr(store, "_folder", tmp_path)
    text = (EXAMPLES / "single-point-insulator.tpg").read_text("utf-8")
    by_source(studied(replayed(text)))
    for old, new in (
        ("untag     S211", 'note "done"'),
        ("20 ft grade 2", "30 ft grade 2"),
        ("3.4 kA three", "3.6 kA three"),
    ):
        assert old in text
        again = text.replace(old, new)
        kept = {str(key): one for key, one in by_source(studied(replayed(again))).items()}
        extents.KEPT.clear()
        read = {str(key): one for key, one in by_source(studied(replayed(again))).items()}
        monkeypatch.setattr(extents, "KEPT", Store("circuits.db", 512, 10**8))
        monkeypatch.setattr(store, "_folder", None)
        anew = {str(key): one for key, one in by_source(studied(replayed(again))).items()}
        monkeypatch.setattr(store, "_folder", tmp_path)
        assert kept.keys() == anew.keys() == read.keys()
        for key, one in anew.items():
            np.testing.assert_allclose(kept[key].ends, one.ends, rtol=1e-9)
            np.testing.assert_allclose(kept[key].moved, one.moved, rtol=1e-6, atol=1e-12)
            assert (read[key].ends == kept[key].ends).all()
            assert (read[key].moved == kept[key].moved).all()
            assert read[key][2:4] == kept[key][2:4]
            np.testing.assert_array_equal(read[key].guess, kept[key].guess)
        by_source(studied(replayed(text)))


nodes = ["a", "b", "c", EARTH]
branches = st.lists(
    st.tuples(st.sampled_from(list(itertools.combinations(nodes, 2))), st.integers(-3, 3), st.integers(0, 3)),
    min_size=3,
    max_size=6,
)


@given(branches=branches)
@settings(max_examples=40, deadline=None)
def test_the_search_finds_what_trying_every_corner_finds(
    branches: list[tuple[tuple[str, str], int, int]],
) -> None:
    """Resistances from 1 mohm to 1 kohm, each of up to three decades; a current put into one node, a voltage taken."""
    kept = [(name, 1e3, 0) for name in (("a", EARTH), ("b", EARTH), ("c", EARTH))] + [
        (pair, 10.0**low, wide) for pair, low, wide in branches
    ]
    lows = [low for _, low, _ in kept]
    highs = [low * 10.0**wide for _, low, wide in kept]
    middles = [math.sqrt(low * high) for low, high in zip(lows, highs, strict=True)]
    pairs = tuple(pair for pair, _, _ in kept)
    asked, driven = ("a", "b"), ("c", EARTH)
    elements = [Impedance(f"z{k}", *pair, complex(middles[k])) for k, pair in enumerate(pairs)]
    push = CurrentSource("push", EARTH, "c", 1.0)
    z = port_impedances(Network(tuple(elements)), [frozenset()], (*pairs, asked, driven))
    assert isinstance(z, np.ndarray)
    n = len(pairs)
    y = 1 / np.array(middles)
    between = z[0, :n, :n]
    matrix = np.diag(y) - y[:, None] * between * y[None, :]
    chains = Chains(
        np.array([z[0, n, n + 1]]),
        (y * z[0, :n, n + 1])[None],
        (-z[0, n, :n] * y)[None],
        matrix[None].astype(complex),
        *(np.array([[np.array(limits) - middles, np.zeros(n)]], dtype=complex) for limits in (lows, highs)),
    )
    ends = [sorted({low, high}) for low, high in zip(lows, highs, strict=True)]
    variants = [
        Variant(str(k), tuple(Impedance(f"z{n}", *pairs[n], complex(value)) for n, value in enumerate(values)))
        for k, values in enumerate(itertools.product(*ends))
    ]
    network = Network((*elements, push))
    solution = solve(network, [frozenset()], [Scenario("on", (Energized("push"),))], variants=variants, pairs=(asked,))
    assert isinstance(solution, Solution)
    volts = solution.open_circuit(asked)
    assert isinstance(volts, Values)
    corners = np.abs(volts.values[0, :, 0])
    signed = volts.values[0, :, 0].real
    most, least = extremes(chains, True, "middle").magnitude[0], extremes(chains, False, "all").magnitude[0]
    assert most == pytest.approx(corners.max(), rel=1e-4, abs=1e-9)
    # where the corners lie on both sides of nothing, nothing lies between
    lowest = 0.0 if signed.min() < 0 < signed.max() else corners.min()
    assert least <= lowest * (1 + 1e-4) + 1e-9


@pytest.mark.parametrize("name", ["single-point-insulator.tpg", "small-neutral.tpg"])
def test_knowing_more_never_widens(name: str, seeds: Callable[[int, int], range]) -> None:
    text = (EXAMPLES / name).read_text("utf-8")
    study = studied(replayed(text))
    whole = {str(key): extent for key, extent in by_source(study).items()}
    used = study.site.register.used
    lines = text.split("\n")
    first = next(k for k, line in enumerate(lines) if line.startswith("source"))
    for seed in seeds(6, 150):
        rng = random.Random(f"{name} {seed}")
        said = "".join(
            f"measured {one} {times * (low + rng.random() * (high - low)):.9g} {unit}\n"
            for one, known in rng.sample(sorted(MEASURABLE.items()), 3)
            for low, high in [used[one].bounds if one in used else (known.low, known.high)]
            for times, unit in [UNITS[known.dimension]]
            if not re.search(rf"measured\s+{one}\b", text)
        )
        more = studied(replayed("\n".join([*lines[:first], said, *lines[first:]])))
        for key, extent in by_source(more).items():
            if (wide := whole.get(str(key))) is not None:
                inner, outer = deciding(key, extent.ends), deciding(key, wide.ends)
                assert inner[1] <= outer[1] * (1 + WIDER) + 1e-9, (seed, said, key)
                assert inner[0] >= outer[0] * (1 - WIDER) - 1e-9, (seed, said, key)


def test_a_least_current_that_is_slow_to_settle_is_not_given_up() -> None:
    """The jumper between the other two phases carries what one of them does in a three-phase fault, 2.4 kA at the
    least of 40,000 random draws. With the station's ground measured, the direction of the least went on turning."""
    text = (EXAMPLES / "single-point-insulator.tpg").read_text("utf-8")
    study = studied(replayed(text.replace("\nsource ", "\nmeasured station-ground-resistance 0.7 ohm\nsource ", 1)))
    found = [extent for key, extent in by_source(study).items() if getattr(key[2], "name", "") == "W3"]
    whole = [extent for extent in found if extent.ends[1].max() > 3000]  # with all three phases joined
    assert whole
    for extent in whole:
        assert extent.ends[0].max() > 2300, extent.ends


def test_a_largest_current_on_the_other_side_of_nothing_is_found(monkeypatch: pytest.MonkeyPatch) -> None:
    """Of leads that share a bracket's current one may carry it either way: 584 A where 130 A were found."""
    bare = "\n".join(line for line in sound_plan(43).split("\n") if not line.startswith("measured"))
    draw(replayed(bare), random.Random("bare 43 20261129"), 2, monkeypatch)


@pytest.mark.parametrize(
    ("plan", "number"),
    [
        # 2 % too high where the ground of a source and the way of a neutral do little by themselves
        (19, 73),
        # 23 % too high: least where both change ends, which neither does by itself
        (29, 44),
        # 0.7 % too low: largest at a corner to which no single move leads from the middle
        (40, 168),
    ],
)
def test_currents_at_corners_that_are_not_next_to_the_middle_are_within_bounds(
    plan: int, number: int, monkeypatch: pytest.MonkeyPatch
) -> None:
    bare = replayed("\n".join(line for line in sound_plan(plan).split("\n") if not line.startswith("measured")))
    whole = by_source(studied(bare))
    rng = random.Random(f"diag {plan} {number}")
    monkeypatch.setattr(circuit, "Register", Drawn)
    monkeypatch.setattr(Drawn, "rng", rng)
    monkeypatch.setattr(Drawn, "same", {one: rng.choice((0.0, 1.0)) for one in ASSUMPTIONS})
    assert not list(outside(whole, {}, studied(bare)))


def test_no_least_is_above_what_was_found_on_the_way() -> None:
    """Of the first plans in which it was, each quantity as it is followed."""
    found: list[tuple[float, float]] = []

    def kept(chains: Chains, largest: bool, begin: Begin, floor: FloatArray) -> Extreme:
        found_now = extremes(chains, largest, begin, floor)
        if not largest:
            found.extend(zip(found_now.magnitude.tolist(), np.abs(found_now.value).tolist(), strict=True))
        return found_now

    bare = "\n".join(line for line in sound_plan(32).split("\n") if not line.startswith("measured"))
    with pytest.MonkeyPatch.context() as patch:
        patch.setattr(following, "extremes", kept)
        patch.setattr(extents, "KEPT", Store("circuits.db", 512, 10**8))
        patch.setattr(store, "_folder", None)  # where another test may have left it
        assert by_source(studied(replayed(bare)))
    assert found
    assert all(low <= reached * (1 + 1e-9) for low, reached in found)


def test_what_the_search_reaches_is_what_the_circuit_has_there(monkeypatch: pytest.MonkeyPatch) -> None:
    """Each move of a value between a dry pole and a wet one took seven digits: currents of 1e17 and 1e43 A were found,
    and of a ground rod 1228 V where it has 113."""

    def kept(chains: Chains, largest: bool, begin: Begin, floor: FloatArray) -> Extreme:
        found = extremes(chains, largest, begin, floor)
        by = found.offset
        moved = np.eye(by.shape[1]) + chains.matrix * by[:, None, :]
        then = np.linalg.solve(moved, chains.current[:, :, None])[:, :, 0]
        there = chains.value - np.einsum("ck,ck->c", chains.row * by, then)
        mine = ~found.beaten
        np.testing.assert_allclose(found.value[mine], there[mine], rtol=1e-5, atol=1e-2)
        return found

    monkeypatch.setattr(following, "extremes", kept)
    monkeypatch.setattr(extents, "KEPT", Store("circuits.db", 512, 10**8))
    assert by_source(studied(replayed(THREE_SOURCES.read_text("utf-8"))))


def test_values_that_do_nothing_alone_do_not_carry_a_current_beyond_its_bound(monkeypatch: pytest.MonkeyPatch) -> None:
    """A lead of a made plan was found to carry at most 12 A of what a customer drives, and has 16.6."""
    monkeypatch.setattr(extents, "KEPT", Store("circuits.db", 512, 10**8))
    found = by_source(studied(replayed(THREE_SOURCES.read_text("utf-8"))))
    (most,) = (one.ends[1].max() for key, one in found.items() if (key[0], str(key[1]), str(key[2])) == LEAD_OF_TWO)
    assert most > 16.55


THREE_SOURCES = Path(__file__).parent / "three_sources.tpg"
"""A sound plan as it was made, since what a seed makes changes."""

LEAD_OF_TWO = (20, "Solar", "G9")

WIDER = 0.06
"""What is not followed may add that much to bounds: six times its share, at either end."""

UNITS = {
    "resistance": (1, "ohm"),
    "temperature": (1, "C"),
    "length": (1, "m"),
    "resistivity": (1, "ohm m"),
    "number": (100, "%"),
}


def test_a_relay_that_may_not_see_a_fault_that_two_feed_has_its_times_in_order() -> None:
    """A fuse whose sides are not stated may stand before either source, so that the other may feed the line as well."""
    study = studied(replayed((Path(__file__).parent / "two_may_feed.tpg").read_text(encoding="utf-8")))
    found = 0
    for source in study.site.sources:
        for at in study.epochs:
            times = study.times(source, at)
            if isinstance(times, Unknown):
                continue
            assert (times[0] <= times[1]).all()
            for column in times.T:
                low, high = ends(study.lasting(column, source, at))
                found += low < high
    assert found
