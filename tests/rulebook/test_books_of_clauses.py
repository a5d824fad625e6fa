"""Books that list the clauses of a source, take single rules, and bar waivers; several books asked together."""

from __future__ import annotations

from pathlib import Path

import pytest
from book_folders import BASE, BOOK, RULE, load, said, sound, write_book
from toy_catalogue import TOY

from groundlint.rulebook import core
from groundlint.rulebook.clauses import coverage_page
from groundlint.rulebook.examples import is_near, wanting
from groundlint.rulebook.layout import lay_out
from groundlint.rulebook.load import load_book
from groundlint.rulebook.model import Example
from groundlint.rulebook.scaffold import scaffold
from groundlint.rulebook.tidy import tidied
from groundlint.rulebook.together import together
from groundlint.text import Severity, Source

LENGTH = """\
condition is-short (lead lead) means
  length of lead <= lead-longest

rule lead-short
  level    warning
  title    "A lead is short"
  cites    common practice, no source
  known    common practice
  because  "A long lead whips"
  at       attach lead to point
  require  is-short(lead)
  say      "{lead} is longer than {lead-longest}"
  passes
    | attach G1 to R1 by H1
  fails
    > attach G1 to R1 by H1
"""
HANDBOOK = """\
book handbook
  title   "A handbook"
  scope   "toys"
  edition "2020"
"""
CLAUSE = '  clause "Handbook 7.1" known published asks "short leads" rules lead-short\n'


def toys(folder: Path, clauses: str = "", name: str = "toy") -> None:
    write_book(folder, name, BOOK.replace("book toy", f"book {name}") + clauses, {"order": RULE, "length": LENGTH})


def one_problem(folder: Path, name: str) -> str:
    _, problems = load(folder, name)
    (only,) = said(problems)
    return only


def test_a_taken_rule_brings_its_settings_conditions_text_and_examples_and_no_other_rule(tmp_path: Path) -> None:
    toys(tmp_path)
    write_book(tmp_path, "handbook", HANDBOOK + "  take lead-short from toy\n" + CLAUSE, {})
    book = sound(tmp_path, "handbook")
    (rule,) = book.rules
    assert (rule.slug, rule.book) == ("lead-short", "toy")
    assert rule.cites == ("common practice, no source", "Handbook 7.1")
    assert set(book.settings) == {"lead-longest"}
    assert set(book.conditions) == {"is-short"}
    shelf = book.shelf()
    assert {example.rule for example in shelf.examples} == {"lead-short"}
    assert set(shelf.rule_texts) == {"lead-short"}
    assert ("toy", "base") in shelf.bases


def test_a_taken_rule_is_set_and_raised_like_an_adopted_one(tmp_path: Path) -> None:
    toys(tmp_path)
    more = '  set lead-longest 20 ft because "indoors"\n  raise lead-short to danger because "indoors"\n'
    write_book(tmp_path, "handbook", HANDBOOK + "  take lead-short from toy\n" + more, {})
    book = sound(tmp_path, "handbook")
    value = book.settings["lead-longest"].value
    assert isinstance(value, core.Quantity)
    assert value.text == "20 ft"
    assert book.rules[0].level is Severity.DANGER


def test_several_rules_are_taken_over_lines(tmp_path: Path) -> None:
    toys(tmp_path)
    write_book(tmp_path, "handbook", HANDBOOK + "  take lead-short,\n       ground-end-first\n       from toy\n", {})
    assert [rule.slug for rule in sound(tmp_path, "handbook").rules] == ["ground-end-first", "lead-short"]


@pytest.mark.parametrize(
    ("line", "message"),
    [
        ("take lead-shrt from toy", "`toy` has no rule `lead-shrt`; did you mean `lead-short`?"),
        ("take lead-short", "`take` reads `take SLUG, SLUG from BOOK`"),
        ("take lead-short from toi", "there is no book `toi`; did you mean `toy`?"),
        ('may-not-waive lead-shrt because "x"', "no rule here is named `lead-shrt`"),
        ('may-waive lead-shrt because "x"', "no rule here is named `lead-shrt`"),
        ("may-not-waive lead-short", '`may-not-waive` needs a reason: `because "..."`'),
    ],
)
def test_what_is_wrong_with_taking_is_said_at_its_line(tmp_path: Path, line: str, message: str) -> None:
    toys(tmp_path)
    write_book(tmp_path, "handbook", f"{HANDBOOK}  {line}\n", {})
    said_ = one_problem(tmp_path, "handbook")
    assert message in said_
    assert said_.startswith("handbook/book.book:5:")


