"""Reading one clause of the rule language with `rule.lark`; what can't be read becomes a `Mistake` with its place."""

from __future__ import annotations

import re
from functools import cache
from importlib.resources import files
from typing import NamedTuple, TypeAlias

from lark import Lark, Token, Tree
from lark.exceptions import UnexpectedCharacters, UnexpectedEOF, UnexpectedInput, UnexpectedToken

from groundlint.rulebook.layout import Layout, mistake
from groundlint.text import Diagnostic, Source, Span
from groundlint.text.near import nearest

DEEPEST_TEXT = 60
LONGEST_TEXT = 8000
STARTS = ("condition", "definition", "occasion", "things", "mark", "placeholder")
Branch: TypeAlias = "Tree[Token]"

_SAID = {
    "NAME": "a name",
    "NUMBER": "a number",
    "UNIT": "a unit",
    "SIGN": "a comparison (< <= > >= = !=)",
    "LPAR": "`(`",
    "RPAR": "`)`",
    "COLON": "`:`",
    "COMMA": "`,`",
    "QUANTIFIER": "`each`, `some`, `no`",
    "PLUS": "`+`",
    "MINUS": "`-`",
    "STAR": "`*`",
    "SLASH": "`/`",
    "$END": "the end of the clause",
}
_ARITHMETIC = frozenset({"PLUS", "MINUS", "STAR", "SLASH"})
_STARTING = frozenset({"_NOT", "NOT", "_ONCE", "_DID", "_ALWAYS"})
KEYWORDS = (
    "after", "always", "and", "at", "before", "by", "count", "did", "each", "earlier", "every", "exactly", "finally",
    "followed", "implies", "is", "known", "least", "means", "most", "names", "never", "no", "not", "of", "once", "or",
    "previously", "since", "some", "step", "steps", "time", "times", "to", "where", "within",
)  # fmt: skip
"""Words that nothing may be named by."""


class MistakeError(Exception):
    """A diagnostic on its way from deep in a clause to the reader of the clause, which keeps it as a value."""

    def __init__(self, diagnostic: Diagnostic) -> None:
        super().__init__(diagnostic.message)
        self.diagnostic = diagnostic


@cache
def parser() -> Lark:
    """The grammar, built once a process."""
    text = files("groundlint.language").joinpath("rule.lark").read_text(encoding="utf-8")
    return Lark(text, parser="lalr", start=list(STARTS), propagate_positions=True, maybe_placeholders=True)


def parse(layout: Layout, span: Span, start: str) -> tuple[Branch, Phrase]:
    """Read a stretch of a file as ``start``; raises `MistakeError` where it can't be."""
    return parse_text(layout.source, span, layout.clean[span.start : span.end], start)


def parse_text(source: Source, span: Span, text: str, start: str) -> tuple[Branch, Phrase]:
    """Read ``text``, which stands at ``span``, as ``start``."""
    phrase = Phrase(source, span.start, len(text))
    if not text.strip():
        raise MistakeError(mistake("empty-clause", span, f"nothing stands here; {_wanted(start)} should"))
    if len(text) > LONGEST_TEXT:
        raise MistakeError(
            mistake("too-long", span, f"longer than {LONGEST_TEXT} characters; name a part of it with `condition`")
        )
    try:
        tree = parser().parse(text, start=start)
    except UnexpectedInput as error:
        raise MistakeError(_explain(error, phrase, text)) from None
    if _depth(tree) > DEEPEST_TEXT:
        raise MistakeError(
            mistake("too-deep", span, f"nested more than {DEEPEST_TEXT} deep; name a part of it with `condition`")
        )
    if isinstance(tree, Token):  # a rule that passes a lone terminal through; none does today
        tree = Tree(start, [tree])
    return tree, phrase


class ClauseWord(NamedTuple):
    """A word of a clause, and its terminal in the grammar; no word has an empty one."""

    type: str
    text: str


class Begun(NamedTuple):
    """A clause that is being written: its words so far, and the keywords and whether a name can stand next."""

    words: tuple[ClauseWord, ...]
    keywords: tuple[str, ...]
    name: bool


