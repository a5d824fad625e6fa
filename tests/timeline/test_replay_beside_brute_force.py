"""What the replay says hangs together, held against every world that the plan allows, each worked out from nothing.

Where the plan leaves something open (a structure's material, a switch's position, the side of a cut that a clamp is
on, the place of a lead's end), each way it could be is a world. TRUE must hold in all of them and FALSE in none; where
nothing is left open, the answer is exact.
"""

from __future__ import annotations

from itertools import islice, product
from math import prod
from typing import Any

from hypothesis import given, settings
from hypothesis import strategies as st

from groundlint.plan.models import PointRef, Structure
from groundlint.timeline import FAR, NEAR
from groundlint.values import FALSE, TRUE, Truth, Unknown

POINTS = ["211 A", "212 A", "213 A", "212 B", "212 N", "211 steel", "212 pole", "K1", "R1", "TRUCK"]
MOST_WORLDS = 300  # where there are more, every second, third, ... is taken
LEADS = ["G1", "G2", "G3", "G4"]
STEP = st.one_of(
    st.tuples(st.just("attach"), st.sampled_from(LEADS), st.sampled_from(POINTS)),
    st.tuples(st.just("attach"), st.sampled_from(LEADS), st.sampled_from(POINTS)),
    st.tuples(st.just("attach"), st.sampled_from(LEADS), st.sampled_from(POINTS)),
    st.tuples(st.just("detach"), st.sampled_from(LEADS), st.sampled_from(POINTS)),
    st.tuples(st.just("lift"), st.sampled_from(LEADS), st.sampled_from(POINTS)),
    st.tuples(st.just("set"), st.just("R1"), st.just("211")),
    st.tuples(st.just("mount"), st.just("K1"), st.sampled_from(["211", "212"])),
    st.tuples(st.just("dismount"), st.just("K1")),
    st.tuples(st.just("cut"), st.sampled_from(["212 A", "211 A"])),
    st.tuples(st.just("join"), st.sampled_from(["212 A", "211 A"])),
    st.tuples(st.just("across"), st.sampled_from(["212 A", "211 A"])),
    st.tuples(st.just("unbond"), st.sampled_from(["212 A", "211 A", "TRUCK"])),
    st.tuples(st.just("bond"), st.just("TRUCK"), st.sampled_from(["K1", "R1", "212 A"])),
    st.tuples(st.just("open")),
    st.tuples(st.just("close")),
)
OPEN_STEP = st.one_of(STEP, st.tuples(st.just("attach"), st.sampled_from(LEADS[:2]), st.just("?")))


def write(site: Any, steps: list[tuple]) -> None:
    """The steps as actions of a plan."""
    for step in steps:
        match step:
            case ("attach" | "detach" | "lift", lead, point):
                site.do(step[0], lead=lead, point=point, stick="H1")
            case ("set", rod, structure):
                site.do("set", rod=rod, structure=structure)
            case ("mount", bar, structure):
                site.do("mount", bar=bar, structure=structure)
            case ("dismount", bar):
                site.do("dismount", bar=bar)
            case ("cut" | "join", point):
                site.do(step[0], point=point)
            case ("across", point):
                site.do("bond", first=point, second=f"{point} far", across=True)
            case ("bond", first, second):
                site.do("bond", first=first, second=second)
            case ("unbond", first):
                site.do("unbond", first=first)
            case ("open" | "close",):
                site.do(step[0], switch="SPAN")


