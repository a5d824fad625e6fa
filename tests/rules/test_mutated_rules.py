"""Rules with one thing wrong, held against their own examples: nearly every such change makes one come out otherwise.

A mutant drops a condition, swaps `and` and `or`, loosens or turns a comparison, takes a negation or a past operator
away, asks of some instead of each, or leaves out the trigger. One that changes no example's outcome is a condition that
no example holds in place.
"""

from __future__ import annotations

from collections.abc import Callable, Iterator
from functools import cache
from typing import NamedTuple

import pytest
from crowd import on_every_core

from groundlint.facts import CATALOGUE, PlanTrace
from groundlint.review import trace_of
from groundlint.rulebook import core
from groundlint.rulebook.core import Formula
from groundlint.rulebook.evaluate import Program
from groundlint.rulebook.examples import ExampleText, example_text
from groundlint.rulebook.load import available, load_book
from groundlint.rulebook.model import Rule, Rulebook
from groundlint.rulebook.shipped import shipped
from groundlint.values import Truth

BOOKS = available([shipped()])
LEAST_KILLED = 0.95
"""Share of all mutants, those that mean the same as their rule among them."""

SAME: dict[str, tuple[str, ...]] = {
    "phases that are joined at a place are grounded all together, and along a line that is whole, everywhere": (
        "declared-protection-has-steps | require 1: `each` swapped",
        "declared-protection-has-steps | require 1: `where` of `each` dropped",
        "declared-protection-has-steps | require 1: `=` made `!=`",
    ),
    # `once A` at a step is `A or previously (once A)`, and A names another kind of step than the rule is asked at
    "the step asked at is of another kind than the step sought, so that it cannot be that step itself": (
        "briefed-again-after-a-pause | where 1: `previously` dropped",
        "briefing-opens-the-job | require 1: `previously` dropped",
        "detector-reaches-lowest-feed | require 1: `previously` dropped",
        "detector-reaches-lowest-feed | where 3: `previously` dropped",
        "hands-off-after-release | where 2: `previously` dropped",
        "hold-before-first-touch | where 2: `previously` dropped",
        "holder-releases | where 1: `previously` dropped",
        "holder-transfers | where 1: `previously` dropped",
        "lifted-ground-restored | require 1: `previously` dropped",
        "reenergize-last | where 1: `previously` dropped",
        "replanned-means-rebriefed | where 2: `previously` dropped",
        "rod-barricaded | require 1: `previously` dropped",
        "stop-after-shock | where 2: `previously` dropped",
        "test-after-clearance | require 1: `previously` dropped",
        "tested-under-clearance | `previously` dropped",
    ),
    "a rod, a bar, a vehicle or a neighbour is one point and no more, so that some point of it is each point of it": (
        "at-its-cover | `some` swapped",
        "boom-vehicle-own-rod | require 1: `some` swapped",
        "in-use | `some` swapped",
        "rods-joined-before-phases | require 1: `some` swapped",
        "separate-grounds-bonded | require 1: `some` swapped",
    ),
    "a rod's barricade is up right after the step that puts it up, so that this step cannot break the rule": (
        "rod-stays-barricaded | where 2: `previously` dropped",
    ),
    "a point of a conductor is at one structure, so that some structure that it is at is each": (
        "detector-reaches-lowest-feed | where 3: `some` swapped",
        "test-after-clearance | require 1: `some` swapped",
    ),
    "what is on a point is on; it is asked first so that the points are asked at such steps alone": (
        "lead-length-limit | where 2: part 1 of `and` dropped",
        "lead-length-limit | where 3: part 1 of `and` dropped",
    ),
    "the replay says of the plan that what is done with a clearance that nobody received cannot be done": (
        "holder-releases | where 1 dropped",
        "holder-transfers | where 1 dropped",
    ),
    "whatever leaves a part bare beside somebody is a step that is asked at, and what stays so is said once": (
        "energized-neighbour-covered | where 1 dropped",
    ),
    "two demands together ask what one would, in two messages": (
        "cleared-within-rated-time | require 2: part 1 of `or` dropped",
        "cut-off-while-handled | require 1: `each` swapped",
        "holder-releases | require 2: part 2 of `or` dropped",
        "holder-transfers | require 2: part 2 of `or` dropped",
        "work-from-stated-place | require 2: `once` dropped",
    ),
    "the book sets one limit of the five, and what is asked under the others is never asked": (
        "within-limit | `<=` made `>=`",
        "within-limit | `=` made `!=`",
        "within-limit | `implies` made `and`",
        "within-limit | part 2 of `and` dropped",
        "within-limit | part 3 of `and` dropped",
        "within-limit | part 4 of `and` dropped",
        "within-limit | part 5 of `and` dropped",
        "within-limit | what implies dropped",
    ),
}
"""Mutants that mean the same as their rule, so that no plan could tell them apart, by the reason."""

