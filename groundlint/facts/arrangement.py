"""Facts about structures: what stands there, who works there, what is joined and grounded, how far the grounds are."""

from __future__ import annotations

from collections.abc import Callable, Iterable
from itertools import combinations

from groundlint.facts.answers import Answer, Lines, all_of, any_of, negated, settled, where_stated
from groundlint.facts.catalogue import Fact, fact
from groundlint.facts.plan_facts import neutral_multigrounded, neutral_of, shields_of
from groundlint.facts.points import attached, is_electrode, is_grounded, is_joined, phase_points
from groundlint.facts.trace import PlanTrace
from groundlint.plan.models import Bar, Conductor, PointRef, Structure, Vault
from groundlint.steps import AT_WORK
from groundlint.values import Gap, Unknown

# ---- what a structure is ----


@fact(
    "material",
    "structure",
    returns=("wood", "steel", "concrete"),
    timed=False,
    lines=where_stated("material"),
    meaning="what it is made of; none for a vault",
)
def material(_case: PlanTrace, _at: int, structure: Structure) -> str | Unknown | None:
    if isinstance(structure, Vault):
        return None
    if structure.material is None:
        write = f"structure {structure} wood pole"
        return Unknown.of(f"the material of structure {structure}", write, structure.span)
    return structure.material


@fact("on-route", "structure", timed=False, meaning="the line's route goes through it")
def on_route(case: PlanTrace, _at: int, structure: Structure) -> Answer:
    if structure.order is not None:
        return True
    return False if case.plan.route else _off_route(case, structure)


@fact(
    "pole-ground",
    "structure",
    timed=False,
    lines=where_stated("pole_ground"),
    meaning="it has a down-lead to a ground at its butt",
)
def pole_ground(_case: PlanTrace, _at: int, structure: Structure) -> Answer:
    if structure.pole_ground:
        return True
    if "pole_ground" in structure.places or isinstance(structure, Vault):
        return False
    write = f"structure {structure} with pole ground"
    return Unknown.of(f"whether structure {structure} has a pole ground", write, structure.span)


@fact(
    "has-ground-available",
    "structure",
    timed=False,
    lines=where_stated("material"),
    meaning="a multigrounded neutral, a pole ground or steel is here to ground to",
)
def has_ground_available(case: PlanTrace, at: int, structure: Structure) -> Answer:
    of = material.compute(case, at, structure)
    return any_of(
        (
            neutral_multigrounded.compute(case, at, case.plan),
            pole_ground.compute(case, at, structure),
            of if isinstance(of, Unknown) else of == "steel",
        )
    )


# ---- who works there ----


def _entering(case: PlanTrace, _at: int, structure: Structure) -> Lines:
    return tuple(case.line_of(at) for at in case.steps_naming(AT_WORK, structure)[:1])


@fact(
    "worksite",
    "structure",
    timed=False,
    lines=_entering,
    meaning="somebody works there at some step of the plan, who does not only stand by on the ground and reach nothing",
)
def worksite(case: PlanTrace, _at: int, structure: Structure) -> Answer:
    return case.worksite(structure)


@fact("occupied", "structure", meaning="somebody is in place there")
def occupied(case: PlanTrace, at: int, structure: Structure) -> Answer:
    def there(person: object) -> Answer:
        found = case.person_structure(at, person)
        return found if isinstance(found, Unknown) else found is structure

    return any_of(there(person) for person in case.timeline.people_in_place(at))


# ---- what is joined and grounded there ----


@fact("phases-joined", "structure", lines=attached, meaning="the phase conductors here are joined to one another here")
def phases_joined(case: PlanTrace, at: int, structure: Structure) -> Answer:
    found: Answer = case.once_while("joined", at, structure, _phases_joined)
    return found


def _phases_joined(case: PlanTrace, at: int, structure: Structure) -> Answer:
    points = phase_points(case, structure)
    if isinstance(points, Unknown):
        return points
    return all_of(is_joined(case, at, points[0], point, local=True) for point in points[1:])


@fact(
    "grounded",
    "structure",
    lines=attached,
    meaning="the phase conductors here are joined to one another and to an electrode, here",
)
def grounded(case: PlanTrace, at: int, structure: Structure) -> Answer:
    found: Answer = case.once_while("grounded", at, structure, _grounded)
    return found


