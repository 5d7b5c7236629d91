"""Answers of a chunk as one whole file, with the digest of all that it hangs on.

A file is in its place whole or not at all, and counts only for the very question, places and
weather that it was made for: so a run that was broken off is taken up, and a changed plan never
finds answers of the old one.
"""

from __future__ import annotations

import io
import pickle
from collections.abc import Iterable, Iterator, Sequence
from dataclasses import asdict, fields, replace
from functools import cache
from hashlib import sha256
from pathlib import Path
from typing import Any
from zipfile import BadZipFile

import numpy as np

import pollinet
from pollinet.catalogue_files import catalogue_root
from pollinet.files import read_whole, write_whole
from pollinet.readers.places import Place
from pollinet.region.work import Answers, Question, Task
from pollinet.study.store import Store

FOLDER = "chunks"
"""Folder of the files beside the results."""


def chunk_file(out: Path, number: int) -> Path:
    """The file of a chunk, by its number from 0."""
    return out / FOLDER / f"{number:05d}.npz"


def tasks(places: Sequence[Place], size: int) -> Iterator[Task]:
    """The places in chunks, each with the content of its weather files, read when asked for."""
    for first in range(0, len(places), size):
        some = tuple(places[first : first + size])
        yield Task(some, tuple(map(_content, some)))


def _content(place: Place) -> bytes | None:
    if place.weather is None:
        return None
    try:
        return read_whole(place.weather)
    except OSError:
        return None


def digest_of(question: bytes, task: Task) -> str:
    """What a chunk's answers hang on, in few letters.

    question : what tells of the question, see `question_digest`.
    """
    whole = sha256(question)
    for place, content in zip(task.places, task.weather, strict=True):
        # Folders may be moved; what counts is what stands in them.
        told = {**asdict(place), "weather": None if place.weather is None else place.weather.name}
        whole.update(repr(sorted((key, str(value)) for key, value in told.items())).encode())
        whole.update(b"-" if content is None else sha256(content).digest())
    return whole.hexdigest()


def question_digest(parts: Iterable[object]) -> bytes:
    """A digest of the plan and all that is asked, and of this very program and its tables."""
    whole = sha256(_program())
    for part in parts:
        whole.update(part if isinstance(part, bytes) else repr(part).encode("utf-8"))
        whole.update(b"\0")
    return whole.digest()


@cache
def _program() -> bytes:
    root, tables = Path(pollinet.__file__).parent, Path(str(catalogue_root()))
    files = [*root.rglob("*.py"), *(one for one in tables.rglob("*.*") if one.is_file())]
    whole = sha256(f"{pollinet.__version__}".encode())
    for file in sorted(files):
        whole.update(file.name.encode())
        whole.update(file.read_bytes())
    return whole.digest()


def keep(file: Path, answers: Answers, digest: str) -> None:
    """Write the answers of a chunk; raises OSError where that cannot be."""
    content = io.BytesIO()
    arrays = {field.name: getattr(answers, field.name) for field in fields(Answers)}
    np.savez_compressed(content, digest=np.array(digest), **arrays)
    write_whole(file, content.getvalue())


def kept(file: Path, digest: str) -> Answers | None:
    """The answers of a chunk; None where there are none, or those of another question."""
    arrays = _arrays(file, digest, [field.name for field in fields(Answers)])
    return None if arrays is None else Answers(**arrays)


def is_kept(file: Path, digest: str) -> bool:
    """Whether the answers of a chunk are there."""
    return _arrays(file, digest, ()) is not None


def _arrays(file: Path, digest: str, names: Sequence[str]) -> dict[str, Any] | None:
    try:
        # Opened here: of a damaged file numpy leaves its own open.
        with file.open("rb") as stream, np.load(stream, allow_pickle=False) as arrays:
            is_own = str(arrays["digest"]) == digest
            return {name: arrays[name] for name in names} if is_own else None
    except (OSError, ValueError, KeyError, EOFError, BadZipFile):
        return None


def packed(question: Question) -> bytes:
    """A question for another process, without what was worked out in this one."""
    garden = replace(question.garden, store=Store())
    return pickle.dumps(replace(question, garden=garden), protocol=5)
