"""Puts this folder and the generators of plans on the path: test folders are no packages."""

import sys
from pathlib import Path

HERE = Path(__file__).parent
sys.path[:0] = [str(HERE), str(HERE.parent / "generate")]
