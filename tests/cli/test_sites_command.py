"""`pollinet sites`: its ways to name places, its files, and what it says where it cannot go on."""

from __future__ import annotations

import csv
import json
import os
import pickle
import subprocess
import sys
from collections.abc import Callable
from pathlib import Path
from typing import Any

import pytest
from gardens import NORMALS, made_weather

from pollinet.domain import Normals
from pollinet.readers import places
from pollinet.readers.places import grid_places, read_heights, read_places, station_places
from pollinet.region import chunks, run

pytest.importorskip("distributed")
xr = pytest.importorskip("xarray")

Run = Callable[..., Any]

PLAN = """
[site]
latitude = 47.0
longitude = 8.0
elevation_m = 450
[aim]
draws = 4
[[tree]]
id = "tree"
species = "sweet cherry"
spare_limbs = 1
[[tree.limb]]
id = "a1"
variety = "Kordia"
[[scion]]
species = "sweet cherry"
variety = "Regina"
"""


@pytest.fixture
def garden(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Path:
    (tmp_path / "plan.toml").write_text(PLAN)
    monkeypatch.chdir(tmp_path)
    return tmp_path


def rows(file: Path) -> list[dict[str, str]]:
    with file.open(encoding="utf-8", newline="") as text:
        return list(csv.DictReader(text))


def test_a_grid_gives_tables_arrays_and_a_map(pollinet: Run, garden: Path) -> None:
    done = pollinet(
        "sites", "plan.toml", "--grid", 46, 7, 46.5, 7.5, "--step", 0.5, "--elevation", 500,
        "--out", "region", "--map", "map.png",
    )  # fmt: skip
    assert done.code == 0, done.err
    assert "Of 4 places: today the garden has pollen in 0" in " ".join(done.out.split())
    assert "4 of 4 places" in done.err
    table = rows(garden / "region" / "sites.csv")
    assert [row["warmer_c"] for row in table[:3]] == ["0.0", "1.0", "2.0"]
    assert len(table) == 12
    assert {row["best_set"] for row in table if row["warmer_c"] == "0.0"} == {"Regina"}
    assert {(row["latitude"], row["longitude"]) for row in table} == {
        ("46.0", "7.0"), ("46.0", "7.5"), ("46.5", "7.0"), ("46.5", "7.5"),
    }  # fmt: skip
    assert (garden / "map.png").read_bytes().startswith(b"\x89PNG")
    assert "Not asked: whether a place lies at sea" in " ".join(done.out.split())
    limbs = rows(garden / "region" / "limbs.csv")
    assert [row["winters_with_enough_chill"] for row in table] == [
        row["winters_with_enough_chill"] for row in limbs
    ]
    assert {row["limb_least_chilled"] for row in table} == {"a1"}
    assert all(0 <= float(row["winters_with_enough_chill"]) <= 1 for row in table)
    with xr.open_dataset(garden / "region" / "sites.nc") as data:
        assert dict(data.sizes) | {"place": 4, "climate": 3, "limb": 1} == dict(data.sizes)
        assert data.attrs["Conventions"].startswith("CF-") and data.attrs["references"]
        assert data["warmer"].values.tolist() == [0, 1, 2]
        assert data["latitude"].attrs["units"] == "degrees_north"
        share = data["winters_with_donor"].sel(share="expected", limb="a1")
        told = [float(row["winters_expected"]) for row in limbs]
        assert share.values.ravel().tolist() == told
        assert data["bloom_day"].dtype.kind == "f"


def test_a_folder_of_records_and_heights_of_a_grid(pollinet: Run, garden: Path) -> None:
    stations = garden / "stations"
    stations.mkdir()
    for name, latitude in (("north", 47.5), ("south", -40.5)):
        low, high = NORMALS.tmin_c, NORMALS.tmax_c
        turned = NORMALS if latitude > 0 else Normals(low[6:] + low[:6], high[6:] + high[:6])
        place = {"latitude": latitude, "longitude": 9, "elevation_m": 300}
        made_weather(stations / f"{name}.csv", turned, 2001, 3, latitude, 3, about=place)
    (stations / "notes.txt").write_text("no weather at all\n")
    (stations / ".hidden").write_text("")
    assert pollinet("sites", "plan.toml", "--stations", "stations", "--out", "r").code == 0
    table = rows(garden / "r" / "sites.csv")
    assert [row["name"] for row in table] == ["north", "notes", "south"]
    assert [row["winters"] for row in table] == ["3", "0", "3"]
    assert table[1]["standing"] == "not known" and "format" in table[1]["findings"]
    bloom = {row["name"]: row["full"] for row in rows(garden / "r" / "bloom.csv")}
    # Spring is in autumn there.
    assert bloom["north"][:2] in ("04", "05") and bloom["south"][:2] in ("10", "11")


def test_odd_rows_of_a_table_stop_nothing(pollinet: Run, garden: Path) -> None:
    (garden / "places.csv").write_text(
        "name,latitude,longitude,elevation_m,colour\n"
        "Hill,47,8,500,red\n"
        "=1+1,47,8,500\n"
        ",47.5,8,\n"
        "Nowhere,fifty,8,10\n"
        "Beyond,89,8,10\n"
        "Short,47\n"
        "# a remark\n"
        "\x1b[31mRed,47,8.5,500\n"
    )
    done = pollinet("sites", "plan.toml", "--places", "places.csv", "--out", "r", "--json")
    assert done.code == 0
    told = json.loads(done.out)
    assert told["places"] == 7
    assert told["climates"][0]["not_known"] == 3
    assert [found["code"] for found in told["findings"]] == [
        "unknown-column", "unusable-places", "no-elevation",
    ]  # fmt: skip
    named = told["findings"][1]["message"]
    assert "3 places" in named and "Nowhere: 'fifty' is not a number" in named
    assert "of 1 of 7" in told["findings"][2]["message"]
    table = rows(garden / "r" / "sites.csv")
    assert [row["name"] for row in table][1:4] == ["'=1+1", "line 4", "Nowhere"]
    assert "\x1b" not in (garden / "r" / "sites.csv").read_text()
    assert [row["findings"] for row in table][3:6] == [
        "wrong-type", "out-of-range", "missing-value",
    ]  # fmt: skip


def test_a_table_of_a_european_spreadsheet_is_read(garden: Path) -> None:
    (garden / "places.csv").write_text(
        "\ufeff# mine\nname;latitude;longitude;elevation\n"
        "Davos, Dorf;46,8;9,82;1560\nHill;47°30'N;8° 15' E;\nWest;-41,25;12.5W;\n"
    )
    places, findings = read_places(garden / "places.csv")
    assert [(place.name, place.latitude, place.longitude) for place in places] == [
        ("Davos, Dorf", 46.8, 9.82), ("Hill", 47.5, 8.25), ("West", -41.25, -12.5),
    ]  # fmt: skip
    assert all(place.problem is None for place in places)
    (found,) = findings
    assert found.code == "unknown-column" and str(found.cure).startswith("Nearest: elevation_m.")


def test_a_missing_column_names_what_stands_for_it(garden: Path) -> None:
    (garden / "places.csv").write_text("name,latitude,longitud,height\nHill,47,8,400\n")
    places, findings = read_places(garden / "places.csv")
    assert not places
    assert str(findings[0].cure).startswith("Nearest: longitud.")


@pytest.mark.parametrize(
    ("words", "code"),
    [
        ((), "which-places"),
        (("--places", "gone.csv"), "unreadable-file"),
        (("--places", "empty.csv"), "missing-column"),
        (("--stations", "gone"), "unreadable-folder"),
        (("--grid", "0", "0", "60", "60", "--step", "0.01"), "too-many-places"),
        (("--grid", "46", "7", "46", "7", "--out", "foreign"), "would-overwrite"),
        (("--grid", "46", "7", "46", "7", "--elevations", "gone.csv"), "unreadable-file"),
    ],
)
def test_what_cannot_be_is_said(
    pollinet: Run, garden: Path, words: tuple[str, ...], code: str
) -> None:
    (garden / "empty.csv").write_text("")
    (garden / "foreign").mkdir()
    (garden / "foreign" / "mine.txt").write_text("mine\n")
    done = pollinet("sites", "plan.toml", "--out", "r", *words, "--json")
    assert done.code == 2
    assert code in [found["code"] for found in json.loads(done.out)["findings"]]
    assert (garden / "foreign" / "mine.txt").read_text() == "mine\n"
    assert not (garden / "r" / "sites.csv").exists()


def test_a_finished_run_is_not_written_over_by_another(pollinet: Run, garden: Path) -> None:
    line = ("sites", "plan.toml", "--grid", 46, 7, 46, 7, "--elevation", 500, "--out", "r")
    assert pollinet(*line, "--warmer", 1).code == 0
    made = {file: file.read_bytes() for file in (garden / "r").rglob("*.*") if file.is_file()}
    for other in ((), ("--warmer", 1, "--elevation", 600), ("--warmer", 1, "--time-limit", 3)):
        done = pollinet(*line, *other, "--json")
        assert done.code == 2
        assert [found["code"] for found in json.loads(done.out)["findings"]] == ["would-overwrite"]
    assert all(file.read_bytes() == content for file, content in made.items())
    again = pollinet(*line, "--warmer", 1, "--json")
    assert (again.code, json.loads(again.out)["taken_over"]) == (0, 1)
    (garden / "plan.toml").write_text(PLAN.replace("Kordia", "Regina"))
    assert pollinet(*line, "--warmer", 1).code == 2


def test_tables_speak_to_growers(pollinet: Run, garden: Path) -> None:
    (garden / "plan.toml").write_text(PLAN[: PLAN.index("[[scion]]")])
    assert pollinet("sites", "plan.toml", "--grid", 46, 7, 46, 7, "--out", "r").code == 0
    (row,) = rows(garden / "r" / "sites.csv")
    assert row["best_set_status"] == "no set covers every limb"
    assert row["elevation_told"] == "False" and row["elevation_m"].endswith(".0")


def test_arrays_as_zarr_are_those_of_netcdf(pollinet: Run, garden: Path) -> None:
    pytest.importorskip("zarr")
    line = ("sites", "plan.toml", "--grid", 46, 7, 46, 7, "--elevation", 500, "--out", "r")
    for _time in range(2):
        # The second writes over the first.
        assert pollinet(*line, "--zarr").code == 0
        with (
            xr.open_zarr(garden / "r" / "sites.zarr", consolidated=False) as zarr,
            xr.open_dataset(garden / "r" / "sites.nc") as netcdf,
        ):
            assert set(zarr.variables) == set(netcdf.variables)
            for name in ("standing", "winters_with_donor", "winters_with_enough_chill"):
                assert zarr[name].values.tolist() == netcdf[name].values.tolist()


class Deadly:
    """Ends the process that opens it."""

    def __reduce__(self) -> tuple[Any, tuple[int]]:
        return os._exit, (1,)


def test_processes_that_are_gone_are_said(
    pollinet: Run, garden: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr("pollinet.region.run.packed", lambda question: pickle.dumps(Deadly()))
    # Else it is tried thrice more, of seconds each.
    settings = {**run.SETTINGS, "distributed.scheduler.allowed-failures": 0}
    monkeypatch.setattr("pollinet.region.run.SETTINGS", settings)
    done = pollinet(
        "sites", "plan.toml", "--grid", 46, 7, 46, 7, "--elevation", 500, "--out", "r",
        "--workers", 2, "--json",
    )  # fmt: skip
    assert done.code == 2
    assert [found["code"] for found in json.loads(done.out)["findings"]] == ["workers-lost"]
    assert not (garden / "r" / "sites.csv").exists()


def test_a_missing_library_is_named_with_its_cure(garden: Path) -> None:
    code = (
        "import sys; sys.modules['xarray'] = None; from pollinet.cli import main; "
        "sys.exit(main(['sites', 'plan.toml', '--grid', '46', '7', '46', '7', '--out', 'r']))"
    )
    done = subprocess.run([sys.executable, "-c", code], cwd=garden, capture_output=True, text=True)
    assert done.returncode == 2
    assert "xarray" in done.stderr and "pip install 'pollinet[region]'" in done.stderr
    assert not (garden / "r").exists()


def test_a_cluster_that_is_not_there_is_said(
    pollinet: Run, garden: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr("pollinet.region.run.START_S", 0.5)
    done = pollinet(
        "sites", "plan.toml", "--grid", 46, 7, 46, 7, "--elevation", 500, "--out", "r",
        "--scheduler", "tcp://127.0.0.1:1", "--json",
    )  # fmt: skip
    assert done.code == 2
    assert [found["code"] for found in json.loads(done.out)["findings"]] == ["no-scheduler"]


def test_heights_of_a_table_are_those_of_the_nearest_point(pollinet: Run, garden: Path) -> None:
    (garden / "heights.csv").write_text(
        "latitude,longitude,elevation_m,note\n"
        "46.2,7.1,700,near enough\n"
        "46.1,7.05,900,nearer\n"
        "46.6,7.5,,no height\n"
        "46.0,7.3,1500,too far from both\n"
        "north,7.5,300,no number\n"
    )
    line = ("sites", "plan.toml", "--grid", 46, 7, 46.5, 7.5, "--step", 0.5, "--warmer", 0)
    assert pollinet(*line, "--elevations", "heights.csv", "--out", "r").code == 0
    told = {(row["latitude"], row["longitude"]): row["elevation_m"]
            for row in rows(garden / "r" / "sites.csv")}  # fmt: skip
    assert told["46.0", "7.0"] == "900.0" and told["46.0", "7.5"] == "1500.0"
    found, findings = grid_places(46.0, 7.0, 46.5, 7.5, 0.5,
                                  heights=read_heights(garden / "heights.csv")[0])  # fmt: skip
    assert [place.elevation_m for place in found] == [900, 1500, None, None] and not findings


@pytest.mark.parametrize(
    ("text", "code"),
    [
        ("name,latitude,longitude,name\nA,46,7,B\n", "repeated-column"),
        ("name,latitude,longitude\n", "no-places"),
        ("name,latitude,longitude\n" + "A,46,7\n" * 4, "too-many-places"),
    ],
)
def test_a_table_that_is_none_is_told(
    text: str, code: str, garden: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr(places, "MOST_PLACES", 3)
    (garden / "places.csv").write_text(text)
    found, findings = read_places(garden / "places.csv")
    assert (found, [one.code for one in findings]) == ((), [code])


def test_of_a_table_without_more_columns_nothing_is_said(garden: Path) -> None:
    (garden / "places.csv").write_text("name,latitude,longitude\nA,46,7\n")
    found, findings = read_places(garden / "places.csv")
    assert [(one.name, one.latitude, one.longitude) for one in found] == [("A", 46, 7)]
    assert findings == ()


def test_an_empty_folder_of_records_is_told(garden: Path) -> None:
    (garden / "stations").mkdir()
    (garden / "stations" / ".hidden").write_text("")
    found, findings = station_places(garden / "stations")
    assert (found, [one.code for one in findings]) == ((), ["no-places"])


def test_results_hang_on_the_own_tables_and_go_into_a_folder(pollinet: Run, garden: Path) -> None:
    line = ("sites", "plan.toml", "--grid", 46, 7, 46, 7, "--elevation", 500, "--warmer", 0)
    (garden / "file").write_text("mine")
    refused = pollinet(*line, "--out", "file", "--json")
    assert refused.code == 2 and (garden / "file").read_text() == "mine"
    assert pollinet(*line, "--out", "r").code == 0
    words = ("--species", "sweet cherry", "--s-genotype", "S3S6")
    assert pollinet("variety", "add", "Kordia", *words).code == 0
    changed = pollinet(*line, "--out", "r", "--json")
    assert changed.code == 2
    assert [one["code"] for one in json.loads(changed.out)["findings"]] == ["would-overwrite"]
    assert pollinet(*line, "--out", "other").code == 0
    assert pollinet(*line, "--out", "other", "--json").data["taken_over"] == 1


def test_parts_of_a_run_that_was_broken_off_go(pollinet: Run, garden: Path) -> None:
    line = ("sites", "plan.toml", "--grid", 46, 7, 46, 7, "--elevation", 500, "--warmer", 0)
    assert pollinet(*line, "--out", "r").code == 0
    (kept,) = (garden / "r" / chunks.FOLDER).iterdir()
    content = kept.read_bytes()
    left = [
        kept.with_name("chunk-99999.npz"),
        kept.with_name("odd.part"),
        kept.with_name("notes.txt"),
    ]
    for file in left:
        file.write_bytes(content)
    again = pollinet(*line, "--out", "r", "--json")
    assert again.data["taken_over"] == 1
    assert [file.exists() for file in left] == [False, False, True]
    # One that is damaged, or of another question, is not taken over.
    kept.write_bytes(content[:100])
    assert pollinet(*line, "--out", "r", "--json").data["taken_over"] == 0
    assert kept.read_bytes() == content
    assert chunks.kept(kept, "another digest") is None
