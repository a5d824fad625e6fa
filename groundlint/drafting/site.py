"""The facts of a site that steps are drafted from: what is there, who goes, and what is lacking."""

from __future__ import annotations

from typing import TypeVar

from groundlint.drafting.grounds import Tools
from groundlint.drafting.kit import detectors_for, in_use, longest
from groundlint.drafting.policy import Choices
from groundlint.plan import models as m
from groundlint.values import Gap

BY_HAND = 600.0
"""V up to which a conductor may be handled in rubber gloves: 29 CFR 1910.269(n)(6)(i)."""
BREAKS_LOAD = ("breaker", "recloser")

Kind = TypeVar("Kind", bound=m.Thing)


class NoSuchJobError(ValueError):
    """A job that is not written here, with what to do."""


class Site:
    """A plan without steps, asked for what steps are made of."""

    def __init__(self, plan: m.Plan, choices: Choices) -> None:
        self.plan = plan
        self.choices = choices
        self.line = plan.line
        self.feet = plan.in_feet

    def of(self, kind: type[Kind]) -> list[Kind]:
        """Things of a class in the order stated, what is past its date last."""
        return in_use([one for one in self.plan.things if isinstance(one, kind)], self.plan.dated)

    def length(self, chosen: str | None, feet: str, metres: str) -> str | None:
        """A length that is chosen, or by habit in the plan's own unit; None where it is left open."""
        return chosen if chosen or chosen is None else feet if self.feet else metres

    def refuse(self) -> None:
        """`NoSuchJobError` for a job that is not written here."""
        plan = self.plan
        if plan.of(m.Cable):
            raise NoSuchJobError(f"{plan.of(m.Cable)[0]} is a cable; steps are drafted for overhead lines alone")
        if plan.no_grounds is not None:
            raise NoSuchJobError("it says `no grounds`; steps are drafted for work on a grounded line")
        if plan.part is not None:
            raise NoSuchJobError("it is one part of a job; steps are drafted for a job from beginning to end")

    def lacks(self) -> list[Gap]:
        """The facts without which there are no steps, and which are not stated."""
        found: list[Gap] = []
        plan, line = self.plan, self.line
        if line is None:
            return [Gap("the line that is worked on", "line Larkspur")]
        if line.phases is None:
            found.append(Gap("the phases of the line", "phases A B C", line.span))
        if not plan.route:
            found.append(Gap("the structures of the route", "route 211 (52 m) 212 (48 m) 213", line.span))
        if not plan.of(m.SupplySource):
            found.append(plan.source_gap)
        found += [
            Gap(f"the open point between {source} and the line", f"switch SW1 between {source} and 211")
            for source in self.of(m.SupplySource)
            if source.located and not any(source in switch.sources for switch in self.of(m.Switch))
        ]
        if not plan.of(m.Person):
            found.append(Gap("who is in the crew, with roles", "crew lineman L1 L2, groundman M1"))
        elif not self.climbers():
            found.append(Gap("who goes up", "crew lineman L1 L2, groundman M1"))
        if not plan.of(m.Detector):
            found.append(Gap("the voltage detector", "detector D1 for 5 kV to 40 kV"))
        if not plan.of(m.Tester):
            found.append(Gap("what the detector is proven on", "tester T1"))
        by_hand = line.voltage is not None and line.voltage <= BY_HAND
        if not plan.of(m.Stick) and not by_hand:
            found.append(Gap("the live-line tool", "stick H1 8 ft"))
        if plan.access == "bucket" and not plan.of(m.Vehicle):
            found.append(Gap("the bucket truck", "vehicle V1 bucket truck insulated"))
        if not plan.of(m.Lead):
            found.append(Gap("the leads", "lead G1..G5 2/0 copper 25 ft grade 3"))
        return found

    @property
    def tools(self) -> Tools:
        """What every set is put on with; only of a site that lacks nothing."""
        choices = self.choices
        volts = [one.voltage for one in (self.line, *self.of(m.SupplySource)) if one is not None and one.voltage]
        stick = longest(self.of(m.Stick))
        others = [one for one in self.of(m.Stick) if one is not stick and one.length == getattr(stick, "length", None)]
        return Tools(
            stick=str(stick) if stick else None,
            test_stick=str((*others, stick)[0]) if stick else None,
            detectors=tuple(map(str, detectors_for(self.of(m.Detector), volts))),
            tester=str(self.of(m.Tester)[0]),
            rod_away=self.length(choices.rod_away, "16 ft", "5 m"),
            rod_barricade=self.length(choices.rod_barricade, "16 ft", "5 m"),
            vehicle_barricade=self.length(choices.vehicle_barricade, "10 ft", "3 m"),
        )

    def phases(self) -> list[m.Conductor]:
        """The phases in the order in which they are grounded."""
        stated = self.line.phases if self.line is not None and self.line.phases is not None else ()
        return [stated[place - 1] for place in self.choices.phases if place <= len(stated)]

    def gloves(self) -> list[m.Rubber]:
        """Rubber gloves."""
        return [one for one in self.of(m.Rubber) if one.sort == "rubber gloves"]

    def people(self, *roles: str) -> list[m.Person]:
        """People of some roles, role by role, but for who is said to be unqualified."""
        able = [one for one in self.of(m.Person) if one.qualified is not False]
        return [one for role in roles for one in able if one.role == role]

    def holder(self) -> m.Person:
        """Who holds the clearance: the one that crews are under, a foreman, a lineman."""
        everyone = self.people("foreman", "lineman", "apprentice") or self.of(m.Person)
        named = next((one.under for one in everyone if one.under), None)
        return next((one for one in everyone if one.name == named), everyone[0])

    def climbers(self) -> list[m.Person]:
        """Who goes up: linemen of the holder's crew, the holder only where there is no other."""
        holder = self.holder()
        crew = [one for one in self.people("lineman") if one.crew == holder.crew or one.under]
        others = [one for one in crew if one is not holder]
        return (others or crew or self.people("apprentice", "foreman"))[: self.choices.up]

    def switches(self) -> list[m.Switch]:
        """Open points, source by source; of one source what breaks load first."""
        order: list[m.Switch] = []
        for source in self.of(m.SupplySource):
            ways = [one for one in self.of(m.Switch) if source in one.sources and one not in order]
            order += sorted(ways, key=lambda one: one.sort not in BREAKS_LOAD)
        return order + [one for one in self.of(m.Switch) if one not in order]

    def blocked(self) -> list[m.SupplySource | m.Neighbour]:
        """Sources whose reclosing is to be blocked: it is on, or not said to be off where something recloses; and live
        neighbours whose reclosing is on."""
        sources = [
            source
            for source in self.of(m.SupplySource)
            if source.reclosing == "on"
            or (
                source.reclosing is None
                and any(one.sort in BREAKS_LOAD for one in self.of(m.Switch) if source in one.sources)
            )
        ]
        return [*sources, *(one for one in self.of(m.Neighbour) if one.reclosing == "on")]

    def covers(self) -> list[tuple[m.Neighbour, m.Rubber]]:
        """Live parts that are bare, each with goods to cover it that nothing else needs."""
        used = {goods for one in self.of(m.Neighbour) for goods in one.goods}
        goods = [one for one in self.of(m.Rubber) if "glove" not in one.sort and "sleeve" not in one.sort]
        free = [one for one in goods if one not in used]
        return list(zip((one for one in self.of(m.Neighbour) if not one.covered), free, strict=False))

    def bucket(self) -> m.Vehicle:
        """The vehicle that the work is done from."""
        lifts = self.of(m.Vehicle)
        return next((one for one in lifts if one.body in ("bucket truck", "lift")), lifts[0])

    def stands_bare(self) -> bool:
        """Whether the bucket is not insulated, so that a lead has to join it to the wires."""
        return self.plan.access == "bucket" and self.bucket().insulation == "uninsulated"
