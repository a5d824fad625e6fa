"""What a rule offers to write into a plan where it is broken, as an edit of the plan's text.

A routine's lines stand for several places: what goes before or after one of its steps goes before or after the line
that does the routine, its order is left alone, and only how a step is done is added within it.
"""

from __future__ import annotations

import re
from typing import TYPE_CHECKING

from groundlint.facts.catalogue import Event
from groundlint.rulebook.model import Repair
from groundlint.text.edits import Edit, lead_between, lead_of, line_after, line_before, number_of, whole_line

if TYPE_CHECKING:
    from collections.abc import Sequence

    from groundlint.text import Span


Filled = tuple[Repair, str, "int | None"]
"""A repair with its text filled in, and the position of the other step that it names, if there is one."""


def edit_of(repairs: Sequence[Filled], events: Sequence[Event], at: int) -> Edit | None:
    """The edit of all these repairs at the step ``events[at]``, or ``None`` where one of them can't be made."""
    return _Making(events, at).edit(repairs)


class _Making:
    """Makes one edit of several repairs; lines that are put in at one place have numbers one after the other."""

    def __init__(self, events: Sequence[Event], at: int) -> None:
        self.events = events
        self.at = at
        self.event = events[at]
        self.numbers: dict[tuple[str, int], str | None] = {}
        self.says: list[str] = []
        self.pieces: list[tuple[Span, str]] = []

    def edit(self, repairs: Sequence[Filled]) -> Edit | None:
        """All of them, or ``None``."""
        for repair, text, other in repairs:
            if repair.step is not None and other is None:
                return None
            if not getattr(self, f"_{repair.how}")(text, self.at if other is None else other, repair.words):
                return None
        return Edit("; ".join(self.says), tuple(self.pieces))

    def _before(self, text: str, at: int, _: str) -> bool:
        place, words = self._beside(at)
        lead = self._lead("before", at, self._number_above(at))
        self._put(f"put in before {words}: `{_quoted(text)}`", line_before(place, lead, _quoted(text)))
        return True

    def _after(self, text: str, at: int, _: str) -> bool:
        at = self._last_of_number(at)
        place, words = self._beside(at)
        lead = self._lead("after", at, self.events[at].number)
        self._put(f"put in after {words}: `{_quoted(text)}`", line_after(place, lead, _quoted(text)))
        return True

    def _last_of_number(self, at: int) -> int:
        """The last of the steps that are numbered on from one at a position: 7b where there are 7, 7a and 7b."""
        number = re.match("[0-9]+", self.events[at].number or "")
        last = at
        for after in range(at + 1, len(self.events) if number is not None else 0):
            if re.fullmatch(rf"{number[0]}[a-z]*", self.events[after].number or "") is None:  # type: ignore[index]
                break
            last = after
        return at if self._beside(last)[0] == self._beside(at)[0] else last

    def _beside(self, at: int) -> tuple[Span, str]:
        """The line written for a step, and how to speak of it."""
        event = self.events[at]
        place = event.use or event.span
        return place, "this step" if at == self.at else f"`{place.text}`"

    def _lead(self, where: str, at: int, number: str | None) -> str:
        """What a new line beside a step begins with."""
        place, _ = self._beside(at)
        above = self.numbers.get((where, at), number)
        lead = lead_between(lead_of(place), above)
        self.numbers[where, at] = number_of(lead)
        return lead

    def _swap(self, *_: object) -> bool:
        if self.event.use is not None or len(self.event.ends) != 2:
            return False
        one, other = self.event.ends
        words = f"`{other.text}` first, then `{one.text}`"
        self._put(f"swap the ends: {words}", (one, other.text), (other, one.text))
        return True

    def _add(self, text: str, _: int, words: str) -> bool:
        """Words at the end of the step, of that end of a lead which it is about, or in the place of ``words``."""
        span = self.event.span
        above, below = (
            0 <= at < len(self.events) and self.events[at].span == span for at in (self.at - 1, self.at + 1)
        )
        if self.event.ends and (above or below):  # a line of two steps, which come one after the other
            span = self.event.ends[above]
        there = r"\s+".join(map(re.escape, words.split()))
        found = re.search(rf",?\s*\b{there}\b", span.text, re.IGNORECASE) if words else None
        if found is not None:
            place = span.source.span(span.start + found.start(), span.start + found.end())
            self._put(f"write `{text}` for `{words}`", (place, f" {text}"))
        elif re.search(rf"\b{re.escape(text.split()[0])}\b", span.text, re.IGNORECASE):
            return False  # it says that already, and nothing is said twice
        else:
            self._put(f"add `{text}`", (span.source.span(span.end, span.end), f" {text}"))
        return True

    def _number(self, *_: object) -> bool:
        """Numbers for the steps that have none: a letter more than that of the step above, or all from 1 on."""
        none = not any(event.number for event in self.events)
        last, seen = "0", set()
        for at, event in enumerate(self.events):
            place, _words = self._beside(at)
            if place.start in seen or place.source is not self.event.span.source:
                continue
            seen.add(place.start)
            if event.number is None:
                last = str(int(last) + 1) if none else number_of(lead_between("0. ", last)) or last
                self.pieces.append((place.source.span(place.start, place.start), f"{last}. "))
            else:
                last = event.number
        self.says.append("number the steps")
        return bool(self.pieces)

    def _bring(self, _: str, other: int, *__: str) -> bool:
        return self._move(other, self.at, "before")

    def _defer(self, _: str, other: int, *__: str) -> bool:
        return self._move(self.at, other, "after")

    def _move(self, moved: int, to: int, where: str) -> bool:
        """A step taken from its place and put beside another."""
        span, (place, words) = self.events[moved].span, self._beside(to)
        if self.events[moved].use is not None or place.source is not span.source or place.line == span.line:
            return False
        if any(piece.line == span.line and not put for piece, put in self.pieces):
            return True  # with another step of its line
        before = where == "before"
        lead = self._lead(where, to, self._number_above(to) if before else self.events[to].number)
        line = whole_line(span)
        text = line.text[span.start - line.start :].rstrip("\r\n")
        self._put(
            f"move `{span.text}` to {where} {words}",
            (line, ""),
            (line_before if before else line_after)(place, lead, text),
        )
        return True

    def _put(self, says: str, *pieces: tuple[Span, str]) -> None:
        self.says.append(says)
        self.pieces += pieces

    def _number_above(self, at: int) -> str | None:
        """The number of the step written above that at a position."""
        here, _ = self._beside(at)
        for event in reversed(self.events[:at]):
            written = event.use or event.span
            if written.source is here.source and written.start < here.start:
                return event.number
        return None


def _quoted(text: str) -> str:
    """A repair's text stands in double quotes itself, and writes single ones for those of the plan."""
    return text.replace("'", '"')
