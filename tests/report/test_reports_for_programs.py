"""SARIF, JSON and JUnit reports: each by its published schema, on every example, and what they must say."""

from __future__ import annotations

import io
import json
import os
import re
import sys
from functools import cache
from pathlib import Path
from typing import Any

import jsonschema
import pytest
from crowd import reviewer
from lxml import etree
from syrupy.assertion import SnapshotAssertion

import groundlint.report
from groundlint.cli import main
from groundlint.findings.fingerprint import fingerprints
from groundlint.language.reader import read_statements
from groundlint.language.writer import write_plan
from groundlint.report.schema import json_schema, schema_text
from groundlint.text import Source

ROOT = Path(__file__).parents[2]
PUBLISHED = Path(__file__).parent / "published"
EXAMPLES = sorted(path.name for path in (ROOT / "examples").iterdir() if path.suffix in (".tpg", ".md"))
EXAMPLES.remove("README.md")
SHORT = """\
plan "Set one rod"
document PR-1 revision 1 dated 2026-03-02
rod R1 6 ft x 5/8 in
structure 211 wood pole
stage ground
  1. set R1 at 211, 6 ft from the pole, 6 ft deep
"""
WAIVER = 'waive rod-distance because "rock" by "engineering supervisor" until 2026-12-31\n'


