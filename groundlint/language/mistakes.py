"""What to say of a statement that can't be read: what was found, what could stand there, the nearest known word.

Imported only for a mistake, so that reading a sound plan does not pay for it.
"""

from __future__ import annotations

import re
from collections.abc import Callable, Iterable, Mapping
from difflib import SequenceMatcher, get_close_matches
from functools import cache

from lark import Lark
from lark.exceptions import UnexpectedCharacters, UnexpectedInput

from groundlint.language.lower import main_spelling
from groundlint.language.nodes import Name
from groundlint.language.spellings import spellings
from groundlint.language.statements import Statement, statement_classes
from groundlint.language.trade import Meant, Phrase, kinds_of
from groundlint.text import Diagnostic, Severity, Source, Span
from groundlint.text.near import nearest
from groundlint.values.units import UNITS, UnitProblem, parse_quantity

_Say = Callable[..., Diagnostic]
SAID = {
    "NAME": "a name",
    "RANGE": "a range of names such as G1..G5",
    "STRING": "a text in double quotes",
    "DATE": "a date such as 2026-03-02",
    "NUMBER": "a number",
    "QUANTITY": "a quantity with its unit",
    "BUNDLE": "a number of subconductors such as `2 x`",
    "STRANDING": "a stranding such as 26/7 or 12 strands",
    "WIRESIZE": "a wire size such as 2/0, 2 AWG, 336.4 kcmil or 95 mm2",
    "GRADE": "a grade, 1 to 7 or 1H to 7H",
    "_LPAR": "`(`",
    "_RPAR": "`)`",
    "_COLON": "`:`",
    "$END": "the end of the statement",
}
_WORD = re.compile(r'"[^"\n]*"?|[^\s,()":]+|.')
_FEET = {"'", "\u2019", "\u2032"}
_QUOTES = {"\u201c", "\u201d", "\u201e", "\u00ab", "\u00bb", "'", "\u2018", "\u2019"}


SLIP = 0.85
"""How like a known word one must be to be a slip of the pen rather than a word of the trade."""


def words_of(lark: Lark, terminals: Iterable[str]) -> list[str]:
    """Every spelling of these keyword terminals."""
    patterns = {t.name: t.pattern.value for t in lark.terminals}
    found: list[str] = []
    for name in terminals:
        if name in patterns and name not in SAID and name != "IGNORED":
            found.extend(spellings(patterns[name]))
    return sorted(dict.fromkeys(found))


def options(lark: Lark, terminals: set[str]) -> str:
    """What could stand there, in words; keywords by their main spelling, in a stable order. Empty where it is much."""
    patterns = {t.name: t.pattern.value for t in lark.terminals}
    plain = [SAID[name] for name in SAID if name in terminals and name != "$END"]
    if "a name" in plain and "a range of names such as G1..G5" in plain:
        plain.remove("a range of names such as G1..G5")
    words: list[str] = []
    for name in sorted(terminals - SAID.keys()):
        if name not in patterns or name == "IGNORED" or name.startswith("__"):
            continue
        choices = spellings(patterns[name])
        mains = dict.fromkeys(main_spelling(name, choice) for choice in choices)
        shown = list(mains) if not name.startswith("_") and len(mains) <= 10 else [_common(choices)]
        words.extend(f"`{w}`" for w in shown)
    words = list(dict.fromkeys(words))
    said = [*plain, *words, *(["the end of the statement"] if "$END" in terminals else [])]
    text = " or ".join([", ".join(said[:-1]), said[-1]]) if len(said) > 1 else said[0] if said else "nothing more"
    return text if len(text) <= MOST_OPTIONS else ""


MOST_OPTIONS = 130
"""Characters of a list of what could stand at a place; nobody would read a longer one."""


_COMMON = ("clamps", "rod", "bar", "lead", "phases", "wires", "pole ground", "guyed", "no shield wire")


def _common(choices: tuple[str, ...]) -> str:
    return next((word for word in choices if word in _COMMON), choices[0])


# Statements that begin with these words belong elsewhere in another language of the trade, or are common slips.
FIRST_WORD_HINTS = {
    "no": "write `no other source`, `no parallel line`, `no live neighbour`, `no neutral` or `no grounds`",
    "{": "a plan in JSON stands in a file whose name ends in .json",
    "|": "take the mark off; a table's rows are not read",
    **dict.fromkeys("-*+•·▪◦–—>", "take the mark off"),
    **dict.fromkeys(
        ("ground", "earth", "short", "tie", "bracket", "jumper"),
        "for each lead, write `attach LEAD to POINT, then to POINT`, its ground end first; for a rod, "
        "`set ROD at STRUCTURE`",
    ),
    **dict.fromkeys(("rack", "trip", "isolate"), "write `open SWITCH, gap seen, lock it and tag it`"),
    **dict.fromkeys(
        ("regulator", "regulators", "sectionalizer"),
        "the plan language knows it by how it opens: where it is opened, write `open point NAME between STRUCTURE and "
        'STRUCTURE`; else say it in a `note "..."`',
    ),
    **dict.fromkeys(
        ("transformer", "transformers"),
        "write `source NAME at STRUCTURE transformer backfeed`: what is fed from its other side can feed the line",
    ),
    "install": "write `attach LEAD to POINT` or `mount BAR at STRUCTURE`",
    **dict.fromkeys(
        ("check", "confirm"), "write `test POINTS with DETECTOR`, `inspect EQUIPMENT` or `verify SWITCH open`"
    ),
    "climb": "write `enter PERSON at STRUCTURE on the pole, reaching ...`",
    "drive": "write `set ROD at STRUCTURE, 16 ft from the pole, 6 ft deep`",
    "if": 'a plan has no branches; write the steps in their order, and `hold "..."` where the crew must stop',
    "step": "write the number and a full stop, such as `4. open SW41`",
    "else": "a plan has no branches",
}


