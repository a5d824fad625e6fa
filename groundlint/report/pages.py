"""What HTML pages have in common: how their templates are read, and that they escape what they are given."""

from __future__ import annotations

from functools import lru_cache
from importlib.resources import files
from typing import TYPE_CHECKING

from groundlint.report.brief.svg import plain_text

if TYPE_CHECKING:
    from jinja2 import Environment
    from markupsafe import Markup


@lru_cache
def environment(package: str) -> Environment:
    """The templates of a package's folder ``templates``.

    Texts are escaped, and a character that no page may hold becomes U+FFFD, a line's end a space; what is `Markup`
    stays. A name that a template is not given raises `UndefinedError`. Of a message, ``written`` shows what stands in
    backquotes as code.
    """
    from jinja2 import Environment, FunctionLoader, StrictUndefined

    folder = files(package) / "templates"
    found = Environment(
        loader=FunctionLoader(lambda name: (folder / name).read_text(encoding="utf-8")),
        autoescape=True,
        undefined=StrictUndefined,
        trim_blocks=True,
        lstrip_blocks=True,
        finalize=lambda value: plain_text(value) if type(value) is str else value,
    )
    found.filters["written"] = _written
    return found


def _written(message: str) -> Markup:
    from markupsafe import Markup, escape

    parts = plain_text(message).split("`")
    if len(parts) % 2 == 0:  # a backquote of the plan's own
        return escape("`".join(parts))
    return Markup("").join(Markup("<code>{}</code>").format(part) if at % 2 else part for at, part in enumerate(parts))


__all__ = ["environment"]
