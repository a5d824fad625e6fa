"""A class at a glance: every answer's marks in one table, what was missed most, how the marks spread, who is alike."""

from __future__ import annotations

import csv
import io
from collections import Counter
from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from typing import NamedTuple

from groundlint.teaching.likeness import Alike
from groundlint.teaching.marking import Marked

BANDS = 10
"""Bands of the spread, of ten percent each."""

MOST_LACKING = 2
"""Rules that a row of the class names of those that an answer lacks to pass; its own page names them all."""


MOST_ALIKE = 30
"""Pairs of alike answers that are listed."""


def other_names(pair: Alike) -> str:
    """A note on a pair in which equipment has other names."""
    return ", with other names" if pair.renamed else ""


class Missed(NamedTuple):
    """A rule or fault, and how many of the answers that could be marked did not earn all its points."""

    name: str
    title: str
    missed: int
    share: float


class Spread(NamedTuple):
    """Marks as percent: lowest, quartiles, highest; and the number of answers in each band of ten."""

    least: float
    lower: float
    middle: float
    upper: float
    most: float
    bands: tuple[int, ...]


@dataclass(frozen=True)
class ClassView:
    """The marks of a class, in the order of names; ``alike`` are pairs for the instructor to look at."""

    title: str
    marked: tuple[Marked, ...]
    missed: tuple[Missed, ...]
    spread: Spread
    alike: tuple[Alike, ...]

    @property
    def can(self) -> int:
        """How many answers could be marked."""
        return sum(not one.note for one in self.marked)

    @property
    def to_read(self) -> tuple[tuple[str, str], ...]:
        """What the instructor is to read, with the answer that it stands in."""
        return tuple((one.name, words) for one in self.marked for words in one.to_read)

    def bands(self) -> Iterator[tuple[str, int]]:
        """Each band of the spread in words, and its answers."""
        for at, count in enumerate(self.spread.bands):
            high = 100 if at == BANDS - 1 else at * 10 + 9
            yield f"{at * 10:>3} to {high:>3} %", count


def class_view(title: str, marked: Sequence[Marked], alike: Sequence[Alike] = ()) -> ClassView:
    """The view of a class of one answer or more."""
    can = [one for one in marked if not one.note]
    counts: Counter[tuple[str, str]] = Counter()
    for one in can:
        counts.update((item.name, item.title) for item in one.items if not item.full)
    missed = [Missed(name, words, count, count / len(can)) for (name, words), count in counts.items()]
    missed.sort(key=lambda one: (-one.missed, one.name))
    return ClassView(title, tuple(marked), tuple(missed), _spread([one.share * 100 for one in marked]), tuple(alike))


def _spread(percents: Sequence[float]) -> Spread:
    """The quartiles by linear interpolation between the nearest ranks; of the bands the last holds 100 % too."""
    from statistics import quantiles

    held = Counter(min(BANDS - 1, int(one * BANDS / 100)) for one in percents)
    two_or_more = percents if len(percents) > 1 else [*percents, *percents]
    lower, middle, upper = quantiles(two_or_more, n=4, method="inclusive")
    return Spread(min(percents), lower, middle, upper, max(percents), tuple(held[band] for band in range(BANDS)))


def number(points: float) -> str:
    """Points as people write them: at most two decimal places, and none for a whole number."""
    return f"{points:.2f}".rstrip("0").rstrip(".")


def _cell(text: str) -> str:
    """A text that a spreadsheet takes for no formula."""
    plain = " ".join(text.split())
    return f"'{plain}" if plain[:1] in ("=", "+", "-", "@") else plain


def table_csv(view: ClassView) -> str:
    """One row an answer: marks, and the points of each rule or fault."""
    out = io.StringIO()
    writer = csv.writer(out, lineterminator="\n")
    items = view.marked[0].items if view.marked else ()
    head = ["answer", "student", "marks", "out of", "percent", "passed", "off", "to read", "note"]
    writer.writerow(
        [*head, *(_cell(item.name if len({i.name for i in items}) == len(items) else item.title) for item in items)]
    )
    for one in view.marked:
        writer.writerow(
            [
                _cell(one.name),
                _cell(one.student),
                number(one.marks),
                number(one.out_of),
                f"{one.share * 100:.0f}",
                "yes" if one.passed else "no",
                number(one.taken_off),
                str(len(one.to_read)),
                _cell(note(one, len(one.lacking))),
                *(number(item.earned) for item in one.items),
            ]
        )
    return out.getvalue()


def note(one: Marked, most: int = MOST_LACKING) -> str:
    """Why an answer could not be marked, or so many at most of what it lacks to pass; empty for neither."""
    if one.note or not one.lacking:
        return one.note
    more = len(one.lacking) - most
    return f"required to pass: {'; '.join(one.lacking[:most])}{f'; and {more} more' if more > 0 else ''}"


def table_text(view: ClassView) -> str:
    """The class for a terminal."""
    names = [one.name for one in view.marked]
    width = max([6, *(len(name) for name in names)])
    out = [view.title, "", f"{'answer':<{width}}  {'marks':>7}  {'of':>5}  {'%':>3}  passed"]
    for one in view.marked:
        line = f"{one.name:<{width}}  {number(one.marks):>7}  {number(one.out_of):>5}  {one.share * 100:>3.0f}  "
        out.append(f"{line}{'yes' if one.passed else 'no':<6}  {note(one)}".rstrip())
    spread = view.spread
    out += [
        "",
        f"Spread: {spread.least:.0f} % to {spread.most:.0f} %, half of the class between {spread.lower:.0f} % and "
        f"{spread.upper:.0f} %, middle {spread.middle:.0f} %",
    ]
    out += [f"  {band}  {count:>3}  {'#' * min(count, 60)}" for band, count in view.bands() if count]
    if view.to_read:
        out += ["", "To be read by the instructor, since what is meant is not clear:"]
        out += [f"  {name}: {words}" for name, words in view.to_read]
    if view.missed:
        out += ["", "Missed most:"]
        out += [f"  {one.missed:>3} of {view.can}  {one.title} [{one.name}]" for one in view.missed[:10]]
    if view.alike:
        out += [
            "",
            "Near alike beside the handout, what few others wrote first; likeness says nothing of how it came about:",
        ]
        out += [
            f"  {pair.likeness * 100:>3.0f} %  {names[pair.one]} and {names[pair.other]}{other_names(pair)}"
            for pair in view.alike[:MOST_ALIKE]
        ]
        out += [f"  and {len(view.alike) - MOST_ALIKE} pairs more"] if len(view.alike) > MOST_ALIKE else []
    return "\n".join(out) + "\n"


__all__ = ["ClassView", "Missed", "Spread", "class_view", "note", "number", "other_names", "table_csv", "table_text"]
