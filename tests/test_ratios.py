"""What is kept of a benchmark run, and how two runs are set beside each other."""

from __future__ import annotations

import subprocess
import sys
from pathlib import Path

import pytest

HERE = Path(__file__).parent / "benchmarks"
sys.path.insert(0, str(HERE))

from ratios import Ratio, compared, ratio_of, read_ratios, write_ratios  # noqa: E402


def test_a_run_is_read_as_it_was_written(tmp_path: Path) -> None:
    told = (ratio_of("b, of c", [1.0, 3.0, 2.0], "≤ 2"), ratio_of("a", [0.25]))
    write_ratios(tmp_path / "run.csv", told, "made here")
    assert read_ratios(tmp_path / "run.csv") == (told[1], told[0])
    assert told[0] == Ratio("b, of c", 2.0, 1.0, 3.0, 3, "≤ 2")


def test_only_runs_that_lie_apart_are_called_changed() -> None:
    then = [
        Ratio("same", 1.0, 0.9, 1.2, 5),
        Ratio("slower", 1.0, 0.9, 1.2, 5),
        Ratio("gone", 1, 1, 1, 1),
    ]
    now = [
        Ratio("same", 1.1, 1.0, 1.3, 5),
        Ratio("slower", 2.0, 1.9, 2.2, 5),
        Ratio("new", 1, 1, 1, 1),
    ]
    assert list(compared(now, then)) == [
        "gone: only then",
        "new: only now",
        "same: 1 then, 1.1 now, 1.10 times",
        "slower: 1 then, 2 now, 2.00 times  <- changed",
    ]


@pytest.mark.filterwarnings("ignore")
def test_a_benchmark_keeps_its_ratio(tmp_path: Path) -> None:
    one = "tests/benchmarks/test_start_up_speed.py::test_help_against_an_empty_program"
    out = tmp_path / "run.csv"
    words = ["-n", "0", "-q", "--benchmark-enable", "--ratios", str(out), one]
    done = subprocess.run([sys.executable, "-m", "pytest", *words], cwd=HERE.parents[1],
                          capture_output=True, text=True, timeout=300)  # fmt: skip
    assert done.returncode == 0, done.stdout
    (kept,) = read_ratios(out)
    assert kept.what == "pollinet --help / python -c pass"
    assert 0 < kept.least <= kept.median <= kept.most
