"""Mark schemes for whole plans: text files in TOML that say what each rule earns.

    [scheme]
    title = "Unit 3: a single set of grounds"
    books = ["practice", "us-29cfr1910-269"]      # these where not said
    pass = 60                                     # percent of the points
    unread = 1                                    # off for each line that can't be read
    impossible = 1                                # off for each step that can't be done
    others = { danger = 2, warning = 1 }          # off for each other rule that is broken or not shown, by level
    most_off = 10                                 # off in all for those, at most
    alike = 0.9                                   # from which likeness two answers are shown to the instructor

    [task]
    handout = "lesson-3.tpg"                      # the plan as it is handed out, beside this file or below
    sound = "parts/sound.tpg"                     # one sound way to complete it

    [stage.testing]
    title = "Testing"
    [stage.testing.rules]
    a-rule = 2
    another-rule = { points = 4, partial = 0.5, steps = ["test"], required = true }

A rule that is met earns its points; where the handout meets it already, or the sound plan never comes to it, it earns
none, and its points are taken off where the answer does not meet it. One that is broken or not shown keeps ``partial``
of its points where the plan has every step of ``steps`` and the handout has not: the step is there, and wrong. One that
is asked of the sound plan and never of the answer is not met. ``required`` rules must be met to pass, whatever the
points, and no answer passes that breaks a danger rule which the scheme does not name.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from typing import Any, Final

from groundlint.rulebook.model import Rule
from groundlint.steps import KINDS
from groundlint.text import Diagnostic, Source
from groundlint.text.toml import TomlText, or_nearest

SCHEME_KEYS = ("title", "books", "pass", "unread", "impossible", "others", "most_off", "alike")
STAGE_KEYS = ("title", "rules")
RULE_KEYS = ("points", "partial", "steps", "required")
LEVELS = ("danger", "warning", "caution", "notice")
TASK_KEYS = ("handout", "sound")
MOST_POINTS = 1000.0


@dataclass(frozen=True)
class Worth:
    """What a rule earns: ``partial`` is the share of the points for a step that is there and wrong."""

    slug: str
    points: float
    partial: float = 0.0
    steps: tuple[str, ...] = ()
    required: bool = False


@dataclass(frozen=True)
class Stage:
    """A part of the job under which rules are marked."""

    name: str
    title: str
    rules: tuple[Worth, ...]


@dataclass(frozen=True)
class Scheme:
    """A mark scheme. ``passing`` is a share of the points, 0 to 1; deductions are points. ``handout`` and ``sound`` are
    names of files from where the scheme stands."""

    title: str
    books: tuple[str, ...]
    passing: float
    handout: str
    sound: str
    unread: float
    impossible: float
    others: Mapping[str, float]
    most_off: float
    alike: float
    stages: tuple[Stage, ...]


COURSE_BOOKS: Final = ("practice", "us-29cfr1910-269")
"""What a class is marked by where its scheme names no books: the order of things. A scheme that teaches sizes and
exposure names the book that computes them, too, since a plan for a class often leaves out what that needs."""


def books_named(toml: TomlText) -> tuple[str, ...]:
    """The books that a scheme or key asks for; those of a course where it names none."""
    for name in ("scheme", "drill"):
        table = toml.table.get(name)
        if isinstance(table, dict) and "books" in table:
            return toml.texts((name,), table, "books") or COURSE_BOOKS
    return COURSE_BOOKS


def read_scheme(source: Source, rules: Mapping[str, Rule]) -> tuple[Scheme | None, tuple[Diagnostic, ...]]:
    """A scheme from its text, checked against the rules of its books. With any diagnostic it is not fit to mark by."""
    toml = TomlText(source)
    if toml.problems:
        return None, tuple(toml.problems)
    toml.known((), toml.table, ("scheme", "task", "stage"))
    head = toml.tables((), toml.table, "scheme")
    toml.known(("scheme",), head, SCHEME_KEYS)
    at = ("scheme",)
    task = toml.tables((), toml.table, "task")
    toml.known(("task",), task, TASK_KEYS)
    for name in TASK_KEYS:
        if name not in task:
            mend = f'write {name} = "FILE.tpg" below [task]'
            toml.complain("no-task", ("task",), f"the task names no plan as `{name}`", mend)
    others = toml.tables(at, head, "others")
    toml.known((*at, "others"), others, LEVELS)
    stages = tuple(_stage(toml, name, table, rules) for name, table in toml.tables((), toml.table, "stage").items())
    _once(toml, stages)
    scheme = Scheme(
        title=toml.text(at, head, "title", "Marks"),
        books=books_named(toml),
        passing=toml.number(at, head, "pass", 60, 0, 100) / 100,
        handout=toml.text(("task",), task, "handout"),
        sound=toml.text(("task",), task, "sound"),
        unread=toml.number(at, head, "unread", 1, 0, MOST_POINTS),
        impossible=toml.number(at, head, "impossible", 1, 0, MOST_POINTS),
        others={
            level: toml.number((*at, "others"), others, level, 0, 0, MOST_POINTS) for level in LEVELS if level in others
        },
        most_off=toml.number(at, head, "most_off", 10, 0, MOST_POINTS),
        alike=toml.number(at, head, "alike", 0.9, 0, 1),
        stages=stages,
    )
    if not any(worth.points for stage in stages for worth in stage.rules):
        said = "the scheme gives no points"
        toml.complain("no-points", ("scheme",), said, "add a table [stage.NAME.rules] with lines `rule = points`")
    return (scheme if not toml.problems else None), tuple(toml.problems)


def _stage(toml: TomlText, name: str, table: Any, rules: Mapping[str, Rule]) -> Stage:
    at = ("stage", name)
    if not isinstance(table, dict):
        toml.complain("wrong-kind", at, f"`{name}` is to be a table", f"begin it with a line [stage.{name}]")
        return Stage(name, name, ())
    toml.known(at, table, STAGE_KEYS)
    said = toml.tables(at, table, "rules")
    worths = tuple(_worth(toml, (*at, "rules"), slug, value, rules) for slug, value in said.items())
    return Stage(name, toml.text(at, table, "title", name), worths)


def _worth(toml: TomlText, at: Sequence[str], slug: str, value: Any, rules: Mapping[str, Rule]) -> Worth:
    if slug not in rules:
        said = f"no rule of the books in use is named {slug}{or_nearest(slug, rules)}"
        toml.complain("unknown-rule", (*at, slug), said, "`groundlint rules` lists the rules of a book")
    if not isinstance(value, dict):
        return Worth(slug, toml.number(at, {slug: value}, slug, 0, 0, MOST_POINTS))
    own = (*at, slug)
    toml.known(own, value, RULE_KEYS)
    if "points" not in value:
        toml.complain("no-points", own, f"{slug} has no `points`", "write points = 2")
    steps = toml.texts(own, value, "steps")
    _steps(toml, (*own, "steps"), steps)
    required = value.get("required", False)
    if not isinstance(required, bool):
        toml.complain("wrong-kind", own, f"`required` of {slug} is neither true nor false", "write required = true")
    return Worth(
        slug,
        toml.number(own, value, "points", 0, 0, MOST_POINTS),
        toml.number(own, value, "partial", 0, 0, 1),
        steps,
        required is True,
    )


def _steps(toml: TomlText, path: Sequence[str], steps: Sequence[str]) -> None:
    for step in steps:
        if step not in KINDS:
            toml.complain("unknown-step", path, f"no step is named {step}{or_nearest(step, KINDS)}")


def _once(toml: TomlText, stages: Sequence[Stage]) -> None:
    seen: dict[str, str] = {}
    for stage in stages:
        for worth in stage.rules:
            if worth.slug in seen:
                said = f"{worth.slug} earns points in stage {seen[worth.slug]} already"
                toml.complain("marked-twice", ("stage", stage.name, "rules", worth.slug), said, "keep one")
            seen.setdefault(worth.slug, stage.name)


__all__ = ["Scheme", "Stage", "Worth", "books_named", "read_scheme"]
