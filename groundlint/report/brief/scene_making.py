"""Scenes made from a plan that was carried out: what stands at a position, and at which structure it is drawn."""

from __future__ import annotations

from collections.abc import Iterable, Iterator

from groundlint.facts import PlanTrace
from groundlint.plan.models import (
    Bar,
    Conductor,
    Lead,
    Mat,
    Neighbour,
    ParallelCircuit,
    Person,
    PointRef,
    Rod,
    Structure,
    SupplySource,
    Switch,
    Thing,
    Vault,
    Vehicle,
)
from groundlint.report.brief.results import Electrical, is_known
from groundlint.report.brief.scene import (
    ABOVE,
    BELOW,
    WIRES,
    Clamp,
    Feed,
    Gate,
    Panel,
    People,
    Rail,
    Rung,
    Scene,
)
from groundlint.report.brief.sheet import Sheets, end_words, lead_words
from groundlint.report.brief.words import Words
from groundlint.steps.saying import NOT_STATED, reach_words, stand_words
from groundlint.timeline import FAR, NEAR
from groundlint.values import FALSE, TRUE, Gap
from groundlint.words.quantities import stated
from groundlint.world.network import plain


class Scenes:
    """Makes scenes of one plan at any position."""

    def __init__(self, trace: PlanTrace, sheets: Sheets, electrical: Electrical) -> None:
        self.trace = trace
        self.timeline = trace.timeline
        self.plan = trace.plan
        self.sheets = sheets
        self.words: Words = sheets.words
        self.duties = {duty.lead: duty for duty in electrical.duties}
        self.structures: tuple[Structure, ...] = trace.line_structures or trace.all(Structure)
        self.has_values = any(is_known(value) for duty in electrical.duties for value in (duty.amps, duty.rating))
        self._split = {
            (one.structure, one.thing)
            for action in self.plan.actions
            for one in action.slots.values()
            if isinstance(one, PointRef) and (one.sort in (NEAR, FAR) or action.kind in ("cut", "downed"))
        }
        self._homes = self._vehicle_homes()

    def _vehicle_homes(self) -> dict[Thing, Structure]:
        """Where a vehicle or mat stands, as far as steps tell."""
        found: dict[Thing, Structure] = {}
        for action in self.plan.actions:
            stand, structure = action.slots.get("stand"), action.slots.get("structure")
            thing = stand.thing if isinstance(stand, PointRef) else action.slots.get("vehicle")
            if isinstance(thing, (Vehicle, Mat)) and isinstance(structure, Structure):
                found.setdefault(thing, structure)
        return found

    def at(self, position: int, title: str) -> Scene:
        """What stands before the action at a position, or at the end."""
        return _Moment(self, position).scene(title)


