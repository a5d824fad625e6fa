"""Where other words get other verdicts, and why. Each rule named must still differ in one of the plans named."""

from __future__ import annotations

from typing import NamedTuple


class Explained(NamedTuple):
    """Rules whose verdicts a rewriting changes: plans that show it, and the reason. ``by_words``: the rules read words
    in quotes, so that they may differ as well where the rewriting is one of several."""

    rewriting: str
    rules: tuple[str, ...]
    plans: tuple[str, ...]
    reason: str
    by_words: bool = False


IN_BETWEEN = (
    "both ends of a bond go on, and come off, at one step: which is first `ground-end-first` and `line-end-off-first` "
    "ask, of how things are in between no rule can"
)

EXPLAINED = (
    Explained(
        "bond for attach",
        ("briefing-opens-the-job",),
        ("incidents/ontario-2012-neutral.case",),
        "nobody was briefed, and it is said of the step that begins the work",
    ),
    Explained(
        "attach for bond",
        ("electrode-off-last",),
        ("harm/phase-to-bar-said-the-other-way", "harm/bond-phase-by-hand"),
        IN_BETWEEN,
    ),
    Explained(
        "steps unnumbered",
        ("steps-numbered-in-order",),
        ("examples/brackets-and-personal-ground",),
        "it asks for numbers; the steps are the same",
    ),
    Explained(
        "stages added",
        ("no-floating-end",),
        ("examples/deliberate-handbooks",),
        "it asks at the end of each stage, so that where a stage ends is not free",
    ),
    Explained(
        "stages dropped",
        ("no-floating-end",),
        ("incidents/osha-14200174.case",),
        "it asks at the end of each stage, so that where a stage ends is not free",
    ),
    Explained(
        "other names",
        ("faulty-gear-not-used", "words-replace-no-step"),
        ("examples/deliberate-lone-hand", "examples/deliberate-slips"),
        "what it finds is shown by a name in words in quotes, and these are not changed",
        by_words=True,
    ),
    Explained(
        "other texts",
        ("faulty-gear-not-used", "words-replace-no-step"),
        ("examples/deliberate-lone-hand", "examples/deliberate-slips"),
        "what it finds is shown by words in quotes, which are others",
        by_words=True,
    ),
    Explained(
        "notes strewn",
        ("words-replace-no-step",),
        ("harm/shock-and-leads-go-on", "incidents/osha-14523369.case"),
        "it asks of notes, and there were none before",
        by_words=True,
    ),
)
