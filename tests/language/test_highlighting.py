"""Highlighting says of each word what the language itself says of it, as far as a word alone can tell."""

from __future__ import annotations

import json
import re
import tomllib
from collections.abc import Iterator
from importlib.metadata import EntryPoint
from pathlib import Path

import pytest
from pygments.token import Comment, Error, Keyword, Literal, Name, Number, Punctuation, String, _TokenType

import groundlint.language
from groundlint.language import reader
from groundlint.language.highlighting import SCOPES, patterns, textmate_grammar
from groundlint.language.pygments_lexer import TOKENS, PlanLexer
from groundlint.text import Source

FOLDER = Path(groundlint.language.__file__).parent
EXAMPLES = sorted((Path(__file__).parents[2] / "examples").rglob("*.tpg"))
GRAMMAR = json.loads((FOLDER / "plan.tmLanguage.json").read_text("utf-8"))
OF = {
    "_LPAR": Punctuation,
    "_RPAR": Punctuation,
    "_COLON": Punctuation,
    "STRING": String.Double,
    "DATE": Literal.Date,
    "WIRESIZE": Number,
    "QUANTITY": Number,
    "NUMBER": Number,
    "RANGE": Name,
}
WORDS = dict(patterns())["word"]


def pygments_tokens(text: str) -> Iterator[tuple[int, int, _TokenType]]:
    for at, kind, value in PlanLexer().get_tokens_unprocessed(text):
        yield at, at + len(value), kind


def textmate_tokens(text: str) -> Iterator[tuple[int, int, _TokenType]]:
    """As an editor reads a line: of all patterns the one that matches first, of several there the first; a blank
    between matches has no scope."""
    kinds = {f"{scope}.groundlint": TOKENS[kind] for kind, scope in SCOPES.items()}
    rules = [(kinds[rule["name"]], re.compile(rule["match"])) for rule in GRAMMAR["patterns"]]
    start = 0
    for line in text.split("\n"):
        at = 0
        while True:
            found = [
                (match.start(), order) for order, (_, rule) in enumerate(rules) if (match := rule.search(line, at))
            ]
            if not found:
                break
            where, order = min(found)
            kind, rule = rules[order]
            match = rule.match(line, where)
            assert match is not None
            yield start + where, start + match.end(), kind
            at = match.end()
        start += len(line) + 1


def read_by_the_language(text: str) -> Iterator[tuple[int, str, str]]:
    """Each token that the parser reads, with its place and terminal, and each comment and step number."""
    lines, _ = reader._lines(Source("plan.tpg", text), text, [])
    for line in lines:
        if line.number_span is not None:
            yield line.number_span.start, "step", line.number_span.text
        parser = reader._parser().lark.parse_interactive(line.text, start="start")
        for token in parser.iter_parse():
            yield line.start + token.start_pos, token.type, str(token)
    at = 0
    for raw in text.split("\n"):
        code, comment = reader._split_comment(raw)
        if comment is not None:
            yield at + len(code), "comment", raw[len(code) :]
        at += len(raw) + 1


def wanted(terminal: str, word: str) -> tuple[_TokenType, ...]:
    if terminal in ("step", "comment"):
        return (TOKENS[terminal],)
    if terminal == "NAME":
        if word.isdigit():
            return (Number,)
        return (Keyword,) if re.fullmatch(WORDS, word) else (Name,)
    if terminal == "GRADE":
        return (Number, Name)
    return (OF.get(terminal, Keyword),)


@pytest.mark.parametrize("tokens", [pygments_tokens, textmate_tokens])
@pytest.mark.parametrize("path", EXAMPLES, ids=[path.stem for path in EXAMPLES])
def test_each_token_is_what_the_language_reads(path: Path, tokens: object) -> None:
    text = path.read_text("utf-8")
    kinds: dict[int, _TokenType] = {}
    for start, end, kind in tokens(text):  # type: ignore[operator]
        kinds.update(dict.fromkeys(range(start, end), kind))
    assert all(text[at].isspace() for at in range(len(text)) if at not in kinds)
    assert Error not in kinds.values()
    wrong = [
        (text.count("\n", 0, at) + 1, word, terminal, kinds.get(at))
        for at, terminal, word in read_by_the_language(text)
        if kinds.get(at) not in wanted(terminal, word)
    ]
    assert wrong == []


def test_the_grammar_for_editors_is_that_of_the_language() -> None:
    again = "from groundlint.language.highlighting import textmate_grammar; print(textmate_grammar(), end='')"
    written = (FOLDER / "plan.tmLanguage.json").read_text("utf-8")
    assert written == textmate_grammar(), f'python -c "{again}" > plan.tmLanguage.json'


def test_pygments_finds_the_lexer_by_the_entry_point() -> None:
    project = tomllib.loads((Path(__file__).parents[2] / "pyproject.toml").read_text("utf-8"))["project"]
    (name, place), *others = project["entry-points"]["pygments.lexers"].items()
    assert others == []
    assert EntryPoint(name, place, "pygments.lexers").load() is PlanLexer
    assert PlanLexer.filenames == ["*.tpg"]


def test_a_comment_and_a_wire_size_begin_alike() -> None:
    text = "# all\nwires A B C #2 copper # 2 of them\n"
    found = {text[start:end]: kind for start, end, kind in pygments_tokens(text)}
    assert found["# all"] is found["# 2 of them"] is Comment.Single
    assert found["#2"] is Number
