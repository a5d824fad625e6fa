"""What operators are about and how hard they are to see; the command line imports it for its help."""

from __future__ import annotations

GROUPS = (
    "isolation",
    "testing",
    "order",
    "equipment",
    "electrode",
    "arrangement",
    "sizing",
    "zone",
    "removal",
    "paper",
)
"""Subjects of operators, in the order of a job."""

LEVELS = {
    1: "something that one line shows, or lacks",
    2: "something that two lines show together",
    3: "something that only who follows the job step by step sees",
}
"""What each level of difficulty asks of the reader."""
