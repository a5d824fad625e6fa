"""The command: arguments, streams and exit status. What it does is done elsewhere."""

from __future__ import annotations

import argparse
import os
import sys
from collections.abc import Callable, Iterator, Sequence
from pathlib import Path
from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from groundlint.findings.model import Review
    from groundlint.rulebook.model import Rulebook
    from groundlint.text import Diagnostic, Source

OK, BROKEN, UNSHOWN, FAILED = 0, 1, 2, 3
SUFFIXES = (".tpg", ".md", ".markdown")


class UsageError(Exception):
    """Something that the user asked for can't be done; said in one line, status 3."""


def main(argv: Sequence[str] | None = None) -> int:
    """Run the command; the exit status."""
    for stream in (sys.stdout, sys.stderr):
        if hasattr(stream, "reconfigure"):
            stream.reconfigure(encoding="utf-8", errors="backslashreplace")
    parser = _parser()
    try:
        args = parser.parse_args(argv)
    except (
        SystemExit
    ) as stop:  # argparse has said why; its own status for wrong usage is 2, which here means `not shown`
        return FAILED if stop.code else OK
    if args.version:
        print(f"groundlint {_version()}")
        return OK
    if args.command is None:
        parser.print_help()
        return FAILED
    run: Callable[[argparse.Namespace], int] = args.run
    try:
        return run(args)
    except UsageError as error:
        print(f"groundlint: {error}", file=sys.stderr)
        return FAILED
    except BrokenPipeError:
        os.dup2(os.open(os.devnull, os.O_WRONLY), sys.stdout.fileno())
        return FAILED
    except KeyboardInterrupt:
        print("groundlint: stopped", file=sys.stderr)
        return FAILED


EPILOG = """\
exit status: 0 every rule at or above the gate is met, waived or not applicable; 1 one is broken, or a line could not be
read; 2 none is broken, but one is not shown; 3 it could not be done.

It checks what a plan says, not what is in the field, and defers to the employer's rules, local codes, a qualified
person's judgement and a licensed engineer's calculation."""


def _parser() -> argparse.ArgumentParser:
    parser = argparse.ArgumentParser(
        prog="groundlint",
        description="Checks written plans for temporary protective grounds on overhead lines.",
        epilog=EPILOG,
        formatter_class=argparse.RawDescriptionHelpFormatter,
        allow_abbrev=False,
    )
    parser.add_argument("--version", action="store_true", help="print the version")
    commands = parser.add_subparsers(dest="command", metavar="COMMAND")

    review = commands.add_parser(
        "review",
        help="hold plans against rulebooks",
        description="Reviews plans and prints findings by line.",
        epilog=EPILOG,
        formatter_class=argparse.RawDescriptionHelpFormatter,
        allow_abbrev=False,
    )
    review.add_argument(
        "plans",
        nargs="+",
        metavar="PLAN",
        help="plan files (.tpg, or Markdown with fenced plans), folders, or - for standard input",
    )
    _book_options(review)
    review.add_argument(
        "--gate",
        choices=("danger", "warning", "caution", "notice"),
        default="warning",
        help="lowest level that fails (default: warning)",
    )
    review.add_argument(
        "--given",
        action="append",
        default=[],
        metavar="NAME=VALUE",
        help="value for a name that the plan leaves open, such as fault=6.8kA",
    )
    review.add_argument("--why", action="store_true", help="show what each finding rests on")
    review.add_argument("--format", choices=("text",), default="text", help="form of the report")
    review.add_argument(
        "--colour",
        "--color",
        choices=("auto", "always", "never"),
        default="auto",
        help="colour (default: on a terminal, unless NO_COLOR is set)",
    )
    review.set_defaults(run=_review)

    rules = commands.add_parser(
        "rules",
        help="read the rulebooks, or check one's own",
        allow_abbrev=False,
        description="Lists the rules, explains one, prints the rule language, or checks books.",
    )
    rules.add_argument("slug", nargs="?", metavar="SLUG", help="a rule to explain")
    _book_options(rules)
    rules.add_argument("--check", action="store_true", help="check the books and run every example in them")
    rules.add_argument("--language", action="store_true", help="the rule language and all that a rule may ask")
    rules.set_defaults(run=_rules)

    tidy = commands.add_parser(
        "tidy",
        help="canonical layout, comments kept",
        description="Prints a plan in canonical layout.",
        allow_abbrev=False,
    )
    tidy.add_argument("plans", nargs="+", metavar="PLAN", help="plan files, or - for standard input")
    how = tidy.add_mutually_exclusive_group()
    how.add_argument(
        "--check", action="store_true", help="change nothing; status 1 if a plan is not in canonical layout"
    )
    how.add_argument("--write", action="store_true", help="write the plans back")
    tidy.set_defaults(run=_tidy)
    return parser


