"""Which of the edits that rules offer mend a plan: those with which it was reviewed again and is better."""

from __future__ import annotations

from collections.abc import Callable, Iterable, Iterator, Sequence

from groundlint.findings.fingerprint import fingerprints
from groundlint.findings.model import Kind, Review
from groundlint.text.edits import Edit, edited

MOST_TRIED = 24
"""Reviews that are made of a plan with edits in it; what is not settled by then is reported without an edit."""


def edits_that_mend(review: Review, again: Callable[[str], Review]) -> tuple[Edit | None, ...]:
    """For each finding of a review the edit that mends it; ``None`` where its rule offers none.

    ``again`` reviews the plan with another text. An edit counts only if the plan with it is read as far as before, has
    that finding no more, has no finding that it did not have, and breaks nothing that was not shown. Edits at different
    places are tried together, and in ever smaller groups where they fail together: one review tells of many edits, and
    what is known of an edit is known of it among those of its group.
    """
    source, before = review.plan.source, fingerprints(review)
    known = _kinds(review)

    def mend(tried: Sequence[tuple[int, Edit]]) -> bool:
        left = _kinds(again(edited(source, [edit for _, edit in tried])))
        new = any(mark not in known or kind not in (known[mark], Kind.UNSHOWN) for mark, kind in left.items())
        return not new and not any(before[at] in left for at, _ in tried)

    found: list[Edit | None] = [None] * len(before)
    waiting = _apart(_offered(review))
    for _ in range(MOST_TRIED):
        if not waiting:
            break
        group = waiting.pop(0)
        if mend(group):
            for at, edit in group:
                found[at] = edit
        elif len(group) > 1:
            half = len(group) // 2
            waiting += [group[:half], group[half:]]
    return tuple(found)


def _kinds(review: Review) -> dict[str, Kind]:
    """How each finding came about, by its fingerprint, which is the same for a rule broken and not shown."""
    return {mark: one.kind for mark, one in zip(fingerprints(review), review.findings, strict=True)}


def _offered(review: Review) -> Iterator[tuple[int, Edit]]:
    """The edits that rules offer for findings that no waiver covers, within the plan's own file."""
    source = review.plan.source
    for at, finding in enumerate(review.findings):
        edit = finding.repair
        if edit is not None and finding.waiver is None and all(span.source is source for span, _ in edit.pieces):
            yield at, edit


def _apart(edits: Iterable[tuple[int, Edit]]) -> list[list[tuple[int, Edit]]]:
    """Edits in groups within which no two are of one line."""
    groups: list[tuple[set[int], list[tuple[int, Edit]]]] = []
    for at, edit in edits:
        lines = {span.line for span, _ in edit.pieces}
        taken, members = next((group for group in groups if not group[0] & lines), (None, None))
        if taken is None or members is None:
            groups.append((lines, [(at, edit)]))
        else:
            taken |= lines
            members.append((at, edit))
    return [members for _, members in groups]
