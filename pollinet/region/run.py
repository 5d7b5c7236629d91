"""Chunks shared out to processes, or done here, and kept one by one; Dask is the engine.

At most one chunk a process is in the making, so that a run that is killed costs as many again.
"""

from __future__ import annotations

import errno
from collections.abc import Callable, Iterator, Mapping, Sequence
from contextlib import ExitStack, contextmanager
from dataclasses import dataclass
from pathlib import Path
from typing import Any

from pollinet.errors import BadQuestion
from pollinet.findings import Finding
from pollinet.messages import say
from pollinet.readers.places import Place
from pollinet.region.chunks import chunk_file, digest_of, is_kept, keep, kept, packed, tasks
from pollinet.region.work import Answers, Question, Task, answer, answer_packed

SETTINGS: Mapping[str, Any] = {
    # Nobody looks at its profile.
    "distributed.worker.profile.enabled": False,
    # Its own setting gives memory back at once, and arrays of megabytes come and go all the time.
    "distributed.nanny.pre-spawn-environ": {
        "OMP_NUM_THREADS": 1, "MKL_NUM_THREADS": 1, "OPENBLAS_NUM_THREADS": 1,
    },
}  # fmt: skip
"""What Dask's processes here do otherwise than usual."""

START_S = 20.0
"""How long a cluster may take to be there. Own convention. [s]"""


@dataclass(frozen=True)
class Where:
    """Who does the work. workers : processes. scheduler : address of a cluster; None: this one."""

    workers: int = 1
    scheduler: str | None = None


@dataclass(frozen=True)
class Progress:
    """How far a run is. taken_over : places that an earlier run had answered."""

    done: int
    places: int
    taken_over: int


def run(
    question: Question,
    digest: bytes,
    places: Sequence[Place],
    out: Path,
    where: Where,
    tell: Callable[[Progress], None],
    *,
    size: int,
) -> list[tuple[Path, str]]:
    """Answer for all places into the files of chunks under `out`, but for those that are there.

    digest : of the plan and all that is asked, see `chunks.question_digest`.

    size : places in a chunk.

    Returns the files with their digests, in the order of the places; others are taken away. Raises
    OSError where a file cannot be written, and `BadQuestion` where a cluster cannot be reached or
    its processes are gone.
    """
    done, taken_over = 0, 0
    files: list[tuple[Path, str]] = []

    def told(more: int, *, again: bool = False) -> None:
        nonlocal done, taken_over
        done, taken_over = done + more, taken_over + more * again
        tell(Progress(done, len(places), taken_over))

    def missing() -> Iterator[tuple[int, Task]]:
        """Chunks that are still to be done; each is looked at when its turn comes."""
        for number, task in enumerate(tasks(places, size)):
            files.append((chunk_file(out, number), digest_of(digest, task)))
            if is_kept(*files[-1]):
                told(len(task.places), again=True)
            else:
                yield number, task

    with ExitStack() as stack:
        for number, answers in stack.enter_context(_engine(question, missing(), where)):
            keep(files[number][0], answers, files[number][1])
            told(len(answers.name))
    wanted = {file for file, _digest in files}
    for file in chunk_file(out, 0).parent.iterdir():
        # Those of other places, and parts of one that was not finished.
        if file not in wanted and file.suffix in (".npz", ".part"):
            file.unlink()
    return files


def kept_parts(chunks: Sequence[tuple[Path, str]]) -> Iterator[Answers]:
    """The answers of chunks that `run` has given, one after the other."""
    for file, digest in chunks:
        answers = kept(file, digest)
        if answers is None:
            raise OSError(errno.ENOENT, "taken away while the run went on", str(file))
        yield answers


@contextmanager
def _engine(
    question: Question, missing: Iterator[tuple[int, Task]], where: Where
) -> Iterator[Iterator[tuple[int, Answers]]]:
    """The answers of the missing chunks by number, in the order in which they are done."""
    if where.workers == 1 and where.scheduler is None:
        yield ((number, answer(question, task)) for number, task in missing)
        return
    first = next(missing, None)
    if first is None:
        # Nothing to do: no process need be started.
        yield iter(())
        return
    with _client(where) as client:
        yield _shared_out(client, packed(question), _chain(first, missing))


def _chain(first: tuple[int, Task], rest: Iterator[tuple[int, Task]]) -> Iterator[tuple[int, Task]]:
    yield first
    yield from rest


def _shared_out(
    client: Any, question: bytes, missing: Iterator[tuple[int, Task]]
) -> Iterator[tuple[int, Answers]]:
    from concurrent.futures import CancelledError

    from distributed import KilledWorker, as_completed

    # Sent once to each process, not with each chunk.
    sent = client.scatter(question, broadcast=True, hash=False)
    numbers: dict[Any, int] = {}

    def submit() -> Any:
        told = next(missing, None)
        if told is None:
            return None
        future = client.submit(answer_packed, sent, told[1], pure=False)
        numbers[future] = told[0]
        return future

    # Each has the next chunk at hand while the answers of the last are on their way.
    hands = 2 * max(1, sum(client.nthreads().values()))
    begun = [future for future in (submit() for _hand in range(hands)) if future is not None]
    completed = as_completed(begun)
    for future in completed:
        try:
            answers: Answers = future.result()
        except (KilledWorker, CancelledError) as problem:
            raise _lost() from problem
        number = numbers.pop(future)
        if (following := submit()) is not None:
            completed.add(following)
        future.release()
        yield number, answers


def _unreached(address: str) -> BadQuestion:
    message = say("the cluster at {address} cannot be reached", address=address)
    cure = say("start it, or leave --scheduler out: this machine then does the work")
    return BadQuestion([Finding("error", "no-scheduler", message, cure=cure)])


def _lost() -> BadQuestion:
    message = say("the processes that did the work have ended before it was done")
    cure = say("give the same line again, perhaps with fewer --workers: what is finished is kept")
    return BadQuestion([Finding("error", "workers-lost", message, cure=cure)])


@contextmanager
def _client(where: Where) -> Iterator[Any]:
    """A client of a cluster: of processes of this machine, over its loopback, or of one told."""
    import logging

    import dask
    from distributed import Client, LocalCluster

    # What its processes have to say about their coming and going is nothing to the person.
    logging.getLogger("distributed").setLevel(logging.CRITICAL)
    with dask.config.set(SETTINGS), ExitStack() as stack:
        if where.scheduler is not None:
            try:
                client = stack.enter_context(Client(where.scheduler, timeout=START_S))
            except (OSError, ValueError) as problem:
                raise _unreached(where.scheduler) from problem
            yield client
            return
        cluster = stack.enter_context(
            LocalCluster(
                n_workers=where.workers, threads_per_worker=1, processes=True, host="127.0.0.1",
                dashboard_address=None, worker_dashboard_address=None,
                silence_logs=logging.CRITICAL,
            )
        )  # fmt: skip
        yield stack.enter_context(Client(cluster))
