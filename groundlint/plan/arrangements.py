"""The arrangements of a line's conductors that a plan can name.

Where each conductor hangs in them is tabled with what is computed (`electrical/physics/spacings.py`).
"""

from __future__ import annotations

from typing import Any, Final

from groundlint.plan.names import Names
from groundlint.text.near import nearest

ARRANGEMENTS: Final[dict[str, str]] = {
    "ieee-500": "three-phase four-wire crossarm, neutral below",
    "ieee-505": "two phases and neutral",
    "ieee-510": "one phase and neutral",
    "crossarm-8ft": "8 ft crossarm, middle phase on a pole-top pin, neutral on the pole",
    "crossarm-10ft": "10 ft crossarm, all phases on the arm, neutral on the pole",
    "armless": "compact, brackets on the pole",
    "vertical-distribution": "phases one above another on one side of the pole",
    "single-phase": "one phase on the pole top, neutral below",
    "post-69kv": "horizontal posts on a single pole, one shield wire",
    "h-frame-115kv": "two-pole H-frame, two shield wires",
    "h-frame-230kv": "two-pole H-frame, two shield wires",
}
"""Names and what they mean. The numbers are those of the IEEE distribution test feeders."""


def arrangement(st: Any, names: Names) -> str | None:
    """The arrangement that a `spacing` of a plan names, in any case; ``500`` is taken for ``ieee-500``. None with a
    message where there is no such."""
    slug = str(st.ident).lower().replace("_", "-")
    found = next((name for name in (slug, f"ieee-{slug}") if name in ARRANGEMENTS), None)
    if found is None:
        near = nearest(slug, ARRANGEMENTS)
        known = "; ".join(f"`{name}`, {meaning}" for name, meaning in ARRANGEMENTS.items())
        mend = f"did you mean {near}?" if near else f"write where each conductor hangs (`place`), or one of {known}"
        names.refuse("unknown-name", st.place("ident"), f"no arrangement of conductors is called {st.ident}", mend)
    return found
