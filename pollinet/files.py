"""Every file that the program writes goes through here: whole or not at all, over nothing foreign.

A file of ours carries a mark that its own format allows (a creator, a generator, the first line of
a table); only what carries the mark of the same purpose is replaced.
"""

from __future__ import annotations

import errno
import os
import re
import secrets
import stat
import tempfile
from collections.abc import Iterable, Iterator, Mapping
from contextlib import ExitStack, contextmanager, suppress
from pathlib import Path

from pollinet.errors import Busy
from pollinet.findings import Finding
from pollinet.messages import mark, say

LOG_NAME = "records.csv"
"""The log of a garden, beside its plan; nothing but notes may take its place."""

OWN_FOLDER = "catalogues"
"""Folder beside the plan in which the grower's own tables stand."""

WAIT_S = 10.0
"""How long an edit waits for another one of the same garden to end: own convention. [s]"""

MOST_BYTES = 100_000_000
"""Largest file that is read: a century of hourly weather has half of it. Own convention. [bytes]"""

MOST_LETTERS = 80
"""Longest name of a file made from an id: some file systems end at 143 bytes. Own convention."""

PART = ".part"
"""End of the name of a file that is being written beside its place."""

OLD_S = 3600.0
"""Age from which such a file is left over: none takes so long to write. Own convention. [s]"""

_REASONS: Mapping[int | None, str] = {
    errno.ENOENT: mark("there is no such file"),
    errno.EISDIR: mark("this is a folder, not a file"),
    errno.ENOTDIR: mark("a part of its path is no folder"),
    errno.EACCES: mark("you have no right to it"),
    errno.EPERM: mark("you have no right to it"),
    errno.EROFS: mark("the disk can only be read"),
    errno.ENOSPC: mark("the disk is full"),
    errno.EFBIG: mark("the file would be larger than is allowed here"),
    errno.ELOOP: mark("its links lead round in a circle"),
    errno.ENAMETOOLONG: mark("its name is too long"),
    errno.ENODEV: mark("this is a device or a pipe, not an ordinary file"),
    errno.EOVERFLOW: mark("the file is larger than 100 MB"),
}


def reason_of(problem: OSError | UnicodeError) -> str:
    """What stands in the way; the system's own words where we have none."""
    if isinstance(problem, UnicodeError):
        return say("this is not text in UTF-8")
    known = _REASONS.get(problem.errno)
    return say(known) if known else (problem.strerror or say("the system does not say why"))


def cannot_write(problem: OSError) -> Finding:
    """That a file or folder cannot be written, and the system's reason."""
    message = say("cannot be written: {reason}", reason=reason_of(problem))
    file = "" if problem.filename is None else str(problem.filename)
    cure = say("give another place, or make room and leave to write there")
    return Finding("error", "cannot-write", message, file, cure=cure)


def not_a_folder(folder: Path) -> Finding:
    """That a file stands where a folder is wanted."""
    return Finding("error", "not-a-folder", say("this is a file, not a folder"), str(folder))


def read_whole(path: Path) -> bytes:
    """The content of a file.

    Raises
    ------
    OSError
        It cannot be read, is no ordinary file (a device never ends, a pipe may never begin), or is
        larger than `MOST_BYTES`.
    """
    state = path.stat()
    if not stat.S_ISREG(state.st_mode):
        is_folder = stat.S_ISDIR(state.st_mode)
        raise OSError(errno.EISDIR if is_folder else errno.ENODEV, "no ordinary file", str(path))
    # Some files of the system tell a size of 0: what is read decides.
    with path.open("rb") as file:
        content = file.read(MOST_BYTES + 1)
    if len(content) > MOST_BYTES:
        raise OSError(errno.EOVERFLOW, "too large", str(path))
    return content


# --- whole or not at all -----------------------------------------------------------------------


def write_whole(path: Path, content: bytes) -> None:
    """Write a file beside its place and put it there: a reader sees the old one or the new one."""
    write_all({path: content})


def write_all(contents: Mapping[Path, bytes]) -> None:
    """Write files as `write_whole` does: all of them are written before any is put in its place.

    Raises OSError, and then leaves no part of a file behind.
    """
    parts: list[tuple[Path, Path]] = []
    try:
        for path, content in contents.items():
            parts.append((_part(path, content), path))
        for part, path in parts:
            part.replace(path)
            _keep_names(path.parent)
    except OSError as problem:
        # What is named to the person is the file they asked for, not the one beside it.
        raise OSError(problem.errno, problem.strerror, os.fspath(path)) from problem
    finally:
        for part, _ in parts:
            part.unlink(missing_ok=True)


@contextmanager
def writing_whole(path: Path) -> Iterator[Path]:
    """A file beside a place, to be filled bit by bit; put there once all is in it.

    Raises OSError, and then leaves no part of a file behind.
    """
    part = _part(path, b"")
    try:
        yield part
        with part.open("rb") as file:
            os.fsync(file.fileno())
        part.replace(path)
    except OSError as problem:
        raise OSError(problem.errno, problem.strerror, os.fspath(path)) from problem
    finally:
        part.unlink(missing_ok=True)


