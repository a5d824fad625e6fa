"""What to say of a statement that can't be read: what was found, what could stand there, the nearest known word.

Imported only for a mistake, so that reading a sound plan does not pay for it.
"""

from __future__ import annotations

import re
from collections.abc import Iterable
from difflib import get_close_matches

from lark import Lark
from lark.exceptions import UnexpectedInput

from groundlint.language.spellings import spellings
from groundlint.text import Diagnostic, Severity, Source
from groundlint.values.units import UnitProblem, parse_quantity

SAID = {
    "NAME": "a name",
    "RANGE": "a range of names such as G1..G5",
    "STRING": "a text in double quotes",
    "DATE": "a date such as 2026-03-02",
    "NUMBER": "a number",
    "QUANTITY": "a quantity with its unit",
    "WIRESIZE": "a wire size such as 2/0, 2 AWG, 336.4 kcmil or 95 mm2",
    "GRADE": "a grade, 1 to 7 or 1H to 7H",
    "_LPAR": "(",
    "_RPAR": ")",
    "_COLON": ":",
    "$END": "the end of the statement",
}
_WORD = re.compile(r'"[^"\n]*"?|[^\s,()":]+|.')
_QUOTES = {"\u201c", "\u201d", "\u201e", "\u00ab", "\u00bb", "'", "\u2018", "\u2019"}


def words_of(lark: Lark, terminals: Iterable[str]) -> list[str]:
    """Every spelling of these keyword terminals."""
    patterns = {t.name: t.pattern.value for t in lark.terminals}
    found: list[str] = []
    for name in terminals:
        if name in patterns and name not in SAID and name != "IGNORED":
            found.extend(spellings(patterns[name]))
    return sorted(dict.fromkeys(found))


def options(lark: Lark, terminals: set[str]) -> str:
    """What could stand there, in words; keywords by their main spelling, in a stable order."""
    patterns = {t.name: t.pattern.value for t in lark.terminals}
    plain = [SAID[name] for name in SAID if name in terminals]
    words: list[str] = []
    for name in sorted(terminals - SAID.keys()):
        if name not in patterns or name in ("IGNORED",) or name.startswith("__"):
            continue
        choices = spellings(patterns[name])
        shown = choices if not name.startswith("_") and len(choices) <= 8 else choices[:1]
        words.extend(f"`{w}`" for w in shown)
    words = list(dict.fromkeys(words))
    if len(words) > 14:
        words = [*words[:14], "..."]
    return ", ".join([*plain, *words]) or "nothing more"


# Statements that begin with these words belong elsewhere in another language of the trade, or are common slips.
FIRST_WORD_HINTS = {
    "ground": "to put a lead on, write `attach LEAD to POINT`; for a rod, `set ROD at STRUCTURE`",
    "earth": "to put a lead on, write `attach LEAD to POINT`; for a rod, `set ROD at STRUCTURE`",
    "install": "write `attach LEAD to POINT` or `mount BAR at STRUCTURE`",
    "check": "write `test POINTS with DETECTOR`, `inspect EQUIPMENT` or `verify SWITCH open`",
    "climb": "write `enter PERSON at STRUCTURE on the pole, reaching ...`",
    "drive": "write `set ROD at STRUCTURE, 16 ft from the pole, 6 ft deep`",
    "if": 'a plan has no branches; write the steps in the order they are done, and `hold "..."` where the crew must stop',
    "step": "write the number and a full stop, such as `4. open SW41`",
    "else": "a plan has no branches",
}


