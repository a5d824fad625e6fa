"""Facts about what could energize the line: sources, their open points, parallel circuits, live neighbours."""

from __future__ import annotations

from collections.abc import Iterator
from math import hypot, sqrt
from typing import Any

from groundlint.facts.answers import Answer, Lines, by_change, only_if, said, settled, where_stated, word
from groundlint.facts.catalogue import fact
from groundlint.facts.trace import PlanTrace
from groundlint.plan.models import Conductor, Neighbour, ParallelCircuit, PointRef, Structure, SupplySource, Switch
from groundlint.values import FALSE, Gap, Unknown

# ---- sources ----

SOURCE_SORTS = ("utility", "tie", "customer-generation", "transformer-backfeed", "possible-backfeed")


def _open_points(case: PlanTrace, at: int, source: SupplySource) -> Lines:
    return tuple(
        case.line_of(found)
        for switch in case.switches
        if source in switch.sources and (found := case.timeline.changed_by(at, "operated", switch)) is not None
    )


@fact("open", "source", lines=_open_points, meaning="every way from the source to the line is open")
def source_open(case: PlanTrace, at: int, source: SupplySource) -> Answer:
    return settled(
        case.timeline.source_open(at, source),
        lambda: Gap(f"what opens source {source}", f"switch SW1 between {source} and 211", source.span),
    )


@fact("closed-way", "source", returns="switch", meaning="the first open point before it that is not open, or none")
def closed_way(case: PlanTrace, at: int, source: SupplySource) -> Switch | Unknown | None:
    ways = _ways(case, source)
    if isinstance(ways, Unknown):
        return ways
    return next((one for one in ways if case.timeline.switch_position(at, one) != "open"), None)


@fact(
    "untagged-way",
    "source",
    returns="switch",
    meaning="the first open point before it that is open and has no tag, or none",
)
def untagged_way(case: PlanTrace, at: int, source: SupplySource) -> Switch | Unknown | None:
    ways = _ways(case, source)
    if isinstance(ways, Unknown):
        return ways
    opened = (one for one in ways if case.timeline.switch_position(at, one) == "open")
    return next((one for one in opened if not case.timeline.tagged(at, one) and not held_behind(case, at, one)), None)


def _nowhere(switch: Switch, source: str) -> Unknown:
    write = f"switch {switch} between {source} and 211"
    return Unknown.of(f"what stands on either side of {switch}", write, switch.span)


def _ways(case: PlanTrace, source: SupplySource) -> list[Switch] | Unknown:
    """The open points before a source; not known where a switch does not say what it stands between."""
    nowhere = next((one for one in case.switches if not one.sides), None)
    if nowhere is not None:
        return _nowhere(nowhere, str(source))
    return [one for one in case.switches if source in one.sources]


@fact("located", "source", timed=False, lines=where_stated("located"), meaning="where the source feeds in is known")
def located(_case: PlanTrace, _at: int, source: SupplySource) -> Answer:
    if not source.located:
        return False
    return only_if(source.at is not None, f"where source {source} feeds in", f"source {source} beyond 211", source.span)


@fact(
    "sort",
    "source",
    returns=SOURCE_SORTS,
    timed=False,
    lines=where_stated("sort"),
    meaning="what kind of source it is stated to be",
)
def source_sort(_case: PlanTrace, _at: int, source: SupplySource) -> str | Unknown:
    if "sort" not in source.places:
        where = f"beyond {source.at}" if source.beyond else f"at {source.at}" if source.at is not None else "beyond 211"
        return Unknown.of(f"what kind of source {source} is", f"source {source} {where} utility", source.span)
    return word(source.sort)


@fact(
    "voltage",
    "source",
    returns="voltage",
    timed=False,
    unit="kV",
    lines=where_stated("voltage"),
    meaning="voltage between phases at which it feeds; the line's for a stated utility or tie",
)
def source_voltage(case: PlanTrace, _at: int, source: SupplySource) -> float | Unknown:
    if source.voltage is not None:
        return source.voltage
    line = case.plan.line
    stated = "sort" in source.places and source.sort in ("utility", "tie")
    if stated and line is not None and line.voltage is not None:
        return line.voltage
    return Unknown.of(f"the voltage of source {source}", "voltage 12.47 kV", source.span)