UNSTATED: dict[str, tuple[str, ...]] = {
    "an example would need a value that comes out at its limit to nine figures": (
        "clamp-carries-duty | require 1: `<=` made `<`",
        "clears-with-grounds-on | require 1: `>=` made `>`",
        "clears-with-grounds-on | require 1: `<=` made `<`",
        "first-peak-within-test | require 1: `<=` made `<`",
        "induced-current-within-limit | require 1: `<=` made `<`",
        "lead-carries-duty | require 1: `<=` made `<`",
        "open-point-in-reach-bridged | require 1: `>=` made `>`",
        "rod-not-only-return | require 1: `>=` made `>`",
        "step-potential-kept-away | require 1: `>=` made `>`",
        "within-limit | `<=` made `<`",
    ),
    "an example would need a base plan of its own for a line at the very voltage of the limit": (
        "gloves-for-the-voltage | require 1: `<=` made `<`",
        "gloves-rated-and-tested | require 1: `<=` made `<`",
        "gloves-where-no-stick | require 2: `<=` made `<`",
        "gloves-where-no-stick | require 3: `<=` made `<`",
        "two-at-the-work | where 2: `>` made `>=`",
    ),
    "who is joined to one is joined to the others; an example would need a lead that may be on either of two": (
        "bucket-same-zone | require 1: `each` swapped",
        "bucket-same-zone | require 2: `each` swapped",
    ),
    "an example would need a switch with two sources behind it, and no fewer if the plan says less": (
        "automatic-switch-disabled | require 1: `each` swapped",
        "held-by-another | `each` swapped",
    ),
}
"""Mutants that a plan could tell from their rule and no example does, by what the examples lack."""

LOOSER = {"<=": "<", ">=": ">", "<": "<=", ">": ">=", "=": "!=", "!=": "="}
"""A comparison and the one next to it."""
TURNED = {"<=": ">=", ">=": "<=", "<": ">", ">": "<"}
"""An ordering turned round."""


class Mutant(NamedTuple):
    """A rule or a condition with one thing changed; ``what`` says which."""

    rule: Rule
    conditions: dict[str, core.Condition]
    what: str


@cache
def book(name: str) -> Rulebook:
    found, problems = load_book([shipped()], name, CATALOGUE)
    assert found is not None
    assert not problems
    return found


