"""Plans as JSON: the same statements, by a published schema, so that other systems can write plans without the text.

The text is the one meaning of a plan: JSON is taken in by writing its text and reading that. So what the text can't
say, JSON can't say either, and findings on a plan that came as JSON stand at the lines of its text. Only reading and
the schema need pydantic, which this module imports; nothing else imports it until a JSON plan is met.
"""

from __future__ import annotations

import json
from dataclasses import MISSING, Field, fields, is_dataclass, replace
from functools import cache
from typing import Annotated, Any, Literal, NamedTuple

from pydantic import TypeAdapter, ValidationError
from pydantic.dataclasses import dataclass

from groundlint.language.reader import read_statements, refused
from groundlint.language.statements import AnyStatement, ByKind, PlanText, Routine, Statement, statement_classes
from groundlint.language.writer import write_plan, write_statement
from groundlint.text import Diagnostic, Source

SCHEMA_ID: Literal["urn:groundlint:plan:1.0"] = "urn:groundlint:plan:1.0"
"""Ends in the schema's version; a change that old plans don't meet raises the first number of it."""
LONGEST = 8_000_000
"""Bytes of JSON that are read."""
MOST_SHOWN = 20
"""Mistakes of one JSON plan that are reported one by one."""


@dataclass(frozen=True, config={"extra": "forbid"})
class PlanFile:
    """A plan, with the identity of the schema that it follows."""

    schema: Literal["urn:groundlint:plan:1.0"]
    statements: tuple[Annotated[AnyStatement, ByKind()], ...]
    after: tuple[str, ...] = ()
    tradition: Literal["ground", "earth"] = "ground"


class JsonRead(NamedTuple):
    """A plan taken in from JSON, its canonical text as the source of all places, and what could not be taken in.

    ``text`` is None where the JSON is not a plan at all; ``source`` then holds the JSON.
    """

    text: PlanText | None
    source: Source
    diagnostics: tuple[Diagnostic, ...]


@cache
def _adapter() -> TypeAdapter[PlanFile]:
    return TypeAdapter(PlanFile)


def plan_json(plan: PlanText) -> str:
    """A plan as JSON by the published schema, a line feed at its end; what a statement does not say is left out."""
    return json.dumps({"schema": SCHEMA_ID, **_bare(plan)}, indent=1, ensure_ascii=False) + "\n"


def plan_from_json(text: str | bytes, name: str = "plan.json") -> JsonRead:
    """The plan of a JSON text. Never raises: what can't be taken in is a diagnostic, and the plan is then None."""
    shown = text if isinstance(text, str) else text.decode("utf-8", "replace")
    source = Source(name, shown)

    def no_plan(*problems: tuple[str, str, str]) -> JsonRead:
        return JsonRead(
            None, source, tuple(refused(code, source.span(0, 0), message, mend) for code, message, mend in problems)
        )

    if len(text) > LONGEST:
        return no_plan(
            (
                "file-too-large",
                f"the JSON has {len(text):,} characters; at most {LONGEST:,} are read",
                "divide the plan into files",
            )
        )
    try:
        found = _adapter().validate_json(text, strict=True)
    except ValidationError as error:
        mistakes = error.errors(include_url=False, include_context=False, include_input=False)
        problems = [_mistake(mistake["loc"], mistake["type"], mistake["msg"]) for mistake in mistakes[:MOST_SHOWN]]
        if len(mistakes) > MOST_SHOWN:
            problems.append(("not-a-plan", f"and {len(mistakes) - MOST_SHOWN} more mistakes of this kind", ""))
        return no_plan(*problems)
    except ValueError:  # lone surrogates
        return no_plan(("not-a-plan", "the JSON holds characters that are none", "save it as UTF-8"))
    plan = PlanText(found.statements, found.after, found.tradition)
    written = Source(name, write_plan(plan))
    read = read_statements(written)
    if [_said(s) for s in read.text.statements] == [_said(s) for s in plan.statements]:
        return JsonRead(replace(read.text, tradition=plan.tradition), written, read.diagnostics)
    return no_plan(_unsayable(plan, read.text, read.diagnostics))


def json_schema() -> dict[str, Any]:
    """The JSON schema of plans (2020-12), with the meaning of every field."""
    schema = _adapter().json_schema(by_alias=True)
    for cls in statement_classes().values():
        entry = schema["$defs"][cls.__name__]
        for field in fields(cls):
            if field.metadata.get("doc"):
                entry["properties"][_key(field)]["description"] = _meaning(field)
        entry["required"] = sorted({"kind", *entry.get("required", ())})
    head = {
        "$schema": "https://json-schema.org/draft/2020-12/schema",
        "$id": SCHEMA_ID,
        "title": "Temporary protective grounding plan",
    }
    return {**head, **{key: value for key, value in schema.items() if key not in head}}


def schema_text() -> str:
    """The schema as it is published."""
    return json.dumps(json_schema(), indent=1, ensure_ascii=False) + "\n"


def _key(field: Field[Any]) -> str:
    return field.name.rstrip("_")


def _meaning(field: Field[Any]) -> str:
    dimension = field.metadata.get("dimension")
    return f"{field.metadata['doc']} ({dimension})" if dimension else str(field.metadata["doc"])


def _bare(value: Any) -> Any:
    """What JSON holds: text, truths, lists, and objects without the fields that say nothing."""
    if isinstance(value, str):
        return str(value)
    if isinstance(value, tuple):
        return [_bare(item) for item in value]
    if not is_dataclass(value) or isinstance(value, type):
        return value
    said = {}
    for field in fields(value):
        item = getattr(value, field.name)
        if field.name == "kind" or field.default is MISSING or item != field.default:
            said[_key(field)] = _bare(item)
    return {"kind": said.pop("kind"), **said} if "kind" in said else said


def _said(statement: Statement) -> Statement:
    """A statement without the comments beside it, whose layout may change."""
    bare = replace(statement, comment=None, before=())
    if isinstance(bare, Routine):
        return replace(bare, body=tuple(replace(step, comment=None, before=()) for step in bare.body))
    return bare


_SAYING = {
    "unexpected_keyword_argument": "no field of this name is in the schema here",
    "missing": "this field must be there",
    "union_tag_not_found": "a statement must say its `kind`",
}


def _mistake(place: tuple[int | str, ...], sort: str, message: str) -> tuple[str, str, str]:
    where = "".join(f"[{part}]" if isinstance(part, int) else f".{part}" for part in place).lstrip(".")
    said = _SAYING.get(sort) or message[:1].lower() + message[1:]
    return "not-a-plan", f"{where}: {said}" if where else said, "write what the schema has there"


def _unsayable(plan: PlanText, read: PlanText, diagnostics: tuple[Diagnostic, ...]) -> tuple[str, str, str]:
    """Which statement the text can't say, and what is said of it."""
    at = next(
        (
            at
            for at, (wanted, found) in enumerate(zip(plan.statements, read.statements, strict=False))
            if _said(wanted) != _said(found)
        ),
        min(len(plan.statements), len(read.statements)),
    )
    if at >= len(plan.statements):
        return "not-sayable", "a comment or text holds a line end", "write comments one a line"
    words = write_statement(plan.statements[at], plan.tradition == "earth")
    why = diagnostics[0].message if diagnostics else "it is read as another statement"
    shown = words if len(words) <= 80 else words[:77] + "..."
    return (
        "not-sayable",
        f"statements[{at}]: its text would be `{shown}`, which can't be read as it: {why}",
        "use other names or words",
    )
