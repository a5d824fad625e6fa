"""Plans in a few words, without the reader: one action a line, its slots by the names that its kind declares."""

from __future__ import annotations

from collections.abc import Callable
from typing import Any

import pytest

from groundlint.plan.models import (
    Action,
    Bar,
    Cable,
    Capacitor,
    Conductor,
    Detector,
    Lead,
    Line,
    LooseWire,
    Mat,
    Neighbour,
    Person,
    Plan,
    PointRef,
    Rod,
    Rubber,
    Stick,
    Structure,
    SupplySource,
    Switch,
    Tester,
    Thing,
    Vehicle,
)
from groundlint.steps import KINDS
from groundlint.text import Source, Span
from groundlint.timeline import Timeline, replay
from groundlint.values import Gap

FEATURES = ("pole ground", "pole", "steel", "guy", "footing", "handle", "earth", "far side", "near side")


class Site:
    """Things by name, and the actions written so far."""

    def __init__(
        self,
        structures: str = "211 212 213",
        *,
        material: str | None = "wood",
        neutral: str | None = "multigrounded",
        shield: bool = False,
        insulated: bool = False,
        complete: bool = True,
        switch: dict[str, Any] | None = None,
        source: dict[str, Any] | None = None,
    ) -> None:
        self.source = Source("plan.tpg", "\n" * 5000)
        self.names: dict[str, Thing] = {}
        self.actions: list[Action] = []
        self.complete = complete
        for order, name in enumerate(structures.split()):
            self.add(Structure(name=name, span=self.span(0), material=material, order=order, span_after=50.0))
        route = [t for t in self.names.values() if isinstance(t, Structure)]
        phases = tuple(Conductor(name=n, span=self.span(0), role="phase") for n in "ABC")
        n = Conductor(name="N", span=self.span(0), role="neutral")
        s = Conductor(name="OHGW", span=self.span(0), role="shield")
        self.line = Line(
            name="Larkspur", span=self.span(0), voltage=12470.0, phases=phases,
            neutral=n, neutral_earthing=neutral, shield=(s,) if shield else (),
            shield_insulated=insulated,
        )  # fmt: skip
        self.add(self.line, *self.line.conductors)
        if source is not None or switch is not None:
            west = SupplySource(name="West", span=self.span(0), **{"at": route[0], "beyond": True, **(source or {})})
            self.add(west)
            if switch is not None:
                sides = {"sides": (west, route[0]), "sources": (west,), "position": "closed"}
                self.add(Switch(name="SW41", span=self.span(0), **{**sides, **switch}))
        equipment = {Rod: "R1 R2", Bar: "K1 K2", Lead: "G1 G2 G3 G4 G5 G6", Detector: "D1", Tester: "T1", Stick: "H1"}
        for cls, names in {
            **equipment,
            Rubber: "RG1 B1",
            LooseWire: "J1",
            Vehicle: "TRUCK",
            Mat: "MAT",
            Capacitor: "CB1 CB2",
        }.items():
            self.add(*(cls(name=name, span=self.span(0)) for name in names.split()))
        self.add(
            Person(name="L1", span=self.span(0), role="lineman"), Person(name="M1", span=self.span(0), role="groundman")
        )
        self.add(Neighbour(name="UNDERBUILD", span=self.span(0), voltage=7200.0))
        self.add(Cable(name="UG1", span=self.span(0), terminals=tuple(route[:2])))

    def span(self, line: int) -> Span:
        """The place of a line counted from 0."""
        return Span(self.source, line, line)

    def add(self, *things: Thing) -> None:
        """Declare things."""
        self.names.update((thing.name, thing) for thing in things)

    def __getitem__(self, name: str) -> Any:
        return self.names[name]

    def point(self, words: str) -> PointRef:
        """A point as a plan writes it: ``212 A``, ``212 pole``, ``R1``; ``212 A far`` is the other side of a cut."""
        parts = words.split(maxsplit=1)
        first = self.names[parts[0]]
        if not isinstance(first, Structure):
            return PointRef(type(first).__name__.lower(), None, first)
        if parts[1] in FEATURES:
            return PointRef(parts[1], first)
        conductor, *side = parts[1].split()
        sort = f"{side[0]} side" if side else "conductor"
        return PointRef(sort, first, self.names[conductor])

    def value(self, holds: str, words: Any) -> Any:
        """A slot's value from its words; ``?`` is a gap."""
        if words == "?":
            return Gap(f"a {holds}")
        if not isinstance(words, str) or holds in ("word", "text", "flag"):
            return words
        if holds == "point":
            return self.point(words)
        if holds == "structure":
            return self.names[words]
        return self.names.get(words, words)

    def do(self, kind: str, **slots: Any) -> int:
        """One more action; its position."""
        filled: dict[str, Any] = {}
        for slot in KINDS[kind].slots:
            words = slots.pop(slot.name, None)
            if slot.many and isinstance(words, (list, tuple)):
                filled[slot.name] = tuple(self.value(slot.holds, one) for one in words)
            else:
                filled[slot.name] = self.value(slot.holds, words)
        assert not slots, f"{kind} has no slots {sorted(slots)}"
        at = len(self.actions)
        self.actions.append(Action(kind, filled, self.span(at)))
        return at

    def attach(self, lead: str, *points: str) -> None:
        """One end after the other."""
        for point in points:
            self.do("attach", lead=lead, point=point, stick="H1")

    def detach(self, lead: str, *points: str) -> None:
        """One end after the other."""
        for point in points:
            self.do("detach", lead=lead, point=point, stick="H1")

    def plan(self) -> Plan:
        """The plan so far."""
        return Plan(
            source=self.source, start=self.span(0), line=self.line, things=tuple(self.names.values()),
            sources_complete=self.complete, actions=tuple(self.actions),
        )  # fmt: skip

    def run(self) -> Timeline:
        """Carry it out."""
        return replay(self.plan())


@pytest.fixture(scope="session")
def site_class() -> type[Site]:
    """The same for property tests, which share it among their examples."""
    return Site


@pytest.fixture
def site() -> Callable[..., Site]:
    """Makes a site."""
    return Site
