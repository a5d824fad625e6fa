"""Marks for fault-finding: the lines and reasons that a student gives, against the key of an exercise.

An answer sheet has a line for each fault: ``line 21: B, the ground end goes on first``. A reason is a letter of the
handout, the rule's own name, or words: those of the list, or a student's own, for which the reason that shares most
with them is taken. Where none can be, or it would be a wrong one and is not clearly meant, the instructor is to read
them. Who says more that is wrong than right does not pass, so that naming every line, or one reason for all, is no way
to.
"""

from __future__ import annotations

import re
from collections import Counter
from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass, replace
from typing import Any

from groundlint.teaching.marking import Answer, Item, Line, Marked, Off
from groundlint.text import Diagnostic, Source
from groundlint.text.toml import TomlText

MOST_CLAIMS = 100
"""Answers of one sheet; a sheet with more is not marked."""

MOST_SHOWN = 20
"""Wrong answers of one sheet that its page lists."""

LEAST_SHARED = 2
"""Words that a student's own are to share with a reason to be taken for it; the rarer among the reasons weigh more."""

NEARLY = 0.85
"""The part of the nearest reason's value from which on the second nearest may as well be meant."""

CLEARLY = 0.6
"""The share of a reason's words from which on a student's own say that reason, if none says the true one."""

_CLAIM = re.compile(r"^\s*(?:[-*]\s*)?(?:line|l\.?)?\s*#?\s*([0-9]{1,6})\s*[:.)\-–,;]?\s*(.*)$", re.IGNORECASE)
_STUDENT = re.compile(r"^\s*(?:student|name)\s*:\s*(.*)$", re.IGNORECASE)
_EMPTY = re.compile(r"^\s*(?:line)?\s*:?\s*$", re.IGNORECASE)
_LETTER = re.compile(r"^(\()?([A-Za-z]{1,2})(?(1)\))(?![A-Za-z0-9])(?!-[A-Za-z])")
_WORD = re.compile(r"[a-z]{3,}")
_ANY_WORD = re.compile(r"[^\W_]+")
_COMMON = frozenset(
    {"the", "and", "for", "not", "that", "this", "with", "are", "was", "its", "has", "have", "must", "line"}
)


@dataclass(frozen=True)
class KeyFault:
    """A seeded fault as the key has it: ``lines`` where it was seeded, the rules that it breaks with those ``also``
    broken by it and their titles, and in ``shows`` the lines at which a review says so of a rule."""

    title: str
    about: str
    lines: tuple[int, ...]
    rules: tuple[str, ...]
    also: Mapping[str, str]
    shows: frozenset[tuple[int, str]]
    why: str
    written: tuple[str, ...]
    seeded: tuple[str, ...]

    def why_of(self, rule: str) -> bool:
        """Whether a rule is one that this fault breaks."""
        return rule in self.rules or rule in self.also


@dataclass(frozen=True)
class Key:
    """The key of an exercise: its faults, the reasons by letter as (slug, title), and what each earns."""

    name: str
    title: str
    faults: tuple[KeyFault, ...]
    choices: Mapping[str, tuple[str, str]]
    line: float
    reason: float
    reason_alone: float
    false_alarm: float
    most_off: float

    @property
    def out_of(self) -> float:
        """The points that there are."""
        return len(self.faults) * (self.line + self.reason)

    @property
    def titles(self) -> Mapping[str, str]:
        """What the reasons say, by rule: those of the list, and those that are true as well."""
        return {slug: title for fault in self.faults for slug, title in fault.also.items()} | dict(
            self.choices.values()
        )


@dataclass(frozen=True)
class Claim:
    """A line of an answer sheet: which line of the plan, and the rule that the reason comes to, empty for none."""

    number: int
    rule: str
    words: str
    listed: bool = False
    """Whether the reason is one of the list, and not in the student's own words."""


