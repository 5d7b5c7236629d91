"""`pollinet start`: by flags, and by questions on a terminal of its own."""

from __future__ import annotations

import os
import subprocess
import sys
import tomllib
from collections.abc import Callable, Sequence
from pathlib import Path
from typing import Any

import pytest

from pollinet.study import open_plan

Run = Callable[..., Any]

GARDEN = (
    *("--latitude", "46.4", "--tree", "old:apple:2", "--limb", "old:low:Jonathan"),
    *("--limb", "old:top:Golden Delicious:2019", "--neighbour", "apple:Discovery:25"),
    *("--scion", "apple:Spartan", "--site", 'the "far" slope'),
)


def test_flags_make_a_plan_that_reads(tmp_path: Path, pollinet: Run) -> None:
    said = pollinet("start", tmp_path / "new", *GARDEN, "--yes")
    assert said.code == 0 and "2 limbs" in said.out
    made, _, findings = open_plan(tmp_path / "new" / "plan.toml")
    assert made is not None and findings == ()
    assert (made.site.name, made.site.latitude) == ('the "far" slope', 46.4)
    assert [(limb.id, limb.grafted) for limb in made.limbs] == [("low", None), ("top", 2019)]
    assert made.trees[0].spare_limbs == 2
    assert made.neighbours[0].distance_m == 25
    assert made.scions[0].variety.name == "Spartan"


def test_monthly_means_and_a_weather_file(tmp_path: Path, pollinet: Run) -> None:
    low, high = "-2,-1,2,5,9,12,14,14,10,7,2,-1", "5,7,12,16,20,24,26,26,21,15,9,5"
    words = (*GARDEN, "--tmin", low, "--tmax", high)
    assert pollinet("start", tmp_path / "a", *words).code == 0
    assert pollinet("check", tmp_path / "a" / "plan.toml").code in (0, 1)
    assert pollinet("demo", "--out", tmp_path / "b").code == 0
    (tmp_path / "b" / "plan.toml").unlink()
    record = tmp_path / "b" / "weather.csv"
    assert pollinet("start", tmp_path / "b", *GARDEN, "--weather", record).code == 0
    made, _, _ = open_plan(tmp_path / "b" / "plan.toml")
    assert made is not None and made.weather_file == "weather.csv"
    assert pollinet("start", tmp_path / "c", *GARDEN, "--weather", record).code == 0
    made, _, _ = open_plan(tmp_path / "c" / "plan.toml")
    assert made is not None and made.weather_file == record.resolve().as_posix()


def test_remarks_hold_what_may_be_added(tmp_path: Path, pollinet: Run) -> None:
    """With all remarks that look like TOML made real, the plan still reads."""
    words = ("--latitude", "46.4", "--tree", "old:apple", "--limb", "old:low:Jonathan")
    assert pollinet("start", tmp_path, *words).code == 0
    text = (tmp_path / "plan.toml").read_text(encoding="utf-8")
    rows = [row.removeprefix("# ") if "= " in row or "[[" in row or "[aim]" in row else row
            for row in text.splitlines()]  # fmt: skip
    assert {"aim", "neighbour", "scion"} <= set(tomllib.loads("\n".join(rows)))
    made, _, findings = open_plan(tmp_path / "plan.toml", "\n".join(rows))
    assert made is not None and findings == ()


@pytest.mark.parametrize("typed", ["41.2S", "-41,2", "−41.2", "41° 12' S", "Süd 41,2"])
def test_a_latitude_in_the_south_as_people_write_it(
    typed: str, tmp_path: Path, pollinet: Run
) -> None:
    assert pollinet("start", tmp_path, *GARDEN, "--latitude", typed).code == 0
    made, _, _ = open_plan(tmp_path / "plan.toml")
    assert made is not None and made.site.latitude == -41.2


def test_a_place_far_from_all_stations_is_asked_for_its_sign(tmp_path: Path, pollinet: Run) -> None:
    """Wellington, New Zealand: 41.3 S, 174.8 E, as any atlas has it."""
    place = ("--latitude", "41.3", "--longitude", "174.8", "--elevation", "10")
    said = pollinet("start", tmp_path / "sea", *GARDEN, *place)
    assert said.code == 0 and "Is the sign right?" in said.findings
    assert "latitude = -41.3, longitude = 174.8 is" in said.findings
    place = ("--latitude", "-41.3", "--longitude", "174.8", "--elevation", "10")
    right = pollinet("start", tmp_path / "land", *GARDEN, *place)
    assert right.code == 0 and "Is the sign right?" not in right.findings