def test_a_rule_taken_by_two_ways_cites_for_both(tmp_path: Path) -> None:
    toys(tmp_path)
    write_book(tmp_path, "handbook", HANDBOOK + "  take lead-short from toy\n" + CLAUSE, {})
    both = HANDBOOK.replace("handbook", "both") + "  adopt toy\n  adopt handbook\n"
    write_book(tmp_path, "both", both, {})
    rule = sound(tmp_path, "both").rule("lead-short")
    assert rule is not None
    assert rule.cites == ("common practice, no source", "Handbook 7.1")


@pytest.mark.parametrize(
    ("clause", "message"),
    [
        ('"7.1" known published asks "x" rules lead-shrt', "no rule here is named `lead-shrt`; did you mean"),
        ('"7.1" known published asks "x" rules lead-short', "`lead-short` does not cite 7.1; add a `cites` to it"),
        ('"7.1" known published asks "x"', "a clause names `rules` that decide it, or says `undecidable because"),
        ('"7.1" known published asks "x" undecidable', "`undecidable` wants a reason"),
        ('"7.1" known hearsay asks "x" undecidable because "y"', "`hearsay` is not one of `published`"),
        ('"7.1" asks "x" undecidable because "y"', "this clause has no `known`"),
        ('"7.1" known published undecidable because "y"', "this clause has no `asks`"),
        ('7.1 known published asks "x" undecidable because "y"', "the citation of the clause should stand here"),
        ('"7.1" known published asks x undecidable because "y"', "what the clause asks should stand here"),
        ('"7.1" known published asks "x" rules "lead-short"', "names stand here, without quotes"),
        ('"7.1" known published asks "x" beside toy', "`beside` names a book and the rules of it"),
        ('"7.1" known published asks "x" asks "z" rules lead-short', "`asks` stands twice"),
        ('"7.1" known published asks "x" else rules lead-short', "`else` cannot stand here"),
        ('"7.1" known published asks "x', "a text in double quotes is closed on its line"),
    ],
)
def test_what_is_wrong_with_a_clause_is_said_at_its_line(tmp_path: Path, clause: str, message: str) -> None:
    every = '  clause "common practice" known published asks "all" rules lead-short\n'
    every += '  clause "29 CFR 1910.269(n)(6)" known published asks "all" rules ground-end-first\n'
    toys(tmp_path, f"{every}  clause {clause}\n")
    said_ = one_problem(tmp_path, "toy")
    assert message in said_
    assert said_.startswith("toy/book.book:9:")


def test_a_clause_listed_twice_and_a_rule_without_a_clause_are_said(tmp_path: Path) -> None:
    line = '  clause "common practice" known published asks "all" rules lead-short\n'
    toys(tmp_path, line + line)
    _, problems = load(tmp_path, "toy")
    assert [problem.message for problem in problems] == [
        "common practice is listed already",
        "no clause that this book lists names rule `ground-end-first`",
    ]


def test_a_longer_paragraph_is_not_cited_by_a_shorter_number(tmp_path: Path) -> None:
    toys(tmp_path, '  clause "29 CFR 1910.269(n)(6)(" known published asks "x" rules ground-end-first\n')
    _, problems = load(tmp_path, "toy")
    assert any("does not cite" in problem.message for problem in problems)


