"""The examples of a rulebook run as its tests: each must come out as its rule says.

``passes``   the rule applies and every instance is met
``nearmiss`` the same, of a plan that differs in a single respect from one that fails or is not shown
``fails``    an instance is broken; with ``>`` lines, the broken ones fall on exactly those lines
``reworded`` the same, of a plan that says in other words what one that fails says
``unshown``  none is broken and one at least is not shown; with ``>`` lines, on exactly those
``exempts``  the rule does not apply anywhere
"""

from __future__ import annotations

from collections.abc import Callable, Iterator, Sequence
from typing import NamedTuple

from groundlint.facts.catalogue import Catalogue, Trace
from groundlint.rulebook import core
from groundlint.rulebook.evaluate import Outcome, Program
from groundlint.rulebook.model import Example, Rule, Rulebook, Shelf
from groundlint.text import Diagnostic, Span
from groundlint.text.edits import edited
from groundlint.values import Truth


class ExampleText(NamedTuple):
    """The plan of an example, and the lines of it (from 1) at which a finding must fall."""

    text: str
    marked: tuple[int, ...]


class ExampleResult(NamedTuple):
    """Whether an example came out as its rule says; ``problem`` says how not, empty if it did."""

    example: Example
    problem: str

    @property
    def place(self) -> str:
        """File and line of the example."""
        return f"{self.example.file}:{self.example.line}"


def example_text(example: Example, book_of_rule: str, shelf: Shelf) -> ExampleText | str:
    """The base plan without the lines marked ``-`` and with the example's own at its end; a problem as a string."""
    base = shelf.bases.get((book_of_rule, example.base))
    if base is None:
        return f"there is no base plan `{example.base}`"
    lines = base.rstrip("\n").split("\n") if base else []
    for marker, text in example.lines:
        if marker != "-":
            continue
        at = next((at for at, line in enumerate(lines) if line.strip() == text.strip()), None)
        if at is None:
            return f"the base plan has no line `{text.strip()}` to take out"
        del lines[at]
    marked: list[int] = []
    for marker, text in example.lines:
        if marker != "-":
            lines.append(text)
            if marker == ">":
                marked.append(len(lines))
    return ExampleText("\n".join(lines) + "\n", tuple(marked))


def run_examples(
    book: Rulebook, catalogue: Catalogue, reviewer: Callable[[str], Trace | Sequence[Diagnostic]], own: bool = False
) -> Iterator[ExampleResult]:
    """Run every example of the book's rules. ``reviewer`` replays a plan, or gives what was wrong with its text.

    With ``own``, the rules that the book adopts are left out: their examples were written for the settings of the book
    that they come from, and a book that sets one otherwise makes them come out otherwise without being wrong.
    """
    program, shelf = Program(book, catalogue), book.shelf()
    asked = {rule.slug for rule in book.rules if rule.book == book.head.name} if own else None
    unmended: dict[str, Example] = {}
    mended: set[str] = set()
    for example in shelf.examples:
        if asked is not None and example.rule not in asked:
            continue
        problem, outcome = _tried(example, book, program, shelf, reviewer)
        yield ExampleResult(example, problem)
        if outcome is not None and outcome.rule.repairs and example.sort in ("fails", "unshown"):
            unmended.setdefault(example.rule, example)
            if example.rule not in mended and _mends(outcome, program, reviewer):
                mended.add(example.rule)
    for slug, example in unmended.items():
        if slug not in mended:
            yield ExampleResult(example, "the `repair` of the rule mends no example that fails")


def _mends(outcome: Outcome, program: Program, reviewer: Callable[[str], Trace | Sequence[Diagnostic]]) -> bool:
    """Whether an edit that the rule offers leaves fewer of its instances broken or not shown."""
    offered = [(one.span.source, edit) for one in outcome.verdicts for edit in one.repairs]
    for source, edit in offered:
        trace = reviewer(edited(source, [edit]).text)
        if not isinstance(trace, Sequence):
            after = program.review_rule(outcome.rule.slug, trace)
            if after.broken + after.unshown < outcome.broken + outcome.unshown:
                return True
    return False


def _tried(
    example: Example,
    book: Rulebook,
    program: Program,
    shelf: Shelf,
    reviewer: Callable[[str], Trace | Sequence[Diagnostic]],
) -> tuple[str, Outcome | None]:
    rule = book.rule(example.rule)
    if rule is None:
        return f"no rule `{example.rule}` is in the book", None
    plan = example_text(example, rule.book, shelf)
    if isinstance(plan, str):
        return plan, None
    trace = reviewer(plan.text)
    if isinstance(trace, Sequence):
        said = "; ".join(f"{_at(problem.span)}{problem.message}" for problem in trace)
        return f"its plan cannot be read: {said or 'no reason given'}", None
    outcome = program.review_rule(example.rule, trace)
    return judge(example.sort, plan.marked, outcome), outcome


