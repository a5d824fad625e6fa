"""Every example in every shipped rulebook comes out as its rule says, and every rule has enough of them."""

from __future__ import annotations

from collections import Counter
from functools import cache
from pathlib import Path

import pytest

import groundlint
from groundlint.facts import CATALOGUE, PlanTrace
from groundlint.reading import read_plan
from groundlint.rulebook.clauses import cites
from groundlint.rulebook.evaluate import Program
from groundlint.rulebook.examples import ExampleText, example_text, judge, wanting
from groundlint.rulebook.load import available, load_book
from groundlint.rulebook.model import Example, Rulebook, Shelf
from groundlint.rulebook.rules import SOURCES
from groundlint.rulebook.shipped import shipped
from groundlint.text import Source
from groundlint.timeline import replay

BOOKS = available([shipped()])
LEAST_EXAMPLES = 3
UNMARKED = {
    "approach-distance-enough": "asked once of a plan, and reported at its first line",
    "approach-distance-in-force": "asked once of a plan, and reported at its first line",
    "paragraphs-in-force": "asked once of a plan, and reported at its first line",
    "single-point-preferred": "asked once of a plan, and reported at its first line",
    "spans-likely": "asked of the line, and reported where the base plan declares it",
    "method-built-somewhere": "asked once of a plan, and reported at its first line",
}
"""Rules whose failing examples can mark no line, with the reason."""


@cache
def book(name: str) -> Rulebook:
    found, problems = load_book([shipped()], name, CATALOGUE)
    assert found is not None
    said = [f"{problem.span.source.name}:{problem.span.line} {problem.message}" for problem in problems]
    assert said == []
    return found


@cache
def program(name: str) -> Program:
    return Program(book(name), CATALOGUE)


@cache
def shelf(name: str) -> Shelf:
    return book(name).shelf()


def own(name: str) -> list[Example]:
    """The examples of the rules in this book's own files; those of an adopted book are run with that book."""
    mine = {rule.slug for rule in book(name).rules if rule.book == name}
    return [example for example in shelf(name).examples if example.rule in mine]


EXAMPLES = [
    pytest.param(name, example, id=f"{name}-{example.rule}-{example.sort}-{example.line}")
    for name in BOOKS
    for example in own(name)
]


@pytest.mark.parametrize(("name", "example"), EXAMPLES)
def test_example_comes_out_as_its_rule_says(name: str, example: Example) -> None:
    plan = example_text(example, name, shelf(name))
    assert isinstance(plan, ExampleText), plan
    read = read_plan(Source("example.tpg", plan.text))
    assert [(said.span.line, said.message) for said in read.diagnostics] == []
    timeline = replay(read.plan)
    assert [(said.span.line, said.message) for said in timeline.problems] == [], "steps that cannot be done as written"
    assert judge(example.sort, plan.marked, program(name).review_rule(example.rule, PlanTrace(timeline))) == ""


@pytest.mark.parametrize("name", BOOKS)
def test_every_rule_has_examples_enough(name: str) -> None:
    counted = Counter(example.rule for example in own(name))
    poor = {rule.slug: counted[rule.slug] for rule in book(name).rules if rule.book == name}
    assert {slug: count for slug, count in poor.items() if count < LEAST_EXAMPLES} == {}


@pytest.mark.parametrize("name", BOOKS)
def test_every_stable_rule_passes_nearly_misses_fails_at_a_line_and_is_not_shown_or_says_why_not(name: str) -> None:
    assert [
        f"{rule.file}:{rule.line} {rule.slug} {problem}"
        for rule, problem in wanting(book(name), CATALOGUE, own=True)
        if not problem.startswith("hangs on")  # until the books are rewritten
    ] == []


@pytest.mark.parametrize("name", BOOKS)
def test_a_rule_that_cannot_fail_can_be_not_shown(name: str) -> None:
    sorts: dict[str, set[str]] = {rule.slug: set() for rule in book(name).rules if rule.book == name}
    for example in own(name):
        sorts[example.rule].add(example.sort)
    assert [slug for slug, found in sorts.items() if not found & {"fails", "unshown"}] == []


@pytest.mark.parametrize("name", BOOKS)
def test_every_rule_that_fails_does_so_at_a_marked_line(name: str) -> None:
    marked = {
        example.rule
        for example in own(name)
        if example.sort == "fails" and any(marker == ">" for marker, _ in example.lines)
    }
    failing = {example.rule for example in own(name) if example.sort == "fails"}
    assert failing - marked == set(UNMARKED) & failing, UNMARKED


@pytest.mark.parametrize("name", BOOKS)
def test_every_rule_says_where_it_is_from_and_how_that_is_known(name: str) -> None:
    assert [rule.slug for rule in book(name).rules if not rule.cites or rule.known not in SOURCES] == []


def test_the_books_were_collected_whole() -> None:
    assert {"practice", "us-29cfr1910-269"} <= set(BOOKS)
    slugs = [rule.slug for name in BOOKS for rule in book(name).rules if rule.book == name]
    assert sorted(slugs) == sorted(set(slugs)), "a slug stands in two books, which then cannot be adopted together"


@pytest.mark.parametrize("name", BOOKS)
def test_the_messages_that_a_clause_names_are_said_somewhere(name: str) -> None:
    package = Path(groundlint.__file__).parent
    said = "\n".join(path.read_text(encoding="utf-8") for path in package.rglob("*.py"))
    named = {code for listed in book(name).clauses for code in listed.messages}
    assert {code for code in named if f'"{code}"' not in said} == set()


@pytest.mark.parametrize("name", BOOKS)
def test_the_books_beside_have_the_rules_that_a_clause_names(name: str) -> None:
    for listed in book(name).clauses:
        for other in listed.beside:
            found = {rule.slug: rule for rule in book(other).rules}
            assert set(listed.beside_rules) <= set(found), listed
            assert all(cites(found[slug], listed.label) for slug in listed.beside_rules), listed


FEDERAL_FLOOR = """
(c)(1) (c)(2) (l)(3)(i) (m)(1) (m)(2)(i) (m)(2)(iii) (m)(2)(iv) (m)(2)(v) (m)(3)(i) (m)(3)(ii) (m)(3)(iii) (m)(3)(iv)
(m)(3)(v) (m)(3)(vi) (m)(3)(vii) (m)(3)(viii) (m)(3)(ix) (m)(3)(x) (m)(3)(xi) (m)(3)(xii) (m)(3)(xiii) (n)(1) (n)(2)
(n)(3) (n)(4)(i) (n)(4)(ii) (n)(4)(iii) (n)(5) (n)(6)(i) (n)(6)(ii) (n)(7) (n)(8) (q)(2)(iv) (w)(1)
"""
"""Paragraphs that the book must list, whatever it lists beside them."""


def test_the_clauses_of_the_federal_book_are_the_floor_and_more() -> None:
    labels = {listed.label.removeprefix("29 CFR 1910.269") for listed in book("us-29cfr1910-269").clauses}
    assert set(FEDERAL_FLOOR.split()) <= labels
