"""Rules on small plans, readable as a specification: which line, which verdict, which words."""

from __future__ import annotations

import math
import re
from pathlib import Path
from random import Random

import pytest
from book_folders import BASE, BOOK, sound, write_book
from toy_catalogue import TOY, TableTrace, TextTrace

from groundlint.facts.catalogue import Event
from groundlint.rulebook import core
from groundlint.rulebook.books import BOOK_CLAUSES
from groundlint.rulebook.check import Checker, Scope, Signature
from groundlint.rulebook.compile import Compiler, Run
from groundlint.rulebook.evaluate import Outcome, Program
from groundlint.rulebook.examples import judge, run_examples
from groundlint.rulebook.explain import Explainer
from groundlint.rulebook.grammar import parse_text
from groundlint.rulebook.load import load_book
from groundlint.rulebook.reference import TEMPLATES, language_page, rule_page
from groundlint.rulebook.rules import CLAUSES
from groundlint.text import Source
from groundlint.values import Bounds, Gap, Truth
from groundlint.words.quantities import between, quantity

HEAD = """\
rule toy-rule
  level    danger
  title    "Toy"
  cites    nothing
  known    from memory
  because  "of nothing"
"""
TAIL = """\
  passes
    | attach G1 to R1
  fails
    | attach G1 to A
"""


def review(folder: Path, clauses: str, plan: str) -> Outcome:
    """A rule of these clauses on the base plan with these lines."""
    # a line that goes on with a string stays deeper than the clause it belongs to
    lines = [line.strip() for line in clauses.strip().splitlines()]
    body = "".join(f"{'      ' if line.startswith(chr(34)) else '  '}{line}\n" for line in lines)
    write_book(folder, "toy", BOOK, {"toy": HEAD + body + TAIL})
    steps = "".join(f"{line.strip()}\n" for line in plan.strip().splitlines())
    (outcome,) = Program(sound(folder, "toy"), TOY).review(TextTrace(BASE + steps))
    return outcome


def shown(outcome: Outcome) -> list[str]:
    """Each verdict as ``line of the plan after the base: truth: message``."""
    base = BASE.count("\n")
    return [f"{v.span.line - base}: {v.truth.name.lower()}: {v.message}" for v in outcome.verdicts]


def test_at_a_step(tmp_path: Path) -> None:
    outcome = review(
        tmp_path,
        """at attach lead to point
           require point is grounded
           say "{lead} on {point}" """,
        """attach G1 to R1
           attach G1 to A
           attach G2 to A""",
    )
    assert shown(outcome) == ["2: false: G1 on A"]
    assert (outcome.met, outcome.truth) == (2, Truth.FALSE)


def test_a_message_names_what_is_surely_so(tmp_path: Path) -> None:
    outcome = review(
        tmp_path,
        """at test point
           require no lead: lead is on
           say "{names of lead where lead is on}, by {names of detector}, {names of lead where not (lead is on)}" """,
        """test A with D1
           attach G1 to R1
           attach G2 to A
           test A with D1""",
    )
    assert shown(outcome) == ["4: false: G1 and G2, by D1, some lead"]


def test_a_test_before_and_no_close_since(tmp_path: Path) -> None:
    outcome = review(
        tmp_path,
        """at attach lead to p conductor
           require (each s source: not did close s) since did test p
           say "{p} is not tested, or a source closed since" """,
        """attach G1 to A
           test A with D1
           attach G1 to A
           close W
           attach G2 to A
           test A with D1
           attach G2 to A""",
    )
    assert shown(outcome) == [
        "1: false: A is not tested, or a source closed since",
        "5: false: A is not tested, or a source closed since",
    ]
    assert outcome.met == 2
    assert [(span.line - BASE.count("\n"), words) for span, words in outcome.verdicts[1].related] == [(4, "close W")]


def test_an_open_set_is_never_shown_complete(tmp_path: Path) -> None:
    clauses = """at attach lead to p conductor
                 require each s source: earlier did open s
                 say "not every source is open" """
    plan = "open W\nattach G1 to A"
    assert shown(review(tmp_path, clauses, plan)) == []
    write_book(tmp_path, "toy", BOOK, {}, {"base": BASE.replace("no other source\n", "")})
    book = sound(tmp_path, "toy")
    outcome = Program(book, TOY).review(TextTrace(BASE.replace("no other source\n", "") + plan + "\n"))[0]
    assert outcome.unshown == 1
    assert outcome.verdicts[0].message == "not shown: the plan does not state that there is no other source"
    assert outcome.verdicts[0].gaps[0].write == "no other source"


