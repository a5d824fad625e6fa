"""The plans that names on the command line stand for: files, folders, globs, standard input.

In folders the plans are the files ending in ``.tpg``, and the Markdown files and Word documents that hold one, but for
hidden folders, ``bases`` (base plans of rule examples) and ``parts`` (files that plans use). Left out is what the
``exclude`` setting, a ``.gitignore`` or a ``.groundlintignore`` names; both kinds of file have the form of a
``.gitignore``. A file that is named by itself is always taken.
"""

from __future__ import annotations

import os
import re
from collections.abc import Sequence
from pathlib import Path
from typing import TYPE_CHECKING

from groundlint.commands.common import SUFFIXES, WORD, UsageError, read_source, shown
from groundlint.commands.settings import SettingsFinder
from groundlint.text.decode import SIZE_LIMIT, visible_name
from groundlint.text.files import read_file, reason

if TYPE_CHECKING:
    from pathspec import GitIgnoreSpec

APART = ("bases", "parts")
IGNORE_FILES = (".gitignore", ".groundlintignore")
OTHERS = frozenset({".git", ".hg", ".svn", ".venv", ".tox", ".nox", "node_modules"})
"""Folders of other programs, in which nobody keeps plans."""
MOST_TRIED = 20_000
"""Entries of a folder that is not searched that are looked at for a plan's name."""
MOST_LOOKED_AT = 16_000_000
"""Bytes of a Word document's text that are looked at for a plan's name."""
MOST_IGNORED = 1_000_000
"""Bytes of an ignore file that are read."""


class Found:
    """Plans to review, None for standard input; what was left out of them; what a search does not come to
    and that has a plan's name; folders that could not be searched."""

    def __init__(self) -> None:
        self.plans: list[Path | None] = []
        self.left_out: list[str] = []
        self.passed_over: list[str] = []
        self.failures: list[tuple[str, str]] = []


def find_plans(named: Sequence[str], settings: SettingsFinder, *, may_be_none: bool = False) -> Found:
    """The plans, each once, in the order named, in folders by path. `UsageError` for a name that stands for none;
    ``may_be_none``: a folder may."""
    found = Found()
    seen: set[Path] = set()
    for name in named:
        if name == "-":
            if None not in found.plans:
                found.plans.append(None)
            continue
        for file in _of_name(name, settings, found, may_be_none):
            if file not in seen:
                seen.add(file)
                found.plans.append(file)
    found.failures = [one for one in found.failures if Path(one[0]) not in seen]  # said when it is read
    return found


def _of_name(name: str, settings: SettingsFinder, found: Found, may_be_none: bool) -> list[Path]:
    if not name:  # such as a variable that nobody set, and not the working folder
        raise UsageError("an empty name stands for no plan")
    path = Path(name)
    if path.is_dir():
        return _Walk(path, settings, found).files() if may_be_none else _of_folder(path, settings, found, name)
    if os.path.lexists(path):
        return [path]
    if any(sign in name for sign in "*?["):
        return _of_glob(name, settings, found)
    raise UsageError(f"{name}: no such file or folder")


def _of_glob(name: str, settings: SettingsFinder, found: Found) -> list[Path]:
    """For shells that leave patterns as they are."""
    from glob import glob

    files: list[Path] = []
    for match in sorted(map(Path, glob(name, recursive=True))):
        if match.is_dir():
            if "**" not in name:
                files += _Walk(match, settings, found).files()
        elif match.suffix.lower() in SUFFIXES and is_plan(match) and not _hidden(match):
            walk = _Walk(match.parent, settings, found)
            if walk.ignored(match):
                found.left_out.append(str(match))
            else:
                files.append(match)
    if not files:
        raise UsageError(f"{name}: no plan has such a name")
    return files


def _hidden(path: Path) -> bool:
    return any((part.startswith(".") and part not in (".", "..")) or part in APART for part in path.parts)


def _of_folder(path: Path, settings: SettingsFinder, found: Found, name: str) -> list[Path]:
    before = len(found.left_out)
    files = _Walk(path, settings, found).files()
    if not files and not found.failures:
        left = found.left_out[before:]
        why = f" but what is left out ({', '.join(left[:3])}{', ...' if len(left) > 3 else ''})" if left else ""
        raise UsageError(f"{name}: no plans in this folder{why}")
    return files


