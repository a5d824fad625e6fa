"""Settings files: ``[tool.groundlint]`` of a ``pyproject.toml``, or a ``groundlint.toml``.

The nearest file upward from a plan holds for it, whole: files further up are not merged into it. What stands on the
command line wins over it. A mistake in a settings file is reported at its line, and stops the run.
"""

from __future__ import annotations

from collections.abc import Callable, Mapping
from pathlib import Path
from types import MappingProxyType
from typing import TYPE_CHECKING, Any, NamedTuple

from groundlint.commands.common import UsageError, shown
from groundlint.text.near import nearest

if TYPE_CHECKING:
    from groundlint.text import Diagnostic, Source

OWN, SHARED = "groundlint.toml", "pyproject.toml"
TABLE = ("tool", "groundlint")
GATES = ("danger", "warning", "caution", "notice")
FORMATS = ("text", "json", "sarif", "junit")


class Settings(NamedTuple):
    """What a settings file says; ``file`` is None where there is none. Paths are those of the file's folder."""

    file: Path | None = None
    books: tuple[str, ...] = ()
    books_in: tuple[Path, ...] = ()
    gate: str | None = None
    given: Mapping[str, str] = MappingProxyType({})
    exclude: tuple[str, ...] = ()
    formats: tuple[str, ...] = ()


NONE = Settings()


class SettingsError(UsageError):
    """A settings file that can't be used, with what is wrong in it."""

    def __init__(self, problems: tuple[Diagnostic, ...]) -> None:
        super().__init__("the settings can't be used, so nothing was done", problems)


class SettingsFinder:
    """The settings that hold in each folder; each file is read once.

    Where files stand in a ``tree`` apart from where they belong, ``outside`` holds unless one of the tree says more.
    """

    def __init__(self, tree: Path | None = None, outside: Settings | None = None) -> None:
        self._kept: dict[Path, Settings] = {}
        if tree is not None and outside is not None:
            self._kept[tree] = _in_folder(tree) or outside

    def of(self, folder: Path) -> Settings:
        """The settings of a folder. Raises `SettingsError`."""
        here = folder.resolve()
        passed: list[Path] = []
        found: Settings | None = None
        for one in (here, *here.parents):
            found = self._kept.get(one)
            if found is None:
                found = _in_folder(one)
            passed.append(one)
            if found is not None:
                break
        settings = found if found is not None else NONE
        for one in passed:
            self._kept[one] = settings
        return settings


def _in_folder(folder: Path) -> Settings | None:
    """The settings that stand in this very folder, if any do."""
    own, shared = _bytes(folder / OWN), _bytes(folder / SHARED)
    if shared is not None and b"groundlint" not in shared:
        shared = None
    if own is None and shared is None:
        return None
    found = None
    if shared is not None:
        found, problems = read_settings(shared, folder / SHARED)
        if problems:
            raise SettingsError(problems)
    if own is not None:
        if found is not None:
            raise SettingsError((_at_the_start(folder / OWN, "settings-twice", _BOTH, "keep one of the two"),))
        found, problems = read_settings(own, folder / OWN)
        if problems:
            raise SettingsError(problems)
    return found


_BOTH = f"settings stand here and in the {SHARED} of the same folder; which hold is not known"


def _bytes(path: Path) -> bytes | None:
    from groundlint.text.decode import SIZE_LIMIT
    from groundlint.text.files import read_file, reason

    try:
        return read_file(path, SIZE_LIMIT)
    except (FileNotFoundError, NotADirectoryError, IsADirectoryError):
        return None
    except OSError as error:
        message = f"the file can't be read: {reason(error)}"
        mend = "make it readable, or take it away"
        raise SettingsError((_at_the_start(path, "settings-not-read", message, mend),)) from None


def read_settings(data: bytes, path: Path) -> tuple[Settings | None, tuple[Diagnostic, ...]]:
    """The settings of a file's bytes, and what is wrong with them; None for a `pyproject.toml` that holds none."""
    from groundlint.text.toml import TomlText

    source, problems = _source(data, path)
    if problems:
        return None, problems
    toml = TomlText(source)
    if toml.problems:
        return None, tuple(toml.problems)
    above = () if path.name == OWN else TABLE
    table: Any = toml.table
    for key in above:
        table = table.get(key) if isinstance(table, dict) else None
    if table is None:
        return None, ()
    if not isinstance(table, dict):
        words = f"`groundlint` is {_kind(table)}; a table `[tool.groundlint]` belongs here"
        toml.complain("setting-of-the-wrong-kind", above, words, "write a table")
        return None, tuple(toml.problems)
    found: dict[str, Any] = {}
    for key, value in table.items():
        wrong = _take(key, value, path.parent, found)
        if wrong is not None:
            inner, code, message, mend = wrong
            toml.complain(code, (*above, key, *inner), message, mend)
    if toml.problems:
        return None, tuple(sorted(toml.problems, key=lambda one: one.span.start))
    return Settings(file=path, **found), ()


# ------------------------------------------------------------- values

_Complaint = tuple[tuple[str, ...], str, str, str]
"""Keys below the one in hand, a code, what is wrong, what to do."""


