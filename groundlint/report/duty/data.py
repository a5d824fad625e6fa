"""A calculation record as JSON by its published schema, `duty.schema.json`, and as one flat table (RFC 4180)."""

from __future__ import annotations

import csv
from io import StringIO
from json import dumps
from typing import Any

from groundlint.report.duty.entries import DutyFile, ResultEntry
from groundlint.report.plain import bare

COLUMNS = (
    "kind",
    "thing",
    "source",
    "step",
    "line",
    "last_step",
    "way",
    "between",
    "quantity",
    "low",
    "high",
    "unit",
    "limit_low",
    "limit_high",
    "criterion",
    "margin_low",
    "margin_high",
    "basis",
    "equation",
    "equation_source",
    "missing",
)
"""Columns of the table: those of a result in the schema, and the source of its equation; several missing facts stand
in one cell, a semicolon between."""


def duty_json(file: DutyFile) -> str:
    """The record as JSON, a line feed at its end."""
    return dumps(bare(file), indent=1, ensure_ascii=False, allow_nan=False) + "\n"


def duty_csv(file: DutyFile) -> str:
    """The results as a table with a head, lines ending in CR LF; then what went in: inputs and assumptions, whose
    `equation_source` says where they stand."""
    out = StringIO()
    table = csv.writer(out, lineterminator="\r\n")
    table.writerow(COLUMNS)
    sources = {row.name: row.source for row in file.equations}
    for one in file.results:
        table.writerow(_cells(one, sources))
    for given in file.inputs:
        table.writerow(
            _row(
                kind="input",
                thing=given.thing,
                line=given.line,
                quantity=given.quantity,
                low=given.value,
                high=given.value,
                unit=given.unit,
                basis=given.words,
                equation_source=f"{given.path} line {given.line}",
            )
        )
    for row in file.assumptions:
        measured = row.measured is not None
        table.writerow(
            _row(
                kind="assumption",
                thing=row.name,
                quantity=row.name,
                low=row.measured if measured else row.low,
                high=row.measured if measured else row.high,
                unit=row.unit,
                basis="measured, as the plan states" if measured else row.reason,
                equation_source=file.plan.path if measured else f"{row.source} ({row.known})",
            )
        )
    return out.getvalue()


def _cells(one: ResultEntry, sources: dict[str, str]) -> list[Any]:
    own = {name: getattr(one, name) for name in COLUMNS if hasattr(one, name)}
    own["missing"] = "; ".join(one.missing)
    return _row(**own, equation_source=sources.get(one.equation, ""))


def _row(**cells: Any) -> list[Any]:
    return [_cell(cells.get(name)) for name in COLUMNS]


def _cell(value: Any) -> Any:
    """A cell; a text that a spreadsheet would take for a formula gets an apostrophe before it."""
    if value is None:
        return ""
    if isinstance(value, str) and value[:1] in ("=", "+", "-", "@", "\t", "\r"):
        return f"'{value}"
    return repr(value) if isinstance(value, float) else value
