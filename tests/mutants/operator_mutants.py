"""Python with one operator changed: what a module says, parsed, and every way to change it in a single place."""

from __future__ import annotations

import ast
import gc
import importlib
from collections import Counter
from collections.abc import Callable, Collection, Iterator
from functools import partial
from pathlib import Path
from types import CodeType, FunctionType
from typing import Any, NamedTuple

PACKAGE = Path(__file__).parents[2] / "groundlint"
DECIDING = ("timeline", "world", "steps", "facts", "rulebook/evaluate.py")
"""Where it is decided what a plan does and whether a rule holds: the replay, the facts, the evaluator."""

COMPARED: dict[type[ast.cmpop], type[ast.cmpop]] = {
    ast.Lt: ast.LtE,
    ast.LtE: ast.Lt,
    ast.Gt: ast.GtE,
    ast.GtE: ast.Gt,
    ast.Eq: ast.NotEq,
    ast.NotEq: ast.Eq,
    ast.Is: ast.IsNot,
    ast.IsNot: ast.Is,
    ast.In: ast.NotIn,
    ast.NotIn: ast.In,
}
COMPUTED: dict[type[ast.operator], type[ast.operator]] = {
    ast.Add: ast.Sub,
    ast.Sub: ast.Add,
    ast.Mult: ast.Div,
    ast.Div: ast.Mult,
    ast.BitAnd: ast.BitOr,
    ast.BitOr: ast.BitAnd,
}
REACHED = "_reached"
CALLED = {"any": "all", "all": "any", "min": "max", "max": "min"}


class Mutant(NamedTuple):
    """One change to a module. ``name`` says where and what, without the number of a line, which moves."""

    path: Path
    number: int
    name: str

    def made(self) -> ast.Module:
        """The module with this change."""
        tree = _parsed(self.path)
        for number, (_, _, _, change) in enumerate(_places(tree)):
            if number == self.number:
                change()
                return ast.fix_missing_locations(tree)
        raise LookupError(self.name)


def modules() -> list[Path]:
    """The files of the deciding code, in order."""
    found = (PACKAGE / part for part in DECIDING)
    return sorted(path for one in found for path in ([one] if one.is_file() else one.glob("*.py")))


def mutants(path: Path) -> Iterator[Mutant]:
    """Every mutant of a module."""
    lines = path.read_text(encoding="utf-8").splitlines()
    times: Counter[str] = Counter()
    for number, (where, node, what, _) in enumerate(_places(_parsed(path))):
        name = f"{path.relative_to(PACKAGE).as_posix()} {where}: {what}: {lines[node.lineno - 1].strip()}"
        times[name] += 1
        yield Mutant(path, number, name if times[name] == 1 else f"{name} ({times[name]})")


def marked(path: Path, numbers: Collection[int]) -> ast.Module:
    """The module, calling ``REACHED`` with the number of each of these mutants before the statement that it changes."""
    tree = _parsed(path)
    changed = {number: node for number, (_, node, _, _) in enumerate(_places(tree)) if number in numbers}
    stands = {id(part): spot for spot in _statements(tree) for part in ast.walk(spot[0][spot[1]])}
    spots = [(number, stands[id(node)]) for number, node in changed.items()]
    for number, (block, at) in sorted(spots, key=lambda spot: -spot[1][1]):
        call = ast.Call(ast.Name(REACHED, ast.Load()), [ast.Constant(number)], [])
        block.insert(at, ast.copy_location(ast.Expr(call), block[at]))
    return ast.fix_missing_locations(tree)


class Planted:
    """Every function of the deciding code as it stands in this process, so that its code can be changed."""

    def __init__(self) -> None:
        self.modules = {path: importlib.import_module(_dotted(path)) for path in modules()}
        gc.unfreeze()
        self.functions: dict[Path, list[FunctionType]] = {path: [] for path in self.modules}
        for one in gc.get_objects():
            if isinstance(one, FunctionType) and (path := Path(one.__code__.co_filename)) in self.functions:
                self.functions[path].append(one)
        gc.freeze()

    def plant(self, path: Path, tree: ast.Module) -> None:
        """From now on the functions of this file do what that tree says, whoever holds them."""
        code = {_place(one): one for one in _inside(compile(tree, str(path), "exec", dont_inherit=True))}
        for function in self.functions[path]:
            function.__code__ = code[_place(function.__code__)]


