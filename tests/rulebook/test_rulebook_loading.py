"""Books found, adopted, changed, and kept compiled."""

from __future__ import annotations

import os
import sqlite3
import subprocess
import sys
from collections.abc import Iterator
from pathlib import Path
from typing import Any

import pytest
from book_folders import BASE, BOOK, RULE, load, said, sound, write_book
from toy_catalogue import TOY, TextTrace

from groundlint.rulebook import load as loading
from groundlint.rulebook.core import Quantity, Setting, Word, children
from groundlint.rulebook.evaluate import Program
from groundlint.rulebook.examples import run_examples
from groundlint.rulebook.load import available, load_book
from groundlint.rulebook.shipped import shipped
from groundlint.text import Severity
from groundlint.text.store import COMPILED, digest, keep_in, kept_in

LENGTH_RULE = """\
rule lead-short
  level    warning
  title    "No lead is longer than the limit"
  cites    common practice, no source
  known    common practice
  because  "a long lead whips"
  for      lead
  where    lead is on
  require  length of lead <= lead-longest
  say      "{lead} is {length of lead} long, more than {lead-longest}"
  passes
    | attach G1 to R1
  fails
    > lead G9 40 ft
    | attach G9 to R1
  unshown
    > lead G9
    | attach G9 to R1
  exempts
    | test A with D1
"""

COOP = """\
book coop
  title    "Co-op"
  scope    "its own lines"
  edition  "2"
  adopt    toy
  set      lead-longest 20 ft  because "our leads are heavy"
  raise    lead-short to danger  because "a lead struck a groundman"
  retire   ground-end-first  because "only to show it"
"""


@pytest.fixture
def books(tmp_path: Path) -> Path:
    write_book(tmp_path, "toy", BOOK, {"order": RULE, "length": LENGTH_RULE})
    write_book(tmp_path, "coop", COOP, {})
    return tmp_path


def test_a_book_holds_its_rules_settings_and_examples(books: Path) -> None:
    book = sound(books, "toy")
    assert [rule.slug for rule in book.rules] == ["ground-end-first", "lead-short"]
    assert book.head.edition == "first"
    first = book.rules[0]
    assert (first.level, first.cites, first.known) == (Severity.DANGER, ("29 CFR 1910.269(n)(6)(i)",), "published")
    assert (first.file, first.line) == ("toy/order.rule", 1)
    assert book.shelf().rule_texts["ground-end-first"] == RULE.rstrip("\n")
    assert book.settings["lead-longest"].value == Quantity(9.144, "length", "30 ft")
    assert book.settings["way"].value == Word("single-point")
    assert [example.sort for example in book.shelf().examples if example.rule == "lead-short"] == [
        "passes", "fails", "unshown", "exempts",
    ]  # fmt: skip
    assert book.shelf().bases == {("toy", "base"): BASE}


def test_every_example_of_the_sound_books_comes_out_as_said(books: Path) -> None:
    results = list(run_examples(sound(books, "toy"), TOY, TextTrace))
    assert [(result.place, result.problem) for result in results if result.problem] == []
    assert len(results) == 6


def test_an_adopting_book_changes_settings_levels_and_rules_with_reasons(books: Path) -> None:
    book = sound(books, "coop")
    assert [rule.slug for rule in book.rules] == ["lead-short"]
    rule = book.rules[0]
    assert rule.level is Severity.DANGER
    assert [(change.book, change.what) for change in rule.changes] == [("coop", "raised to danger from warning")]
    assert book.retired["ground-end-first"].because == "only to show it"
    setting = book.settings["lead-longest"]
    assert setting.value == Quantity(20 * 0.3048, "length", "20 ft")
    assert setting.changes[0].what == "set to 20 ft from 30 ft"
    assert isinstance(list(children(rule.demands[0].condition))[1], Setting)
    (outcome,) = Program(book, TOY).review(TextTrace(BASE + "attach G1 to R1\n"))
    assert outcome.verdicts[0].message == "G1 is 25 ft long, more than 20 ft"


def test_examples_are_run_with_the_settings_of_the_book_at_hand(books: Path) -> None:
    found = [result.problem for result in run_examples(sound(books, "coop"), TOY, TextTrace) if result.problem]
    assert found == [
        "the rule should be met: 0 met, 1 broken, 0 not shown, 1 not applicable; at `lead G1 25 ft`: G1 is 25 ft long, "
        "more than 20 ft"
    ]


