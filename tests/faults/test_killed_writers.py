"""Stopped at any step, on a full disk, at the same time: nothing that was told as kept is lost."""

from __future__ import annotations

import csv
import hashlib
import io
import json
import os
import random
import shutil
import signal
import subprocess
import sys
import threading
import time
import tomllib
from collections import Counter
from collections.abc import Callable, Iterator
from datetime import date, timedelta
from http.server import BaseHTTPRequestHandler, ThreadingHTTPServer
from pathlib import Path
from typing import Any

import pytest
from dying import Ended, Processes, end, start
from gardens import saved, scions, studied, tree, variety

from pollinet.demo import changed_files, demo_files
from pollinet.files import OLD_S, PART, locked, write_whole
from pollinet.readers.observations import observation
from pollinet.readers.records import observed
from pollinet.study import open_plan

pytestmark = pytest.mark.skipif(not hasattr(os, "fork"), reason="processes are forked")

PLAN = (
    "[site]\nlatitude = 46.4\n"
    + tree("Early Late", spare=40)
    + scions("Middle")
    + variety("Early", "S1S2", [100, 112])
    + variety("Middle", "S3S4", [104, 116])
    + variety("Late", "S5S6", [108, 120])
)
"""A garden without weather, whose answers are there at once."""

NOTE = ["record", "plan.toml", "Early", "--fruits", "7", "--date", "2024-09-01"]
LIMB = ["plan", "add-limb", "plan.toml", "--tree", "tree", "--variety", "Middle", "--id", "new"]
OWN = ["variety", "add", "Old", "Pippin", "--species", "hybrid pear", "--ploidy", "3", "--bloom",
       "12 Apr - 20 Apr", "--plan", "plan.toml"]  # fmt: skip
REPORT = ["report", "plan.toml", "--out", "x.html"]
SHEET = ["record", "plan.toml", "--sheet", "x.csv"]
START = ["start", "begun", "--latitude", "46", "--tree", "a:apple", "--limb", "a:x:Gala", "--yes"]

CYCLES = 2
"""How often the steps of a note are gone through over one growing log."""

REPEATED: dict[str, tuple[list[str], tuple[int, ...]]] = {
    "record": (NOTE, (0,)),
    "plan": (LIMB, (0, 2)),
    "variety add": (OWN, (0, 2)),
    "report": (REPORT, (0, 1)),
    "sheet": (SHEET, (0, 2)),
    "start": (START, (0, 2)),
}
"""What is stopped, and how the same line may end after that: what is there stays as it is."""


@pytest.fixture(scope="module")
def processes(tmp_path_factory: pytest.TempPathFactory) -> Iterator[Processes]:
    started = start(tmp_path_factory.mktemp("aside"), PLAN)
    yield started
    end(started)


@pytest.fixture
def garden(tmp_path: Path) -> Path:
    folder = tmp_path / "garden"
    folder.mkdir()
    (folder / "plan.toml").write_text(PLAN, "utf-8")
    (folder / "records.csv").write_text(
        "date,limb,kind,value,unit,note\n2020,Late,fruits,1,,kept for long\n", "utf-8"
    )
    return folder


def files_of(folder: Path) -> dict[str, bytes]:
    """What stands in a folder, without what an ended program left behind."""
    found = [file for file in folder.rglob("*") if file.is_file()]
    return {
        file.relative_to(folder).as_posix(): file.read_bytes()
        for file in found
        if not file.name.endswith(PART)
    }


def rows_of(garden: Path) -> list[dict[str, str]]:
    """The rows of its log, read as any other program would read them."""
    return list(csv.DictReader(io.StringIO((garden / "records.csv").read_text("utf-8"))))


def words_of(ended: Ended) -> str:
    """What it said on one line: where lines end hangs on the names of folders."""
    return " ".join(ended.said.split())


def parts_in(folder: Path) -> list[Path]:
    return [file for file in folder.rglob(f".*{PART}")]


def again(garden: Path, number: int) -> Path:
    """A copy of a garden, for one more try."""
    return Path(shutil.copytree(garden, garden.with_name(f"garden-{number}")))