def changed(node: Formula) -> Iterator[tuple[str, Formula]]:
    """Every formula that differs from this one in a single place, with what was changed."""
    match node:
        case core.And() | core.Or():
            word = "and" if isinstance(node, core.And) else "or"
            for at in range(len(node.parts)):
                rest = node.parts[:at] + node.parts[at + 1 :]
                yield f"part {at + 1} of `{word}` dropped", rest[0] if len(rest) == 1 else node._replace(parts=rest)
            yield f"`{word}` swapped", core.Or(node.parts) if isinstance(node, core.And) else core.And(node.parts)
            for at, part in enumerate(node.parts):
                for what, other in changed(part):
                    yield what, node._replace(parts=(*node.parts[:at], other, *node.parts[at + 1 :]))
        case core.Implies():
            yield "what implies dropped", node.right
            yield "`implies` made `and`", core.And((node.left, node.right))
            yield from ((what, node._replace(left=other)) for what, other in changed(node.left))
            yield from ((what, node._replace(right=other)) for what, other in changed(node.right))
        case core.Since():
            yield "`since` dropped, its beginning kept", core.Once(node.right)
            yield "`since` dropped, what held kept", node.left
            yield from ((what, node._replace(left=other)) for what, other in changed(node.left))
            yield from ((what, node._replace(right=other)) for what, other in changed(node.right))
        case core.Not():
            yield "`not` dropped", node.of
            yield from ((what, core.Not(other)) for what, other in changed(node.of))
        case core.Previously() | core.Once() | core.Always() | core.After() | core.Finally():
            if not isinstance(node, core.Finally):  # what stands below may need the names bound before the end
                yield f"`{node.op}` dropped", node.of
            yield from ((what, node._replace(of=other)) for what, other in changed(node.of))
        case core.Each() | core.Some():
            if node.where is not None:
                yield f"`where` of `{node.op}` dropped", node._replace(where=None)
                yield from ((what, node._replace(where=other)) for what, other in changed(node.where))
            other_kind = core.Some if isinstance(node, core.Each) else core.Each
            yield f"`{node.op}` swapped", other_kind(node.name, node.kind, node.where, node.body)
            yield from ((what, node._replace(body=other)) for what, other in changed(node.body))
        case core.Compare():
            yield f"`{node.sign}` made `{LOOSER[node.sign]}`", node._replace(sign=LOOSER[node.sign])
            if node.sign in TURNED:
                yield f"`{node.sign}` made `{TURNED[node.sign]}`", node._replace(sign=TURNED[node.sign])
        case _:
            return


def top(node: Formula) -> tuple[Formula, ...]:
    """The conditions of a trigger: each `where` and `unless` of the rule."""
    return node.parts if isinstance(node, core.And) else (node,)


def mutants(rule: Rule, of: Rulebook) -> Iterator[Mutant]:
    """Every mutant of a rule's own conditions."""
    conditions = dict(of.conditions)
    for at, demand in enumerate(rule.demands):
        others = rule.demands[:at] + rule.demands[at + 1 :]
        if others:
            yield Mutant(rule._replace(demands=others), conditions, f"require {at + 1} dropped")
        for what, formula in changed(demand.condition):
            demands = (*rule.demands[:at], demand._replace(condition=formula), *rule.demands[at + 1 :])
            yield Mutant(rule._replace(demands=demands), conditions, f"require {at + 1}: {what}")
    if rule.trigger is not None:
        parts = top(rule.trigger)
        for at in range(len(parts)):
            rest = parts[:at] + parts[at + 1 :]
            trigger = core.conjunction(rest) if rest else None
            yield Mutant(rule._replace(trigger=trigger), conditions, f"where {at + 1} dropped")
            for what, formula in changed(parts[at]):
                trigger = core.conjunction((*parts[:at], formula, *parts[at + 1 :]))
                yield Mutant(rule._replace(trigger=trigger), conditions, f"where {at + 1}: {what}")


def outcomes(
    rule: Rule, conditions: dict[str, core.Condition], of: Rulebook, traces: list[PlanTrace]
) -> Iterator[object]:
    """What a rule says of each plan: its outcome, the lines and messages of what is not met, and whether any is met."""
    only = Rulebook(of.head, (rule,), conditions, of.settings, {}, (), {}, b"")
    program = Program(only, CATALOGUE)
    for trace in traces:
        try:
            outcome = program.review_rule(rule.slug, trace)
        except Exception as error:  # a mutant may ask of a thing that is not there; it is seen then
            yield type(error).__name__
            continue
        lines = sorted(
            (int(v.truth), v.span.line, v.message if v.truth is Truth.FALSE else "") for v in outcome.verdicts
        )
        yield outcome.truth, lines, outcome.met > 0