def read_key(source: Source) -> tuple[Key | None, tuple[Diagnostic, ...]]:
    """A key from its text. With any diagnostic it is not fit to mark by."""
    toml = TomlText(source)
    if toml.problems:
        return None, tuple(toml.problems)
    toml.known((), toml.table, ("drill", "marks", "choices", "fault"))
    head, marks = toml.tables((), toml.table, "drill"), toml.tables((), toml.table, "marks")
    toml.known(("marks",), marks, ("line", "reason", "reason_alone", "false_alarm", "most_off"))
    choices: dict[str, tuple[str, str]] = {}
    for letter, value in toml.tables((), toml.table, "choices").items():
        pair = toml.texts(("choices",), {letter: value}, letter)
        if len(pair) != 2:
            toml.complain("wrong-kind", ("choices", letter), f"choice {letter} is to be a rule and its title")
            continue
        choices[letter.upper()] = (pair[0], pair[1])
    faults = toml.table.get("fault", [])
    if not isinstance(faults, list) or not faults:
        toml.complain("no-faults", ("fault",), "the key has no fault", "keep the [[fault]] tables that drill wrote")
        faults = []
    at = ("marks",)
    key = Key(
        toml.text(("drill",), head, "name", source.name),
        toml.text(("drill",), head, "title"),
        tuple(_fault(toml, one) for one in faults),
        choices,
        toml.number(at, marks, "line", 2, 0, 1000),
        toml.number(at, marks, "reason", 2, 0, 1000),
        toml.number(at, marks, "reason_alone", 1, 0, 1000),
        toml.number(at, marks, "false_alarm", 0.5, 0, 1000),
        toml.number(at, marks, "most_off", 1e6, 0, 1e6),
    )
    return (key if not toml.problems else None), tuple(toml.problems)


def _fault(toml: TomlText, value: Any) -> KeyFault:
    at = ("fault",)
    table = value if isinstance(value, dict) else {}
    lines = table.get("lines", [])
    if not isinstance(lines, list) or not lines or not all(isinstance(one, int) for one in lines):
        toml.complain("wrong-kind", (*at, "lines"), "`lines` of a fault is to be a list of line numbers")
        lines = []
    rules = toml.texts(at, table, "rules")
    if not rules:
        toml.complain("wrong-kind", (*at, "rules"), "a fault names no rule in `rules`")
    also: dict[str, str] = {}
    for pair in table.get("also", ()):
        slug, *title = toml.texts(at, {"also": pair}, "also") or ("",)
        also[slug] = title[0] if title else slug
    shows = set()
    for pair in table.get("shows", ()):
        if isinstance(pair, list) and len(pair) == 2 and isinstance(pair[0], int) and isinstance(pair[1], str):
            shows.add((pair[0], pair[1]))
        else:
            toml.complain("wrong-kind", (*at, "shows"), "each of `shows` is to be a line number and a rule")
    return KeyFault(
        toml.text(at, table, "title"),
        toml.text(at, table, "about"),
        tuple(lines),
        rules,
        also,
        frozenset(shows),
        toml.text(at, table, "why"),
        toml.texts(at, table, "written"),
        toml.texts(at, table, "seeded"),
    )


# ------------------------------------------------------------------ answers
def student_of(text: str) -> str:
    """The name on an answer sheet; empty where there is none."""
    for line in text.split("\n"):
        found = _STUDENT.match(line)
        if found:
            return found[1].strip()[:120]
    return ""


def read_claims(text: str, key: Key) -> tuple[tuple[Claim, ...], tuple[str, ...]]:
    """The claims of an answer sheet, and the lines of it that could not be read as one."""
    claims: list[Claim] = []
    odd: list[str] = []
    for line in text.split("\n"):
        if line.lstrip().startswith("#") or _STUDENT.match(line) or _EMPTY.match(line):
            continue
        found = _CLAIM.match(line)
        if found is None:
            odd.append(line.strip()[:200])
        elif len(claims) <= MOST_CLAIMS:
            claims.append(_judged(Claim(int(found[1]), "", found[2].strip()[:300]), key))
    return tuple(claims), tuple(odd)


def _judged(claim: Claim, key: Key) -> Claim:
    """A claim with the rule that it comes to. Words of a student's own at the line of a fault that come nearest to
    another reason, and not clearly to that, are for the instructor to read."""
    rule, listed = rule_meant(claim.words, key)
    here = [fault for fault in key.faults if claim.number in fault.lines]
    if here and rule and not listed and not any(fault.why_of(rule) for fault in here):
        mine, other = _stems(claim.words), _stems(key.titles[rule])
        true = {slug for fault in here for slug in (*fault.rules, *fault.also)}
        says_true = mine & set().union(*(_stems(key.titles.get(slug, "")) | _stems(slug) for slug in true)) - other
        if says_true or len(mine & other) < CLEARLY * len(other):
            rule = ""
    return replace(claim, rule=rule, listed=listed)


