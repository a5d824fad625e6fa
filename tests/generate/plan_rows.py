"""Rows of a plan before they are text: each a template with its parts, so that one can be spoiled alone."""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from dataclasses import dataclass, field, replace
from random import Random
from typing import Any

STEP, HEAD, THING, PROPERTY, ROUTINE, BODY, STAGE = "step", "head", "thing", "property", "routine", "body", "stage"


@dataclass(frozen=True)
class Row:
    """One statement. ``verb`` is its kind, whatever word the plan has for it; ``parts`` fill ``text``, and more."""

    sort: str
    verb: str
    text: str
    parts: Mapping[str, str] = field(default_factory=dict)

    def words(self) -> str:
        """The statement as it stands in the plan, without its number."""
        return self.text.format_map(self.parts)

    def with_(self, /, **parts: str) -> Row:
        """The same row with other parts."""
        return replace(self, parts={**self.parts, **parts})

    def __getitem__(self, part: str) -> str:
        return self.parts.get(part, "")


def row(sort: str, verb: str, text: str, /, **parts: str) -> Row:
    """A row from its template and parts."""
    return Row(sort, verb, text, parts)


@dataclass(frozen=True)
class Layout:
    """How the text is laid out; none of it changes what the plan means."""

    number: str = "{}. "  # "" for steps without numbers
    capital: bool = False
    indent: int = 2
    keyword: int = 0  # width that the first word of a statement is padded to
    comments: int = 0  # seed of the comments strewn in; 0 for none
    wrap: bool = False  # long statements go on in the next line after a comma


COMMENTS = (
    "checked against the one-line diagram",
    "as walked down in the field",
    "see the switching order",
    'ask the operator for "hold" if in doubt',
    "old procedure said otherwise",
    "clamps face away from the work",
    "#2 on the list of revisions",
    "50 m to the road",
)


@dataclass(frozen=True)
class Draft:
    """A plan as rows, with what the generator chose for it in ``about``."""

    rows: tuple[Row, ...]
    layout: Layout
    about: Mapping[str, Any]

    def text(self) -> str:
        """The plan."""
        lay = self.layout
        rng = Random(lay.comments)
        out: list[str] = []
        count = 0
        for one in self.rows:
            words = one.words()
            first, _, rest = words.partition(" ")
            if lay.capital:
                first = first[:1].upper() + first[1:]
            words = f"{first:<{lay.keyword}} {rest}".rstrip() if rest else first
            lead = ""
            if one.sort in (PROPERTY, BODY):
                lead = " " * max(lay.indent, 1)
            elif one.sort == STEP:
                count += 1
                lead = " " * lay.indent + (lay.number.format(count) if lay.number else "")
            elif one.sort in (STAGE, ROUTINE) or one.verb == "line":
                out.append("")
            if lay.comments and rng.random() < 0.06:
                out.append(f"{' ' * rng.choice((0, len(lead)))}# {rng.choice(COMMENTS)}")
            line = lead + words
            if lay.wrap and len(line) > 60 and ", " in line and one.sort in (STEP, THING) and '"' not in line:
                at = line.index(", ") + 1
                line = f"{line[:at]}\n{' ' * (len(lead) + 8)}{line[at + 1 :]}"
            if lay.comments and rng.random() < 0.06:
                line += f"  # {rng.choice(COMMENTS)}"
            out.append(line)
        return "\n".join(out).lstrip("\n") + "\n"

    def steps(self) -> Iterator[tuple[int, Row]]:
        """The steps outside routines, with their places."""
        return ((at, one) for at, one in enumerate(self.rows) if one.sort == STEP)
