"""Runs the parser's own tables over one statement, straight to the lowering's values.

The tables are those that lark builds from the grammar; what differs is the loop. A statement is short, so making a
lexer's and a parser's state, positions by line, tokens and lists of filtered children for each would cost several
times what reading it does. Here a token becomes a node when it is shifted, and what a word is in a parser's state is
looked up where it was met in that state before. A statement that does not parse is given to lark itself, whose error
tells what could have stood there; the tests hold both to the same answers.
"""

from __future__ import annotations

import re
from collections.abc import Callable
from typing import TYPE_CHECKING, Any, NamedTuple

from groundlint.language.lower import Lowering
from groundlint.language.spellings import spellings

if TYPE_CHECKING:
    from lark import Lark

_CHUNK = re.compile(r'[ \t,]*(?:(?:and|the)(?![\w-])[ \t,]*)*([^\s,()":]*)', re.IGNORECASE).match
KEPT = 20_000
"""Words whose meaning in a parser's state is kept, at most."""
LONGEST = 40
"""Only words of at most this many characters are kept."""


class Failed(Exception):  # noqa: N818  (no error of the program's: the statement does not parse)
    """The statement does not parse."""


class _Reduce(NamedTuple):
    """What a rule takes off the stacks: how many, which children with which spread out, whose callback, and where to
    go on."""

    size: int
    keep: tuple[tuple[int, bool], ...]
    callback: Callable[[list[Any]], Any] | None
    origin: str


class Driver:
    """One statement at a time; `parse` returns what the lowering makes of it."""

    def __init__(self, lark: Lark, lowering: Lowering) -> None:
        """From a parser made by lark with LALR, a contextual lexer, and without a transformer."""
        parser, lexer = lark.parser.parser, lark.parser.lexer
        table = parser.parser.parse_table
        self.leaf = lowering.leaf
        self.start, self.end = table.start_states["start"], table.end_states["start"]
        self.lexers = lexer.lexers
        self.ignored = frozenset(lark.parser.lexer_conf.ignore)
        self.shifts: dict[int, dict[str, int]] = {}
        self.reductions: dict[int, dict[str, _Reduce]] = {}
        self.known: dict[tuple[int, str], str] = {}
        # A word that begins a terminal of several words may be taken together with what follows it.
        self.longer = frozenset(
            {"awg"}
            | {
                word.partition(" ")[0].lower()
                for terminal in lark.terminals
                if terminal.name.isupper() and r"\s" in terminal.pattern.value and not terminal.name.startswith("__")
                for word in spellings(terminal.pattern.value)
                if " " in word or "(?=" in terminal.pattern.value
            }
        )
        made: dict[Any, _Reduce] = {}
        for state, actions in table.states.items():
            shifts, reductions = self.shifts.setdefault(state, {}), self.reductions.setdefault(state, {})
            for token, (action, target) in actions.items():
                symbol = str(token)  # lark's own strings compare slowly
                if action.name == "Shift":
                    shifts[symbol] = target
                else:
                    if target not in made:
                        made[target] = self._reduction(target, lowering)
                    reductions[symbol] = made[target]

    @staticmethod
    def _reduction(rule: Any, lowering: Lowering) -> _Reduce:
        name = str(rule.origin.name)
        keep = tuple(
            (at, not symbol.is_term and symbol.name.startswith("_"))
            for at, symbol in enumerate(rule.expansion)
            if not (symbol.is_term and symbol.filter_out)
        )
        callback = None if name.startswith("_") else lowering.callbacks[name]
        return _Reduce(len(rule.expansion), keep, callback, name)

    def next(self, state: int, text: str, at: int) -> tuple[str, int, int]:
        """Terminal, start and end of the token at ``at``; ``$END`` at the end of the text."""
        found = _CHUNK(text, at)
        assert found is not None  # the pattern matches nothing too
        start, end = found.span(1)
        chunk = text[start:end]
        terminal = self.known.get((state, chunk))
        if terminal is not None:
            return terminal, start, end
        if start == len(text):
            return "$END", start, start
        for pattern in self.lexers[state].scanner._mres:
            matched = pattern.match(text, start)
            if matched:
                break
        else:
            raise Failed
        terminal = str(matched.lastgroup)
        if terminal in self.ignored:
            if matched.end() <= at:
                raise Failed
            return self.next(state, text, matched.end())
        if (
            matched.end() == end
            and len(chunk) <= LONGEST
            and (chunk[:1].isalpha() or chunk[:1] == "_")
            and chunk.lower() not in self.longer
        ):
            if len(self.known) >= KEPT:
                self.known.clear()
            self.known[state, chunk] = terminal
        return terminal, start, matched.end()

    def parse(self, text: str) -> Any:
        """The lowering's value of a statement, None where a token was refused; raises `Failed` where it does not
        parse."""
        states = [self.start]
        values: list[Any] = []
        children: list[Any]
        shifts, reductions, step, leaf = self.shifts, self.reductions, self.next, self.leaf
        at, state, end_state = 0, self.start, self.end
        while True:
            terminal, start, at = step(state, text, at)
            while True:
                target = shifts[state].get(terminal)
                if target is not None:
                    states.append(target)
                    state = target
                    if terminal[0] == "_":
                        values.append(None)
                    else:
                        node = leaf(terminal, text[start:at], start)
                        if node is None:
                            return None
                        values.append(node)
                    break
                reduction = reductions[state].get(terminal)
                if reduction is None:
                    raise Failed
                size, keep, callback, origin = reduction
                if size == 1:
                    children = [values[-1]] if keep else []
                    if keep and keep[0][1]:
                        children = values[-1]
                    values.pop()
                    states.pop()
                elif size:
                    taken = values[-size:]
                    del values[-size:], states[-size:]
                    children = []
                    for place, spread in keep:
                        if spread:
                            children += taken[place]
                        else:
                            children.append(taken[place])
                else:
                    children = []
                values.append(children if callback is None else callback(children))
                state = shifts[states[-1]][origin]
                states.append(state)
                if state == end_state and terminal == "$END":
                    return values[-1]
