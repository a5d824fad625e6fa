"""The published schema of calculation records, made from the values that they are written from."""

from __future__ import annotations

import json
from typing import Any

from groundlint.report.duty import entries
from groundlint.report.duty.entries import DutyFile
from groundlint.report.schema import closed_schema

SCHEMA_ID = "urn:groundlint:duty:1.0"
"""Identity of the schema with its version; a change that old readers don't expect raises the first number."""

_CHOICES: dict[tuple[str, str], list[Any]] = {
    ("DutyFile", "status"): [0, 1, 2],
    ("ResultEntry", "kind"): ["device", "lead", "rod", "worker", "induction"],
    ("InputEntry", "kind"): ["line", "soil", "source", "circuit", "structure", "rod", "lead"],
}


def json_schema() -> dict[str, Any]:
    """The JSON schema of calculation records (2020-12), closed, with the meaning of every field."""
    return closed_schema(
        DutyFile, entries, _CHOICES, SCHEMA_ID, "Calculation record of a temporary protective grounding plan"
    )


def schema_text() -> str:
    """The schema as it is published."""
    return json.dumps(json_schema(), indent=1, ensure_ascii=False) + "\n"
