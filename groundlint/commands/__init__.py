"""The commands, a module each: ``add(commands)`` gives the arguments, ``run(args)`` does it and returns the status.

What takes time to import is imported in ``run``.
"""

NAMES = (
    "new",
    "draft",
    "review",
    "duty",
    "brief",
    "compare",
    "rules",
    "tidy",
    "mend",
    "drill",
    "mark",
    "serve",
    "desk",
)
"""Modules of this package that are commands, in the order of the help."""