def rule_meant(words: str, key: Key) -> tuple[str, bool]:
    """The rule that a reason comes to, by letter, by the rule's name, or by words, empty where that is not known; and
    whether it is given as the list has it, and not in words of the student's own."""
    letter = _LETTER.match(words)
    if letter and letter[2].upper() in key.choices:
        rest = words[letter.end() :]
        # `A lead is too thin` begins with a word, not with a letter of the list
        apart = bool(letter[1]) or not rest.strip() or rest[0] in ",;:.)-–"
        if apart or (letter[2].isupper() and not rest.strip()[0].isalpha()):
            return key.choices[letter[2].upper()][0], True
    plain = words.strip().lower()
    titles = key.titles
    if plain in titles or any(plain in fault.rules for fault in key.faults):
        return plain, True
    copied = [slug for slug, title in titles.items() if f" {_plain(title)} " in f" {_plain(words)} "]
    if copied:
        return max(copied, key=lambda slug: len(titles[slug])), True
    mine = _stems(words)
    theirs = {slug: _stems(title) | _stems(slug) for slug, title in titles.items()}
    rarity = Counter(stem for stems in theirs.values() for stem in stems)
    value = {
        slug: sum(1 / rarity[stem] for stem in mine & stems)
        for slug, stems in theirs.items()
        if len(mine & stems) >= LEAST_SHARED
    }
    best, *others = sorted(value, key=lambda slug: -value[slug]) or ("",)
    return ("" if others and value[others[0]] > NEARLY * value[best] else best), False


def _plain(text: str) -> str:
    return " ".join(_ANY_WORD.findall(text.lower()))


def _stems(text: str) -> set[str]:
    """Words without their common endings."""
    found = set()
    for word in _WORD.findall(text.lower()):
        if word not in _COMMON:
            found.add(re.sub(r"(?:ing|ed|es|s|e)$", "", word) if len(word) > 4 else word)
    return found


# ------------------------------------------------------------------ marks
def mark_faults(answer: Answer, key: Key) -> Marked:
    """Mark one answer sheet. What can't be marked has a note that says why."""
    text = answer.source.text if answer.source is not None else ""
    note = answer.reason
    if not note and answer.problems:
        note = answer.problems[0].message
    claims: list[Claim] = []
    again: list[Claim] = []
    odd: tuple[str, ...] = ()
    if not note:
        read, odd = read_claims(text, key)
        claims, again = _first_of_each_line(read, key)
        if len(read) > MOST_CLAIMS:
            note = f"it has more than the {MOST_CLAIMS} answers that a sheet may have"
        elif not claims and odd:
            note = "no line of it could be read as `line NUMBER: LETTER`"
        elif not claims:
            note = "the answer is empty"
    given = _paired(claims, key)
    items = tuple(_item(fault, given[at], key, bool(note)) for at, fault in enumerate(key.faults))
    used = {id(claim) for pair in given for claim in pair if claim is not None}
    wild = [] if note else [claim for claim in claims if id(claim) not in used and not _points_out(claim, key)]
    there = {number for fault in key.faults for number in fault.lines}
    off = [
        Off(
            key.false_alarm,
            f"line {one.number}: {'that is not what' if one.number in there else 'nothing'} is wrong there",
        )
        for one in wild
        if key.false_alarm
    ]
    taken = min(key.most_off, sum(one.points for one in off))
    marks = max(0.0, round(sum(item.earned for item in items) - taken, 2))
    right = sum(line is not None and _is_right(line, key.faults[at]) for at, (line, _) in enumerate(given))
    wrong = len(wild) + sum(
        line is not None and not _is_right(line, key.faults[at]) for at, (line, _) in enumerate(given)
    )
    said = [
        *off[:MOST_SHOWN],
        *(Off(0.0, f"line {one.number} was answered before, and the first answer counts") for one in again),
        *(Off(0.0, f"`{line}` could not be read as `line NUMBER: LETTER`") for line in odd if not note),
    ]
    enough = not note and bool(key.faults) and marks >= key.out_of / 2
    lacking = ("more lines that are right than wrong",) if enough and right <= wrong else ()
    to_read = [f"line {one.number}: {one.words}" for one in claims if one.words and not one.rule]
    passed = enough and not lacking
    student = student_of(text) or answer.student
    return Marked(
        answer.name,
        student,
        items,
        tuple(said),
        taken,
        marks,
        key.out_of,
        passed,
        lacking,
        note,
        to_read=(*to_read, *odd),
    )