def _grounded(case: PlanTrace, at: int, structure: Structure) -> Answer:
    points = phase_points(case, structure)
    if isinstance(points, Unknown):
        return points
    joined: Answer = phases_joined.compute(case, at, structure)
    if joined is False:
        return False
    return all_of((joined, *(is_grounded(case, at, point, local=True) for point in points)))


@fact(
    "phases-apart",
    "structure",
    lines=attached,
    meaning="two phase conductors are each joined to an electrode here and not to one another",
)
def phases_apart(case: PlanTrace, at: int, structure: Structure) -> Answer:
    found: Answer = case.once_while("apart", at, structure, _phases_apart)
    return found


def _phases_apart(case: PlanTrace, at: int, structure: Structure) -> Answer:
    points = phase_points(case, structure)
    if isinstance(points, Unknown):
        return points
    return any_of(
        all_of((
            is_grounded(case, at, one, local=True),
            is_grounded(case, at, other, local=True),
            negated(is_joined(case, at, one, other, local=True)),
        ))
        for one, other in combinations(points, 2)
    )  # fmt: skip


def _wire_joined(case: PlanTrace, at: int, structure: Structure, found: Conductor) -> Answer:
    points = phase_points(case, structure)
    if isinstance(points, Unknown):
        return points
    other = PointRef("conductor", structure, found)
    return all_of(is_joined(case, at, other, point, local=True) for point in points)


@fact(
    "neutral-joined",
    "structure",
    lines=attached,
    meaning="the neutral is joined to the phase conductors here; false where the line has none",
)
def neutral_joined(case: PlanTrace, at: int, structure: Structure) -> Answer:
    found = neutral_of(case)
    return _wire_joined(case, at, structure, found) if isinstance(found, Conductor) else found


@fact(
    "shield-joined",
    "structure",
    lines=attached,
    meaning="each shield wire is joined to the phase conductors here; false where the line has none",
)
def shield_joined(case: PlanTrace, at: int, structure: Structure) -> Answer:
    found = shields_of(case)
    if isinstance(found, Unknown):
        return found
    return bool(found) and all_of(_wire_joined(case, at, structure, one) for one in found)


@fact(
    "personal-ground",
    "structure",
    lines=attached,
    meaning="a bar on it, or its steel, is joined here to a phase conductor here",
)
def personal_ground(case: PlanTrace, at: int, structure: Structure) -> Answer:
    points = phase_points(case, structure)
    if isinstance(points, Unknown):
        return points

    def from_bars() -> Iterable[Answer]:
        for bar in case.all(Bar):
            here = case.bar_structure(at, bar)
            if here is structure or isinstance(here, Unknown):
                point = PointRef("bar", None, bar)
                joined = any_of(is_joined(case, at, point, phase, local=True) for phase in points)
                yield joined if here is structure or joined is False else (here if isinstance(here, Unknown) else False)
        if structure.material != "wood":
            steel = PointRef("steel", structure)
            joined = any_of(is_joined(case, at, steel, phase, local=True) for phase in points)
            of = material.compute(case, at, structure)
            yield joined if structure.material is not None or joined is False else of

    return any_of(from_bars())


@fact(
    "rod-alone",
    "structure",
    lines=attached,
    meaning="the phase conductors here reach earth here only through temporary rods",
)
def rod_alone(case: PlanTrace, at: int, structure: Structure) -> Answer:
    return _alone(case, at, structure, "rod")


@fact(
    "neutral-alone",
    "structure",
    lines=attached,
    meaning="the phase conductors here reach earth here only through the neutral",
)
def neutral_alone(case: PlanTrace, at: int, structure: Structure) -> Answer:
    return _alone(case, at, structure, "conductor")


def _alone(case: PlanTrace, at: int, structure: Structure, sort: str) -> Answer:
    """Whether the phases reach earth here through electrodes of one sort, and through no other."""
    points = phase_points(case, structure)
    if isinstance(points, Unknown):
        return points
    reached = [
        (electrode, phase)
        for phase in points
        for electrode in case.timeline.electrodes(at, phase, local=True, possibly=True)
    ]

    def of(this: bool) -> Answer:
        return any_of(
            all_of((is_electrode(case, at, electrode), is_joined(case, at, phase, electrode, local=True)))
            for electrode, phase in reached
            if (electrode.sort == sort) is this
        )

    return all_of((of(True), negated(of(False))))