def _where(lark: Lark, text: str) -> tuple[int, set[str]]:
    """The offset at which a text stops being a statement, and the terminals that could stand there."""
    parser = before = lark.parse_interactive(text)
    at = 0
    try:
        for token in parser.lexer_thread.lex(parser.parser_state):  # type: ignore[no-untyped-call]
            # reductions on a wrong token hide what was possible before it
            before, at = parser.copy(), int(token.start_pos or 0)  # type: ignore[no-untyped-call]
            parser.feed_token(token)
            at = int(token.end_pos or 0)
            before = parser
        at = len(text)
    except UnexpectedCharacters as error:
        at = int(error.pos_in_stream or 0)
    except UnexpectedInput:
        pass
    return min(max(at, 0), len(text)), {str(name) for name in before.accepts()}  # type: ignore[no-untyped-call]


DASHES = "\u2012-\u2015\u2212"
"""The dashes and the minus that are not typed with a key."""


def doubtful_dash(source: Source, at: int, typed: str = "") -> Diagnostic:
    """What to say of a dash; ``typed`` is the word with a hyphen, where that can be read."""
    message = f"the dash `{source.text[at]}` could be a minus, a range or a hyphen, so that it is not read"
    mend = "type `-` for a hyphen or a minus, and two points for a range, such as G1..G4"
    mend = f"type it with the keys: `{typed}`" if typed else mend
    return Diagnostic("doubtful-dash", source.span(at, at + 1), message, Severity.DANGER, mend, (), True)


def _typed(lark: Lark, text: str, at: int, word: str) -> str:
    """The word at a place as it is typed with a hyphen, or with two points where it is a range; empty where neither is
    read there."""
    begin = len(re.sub(r"[\w.]+$", "", text[:at]))
    whole = text[begin:at] + word
    for typed in (re.sub(f"[{DASHES}]", mark, whole) for mark in ("-", "..")):
        numbered = re.fullmatch(r"([A-Za-z]*)[0-9]+-\1[0-9]+", typed)
        if numbered is None and _where(lark, text[:begin] + typed)[0] > begin:
            return typed
    return ""


def _word_at(text: str, at: int) -> tuple[int, str]:
    """Where the word at a place begins, or the first after it, and the word; empty at the end."""
    rest = text[at:]
    at += len(rest) - len(rest.lstrip(" \t,"))
    found = _WORD.match(text, at)
    word = found[0] if found else ""
    if word[:1] == "/" and text[at - 1 : at].isdigit():  # a size, which was begun as a number
        begin = re.search(r"[0-9.]+$", text[:at])
        at = begin.start() if begin else at
        word = text[at:].split()[0]
    return at, word


