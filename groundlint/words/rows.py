"""Names, facts and counts in a row, as people write them."""

from __future__ import annotations

import re
from collections.abc import Iterable, Sequence


def counted(number: int, what: str) -> str:
    """`1 rule`, `2 rules`."""
    return f"{number} {what}" + ("" if number == 1 else "s")


def listed(words: Sequence[str], last: str = "and") -> str:
    """`a`, `a and b`, `a, b and c`."""
    return f" {last} ".join([", ".join(words[:-1]), words[-1]] if len(words) > 1 else words)


def names_together(names: Iterable[str]) -> list[str]:
    """Names with runs of numbered ones shortened, in their order: ``G1..G5``, ``G11``."""
    out: list[str] = []
    run: list[str] = []
    for name in names:
        if run and _next(run[-1]) != name:
            out += _shortened(run)
            run = []
        run.append(name)
    return [*out, *_shortened(run)]


def _shortened(run: list[str]) -> list[str]:
    return [f"{run[0]}..{run[-1]}"] if len(run) > 2 else run


def _next(name: str) -> str:
    stem = name.rstrip("0123456789")
    digits = name[len(stem) :]
    return f"{stem}{int(digits) + 1}" if digits and not digits.startswith("0") and len(digits) < 9 else ""


_NAME = re.compile(r"[A-Z][\w-]*|[\w-]*\d[\w-]*")
_MANY = {"was": "were", "is": "are", "has": "have", "wears": "wear", "stands": "stand", "goes": "go"}
_THINGS = ("lead", "rod", "bar", "stick", "detector", "tester", "structure", "source", "vehicle", "mat")


def facts_together(facts: Sequence[str]) -> str:
    """Facts that are alike as one: `the size and the metal of leads G1..G5; the depth of rod R1`."""
    names: dict[tuple[str, str], list[str]] = {}
    for fact in facts:
        slots = [found for found in _NAME.finditer(fact) if found.end() == len(fact) or not fact[found.end()].isalnum()]
        one = slots[0] if len(slots) == 1 else None
        around = (fact[: one.start()], fact[one.end() :]) if one is not None else (fact, "")
        found = names.setdefault(around, [])
        if one is not None and one[0] not in found:
            found.append(one[0])
    said: dict[tuple[str, str, tuple[str, ...]], list[str]] = {}  # what is said of the same things in the same words
    for (before, after), of in names.items():
        head, preposition, rest = before.rpartition(" of ")
        alike = bool(of) and preposition and not after
        key = (f" of {rest}" if alike else before, after, tuple(sorted(of, key=_in_order)))
        said.setdefault(key, []).append(head if alike else "")
    return "; ".join(
        (listed(heads) if heads[0] else "")
        + (_of_several(before, after, of) if len(of) > 1 else before + "".join(of) + after)
        for (before, after, of), heads in said.items()
    )


def _in_order(name: str) -> tuple[str, int]:
    stem = name.rstrip("0123456789")
    return stem, int(name[len(stem) :][:9] or -1)


def _of_several(before: str, after: str, names: Sequence[str]) -> str:
    thing = before.rstrip().rpartition(" ")[2]
    many = f"{before.rstrip()}s " if thing in _THINGS else before
    verb, _, rest = after.lstrip().partition(" ")
    subjects = verb in _MANY and " of " not in before  # not `the next test of G1 is due`
    tail = f" {_MANY[verb]} {rest}".rstrip() if subjects else after
    return f"{many}{listed(names_together(names))}{tail}"
