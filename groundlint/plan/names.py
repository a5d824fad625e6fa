"""The names of a plan: what is declared, what a name stands for, and what to say where it stands for nothing."""

from __future__ import annotations

import re
from collections.abc import Iterator, Mapping

from groundlint.language.nodes import Name, Node, Point, Word
from groundlint.plan.models import (
    Bar,
    Cable,
    Capacitor,
    Conductor,
    Detector,
    Equipment,
    Lead,
    Line,
    LooseWire,
    Mat,
    Neighbour,
    ParallelCircuit,
    Person,
    PointRef,
    Rod,
    Rubber,
    Stick,
    Structure,
    SupplySource,
    Switch,
    Tester,
    Thing,
    Vault,
    Vehicle,
)
from groundlint.text import Diagnostic, Severity, Span
from groundlint.text.near import nearest
from groundlint.values import Gap

MAX_RANGE = 500
"""Names that one range may stand for."""

SAID: dict[type[Thing], str] = {
    Line: "a line",
    Vault: "a vault",
    Structure: "a structure",
    Conductor: "a conductor",
    SupplySource: "a source",
    ParallelCircuit: "a parallel circuit",
    Neighbour: "a live neighbour",
    Switch: "an open point",
    Capacitor: "a capacitor",
    Cable: "a cable",
    Rod: "a rod",
    Bar: "a bar",
    Lead: "a lead",
    Detector: "a detector",
    Tester: "a tester",
    Stick: "a stick",
    Rubber: "insulating goods",
    LooseWire: "a loose wire",
    Mat: "a mat",
    Vehicle: "a vehicle",
    Person: "a person",
    Equipment: "equipment",
    Thing: "a thing",
}

PARAM_CLASSES: dict[str, type[Thing]] = {
    "structure": Structure,
    "rod": Rod,
    "bar": Bar,
    "lead": Lead,
    "detector": Detector,
    "tester": Tester,
    "stick": Stick,
    "switch": Switch,
    "capacitor": Capacitor,
    "cable": Cable,
    "vehicle": Vehicle,
    "mat": Mat,
    "person": Person,
    "source": SupplySource,
    "conductor": Conductor,
}
"""What a routine's parameters stand for, by their words."""

POINT_SORT: dict[type[Thing], str] = {
    Rod: "rod",
    Bar: "bar",
    Vehicle: "vehicle",
    Mat: "mat",
    Neighbour: "neighbour",
    Switch: "switch",
}

SIDES = ("near side", "far side")
"""Of a conductor that is open at a structure: toward the beginning of the route, and toward its end."""

_ON_STRUCTURES = frozenset(["arm", "bridge", "chair", "crossarm", "gaff", "hook", "ladder", "peak", "step"])
"""What people stand on, sit in or hang by up a structure, each without an `s`."""
_HYPHENED = re.compile(r"(.*?)([0-9]{1,6})-\1([0-9]{1,6})")
_RANGE = re.compile(r"(.*?)([0-9]+)\.\.(.*?)([0-9]+)$")