def explain(
    lark: Lark, source: Source, base: int, text: str, known: Mapping[str, str], meant: tuple[Meant, ...]
) -> Diagnostic:
    """The diagnostic that a statement deserves that does not parse. ``meant`` are the statements that its words could
    mean in the trade, in which ``known`` tells what each name of the plan stands for."""
    phrase = Phrase(text, known)
    at, expected = _where(lark, text)
    at, word = _word_at(text, at)
    start, end = base + at, base + at + max(len(word), 0)
    if not word:
        start, end = base + max(len(text.rstrip()) - 1, 0), base + len(text.rstrip())
    span = source.span(start, end)

    def say(code: str, message: str, mend: str = "") -> Diagnostic:
        return Diagnostic(code, span, message, Severity.DANGER, mend, (), True)

    could = options(lark, expected)
    if not word:
        message = "the statement stops here, and is not complete" + (f"; {could} could follow" if could else "")
        mend = write_one_of(meant) or _slip_within(lark, text) or _written_like(lark, text, phrase)
        return say("cut-short", message, mend)
    if word.startswith('"') and (len(word) == 1 or not word.endswith('"')):
        return say("quote-not-closed", "this text is never closed", 'close it with " on the same line')
    first = _WORD.match(text)
    statement = first[0].lower() if first else ""
    main = _main_word(lark, statement)
    dash = re.search(f"[{DASHES}]", word)
    if dash is not None and at and not re.match(r"[0-9.]+[-\u2013\u2014][0-9.]+$", word) and len(word) > 1:
        return doubtful_dash(source, start + dash.start(), _typed(lark, text, at, word))
    if re.match(r"[0-9]/0", word) and text[at - 1 : at] == " " and "NAME" in expected:
        message = f"{_short(word)} can't stand here; the name comes before it"
        return say("unexpected-word", message, STATEMENT_HINTS.get(main, "write the name first"))
    if "/" in word and (problem := _slash(lark, say, text, at, word, expected, known)):
        return problem
    if "QUANTITY" in expected and re.match(r"[0-9.]", word):
        return _unit(say, text, at, words_of(lark, {t.name for t in lark.terminals}))
    if word[0] in _FEET and text[at - 1 : at].isdigit():
        return say("unknown-unit", f"`{word[0]}` is not a known unit", "write `ft` for feet and `in` for inches")
    if word[0] in _QUOTES or word[-1] in _QUOTES:
        message = f"{_short(word)} is in quotes of another kind; texts stand in plain double quotes"
        return say("wrong-quotes", message, 'write "..."')
    if at == 0:
        return _first_word(say, word, text[len(word) :].lstrip(), words_of(lark, expected), write_one_of(meant), phrase)
    if word in (";", "&", "+"):
        return _stray(say, word)
    others = [known for known in words_of(lark, expected) if known != word.lower()]
    begun = [known for known in others if known.startswith(f"{word.lower()} ")]
    near = nearest(word, others, 0.7) or (begun[0] if len(begun) == 1 else "")
    slip = near and SequenceMatcher(None, word.lower(), near).ratio() > SLIP
    ends = others if "$END" in expected else []
    close = f"did you mean `{near}`?" if near else _hint_for(main, text, at, ends, phrase)
    hint = (
        (TIMED if _TIME_OF_DAY.match(text, at) else "")
        or _without_colon(text, at)
        or _to_the_last(text, at)
        or _went_on(lark, span)
        or _said_below(lark, statement, text, at)
        or ("" if meant else _two_steps(lark, text, at, known))
    )
    hint = hint or _slip_of_the_trade(statement, word, text[at:], words_of(lark, expected))
    hint = hint or (close if slip else write_one_of(meant) or close)
    if not expected - {"$END"}:
        message = f"{_short(word)} is more than this statement takes"
        more = "take it out, or begin a line of its own with it"
        return say("more-than-a-statement", message, hint or (SEVERAL if phrase.acts else more))
    unit = re.fullmatch(r"([0-9]+)([A-Za-z]+)", word)
    if unit is not None and "NAME" in expected and not isinstance(parse_quantity(word), UnitProblem):
        message = f"`{word}` is read as a quantity here, and a name belongs here"
        return say(
            "name-like-a-quantity", message, f"write the name so that no unit ends it, such as {unit[1]}-{unit[2]}"
        )
    one = "" if not could or "," in could or " or " in could else f"write {could}"
    if expected == {"STRING"}:
        one = _in_quotes(statement, text, at)
    elif phrase.several:
        one = not_read(phrase)
    elif expected == {"DATE"} and not near:
        hint = ""
    mend = hint or one or _written_like(lark, text, phrase)
    return say("unexpected-word", f"{_short(word)} can't stand here" + (f"; {could} could" if could else ""), mend)


def _slash(
    lark: Lark, say: _Say, text: str, at: int, word: str, expected: set[str], known: Mapping[str, str]
) -> Diagnostic | None:
    """A size that there is not; a name whose only fault is a slash, so that with a hyphen for it more is read; several
    of the plan's names with slashes between them. Where an amount could stand as well, `5/8` is one that lacks its
    unit, but after a word that a name follows."""
    if "WIRESIZE" in expected:
        return _bad_size(say, word) if "QUANTITY" in expected and re.fullmatch(r"[0-9]+/[0-9]+", word) else None
    begin = len(re.sub(r"[\w.-]+$", "", text[:at]))
    whole = (text[begin:at] + word).rstrip(",")
    if not _SLASHED.fullmatch(whole):
        return None
    measure = "QUANTITY" in expected or re.match(r"\s*(?:in|inch|ft)\b", text[begin + len(whole) :])
    if measure and re.fullmatch(r"[\d./]+", whole) and not _BEFORE_A_NAME.search(text[:begin]):
        return None
    hyphened = whole.replace("/", "-")
    if _where(lark, text[:begin] + hyphened + text[begin + len(whole) :])[0] < begin + len(whole):
        return None
    parts = whole.split("/")
    mend = f"write a hyphen for it everywhere, as in `{hyphened}`"
    if all(part in known for part in parts):
        mend = f"write `{' '.join(parts)}`"
    elif not any(part.isdigit() for part in parts):
        mend = f"write `{' '.join(parts)}` if these are several; if it is one, {mend}"
    return say("slash-in-a-name", f"a name has no slash in it, as `{whole}` has", mend)


