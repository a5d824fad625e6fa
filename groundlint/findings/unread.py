"""What of a plan was not read: cause before consequence, each said once."""

from __future__ import annotations

import re
from collections.abc import Sequence
from typing import NamedTuple

from groundlint.findings.model import Finding, Kind
from groundlint.text import Span

UNDECLARED = "undeclared-name"
"""The code of the message that a name is declared nowhere, which may follow from a declaration that was not read."""

ONE_SLIP = frozenset({"slash-in-a-name"})
"""The codes of slips that a writer makes throughout a plan, and mends throughout once it is said."""

_WORD = re.compile(r"[^\s,;()\"'`]+")
_RANGE = re.compile(r"([^\d.]*)(\d{1,9})(?:\.\.|[-\u2010-\u2015])([^\d.]*)(\d{1,9})")
_LONGEST_RANGE = 1000


class NotRead(NamedTuple):
    """What one statement that was not read, or one name that is declared nowhere, stands in the way of: ``names`` that
    this statement may have declared, and the ``uses`` of these names, or of that one, in the lines after it. ``again``
    are the other places of a slip that is made throughout."""

    finding: Finding
    names: tuple[str, ...]
    uses: tuple[Span, ...]
    again: tuple[Span, ...] = ()


def not_read(findings: Sequence[Finding]) -> tuple[NotRead, ...]:
    """The statements that were not read, then the names declared nowhere that stand in none of them, each once."""
    unread = [finding for finding in findings if finding.kind is Kind.UNREAD]
    slips: dict[str, list[Finding]] = {}
    for finding in unread:
        if finding.slug in ONE_SLIP:
            slips.setdefault(finding.slug, []).append(finding)
    first = {again: found[0] for found in slips.values() for again in found}
    broken = [finding for finding in unread if finding.slug != UNDECLARED]
    causes = [finding for finding in broken if first.get(finding, finding) is finding]
    declared = {name: first.get(cause, cause) for cause in reversed(broken) for name in _names(cause.span)}
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
        NotRead(
            cause,
            tuple(dict.fromkeys(use.text for use in uses)) if cause in causes else (),
            tuple(uses),
            tuple(finding.span for finding in slips.get(cause.slug, ()) if finding is not cause),
        )
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