def test_a_book_can_be_asked_for_the_examples_of_its_own_rules_alone(books: Path) -> None:
    assert len(list(run_examples(sound(books, "toy"), TOY, TextTrace, own=True))) == 6
    assert list(run_examples(sound(books, "coop"), TOY, TextTrace, own=True)) == []


def test_two_adopted_books_that_set_one_setting_differently_clash_until_one_is_chosen(books: Path) -> None:
    third = 'book third\n  title "T"\n  scope "t"\n  edition "t"\n  adopt toy\n  adopt coop\n'
    write_book(books, "third", third, {})
    assert said(load(books, "third")[1]) == [
        "third/book.book:1:1 `book` setting-clash: `toy` and `coop` set `lead-longest` differently; "
        "say which holds with `set lead-longest ... because ...`"
    ]
    write_book(books, "third", third + '  set lead-longest 25 ft because "b"\n', {})
    book = sound(books, "third")
    assert book.rule("lead-short") is not None
    assert book.rules[1].level is Severity.DANGER, "the graver of two levels adopted holds"
    assert book.rule("ground-end-first") is not None, "what one adopted book keeps is not retired by another"


def test_one_slug_in_two_books_is_a_message(books: Path) -> None:
    write_book(books, "other", BOOK.replace("book toy", "book other"), {"order": RULE})
    write_book(books, "both", 'book both\n  title "T"\n  scope "t"\n  edition "t"\n  adopt toy\n  adopt other\n', {})
    assert any(
        "rule `ground-end-first` stands in `toy` and in `other`" in line for line in said(load(books, "both")[1])
    )
    write_book(books, "mine", 'book mine\n  title "T"\n  scope "t"\n  edition "t"\n  adopt toy\n', {"order": RULE})
    assert any("stands already, in book `toy`" in line for line in said(load(books, "mine")[1]))


def test_conditions_are_shared_with_adopting_books_and_between_files(books: Path) -> None:
    shared = "condition ready (p point) means p is grounded and tested(p)\n"
    write_book(
        books, "toy", BOOK + "condition tested (p point) means earlier did test p\n", {"order": RULE, "a": shared}
    )
    own = RULE.replace("ground-end-first", "ready-first").replace("require  point is grounded", "require  ready(point)")
    write_book(books, "coop", COOP.replace("raise    lead-short", "# raise"), {"own": own})
    book = sound(books, "coop")
    assert sorted(book.conditions) == ["ready", "tested"]
    assert book.rule("ready-first") is not None


def test_a_book_that_is_not_there_names_the_nearest(books: Path) -> None:
    book, problems = load(books, "cop")
    assert book is None
    assert [problem.message for problem in problems] == ["there is no book `cop`; did you mean `coop`?"]
    assert available([books]) == ("coop", "toy")


def test_adoption_in_a_circle_is_a_message(books: Path) -> None:
    write_book(books, "toy", BOOK + "  adopt coop\n", {"order": RULE, "length": LENGTH_RULE})
    assert "books adopt each other in a circle: coop -> toy -> coop" in said(load(books, "coop")[1])[0]


@pytest.mark.parametrize(
    "junk", [b"\xff\xfe\x00rule", b"", b"rule", b'rule a\n  say "\n', b"\x00" * 50, "règle é\n".encode()]
)
def test_any_bytes_give_messages_and_never_an_exception(books: Path, junk: bytes) -> None:
    for name in ("order.rule", "book.book", "bases/base.tpg"):
        file = books / "toy" / name
        kept = file.read_bytes()
        file.write_bytes(junk)
        book, problems = load(books, "toy")
        assert problems or name == "bases/base.tpg" or (name == "order.rule" and not junk.strip())
        assert book is not None
        file.write_bytes(kept)
    assert load(books, "toy")[1] == ()


def test_one_bad_clause_is_one_message_and_the_other_rules_are_read(books: Path) -> None:
    write_book(books, "toy", BOOK, {"order": RULE.replace("point is grounded", "point is groundd"), "l": LENGTH_RULE})
    (books / "toy" / "length.rule").unlink()
    book, problems = load(books, "toy")
    assert book is not None
    assert len(problems) == 1
    assert [rule.slug for rule in book.rules] == ["lead-short"]


