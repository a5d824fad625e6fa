"""Where a number comes from and how well it is known. Each table of the electrical stage carries one for its rows."""

from __future__ import annotations

from enum import Enum
from typing import NamedTuple


class HowKnown(Enum):
    """How well a figure is known, best first."""

    SEEN = "seen in a print or copy of the source"
    RECOMPUTES = "from memory, recomputes to the printed digits"
    MEMORY = "from memory"
    APPROXIMATE = "from memory, recomputes only approximately"
    DERIVED = "derived here, not published"
    PRACTICE = "common practice, no source"


class Provenance(NamedTuple):
    """A source by designation, edition and clause, how its figure is known, and what must be said with it."""

    source: str
    how: HowKnown
    note: str = ""

    def __str__(self) -> str:
        words = f"{self.source} ({self.how.value})" if self.source else self.how.value
        return f"{words}; {self.note}" if self.note else words