def test_for_each_thing_of_an_open_set_one_more_is_not_shown(tmp_path: Path) -> None:
    review(tmp_path, 'for source\nrequire finally earlier did open source\nsay "{source} is not opened"', "open W")
    open_base = BASE.replace("no other source\n", "")
    (outcome,) = Program(sound(tmp_path, "toy"), TOY).review(TextTrace(open_base + "open W\n"))
    assert (outcome.met, outcome.broken, outcome.unshown) == (1, 0, 1)
    assert outcome.truth is Truth.UNKNOWN


def test_an_unstated_slot_is_a_gap_and_an_empty_one_is_no_occasion(tmp_path: Path) -> None:
    clauses = """at attach lead by stick
                 require lead is on
                 say "{lead} by {stick}" """
    plan = """attach G1 to R1 by hand
              attach G1 to A by H1
              attach G2 to A"""
    outcome = review(tmp_path, clauses, plan)
    assert shown(outcome) == ["3: unknown: not shown: the plan does not state the stick"]
    assert (outcome.met, outcome.not_applicable) == (1, 0)


def test_did_of_an_unstated_detector_is_not_shown(tmp_path: Path) -> None:
    clauses = """at attach lead to p conductor
                 for detector
                 require earlier did test p with detector
                 say "{p} is not tested with {detector}" """
    assert shown(review(tmp_path, clauses, "test A\nattach G1 to A")) == [
        "2: unknown: not shown: the plan does not state the detector of the test"
    ]
    assert shown(review(tmp_path, clauses, "test A with D2\nattach G1 to A")) == ["2: false: A is not tested with D1"]


def test_is_known_is_never_false_and_never_lets_silence_pass(tmp_path: Path) -> None:
    clauses = 'for lead\nrequire length of lead is known\nsay "{lead}"'
    assert shown(review(tmp_path, clauses, "lead G9")) == [
        "1: unknown: not shown: the plan does not state the length of lead G9"
    ]
    turned = 'for lead\nrequire not (length of lead is known)\nsay "{lead}"'
    assert [line.split(":")[1] for line in shown(review(tmp_path, turned, "lead G9"))] == [
        " false",
        " false",
        " unknown",
    ]


def test_every_step_merges_what_goes_on(tmp_path: Path) -> None:
    outcome = review(
        tmp_path,
        """at every step
           for lead
           where finally lead is on
           require lead is on
           say "{lead} is off" """,
        """test A with D1
           test A with D1
           attach G1 to R1
           test A with D1
           attach G2 to R1""",
    )
    assert shown(outcome) == ["1: false: G1 is off", "1: false: G2 is off"]
    assert [verdict.count for verdict in outcome.verdicts] == [3, 5]
    assert (outcome.met, outcome.broken) == (2, 8)


def test_a_mark_names_the_step_to_report_at(tmp_path: Path) -> None:
    clauses = """for lead
                 where once did attach lead
                 require length of lead < 5 ft
                 say "{lead}"
                 mark WHICH attach lead"""
    plan = "attach G1 to R1\nattach G1 to A\ntest A with D1"
    for which, line in (("first", 1), ("last", 2)):
        assert shown(review(tmp_path, clauses.replace("WHICH", which), plan)) == [f"{line}: false: G1"]


def test_after_asks_of_the_world_that_the_step_leaves(tmp_path: Path) -> None:
    clauses = 'at attach lead to point\nrequire after lead is joined-to point\nsay "{lead}"'
    assert shown(review(tmp_path, clauses, "attach G1 to R1\nattach G1 to A")) == []
    without = clauses.replace("after ", "")
    assert shown(review(tmp_path, without, "attach G1 to R1")) == ["1: false: G1"]


def test_each_require_speaks_for_itself(tmp_path: Path) -> None:
    clauses = """for lead
                 require length of lead is known
                 require length of lead < 22 ft
                 say "{lead} is long"
                 require lead is on
                 say "{lead} is not on" """
    assert shown(review(tmp_path, clauses, "attach G1 to R1")) == ["-4: false: G1 is long", "-3: false: G2 is not on"]


def test_quantities_equal_but_for_rounding_are_equal(tmp_path: Path) -> None:
    clauses = 'for lead\nrequire length of lead <= 300 in - 0 ft and length of lead >= 7.62 m * 1\nsay "{lead}"'
    outcome = review(tmp_path, clauses.replace("for lead", "for lead where length of lead = 25 ft"), "test A with D1")
    assert (outcome.met, outcome.not_applicable) == (1, 1)


def test_values_are_said_in_the_unit_of_their_fact(tmp_path: Path) -> None:
    clauses = """for lead
                 require length of lead < 22 ft
                 say "{lead}: {length of lead}, {length of lead - 1 ft} over,"
                     "way {way}, {lead-longest}, {count of l lead}" """
    assert shown(review(tmp_path, clauses, "test A with D1")) == [
        "-4: false: G1: 25 ft, 24 ft over, way single-point, 30 ft, 2"
    ]


