"""The wheel carries the rules and grammars, and does the main job in an environment that has never seen this folder."""

from __future__ import annotations

import os
import re
import shutil
import subprocess
import sys
import zipfile
from pathlib import Path

import pytest

ROOT = Path(__file__).resolve().parents[2]
pytestmark = pytest.mark.slow


@pytest.fixture(scope="module")
def wheel(tmp_path_factory: pytest.TempPathFactory, committed: list[Path]) -> Path:
    """The wheel, built from a copy of the project's files, so that nothing is left in this folder."""
    work = tmp_path_factory.mktemp("wheel")
    source = work / "source"
    for path in committed:
        copy = source / path.relative_to(ROOT)
        copy.parent.mkdir(parents=True, exist_ok=True)
        shutil.copy(path, copy)
    run = subprocess.run(
        (sys.executable, "-m", "build", "--wheel", "--no-isolation", "--outdir", str(work / "dist"), str(source)),
        capture_output=True,
        text=True,
        check=False,
    )
    assert run.returncode == 0, run.stdout + run.stderr
    (built,) = (work / "dist").glob("*.whl")
    return built


def test_it_carries_every_module_grammar_and_rule(wheel: Path) -> None:
    names = set(zipfile.ZipFile(wheel).namelist())
    package = {
        path.relative_to(ROOT).as_posix()
        for path in (ROOT / "groundlint").rglob("*")
        if path.is_file() and "__pycache__" not in path.parts
    }
    rules = {
        f"groundlint/{path.relative_to(ROOT).as_posix()}" for path in (ROOT / "rules").rglob("*") if path.is_file()
    }
    assert {"groundlint/language/plan.lark", "groundlint/language/rule.lark", "groundlint/py.typed"} <= package
    assert len(rules) > 1
    assert package | rules <= names
    assert not [name for name in names if name.startswith(("tests/", "examples/", "rules/"))]
    assert any(name.endswith("licenses/LICENSE") for name in names)
    (entries,) = (name for name in names if name.endswith("entry_points.txt"))
    assert "[pygments.lexers]" in zipfile.ZipFile(wheel).read(entries).decode().splitlines()


@pytest.fixture(scope="module")
def installed(wheel: Path, tmp_path_factory: pytest.TempPathFactory) -> Path:
    """The folder of executables of a fresh environment with the wheel and the locked versions of what it needs."""
    work = tmp_path_factory.mktemp("fresh")
    subprocess.run((sys.executable, "-m", "venv", "--without-pip", str(work / "venv")), check=True)
    programs = work / "venv" / ("Scripts" if os.name == "nt" else "bin")
    locked = (ROOT / "requirements-dev.lock").read_text()
    pins = work / "pins.txt"
    pins.write_text("\n".join(re.findall(r"^([a-z0-9._-]+==\S+(?: ; [^\\\n]*)?)", locked, re.MULTILINE)))
    pip = (sys.executable, "-m", "pip", "--python", str(programs / "python"))
    run = subprocess.run(
        (*pip, "install", "--quiet", "--no-compile", "--retries", "1", "-c", str(pins), str(wheel)),
        capture_output=True,
        text=True,
        check=False,
    )
    if (
        run.returncode
        and re.search("NewConnectionError|ConnectTimeout|NameResolution|ProxyError", run.stderr)
        and "CI" not in os.environ
    ):
        pytest.skip("no registry can be reached, so the wheel's dependencies cannot be installed")
    assert run.returncode == 0, run.stderr
    return programs


def run_in(folder: Path, *command: str | Path) -> subprocess.CompletedProcess[str]:
    """A command that sees neither this folder nor this environment."""
    environment = {name: value for name, value in os.environ.items() if not name.startswith(("PYTHON", "VIRTUAL"))}
    return subprocess.run(
        command, cwd=folder, env=environment, capture_output=True, text=True, check=False, timeout=120
    )


def test_it_is_imported_from_where_it_was_installed(installed: Path, tmp_path: Path) -> None:
    run = run_in(tmp_path, installed / "python", "-c", "import groundlint; print(groundlint.__file__)")
    assert run.returncode == 0, run.stderr
    assert "site-packages" in run.stdout


def test_it_says_what_it_does(installed: Path, tmp_path: Path) -> None:
    run = run_in(tmp_path, installed / "groundlint", "--help")
    assert run.returncode == 0, run.stderr
    assert "review" in run.stdout


def test_it_reviews_the_examples(installed: Path, tmp_path: Path) -> None:
    shutil.copytree(ROOT / "examples", tmp_path / "examples")
    plans = [tmp_path / "examples" / name for name in ("deliberate-second-day.tpg", "small-neutral.tpg")]
    run = run_in(tmp_path, installed / "groundlint", "review", *(plan.relative_to(tmp_path) for plan in plans))
    assert run.returncode == 1, run.stderr
    assert "Traceback" not in run.stderr
    assert "deliberate-second-day.tpg:" in run.stdout
    # What is said of a plan ends in a line that sums it up, and each plan has one.
    assert not [plan.name for plan in plans if not re.search(rf"{re.escape(plan.name)}: ", run.stdout)]
    run = run_in(tmp_path, installed / "groundlint", "review", "no-such-plan.tpg")
    assert run.returncode == 3
