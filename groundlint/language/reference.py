"""The reference of the plan language, made from the grammar's own rules, the statements' models and an example of each.

A form is read off the grammar: ``[...]`` may be left out, ``...`` may come again, ``|`` parts a choice, small letters
stand as they are, and capitals stand for something of the plan's own.
"""

from __future__ import annotations

import re
from collections.abc import Iterator
from dataclasses import MISSING, Field
from functools import cache
from importlib.resources import files
from typing import Any, get_args

from groundlint.language.lower import EXAMPLES, POSITIONAL, main_spelling
from groundlint.language.reader import MAX_LENGTH, MAX_STATEMENTS
from groundlint.language.spellings import spellings
from groundlint.language.statements import AnyStatement, Statement, clause_fields
from groundlint.text.decode import SIZE_LIMIT
from groundlint.values.units import LARGEST, UNITS

WORKED: dict[str, str] = {
    "plan": 'plan "Change out crossarm at structure 212"',
    "document": "document LP-0417 revision 3 dated 2026-03-02",
    "method": "method dual-point small neutral from pole",
    "caution": 'caution "underbuild on the west side of 213"',
    "emergency": 'emergency "call dispatch on channel 3; bring the injured down by hand line"',
    "follows": 'follows "29 CFR 1910.269(n)(6)(i)"',
    "use": 'use "register/leads.tpg"',
    "given": "given fault-current as current default 6.8 kA",
    "no_source": "no source but West Solar",
    "no_parallel": "no parallel line",
    "no_neighbour": "no live neighbour but Underbuild",
    "waive": 'waive your-rule for K1 because "the pole is fibreglass" by "line superintendent" until 2026-12-31',
    "no_grounds": 'no grounds because "line not yet strung to the switch" no contact possible, no induction',
    "part": "part 2 of 3",
    "begins": "begins with G1 from K1 to 212 A",
    "leaves": "leaves G1..G5 on under the clearance of L1",
    "line": "line Larkspur",
    "source": "source West utility beyond 211",
    "parallel": "parallel Birch beside 211 to 213 at 30 m",
    "neighbour": "neighbour Underbuild live 12.47 kV at 212 1.2 m from 212 A covered",
    "switch": "switch SW41 between West and 211 normally closed visible gap manual",
    "capacitor": "capacitor CB1 at 212",
    "cable": "cable UG1 from 212 to 213 by MH1 (60 m) MH2 (40 m) transfer of potential possible",
    "structure": "structure 211 212 wood pole footing 25 ohm pole ground 40 ohm guyed dead end",
    "soil": "soil 120 ohm m to 3 m then 400 ohm m",
    "surface": "surface gravel 3000 ohm m 0.1 m",
    "measured": "measured clamp-contact-resistance 0.2 mohm",
    "rod": "rod R1 R2 6 ft x 5/8 in inspected 2026-01-15",
    "bar": "bar K1 K2 tested 2026-01-15",
    "lead": "lead G1..G5 2/0 copper 25 ft grade 3 clamps C-type of grade 5 bodies bronze "
    "jaws serrated fit 2 AWG to 4/0 tested 2026-01-15 due 2027-01-15",
    "detector": "detector D1 for 5 kV to 40 kV contact tested 2026-01-15",
    "tester": "tester T1 due 2027-01-15",
    "stick": "stick H1 8 ft tested 2026-01-15",
    "rubber": "rubber gloves RG1 class 2 tested 2026-01-15",
    "loose_wire": "loose wire J1 25 ft",
    "mat": "mat M1",
    "vehicle": "vehicle V1 bucket truck insulated tested 2026-01-15",
    "crew": "crew Alder: lineman L1 L2 qualified, groundman M1",
    "voltage": "voltage 12.47 kV",
    "frequency": "frequency 60 Hz",
    "phases": "phases A B C",
    "neutral": "neutral N multigrounded carries the fault",
    "shield": "shield OGW1 OGW2",
    "wires": "wires A B C 2 x 954 kcmil acsr 18 in apart, N 0.563 in across acsr 0.592 ohm/mi at 50 C gmr 0.00814 ft",
    "route": "route 211 (52 m) 212 (48 m) 213",
    "spacing": "spacing crossarm-8ft",
    "place": "place A (-1.1 m, 10 m) B (0 m, 10.4 m) C (1.1 m, 10 m)",
    "altitude": "altitude 1200 m",
    "approach": "approach 2.14 ft",
    "current": "current 400 A",
    "residual": "residual 20 A",
    "fault": "fault 6.8 kA three-phase, 5.2 kA to ground, x/r 9",
    "power": "power 150 MVA, x/r 9",
    "impedance": "impedance positive 0.1 ohm reactance 1.0 ohm, zero 0.2 ohm reactance 2.5 ohm",
    "clears": "clears in 24 cycles",
    "relay": "relay ieee-very-inverse pickup 400 A dial 2.5 breaker 5 cycles",
    "reclosing": "reclosing on",
    "grounding": "grounding resonant",
    "through": "through SW41 SW42",
    "routine": "routine ground (structure S, rod R, bar K, leads a b c)",
    "stage": "stage ground",
    "brief": "brief L1 M1",
    "open": "open SW41, lock it and tag it, gap seen by L1",
    "close": "close SW41 by Birch",
    "tag": "tag SW41",
    "lock": "lock SW41",
    "untag": "untag SW41",
    "verify": "verify SW41 open",
    "block": "block reclosing on West",
    "unblock": "unblock reclosing on West",
    "disable": "disable control of SW41 and tag it",
    "tag_control": "tag control of SW41",
    "enable": "enable control of SW41",
    "clearance": "clearance Larkspur received by L1",
    "inspect": "inspect G1..G5",
    "prove": "prove D1 on T1",
    "test": "test 212 A B C with D1 on H1, finding dead",
    "clean": "clean 212 N A B C",
    "set": "set R2 at 212, 16 ft from the pole, 7 ft from R1, 6 ft deep",
    "barricade": "barricade R1 at 10 ft",
    "unbarricade": "unbarricade R1",
    "mount": "mount K1 at 212 below the feet",
    "dismount": "dismount K1",
    "attach": "attach G1 to K1, then to 212 A by H1",
    "detach": "detach G1 from 212 A by H1, then from K1",
    "bond": "bond V1 to R1 with G6 by hand",
    "bond_across": "bond across 212 A with G6 by H1",
    "unbond": "unbond V1 by hand",
    "enter": "enter L1 at 212 on the pole, reaching A B C pole",
    "move": "move L1 to 213 on V1, reaching nothing",
    "leave": "leave all",
    "work": 'work "change out crossarm" by L1 at 212 touching A B pole',
    "cut": "cut 212 A",
    "join": "join 212 A",
    "lift": 'lift G1 from 212 A by H1 for "phasing test" protected by "rubber gloves and cover-up"',
    "restore": "restore G1 to 212 A by H1",
    "hold": 'hold "until the foreman has looked over the grounds"',
    "cover": "cover Underbuild at 212 with B1 by L1",
    "uncover": "uncover Underbuild by L1",
    "gloves": "gloves on L1 with RG1 RS1",
    "wait": "wait 5 min",
    "do": "do ground (212 R1 K1 G1 G2 G3)",
    "repeat": "repeat ground (213 R2 K2 G4 G5 G6)",
    "undo": "undo ground at 212",
    "handle": "handle J1 by L1 touching 212 A",
    "stow": "stow J1",
    "downed": "downed 212 A",
    "string": "string 212 A B C",
    "park": "park V2 at 212",
    "certify": "certify grounds at 212 by L1",
    "shock": "shock L1",
    "replan": 'replan "the pole is cracked below the arm"',
    "disconnect": "disconnect capacitor CB1",
    "discharge": "discharge CB1 by H1",
    "pull": "pull R1 R2",
    "pause": "pause overnight",
    "spike": "spike UG1 at MH1",
    "note": 'note "the crew of Birch works at 230 today"',
}
"""An example of each kind, in canonical words."""