def test_the_coverage_page_tells_clause_demand_and_what_decides(tmp_path: Path) -> None:
    toys(tmp_path)
    table = (
        CLAUSE
        + '  clause "Handbook 7.2" known from memory asks "tied leads"\n'
        + '         undecidable because "nobody"\n                     "writes it"\n'
        + '  clause "Handbook 7.3" known published asks "order" rules ground-end-first undecidable because "in part"\n'
        + '  clause "Handbook 7.4" known published asks "duty" beside electrical lead-carries-duty\n'
        + '  undecidable "weather" because "of the day"\n'
    )
    write_book(tmp_path, "handbook", HANDBOOK + "  take lead-short, ground-end-first from toy\n" + table, {})
    page = coverage_page(sound(tmp_path, "handbook"))
    assert "| Handbook 7.1 | short leads | `lead-short` |" in page
    assert "| Handbook 7.2 (from memory) | tied leads | not decidable from a plan: nobody writes it |" in page
    assert "| Handbook 7.3 | order | `ground-end-first`; the rest not decidable from a plan: in part |" in page
    assert "| Handbook 7.4 | duty | in book electrical: `lead-carries-duty` |" in page
    assert "4 clauses: 2 decided by rules, 1 in part, 1 not decidable." in page
    assert "- weather: of the day" in page


def test_an_adopting_book_shows_the_clauses_of_the_book_it_adopts(tmp_path: Path) -> None:
    toys(tmp_path)
    write_book(tmp_path, "handbook", HANDBOOK + "  take lead-short from toy\n" + CLAUSE, {})
    write_book(tmp_path, "own", HANDBOOK.replace("handbook", "own") + "  adopt handbook\n", {})
    page = coverage_page(sound(tmp_path, "own"))
    assert "## Adopted from handbook" in page
    assert "| Handbook 7.1 |" in page


# ---- several books ----


def test_books_that_share_a_rule_ask_it_once_at_the_graver_level_and_cite_for_both(tmp_path: Path) -> None:
    toys(tmp_path)
    more = '  raise lead-short to danger because "x"\n'
    write_book(tmp_path, "handbook", HANDBOOK + "  take lead-short from toy\n" + more + CLAUSE, {})
    shared = together([sound(tmp_path, "toy"), sound(tmp_path, "handbook")])
    assert [len(book.rules) for book in shared.books] == [2, 0]
    rule = shared.books[0].rule("lead-short")
    assert rule is not None
    assert rule.level is Severity.DANGER
    assert rule.cites == ("common practice, no source", "Handbook 7.1")
    assert shared.under[0]["lead-short"] == ("toy", "handbook")
    assert shared.problems == ()


def test_a_rule_that_books_set_otherwise_is_asked_by_each(tmp_path: Path) -> None:
    toys(tmp_path)
    more = '  set lead-longest 20 ft because "x"\n'
    write_book(tmp_path, "handbook", HANDBOOK + "  take lead-short from toy\n" + more + CLAUSE, {})
    shared = together([sound(tmp_path, "toy"), sound(tmp_path, "handbook")])
    assert [len(book.rules) for book in shared.books] == [2, 1]
    assert shared.under[1] == {"lead-short": ("handbook",)}


def test_two_rules_of_one_name_are_a_message_and_both_are_asked(tmp_path: Path) -> None:
    toys(tmp_path)
    toys(tmp_path, name="other")
    shared = together([sound(tmp_path, "toy"), sound(tmp_path, "other")])
    assert [problem.code for problem in shared.problems] == ["rule-twice", "rule-twice"]
    assert "stands in `toy` and in `other`, line" in shared.problems[0].message
    assert [len(book.rules) for book in shared.books] == [2, 2]


def test_a_rule_barred_from_waivers_is_known_to_the_book_and_to_those_that_adopt_it(tmp_path: Path) -> None:
    toys(tmp_path, '  may-not-waive lead-short because "it kills"\n')
    write_book(tmp_path, "own", HANDBOOK.replace("handbook", "own") + "  adopt toy\n", {})
    change = sound(tmp_path, "own").unwaivable["lead-short"]
    assert (change.book, change.because) == ("toy", "it kills")


# ---- sorts of example ----


def example(sort: str, *lines: str) -> Example:
    return Example("x", sort, "base", tuple((line[0], line[2:]) for line in lines), "toy/x.rule", 1)


