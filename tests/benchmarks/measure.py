"""All ratios of the project in one run, into a file that can be set beside that of another day.

    python tests/benchmarks/measure.py                          writes ratios.csv beside this file
    python tests/benchmarks/measure.py --out now.csv --against tests/benchmarks/ratios.csv
    python tests/benchmarks/measure.py --only test_start_up_speed.py

Every figure is a ratio against a reference measured in the same run, so that files of different
machines can be compared, too. Some twenty minutes on an idle machine; nothing else should run.
"""

from __future__ import annotations

import argparse
import os
import platform
import subprocess
import sys
from pathlib import Path

import numpy
from ratios import compared, read_ratios, words

import pollinet

HERE = Path(__file__).parent


def heading() -> str:
    """What a run is made with."""
    commit = subprocess.run(
        ["git", "describe", "--always", "--dirty"], cwd=HERE, capture_output=True, text=True
    ).stdout.strip()
    return (
        f"pollinet {pollinet.__version__} {commit}, Python {platform.python_version()}, "
        f"numpy {numpy.__version__}, {os.cpu_count()} cores"
    )


def main(arguments: list[str] | None = None) -> int:
    """Run the benchmarks, write their ratios, compare them where asked; pytest's exit code."""
    parser = argparse.ArgumentParser(description=__doc__.partition("\n")[0])
    parser.add_argument("--out", type=Path, default=HERE / "ratios.csv")
    parser.add_argument("--against", type=Path, help="the file of an earlier run")
    parser.add_argument("--only", nargs="*", default=[], help="files of benchmarks; default: all")
    asked = parser.parse_args(arguments)
    then = read_ratios(asked.against) if asked.against else None
    files = [str(HERE / name) for name in asked.only] or [str(HERE)]
    run = subprocess.run(
        [sys.executable, "-m", "pytest", "-n", "0", "-q", "--benchmark-enable",
         "--ratios", str(asked.out.resolve()), "--ratios-heading", heading(), *files]
    )  # fmt: skip
    if not asked.out.exists():
        return run.returncode
    now = read_ratios(asked.out)
    lines = map(words, now) if then is None else compared(now, then)
    print("\n".join(lines))
    return run.returncode


if __name__ == "__main__":
    sys.exit(main())