_GROUPS = (
    ("headers", "The plan as a whole"),
    ("things", "Things"),
    ("properties", "More about the line, source, parallel circuit or live neighbour above"),
    ("blocks", "Routines and stages"),
    ("steps", "Steps"),
)
_STANDS_FOR = {
    "NAME": "NAME", "RANGE": "NAME..NAME", "STRING": '"TEXT"', "DATE": "DATE", "NUMBER": "NUMBER",
    "QUANTITY": "QUANTITY", "BUNDLE": "NUMBER x", "STRANDING": "STRANDING",
    "WIRESIZE": "SIZE", "GRADE": "GRADE", "_LPAR": "(", "_RPAR": ")", "_COLON": ":",
    "names": "NAME ...", "name": "NAME", "ident": "NAME", "points": "POINT ...", "point_word": "POINT ...",
    "point": "POINT",
    "text": '"TEXT"', "title": '"TEXT"', "path": '"PATH"', "amount": "QUANTITY",
}  # fmt: skip
_ONE_THING = {
    "TAG_IT",
    "LOCK_IT",
    "DEAD_END",
    "GUYED",
    "POLE_GROUND",
    "NO_OTHER_SOURCE",
    "NO_NEIGHBOUR",
    "GAP_SEEN",
    "VISIBLE_GAP",
    "NOT_LOCATED",
}
_INTRO = """\
# The plan language

Made from the grammar that plans are read with.

One statement stands on a line; a line that ends in a comma goes on in the next. `#` begins a comment, after a blank
where a number follows (`#2` is a wire size). Commas, `and` and `the` are for the reader's ease and mean nothing. The
case of keywords does not matter; that of names does. Names are words of letters, digits, `_`, `-` and single dots;
`G1..G5` stands for G1, G2, G3, G4 and G5. Texts stand in plain double quotes. Steps may carry numbers, `4.`, `4`,
`4a.` or `3.2.1`. Lines set in under a `routine` are its steps; other indentation is for the eye. In Markdown, blocks
fenced as `tpg` are read. What a plan leaves out is not known; it never counts as safe.

In the forms, `[...]` may be left out, `...` means more of the same, `|` parts a choice, and capitals stand for
something of the plan's own. Clauses after the names may come in any order. A QUANTITY may be `given NAME` where the
plan leaves a value open.
"""


