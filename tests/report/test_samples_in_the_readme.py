"""The samples of output in README.md are what the commands say now; `...` stands for lines left out."""

from __future__ import annotations

import re
import shlex
import shutil
from pathlib import Path

import pytest

from groundlint.cli import main

HERE = Path(__file__).parent
README = (HERE.parents[1] / "README.md").read_text("utf-8")
PLANS = {
    "short.tpg": HERE / "readme_plans" / "short.tpg",
    "relay.tpg": HERE / "duty_plans" / "relay-and-circuit.tpg",
}
SAMPLES = [
    (shell.partition("\n")[0], shell.partition("\n")[2].rstrip("\n").split("\n"))
    for block in re.findall(r"```text\n(.*?)```", README, flags=re.DOTALL)
    for shell in re.split(r"^\$ ", block, flags=re.MULTILINE)[1:]
]


@pytest.fixture
def in_a_folder_of_plans(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Path:
    for name, path in PLANS.items():
        shutil.copy(path, tmp_path / name)
    monkeypatch.chdir(tmp_path)
    return tmp_path


def pattern(sample: list[str]) -> str:
    """What the output must be whole: the sample's lines, any number of others for `...`."""
    return "".join("(?:.*\n)*?" if line == "..." else re.escape(line) + "\n" for line in sample)


def test_there_are_samples() -> None:
    assert {command.split()[0] for command, _ in SAMPLES} == {"cat", "groundlint"}


@pytest.mark.parametrize(("command", "sample"), SAMPLES, ids=[command for command, _ in SAMPLES])
def test_a_sample_is_what_the_command_says(
    command: str, sample: list[str], in_a_folder_of_plans: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    words = shlex.split(command)
    if words[0] == "cat":
        said = (in_a_folder_of_plans / words[1]).read_text("utf-8")
    else:
        main(words[1:])
        said = capsys.readouterr().out
    assert re.fullmatch(pattern(sample), said), f"`{command}` says now:\n{said}"


def test_the_lines_of_python_run(in_a_folder_of_plans: Path, capsys: pytest.CaptureFixture[str]) -> None:
    (block,) = re.findall(r"```python\n(.*?)```", README, flags=re.DOTALL)
    (in_a_folder_of_plans / "short.tpg").rename("plan.tpg")
    exec(compile(block, "README.md", "exec"), {})
    assert "27 warning R1 is set 6 ft from 212, nearer than 15 ft" in capsys.readouterr().out.splitlines()