def _two_steps(lark: Lark, text: str, at: int, known: Mapping[str, str]) -> str:
    """To write two steps on lines of their own, where each is whole and names what the plan has; empty elsewhere."""
    from groundlint.language.reader import read_statement
    from groundlint.language.statements import Step

    both = text[:at].rstrip(" \t,"), text[at:].rstrip(". ")
    if not all(isinstance(read_statement(step), Step) for step in both):
        return ""
    for step in both:
        parser = lark.parse_interactive(step)
        tokens = list(parser.exhaust_lexer())
        if any(token.type == "NAME" and token not in known for token in tokens):
            return ""
    return f"write `{both[0]}` and, on a line of its own, `{both[1]}`"


def _in_quotes(statement: str, text: str, at: int) -> str:
    """To write the rest of a statement as its text, as far as it can be one."""
    no_path = statement == "use" and " " in text[at:]
    quoted = "..." if '"' in text or no_path else text[at:].lstrip(" :-\u2013\u2014").rstrip(".")
    return f'write `{statement} "{quoted}"`'


def _written_like(lark: Lark, text: str, phrase: Phrase) -> str:
    """What to write in a statement that begins as this line does: an example of its kind, where there is one of what
    the line is about."""
    from groundlint.language.reference import WORKED

    said = " ".join(text.lower().split())
    first = re.split(r"[^\w-]", said)[0]
    alike = (spellings(one.pattern.value) for one in lark.terminals if one.name in _where(lark, "")[1] - SAID.keys())
    begun = (row for row in map(set, alike) if any(said.startswith(f"{words} ") for words in row))
    words = {first}.union(*begun)
    worked = next((one for one in WORKED.values() if one.split()[0] == first), "")
    worked = worked or next((one for one in WORKED.values() if one.split()[0] in words), "")
    if worked:
        return fitting(f"write it like `{worked}`", phrase) or not_read(phrase)
    return fitting(STATEMENT_HINTS.get(first, ""), phrase) or not_read(phrase)


@cache
def _of_examples() -> Mapping[str, str]:
    """What the names in the reference's examples stand for."""
    from groundlint.language.reader import read_statement
    from groundlint.language.reference import WORKED

    return kinds_of(one for one in map(read_statement, WORKED.values()) if one is not None)


def fitting(hint: str, phrase: Phrase) -> str:
    """A hint on how lines are written that begin as this one does; empty where it is of other things than the line, or
    of less than is done there."""
    texts = re.findall(r"`([^`]+)`", hint)
    if not texts or phrase.words[:1] in _OF_ROUTINES:
        return hint
    if not phrase.does_all("\n".join(texts)):
        return ""
    examples = [Phrase(one, _of_examples()) for one in texts]
    about = {kind for one in examples for kind in one.kinds}
    about |= _BONDED if about & _BONDED else set()
    if not about and any(one.says("PERSON|PEOPLE|ALL") for one in examples):
        about = set() if phrase.mentions("PERSON") else {"PERSON"}
    every = not about or "EQUIPMENT" in hint or ("POINT" in hint and phrase.kinds <= {"ROD", "BAR", "VEHICLE"})
    return hint if every or not phrase.kinds or about & phrase.kinds else ""


def _undeclared(phrase: Phrase) -> str:
    """What to do where all that a line is about is declared nowhere, in a plan that declares things."""
    if not phrase.declares or not phrase.unknown or phrase.kinds or phrase.mentions("CONDUCTOR", "STRUCTURE", "LINE"):
        return ""
    return f"declare {phrase.unknown[0]} first: what to write of it depends on what it is"


_BONDED = {"VEHICLE", "MAT", "BAR"}
"""What is bonded, any of which may stand in an example."""
_OF_ROUTINES = [["do"], ["undo"], ["repeat"], ["routine"]]
"""First words of lines in which a name may be any word."""
SEVERAL = "write each thing that is done as a step of its own"


def not_read(phrase: Phrase) -> str:
    """What to do with a line for which no text is known that says as much as it does."""
    if {"COVER", "GOODS"} & phrase.kinds:
        return COVERING
    if phrase.acts or ("then" in phrase.words and "LEAD" not in phrase.kinds):
        return f'{SEVERAL}; what the plan language has no words for is a `note "..."`'
    return ANY_STATEMENT


COVERING = (
    "`cover` and a name is said of what is declared as a `neighbour`; that the line's own conductors are covered is a "
    '`note "..."`'
)


def _main_word(lark: Lark, first: str) -> str:
    """The spelling of a statement's first word under which its hints stand: `wires` for `conductor`."""
    from groundlint.language.reference import WORKED

    if first in STATEMENT_HINTS or any(example.split()[0] == first for example in WORKED.values()):
        return first
    begin = _where(lark, "")[1] - SAID.keys()
    alike = (spellings(one.pattern.value) for one in lark.terminals if one.name in begin)
    return next((one for row in alike if first in row for one in row if one in STATEMENT_HINTS), first)


