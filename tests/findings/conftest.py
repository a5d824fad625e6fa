"""Puts the generators of plans, and the helpers beside these tests, on the path, test folders being no packages."""

import sys
from pathlib import Path

for folder in (Path(__file__).parents[1] / "generate", Path(__file__).parent):
    sys.path.insert(0, str(folder))
