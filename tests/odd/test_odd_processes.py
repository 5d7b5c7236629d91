"""Odd input, closed streams and Ctrl-C with the program as people start it: in its own process."""

from __future__ import annotations

import os
import re
import signal
import subprocess
import sys
import time
from pathlib import Path

import pytest
from odd_plans import cases as plan_cases
from oddities import SOUND, Case, laid_out

LONGEST_S = 60


def started(words: list[str], folder: Path, *, shell: str = "") -> subprocess.Popen[bytes]:
    """The program in a process, in a folder; shell : what the shell does with its streams."""
    line: list[str] = [sys.executable, "-m", "pollinet", *words]
    if shell:
        line = ["sh", "-c", f'exec "$@" {shell}', "sh", *line]
    return subprocess.Popen(line, cwd=folder, stdout=subprocess.PIPE, stderr=subprocess.PIPE)


def ended(run: subprocess.Popen[bytes]) -> tuple[int, str, str]:
    out, err = run.communicate(timeout=LONGEST_S)
    return run.returncode, out.decode(), err.decode()


@pytest.fixture
def garden(tmp_path: Path) -> Path:
    folder = tmp_path / "garden"
    laid_out({}, folder)
    return folder


def one_of_each() -> list[Case]:
    """A refused plan of each of some kinds."""
    kinds = ("type", "number", "text", "twice", "encoding", "depth")
    cases = [case for case in plan_cases() if case.expect == "refused"]
    return [next(case for case in cases if case.kind == kind) for kind in kinds]


@pytest.mark.parametrize("case", one_of_each(), ids=lambda case: case.id)
def test_a_process_refuses_as_the_function_does(case: Case, tmp_path: Path) -> None:
    folder = tmp_path / "garden"
    laid_out(case.files, folder)
    code, out, err = ended(started(["check", "plan.toml"], folder))
    assert (code, out) == (2, "")
    assert "plan.toml" in err and "error: " in err and "Traceback" not in err


@pytest.mark.parametrize(
    ("shell", "seen"), [(">&- 2>&-", False), (">&-", False), ("2>&-", True), ("<&-", True)]
)
def test_closed_streams_leave_an_exit_code(garden: Path, shell: str, seen: bool) -> None:
    code, out, err = ended(started(["check", "plan.toml"], garden, shell=shell))
    assert code == 1, err
    assert bool(out) == seen
    assert err == ""


def test_both_closed_and_bad_input(garden: Path) -> None:
    code, out, err = ended(started(["check", "none.toml"], garden, shell=">&- 2>&-"))
    assert (code, out, err) == (2, "", "")


def test_signs_of_the_terminal_are_written_out(garden: Path) -> None:
    for words in (
        ["check", "\x1b[31m.toml"],
        ["\x1b[31m"],
        ["cover", "plan.toml", "--donors=\x1b"],
    ):
        code, out, err = ended(started(words, garden))
        assert (code, out) == (2, "")
        assert "\x1b" not in err and r"\x1b" in err


MOMENTS_S = (0.05, 0.2, 0.35, 0.5, 0.8, 1.2)


@pytest.mark.parametrize(
    "words",
    [
        ["cover", "plan.toml", "--from", "catalogue", "--trade-off"],
        ["report", "plan.toml", "--out", "report.html"],
        ["record", "plan.toml", "low", "--fruits", "5", "--date", "2025-07-12"],
    ],
    ids=lambda words: words[0],
)
def test_ctrl_c_ends_quietly_and_leaves_all_whole(garden: Path, words: list[str]) -> None:
    for moment in MOMENTS_S:
        run = started(words, garden)
        time.sleep(moment)
        run.send_signal(signal.SIGINT)
        code, _, err = ended(run)
        # A shell tells of either as 130; or the program had done its work.
        assert code in (130, -signal.SIGINT, 0, 1)
        # What Python itself says before the program has begun is not ours to silence.
        assert "pollinet" not in err or "Traceback" not in err
    assert (garden / "plan.toml").read_bytes() == SOUND["plan.toml"]
    log = (garden / "records.csv").read_bytes()
    assert log.startswith(SOUND["records.csv"])
    assert re.fullmatch(rb"(2025-07-12,low,fruits,5,,\n)*", log[len(SOUND["records.csv"]) :])
    left = {path.name for path in garden.iterdir()} - {"plan.toml", "records.csv", "report.html"}
    assert left == set()


@pytest.mark.skipif(not hasattr(os, "mkfifo"), reason="no pipes with names here")
@pytest.mark.parametrize("name", ["plan.toml", "records.csv", "weather.csv"])
def test_a_pipe_in_place_of_a_file_is_told(garden: Path, name: str) -> None:
    (garden / name).unlink(missing_ok=True)
    os.mkfifo(garden / name)
    code, out, err = ended(started(["check", "plan.toml", "--weather", "weather.csv"], garden))
    assert (code, out) == (2, "")
    assert name in err and "Traceback" not in err