def _hint_for(statement: str, text: str, at: int, known: list[str], phrase: Phrase) -> str:
    """How a statement that begins with this word is written, with the name that the line gives. Where the line is
    written so already up to a place, and is whole there (``known`` could follow), what is more than that."""
    named = text.split()[1:2]
    hint = STATEMENT_HINTS.get(statement, "")
    if statement == "clearance" and re.search(r"\b(?:issued|granted|given|cancell?ed|signed|returned)\b", text):
        return ""
    if named and re.fullmatch(r"[A-Z][\w-]*", named[0]):
        hint = hint.replace("NAME", named[0])
    words = set(re.findall(r"\b[a-z]+\b|NAME", hint)) - {"write", "it", "like"}
    if not known or not words or not words <= set(text[:at].lower().split()):
        return fitting(hint, phrase)
    if phrase.acts:
        return not_read(phrase)
    follows = "|".join(re.escape(one) for one in known)
    more = re.split(rf",|\s(?=(?:{follows})\b)", text[at:], maxsplit=1)[0].strip()
    return f"take `{more}` out: the statement is whole without it, and has no word for it"


# Words that a crew has for a word of a statement: its first word, the word, what to do.
_TRADE_SLIPS: tuple[tuple[str, str, str], ...] = (
    ("lead", "class", "did you mean `grade`?"),
    ("neutral", "grounded|earthed", "write `multigrounded` where it is grounded all along the line, or `unigrounded` "
     "where it is grounded at its source alone"),
    ("attach|detach", "then", "a lead has two ends; what comes after them is a step of its own"),
    ("measured", ".*", "write the whole name with hyphens, such as `measured wood-pole-resistance 40 kohm`"),
    ("test", "result", "write `finding dead` or `finding live`"),
    ("method", ".*", "in its place write `single-point`, `dual-point` or `worksite`"),
    (".*", "nc|no|normally-closed|normally-open", "write `normally closed` or `normally open`"),
)  # fmt: skip


def _slip_of_the_trade(statement: str, word: str, rest: str, expected: list[str]) -> str:
    """What to write for a word that the trade has in place of one that could stand there, or for one written apart:
    `single point`."""
    following = rest[len(word) :].split()
    for joined in (f"{word}{following[0]}", f"{word}-{following[0]}") if following else ():
        if joined.lower() in expected:
            return f"did you mean `{joined.lower()}`?"
    for first, pattern, hint in _TRADE_SLIPS:
        if re.fullmatch(first, statement) and re.fullmatch(pattern, word.lower()):
            if pattern == ".*" and nearest(word, expected, 0.7):
                continue
            return hint
    return ""


def _slip_within(lark: Lark, text: str) -> str:
    """The first word of a statement that is a slip of one of the language's words, or a number without its unit where a
    wire's size is meant; empty where there is none."""
    size = re.search(r"(?<![\w./#])([0-9.]+) (copper|alumin|acs|aa|apart)", text)
    if size is not None and _main_word(lark, text.split()[0].lower()) == "wires":
        if size[2] != "apart" and re.fullmatch("[1-9]", size[1]):
            return f"write `#{size[1]}` for the gauge"
        return f"write the unit of {size[1]}, such as `{size[1]} {'in' if size[2] == 'apart' else 'kcmil'}`"
    keywords = words_of(lark, {terminal.name for terminal in lark.terminals})
    for word in re.findall(r"[a-z]{4,}", text):
        near = "" if word in keywords else _slip_of(word, keywords)
        if near:
            return f"did you mean `{near}`?"
    return ""


_SLASHED = re.compile(r"[\w.-]+(?:/[\w.-]+)+")
_BEFORE_A_NAME = re.compile(r"\b(?:at|beyond|between|beside|from|in|on|reaching|to)(?:\s+the)?\s+$", re.I)
_TIME_OF_DAY = re.compile(r"(?:(?:at|@)\s*)?[0-2]?[0-9](?::[0-5][0-9]|[0-5][0-9]\s*(?:h|hrs?|hours))(?!\w)", re.I)
TIMED = 'take the time of day out; on a line of its own, `note "..."` can say it'

# What helps where a statement goes wrong after its first word and no known word is near.
STATEMENT_HINTS = {
    "crew": "a role stands before its names, such as `crew lineman L1, groundman M1`",
    "attach": "write `attach LEAD to POINT, then to POINT by STICK`",
    "detach": "write `detach LEAD from POINT by STICK, then from POINT`",
    "set": "write it like `set ROD at STRUCTURE, 16 ft from the pole, 6 ft deep`",
    "mount": "write `mount BAR at STRUCTURE`, and then `below the feet` or `below CONDUCTOR`",
    "enter": "write `enter PERSON at STRUCTURE on the pole, reaching POINTS`",
    "test": "write `test STRUCTURE CONDUCTORS with DETECTOR on STICK, finding dead`",
    "routine": "write `routine NAME (structure S, rod R, leads a b)`",
    "do": "write `do ROUTINE (NAMES)`",
    "detector": "write it like `detector NAME for 5 kV to 40 kV`",
    "rod": "write it like `rod NAME 6 ft x 5/8 in`",
    "lead": "write it like `lead NAME 2/0 copper 25 ft grade 3`",
    "waive": 'write `waive RULE because "..." by "ROLE" until DATE`',
    "gloves": "write `gloves on PERSON`",
    "clearance": "write `clearance LINE received by PERSON`, or `requested`, or `released`; of one handed over, "
    "`clearance LINE transferred by PERSON to PERSON, operator told, crew told`",
    "bond": "write `bond THING to POINT with LEAD`",
    "switch": "write `switch NAME between SOURCE and STRUCTURE`",
    "wires": "write it like `wires A B C 336.4 kcmil acsr, N 4/0 acsr`",
    "given": "write `given NAME as DIMENSION`",
}


