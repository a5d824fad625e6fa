"""`groundlint serve`: the language server, over standard input and output."""

from __future__ import annotations

import argparse
from dataclasses import dataclass, field
from datetime import date
from pathlib import Path
from typing import TYPE_CHECKING

from groundlint.commands.common import (
    BROKEN,
    OK,
    UsageError,
    book_options,
    day_option,
    load_books,
    opener_in,
    today,
    users_cache,
    version,
)
from groundlint.commands.settings import SettingsFinder
from groundlint.commands.walk import APART

if TYPE_CHECKING:
    from groundlint.commands.common import Subcommands
    from groundlint.review import Reviewer
    from groundlint.serving.jobs import Holding, Opener, Refused


def add(commands: Subcommands) -> None:
    """The command's arguments."""
    serve = commands.add_parser(
        "serve",
        help="the language server, for editors",
        description="Serves an editor over standard input and output by the Language Server Protocol 3.17: plans, "
        "Markdown procedures with fenced plans, and rule and book files.",
        formatter_class=argparse.HelpFormatter,
    )
    book_options(serve)
    day_option(serve)
    serve.add_argument("--stdio", action="store_true", help="what some editors ask for; there is no other way")
    serve.set_defaults(run=run)


def run(args: argparse.Namespace) -> int:
    """Serve until the editor ends it; 1 where it did so without notice, as the protocol wants it."""
    try:
        from groundlint.serving.server import Server
    except ModuleNotFoundError as error:
        if (error.name or "").partition(".")[0] not in ("pygls", "lsprotocol"):
            raise
        raise UsageError("serve: the language server needs one more library: pip install 'groundlint[serve]'") from None
    cache = None if args.no_cache else users_cache()
    desk = ServingDesk(tuple(args.book), tuple(args.books_in), args.as_of, cache)
    desk.start()
    return OK if Server(desk, version()).run() else BROKEN


@dataclass
class ServingDesk:
    """What holds for a plan, asked anew at each review: settings and books may change while the server runs."""

    books: tuple[str, ...]
    books_in: tuple[Path, ...]
    as_of: date | None
    cache: Path | None
    _reviewers: dict[bytes, Reviewer] = field(default_factory=dict)

    def start(self) -> None:
        """Sets where things are kept between runs."""
        from groundlint.text.store import keep_in

        keep_in(self.cache)

    def holding(self, path: Path | None) -> Holding | Refused:
        """Settings, books and opener for a plan."""
        from groundlint.rulebook.shipped import DEFAULT_BOOKS
        from groundlint.serving.jobs import Holding, Refused
        from groundlint.text import Severity

        try:
            settings = SettingsFinder().of(path.parent if path is not None else Path())
            names = self.books or settings.books or DEFAULT_BOOKS
            reviewer = self._reviewer(names, (*self.books_in, *settings.books_in))
        except UsageError as error:
            return Refused(str(error), error.problems)
        apart = path is not None and path.parent.name in APART
        gate = Severity[(settings.gate or "warning").upper()]
        return Holding(reviewer, self.opener(path), settings.given, apart, gate)

    def opener(self, path: Path | None) -> Opener:
        """What opens the files that a plan uses."""
        if path is None:
            return lambda _: "the plan is not saved yet, so that it has no folder"
        return opener_in(path.parent)

    def shelf(self, path: Path) -> tuple[Path, ...]:
        """The book's own shelf, then those of the settings, then what comes with groundlint."""
        from groundlint.rulebook.shipped import shipped

        folder = path.parent.parent
        try:
            more = SettingsFinder().of(folder).books_in
        except UsageError:  # said of plans
            more = ()
        return (folder, *self.books_in, *more, shipped())

    def _reviewer(self, names: tuple[str, ...], books_in: tuple[Path, ...]) -> Reviewer:
        """The books made ready; again where one of them has changed, or the day."""
        from groundlint.commands.kept_reviews import digest_of_books
        from groundlint.review import Reviewer
        from groundlint.text.store import digest

        day = self.as_of or today()
        key = digest(repr((names, books_in, day)), digest_of_books(books_in))
        if key not in self._reviewers:
            self._reviewers.clear()  # of other settings too: few are used at a time
            self._reviewers[key] = Reviewer(load_books(names, books_in), day)
        return self._reviewers[key]
