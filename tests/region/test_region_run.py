"""A region run as a process: killed and taken up, on a changed plan, on two processes."""

from __future__ import annotations

import json
import os
import shutil
import signal
import subprocess
import sys
import time
from pathlib import Path

import pytest

pytest.importorskip("distributed")
xr = pytest.importorskip("xarray")

PLAN = """
[site]
latitude = 47.0
longitude = 8.0
elevation_m = 450
[aim]
draws = 4
[[tree]]
id = "apple"
species = "apple"
[[tree.limb]]
id = "a1"
variety = "Elstar"
[[tree.limb]]
id = "a2"
variety = "Gala"
"""
PLACES = 8
RESULTS = ("sites.csv", "limbs.csv", "bloom.csv")
LONGEST_S = 120.0
"""However loaded the machine is."""


@pytest.fixture(scope="module")
def folder(tmp_path_factory: pytest.TempPathFactory) -> Path:
    folder = tmp_path_factory.mktemp("run")
    (folder / "plan.toml").write_text(PLAN)
    rows = [f"Place {i},{44 + i}.0,8.0,{100 + 10 * i}" for i in range(PLACES)]
    (folder / "places.csv").write_text("name,latitude,longitude,elevation_m\n" + "\n".join(rows))
    return folder


def command(folder: Path, out: str, *more: str, plan: str = "plan.toml") -> list[str]:
    words = ["sites", plan, "--places", "places.csv", "--out", out, "--chunk", "1", "--json"]
    return [sys.executable, "-m", "pollinet", *words, *more]


def told(folder: Path, out: str, *more: str, plan: str = "plan.toml") -> dict[str, object]:
    done = subprocess.run(
        command(folder, out, *more, plan=plan), cwd=folder, capture_output=True, text=True,
        timeout=LONGEST_S,
    )  # fmt: skip
    assert done.returncode == 0, done.stdout + done.stderr
    answer: dict[str, object] = json.loads(done.stdout)
    return answer


@pytest.fixture(scope="module")
def whole(folder: Path) -> Path:
    answer = told(folder, "whole")
    assert (answer["places"], answer["taken_over"]) == (PLACES, 0)
    return folder / "whole"


def test_a_killed_run_does_at_most_one_chunk_again(folder: Path, whole: Path) -> None:
    chunks = folder / "killed" / "chunks"
    with subprocess.Popen(
        command(folder, "killed"), cwd=folder, stdout=subprocess.DEVNULL, stderr=subprocess.DEVNULL
    ) as running:
        end = time.monotonic() + LONGEST_S
        while len(list(chunks.glob("*.npz"))) < 3:
            assert running.poll() is None and time.monotonic() < end
            time.sleep(0.005)
        os.kill(running.pid, signal.SIGKILL if os.name == "posix" else signal.SIGTERM)
    assert not (folder / "killed" / "sites.csv").exists()
    kept = {file.name: file.stat().st_mtime_ns for file in chunks.glob("*.npz")}
    assert 3 <= len(kept) < PLACES
    answer = told(folder, "killed")
    assert answer["taken_over"] == len(kept)
    assert all((chunks / name).stat().st_mtime_ns == made for name, made in kept.items())
    assert list(chunks.glob("*.part")) == []
    for name in RESULTS:
        assert (folder / "killed" / name).read_bytes() == (whole / name).read_bytes()


def test_a_changed_plan_is_not_mixed_with_old_answers(folder: Path, whole: Path) -> None:
    other = PLAN.replace("Gala", "Jonagold")
    (folder / "other.toml").write_text(other)
    shutil.copytree(whole, folder / "changed")
    # As a run leaves it that was broken off.
    mark = folder / "changed" / "run.json"
    told_of = json.loads(mark.read_text())
    mark.write_text(json.dumps({"made_by": told_of["made_by"]}))
    answer = told(folder, "changed", plan="other.toml")
    assert answer["taken_over"] == 0
    limbs = (folder / "changed" / "limbs.csv").read_text()
    assert "Jonagold" in limbs and "Gala" not in limbs
    assert "Gala" in (whole / "limbs.csv").read_text()


def test_two_processes_give_the_same_bytes(folder: Path, whole: Path) -> None:
    told(folder, "shared", "--workers", "2")
    for name in RESULTS:
        assert (folder / "shared" / name).read_bytes() == (whole / name).read_bytes()
    one, two = (xr.open_dataset(out / "sites.nc") for out in (whole, folder / "shared"))
    with one, two:
        xr.testing.assert_identical(one.load(), two.load())
