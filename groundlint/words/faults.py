"""A fault of the program's own, as who meets it can report it."""

from __future__ import annotations

from pathlib import Path


def fault(error: BaseException) -> str:
    """A fault in a few words, with the place in the program."""
    trace = error.__traceback__
    while trace is not None and trace.tb_next is not None:
        trace = trace.tb_next
    place = f" at {Path(trace.tb_frame.f_code.co_filename).name}:{trace.tb_lineno}" if trace is not None else ""
    return f"{type(error).__name__}{place}: {error}"
