"""The lock file covers what pyproject.toml asks for, pins and hashes all of it, and names no host."""

from __future__ import annotations

import re
import tomllib
from pathlib import Path

import pytest
from packaging.markers import Marker
from packaging.requirements import Requirement
from packaging.utils import canonicalize_name
from packaging.version import Version

ROOT = Path(__file__).resolve().parents[2]
TEXT = (ROOT / "requirements-dev.lock").read_text()
PROJECT = tomllib.loads((ROOT / "pyproject.toml").read_text())


def locked() -> list[tuple[str, Version, str, int]]:
    """Name, version, marker and number of hashes of each entry."""
    entries = []
    for entry in re.split(r"\n(?=\S)", TEXT.strip()):
        head, *rest = (line.strip(" \\") for line in entry.splitlines())
        found = re.fullmatch(r"([A-Za-z0-9._-]+)==(\S+)(?: ; (.*))?", head)
        assert found, head
        hashes = [line for line in rest if re.fullmatch(r"--hash=sha256:[0-9a-f]{64}", line)]
        assert len(hashes) == len(rest), entry
        entries.append((canonicalize_name(found[1]), Version(found[2]), found[3] or "", len(hashes)))
    return entries


LOCKED = locked()
ASKED = [
    Requirement(text)
    for text in [
        *PROJECT["project"]["dependencies"],
        *(text for extra in PROJECT["project"]["optional-dependencies"].values() for text in extra),
        *PROJECT["build-system"]["requires"],
    ]
]


@pytest.mark.parametrize("asked", ASKED, ids=str)
def test_what_is_asked_for_is_locked_at_a_version_that_will_do(asked: Requirement) -> None:
    versions = [version for name, version, _, _ in LOCKED if name == canonicalize_name(asked.name)]
    assert versions, f"{asked.name} is not in the lock file"
    assert all(asked.specifier.contains(version) for version in versions)


def test_each_package_is_locked_once_for_an_environment_and_hashed() -> None:
    assert all(hashes for *_, hashes in LOCKED)
    here = [name for name, _, marker, _ in LOCKED if not marker or Marker(marker).evaluate()]
    assert len(here) == len(set(here))


def test_no_host_and_no_machine_is_named() -> None:
    assert not re.search(r"://|^\s*-[a-z-]*(?!-hash)index|^-|@ |file:|\.local\b", TEXT, re.MULTILINE)
    assert not re.search(r"^\s*#", TEXT, re.MULTILINE)
