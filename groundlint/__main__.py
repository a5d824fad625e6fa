"""The command, and ``python -m groundlint``: from here on Ctrl+C gives a line and no traceback."""

import os
import signal
import sys


def main() -> int:
    """Run the command; the exit status."""
    usual = signal.default_int_handler
    heeded = signal.getsignal(signal.SIGINT) is usual
    if heeded:  # not where a shell has it ignored, as in the background
        signal.signal(signal.SIGINT, _stop)
    from groundlint.cli import main as command

    if heeded:
        signal.signal(signal.SIGINT, usual)
    return command()


def _stop(*_: object) -> None:
    """End while modules are imported, where an exception would come out as one of the import."""
    try:
        os.write(2, b"groundlint: stopped\n")
    finally:
        os._exit(3)


if __name__ == "__main__":
    sys.exit(main())
