"""Runs what writes in processes that end, fail or are stopped at the step of a disk that is told.

A process that has loaded the program forks one for each line of JSON that it is sent, and answers
with how that one ended. Steps are counted by what Python itself reports of every change of the
disk (`sys.addaudithook`), and by each write and fsync, so that no writer is told that it is tried.
"""

from __future__ import annotations

import errno
import gc
import json
import mmap
import os
import resource
import signal
import struct
import subprocess
import sys
import time
import traceback
from dataclasses import dataclass, field
from pathlib import Path
from typing import Any

CHANGES = {
    "os.rename", "os.link", "os.symlink", "os.remove", "os.mkdir", "os.rmdir", "os.chmod",
    "os.truncate", "os.utime", "fcntl.flock",
}  # fmt: skip
"""Events by which Python reports a change of the disk (the table of audit events of its manual)."""

WRITES = os.O_WRONLY | os.O_RDWR | os.O_CREAT | os.O_TRUNC | os.O_APPEND


class Steps:
    """Counts the steps of a process, and does at one of them what is told."""

    def __init__(self, told: mmap.mmap, fault: str, at: int) -> None:
        self.told, self.fault, self.at = told, fault, at
        self.number, self.ended, self.names = 0, False, b""
        # Where a garden can only be read, there is room for locks elsewhere.
        locks = ("/tmp/pollinet-locks-",) if fault == "read-only" else ()
        self.aside = (os.environ["TMPDIR"], *locks)

    def step(self, name: str) -> bool:
        """One more; True where a write is to be done by half, and `fail` called after it."""
        if self.ended:
            return False
        self.number += 1
        self.names += name.encode() + b" "
        self.told[:4] = struct.pack("i", self.number)
        kept = self.names[-4000:]
        self.told[4 : 4 + len(kept)] = kept
        if self.fault == "read-only":
            self.fail(name)
        elif self.fault == "none" or self.number != self.at:
            # A disk that is full stays full: of what takes room, nothing succeeds any more.
            full = self.fault == "full" and self.number > self.at and name in ("write", "open")
            if not full:
                return False
        if name == "write":
            return True
        self.fail(name)
        return False

    def fail(self, name: str) -> None:
        if self.fault == "kill":
            os.kill(os.getpid(), signal.SIGKILL)
            time.sleep(60)
        if self.fault == "stop":
            raise KeyboardInterrupt
        if name in ("os.remove", "os.rmdir", "fcntl.flock"):
            # What only takes away, or holds, needs no room.
            return
        number = errno.EROFS if self.fault == "read-only" else errno.ENOSPC
        raise OSError(number, os.strerror(number))

    def hook(self, event: str, values: tuple[Any, ...]) -> None:
        if event == "open":
            path, _mode, flags = values
            if not (flags or 0) & WRITES or str(path).startswith("/dev/"):
                return
        elif event not in CHANGES:
            return
        if str(values[0]).startswith(self.aside):
            # What is tried there is nobody's garden.
            return
        self.step(event)


