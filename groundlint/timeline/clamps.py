"""The steps of leads, bonds and voltage tests."""

from __future__ import annotations

from collections.abc import Callable

from groundlint.plan.models import Action, Bar, Detector, Lead, Person, PointRef, Rod, Switch, Tester
from groundlint.timeline.steps import Related, Steps
from groundlint.values import FALSE, Gap
from groundlint.world.network import plain
from groundlint.world.records import End
from groundlint.world.world import World


class _Bond:
    """A bond while it is on."""

    __slots__ = ("index", "lead", "points")

    def __init__(self, points: tuple[End, End], lead: Lead | None, index: int) -> None:
        self.points, self.lead, self.index = points, lead, index


class Clamps(Steps):
    """Leads go on and come off, bonds too; tests are made and expire."""

    def __init__(self, world: World) -> None:
        super().__init__(world)
        self.vague: set[str] = set()  # kinds of step done to something that the plan does not name
        self._operated: dict[Switch, int] = {}
        self._tagged: dict[Switch, int] = {}
        self._cleared: int | None = None
        self._clearances = 0  # received and not yet released, whoever is named
        self._left: dict[Person, int] = {}
        self._came_off: dict[tuple[Lead, End], int] = {}
        self._on: dict[PointRef, dict[Lead, None]] = {}
        self._bonds: list[_Bond] = []
        self._holding: set[PointRef] = set()

    # ---- leads ----

    def _ends(self, lead: Lead) -> tuple[tuple[End, int], ...]:
        return self.world.ends.last(lead) or ()

    def leads_on(self, point: PointRef) -> tuple[Lead, ...]:
        """The leads that are on a point now."""
        return tuple(self._on.get(plain(point), ()))

    def put_on(self, lead: Lead, point: End) -> int | None:
        """The step that put a lead on a point."""
        return next((index for end, index in self._ends(lead) if end == point), None)

    def _where(self, lead: Lead) -> str:
        ends = [str(end) if isinstance(end, PointRef) else "a place not stated" for end, _ in self._ends(lead)]
        if not ends:
            return f"{lead} is on nothing"
        return f"{lead} is on {' and '.join(ends)}"

    def _put_ends(self, lead: Lead, ends: tuple[tuple[End, int], ...]) -> None:
        """The lead's ends are these from now on."""
        world, position = self.world, self.position
        network, graphs = world.network, world.network.graphs
        before = [end for end, _ in self._ends(lead) if isinstance(end, PointRef)]
        world.ends.put(lead, position, ends)
        points = [end for end, _ in ends if isinstance(end, PointRef)]
        for point in before:
            if point not in points:
                self._on.get(point, {}).pop(lead, None)
        for point in points:
            self._on.setdefault(point, {})[lead] = None
        for which in (0, 1):
            graphs.unlink(("loose", lead, which), position)
        network.part(lead, before, position)
        if len(ends) == 2:
            self._join_ends(lead, ends[0][0], ends[1][0])
        self._bonds = [b for b in self._bonds if b.lead is not lead or len(ends) == 2]

    def _join_ends(self, key: object, one: End, other: End) -> None:
        """Something joins two places now, either of which may not be told."""
        network, position = self.world.network, self.position
        if isinstance(one, PointRef) and isinstance(other, PointRef):
            network.join(key, one, other, position)
            self._joined(one, other)
            return
        for which, (here, there) in enumerate(((one, other), (other, one))):
            if isinstance(there, Gap):
                node = here if isinstance(here, PointRef) else key
                network.graphs.loose_end(("loose", key, which), node, position, there)
                network.touched(here, position=position)
        self._loosely_joined(one, other)

    def _attach(self, action: Action) -> None:
        lead, point = action.slots.get("lead"), action.slots.get("point")
        end = self._end(point, "where the end of the lead goes", "attach G1 to 212 A by H1")
        if not isinstance(lead, Lead):
            self.vague.add("attach")
            if isinstance(end, PointRef):  # some lead leads from here to a place that is not told
                gap = (
                    lead if isinstance(lead, Gap) else Gap("which lead is attached", f"attach G1 to {end}", action.span)
                )
                self.world.network.graphs.loose_end(("lead not named", self.index), end, self.position, gap)
                self.world.network.touched(end, position=self.position)
                self._loosely_joined(end, gap)
            return
        ends = self._ends(lead)
        if isinstance(end, PointRef):
            self._must_be_up(str(lead), end)
        if isinstance(end, PointRef) and any(one == end for one, _ in ends):
            on = self.put_on(lead, end)
            self.mistake(
                "lead-already-on",
                f"lead {lead} is already on {end}{self.since(on)}",
                f"take this step out, or name the point that the other end of {lead} goes to",
                self.step_at(on, f"{lead} goes on {end} here"),
            )
            return
        if len(ends) >= 2:
            related = tuple(
                (
                    self.world.plan.actions[index].span,
                    f"{lead} goes on {one if isinstance(one, PointRef) else 'a place'} here",
                )
                for one, index in ends
            )
            mend = (
                f"take one end off first: `detach {lead} from {ends[1][0]}`" if isinstance(ends[1][0], PointRef) else ""
            )
            self.mistake(
                "lead-three-ends",
                f"lead {lead} has two ends, and both are on: {self._where(lead)}",
                mend or f"take one end off first, or use another lead than {lead}",
                related,
            )
            return
        if self.world.lifted.last(lead) is not None:
            self.world.lifted.put(lead, self.position, None)
        self._put_ends(lead, (*ends, (end, self.index)))

    def _end(self, point: object, what: str, write: str) -> End:
        if isinstance(point, PointRef):
            return plain(point)
        return point if isinstance(point, Gap) else Gap(what, write, self.action.span)

    def _must_be_up(self, lead: str, point: PointRef) -> None:
        """A rod must be in the ground, and a bar on a structure, before something goes on it."""
        world = self.world
        if isinstance(point.thing, Rod) and point.sort == "rod":
            if world.rods.last(point.thing) is None and "set" not in self.vague:
                self.mistake(
                    "rod-not-set",
                    f"{lead} goes on rod {point} before the rod is set",
                    f"set it first: `set {point} at 212, 16 ft from the pole, 6 ft deep`",
                    ((point.thing.span, f"rod {point} is declared here"),),
                )
        elif (
            isinstance(point.thing, Bar)
            and point.sort == "bar"
            and world.bars.last(point.thing) is None
            and "mount" not in self.vague
        ):
            self.not_mounted(point.thing, f"used by {lead}")

    def not_mounted(self, bar: Bar, use: str) -> None:
        """A bar is used that is on no structure."""
        self.mistake(
            "bar-not-mounted",
            f"bar {bar} is {use} while it is mounted nowhere",
            f"mount it first: `mount {bar} at 212 below the feet`",
            ((bar.span, f"bar {bar} is declared here"),),
        )

    def _take_off(self, action: Action) -> tuple[Lead, End] | None:
        """Take an end off as a ``detach`` or ``lift`` says; the lead and the end, where one came off."""
        lead, point = action.slots.get("lead"), action.slots.get("point")
        graphs = self.world.network.graphs
        end = self._end(point, "the point that the lead comes off", "detach G1 from 212 A by H1")
        if not isinstance(lead, Lead):  # any lead there may be off now
            gap = (
                lead
                if isinstance(lead, Gap)
                else Gap("which lead comes off", "detach G1 from 212 A by H1", action.span)
            )
            for one in self.leads_on(end) if isinstance(end, PointRef) else self.world.ends.known():
                graphs.loosen(one, self.position, gap)
            self.world.network.touched(end, position=self.position)
            return None
        ends = self._ends(lead)
        found = next((i for i, (one, _) in enumerate(ends) if one == end), None)
        if found is None and isinstance(end, PointRef):
            found = next((i for i, (one, _) in enumerate(ends) if isinstance(one, Gap)), None)
        if found is None and not isinstance(end, PointRef) and ends:
            if len(ends) == 1:
                found = 0
            else:  # one of the two is off, so that the lead joins nothing; which one, the plan does not tell
                left = Gap(f"which end of {lead} is still on", end.write, action.span)
                self._put_ends(lead, ((left, ends[0][1]),))
                self._dull(*(one for one, _ in ends if isinstance(one, PointRef)))
                return lead, end
        if found is None:
            if "attach" not in self.vague:
                off = self._came_off.get((lead, end))
                since = f"; it came off there before (line {self.line(off)})" if off is not None else ""
                mend = f"name the point that it is on, or take this step out; {self._where(lead)}"
                related = self.step_at(off, f"{lead} comes off here") or ((lead.span, f"{lead} is declared here"),)
                self.mistake(
                    "detach-not-on",
                    f"lead {lead} is not on {end if isinstance(end, PointRef) else 'anything'}{since}",
                    mend,
                    related,
                )
            return None
        was = ends[found][0]
        self._came_off[lead, was] = self.index
        self._put_ends(lead, tuple(one for i, one in enumerate(ends) if i != found))
        if isinstance(was, PointRef):
            self._dull(was)
        return lead, was

    def _dull(self, *points: PointRef) -> None:
        """A clamp comes off: what it was clamped to must be cleaned before the next."""
        for point in points:
            if self.world.cleaned.last(point) is not None:
                self.world.cleaned.put(point, self.position, None)

    def _detach(self, action: Action) -> None:
        self._take_off(action)

    def _lift(self, action: Action) -> None:
        found = self._take_off(action)
        if found is not None:
            self.world.lifted.put(found[0], self.position, found[1])

    def _restore(self, action: Action) -> None:
        lead = action.slots.get("lead")
        if isinstance(lead, Lead) and self.world.lifted.last(lead) is None:
            self.mistake(
                "restore-not-lifted",
                f"lead {lead} is restored without having been lifted; {self._where(lead)}",
                f"write `lift {lead} from ...` where it comes off, or `attach {lead} to ...` here",
                ((lead.span, f"{lead} is declared here"),),
            )
            if len(self._ends(lead)) >= 2:
                return
        self._attach(action)

    # ---- bonds ----

    def _bond(self, action: Action) -> None:
        first = self._end(action.slots.get("first"), "what is bonded", "bond T1 to K1 with G1")
        second = self._end(action.slots.get("second"), "what it is bonded to", "bond T1 to K1 with G1")
        lead = action.slots.get("lead")
        for point in (first, second):
            if isinstance(point, PointRef):
                self._must_be_up(str(lead) if isinstance(lead, Lead) else "a bond", point)
        if not isinstance(lead, Lead):
            bond = _Bond((first, second), None, self.index)
            self._bonds.append(bond)
            self._join_ends(("bond", bond), first, second)
            return
        if self._ends(lead):
            end, on = self._ends(lead)[0]
            self.mistake(
                "lead-three-ends",
                f"lead {lead} bonds with both ends, but {self._where(lead)}",
                f"take it off first: `detach {lead} from {end}`"
                if isinstance(end, PointRef)
                else f"use another lead than {lead}",
                self.step_at(on, f"{lead} goes on here"),
            )
            return
        self._put_ends(lead, ((first, self.index), (second, self.index)))
        self._bonds.append(_Bond((first, second), lead, self.index))

    def _unbond(self, action: Action) -> None:
        point = action.slots.get("first")
        if not isinstance(point, PointRef):
            gap = point if isinstance(point, Gap) else Gap("what is unbonded", "unbond T1 by hand", action.span)
            for bond in self._bonds:
                key = bond.lead if bond.lead is not None else ("bond", bond)
                self.world.network.graphs.loosen(key, self.position, gap)
            return
        point = plain(point)
        found = [b for b in self._bonds if b.points[0] == point] or [b for b in self._bonds if point in b.points]
        found = found or [b for b in self._bonds if any(isinstance(one, Gap) for one in b.points)]
        if not found:
            where = point.thing if point.thing is not None else point.structure
            related = ((where.span, f"{where} is declared here"),) if where is not None else ()
            mend = f"take this step out, or write `bond {point} to ...` where it is bonded"
            self.mistake("unbond-not-bonded", f"{point} is not bonded to anything", mend, related)
            return
        for bond in found:
            if bond.lead is not None:
                self._put_ends(bond.lead, ())
                continue
            key = ("bond", bond)
            for which in (0, 1):
                self.world.network.graphs.unlink(("loose", key, which), self.position)
            self.world.network.part(key, [one for one in bond.points if isinstance(one, PointRef)], self.position)
        self._bonds = [b for b in self._bonds if b not in found]

    # ---- tests ----

    def _prove(self, action: Action) -> None:
        detector = action.slots.get("detector")
        if not isinstance(detector, Detector):
            return
        tester, live = action.slots.get("tester"), action.slots.get("live")
        if isinstance(tester, Gap) or isinstance(live, Gap):
            return  # on what it is proven is not told, so that it is not known to be proven
        if not isinstance(tester, Tester) and not isinstance(live, PointRef):
            self.mistake(
                "prove-nothing",
                f"detector {detector} is proven, but on what is not said",
                f"name the tester or the live part: `prove {detector} on T1`, `prove {detector} on live 200 A`",
                ((detector.span, f"detector {detector} is declared here"),),
            )
            return
        self.world.proof.put(detector, self.position, self.index)
        self.world.tests_since.put(detector, self.position, 0)

    def _test(self, action: Action) -> None:
        world, position = self.world, self.position
        detector, point, result = (action.slots.get(slot) for slot in ("detector", "point", "result"))
        if isinstance(detector, Detector):
            world.tests_since.put(detector, position, (world.tests_since.last(detector) or 0) + 1)
        if not isinstance(point, PointRef):
            return
        point = plain(point)
        dead = result in ("dead", None) and action.slots.get("improvised") is not True  # an ear finds nothing dead
        if result == "live":  # then so is all that hangs together with it
            self.expire(lambda tested: world.network.joined(position, point, tested, False) is not FALSE)
        self.found(point, dead=dead)

    def found(self, point: PointRef, *, dead: bool) -> None:
        """What a test of a point has shown, from here on until something could energize it."""
        world, position = self.world, self.position
        world.tested.put(point, position, self.index)
        world.holds.put(point, position, dead)
        world.expired.put(point, position, None)
        (self._holding.add if dead else self._holding.discard)(point)

    def expire(self, affected: Callable[[PointRef], bool]) -> None:
        """The tests of the points that something could now energize hold no more."""
        for point in [point for point in self._holding if affected(point)]:
            self._holding.discard(point)
            self.world.holds.put(point, self.position, False)
            self.world.expired.put(point, self.position, self.index)

    def _joined(self, one: PointRef, other: PointRef) -> None:
        """Two points were just joined: a test behind one of them expires where the other could be live."""
        if not self._holding:
            return
        world, before = self.world, self.index
        network, feed = world.network, world.feed
        places = {
            place for point in (one, other) for place in network.sides(before, network.node(before, point)) or (point,)
        }
        if len({feed.feeding(before, place)[0] for place in places}) < 2:
            return
        self.expire(lambda tested: feed.feeding(self.position, tested)[0] > feed.feeding(before, tested)[0])

    def _loosely_joined(self, *ends: End) -> None:
        """A point was just joined to a place not told, which may be live."""
        network, position = self.world.network, self.position
        here = [end for end in ends if isinstance(end, PointRef)]
        if here:
            self.expire(lambda tested: any(network.joined(position, end, tested, False) is not FALSE for end in here))

    def _clean(self, action: Action) -> None:
        point = action.slots.get("point")
        if isinstance(point, PointRef):
            self.world.cleaned.put(plain(point), self.position, self.index)


__all__ = ["Clamps", "Related"]
