"""The last lines of a run: what its plans came to, what was left out, and what the product does not do.

Little is imported here: these lines are all that is made for plans that were reviewed before.
"""

from __future__ import annotations

from collections.abc import Sequence

from groundlint.text.decode import visible_name

CAUTION = (
    "This checks what the plan says, not what is in the field. The employer's rules, local codes,\n"
    "a qualified person's judgement and a licensed engineer's calculation stand above it."
)

_CAME_TO = {
    "clean": "clean",
    "passed": "passed with findings that are waived or below the gate",
    "broken": "broken",
    "not shown": "not shown",
}

MOST_LEFT_OUT = 5
"""Files and folders left out that are named; the rest are counted."""


def closing(
    words: Sequence[str],
    failures: int = 0,
    left_out: Sequence[str] = (),
    settings: Sequence[str] = (),
    passed_over: Sequence[str] = (),
) -> str:
    """The last lines of a run.

    ``words`` say what the reviews of its plans came to, ``failures`` how many were not reviewed, ``left_out`` what
    ignore files and settings left out, ``settings`` the settings files that held, ``passed_over`` where a search of
    folders does not come.
    """
    lines = []
    if len(words) + failures > 1:
        counts = [f"{words.count(word)} {said}" for word, said in _CAME_TO.items() if word in words or word != "passed"]
        counts += [f"{failures} not reviewed"] * bool(failures)
        lines.append(f"{len(words) + failures} plans: {', '.join(counts)}")
    for said, names in (("left out", left_out), ("passed over, read where a plan uses it", passed_over)):
        if names:
            more = f" and {len(names) - MOST_LEFT_OUT} more" if len(names) > MOST_LEFT_OUT else ""
            lines.append(f"{said}: {', '.join(map(visible_name, names[:MOST_LEFT_OUT]))}{more}")
    if settings:
        lines.append(f"settings: {', '.join(settings)}")
    lines.append(CAUTION)
    return "\n".join(lines) + "\n"