def reference_page() -> str:
    """The whole page in Markdown; the same bytes at every call."""
    parts = [_INTRO, *_limits(), *_units()]
    kinds: list[type[Statement]] = list(get_args(AnyStatement))
    for group, title in _GROUPS:
        parts.append(f"## {title}\n")
        parts.extend("\n".join(_entry(cls)) for cls in kinds if cls.group == group)
    return "\n".join(parts)


def _limits() -> Iterator[str]:
    yield "## Limits\n"
    yield f"- A file has at most {SIZE_LIMIT:,} bytes, in UTF-8."
    yield f"- A file has at most {MAX_STATEMENTS:,} statements."
    yield f"- A statement has at most {MAX_LENGTH:,} characters, the lines that it goes on in included."
    power = len(f"{LARGEST:.0f}") - 1
    yield f"- A quantity is smaller than 10^{power} in the SI unit of its dimension; `1000000000 MVA` is not.\n"


def _units() -> Iterator[str]:
    yield "## Units\n"
    yield "Every quantity carries its unit: `12.47 kV`, `5/8 in`, `6 ft 4 in`. The first spelling is the main one.\n"
    yield "| dimension | units |"
    yield "| --- | --- |"
    by_dimension: dict[str, list[str]] = {}
    for spelling, unit in UNITS.items():
        by_dimension.setdefault(unit.dimension, []).append(f"`{spelling}`")
    for dimension, words in by_dimension.items():
        yield f"| {dimension} | {', '.join(words)} |"
    yield ""


def entry(kind: str) -> str:
    """The reference's entry of a kind of statement, in Markdown."""
    cls = next(cls for cls in get_args(AnyStatement) if _kind(cls) == kind)
    return "\n".join(_entry(cls))


