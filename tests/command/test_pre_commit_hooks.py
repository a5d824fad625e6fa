"""The hooks that `.pre-commit-hooks.yaml` offers are commands that exist, for the files they should be given."""

from __future__ import annotations

import re
from pathlib import Path

import pytest
import yaml

from groundlint.cli import main

ROOT = Path(__file__).parents[2]
HOOKS = {hook["id"]: hook for hook in yaml.safe_load((ROOT / ".pre-commit-hooks.yaml").read_text("utf-8"))}
SOUND = (ROOT / "examples" / "single-point-insulator.tpg").read_text("utf-8")


@pytest.fixture(autouse=True)
def _own_cache(tmp_path: Path, tmp_path_factory: pytest.TempPathFactory, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setenv("XDG_CACHE_HOME", str(tmp_path_factory.getbasetemp() / "cache"))
    monkeypatch.chdir(tmp_path)


def given(hook: str, name: str) -> bool:
    """Whether a file would be handed to the hook."""
    entry = HOOKS[hook]
    return bool(re.search(entry["files"], name)) and not re.search(entry.get("exclude", "^$"), name)


def test_the_hooks_are_those_documented() -> None:
    assert set(HOOKS) == {"groundlint", "groundlint-compare", "groundlint-tidy"}
    text = (ROOT / "README.md").read_text("utf-8")
    for name, hook in HOOKS.items():
        assert f"`{name}`" in text
        assert hook["language"] == "python"
        assert hook["entry"].split()[0] == "groundlint"


def test_they_are_given_plans() -> None:
    assert given("groundlint", "plans/a.tpg")
    assert not given("groundlint", "plans/parts/kit.tpg")
    assert not given("groundlint", "README.md")
    assert given("groundlint-compare", "plans/procedure.md")
    assert given("groundlint-compare", "rules/own/own.rule")
    for hook in ("groundlint", "groundlint-compare"):
        for name in ("PROC.docx", "plans/proc.DOCX", "plans/A.TPG"):
            assert given(hook, name)
    assert not given("groundlint", "plans/~$PROC.docx")
    assert not given("groundlint-tidy", "PROC.docx")
    assert given("groundlint-tidy", "plans/parts/kit.tpg")


def test_what_reads_word_documents_is_named() -> None:
    extra = 'additional_dependencies: ["groundlint[word]"]'
    assert extra in (ROOT / "README.md").read_text("utf-8")
    assert extra in (ROOT / ".pre-commit-hooks.yaml").read_text("utf-8")


@pytest.mark.parametrize("name", ["groundlint", "groundlint-tidy"])
def test_they_run_on_the_files_of_a_commit(name: str, capsys: pytest.CaptureFixture[str]) -> None:
    Path("a.tpg").write_text(SOUND, encoding="utf-8")
    Path("b.tpg").write_text(SOUND.replace("20 ft from", "9   ft from"), encoding="utf-8")
    main(["tidy", "--write", "a.tpg"])
    command = HOOKS[name]["entry"].split()[1:]
    assert main([*command, "a.tpg"]) == 0
    assert main([*command, "a.tpg", "b.tpg"]) == 1
    capsys.readouterr()