def write_new(path: Path, content: bytes) -> None:
    """Write a file that must not be there yet, whole; FileExistsError where one is."""
    part = None
    try:
        part = _part(path, content)
        _give_name(part, path)
        _keep_names(path.parent)
    except OSError as problem:
        raise OSError(problem.errno, problem.strerror, os.fspath(path)) from problem
    finally:
        if part is not None:
            part.unlink(missing_ok=True)


def _give_name(part: Path, path: Path) -> None:
    """Put a file in a place where nothing may stand, not even a link."""
    try:
        # A second name for what was written: it cannot be given where one stands already.
        os.link(part, path)
    except FileExistsError:
        raise
    except OSError:
        # Memory sticks have no second names. To take the place first and fill it then would leave
        # an empty file where the power goes in between: so no other program of ours may look.
        with locked(path.parent, kind="names"):
            if os.path.lexists(path):
                raise FileExistsError(errno.EEXIST, "there already", os.fspath(path)) from None
            part.replace(path)


def _keep_names(folder: Path) -> None:
    """See that the names in a folder outlast a loss of power, as what is in the files does."""
    if os.name != "posix":
        # Elsewhere a folder cannot be opened, and names are kept by the system.
        return
    # Some file systems (of a network) cannot do it; what was written stands all the same.
    with suppress(OSError):
        handle = os.open(folder, os.O_RDONLY)
        try:
            os.fsync(handle)
        finally:
            os.close(handle)


def _part(path: Path, content: bytes) -> Path:
    """A file beside a place with what is to stand there; its rights are those of what is there.

    Where nothing is there, they are those that this user gives to new files.
    """
    part = path.with_name(f".{secrets.token_hex(8)}{PART}")
    flags = os.O_WRONLY | os.O_CREAT | os.O_EXCL | getattr(os, "O_BINARY", 0)
    handle = os.open(part, flags, 0o600 if path.exists() else 0o666)
    try:
        with os.fdopen(handle, "wb") as file:
            if path.exists():
                part.chmod(path.stat().st_mode & 0o777)
            file.write(content)
            file.flush()
            os.fsync(file.fileno())
            _sweep(path.parent, os.fstat(file.fileno()).st_mtime)
    except BaseException:
        part.unlink(missing_ok=True)
        raise
    return part


_OUR_PART = re.compile(r"\.[0-9a-f]{16}" + re.escape(PART))


def _sweep(folder: Path, now_s: float) -> None:
    """Remove parts that an ended program left behind; what cannot be removed stays.

    now_s : by the clock of the disk on which they stand, whatever this machine's clock says.
    """
    with suppress(OSError), os.scandir(folder) as entries:
        for entry in entries:
            if _OUR_PART.fullmatch(entry.name) is None or not entry.is_file(follow_symlinks=False):
                continue
            if entry.stat(follow_symlinks=False).st_mtime < now_s - OLD_S:
                os.unlink(entry.path)


def no_formula(cell: object) -> object:
    """A cell that no spreadsheet takes for a formula: an apostrophe stands before such a text."""
    if not isinstance(cell, str) or not cell.startswith(("=", "+", "-", "@", "\t", "\r")):
        return cell
    try:
        float(cell)
    except ValueError:
        return f"'{cell}"
    return cell


# --- over nothing foreign ----------------------------------------------------------------------


def refusal(out: Path, own_mark: bytes | None) -> Finding | None:
    """Why a file may not be written; None where it may.

    own_mark : what a file of the same purpose holds in the place that its format has for it; one
        that is a line, with its end, is the first line of the file. None: the files of this purpose
        are not known yet, and those that are there are judged later.
    """
    above = out.absolute().parents[:2]
    if (
        out.name.casefold() == LOG_NAME
        or out.suffix.lower() == ".toml"
        or OWN_FOLDER in [folder.name for folder in above]
    ):
        message = say("this is the place of a plan, a log or own tables, and no answer goes there")
        return Finding("error", "guarded-file", message, str(out), cure=say("give another name"))
    if out.is_symlink():
        message = say("this is a link, and no link is followed")
        return Finding("error", "link", message, str(out), cure=say("give another name"))
    if not out.exists():
        return None
    if not out.is_file():
        reason = say("this is a folder or a device, not a file")
        message = say("cannot be written: {reason}", reason=reason)
        return Finding("error", "not-a-file", message, str(out), cure=say("give another name"))
    if own_mark is None or _holds(out.read_bytes(), own_mark, out.suffix.lower()):
        return None
    return would_overwrite(out)


def would_overwrite(file: Path) -> Finding:
    """That a file is there and stays as it is."""
    message = say("this file is there and is not written over")
    return Finding("error", "would-overwrite", message, str(file), cure=say("give another name"))


