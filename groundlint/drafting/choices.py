"""What a plan to begin with can be made for, by name, with its meaning; no more is imported for the command's help."""

from __future__ import annotations

from typing import Final

METHODS: Final = {
    "single-point": "one set of grounds, at the structure that is worked on",
    "dual-point": "a set on each side of the work and a personal one at it, which may be that of one side",
    "small-neutral": "one set at the work, for a neutral that the fault would melt",
}
ACCESS: Final = {"pole": "a climbed pole", "bucket": "a bucket truck", "steel": "a steel pole or tower"}
WORDS: Final = {"grounding": "ground, clearance, lineman", "earthing": "earth, permit, linesman"}
