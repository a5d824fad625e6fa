"""Every function, class, method and constant of the package is mentioned by other code of the package: what tests alone
call is no part of the program, and a published number that it meets says nothing of what runs."""

from __future__ import annotations

import ast
import re
import tomllib
from collections.abc import Iterator
from fnmatch import fnmatch
from functools import cache
from pathlib import Path
from typing import NamedTuple

import pytest

ROOT = Path(__file__).resolve().parents[2]
PACKAGE = ROOT / "groundlint"
Definition = ast.FunctionDef | ast.AsyncFunctionDef | ast.ClassDef

PLAIN = {"cache", "cached_property", "classmethod", "contextmanager", "dataclass", "lru_cache", "property"}
PLAIN |= {"record", "staticmethod"}
"""Decorators that enter what they stand on nowhere; what another one enters in a register is had from there."""

REGISTERED = ("groundlint.facts.", "groundlint.steps.")
"""Modules where what a call makes is entered in a catalogue by that call, or taken from the module by its type."""

DOORS = {
    "groundlint.commands.*.add": "a command's module is imported by the command's name",
    "groundlint.cli._Parser.*": "argparse asks a parser of one's own for it",
    "groundlint.serving.server._Protocol.*": "the library asks a protocol of one's own for it",
    "groundlint.language.highlighting.textmate_grammar": "makes plan.tmLanguage.json",
    "groundlint.language.schema.schema_text": "makes plan.schema.json",
    "groundlint.report.schema.schema_text": "makes review.schema.json",
    "groundlint.report.duty.schema.schema_text": "makes duty.schema.json",
    "groundlint.language.schema.plan_json": "a plan by the published schema, for other systems",
    "groundlint.language.schema.plan_from_json": "a plan by the published schema, from other systems",
}
"""What only somebody outside of the package asks for, by the reason; so is what it exports, and its entry points."""


class Mention(NamedTuple):
    """A word of code: whether it stands by itself, after a point or as a text given to a call; its module; the name
    before the point; and the definitions it stands in."""

    how: str
    module: str
    of: str
    within: tuple[ast.AST, ...]


class Thing(NamedTuple):
    """A definition, with its module, its dotted name, and whether it stands in a module and not in a class or
    function."""

    node: ast.AST
    module: str
    path: str
    at_top: bool

    @property
    def name(self) -> str:
        return self.path.rpartition(".")[2]


class House:
    """Modules by dotted name, everything that they define, and every word that they mention."""

    def __init__(self, texts: dict[str, str], templates: str = "") -> None:
        self.templates = set(re.findall(r"\w+", templates))
        self.things: list[Thing] = []
        self.mentions: dict[str, list[Mention]] = {}
        self.imports: dict[str, set[tuple[str, str]]] = {}
        self.aliases: dict[tuple[str, str], str] = {}
        self.dispatched: dict[str, tuple[str, ...]] = {}
        for module, text in texts.items():
            self.dispatched[module] = ()
            self._walk(ast.parse(text), module, module, ())

    def _walk(self, node: ast.AST, module: str, path: str, within: tuple[ast.AST, ...]) -> None:
        for one in ast.iter_child_nodes(node):
            inside, called = within, path
            if isinstance(one, Definition):
                inside, called = (*within, one), f"{path}.{one.name}"
                if not entered(one):
                    self.things.append(Thing(one, module, called, isinstance(node, ast.Module)))
            elif isinstance(node, ast.Module) and isinstance(one, (ast.Assign, ast.AnnAssign)):
                inside = (one,)
                if not (isinstance(one.value, ast.Call) and module.startswith(REGISTERED)):
                    targets = one.targets if isinstance(one, ast.Assign) else [one.target]
                    names = [target.id for target in targets if isinstance(target, ast.Name)]
                    self.things += [Thing(one, module, f"{module}.{name}", True) for name in names]
            elif isinstance(one, ast.ImportFrom):
                for alias in one.names:
                    self.imports.setdefault(alias.name, set()).add((one.module or "", module))
                    self.aliases[module, alias.asname or alias.name] = f"{one.module}.{alias.name}"
            elif isinstance(one, ast.Call):
                self.dispatched[module] += tuple(prefix(one))
            for how, word, of in said(one):
                self.mentions.setdefault(word, []).append(Mention(how, module, of, inside))
            self._walk(one, module, called, inside)

    def asked(self, thing: Thing) -> bool:
        """Whether something else mentions it. What stands in a module: by its name there, or imported from there or
        from a package around it, or as an attribute of the module; a method: by its name anywhere."""
        name, module = thing.name, thing.module
        if name in self.templates or name.startswith("__") or name == "_":
            return True
        words = [one for one in self.mentions.get(name, ()) if thing.node not in one.within]
        if not thing.at_top:
            called = any(word.how != "name" or word.module == module for word in words)
            return called or any(name.startswith(start) for start in self.dispatched[module])
        if any((w.how == "name" and w.module == module) or w.how == "text" for w in words):
            return True
        if any(w.how == "attribute" and self.aliases.get((w.module, w.of)) == module for w in words):
            return True
        return any(
            (module == source or module.startswith(f"{source}.")) and not self._passed_on(name, module, by)
            for source, by in self.imports.get(name, ())
        )

    def _passed_on(self, name: str, module: str, by: str) -> bool:
        """Whether a package around a module imports its name for others alone; what the outermost does is public."""
        around = by != "groundlint" and module.startswith(f"{by}.")
        return around and not any(one.how == "name" and one.module == by for one in self.mentions.get(name, ()))

    def unasked(self) -> list[str]:
        return [thing.path for thing in self.things if not self.asked(thing)]