def _entry(cls: type[Statement]) -> Iterator[str]:
    kind = _kind(cls)
    yield f"### {kind.replace('_', ' ')}\n"
    yield f"{' '.join((cls.__doc__ or '').split())}\n"
    yield "```text"
    yield from form(kind)
    yield "```\n"
    yield "Example:\n"
    yield "```tpg"
    yield WORKED[kind]
    yield "```\n"
    rows = [row for row in clause_fields(cls).values() if row.name != "body"]  # type: ignore[arg-type]
    if rows:
        yield "| field | meaning | |"
        yield "| --- | --- | --- |"
        yield from (_row(row) for row in rows)
        yield ""
    words = list(_words(kind))
    if words:
        yield f"Words: {'; '.join(words)}.\n"


def _kind(cls: type[Statement]) -> str:
    return str(cls.kind)  # type: ignore[attr-defined]


def _row(row: Field[Any]) -> str:
    dimension = row.metadata["dimension"]
    unit = f" ({dimension}, such as {EXAMPLES[dimension]})" if dimension else ""
    need = (
        "needed"
        if row.default is MISSING
        else "false where not said"
        if row.metadata.get("flag")
        else "not known where not said"
    )
    meaning = str(row.metadata["doc"]).replace("|", r"\|")
    return f"| `{row.name.rstrip('_')}` | {meaning}{unit} | {need} |"


# ---------------------------------------------------------------- forms, read off the grammar
@cache
def _grammar() -> tuple[dict[str, str], dict[str, str]]:
    """Bodies of the rules, and patterns of the terminals, by name."""
    text = files("groundlint.language").joinpath("plan.lark").read_text(encoding="utf-8")
    text = re.sub(r"^//.*$", "", text, flags=re.MULTILINE)
    rules = {
        name: " ".join(body.split())
        for name, body in re.findall(r"^([a-z_]+): (.*(?:\n[ \t]+\|.*)*)", text, flags=re.MULTILINE)
    }
    terminals = dict(re.findall(r"^([A-Z_]+)(?:\.\d+)?: /(.*)/i?$", text, flags=re.MULTILINE))
    return rules, terminals


def form(kind: str) -> list[str]:
    """The ways to write a statement, one a line."""
    rules, _ = _grammar()
    dimensions = _dimensions(kind)
    return [_sequence(way, kind, kind, dimensions) for way in _split(rules[kind])]


def _dimensions(kind: str) -> dict[str, str]:
    """The dimension of the quantity in each clause, and under the kind's own name that of its bare one."""
    cls = next(c for c in get_args(AnyStatement) if _kind(c) == kind)
    by_clause = {clause: str(row.metadata["dimension"]) for clause, row in clause_fields(cls).items()}
    by_name = {row.name: str(row.metadata["dimension"]) for row in clause_fields(cls).values()}
    found = by_clause | {"hop": "length", "coordinate": "length", "from_rod": "length", "pole_ground": "resistance"}
    for name in POSITIONAL.get(kind, ()):
        found[kind] = by_name[name]
    return found


def _split(body: str) -> list[str]:
    """Choices at the top of a rule's body."""
    out, depth, start = [], 0, 0
    for at, char in enumerate(body):
        depth += {"(": 1, ")": -1}.get(char, 0)
        if char == "|" and depth == 0:
            out.append(body[start:at].strip())
            start = at + 1
    return [*out, body[start:].strip()]


def _sequence(body: str, kind: str, rule: str, dimensions: dict[str, str]) -> str:
    """A row of symbols and groups, each perhaps with a mark of how often it may stand."""
    said: list[str] = []
    at = 0
    while at < len(body):
        if body[at] == " ":
            at += 1
            continue
        if body[at] == "(":
            depth, end = 1, at + 1
            while depth:
                depth += {"(": 1, ")": -1}.get(body[end], 0)
                end += 1
            choices = [_sequence(part, kind, rule, dimensions) for part in _split(body[at + 1 : end - 1])]
        else:
            found = re.compile(r"\w+").match(body, at)
            assert found is not None, body[at:]
            end = found.end()
            choices = [_symbol(found[0], kind, rule, dimensions)]
        mark = body[end : end + 1]
        at = end + 1 if mark in ("*", "+", "?") else end
        group = " | ".join(choices)
        if mark == "*":
            said.append(" ".join(f"[{choice}]" for choice in choices))
        elif mark == "?":
            said.append(f"[{group}]")
        elif mark == "+":
            said.append(group if group.endswith("...") else f"({group}) ..." if " " in group else f"{group} ...")
        else:
            said.append(f"({group})" if len(choices) > 1 else group)
    return (
        " ".join(said)
        .replace("( ", "(")
        .replace(" )", ")")
        .replace(" :", ":")
        .replace("NAME | NAME..NAME", "NAME")
        .replace("(NAME) ...", "NAME ...")
    )


