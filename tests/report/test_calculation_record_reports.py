"""`groundlint duty`: the record as text, JSON by its schema and a table; what it is narrowed to; exit statuses."""

from __future__ import annotations

import csv
import io
import json
import sys
from decimal import Decimal
from pathlib import Path
from typing import Any

import jsonschema
import pytest
from hypothesis import given
from hypothesis import strategies as st
from syrupy.assertion import SnapshotAssertion

import groundlint.report.duty
from groundlint.cli import main
from groundlint.report.duty.data import COLUMNS
from groundlint.report.duty.schema import json_schema, schema_text
from groundlint.report.duty.words import margin_words
from groundlint.text import Source, Span
from groundlint.values import Bounds, Gap, Unknown
from groundlint.values.units import Quantity, parse_quantity
from groundlint.words.quantities import in_words, stated

ROOT = Path(__file__).parents[2]
RELAY = Path(__file__).parent / "duty_plans" / "relay-and-circuit.tpg"
EXAMPLES = ("single-point-insulator.tpg", "dual-point-crossarm.tpg", "deliberate-silence.tpg")
GAPS = (Gap("what is assumed"),)


@pytest.fixture(autouse=True)
def _own_cache(tmp_path_factory: pytest.TempPathFactory, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setenv("XDG_CACHE_HOME", str(tmp_path_factory.getbasetemp() / "cache"))
    monkeypatch.setattr("groundlint.commands.duty.version", lambda: "1.2.3")


def duty(capsys: pytest.CaptureFixture[str], *words: str) -> tuple[int, str, str]:
    status = main(["duty", *words])
    said = capsys.readouterr()
    return status, said.out, said.err


def in_examples(name: str, monkeypatch: pytest.MonkeyPatch) -> str:
    monkeypatch.chdir(ROOT / "examples")
    return name


@pytest.mark.parametrize("name", EXAMPLES)
def test_the_record_of_an_example(
    name: str,
    monkeypatch: pytest.MonkeyPatch,
    capsys: pytest.CaptureFixture[str],
    snapshot: SnapshotAssertion,
) -> None:
    status, out, _ = duty(capsys, in_examples(name, monkeypatch))
    assert status in (0, 2)
    assert out == snapshot
    assert all(len(line) <= 100 for line in out.splitlines())


@pytest.mark.parametrize("name", ["deliberate-overload.tpg", "dual-point-crossarm.tpg"])
def test_the_duty_of_a_lead_and_the_rating_beside_it_go_together(
    name: str, monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]
) -> None:
    _, text, _ = duty(capsys, in_examples(name, monkeypatch), "--format", "json")
    rows = [row for row in json.loads(text)["results"] if row["quantity"] == "duty"]
    assert rows
    for row in rows:
        least, most = row["low"] / row["limit_high"], row["high"] / row["limit_low"]
        assert most <= 1.1 / row["margin_low"], row["thing"]  # no worse than the margin that stands there
        if row["margin_high"] != "infinite" and row["margin_high"] < 1:
            assert least > 1, row["thing"]


def test_the_record_of_a_plan_with_a_relay_and_a_circuit_beside_it(
    monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str], snapshot: SnapshotAssertion
) -> None:
    monkeypatch.chdir(RELAY.parent)
    status, out, _ = duty(capsys, RELAY.name)
    assert status == 0
    assert "NEVER TRIPS" in out
    assert "OVER" in out
    assert out == snapshot


def test_it_fits_eighty_columns(
    monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str], snapshot: SnapshotAssertion
) -> None:
    monkeypatch.setattr("groundlint.commands.duty._width", lambda: 80)
    _, out, _ = duty(capsys, in_examples("dual-point-crossarm.tpg", monkeypatch), "--step", "21")
    assert all(len(line) <= 80 for line in out.splitlines())
    assert out == snapshot


