"""Facts about people: briefing, where they stand, what they reach, and whether that is one zone."""

from __future__ import annotations

import itertools
from typing import NamedTuple

from groundlint.facts.answers import Answer, all_of, any_of, by_change, negated, settled
from groundlint.facts.catalogue import Fact, fact
from groundlint.facts.equipment import BUCKETS, body, insulated
from groundlint.facts.plan_facts import neutral_multigrounded, neutral_of, shields_of
from groundlint.facts.points import is_grounded, is_joined, phase_points, structure_of_point
from groundlint.facts.trace import PlanTrace
from groundlint.plan.models import Conductor, Neighbour, Person, Plan, PointRef, Structure, Vehicle
from groundlint.values import Gap, Unknown
from groundlint.world.world import UNSETTLED, Holder

ROLES = ("lineman", "groundman", "foreman", "supervisor", "apprentice", "operator", "observer")


@fact("role", "person", returns=ROLES, timed=False, meaning="what the person is in the crew")
def role(_case: PlanTrace, _at: int, person: Person) -> str:
    found = person.role.lower()
    return {"linesman": "lineman", "lineworker": "lineman", "groundworker": "groundman"}.get(found, found)


@fact("qualified", "person", timed=False, meaning="the person is stated to be a qualified person")
def qualified(_case: PlanTrace, _at: int, person: Person) -> Answer:
    if person.qualified is None:
        return Unknown.of(f"whether {person} is qualified", f"crew lineman {person} qualified", person.span)
    return person.qualified


@fact("briefed", "person", lines=by_change("briefed"), meaning="the person has had the job briefing")
def briefed(case: PlanTrace, at: int, person: Person) -> bool:
    return bool(case.timeline.briefed(at, person))


@fact(
    "cleared",
    "person",
    lines=by_change("clearance"),
    meaning="the person, another of the same crew, or who is in charge for that crew and others, holds a clearance",
)
def cleared(case: PlanTrace, at: int, person: Person) -> Answer:
    def same(holder: Holder) -> bool:
        if isinstance(holder, Person) and person.under == holder.name:
            return True
        return holder is person or (person.crew is not None and person.crew in (holder, getattr(holder, "crew", None)))

    surely, perhaps = case.timeline.holders(at), case.timeline.holders(at, UNSETTLED)
    if any(map(same, surely)):
        return True
    anybody = (*surely, *perhaps)
    if None in anybody or any(map(same, perhaps)) or (anybody and person.crew is None):
        return Unknown.of(f"which crew holds the clearance for {person}", "clearance received by L1", person.span)
    return False


@fact(
    "holding",
    "person",
    lines=by_change("clearance"),
    meaning="the person, or the person's crew by its name, holds a clearance",
)
def holding(case: PlanTrace, at: int, person: Person) -> Answer:
    held = [case.timeline.holds_clearance(at, one) for one in (person, person.crew) if one is not None]
    if True in held:
        return True
    if None in held:
        return Unknown.of(f"whether {person} holds the clearance", f"clearance received by {person}", person.span)
    return False


@fact("in-place", "person", lines=by_change("stands"), meaning="the person is at a place of work")
def in_place(case: PlanTrace, at: int, person: Person) -> bool:
    return case.timeline.stand(at, person) is not None


@fact(
    "reaching", "person", "point", lines=by_change("stands"), meaning="the person is in place and can reach that point"
)
def reaching(case: PlanTrace, at: int, person: Person, point: PointRef) -> Answer:
    return case.reaches(at, person, point)


@fact(
    "reach-stated",
    "person",
    lines=by_change("stands"),
    meaning="while in place, all that the person can reach is stated",
)
def reach_stated(case: PlanTrace, at: int, person: Person) -> Answer:
    if case.timeline.stand(at, person) is None:
        return False
    found = case.reach(at, person)
    return found if isinstance(found, Unknown) else True


@fact("gloved", "person", lines=by_change("gloves"), meaning="the person wears rubber gloves")
def gloved(case: PlanTrace, at: int, person: Person) -> Answer:
    return settled(
        case.timeline.gloved(at, person),
        lambda: Gap(f"whether {person} wears rubber gloves", f"gloves on {person}", person.span),
    )


@fact(
    "stand",
    "person",
    returns="point",
    lines=by_change("stands"),
    meaning="what the person stands on; none while not in place",
)
def stand(case: PlanTrace, at: int, person: Person) -> PointRef | Unknown | None:
    return case.stand_point(at, person)


@fact("on-ground", "person", lines=by_change("stands"), meaning="the person is in place and stands on the ground")
def on_ground(case: PlanTrace, at: int, person: Person) -> Answer:
    found = case.stand_point(at, person)
    return found if isinstance(found, Unknown) else found is not None and found.sort == "earth"


@fact("on-structure", "person", lines=by_change("stands"), meaning="the person is in place on the pole or steel")
def on_structure(case: PlanTrace, at: int, person: Person) -> Answer:
    found = case.stand_point(at, person)
    return found if isinstance(found, Unknown) else found is not None and found.sort in ("pole", "steel")


