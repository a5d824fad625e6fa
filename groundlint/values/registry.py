"""The one pint registry, made when first asked for: quantities of two registries cannot be mixed."""

from __future__ import annotations

from functools import cache
from typing import TYPE_CHECKING, Any

if TYPE_CHECKING:
    import pint


@cache
def registry() -> pint.UnitRegistry[Any]:
    """The registry that every pint quantity of this package belongs to; costs about half a second the first time."""
    import pint

    return pint.UnitRegistry()
