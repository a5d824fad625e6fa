"""A plan to begin with: the order of the steps for a method and a place to work from, and no fact of the site.

What is not said in it (voltages, sizes, lengths, soil, dates) is what a review asks for, with its place and a text.
Names are stand-ins that the writer replaces. The steps are those of a draft.
"""

from __future__ import annotations

from dataclasses import replace

from groundlint.drafting.heads import Head, drafted
from groundlint.drafting.job import Job
from groundlint.drafting.policy import Choices
from groundlint.language.reader import read_statements
from groundlint.language.writer import write_plan
from groundlint.reading import read_plan
from groundlint.text import Source

_CHOICES = Choices(rod_away=None, rod_barricade=None, vehicle_barricade=None, after="close")
"""Those of a draft, but no size is stated, and the line is put back."""


class NoSuchPlanError(ValueError):
    """A method that is not built from such a place."""


def skeleton(method: str, access: str, words: str = "grounding", *, markdown: bool = False) -> str:
    """The text of a plan to begin with; in Markdown, with a heading for each part. `begun` says of what."""
    head, made = begun(method, access, words)
    return head.markdown(made) if markdown else head.plain(made)


def begun(method: str, access: str, words: str = "grounding") -> tuple[Head, Job]:
    """The head of a plan to begin with, and its steps. ``method``, ``access`` and ``words`` are of those in
    `drafting.choices`. `NoSuchPlanError` where a method is not built from such a place."""
    if method == "small-neutral" and access == "steel":
        raise NoSuchPlanError(
            "steel is itself the way of the fault to ground, so that nothing there hangs on a small neutral"
        )
    work, lines = _head(method, access)
    read = read_statements(Source("", "\n".join(lines))).text
    laid_out = write_plan(replace(read, tradition="earth" if words == "earthing" else "ground"))
    head = Head.of(Source("new.tpg", laid_out))
    return head, drafted(read_plan(head.source).plan, (work,), _CHOICES)


def _head(method: str, access: str) -> tuple[str, list[str]]:
    """Where the work is, and the lines of a head without a fact of the site."""
    steel, bucket, dual = access == "steel", access == "bucket", method == "dual-point"
    wires = 3 if steel else 4
    route = [f"P{n}" for n in range(1, 6 if dual else 4)]
    rods = 0 if steel else 2 if dual else 1
    leads = (3 if dual else 1) * wires + rods + bucket
    return route[len(route) // 2], [
        'plan      "the job, in a few words"',
        "document  PROC-1 revision 1",
        f"method    {'single-point small neutral' if method == 'small-neutral' else method} from the {access}",
        "",
        "line Line1",
        "  phases    A B C",
        *(["  neutral   N too small for the fault" if method == "small-neutral" else "  neutral   N"] * (not steel)),
        f"  route     {' '.join(route)}",
        "",
        f"source Feed utility beyond {route[0]}",
        f"switch SW1 between Feed and {route[0]} normally closed",
        f"structure {route[0]}..{route[-1]}" + " steel tower" * steel,
        *([f"rod {' '.join(f'R{n}' for n in range(1, rods + 1))}"] * bool(rods)),
        f"bar {' '.join(f'K{n}' for n in range(1, 4 if dual else 2))}",
        f"lead G1..G{leads}",
        "detector D1",
        "tester T1",
        "stick H1",
        *(["vehicle V1 bucket truck"] * bucket),
        "crew lineman Lineman1 Lineman2, groundman Groundman1",
    ]
