"""``--smallest``: a benchmark is started to see that it runs, not for its figures."""

import sys

SMALLEST = "--smallest" in sys.argv
if SMALLEST:
    sys.argv.remove("--smallest")