def _is_right(claim: Claim, fault: KeyFault) -> bool:
    """Whether a claim at a fault's line gives no reason but a true one; words that nothing matched are not judged."""
    return not claim.rule or fault.why_of(claim.rule)


def _first_of_each_line(claims: Sequence[Claim], key: Key) -> tuple[list[Claim], list[Claim]]:
    """The claims that count, and those that come after: of one line as many count as it points faults out."""
    left = Counter(number for fault in key.faults for number in set(fault.lines))
    kept: list[Claim] = []
    again: list[Claim] = []
    for claim in claims:
        before = sum(one.number == claim.number for one in kept)
        (kept if before < max(1, left[claim.number]) else again).append(claim)
    return kept, again


def _points_out(claim: Claim, key: Key) -> bool:
    """Whether a claim points out a fault, with a reason that is right for it; another claim may have been counted."""
    return any(
        (claim.number in fault.lines and _is_right(claim, fault)) or (claim.number, claim.rule) in fault.shows
        for fault in key.faults
    )


Pair = tuple[Claim | None, Claim | None]


def _paired(claims: Sequence[Claim], key: Key) -> list[Pair]:
    """For each fault the claim that gives its line, and that which gives its reason; a claim serves one fault."""
    free = list(claims)
    given: list[Pair] = [(None, None)] * len(key.faults)

    def take(test: Callable[[Claim, KeyFault], bool], both: bool) -> None:
        for at, fault in enumerate(key.faults):
            if given[at] != (None, None):
                continue
            claim = next((one for one in free if test(one, fault)), None)
            if claim is not None:
                free.remove(claim)
                right = fault.why_of(claim.rule)
                given[at] = (claim, claim if right else None) if both else (None, claim)

    take(lambda one, fault: one.number in fault.lines and fault.why_of(one.rule), True)
    take(lambda one, fault: (one.number, one.rule) in fault.shows, False)
    take(lambda one, fault: one.number in fault.lines, True)
    take(lambda one, fault: fault.why_of(one.rule), False)
    return given


def _item(fault: KeyFault, pair: Pair, key: Key, nothing: bool) -> Item:
    line, reason = pair
    points = key.line + key.reason
    if line is not None and reason is not None:
        earned, state, said = points, "found", ""
    elif line is not None:
        earned, state = key.line, "line found"
        said = (
            "the reason given is another's"
            if line.rule
            else "it is not clear which reason of the list that is; the instructor reads it"
        )
        said = said if line.words else "no reason is given"
    elif reason is not None and (reason.number, reason.rule) in fault.shows:
        earned, state, said = key.reason, "reason found", "it shows there, and is to be mended in another line"
    elif reason is not None:
        earned, state, said = min(key.reason_alone, key.reason), "reason named", "the line given is not where it is"
    else:
        earned, state, said = 0.0, "not marked" if nothing else "missed", ""
    where = ", ".join(map(str, fault.lines))
    found_at = f"it is at any of lines {where}" if len(fault.lines) > 1 else f"it is at line {where}"
    seeded = [found_at, *(f"what was done to the sound plan: {one}" for one in fault.seeded)]
    lines = [Line("", "", one) for one in seeded]
    claim = line or reason
    if claim is not None:
        lines.insert(0, Line(f"line {claim.number}", claim.words, "your answer"))
    return Item(
        fault.rules[0], fault.title, fault.about, earned, points, state, said, fault.why, fault.written, tuple(lines)
    )


__all__ = ["Claim", "Key", "KeyFault", "mark_faults", "read_claims", "read_key", "rule_meant", "student_of"]
