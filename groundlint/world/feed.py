"""What could feed the line at each position: sources through their open points, live neighbours that something touches.

The open points of a source lie as their two sides say: in series or beside one another. Where a switch is only said
to stand before a source
and its sides lead nowhere, it could lie beside the others, so that it must be open too.
"""

from __future__ import annotations

from typing import NamedTuple

from groundlint.plan.models import Neighbour, Plan, PointRef, Structure, SupplySource, Switch, Thing
from groundlint.values import FALSE, TRUE, UNKNOWN, Gap, Truth, Unknown
from groundlint.world.logs import Logs
from groundlint.world.network import CUT, Network


class Reach(NamedTuple):
    """How far a source reaches: whether it is open, the structures reached, and the gaps to blame."""

    open: Truth
    structures: tuple[tuple[Structure, Truth], ...]
    gaps: tuple[Gap, ...]


class Feed:
    """How far each source reaches, by position."""

    def __init__(self, plan: Plan, network: Network) -> None:
        self.plan = plan
        self.network = network
        self.sources = tuple(t for t in plan.things if isinstance(t, SupplySource))
        self.neighbours = tuple(t for t in plan.things if isinstance(t, Neighbour))
        self._beside: dict[Thing, list[Switch]] = {}
        for switch in network.switches:
            for side in dict.fromkeys(switch.sides):
                self._beside.setdefault(side, []).append(switch)
        self._before: dict[SupplySource, list[Switch]] = {
            source: [s for s in network.switches if source in s.sources or source in s.sides] for source in self.sources
        }
        self.reach: Logs[SupplySource, Reach] = Logs()
        self.at_once: Logs[None, dict[frozenset[SupplySource], bool]] = Logs()
        for source in self.sources:
            if source.beyond and source.at is not None:
                for phase in network.phases:
                    network.end_of_route(source.at, phase)

    def update(self, states: dict[Switch, str | None], position: int) -> None:
        """Work out anew how far sources reach, after a switch or a cut has changed."""
        for source in self.sources:
            now = self._reach(source, states)
            if now != self.reach.last(source):
                self.reach.put(source, position, now)
        together = self._together(states)
        if together != (self.at_once.last(None) or {}):
            self.at_once.put(None, position, together)

    def _together(self, states: dict[Switch, str | None]) -> dict[frozenset[SupplySource], bool]:
        """The sources that may feed the line at once: each, with all those that are not open once its open points are
        closed; and whether they do, or it is not stated what holds one of them off. Some of three or more without the
        others are left out, since each more of them doubles what there is to compute."""
        groups: dict[frozenset[SupplySource], bool] = {}
        for one in self.sources if len(self.sources) > 1 else ():
            # those farther on in a row close as well, which only what touches them may name
            closed = {**states, **dict.fromkeys((*self._before[one], *self._walk(one, states)[-1]), "closed")}
            reached = {other: self._reach(other, closed).open for other in self.sources if other is not one}
            others = {other: is_open is FALSE for other, is_open in reached.items() if is_open is not TRUE}
            if others:
                group = frozenset((one, *others))
                groups[group] = all(others.values()) or groups.get(group, False)
        return groups

    def _reach(self, source: SupplySource, states: dict[Switch, str | None]) -> Reach:
        before = self._before[source]
        if not before:
            home: tuple[tuple[Structure, Truth], ...] = ()
            if source.at is not None and source.located:
                home = ((source.at, TRUE),)
                if self._cut_off(source):
                    return Reach(TRUE, home, ())
            fact = f"what opens source {source}" if source.located else f"where source {source} is"
            where = source.at or (self.network.structures[0] if self.network.structures else "211")
            return Reach(
                UNKNOWN,
                tuple((structure, UNKNOWN) for structure, _ in home),
                (Gap(fact, f"switch SW1 between {source} and {where}", source.span),),
            )
        found, gaps, met = self._walk(source, states)
        hops = [switch for switch in before if switch not in met and switch.hop is not None]
        aside = [switch for switch in before if switch not in met and switch.hop is None]
        through = FALSE  # what passes the open points whose sides lead nowhere from here
        for switch in aside:
            state = states.get(switch)
            if state != "open":
                through = UNKNOWN
                gaps.append(_position_gap(switch) if state is None else _sides_gap(switch))
        if source.at is not None and not self._beside.get(source):
            # open points farther along the line leave the structure where the source comes in as it is
            beyond = any(len(s.sides) > 1 and all(isinstance(x, Structure) for x in s.sides) for s in aside)
            found[source.at] = TRUE if beyond or (hops and not aside) else through
        elif source.at is not None and through is not FALSE:
            found[source.at] = max(found.get(source.at, FALSE), through)
        if not source.located:
            gaps.append(Gap(f"where source {source} is", f"source {source} beyond 211", source.span))
            return Reach(UNKNOWN, tuple(found.items()), tuple(dict.fromkeys(gaps)))
        worst = through if not self._beside.get(source) else max(through, *found.values(), FALSE)
        if hops:  # one after another along the route: each cuts off what is behind it
            own = TRUE if len(hops) == len(before) else worst
            through_hop: dict[int | None, Truth] = {}
            for switch in hops:
                through_hop[switch.hop] = max(through_hop.get(switch.hop, FALSE), _passes(states.get(switch)))
            worst = min(own, *through_hop.values())
            gaps += [_position_gap(switch) for switch in hops if states.get(switch) is None]
        elsewhere = any(passed is not FALSE for structure, passed in found.items() if structure is not source.at)
        if worst is not FALSE and not elsewhere and self._cut_off(source):
            worst = FALSE
        if worst is FALSE:
            return Reach(TRUE, tuple(found.items()), ())
        return Reach(~worst, tuple(found.items()), tuple(dict.fromkeys(gaps)))

    def _walk(
        self, source: SupplySource, states: dict[Switch, str | None]
    ) -> tuple[dict[Structure, Truth], list[Gap], set[Switch]]:
        """Structures reached from a source through switches, the gaps on the way, and all switches on it."""
        found: dict[Structure, Truth] = {}
        gaps: list[Gap] = []
        met: set[Switch] = set()
        best: dict[tuple[Switch, Thing], Truth] = {}
        edge: list[tuple[Switch, Thing, Truth]] = [(switch, source, TRUE) for switch in self._beside.get(source, ())]
        while edge:
            switch, came, truth = edge.pop()
            if best.get((switch, came)) is not None and best[switch, came] >= truth:
                continue
            best[switch, came] = truth
            others = [side for side in switch.sides if side is not came]
            met.add(switch)
            state = states.get(switch)
            passed = FALSE if state == "open" else min(truth, UNKNOWN if state is None else TRUE)
            if passed is not FALSE and state is None:
                gaps.append(_position_gap(switch))
            for side in others:
                if isinstance(side, Structure):
                    found[side] = max(found.get(side, FALSE), passed)
                elif isinstance(side, Switch):
                    edge.append((side, switch, passed))
                elif isinstance(side, SupplySource) and self._beside.get(side):
                    edge.extend((one, side, passed) for one in self._beside[side] if one is not switch)
                else:
                    others = []
            if not others:  # it leads to a place that the plan does not tell, which may be any on the line
                beyond = min(passed, UNKNOWN)
                for structure in (source.at,) if source.at is not None else self.network.structures:
                    found[structure] = max(found.get(structure, FALSE), beyond)
                if beyond is not FALSE:
                    gaps.append(_sides_gap(switch))
        return found, gaps, met

    def _cut_off(self, source: SupplySource) -> bool:
        """Whether every phase is cut, and not bridged, where the source comes in from beyond the route."""
        if not source.beyond or source.at is None or not self.network.phases:
            return False
        at = source.at
        return all(
            self.network.is_cut(at, phase) and self.network.through.last((at, phase)) == CUT
            for phase in self.network.phases
        )

    # ---- questions ----

    def feeding(self, at: int, point: PointRef) -> tuple[Truth, tuple[Gap, ...]]:
        """Whether something could reach a point now, and what is not stated about it."""
        truth, gaps = FALSE, []  # type: Truth, list[Gap]
        for source in self.sources:
            now, blame = self.way(at, source, point)
            if now is not FALSE:
                truth = max(truth, now)
                gaps.extend(blame)
        for neighbour in self.neighbours:
            live = PointRef("neighbour", None, neighbour)
            now = self.network.joined(at, live, point, False)
            if now is not FALSE:
                truth = max(truth, now)
                if now is UNKNOWN:
                    gaps.extend(self.network.gaps(at, live, point, False))
        if not self.plan.sources_complete and truth is not TRUE:
            truth = UNKNOWN
            gaps.append(self.plan.source_gap)
        return truth, tuple(dict.fromkeys(gaps)) if truth is UNKNOWN else ()

    def way(self, at: int, source: SupplySource, point: PointRef) -> tuple[Truth, tuple[Gap, ...]]:
        """Whether a source could reach a point now, and what is not stated about it."""
        reach = self.reach.at(source, at)
        if reach is None:
            return FALSE, ()
        nowhere = not source.located or not self.network.phases or (source.at is None and not reach.structures)
        if nowhere:
            return (FALSE, ()) if reach.open is TRUE else (UNKNOWN, reach.gaps or (self._place_gap(source),))
        best, blame = FALSE, ()  # type: Truth, tuple[Gap, ...]
        for structure, passed in reach.structures:
            if passed <= best:
                continue
            for phase in self.network.phases:
                node = PointRef("conductor", structure, phase)
                if source.beyond and structure is source.at:
                    node = self.network.end_of_route(structure, phase)
                joined = self.network.joined(at, node, point, False)
                now = min(passed, joined)
                if now > best:
                    best = now
                    blame = reach.gaps if passed is UNKNOWN else ()
                    if joined is UNKNOWN:
                        blame += self.network.gaps(at, node, point, False)
        return best, blame

    def _place_gap(self, source: SupplySource) -> Gap:
        return Gap(f"where source {source} feeds in", f"source {source} beyond 211", source.span)

    def source_open(self, at: int, source: SupplySource) -> Truth | Unknown:
        """Whether every way from the source to the line is open."""
        reach = self.reach.at(source, at)
        if reach is None:
            return Unknown((self._place_gap(source),))
        return reach.open if reach.open is not UNKNOWN else Unknown(reach.gaps or (self._place_gap(source),))

    def lets_through(self, switch: Switch) -> tuple[Structure, ...] | None:
        """The structures that closing a switch could feed; None where what it stands between is not known."""
        if len(switch.sides) < 2:
            return None
        found: dict[Structure, None] = {}
        seen = {switch}
        edge: list[Switch] = [switch]
        while edge:
            for side in edge.pop().sides:
                if isinstance(side, Structure):
                    found[side] = None
                elif isinstance(side, Switch) and side not in seen:
                    seen.add(side)
                    edge.append(side)
        return tuple(found) or None


def _passes(state: str | None) -> Truth:
    return FALSE if state == "open" else UNKNOWN if state is None else TRUE


def _sides_gap(switch: Switch) -> Gap:
    return Gap(f"what stands on either side of {switch}", f"switch {switch} between West and 211", switch.span)


def _position_gap(switch: Switch) -> Gap:
    return Gap(f"the position of {switch}", f"open {switch} and tag it", switch.place("position"))


__all__ = ["Feed", "Reach"]
