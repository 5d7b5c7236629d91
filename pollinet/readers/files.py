"""Why a file cannot be read or written, in words a person can act on; writing one whole."""

from __future__ import annotations

import errno
import os
import tempfile
from collections.abc import Mapping
from pathlib import Path

from pollinet.findings import Finding
from pollinet.messages import NOTHING, mark, say

_REASONS: Mapping[int | None, str] = {
    errno.ENOENT: mark("there is no such file"),
    errno.EISDIR: mark("this is a folder, not a file"),
    errno.ENOTDIR: mark("a part of its path is no folder"),
    errno.EACCES: mark("you have no right to it"),
    errno.EPERM: mark("you have no right to it"),
    errno.EROFS: mark("the disk can only be read"),
    errno.ENOSPC: mark("the disk is full"),
    errno.ELOOP: mark("its links lead round in a circle"),
    errno.ENAMETOOLONG: mark("its name is too long"),
}


def reason_of(problem: OSError | UnicodeError) -> str:
    """What stands in the way; the system's own words where we have none."""
    if isinstance(problem, UnicodeError):
        return say("this is not text in UTF-8")
    known = _REASONS.get(problem.errno)
    return say(known) if known else (problem.strerror or say("the system does not say why"))


def unreadable(problem: OSError | UnicodeError, file: str, *, cure: str = NOTHING) -> Finding:
    """That a file cannot be read.

    cure : what to do where the file is there; one that is not must be named rightly.
    """
    missing = isinstance(problem, FileNotFoundError)
    code = "missing-file" if missing else "unreadable-file"
    check = say("check its name and folder")
    return Finding("error", code, reason_of(problem), file, cure=check if missing else cure)


def write_whole(path: Path, content: bytes) -> None:
    """Write a file beside its place and put it there: a reader sees the old one or the new one."""
    write_all({path: content})


def write_all(contents: Mapping[Path, bytes]) -> None:
    """Write files as `write_whole` does: all of them are written before any is put in its place."""
    parts: list[tuple[Path, Path]] = []
    try:
        for path, content in contents.items():
            handle, name = tempfile.mkstemp(dir=path.parent, prefix=f".{path.name}.")
            parts.append((Path(name), path))
            with os.fdopen(handle, "wb") as file:
                file.write(content)
                file.flush()
                os.fsync(file.fileno())
            # A temporary file is private; what is there keeps its rights, or gets the usual ones.
            Path(name).chmod(path.stat().st_mode & 0o777 if path.exists() else 0o644)
        for part, path in parts:
            part.replace(path)
    finally:
        for part, _ in parts:
            part.unlink(missing_ok=True)