def each_step(run: Callable[[int], Ended], most: int = 120) -> Iterator[tuple[int, Ended]]:
    """Stop at the first step, then at the second, until it ends by itself."""
    for step in range(1, most):
        ended = run(step)
        yield step, ended
        if len(ended.steps) < step:
            return
    raise AssertionError("it writes without end")


# --- killed ------------------------------------------------------------------------------------


def test_each_note_that_was_told_as_written_is_there_once(
    garden: Path, processes: Processes
) -> None:
    # The first one reads the tables, and keeps them for the others.
    processes.run(again(garden, 0), NOTE)
    plain = processes.run(again(garden, 1), NOTE)
    assert plain.code == 0, plain.said
    steps = len(plain.steps)
    assert {"fcntl.flock", "write", "fsync", "os.rename"} <= set(plain.steps)
    killed = processes.killed
    told = set()
    for number in range(CYCLES * (steps + 1)):
        day = date(2021, 1, 1) + timedelta(days=number)
        line = [*NOTE[:3], "--fruits", str(number), "--date", day.isoformat()]
        ended = processes.run(garden, line, fault="kill", step=1 + number % (steps + 1))
        assert ended.code in (0, -signal.SIGKILL), ended.said
        if "1 note added" in ended.said:
            told.add(day.isoformat())
    rows = rows_of(garden)
    times = Counter(row["date"] for row in rows)
    # The shipped tables are kept by the first of them, which makes its steps a few more.
    assert len(told) >= CYCLES and processes.killed - killed >= CYCLES * (steps - 4)
    assert {day: times[day] for day in told} == dict.fromkeys(told, 1)
    assert max(times.values()) == 1 and times["2020"] == 1
    plan = open_plan(garden / "plan.toml")[0]
    assert plan is not None
    assert all(observation(row, plan)[1] is None for row in rows)
    assert len(observed(garden / "records.csv", plan)) == len(rows)


@pytest.mark.parametrize("name", REPEATED)
def test_killed_at_each_step_files_are_old_or_new_and_the_same_line_goes_on(
    name: str, garden: Path, processes: Processes
) -> None:
    line, codes = REPEATED[name]
    done = again(garden, 0)
    assert processes.run(done, line).code in (0, 1)
    old, new = files_of(garden), files_of(done)
    assert old != new

    def run(step: int) -> Ended:
        return processes.run(again(garden, step), line, fault="kill", step=step)

    for step, ended in each_step(run):
        folder = garden.with_name(f"garden-{step}")
        found = files_of(folder)
        assert all(content in (old.get(file), new.get(file)) for file, content in found.items())
        assert set(old) <= set(found)
        assert ended.code == -signal.SIGKILL if len(ended.steps) == step else ended.code in (0, 1)
        assert found == new or ended.code == -signal.SIGKILL
        studied(folder / "plan.toml")
        if found == new and step % 3:
            shutil.rmtree(folder)
            continue
        # What was held is free, and what was half done is done.
        after = processes.run(folder, line)
        assert after.code in codes and (after.code in (0, 1) or found == new), after.said
        if name != "variety add":
            # A note, and what is known, may be told twice; it counts once.
            repeated = name == "record" and len(files_of(folder)["records.csv"].splitlines()) == 4
            assert repeated or files_of(folder) == new
        shutil.rmtree(folder)


FORMS: dict[str, tuple[str, dict[str, str]]] = {
    "note": ("/orchard", {"limb": "Early", "day": "2024-04-20", "fruits": "7"}),
    "notes": ("/orchard/text", {"text": "Pollinet notes 1:\n2024-04-20 | Early | fruits | 7\n"}),
    "take back": (
        "/orchard/take-back", {"date": "2020", "limb": "Late", "kind": "fruits", "value": "1",
         "unit": "", "note": "kept for long"},
    ),
    "place": (
        "/place", {"site": "Hill", "latitude": "46", "longitude": "8", "elevation_m": "500"},
    ),
    "diagnose": ("/diagnose/Early?year=2023", {"fruits": "12"}),
}  # fmt: skip


