"""The fast evaluator against one written from the definitions, on random conditions and random traces."""

from __future__ import annotations

from collections.abc import Callable
from random import Random

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from naive_evaluator import Naive
from random_rules import CONDITIONS, SETTINGS, STATE_ONLY, Maker, random_trace, refined
from toy_catalogue import TOY

from groundlint.facts.catalogue import Event
from groundlint.rulebook import core
from groundlint.rulebook.check import Checker, Scope, Signature
from groundlint.rulebook.compile import Compiler, Run
from groundlint.rulebook.evaluate import Program
from groundlint.rulebook.explain import Explainer
from groundlint.rulebook.grammar import parse_text
from groundlint.rulebook.model import Demand, Head, Occasion, Rule, Rulebook, SlotName
from groundlint.rulebook.render import render
from groundlint.text import Severity, Source
from groundlint.values import Truth

SEEDS = st.integers(0, 2**32)
SCOPE = {"l": "lead", "p": "point", "s": "source"}
BINDINGS = ({"l": "G1", "p": "A", "s": "W"}, {"l": "G2", "p": "R1", "s": "E"})


def signature(name: str) -> Signature | None:
    condition = CONDITIONS.get(name)
    return None if condition is None else Signature(condition.parameters, name in STATE_ONLY)


@settings(max_examples=200, deadline=None)
@given(SEEDS, SEEDS)
def test_fast_and_naive_evaluators_agree_everywhere(rule_seed: int, plan_seed: int) -> None:
    formula = Maker(Random(rule_seed)).formula(4, SCOPE)
    trace = random_trace(Random(plan_seed), Random(plan_seed).choice([0.5, 0.8, 1.0]))
    compiler = Compiler(TOY, SETTINGS, CONDITIONS)
    test, naive = compiler.test(formula), Naive(trace, SETTINGS, CONDITIONS)
    run = Run(trace, compiler)
    for binding in BINDINGS:
        for at in Random(rule_seed ^ plan_seed).sample(range(trace.n + 1), trace.n + 1):
            assert test(run, at, dict(binding)) == naive.truth(formula, at, dict(binding)), render(formula, TOY)


@settings(max_examples=200, deadline=None)
@given(SEEDS, SEEDS)
def test_filling_a_gap_never_turns_a_verdict_round(rule_seed: int, plan_seed: int) -> None:
    formula = Maker(Random(rule_seed)).formula(4, SCOPE)
    random = Random(plan_seed)
    sparse = random_trace(random, 0.6)
    full = refined(random, sparse)
    test = Compiler(TOY, SETTINGS, CONDITIONS)
    compiled = test.test(formula)
    before, after = Run(sparse, test), Run(full, test)
    for at in range(sparse.n + 1):
        known = compiled(before, at, dict(BINDINGS[0]))
        if known != 1:
            assert compiled(after, at, dict(BINDINGS[0])) == known, render(formula, TOY)


def test_the_two_tests_above_meet_every_truth_value() -> None:
    """Guards them: random conditions that were nearly always unknown would show nothing."""
    seen = {0: 0, 1: 0, 2: 0}
    for seed in range(300):
        formula, trace = Maker(Random(seed)).formula(4, SCOPE), random_trace(Random(seed), 0.8)
        compiler = Compiler(TOY, SETTINGS, CONDITIONS)
        seen[compiler.test(formula)(Run(trace, compiler), trace.n, dict(BINDINGS[0]))] += 1
    assert min(seen.values()) > 30, seen


@settings(max_examples=150, deadline=None)
@given(SEEDS)
def test_printed_core_reads_back_to_the_same_core(seed: int) -> None:
    formula = Maker(Random(seed)).formula(5, SCOPE)
    text = render(formula, TOY)
    source = Source("printed", text)
    tree, phrase = parse_text(source, source.span(0, len(text)), text, "condition")
    checker = Checker(TOY, SETTINGS, signature, lambda: tuple(CONDITIONS))
    assert checker.formula(tree, phrase, Scope(SCOPE)) == formula, text


