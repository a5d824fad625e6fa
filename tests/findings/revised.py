"""Edits of a plan's text, which revisions are made with."""

from __future__ import annotations

import re
from collections.abc import Callable

Edit = Callable[[str], str]


def sub(pattern: str, by: str, count: int = 0) -> Edit:
    """A pattern replaced, which must be there."""

    def edit(text: str) -> str:
        made, number = re.subn(pattern, by, text, count=count, flags=re.MULTILINE)
        assert number, pattern
        return made

    return edit