@pytest.mark.parametrize("name", FORMS)
def test_a_form_of_the_page_is_kept_whole_or_not_at_all(
    name: str, garden: Path, processes: Processes
) -> None:
    form, values = FORMS[name]
    digest = hashlib.sha256((garden / "plan.toml").read_bytes()).hexdigest()
    values = {"digest": digest, **values}
    done = again(garden, 0)
    posted = processes.post(done / "plan.toml", form, values)
    assert posted.code == 151, posted.said  # 302 / 2
    old, new = files_of(garden), files_of(done)
    assert old != new

    def run(step: int) -> Ended:
        folder = again(garden, step)
        return processes.post(folder / "plan.toml", form, values, fault="kill", step=step)

    for step, ended in each_step(run):
        folder = garden.with_name(f"garden-{step}")
        assert files_of(folder) in (old, new)
        if "30" in ended.said:
            assert files_of(folder) == new
        if step % 3 == 0:
            # The garden is not held by the one that was killed.
            assert processes.run(folder, NOTE).code == 0


def test_killed_while_it_keeps_what_it_read_nothing_broken_is_kept(
    garden: Path, processes: Processes
) -> None:
    def run(step: int) -> Ended:
        variables = {"POLLINET_CACHE_DIR": str(garden.parent / f"kept-{step}")}
        folder = again(garden, step)
        return processes.run(folder, NOTE, fault="kill", step=step, variables=variables)

    stopped = 0
    for step, ended in each_step(run):
        kept = garden.parent / f"kept-{step}"
        if ended.steps[step - 1 :] and not list(kept.rglob("*.pickle")):
            stopped += 1
            variables = {"POLLINET_CACHE_DIR": str(kept)}
            after = processes.run(garden.with_name(f"garden-{step}"), NOTE, variables=variables)
            assert after.code == 0, after.said
        elif "os.rename" in ended.steps:
            break
    assert stopped >= 4


def test_a_killed_demo_can_be_written_again(tmp_path: Path, processes: Processes) -> None:
    new = {name: text.encode() for name, text in demo_files().items()}
    for step in range(1, 40):
        folder = tmp_path / f"demo-{step}"
        ended = processes.run(tmp_path, ["demo", "--out", folder.name], fault="kill", step=step)
        assert ended.code == -signal.SIGKILL
        found = files_of(folder)
        assert all(found[name] == new[name] for name in found)
        assert "plan.toml" not in found or "weather.csv" in found
        assert not changed_files(folder, demo_files())
        if "plan.toml" in found:
            # What follows are answers, and a picture that is written as reports are.
            break
    assert found == new


# --- what is left behind -----------------------------------------------------------------------


def test_what_was_left_behind_goes_when_it_is_old(garden: Path, processes: Processes) -> None:
    processes.run(garden, NOTE, fault="kill", step=plain_step(garden, processes, "fsync"))
    (left,) = parts_in(garden)
    foreign = garden / ".something.part"
    foreign.write_bytes(b"of another program")
    write_whole(garden / "x", b"x")
    assert left.exists(), "it may be that of a program at work"
    stamp = (garden / "x").stat().st_mtime - OLD_S - 60
    os.utime(left, (stamp, stamp))
    os.utime(foreign, (stamp, stamp))
    write_whole(garden / "x", b"x")
    assert parts_in(garden) == [foreign]


def plain_step(garden: Path, processes: Processes, name: str) -> int:
    """Number of the first step of a name, when a note is written."""
    # The first time it writes what is kept of the tables, too.
    for number in (998, 999):
        copy = again(garden, number)
        steps = processes.run(copy, NOTE).steps
        shutil.rmtree(copy)
    return steps.index(name) + 1


def test_what_takes_a_place_is_on_the_disk_before_and_its_name_after(
    garden: Path, processes: Processes
) -> None:
    # The order that keeps a file through a loss of power: the manual of rename(2) and fsync(2).
    for number, line in enumerate((NOTE, LIMB, OWN, REPORT, SHEET)):
        # The second time, what is kept of the shipped and own tables stands already.
        processes.run(again(garden, number), line)
        steps = processes.run(garden, line).steps
        places = [i for i, step in enumerate(steps) if step in ("os.rename", "os.link")]
        assert places, line
        for place in places:
            last_write = max(i for i, step in enumerate(steps[:place]) if step == "write")
            if steps[last_write:place] == ("write",) and line is OWN:
                continue  # What is kept to be read faster may be lost.
            assert "synced" in steps[last_write:place] and "fsync" in steps[place:], (line, steps)