def _impedances(case: PlanTrace, source: SupplySource) -> tuple[float, float | None, float | None] | None:
    """Volts to neutral, ohms of positive sequence, and ohms of the loop to ground, as far as stated."""
    volts = source_voltage.compute(case, 0, source)
    if isinstance(volts, Unknown) or source.positive is None:
        return None
    loop: float | None = None
    if source.zero is not None:
        loop = hypot(2 * source.positive[0] + source.zero[0], 2 * source.positive[1] + source.zero[1])
    return volts / sqrt(3), hypot(*source.positive), loop


@fact(
    "fault-current",
    "source",
    returns="current",
    timed=False,
    unit="kA",
    lines=where_stated("three_phase"),
    meaning="three-phase fault current, stated or by power or impedance; on a line of one phase else that to ground",
)
def fault_current(case: PlanTrace, _at: int, source: SupplySource) -> float | Unknown:
    if source.three_phase is not None:
        return source.three_phase
    volts = source_voltage.compute(case, 0, source)
    if source.power is not None:
        return volts if isinstance(volts, Unknown) else source.power / (sqrt(3) * volts)
    found = _impedances(case, source)
    if found is not None and found[1]:
        return found[0] / found[1]
    one_phase = case.plan.line is not None and case.plan.line.one_phase
    if one_phase and source.to_ground is not None:
        return source.to_ground
    return Unknown((case.plan.fault_gap(source),))


@fact(
    "ground-fault-current",
    "source",
    returns="current",
    timed=False,
    unit="kA",
    lines=where_stated("to_ground"),
    meaning="fault current of one phase to ground, as stated or from the stated impedances and voltage",
)
def ground_fault_current(case: PlanTrace, _at: int, source: SupplySource) -> float | Unknown:
    if source.to_ground is not None:
        return source.to_ground
    found = _impedances(case, source)
    if found is not None and found[2]:
        return 3 * found[0] / found[2]
    return Unknown((source.ground_fault_gap(),))


@fact(
    "fault-stated",
    "source",
    timed=False,
    lines=where_stated("three_phase"),
    meaning="the source's three-phase fault current is known by any means",
)
def fault_stated(case: PlanTrace, at: int, source: SupplySource) -> Answer:
    found = fault_current.compute(case, at, source)
    return found if isinstance(found, Unknown) else True


@fact(
    "clearing-time",
    "source",
    returns="time",
    timed=False,
    unit="s",
    lines=where_stated("clearing"),
    meaning="time in which a fault clears, as stated; none where it never does",
)
def clearing_time(case: PlanTrace, _at: int, source: SupplySource) -> float | Unknown | None:
    if source.never_clears:
        return None
    if source.clearing is not None:
        return source.clearing
    if source.clearing_cycles is not None:
        line = case.plan.line
        hertz = line.frequency if line is not None else None
        if not hertz:
            where = line.span if line is not None else case.plan.start
            return Unknown.of("the line's frequency", "frequency 60 Hz", where)
        return source.clearing_cycles / hertz
    return Unknown.of(f"the clearing time of source {source}", "clears in 24 cycles", source.span)


@fact(
    "clears-from",
    "source",
    returns="current",
    timed=False,
    unit="A",
    lines=where_stated("clears_from"),
    meaning="least current at which it clears in the time stated, as a fuse's curve says; none where none is stated",
)
def clears_from(_case: PlanTrace, _at: int, source: SupplySource) -> float | None:
    return source.clears_from


@fact(
    "quickest-clearing",
    "source",
    returns="time",
    timed=False,
    unit="s",
    lines=where_stated("relay"),
    meaning="least time of its breaker, with its relay at the largest bolted fault where stated; none where neither is",
)
def quickest_clearing(case: PlanTrace, _at: int, source: SupplySource) -> Any:
    from groundlint.electrical.study.results import quickest_clearing

    return quickest_clearing(case.plan, source)


@fact(
    "time-possible",
    "source",
    timed=False,
    lines=where_stated("clearing"),
    meaning="its stated clearing time is no shorter than that; true where no time is stated",
)
def time_possible(case: PlanTrace, at: int, source: SupplySource) -> Answer:
    if source.never_clears or (source.clearing is None and source.clearing_cycles is None):
        return True
    stated, least = clearing_time.compute(case, at, source), quickest_clearing.compute(case, at, source)
    for one in (stated, least):
        if isinstance(one, Unknown):
            return one
    return least is None or stated >= least * (1 - 1e-9)


