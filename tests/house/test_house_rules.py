"""Rules of the house that nothing else checks: layers, lengths, imports at start, paths and hosts in files."""

from __future__ import annotations

import ast
import re
import subprocess
import sys
from collections.abc import Iterator
from functools import cache
from pathlib import Path

import pytest

import groundlint

ROOT = Path(__file__).resolve().parents[2]
PACKAGE = ROOT / "groundlint"
LONGEST = {ast.ClassDef: 250, ast.FunctionDef: 80, ast.AsyncFunctionDef: 80}
"""Lines of one class or function, which are taken in as one; a module may be as long as its matter."""
LONGER = {
    "a method for each kind of statement, clause, formula or step, none of which needs another": (
        "books.py:_Builder",
        "check.py:Checker",
        "declare.py:Declarations",
        "lower.py:Lowering",
        "resolve.py:_Resolver",
        "rules.py:RuleReader",
    ),
    "one table of what stands for what, row by row": (
        "declare.py:build_equipment",
        "declare.py:build_line",
    ),
    "a part of the page, the record or the drawing a method, over what they all read": (
        "drawing.py:_Row",
        "scene_making.py:_Moment",
        "text.py:_Text",
    ),
    "a question a method, over one state that is kept for all": (
        "names.py:Names",
        "network.py:Network",
        "study.py:Study",
        "timeline.py:Timeline",
        "trace.py:PlanTrace",
    ),
    "a capability of the protocol a method, over one server": ("server.py:Server",),
    "the circuit of a plan, a kind of thing a method, over nodes that they share": ("site.py:_Builder",),
    "the numbering of one layout, each array made from the one before": ("layout.py:lay_out",),
}
"""Classes and functions that are longer, as ``module.py:name``, by the reason."""


def modules() -> list[Path]:
    return sorted(PACKAGE.rglob("*.py"))


def name_of(path: Path) -> str:
    return path.relative_to(ROOT).as_posix()


def imports(tree: ast.AST) -> Iterator[tuple[str, bool]]:
    """Top-level names imported when the program runs, and whether that is when the module itself is imported."""

    def walk(node: ast.AST, at_import: bool) -> Iterator[tuple[str, bool]]:
        for child in ast.iter_child_nodes(node):
            if isinstance(child, ast.If) and "TYPE_CHECKING" in ast.dump(child.test):
                continue
            if isinstance(child, ast.Import):
                yield from ((alias.name.partition(".")[0], at_import) for alias in child.names)
            elif isinstance(child, ast.ImportFrom) and child.level == 0 and child.module:
                yield child.module.partition(".")[0], at_import
            yield from walk(
                child, at_import and not isinstance(child, (ast.FunctionDef, ast.AsyncFunctionDef, ast.Lambda))
            )

    return walk(tree, True)


@cache
def imported(path: Path) -> frozenset[tuple[str, bool]]:
    """What `imports` says of a module."""
    return frozenset(imports(ast.parse(path.read_text())))


def test_there_is_a_house_to_guard(committed: list[Path]) -> None:
    assert {ROOT / "pyproject.toml", *modules()} <= set(committed)


def test_the_import_contract_holds() -> None:
    run = subprocess.run(
        (sys.executable, "-c", "from importlinter.cli import lint_imports_command as l; l([])"),
        cwd=ROOT,
        capture_output=True,
        text=True,
        check=False,
    )
    assert run.returncode == 0, run.stdout
    assert re.search(r"[1-9]\d* kept, 0 broken", run.stdout)


def too_long(text: str) -> set[str]:
    """Classes and functions that are longer than can be taken in."""
    return {
        node.name
        for node in ast.walk(ast.parse(text))
        if isinstance(node, tuple(LONGEST)) and (node.end_lineno or 0) - node.lineno >= LONGEST[type(node)]
    }


def test_no_class_or_function_is_too_long_to_take_in() -> None:
    found = {f"{path.name}:{name}" for path in modules() for name in too_long(path.read_text())}
    listed = {name for names in LONGER.values() for name in names}
    assert found - listed == set(), "divide it where its matter parts, or list it with the reason"
    assert listed - found == set(), "no longer so: take it out of the list"


@pytest.mark.parametrize(("head", "lines"), [("def f():", 80), ("async def f():", 80), ("class f:", 250)])
def test_a_long_one_would_be_found(head: str, lines: int) -> None:
    assert too_long(head + "\n  1" * (lines - 1)) == set()
    assert too_long(head + "\n  1" * lines) == {"f"}


@pytest.mark.parametrize(
    ("library", "folders"),
    [
        ("numpy", ("electrical",)),
        ("pint", ("values",)),
        ("lark", ("language", "rulebook")),
    ],
)
def test_heavy_libraries_stay_in_their_rooms(library: str, folders: tuple[str, ...]) -> None:
    users = {name_of(path) for path in modules() if library in dict(imported(path))}
    assert users, f"nothing imports {library}; is it needed?"
    assert not {user for user in users if user.split("/")[1] not in folders}


