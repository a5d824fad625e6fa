"""What is generated and kept: making it again changes no byte."""

from __future__ import annotations

import json
from pathlib import Path

import pytest

import groundlint.language
from groundlint.language.reference import WORKED, form, reference_page
from groundlint.language.schema import SCHEMA_ID, json_schema, plan_from_json, schema_text
from groundlint.language.statements import statement_classes

FOLDER = Path(groundlint.language.__file__).parent


def test_the_reference_page_is_that_of_the_grammar() -> None:
    again = "from groundlint.language.reference import reference_page; print(reference_page(), end='')"
    assert (FOLDER / "reference.md").read_text() == reference_page(), f'python -c "{again}" > reference.md'


def test_the_published_schema_is_that_of_the_models() -> None:
    again = "from groundlint.language.schema import schema_text; print(schema_text(), end='')"
    assert (FOLDER / "plan.schema.json").read_text() == schema_text(), f'python -c "{again}" > plan.schema.json'


def test_the_reference_has_every_statement_with_form_and_example() -> None:
    page = reference_page()
    assert page.count("\n### ") == len(statement_classes())
    for kind, worked in WORKED.items():
        assert f"\n### {kind.replace('_', ' ')}\n" in page
        assert worked in page
        assert all(line in page for line in form(kind))


def test_the_schema_is_one_and_has_every_statement() -> None:
    import jsonschema

    schema = json_schema()
    jsonschema.Draft202012Validator.check_schema(schema)
    assert schema["$id"] == SCHEMA_ID
    kinds = {
        entry["properties"]["kind"]["const"] for entry in schema["$defs"].values() if "kind" in entry["properties"]
    }
    assert kinds == set(statement_classes())


@pytest.mark.parametrize(
    ("text", "said"),
    [
        ("", "invalid JSON"),
        ("[" * 100_000, "invalid JSON"),
        ("[]", "object"),
        ("{}", "schema: this field must be there"),
        ('{"schema": "urn:groundlint:plan:9", "statements": []}', "schema: "),
        ({"statements": [{"names": ["L1"]}]}, "statements[0]: a statement must say its `kind`"),
        ({"statements": [{"kind": "opne", "names": ["L1"]}]}, "statements[0]"),
        ({"statements": [{"kind": "open", "names": ["L1"], "nmaes": ["L1"]}]}, "nmaes: no field of this name"),
        ({"statements": [{"kind": "open", "names": "L1"}]}, "statements[0].open.names"),
        ({"statements": [{"kind": "voltage", "amount": "12.47"}]}, "12.47"),
        ({"statements": [{"kind": "voltage", "amount": "12 ft"}]}, "12 ft is a length"),
        ({"statements": [{"kind": "rod", "names": ["and"]}]}, "statements[0]: its text would be `rod and`"),
        ({"statements": [{"kind": "note", "text": "a", "comment": "b\nopen SW41"}]}, "line end"),
        ({"statements": [{"kind": "note", "text": 'a"b'}]}, "pattern"),
        ({"statements": [{"kind": "open", "names": ["A1"], "number": "x"}]}, "statements[0]"),
        ({"statements": [{"kind": "tester", "names": ["T1"], "tested": "2026-02-30"}]}, "calendar"),
    ],
)
def test_json_that_is_no_plan_is_reported(text: str | dict[str, object], said: str) -> None:
    written = text if isinstance(text, str) else json.dumps({"schema": SCHEMA_ID, **text})
    read = plan_from_json(written)
    assert read.text is None
    assert said.lower() in read.diagnostics[0].message.lower()
    assert all(diagnostic.unread for diagnostic in read.diagnostics)


def test_json_plans_have_places_in_their_text() -> None:
    read = plan_from_json(json.dumps({"schema": SCHEMA_ID, "statements": [{"kind": "open", "names": ["A1"]}]}))
    assert read.text is not None
    assert read.text.statements[0].span.text == "open A1"
    assert read.source.text == "open A1\n"