@settings(max_examples=100, deadline=None)
@given(SEEDS, SEEDS)
def test_an_explanation_has_the_truth_of_what_it_explains_and_blames_gaps_only_for_unknowns(a: int, b: int) -> None:
    formula, trace = Maker(Random(a)).formula(4, SCOPE), random_trace(Random(b), 0.7)
    compiler = Compiler(TOY, SETTINGS, CONDITIONS)
    run = Run(trace, compiler)
    for at in range(trace.n + 1):
        why = Explainer(compiler, run).why(formula, at, dict(BINDINGS[0]))
        assert why.truth == compiler.test(formula)(run, at, dict(BINDINGS[0]))
        assert bool(why.gaps) == (why.truth is Truth.UNKNOWN), why.render()
        assert len(why.render().splitlines()) >= 1


OCCASIONS = (
    Occasion(None, False, (), ()),
    Occasion(None, True, (), (("l", "lead"),)),
    Occasion(None, False, (), (("l", "lead"), ("p", "point"))),
    Occasion("attach", False, (SlotName("lead", "l", "lead", False), SlotName("point", "p", "point", False)), ()),
    Occasion("attach", False, (SlotName("point", "p", "conductor", True), SlotName("stick", "k", "stick", False)), ()),
    Occasion("test", False, (SlotName("point", "p", "point", False),), (("s", "source"),)),
    Occasion("gains-way", False, (SlotName("point", "p", "conductor", True),), (("l", "lead"),)),
    Occasion(None, False, (), (), lasting=True),
    Occasion(None, False, (), (("p", "point"),), lasting=True),
)


@pytest.mark.parametrize("occasion", OCCASIONS)
def test_instances_and_verdicts_are_those_of_the_definition(
    occasion: Occasion, seeds: Callable[[int, int], range]
) -> None:
    scope = dict(occasion.things) | {slot.name: slot.kind for slot in occasion.slots}
    seen: set[int | None] = set()
    for seed in seeds(60, 150):
        random = Random(seed)
        maker = Maker(random)
        trigger = maker.formula(2, scope) if random.random() < 0.7 else None
        demands = tuple(Demand(maker.formula(3, scope), ("said",), "") for _ in range(random.randint(1, 2)))
        rule = Rule(
            "toy", "toy", Severity.DANGER, "Toy", ("none",), "published", "", occasion, trigger, demands, None, None,
            True, "toy.rule", 1,
        )  # fmt: skip
        book = Rulebook(Head("toy", "", "", "", ()), (rule,), CONDITIONS, SETTINGS, {}, (), {}, b"")
        trace = random_trace(random, 0.75)
        naive = Naive(trace, SETTINGS, CONDITIONS)
        expected = naive.verdicts(rule)
        (outcome,) = Program(book, TOY).review(trace)
        more = naive.open_kinds(rule)
        more = more if expected or occasion.step is None else 0
        if len({kind for _, kind in occasion.things}) == len(occasion.things):
            assert outcome.unshown == expected.count(1) + more
        assert outcome.met == expected.count(2)
        assert outcome.broken == expected.count(0)
        assert outcome.not_applicable == expected.count(None)
        assert sum(verdict.count for verdict in outcome.verdicts) == outcome.broken + outcome.unshown
        assert all((verdict.truth is Truth.UNKNOWN) == bool(verdict.gaps) for verdict in outcome.verdicts)
        seen.update(expected)
    assert seen == {0, 1, 2, None}


def test_an_event_is_compared_by_identity() -> None:
    source = Source("plan", "test A\n")
    one = Event("test", {}, source.span(0, 6))
    two = Event("test", {}, source.span(0, 6))
    assert one != two
    assert len({one, two}) == 2
    assert core.Previously(core.Did("test", ())) != core.Always(core.Did("test", ()))