def test_a_why_tree_shows_what_decided(tmp_path: Path) -> None:
    outcome = review(
        tmp_path,
        """at attach lead to p conductor
           unless p is grounded
           require (each s source: not did close s) since did test p
           say "{p}" """,
        "test A with D1\nclose W\nattach G1 to A",
    )
    assert outcome.verdicts[0].why.render() == (
        "no  A is not grounded implies (each s source: not did close s) since did test A  [before attach G1 to A]\n"
        "  yes A is not grounded\n"
        "    no  A is grounded; line 2: A declared\n"
        "  no  (each s source: not did close s) since did test A\n"
        "    no  each s source: not did close s\n"
        "      no  not did close W\n"
        "        yes did close W; line 9: close W"
    )


def test_a_met_rule_can_be_explained_too(tmp_path: Path) -> None:
    review(tmp_path, 'at attach lead to point\nrequire point is grounded\nsay "{lead}"', "attach G1 to R1")
    program = Program(sound(tmp_path, "toy"), TOY)
    trace = TextTrace(BASE + "attach G1 to R1\n")
    (demand,) = program.book.rules[0].demands
    explainer = Explainer(program.compiler, Run(trace, program.compiler))
    why = explainer.why(demand.condition, 0, {"lead": "G1", "point": "R1"})
    assert why.render() == "yes R1 is grounded  [before attach G1 to R1]; line 1: R1 declared"


def test_examples_that_do_not_come_out_as_said_say_how(tmp_path: Path) -> None:
    rule = HEAD + (
        '  at attach lead to point\n  require point is grounded\n  say "{lead} on {point}"\n'
        "  passes\n    | attach G1 to A\n"
        "  passes\n    | test A with D1\n"
        "  fails\n    > attach G1 to R1\n"
        "  fails\n    > attach G1 to R1\n    | attach G2 to A\n"
        "  unshown\n    | attach G2 to A\n"
        "  exempts\n    | attach G2 to R1\n"
        "  passes\n    - rod R9\n    | attach G2 to R1\n"
        "  fails\n    - rod R1 steel\n    > attach G2 to R1\n"
    )
    write_book(tmp_path, "toy", BOOK, {"toy": rule})
    assert [result.problem for result in run_examples(sound(tmp_path, "toy"), TOY, TextTrace)] == [
        "the rule should be met: 0 met, 1 broken, 0 not shown, 0 not applicable; at `attach G1 to A`: G1 on A",
        "the rule never applies to this plan, so that nothing passes: 0 met, 0 broken, 0 not shown, 0 not applicable",
        "the rule should be broken: 1 met, 0 broken, 0 not shown, 0 not applicable",
        "a finding falls on `attach G2 to A`; none falls on `attach G1 to R1`",
        "the rule should be not shown: 0 met, 1 broken, 0 not shown, 0 not applicable; at `attach G2 to A`: G2 on A",
        "the rule should not apply: 1 met, 0 broken, 0 not shown, 0 not applicable",
        "the base plan has no line `rod R9` to take out",
        "",
    ]


def test_an_example_whose_plan_cannot_be_read_fails(tmp_path: Path) -> None:
    write_book(tmp_path, "toy", BOOK, {"toy": HEAD + '  at attach lead\n  require lead is on\n  say "x"\n' + TAIL})
    book = sound(tmp_path, "toy")
    problems = load_book([tmp_path], "nothing", TOY)[1]
    results = list(run_examples(book, TOY, lambda text: problems))
    assert len(results) == 2
    assert all(result.problem.startswith("its plan cannot be read: there is no book") for result in results)
    assert judge("passes", (), Outcome(book.rules[0], 1, 0, 0, 0, ())) == ""


# ---- templates of declarative process models, against definitions over the list of steps ----


def holds(text: str, events: str) -> bool:
    """A template asked at the end of a plan whose steps are the letters: a tests A, b attaches, c closes a source."""
    calls = {"a": core.Did("test", ()), "b": core.Did("attach", ()), "c": core.Did("close", ())}
    conditions = {name: core.Condition(name, (), body) for name, body in calls.items()}
    source = Source("template", text)
    tree, phrase = parse_text(source, source.span(0, len(text)), text, "condition")
    names = {name: Signature((), False) for name in calls}
    formula = Checker(TOY, {}, names.get, lambda: tuple(names)).formula(tree, phrase, Scope({}))
    kinds = {"a": "test", "b": "attach", "c": "close"}
    span = source.span(0, 1)
    trace = TableTrace([Event(kinds[letter], {}, span) for letter in events], {}, {})
    compiler = Compiler(TOY, {}, conditions)
    return compiler.test(formula)(Run(trace, compiler), trace.n, {}) == 2