_PLACES: Mapping[str, tuple[bytes, bytes]] = {
    ".svg": (
        rb"\A(?:(?!<defs).)*?<dc:creator>\s*<cc:Agent>\s*<dc:title>",
        rb"(?:,[^<]*)?</dc:title>",
    ),
    ".png": (rb"\A(?:(?!IDAT).)*?tEXtCreator\0", rb"(?:,|[^ -~])"),
    ".pdf": (rb"/Creator \(", rb"[,)]"),
    ".html": (rb"\A(?:(?!<title).)*?", rb""),
    ".graphml": (rb"<data key=\"\w+\">", rb"</data>\s*</graph>\s*</graphml>\s*\Z"),
    ".json": (
        rb"\A\{\s*\"directed\": \w+,\s*\"multigraph\": \w+,\s*\"graph\": \{"
        rb"\s*\"made_by\": \"",
        rb"\"",
    ),
    ".ics": (rb"\ABEGIN:VCALENDAR\r?\n(?:(?!BEGIN:)[^\n]*\n)*?", rb""),
}
"""What stands before and after the mark of a file, by its suffix: words alone are no mark, for
somebody may have written of ours. In a text of an SVG or PDF these signs would be escaped."""


def _holds(content: bytes, own_mark: bytes, suffix: str) -> bool:
    if own_mark.endswith(b"\n"):
        return content.startswith(own_mark)
    before, after = _PLACES[suffix]
    return re.search(before + re.escape(own_mark) + after, content, re.DOTALL) is not None


def made_by(purpose: str) -> str:
    """What stands as the creator of a file of ours: `Pollinet calendar`."""
    return f"Pollinet {purpose}"


# --- names -------------------------------------------------------------------------------------

_RESERVED = re.compile(r"(con|prn|aux|nul|com\d|lpt\d)(\..*)?", re.IGNORECASE)
"""Names that some systems keep for devices (Microsoft, Naming Files, Paths, and Namespaces)."""


def file_stems(ids: Iterable[str]) -> tuple[str, ...]:
    """A name of a file for each id: no separators, none reserved, none like another in any case."""
    found: list[str] = []
    for name in ids:
        stem = file_stem(name)
        taken, number = {one.casefold() for one in found}, 1
        while (one := stem if number == 1 else f"{stem}-{number}").casefold() in taken:
            number += 1
        found.append(one)
    return tuple(found)


def file_stem(text: str) -> str:
    """A text as the name of a file, in small letters: `Old Tree/2` becomes `old-tree-2`."""
    stem = re.sub(r"[^\w.-]+", "-", text.lower())[:MOST_LETTERS].strip(".-")
    return f"_{stem}" if not stem or _RESERVED.fullmatch(stem) else stem


# --- one edit at a time ------------------------------------------------------------------------


@contextmanager
def garden_locked(file: Path) -> Iterator[None]:
    """Let no other edit of the garden of a plan, or of a folder of own tables, go on meanwhile.

    Where it is a link, or the log beside it is, the folder in which the file itself stands is held
    as well; always in one order, so that two edits do not wait for each other. Raises `Busy`.
    """
    log = file.parent / LOG_NAME
    homes = {file.parent.resolve(), file.resolve().parent, log.resolve().parent}
    with ExitStack() as held:
        for folder in sorted(home for home in homes if home.is_dir()):
            held.enter_context(locked(folder))
        yield


@contextmanager
def locked(folder: Path, wait_s: float = WAIT_S, *, kind: str = "") -> Iterator[None]:
    """Hold the lock of a garden's folder while something in it is read, changed and written.

    The lock stands in the system's folder for temporary files, so that none is left beside the
    plan; it binds the programs of one machine, whatever folder each was told to use for temporary
    files. The system lets go of it when a program ends, however it ends. Raises `Busy` where
    another edit does not end.

    kind : a plain word for a lock beside that of edits, which may be held already.
    """
    from filelock import FileLock, Timeout

    where = folder.stat()
    shared = Path("/tmp")
    base = shared if os.name == "posix" and shared.is_dir() else Path(tempfile.gettempdir())
    home = base / f"pollinet-locks-{where.st_uid}"
    home.mkdir(exist_ok=True)
    # Whoever made it may have been stopped before it was opened to others.
    if home.stat().st_mode & 0o777 != 0o777:
        with suppress(PermissionError):
            home.chmod(0o777)
    name = f"{where.st_dev:x}-{where.st_ino:x}{kind and '-'}{kind}.lock"
    # Whoever may change the folder may hold its lock.
    lock = FileLock(home / name, timeout=wait_s, mode=0o666)
    try:
        lock.acquire()
    except Timeout as problem:
        message = say("another edit of this garden is running and does not end")
        cure = say("try again when it has ended")
        raise Busy([Finding("error", "busy", message, str(folder), cure=cure)]) from problem
    try:
        yield
    finally:
        lock.release()
