"""Findings as the protocol's diagnostics: each with its rule, its next action and the other lines behind it."""

from __future__ import annotations

from collections.abc import Iterator, Sequence

from lsprotocol import types as lsp

from groundlint.report.record import FindingEntry, Place
from groundlint.report.sarif import MOST_RELATED
from groundlint.serving.document import Document, uri_of
from groundlint.serving.jobs import Reviewed, Stretch
from groundlint.serving.places import Lines
from groundlint.text import Source

SEVERITIES = {
    "danger": lsp.DiagnosticSeverity.Error,
    "warning": lsp.DiagnosticSeverity.Warning,
    "caution": lsp.DiagnosticSeverity.Information,
    "notice": lsp.DiagnosticSeverity.Information,
}
NAME = "groundlint"


def note(
    document: Document, words: str, severity: lsp.DiagnosticSeverity = lsp.DiagnosticSeverity.Information
) -> lsp.Diagnostic:
    """Something to be said of a text as a whole, at its first line."""
    end = document.lines.ends[0]
    return lsp.Diagnostic(document.lines.range(0, end), words, severity, source=NAME)


def diagnostics(document: Document, reviewed: Reviewed) -> list[lsp.Diagnostic]:
    """All that a review has to say of a text."""
    if reviewed.failure:
        return list(_failure(document, reviewed.failure, reviewed.problems))
    found = [_diagnostic(document, entry, reviewed) for entry in reviewed.findings]
    if reviewed.unread and not any(entry.kind == "unread" for entry in reviewed.findings):
        found.insert(0, note(document, "the plan was not read whole, so it is not clean", lsp.DiagnosticSeverity.Error))
    if reviewed.later:
        rules = f"{reviewed.later} rule" + "s" * (reviewed.later != 1)
        found.insert(0, note(document, f"{rules} not asked yet: currents and voltages are being computed"))
    if reviewed.note:
        found.insert(0, note(document, reviewed.note))
    return found


def offsets(source: Source, place: Place) -> tuple[int, int]:
    """Where a place of a text begins and ends."""
    starts = source.line_starts
    return starts[place.line - 1] + place.column - 1, starts[place.end_line - 1] + place.end_column - 1


def _failure(document: Document, message: str, problems: Sequence[Stretch]) -> Iterator[lsp.Diagnostic]:
    said = "; ".join(f"{one.name}: {one.words}" if one.name else one.words for one in problems)
    words = f"not reviewed: {message}" + (f" ({said})" if said else "")
    yield note(document, words, lsp.DiagnosticSeverity.Error)


def message_of(entry: FindingEntry) -> str:
    """A finding in words, with what to do next."""
    said = entry.message
    if entry.waiver is not None:
        said = f"waived on the word of the {entry.waiver.approved} until {entry.waiver.until}: {said}"
    if entry.count > 1:
        said += f" ({entry.count} steps in a row)"
    if entry.provisional:
        said += "\nmay change once every line can be read"
    return said + (f"\nnext: {entry.next}" if entry.next else "")


def _diagnostic(document: Document, entry: FindingEntry, reviewed: Reviewed) -> lsp.Diagnostic:
    related = [
        lsp.DiagnosticRelatedInformation(location, line.words)
        for line in entry.related[:MOST_RELATED]
        if (location := _location(document, line.place, reviewed)) is not None
    ]
    message, place = message_of(entry), entry.place
    if place.path == document.name:
        start, end = offsets(document.source, place)
    else:  # of a file that the plan uses: said where it is used
        start, end = _use_of(document, place.path, reviewed)
        message = f"{place.path}:{place.line}: {message}"
        there = _location(document, place, reviewed)
        related = [*([lsp.DiagnosticRelatedInformation(there, entry.message)] if there is not None else []), *related]
    waived = entry.waiver is not None
    return lsp.Diagnostic(
        document.lines.range(start, end),
        message,
        lsp.DiagnosticSeverity.Hint if waived else SEVERITIES[entry.level],
        entry.rule,
        source=NAME,
        related_information=related or None,
        data={"level": entry.level, "kind": "waived" if waived else entry.kind},
    )


def _use_of(document: Document, path: str, reviewed: Reviewed) -> tuple[int, int]:
    """The statement that takes a file in, or the first line where another file does."""
    full = reviewed.files[path].path if path in reviewed.files else ""
    for one in document.statements:
        said = getattr(one, "path", None) if type(one).__name__ == "Use" else None
        if said is not None and full.replace("\\", "/").endswith(f"/{said}"):
            return one.span.start, one.span.end
    return 0, document.lines.ends[0]


def _location(document: Document, place: Place, reviewed: Reviewed) -> lsp.Location | None:
    """A place in a text that is open or in a file; None where there is no file to show."""
    if place.path == document.name:
        return lsp.Location(document.uri, document.lines.range(*offsets(document.source, place)))
    file = reviewed.files.get(place.path)
    if file is None:
        return None
    lines = Lines(file.text, document.units)
    return lsp.Location(uri_of(file.path), lines.range(*offsets(Source(place.path, file.text), place)))
