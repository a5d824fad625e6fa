"""`groundlint draft`: what is printed and written, what is refused, and what is said of it."""

from __future__ import annotations

import io
from dataclasses import fields
from pathlib import Path
from random import Random

import pytest
from houses import head_of, house

from groundlint.cli import main
from groundlint.drafting.policy import Choices, example, read_policy, spelled
from groundlint.language.reader import read_statements
from groundlint.language.writer import write_statement
from groundlint.reading.word import read_document
from groundlint.text import Source

EXAMPLES = Path(__file__).parents[2] / "examples"
SMALL = head_of((EXAMPLES / "small-neutral.tpg").read_text("utf-8"))
BOTH = ("--book", "practice", "--book", "us-29cfr1910-269")


@pytest.fixture
def head(tmp_path: Path) -> Path:
    """The head of an example, in a file."""
    file = tmp_path / "head.tpg"
    file.write_text(SMALL, "utf-8")
    return file


def changed(head: Path, *changes: tuple[str, str]) -> Path:
    """The same head with some of its words changed."""
    text = SMALL
    for old, new in changes:
        assert old in text
        text = text.replace(old, new)
    head.write_text(text, "utf-8")
    return head


def said(source: Source) -> list[str]:
    """The statements of a plan, in words."""
    return [write_statement(one) for one in read_statements(source).text.statements]


def test_the_plan_is_the_head_as_written_and_its_steps(head: Path, capsys: pytest.CaptureFixture[str]) -> None:
    assert main(["draft", str(head), *BOTH]) == 0
    out, err = capsys.readouterr()
    assert out.startswith(SMALL.rstrip())
    assert not err
    assert main(["draft", str(head), *BOTH]) == 0
    assert capsys.readouterr().out == out
    head.write_text(out, "utf-8")
    assert main(["review", str(head), *BOTH]) == 0


def test_what_is_not_stated_is_asked_for_beside_the_plan(head: Path, capsys: pytest.CaptureFixture[str]) -> None:
    changed(head, ("soil      240 ohm m\n", ""))
    assert main(["draft", str(head), *BOTH]) == 2
    out, err = capsys.readouterr()
    assert "stage remove" in out
    assert "soil" not in out
    assert "the soil's resistivity" in err


def test_standard_input_is_read(monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]) -> None:
    monkeypatch.setattr("sys.stdin", io.TextIOWrapper(io.BytesIO(SMALL.encode())))
    assert main(["draft", "-", *BOTH]) == 0
    assert "stage remove" in capsys.readouterr().out


@pytest.mark.parametrize("form", ["tpg", "md", "docx"])
def test_each_form_reads_back_to_the_same_plan(head: Path, form: str, capsys: pytest.CaptureFixture[str]) -> None:
    file = head.with_name(f"whole.{form}")
    assert main(["draft", str(head), *BOTH]) == 0
    printed = capsys.readouterr().out
    assert main(["draft", str(head), *BOTH, "-o", str(file)]) == 0
    if form == "docx":
        source, problems = read_document(file.read_bytes(), file.name)
        assert not problems
    else:
        source = Source(file.name, file.read_text("utf-8"))
    assert said(source) == said(Source("plan.tpg", printed))
    assert main(["review", str(file), *BOTH]) == 0
    assert main(["draft", str(head), "-o", str(file)]) == 3
    assert "there is a file already" in capsys.readouterr().err


