"""Puts the generators of plans on the path, test folders being no packages."""

import sys
from pathlib import Path

sys.path.insert(0, str(Path(__file__).parents[1] / "generate"))