# ---- where the grounds are, along the line ----


def _off_route(_case: PlanTrace, structure: Structure) -> Unknown:
    return Unknown.of(f"where structure {structure} is on the route", "route 211 (52 m) 212 (48 m) 213", structure.span)


def _continuous(case: PlanTrace, at: int, one: Structure, other: Structure) -> Answer:
    """Whether every phase conductor runs from one structure to the other, through spans, closed switches and leads."""
    if one is other:
        return True
    ones, others = phase_points(case, one), phase_points(case, other)
    if isinstance(ones, Unknown) or isinstance(others, Unknown):
        return ones if isinstance(ones, Unknown) else others if isinstance(others, Unknown) else False
    return all_of(is_joined(case, at, a, b, local=False) for a, b in zip(ones, others, strict=True))


def _ground_between(case: PlanTrace, at: int, here: Structure, low: int, high: int) -> Answer:
    """Whether a structure of these places on the route is grounded and its conductors run to here."""
    route = case.plan.route
    nearest = sorted(route[low : high + 1], key=lambda s: abs((s.order or 0) - (here.order or 0)))
    return any_of(_effective(case, at, here, structure) for structure in nearest)


def _effective(case: PlanTrace, at: int, here: Structure, structure: Structure) -> Answer:
    found = grounded.compute(case, at, structure)
    return found if found is False else all_of((found, _continuous(case, at, here, structure)))


def _side(name: str, meaning: str, stretch: Callable[[int, int], tuple[int, int]]) -> Fact:
    """A fact of a structure: one of those from the first to the last of a stretch of the route is grounded, by its own
    place in it and that of the route's last."""

    @fact(name, "structure", lines=attached, meaning=meaning)
    def compute(case: PlanTrace, at: int, structure: Structure) -> Answer:
        if structure.order is None:
            return _off_route(case, structure)
        return _ground_between(case, at, structure, *stretch(structure.order, len(case.plan.route) - 1))

    return compute


first_side_grounded = _side(
    "first-side-grounded",
    "it, or a structure toward the first end of the route, is grounded",
    lambda here, _last: (0, here),
)
last_side_grounded = _side(
    "last-side-grounded",
    "it, or a structure toward the last end of the route, is grounded",
    lambda here, last: (here, last),
)
first_side_bracketed = _side(
    "first-side-bracketed",
    "another structure toward the first end of the route is grounded; it itself counts where it is that end",
    lambda here, _last: (0, max(here - 1, 0)),
)
last_side_bracketed = _side(
    "last-side-bracketed",
    "another structure toward the last end of the route is grounded; it itself counts where it is that end",
    lambda here, last: (min(here + 1, last), last),
)


@fact("between-grounds", "structure", lines=attached, meaning="grounds stand toward both ends of the route, or here")
def between_grounds(case: PlanTrace, at: int, structure: Structure) -> Answer:
    return all_of((first_side_grounded.compute(case, at, structure), last_side_grounded.compute(case, at, structure)))


@fact(
    "source-side-grounded",
    "structure",
    lines=attached,
    meaning="it is grounded, or a structure toward each source is; toward both ends for a source anywhere",
)
def source_side_grounded(case: PlanTrace, at: int, structure: Structure) -> Answer:
    gap = case.closed("source")
    here = structure.order
    if here is None:
        return _off_route(case, structure)
    if not case.sources:
        return Unknown((gap or Gap("which the sources are", "source West beyond 211", case.plan.start),))

    def toward() -> Iterable[Answer]:
        for source in case.sources:
            there = source.at.order if source.at is not None else None
            if not source.located:
                yield between_grounds.compute(case, at, structure)
            elif there is None:
                yield Unknown.of(f"where source {source} feeds in", f"source {source} beyond 211", source.span)
            else:
                yield _ground_between(case, at, structure, min(here, there), max(here, there))
        if gap is not None:
            yield Unknown((gap,))

    return all_of(toward())


