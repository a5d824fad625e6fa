"""Helpers of other folders can be imported by these tests."""

import sys
from pathlib import Path

TESTS = Path(__file__).parents[1]
for folder in ("generate", "fuzz"):
    sys.path.insert(0, str(TESTS / folder))
