"""A Pygments lexer for plan files. Pygments is no dependency of groundlint: it finds this by the entry point
``pygments.lexers`` where both are installed."""

from __future__ import annotations

from typing import ClassVar

from pygments.lexer import RegexLexer
from pygments.token import Comment, Keyword, Literal, Name, Number, Punctuation, String, Whitespace, _TokenType

from groundlint.language.highlighting import patterns

TOKENS: dict[str, _TokenType] = {
    "comment": Comment.Single,
    "string": String.Double,
    "step": Name.Label,
    "date": Literal.Date,
    "size": Number,
    "quantity": Number,
    "word": Keyword,
    "range": Name,
    "number": Number,
    "name": Name,
    "mark": Punctuation,
}
"""The token of Pygments for each kind of text."""


class PlanLexer(RegexLexer):
    """Highlights a plan by the language's own words."""

    name = "groundlint plan"
    aliases: ClassVar[list[str]] = ["tpg", "groundlint"]
    filenames: ClassVar[list[str]] = ["*.tpg"]
    tokens: ClassVar[dict[str, list[tuple[str, _TokenType]]]] = {
        "root": [*((pattern, TOKENS[kind]) for kind, pattern in patterns()), (r"\n|[^\S\n]+", Whitespace)],
    }