class Half:
    """A file whose write may end in its middle."""

    def __init__(self, file: Any, steps: Steps) -> None:
        self.file, self.steps = file, steps

    def __enter__(self) -> Half:
        return self

    def __exit__(self, *problem: object) -> None:
        self.file.close()

    def __getattr__(self, name: str) -> Any:
        return getattr(self.file, name)

    def write(self, content: Any) -> Any:
        if not self.steps.step("write"):
            return self.file.write(content)
        self.file.write(content[: len(content) // 2])
        self.file.flush()
        return self.steps.fail("write")


def _faulty(steps: Steps) -> None:
    fsync, fdopen = os.fsync, os.fdopen

    def slow(handle: int) -> None:
        steps.step("fsync")
        fsync(handle)
        steps.step("synced")

    def half(handle: int, *more: Any, **named: Any) -> Any:
        file = fdopen(handle, *more, **named)
        return Half(file, steps) if "w" in getattr(file, "mode", "") else file

    os.fsync, os.fdopen = slow, half
    sys.addaudithook(steps.hook)


def _child(told: dict[str, Any], counted: mmap.mmap) -> int:
    """What a forked process does; returns its exit code."""
    from pollinet.cli import main

    out = os.open(told["said"], os.O_WRONLY | os.O_CREAT | os.O_TRUNC)
    os.dup2(out, 1)
    os.dup2(out, 2)
    sys.stdout = open(1, "w", encoding="utf-8", closefd=False)  # noqa: SIM115
    sys.stderr = open(2, "w", encoding="utf-8", closefd=False)  # noqa: SIM115
    os.chdir(told["folder"])
    os.environ.update(told.get("variables", {}))
    time.tzset()
    if bound := told.get("largest"):
        signal.signal(signal.SIGXFSZ, signal.SIG_IGN)
        resource.setrlimit(resource.RLIMIT_FSIZE, (bound, bound))
    if told.get("form"):
        from pollinet.page.app import create_app

        app = create_app(Path(told["plan"]), hosts={"localhost"}, token="token", language="en")
        client = app.test_client()
    steps = Steps(counted, told["fault"], told["step"])
    _faulty(steps)
    code = 0
    try:
        if told.get("form"):
            answer = client.post(told["form"], data={"token": "token", **told["values"]})
            code = answer.status_code
            print(code, flush=True)
        else:
            for words in told["words"]:
                code = max(code, main(words))
    finally:
        steps.ended = True
    sys.stdout.flush()
    return code // 2 if told.get("form") else code


def _fork(told: dict[str, Any]) -> tuple[int, mmap.mmap]:
    counted = mmap.mmap(-1, 4096)
    child = os.fork()
    if child:
        return child, counted
    code = 99
    try:
        code = _child(told, counted)
    except KeyboardInterrupt:
        code = 130
    except BaseException:
        traceback.print_exc()
    finally:
        sys.stderr.flush()
        os._exit(code)


def serve() -> None:
    """Fork for each line that comes in; those of one line run at the same time."""
    from importlib import import_module

    from pollinet.cli import COMMANDS, load

    for name in COMMANDS:
        load(name)
    for name in (
        "page.app",
        "saving",
        "demo",
        "study",
        "readers.own_tables",
        "report.html",
        "report.content",
        "fetch.openmeteo",
        "strips",
    ):
        import_module(f"pollinet.{name}")
    import filelock  # noqa: F401
    import httpx  # noqa: F401

    from pollinet.study import open_study

    # What each of them would read first is read once; the tables stay in the memory of all.
    open_study(Path(sys.argv[1]))
    gc.collect()
    gc.freeze()
    print("ready", flush=True)
    for line in sys.stdin:
        runs = [_fork(told) for told in json.loads(line)]
        ended = []
        for child, counted in runs:
            _, status = os.waitpid(child, 0)
            (number,) = struct.unpack("i", counted[:4])
            names = bytes(counted[4:]).rstrip(b"\0").decode().split()
            ended.append([os.waitstatus_to_exitcode(status), number, names])
        print(json.dumps(ended), flush=True)


# --- what tests use ------------------------------------------------------------------------------


@dataclass(frozen=True)
class Ended:
    """How a process ended. code : below zero: by that signal. steps : names of those it did."""

    code: int
    steps: tuple[str, ...]
    said: str


@dataclass
class Processes:
    """Starts processes; `count` : how many there have been, `killed` : that were killed."""

    server: Any
    aside: Path
    count: int = 0
    killed: int = 0
    told: list[Ended] = field(default_factory=list)

    def run(self, folder: Path, *lines: list[str], **more: Any) -> Ended:
        """One process that runs command lines one after the other."""
        return self.at_once([{"folder": folder, "words": lines, **more}])[0]

    def post(self, plan: Path, form: str, values: dict[str, str], **more: Any) -> Ended:
        """One process that sends a form to the page; its code is half the status of HTTP."""
        told = {"folder": plan.parent, "plan": plan, "form": form, "values": values}
        return self.at_once([{**told, **more}])[0]

    def at_once(self, rows: list[dict[str, Any]]) -> list[Ended]:
        """A process for each row, all at the same time."""
        lines = [
            {"fault": "none", "step": 0, "said": self.aside / f"said-{i}", **row}
            for i, row in enumerate(rows)
        ]
        self.server.stdin.write(json.dumps(lines, default=str) + "\n")
        self.server.stdin.flush()
        answered = json.loads(self.server.stdout.readline())
        self.count += len(rows)
        self.killed += sum(code == -signal.SIGKILL for code, *_ in answered)
        return [
            Ended(code, tuple(names), Path(line["said"]).read_text("utf-8"))
            for (code, _number, names), line in zip(answered, lines, strict=True)
        ]


def start(aside: Path, plan: str) -> Processes:
    """The process that forks the others; `aside` : a folder for what they say and keep.

    plan : text of a plan like those that are asked about.
    """
    for name in ("temporary", "cache"):
        (aside / name).mkdir(parents=True)
    (aside / "plan.toml").write_text(plan, "utf-8")
    variables = {
        "TMPDIR": str(aside / "temporary"),
        "POLLINET_CACHE_DIR": str(aside / "temporary" / "kept"),
        "XDG_CACHE_HOME": str(aside / "cache"),
        "OPENBLAS_NUM_THREADS": "1",
        "OMP_NUM_THREADS": "1",
        "COLUMNS": "100",
    }
    server = subprocess.Popen(
        [sys.executable, __file__, str(aside / "plan.toml")],
        stdin=subprocess.PIPE,
        stdout=subprocess.PIPE,
        text=True,
        env=os.environ | variables,
    )
    assert server.stdout is not None
    assert server.stdout.readline() == "ready\n"
    return Processes(server, aside)


def end(processes: Processes) -> None:
    """Let the forking process end."""
    processes.server.stdin.close()
    processes.server.stdout.close()
    processes.server.wait(30)


if __name__ == "__main__":
    serve()
