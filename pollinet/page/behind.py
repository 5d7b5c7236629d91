"""Questions that take long, each worked out in a process of its own beside the server.

The same question of the same files is worked out once: who asks again finds it running or done.
No more than `MOST_AT_ONCE` run, the others wait for their turn. A process ends when it is stopped,
when it has had `LIMIT_S`, and when the server has gone, however that ended.
"""

from __future__ import annotations

import multiprocessing
import os
import threading
from collections import OrderedDict
from dataclasses import dataclass, field
from multiprocessing.connection import Connection
from multiprocessing.process import BaseProcess
from pathlib import Path
from time import monotonic
from typing import Any, Literal, TypeAlias

from pollinet.errors import Unfit
from pollinet.findings import Finding
from pollinet.language import N_
from pollinet.page.questions import Question

MOST_AT_ONCE = 2
"""Processes that run at once: a small computer has two cores. Own convention."""

LIMIT_S = 600.0
"""Longest time for one question; then it is given up. Own convention. [s]"""

MOST_KEPT = 32
"""Questions whose answers are kept: own convention."""

PATIENCE_S = 5.0
"""Time in which a process that has answered must have ended. [s]"""

READING = N_("reading the garden")
"""What a process does first."""

State: TypeAlias = Literal["waiting", "working", "done", "unfit", "stopped", "late", "failed"]

UNDER_WAY: tuple[State, ...] = ("waiting", "working")
KEPT: tuple[State, ...] = ("done", "unfit")
"""What the same question gives again without being worked out anew."""


@dataclass(frozen=True)
class Order:
    """A question of a garden. digest : of its files. tries : as in an address."""

    digest: str
    tries: tuple[str, ...]
    question: Question
    language: str


@dataclass
class Job:
    """How far an order is.

    stage : what is being done, an English text to be translated. data : what `answered` gave.
    """

    order: Order
    state: State = "waiting"
    stage: str = READING
    began: float | None = None
    data: bytes = b""
    findings: tuple[Finding, ...] = ()
    process: BaseProcess | None = field(default=None, repr=False)

    @property
    def elapsed_s(self) -> int:
        """Since it was begun. [s]"""
        return 0 if self.began is None else int(monotonic() - self.began)

    @property
    def under_way(self) -> bool:
        """Whether it runs or waits for its turn."""
        return self.state in UNDER_WAY


class Behind:
    """All that is worked out behind for one plan."""

    def __init__(self, plan: Path, *, limit_s: float = LIMIT_S) -> None:
        self._plan = Path(os.path.abspath(plan))
        self._limit_s = limit_s
        self._lock = threading.Lock()
        self._turns = threading.Semaphore(MOST_AT_ONCE)
        self._jobs: OrderedDict[Order, Job] = OrderedDict()
        self._closed = False

    def look(self, order: Order) -> Job | None:
        """How far an order is; None: it was not given, or its answer is no longer kept."""
        with self._lock:
            return self._jobs.get(order)

    def ask(self, order: Order) -> Job:
        """Work it out, unless that is done or under way."""
        with self._lock:
            job = self._jobs.get(order)
            if job is not None and (job.under_way or job.state in KEPT):
                return job
            job = self._jobs[order] = Job(order)
            self._jobs.move_to_end(order)
            self._forget()
            if self._closed:
                job.state = "stopped"
                return job
        threading.Thread(target=self._do, args=(job,), daemon=True).start()
        return job

    def stop(self, order: Order) -> None:
        """End it at once; nothing of it is kept."""
        with self._lock:
            job = self._jobs.get(order)
            if job is not None and job.under_way:
                _end(job, "stopped")

    def close(self) -> None:
        """End all, and begin nothing more."""
        with self._lock:
            self._closed = True
            running = [job for job in self._jobs.values() if job.under_way]
            for job in running:
                _end(job, "stopped")
        for job in running:
            if job.process is not None:
                job.process.join(PATIENCE_S)

    def _forget(self) -> None:
        over = [order for order, job in self._jobs.items() if not job.under_way]
        for order in over[: max(0, len(self._jobs) - MOST_KEPT)]:
            del self._jobs[order]

    def _do(self, job: Job) -> None:
        with self._turns:
            # A fresh interpreter: threads of the server and their locks do not come along.
            spawn = multiprocessing.get_context("spawn")
            ours, theirs = spawn.Pipe(duplex=False)
            with self._lock:
                if not job.under_way:
                    return
                job.process = spawn.Process(
                    target=_work, args=(theirs, self._plan, job.order), daemon=True
                )
                job.process.start()
                job.state, job.began = "working", monotonic()
            theirs.close()
            try:
                self._listen(job, ours)
            finally:
                ours.close()
                if job.process.exitcode is None:
                    job.process.join(PATIENCE_S)
                job.process.kill()
                job.process.join()

    def _listen(self, job: Job, told: Connection) -> None:
        """Take what the process says until it has answered, is stopped, or takes too long."""
        assert job.began is not None
        while job.under_way:
            if not told.poll(max(0.0, job.began + self._limit_s - monotonic())):
                with self._lock:
                    _end(job, "late")
                return
            try:
                word, value = told.recv()
            except (EOFError, OSError):
                word, value = "failed", None
            with self._lock:
                if job.under_way:
                    _take(job, word, value)


def _take(job: Job, word: str, value: Any) -> None:
    if word == "stage":
        job.stage = value
    elif word == "done":
        job.state, job.data = "done", value
    elif word == "unfit":
        job.state, job.findings = "unfit", tuple(value)
    else:
        # The files were changed meanwhile, or it ended without a word.
        job.state = "stopped" if word == "changed" else "failed"


def _end(job: Job, state: State) -> None:
    job.state = state
    if job.process is not None:
        job.process.kill()


# --- in the process ----------------------------------------------------------------------------


def _work(told: Connection, plan: Path, order: Order) -> None:
    """Answer one order; whatever happens, this process does not outlive the server."""
    threading.Thread(target=_watch_parent, daemon=True).start()
    _say_nothing()
    if hasattr(os, "nice"):
        # The page itself comes first.
        os.nice(5)
    from pollinet.language import speaking
    from pollinet.page.desk import Desk
    from pollinet.page.questions import answered
    from pollinet.page.tries import tries_of

    with speaking(order.language):
        desk = Desk(plan)
        garden = desk.tried(tries_of(order.tries))
        if garden is None or desk.digest() != order.digest:
            told.send(("changed", None))
            return
        try:
            data = answered(garden.study, order.question, lambda words: told.send(("stage", words)))
        except Unfit as problem:
            told.send(("unfit", problem.findings))
            return
    told.send(("done", data))


def _watch_parent() -> None:
    parent = multiprocessing.parent_process()
    if parent is not None:
        parent.join()
        os._exit(1)


def _say_nothing() -> None:
    """Libraries in C write past `sys.stdout`; the server's own output is no place for that."""
    nowhere = os.open(os.devnull, os.O_WRONLY)
    os.dup2(nowhere, 1)
    os.close(nowhere)