def _book_options(parser: argparse.ArgumentParser) -> None:
    parser.add_argument(
        "--book", action="append", default=[], metavar="NAME", help="a rulebook to use; may be given several times"
    )
    parser.add_argument(
        "--books-in",
        action="append",
        default=[],
        metavar="FOLDER",
        type=Path,
        help="a folder that holds rulebooks of your own",
    )
    parser.add_argument("--no-cache", action="store_true", help="keep nothing between runs")


def _version() -> str:
    from importlib.metadata import PackageNotFoundError, version

    try:
        return version("groundlint")
    except PackageNotFoundError:
        return "unknown"


# ------------------------------------------------------------------ shared
def _cache(args: argparse.Namespace) -> Path | None:
    if getattr(args, "no_cache", False):
        return None
    from platformdirs import user_cache_path

    return user_cache_path("groundlint", appauthor=False)


def _books(args: argparse.Namespace) -> list[Rulebook]:
    from groundlint.review import DEFAULT_BOOKS, load_rulebook

    for folder in args.books_in:
        if not folder.is_dir():
            raise UsageError(f"{folder}: no such folder of rulebooks")
    cache = _cache(args)
    found: list[Rulebook] = []
    failed = False
    for name in args.book or DEFAULT_BOOKS:
        book, problems = load_rulebook(name, args.books_in, cache)
        for problem in problems:
            failed = True
            print(_problem(problem), file=sys.stderr)
        if book is not None:
            found.append(book)
    if failed or not found:
        raise UsageError("a rulebook could not be read, so no plan was reviewed")
    return found


def _problem(problem: Diagnostic) -> str:
    line, column = problem.span.position
    mend = f" ({problem.mend})" if problem.mend else ""
    name = problem.span.source.name
    place = f"{name}:{line}:{column}: " if name else ""
    return f"{place}{problem.severity.word}: {problem.message}{mend} [{problem.code}]"


def _plan_files(given: Sequence[str]) -> Iterator[Path | None]:
    """Files to review; None for standard input. In folders: plans by their ending, Markdown only where it holds a
    plan."""
    seen: set[Path] = set()
    for name in given:
        if name == "-":
            yield None
            continue
        path = Path(name)
        if path.is_dir():
            found = [p for p in sorted(path.rglob("*")) if p.is_file() and p.suffix in SUFFIXES and _is_plan(p, path)]
            if not found:
                raise UsageError(f"{name}: no plans in this folder")
        elif path.exists():
            found = [path]
        else:
            raise UsageError(f"{name}: no such file or folder")
        for file in found:
            if file not in seen:
                seen.add(file)
                yield file


def _is_plan(path: Path, top: Path) -> bool:
    inside = path.relative_to(top).parts
    if any(
        part.startswith(".") or part in ("bases", "parts") for part in inside
    ):  # base plans of rule examples; files that plans use
        return False
    if path.suffix == ".tpg":
        return True
    try:
        text = path.read_bytes()
    except OSError:
        return True  # said when it is read
    return b"```tpg" in text or b"~~~tpg" in text


def _read(path: Path | None) -> tuple[Source, tuple[Diagnostic, ...]]:
    from groundlint.text.decode import SIZE_LIMIT, decode

    if path is None:
        return decode(sys.stdin.buffer.read(SIZE_LIMIT + 1), "<stdin>")
    try:
        with path.open("rb") as file:
            return decode(file.read(SIZE_LIMIT + 1), str(path))
    except OSError as error:
        raise UsageError(f"{path}: {error.strerror or error}") from None