@pytest.fixture(autouse=True)
def _own_cache(tmp_path_factory: pytest.TempPathFactory, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setenv("XDG_CACHE_HOME", str(tmp_path_factory.getbasetemp() / "cache"))
    # the plan of sins would be reviewed ten times over
    monkeypatch.setattr("groundlint.findings.repairs.MOST_TRIED", 2)


@cache
def sarif_schema() -> Any:
    return jsonschema.Draft4Validator(
        json.loads((PUBLISHED / "sarif-schema-2.1.0.json").read_text("utf-8")),
        format_checker=jsonschema.Draft4Validator.FORMAT_CHECKER,
    )


@cache
def junit_schema() -> Any:
    return etree.XMLSchema(etree.parse(str(PUBLISHED / "junit-10.xsd")))


@cache
def review_schema() -> Any:
    return jsonschema.Draft202012Validator(json_schema())


def report(form: str, capsys: pytest.CaptureFixture[str], *names: str | Path, status: int | None = None) -> str:
    """A report that its published schema takes."""
    capsys.readouterr()
    found = main(["review", "--format", form, *map(str, names)])
    text = capsys.readouterr().out
    assert status is None or found == status
    check(form, text)
    return text


def check(form: str, text: str) -> None:
    if form == "junit":
        junit_schema().assertValid(etree.fromstring(text.encode()))
    else:
        {"sarif": sarif_schema, "json": review_schema}[form]().validate(json.loads(text))


def sarif(capsys: pytest.CaptureFixture[str], *names: str | Path, status: int | None = None) -> dict[str, Any]:
    (run,) = json.loads(report("sarif", capsys, *names, status=status))["runs"]
    return run


def written(folder: Path, text: str = SHORT, name: str = "plan.tpg") -> Path:
    path = folder / name
    path.parent.mkdir(parents=True, exist_ok=True)
    path.write_text(text, encoding="utf-8")
    return path


# ------------------------------------------------------------- every example


def test_the_schema_is_that_of_the_version_written() -> None:
    assert sarif_schema().schema["properties"]["version"]["enum"] == ["2.1.0"]


def reports_of(name: str, folder: Path) -> dict[str, str]:
    """An example's report in each form, from one run."""
    files = {form: folder / form for form in ("sarif", "json", "junit")}
    main(["review", *(f"--format={form}={file}" for form, file in files.items()), f"examples/{name}"])
    return {form: file.read_text("utf-8") for form, file in files.items()}


@pytest.mark.one_in(3)
@pytest.mark.parametrize("name", EXAMPLES)
def test_every_example_is_reported_by_the_published_schema(
    name: str, monkeypatch: pytest.MonkeyPatch, tmp_path: Path
) -> None:
    monkeypatch.chdir(ROOT)
    for form, text in reports_of(name, tmp_path).items():
        check(form, text)
        assert str(ROOT) not in text


@pytest.mark.one_in(8)
@pytest.mark.parametrize("name", EXAMPLES)
def test_two_runs_say_the_same(name: str, monkeypatch: pytest.MonkeyPatch, tmp_path: Path) -> None:
    monkeypatch.chdir(ROOT)
    assert reports_of(name, tmp_path) == reports_of(name, tmp_path)


def test_a_schema_that_is_not_met_is_reported(capsys: pytest.CaptureFixture[str], tmp_path: Path) -> None:
    for form, before, after in (
        ("sarif", '"kind":"fail"', '"kind":"failed"'),
        ("json", '"kind": "broken"', '"kind": "cracked"'),
        ("junit", "<testcase name=", "<testcase called="),
    ):
        text = report(form, capsys, written(tmp_path))
        assert before in text
        with pytest.raises((jsonschema.ValidationError, etree.DocumentInvalid)):
            check(form, text.replace(before, after))


def test_the_published_schema_of_reviews_is_that_of_the_records() -> None:
    kept = Path(groundlint.report.__file__).parent / "review.schema.json"
    assert kept.read_text("utf-8") == schema_text(), (
        "write it again: the text is groundlint.report.schema.schema_text()"
    )
    schema = json.loads(kept.read_text("utf-8"))
    jsonschema.Draft202012Validator.check_schema(schema)
    assert schema["$id"] == "urn:groundlint:review:1.0"
    for entry in (schema, *schema["$defs"].values()):
        assert entry["additionalProperties"] is False
        assert all(part["description"] for part in entry["properties"].values())


# ------------------------------------------------------------- what SARIF says


def test_a_sarif_log_reads_so(
    capsys: pytest.CaptureFixture[str], monkeypatch: pytest.MonkeyPatch, tmp_path: Path, snapshot: SnapshotAssertion
) -> None:
    written(tmp_path, SHORT.replace("rod R1", WAIVER + "rod R1") + "  2. sett R1\n")
    monkeypatch.chdir(tmp_path)
    run = sarif(capsys, "plan.tpg", status=1)
    driver = run["tool"]["driver"]
    rules = driver.pop("rules")
    driver.pop("version")
    named = {result["ruleId"] for result in run["results"]}
    assert {rule["id"] for rule in rules} >= named
    assert all(rules[result["ruleIndex"]]["id"] == result["ruleId"] for result in run["results"])
    run["results"] = [r for r in run["results"] if r["ruleId"] in ("rod-distance", "site-facts-given")] + [
        r for r in run["results"] if r["properties"]["finding"] == "unread"
    ]
    for result in run["results"]:
        del result["ruleIndex"]
    assert run == snapshot
    rule = next(rule for rule in rules if rule["id"] == "rod-distance")
    assert rule["help"].pop("markdown").startswith(f"**warning**: {rule['shortDescription']['text']}\n\n")
    assert rule == snapshot(name="a rule with its help")


def test_levels_are_those_of_the_signal_words(capsys: pytest.CaptureFixture[str]) -> None:
    run = sarif(capsys, ROOT / "examples" / "deliberate-slips.tpg", ROOT / "examples" / "deliberate-second-day.tpg")
    pairs = {(result["properties"]["signalWord"], result["level"]) for result in run["results"]}
    assert pairs == {("danger", "error"), ("warning", "warning"), ("caution", "note"), ("notice", "note")}
    assert any(result.get("relatedLocations") for result in run["results"])


def test_fixes_mend_the_file_that_they_are_for(
    capsys: pytest.CaptureFixture[str], monkeypatch: pytest.MonkeyPatch, tmp_path: Path
) -> None:
    """Carried out as SARIF 2.1.0 (3.56, 3.57) says: each deleted region gives way to the inserted content."""
    text = (ROOT / "examples" / "dual-point-crossarm.tpg").read_text("utf-8")
    for old, new in (
        (" 14. clean   SC16 N A B C\n", ""),
        ("detach P4 from SC16 C by H1, then from K3", "detach P4 from K3, then from SC16 C by H1"),
        ("stage work", 'note "\U0001f6a7"\nstage work'),
    ):
        assert text.count(old) == 1
        text = text.replace(old, new)
    written(tmp_path, text)
    monkeypatch.setattr("groundlint.findings.repairs.MOST_TRIED", 12)
    monkeypatch.chdir(tmp_path)
    results = sarif(capsys, "plan.tpg")["results"]
    fixed = [result for result in results if "fixes" in result]
    offered = ["clean-contact"] * 4 + ["line-end-off-first", "steps-numbered-in-order"]
    assert sorted(result["ruleId"] for result in fixed) == offered
    entries = json.loads(report("json", capsys, "plan.tpg"))["plans"][0]["findings"]
    assert [entry["repair"] is not None for entry in entries] == ["fixes" in result for result in results]
    edits: list[tuple[int, int, str]] = []
    starts = [0]
    for line in text.split("\n"):
        starts.append(starts[-1] + len(line.encode("utf-16-le")) // 2 + 1)
    for result in fixed:
        (fix,) = result["fixes"]
        assert fix["description"]["text"]
        (change,) = fix["artifactChanges"]
        assert change["artifactLocation"]["uri"] == "plan.tpg"
        for one in change["replacements"]:
            region = one["deletedRegion"]
            ends = [starts[region[f"{end}Line"] - 1] + region[f"{end}Column"] - 1 for end in ("start", "end")]
            edits.append((ends[0], ends[1], one["insertedContent"]["text"]))
    units = text.encode("utf-16-le")
    for start, end, put in sorted(edits, reverse=True):
        units = units[: 2 * start] + put.encode("utf-16-le") + units[2 * end :]
    report("sarif", capsys, written(tmp_path, units.decode("utf-16-le"), "mended.tpg"), status=0)


def test_columns_are_utf16_code_units(capsys: pytest.CaptureFixture[str], tmp_path: Path) -> None:
    sign = "\U0001f6a7"
    text = SHORT + f'  2. note "{sign}{sign}" by nobody\n'
    path = written(tmp_path, text)
    run = sarif(capsys, path)
    assert run["columnKind"] == "utf16CodeUnits"
    (result,) = [result for result in run["results"] if result["properties"]["finding"] == "unread"]
    region = result["locations"][0]["physicalLocation"]["region"]
    (line,) = [line for number, line in enumerate(text.splitlines(), 1) if number == region["startLine"]]
    units = line.encode("utf-16-le")
    words = units[2 * (region["startColumn"] - 1) : 2 * (region["endColumn"] - 1)].decode("utf-16-le")
    (entry,) = [f for f in json.loads(report("json", capsys, path))["plans"][0]["findings"] if f["kind"] == "unread"]
    place = entry["place"]
    assert words
    assert line[place["column"] - 1 : place["end_column"] - 1] == words
    assert place["utf16_end_column"] == place["end_column"] + 2 == region["endColumn"]


def marks(run: dict[str, Any]) -> list[tuple[str, str]]:
    return sorted((r["ruleId"], r["partialFingerprints"]["groundlintMeaning/v1"]) for r in run["results"])


def marks_of(text: str) -> list[tuple[str, str]]:
    """Rule and fingerprint of each finding of a plan, without a report: the plan of sins has hundreds to print."""
    review = reviewer(computed=True).review(Source("plan.tpg", text))
    return sorted(zip((finding.slug for finding in review.findings), fingerprints(review), strict=True))


def test_fingerprints_survive_moved_lines_numbers_and_layout() -> None:
    text = (ROOT / "examples" / "deliberate-sins.tpg").read_text("utf-8")
    before = marks_of(text)
    assert len(set(before)) == len(before) > 100
    assert marks_of("# one\n\n# two\n" + text.replace("\nstage ", "\n\n# another stage\nstage ")) == before
    numbers = re.sub(
        r"^( *)(\d+)(?=[a-z]?\. )", lambda step: f"{step[1]}{int(step[2]) + 100}", text, flags=re.MULTILINE
    )
    assert numbers != text
    assert marks_of(numbers) == before
    assert marks_of(write_plan(read_statements(Source("plan.tpg", text)).text)) == before


def test_a_fingerprint_does_not_rest_on_a_name() -> None:
    text = (ROOT / "examples" / "deliberate-sins.tpg").read_text("utf-8")
    crew = next(line for line in text.splitlines() if line.startswith("crew"))
    names = re.findall(r"\b[A-Z]\w+", crew)
    assert len(names) > 2
    before = marks_of(text)
    for at, name in enumerate(names):
        text = re.sub(rf"\b{name}\b", f"Other{at}", text)
    assert marks_of(text) == before


def test_the_report_bears_the_fingerprints(capsys: pytest.CaptureFixture[str], tmp_path: Path) -> None:
    assert marks(sarif(capsys, written(tmp_path))) == marks_of(SHORT)


def test_what_plans_share_is_one_result(capsys: pytest.CaptureFixture[str], tmp_path: Path) -> None:
    written(tmp_path, "routine put\n  set R1 at 211, 6 ft from the pole, 6 ft deep\n", "parts/set.tpg")
    head = SHORT.partition("stage")[0]
    for name in ("a.tpg", "b.tpg"):
        written(tmp_path, f'{head}use "parts/set.tpg"\nstage ground\n  1. do put\n', name)
    results = sarif(capsys, tmp_path / "a.tpg", tmp_path / "b.tpg")["results"]
    found = [one for one in results if one["ruleId"] == "rod-distance"]
    (one,) = found
    assert one["locations"][0]["physicalLocation"]["artifactLocation"]["uri"].endswith("parts/set.tpg")


def test_a_fingerprint_is_another_for_another_rule_thing_or_step(
    capsys: pytest.CaptureFixture[str], tmp_path: Path
) -> None:
    twice = SHORT + "  2. set R2 at 211, 5 ft from the pole, 6 ft deep\n"
    run = sarif(capsys, written(tmp_path, twice.replace("rod R1", "rod R1 R2")))
    found = [mark for rule, mark in marks(run) if rule == "rod-distance"]
    assert len(set(found)) == 2


def test_waivers_are_suppressions(capsys: pytest.CaptureFixture[str], tmp_path: Path) -> None:
    run = sarif(capsys, written(tmp_path, SHORT.replace("rod R1", WAIVER + "rod R1")))
    (result,) = [result for result in run["results"] if "suppressions" in result]
    (suppression,) = result["suppressions"]
    assert result["ruleId"] == "rod-distance"
    assert suppression["kind"] == "inSource"
    assert suppression["justification"] == "rock (approved by engineering supervisor, until 2026-12-31)"
    assert suppression["location"]["physicalLocation"]["region"]["startLine"] == 3


def test_what_was_not_read_is_a_notification_and_no_success(
    capsys: pytest.CaptureFixture[str], tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.chdir(tmp_path)
    written(tmp_path)
    (invocation,) = sarif(capsys, "plan.tpg", status=1)["invocations"]
    assert invocation["executionSuccessful"] is True
    assert "toolExecutionNotifications" not in invocation
    written(tmp_path, SHORT + "  2. sett R1\n", "bad.tpg")
    (invocation,) = sarif(capsys, "plan.tpg", "bad.tpg", status=1)["invocations"]
    assert invocation["executionSuccessful"] is False
    (note,) = invocation["toolExecutionNotifications"]
    assert note["level"] == "error"
    assert note["locations"][0]["physicalLocation"]["artifactLocation"]["uri"] == "bad.tpg"
    assert note["locations"][0]["physicalLocation"]["region"]["startLine"] == 7
    os.symlink("nowhere", "gone.tpg")
    run = sarif(capsys, "gone.tpg", "plan.tpg", status=3)
    (invocation,) = run["invocations"]
    assert invocation["executionSuccessful"] is False
    assert invocation["exitCode"] == 3
    assert "no such file" in invocation["toolExecutionNotifications"][0]["message"]["text"].lower()
    assert {r["locations"][0]["physicalLocation"]["artifactLocation"]["uri"] for r in run["results"]} == {"plan.tpg"}
    (failure,) = json.loads(report("json", capsys, "gone.tpg", "plan.tpg", status=3))["failures"]
    assert failure["path"] == "gone.tpg"
    suites = etree.fromstring(report("junit", capsys, "gone.tpg", "plan.tpg").encode())
    assert suites.get("errors") == "1"


def test_paths_are_uris_from_the_working_folder(
    capsys: pytest.CaptureFixture[str], tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    (tmp_path / "here").mkdir()
    monkeypatch.chdir(tmp_path / "here")
    written(tmp_path, name="here/a folder/pl\u00e4n #1%.tpg")
    written(tmp_path, name="beside.tpg")
    for name in (
        "a folder/pl\u00e4n #1%.tpg",
        f"{tmp_path}/here/a folder/pl\u00e4n #1%.tpg",
        "./a folder/pl\u00e4n #1%.tpg",
    ):
        (artifact,) = sarif(capsys, name)["artifacts"]
        assert artifact["location"] == {"uri": "a%20folder/pl%C3%A4n%20%231%25.tpg", "uriBaseId": "%SRCROOT%"}
    (artifact,) = sarif(capsys, "../beside.tpg")["artifacts"]
    assert artifact["location"] == {"uri": (tmp_path / "beside.tpg").as_uri()}


def test_standard_input_has_no_uri(capsys: pytest.CaptureFixture[str], monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(sys, "stdin", io.TextIOWrapper(io.BytesIO(SHORT.encode())))
    run = sarif(capsys, "-")
    assert run["artifacts"][0]["roles"] == ["standardStream"]
    assert run["results"][0]["locations"][0]["physicalLocation"]["artifactLocation"] == {"index": 0}


# ------------------------------------------------------------- JSON and JUnit


def test_json_says_what_the_text_says(capsys: pytest.CaptureFixture[str], tmp_path: Path) -> None:
    path = written(tmp_path)
    data = json.loads(report("json", capsys, path, status=1))
    assert data["status"] == 1
    (plan,) = data["plans"]
    main(["review", str(path), "--all"])
    out = capsys.readouterr().out
    for finding in plan["findings"]:
        assert finding["rule"] in out
        assert finding["message"].removeprefix("not shown: ") in out
    rod = next(finding for finding in plan["findings"] if finding["rule"] == "rod-distance")
    assert rod["subjects"] == [{"name": "rod", "thing": "R1"}, {"name": "structure", "thing": "211"}]
    assert rod["step"] == "step 1, set R1 at 211"
    assert (rod["place"]["line"], rod["place"]["column"]) == (6, 6)
    assert {one["rule"] for one in plan["outcomes"]} == {one["rule"] for one in data["rules"]}
    assert plan["missing"]


def test_a_suite_has_a_case_for_each_rule(capsys: pytest.CaptureFixture[str], tmp_path: Path) -> None:
    text = SHORT.replace("rod R1", WAIVER + "rod R1") + "  2. sett R1\n"
    root = etree.fromstring(report("junit", capsys, written(tmp_path, text)).encode())
    cases = {case.get("name").partition(":")[0]: case for case in root.iter("testcase")}
    assert cases["rod-distance"].find("skipped").get("type") == "waived"
    assert "rock" in cases["rod-distance"].find("skipped").text
    assert [case for case in cases.values() if case.find("error") is not None]
    assert cases["ground-end-first"].find("skipped").get("type") == "not applicable"
    shown = [case for case in cases.values() if case.find("failure") is not None]
    assert {case.find("failure").get("type") for case in shown} <= {"broken", "not shown"}
    suite = root.find("testsuite")
    assert int(suite.get("failures")) == len(shown) > 0
    assert int(suite.get("tests")) == len(cases) > 80
    assert ("failures", suite.get("failures")) == ("failures", root.get("failures"))


def test_findings_below_the_gate_fail_no_case(capsys: pytest.CaptureFixture[str], tmp_path: Path) -> None:
    path = written(tmp_path)
    strict = etree.fromstring(report("junit", capsys, "--gate", "notice", path).encode())
    loose = etree.fromstring(report("junit", capsys, "--gate", "danger", path).encode())
    assert int(loose.get("failures")) < int(strict.get("failures"))
    assert loose.findall(".//system-out")


def test_characters_that_xml_has_not_are_replaced(capsys: pytest.CaptureFixture[str], tmp_path: Path) -> None:
    path = written(tmp_path, SHORT.replace("Set one rod", "Set \x01 one \ufffe rod"), "a\x1fplan.tpg")
    for form in ("junit", "sarif", "json"):
        report(form, capsys, path)


# ------------------------------------------------------------- several at once


def test_several_forms_come_from_one_run(
    capsys: pytest.CaptureFixture[str], tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.chdir(tmp_path)
    written(tmp_path)
    main(["review", "plan.tpg"])
    text = capsys.readouterr().out
    forms = [
        f"--format={form}" for form in ("sarif=out.sarif", "text", "json=out.json", "junit=out.xml", "text=out.txt")
    ]
    assert main(["review", *forms, "plan.tpg"]) == 1
    assert capsys.readouterr().out == text
    assert (tmp_path / "out.txt").read_text("utf-8") == text
    for form, name in (("sarif", "out.sarif"), ("json", "out.json"), ("junit", "out.xml")):
        assert (tmp_path / name).read_text("utf-8") == report(form, capsys, "plan.tpg")


@pytest.mark.parametrize(
    ("forms", "said"),
    [
        (["sarf"], "did you mean sarif?"),
        (["xml"], "text, json, sarif, junit"),
        (["sarif="], "sarif=FILE"),
        (["text", "json"], "standard output"),
        (["sarif=a", "json=a"], "the file a"),
        (["sarif=a", "json=b/../a"], "the file b/../a"),
        (["sarif=no/such/folder/a"], "can't be written"),
    ],
)
def test_forms_that_cannot_be(
    forms: list[str], said: str, capsys: pytest.CaptureFixture[str], tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.chdir(tmp_path)
    written(tmp_path)
    assert main(["review", "plan.tpg", *(f"--format={form}" for form in forms)]) == 3
    assert said in capsys.readouterr().err
