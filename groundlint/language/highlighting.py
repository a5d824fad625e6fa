"""Highlighting of plan files, made of the grammar's own terminals: patterns in order, of which the first that matches
holds. Both the Pygments lexer and the TextMate grammar for editors are these patterns.

A terminal of the grammar stands where its statement lets it; here a word is what it would be anywhere, so that a name
which is spelled like a keyword is shown as one, a name of digits alone as a number, and of `240 A` the number alone.
"""

from __future__ import annotations

import re
from functools import cache

from groundlint.text.numbering import WRITTEN

SCOPES = {
    "comment": "comment.line.number-sign",
    "string": "string.quoted.double",
    "step": "entity.name.section",
    "date": "constant.other.date",
    "size": "constant.numeric.wire-size",
    "quantity": "constant.numeric.quantity",
    "word": "keyword.other",
    "range": "variable.other.range",
    "number": "constant.numeric",
    "name": "variable.other",
    "mark": "punctuation",
}
"""What a stretch of text can be, with the name that editors know it by."""

_START = r"(?<![\w.-])"
_COMMENTS = r"^[ \t]*#[^\n]*|#(?!(?:[0-9]{1,2}|[0-9]/0|0{2,4})(?![\w./-]))[^\n]*"
# `212 A` is a point of a line far oftener than a current
_NO_POINT = r"(?![0-9]+[ \t]+[A-Z](?![\w/^°·*'-]))"
_VALUES = {"DATE": "date", "WIRESIZE": "size", "QUANTITY": "quantity"}


@cache
def patterns() -> tuple[tuple[str, str], ...]:
    """Each kind of text with its pattern, in the order to be tried; case counts for units alone."""
    from groundlint.language.reader import grammar

    lines = re.findall(r"^([A-Z_]+)(?:\.[0-9])?: /(.*)/i?$", grammar(), re.MULTILINE)
    found = {name: pattern.replace(r"\/", "/") for name, pattern in lines}
    # the grade of a lead is a digit, and says nothing by itself; of two words and one, two come first
    words = [pattern for pattern in found.values() if re.match(r"\(*[a-z]", pattern)]
    words.sort(key=lambda pattern: (-pattern.count(r"\s+"), -len(pattern), pattern))
    return (
        ("comment", _COMMENTS),
        ("string", r'"[^"\n]*"'),
        ("step", rf"^[ \t]*{WRITTEN}"),
        *((kind, _START + _NO_POINT + found[name]) for name, kind in _VALUES.items()),
        ("word", f"{_START}(?i:{'|'.join(words)})"),
        ("range", found["RANGE"]),
        ("number", r"[0-9]+(?:\.[0-9]+)?(?![\w.-])"),
        ("name", found["NAME"]),
        ("mark", r"[():,/°#.-]"),
    )


def textmate_grammar() -> str:
    """The TextMate grammar as JSON, with its line end."""
    import json

    rules = [
        {"name": f"{SCOPES[kind]}.groundlint", "match": pattern.replace("(?ai:", "(?i:")}
        for kind, pattern in patterns()
    ]
    grammar = {
        "name": "groundlint plan",
        "scopeName": "source.groundlint",
        "fileTypes": ["tpg"],
        "patterns": rules,
    }
    return json.dumps(grammar, indent=2, ensure_ascii=False) + "\n"
