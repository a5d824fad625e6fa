"""The command: parser, streams and exit status. What it does is done elsewhere."""

from __future__ import annotations

import argparse
import os
import sys
from collections.abc import Callable, Iterable, Sequence
from importlib import import_module
from typing import Any

from groundlint.commands import NAMES
from groundlint.commands.common import EPILOG, FAILED, OK, UsageError, problem_text, version
from groundlint.text.decode import visible_name
from groundlint.text.files import reason
from groundlint.text.near import nearest


def main(argv: Sequence[str] | None = None) -> int:
    """Run the command; the exit status."""
    # The circuits are small: threads of the linear algebra wait for each other longer than they work, and twenty times
    # as long where every core has a plan of its own.
    for library in ("OPENBLAS_NUM_THREADS", "MKL_NUM_THREADS", "OMP_NUM_THREADS"):
        os.environ.setdefault(library, "1")
    if sys.stdout is None or sys.stderr is None:  # closed before we began
        if sys.stderr is not None:
            print("groundlint: standard output is closed, so nothing can be printed", file=sys.stderr)
        return FAILED
    for stream in (sys.stdout, sys.stderr):
        if hasattr(stream, "reconfigure"):
            stream.reconfigure(encoding="utf-8", errors="backslashreplace")
    words = sys.argv[1:] if argv is None else list(argv)
    if words[:1] == ["help"]:
        words = [*words[1:2], "--help"]
    try:
        status = _run(words)
        sys.stdout.flush()
        return status
    except UsageError as error:
        for problem in error.problems:
            print(problem_text(problem), file=sys.stderr)
        print(f"groundlint: {error}", file=sys.stderr)
        return FAILED
    except BrokenPipeError:
        _drop_output()
        return FAILED
    except OSError as error:  # of what is read or written, where that has said no more; else what is printed
        _drop_output()
        what = "it can't be printed" if error.filename is None else visible_name(os.fsdecode(error.filename))
        print(f"groundlint: {what}: {reason(error)}", file=sys.stderr)
        return FAILED
    except KeyboardInterrupt:
        print("groundlint: stopped", file=sys.stderr)
        return FAILED


def _run(words: Sequence[str]) -> int:
    parser = _parser(words[0] if words else "")
    try:
        args = parser.parse_args(words)
    except SystemExit as stop:  # argparse has said why; its own status for wrong usage is 2, which here is `not shown`
        return FAILED if stop.code else OK
    if args.version:
        print(f"groundlint {version()}")
        return OK
    if args.command is None:
        parser.print_help()
        return FAILED
    run: Callable[[argparse.Namespace], int] = args.run
    return run(args)


def _drop_output() -> None:
    """What is still to be written goes nowhere: the interpreter would complain of it when it ends."""
    try:
        os.dup2(os.open(os.devnull, os.O_WRONLY), sys.stdout.fileno())
    except (OSError, ValueError):
        return


class _Parser(argparse.ArgumentParser):
    """Of the whole and of each command: options are written out, and help stands as written if nothing else is said."""

    def __init__(self, **options: Any) -> None:
        usual: dict[str, Any] = {"formatter_class": argparse.RawDescriptionHelpFormatter, "allow_abbrev": False}
        super().__init__(**(usual | options))

    def parse_known_args(self, args: Any = None, namespace: Any = None) -> Any:
        """As usual; but an unknown option is reported by this command, and not by the whole."""
        found, rest = super().parse_known_args(args, namespace)
        for word in rest:
            name = word.partition("=")[0]
            if not word.startswith("-"):
                self.error(f"{word}: this is one more than can be given")
            self.error(f"{name}: there is no such option{_meant(name, self._option_string_actions)}")
        return found, rest

    def _print_message(self, message: str, file: Any = None) -> None:
        """As usual, but a text that can't be printed is an error."""
        (file or sys.stderr).write(message)

    def _check_value(self, action: argparse.Action, value: Any) -> None:
        if action.choices is not None and value not in action.choices:
            choices = [str(one) for one in action.choices]
            raise argparse.ArgumentError(action, f"{value} is not among {', '.join(choices)}{_meant(value, choices)}")


def _meant(word: object, among: Iterable[str]) -> str:
    near = nearest(str(word), among)
    return f"; did you mean {near}?" if near else ""


def _parser(first: str) -> argparse.ArgumentParser:
    """The parser, with all commands, or the one that the ``first`` argument names."""
    says = "Checks written plans for temporary protective grounds on overhead lines."
    parser = _Parser(prog="groundlint", description=says, epilog=EPILOG)
    parser.add_argument("--version", action="store_true", help="print the version")
    commands = parser.add_subparsers(
        dest="command", metavar="COMMAND", help="`groundlint help COMMAND` says more of it"
    )
    for name in (first,) if first in NAMES else NAMES:  # start-up does not grow with the number of commands
        import_module(f"groundlint.commands.{name}").add(commands)
    return parser