@pytest.mark.parametrize("library", ["pint", "pydantic", "lark"])
def test_heavy_libraries_are_imported_only_where_used(library: str) -> None:
    early = {name_of(path) for path in modules() if (library, True) in imported(path)}
    allowed = {
        "pint": set(),
        # Read only when a grammar has to be built or a text has to be parsed; the cached rulebook needs neither.
        "lark": {name for name in early if name.split("/")[1] in ("language", "rulebook")},
        "pydantic": {name for name in early if name.endswith(("/schema.py", "/published.py"))},
    }
    assert early <= allowed[library]


def test_importing_the_package_imports_no_heavy_library() -> None:
    code = "import sys, groundlint; print(*sorted({'pint', 'numpy', 'pydantic', 'lark', 'scipy'} & set(sys.modules)))"
    run = subprocess.run((sys.executable, "-c", code), cwd=ROOT, capture_output=True, text=True, check=True)
    assert run.stdout.strip() == ""


@pytest.mark.parametrize("stage", ["groundlint.text.decode", "groundlint.values.wire"])
def test_nor_do_the_first_stages(stage: str) -> None:
    code = f"import sys, {stage}; print(*sorted({{'pint', 'numpy', 'pydantic', 'lark', 'difflib'}} & set(sys.modules)))"
    run = subprocess.run((sys.executable, "-c", code), cwd=ROOT, capture_output=True, text=True, check=True)
    assert run.stdout.strip() == ""


# Patterns below are broken by groups, and examples have their case turned, so that this file does not find itself.
_PLACES = re.compile(
    "|".join(
        [
            r"(?<![\w.:/-])/(?:work|root|home|Users)/\w",
            r"/tmp/(?:gl|venv)\b",
            r"[A-Z]:\\Users\\",
            r"\b(?:shared)/(?:design|data)",
            r"(?:index)-url|(?:extra)-index|files\.(?:pythonhosted)",
            r"https?://(?:localhost|127\.|10\.|192\.168\.)",
        ]
    )
)


def test_no_file_names_a_place_on_one_machine(committed: list[Path]) -> None:
    found = []
    for path in committed:
        try:
            text = path.read_text()
        except UnicodeDecodeError:
            continue
        found += [f"{name_of(path)}: {match[0]}" for match in _PLACES.finditer(text)]
    assert found == []


@pytest.mark.parametrize(
    "written",
    ["IN /HOME/ME", "/ROOT/X", r"c:\uSERS\ME", "--INDEX-URL X", "SHARED/DATA/X", "HTTP://LOCALHOST:8"],
)
def test_a_place_on_one_machine_would_be_found(written: str) -> None:
    assert _PLACES.search(written.swapcase())


def test_no_stage_prints_exits_or_reads_the_clock() -> None:
    """Text is made in one place and leaves by one door: the command line and the editor's server."""
    doors = ("cli.py", "__main__.py", "commands/")
    called = {"print", "exit", "quit", "input", "breakpoint"}
    modules_kept_out = {"time", "datetime.now", "sys.exit", "os.environ", "os.getenv", "logging", "warnings"}
    found = []
    for path in modules():
        name = path.relative_to(PACKAGE).as_posix()
        if name.startswith(doors):
            continue
        for node in ast.walk(ast.parse(path.read_text())):
            if isinstance(node, ast.Call) and isinstance(node.func, ast.Name) and node.func.id in called:
                found.append(f"{name}:{node.lineno}: {node.func.id}")
            elif isinstance(node, ast.Attribute) and ast.unparse(node) in modules_kept_out | {
                "date.today",
                "datetime.date.today",
            }:
                found.append(f"{name}:{node.lineno}: {ast.unparse(node)}")
            elif isinstance(node, ast.Import) and any(alias.name in modules_kept_out for alias in node.names):
                found.append(f"{name}:{node.lineno}: import")
    assert found == []


def test_every_public_name_is_there() -> None:
    names = groundlint.__all__
    assert names == sorted(groundlint._HOME)
    assert [name for name in names if getattr(groundlint, name).__name__ != name] == []


def test_the_readmes_python_runs(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]
) -> None:
    code = (ROOT / "README.md").read_text("utf-8").partition("```python\n")[2].partition("```")[0]
    (tmp_path / "plan.tpg").write_bytes((ROOT / "examples" / "deliberate-second-day.tpg").read_bytes())
    monkeypatch.chdir(tmp_path)
    exec(code, {})
    assert re.match(r"[0-9]+ danger .+\n", capsys.readouterr().out)
