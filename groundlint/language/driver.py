"""Runs the parser's own tables over one statement, straight to the lowering's values.

The tables are those that lark builds from the grammar; what differs is the loop and the lexer. A statement is short, so
making a lexer's and a parser's state, positions by line, tokens and lists of filtered children for each would cost
several times what reading it does; and a contextual lexer compiles one large expression a parser state, which costs a
command that starts more than all the rest of reading. Here a word is looked up: it is the keyword of the highest
priority that the state takes, or a name. Everything else is matched by its terminal's own expression.

How a statement is read follows from its text alone, so that it is kept for the next that says the same.

The tables hold plain data, so that they can be kept between runs and a sound plan is read without importing lark. A
statement that does not parse is given to lark itself, whose error tells what could have stood there; the tests hold
both to the same answers.
"""

from __future__ import annotations

import re
from collections.abc import Callable
from typing import TYPE_CHECKING, Any, NamedTuple

from groundlint.language.lower import Lowering

if TYPE_CHECKING:
    from lark import Lark

_CHUNK = re.compile(r'[ \t,]*(?:(?:and|the)(?![\w-])[ \t,]*)*([^\s,()":]*)', re.IGNORECASE).match
_WORD = re.compile(r"[^\W\d_][^\W\d_]*(?:[-/][^\W\d_]+)*").fullmatch
_NEXT = re.compile(r"[ \t]+(?:the[ \t]+)?([^\W\d_]+(?:[-/][^\W\d_]+)*)", re.IGNORECASE).match
_BREAK = re.compile(r"[^\w-]").finditer
"""Where a word of the language may end."""


class Failed(Exception):  # noqa: N818  (no error of the program's: the statement does not parse)
    """The statement does not parse."""


class Rule(NamedTuple):
    """What a rule takes off the stacks: how many, which children with which spread out, and where to go on."""

    size: int
    keep: tuple[tuple[int, bool], ...]
    origin: str


class _Reduce(NamedTuple):
    """A rule with its callback, as callback, size and children kept; None for one whose children are spread out."""

    move: tuple[Callable[[list[Any]], Any] | None, int, tuple[tuple[int, bool], ...]]
    size: int
    origin: str


class Tables(NamedTuple):
    """A parser as plain data.

    ``shifts`` and ``reductions`` by state and symbol; ``order`` the terminals of each state, the first that matches
    winning; ``words`` the terminals of each word; ``longer`` for a word that begins a terminal of several, the words
    that may follow; ``heads`` the terminals that begin with a word; ``patterns`` the expression of each terminal.
    """

    start: int
    end: int
    shifts: dict[int, dict[str, int]]
    reductions: dict[int, dict[str, Rule]]
    order: dict[int, tuple[str, ...]]
    words: dict[str, frozenset[str]]
    longer: dict[str, frozenset[str]]
    heads: dict[str, frozenset[str]]
    patterns: dict[str, str]
    ignored: frozenset[str]


def tables_of(lark: Lark) -> Tables:
    """The tables of a parser made by lark with LALR, a contextual lexer, and without a transformer."""
    from groundlint.language.spellings import spellings

    parser, lexer = lark.parser.parser, lark.parser.lexer
    table = parser.parser.parse_table
    shifts: dict[int, dict[str, int]] = {}
    reductions: dict[int, dict[str, Rule]] = {}
    made: dict[Any, Rule] = {}
    for state, actions in table.states.items():
        here, there = shifts.setdefault(state, {}), reductions.setdefault(state, {})
        for token, (action, target) in actions.items():
            symbol = str(token)  # lark's own strings compare slowly
            if action.name == "Shift":
                here[symbol] = target
            else:
                if target not in made:
                    keep = tuple(
                        (at, not part.is_term and part.name.startswith("_"))
                        for at, part in enumerate(target.expansion)
                        if not (part.is_term and part.filter_out)
                    )
                    made[target] = Rule(len(target.expansion), keep, str(target.origin.name))
                there[symbol] = made[target]
    words: dict[str, set[str]] = {}
    longer: dict[str, set[str]] = {}
    heads: dict[str, set[str]] = {}
    patterns: dict[str, str] = {}
    for terminal in lark.terminals:
        patterns[str(terminal.name)] = terminal.pattern.to_regexp()
        if (
            terminal.name in LEXED_BY_SHAPE
            or terminal.pattern.type != "re"
            or r"(?![\w-])" not in terminal.pattern.value
        ):
            continue
        every = list(spellings(terminal.pattern.value))
        if "[- ]" in terminal.pattern.value:  # the words are read with the hyphen; a blank may stand there too
            every += [spelling.replace("-", " ") for spelling in every]
        for spelling in every:
            first, _, rest = spelling.lower().partition(" ")
            heads.setdefault(first, set()).add(str(terminal.name))
            if rest:
                longer.setdefault(first, set()).add(rest.partition(" ")[0])
            else:
                words.setdefault(first, set()).add(str(terminal.name))
    return Tables(
        table.start_states["start"],
        table.end_states["start"],
        shifts,
        reductions,
        {state: tuple(str(t.name) for t in each.terminals) for state, each in lexer.lexers.items()},
        _frozen(words),
        _frozen(longer),
        _frozen(heads),
        patterns,
        frozenset(map(str, lark.parser.lexer_conf.ignore)),
    )


