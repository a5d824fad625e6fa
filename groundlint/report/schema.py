"""The published schema of JSON reports, made from the records that they are written from."""

from __future__ import annotations

import json
from collections.abc import Mapping
from dataclasses import dataclass, fields
from types import ModuleType
from typing import Any, Literal

from pydantic import TypeAdapter

from groundlint.findings.model import Kind
from groundlint.report import record
from groundlint.report.json import SCHEMA_ID
from groundlint.report.record import OUTCOMES, Failure, PlanEntry, RuleEntry
from groundlint.text import Severity


@dataclass(frozen=True)
class ReviewFile:
    """What came of holding plans against rulebooks."""

    schema: Literal["urn:groundlint:review:1.0"]
    version: str
    caution: str
    status: int
    plans: tuple[PlanEntry, ...]
    failures: tuple[Failure, ...]
    rules: tuple[RuleEntry, ...]


_DOCS = {
    "schema": "identity of this schema",
    "version": "version of groundlint",
    "caution": "what a review does not do; to be shown with its findings",
    "status": "0 clean, 1 something is broken or was not read, 2 something is not shown, at or above the gate; "
    "3 it could not be done",
    "plans": "each plan reviewed, in the order given, in folders by path",
    "failures": "plans that could not be reviewed",
    "rules": "the rules of the books in use, by name",
}
_LEVELS = [severity.word for severity in Severity]
_CHOICES: dict[tuple[str, str], list[Any]] = {
    ("FindingEntry", "kind"): [kind.value for kind in Kind],
    ("FindingEntry", "level"): _LEVELS,
    ("PlanEntry", "gate"): _LEVELS,
    ("PlanEntry", "status"): [0, 1, 2],
    ("RuleEntry", "level"): _LEVELS,
    ("RuleOutcome", "outcome"): list(OUTCOMES.values()),
    ("ReviewFile", "status"): [0, 1, 2, 3],
}


def json_schema() -> dict[str, Any]:
    """The JSON schema of reports (2020-12), closed, with the meaning of every field."""
    return closed_schema(
        ReviewFile, record, _CHOICES, SCHEMA_ID, "Review of temporary protective grounding plans", _DOCS
    )


def closed_schema(
    top: type,
    home: ModuleType,
    choices: Mapping[tuple[str, str], list[Any]],
    identity: str,
    title: str,
    docs: Mapping[str, str] | None = None,
) -> dict[str, Any]:
    """A closed JSON schema (2020-12) of a record and of those within it, which stand in the module ``home``.

    The meaning of a field is its ``doc``; those of ``top`` may stand in ``docs``. ``choices`` lists the values of a
    field by the names of record and field.
    """
    schema = TypeAdapter(top).json_schema()
    entries = {**schema["$defs"], top.__name__: schema}
    for name, entry in entries.items():
        entry["additionalProperties"] = False
        entry["required"] = list(entry["properties"])
        cls = top if name == top.__name__ else getattr(home, name)
        for one in fields(cls):
            part = entry["properties"][one.name]
            part.pop("title", None)
            part["description"] = docs[one.name] if docs is not None and cls is top else one.metadata["doc"]
            if (name, one.name) in choices:
                part["enum"] = choices[name, one.name]
    head = {"$schema": "https://json-schema.org/draft/2020-12/schema", "$id": identity, "title": title}
    return {**head, **{key: value for key, value in schema.items() if key not in head}}


def schema_text() -> str:
    """The schema as it is published."""
    return json.dumps(json_schema(), indent=1, ensure_ascii=False) + "\n"