# --- full, read-only, interrupted --------------------------------------------------------------


@pytest.mark.parametrize(
    ("name", "fault"),
    [(name, "full") for name in REPEATED]
    + [(name, "stop") for name in ("record", "plan", "sheet")],
)
def test_where_the_disk_is_full_or_somebody_stops_it_nothing_half_written_stays(
    name: str, fault: str, garden: Path, processes: Processes
) -> None:
    line, _codes = REPEATED[name]
    done = again(garden, 0)
    processes.run(done, line)
    old, new = files_of(garden), files_of(done)

    def run(step: int) -> Ended:
        return processes.run(again(garden, step), line, fault=fault, step=step)

    ends = set()
    for step, ended in each_step(run):
        folder = garden.with_name(f"garden-{step}")
        found = files_of(folder)
        ends.add(ended.code)
        assert "Traceback" not in ended.said, ended.said
        assert all(content in (old.get(file), new.get(file)) for file, content in found.items())
        # Who stops it while it tidies up leaves what is to be tidied.
        assert not parts_in(folder) or (fault, ended.steps[step - 1]) == ("stop", "os.remove")
        if ended.code in (0, 1):
            assert found == new
        elif fault == "full":
            assert ended.code == 2 and "cannot be written" in words_of(ended)
            # Own tables are two files: what names a source may stand without what uses it.
            assert found == old or name == "variety add"
        studied(folder / "plan.toml")
        shutil.rmtree(folder)
    assert (2 if fault == "full" else 130) in ends


@pytest.mark.parametrize("line", [NOTE, LIMB, OWN, REPORT, SHEET], ids=lambda line: line[0])
def test_a_disk_that_can_only_be_read(line: list[str], garden: Path, processes: Processes) -> None:
    old = files_of(garden)
    ended = processes.run(garden, line, fault="read-only", step=1)
    assert ended.code == 2 and "Traceback" not in ended.said
    assert "can only be read" in ended.said
    assert files_of(garden) == old


@pytest.mark.parametrize("line", [NOTE, REPORT], ids=lambda line: line[0])
def test_more_than_files_may_hold_here(line: list[str], garden: Path, processes: Processes) -> None:
    # A bound that the system itself keeps (setrlimit(2)): the write ends in the middle.
    with (garden / "records.csv").open("a", encoding="utf-8") as log:
        log.write("2020,Late,fruits,1,,x\n" * 200)
    old = files_of(garden)
    ended = processes.run(garden, line, largest=2000)
    assert ended.code == 2 and "larger than is allowed" in ended.said
    assert files_of(garden) == old and not parts_in(garden)


# --- at the same time --------------------------------------------------------------------------


@pytest.mark.parametrize("writers", [2, 8])
def test_of_notes_written_at_once_each_is_there_once(
    writers: int, garden: Path, processes: Processes
) -> None:
    def lines(writer: int) -> list[list[str]]:
        return [
            [*NOTE[:3], "--fruits", "3", "--date", f"2022-{1 + writer:02d}-{1 + one:02d}"]
            for one in range(5)
        ]

    rows = [{"folder": garden, "words": lines(writer)} for writer in range(writers)]
    assert [ended.code for ended in processes.at_once(rows)] == [0] * writers
    noted = rows_of(garden)
    times = Counter(row["date"] for row in noted)
    assert times == Counter(line[-1] for w in range(writers) for line in lines(w)) + Counter(
        ["2020"]
    )


def test_writers_of_which_some_are_killed_lose_nothing(garden: Path, processes: Processes) -> None:
    told = []
    for step in range(1, 13):
        lines = [
            [*NOTE[:3], "--fruits", "3", "--date", f"2022-{step:02d}-0{one}"] for one in (1, 2)
        ]
        rows: list[dict[str, Any]] = [{"folder": garden, "words": [line]} for line in lines]
        rows[0] |= {"fault": "kill", "step": step}
        ended = processes.at_once(rows)
        told += [line[-1] for line, one in zip(lines, ended, strict=True) if one.code == 0]
        assert ended[1].code == 0, ended[1].said
    noted = rows_of(garden)
    times = Counter(row["date"] for row in noted)
    assert {day: times[day] for day in told} == dict.fromkeys(told, 1)
    assert max(times.values()) == 1