class State:
    """The state of things after some steps, by the simplest means."""

    def __init__(self, switch: str | None) -> None:
        self.ends: dict[str, list[str]] = {}
        self.bonds: list[tuple[str, str]] = []
        self.rods: set[str] = set()
        self.bars: dict[str, str] = {}
        self.cut: set[str] = set()
        self.switch = switch

    def take(self, step: tuple) -> None:
        match step:
            case ("attach", lead, point):
                on = self.ends.setdefault(lead, [])
                if len(on) < 2 and (point == "?" or point not in on):
                    on.append(point)
            case ("detach" | "lift", lead, point):
                on = self.ends.get(lead, [])
                gone = point if point in on else "?" if "?" in on else None
                if gone is not None:
                    on.remove(gone)
            case ("set", rod, _):
                self.rods.add(rod)
            case ("mount", bar, structure):
                self.bars[bar] = structure
            case ("dismount", bar):
                self.bars.pop(bar, None)
            case ("cut", point):
                self.cut.add(point)
            case ("join", point):
                self.cut.discard(point)
            case ("across", point):
                self.bonds.append((point, f"{point} far"))
            case ("bond", first, second):
                self.bonds.append((first, second))
            case ("unbond", first):
                gone = [b for b in self.bonds if b[0] == first] or [b for b in self.bonds if first in b]
                self.bonds = [b for b in self.bonds if b not in gone]
            case ("open",):
                self.switch = "open"
            case ("close",):
                self.switch = "closed"

    def worlds(self, materials: dict[str, str | None]) -> Any:
        """Every way the things left open could be, as edges along the line, edges at one place, and electrodes."""
        choices: list[list[tuple[Any, Any]]] = []
        for structure, material in materials.items():
            choices.append([(("material", structure), m) for m in ([material] if material else ["steel", "wood"])])
        states = [self.switch] if self.switch else ["open", "closed"]
        choices.append([(("switch",), s) for s in states])
        for lead, on in self.ends.items():
            if len(on) == 2:
                for index, point in enumerate(on):
                    if point == "?":
                        choices.append([(("place", lead, index), p) for p in [*POINTS, "213 N"]])
        for point in sorted(self.cut):
            bridged = any(b == (point, f"{point} far") for b in self.bonds)
            sides = ["near"] if bridged else ["near", "far"]
            choices.append([(("side", point), side) for side in sides])
        total = prod(len(choice) for choice in choices)
        for combination in islice(product(*choices), 0, None, total // MOST_WORLDS + 1):
            yield self._world(dict(combination))

    def _world(self, world: dict[Any, Any]) -> tuple[list, list, set]:
        along: list[tuple[str, str]] = []
        here: list[tuple[str, str]] = []
        ground: set[str] = set()
        for conductor in ("A", "B", "C", "N"):
            for one, other in (("211", "212"), ("212", "213")):
                if (one, other) == ("212", "213") and conductor != "N" and world[("switch",)] == "open":
                    continue
                along.append((f"{one} {conductor} far", f"{other} {conductor} near"))
            for structure in ("211", "212", "213"):
                point = f"{structure} {conductor}"
                if point not in self.cut:
                    along.append((point, f"{point} near"))
                    here.append((point, f"{point} far"))
                else:
                    along.append((point, f"{point} {world['side', point]}"))
        for structure in ("211", "212", "213"):
            if world["material", structure] == "steel":
                here += [(f"{structure} pole", f"{structure} steel")]
                ground.add(f"{structure} steel")
            ground.add(f"{structure} N")
        for bar, structure in self.bars.items():
            here.append((bar, f"{structure} pole"))
        for lead, on in self.ends.items():
            if len(on) == 2:
                one, other = (world.get(("place", lead, i), p) for i, p in enumerate(on))
                here.append((one, other))
        here += self.bonds
        return along + here, here, ground | self.rods


def together(edges: list[tuple[str, str]], start: str) -> set[str]:
    """All that hangs together with a node, by sweeping the edges until nothing changes."""
    seen = {start}
    while True:
        more = {b for a, b in edges if a in seen} | {a for a, b in edges if b in seen}
        if more <= seen:
            return seen
        seen |= more


def check(site: Any, steps: list[tuple], materials: dict[str, str | None], switch: str | None, exact: bool) -> None:
    write(site, steps)
    timeline = site.run()
    state = State(switch)
    asked = ["211 A", "212 A", "213 A", "212 A far", "212 B", "K1", "R1", "TRUCK", "212 pole"]
    refs = {name: site.point(name) for name in asked}
    for at in range(len(steps) + 1):
        if at:
            state.take(steps[at - 1])
        worlds = list(state.worlds(materials))
        whole = exact and len(worlds) == 1
        for local in (False, True):
            found = [({n: together(w[1 if local else 0], n) for n in asked}, w[2]) for w in worlds]
            for one in asked:
                truths = [bool(groups[one] & ground) for groups, ground in found]
                agree(timeline.grounded(at, refs[one], local), truths, whole, (at, one, local))
                for other in asked:
                    if one == other:
                        continue
                    truths = [other in groups[one] for groups, _ in found]
                    agree(timeline.joined(at, refs[one], refs[other], local), truths, whole, (at, one, other, local))


def agree(answer: Truth | Unknown, truths: list[bool], exact: bool, where: object) -> None:
    """TRUE in all worlds, FALSE in none; unknown only where something is left open."""
    if answer is TRUE:
        assert all(truths), where
    elif answer is FALSE:
        assert not any(truths), where
    else:
        assert isinstance(answer, Unknown), where
        assert answer.gaps, where
        assert not exact, where


def make(site: Any, material: str | None, switch: str | None) -> Any:
    from groundlint.plan.models import Switch

    made = site(material=material)
    span = Switch(name="SPAN", span=made.span(0), sides=(made["212"], made["213"]), position=switch)
    made.add(span)
    return made


@settings(max_examples=100, deadline=None)
@given(st.lists(STEP, max_size=25), st.sampled_from(["wood", "steel"]), st.sampled_from(["open", "closed"]))
def test_where_nothing_is_left_open_the_answer_is_exact(
    site_class: Any, steps: list[tuple], material: str, switch: str
) -> None:
    check(make(site_class, material, switch), steps, dict.fromkeys(("211", "212", "213"), material), switch, True)


@settings(max_examples=100, deadline=None)
@given(
    st.lists(OPEN_STEP, max_size=14),
    st.sampled_from(["wood", "steel", None]),
    st.sampled_from(["open", "closed", None]),
)
def test_what_is_left_open_is_never_reported_as_known(
    site_class: Any, steps: list[tuple], material: str | None, switch: str | None
) -> None:
    check(make(site_class, material, switch), steps, dict.fromkeys(("211", "212", "213"), material), switch, False)


def test_a_lead_from_a_cut_to_a_place_not_reported_may_join_either_side_of_it(site: Any) -> None:
    for at, steps in enumerate(
        (
            [("attach", "G1", "211 A"), ("attach", "G1", "?"), ("cut", "211 A")],
            [("cut", "211 A"), ("attach", "G1", "?"), ("attach", "G1", "211 A")],
            [("cut", "211 A"), ("attach", "G1", "211 A"), ("attach", "G1", "?")],
        )
    ):
        made = site()
        write(made, steps)
        timeline = made.run()
        for point in ("212 A", "211 A", "211 A far"):
            assert isinstance(timeline.grounded(3, made.point(point)), Unknown), (at, point)


@settings(max_examples=100, deadline=None)
@given(st.lists(OPEN_STEP, max_size=20), st.sampled_from(["wood", None]))
def test_local_answers_change_only_where_the_timeline_says(
    site_class: Any, steps: list[tuple], material: str | None
) -> None:
    made = make(site_class, material, None)
    write(made, steps)
    timeline = made.run()
    asked = [made.point(name) for name in ("211 A", "212 A", "212 A far", "212 B", "K1", "R1", "TRUCK", "212 pole")]
    changes = {point: timeline.joint_changes(point) for point in asked}
    for at in range(1, timeline.n + 1):
        for one in asked:
            if at not in changes[one]:
                assert isinstance(timeline.grounded(at, one, True), Unknown) == isinstance(
                    timeline.grounded(at - 1, one, True), Unknown
                )
            for other in asked:
                if at not in changes[one] | changes[other]:
                    before, after = (timeline.joined(i, one, other, True) for i in (at - 1, at))
                    assert isinstance(before, Unknown) == isinstance(after, Unknown)
                    assert isinstance(before, Unknown) or before == after


def test_the_sorts_of_the_sides_of_a_cut_are_those_the_plan_uses(site: Any) -> None:
    made = site()
    assert made.point("212 A far") == PointRef(FAR, made["212"], made["A"])
    assert made.point("212 A near") == PointRef(NEAR, made["212"], made["A"])
    assert isinstance(made["212"], Structure)