def judge(sort: str, marked: tuple[int, ...], outcome: Outcome) -> str:
    """How an outcome differs from what an example of that kind promises; empty if it does not."""
    counts = (
        f"{outcome.met} met, {outcome.broken} broken, {outcome.unshown} not shown, "
        f"{outcome.not_applicable} not applicable"
    )
    worst = outcome.truth
    if sort == "exempts":
        return "" if worst is None else f"the rule should not apply: {counts}{_first(outcome)}"
    if sort in ("passes", "nearmiss"):
        if worst is None:
            return f"the rule never applies to this plan, so that nothing passes: {counts}"
        return "" if worst is Truth.TRUE else f"the rule should be met: {counts}{_first(outcome)}"
    wanted = Truth.UNKNOWN if sort == "unshown" else Truth.FALSE
    if worst is not wanted:
        word = "not shown" if sort == "unshown" else "broken"
        return f"the rule should be {word}: {counts}{_first(outcome)}"
    if marked:
        found = {one.span.line for one in outcome.verdicts if one.truth is wanted}
        if found != set(marked):
            source = outcome.verdicts[0].span.source
            stray, bare = (
                ", ".join(f"`{source.line_text(line).strip()}`" for line in sorted(lines))
                for lines in (found - set(marked), set(marked) - found)
            )
            return "; ".join([f"a finding falls on {stray}"] * bool(stray) + [f"none falls on {bare}"] * bool(bare))
    return ""


KINDS = ("passes", "nearmiss", "fails", "unshown")
"""Kinds of example that every stable rule has, or says why it can have none of."""


def steps_with_happenings(rule: Rule, book: Rulebook, catalogue: Catalogue) -> Iterator[str]:
    """The kinds of step that a rule asks at or looks for, although happenings say what steps of that kind do."""
    asked: dict[str, None] = {} if rule.occasion.step is None else {rule.occasion.step: None}
    edge: list[core.Node] = list(rule.nodes())
    called: set[str] = set()
    while edge:
        node = edge.pop()
        if isinstance(node, core.Did):
            asked[node.step] = None
        elif isinstance(node, core.Call) and node.name not in called:
            called.add(node.name)
            edge.append(book.conditions[node.name].body)
        edge.extend(core.children(node))
    return (step for step in asked if catalogue.steps[step].happens)


def wanting(book: Rulebook, catalogue: Catalogue, own: bool = False) -> Iterator[tuple[Rule, str]]:
    """Stable rules that lack a kind of example, have a near miss that is not near to anything, or hang on the words of
    a step without a reason.

    With ``own``, only rules of the book's own files are looked at.
    """
    examples: dict[str, list[Example]] = {}
    for example in book.shelf().examples:
        examples.setdefault(example.rule, []).append(example)
    for rule in book.rules:
        if not rule.stable or (own and rule.book != book.head.name):
            continue
        mine = examples.get(rule.slug, [])
        has = {example.sort for example in mine} | {kind for kind, _ in rule.lacks}
        for kind in KINDS:
            if kind not in has:
                yield rule, f"has no example `{kind}`"
        hangs = [] if rule.words else list(steps_with_happenings(rule, book, catalogue))
        for step in hangs:
            happens = ", ".join(f"`{one}`" for one in catalogue.steps[step].happens)
            yield (
                rule,
                f"hangs on the step `{step}`, and the same can be done in other words; "
                f"ask at {happens}, or with `while`, or give the reason in a clause `words`",
            )
        missed = [example for example in mine if example.sort in ("fails", "unshown")]
        for example in mine:
            if example.sort == "nearmiss" and not any(is_near(example, other) for other in missed):
                yield (
                    rule,
                    (
                        f"the near miss at line {example.line} differs in more than one respect "
                        "from each example that fails or is not shown"
                    ),
                )


def is_near(one: Example, other: Example) -> bool:
    """Whether two examples differ in a single respect.

    One line is put in, left out, moved, or replaced by another of the same kind; a line of the base plan that is taken
    out, with what stands for it, is one respect too.
    """
    if one.base != other.base:
        return False
    taken = {text for marker, text in one.lines if marker == "-"} ^ {t for marker, t in other.lines if marker == "-"}
    mine, others = _cut(_plain(one), _plain(other))
    if len(taken) > 1:
        return False
    if not mine and not others:
        return bool(taken)
    if taken:
        return len(mine) + len(others) == 1
    if len(mine) <= 1 and len(others) <= 1:
        return not mine or not others or _kind(mine[0]) == _kind(others[0])
    return mine[1:] + mine[:1] == others or mine[-1:] + mine[:-1] == others


def _plain(example: Example) -> list[str]:
    return [" ".join(text.split()) for marker, text in example.lines if marker != "-"]


def _kind(line: str) -> str:
    """The first word of a statement, its number left out."""
    words = [word for word in line.split()[:2] if not word.endswith(".")]
    return words[0] if words else ""


def _cut(one: list[str], other: list[str]) -> tuple[list[str], list[str]]:
    """Two lists without the lines that both begin with, and those that both end with."""
    start = 0
    while start < min(len(one), len(other)) and one[start] == other[start]:
        start += 1
    one, other = one[start:], other[start:]
    while one and other and one[-1] == other[-1]:
        one, other = one[:-1], other[:-1]
    return one, other


def _first(outcome: Outcome) -> str:
    if not outcome.verdicts:
        return ""
    worst = min(outcome.verdicts, key=lambda verdict: verdict.truth)
    return f"; {_at(worst.span)}{worst.message}"


def _at(span: Span) -> str:
    """Where a span begins, by the words of its line: who wrote an example sees no numbers of the plan that it makes
    with its base."""
    text = span.source.line_text(span.line).strip()
    return f"at `{text}`: " if text else ""