class Names:
    """Declared names, with the substitutions of open values (`given`) and of routine parameters."""

    def __init__(self) -> None:
        self.things: dict[str, Thing] = {}
        self.stand_ins: dict[str, str | None] = {}  # `given` names that stand for a thing; None where left open
        self.given_places: dict[str, Span] = {}
        self.diagnostics: list[Diagnostic] = []
        self._told: set[tuple[str, int]] = set()

    # ------------------------------------------------------------- messages
    def refuse(self, code: str, span: Span, message: str, mend: str = "", *related: tuple[Span, str]) -> None:
        """Notes something that could not be taken in; reported once a place, however often a routine brings it back."""
        key = (code, span.start if span.source.text else -1)
        if (code + str(span.source.name), key[1]) in self._told:
            return
        self._told.add((code + str(span.source.name), key[1]))
        self.diagnostics.append(Diagnostic(code, span, message, Severity.DANGER, mend, related, True))

    # ------------------------------------------------------------- declaring
    def declare(self, thing: Thing) -> bool:
        """Takes a name; false, with a message, where it is taken already."""
        before = self.things.get(thing.name)
        if before is not None:
            mend = "give one of them another name, or take this declaration out"
            if isinstance(before, Capacitor) and isinstance(thing, Switch):  # `disconnect CB1` declares a switch
                mend = f"for the step, write `disconnect capacitor {before}`; else give one of them another name"
            self.refuse(
                "declared-twice",
                thing.span,
                f"{thing.name} is declared already, as {self.said(before)}",
                mend,
                (before.span, f"{thing.name} is declared here"),
            )
            return False
        self.things[thing.name] = thing
        return True

    @staticmethod
    def said(thing: Thing) -> str:
        """``a lead``."""
        return next((words for cls, words in SAID.items() if isinstance(thing, cls)), "a thing")

    def expand(self, names: tuple[Name, ...]) -> Iterator[Name]:
        """Every name, ranges taken apart: ``G1..G3`` gives G1, G2, G3."""
        for name in names:
            if ".." not in name:
                yield name
                continue
            found = _RANGE.fullmatch(name)
            if found is None or (found[3] not in ("", found[1])):
                self.refuse("bad-range", name.span, f"{name} is not a range of names", "write a range such as G1..G5")
                continue
            first, last = int(found[2]), int(found[4])
            if last < first or last - first >= MAX_RANGE:
                back = last < first
                why = "runs backwards" if back else f"stands for more than {MAX_RANGE} names"
                mend = f"write {found[1]}{found[4]}..{found[1]}{found[2]}" if back else "write a shorter range"
                self.refuse("bad-range", name.span, f"the range {name} {why}", mend)
                continue
            width = len(found[2]) if found[2].startswith("0") else 0
            for number in range(first, last + 1):
                yield Name(f"{found[1]}{number:0{width}d}", name.span)

    # ------------------------------------------------------------- looking up
    def find(self, name: Node, env: Mapping[str, str], *classes: type[Thing]) -> Thing | None:
        """What a name stands for; None with a message where it stands for nothing, or for a thing of another kind."""
        text = env.get(name, str(name))
        if text in self.stand_ins:
            value = self.stand_ins[text]
            if value is None:
                return None
            text = value
        thing = self.things.get(text)
        wanted = " or ".join(SAID.get(cls, "a thing") for cls in classes) or "a thing"
        if thing is None:
            strange = text.islower() or (text.isupper() and _is_noun(text))
        else:
            strange = bool(classes) and not isinstance(thing, classes)
        if strange and _in_other_words(self, name, classes):
            return None
        if thing is None:
            shown = text if len(text) <= 40 else text[:37] + "..."
            belongs = "" if wanted == "a thing" else f"; {wanted} belongs here"
            digits = text.isdigit() and classes and not any(issubclass(one, Structure | Line) for one in classes)
            hint = (
                _up_there(name)
                or self._meant(text, classes)
                or (_number_as_name(text, wanted) if digits else "")
                or (
                    f"declare {text} as {wanted}, or correct the name" if belongs else "declare it, or correct the name"
                )
            )
            self.refuse("undeclared-name", _itself(text, name.span), f"{shown} is declared nowhere{belongs}", hint)
            return None
        if classes and not isinstance(thing, classes):
            self.refuse(
                "wrong-kind",
                name.span,
                f"{text} is {self.said(thing)}; {wanted} belongs here",
                f"name {wanted}",
                (thing.span, f"{text} is declared here"),
            )
            return None
        return thing

    def _meant(self, text: str, classes: tuple[type[Thing], ...]) -> str:
        """What may have been meant by a name that is declared nowhere; empty where nothing comes near."""
        if len(text) > 1 and all(isinstance(self.things.get(letter), Conductor) for letter in text):
            return f"name each conductor by itself, `{' '.join(text)}`"
        stem = text.rstrip("0123456789")
        number = int(text[len(stem) :][:7] or -1)
        for name, thing in self.things.items():
            row = _HYPHENED.fullmatch(name)
            if row and row[1] == stem and int(row[2]) <= number <= int(row[3]):
                return f"{name} in {thing.span.called} is one name; write `{row[1]}{row[2]}..{row[1]}{row[3]}`"
        among = [name for name, thing in self.things.items() if not classes or isinstance(thing, classes)]
        ends = re.fullmatch(r"(\D*\d+)\s*[-\u2013]\s*(\D*\d+)", text)
        if ends is not None and ends[1] in among and ends[2] in among:
            return f"write `{ends[1]}..{ends[2]}` for all from the one to the other"
        # a short word in small letters, such as `for`, is no slip of a name
        near = nearest(text, among) if len(text) > 3 or not text.isalpha() or not text.islower() else ""
        return f"did you mean {near}?" if near else ""

    def open_value(self, name: Node, env: Mapping[str, str]) -> Gap | None:
        """The gap where a name is an open value (`given`) that nothing fills."""
        text = env.get(name, str(name))
        if text in self.stand_ins and self.stand_ins[text] is None:
            return Gap(f"what {text} stands for", "default 212", self.given_places.get(text))
        return None

    # ------------------------------------------------------------- points
    def point(self, point: Point, env: Mapping[str, str], at: Structure | Gap | None = None) -> PointRef | Gap:
        """The place that a point's words name; a gap, with a message, where they name none, and without where ``at``,
        the structure that is left out, is an open value."""
        unknown = Gap(f"which point {point} is", "", point.span)  # the message at the name says what to write
        words = list(point.words)
        structure, thing = at if isinstance(at, Structure) else None, None
        for position, word in enumerate(words):
            gap = self.open_value(word, env)
            if gap is not None:
                return gap
            found = self.find(word, env)
            if found is None:
                return unknown
            if isinstance(found, Structure) and position == 0:
                structure = found
                continue
            if position and structure is None:
                self._two_points(point, str(words[0]), str(word))
                return unknown
            if position and not isinstance(found, Conductor | Switch):
                what = f"{found} is {self.said(found)}, and is no part of {structure}"
                self.refuse("not-a-point", point.span, what, f"write `{found}` alone, if that is what is meant")
                return unknown
            thing = found
        if thing is not None and point.feature is not None and point.feature not in (*SIDES, "handle"):
            self._two_points(point, f"{structure or ''} {point.feature}".strip(), " ".join(words))
            return unknown
        if isinstance(at, Gap) and structure is None and (thing is None or isinstance(thing, Conductor)):
            return at
        if point.feature is not None:
            return self._feature(str(point.feature), structure, thing, point.span) or unknown
        return (
            self.at_structure(structure if thing is None or isinstance(thing, Conductor) else None, thing, point.span)
            or unknown
        )

    def _two_points(self, point: Point, one: str, other: str) -> None:
        """Says that two points stand where one belongs, with an end or a statement for each."""
        from groundlint.language.reader import line_of

        line = line_of(point.span)
        before, after = line.text[: point.span.start - line.start].rstrip(), line.text[point.span.end - line.start :]
        to = re.match(r"(?:attach|apply|connect|detach|remove)\b.*\b(to|from)$", before, re.IGNORECASE)
        if to is None:
            again = re.sub(r"\bwith \S+", "with ...", after)  # a lead of its own
            mend = f"give each a statement of its own, such as `{before} {one}{after}` and `{before} {other}{again}`"
        elif re.search(r"\bthen\b", line.text, re.IGNORECASE):
            mend = "a lead has two ends; a third is that of another lead, in a statement of its own"
        else:
            ends = (other, one) if point.feature and to[1].lower() == "from" else (one, other)
            mend = f"write one end after the other, `{to[1]} {ends[0]}, then {to[1]} {ends[1]}`"
        said = point.span.text
        self.refuse("two-points", point.span, f"`{said}` is more than one point, and one belongs here", mend)

    def _feature(self, feature: str, structure: Structure | None, thing: Thing | None, span: Span) -> PointRef | None:
        if feature == "handle" and isinstance(thing, Switch):
            return PointRef("handle", structure, thing)
        if feature in SIDES:
            return self._side(feature, structure, thing, span)
        if structure is None:
            self.refuse(
                "which-structure",
                span,
                f"at which structure is this {feature}?",
                f"write the structure first, such as `212 {feature}`",
            )
            return None
        if isinstance(structure, Vault) and feature != "ground":
            self.refuse(
                "not-in-a-vault",
                span,
                f"{structure} is a vault, and has no {feature}",
                f"name a mat, `{structure} ground`, or a conductor such as `{structure} A`",
                (structure.span, f"{structure} is declared here"),
            )
            return None
        if feature in ("pole", "feet"):
            return PointRef("steel" if structure.material == "steel" else "pole", structure)
        return PointRef("earth" if feature == "ground" else feature, structure)

    def _side(self, side: str, structure: Structure | None, thing: Thing | None, span: Span) -> PointRef | None:
        if structure is None or not isinstance(thing, Conductor):
            self.refuse(
                "which-conductor",
                span,
                f"the {side} of what?",
                f"write structure and conductor first, such as `212 A {side}`",
            )
            return None
        return PointRef(side, structure, thing)

    def _a_structure(self) -> str:
        """The first structure of the plan, for an example."""
        every = (one.name for one in self.things.values() if isinstance(one, Structure) and not isinstance(one, Vault))
        return next(every, "212")

    def at_structure(self, structure: Structure | None, thing: Thing | None, span: Span) -> PointRef | None:
        """A conductor at a structure, or a thing that is a point by itself; None with a message for anything else."""
        if isinstance(thing, Conductor):
            if structure is None:
                self.refuse(
                    "which-structure",
                    span,
                    f"at which structure is {thing}?",
                    f"write the structure first, such as `{self._a_structure()} {thing}`",
                )
                return None
            return PointRef("conductor", structure, thing)
        for cls, sort in POINT_SORT.items():
            if isinstance(thing, cls):
                return PointRef(sort, None, thing)
        if isinstance(thing, Lead):
            words = f"{thing} is a lead, and no point: it has what its ends are on"
            self.refuse("not-a-point", span, words, f"write the points that the ends of {thing} are on")
            return None
        if isinstance(thing, Capacitor):
            words = f"{thing} is a capacitor, and no point: what it may hold is asked of all who are in place"
            mend = "take it out, or write the conductor that it hangs on"
            self.refuse("not-a-point", span, words, mend)
            return None
        what = f"{thing} is {self.said(thing)}, which is no point" if thing else f"{structure} alone is no point"
        self.refuse(
            "not-a-point",
            span,
            f"{what}; a lead joins conductors, rods, bars, steel, vehicles",
            "write a structure and a conductor, such as `212 A`, or the name of a rod or bar",
        )
        return None

    def points(
        self, words: tuple[Word, ...], env: Mapping[str, str], at: Structure | Gap | None = None
    ) -> list[PointRef | Gap]:
        """The places that a list of words names: each structure, or open value, holds for the conductors that follow
        it."""
        found: list[PointRef | Gap] = []
        place, pending = at, None
        pending_thing: Thing | None = None
        lost = False  # after a name that is declared nowhere, of which enough is said
        asked = False  # at which structure a conductor is, which is asked of the first alone
        for word in self._flat(words):
            if not isinstance(word, Name):
                if lost and (word in SIDES or word == "handle"):
                    continue
                if isinstance(place, Gap) and not (word == "handle" and isinstance(pending_thing, Switch)):
                    point: PointRef | Gap | None = place
                else:
                    structure = place if isinstance(place, Structure) else None
                    point = self._feature(str(word), structure, pending_thing, word.span)
                part = (word in SIDES and isinstance(pending_thing, Conductor)) or (
                    word == "handle" and isinstance(pending_thing, Switch)
                )
                if part:  # `212 A near side`, `SW41 handle`: one point, not the thing and its part
                    found.pop()
                found.append(point or Gap(f"which point {word} is", "", word.span))
                pending = pending_thing = None
                continue
            if pending_thing is not None:
                pending_thing = None
            gap = self.open_value(word, env)
            thing = None if gap else self.find(word, env)
            lost = gap is None and thing is None
            if gap is not None or isinstance(thing, Structure):
                if pending is not None:
                    self._alone(place, pending, found)
                place, pending = gap or thing, word  # type: ignore[assignment]
                continue
            if pending is not None and thing is not None and not isinstance(thing, Conductor | Switch):
                self._alone(place, pending, found)  # `212 K1`: a bar is no part of a structure
            pending = None
            if thing is None:
                found.append(Gap(f"which point {word} is", "", word.span))
                continue
            if isinstance(place, Gap) and isinstance(thing, Conductor):
                found.append(place)
                pending_thing = thing
                continue
            here = place if isinstance(thing, Conductor) and isinstance(place, Structure) else None
            if asked and here is None and isinstance(thing, Conductor):
                found.append(Gap(f"which point {word} is", "", word.span))
                pending_thing = thing
                continue
            asked = asked or (here is None and isinstance(thing, Conductor))
            point = self.at_structure(here, thing, word.span)
            found.append(point or Gap(f"which point {word} is", "", word.span))
            pending_thing = thing
        if pending is not None:
            self._alone(place, pending, found)
        return found

    def _alone(self, place: Structure | Gap | None, word: Node, found: list[PointRef | Gap]) -> None:
        """A structure with no conductor after it is no point; an open value may be one."""
        if isinstance(place, Gap):
            found.append(place)
        else:
            self.at_structure(place, None, word.span)

    def _flat(self, words: tuple[Word, ...]) -> Iterator[Node]:
        for word in words:
            if isinstance(word, Name):
                yield from self.expand((word,))
            else:
                yield word