@pytest.mark.parametrize(
    ("one", "other", "near"),
    [
        (("| a", "| b"), ("| a", "> b"), False),  # the same plan
        (("| a", "| b"), ("| a",), True),
        (("| a", "| b"), ("| b", "| a"), True),
        (("| a", "| b", "| c"), ("| c", "| a", "| b"), True),
        (("| a", "| b", "| c"), ("| c", "| b", "| a"), False),
        (("| a 1", "| b"), ("| a 2", "| b"), True),
        (("| a 1", "| b"), ("| c 1", "| b"), False),
        (("| a", "| b", "| c"), ("| a",), False),
        (("- x", "| a"), ("| a",), True),
        (("- x", "| y", "| a"), ("| a",), True),
        (("- x", "- z", "| a"), ("| a",), False),
        (("- x", "| y", "| a"), ("| b",), False),
    ],
)
def test_near_is_one_respect(one: tuple[str, ...], other: tuple[str, ...], near: bool) -> None:
    assert is_near(example("nearmiss", *one), example("fails", *other)) is near
    assert is_near(example("fails", *other), example("nearmiss", *one)) is near


def test_a_stable_rule_wants_four_sorts_or_a_reason(tmp_path: Path) -> None:
    toys(tmp_path)
    book = sound(tmp_path, "toy")
    assert [problem for rule, problem in wanting(book, TOY) if rule.slug == "lead-short"] == [
        "has no example `nearmiss`",
        "has no example `unshown`",
    ]
    full = (
        RULE + '  nearmiss\n    | attach G2 to R1 by H1\n    | attach G2 to A by H1\n  lacks unshown because "steps"\n'
    )
    write_book(tmp_path, "toy", BOOK, {"order": full, "length": LENGTH + "  stable no\n"})
    assert list(wanting(sound(tmp_path, "toy"), TOY)) == []


def test_a_near_miss_far_from_every_failing_example_is_said(tmp_path: Path) -> None:
    full = (
        RULE + '  nearmiss\n    | attach G1 to R1 by H1\n    | attach G1 to A by H1\n  lacks unshown because "steps"\n'
    )
    write_book(tmp_path, "toy", BOOK, {"order": full})
    ((rule, problem),) = wanting(sound(tmp_path, "toy"), TOY)
    assert rule.slug == "ground-end-first"
    assert "differs in more than one respect" in problem


@pytest.mark.parametrize(
    ("line", "message"),
    [
        ('lacks passes because "x"', "KIND being `fails` or `unshown`"),
        ("lacks unshown", "`lacks` reads"),
        ("lacks unshown because", "text in double quotes"),
        ('lacks fails because "x"', "this rule has an example `fails`"),
    ],
)
def test_what_is_wrong_with_lacks(tmp_path: Path, line: str, message: str) -> None:
    write_book(tmp_path, "toy", BOOK, {"order": f"{RULE}  {line}\n"})
    assert message in one_problem(tmp_path, "toy")


# ---- a rule to start from ----


def test_the_scaffold_loads_as_it_stands_in_a_book_of_plans(tmp_path: Path) -> None:
    from groundlint.facts import CATALOGUE

    text = scaffold("my-rule")
    assert isinstance(text, str)
    write_book(tmp_path, "own", HANDBOOK.replace("handbook", "own"), {"new": text}, {"base": BASE})
    book, problems = load_book([tmp_path], "own", CATALOGUE)
    assert book is not None
    assert said(problems) == []
    assert [rule.slug for rule in book.rules] == ["my-rule"]
    assert not book.rules[0].stable
    assert {e.sort for e in book.shelf().examples} == {"passes", "nearmiss", "fails", "unshown", "exempts"}


@pytest.mark.parametrize("name", ["My Rule", "once", "", "9lives", "a--b", "x" * 2000 + "-"])
def test_a_bad_name_for_a_scaffold_is_a_message(name: str) -> None:
    problem = scaffold(name)
    assert not isinstance(problem, str)
    assert "name" in problem.message


def test_the_scaffold_is_in_canonical_layout() -> None:
    text = scaffold("my-rule")
    assert isinstance(text, str)
    layout = lay_out(Source("new.rule", text))
    assert layout.problems == ()
    assert tidied(layout) == text