@pytest.mark.parametrize("name", [*EXAMPLES, "deliberate-sins.tpg"])
def test_json_is_by_the_published_schema(
    name: str, monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]
) -> None:
    status, out, _ = duty(capsys, in_examples(name, monkeypatch), "--format", "json")
    found = json.loads(out, parse_constant=lambda word: pytest.fail(f"{word} is no JSON"))
    jsonschema.Draft202012Validator(json_schema()).validate(found)
    assert found["status"] == status
    assert "licensed engineer" in found["caution"]
    equations = {row["name"] for row in found["equations"]}
    for row in found["results"]:
        assert row["equation"] in equations
        assert (row["low"] is None) == bool(row["missing"])
        if row["low"] != row["high"]:
            assert row["narrowed_by"]
    broken = {**found, "results": [{**found["results"][0], "low": "many"}]}
    with pytest.raises(jsonschema.ValidationError):
        jsonschema.Draft202012Validator(json_schema()).validate(broken)


def test_the_published_schema_of_records_is_that_of_their_values() -> None:
    kept = Path(groundlint.report.duty.__file__).parent / "duty.schema.json"
    assert kept.read_text("utf-8") == schema_text(), (
        "write it again: the text is groundlint.report.duty.schema.schema_text()"
    )
    schema = json.loads(kept.read_text("utf-8"))
    jsonschema.Draft202012Validator.check_schema(schema)
    assert schema["$id"] == "urn:groundlint:duty:1.0"
    for entry in (schema, *schema["$defs"].values()):
        assert entry["additionalProperties"] is False
        assert all(part["description"] for part in entry["properties"].values())


def test_the_table_has_the_results_of_the_json(capsys: pytest.CaptureFixture[str]) -> None:
    _, table, _ = duty(capsys, str(RELAY), "--format", "csv")
    _, text, _ = duty(capsys, str(RELAY), "--format", "json")
    found: dict[str, Any] = json.loads(text)
    head, *rows = csv.reader(io.StringIO(table, newline=""), strict=True)
    assert tuple(head) == COLUMNS
    assert table.count("\r\n") == len(rows) + 1
    assert all(len(row) == len(COLUMNS) for row in rows)
    cells = [dict(zip(COLUMNS, row, strict=True)) for row in rows]
    results = [row for row in cells if row["kind"] not in ("input", "assumption")]
    assert len(results) == len(found["results"])
    for cell, row in zip(results, found["results"], strict=True):
        assert cell["quantity"] == row["quantity"]
        assert cell["low"] == (
            "" if row["low"] is None else "infinite" if row["low"] == "infinite" else repr(row["low"])
        )
        assert cell["equation_source"]
    assert {row["kind"] for row in cells} == {"device", "lead", "rod", "worker", "induction", "input", "assumption"}
    assert [row["thing"] for row in cells if row["kind"] == "assumption"] == [
        row["name"] for row in found["assumptions"]
    ]


def test_a_title_or_name_is_no_formula_in_a_table(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    from groundlint.report.duty.data import _cell

    assert _cell("=1+1") == "'=1+1"
    assert _cell(-1.5) == "-1.5"
    assert _cell("infinite") == "infinite"


def test_it_is_narrowed_to_what_is_asked(monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]) -> None:
    name = in_examples("dual-point-crossarm.tpg", monkeypatch)

    def results(*words: str) -> list[dict[str, Any]]:
        _, out, _ = duty(capsys, name, "--format", "json", *words)
        found: list[dict[str, Any]] = json.loads(out)["results"]
        return found

    assert {row["source"] for row in results("--source", "Antler")} == {"Antler"}
    assert {row["thing"] for row in results("--worker", "Rook")} == {"Rook"}
    assert {row["thing"] for row in results("--lead", "G4")} == {"G4"}
    assert {row["thing"] for row in results("--lead", "G4", "--worker", "Rook")} == {"G4", "Rook"}
    assert {row["step"] for row in results("--step", "21") if row["kind"] == "lead"} == {"21"}
    assert {row["step"].partition(".")[0] for row in results("--step", "8") if row["kind"] == "lead"} == {"8"}
    assert {row["step"] for row in results("--step", "8.13")} == {"8.13"}
    _, out, _ = duty(capsys, name, "--worker", "Rook")
    assert "Narrowed to worker Rook" in out
    assert "Checked by" not in out


