"""`groundlint rules`: the rulebooks to read and to check."""

from __future__ import annotations

import argparse
from collections.abc import Sequence
from pathlib import Path
from typing import TYPE_CHECKING

from groundlint.commands.common import BROKEN, OK, UsageError, book_options, books_of, keep_between_runs, load_books
from groundlint.text.near import nearest
from groundlint.words.rows import counted

if TYPE_CHECKING:
    from groundlint.commands.common import Subcommands
    from groundlint.rulebook.model import Rulebook


def add(commands: Subcommands) -> None:
    """The command's arguments."""
    rules = commands.add_parser(
        "rules",
        help="read the rulebooks, or check one's own",
        formatter_class=argparse.HelpFormatter,
        description="Lists the rules, explains one, prints the rule language or what a book covers, or checks books.",
    )
    rules.add_argument("slug", nargs="?", metavar="SLUG", help="a rule to explain; with --check or --coverage, a book")
    book_options(rules)
    what = rules.add_mutually_exclusive_group()
    what.add_argument("--check", action="store_true", help="check the books and run every example in them")
    what.add_argument("--language", action="store_true", help="the rule language and all that a rule may ask")
    what.add_argument(
        "--coverage",
        action="store_true",
        help="the clauses of a book's source: what each asks, and the rules that decide it or why none can",
    )
    what.add_argument("--scaffold", metavar="NEW", help="print a rule file to start from, for a rule of this name")
    rules.set_defaults(run=run)


def run(args: argparse.Namespace) -> int:
    """List, explain or check rules; the exit status."""
    from groundlint.commands.settings import SettingsFinder
    from groundlint.facts import CATALOGUE
    from groundlint.rulebook.clauses import coverage_page
    from groundlint.rulebook.reference import language_page, rule_page

    if args.slug is not None and (args.language or args.scaffold is not None):
        raise UsageError(f"{args.slug}: this is one more than can be given")
    if args.language:
        print(language_page(CATALOGUE))
        return OK
    if args.scaffold is not None:
        return _scaffold(args.scaffold)
    if (args.check or args.coverage) and args.slug is not None:
        args.book, args.slug = [*args.book, args.slug], None
    names, books_in = books_of(args, SettingsFinder().of(Path()))
    keep_between_runs(args)
    books = load_books(names, books_in)
    if args.coverage:
        print("\n".join(coverage_page(book) for book in books), end="")
        return OK
    if args.check:
        return _check(books)
    if args.slug is None:
        for book in books:
            print(f"{book.head.name}: {book.head.title} ({book.head.edition})")
            width = max((len(rule.slug) for rule in book.rules), default=0)
            for rule in book.rules:
                print(f"  {rule.slug:<{width}}  {rule.level.word:<7}  {rule.title}")
            print()
        return OK
    for book in books:
        found = book.rule(args.slug)
        if found is not None:
            print(rule_page(found, book, CATALOGUE))
            return OK
    looked_in = " or ".join(book.head.name for book in books)
    elsewhere = _shipped_with(args.slug)
    if elsewhere:
        raise UsageError(
            f"no rule of {looked_in} is named {args.slug}; the book {elsewhere} has it: add --book {elsewhere}"
        )
    near = nearest(args.slug, [rule.slug for book in books for rule in book.rules])
    raise UsageError(f"no rule is named {args.slug}" + (f"; did you mean {near}?" if near else ""))


def _shipped_with(slug: str) -> str:
    """The first book that comes with groundlint and has a rule of this name; empty where none does."""
    from groundlint.rulebook.shipped import shipped

    names = sorted(found.parent.name for found in shipped().glob("*/book.book"))
    return next((book.head.name for book in load_books(names, ()) if book.rule(slug) is not None), "")


def _check(books: Sequence[Rulebook]) -> int:
    from groundlint.facts import CATALOGUE
    from groundlint.review import trace_of
    from groundlint.rulebook.examples import run_examples, wanting

    failed = count = poor = 0
    for book in books:
        for rule, problem in wanting(book, CATALOGUE, own=True):
            poor += 1
            print(f"{rule.file}:{rule.line}: {rule.slug}: {problem}")
        for result in run_examples(book, CATALOGUE, trace_of, own=True):
            count += 1
            if result.problem:
                failed += 1
                print(f"{result.example.file}:{result.example.line}: {result.example.rule}: {result.problem}")
    where = f"{counted(count, 'example')} in {counted(len(books), 'book')}"
    said = f"{failed} not as they say" if failed else "all as they say"
    lack = f"; what rules lack: {poor}" if poor else ""
    print(f"{where}, {said}{lack}")
    return BROKEN if failed or poor else OK


def _scaffold(slug: str) -> int:
    from groundlint.rulebook.scaffold import scaffold

    text = scaffold(slug)
    if not isinstance(text, str):
        raise UsageError(text.message)
    print(text, end="")
    return OK
