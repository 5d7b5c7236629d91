"""The plan that lies open: read again when its files change, with the gardens tried beside it."""

from __future__ import annotations

import hashlib
from collections import OrderedDict
from collections.abc import Callable, Sequence
from dataclasses import dataclass, field
from pathlib import Path
from threading import RLock
from typing import Any, TypeAlias, TypeVar

from pollinet.errors import Unfit
from pollinet.files import LOG_NAME, OWN_FOLDER
from pollinet.findings import Finding
from pollinet.language import chosen
from pollinet.page.tries import Try
from pollinet.study import Study, open_study

_T = TypeVar("_T")

MOST_KEPT = 32
"""Gardens tried that are kept in memory: own convention."""

Stamp: TypeAlias = tuple[tuple[str, int, int, int], ...]


@dataclass(frozen=True)
class Opened:
    """A plan as it was read. `study` : None where an error stands in the way."""

    study: Study | None
    findings: tuple[Finding, ...]


@dataclass(frozen=True)
class Tried:
    """A garden with all that is tried and can be.

    steps : each try with the garden before it. wrong : those that the plan could not hold, which
    are left out, with what is wrong.
    """

    study: Study
    steps: tuple[tuple[Try, Study], ...]
    wrong: tuple[tuple[Try, tuple[Finding, ...]], ...] = ()


@dataclass
class Desk:
    """One plan, and what has been worked out of it; `lock` is held while it is asked.

    undo : earlier texts of the plan with what was written over each, the last one last.
    """

    plan: Path
    lock: RLock = field(default_factory=RLock)
    undo: list[tuple[str, str]] = field(default_factory=list)
    _stamp: Stamp | None = None
    _digest: tuple[Stamp, str] | None = None
    _opened: Opened | None = None
    _told: dict[tuple[str, str], Any] = field(default_factory=dict)
    _tried: OrderedDict[tuple[Try, ...], Study | tuple[Finding, ...]] = field(
        default_factory=OrderedDict
    )

    @property
    def exists(self) -> bool:
        """Whether there is a plan; else one is to be begun."""
        return self.plan.is_file()

    def opened(self) -> Opened:
        """The plan as its files are now."""
        stamp = self._stamp_now()
        if self._opened is None or stamp != self._stamp:
            self._tried.clear()
            self._told.clear()
            found = open_study(self.plan)
            self._opened = Opened(found.study, found.findings)
            # What it names is known now; a file that changed meanwhile is read again next time.
            self._stamp = self._stamp_now() if self._stamp is None else stamp
        return self._opened

    def tried(self, tries: Sequence[Try]) -> Tried | None:
        """The garden with what is tried; None where the plan itself cannot be opened."""
        study = self.opened().study
        if study is None:
            return None
        done: tuple[Try, ...] = ()
        steps, wrong = [], []
        for one in tries:
            after = self._after(study, done, one)
            if isinstance(after, Study):
                steps.append((one, study))
                study, done = after, (*done, one)
            else:
                wrong.append((one, after))
        return Tried(study, tuple(steps), tuple(wrong))

    def of_plan(self, what: str, make: Callable[[Study], _T]) -> _T:
        """What is told of the plan as it stands, worked out once in each language."""
        study = self.opened().study
        assert study is not None
        key = (what, chosen())
        if key not in self._told:
            self._told[key] = make(study)
        found: _T = self._told[key]
        return found

    def _after(self, study: Study, done: tuple[Try, ...], one: Try) -> Study | tuple[Finding, ...]:
        """The garden after one more try, kept; or what is wrong with it."""
        key = (*done, one)
        if key not in self._tried:
            try:
                self._tried[key] = one.study(study)
            except Unfit as problem:
                self._tried[key] = tuple(problem.findings)
            while len(self._tried) > MOST_KEPT:
                self._tried.popitem(last=False)
        self._tried.move_to_end(key)
        return self._tried[key]

    def digest(self) -> str:
        """A digest of all that the garden is read from: what was worked out of it holds as long."""
        # Only the plan names its weather.
        self.opened()
        stamp = self._stamp_now()
        if self._digest is None or self._digest[0] != stamp:
            told = "".join(f"{Path(name).name}:{digest_of(Path(name))};" for name, *_ in stamp)
            self._digest = stamp, hashlib.sha256(told.encode()).hexdigest()
        return self._digest[1]

    def _stamp_now(self) -> Stamp:
        """Name, number, time and size of every file that the garden is read from."""
        folder = self.plan.parent
        files = [self.plan, folder / LOG_NAME, *sorted((folder / OWN_FOLDER).rglob("*"))]
        study = None if self._opened is None else self._opened.study
        if study is not None and study.plan.weather_file:
            files.append(folder / study.plan.weather_file)
        found = []
        for file in files:
            try:
                told = file.stat()
            except OSError:
                continue
            # A file that is put in the place of another has a number of its own: a clock that was
            # set back may give both the same time.
            found.append((str(file), told.st_ino, told.st_mtime_ns, told.st_size))
        return tuple(found)


def digest_of(path: Path) -> str:
    """A digest of a file's bytes; empty where it cannot be read."""
    try:
        return hashlib.sha256(path.read_bytes()).hexdigest()
    except OSError:
        return ""