STATIONS = frozenset({"substation", "station", "switchyard", "feeder", "bank", "bus", "plant", "terminal"})
"""What a word after the name of a source is, and not another source."""


def doubtful_names(lark: Lark, statement: Statement, names: tuple[Name, ...]) -> list[Diagnostic]:
    """What is wrong with names declared: words of the language, near misses of them, numbers without units."""
    kind = str(statement.kind)  # type: ignore[attr-defined]
    keywords = set(words_of(lark, {t.name for t in lark.terminals}))
    clauses = _clause_words(kind)
    proper = [name for name in names if not name.islower() or not name.isalpha()]
    for at, name in enumerate(names):
        code, message, mend = "doubtful-name", "", ""
        slip = name.isalpha() and name.islower() and len(name) > 3
        # a name has to stand first, and less often stands for something else
        near = nearest(name, clauses, 0.75 if at else 0.84) if slip else ""
        if name.lower() in ("thru", "through") and 0 < at < len(names) - 1:
            message, mend = f"`{name}` is taken for a name here", _as_range(names[at - 1], names[at + 1])
        elif len(name) > 1 and name.islower() and name in keywords:
            message = f"`{name}` is taken for a name here, and is a word of the plan language"
            mend = (
                _went_on(lark, name.span) or _of_its_own(lark, name) or f"take `{name}` out, or write a name before it"
            )
        elif near:
            message, mend = f"`{name}` is taken for a name here", f"did you mean `{near}`?"
        elif at and kind == "source" and name.lower() in STATIONS:
            message = f"`{name}` is taken for the name of another source here"
            mend = f"write what {names[at - 1]} is, such as `utility`, or one name, such as `{names[at - 1]}-{name}`"
        elif re.fullmatch(r"[0-9.]+-[0-9.]+", name) and names[at + 1 : at + 2] and names[at + 1] in UNITS:
            least, most = (f"{one} {names[at + 1]}" for one in name.split("-"))
            message = f"`{name}` and `{names[at + 1]}` are taken for names here"
            mend = f"write `for {least} to {most}`" if kind == "detector" else f"write one value, such as `{least}`"
        elif kind not in ("structure", "line", "route", "neutral", "shield") and re.fullmatch(r"[0-9.]+", name):
            code, message = "number-as-name", f"{name} has no unit, and a name holds a letter"
            after = names[at + 1 : at + 2]
            if after and after[0] in UNITS:
                mend = f"write the name first and then `{name} {after[0]}`"
            elif kind == "lead" and after and after[0] in keywords:
                mend = f"write the size with its unit, such as `{name} mm2 {after[0]}`"
            elif not at:
                message = f"{name} is no name, which begins with a letter; only structures and lines have numbers alone"
                mend = name_of_digits(name, str(getattr(statement, "sort", kind)))
            else:
                mend = f"write the unit, such as `{name} {UNIT_OF.get(kind, 'ft')}`, or the whole name"
        if not message and name.isalpha() and name.islower() and len(name) > 1 and (_no_name(name) or proper):
            beside = "" if _no_name(name) else f", and does not look like one beside `{proper[0]}`"
            message = f"`{name}` is taken for a name here{beside}"
            roles = f"write one of the roles, {options(lark, {'ROLE'})}, or " if kind == "crew" else ""
            mend = f"{roles or f'take `{name}` out, or '}write `{name.capitalize()}` if it is a name"
        if message:  # what stands after it may follow from it
            return [Diagnostic(code, name.span, message, Severity.DANGER, mend, (), True)]
    return []


def _as_range(first: str, last: str) -> str:
    return f"write a range with two points, such as `{first}..{last}`"


def _to_the_last(text: str, at: int) -> str:
    """What to do with the `to` of a range that stands first in a line, such as `lead G1 to G4`; empty elsewhere."""
    row = _TO.match(text)
    return _as_range(row[1] + row[2], row[1] + row[3]) if row and row.end(2) + 1 == at else ""


_TO = re.compile(r"\w+ ([A-Za-z]+)([0-9]+) to \1([0-9]+)\b")


def _without_colon(text: str, at: int) -> str:
    """What to do with a colon without which a line is a statement; empty elsewhere."""
    from groundlint.language.reader import read_statement

    plain = f"{text[:at]} {text[at + 1 :]}" if text[at : at + 1] == ":" else ""
    return f"take the colon out: `{' '.join(plain.split())}`" if plain and read_statement(plain) is not None else ""


def name_of_digits(name: str, kind: str) -> str:
    """What to do where something of a kind is called by a number alone, as only structures and lines are."""
    letters = {"breaker": "CB", "recloser": "RC", "switch": "SW", "open point": "SW"}.get(kind, kind[:1].upper())
    return f"begin its name with a letter, such as {letters}{name}, here and where it is declared or used"


