"""The known word that a word nobody knows comes near to: one way of asking "did you mean"."""

from __future__ import annotations

from collections.abc import Iterable

LIKE = 0.6
"""How alike two words are, from 0 to 1, for one to be taken for a slip of the other (`difflib`)."""


def nearest(word: str, among: Iterable[str], like: float = LIKE) -> str:
    """The word among these that comes nearest, whatever its capitals; empty where none is as much ``like``."""
    from difflib import get_close_matches  # only a mistake needs it

    spelled = {one.lower(): one for one in sorted(among, reverse=True)}
    near = get_close_matches(word.lower(), spelled, n=1, cutoff=like)
    return spelled[near[0]] if near else ""
