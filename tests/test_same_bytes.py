"""The same plan gives the same bytes: on any threads, in any order of sets, anywhere, any day."""

from __future__ import annotations

import locale
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

SPRINGS = range(1996, 2026)

COMMANDS = [
    ["graph", "plan.toml", "--out", "garden.graphml"],
    ["check", "plan.toml", "--json"],
    ["cover", "plan.toml", "--trade-off", "--json"],
    ["without", "plan.toml", "Sam", "--json"],
    ["fit", "plan.toml", "--json"],
    ["varieties", "sweet cherry", "--json"],
    ["balance", "plan.toml", "--json"],
    ["chill", "plan.toml", "--warmer", "1", "--json"],
    ["diagnose", "plan.toml", "Sam", "--json"],
    ["donors", "plan.toml", "Sam", "--from", "catalogue", "--json"],
    ["pollinizer", "plan.toml", "--json"],
    ["record", "plan.toml", "--json"],
    ["scions", "plan.toml", "--json"],
    ["season", "plan.toml", "--json"],
    ["suits", "plan.toml", "Kordia", "--json"],
    ["triploids", "plan.toml", "--json"],
    ["weather", "plan.toml", "--json"],
    ["work", "plan.toml", "--from", "2026-02-01", "--json"],
    ["report", "plan.toml", "--out", "report.html", "--json"],
    ["calendar", "plan.toml", "--out", "calendar.svg"],
    ["check", "plan.toml", "--language", "de"],
    ["check", "plan.toml", "--csv", "check.csv"],
]
FILES = ("garden.graphml", "report.html", "calendar.svg", "check.csv")

LATER_S = 5.4 * 365 * 24 * 3600.0
"""How much later the other run believes to be: another year, month and day. [s]"""


def notes() -> str:
    """A long log: a date of full bloom for two limbs in every spring."""
    lines = ["date,limb,kind,value,unit,note"]
    for spring in SPRINGS:
        lines.append(f"{spring}-04-{5 + 3 * spring % 11:02d},known,stage,full,,")
        lines.append(f"{spring}-04-{9 + 7 * spring % 13:02d},Regina,stage,full,,")
    return "\n".join(lines) + "\n"


def answers(
    folder: Path, *, threads: int, hash_seed: int, later_s: float = 0.0, **variables: str
) -> bytes:
    """Everything that the commands print and write, from a process of their own."""
    folder.mkdir()
    (folder / "plan.toml").write_text(PLAN, encoding="utf-8")
    (folder / "records.csv").write_text(notes(), encoding="utf-8")
    # `date.today` asks `time.time` for the moment (CPython, Modules/_datetimemodule.c).
    code = (
        f"import time\nnow = time.time\ntime.time = lambda: now() + {later_s}\n"
        "from datetime import date\n"
        f"assert (date.today().year > time.gmtime(now()).tm_year) == ({later_s} > 0)\n"
        f"from pollinet.cli import main\nfor words in {COMMANDS!r}:\n    print(main(words))"
    )
    names = ("OPENBLAS_NUM_THREADS", "OMP_NUM_THREADS", "MKL_NUM_THREADS")
    told = dict.fromkeys(names, str(threads)) | {"PYTHONHASHSEED": str(hash_seed)} | variables
    run = subprocess.run(
        [sys.executable, "-c", code],
        cwd=folder, env=os.environ | told, capture_output=True, check=True, timeout=300,
    )  # fmt: skip
    return run.stdout + b"".join((folder / name).read_bytes() for name in FILES)


@pytest.fixture(scope="module")
def alone(tmp_path_factory: pytest.TempPathFactory) -> bytes:
    folder = tmp_path_factory.mktemp("bytes") / "alone"
    told = answers(folder, threads=1, hash_seed=0, TZ="UTC", LC_ALL="C.UTF-8")
    assert told.count(b'"schema"') == len([words for words in COMMANDS if "--json" in words])
    return told


def test_threads_order_of_sets_zone_locale_and_day_change_no_byte(
    alone: bytes, tmp_path: Path
) -> None:
    # Half a day east of the date line, five years later, in a locale of plain letters.
    place = {"TZ": "Pacific/Kiritimati", "LC_ALL": "C", "LANG": "C"}
    told = answers(tmp_path / "two", threads=2, hash_seed=7, later_s=LATER_S, **place)
    assert told == alone


@pytest.mark.parametrize("name", ["de_DE", "tr_TR"])
def test_no_language_of_the_system_changes_a_byte(name: str, alone: bytes, tmp_path: Path) -> None:
    # Turkish has two letters i of either case, German a comma for decimals (CLDR).
    before = locale.setlocale(locale.LC_ALL)
    try:
        locale.setlocale(locale.LC_ALL, f"{name}.UTF-8")
    except locale.Error:
        pytest.skip(f"this system has no locale {name}")
    finally:
        locale.setlocale(locale.LC_ALL, before)
    assert answers(tmp_path / "there", threads=1, hash_seed=0, LC_ALL=f"{name}.UTF-8") == alone


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