def _no_name(word: str) -> bool:
    """Whether a word in small letters is one of the trade, or one that joins others, and can't be a name."""
    from groundlint.language.trade import is_noun

    return word in _JOINING or is_noun(word)


_JOINING = {"a", "an", "of", "off", "onto", "into", "near", "new", "old", "spare", "aerial", "spotter", "rigger",
            "journeyman", "grounded", "earthed", "solidly"}  # fmt: skip


def _of_its_own(lark: Lark, name: Name) -> str:
    """What to do where a word among names begins a statement."""
    starts = {word.partition(" ")[0] for word in words_of(lark, _where(lark, "")[1])}
    return f"where `{name}` begins another statement, write that on a line of its own" if name in starts else ""


def _went_on(lark: Lark, span: Span) -> str:
    """What to do where a line begins as a statement does, but goes on from the line before; empty elsewhere."""
    text = span.source.text
    begin = text.rfind("\n", 0, span.start) + 1
    if not text[:begin].rstrip("\r\n \t").endswith(","):
        return ""
    first = re.compile(r"[ \t]*(?:[0-9]+[a-z]?[.)][ \t]+)?([a-z][\w-]*)", re.IGNORECASE).match(text, begin)
    starts = {word.partition(" ")[0] for word in words_of(lark, _where(lark, "")[1])}
    if first is None or first[1].lower() not in starts:
        return ""
    return "where this line is a statement of its own, take the comma off the end of the line before it"


def _said_below(lark: Lark, statement: str, text: str, at: int) -> str:
    """What to write where a thing is said more of on its own line; empty elsewhere."""
    from groundlint.language.reference import first_words
    from groundlint.language.statements.properties import Property

    said_of = "neighbour" if statement == "neighbor" else statement
    properties = [(kind, one) for kind, one in statement_classes().items() if issubclass(one, Property)]
    kinds = [kind for kind, one in properties if said_of in one.owners]
    begins = words_of(lark, {terminal for kind in kinds for terminal in first_words(kind)})
    volts = f"voltage {text[at:]}" if re.match(r"[0-9.]+ ?k?V\b", text[at:]) else ""
    for said in (text[:at].split()[-1] + " " + text[at:], text[at:], volts):
        words = said.replace(",", " ,").split()
        if not words or words[0].lower() not in begins:
            continue
        for end in range(len(words), 1, -1):
            one = " ".join(words[:end]).replace(" ,", ",")
            stops, expected = _where(lark, one)
            if stops == len(one) and "$END" in expected and not one.endswith(","):
                return f"write `{one}` on a line of its own below"
        return f"what begins with `{words[0]}` stands on a line of its own below"
    return ""


def _clause_words(kind: str) -> list[str]:
    from groundlint.language.reference import words_of_kind

    return words_of_kind(kind)


def write_one_of(meant: tuple[Meant, ...]) -> str:
    """To write one of some statements, each with its meaning where these differ."""
    if not meant:
        return ""
    meanings = [_meaning(one.text) for one in meant]
    alike = len(set(meanings)) == 1
    begin = "write " if all(one.whole for one in meant) else "write it whole, such as "
    return begin + ", or ".join(
        "`"
        + one.text.replace("\n", "` and, on a line of its own, `")
        + "`"
        + ("" if alike or not meaning else f" ({meaning})")
        for one, meaning in zip(meant, meanings, strict=True)
    )


def _meaning(text: str) -> str:
    """What a statement says, by the first words of its entry in the reference."""
    first = text.split()[0]
    if first in ("clearance", "permit"):  # its state says it
        return ""
    for cls in statement_classes().values():
        if first == cls.kind:  # type: ignore[attr-defined]
            said = (cls.__doc__ or "").split(".")[0].split(",")[0].split(";")[0].split(":")[0]
            return " ".join((said[0].lower() + said[1:]).split())
    return ""


def _none_of(word: str, rest: str) -> str:
    """Advice for a line that is a misspelt `no neutral`, `no other source` and the like."""
    said = " ".join([word, *rest.split()[:2]]).lower()
    near = nearest(said, _NONE, 0.75) if word.lower() == "no" else ""
    return f"did you mean `{near}`?" if near else ""


_NONE = ("no other source", "no parallel line", "no live neighbour", "no neutral", "no shield wire", "no grounds")


def _bad_size(say: _Say, word: str) -> Diagnostic:
    both = re.fullmatch("[0-9]{2,3}/[0-9]{1,2}", word) is not None
    metric = f"`{word} mm2` if that is aluminum and steel in mm2, or " if both else ""
    return say("bad-size", f"{word} is no wire size", f"write {metric}{SAID['WIRESIZE']}")


def _stray(say: _Say, word: str) -> Diagnostic:
    if word == ";":
        message = "`;` has no meaning here; one statement stands on a line"
        return say("stray-mark", message, "put the next statement on a line of its own")
    return say("stray-mark", f"`{word}` has no meaning here", "write `and`, a comma or nothing")


