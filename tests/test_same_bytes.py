"""The same plan gives the same bytes: on any number of threads, whatever order sets come in."""

from __future__ import annotations

import os
import subprocess
import sys
from pathlib import Path

import numpy as np
import pytest
from gardens import HILL
from hypothesis import given, settings
from hypothesis import strategies as st

from pollinet.linear import product, solved

PLAN = HILL.replace('id = "cherry"', 'id = "cherry"\nspare_limbs = 2') + "".join(
    f'[[tree.limb]]\nid = "{name}"\nvariety = "{name}"\n' for name in ("Regina", "Kordia", "Sam")
) + '[[scion]]\nspecies = "sweet cherry"\nvariety = "Lambert"\n'  # fmt: skip

SPRINGS = range(2001, 2031)

COMMANDS = [
    ["graph", "plan.toml", "--out", "garden.graphml"],
    ["check", "plan.toml", "--json"],
    ["cover", "plan.toml", "--trade-off", "--json"],
    ["without", "plan.toml", "Sam", "--json"],
    ["fit", "plan.toml", "--json"],
    ["varieties", "sweet cherry", "--json"],
]


def notes() -> str:
    """A long log: a date of full bloom for two limbs in every spring."""
    lines = ["date,limb,kind,value,unit,note"]
    for spring in SPRINGS:
        lines.append(f"{spring}-04-{5 + 3 * spring % 11:02d},known,stage,full,,")
        lines.append(f"{spring}-04-{9 + 7 * spring % 13:02d},Regina,stage,full,,")
    return "\n".join(lines) + "\n"


def answers(folder: Path, *, threads: int, hash_seed: int) -> bytes:
    """Everything that the commands print and write, from a process of their own."""
    folder.mkdir()
    (folder / "plan.toml").write_text(PLAN, encoding="utf-8")
    (folder / "records.csv").write_text(notes(), encoding="utf-8")
    code = f"from pollinet.cli import main\nfor words in {COMMANDS!r}:\n    print(main(words))"
    names = ("OPENBLAS_NUM_THREADS", "OMP_NUM_THREADS", "MKL_NUM_THREADS")
    told = dict.fromkeys(names, str(threads)) | {"PYTHONHASHSEED": str(hash_seed)}
    run = subprocess.run(
        [sys.executable, "-c", code],
        cwd=folder, env=os.environ | told, capture_output=True, check=True, timeout=300,
    )  # fmt: skip
    return run.stdout + (folder / "garden.graphml").read_bytes()


def test_threads_and_the_order_of_sets_change_no_byte(tmp_path: Path) -> None:
    alone = answers(tmp_path / "alone", threads=1, hash_seed=0)
    assert alone.count(b'"schema"') == len(COMMANDS) - 1
    assert answers(tmp_path / "two", threads=2, hash_seed=7) == alone


@settings(max_examples=60, deadline=None, derandomize=True)
@given(size=st.integers(1, 12), more=st.integers(0, 3), seed=st.integers(0, 10**6))
def test_systems_are_solved_as_lapack_solves_them(size: int, more: int, seed: int) -> None:
    # Independent: numpy's LAPACK.
    rng = np.random.default_rng(seed)
    half = rng.normal(size=(size + 2, size))
    right = rng.normal(size=(size, more)) if more else rng.normal(size=size)
    matrix = product(half.T, half) + 0.1 * np.eye(size)
    assert matrix == pytest.approx(half.T @ half + 0.1 * np.eye(size))
    solution, logarithm = solved(matrix, right)
    assert solution.shape == right.shape
    assert solution == pytest.approx(np.linalg.solve(matrix, right), rel=1e-6, abs=1e-9)
    assert logarithm == pytest.approx(np.linalg.slogdet(matrix)[1], abs=1e-9)