def _take(key: str, value: Any, folder: Path, found: dict[str, Any]) -> _Complaint | None:
    """Takes one setting into ``found``, or says what is wrong with it."""
    taker = _TAKERS.get(key)
    if taker is None:
        near = nearest(key[:100], _TAKERS)
        hint = f"did you mean `{near}`?" if near else f"the settings are {', '.join(_TAKERS)}"
        if key == "tool":
            hint = f"in {OWN} the settings stand at the top, without a table"
        return (), "unknown-setting", f"no setting is named `{key}`", hint
    name, take = taker
    taken = take(value, folder)
    if isinstance(taken, _Wrong):
        code = "setting-of-the-wrong-kind" if taken.wrong_kind else "setting-of-no-use"
        return taken.inner, code, f"`{'.'.join((key, *taken.inner))}` {taken.message}", taken.mend
    found[name] = taken
    return None


class _Wrong(NamedTuple):
    message: str
    mend: str
    wrong_kind: bool = True
    inner: tuple[str, ...] = ()


def _texts(value: Any, example: str) -> tuple[str, ...] | _Wrong:
    if not isinstance(value, list):
        return _Wrong(f"is {_kind(value)}; a list of texts belongs here", f"write `{example}`")
    for member in value:
        if not isinstance(member, str):
            return _Wrong(f"holds {_kind(member)}; each member is a text", f"write `{example}`")
        if not member.strip():
            return _Wrong("holds an empty text", f"write `{example}`", False)
    return tuple(value)


def _books(value: Any, _folder: Path) -> tuple[str, ...] | _Wrong:
    names = _texts(value, 'books = ["practice"]')
    if names == ():
        return _Wrong("names no book; nothing would be held against anything", 'write `books = ["practice"]`', False)
    return names


def _books_in(value: Any, folder: Path) -> tuple[Path, ...] | _Wrong:
    names = _texts(value, 'books-in = ["rules"]')
    if isinstance(names, _Wrong):
        return names
    for name in names:
        if not (folder / name).is_dir():
            return _Wrong(f"names {name}, and no such folder is beside this file", "name a folder of rulebooks", False)
    return tuple(folder / name for name in names)


def _gate(value: Any, _folder: Path) -> str | _Wrong:
    if not isinstance(value, str):
        return _Wrong(f"is {_kind(value)}; a text belongs here", 'write `gate = "warning"`')
    if value not in GATES:
        near = nearest(value, GATES)
        hint = f"did you mean `{near}`?" if near else f"write one of {', '.join(GATES)}"
        return _Wrong(f"is `{value}`, which is no level", hint, False)
    return value


def _given(value: Any, _folder: Path) -> Mapping[str, str] | _Wrong:
    example = 'write `given = { fault = "6.8 kA" }`'
    if not isinstance(value, dict):
        return _Wrong(f"is {_kind(value)}; a table of values by name belongs here", example)
    for name, member in value.items():
        if not isinstance(member, str):
            return _Wrong(f"is {_kind(member)}; a text with its unit belongs here", example, True, (name,))
        if not member.strip():
            return _Wrong("is empty", example, False, (name,))
    return value


def _exclude(value: Any, _folder: Path) -> tuple[str, ...] | _Wrong:
    patterns = _texts(value, 'exclude = ["drafts/"]')
    if isinstance(patterns, _Wrong):
        return patterns
    from groundlint.commands.walk import bad_pattern

    for pattern in patterns:
        why = bad_pattern(pattern)
        if why:
            return _Wrong(f"holds the pattern {pattern}, {why}", "write it as a line of a .gitignore", False)
    return patterns


def _report_file(folder: Path, name: str) -> str:
    """Why a report may not go to a file that the settings name, or nothing: who checks a repository out did not choose
    the name."""
    from groundlint.commands.outputs import REPORT

    path = folder / name
    if not path.resolve().is_relative_to(folder.resolve()):
        return "it is not below the settings' own folder"
    return REPORT.refused(path)


def _formats(value: Any, folder: Path) -> tuple[str, ...] | _Wrong:
    names = _texts([value] if isinstance(value, str) else value, 'format = ["text", "sarif=review.sarif"]')
    if isinstance(names, _Wrong):
        return names
    kept = []
    for name in names:
        form, sign, file = name.partition("=")
        if form not in FORMATS:
            near = nearest(form, FORMATS)
            hint = f"did you mean `{near}`?" if near else f"write one of {', '.join(FORMATS)}"
            return _Wrong(f"names `{form}`, which is no form of report", hint, False)
        if sign and not file:
            return _Wrong(f"names no file after `{form}=`", f"write `{form}=FILE`", False)
        why = _report_file(folder, file) if file else ""
        if why:
            return _Wrong(f"names {file}: {why}", "name a file of its own below this folder", False)
        kept.append(f"{form}={folder / file}" if file else form)
    return tuple(kept)


_TAKERS: dict[str, tuple[str, Callable[[Any, Path], Any]]] = {
    "books": ("books", _books),
    "books-in": ("books_in", _books_in),
    "gate": ("gate", _gate),
    "given": ("given", _given),
    "exclude": ("exclude", _exclude),
    "format": ("formats", _formats),
}


def _kind(value: Any) -> str:
    """What a TOML value is, for a message."""
    names = ((bool, "a truth value"), (int, "a number"), (float, "a number"), (str, "a text"), (list, "a list"))
    return next((name for cls, name in names if isinstance(value, cls)), "a table" if type(value) is dict else "a date")


def _source(data: bytes, path: Path) -> tuple[Source, tuple[Diagnostic, ...]]:
    from groundlint.text.decode import decode

    return decode(data, shown(path))


def _at_the_start(path: Path, code: str, message: str, mend: str) -> Diagnostic:
    """What is wrong with a file as a whole."""
    from groundlint.text import Diagnostic, Severity

    return Diagnostic(code, _source(b"", path)[0].span(0, 0), message, Severity.DANGER, mend, unread=True)