@pytest.mark.parametrize(
    ("words", "said"),
    [
        (("--worker", "Rok"), "did you mean Rook?"),
        (("--source", "hobnail"), "did you mean Hobnail?"),
        (("--lead", "Z9"), "it has G1, G2"),
        (("--step", "99"), "the plan has no such step"),
        (("--format", "xml"), "xml is not among text, json, csv"),
        (("--given", "x"), "write NAME=VALUE"),
    ],
)
def test_what_the_plan_does_not_have_is_reported_with_the_nearest(
    words: tuple[str, ...], said: str, monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]
) -> None:
    status, out, err = duty(capsys, in_examples("dual-point-crossarm.tpg", monkeypatch), *words)
    assert status == 3
    assert not out
    assert said in err


def test_a_plan_that_is_not_read_whole_says_so_first(capsys: pytest.CaptureFixture[str], tmp_path: Path) -> None:
    path = tmp_path / "plan.tpg"
    path.write_text(RELAY.read_text("utf-8").replace("soil      300 ohm m", "soil is wet"), "utf-8")
    status, out, _ = duty(capsys, str(path))
    assert status == 1
    assert out.index("COULD BE READ") < out.index("Stated in the plan")
    assert "line 28" in out
    status, out, _ = duty(capsys, str(path), "--format", "json")
    assert json.loads(out)["problems"][0]["line"] == 28


def test_a_step_that_cannot_be_done_says_so_first(capsys: pytest.CaptureFixture[str], tmp_path: Path) -> None:
    path = tmp_path / "plan.tpg"
    path.write_text(RELAY.read_text("utf-8").replace("attach G1 to R1, then to K1", "detach G1 from K1"), "utf-8")
    status, out, _ = duty(capsys, str(path))
    assert status == 1
    assert out.index("DONE AS WRITTEN") < out.index("Stated in the plan")


@pytest.mark.parametrize(
    ("before", "after", "said"),
    [
        ("  fault     3 kA three-phase, 2.5 kA to ground, x/r 5\n", "", "the fault current of source Plover"),
        ("  relay     iec-very-inverse pickup 300 A dial 0.2 breaker 5 cycles\n", "", "clearing time of source Plover"),
        ("2/0 copper 20 ft grade 3", "2/0 copper grade 3", "the length of lead G1"),
        ("soil      300 ohm m\n", "", "the soil's resistivity"),
        (", reaching A B C and the pole", "", "what Dunlin can reach"),
    ],
)
def test_what_is_not_stated_is_not_shown_with_what_to_write(
    before: str, after: str, said: str, capsys: pytest.CaptureFixture[str], tmp_path: Path
) -> None:
    text = RELAY.read_text("utf-8")
    assert before in text
    path = tmp_path / "plan.tpg"
    path.write_text(text.replace(before, after), "utf-8")
    status, out, _ = duty(capsys, str(path))
    assert status == 2
    assert "not shown" in out
    wanted = " ".join(out[out.index("Not shown for want of") :].split())
    assert said in wanted
    assert "write `" in wanted


def test_a_plan_of_nothing_is_reported_what_to_begin_with(capsys: pytest.CaptureFixture[str], tmp_path: Path) -> None:
    path = tmp_path / "plan.tpg"
    path.write_text("", "utf-8")
    status, out, _ = duty(capsys, str(path))
    assert status == 2
    assert "the line and its phases" in out
    for form in ("json", "csv"):
        assert duty(capsys, str(path), "--format", form)[0] == 2