def test_a_head_in_markdown_gets_its_steps_in_the_fence(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    file = tmp_path / "head.md"
    fenced = "".join(f"> {one}\n" for one in SMALL.splitlines())
    file.write_text(f"# A job\n\n> ```tpg\n{fenced}> ```\n\nThe end.\n", "utf-8")
    assert main(["draft", str(file), *BOTH]) == 0
    out = capsys.readouterr().out
    assert out.startswith("# A job\n")
    assert out.endswith("> ```\n\nThe end.\n")
    assert main(["draft", str(tmp_path / "head.md"), *BOTH, "-o", str(tmp_path / "plan.tpg")]) == 0
    assert said(Source("a.md", out)) == said(Source("a.tpg", (tmp_path / "plan.tpg").read_text("utf-8")))


def test_leads_that_the_fault_would_melt_make_no_plan(head: Path, capsys: pytest.CaptureFixture[str]) -> None:
    changed(head, ("2.6 kA three-phase, 1.9 kA", "26 kA three-phase, 19 kA"), ("2/0 copper", "2 AWG copper"))
    assert main(["draft", str(head)]) == 1
    out, err = capsys.readouterr()
    assert out == ""
    assert "lead-carries-duty" in err
    assert "no plan" in err
    assert "large enough for that fault: C3..C5 of 2/0 copper" in err


def test_what_the_steps_need_is_asked_for(head: Path, capsys: pytest.CaptureFixture[str]) -> None:
    changed(head, ("lead      C1..C6", "lead      C1..C3"), ("crew      foreman Grebe, lineman Knot Dunlin\n", ""))
    assert main(["draft", str(head)]) == 2
    out, err = capsys.readouterr()
    assert out == ""
    assert "who is in the crew" in err
    changed(head, ("lead      C1..C6", "lead      C1..C3"))
    assert main(["draft", str(head)]) == 2
    assert "6 leads for the sets: 3 stated" in (err := capsys.readouterr().err)
    assert "lead C4 C5 C6" in err or "lead C4..C6" in err


def test_a_head_that_is_not_read_is_said_as_a_review_says_it(head: Path, capsys: pytest.CaptureFixture[str]) -> None:
    changed(head, ("soil      240 ohm m", "soil      240"))
    assert main(["draft", str(head)]) == main(["review", str(head)]) == 1
    out, err = capsys.readouterr()
    assert err.strip() in out


def test_method_and_place_are_stated_where_the_head_does_not(head: Path, capsys: pytest.CaptureFixture[str]) -> None:
    changed(head, ("method    single-point small neutral from the pole\n", ""), ("pin at TC31", "pin"))
    assert main(["draft", str(head)]) == 3
    assert "--at STRUCTURE" in capsys.readouterr().err
    assert main(["draft", str(head), "--at", "TC31"]) == 2
    assert "--method" in capsys.readouterr().err
    assert main(["draft", str(head), "--at", "TC31", "--method", "small-neutral", "--from", "pole", *BOTH]) == 0
    assert "method    single-point small neutral from the pole\n" in capsys.readouterr().out
    changed(head, (" from the pole", ""))
    assert main(["draft", str(head), *BOTH]) == 2
    assert "what the work is done from" in capsys.readouterr().err
    assert main(["draft", str(head), "--from", "pole", *BOTH]) == 0
    assert "method    single-point small neutral from the pole\n" in capsys.readouterr().out


@pytest.mark.parametrize(
    ("arguments", "why"),
    [
        (("--at", "tc31"), "did you mean TC31?"),
        (("--method", "dual-point"), "is another; drop one"),
        (("--from", "bucket"), "is another; drop one"),
        (("-o", "plan.odt"), "ends in .tpg, .md or .docx"),
    ],
)
def test_what_does_not_fit_is_refused(
    head: Path, arguments: tuple[str, ...], why: str, capsys: pytest.CaptureFixture[str]
) -> None:
    assert main(["draft", str(head), *arguments]) == 3
    assert why in capsys.readouterr().err


def test_a_plan_with_steps_is_no_head(capsys: pytest.CaptureFixture[str]) -> None:
    assert main(["draft", str(EXAMPLES / "small-neutral.tpg")]) == 3
    err = capsys.readouterr().err
    assert "has steps already" in err
    assert err.count("\n") == 1


# ------------------------------------------------------------------------------ the house's policy
def test_the_example_of_a_policy_states_what_holds_without_one(capsys: pytest.CaptureFixture[str]) -> None:
    assert main(["draft", "--policy-example"]) == 0
    assert capsys.readouterr().out == example()
    assert read_policy(Source("policy.toml", example())) == (Choices(), ())
    assert all(f"\n{spelled(one.name)} = " in example() for one in fields(Choices))


@pytest.mark.parametrize("seed", range(20))
def test_a_policy_file_states_any_choice(seed: int) -> None:
    choices = house(Random(f"policy {seed}"))
    lines = [f"{spelled(one.name)} = {toml(getattr(choices, one.name))}" for one in fields(Choices)]
    assert read_policy(Source("policy.toml", "\n".join(lines))) == (choices, ())


def toml(value: object) -> str:
    """A value as a policy file has it."""
    if isinstance(value, tuple):
        return str(list(value))
    return str(value).lower() if isinstance(value, bool) else repr(value).replace("'", '"')


@pytest.mark.parametrize(
    ("line", "why"),
    [
        ('leds = "chain"', "did you mean `leads`?"),
        ('leads = "ring"', 'write one of "star", "chain", "half"'),
        ("ask = 1", "write one of true, false"),
        ("up = true", "write one of 1, 2"),
        ("phases = [1, 1, 2]", "write the places of three phases"),
        ('rod-away = "20"', 'write a length, such as "20 ft"'),
        ('rod-away = "-3 m"', 'write a length, such as "20 ft"'),
        ("rod-away = 20", 'write a length, such as "20 ft"'),
        ("leads = chain", "not TOML"),
    ],
)
def test_what_a_policy_can_not_say_is_named(
    head: Path, line: str, why: str, capsys: pytest.CaptureFixture[str]
) -> None:
    policy = head.with_name("policy.toml")
    policy.write_text(f"{line}\n", "utf-8")
    assert main(["draft", str(head), "--policy", str(policy)]) == 3
    err = capsys.readouterr().err
    assert why in err
    assert "policy.toml:1:" in err


def test_a_policy_is_kept_to(head: Path, capsys: pytest.CaptureFixture[str]) -> None:
    policy = head.with_name("policy.toml")
    policy.write_text('leads = "half"\nlock = "apart"\nrod-away = "20 ft"\nafter = "close"\n', "utf-8")
    assert main(["draft", str(head), "--policy", str(policy), *BOTH]) == 0
    out = capsys.readouterr().out
    assert "attach    C4 to TC31 A, then to TC31 B by H6" in out
    assert "lock      F17" in out
    assert "R6 at TC31, 20 ft from the pole" in out
    assert out.rstrip().endswith("close     F17")