def _dotted(path: Path) -> str:
    return ".".join(path.relative_to(PACKAGE.parent).with_suffix("").parts).removesuffix(".__init__")


def _place(code: CodeType) -> tuple[str, int, int]:
    """Where a function stands: its name and its line; and its first column where it has no name, since a line may hold
    two of these."""
    columns = (column for _, _, column, _ in code.co_positions() if column)
    return code.co_qualname, code.co_firstlineno, min(columns, default=0) if code.co_name == "<lambda>" else 0


def _inside(code: CodeType) -> Iterator[CodeType]:
    for one in code.co_consts:
        if isinstance(one, CodeType):
            yield one
            yield from _inside(one)


def _statements(tree: ast.AST) -> Iterator[tuple[list[ast.stmt], int]]:
    """Every statement with the block that it stands in, the outer ones first."""
    for node in ast.walk(tree):
        for _, block in ast.iter_fields(node):
            if isinstance(block, list) and block and isinstance(block[0], ast.stmt):
                yield from ((block, at) for at in range(len(block)))


def _parsed(path: Path) -> ast.Module:
    return ast.parse(path.read_text(encoding="utf-8"))


def _places(tree: ast.Module) -> Iterator[tuple[str, Any, str, Callable[[], None]]]:
    """Each change that a tree can take: the function, the node, what it is called, and what makes it in the tree."""
    for where, node in _evaluated(tree):
        for what, field, value in _changes(node):
            yield where, node, what, partial(setattr, node, field, value)


def _changes(node: ast.AST) -> Iterator[tuple[str, str, object]]:
    """Each change that this node can take: what it is called, the field to set, and to what."""
    match node:
        case ast.Compare(ops=[one]):
            other = COMPARED[type(one)]
            yield f"{type(one).__name__} made {other.__name__}", "ops", [other()]
        case ast.BoolOp(op=ast.And()):
            yield "and made or", "op", ast.Or()
        case ast.BoolOp():
            yield "or made and", "op", ast.And()
        case ast.BinOp(op=one) if type(one) in COMPUTED:
            other_op = COMPUTED[type(one)]
            yield f"{type(one).__name__} made {other_op.__name__}", "op", other_op()
        case ast.If() | ast.IfExp() | ast.While():
            yield "condition turned", "test", ast.UnaryOp(ast.Not(), node.test)
        case ast.UnaryOp(op=ast.Not()):
            yield "not dropped", "operand", ast.UnaryOp(ast.Not(), node.operand)
        case ast.Constant(value=bool() as flag):
            yield f"{flag} made {not flag}", "value", not flag
        case ast.Constant(value=int() as number):
            yield f"{number} made {number + 1}", "value", number + 1
        case ast.Call(func=ast.Name(id=called)) if called in CALLED:
            yield f"{called} made {CALLED[called]}", "func", ast.Name(CALLED[called], ast.Load())
        case ast.Continue():
            yield "continue made break", "__class__", ast.Break


def _evaluated(tree: ast.Module) -> Iterator[tuple[str, ast.AST]]:
    """Every node that runs when a plan is judged, with the function that it stands in: no annotation, no default, no
    decorator, no error that is raised."""

    def below(node: ast.AST, where: str) -> Iterator[tuple[str, ast.AST]]:
        match node:
            case ast.FunctionDef() | ast.ClassDef():
                inside = f"{where}.{node.name}" if where else node.name
                kept = node.body if isinstance(node, ast.FunctionDef) else _functions(node.body)
                for statement in kept:
                    yield from below(statement, inside)
            case ast.Raise() | ast.JoinedStr():
                return
            case _:
                yield where, node
                for field, value in ast.iter_fields(node):
                    for part in value if isinstance(value, list) else [value]:
                        if isinstance(part, ast.AST) and field != "annotation":
                            yield from below(part, where)

    for statement in _functions(tree.body):
        yield from below(statement, "")


def _functions(body: list[ast.stmt]) -> list[ast.stmt]:
    return [one for one in body if isinstance(one, ast.FunctionDef | ast.ClassDef)]