def test_two_gardens_with_one_log_by_links_wait_for_each_other(
    tmp_path: Path, garden: Path
) -> None:
    other = tmp_path / "other"
    other.mkdir()
    (other / "plan.toml").write_text(PLAN, "utf-8")
    (other / "records.csv").symlink_to(garden / "records.csv")
    from pollinet.errors import Busy
    from pollinet.files import garden_locked

    with locked(garden.resolve()), pytest.MonkeyPatch.context() as patch:
        patch.setattr(locked.__wrapped__, "__defaults__", (0.1,))
        with pytest.raises(Busy), garden_locked(other / "plan.toml"):
            pass


# --- downloads ---------------------------------------------------------------------------------

DAYS = [date(2000, 7, 1) + timedelta(days=one) for one in range(549)]
ANSWER = json.dumps(
    {
        "latitude": 46.4,
        "longitude": 8.0,
        "elevation": 500.0,
        "utc_offset_seconds": 3600,
        "daily_units": {"temperature_2m_max": "°C", "temperature_2m_min": "°C"},
        "daily": {
            "time": [day.isoformat() for day in DAYS],
            "temperature_2m_max": [8.5 + day.month for day in DAYS],
            "temperature_2m_min": [0.5 + day.month for day in DAYS],
        },
    }
).encode()
"""In the shape of the archive's answers, as in tests/fetch; it is asked on loopback alone."""


@pytest.fixture
def archive(monkeypatch: pytest.MonkeyPatch) -> Iterator[tuple[str, list[int]]]:
    """An archive on loopback, and how many bytes of each answer it sends; then all of it."""
    cuts: list[int] = []

    class Handler(BaseHTTPRequestHandler):
        def do_GET(self) -> None:
            self.send_response(200)
            self.send_header("Content-Length", str(len(ANSWER)))
            self.end_headers()
            self.wfile.write(ANSWER[: cuts.pop(0)] if cuts else ANSWER)
            self.close_connection = True

        def log_message(self, *words: object) -> None:
            pass

    server = ThreadingHTTPServer(("127.0.0.1", 0), Handler)
    thread = threading.Thread(target=server.serve_forever, kwargs={"poll_interval": 0.02})
    thread.start()
    yield f"http://127.0.0.1:{server.server_port}/v1/archive", cuts
    server.shutdown()
    thread.join()
    server.server_close()


