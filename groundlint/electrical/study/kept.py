"""Bounds kept by all that they follow from: revisions of a plan share most of their states, and so does a plan that is
reviewed again. What is asked from here without a circuit to solve is quick: numpy is imported elsewhere."""

from __future__ import annotations

from functools import cache
from pathlib import Path
from typing import Final

from groundlint.text.store import Store, digest, digest_of_files

KEPT: Final = Store("circuits.db", limit=2048, size=64_000_000)
"""Bounds by state, source and what is asked; see `Extents`."""


@cache
def code() -> bytes:
    """A digest of what computes: this package, and the library that does its linear algebra."""
    import numpy as np

    return digest(np.__version__, digest_of_files(Path(__file__).parents[1].rglob("*.py")))