def begun(text: str, start: str) -> Begun | None:
    """A clause that is being written, read as ``start``; None where its words can't begin one."""
    reading = parser().parse_interactive(text, start=start)
    try:
        words = tuple(ClauseWord(token.type, str(token)) for token in reading.exhaust_lexer())
    except UnexpectedInput:
        return None
    accepted: set[str] = reading.accepts()  # type: ignore[no-untyped-call]
    patterns = [re.compile(one.pattern.to_regexp()) for one in parser().terminals if one.name in accepted - {"NAME"}]
    keywords = tuple(word for word in KEYWORDS if any(pattern.fullmatch(word) for pattern in patterns))
    return Begun(words, keywords, "NAME" in accepted)


def _depth(tree: Branch) -> int:
    """Levels of a tree, counted without recursion: a text can nest deeper than Python can call."""
    deepest, edge = 0, [tree]
    while edge:
        deepest += 1
        edge = [child for node in edge for child in node.children if isinstance(child, Tree)]
    return deepest


class Phrase:
    """Where a clause stands, to turn positions in it into spans of the file."""

    def __init__(self, source: Source, offset: int, length: int) -> None:
        self.source = source
        self.offset = offset
        self.length = length

    def span(self, node: Branch | Token) -> Span:
        """The stretch of the file that a node was read from."""
        if isinstance(node, Token):
            start, end = node.start_pos or 0, node.end_pos or 0
        elif node.meta.empty:
            start, end = 0, self.length
        else:
            start, end = node.meta.start_pos, node.meta.end_pos
        return self.source.span(self.offset + start, self.offset + end)


def _wanted(start: str) -> str:
    return {
        "condition": "a condition",
        "definition": "`NAME (x kind, ...) means` a condition",
        "occasion": "a kind of step, or `every step`",
        "things": "a name and a kind of thing",
        "mark": "`first` or `last` and a kind of step",
        "placeholder": "a name or a fact",
    }[start]


def _explain(error: UnexpectedInput, phrase: Phrase, text: str) -> Diagnostic:
    if isinstance(error, UnexpectedCharacters):
        at = error.pos_in_stream or 0
        word = text[at : at + 1]
        run = at
        while run < len(text) and not text[run].isspace() and text[run] not in '()":,':
            run += 1
        word = text[at : max(run, at + 1)]
        span = phrase.source.span(phrase.offset + at, phrase.offset + at + len(word))
        return mistake("unreadable-word", span, f"`{word}` is not a word of the rule language here{_spelling(word)}")
    ended = isinstance(error, UnexpectedEOF) or (isinstance(error, UnexpectedToken) and error.token.type == "$END")
    accepted = error.accepts or error.expected if isinstance(error, UnexpectedToken) else set(error.expected)  # type: ignore[attr-defined]
    options = _options(set(accepted))
    if ended:
        end = phrase.offset + len(text.rstrip())
        return mistake("cut-short", phrase.source.span(max(end - 1, phrase.offset), end), f"cut short: {options}")
    assert isinstance(error, UnexpectedToken)
    token = error.token
    words = [name.lstrip("_").lower() for name in accepted if name.isupper() and name not in _SAID]
    close = nearest(str(token), words, 0.7)
    hint = f"; did you mean `{close}`?" if close else _spelling(str(token))
    return mistake("unexpected-word", phrase.span(token), f"`{token}` cannot stand here: {options}{hint}")


def _spelling(word: str) -> str:
    """What is odd about how a word is written, if anything."""
    if any(letter.isupper() for letter in word):
        return "; names and words of rules are lower case"
    return "; words are joined by a hyphen" if "_" in word else ""


def _options(accepted: set[str]) -> str:
    """What could stand there, in words; long lists are cut down to what a reader would look for."""
    said: list[str] = []
    if accepted >= _STARTING - {"_NOT"} or len(accepted & _STARTING) > 2:
        said.append("a condition")
        accepted = accepted & {"RPAR", "$END"}
    if accepted & _ARITHMETIC == _ARITHMETIC:
        accepted = accepted - _ARITHMETIC
        said.append("arithmetic")
    keywords = sorted(name.lstrip("_").lower() for name in accepted if name not in _SAID)
    said += [_SAID[name] for name in sorted(accepted) if name in _SAID]
    said += [f"`{word}`" for word in keywords]
    return "expected " + (
        " or ".join([", ".join(said[:-1]), said[-1]]) if len(said) > 1 else said[0] if said else "more"
    )