def _itself(name: str, span: Span) -> Span:
    """The place of a name within that of its point, where it stands there as it is."""
    found = re.search(rf"(?<![\w.-]){re.escape(name)}(?![\w.-])", span.text)
    return span.source.span(span.start + found.start(), span.start + found.end()) if found else span


def _up_there(name: Node) -> str:
    """What to write for a word of what people stand on or in up a structure, where they do; empty elsewhere."""
    before = name.span.source.text[: name.span.start].rsplit("\n", 1)[-1]
    if not re.search(r"\b(?:on|in)(?:\s+(?:the|a|his|her))?\s*$", before, re.IGNORECASE):
        return ""
    if name.lower().rstrip("s") in _ON_STRUCTURES:
        return "who is there is on the structure that it hangs on: write `on the pole` or `on steel`"
    if name.lower() in ("helicopter", "chopper"):
        return (
            "the plan language has no words for work from it; who is set down on the structure stands `on the pole` or "
            '`on steel`, and the rest is a `note "..."`'
        )
    return ""


def _is_noun(word: str) -> bool:
    from groundlint.language.trade import is_noun

    return is_noun(word)


def _number_as_name(text: str, wanted: str) -> str:
    from groundlint.language.mistakes import name_of_digits

    return name_of_digits(text, wanted.partition(" ")[2])