def explain(lark: Lark, error: UnexpectedInput, source: Source, base: int, text: str) -> Diagnostic:
    """The diagnostic that a statement deserves for which the parser raised ``error``."""
    token = getattr(error, "token", None)
    ended = token is not None and token.type == "$END"
    at = len(text) if ended else min(max(int(error.pos_in_stream or 0), 0), len(text))
    expected: set[str] = set(
        getattr(error, "accepts", None) or getattr(error, "expected", None) or getattr(error, "allowed", None) or ()
    )
    rest = text[at:]
    stripped = len(rest) - len(rest.lstrip(" \t,"))
    at += stripped
    found = _WORD.match(text, at)
    word = found[0] if found else ""
    start, end = base + at, base + at + max(len(word), 0)
    if not word:
        start, end = base + max(len(text.rstrip()) - 1, 0), base + len(text.rstrip())
    span = source.span(start, end)

    def say(code: str, message: str, mend: str = "") -> Diagnostic:
        return Diagnostic(code, span, message, Severity.DANGER, mend, (), True)

    could = options(lark, expected)
    if not word:
        return say("cut-short", f"the statement stops here; {could} could follow", "complete the statement")
    if word.startswith('"') and (len(word) == 1 or not word.endswith('"')):
        return say("quote-not-closed", "this text is never closed", 'close it with " on the same line')
    if word[0] in _QUOTES or word[-1] in _QUOTES:
        return say(
            "wrong-quotes",
            f"{_short(word)} is in quotes of another kind; texts stand in plain double quotes",
            'write "..."',
        )
    if at == 0:
        return _first_word(say, word, words_of(lark, expected))
    number = re.match(r"[0-9][0-9.,]*(?:/[0-9]+)?$", word)
    if "QUANTITY" in expected and number:
        return _unit(say, word, text[at + len(word) :], set(words_of(lark, {t.name for t in lark.terminals})))
    if "QUANTITY" in expected and re.match(r"[0-9]", word):
        parsed = parse_quantity(word)
        if isinstance(parsed, UnitProblem):
            return say("unknown-unit", f"{_short(word)}: {parsed.message}", f"write {could}")
    if "WIRESIZE" in expected and number:
        return say(
            "missing-unit",
            f"{word} alone is not a size; a wire size or a quantity with its unit belongs here",
            f"write {could}",
        )
    if word == ";":
        return say(
            "stray-mark",
            "`;` has no meaning here; one statement stands on a line",
            "put the next statement on a line of its own",
        )
    near = get_close_matches(word.lower(), words_of(lark, expected), n=1, cutoff=0.7)
    hint = f"did you mean `{near[0]}`?" if near else ""
    if not expected - {"$END"}:
        return say(
            "more-than-a-statement",
            f"{_short(word)} is more than this statement takes",
            "end the statement before it, or start a new line",
        )
    return say("unexpected-word", f"{_short(word)} can't stand here; {could} could", hint or f"write {could}")


def _first_word(say, word: str, keywords: list[str]) -> Diagnostic:  # type: ignore[no-untyped-def]
    hint = FIRST_WORD_HINTS.get(word.lower(), "")
    near = get_close_matches(word.lower(), [k for k in keywords if k], n=1, cutoff=0.6)
    mend = hint or (
        f"did you mean `{near[0]}`?"
        if near
        else "begin with a thing (line, source, lead, ...) or a step (open, test, attach, ...)"
    )
    diagnostic: Diagnostic = say("unknown-statement", f"no statement begins with {_short(word)}", mend)
    return diagnostic


def _unit(say, number: str, rest: str, keywords: set[str]) -> Diagnostic:  # type: ignore[no-untyped-def]
    following = _WORD.match(rest.lstrip())
    unit = following[0] if following and following[0].lower() not in keywords else ""
    parsed = parse_quantity(f"{number} {unit}") if unit else None
    if "," in number.strip(","):
        plain = number.replace(",", "")
        diagnostic: Diagnostic = say(
            "bad-number",
            f"{number} holds a comma; numbers are written without",
            f"write {plain}, or with a decimal point",
        )
    elif isinstance(parsed, UnitProblem) and parsed.kind == "unknown-unit":
        nearest = (
            f"did you mean `{number} {parsed.nearest}`?"
            if parsed.nearest
            else "write a known unit, such as ft, m, kV, kA, ohm, cycles"
        )
        diagnostic = say("unknown-unit", f"{number} {_short(unit)}: {parsed.message}", nearest)
    else:
        diagnostic = say("missing-unit", f"{number} has no unit", f"write the unit, such as {number} ft or {number} kA")
    return diagnostic


def _short(word: str) -> str:
    return f"`{word}`" if len(word) <= 40 else f"`{word[:37]}...`"
