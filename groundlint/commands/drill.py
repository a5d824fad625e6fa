"""`groundlint drill`: exercises made of a sound plan."""

from __future__ import annotations

import argparse
import sys
from collections.abc import Sequence
from pathlib import Path
from typing import TYPE_CHECKING

from groundlint.commands.common import (
    FAILED,
    OK,
    UsageError,
    book_options,
    books_of,
    given_values,
    keep_between_runs,
    load_books,
    opener_in,
    read_source,
    whole_number,
)
from groundlint.commands.outputs import EXERCISE
from groundlint.commands.settings import SettingsFinder
from groundlint.text.files import reason

if TYPE_CHECKING:
    from groundlint.commands.common import Subcommands
    from groundlint.teaching.drill import Drills

MOST = 200
"""Exercises made at once."""


def add(commands: Subcommands) -> None:
    """The command's arguments."""
    from groundlint.teaching.subjects import GROUPS

    drill = commands.add_parser(
        "drill",
        help="make exercises: a sound plan with known faults, and the key",
        description="Seeds known faults into a sound plan and writes the plan, the handout, an answer sheet and the "
        "key. Each fault is proven by review: it is found, and nothing else is broken. One seed gives the same files "
        "each time.",
        epilog="exit status: 0 the exercises are written; 3 it could not be done, such as when the plan is not sound "
        "or does not take so many faults of the kind.",
        formatter_class=argparse.HelpFormatter,
    )
    drill.add_argument("plan", metavar="PLAN", help="a plan with no finding (as for `review`), or -")
    book_options(drill)
    drill.add_argument("-o", "--out", type=Path, metavar="FOLDER", help="folder to write to (default: the current one)")
    drill.add_argument("--name", help="name of the files (default: that of the plan, with -drill)")
    drill.add_argument(
        "--seed", type=whole_number, default=1, help="the same seed gives the same exercises (default: 1)"
    )
    drill.add_argument(
        "--count", type=whole_number, default=1, metavar="N", help=f"exercises to make, {MOST} at most (default: 1)"
    )
    drill.add_argument("--faults", type=whole_number, default=1, metavar="N", help="faults in each (default: 1)")
    drill.add_argument(
        "--level",
        type=whole_number,
        choices=(1, 2, 3),
        help="1 one line shows it, 2 two lines together, 3 only step by step",
    )
    drill.add_argument(
        "--about",
        action="append",
        default=[],
        metavar="SUBJECT",
        help=f"seed faults of this subject alone: {', '.join(GROUPS)}; may be given several times",
    )
    drill.add_argument("--operator", action="append", default=[], metavar="NAME", help="seed by this operator alone")
    drill.add_argument(
        "--list", action="store_true", help="list the operators that this plan has a place for, and stop"
    )
    drill.add_argument(
        "--given", action="append", default=[], metavar="NAME=VALUE", help="value for a name that the plan leaves open"
    )
    drill.set_defaults(run=run)


def run(args: argparse.Namespace) -> int:
    """Make the exercises asked for; the exit status."""
    from groundlint.review import Reviewer
    from groundlint.teaching.aims import load_aims
    from groundlint.teaching.bench import lay_out
    from groundlint.teaching.drill import Drills
    from groundlint.teaching.operators import operators
    from groundlint.teaching.subjects import GROUPS
    from groundlint.text.toml import or_nearest

    keep_between_runs(args)
    for number, least, word in ((args.count, 1, "--count"), (args.faults, 1, "--faults")):
        if not least <= number <= MOST:
            raise UsageError(f"{word} {number}: write a number from {least} to {MOST}")
    for subject in args.about:
        if subject not in GROUPS:
            raise UsageError(f"--about {subject}: the subjects are {', '.join(GROUPS)}{or_nearest(subject, GROUPS)}")
    for name in args.operator:
        if name not in operators():
            raise UsageError(f"--operator {name}: no operator has that name{or_nearest(name, operators())}")
    path = None if args.plan == "-" else Path(args.plan)
    called = [] if args.list else _names(args, "plan" if path is None else path.stem)
    source, unread = read_source(path)
    settings = SettingsFinder().of(path.parent if path else Path())
    names, books_in = books_of(args, settings)
    books = load_books(names, books_in)
    aims, problems = load_aims(books, books_in)
    if problems:
        raise UsageError("what the operators aim at could not be read, so no exercise was made", problems)
    home, said = lay_out(
        source, opener_in(path.parent if path else Path()), {**settings.given, **given_values(args.given)}
    )
    if home is None or unread:
        raise UsageError(f"{source.name}: it can't be read whole, so no exercise was made", (*unread, *said))
    drills = Drills(home, Reviewer(books), aims)
    if args.list:
        return _listed(drills)
    open_findings = drills.sound().open_findings
    for finding in open_findings[:20]:
        print(f"{finding.span.address}: {finding.level.word}: {finding.message} [{finding.slug}]", file=sys.stderr)
    if open_findings:
        raise UsageError(f"{source.name}: an exercise is made of a plan with no finding, and this one has some")
    return _made(args, drills, called)


def _names(args: argparse.Namespace, stem: str) -> list[str]:
    """What the exercises are called. `UsageError` where one of their files is there: its sheets may be handed out."""
    from groundlint.teaching.handout import ENDINGS

    base = args.name or f"{stem}-drill"
    if not base or any(mark in base for mark in "/\\\0") or base.startswith("."):
        raise UsageError(f"--name {base}: write a plain file name, without a folder")
    names = [base] if args.count == 1 else [f"{base}-{number + 1}" for number in range(args.count)]
    EXERCISE.check((args.out or Path()) / f"{name}{ending}" for name in names for ending in ENDINGS)
    return names


def _listed(drills: Drills) -> int:
    for one in drills.usable():
        aims = ", ".join(drills.aims[one.name].rules)
        print(f"{one.name:<24} {one.group:<12} level {one.level}  {one.title} [{aims}]")
    return OK


def _made(args: argparse.Namespace, drills: Drills, called: Sequence[str]) -> int:
    from groundlint.teaching.handout import papers

    folder = args.out or Path()
    written: list[str] = []
    used: set[str] = set()
    for number, name in enumerate(called):
        made = drills.exercise(
            name,
            args.seed + number,
            args.faults,
            level=args.level,
            names=args.operator,
            groups=args.about,
            unlike=frozenset(used),
        )
        if made is None:
            print(
                f"groundlint: the plan does not take {args.faults} such faults at once; "
                "`--list` shows the operators that it has a place for",
                file=sys.stderr,
            )
            return FAILED
        used |= {fault.operator.name for fault in made.faults}
        try:
            folder.mkdir(parents=True, exist_ok=True)
            for paper in papers(made, drills.rules, [book.head.name for book in drills.reviewer.books]):
                EXERCISE.write(folder / paper.name, paper.text)
                written.append(str(folder / paper.name))
        except OSError as error:
            raise UsageError(f"{folder}: {reason(error)}") from None
    print("\n".join(written))
    return OK