@pytest.mark.parametrize(
    ("words", "told"),
    [
        ((), ("--latitude is missing", "--tree is missing", "--limb is missing")),
        (("--latitude", "46", "--tree", "a:apple"), ("--limb a:ID:VARIETY",)),
        (("--tree", "a"), ("ID:SPECIES",)),
        (("--tree", "a:apple:many"), ("ID:SPECIES",)),
        (("--tree", "a:apple", "--limb", "b:x:Gala"), ('no --tree is called "b"',)),
        (("--limb", "a:x"), ("TREE:ID:VARIETY",)),
        (("--neighbour", "apple:Gala:near", "--scion", "apple"), ("METRES", "SPECIES:VARIETY")),
        (("--tmin", "1,2"), ("--tmin", "--tmax")),
        ((*GARDEN, "--limb", "old:x:Galla"), ("Gala",)),
        ((*GARDEN, "--latitude", "96"), ("at most 70",)),
        ((*GARDEN, "--latitude", "41.2E"), ("use a point; south and west are negative",)),
        ((*GARDEN, "--latitude", "52.2,0.1"), ("use a point",)),
        ((*GARDEN, "--elevation", "1,5"), ("use a point",)),
        ((*GARDEN, "--tree", "b:appel", "--limb", "b:x:Gala"), ("Nearest: apple",)),
        ((*GARDEN, "--weather", "nowhere.csv"), ("nowhere.csv",)),
    ],
)
def test_what_is_missing_or_wrong_is_told_and_nothing_written(
    words: Sequence[str], told: Sequence[str], tmp_path: Path, pollinet: Run
) -> None:
    said = pollinet("start", tmp_path / "new", *words)
    assert said.code == 2 and all(text in said.err for text in told)
    assert not (tmp_path / "new").exists()


def test_a_plan_that_is_there_stays(tmp_path: Path, pollinet: Run) -> None:
    (tmp_path / "plan.toml").write_text("mine")
    said = pollinet("start", tmp_path, *GARDEN)
    assert said.code == 2 and "not written over" in said.err
    assert (tmp_path / "plan.toml").read_text() == "mine"


ANSWERS = (
    *("the slope", "46,4", "", "7.2", "420", ""),  # name, place (none told first), weather file
    *("appel", "apple", "old tree", "2"),
    *("Galla", "gala", "", "2019", "!Old Pippin", "pip", "", ""),  # two limbs
    "",  # no further tree
    *("apple", "Discovery", "25", ""),  # one neighbour
    "",  # no scions
)


@pytest.mark.skipif(sys.platform == "win32", reason="no pseudo-terminals")
def test_questions_on_a_terminal(tmp_path: Path) -> None:
    import pty

    ours, theirs = pty.openpty()
    os.write(ours, ("\n".join(ANSWERS) + "\n").encode())
    run = subprocess.run(
        [sys.executable, "-m", "pollinet", "start", "new"],
        cwd=tmp_path, stdin=theirs, capture_output=True, timeout=60, encoding="utf-8",
    )  # fmt: skip
    os.close(theirs)
    os.close(ours)
    assert run.returncode == 0, run.stdout + run.stderr
    assert "Nearest: apple" in run.stdout + run.stderr
    assert "Nearest: Gala" in run.stdout + run.stderr
    data = tomllib.loads((tmp_path / "new" / "plan.toml").read_text(encoding="utf-8"))
    assert data["site"]["latitude"] == 46.4 and data["site"]["elevation_m"] == 420
    assert data["site"]["longitude"] == 7.2 and "weather" not in data["site"]
    assert " km" in run.stdout and "twelve" not in run.stdout and "Mean" not in run.stdout
    assert data["tree"] == [
        {
            "id": "old tree",
            "species": "apple",
            "spare_limbs": 2,
            "limb": [
                {"id": "old tree-1", "variety": "Gala", "grafted": 2019},
                {"id": "pip", "variety": "Old Pippin"},
            ],
        }
    ]
    assert data["neighbour"] == [{"species": "apple", "variety": "Discovery", "distance_m": 25}]
    assert data["variety"] == [{"species": "apple", "name": "Old Pippin"}]


@pytest.mark.parametrize("command", ["start", "demo"])
def test_a_file_in_the_place_of_the_folder_stays(
    command: str, tmp_path: Path, pollinet: Run
) -> None:
    (tmp_path / "mine").write_text("all my notes", encoding="utf-8")
    words = ("--out", tmp_path / "mine") if command == "demo" else (tmp_path / "mine", *GARDEN)
    answer = pollinet(command, *words)
    assert answer.code == 2
    assert (tmp_path / "mine").read_text(encoding="utf-8") == "all my notes"


def test_a_demo_on_weather_that_is_not_there_writes_nothing(tmp_path: Path, pollinet: Run) -> None:
    words = ("--out", tmp_path / "demo", "--weather", tmp_path / "gone.csv")
    answer = pollinet("demo", *words)
    assert answer.code == 2
    assert "there is no such file" in answer.findings
    assert not (tmp_path / "demo").exists()
