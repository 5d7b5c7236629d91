"""What is worked out behind: once, stopped when told, and never longer than the server lives."""

from __future__ import annotations

import json
import os
import signal
import subprocess
import sys
from collections.abc import Callable, Iterator
from pathlib import Path
from time import monotonic, sleep

import pytest

from pollinet.demo import demo_files, write_demo
from pollinet.page.behind import MOST_AT_ONCE, MOST_KEPT, Behind, Job, Order
from pollinet.page.desk import Desk
from pollinet.page.questions import question_of

GONE_S = 2.0
"""Within this a process that was stopped must have ended. [s]"""

LONG_S = 60.0
"""No answer of these tests takes so long on a machine that is shared. [s]"""


def wait_for(true: Callable[[], bool], seconds: float = LONG_S) -> bool:
    """Whether something came true in time."""
    end = monotonic() + seconds
    while monotonic() < end:
        if true():
            return True
        sleep(0.02)
    return true()


def lives(pid: int) -> bool:
    """Whether a process runs; one that has ended and is not yet buried does not."""
    try:
        os.kill(pid, 0)
    except ProcessLookupError:
        return False
    try:
        return Path(f"/proc/{pid}/stat").read_text().rpartition(")")[2].split()[0] != "Z"
    except OSError:
        return False


@pytest.fixture(scope="module")
def plan(tmp_path_factory: pytest.TempPathFactory) -> Path:
    folder = tmp_path_factory.mktemp("garden")
    write_demo(folder, demo_files())
    return folder / "plan.toml"


@pytest.fixture
def behind(plan: Path) -> Iterator[Behind]:
    made = Behind(plan)
    yield made
    made.close()


def order(plan: Path, kind: str = "cover", language: str = "en", **values: str) -> Order:
    return Order(Desk(plan).digest(), (), question_of(kind, values), language)


def started(behind: Behind, wish: Order) -> Job:
    """A job whose process runs."""
    job = behind.ask(wish)
    assert wait_for(lambda: job.state != "waiting")
    assert job.process is not None
    return job


def test_an_answer_is_worked_out_once_and_kept(plan: Path, behind: Behind) -> None:
    wish = order(plan, "season", max="1")
    job = behind.ask(wish)
    assert behind.ask(wish) is job
    assert wait_for(lambda: not job.under_way)
    assert job.state == "done"
    assert json.loads(job.data)["answer"]["schema"] == "pollinet/season/1"
    assert behind.ask(wish) is behind.look(wish) is job
    process = job.process
    assert process is not None
    assert wait_for(lambda: process.exitcode is not None)


def test_a_job_that_is_stopped_ends_its_process(plan: Path, behind: Behind) -> None:
    wish = order(plan, **{"from": "catalogue"})
    job = started(behind, wish)
    assert job.process is not None
    pid = job.process.pid
    assert pid is not None
    assert lives(pid)
    behind.stop(wish)
    assert wait_for(lambda: not lives(pid), GONE_S)
    assert job.state == "stopped"
    assert behind.ask(wish) is not job


def test_only_so_many_run_at_once(plan: Path, behind: Behind) -> None:
    wishes = [order(plan, must=f"Kordia{n}", **{"from": "catalogue"}) for n in range(3)]
    jobs = [behind.ask(wish) for wish in wishes]
    assert wait_for(lambda: sum(job.state == "working" for job in jobs) == MOST_AT_ONCE)
    (waiting,) = [job for job in jobs if job.state == "waiting"]
    behind.stop(waiting.order)
    assert waiting.state == "stopped"
    assert waiting.process is None


def test_wrong_names_are_told(plan: Path, behind: Behind) -> None:
    job = behind.ask(order(plan, "donors", limb="C-mit"))
    assert wait_for(lambda: not job.under_way)
    assert job.state == "unfit"
    assert "C-mit" in str(job.findings[0].message)


def test_it_gives_up_in_the_end(plan: Path) -> None:
    behind = Behind(plan, limit_s=0.1)
    job = started(behind, order(plan, **{"from": "catalogue"}))
    assert wait_for(lambda: not job.under_way, 5)
    assert job.state == "late"
    assert job.process is not None
    assert wait_for(lambda: not lives(job.process.pid or 0), GONE_S)


def test_an_answer_of_other_files_is_dropped(plan: Path, behind: Behind) -> None:
    wish = Order("of another plan", (), question_of("season", {}), "en")
    job = behind.ask(wish)
    assert wait_for(lambda: not job.under_way)
    assert (job.state, job.data) == ("stopped", b"")


def test_closing_ends_all(plan: Path) -> None:
    behind = Behind(plan)
    job = started(behind, order(plan, **{"from": "catalogue"}))
    behind.close()
    assert job.process is not None
    assert wait_for(lambda: not lives(job.process.pid or 0), GONE_S)
    assert behind.ask(order(plan, "season")).state == "stopped"


SERVER = """
import sys, time
from pathlib import Path
from pollinet.page.behind import READING, Behind, Order
from pollinet.page.desk import Desk
from pollinet.page.questions import question_of

if __name__ == "__main__":
    plan = Path(sys.argv[1])
    behind = Behind(plan)
    wish = Order(Desk(plan).digest(), (), question_of("cover", {"from": "catalogue"}), "en")
    job = behind.ask(wish)
    while job.stage == READING:
        time.sleep(0.05)
    print(job.process.pid, flush=True)
    time.sleep(60)
"""


@pytest.mark.parametrize("way", [signal.SIGTERM, signal.SIGKILL])
def test_no_process_outlives_a_server_that_is_killed(
    plan: Path, tmp_path: Path, way: signal.Signals
) -> None:
    script = tmp_path / "server.py"
    script.write_text(SERVER)
    with subprocess.Popen(
        [sys.executable, str(script), str(plan)], stdout=subprocess.PIPE, text=True
    ) as server:
        assert server.stdout is not None
        pid = int(server.stdout.readline())
        assert lives(pid)
        server.send_signal(way)
        server.wait()
        # It sees that by itself, so it needs some time of a machine that is shared.
        assert wait_for(lambda: not lives(pid), 5 * GONE_S)


def test_the_oldest_answers_are_forgotten_and_none_that_is_under_way(plan: Path) -> None:
    jobs = Behind(plan)
    orders = [
        Order("digest", (str(i),), question_of("cover", {"from": "scions"}), "en")
        for i in range(MOST_KEPT + 5)
    ]
    for i, order in enumerate(orders):
        jobs._jobs[order] = Job(order, "working" if i < 3 else "done")
    jobs._forget()
    kept = [order.tries[0] for order in jobs._jobs]
    assert kept == ["0", "1", "2", *map(str, range(8, MOST_KEPT + 5))]
    # The usual wood is the same question, said or not.
    assert orders[0].question == question_of("cover", {})
    assert orders[0].question != question_of("cover", {"from": "catalogue"})
