"""`groundlint duty`: the calculation record of a plan."""

from __future__ import annotations

import argparse
import shutil
import sys
from collections.abc import Iterable, Sequence
from pathlib import Path
from typing import TYPE_CHECKING, TypeVar

from groundlint.commands.common import UsageError, given_values, keep_between_runs, opener_in, read_source, version
from groundlint.commands.settings import SettingsFinder
from groundlint.text.near import nearest

if TYPE_CHECKING:
    from groundlint.commands.common import Subcommands
    from groundlint.report.duty.words import Places

DESCRIPTION = """\
Computes, for every step of one plan and every source that could return, what each lead would carry and is rated for,
what each rod would rise to, what each worker would be exposed to, and how soon each device would clear; with what the
plan states, what was assumed, and the equation and source of every result. What the plan does not state is not
guessed: the record says what is not shown, why, and what to write."""

EPILOG = """\
exit status: 0 done; 1 a line could not be read, or a step cannot be done as written; 2 something that was asked for is
not shown; 3 it could not be done. A limit that is passed does not change the status: `groundlint review` judges.

It checks what a plan says, not what is in the field, and defers to the employer's rules, local codes, a qualified
person's judgement and a licensed engineer's calculation."""

FORMATS = ("text", "json", "csv")


def add(commands: Subcommands) -> None:
    """The command's arguments."""
    duty = commands.add_parser(
        "duty",
        help="the calculation record: currents, voltages, ratings, limits",
        description=DESCRIPTION,
        epilog=EPILOG,
    )
    duty.add_argument(
        "plan",
        metavar="PLAN",
        help="a plan (.tpg, Markdown with fenced plans, or a Word document), or - for standard input",
    )
    duty.add_argument(
        "--step",
        metavar="N",
        help="only as things stand after step N, numbered as in the briefing (21; in a routine 8.3, or 8 for all)",
    )
    duty.add_argument("--source", metavar="NAME", help="only what this source does when it returns")
    duty.add_argument("--worker", metavar="NAME", help="only what this worker is exposed to")
    duty.add_argument("--lead", metavar="NAME", help="only what this lead carries")
    duty.add_argument(
        "--given",
        action="append",
        default=[],
        metavar="NAME=VALUE",
        help="value for a name that the plan leaves open, such as fault=6.8kA",
    )
    duty.add_argument("--format", choices=FORMATS, default="text", help="form of the record (default: text)")
    duty.add_argument("--no-cache", action="store_true", help="keep nothing between runs")
    duty.set_defaults(run=run)


def run(args: argparse.Namespace) -> int:
    """Write the record; the exit status."""
    from groundlint.reading import read_plan
    from groundlint.timeline import replay

    path = None if args.plan == "-" else Path(args.plan)
    if path is not None and path.is_dir():
        raise UsageError(f"{args.plan}: this is a folder; duty takes one plan")
    keep_between_runs(args)
    source, bytes_wrong = read_source(path)
    folder = path.parent if path is not None else Path()
    offered = SettingsFinder().of(folder).given
    result = read_plan(source, opener_in(folder), given_values(args.given), dict(offered))
    timeline = replay(result.plan)
    problems = [d for d in (*bytes_wrong, *result.diagnostics) if d.unread] + list(timeline.problems)

    from groundlint.electrical.record.record import calculation_record
    from groundlint.plan.models import Lead, Person, SupplySource
    from groundlint.report.closing import CAUTION
    from groundlint.report.duty import Asked, duty_csv, duty_file, duty_json, duty_text, status_of
    from groundlint.report.duty.words import Places

    plan = result.plan
    sources = [_named(plan.things, SupplySource, args.source, "source")] if args.source is not None else None
    workers = [_named(plan.things, Person, args.worker, "worker")] if args.worker is not None else []
    leads = [_named(plan.things, Lead, args.lead, "lead")] if args.lead is not None else []
    within = _positions(Places(timeline), args.step) if args.step is not None else None
    record = calculation_record(timeline, within=within, sources=sources, things=[*workers, *leads] or None)
    asked = Asked(args.step or "", args.source or "", args.worker or "", args.lead or "")
    if args.format == "text":
        sys.stdout.write(duty_text(record, version(), problems, asked, _width()))
    else:
        file = duty_file(record, version(), CAUTION, problems, asked)
        text = duty_json(file) if args.format == "json" else duty_csv(file)
        sys.stdout.flush()
        if args.format == "csv" and hasattr(sys.stdout, "reconfigure"):
            sys.stdout.reconfigure(newline="")  # the lines end in CR LF already
        sys.stdout.write(text)
    return status_of(record, problems)


def _width() -> int:
    """Columns to write in: those of the terminal up to 120, or 100 where there is none."""
    return min(shutil.get_terminal_size((100, 24)).columns, 120) if sys.stdout.isatty() else 100


T = TypeVar("T")


def _named(things: Iterable[object], kind: type[T], name: str, what: str) -> T:
    """The thing of that kind and name. `UsageError` with the nearest name where there is none."""
    every = {str(thing): thing for thing in things if isinstance(thing, kind)}
    if name not in every:
        raise UsageError(f"--{what} {name}: the plan has no such {what}; {_nearest(name, list(every), what)}")
    return every[name]


def _positions(places: Places, number: str) -> list[int]:
    found = places.positions(number.rstrip("."))
    if not found:
        numbers = list(dict.fromkeys(places.numbers))
        whole = list(dict.fromkeys(one.partition(".")[0] for one in numbers))
        raise UsageError(f"--step {number}: the plan has no such step; {_nearest(number, [*whole, *numbers], 'step')}")
    return found


MOST_NAMES = 12


def _nearest(name: str, names: Sequence[str], what: str) -> str:
    if not names:
        return f"it has no {what}"
    near = nearest(name, names)
    if near:
        return f"did you mean {near}?"
    more = f" and {len(names) - MOST_NAMES} more" if len(names) > MOST_NAMES else ""
    return f"it has {', '.join(names[:MOST_NAMES])}{more}"
