"""What of a plan was not read: cause before consequence, each said once."""

from __future__ import annotations

import re
from collections.abc import Sequence
from typing import NamedTuple

from groundlint.findings.model import Finding, Kind
from groundlint.text import Span

UNDECLARED = "undeclared-name"
"""The code of the message that a name is declared nowhere, which may follow from a declaration that was not read."""

_WORD = re.compile(r"[^\s,;()\"'`]+")
_RANGE = re.compile(r"([^\d.]*)(\d{1,9})(?:\.\.|[-\u2010-\u2015])([^\d.]*)(\d{1,9})")
_LONGEST_RANGE = 1000


class NotRead(NamedTuple):
    """What one statement that was not read, or one name that is declared nowhere, stands in the way of: ``names`` that
    this statement may have declared, and the ``uses`` of these names, or of that one, in the lines after it."""

    finding: Finding
    names: tuple[str, ...]
    uses: tuple[Span, ...]


def not_read(findings: Sequence[Finding]) -> tuple[NotRead, ...]:
    """The statements that were not read, then the names declared nowhere that stand in none of them, each once."""
    unread = [finding for finding in findings if finding.kind is Kind.UNREAD]
    causes = [finding for finding in unread if finding.slug != UNDECLARED]
    declared = {name: cause for cause in reversed(causes) for name in _names(cause.span)}
    waiting: dict[Finding, list[Span]] = {cause: [] for cause in causes}
    alone: dict[str, Finding] = {}
    for finding in unread:
        if finding.slug == UNDECLARED:
            name = finding.span.text
            cause = declared.get(name)
            if cause is not None:
                waiting[cause].append(finding.span)
            elif name in alone:
                waiting[alone[name]].append(finding.span)
            else:
                waiting[alone.setdefault(name, finding)] = []
    return tuple(
        NotRead(cause, tuple(dict.fromkeys(use.text for use in uses)) if cause in causes else (), tuple(uses))
        for cause, uses in waiting.items()
    )


def _names(span: Span) -> set[str]:
    """Every word in the line of a span, and every name of a range such as G1..G4, or what was meant for one."""
    words = set(_WORD.findall(span.source.line_text(span.line)))
    for word in tuple(words):
        if (ends := _RANGE.fullmatch(word)) and ends[1] == (ends[3] or ends[1]):
            first, last = int(ends[2]), int(ends[4])
            words |= {f"{ends[1]}{n}" for n in range(first, min(last, first + _LONGEST_RANGE) + 1)}
    return words
