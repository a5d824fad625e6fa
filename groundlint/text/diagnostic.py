"""What a stage has to say about its input, as a value with a place; only reports turn it into output."""

from __future__ import annotations

from enum import IntEnum
from typing import NamedTuple

from groundlint.text.source import Span


class Severity(IntEnum):
    """Signal words of ANSI Z535, most severe last so that they compare as they sound."""

    NOTICE = 0
    CAUTION = 1
    WARNING = 2
    DANGER = 3

    @property
    def word(self) -> str:
        """The signal word in lower case."""
        return self.name.lower()


class Diagnostic(NamedTuple):
    """One thing wrong with a text or with what it says.

    ``code`` is a stable slug (``unknown-unit``); ``message`` says what was found and what could stand there; ``mend``
    is one next action, or empty; ``related`` are other places with a few words on each; ``unread`` is true where a
    statement could not be taken in, so that nothing built on this text may pass as clean.
    """

    code: str
    span: Span
    message: str
    severity: Severity = Severity.WARNING
    mend: str = ""
    related: tuple[tuple[Span, str], ...] = ()
    unread: bool = False
