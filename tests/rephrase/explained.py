"""Where other words get other verdicts, and why. Each rule named must still differ in one of the plans named.

``to_mend`` marks what should be the same: a rule that hears one word and not the other.
"""

from __future__ import annotations

from typing import NamedTuple


class Explained(NamedTuple):
    """Rules whose verdicts a rewriting changes: plans that show it, and the reason."""

    rewriting: str
    rules: tuple[str, ...]
    plans: tuple[str, ...]
    reason: str
    to_mend: bool


EXPLAINED = (
    Explained(
        "bond for attach",
        ("briefing-opens-the-job", "ground-end-back-by-stick", "lead-minimum-size"),
        ("harm/lead-too-small", "harm/line-end-first", "incidents/ontario-2012-neutral.case"),
        "both ends go on at one step, which is about the first of them: there is none yet that a ground end could join",
        False,
    ),
    Explained(
        "bond for attach",
        ("lead-spans-its-points",),
        ("examples/deliberate-sins", "harm/bar-at-another-pole"),
        "of a lead to a conductor at another structure `one-place-at-a-time` asks; a bond may name the conductor first",
        False,
    ),
    Explained(
        "bond for attach",
        ("detach-not-on", "leave-before-removal", "reverse-order"),
        ("harm/lead-over-the-open-switch", "harm/steel-bonded-by-hand"),
        "the plan takes ends off one by one, as it may what was attached",
        False,
    ),
    Explained(
        "bond for attach",
        (
            "ganged-leads-match",
            "ground-end-first",
            "ground-end-grounded",
            "inspected-before-use",
            "one-place-at-a-time",
            "short-path-between-phases",
        ),
        (
            "examples/deliberate-sins",
            "harm/bond-phase-to-neutral-left",
            "harm/restored-line-end-first",
        ),
        "both ends go on, or come off, at one step: what the first end brings is not there when the second is asked of",
        True,
    ),
    Explained(
        "bond and unbond for attach and detach",
        (
            "briefing-opens-the-job",
            "ground-end-first",
            "ground-end-grounded",
            "one-place-at-a-time",
            "short-path-between-phases",
        ),
        (
            "examples/deliberate-cable",
            "examples/deliberate-handbooks",
            "harm/bond-phase-to-neutral-left",
            "harm/cable-cut-unspiked",
            "harm/one-of-two-left-up",
            "incidents/face-89-36.case",
            "incidents/ontario-2012-neutral.case",
        ),
        "both ends go on, or come off, at one step: what the first end brings is not there when the second is asked of",
        True,
    ),
    Explained(
        "steps unnumbered",
        ("steps-numbered-in-order",),
        ("examples/brackets-and-personal-ground",),
        "it asks for numbers; the steps are the same",
        False,
    ),
    Explained(
        "stages added",
        ("no-floating-end",),
        ("examples/deliberate-handbooks",),
        "it asks at the end of each stage, so that where a stage ends is not free",
        False,
    ),
    Explained(
        "stages dropped",
        ("no-floating-end",),
        ("incidents/osha-14200174.case",),
        "it asks at the end of each stage, so that where a stage ends is not free",
        False,
    ),
    Explained(
        "attach for bond",
        (
            "ground-end-first",
            "ground-end-grounded",
            "inspected-before-use",
            "leave-before-removal",
        ),
        (
            "harm/bond-before-switching",
            "incidents/osha-14523369.twin",
            "harm/bridge-over-the-open-switch",
            "examples/deliberate-sins",
            "harm/bond-and-off-by-hand",
            "harm/bond-phase-by-hand",
            "harm/routine-that-bonds-untested",
        ),
        "both ends go on, or come off, at one step: what the first end brings is not there when the second is asked of",
        True,
    ),
)
