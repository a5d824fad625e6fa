"""The words that a keyword of the grammar stands for, read off its pattern: the main spelling first, then its
synonyms."""

from __future__ import annotations

import re
from functools import cache


@cache
def spellings(pattern: str) -> tuple[str, ...]:
    """The words that a keyword's pattern stands for, main spelling first."""
    body = pattern.split("(?!")[0]
    words = [""]
    for piece in _pieces(body):
        words = [w + p for w in words for p in piece]
    return tuple(dict.fromkeys(re.sub(r"\s+", " ", w).strip() for w in words))


def _pieces(body: str) -> list[list[str]]:
    """A pattern of letters, groups, ``\\s+`` and ``?`` as alternatives in a row; optional parts give both."""
    out: list[list[str]] = []
    at = 0
    while at < len(body):
        char = body[at]
        if char == "(":
            depth, end = 1, at + 1
            while depth:
                depth += {"(": 1, ")": -1}.get(body[end], 0)
                end += 1
            inner = body[at + 1 : end - 1]
            options = [w for part in _split_top(inner) for w in _expand(part)]
            at = end
        elif body.startswith(r"\s+", at):
            options, at = [" "], at + 3
        elif body.startswith(r"\/", at):
            options, at = ["/"], at + 2
        elif char == "[":
            end = body.index("]", at)
            inside = body[at + 1 : end]
            options, at = [inside[0] if "-" not in inside[1:-1] else inside], end + 1
        else:
            options, at = [char], at + 1
        if at < len(body) and body[at] == "?":
            options, at = ["", *options] if options != ["u"] else ["", "u"], at + 1
        out.append(options)
    return out


def _expand(part: str) -> list[str]:
    words = [""]
    for piece in _pieces(part):
        words = [w + p for w in words for p in piece]
    return words


def _split_top(inner: str) -> list[str]:
    parts, depth, start = [], 0, 0
    for at, char in enumerate(inner):
        depth += {"(": 1, ")": -1}.get(char, 0)
        if char == "|" and depth == 0:
            parts.append(inner[start:at])
            start = at + 1
    return [*parts, inner[start:]]