@fact(
    "clearing-stated",
    "source",
    timed=False,
    lines=where_stated("clearing"),
    meaning="how a fault clears is stated: a time, a relay and its breaker, or that it never does",
)
def clearing_stated(_case: PlanTrace, _at: int, source: SupplySource) -> Answer:
    timed = source.clearing is not None or source.clearing_cycles is not None
    relay = source.relay is not None and source.pickup is not None and source.dial is not None
    breaker = source.breaker is not None or source.breaker_cycles is not None
    stated = timed or source.never_clears or (relay and breaker)
    return only_if(stated, f"the clearing time of source {source}", "clears in 24 cycles", source.span)


@fact(
    "never-clears",
    "source",
    timed=False,
    lines=where_stated("never_clears"),
    meaning="nothing trips for a fault fed by the source",
)
def never_clears(_case: PlanTrace, _at: int, source: SupplySource) -> Answer:
    if source.never_clears:
        return True
    if source.clearing is not None or source.clearing_cycles is not None or source.relay is not None:
        return False
    return Unknown.of(f"the clearing time of source {source}", "clears in 24 cycles", source.span)


@fact(
    "x-over-r",
    "source",
    returns="number",
    timed=False,
    lines=where_stated("x_over_r"),
    meaning="reactance over resistance at the source, as stated or of its positive-sequence impedance",
)
def x_over_r(_case: PlanTrace, _at: int, source: SupplySource) -> float | Unknown:
    if source.x_over_r is not None:
        return source.x_over_r
    if source.positive is not None and source.positive[0]:
        return source.positive[1] / source.positive[0]
    return Unknown.of(f"X/R of source {source}", "fault 6.8 kA three-phase, x/r 9", source.span)


def _reclosing_gap(circuit: SupplySource | Neighbour) -> Gap:
    kind = "source" if isinstance(circuit, SupplySource) else "neighbour"
    return Gap(f"whether {kind} {circuit} recloses", f"block reclosing on {circuit}", circuit.span)


def _reclosing_blocked(case: PlanTrace, at: int, circuit: SupplySource | Neighbour) -> Answer:
    return settled(case.timeline.reclosing_blocked(at, circuit), lambda: _reclosing_gap(circuit))


reclosing_of_neighbour_blocked, reclosing_blocked = (
    fact("safe-from-reclosing", kind, lines=by_change("blocked"), meaning="its reclosing is blocked or off")(
        _reclosing_blocked
    )
    for kind in ("neighbour", "source")
)


@fact(
    "reclosable",
    "source",
    lines=by_change("blocked"),
    meaning="it can reclose: reclosing is on, and not blocked",
)
def reclosable(case: PlanTrace, at: int, source: SupplySource) -> Answer:
    blocked = settled(case.timeline.reclosing_blocked(at, source), lambda: _reclosing_gap(source))
    return blocked if isinstance(blocked, Unknown) else not blocked


@fact(
    "earth-current-limited",
    "source",
    timed=False,
    lines=where_stated("system"),
    meaning="its system is ungrounded, or grounded by a coil tuned to the line",
)
def earth_current_limited(_case: PlanTrace, _at: int, source: SupplySource) -> Answer:
    if source.system is None:
        return Unknown.of(f"how the system of source {source} is grounded", "grounding solid", source.span)
    return source.system in ("ungrounded", "resonant")


@fact("switched", "source", timed=False, meaning="an open point that stands before it is stated")
def switched(case: PlanTrace, _at: int, source: SupplySource) -> Answer:
    stated = any(source in switch.sources for switch in case.switches)
    return only_if(stated, f"what opens source {source}", f"switch SW1 between {source} and 211", source.span)


# ---- switches ----


@fact(
    "reclosing-behind",
    "switch",
    returns="source",
    meaning="the first source that it stands before of which nothing says that its reclosing is put off, or none",
)
def reclosing_behind(case: PlanTrace, at: int, switch: Switch) -> SupplySource | Unknown | None:
    if not switch.sides:
        return _nowhere(switch, "West")
    return next((one for one in switch.sources if not case.timeline.reclosing_blocked(at, one)), None)


SWITCH_SORTS = (
    "switch",
    "disconnect",
    "breaker",
    "recloser",
    "fuse",
    "cutout",
    "jumper",
    "elbow",
    "tap",
    "open-point",
    "network-protector",
)


@fact("open", "switch", lines=by_change("switch"), meaning="its position is open")
def switch_open(case: PlanTrace, at: int, switch: Switch) -> Answer:
    position = case.timeline.switch_position(at, switch)
    if position is None:
        return Unknown.of(f"the position of {switch}", f"open {switch} and tag it", switch.place("position"))
    return position == "open"