def _symbol(symbol: str, kind: str, rule: str, dimensions: dict[str, str]) -> str:
    rules, _ = _grammar()
    if symbol == "amount":
        dimension = dimensions.get(rule, "")
        return dimension.upper() if dimension else "QUANTITY"
    if symbol in _STANDS_FOR:
        return _STANDS_FOR[symbol]
    if symbol in rules:
        ways = [_sequence(way, kind, symbol, dimensions) for way in _split(rules[symbol])]
        return ways[0] if len(ways) == 1 else f"({' | '.join(ways)})"
    words = main_words(symbol, kind)
    if len(words) == 1:
        return words[0]
    return f"({' | '.join(words)})" if len(words) <= 4 else symbol


@cache
def main_words(terminal: str, kind: str) -> tuple[str, ...]:
    """The words to write for a terminal in a statement of a kind, one for each thing that it can say; none for one that
    is lexed by its shape."""
    if terminal not in _grammar()[1] or terminal in _STANDS_FOR:
        return ()
    words = _mains(terminal)
    if terminal.startswith("_") or terminal in _ONE_THING or (kind, terminal) == ("verify", "POSITION"):
        return (next((word for word in words if re.search(rf"\b{word}\b", WORKED[kind])), words[0]),)
    return tuple(words)


@cache
def numbers() -> frozenset[str]:
    """The clauses that are numbers without a unit."""
    return frozenset(clause for clause, body in _grammar()[0].items() if "NUMBER" in body.split())


def first_words(kind: str) -> list[str]:
    """The terminals that a statement can begin with."""
    return [way.split()[0] for way in _split(_grammar()[0][kind])]


def _mains(terminal: str) -> list[str]:
    """The main spellings of a terminal."""
    _, terminals = _grammar()
    words = spellings(terminals[terminal])
    if terminal.startswith("_"):
        return list(words)
    return list(dict.fromkeys(main_spelling(terminal, word) for word in words))


def _reached(kind: str) -> list[str]:
    """Terminals that a statement's rules lead to, in the order met."""
    rules, terminals = _grammar()
    found: dict[str, None] = {}
    waiting, seen = [kind], set()
    while waiting:
        rule = waiting.pop(0)
        if rule in seen:
            continue
        seen.add(rule)
        for symbol in re.findall(r"\w+", rules[rule]):
            if symbol in rules:
                waiting.append(symbol)
            elif symbol in terminals and symbol not in _STANDS_FOR:
                found[symbol] = None
    return list(found)


def words_of_kind(kind: str) -> list[str]:
    """Every spelling of every keyword of a statement."""
    _, terminals = _grammar()
    return [word for terminal in _reached(kind) for word in spellings(terminals[terminal])]


def _words(kind: str) -> Iterator[str]:
    """Choices and synonyms of a statement's words."""
    _, terminals = _grammar()
    for terminal in _reached(kind):
        words = spellings(terminals[terminal])
        if terminal.startswith("_"):
            others = [f"`{word}`" for word in words[1:] if " the " not in word]  # which means nothing anywhere
            if others:
                yield f"`{words[0]}` or {', '.join(others)}"
            continue
        groups: dict[str, list[str]] = {}
        for word in words:
            groups.setdefault(main_spelling(terminal, word), []).append(word)
        if len(words) == 1:
            continue
        said = []
        for main, spelled in groups.items():
            others = [f"`{word}`" for word in spelled if word != main]
            said.append(f"`{main}`" + (f" (or {', '.join(others)})" if others else ""))
        label = f"{terminal} is " if len(groups) > 4 else ""
        yield label + ", ".join(said)
