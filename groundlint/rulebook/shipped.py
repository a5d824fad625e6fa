"""The rulebooks that come with groundlint."""

from __future__ import annotations

from pathlib import Path

FILES = (".rule", ".book")
"""How the names of the files of a rulebook end."""

DEFAULT_BOOKS = ("practice", "us-29cfr1910-269", "electrical")
"""Books that a review holds a plan against where none is named."""


def shipped() -> Path:
    """The folder of the rulebooks that come with the package."""
    inside = Path(__file__).parents[1] / "rules"
    return inside if inside.is_dir() else inside.parent.parent / "rules"