def _first_word(say: _Say, word: str, rest: str, keywords: list[str], write: str, phrase: Phrase) -> Diagnostic:
    found = _WORD.match(rest)
    after = found[0] if found else ""
    hint = write or _none_of(word, rest) or _undeclared(phrase)
    hint = hint or fitting(FIRST_WORD_HINTS.get(word.lower(), ""), phrase)
    verb = after.lower() if after.lower() in keywords else after.lower().removesuffix("s")
    if not hint and word[0].isupper() and verb in keywords:
        hint = f"begin with what is done, `{verb}`; {_short(word)} stands after it"
    lettered = re.fullmatch(r"[A-Za-z]{1,4}\.", word) or re.match(r"\([0-9]|[A-Za-z]{1,4}\)", word + rest)
    if word[0].isdigit() or lettered:
        hint = "a step's number is written `4.`, `4a.` or `3.2.1`, with a blank after it"
    if word.startswith(("```", "~~~")):
        hint = "a fence stands in Markdown; give it as a file whose name ends in `.md`"
    near = _slip_of(word.lower(), keywords)
    mend = hint or (f"did you mean `{near}`?" if near else not_read(phrase))
    diagnostic: Diagnostic = say("unknown-statement", f"no statement begins with {_short(word)}", mend)
    return diagnostic


ANY_STATEMENT = (
    "begin with what there is (`line`, `source`, `lead`, ...) or with what is done (`open`, `test`, `attach`, ...); "
    'what the crew is only to read is a `note "..."`'
)


def _slip_of(word: str, keywords: list[str]) -> str:
    """The keyword that a word is a slip of: nearly all of its letters, or two of them the other way round. Another word
    of the trade that looks a little like it would mislead."""
    turned = [near for near in keywords if len(near) == len(word) > 2 and sorted(near) == sorted(word)]
    for near in (*turned, *get_close_matches(word, [k for k in keywords if k], n=3, cutoff=0.7)):
        alike = SequenceMatcher(None, word, near).ratio()
        ends = (near[0] == word[0]) + (near[-1] == word[-1])
        if near in turned or alike > SLIP or (near[0] == word[0] and alike + 0.01 * ends > 0.765 and len(word) > 3):
            return near
    return ""


UNIT_OF = {
    "voltage": "kV", "detector": "kV", "fault": "kA", "power": "MVA", "frequency": "Hz", "clears": "cycles",
    "soil": "ohm m",
    "wait": "min",
    "impedance": "ohm", "relay": "A", "current": "A", "residual": "A", "surface": "ohm m", "measured": "ohm",
    "neighbour": "kV", "neighbor": "kV",
}  # fmt: skip
"""The unit that a statement's quantities mostly have; a length's otherwise."""


def _unit(say: _Say, text: str, at: int, keywords: list[str]) -> Diagnostic:
    found = re.compile(r"[0-9.][0-9.,/]*").match(text, at)
    number = (found[0] if found else text[at]).rstrip(",")
    following = _WORD.match(text, at + len(number))
    joined = following[0].strip() if following and following[0] not in ",()" else ""
    after = _WORD.match(text[at + len(number) :].lstrip(" "))
    unit = joined or (after[0] if after and after[0].lower() not in keywords and after[0] not in ",()" else "")
    first = _WORD.match(text)
    example = UNIT_OF.get(first[0].lower() if first else "", "in" if text[:at].rstrip().endswith(" x") else "ft")
    if "," in number:
        message = f"{number} holds a comma, which marks thousands for some and the decimal for others"
        return say("bad-number", message, "write it without: a point before decimals, nothing between thousands")
    if re.match(r"[-\u2013\u2014][0-9]", joined):
        message = f"`{number}{joined}` holds two numbers"
        return say(
            "bad-number", message, f"write each with its unit, such as {number} {example} to {joined[1:]} {example}"
        )
    if re.fullmatch(r"[0-9]+(\.[0-9]+)?/[0-9]+(\.[0-9]+)?", number) and unit.lower() in ("kv", "v"):
        message = f"{number} {unit} holds two voltages; the one between phases is stated"
        return say("bad-number", message, f"write `{max(number.split('/'), key=float)} {unit}`, the larger")
    parsed = parse_quantity(f"{number} {unit}") if unit else parse_quantity(number)
    if isinstance(parsed, UnitProblem) and parsed.kind == "bad-number":
        mend = f"write 0{number}" if number[0] == "." else f"write a number with its unit, such as 12 {example}"
        return say("bad-number", parsed.message, mend)
    if isinstance(parsed, UnitProblem) and parsed.kind == "unknown-unit":
        nearest = (
            f"did you mean `{number} {parsed.nearest}`?" if parsed.nearest else f"write a known unit, such as {example}"
        )
        return say(
            "unknown-unit", f"{_short(unit)} is not a known unit" + (f"; {parsed.why}" if parsed.why else ""), nearest
        )
    return say("missing-unit", f"{number} has no unit", f"write the unit, such as {number} {example}")


def _short(word: str) -> str:
    return f"`{word}`" if len(word) <= 40 else f"`{word[:37]}...`"
