"""Files read and written: what is there may have been put there by somebody else, and a disk may be full."""

from __future__ import annotations

import errno
import os
import stat
from pathlib import Path
from typing import Final

CHUNK: Final = 65_536
"""Bytes that are read at once of what does not say its size."""

_REASONS: Final = {
    errno.ENOENT: "no such file or folder",
    errno.ENOTDIR: "no such file or folder",
    errno.EISDIR: "this is a folder",
    errno.EACCES: "this user has no right to it",
    errno.EPERM: "this user has no right to it",
    errno.EROFS: "the disk can't be written to",
    errno.ENOSPC: "the disk is full",
    errno.ENAMETOOLONG: "the name is too long",
    errno.ELOOP: "its links lead in a circle",
}
"""What the system says of a file, for people."""


def read_file(path: Path | str, limit: int = -1) -> bytes:
    """A file's bytes, at most ``limit`` of them.

    Only what is a regular file is read: of a pipe or a device that a folder holds, reading may never end. What the
    shell itself puts on a command line (``/dev/fd``, ``/dev/stdin``) is. Raises `OSError`.
    """
    handed = str(path).startswith(("/dev/fd/", "/dev/stdin", "/proc/self/fd/"))
    descriptor = os.open(
        path, os.O_RDONLY | getattr(os, "O_BINARY", 0) | (0 if handed else getattr(os, "O_NONBLOCK", 0))
    )
    try:
        found = os.fstat(descriptor)
        if stat.S_ISDIR(found.st_mode):
            raise IsADirectoryError(errno.EISDIR, "this is a folder", str(path))
        if not handed and not stat.S_ISREG(found.st_mode):
            raise OSError(errno.EINVAL, "it is a pipe or a device, and no file", str(path))
        regular = stat.S_ISREG(found.st_mode)
        parts, most = [], found.st_size + 1 if regular else CHUNK
        while limit and (part := os.read(descriptor, most if limit < 0 else min(most, limit))):
            parts.append(part)
            limit -= len(part) if limit > 0 else 0
            if regular and len(part) == found.st_size:  # all of it: files by the hundred are read for one digest
                break
        return b"".join(parts)
    finally:
        os.close(descriptor)


def write_file(path: Path, text: str) -> None:
    """Writes a text beside its file and moves it into place, so that what was there stays if it can't be written whole.

    What is no regular file, as ``/dev/stdout``, is written to. A link stays one. Raises `OSError`.
    """
    write_bytes(path, text.encode("utf-8", "backslashreplace"))


def write_bytes(path: Path, data: bytes) -> None:
    """The same for bytes."""
    target = path.resolve()
    if target.exists() and not target.is_file():
        target.write_bytes(data)
        return
    part = target.with_name(f".{target.name[:200]}.{os.getpid()}.part")
    try:
        part.write_bytes(data)
        if target.exists():
            part.chmod(stat.S_IMODE(target.stat().st_mode))
        part.replace(target)
    except OSError:
        part.unlink(missing_ok=True)
        raise


def reason(error: Exception) -> str:
    """Why a file can't be read or written, in words."""
    return _REASONS.get(getattr(error, "errno", None) or 0) or str(getattr(error, "strerror", None) or error)