def _by_its_name(names: Names, word: str, classes: tuple[type[Thing], ...]) -> str:
    """Advice to write a thing's name in place of what crews call its kind; empty where the plan has none that fits."""
    from groundlint.language.trade import kind_of

    kind = {"WIRE": "CONDUCTOR"}.get(kind_of(word), kind_of(word))
    of_it = (thing for thing in names.things.values() if type(thing).__name__.upper() == kind)
    one = next((thing for thing in of_it if not classes or isinstance(thing, classes)), None)
    return f"write its name in place of `{word}`, such as {one.name}" if one is not None else ""


def _in_other_words(names: Names, name: Node, classes: tuple[type[Thing], ...]) -> bool:
    """Says once what to write for a line in the trade's own words, in which a word stands for a name, or a name for a
    thing of another kind; false where it is no such line. Where no text is known that says as much, none is given."""
    from groundlint.language.mistakes import not_read, write_one_of
    from groundlint.language.reader import OTHER_WORDS, meant_by
    from groundlint.language.trade import Phrase, is_of_the_trade, is_word

    known = {
        one: "SOURCE" if isinstance(thing, SupplySource) else type(thing).__name__.upper()
        for one, thing in names.things.items()
    }
    span, meant = meant_by(name.span, known)
    if not is_of_the_trade(span.text, known):  # the same statement again would mend nothing
        meant = tuple(one for one in meant if one.text.split()[0] != span.text.split()[0].lower())
    if any(one.code == "said-in-other-words" and one.span == span for one in names.diagnostics):
        return True
    phrase = Phrase(span.text, known)
    if meant or phrase.several or (name.islower() and is_word(name)):
        its = "" if phrase.several else _by_its_name(names, str(name), classes)
        names.refuse("said-in-other-words", span, OTHER_WORDS, write_one_of(meant) or its or not_read(phrase))
        return True
    return False


def point_words(point: PointRef | Gap) -> str:
    """A point for a message."""
    return str(point) if isinstance(point, PointRef) else "its point"
