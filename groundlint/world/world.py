"""All that changes while a plan is carried out, as one log for each thing and what is asked of it."""

from __future__ import annotations

from groundlint.plan.models import (
    Bar,
    Cable,
    Capacitor,
    Detector,
    Lead,
    LooseWire,
    Neighbour,
    Person,
    Plan,
    PointRef,
    Rod,
    Rubber,
    Structure,
    SupplySource,
    Switch,
    Thing,
    Vehicle,
)
from groundlint.text import Diagnostic
from groundlint.values import Gap, Unknown
from groundlint.world.feed import Feed
from groundlint.world.holdings import UNSETTLED, Holder, Holdings
from groundlint.world.logs import Log, Logs
from groundlint.world.network import Network, first_position
from groundlint.world.records import Barricade, Bond, End, Held, Mounted, RodSet, Stand, Waited


class World:
    """The logs; written by the replay alone, read by `Timeline`."""

    def __init__(self, plan: Plan) -> None:
        self.plan = plan
        self.network = Network(plan)
        self.switch: Logs[Switch, str | None] = Logs()
        self.operated: Logs[Switch, int] = Logs()
        self.tagged: Logs[Switch, bool] = Logs()
        self.locked: Logs[Switch, bool] = Logs()
        self.disabled: Logs[Switch, bool] = Logs()  # the remote or automatic control
        self.control_tagged: Logs[Switch, bool] = Logs()
        self.seen: Logs[Switch, bool] = Logs()
        self.verified: Logs[Switch, bool] = Logs()
        self.blocked: Logs[SupplySource | Neighbour, bool | None] = Logs()  # the reclosing
        self.briefed: Logs[Person, int] = Logs()
        self.clearance: Logs[Holder, str] = Logs()
        self.clearance_of_all: Log[str] = Log()
        self.holdings = Holdings()
        self.inspected: Logs[Thing, int] = Logs()
        self.proof: Logs[Detector, int | None] = Logs()
        self.tests_since: Logs[Detector, int] = Logs()
        self.tested: Logs[PointRef, int] = Logs()
        self.holds: Logs[PointRef, bool] = Logs()
        self.expired: Logs[PointRef, int | None] = Logs()
        self.in_doubt: Logs[PointRef, Unknown | None] = Logs()  # what leaves it open whether the test has ended
        self.cleaned: Logs[PointRef, int | None] = Logs()
        self.rods: Logs[Rod, RodSet | None] = Logs()
        self.pulled: dict[Rod, int] = {}  # the step that pulled each last
        self.barricades: Logs[Thing, Barricade | None] = Logs()
        self.left_standing: set[Thing] = set()  # the vehicles that have moved away from their barricade
        self.bars: Logs[Bar, Mounted | None] = Logs()
        self.ends: Logs[Lead, tuple[tuple[End, int], ...]] = Logs()
        self.hanging: Logs[PointRef, tuple[Lead | Bond, ...]] = Logs()  # leads, and bonds without one, on each point
        self.hung: Logs[Lead, int] = Logs()  # by the step that hung it, but for a lifted end that goes back
        self.adrift: Log[tuple[Lead, ...]] = Log()  # with an end on at a place not stated
        self.bonds: Log[tuple[Bond, ...]] = Log()
        self.lifted: Logs[Lead, End | None] = Logs()
        self.stands: Logs[Person, Stand | None] = Logs()
        self.people: Log[tuple[Person, ...]] = Log()
        self.gloves: Logs[Person, bool] = Logs()
        self.worn: Logs[Person, tuple[Rubber, ...]] = Logs()
        self.held: Logs[LooseWire, Held | None] = Logs()
        self.covered: Logs[Neighbour, bool] = Logs()
        self.covered_with: Logs[Neighbour, tuple[Rubber, ...]] = Logs()
        self.cut_at: Logs[PointRef, int | None] = Logs()
        self.downed: Logs[PointRef, bool] = Logs()
        self.pulling: Log[bool] = Log()  # a conductor was pulled in, and no work was done since
        self.parked: Logs[Vehicle, tuple[Structure | None]] = Logs()
        self.disconnected: Logs[Capacitor, int | None] = Logs()
        self.discharged: Logs[Capacitor, int | None] = Logs()
        self.unstated_capacitor: Logs[str, Gap] = Logs()  # by the kind of step that does not name one
        self.waited: Log[Waited] = Log()
        self.unwatched: Log[int] = Log()  # the last step in which nobody was there for a stretch
        self.spiked: Logs[tuple[Cable, Structure], int] = Logs()
        self.unstated_spike: Log[Gap] = Log()  # of a step that does not name the cable, or the place
        self.problems: list[Diagnostic] = []
        for switch in self.network.switches:
            state = first_position(switch)
            self.switch.put(switch, 0, state)
            self.tagged.put(switch, 0, switch.tagged)
            self.locked.put(switch, 0, switch.locked)
            self.network.set_switch(switch, state, 0)
        for circuit in (*plan.of(SupplySource), *plan.of(Neighbour)):
            assert isinstance(circuit, SupplySource | Neighbour)
            self.blocked.put(circuit, 0, None if circuit.reclosing is None else circuit.reclosing != "on")
        for neighbour in plan.of(Neighbour):
            assert isinstance(neighbour, Neighbour)
            self.covered.put(neighbour, 0, neighbour.covered)
            self.covered_with.put(neighbour, 0, neighbour.goods)
        self.feed = Feed(plan, self.network)
        self.feed.update(self.states(), 0)

    def states(self) -> dict[Switch, str | None]:
        """The newest position of every switch."""
        return {switch: self.switch.last(switch) for switch in self.network.switches}


__all__ = ["UNSETTLED", "Holder", "World"]