def test_a_download_is_there_whole_or_not_at_all(
    garden: Path, processes: Processes, archive: tuple[str, list[int]]
) -> None:
    url, cuts = archive
    saved(garden, PLAN.replace("= 46.4\n", "= 46.4\nlongitude = 8.0\n", 1))
    line = ["fetch", "plan.toml", "--from", "2001", "--to", "2001", "--out", "weather.csv"]
    line += ["--service", url]
    direct = {"NO_PROXY": "127.0.0.1"}

    def own_cache(step: int) -> dict[str, str]:
        return {**direct, "XDG_CACHE_HOME": str(garden.parent / f"cache-{step}")}

    # The first answer breaks off, and is asked for again.
    cuts.append(len(ANSWER) // 2)
    done = again(garden, 0)
    plain = processes.run(done, line, variables=own_cache(0))
    assert plain.code == 0 and not cuts, plain.said
    new = files_of(done)
    assert new["weather.csv"].count(b"\n") == len(DAYS) + 5
    kept = files_of(garden.parent / "cache-0")

    def run(step: int) -> Ended:
        return processes.run(
            again(garden, step), line, fault="kill", step=step, variables=own_cache(step)
        )

    for step, _ended in each_step(run):
        folder = garden.with_name(f"garden-{step}")
        assert files_of(folder).get("weather.csv") in (None, new["weather.csv"])
        cache = files_of(garden.parent / f"cache-{step}")
        assert all(kept[name] == content for name, content in cache.items())
        if "weather.csv" not in files_of(folder):
            assert processes.run(folder, line, variables=own_cache(step)).code == 0
            assert files_of(folder) == new


# --- clocks ------------------------------------------------------------------------------------

ZONES = ("Pacific/Kiritimati", "Etc/GMT+12", "UTC", "Pacific/Kiritimati", "Etc/GMT+12")
"""The first and the second, and the last two, are 26 hours apart (tz database): the day goes back
by one or two, at whatever hour the test runs."""


def test_a_clock_that_goes_back_loses_no_note(garden: Path, processes: Processes) -> None:
    for number, zone in enumerate(ZONES):
        line = ["record", "plan.toml", "Early", "--fruits", str(number)]
        late = [
            "record",
            "plan.toml",
            "Late",
            "--fruits",
            str(number),
            "--date",
            f"202{number}-09-01",
        ]
        ended = processes.run(garden, line, late, variables={"TZ": zone})
        assert ended.code == 0, ended.said
        listed = processes.run(garden, ["record", "plan.toml"], variables={"TZ": zone})
        assert listed.code == 0 and f"fruits {number}" in listed.said
    rows = rows_of(garden)
    assert Counter(row["limb"] for row in rows) == {"Early": len(ZONES), "Late": len(ZONES) + 1}
    days = [date.fromisoformat(row["date"]) for row in rows if row["limb"] == "Early"]
    assert days[1] < days[0] and days[-1] < days[-2]
    # What was noted in a day that is still to come here counts all the same.
    study = studied(garden / "plan.toml")
    assert days[0] in [seen.day for seen in study.records.observations]


def test_the_plan_is_read_again_after_a_change_under_a_clock_set_back(garden: Path) -> None:
    from pollinet.page.desk import Desk

    plan = garden / "plan.toml"
    desk = Desk(plan)
    assert desk.opened().study is not None
    before = plan.stat()
    write_whole(plan, plan.read_bytes().replace(b'"Early"\nvariety', b'"Later"\nvariety'))
    os.utime(plan, ns=(before.st_atime_ns, before.st_mtime_ns))
    study = desk.opened().study
    assert study is not None
    assert "Later" in [limb.id for limb in study.plan.limbs]
    assert tomllib.loads(plan.read_text("utf-8"))["tree"][0]["limb"][0]["id"] == "Later"


@pytest.mark.long
def test_killed_at_any_moment_in_whole_interpreters(
    garden: Path, request: pytest.FixtureRequest
) -> None:
    if "long" not in request.config.option.markexpr:
        pytest.skip("some minutes: run with -m long")
    # By the clock in place of a step, so that nothing hangs on what Python reports.
    told = set()
    rng = random.Random(19)
    begun = time.monotonic()
    subprocess.run([sys.executable, "-m", "pollinet", *NOTE], cwd=garden, check=True)
    usual_s = time.monotonic() - begun
    for number in range(300):
        day = (date(2021, 1, 1) + timedelta(days=number)).isoformat()
        line = [*NOTE[:3], "--fruits", str(number), "--date", day]
        with subprocess.Popen(
            [sys.executable, "-m", "pollinet", *line], cwd=garden, stdout=subprocess.PIPE, text=True
        ) as run:
            try:
                run.wait(rng.uniform(0.3, 1.5) * usual_s)
            except subprocess.TimeoutExpired:
                run.kill()
            assert run.stdout is not None
            if "1 note added" in run.stdout.read():
                told.add(day)
    times = Counter(row["date"] for row in rows_of(garden))
    assert 0 < len(told) < 300
    assert {day: times[day] for day in told} == dict.fromkeys(told, 1)
    assert max(times.values()) == 1


def test_there_were_as_many_processes_as_promised(
    processes: Processes, request: pytest.FixtureRequest
) -> None:
    # The last of this module: 300 in all, of which most were killed at a step of their own.
    if request.config.option.keyword or any("::" in word for word in request.config.args):
        pytest.skip("only some of this module were asked for")
    assert processes.count >= 300 and processes.killed >= 150
