"""A small catalogue and two traces for it: one read from a few lines of text, one from tables that a test fills.

Facts only look into the trace (``case.look``), so that a test can decide every value.
"""

from __future__ import annotations

from dataclasses import dataclass, field
from typing import Any

from groundlint.facts.catalogue import Catalogue, Event, KindOfThing, Slot, StepKind, fact
from groundlint.text import Source, Span
from groundlint.values import Gap, Unknown
from groundlint.world.logs import READING


def looks(name: str, *kinds: str, **more: Any) -> Any:
    def compute(case: Any, at: int, *things: Any) -> Any:
        return case.look(name, at, *things)

    def lines(case: Any, at: int, *things: Any) -> Any:
        place = case.place(things[0])
        return ((place, f"{things[0]} declared"),) if place is not None else ()

    return fact(name, *kinds, meaning=name, lines=lines, **more)(compute)


KINDS = (
    KindOfThing("point", meaning="where a lead can go on"),
    KindOfThing("conductor", ("point",)),
    KindOfThing("rod", ("point",)),
    KindOfThing("lead"),
    KindOfThing("detector"),
    KindOfThing("stick"),
    KindOfThing("source"),
)
STEPS = (
    StepKind(
        "attach",
        (Slot("lead", "lead"), Slot("point", "point", "to"), Slot("stick", "stick", "by", optional=True)),
        "a lead's end goes on",
    ),
    StepKind("test", (Slot("point", "point", many=True), Slot("detector", "detector", "with")), "found dead"),
    StepKind("open", (Slot("source", "source"),), "a source is opened"),
    StepKind("close", (Slot("source", "source"),), "a source is closed", happens=("gains-way",)),
    StepKind(
        "gains-way", (Slot("source", "source"), Slot("point", "point", "to")), "it reaches a point", happening=True
    ),
)
FACTS = (
    looks("grounded", "point"),
    looks("on", "lead"),
    looks("joined-to", "lead", "point"),
    looks("closed", "source"),
    looks("length", "lead", returns="length", timed=False, unit="ft"),
    looks("distance", "lead", "point", returns="length"),
    looks("duty", "lead", returns="current", unit="kA"),
    looks("material", "rod", returns=("copper", "steel"), timed=False),
    looks("end", "lead", returns="point"),
    looks("method", "plan", returns=("single-point", "dual-point"), timed=False),
    looks("by-hand", "step"),
)
TOY = Catalogue.of(KINDS, STEPS, FACTS, ("length", "current", "area", "time"))


_MISSING = object()


@dataclass(eq=False)
class TableTrace:
    """A trace whose every fact stands in ``table`` under (name, position, things); what does not is unknown."""

    events: list[Event]
    domains: dict[str, tuple[str, ...]]
    table: dict[tuple[Any, ...], Any]
    open_kinds: frozenset[str] = frozenset()
    source: Source = field(default_factory=lambda: Source("toy", "toy plan\n"))
    happened: dict[int, tuple[Event, ...]] = field(default_factory=dict)

    @property
    def n(self) -> int:
        return len(self.events)

    def domain(self, kind: str) -> tuple[Any, ...]:
        if kind == "plan":
            return ("the plan",)
        own = self.domains.get(kind, ())
        return own + tuple(thing for sub in KINDS if kind in sub.parents for thing in self.domains.get(sub.name, ()))

    def closed(self, kind: str) -> Gap | None:
        return Gap(f"that there is no other {kind}", f"no other {kind}") if kind in self.open_kinds else None

    def event(self, at: int) -> Event:
        return self.events[at]

    def happenings(self, at: int) -> tuple[Event, ...]:
        return self.happened.get(at, ())

    def label(self, thing: Any) -> str:
        return thing.label if isinstance(thing, Event) else str(thing)

    def place(self, thing: Any) -> Span | None:
        return None

    def kind_of(self, thing: Any) -> str:
        return next((kind for kind, members in self.domains.items() if thing in members), "plan")

    def start(self) -> Span:
        return self.source.span(0, self.source.text.find("\n"))

    def quantities(self) -> tuple[Any, ...]:
        return ()

    def look(self, name: str, at: int, *things: Any) -> Any:
        things = tuple(self.events.index(thing) if isinstance(thing, Event) else thing for thing in things)
        here = self.table.get((name, at, *things), _MISSING)
        since, until = at, at + 1
        while here is not _MISSING and self.table.get((name, since - 1, *things), _MISSING) == here:
            since -= 1
        while here is not _MISSING and self.table.get((name, until, *things), _MISSING) == here:
            until += 1
        READING.narrow(since, until)
        if here is not _MISSING:
            return here
        return Unknown.of(f"{name} of {' and '.join(map(str, things))} at {at}")