@fact("tagged", "switch", lines=by_change("tagged"), meaning="a tag is on it")
def tagged(case: PlanTrace, at: int, switch: Switch) -> Answer:
    if case.timeline.tagged(at, switch):
        return True
    operated = any(case.timeline.changed_by(at, log, switch) is not None for log in ("operated", "tagged"))
    if operated or switch.position == "closed":  # a switch that is opened in the plan had no tag on its open position
        return False
    return Unknown.of(f"whether {switch} is tagged", f"tag {switch}", switch.span)


@fact(
    "gap-visible",
    "switch",
    lines=by_change("switch", "seen", "verified"),
    meaning="its gap can be seen, or was seen when it opened",
)
def gap_visible(case: PlanTrace, at: int, switch: Switch) -> Answer:
    visible = settled(case.timeline.gap_visible(at, switch), lambda: Gap(""))
    if visible is not True and switch.hidden:
        return False
    write = f"open {switch} gap seen"
    return only_if(visible is True, f"whether the gap of {switch} can be seen", write, switch.span)


@fact(
    "verified",
    "switch",
    lines=by_change("verified"),
    meaning="it was verified to be open and has not been closed since",
)
def verified(case: PlanTrace, at: int, switch: Switch) -> bool:
    return bool(case.timeline.verified(at, switch))


@fact(
    "before",
    "switch",
    "source",
    timed=False,
    lines=where_stated("sides"),
    meaning="it stands in the way of that source to the line",
)
def before(_case: PlanTrace, _at: int, switch: Switch, source: SupplySource) -> Answer:
    if source in switch.sources:
        return True
    if len(switch.sides) < 2:
        write = f"switch {switch} between {source} and 211"
        return Unknown.of(f"what stands on either side of {switch}", write, switch.span)
    return False


@fact(
    "behind-another",
    "switch",
    lines=by_change("switch", "locked", "tagged", "seen", "verified"),
    meaning="every way from it to the line goes through another that is open, locked, tagged and seen or verified so",
)
def behind_another(case: PlanTrace, at: int, switch: Switch) -> bool:
    return held_behind(case, at, switch)


def held_behind(case: PlanTrace, at: int, switch: Switch) -> bool:
    """The same; False where the plan does not say what stands on either side of it."""
    reached, left = {switch}, [switch]
    while left:
        one = left.pop()
        sides = {*one.sides, *(other for other in case.switches if one in other.sides)}
        if any(isinstance(side, Structure) for side in sides):
            return False
        onward = {side for side in sides if isinstance(side, Switch) and not _holds(case, at, side)} - reached
        reached |= onward
        left += onward
    return any(isinstance(side, SupplySource) for side in switch.sides) and len(switch.sides) > 1


def _holds(case: PlanTrace, at: int, switch: Switch) -> bool:
    """Whether an open point is open, locked, tagged, and seen or verified so."""
    timeline = case.timeline
    seen = timeline.verified(at, switch) or timeline.gap_visible(at, switch)
    held = timeline.locked(at, switch) and timeline.tagged(at, switch)
    return timeline.switch_position(at, switch) == "open" and held and seen


@fact(
    "held-off-besides",
    "source",
    lines=_open_points,
    meaning="it is open, and another open point, held so, is between it and each person in place or clamp on a phase",
)
def held_off_besides(case: PlanTrace, at: int, source: SupplySource) -> bool:
    """Held: open, locked, tagged, and seen or verified so."""
    timeline, end = case.timeline, source.at
    own = [one for one in case.switches if source in one.sources or source in one.sides]
    if end is None or end.order is None or source_open.compute(case, at, source) is not True:
        return False
    hops: dict[int, list[Switch]] = {}
    for one in case.switches:
        if one.hop is not None:
            hops.setdefault(one.hop, []).append(one)
        elif one not in own and sum(isinstance(side, Structure) for side in one.sides) > 1:
            return False  # it may lead round the others
    if any(one.hop is not None for one in own):
        return False
    held = [hop for hop, beside in hops.items() if all(_holds(case, at, one) for one in beside)]
    phases = [one for one in case.conductors if one.role == "phase"]
    network = timeline.world.network
    for place in _taken(case, at, phases):
        if place is None or place.order is None:
            return False
        between = range(min(end.order, place.order), max(end.order, place.order))
        if not any(hop in between and all(one.hangs is not place for one in hops[hop]) for hop in held):
            return False
        for phase in phases:
            home = network.end_of_route(end, phase) if source.beyond else PointRef("conductor", end, phase)
            if timeline.joined(at, home, PointRef("conductor", place, phase)) is not FALSE:
                return False
    return True