def _frozen(sets: dict[str, set[str]]) -> dict[str, frozenset[str]]:
    return {key: frozenset(names) for key, names in sets.items()}


KEPT, LONGEST = 20_000, 40
"""Words whose meaning in a parser's state is kept, at most, and the longest of them."""
STATEMENTS, SHORT = 4_000, 200
"""Statements of which it is kept how they are read, at most, and characters of one: a plan that was edited has most of
them again."""
_CAREFUL = frozenset({"awg", "x"})
"""Words that the number after them makes what they are: in `6 ft x 5/8 in`, but not in `phases X Y Z`."""
_MARKS = frozenset({"_LPAR", "_RPAR", "_COLON"})
LEXED_BY_SHAPE = frozenset(
    {"NAME", "RANGE", "STRING", "DATE", "NUMBER", "QUANTITY", "WIRESIZE", "GRADE", "BUNDLE", "STRANDING"}
)
"""Terminals that are no words; `AWG 2` is the one wire size that begins with a word."""


class Driver:
    """One statement at a time; `parse` returns what the lowering makes of it."""

    def __init__(self, tables: Tables, lowering: Lowering) -> None:
        self.leaf = lowering.leaf
        self.start, self.end = tables.start, tables.end
        self.shifts = tables.shifts
        self.tables = tables
        self.words = tables.words
        self.longer = tables.longer
        self.worded: frozenset[str] = frozenset().union(*tables.heads.values())
        self.reductions: dict[int, dict[str, _Reduce]] = {}
        self.known: dict[tuple[int, str], str] = {}
        self.read: dict[str, tuple[list[tuple[Any, int, Any]], bool]] = {}
        # Few words of the language begin with a digit, as `3-phase` does, and none with a mark.
        numbered = {name for word, names in tables.words.items() if word[:1].isdigit() for name in names}
        shaped = LEXED_BY_SHAPE | _MARKS | tables.ignored | numbered
        self.shapes = {state: tuple(name for name in order if name in shaped) for state, order in tables.order.items()}
        self._expressions: dict[str, Callable[[str, int], re.Match[str] | None]] = {}
        kept: dict[Rule, _Reduce] = {}
        for state, rules in tables.reductions.items():
            here = self.reductions[state] = {}
            for symbol, rule in rules.items():
                if rule not in kept:
                    callback = None if rule.origin.startswith("_") else lowering.callbacks[rule.origin]
                    kept[rule] = _Reduce((callback, rule.size, rule.keep), rule.size, rule.origin)
                here[symbol] = kept[rule]

    def _match(self, terminal: str, text: str, at: int) -> re.Match[str] | None:
        match = self._expressions.get(terminal)
        if match is None:
            match = self._expressions[terminal] = re.compile(self.tables.patterns[terminal]).match
        return match(text, at)

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
        order = self.tables.order[state]
        if not chunk[:1].isalpha():
            order = self.shapes[state]
        elif _WORD(chunk):
            word = chunk.lower()
            follows = self.longer.get(word)
            if follows is not None:
                after = _NEXT(text, end)
                if after is None or after[1].lower() not in follows:
                    follows = None
            if follows is None and word not in _CAREFUL:
                names = self.words.get(word)
                if names is not None:
                    for terminal in order:
                        if terminal in names:
                            return self._keep(state, chunk, terminal), start, end
                if "NAME" in order and "/" not in chunk:
                    return self._keep(state, chunk, "NAME"), start, end
                raise Failed
        for terminal in self._possible(order, chunk):
            matched = self._match(terminal, text, start)
            if matched is not None:
                break
        else:
            raise Failed
        if terminal in self.tables.ignored:
            if matched.end() <= at:
                raise Failed
            return self.next(state, text, matched.end())
        if terminal == "NAME" and matched.end() == end and chunk[:1].isalpha() and not _WORD(chunk):
            self._keep(state, chunk, terminal)
        return terminal, start, matched.end()

    def _possible(self, order: tuple[str, ...], chunk: str) -> list[str]:
        """The terminals that may begin with a chunk of text: of words those of its own, as far as a word can end in it.
        Each that is left out is an expression that need not be compiled."""
        ends = [one.start() for one in _BREAK(chunk)] + [len(chunk)]
        words = {name for end in ends for name in self.tables.heads.get(chunk[:end].lower(), ())}
        return [terminal for terminal in order if terminal in words or terminal not in self.worded]

    def _keep(self, state: int, chunk: str, terminal: str) -> str:
        """Keeps what a word is in a state where what follows it can't change that, as no terminal that begins with it
        goes on after a blank."""
        if chunk.lower() not in self.longer and chunk.lower() not in _CAREFUL and len(chunk) <= LONGEST:
            if len(self.known) >= KEPT:
                self.known.clear()
            self.known[state, chunk] = terminal
        return terminal

    def parse(self, text: str) -> Any:
        """The lowering's value of a statement, None where a token was refused; raises `Failed` where it does not
        parse."""
        found = self.read.get(text)
        if found is None:
            found = self._moves(text)
            if len(self.read) >= STATEMENTS:
                self.read.clear()
            if len(text) <= SHORT:
                self.read[text] = found
        moves, whole = found
        values: list[Any] = []
        children: list[Any]
        leaf = self.leaf
        for one, size, keep in moves:
            if one.__class__ is str:  # a token, from `size` to `keep`
                if one[0] == "_":
                    values.append(None)
                    continue
                node = leaf(one, text[size:keep], size)
                if node is None:
                    return None
                values.append(node)
                continue
            if size == 1:
                children = [values[-1]] if keep else []
                if keep and keep[0][1]:
                    children = values[-1]
                values.pop()
            elif size:
                taken = values[-size:]
                del values[-size:]
                children = []
                for place, spread in keep:
                    if spread:
                        children += taken[place]
                    else:
                        children.append(taken[place])
            else:
                children = []
            values.append(children if one is None else one(children))
        if not whole:
            raise Failed
        return values[-1]

    def _moves(self, text: str, named: frozenset[int] = frozenset()) -> tuple[list[tuple[Any, int, Any]], bool]:
        """What the parser does to read a statement, wherever that stands: each token, as terminal, start and end, and
        each rule, as callback, size and children kept. False where the statement does not go on from there.

        A word with a capital that can't stand where it does is a name, as in ``brief Rook Crane``; so is one in
        capitals, as in ``untag SW41 TIE``, unless all is. ``named`` has where such words begin."""
        moves: list[tuple[Any, int, Any]] = []
        states = [self.start]
        shifts, reductions, step = self.shifts, self.reductions, self.next
        at, state, end_state = 0, self.start, self.end
        while True:
            try:
                terminal, start, at = step(state, text, at)
            except Failed:
                return moves, False
            if start in named:
                terminal = "NAME"
            while True:
                target = shifts[state].get(terminal)
                if target is not None:
                    states.append(target)
                    state = target
                    moves.append((terminal, start, at))
                    break
                reduction = reductions[state].get(terminal)
                if reduction is None:
                    large = text[start : start + 1].isupper() and (text[start:at].istitle() or not text.isupper())
                    if start not in named and large and _WORD(text[start:at]):
                        other = self._moves(text, named | {start})
                        if other[1]:
                            return other
                    return moves, False
                size = reduction.size
                moves.append(reduction.move)
                if size:
                    del states[-size:]
                state = shifts[states[-1]][reduction.origin]
                states.append(state)
                if state == end_state and terminal == "$END":
                    return moves, True
