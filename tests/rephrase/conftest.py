"""Puts the rewritings and the generators of plans on the path."""

import sys
from pathlib import Path

sys.path[:0] = [str(Path(__file__).parent), str(Path(__file__).parents[1] / "generate")]