# ---- the compiled book ----


@pytest.fixture
def compiled(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Iterator[list[str]]:
    """The names of the books that are compiled, while those that are kept are in a folder of the test's own."""
    before = kept_in()
    names: list[str] = []
    make = loading._compile

    def counted(raw: Any, name: str, catalogue: Any) -> Any:
        names.append(name)
        return make(raw, name, catalogue)

    monkeypatch.setattr(loading, "_compile", counted)
    keep_in(tmp_path / "cache")
    COMPILED.clear()
    yield names
    keep_in(before)


def test_a_compiled_book_is_the_same_book(books: Path, compiled: list[str]) -> None:
    fresh, problems = load_book([books], "coop", TOY)
    COMPILED.clear()
    again, _ = load_book([books], "coop", TOY)
    assert again == fresh
    assert problems == ()
    assert compiled == ["coop"]


def test_a_changed_file_or_catalogue_is_compiled_anew(books: Path, compiled: list[str]) -> None:
    load_book([books], "coop", TOY)
    write_book(books, "toy", BOOK.replace("30 ft", "31 ft"), {})
    changed, _ = load_book([books], "coop", TOY)
    assert changed is not None
    assert changed.settings["lead-longest"].changes[0].what == "set to 20 ft from 31 ft"
    assert compiled == ["coop", "coop"]


def test_a_book_with_mistakes_is_never_kept(books: Path, compiled: list[str]) -> None:
    write_book(books, "toy", BOOK, {"order": RULE.replace("point is grounded", "point is groundd")})
    for _ in range(2):
        assert load_book([books], "toy", TOY)[1]
    assert compiled == ["toy", "toy"]


@pytest.mark.parametrize("harm", [b"", b"not a pickle", b"\x80\x05K\x01."])
def test_a_spoilt_compiled_book_is_made_again(books: Path, compiled: list[str], tmp_path: Path, harm: bytes) -> None:
    fresh, _ = load_book([books], "toy", TOY)
    with sqlite3.connect(tmp_path / "cache" / "compiled.db") as file:
        (key,) = file.execute("SELECT key FROM kept").fetchone()
        file.execute("UPDATE kept SET value = ?, proof = ?", (harm, digest(key, harm)))
    file.close()
    COMPILED.clear()
    assert load_book([books], "toy", TOY)[0] == fresh
    COMPILED.clear()
    assert load_book([books], "toy", TOY)[0] == fresh
    assert compiled == ["toy", "toy"]


def test_a_cache_that_cannot_be_written_is_no_matter(books: Path, compiled: list[str], tmp_path: Path) -> None:
    (tmp_path / "file").write_text("in the way")
    keep_in(tmp_path / "file" / "cache")
    assert load_book([books], "toy", TOY)[1] == ()


def test_neither_grammar_nor_checker_is_imported_for_a_compiled_book(
    books: Path, compiled: list[str], tmp_path: Path
) -> None:
    load_book([books], "coop", TOY)
    code = (
        "import sys; from pathlib import Path; from groundlint.rulebook.load import load_book; "
        "from groundlint.rulebook.evaluate import Program; from toy_catalogue import TOY; "
        f"from groundlint.text.store import keep_in; keep_in(Path({str(tmp_path / 'cache')!r})); "
        f"book, problems = load_book([Path({str(books)!r})], 'coop', TOY); "
        "Program(book, TOY); assert not problems; "
        "print(sorted({name.split('.')[0] for name in sys.modules} & {'lark', 'numpy', 'pint', 'pydantic', 'difflib'}))"
    )
    here = str(Path(__file__).parent)
    root = str(Path(__file__).parents[2])
    path = os.pathsep.join([here, root])
    done = subprocess.run(
        [sys.executable, "-c", code],
        capture_output=True,
        text=True,
        check=False,
        env={**os.environ, "PYTHONPATH": path},
    )
    assert done.stdout.strip() == "[]", done.stderr


def test_shipped_rules_have_a_folder() -> None:
    assert shipped().name == "rules"
    assert shipped().is_dir()
