"""Puts the helpers of these tests (toy catalogue, naive evaluator) on the path: test folders are no packages."""

import sys
from pathlib import Path

sys.path.insert(0, str(Path(__file__).parent))