def _named(folder: Path) -> str:
    """A folder that is not searched, if something in it has a plan's name, with how many; empty where nothing has."""
    if folder.name in OTHERS:
        return ""
    count = tried = 0
    for _, folders, names in os.walk(folder):
        folders[:] = [one for one in folders if one not in OTHERS]
        count += sum(name.lower().endswith(".tpg") for name in names)
        tried += len(names) + len(folders)
        if tried > MOST_TRIED:
            break
    return f"{folder}{os.sep} ({count} file{'s' * (count > 1)})" if count else ""


def is_plan(path: Path) -> bool:
    """Whether a file is a plan by its ending, or, for Markdown and Word documents, by what it holds."""
    if path.suffix.lower() == ".tpg":
        return True
    if path.suffix.lower() == WORD:
        return _word_plan(path)
    try:
        text = read_file(path)
    except OSError:
        return True  # said when it is read
    if _FENCE.search(text) is not None:
        return True
    if b"```" not in text and b"~~~" not in text:
        return False
    from groundlint.language.reader import unmarked_plans

    return bool(unmarked_plans(text[:SIZE_LIMIT].decode("utf-8", "replace").replace("\r\n", "\n")))


def _word_plan(path: Path) -> bool:
    """Whether a Word document holds a plan, or can't be read, which is said when it is read as one."""
    if not _may_hold_one(path):
        return False
    try:
        source, problems = read_source(path)
    except UsageError:
        return True
    return bool(source.marks and source.marks.plan) or any(one.unread for one in problems)


def _may_hold_one(path: Path) -> bool:
    """Whether a Word document names a plan at all. Most don't, which is seen without reading them whole."""
    from zipfile import ZipFile

    try:
        with (
            ZipFile(path) as package,
            package.open("word/document.xml") as text,
            package.open("word/styles.xml") as looks,
        ):
            words, styles = text.read(MOST_LOOKED_AT), looks.read(MOST_LOOKED_AT)
    except Exception:  # whatever is wrong with it is said when it is read
        return True
    if max(len(words), len(styles)) == MOST_LOOKED_AT or b"<w:body" not in words or b"&#" in words + styles:
        return True
    return re.search(rb"plan|tpg", re.sub(rb"<[^>]*>", b"", words) + styles, re.IGNORECASE) is not None


_FENCE = re.compile(rb"(?:```|~~~)[ \t]*tpg", re.IGNORECASE)
"""What may open a fence with a plan; the reader says whether it does."""


