"""HTML pages of the teaching commands: one file each, no network, made from templates that escape values."""

from __future__ import annotations

from functools import cache
from typing import TYPE_CHECKING, Any

if TYPE_CHECKING:
    from jinja2 import Environment


@cache
def _environment() -> Environment:
    from jinja2 import Environment, PackageLoader, StrictUndefined

    return Environment(
        loader=PackageLoader("groundlint.teaching"),
        autoescape=True,
        undefined=StrictUndefined,
        trim_blocks=True,
        lstrip_blocks=True,
        keep_trailing_newline=True,
    )


def page(template: str, /, **values: Any) -> str:
    """A page from a template of this package."""
    return _environment().get_template(template).render(**values)


__all__ = ["page"]
