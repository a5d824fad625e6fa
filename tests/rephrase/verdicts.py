"""What a review of a plan comes to, in terms that do not hang on its words, and how two of them differ."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass

from crowd import reviewer
from sheets import Sheet

from groundlint.findings.model import Kind
from groundlint.plan.models import PointRef, Thing
from groundlint.text import Source
from groundlint.values import Truth

Verdict = tuple[str, str, tuple[str, ...]]
"""A rule or the code of a message, what came of it, and the things that it was asked of."""


@dataclass(frozen=True)
class Verdicts:
    """Exit status; what was found; and the rules that were asked and met."""

    status: int
    found: frozenset[Verdict]
    met: frozenset[str]


def called(value: object, back: Mapping[str, str]) -> str:
    """A thing by the name that it had before it was renamed; nothing for a step."""
    if isinstance(value, PointRef):
        parts = (one for one in (value.structure, value.thing) if one is not None)
        return " ".join([*(called(one, back) for one in parts), value.sort])
    if isinstance(value, Thing):
        return " ".join(back.get(word, word) for word in value.name.split())
    return ""


def verdicts(sheet: Sheet, *, computed: bool = False) -> Verdicts:
    """What a plan's review comes to, by the default books or those of them that compute nothing."""
    review = reviewer(computed).review(Source(sheet.name, sheet.text()), sheet.opened)
    found: set[Verdict] = {
        (one.slug, one.kind.value, ())
        for one in review.findings
        if one.kind in (Kind.UNREAD, Kind.IMPOSSIBLE, Kind.WAIVER)
    }
    waived = {one.slug for one in review.waived}
    for outcome in review.outcomes:  # findings of one line that say the same are one
        for one in outcome.verdicts:
            slug = one.rule.slug
            kind = "not shown" if one.truth is Truth.UNKNOWN else "broken"
            things = tuple(word for _, value in one.binding if (word := called(value, sheet.back)))
            found.add((slug, f"waived, {kind}" if slug in waived else kind, things))
    met = frozenset(outcome.rule.slug for outcome in review.outcomes if outcome.truth is Truth.TRUE)
    return Verdicts(review.status(), frozenset(found), met)


def differences(one: Verdicts, other: Verdicts) -> dict[str, list[str]]:
    """What differs, by rule; `status` where nothing but the exit status does."""
    out: dict[str, list[str]] = {}
    for which, found in (("only before", one.found - other.found), ("only after", other.found - one.found)):
        for slug, kind, things in sorted(found):
            out.setdefault(slug, []).append(f"{which}: {kind} {' '.join(things)}".strip())
    reported = {slug for slug, _, _ in one.found | other.found}
    for which, met in (("only before", one.met - other.met), ("only after", other.met - one.met)):
        for slug in sorted(met - reported):
            out.setdefault(slug, []).append(f"{which}: met")
    if one.status != other.status and not out:
        out["status"] = [f"{one.status} before, {other.status} after"]
    return out
