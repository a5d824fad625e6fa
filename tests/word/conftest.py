"""Puts the generators of plans on the path: test folders are no packages."""

import sys
from pathlib import Path

TESTS = Path(__file__).parents[1]
sys.path[:0] = [str(TESTS / "generate"), str(TESTS / "word")]
