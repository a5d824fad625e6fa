"""Where other words get other verdicts, and why. Each rule named must still differ in one of the plans named.

``to_mend`` marks what should be the same: a rule that hears one word and not the other.
"""

from __future__ import annotations

from typing import NamedTuple


class Explained(NamedTuple):
    """Rules whose verdicts a rewriting changes: plans that show it, and the reason. ``by_words``: the rules read words
    in quotes, so that they may differ as well where the rewriting is one of several."""

    rewriting: str
    rules: tuple[str, ...]
    plans: tuple[str, ...]
    reason: str
    to_mend: bool
    by_words: bool = False


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
    Explained(
        "bond for attach",
        ("inspected-before-use",),
        ("examples/deliberate-sins",),
        "a lead is said to be not looked over once, at the first end that goes on; a bond may name the other first",
        False,
    ),
    Explained(
        "bond and unbond for attach and detach",
        ("inspected-before-use", "lead-minimum-size"),
        ("harm/ends-on-a-neutral-grounded-far-away", "harm/lead-too-small"),
        "it is said once of a lead, at the first end that goes on; a bond may name the other first",
        False,
    ),
    Explained(
        "bond and unbond for attach and detach",
        ("lead-spans-its-points",),
        ("harm/bar-at-another-pole",),
        "of a lead to a conductor at another structure `one-place-at-a-time` asks; a bond may name the conductor first",
        False,
    ),
    Explained(
        "bond and unbond for attach and detach",
        ("leave-before-removal",),
        ("harm/lead-over-the-open-switch",),
        "the end at the other structure comes off with the one at hand; while one hangs, the structure loses a way",
        False,
    ),
    Explained(
        "attach for bond",
        ("electrode-off-last", "ground-end-back-by-stick", "line-end-off-first"),
        ("harm/phase-to-bar-said-the-other-way", "harm/third-phase-by-way-of-the-next-pole"),
        "of the two ends of a bond no one comes off first",
        False,
    ),
    Explained(
        "attach for bond",
        ("one-place-at-a-time",),
        ("harm/mat-bonded-to-a-phase", "harm/truck-bonded-to-a-phase"),
        "a mat or a truck that stands nowhere yet may be elsewhere; attached, its end is asked about by itself",
        False,
    ),
    Explained(
        "other names",
        ("faulty-gear-not-used", "words-replace-no-step"),
        ("examples/deliberate-lone-hand", "examples/deliberate-slips"),
        "what it finds is told by a name in words in quotes, and these are not changed",
        False,
        by_words=True,
    ),
    Explained(
        "other texts",
        ("faulty-gear-not-used", "words-replace-no-step"),
        ("examples/deliberate-lone-hand", "examples/deliberate-slips"),
        "what it finds is told by words in quotes, which are others",
        False,
        by_words=True,
    ),
    Explained(
        "notes strewn",
        ("words-replace-no-step",),
        ("harm/shock-and-leads-go-on", "incidents/osha-14523369.case"),
        "it asks of notes, and there were none before",
        False,
        by_words=True,
    ),
)
