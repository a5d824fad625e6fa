"""A run as JSON by the published schema, `review.schema.json`."""

from __future__ import annotations

from json import dumps

from groundlint.report.closing import CAUTION
from groundlint.report.plain import bare
from groundlint.report.record import Run

SCHEMA_ID = "urn:groundlint:review:1.0"
"""Identity of the schema with its version; a change that old readers don't expect raises the first number."""


def json_report(run: Run) -> str:
    """The whole run, a line feed at its end."""
    head = {
        "schema": SCHEMA_ID,
        "version": run.version,
        "caution": " ".join(CAUTION.split()),
        "status": run.status,
        "plans": bare(run.plans),
        "failures": bare(run.failures),
        "rules": bare(run.rules),
    }
    return dumps(head, indent=1, ensure_ascii=False) + "\n"
