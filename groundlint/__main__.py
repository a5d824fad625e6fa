"""``python -m groundlint`` is the command."""

import sys

from groundlint.cli import main

if __name__ == "__main__":
    sys.exit(main())
