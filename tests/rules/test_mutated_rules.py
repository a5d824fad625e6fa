"""Rules with one thing wrong, held against their own examples: nearly every such change makes one come out otherwise.

A mutant drops a condition, swaps `and` and `or`, loosens or turns a comparison, takes a negation or a past operator
away, asks of some instead of each, or leaves out the trigger. One that changes no example's outcome is a condition that
no example holds in place.
"""

from __future__ import annotations

from collections.abc import Iterator
from functools import cache
from typing import NamedTuple

import pytest

from groundlint.facts import CATALOGUE, PlanTrace
from groundlint.review import trace_of
from groundlint.rulebook import core
from groundlint.rulebook.core import Formula
from groundlint.rulebook.evaluate import Program
from groundlint.rulebook.examples import ExampleText, example_text
from groundlint.rulebook.load import available, load_book, shipped
from groundlint.rulebook.model import Rule, Rulebook
from groundlint.values import Truth

BOOKS = available([shipped()])
LEAST_KILLED = 0.95
LEAST_MUTANTS = 900

SAME: dict[str, tuple[str, ...]] = {
    "the step asked at is of another kind than the step sought, so that it cannot be that step itself": (
        "briefing-opens-the-job | require 1: `previously` dropped",
        "detector-reaches-lowest-feed | require 1: `previously` dropped",
        "hold-before-first-touch | where 2: `previously` dropped",
        "holder-releases | where 1: `previously` dropped",
        "lifted-ground-restored | require 1: `previously` dropped",
        "reclosing-blocked | require 1: `previously` dropped",
        "reenergize-last | where 1: `previously` dropped",
        "replanned-means-rebriefed | where 2: `previously` dropped",
        "rod-barricaded | require 1: `previously` dropped",
        "stop-after-shock | where 2: `previously` dropped",
        "test-after-clearance | require 1: `previously` dropped",
    ),
    "whoever reaches something, or is on the structure, is in place": (
        "at-the-line | part 1 of `and` dropped",
        "beside-neighbour | part 1 of `and` dropped",
        "crew-clear-of-lifted-ground | require 1: `where` of `each` dropped",
        "enter-after-zone-complete | require 1: part 1 of `and` dropped",
        "leave-before-removal | require 1: `where` of `each` dropped",
        "line-in-reach | part 1 of `and` dropped",
        "near-live-part | part 1 of `and` dropped",
        "no-work-while-ground-lifted | require 1: `where` of `each` dropped",
        "splice-from-a-safe-stand | require 1: part 1 of `and` dropped",
    ),
    "taking up a place joins, covers and puts on nothing, so that before and after it are the same": (
        "approach-distance-kept | require 1: `after` dropped",
        "approach-distance-kept | require 2: `after` dropped",
        "boom-vehicle-own-rod | require 1: `after` dropped",
        "downed-conductor-treated-live | require 1: `after` dropped",
        "energized-neighbour-covered | require 1: `after` dropped",
        "uninsulated-vehicle-bonded | require 1: `after` dropped",
        "vehicle-bonded-or-barricaded | require 1: `after` dropped",
    ),
    "what is so right after the step that completes the ground is so at one position of the plan, which is asked too": (
        "electrode-preferred-order | require 1: `after` dropped",
        "electrode-preferred-order | require 1: part 1 of `or` dropped",
        "neutral-included | require 1: `after` dropped",
        "neutral-included | require 1: part 1 of `or` dropped",
        "shield-wire-included | require 1: `after` dropped",
        "shield-wire-included | require 1: part 1 of `or` dropped",
    ),
    "the part left out follows from another": (
        "bar-below-feet | require 1: `where` of `some` dropped",  # of a person: at the person's structure
        "bar-to-neutral | part 1 of `and` dropped",  # a lead with a second point is on with both ends
        "bar-to-phase | part 1 of `and` dropped",
        "bond-across-opening | where 1: part 1 of `and` dropped",  # `did enter person` is an enter
        "clamped-beside | part 1 of `and` dropped",  # `did attach to other` is an attach
        "cleared-within-rated-time | require 1: part 1 of `and` dropped",  # no time at all is not short enough
        "comes-into-reach | part 1 of `and` dropped",  # nothing else puts a thing in reach
        "ganged-leads-match | where 1 dropped",  # side by side after the step: on, and the point taken
        "ganged-leads-match | where 2 dropped",
        "holder-releases | where 1 dropped",  # a release that nothing was received before does not fit the plan itself
        "open-point-tagged | require 2: `implies` made `and`",  # a source without an open point is not open
        "open-point-tagged | require 2: what implies dropped",
        "reclosing-blocked | require 1: part 1 of `or` dropped",  # not able to reclose is safe from reclosing
        "reclosing-blocked | require 1: part 2 of `or` dropped",
        "separate-grounds-bonded | require 1: `where` of `some` dropped",  # joined here is at this structure
        "separate-grounds-bonded | where 1: part 1 of `and` dropped",  # a rod that has a structure is set
        "site-facts-given | require 3 dropped",  # where no time is stated, whether it ever clears is not known either
    ),
    "there is one thing of the kind, or all of them are one piece of metal": (
        "boom-vehicle-own-rod | require 1: `some` swapped",
        "bucket-same-zone | require 1: `each` swapped",
        "bucket-same-zone | require 1: part 2 of `and` dropped",
        "bucket-same-zone | require 2: `each` swapped",
        "one-place-at-a-time | require 1: `each` swapped",
        "rods-joined-before-phases | require 1: `some` swapped",
        "separate-grounds-bonded | require 1: `some` swapped",
        "zone-kept-on-move | require 2: `each` swapped",
    ),
    "a computed value is not equal to its limit to nine figures": (
        "clamp-carries-duty | require 1: `<=` made `<`",
        "clears-with-grounds-on | require 1: `>=` made `>`",
        "first-peak-within-test | require 1: `<=` made `<`",
        "induced-current-within-limit | require 1: `<=` made `<`",
        "lead-carries-duty | require 1: `<=` made `<`",
        "rod-not-only-return | require 1: `>=` made `>`",
        "step-potential-kept-away | require 1: `>=` made `>`",
        "within-limit | `<=` made `<`",
    ),
    "the book's setting chooses one limit of four, and the parts for the others are idle": (
        "within-limit | `<=` made `>=`",
        "within-limit | `=` made `!=`",
        "within-limit | `implies` made `and`",
        "within-limit | part 2 of `and` dropped",
        "within-limit | part 3 of `and` dropped",
        "within-limit | part 4 of `and` dropped",
        "within-limit | what implies dropped",
    ),
}
"""Mutants that mean the same as their rule, so that no plan could tell them apart, by the reason."""