@fact("in-bucket", "person", lines=by_change("stands"), meaning="the person is in place in a bucket or on a lift")
def in_bucket(case: PlanTrace, at: int, person: Person) -> Answer:
    found = case.stand_point(at, person)
    if isinstance(found, Unknown):
        return found
    if found is None or not isinstance(found.thing, Vehicle):
        return False
    of = body.compute(case, at, found.thing)
    return of if isinstance(of, Unknown) else of in BUCKETS


@fact(
    "structure",
    "person",
    returns="structure",
    lines=by_change("stands"),
    meaning="the structure at which the person is; none while not in place",
)
def structure_of_person(case: PlanTrace, at: int, person: Person) -> Structure | Unknown | None:
    return case.person_structure(at, person)


@fact(
    "vehicle",
    "person",
    returns="vehicle",
    lines=by_change("stands"),
    meaning="the vehicle that the person stands in, or none",
)
def vehicle_of_person(case: PlanTrace, at: int, person: Person) -> Vehicle | Unknown | None:
    found = case.stand_point(at, person)
    if isinstance(found, Unknown):
        return found
    return found.thing if found is not None and isinstance(found.thing, Vehicle) else None


class Zone(NamedTuple):
    """All that a person touches or can reach; the bucket of it that may be insulated, and what leaves that open."""

    points: tuple[PointRef, ...]
    bucket: PointRef | None = None
    doubt: Unknown | None = None


def zone_points(case: PlanTrace, at: int, person: Person) -> Zone | Unknown | None:
    """The zone of a person in place, without the floor of an insulated bucket; None while not in place."""
    reach, under = case.reach(at, person), case.stand_point(at, person)
    if reach is None or under is None:
        return None
    if isinstance(reach, Unknown):
        return reach | under if isinstance(under, Unknown) else reach
    if isinstance(under, Unknown):
        return under
    if isinstance(under.thing, Vehicle):
        dry = insulated.compute(case, at, under.thing)
        if dry is True:
            return Zone(tuple(point for point in reach if point != under))
        if isinstance(dry, Unknown):
            return Zone((*reach, under), under, dry)
    return Zone((*reach, under))


def _zone_joined(case: PlanTrace, at: int, person: Person, *, local: bool) -> Answer:
    found = zone_points(case, at, person)
    if found is None:
        return False
    if isinstance(found, Unknown):
        return found
    points = tuple(dict.fromkeys(found.points))
    whole = all_of(is_joined(case, at, points[0], point, local=local) for point in points[1:])
    if found.doubt is None or whole is True:
        return whole
    reach = tuple(point for point in points if point != found.bucket)
    without = all_of(is_joined(case, at, reach[0], point, local=local) for point in reach[1:])
    return without if without is False else found.doubt


@fact(
    "zone-joined",
    "person",
    lines=by_change("stands"),
    meaning="all that the person stands on and can reach is one piece of metal, along the line too",
)
def zone_joined(case: PlanTrace, at: int, person: Person) -> Answer:
    return _zone_joined(case, at, person, local=False)


@fact(
    "zone-joined-here",
    "person",
    lines=by_change("stands"),
    meaning="all that the person stands on and can reach is joined at this structure",
)
def zone_joined_here(case: PlanTrace, at: int, person: Person) -> Answer:
    return _zone_joined(case, at, person, local=True)


def _apart(which: int, *, local: bool) -> Fact:
    """One of the first two things in a person's zone that surely are not joined, or none."""
    name, suffix = ("first", "second")[which], "-here" if local else ""
    where = "at this structure" if local else "along the line either"

    @fact(
        f"{name}-apart{suffix}",
        "person",
        returns="point",
        lines=by_change("stands"),
        meaning=f"the {name} of two things that the person stands on or can reach and that are not joined {where}",
    )
    def apart(case: PlanTrace, at: int, person: Person) -> PointRef | None:
        zone = zone_points(case, at, person)
        pairs = itertools.combinations(dict.fromkeys(zone.points) if isinstance(zone, Zone) else (), 2)
        return next((pair[which] for pair in pairs if is_joined(case, at, *pair, local=local) is False), None)

    return apart


first_apart, second_apart = _apart(0, local=False), _apart(1, local=False)
first_apart_here, second_apart_here = _apart(0, local=True), _apart(1, local=True)


@fact("zone-grounded", "person", lines=by_change("stands"), meaning="a conductor that the person can reach is grounded")
def zone_grounded(case: PlanTrace, at: int, person: Person) -> Answer:
    reach = case.reach(at, person)
    if reach is None:
        return False
    if isinstance(reach, Unknown):
        return reach
    wires = (point for point in reach if isinstance(point.thing, Conductor))
    return any_of(is_grounded(case, at, point, local=False) for point in wires)


@fact("reaching-conductor", "person", lines=by_change("stands"), meaning="the person can reach a conductor of the line")
def reaching_conductor(case: PlanTrace, at: int, person: Person) -> Answer:
    reach = case.reach(at, person)
    if reach is None:
        return False
    return reach if isinstance(reach, Unknown) else any(isinstance(point.thing, Conductor) for point in reach)


