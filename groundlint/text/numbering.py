"""Numbers of steps, as procedures have them: `4.`, `4a.`, `4)`, `4:`, `4`, `Step 4.`, `3.2.1`, `3.2.1.` or `2.a`."""

from __future__ import annotations

import re
from typing import Final

_LEVELS = r"(?:\.(?:[0-9]{1,6}|[a-z])){1,5}"
WRITTEN: Final = rf"(?:[Ss]tep[ \t]+)?[0-9]{{1,6}}[a-z]?(?:(?:[.):]|{_LEVELS}[a-z]?[.):]?)(?=\s|$)|(?=[ \t]+[A-Za-z]))"
"""How the number stands before its step. One of a single level ends in a mark, or a word follows it."""
_STEP: Final = re.compile(r"[Ss]tep[ \t]+")


def bare(written: str) -> str:
    """A number without the mark that it may end in, and the word that may stand before it."""
    return _STEP.sub("", written).rstrip(".):")


def order_of(number: str) -> tuple[int, ...]:
    """What numbers are put in order by: 4, 4a, 4b, 4.1, 4.1.1, 4.2, 5."""
    order: list[int] = []
    for dot, digits, letter in re.findall(r"(\.?)(?:([0-9]+)|([a-z]))", number):
        order += [int(digits)] if digits else [ord(letter) - 96] if dot else [0, ord(letter) - 96]
    return tuple(order)
