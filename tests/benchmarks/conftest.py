"""Benchmarks run only when asked for: `pytest tests/benchmarks --benchmark-enable -s -n 0`.

They print ratios against a reference measured in the same run, and assert nothing about time.
`--ratios FILE` keeps all of a run, see `measure.py`.
"""

from __future__ import annotations

import os
import subprocess
import sys
import time
from collections.abc import Callable
from pathlib import Path

import pytest
from ratios import Ratio, ratio_of, words, write_ratios

HERE = Path(__file__).parent


def pytest_collection_modifyitems(config: pytest.Config, items: list[pytest.Item]) -> None:
    if config.getoption("benchmark_enable"):
        return
    skip = pytest.mark.skip(reason="a benchmark: run with --benchmark-enable -s -n 0")
    for item in items:
        if HERE in Path(item.path).parents:
            item.add_marker(skip)


TOLD = pytest.StashKey[list[Ratio]]()


def pytest_addoption(parser: pytest.Parser) -> None:
    parser.addoption("--ratios", type=Path, help="keep the ratios of this run in this CSV file")
    parser.addoption("--ratios-heading", default="", help="what the run was made with")


def pytest_configure(config: pytest.Config) -> None:
    config.stash[TOLD] = []


def pytest_sessionfinish(session: pytest.Session) -> None:
    out = session.config.getoption("ratios", None)
    if out is not None:
        heading = session.config.getoption("ratios_heading")
        write_ratios(out, session.config.stash[TOLD], heading)


@pytest.fixture
def tell(request: pytest.FixtureRequest) -> Callable[..., Ratio]:
    """Print a ratio from what its rounds measured, and keep it."""

    def told(what: str, *measured: float, aim: str = "") -> Ratio:
        one = ratio_of(what, measured, aim)
        request.config.stash[TOLD].append(one)
        print(f"\n{words(one)}")
        return one

    return told


def seconds(run: Callable[[], object]) -> float:
    start = time.perf_counter()
    run()
    return time.perf_counter() - start


@pytest.fixture
def ratio(tell: Callable[..., Ratio]) -> Callable[..., float]:
    """Median ratio of two callables run in turn, printed with what it is about."""

    def measure(
        what: str,
        ours: Callable[[], object],
        reference: Callable[[], object],
        rounds: int = 7,
        aim: str = "",
    ) -> float:
        ours(), reference()
        measured = [seconds(ours) / seconds(reference) for _ in range(rounds)]
        return tell(what, *measured, aim=aim).median

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
