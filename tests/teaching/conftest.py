"""Helpers of other folders can be imported by these tests; a browser for the pages."""

import sys
from pathlib import Path

TESTS = Path(__file__).parents[1]
for folder in ("generate", "teaching"):
    sys.path.insert(0, str(TESTS / folder))
