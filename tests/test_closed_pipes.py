"""A reader that goes away ends the program with 141, as the shell's own tools end, and no word."""

from __future__ import annotations

import os
import subprocess
import sys
from pathlib import Path

import pytest

LISTING = ["varieties", "apple", "--all"]
"""An answer of more than 50 kB, in either form."""


def ended(words: list[str], seen: int, closed: str = "stdout") -> tuple[int, bytes]:
    """Exit code, and all that is said on the stream left, when the other is read no further."""
    command = [sys.executable, "-m", "pollinet", *words]
    with subprocess.Popen(command, stdout=subprocess.PIPE, stderr=subprocess.PIPE) as run:
        assert run.stdout is not None
        assert run.stderr is not None
        if seen:
            # Far less than the answer, so that the rest waits until the reader goes.
            fcntl = pytest.importorskip("fcntl")
            fcntl.fcntl(run.stdout.fileno(), fcntl.F_SETPIPE_SZ, 4096)
        gone, left = (run.stdout, run.stderr) if closed == "stdout" else (run.stderr, run.stdout)
        if seen:
            assert os.read(gone.fileno(), seen)
        gone.close()
        said = left.read()
        return run.wait(), said


@pytest.mark.parametrize("seen", [0, 3000])
@pytest.mark.parametrize("form", [[], ["--json"]], ids=["text", "json"])
def test_an_answer_that_is_not_read_to_its_end(form: list[str], seen: int) -> None:
    assert ended([*LISTING, *form], seen) == (141, b"")


def test_a_table_after_a_line_that_waits_to_be_written() -> None:
    assert ended(["cross", "Van", "Regina"], 0) == (141, b"")


@pytest.mark.parametrize(
    ("words", "closed"),
    [
        (["check", "none.toml", "--json"], "stdout"),
        (["check", "none.toml"], "stderr"),
        (["chekc"], "stderr"),
    ],
)
def test_bad_input_that_nobody_reads(words: list[str], closed: str) -> None:
    assert ended(words, 0, closed) == (141, b"")


@pytest.mark.skipif(not Path("/dev/full").exists(), reason="no device that is always full")
@pytest.mark.parametrize("form", [[], ["--json"]], ids=["text", "json"])
def test_a_full_disk_is_bad_input_and_no_defect(form: list[str]) -> None:
    with open("/dev/full", "wb") as full:
        run = subprocess.run(
            [sys.executable, "-m", "pollinet", "cross", "Van", "Regina", *form],
            stdout=full, stderr=subprocess.PIPE, text=True,
        )  # fmt: skip
    assert run.returncode == 2
    assert "Traceback" not in run.stderr


@pytest.mark.skipif(os.name == "nt", reason="needs a shell that closes a stream")
@pytest.mark.parametrize("form", ["", "--json"], ids=["text", "json"])
def test_without_standard_output_there_is_still_an_exit_code(form: str) -> None:
    line = f'"$0" -m pollinet cross Van Regina {form} >&-'
    run = subprocess.run(["sh", "-c", line, sys.executable], stderr=subprocess.PIPE)
    assert (run.returncode, run.stderr) == (0, b"")