def traces_of(rule: Rule, of: Rulebook) -> list[PlanTrace]:
    """The plans of a rule's examples, carried out."""
    shelf = of.shelf()
    plans = [example_text(example, rule.book, shelf) for example in shelf.examples if example.rule == rule.slug]
    assert all(isinstance(plan, ExampleText) for plan in plans)
    traces = [trace_of(plan.text) for plan in plans if isinstance(plan, ExampleText)]
    assert all(isinstance(trace, PlanTrace) for trace in traces)
    return [trace for trace in traces if isinstance(trace, PlanTrace)]


Seen = tuple[str, int, str, bool]
"""The rule or condition that was changed, the number of the change, how, and whether an example comes out otherwise."""


def tally(job: tuple[str, str]) -> list[Seen]:
    """The mutants of a rule of a book, and of the conditions that it calls. Its examples are carried out, and held
    against it, once."""
    name, slug = job
    of = book(name)
    (rule,) = (rule for rule in of.rules if rule.slug == slug)
    traces = traces_of(rule, of)
    as_it_is = list(outcomes(rule, dict(of.conditions), of, traces))

    def reported(mutant: Mutant) -> bool:
        found = outcomes(mutant.rule, mutant.conditions, of, traces)
        return any(one != other for one, other in zip(found, as_it_is, strict=True))

    seen = [(slug, at, mutant.what, reported(mutant)) for at, mutant in enumerate(mutants(rule, of))]
    for called in sorted(core.needs(rule.nodes(), of.conditions)[1]):
        condition = of.conditions[called]
        for at, (what, formula) in enumerate(changed(condition.body)):
            conditions = {**of.conditions, called: condition._replace(body=formula)}
            seen.append((called, at, what, reported(Mutant(rule, conditions, what))))
    return seen


@pytest.mark.slow
def test_examples_tell_a_rule_from_nearly_every_mutant_of_it(report: Callable[[str], None]) -> None:
    jobs = [(name, rule.slug) for name in BOOKS for rule in book(name).rules if rule.book == name]
    seen: dict[tuple[str, str, int, str], bool] = {}
    for (name, _slug), found in zip(jobs, on_every_core(tally, jobs, chunk=1), strict=True):
        for (
            what,
            at,
            how,
            reported,
        ) in found:  # a condition's mutant counts once a book, reported by any rule that calls it
            seen[name, what, at, how] = seen.get((name, what, at, how), False) or reported
    same, unstated = ({key for keys in listed.values() for key in keys} for listed in (SAME, UNSTATED))
    left = [f"{what} | {how}" for (_name, what, _at, how), reported in seen.items() if not reported]
    every = len(seen)
    killed = every - len(left)
    alike = sum(key in same for key in left)
    report(
        f"{every} mutants of rules: {killed} are seen by an example ({killed / every:.1%}), "
        f"{every - killed - alike} by none, and {alike} mean the same as their rule"
    )
    found = set(left)
    assert found - same - unstated == set(), "seen by no example: add one, or list it with the reason"
    assert (same | unstated) - found == set(), "seen by now: take it out of the list"
    assert killed / every >= LEAST_KILLED
    assert every > len(jobs)


def test_a_mutant_differs_from_its_rule_in_one_place() -> None:
    a, b = (core.Is(("grounded", "point", None), core.Var(name, "point")) for name in "ab")
    said = dict(changed(core.And((a, core.Not(b)))))
    assert said == {
        "part 1 of `and` dropped": core.Not(b),
        "part 2 of `and` dropped": a,
        "`and` swapped": core.Or((a, core.Not(b))),
        "`not` dropped": core.And((a, b)),
    }
    assert dict(changed(core.Since(a, b))) == {
        "`since` dropped, its beginning kept": core.Once(b),
        "`since` dropped, what held kept": a,
    }