# ---- distances ----


def _length(case: PlanTrace, one: Structure, other: Structure) -> float | Unknown:
    if one is other:
        return 0.0
    if one.order is None or other.order is None:
        return _off_route(case, one if one.order is None else other)
    total, missing = 0.0, None
    low, high = min(one.order, other.order), max(one.order, other.order)
    for structure, following in zip(case.plan.route[low:high], case.plan.route[low + 1 :], strict=False):
        if structure.span_after is None:
            write = f"route {structure} (52 m) {following}"
            gap = Unknown.of(f"the length of the span from {structure} to {following}", write, structure.span)
            missing = gap if missing is None else missing | gap
        else:
            total += structure.span_after
    return total if missing is None else missing


@fact(
    "distance",
    "structure",
    "structure",
    returns="length",
    timed=False,
    unit="ft",
    lines=where_stated("span_after"),
    meaning="length of the spans from it to that structure",
)
def distance(case: PlanTrace, _at: int, structure: Structure, other: Structure) -> float | Unknown:
    return _length(case, structure, other)


@fact(
    "spans-to",
    "structure",
    "structure",
    returns="number",
    timed=False,
    lines=where_stated("order"),
    meaning="how many spans are from it to that structure",
)
def spans_to(case: PlanTrace, _at: int, structure: Structure, other: Structure) -> float | Unknown:
    if structure is other:
        return 0.0
    if structure.order is None or other.order is None:
        return _off_route(case, structure if structure.order is None else other)
    return float(abs(structure.order - other.order))


@fact(
    "neighbour-span-distance",
    "structure",
    returns="length",
    timed=False,
    unit="ft",
    lines=where_stated("span_after"),
    meaning="length of the longer of the spans beside it; none where it has none",
)
def neighbour_span_distance(case: PlanTrace, _at: int, structure: Structure) -> float | Unknown | None:
    route = case.plan.route
    if structure.order is None:
        return _off_route(case, structure)
    beside = route[max(0, structure.order - 1) : structure.order + 2]
    found = [_length(case, structure, other) for other in beside if other is not structure]
    unknown = next((length for length in found if isinstance(length, Unknown)), None)
    if unknown is not None:
        return unknown
    return max((length for length in found if not isinstance(length, Unknown)), default=None)


@fact(
    "nearest-ground",
    "structure",
    returns="length",
    unit="ft",
    lines=attached,
    meaning="distance along the line to the nearest grounded structure; none where there is none",
)
def nearest_ground(case: PlanTrace, at: int, structure: Structure) -> float | Unknown | None:
    if structure.order is None:
        return _off_route(case, structure)
    lengths = [(other, _length(case, structure, other)) for other in case.plan.route]
    known = [(other, length) for other, length in lengths if not isinstance(length, Unknown)]
    nearest: float | Unknown | None = None
    for other, length in sorted(known, key=lambda entry: entry[1]):
        found = _effective(case, at, structure, other)
        if found is not False:
            nearest = found if isinstance(found, Unknown) else length
            break
    if nearest != 0:  # a ground at a distance that is not stated may be nearer
        for other, away in lengths:
            if isinstance(away, Unknown) and _effective(case, at, structure, other) is not False:
                return away
    return nearest


@fact(
    "spans-to-ground",
    "structure",
    returns="number",
    lines=attached,
    meaning="how many spans are to the grounded structure fewest away; none where there is none",
)
def spans_to_ground(case: PlanTrace, at: int, structure: Structure) -> float | Unknown | None:
    if structure.order is None:
        return _off_route(case, structure)
    here = structure.order
    for other in sorted(case.plan.route, key=lambda s: abs((s.order or 0) - here)):
        found = _effective(case, at, structure, other)
        if isinstance(found, Unknown):
            return found
        if found:
            return float(abs((other.order or 0) - here))
    return None


@fact("feedable", "structure", meaning="a source could reach a phase conductor here now")
def feedable(case: PlanTrace, at: int, structure: Structure) -> Answer:
    points = phase_points(case, structure)
    if isinstance(points, Unknown):
        return points
    return any_of(settled(case.timeline.feeding(at, point), lambda: case.plan.source_gap) for point in points)
