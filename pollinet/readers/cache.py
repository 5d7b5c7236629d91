"""Results of reading kept on disk, so that the same tables are read once.

A kept result is found by a digest of all that it was read from and by; so it is never stale, and
one that cannot be read is made again. It is a pickle, and what a pickle holds is run: only files
that nobody but this user can have written are opened.
"""

from __future__ import annotations

import hashlib
import os
import pickle
import stat
import sys
import tempfile
from collections.abc import Callable, Iterable
from contextlib import suppress
from functools import cache, lru_cache
from pathlib import Path
from typing import TypeVar, cast

VARIABLE = "POLLINET_CACHE_DIR"
"""Variable of the environment that names another folder for all that is kept; empty: none."""

MOST_FILES = 24
"""How many results are kept, the latest. Own convention. [files]"""

MOST_IN_MEMORY = 3
"""How many of them a process that asks again has at hand, the latest. Own convention. [results]"""

_DIGEST_BYTES = 32
_T = TypeVar("_T")


def cache_folder() -> Path | None:
    """Where this user's results are kept on this system; None: nowhere."""
    named = os.environ.get(VARIABLE)
    if named is not None:
        return Path(named) if named else None
    import platformdirs

    return platformdirs.user_cache_path("pollinet")


def kept(name: str, sources: Iterable[bytes], make: Callable[[], _T]) -> _T:
    """What was made of these sources before; else what is made now, and kept.

    name : what kind of result it is, a plain word.
    sources : the content of all that `make` reads, names and settings included.
    """
    folder = cache_folder()
    if folder is None:
        return make()
    digest = hashlib.blake2b(digest_size=_DIGEST_BYTES)
    for source in (_program(), *sources):
        digest.update(b"%d:" % len(source) + source)
    place = folder / name / f"{digest.hexdigest()}.pickle"
    found = _load(place)
    if found is None:
        found = (make(),)
        _keep(place, found)
    return cast(_T, found[0])


@cache
def _program() -> bytes:
    """What tells this program and this Python from others, also in a checkout that is edited."""
    root = Path(__file__).resolve().parent.parent
    stamps = [sys.version]
    for folder in (root, root / "readers"):
        with os.scandir(folder) as entries:
            files = [(entry.name, entry.stat()) for entry in entries if entry.name.endswith(".py")]
        stamps += [f"{name} {stamp.st_size} {stamp.st_mtime_ns}" for name, stamp in sorted(files)]
    return "\n".join(stamps).encode()


def _load(place: Path) -> tuple[object] | None:
    """What is kept there, in a tuple of one; None where there is nothing that can be trusted."""
    try:
        if not _is_private(place.parent.stat()):
            return None
        with place.open("rb") as file:
            if not _is_private(os.fstat(file.fileno())):
                return None
            content = file.read()
    except OSError:
        return None
    payload = content[_DIGEST_BYTES:]
    if _digest(payload) != content[:_DIGEST_BYTES]:
        return None
    try:
        return (_unpickled(payload),)
    except Exception:  # a result of another make: any class of it may be gone
        return None


@lru_cache(maxsize=MOST_IN_MEMORY)
def _unpickled(payload: bytes) -> object:
    """The same object for the same bytes: results are never changed."""
    return pickle.loads(payload)


def _is_private(found: os.stat_result) -> bool:
    """Whether it is this user's and nobody else can write it."""
    if not hasattr(os, "getuid"):  # a system where a user's folder is his own by other means
        return True
    others = stat.S_IWGRP | stat.S_IWOTH
    return found.st_uid == os.getuid() and not found.st_mode & others


def _digest(payload: bytes) -> bytes:
    return hashlib.blake2b(payload, digest_size=_DIGEST_BYTES).digest()


def _keep(place: Path, found: tuple[object]) -> None:
    """Keep a result, whole or not at all. A disk that takes nothing is no reason to fail."""
    try:
        payload = pickle.dumps(found[0], protocol=5)
    except (pickle.PicklingError, TypeError, AttributeError):  # a value that is of this run alone
        return
    try:
        place.parent.mkdir(parents=True, exist_ok=True, mode=0o700)
        handle, part = tempfile.mkstemp(dir=place.parent, suffix=".part")
    except OSError:
        return
    try:
        with os.fdopen(handle, "wb") as file:
            file.write(_digest(payload) + payload)
        os.replace(part, place)
        _tidy(place.parent)
    except OSError:
        with suppress(OSError):
            Path(part).unlink(missing_ok=True)


def _tidy(folder: Path) -> None:
    """Remove all but the latest results."""
    files = sorted(folder.glob("*.pickle"), key=lambda file: file.stat().st_mtime_ns)
    for file in files[:-MOST_FILES]:
        file.unlink(missing_ok=True)
