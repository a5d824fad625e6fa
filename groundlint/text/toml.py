"""Text files in TOML that people write: read with the place of each table and key, so that a mistake has its line."""

from __future__ import annotations

import re
from collections.abc import Iterable, Mapping, Sequence
from functools import cached_property
from typing import Any

from groundlint.text import Diagnostic, Severity, Source, Span
from groundlint.text.near import nearest

_AT = re.compile(r"\(at (?:line (\d+), column (\d+)|end of document)\)")
_HEADER = re.compile(r"^\s*\[\[?\s*([^\]#]+?)\s*\]\]?\s*(?:#.*)?$")
_PART = re.compile(r"\"[^\"\n]*\"|'[^'\n]*'|[\w-]+")
_KEY = re.compile(rf"^\s*((?:{_PART.pattern})(?:\s*\.\s*(?:{_PART.pattern}))*)\s*=")
_NO_KEY = re.compile(r"#[^\n]*|\"\"\"(?:\\.|[^\\])*?\"\"\"|'''.*?'''|\"(?:\\.|[^\"\\\n])*\"|'[^'\n]*'", re.DOTALL)
"""Comments and texts; those of several lines hold no key."""


class TomlText:
    """A TOML file as tables, with ``problems`` as they are found; `table` is empty where it can't be read."""

    def __init__(self, source: Source) -> None:
        import tomllib

        self.source = source
        self.problems: list[Diagnostic] = []
        self.table: dict[str, Any] = {}
        try:
            self.table = tomllib.loads(source.text)
        except (tomllib.TOMLDecodeError, RecursionError) as error:
            self.problems.append(_unreadable(source, error))

    @cached_property
    def _places(self) -> dict[tuple[str, ...], tuple[int, int]]:
        return _places(self.source.text) if self.table else {}

    def place(self, *path: str) -> Span:
        """Where a table or a key stands: of ``("rules", "a-b")`` the key ``a-b`` of table ``rules``, or that table."""
        for size in range(len(path), 0, -1):
            at = self._places.get(path[:size])
            if at is not None:
                return self.source.span(*at)
        return self.source.span(0, 0)

    def complain(self, code: str, path: Sequence[str], message: str, mend: str = "") -> None:
        """Add a problem at a table or key."""
        self.problems.append(
            Diagnostic(code, self.place(*path), message, Severity.DANGER, mend, unread=True),
        )

    # ---- values of a kind
    def known(self, path: Sequence[str], table: Mapping[str, Any], allowed: Iterable[str]) -> None:
        """Complain of keys that mean nothing here, with the nearest that would."""
        words = tuple(allowed)
        for key in table:
            if key not in words:
                self.complain(
                    "unknown-key",
                    (*path, key),
                    f"`{key}` means nothing here{or_nearest(key, words)}",
                    f"write one of {', '.join(words)}, or take it out",
                )

    def text(self, path: Sequence[str], table: Mapping[str, Any], key: str, default: str = "") -> str:
        """A text."""
        return str(self._value(path, table, key, default, str, "a text in quotes"))

    def number(
        self,
        path: Sequence[str],
        table: Mapping[str, Any],
        key: str,
        default: float,
        low: float | None = None,
        high: float | None = None,
    ) -> float:
        """A number within limits."""
        value = float(self._value(path, table, key, default, (int, float), "a number, such as 5 or 2.5"))
        if value != value or (low is not None and value < low) or (high is not None and value > high):
            least = "" if low is None else f" {low:g} or more"
            most = "" if high is None else f"{' and' if least else ''} {high:g} or less"
            self.complain("out-of-range", (*path, key), f"`{key}` is {value:g}", f"write a number that is{least}{most}")
            return default
        return value

    def texts(self, path: Sequence[str], table: Mapping[str, Any], key: str) -> tuple[str, ...]:
        """A list of texts; one text alone may stand without its list."""
        value = table.get(key, ())
        if isinstance(value, str):
            return (value,)
        if not isinstance(value, list | tuple) or not all(isinstance(one, str) for one in value):
            self.complain(
                "wrong-kind", (*path, key), f"`{key}` is to be a list of texts", f'write {key} = ["one", "two"]'
            )
            return ()
        return tuple(value)

    def tables(self, path: Sequence[str], table: Mapping[str, Any], key: str) -> dict[str, Any]:
        """A table below."""
        value = table.get(key, {})
        if not isinstance(value, dict):
            self.complain("wrong-kind", (*path, key), f"`{key}` is to be a table", f"begin it with a line [{key}]")
            return {}
        return value

    def _value(
        self, path: Sequence[str], table: Mapping[str, Any], key: str, default: Any, kind: Any, words: str
    ) -> Any:
        value = table.get(key, default)
        if not isinstance(value, kind) or isinstance(value, bool):
            self.complain(
                "wrong-kind", (*path, key), f"`{key}` is {_shown(value)}, which is no value for it", f"write {words}"
            )
            return default
        return value


def _shown(value: object) -> str:
    if isinstance(value, bool):
        return "true" if value else "false"
    if isinstance(value, str):
        return f'the text "{value}"'
    if isinstance(value, dict):
        return "a table"
    return "a list" if isinstance(value, list) else str(value)


def or_nearest(word: str, among: Iterable[str]) -> str:
    """``; did you mean ...?`` where some word is near, else nothing."""
    near = nearest(word, among)
    return f"; did you mean `{near}`?" if near else ""


def _unreadable(source: Source, error: Exception) -> Diagnostic:
    found = _AT.search(str(error))
    at = len(source.text)
    if found and found[1]:
        line = min(int(found[1]), len(source.line_starts))
        at = source.line_starts[line - 1] + int(found[2]) - 1
    deep = isinstance(error, RecursionError)
    said = "values are nested too deeply" if deep else _AT.sub("", str(error)).strip().rstrip(".")
    said = said.replace("Invalid value", "no value can be read here")
    message = f"this is not TOML: {said[:1].lower()}{said[1:]}" if said else "this is not TOML"
    mend = "write `name = value`, a line each; texts stand in quotes"
    return Diagnostic("not-toml", source.span(at, at), message, Severity.DANGER, mend, unread=True)


def _places(text: str) -> dict[tuple[str, ...], tuple[int, int]]:
    """Start and end of each table's and each key's name; of a table array, the last one's."""
    found: dict[tuple[str, ...], tuple[int, int]] = {}
    table: tuple[str, ...] = ()
    offset = 0
    for line in _NO_KEY.sub(lambda one: re.sub(r"[^\n]", " ", one[0]) if "\n" in one[0] else one[0], text).split("\n"):
        header = _HEADER.match(line)
        named = header or _KEY.match(line)
        path = () if header else table
        for part in _PART.finditer(line, *named.span(1)) if named else ():
            path = (*path, part[0].strip("\"'"))
            found.setdefault(path, (offset + part.start(), offset + part.end()))
        if header:
            table = path
            found[table] = (offset + header.start(1), offset + header.end(1))
        offset += len(line) + 1
    return found


def toml_text(value: str) -> str:
    """A text as TOML writes it."""
    import json

    return json.dumps(value, ensure_ascii=False).replace("\x7f", "\\u007f")


def toml_list(values: Iterable[str]) -> str:
    """A list of texts as TOML writes it."""
    return "[" + ", ".join(toml_text(one) for one in values) + "]"


__all__ = ["TomlText", "nearest", "toml_list", "toml_text"]