def test_standard_input_is_read(capsys: pytest.CaptureFixture[str], monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(sys, "stdin", io.TextIOWrapper(io.BytesIO(RELAY.read_bytes())))
    status, out, _ = duty(capsys, "-")
    assert status == 0
    assert "<stdin>" in out


def test_a_folder_or_no_file_cannot_be_done(capsys: pytest.CaptureFixture[str], tmp_path: Path) -> None:
    assert duty(capsys, str(tmp_path))[0] == 3
    assert duty(capsys, str(tmp_path / "none.tpg"))[0] == 3


@pytest.mark.parametrize(
    ("value", "unit", "said"),
    [
        (4100.0, "A", "4.1 kA"),
        (0.002, "A", "2 mA"),
        (0.0, "A", "0 A"),
        (Bounds(3.0, 80.1, GAPS), "A", "3–80.1 A"),
        (Bounds(300.0, 1e6, GAPS), "ohm", "300 ohm–1 Mohm"),
        (Bounds(0.3, float("inf"), GAPS), "s", "0.3 s or more"),
        (float("inf"), "s", "without end"),
        (7.62, "m", "25 ft"),
        (0.0254, "m", "1 in"),
        (Unknown(GAPS), "A", "not shown"),
        (Bounds(0.721, 0.984, GAPS), "%", "72.1–98.4 %"),
    ],
)
def test_quantities_in_words(value: Any, unit: str, said: str) -> None:
    assert in_words(value, unit, feet=True) == said


@pytest.mark.parametrize(
    ("value", "said"),
    [
        (4.218, "4.21"),
        (0.9999, "0.999 OVER"),
        (0.0001, "<0.01 OVER"),
        (Bounds(0.5, 2.0, GAPS), "0.5–2 MAYBE OVER"),
        (Bounds(5.0, float("inf"), GAPS), "5–1000+"),
        (float("inf"), "nothing flows"),
        (Unknown(GAPS), "not shown"),
    ],
)
def test_margins_in_words(value: Any, said: str) -> None:
    assert margin_words(value) == said


@pytest.mark.parametrize(
    ("text", "value", "unit", "said"),
    [
        ("voltage   12.47 kV", 12470.0, "V", "12.47 kV"),
        ("5/8 in", 0.015875, "m", "5/8 in"),
        ("set R1 at ER12, 14.96 ft from the pole, 6 ft 4 in deep", 14.96 * 0.3048, "m", "14.96 ft"),
        ("set R1 at ER12, 14.96 ft from the pole, 6 ft 4 in deep", 76 * 0.0254, "m", "6 ft 4 in"),
        ("relay iec-very-inverse pickup 5 A dial 0.1 breaker 5 cycles", 5.0, "cycles", "5 cycles"),
        ("clears in given clearing", 0.35, "s", "0.35 s"),
        ("fault given fault three-phase", 4678.9, "A", "4.6789 kA"),
        ("fault 4 kA three-phase, x/r 7.25", 7.25, "", "7.25"),
    ],
)
def test_what_is_stated_is_reported_as_stated(text: str, value: float, unit: str, said: str) -> None:
    assert stated(value, unit, Span(Source("a plan", text), 0, len(text))) == said


@given(st.decimals(0, 10**6, places=4).filter(bool), st.sampled_from(["ft", "in", "m", "mm"]))
def test_no_stated_digit_is_lost(number: Decimal, unit: str) -> None:
    written = f"{number} {unit}"
    read = parse_quantity(written)
    assert isinstance(read, Quantity)
    assert stated(read.si, "m", Span(Source("a plan", written), 0, len(written))) == written
    again = parse_quantity(stated(read.si, "m", None))
    assert isinstance(again, Quantity)
    assert again.si == pytest.approx(read.si, rel=1e-11)


@given(st.floats(1e-6, 1e6))
def test_a_margin_is_never_rounded_up(value: float) -> None:
    words = margin_words(value)
    assert ("OVER" in words) == (value < 1)
    number = words.split()[0].rstrip("+")
    if not number.startswith("<"):
        assert float(number) <= value * (1 + 1e-9)
