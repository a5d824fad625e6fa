"""`groundlint desk`: a page of this machine on which a plan is written and reviewed."""

from __future__ import annotations

import argparse
from pathlib import Path
from typing import TYPE_CHECKING

from groundlint.commands.common import (
    OK,
    OTHER_DOCUMENTS,
    TEXTS,
    WORD,
    UsageError,
    book_options,
    day_option,
    users_cache,
    version,
    whole_number,
)
from groundlint.text.files import reason

if TYPE_CHECKING:
    from groundlint.commands.common import Subcommands

DESCRIPTION = """\
Opens a page in the browser for writing one plan: the text with its marks and fixes on the left; on the right what the
review came to, the findings, and the drawing and the exposure at the step where the cursor is. It is served to this
machine alone, by an address that is good once, and asks for nothing elsewhere. The plan's file is written when it is
saved, and no other. End it with Ctrl+C.

It checks what a plan says, not what is in the field, and defers to the employer's rules, local codes, a qualified
person's judgement and a licensed engineer's calculation."""
LIBRARIES = ("pygls", "lsprotocol", "websockets", "rocher")


def add(commands: Subcommands) -> None:
    """The command's arguments."""
    desk = commands.add_parser(
        "desk",
        help="a page to write a plan on, for those without an editor",
        description=DESCRIPTION,
    )
    desk.add_argument("plan", metavar="PLAN", help="a plan (.tpg, or Markdown with fenced plans)")
    desk.add_argument(
        "--port", type=whole_number, default=0, metavar="N", help="the port of this machine (default: a free one)"
    )
    desk.add_argument("--no-browser", action="store_true", help="print the address and open no browser")
    day_option(desk)
    book_options(desk)
    desk.set_defaults(run=run)


def run(args: argparse.Namespace) -> int:
    """Serve the page until it is ended."""
    import asyncio
    import logging

    path = _plan(args.plan)
    try:
        import rocher

        from groundlint.desk.plan_file import NotOpenedError, PlanFile
        from groundlint.desk.sitting import Sitting, listening
    except ModuleNotFoundError as error:
        if (error.name or "").partition(".")[0] not in LIBRARIES:
            raise
        raise UsageError("desk: the page needs more libraries: pip install 'groundlint[desk]'") from None
    from groundlint.commands.serve import ServingDesk
    from groundlint.text.decode import visible_name

    file = PlanFile(path)
    try:
        file.load()
    except NotOpenedError as error:
        raise UsageError(f"{args.plan}: {error}") from None
    try:
        door = listening(args.port)
    except OverflowError:
        raise UsageError(f"--port {args.port}: write a number from 0 to 65535") from None
    except OSError as error:
        raise UsageError(f"--port {args.port}: {reason(error)}") from None

    def opened(address: str) -> None:
        print(f"{visible_name(args.plan)} is open at\n{address}\n(good once; end with Ctrl+C)", flush=True)
        if not args.no_browser:
            import webbrowser

            asyncio.get_running_loop().run_in_executor(None, webbrowser.open, address)

    logger = logging.getLogger("groundlint.desk")
    for one in (logger, logging.getLogger("pygls")):  # what goes wrong is said on the page
        one.addHandler(logging.NullHandler())
        one.propagate = False
    desk = ServingDesk(tuple(args.book), tuple(args.books_in), args.as_of, None if args.no_cache else users_cache())
    desk.start()
    try:
        asyncio.run(Sitting(file, desk, version(), logger).run(door, Path(rocher.path()), opened))
    except KeyboardInterrupt:
        print("ended")
    return OK


def _plan(name: str) -> Path:
    """The plan's file, as far as its name says that it is one."""
    path = Path(name)
    if path.suffix.lower() in (WORD, *OTHER_DOCUMENTS):
        hint = "`groundlint review PLAN.docx --comments OUT.docx` puts its findings into it"
        raise UsageError(f"{name}: a word processor's document is not written here; {hint}")
    if path.is_dir():
        raise UsageError(f"{name}: this is a folder; desk takes one plan")
    if path.suffix.lower() not in TEXTS:
        raise UsageError(f"{name}: desk takes a plan whose name ends in {', '.join(TEXTS)}")
    return path.absolute()