def said(node: ast.AST) -> Iterator[tuple[str, str, str]]:
    if isinstance(node, ast.Name) and isinstance(node.ctx, ast.Load):
        yield "name", node.id, ""
    elif isinstance(node, ast.Attribute) and isinstance(node.ctx, ast.Load):
        yield "attribute", node.attr, node.value.id if isinstance(node.value, ast.Name) else ""
    elif isinstance(node, ast.Call):
        for one in node.args:
            if isinstance(one, ast.Constant) and isinstance(one.value, str):
                yield "text", one.value, ""


def entered(node: Definition) -> bool:
    """Whether a decorator enters it somewhere."""
    names = {re.split(r"[.(]", ast.unparse(one).removeprefix("functools."))[0] for one in node.decorator_list}
    return not names <= PLAIN


def prefix(node: ast.Call) -> Iterator[str]:
    """What the names begin with that ``getattr(self, f"_on_{kind}")`` gets."""
    if isinstance(node.func, ast.Name) and node.func.id == "getattr" and isinstance(node.args[1], ast.JoinedStr):
        start = node.args[1].values[0]
        if isinstance(start, ast.Constant):
            yield str(start.value)


@cache
def house() -> House:
    texts = {}
    for path in sorted(PACKAGE.rglob("*.py")):
        parts = path.relative_to(ROOT).with_suffix("").parts
        texts[".".join(parts[:-1] if parts[-1] == "__init__" else parts)] = path.read_text("utf-8")
    return House(texts, " ".join(path.read_text("utf-8") for path in sorted(PACKAGE.rglob("*.html"))))


def doors() -> dict[str, str]:
    """What is asked for from outside, with the entry points of the project."""
    project = tomllib.loads((ROOT / "pyproject.toml").read_text("utf-8"))["project"]
    points = [
        *project["scripts"].values(),
        *(one for group in project["entry-points"].values() for one in group.values()),
    ]
    return DOORS | {place.replace(":", "."): "an entry point" for place in points}


def test_everything_is_asked_by_something_that_runs() -> None:
    found = [path for path in house().unasked() if not any(fnmatch(path, door) for door in doors())]
    assert found == [], "call it, delete it, or move it into the test that needs it"


@pytest.mark.parametrize("door", DOORS)
def test_what_is_listed_as_asked_from_outside_is_there_and_asked_by_nothing_else(door: str) -> None:
    assert any(fnmatch(path, door) for path in house().unasked())


USED = {
    "p.a": """
from p.b import helper, LIMIT
from p import c as other
def main(kind): return getattr(Table(), f"_on_{kind}")(helper(LIMIT), other.asked())
main("x")
class Table:
    def _on_x(self, value): return value
""",
    "p.b": """
LIMIT = 3
def helper(n): return n and helper(n - 1)
""",
    "p.c": """
from functools import cache
@cache
def asked(): return 1
@fact("entered")
def entered(case): return case
""",
}


def test_what_is_asked_is_not_found() -> None:
    assert House(USED).unasked() == []


@pytest.mark.parametrize(
    ("module", "text", "found"),
    [
        ("p.b", "def alone(n): return alone(n - 1)", "p.b.alone"),
        ("p.b", "def main(n): return n", "p.b.main"),  # another module's name
        ("p.b", "WIDTH = 3", "p.b.WIDTH"),
        ("p.b", "class Told: pass", "p.b.Told"),
        ("p.a", "Table.told = 1\nclass More(Table):\n  def told(self): return self", "p.a.More"),
        ("p.a", "class More(Table):\n  def told(self): return self\nMore()", "p.a.More.told"),
        ("p.c", "def passed(): return 2", "p.c.passed"),
    ],
)
def test_what_is_not_asked_is_found(module: str, text: str, found: str) -> None:
    passing_on = {"p": "from p.c import passed\n__all__ = ['passed']"}
    assert found in House({**USED, **passing_on, module: USED[module] + text}).unasked()
