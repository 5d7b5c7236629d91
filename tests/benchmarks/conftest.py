"""Benchmarks run only when asked for: `pytest tests/benchmarks --benchmark-enable -s -n 0`.

They print ratios against a reference measured in the same run, and assert nothing about time.
"""

from __future__ import annotations

import os
import statistics
import subprocess
import sys
import time
from collections.abc import Callable
from pathlib import Path

import pytest

HERE = Path(__file__).parent


def pytest_collection_modifyitems(config: pytest.Config, items: list[pytest.Item]) -> None:
    if config.getoption("benchmark_enable"):
        return
    skip = pytest.mark.skip(reason="a benchmark: run with --benchmark-enable -s -n 0")
    for item in items:
        if HERE in Path(item.path).parents:
            item.add_marker(skip)


def seconds(run: Callable[[], object]) -> float:
    start = time.perf_counter()
    run()
    return time.perf_counter() - start


@pytest.fixture
def ratio() -> Callable[..., float]:
    """Median ratio of two callables run in turn, printed with what it is about."""

    def measure(
        what: str, ours: Callable[[], object], reference: Callable[[], object], rounds: int = 7
    ) -> float:
        ours(), reference()
        ratios = [seconds(ours) / seconds(reference) for _ in range(rounds)]
        median = statistics.median(ratios)
        print(f"\n{what}: {median:.2f} times (of {rounds}: {min(ratios):.2f}-{max(ratios):.2f})")
        return median

    return measure


@pytest.fixture
def python(tmp_path: Path) -> Callable[..., Callable[[], object]]:
    """A callable that runs a fresh interpreter with these words.

    All modules come compiled, as pip leaves them; the first run, which is not timed, compiles.
    """
    surroundings = {**os.environ, "PYTHONPYCACHEPREFIX": str(tmp_path / "compiled")}
    surroundings.pop("PYTHONDONTWRITEBYTECODE", None)

    def command(*words: str, ok: tuple[int, ...] = (0,)) -> Callable[[], object]:
        def run() -> None:
            done = subprocess.run(
                [sys.executable, *words], capture_output=True, check=False, env=surroundings
            )
            assert done.returncode in ok, done.stderr.decode()

        return run

    return command