@fact(
    "line-reached",
    "plan",
    timed=False,
    meaning="somebody can reach a conductor of the line at some step; who has it in hand is unknown where nobody can",
)
def line_reached(case: PlanTrace, _at: int, plan: Plan) -> Answer:
    people = [person for person in plan.of(Person) if isinstance(person, Person)]
    found = any_of(
        reaching_conductor.compute(case, at, person) for person in people for at in range(case.timeline.n + 1)
    )
    if found is not False:
        return found
    return Unknown.of("who has the line in reach", "enter L1 at 212 on the pole, reaching A B C", plan.start)


@fact(
    "reaching-joined-metal",
    "person",
    lines=by_change("stands"),
    meaning="the person can reach metal, and that is joined, where it is, to a phase, or the pole underfoot to a wire",
)
def reaching_joined_metal(case: PlanTrace, at: int, person: Person) -> Answer:
    reach, here = case.reach(at, person), case.person_structure(at, person)
    if reach is None or here is None:
        return False
    if isinstance(reach, Unknown):
        return reach
    metal = [point for point in reach if not isinstance(point.thing, Conductor | Neighbour)]
    if all(point.sort == "pole" for point in metal):
        return False
    under, found, neutral = case.stand_point(at, person), list[Answer](), neutral_of(case)
    if isinstance(under, Unknown):
        found.append(under)
    elif under is not None and under.sort == "pole":
        metal.append(under)
    for one in dict.fromkeys(metal):
        place = structure_of_point.compute(case, at, one)  # a plan may put in reach what is at another structure
        there = place if isinstance(place, Structure) else here
        if isinstance(there, Unknown):
            return there
        wires = phase_points(case, there)
        if isinstance(wires, Unknown):
            return wires
        if one.sort == "pole" and isinstance(neutral, Conductor):  # a bar has joined it to what rises beside the rest
            wires = (*wires, PointRef("conductor", there, neutral))
        found += (is_joined(case, at, one, wire, local=True) for wire in wires)
    return any_of(found)


def _wires_led_down(case: PlanTrace, at: int) -> Answer:
    """Whether the line has a wire that is grounded at its structures: a multigrounded neutral, or a shield wire."""
    shields = shields_of(case)
    shielded = shields if isinstance(shields, Unknown) else bool(shields)
    return any_of((neutral_multigrounded.compute(case, at, case.plan), shielded))


def _led_down(case: PlanTrace, at: int, point: PointRef) -> Answer:
    """Whether metal of a structure comes down to earth from such a wire; of a guy on wood nobody can see it."""
    structure = point.structure
    if structure is None or point.sort not in ("pole ground", "steel", "footing", "pole", "guy"):
        return False
    wires = _wires_led_down(case, at)
    if wires is False or point.sort == "pole ground" or structure.material == "steel":
        return wires
    if structure.material is None and point.sort != "guy":
        return Unknown.of(f"the material of structure {structure}", f"structure {structure} wood pole", structure.span)
    if point.sort == "pole":
        return False
    return Unknown.of(f"whether {point} is joined to the neutral or a shield wire", "", structure.span)


@fact(
    "reaching-led-down-metal",
    "person",
    lines=by_change("stands"),
    meaning="from the ground, the person can reach metal that comes down from a grounded wire or is joined to one",
)
def reaching_led_down_metal(case: PlanTrace, at: int, person: Person) -> Answer:
    zone, under = zone_points(case, at, person), case.stand_point(at, person)
    if zone is None or under is None:
        return False
    if isinstance(zone, Unknown) or isinstance(under, Unknown):
        return zone if isinstance(zone, Unknown) else under if isinstance(under, Unknown) else False
    if under.sort in ("pole", "steel") or under not in zone.points:
        return False
    here = case.person_structure(at, person)
    neutral, shields = neutral_of(case), shields_of(case)
    wires = [neutral] if isinstance(neutral, Conductor) else []
    wires += [] if isinstance(shields, Unknown) else shields

    def of(metal: PointRef) -> Answer:
        found = structure_of_point.compute(case, at, metal)
        place = found if isinstance(found, Structure) else here
        if metal.sort == "pole" or not isinstance(place, Structure):  # a bar on a wood pole makes no metal of it
            return _led_down(case, at, metal)
        ground = PointRef("pole ground", place)
        return any_of((
            _led_down(case, at, metal),
            *(is_joined(case, at, metal, PointRef("conductor", place, wire), local=True) for wire in wires),
            all_of((_wires_led_down(case, at), is_joined(case, at, metal, ground, local=True))),
        ))  # fmt: skip

    metal = [one for one in zone.points if not isinstance(one.thing, Conductor | Neighbour) and one.sort != "earth"]
    led = any_of(of(one) for one in metal if one != under)
    return led if zone.doubt is None or led is False else all_of((led, negated(zone.doubt)))