def _opener(folder: Path) -> Callable[[str], Source | str]:
    from groundlint.text.decode import SIZE_LIMIT, decode

    root = folder.resolve()

    def opener(name: str) -> Source | str:
        path = root / name
        try:
            if not path.resolve().is_relative_to(root):
                return "it lies outside the plan's own folder"
            with path.open("rb") as file:
                source, problems = decode(file.read(SIZE_LIMIT + 1), str(folder / name))
        except (OSError, ValueError) as error:
            return str(getattr(error, "strerror", None) or error).lower()
        return problems[0].message if problems else source

    return opener


def _given(pairs: Sequence[str]) -> dict[str, str]:
    found: dict[str, str] = {}
    for pair in pairs:
        name, sign, value = pair.partition("=")
        if not sign or not name.strip() or not value.strip():
            raise UsageError(f"--given {pair}: write NAME=VALUE, such as fault=6.8kA")
        found[name.strip()] = value.strip()
    return found


def _colour(args: argparse.Namespace) -> bool:
    if args.colour != "auto":
        return bool(args.colour == "always")
    return sys.stdout.isatty() and not os.environ.get("NO_COLOR") and os.environ.get("TERM") != "dumb"


# ------------------------------------------------------------------ commands
def _review(args: argparse.Namespace) -> int:
    from groundlint.language.reader import keep_grammar_in
    from groundlint.report.text import closing, review_text
    from groundlint.review import Reviewer
    from groundlint.text import Severity

    keep_grammar_in(_cache(args))
    given = _given(args.given)
    files = list(_plan_files(args.plans))
    reviewer = Reviewer(_books(args))
    gate = Severity[args.gate.upper()]
    colour = _colour(args)
    reviews: list[Review] = []
    statuses: list[int] = []
    failed = False
    for path in files:
        try:
            source, problems = _read(path)
        except UsageError as error:
            print(f"groundlint: {error}", file=sys.stderr)
            failed = True
            continue
        review = reviewer.review(source, _opener(path.parent if path is not None else Path()), given, problems)
        reviews.append(review)
        statuses.append(review.status(gate))
        sys.stdout.write(review_text(review, why=args.why, colour=colour))
    sys.stdout.write(closing(reviews, statuses))
    if failed:
        return FAILED
    return BROKEN if BROKEN in statuses else max(statuses, default=OK)


def _rules(args: argparse.Namespace) -> int:
    from groundlint.facts import CATALOGUE
    from groundlint.rulebook.reference import language_page, rule_page

    if args.language:
        print(language_page(CATALOGUE))
        return OK
    books = _books(args)
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
    from difflib import get_close_matches

    near = get_close_matches(args.slug, [rule.slug for book in books for rule in book.rules], n=1)
    raise UsageError(f"no rule is named {args.slug}" + (f"; did you mean {near[0]}?" if near else ""))


def _check(books: Sequence[Rulebook]) -> int:
    from groundlint.facts import CATALOGUE
    from groundlint.review import trace_of
    from groundlint.rulebook.examples import run_examples

    failed = count = 0
    for book in books:
        for result in run_examples(book, CATALOGUE, trace_of, own=True):
            count += 1
            if result.problem:
                failed += 1
                print(f"{result.example.file}:{result.example.line}: {result.example.rule}: {result.problem}")
    print(f"{count} examples in {len(books)} books: {failed} come out otherwise than they say")
    return BROKEN if failed else OK


def _tidy(args: argparse.Namespace) -> int:
    from groundlint.language.reader import read_statements
    from groundlint.language.writer import write_plan

    status = OK
    for name in args.plans:
        path = None if name == "-" else Path(name)
        if path is not None and path.suffix != ".tpg":
            raise UsageError(f"{name}: only plan files (.tpg) can be laid out")
        source, problems = _read(path)
        read = read_statements(source)
        for problem in (*problems, *read.diagnostics):
            print(_problem(problem), file=sys.stderr)
        if problems or read.diagnostics:
            status = FAILED
            continue
        text = write_plan(read.text)
        if args.check:
            if text != source.text:
                print(f"{source.name}: not in canonical layout")
                status = max(status, BROKEN)
        elif args.write and path is not None:
            if text != source.text:
                path.write_text(text, encoding="utf-8")
        else:
            sys.stdout.write(text)
    return status


if __name__ == "__main__":
    sys.exit(main())