UNTOLD: dict[str, tuple[str, ...]] = {
    "no base plan is of a line of exactly 600 V": (
        "lifted-by-stick | require 1: `<=` made `<`",
        "lifted-by-stick | require 2: `>` made `>=`",
        "line-end-by-stick | require 1: `<=` made `<`",
        "off-by-stick | require 1: `<=` made `<`",
        "proof-on-live-part | where 1: `<=` made `<`",
        "test-by-stick | where 1: `>` made `>=`",
    ),
    "the examples are of one way of grounding, or of none": (
        "clears-with-grounds-on | require 1: `after` dropped",
        "clears-with-grounds-on | require 1: part 2 of `or` dropped",
        "clears-with-grounds-on | where 1: part 2 of `and` dropped",
        "clears-with-grounds-on | where 2 dropped",
        "clears-with-grounds-on | where 2: `after` dropped",
        "rod-not-only-return | require 1: `after` dropped",
        "rod-not-only-return | where 1: part 2 of `and` dropped",
        "rod-not-only-return | where 2: `after` dropped",
        "rods-alone | `and` swapped",
        "rods-alone | `each` swapped",
        "rods-alone | part 1 of `and` dropped",
        "rods-alone | part 2 of `and` dropped",
    ),
    "no example stands exactly on the line of the table": (
        "duration-in-table | require 1: `<=` made `<`",
        "grade-fits-asymmetry | require 1: `<=` made `<`",
        "grade-fits-asymmetry | require 1: part 2 of `and` dropped",
    ),
    "the examples have one bar that matters, at the structure that is asked of": (
        "bar-below-feet | require 1: `after` dropped",
        "bar-to-neutral | `=` made `!=`",
        "bar-to-neutral | `where` of `some` dropped",
        "bar-to-phase | `where` of `some` dropped",
        "small-neutral-alternative | where 2: `or` swapped",
        "small-neutral-alternative | where 2: part 1 of `or` dropped",
        "small-neutral-alternative | where 2: part 2 of `or` dropped",
    ),
    "a shape in several parts, of which the examples need one": (
        "detector-proven-after | where 2: `since` dropped, its beginning kept",
        "detector-reaches-lowest-feed | where 2 dropped",
        "lifted-ground-restored | require 1: part 2 of `or` dropped",
        "neutral-included | require 1: part 1 of `and` dropped",
        "reclosing-blocked | require 1: `since` dropped, its beginning kept",
        "reclosing-blocked | require 1: `since` dropped, what held kept",
        "shield-wire-included | require 1: part 1 of `and` dropped",
    ),
    "the examples have one person, one neighbour or one source where the condition looks over several": (
        "approach-distance-kept | require 2: part 1 of `or` dropped",
        "approach-distance-kept | require 3: `where` of `each` dropped",
        "approach-distance-kept | require 3: part 1 of `or` dropped",
        "automatic-switch-disabled | require 1: `each` swapped",
        "beside-neighbour | part 2 of `or` dropped",
        "beside-neighbour | part 3 of `or` dropped",
        "comes-into-reach | `each` swapped",
        "comes-into-reach | part 3 of `and` dropped",
        "near-live-part | part 2 of `or` dropped",
        "near-live-part | part 3 of `or` dropped",
        "off-by-stick | where 1: part 1 of `and` dropped",
        "zone-kept-through-every-step | where 1: part 2 of `or` dropped",
        "zone-kept-through-every-step | where 1: part 4 of `or` dropped",
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


@cache
def trace(text: str) -> PlanTrace:
    found = trace_of(text)
    assert isinstance(found, PlanTrace), found
    return found


def outcomes(rule: Rule, conditions: dict[str, core.Condition], of: Rulebook, texts: list[str]) -> Iterator[object]:
    """What a rule says of each plan: its outcome, the lines and messages of what is not met, and whether any is met."""
    only = Rulebook(of.head, (rule,), conditions, of.settings, {}, (), b"")
    program = Program(only, CATALOGUE)
    for text in texts:
        try:
            outcome = program.review_rule(rule.slug, trace(text))
        except Exception as error:  # a mutant may ask of a thing that is not there; it is seen then
            yield type(error).__name__
            continue
        lines = sorted(
            (int(v.truth), v.span.line, v.message if v.truth is Truth.FALSE else "") for v in outcome.verdicts
        )
        yield outcome.truth, lines, outcome.met > 0


class Tally(NamedTuple):
    """How many mutants some example tells from the rule, and those that none does."""

    killed: int
    alive: tuple[tuple[str, str], ...]


def told(rule: Rule, mutant: Mutant, of: Rulebook) -> bool:
    """Whether an example of the rule comes out otherwise."""
    texts = texts_of(rule, of)
    one, other = outcomes(mutant.rule, mutant.conditions, of, texts), outcomes(rule, dict(of.conditions), of, texts)
    return any(left != right for left, right in zip(one, other, strict=True))


def texts_of(rule: Rule, of: Rulebook) -> list[str]:
    """The plans of a rule's examples."""
    shelf = of.shelf()
    plans = [example_text(example, rule.book, shelf) for example in shelf.examples if example.rule == rule.slug]
    assert all(isinstance(plan, ExampleText) for plan in plans)
    return [plan.text for plan in plans if isinstance(plan, ExampleText)]


def tally(name: str) -> Tally:
    """The mutants of a book's own rules, and of the conditions that these call; those told by any rule that calls."""
    of, killed, alive = book(name), 0, []
    own = [rule for rule in of.rules if rule.book == name]
    for rule in own:
        for mutant in mutants(rule, of):
            if told(rule, mutant, of):
                killed += 1
            else:
                alive.append((rule.slug, mutant.what))
    callers = {rule: core.needs(rule.nodes(), of.conditions)[1] for rule in own}
    for called in sorted({called for named in callers.values() for called in named}):
        condition = of.conditions[called]
        for what, formula in changed(condition.body):
            conditions = {**of.conditions, called: condition._replace(body=formula)}
            users = [rule for rule, named in callers.items() if called in named]
            if any(told(rule, Mutant(rule, conditions, what), of) for rule in users):
                killed += 1
            else:
                alive.append((called, what))
    return Tally(killed, tuple(alive))


@pytest.mark.slow
def test_examples_tell_a_rule_from_nearly_every_mutant_of_it(capsys: pytest.CaptureFixture[str]) -> None:
    tallies = [tally(name) for name in BOOKS]
    killed = sum(found.killed for found in tallies)
    alive = [key for found in tallies for key in found.alive]
    same, untold = ({key for keys in listed.values() for key in keys} for listed in (SAME, UNTOLD))
    left = [" | ".join(key) for key in alive]
    unlike = killed + sum(key not in same for key in left)
    with capsys.disabled():
        print(
            f"\n{killed + len(alive)} mutants of rules: {killed + len(alive) - unlike} mean the same as their rule; "
            f"of the other {unlike}, {killed} are told from it by an example ({killed / unlike:.1%})"
        )
    found = set(left)
    assert found - same - untold == set(), "told by no example: add one, or list it with the reason"
    assert (same | untold) - found == set(), "told by now: take it out of the list"
    assert killed / unlike >= LEAST_KILLED
    assert killed + len(alive) >= LEAST_MUTANTS


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
