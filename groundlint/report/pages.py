"""What HTML pages have in common: how their templates are read, and that they escape what they are given."""

from __future__ import annotations

from functools import lru_cache
from importlib.resources import files
from typing import TYPE_CHECKING

from groundlint.report.brief.svg import plain_text

if TYPE_CHECKING:
    from jinja2 import Environment


@lru_cache
def environment(package: str) -> Environment:
    """The templates of a package's folder ``templates``.

    Texts are escaped, and a character that no page may hold becomes U+FFFD, a line's end a space; what is `Markup`
    stays. A name that a template is not given raises `UndefinedError`.
    """
    from jinja2 import Environment, FunctionLoader, StrictUndefined

    folder = files(package) / "templates"
    return Environment(
        loader=FunctionLoader(lambda name: (folder / name).read_text(encoding="utf-8")),
        autoescape=True,
        undefined=StrictUndefined,
        trim_blocks=True,
        lstrip_blocks=True,
        finalize=lambda value: plain_text(value) if type(value) is str else value,
    )


__all__ = ["environment"]