class _Walk:
    """One folder searched, with the ignore files in it and, in a repository, above it."""

    def __init__(self, top: Path, settings: SettingsFinder, found: Found) -> None:
        self.top = top
        self.settings = settings
        self.found = found
        self.specs: dict[Path, GitIgnoreSpec | None] = {}
        self.full: dict[Path, Path] = {}
        here = top.resolve()
        chain = [here, *here.parents]
        root = next((at for at, folder in enumerate(chain) if (folder / ".git").exists()), 0)
        self.roots = frozenset(chain[: root + 1])  # ignore files further up are no business of this repository

    def files(self) -> list[Path]:
        """The plans below the folder, by path."""
        kept: list[Path] = []

        def failed(error: OSError) -> None:
            self.found.failures.append((str(error.filename), reason(error)))

        for folder, folders, names in os.walk(self.top, onerror=failed):
            here = Path(folder)
            apart = [one for one in sorted(folders) if one.startswith(".") or one in APART]
            self.found.passed_over += [name for one in apart if (name := _named(here / one))]
            inside = [one for one in sorted(folders) if one not in apart]
            folders[:] = [one for one in inside if not self._leave_out(here / one, True)]
            for one in folders:
                if (here / one).is_symlink() and not self._inside_here(here / one):
                    self.found.failures.append((str(here / one), "a link to a folder elsewhere is not followed"))
            for name in names:
                path = here / name
                if path.suffix.lower() not in SUFFIXES:
                    continue
                if name.startswith("~$"):  # a word processor's note that a document is open
                    continue
                if name.startswith("."):
                    self.found.passed_over.append(str(path))
                    continue
                regular = path.is_file()
                if (regular and not is_plan(path)) or self._leave_out(path, False):
                    continue
                if not regular:
                    why = (
                        "the link leads nowhere"
                        if path.is_symlink() and not path.exists()
                        else "it is a pipe or a device, and no file"
                    )
                    self.found.failures.append((str(path), why))
                else:
                    kept.append(path)
        return sorted(kept)

    def _inside_here(self, link: Path) -> bool:
        """Whether a link to a folder leads to one that is searched anyhow, or in a circle."""
        try:
            return link.resolve(strict=True).is_relative_to(self.top.resolve())
        except (OSError, RuntimeError):
            return False

    def _leave_out(self, path: Path, folder: bool) -> bool:
        if not self._ignored(path, folder):
            return False
        self.found.left_out.append(f"{path}{os.sep}" if folder else str(path))
        return True

    def ignored(self, path: Path) -> bool:
        """Whether a file, or a folder above it, is left out."""
        parents = [one for one in self._full(path).parents if one in self.roots or self._inside(one)]
        return self._ignored(path, False) or any(self._ignored(parent, True) for parent in parents)

    def _inside(self, folder: Path) -> bool:
        return any(root in folder.parents for root in self.roots)

    def _full(self, path: Path) -> Path:
        parent = self.full.get(path.parent)
        if parent is None:
            parent = self.full[path.parent] = path.parent.resolve()
        return parent / path.name

    def _ignored(self, path: Path, folder: bool) -> bool:
        full = self._full(path)
        tail = "/" if folder else ""
        settings = self.settings.of(full.parent)
        if settings.exclude and settings.file is not None:
            within = full.relative_to(settings.file.parent.resolve()).as_posix()
            if spec_of(settings.exclude).match_file(within + tail):
                return True
        for parent in full.parents:  # the nearest file that says anything decides
            if parent not in self.roots and not self._inside(parent):
                break
            spec = self._spec(parent)
            if spec is not None:
                verdict = spec.check_file(full.relative_to(parent).as_posix() + tail).include
                if verdict is not None:
                    return verdict
        return False

    def _spec(self, folder: Path) -> GitIgnoreSpec | None:
        if folder not in self.specs:
            lines: list[str] = []
            for name in IGNORE_FILES:
                try:
                    lines += read_file(folder / name, MOST_IGNORED).decode("utf-8", "replace").splitlines()
                except (FileNotFoundError, NotADirectoryError, IsADirectoryError):
                    continue
                except OSError as error:
                    raise UsageError(f"{folder / name}: {reason(error)}") from None
            wide = next(filter(too_wide, lines), None)
            if wide is not None:
                raise UsageError(f"{shown(folder)}: {visible_name(wide[:60])} in an ignore file: {bad_pattern(wide)}")
            try:
                self.specs[folder] = spec_of(tuple(lines)) if lines else None
            except ValueError as error:
                raise UsageError(f"{folder}: a pattern in an ignore file is no pattern: {error}") from None
        return self.specs[folder]


_KEPT: dict[tuple[str, ...], GitIgnoreSpec] = {}


def spec_of(lines: tuple[str, ...]) -> GitIgnoreSpec:
    """Lines of a `.gitignore`, ready to match. Raises `ValueError` for one that is no pattern."""
    found = _KEPT.get(lines)
    if found is None:
        from pathspec import GitIgnoreSpec  # takes longer to import than most reviews need

        found = _KEPT[lines] = GitIgnoreSpec.from_lines(lines)
    return found


MOST_STARS, MOST_RUNS = 3, 2
"""Wildcards of one name, and runs of folders, of a pattern: the time is that power of the length. A name of 250 letters
takes a third of a second with three `*` (`*a*a*a*b`) and forty with four; 500 folders two with three `**`."""


def too_wide(pattern: str) -> bool:
    """Whether trying a pattern might take longer than anybody waits."""
    parts = re.sub(r"[*]{2,}", "**", pattern).split("/")
    return sum("**" in part for part in parts) > MOST_RUNS or any(part.count("*") > MOST_STARS for part in parts)


def bad_pattern(pattern: str) -> str:
    """What is wrong with a pattern, or nothing."""
    if too_wide(pattern):
        return f"which has more than {MOST_STARS} `*` in a name or {MOST_RUNS} `**`: trying it might never end"
    try:
        spec_of((pattern,))
    except ValueError as error:
        return f"which is no pattern ({error})"
    return "" if "\n" not in pattern else "which goes over a line end"