class TextTrace(TableTrace):
    """A plan of lines such as ``lead G1 25 ft``, ``attach G1 to R1 by H1``, ``test A with D1``, ``no other source``."""

    def __init__(self, text: str) -> None:
        super().__init__([], {}, {}, frozenset({"source"}), Source("plan", text))
        self.places: dict[str, Span] = {}
        self.lengths: dict[str, float] = {}
        self.words: dict[str, str] = {}
        ends: dict[str, list[str]] = {}
        self.ends: list[dict[str, list[str]]] = [{}]
        domains: dict[str, list[str]] = {}
        for number in range(1, len(self.source.line_starts) + 1):
            words = self.source.line_text(number).split("#")[0].split()
            start = self.source.line_starts[number - 1]
            span = self.source.span(start, start + len(self.source.line_text(number)))
            match words:
                case []:
                    pass
                case ["method", method]:
                    self.words["method"] = method
                case ["no", "other", kind]:
                    self.open_kinds -= {kind}
                case ["attach", lead, "to", point, *rest]:
                    stick = None if rest == ["by", "hand"] else rest[1] if rest else Unknown.of("the stick")
                    slots = {"lead": lead, "point": point, "stick": stick}
                    self.events.append(Event("attach", slots, span, str(number), f"attach {lead} to {point}"))
                    ends.setdefault(lead, []).append(point)
                case ["test", *points] if "with" in points:
                    cut = points.index("with")
                    slots = {"point": tuple(points[:cut]), "detector": points[cut + 1]}
                    self.events.append(Event("test", slots, span, str(number), " ".join(words)))
                case ["test", *points]:
                    slots = {"point": tuple(points), "detector": Unknown.of("the detector of the test")}
                    self.events.append(Event("test", slots, span, str(number), " ".join(words)))
                case [("open" | "close") as verb, source]:
                    self.events.append(Event(verb, {"source": source}, span, str(number), " ".join(words)))
                case [kind, name, *rest]:
                    domains.setdefault(kind, []).append(name)
                    self.places[name] = span
                    if rest and kind == "lead":
                        self.lengths[name] = float(rest[0]) * 0.3048
                    elif rest:
                        self.words[name] = rest[0]
            if len(self.events) == len(self.ends):
                self.ends.append({lead: list(points) for lead, points in ends.items()})
        self.domains = {kind: tuple(names) for kind, names in domains.items()}

    def place(self, thing: Any) -> Span | None:
        return self.places.get(thing)

    def look(self, name: str, at: int, *things: Any) -> Any:
        READING.only(at)
        match name:
            case "grounded":
                if things[0] in self.domains.get("rod", ()):
                    return True
                rods = set(self.domains.get("rod", ()))
                return any(things[0] in points and rods & set(points) for points in self.ends[at].values())
            case "on":
                return things[0] in self.ends[at]
            case "joined-to":
                return things[1] in self.ends[at].get(things[0], ())
            case "length":
                return self.lengths.get(things[0], Unknown.of(f"the length of lead {things[0]}", "25 ft"))
            case "method":
                return self.words.get("method", Unknown.of("the method", "method dual-point"))
            case "material":
                return self.words.get(things[0], Unknown.of(f"the material of {things[0]}"))
        return Unknown.of(name)