def answered_before(events: str) -> bool:
    """Each a has a b after it, before any c that follows that a."""
    return all("b" in events[at + 1 :].split("c")[0] for at, letter in enumerate(events) if letter == "a")


DEFINITIONS = {
    "earlier a()": lambda events: "a" in events,
    "never a()": lambda events: "a" not in events,
    "at least 1 times a()": lambda events: events.count("a") >= 1,
    "at least 2 times a()": lambda events: events.count("a") >= 2,
    "at most 1 times a()": lambda events: events.count("a") <= 1,
    "exactly 1 times a()": lambda events: events.count("a") == 1,
    "(not b()) since a()": lambda events: "a" in events and "b" not in events[events.rindex("a") :],
    "a() followed by b()": lambda events: "a" not in events or "b" in events[events.rindex("a") :],
    "a() followed by b() before c()": answered_before,
    "(a() followed by b()) and finally always (b() implies earlier a())": lambda events: (
        ("a" not in events or "b" in events[events.rindex("a") :])
        and ("b" not in events or "a" in events[: events.index("b")])
    ),
    "at least 4 times a()": lambda events: events.count("a") >= 4,
    "exactly 3 times a()": lambda events: events.count("a") == 3,
    "exactly 0 times a()": lambda events: events.count("a") == 0,
    "at most 0 times a()": lambda events: events.count("a") == 0,
}


@pytest.mark.parametrize("text", DEFINITIONS)
def test_a_template_means_what_its_name_means(text: str) -> None:
    seen = set()
    for seed in range(250):
        random = Random(seed)
        events = "".join(random.choice("abc") for _ in range(random.randint(0, 7)))
        assert holds(text, events) == DEFINITIONS[text](events), (text, events)
        seen.add(DEFINITIONS[text](events))
    assert seen == {True, False}


def test_every_template_of_the_reference_has_a_definition_here_and_expands_as_printed() -> None:
    assert {template.surface for template in TEMPLATES} <= DEFINITIONS.keys()
    names = {name: Signature((), False) for name in "abc"}
    for template in TEMPLATES:
        source = Source("template", template.surface)
        tree, phrase = parse_text(source, source.span(0, len(source.text)), source.text, "condition")
        formula = Checker(TOY, {}, names.get, lambda: tuple(names)).formula(tree, phrase, Scope({}))
        assert formula == template.expansion, template.surface


def test_the_reference_names_every_word_of_the_catalogue(tmp_path: Path) -> None:
    page = language_page(TOY)
    for fact in TOY.facts.values():
        assert f"`{fact.reads()}`" in page
    for name in (*TOY.steps, *TOY.kinds):
        assert f"`{name}" in page
    for word in (*CLAUSES, *BOOK_CLAUSES):
        assert re.search(rf"^\| `[a-z, ]*\b{word}\b[a-z, ]*` \|", page, re.MULTILINE), word
    write_book(
        tmp_path, "toy", BOOK, {"toy": HEAD + '  for lead\n  require length of lead < lead-longest\n  say "x"\n' + TAIL}
    )
    book = sound(tmp_path, "toy")
    text = rule_page(book.rules[0], book, TOY)
    assert "setting `lead-longest` is 30 ft (common practice): a long lead whips" in text
    assert "require  length of lead < lead-longest" in text


@pytest.mark.parametrize(
    ("si", "unit", "dimension", "said"),
    [
        (0.635, "ft", "length", "2 ft 1 in"),
        (0.1016, "ft", "length", "4 in"),
        (9.144, "ft", "length", "30 ft"),
        (1.2, "ft", "length", "3 ft 11.2 in"),
        (0.30479999, "ft", "length", "1 ft"),
        (9.9, "kA", "current", "9.9 A"),
        (0.0042, "kA", "current", "4.2 mA"),
        (12470.0, "kV", "voltage", "12.5 kV"),
        (5.0, "min", "time", "5 s"),
        (0.4, "s", "time", "0.4 s"),
        (0.0, "kA", "current", "0 kA"),
        (math.inf, "s", "time", "an unlimited time"),
    ],
)
def test_a_quantity_is_said_as_people_say_it(si: float, unit: str, dimension: str, said: str) -> None:
    assert quantity(si, unit, dimension) == said


def test_bounds_are_said_in_one_unit() -> None:
    gap = (Gap("x"),)
    assert between(Bounds(79.6, 150.8, gap), "kA", "current") == "79.6 to 151 A"
    assert between(Bounds(79.6, 1508, gap), "kA", "current") == "0.0796 to 1.51 kA"
    assert between(Bounds(0.3, 0.635, gap), "ft", "length") == "11.8 in to 2 ft 1 in"
    assert between(Bounds(20.0, math.inf, gap), "V", "voltage") == "at least 20 V"