def _taken(case: PlanTrace, at: int, phases: list[Conductor]) -> Iterator[Structure | None]:
    """The structures where somebody is in place or a clamp is on a phase; None for one that is not stated."""
    for person in case.timeline.people_in_place(at):
        found = case.person_structure(at, person)
        yield found if isinstance(found, Structure) else None
    for structure in case.all(Structure):
        for phase in phases:
            sides = (PointRef(sort, structure, phase) for sort in ("conductor", "near side", "far side"))
            if any(case.timeline.loaded(at, side) is not False for side in sides):
                yield structure


@fact(
    "next-to",
    "switch",
    "switch",
    timed=False,
    lines=where_stated("sides"),
    meaning="the two stand in line with nothing between: one is declared as a side of the other",
)
def next_to(_case: PlanTrace, _at: int, switch: Switch, other: Switch) -> bool:
    return other in switch.sides or switch in other.sides


@fact(
    "control",
    "switch",
    returns=("remote", "automatic", "manual"),
    timed=False,
    lines=where_stated("control"),
    meaning="how it is operated; where the plan does not say, by hand if its kind is worked in no other way",
)
def control(_case: PlanTrace, _at: int, switch: Switch) -> str | Unknown:
    found: str | Unknown = said(switch.worked, f"how {switch} is operated", f"switch {switch} manual", switch.span)
    return found


@fact("sort", "switch", returns=SWITCH_SORTS, timed=False, meaning="what kind of open point it is")
def switch_sort(_case: PlanTrace, _at: int, switch: Switch) -> str:
    found = word(switch.sort)
    return "disconnect" if found == "disconnector" else found


# ---- parallel circuits and neighbours ----


def _stated(name: str, kind: str, attribute: str, dimension: str, unit: str, example: str, meaning: str) -> Any:
    @fact(name, kind, returns=dimension, timed=False, unit=unit, lines=where_stated(attribute), meaning=meaning)
    def compute(_case: PlanTrace, _at: int, thing: Any) -> float | Unknown:
        write = example if dimension in ("voltage", "current") and kind == "parallel" else f"{kind} {thing} {example}"
        found: float | Unknown = said(getattr(thing, attribute), f"the {name} of {kind} {thing}", write, thing.span)
        return found

    return compute


parallel_distance = _stated(
    "distance", "parallel", "distance", "length", "ft", "at 60 ft", "how far it is from the line"
)
parallel_voltage = _stated(
    "voltage", "parallel", "voltage", "voltage", "kV", "voltage 115 kV", "its voltage between phases"
)
parallel_current = _stated(
    "current", "parallel", "current", "current", "A", "current 400 A", "the current that it carries"
)
neighbour_gap = _stated(
    "gap", "neighbour", "gap", "length", "ft", "6 ft from 212 A", "its distance from the point that the plan names"
)
neighbour_voltage = _stated(
    "voltage", "neighbour", "voltage", "voltage", "kV", "live 12.47 kV", "its voltage between phases"
)


@fact(
    "gap-from",
    "neighbour",
    returns="point",
    timed=False,
    lines=where_stated("gap_from"),
    meaning="the point that its distance is from",
)
def gap_from(_case: PlanTrace, _at: int, neighbour: Neighbour) -> Any:
    fact_ = f"what the distance of neighbour {neighbour} is from"
    return said(neighbour.gap_from, fact_, f"neighbour {neighbour} 6 ft from 212 A", neighbour.span)


@fact(
    "beside",
    "parallel",
    "structure",
    timed=False,
    lines=where_stated("first"),
    meaning="it runs beside the line at that structure",
)
def beside(_case: PlanTrace, _at: int, parallel: ParallelCircuit, structure: Structure) -> Answer:
    first, last = parallel.first, parallel.last or parallel.first
    orders = [s.order for s in (first, last, structure) if s is not None]
    if first is None or any(order is None for order in orders):
        write = f"parallel {parallel} beside 211 to 213"
        return Unknown.of(f"where parallel circuit {parallel} runs beside the line", write, parallel.span)
    low, high, here = (order or 0 for order in orders)
    return min(low, high) <= here <= max(low, high)