class _Moment:
    """One scene in the making."""

    def __init__(self, scenes: Scenes, at: int) -> None:
        self.s = scenes
        self.at = at
        self.trace, self.timeline, self.plan, self.words = scenes.trace, scenes.timeline, scenes.plan, scenes.words
        self.points: dict[Structure | None, dict[PointRef, None]] = {}
        self.left, self.right, self.feeds_at, self.loose = self._feeds()
        self.leads = self._leads()
        self.bonds = [b for b in scenes.sheets.bonds if b.on < at and (b.off is None or at <= b.off)]

    # ---- places ----

    def home(self, point: PointRef | Gap | None, other: PointRef | Gap | None = None) -> Structure | None:
        """The structure at which a point is drawn; None where the plan does not tell."""
        if not isinstance(point, PointRef):
            return None
        found = self.trace.point_structure(self.at, plain(point))
        if isinstance(found, Structure):
            return found
        thing = point.thing
        if isinstance(thing, Neighbour):
            return thing.at
        if isinstance(thing, Switch):
            return next((side for side in thing.sides if isinstance(side, Structure)), None)
        if isinstance(thing, Vehicle):
            parked = self.timeline.parked(self.at, thing)
            if parked is not None and parked[0] is not None:
                return parked[0]
        if thing is not None and thing in self.s._homes:
            return self.s._homes[thing]
        for ends in self.leads.values() if hasattr(self, "leads") else ():
            places = [end for end, _ in ends if isinstance(end, PointRef)]
            if any(end.thing is thing for end in places):
                for end in places:
                    found = self.trace.point_structure(self.at, plain(end))
                    if isinstance(found, Structure):
                        return found
        return self.home(other) if other is not None else None

    def _leads(self) -> dict[Lead, list[tuple[PointRef | Gap, bool]]]:
        """Leads with an end on or lifted, in the order they went on; ends, each with whether it is lifted."""
        found: dict[Lead, list[tuple[PointRef | Gap, bool]]] = {}
        began: dict[Lead, int] = {}
        for lead in self.trace.all(Lead):
            ends = [(end, False) for end in self.timeline.ends(self.at, lead)]
            lifted = self.timeline.lifted(self.at, lead)
            if not ends and lifted is None:
                continue
            index = [self.timeline.end_index(self.at, lead, end) for end, _ in ends]
            began[lead] = min((i for i in index if i is not None), default=0)
            found[lead] = [*ends, *([(lifted, True)] if lifted is not None else [])]
        return {lead: found[lead] for lead in sorted(found, key=lambda one: began[one])}

    # ---- feeds ----

    def _gates(self, source: SupplySource) -> Iterator[Switch]:
        seen: dict[Switch, None] = {}
        front: list[Thing] = [source]
        while front:
            thing = front.pop(0)
            for switch in self.trace.switches:
                if thing in switch.sides and switch not in seen:
                    seen[switch] = None
                    front.extend(side for side in (switch, *switch.sides) if isinstance(side, Switch))
        for switch in self.trace.switches:
            if source in switch.sources:
                seen.setdefault(switch, None)
        return iter(seen)

    def _gate(self, switch: Switch) -> Gate:
        return Gate(
            switch.name,
            switch.sort,
            self.timeline.switch_position(self.at, switch),
            self.timeline.tagged(self.at, switch),
        )

    def _feeds(
        self,
    ) -> tuple[tuple[Feed, ...], tuple[Feed, ...], dict[Structure, list[Feed]], list[str]]:
        left: list[Feed] = []
        right: list[Feed] = []
        inside: dict[Structure, list[Feed]] = {}
        loose: list[str] = []
        drawn: set[Switch] = set()
        ends = self.s.structures
        for source in self.trace.sources:
            gates = list(self._gates(source))
            drawn.update(gates)
            state = self.timeline.source_open(self.at, source)
            cut_off = "whether it is cut off is not shown"
            if state is TRUE or state is FALSE:
                cut_off = "cut off from the line" if state is TRUE else "CONNECTED to the line"
            place = "place not stated"
            if source.at is not None:
                place = f"{'beyond' if source.beyond else 'at'} {source.at}"
            feed = Feed(source.name, source.sort, tuple(map(self._gate, gates)), place, cut_off)
            if source.at is None or source.at not in ends:
                loose.append(feed.words)
            elif source.beyond and source.at is ends[0]:
                left.append(feed)
            elif source.beyond and source.at is ends[-1]:
                right.append(feed)
            else:
                inside.setdefault(source.at, []).append(feed)
        for switch in self.trace.switches:
            if switch in drawn:
                continue
            sides = [side for side in switch.sides if isinstance(side, Structure) and side in ends]
            words = " and ".join(side.name for side in switch.sides) or f"sides {NOT_STATED}"
            if sides:
                other = "between " + words
                feed = Feed("", switch.sort, (self._gate(switch),), other, "")
                inside.setdefault(sides[0], []).append(feed)
            else:
                loose.append(f"{switch.sort} {self._gate(switch).words}, between {words}")
        return tuple(left), tuple(right), inside, loose

    # ---- the whole ----

    def scene(self, title: str) -> Scene:
        """Every panel."""
        groups = self._people()
        self._gather(groups)
        structures = list(self.s.structures)
        extra = [s for s in self.points if s is not None and s not in structures]
        panels = [self._panel(one, groups) for one in (*structures, *extra)]
        unplaced = self._panel(None, groups)
        if unplaced.rungs or unplaced.people or unplaced.rails:
            panels.append(unplaced)
        loose = [*self.loose]
        if not structures:
            loose.append("the plan states no structures")
        return Scene(
            title,
            tuple(panels),
            self.left,
            self.right,
            tuple(self._parallels()),
            tuple(loose),
            self._soil(),
            sum(not any(lifted for _, lifted in ends) for ends in self.leads.values()) + len(self.bonds),
            self.s.has_values,
        )

    def _parallels(self) -> Iterator[str]:
        for one in self.trace.all(ParallelCircuit):
            words = f"{one.name} LIVE" + self._stated(" ", one, "voltage", "V")
            if one.first is not None:
                words += f", beside {one.first}" + (f" to {one.last}" if one.last is not None else "")
            distance = self._stated(", ", one, "distance", "m")
            yield words + (f"{distance} off" if distance else "") + self._stated(", ", one, "current", "A")

    def _stated(self, before: str, thing: Thing, attribute: str, unit: str) -> str:
        """What is stated of a thing, after the mark that goes before it; empty where nothing is."""
        value = getattr(thing, attribute)
        return "" if value is None else before + stated(value, unit, thing.place(attribute), self.words.feet)

    def _soil(self) -> str:
        soil = self.plan.soil
        if not soil:
            return f"soil {NOT_STATED}"
        written = " ".join(self.plan.place("soil").text.split())
        if written.startswith("soil ") and "given" not in written and len(written) < 120:
            return written
        words = f"soil {soil[0]:g} ohm m"
        if len(soil) == 3:
            words += f" to {self.words.length(soil[1], self.plan.place('soil'))}, then {soil[2]:g} ohm m"
        return words

    def _people(self) -> dict[tuple[object, ...], list[Person]]:
        groups: dict[tuple[object, ...], list[Person]] = {}
        for person in self.timeline.people_in_place(self.at):
            stand = self.timeline.stand(self.at, person)
            if stand is None:
                continue
            point = plain(stand.point) if stand.point is not None else None
            reach = stand.reach
            structure = stand.structure or self.home(point)
            key = (structure, point, tuple(reach) if reach is not None else None)
            groups.setdefault(key, []).append(person)
        return groups

    def _gather(self, groups: Iterable[tuple[object, ...]]) -> None:
        """Which points are to be drawn where."""
        timeline, at = self.timeline, self.at

        def put(point: PointRef | Gap | None, other: PointRef | Gap | None = None) -> None:
            if isinstance(point, PointRef):
                self.points.setdefault(self.home(point, other), {})[plain(point)] = None

        for bar in self.trace.all(Bar):
            if timeline.mounted(at, bar) is not None:
                put(PointRef("bar", None, bar))
        for rod in self.trace.all(Rod):
            if timeline.rod_set(at, rod) is not None:
                put(PointRef("rod", None, rod))
        for neighbour in self.trace.all(Neighbour):
            put(PointRef("neighbour", None, neighbour))
        for structure in self.s.structures:
            if structure.pole_ground:
                put(PointRef("pole ground", structure))
        for ends in self.leads.values():
            others = [end for end, _ in ends if isinstance(end, PointRef)]
            for end, _ in ends:
                put(end, next((one for one in others if one is not end), None))
        for bond in self.bonds:
            put(bond.first, bond.second)
            put(bond.second, bond.first)
        for structure_, stand, reach in groups:
            here = structure_ if isinstance(structure_, Structure) else None
            for point in (stand, *(reach if isinstance(reach, tuple) else ())):
                if isinstance(point, PointRef):
                    self.points.setdefault(self.home(point) or here, {})[plain(point)] = None

    def _panel(self, structure: Structure | None, groups: dict[tuple[object, ...], list[Person]]) -> Panel:
        conductors = self._conductors(structure)
        rails: list[Rail] = [rail for _, rail in conductors]
        index: dict[PointRef, int] = {}
        for number, (conductor, _) in enumerate(conductors):
            for sort in ("conductor", NEAR, FAR):
                index[PointRef(sort, structure, conductor)] = number
        points = [p for p in self.points.get(structure, {}) if p not in index]
        order = (*ABOVE, *BELOW)
        kinds = {p: p.sort if p.sort in order else "other" for p in points}
        if structure is not None:
            feeds = self.feeds_at.get(structure, ())
            rails.extend(Rail("feed", feed.name or feed.gates[0].name, (), feed=feed) for feed in feeds)
        for kind in order[1:]:
            for point in points:
                if kinds[point] == kind:
                    index[point] = len(rails)
                    rails.append(self._rail(kind, point))
        return Panel(
            structure.name if structure is not None else "",
            self._material(structure),
            self._span(structure),
            tuple(rails),
            tuple(self._rungs(structure, index)),
            tuple(self._groups(structure, index, groups)),
        )

    def _conductors(self, structure: Structure | None) -> list[tuple[Conductor, Rail]]:
        if structure is None or structure not in self.s.structures:
            return []
        found = []
        for role in WIRES:
            for conductor in self.trace.conductors:
                if conductor.role == role:
                    split = ""
                    down = self.timeline.downed(self.at, PointRef("conductor", structure, conductor))
                    if (structure, conductor) in self.s._split:
                        split = "cut" if down or self.timeline.cut(self.at, structure, conductor) else "whole"
                    details = tuple(one for one in ("" if role == "phase" else role, "DOWN" if down else "") if one)
                    found.append((conductor, Rail(role, conductor.name, details, split)))
        return found

    def _rail(self, kind: str, point: PointRef) -> Rail:
        thing = point.thing
        name = thing.name if thing is not None else {"earth": "the ground"}.get(point.sort, point.sort)
        return Rail(kind, name, tuple(one for one in self._details(point) if one))

    def _details(self, point: PointRef) -> Iterator[str]:
        thing, length = point.thing, self.words.length
        if isinstance(thing, Rod):
            rod = self.timeline.rod_set(self.at, thing)
            if rod is None:
                yield "not set"
            else:
                where = self.timeline.plan.step(rod.index).span
                yield f"{length(rod.distance, where)} off"
                yield f"{length(rod.depth, where)} deep"
        elif isinstance(thing, Bar):
            mounted = self.timeline.mounted(self.at, thing)
            if mounted is None:
                yield "not mounted"
            elif mounted.height is not None:
                of = f" {mounted.conductor}" if mounted.conductor is not None else ""
                words = mounted.height.replace("-", " ")
                yield (words.replace(" ", " the ") if not of and " " in words else words) + of
        elif isinstance(thing, Neighbour):
            yield "LIVE" + self._stated(" ", thing, "voltage", "V")
            yield "covered" if self.timeline.covered(self.at, thing) else "not covered"
            if thing.gap is not None and thing.gap_from is not None:
                gap_from = thing.gap_from
                short = str(gap_from.thing) if gap_from.thing is not None else gap_from.sort
                yield f"{length(thing.gap, thing.place('gap'))} from {short}"
        elif isinstance(thing, Vehicle):
            yield thing.insulation or f"insulation {NOT_STATED}"
        elif point.sort == "pole ground" and point.structure is not None:
            resistance = point.structure.pole_ground_resistance
            yield f"{resistance:g} ohm" if resistance is not None else ""
        elif point.sort in ("footing", "steel") and point.structure is not None:
            footing = point.structure.footing
            yield f"footing {footing:g} ohm" if footing is not None else ""
        barricade = self.timeline.barricaded(self.at, thing) if thing is not None else None
        if barricade is not None:
            where = self.timeline.plan.step(barricade.index).span
            yield f"kept {length(barricade.distance, where)}" if barricade.distance is not None else "barricaded"

    def _material(self, structure: Structure | None) -> str:
        if structure is None:
            return ""
        if isinstance(structure, Vault):
            return "vault"
        return structure.material or f"material {NOT_STATED}"

    def _span(self, structure: Structure | None) -> str:
        if structure is None or structure.span_after is None:
            return ""
        return stated(structure.span_after, "m", structure.places.get("span_after"))

    def _rungs(self, structure: Structure | None, index: dict[PointRef, int]) -> Iterator[Rung]:
        order = 0
        for lead, ends in self.leads.items():
            homes = self._homes_of([end for end, _ in ends])
            if structure not in homes:
                continue
            order += 1
            clamps = tuple(self._clamp(end, lifted, index) for end, lifted in ends)
            yield Rung(lead.name, order, clamps, lead_words(lead, self.words), self.s.duties.get(lead.name))
        for bond in self.bonds:
            if structure in self._homes_of([bond.first, bond.second]):
                order += 1
                both = tuple(self._clamp(end, False, index) for end in (bond.first, bond.second))
                yield Rung(bond.name, order, both, f"lead {NOT_STATED}", None)

    def _homes_of(self, ends: list[PointRef | Gap | None]) -> set[Structure | None]:
        """The structures that a lead is drawn at; where one end is not stated, the other's."""
        known = [end for end in ends if isinstance(end, PointRef)]
        homes = {self.home(end, next((one for one in known if one is not end), None)) for end in known}
        return homes - {None} or {None}

    def _clamp(self, end: PointRef | Gap | None, lifted: bool, index: dict[PointRef, int]) -> Clamp:
        if not isinstance(end, PointRef):
            return Clamp(None, f"place {NOT_STATED}", lifted=lifted)
        side = {NEAR: "near", FAR: "far"}.get(end.sort, "")
        key = plain(end)
        whole = end.thing is not None and (end.structure, end.thing) in self.s._split
        if whole and not side and not self.timeline.cut(self.at, end.structure, end.thing):  # type: ignore[arg-type]
            side = "near"  # one and the same while the conductor is whole
        return Clamp(index.get(end, index.get(key)), end_words(end), side, lifted)

    def _groups(
        self,
        structure: Structure | None,
        index: dict[PointRef, int],
        groups: dict[tuple[object, ...], list[Person]],
    ) -> Iterator[People]:
        for (place, stand, reach), people in groups.items():
            if place is not structure and not (structure is None and place not in self._placed()):
                continue
            names = tuple(person.name for person in people)
            at = f" at {place}" if isinstance(place, Structure) else ""
            words = f"{', '.join(names)}{at} {stand_words(stand)}; within reach: {reach_words(reach)}"
            inside = tuple(
                dict.fromkeys(
                    index[plain(one)]
                    for one in (reach if isinstance(reach, tuple) else ())
                    if isinstance(one, PointRef) and plain(one) in index
                )
            )
            unknown = not isinstance(reach, tuple) or any(isinstance(one, Gap) for one in reach)
            rail = index.get(plain(stand)) if isinstance(stand, PointRef) else None
            yield People(names, rail, inside, words, unknown)

    def _placed(self) -> set[object]:
        return {one for one in (*self.s.structures, *self.points) if one is not None}
