"""What all tests share: linear algebra of one thread, as the command has it, set before numpy is imported."""

from __future__ import annotations

import os

for library in ("OPENBLAS_NUM_THREADS", "MKL_NUM_THREADS", "OMP_NUM_THREADS"):
    os.environ.setdefault(library, "1")
