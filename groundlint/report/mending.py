"""What mending a plan came to: the change as a unified diff, and in words what was mended and what is left."""

from __future__ import annotations

from collections.abc import Iterator

from groundlint.findings.model import Kind
from groundlint.findings.repairs import MOST_MENDING, Mended, Vain
from groundlint.words.rows import counted


def diff_text(name: str, old: str, new: str) -> str:
    """The change of a file as a unified diff, which `patch -p1` and `git apply` take; empty where there is none."""
    from difflib import unified_diff

    return "".join(
        line if line.endswith("\n") else f"{line}\n\\ No newline at end of file\n"
        for line in unified_diff(_lines(old), _lines(new), f"a/{name}", f"b/{name}")
    )


def mended_text(name: str, mended: Mended) -> str:
    """A line for each edit that was made, and one for what is left."""
    return "".join(f"{line}\n" for line in _said(name, mended))


def _said(name: str, mended: Mended) -> Iterator[str]:
    for one in mended.made:
        step = f"{one.step}: " if one.step else ""
        yield f"{name}: {step}{one.says} [{one.slug}]"
    for (says, why, slug), steps in _vain(mended).items():
        step = f"{steps[0]}: " if steps[0] else ""
        more = f" (and at {counted(len(steps) - 1, 'step')} more)" if len(steps) > 1 else ""
        yield f"{name}: {step}not made: {says}{more}: {why} [{slug}]"
    review = mended.review
    left = review.open_findings
    if left:
        gravest = max(left, key=lambda finding: finding.level)
        number = f"{len(left)} finding{'s' * (len(left) > 1)}"
        yield (
            f"{name}: {len(mended.made)} mended; {number} left, the gravest in {gravest.span.called} of "
            f"{gravest.span.source.name}: {gravest.level.word}: {gravest.message} [{gravest.slug}]"
        )
    elif mended.made:
        yield f"{name}: {len(mended.made)} mended; nothing is left"
    if mended.stopped:
        yield f"{name}: stopped after {MOST_MENDING} tries; run it again on the plan as it is then"


def _vain(mended: Mended) -> dict[tuple[str, str, str], list[str]]:
    """Edits that were offered and not made, with why and their rule, and the steps of each that says the same."""
    found: dict[tuple[str, str, str], list[str]] = {}
    for one in mended.vain:
        found.setdefault((one.says, _why_not(one), one.slug), []).append(one.step)
    return found


def _why_not(one: Vain) -> str:
    if one.kind in (Kind.UNREAD, Kind.IMPOSSIBLE):
        return f"the plan could not be {'read' if one.kind is Kind.UNREAD else 'done'} with it: {one.message}"
    if one.kind is not None:
        comes_to = "come out" if one.kind is Kind.UNSHOWN else "be broken:"  # what is not shown says so itself
        return f"{one.why} would {comes_to} {one.message}"
    return f"{one.why} would not be asked any more" if one.why else "the rule would still find what it finds now"


def _lines(text: str) -> list[str]:
    """Lines as `patch` knows them, each with its end."""
    lines = text.split("\n")
    return [f"{line}\n" for line in lines[:-1]] + [lines[-1]] * bool(lines[-1])
