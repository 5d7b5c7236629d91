"""Own bloom dates: written down, used at once, and measured on years they did not see."""

from __future__ import annotations

import csv
import re
import tomllib
from collections.abc import Callable
from dataclasses import replace
from pathlib import Path
from typing import Any

import numpy as np
import pytest
from gardens import HILL, saved, studied

from pollinet.domain import Normals
from pollinet.saving import house_csv
from pollinet.weather.generated import generate_daily

Run = Callable[..., Any]

SITE = {"Etoile": 44.82, "Jork": 53.51}

PLAN = """
[site]
latitude = {latitude}
weather = "{weather}"
[[tree]]
id = "cherry"
species = "sweet cherry"
[[tree.limb]]
id = "a"
variety = "Van"
[[tree.limb]]
id = "b"
variety = "Regina"
"""


@pytest.fixture
def observed(reference_weather: Path) -> Callable[[str, str], dict[int, float]]:
    """Full bloom by year, medians over trees (Wenden et al. 2016)."""

    def days(site: str, variety: str) -> dict[int, float]:
        found: dict[int, list[float]] = {}
        with (reference_weather / "bloom_sweet_cherry.csv").open(encoding="utf-8") as lines:
            for row in csv.DictReader(lines):
                if (row["site"], row["cultivar"]) == (site, variety) and row["full_doy"]:
                    found.setdefault(int(row["year"]), []).append(float(row["full_doy"]))
        return {year: float(np.median(values)) for year, values in sorted(found.items())}

    return days


def date_of(year: int, day: float) -> str:
    return str(np.datetime64(f"{year}-01-01") + np.timedelta64(round(day) - 1, "D"))


def test_two_years_of_own_dates_make_the_forecast_better(
    tmp_path: Path, reference_weather: Path, observed: Callable[..., Any], pollinet: Run
) -> None:
    """At Etoile, from real notes of real springs; each year is forecast from the others."""
    weather = (reference_weather / "weather_Etoile.csv").as_posix()
    plan = saved(tmp_path, PLAN.format(latitude=SITE["Etoile"], weather=weather))
    before = pollinet("check", plan, "--json").data["limbs"][0]["bloom"]
    years = [year for year in observed("Etoile", "Van") if 1990 <= year <= 2012][:12]
    assert len(years) >= 5
    for year in years:
        day = date_of(year, observed("Etoile", "Van")[year])
        assert pollinet("record", plan, "a", "--stage", "full", "--date", day).code == 0
    data = pollinet("fit", plan, "--json").data
    errors = data["varieties"]["Van"]
    assert errors["notes"] == len(years)
    assert errors["rmse_with_other_years"] < 7
    assert errors["rmse_with_other_years"] <= errors["rmse_without_notes"] + 0.5
    inside = np.mean([note["inside_8_in_10"] for note in data["notes"]])
    assert inside > 0.5
    # `check` uses the notes at once, and is surer with them.
    after = pollinet("check", plan, "--json").data["limbs"][0]["bloom"]
    assert after != before
    assert after["sd_days"] < before["sd_days"]
    answer = pollinet("fit", plan)
    assert answer.code == 0
    assert max(map(len, answer.out.splitlines())) <= 100


def test_without_notes_there_is_nothing_to_fit(tmp_path: Path, pollinet: Run) -> None:
    assert pollinet("demo", "--out", tmp_path).code == 0
    answer = pollinet("fit", tmp_path / "plan.toml")
    assert answer.code == 0
    assert "no bloom notes" in answer.out


def test_notes_are_never_compared_with_generated_winters(tmp_path: Path, pollinet: Run) -> None:
    """A generated winter has a label, not a year: a note of that year is no evidence on it."""
    assert pollinet("demo", "--out", tmp_path).code == 0
    plan = tmp_path / "plan.toml"
    assert pollinet("record", plan, "C-low", "--stage", "full", "--date", "2010-04-07").code == 0
    (note,) = pollinet("fit", plan, "--json").data["notes"]
    assert not note["winter_in_record"]


def test_every_noted_day_is_shown_as_it_was_typed(tmp_path: Path, pollinet: Run) -> None:
    assert pollinet("demo", "--out", tmp_path).code == 0
    plan = tmp_path / "plan.toml"
    days = {"start": ("2025-04-02", "2 Apr"), "full": ("2025-04-09", "9 Apr"),
            "end": ("2025-05-10", "10 May")}  # fmt: skip
    for stage, (day, _) in days.items():
        assert pollinet("record", plan, "C-low", "--stage", stage, "--date", day).code == 0
    out = pollinet("fit", plan).out
    for stage, (_, shown) in days.items():
        assert re.search(rf"\b{stage} +{shown}\b", out), out


NOVA = '[[tree.limb]]\nid = "{id}"\nvariety = "Nova"\n'


def test_a_note_where_nothing_ever_blooms_is_passed_over(tmp_path: Path, pollinet: Run) -> None:
    """No scenario has bloom where it is far too cold; numpy would warn of that."""
    plan = tmp_path / "plan.toml"
    cold = {"tmin_c": [-30.0] * 12, "tmax_c": [-20.0] * 12}
    lines = [
        f"{line[:6]} = {cold[line[:6]]}" if line[:6] in cold else line for line in HILL.splitlines()
    ]
    # High up in the far north, where such normals can be.
    text = "\n".join(lines).replace("latitude = 46.4", "latitude = 69\nelevation_m = 2500")
    plan.write_text(text + "\n", encoding="utf-8")
    words = ("record", plan, "known", "--stage", "full", "--date", "2024-04-09")
    assert pollinet(*words).code == 0
    answer = pollinet("fit", plan, "--json")
    assert (answer.code, answer.data["notes"]) == (0, [])
    assert "RuntimeWarning" not in answer.err


def test_a_note_of_a_variety_that_nobody_has_dated_counts(tmp_path: Path, pollinet: Run) -> None:
    """Nothing is known of Nova: it blooms like the run of its fruit, and its note says more."""
    plan = tmp_path / "plan.toml"
    own = '[[variety]]\nspecies = "sweet cherry"\nname = "Nova"\n'
    plan.write_text(HILL + NOVA.format(id="new") + own, encoding="utf-8")
    for limb in ("known", "new"):
        words = ("record", plan, limb, "--stage", "full", "--date", "2024-04-09")
        assert pollinet(*words).code == 0
    answer = pollinet("fit", plan, "--json")
    assert [note["variety"] for note in answer.data["notes"]] == ["Nova", "Van"]


def test_varieties_of_two_fruits_that_share_a_name_are_two(tmp_path: Path, pollinet: Run) -> None:
    plan = tmp_path / "plan.toml"
    apple = '[[tree]]\nid = "apple"\nspecies = "apple"\n' + NOVA.format(id="apple-nova")
    own = "".join(
        f'[[variety]]\nspecies = "{fruit}"\nname = "Nova"\nbloom_days = [{day}, {day + 10}]\n'
        for fruit, day in (("sweet cherry", 100), ("apple", 120))
    )
    plan.write_text(HILL + NOVA.format(id="cherry-nova") + apple + own, encoding="utf-8")
    for limb, day in (
        ("cherry-nova", "2024-04-19"),
        ("apple-nova", "2024-04-09"),
        ("known", "2024-04-12"),
    ):
        words = ("record", plan, limb, "--stage", "full", "--date", day)
        assert pollinet(*words).code == 0
    data = pollinet("fit", plan, "--json").data
    assert list(data["varieties"]) == ["Nova, apple", "Nova, sweet cherry", "Van"]
    # One note each: the error of the variety is that of its note.
    errors = {note["species"]: abs(note["error_without_notes"])
              for note in data["notes"] if note["variety"] == "Nova"}  # fmt: skip
    assert errors == {
        fruit: data["varieties"][f"Nova, {fruit}"]["rmse_without_notes"] for fruit in errors
    }
    assert errors["apple"] != errors["sweet cherry"]
    out = " ".join(pollinet("fit", plan).out.split())
    assert "Nova, apple: 1 note" in out and "Nova, sweet cherry: 1 note" in out


def noted_garden(
    folder: Path, pollinet: Run, off_days: dict[int, float], noted: str = "known"
) -> Path:
    """A garden with a record, and notes that lie so many days after the forecast of each spring."""
    normals = tomllib.loads(HILL)["site"]["normals"]
    made = generate_daily(
        Normals(tuple(normals["tmin_c"]), tuple(normals["tmax_c"])),
        first_harvest_year=2010, winters=10, latitude=46.4, seed=2,
    )  # fmt: skip
    measured = replace(made, generated=False, source="")
    (folder / "weather.csv").write_text(house_csv(measured), encoding="utf-8")
    head, _, tail = HILL.partition("[site.normals]")
    tree = tail[tail.index("[[tree]]") :]
    plan = saved(folder, f'{head}weather = "weather.csv"\n{tree}')
    study = studied(plan)
    assert study.sums is not None
    bloom = study.bloom_of(study.varieties(), ())
    for year, off in off_days.items():
        winter = study.sums.winter_of(year)
        assert winter is not None
        day = float(np.median(bloom.full_h[0, :, winter])) / 24 + off
        date = np.datetime64(bloom.starts[winter]) + np.timedelta64(int(np.floor(day)), "D")
        words = ("record", plan, noted, "--stage", "full", "--date", str(date))
        assert pollinet(*words).code == 0
    return plan


def test_notes_that_agree_teach_the_offset_of_the_site(tmp_path: Path, pollinet: Run) -> None:
    plan = noted_garden(tmp_path, pollinet, dict.fromkeys(range(2011, 2017), 8.0))
    data = pollinet("fit", plan, "--json").data
    assert not data["garden"]["notes_make_it_worse"]
    assert data["garden"]["rmse_with_other_years"] < 0.6 * data["garden"]["rmse_without_notes"]
    site = data["sites"]["sweet cherry"]
    # The site's error and the variety's own share the eight days by their variances.
    assert 2 < site["later_days"] < 8
    # A degree is some three to seven days of bloom.
    assert -2.5 < site["warmer_c"] < -0.3
    out = " ".join(pollinet("fit", plan).out.split())
    assert "sweet cherry blooms" in out and "°C colder" in out
    assert "worse" not in out


def test_notes_that_mislead_are_told(tmp_path: Path, pollinet: Run) -> None:
    """Each spring is foretold from one that was off to the other side."""
    plan = noted_garden(tmp_path, pollinet, {2011: 9.0, 2012: -9.0})
    data = pollinet("fit", plan, "--json").data
    garden = data["garden"]
    assert garden["springs"] == 2 and garden["notes_make_it_worse"]
    assert garden["rmse_with_other_years"] > garden["rmse_without_notes"]
    assert "notes make it worse" in data["answer"]
    # They cannot be wholly trusted, so that the harm is small.
    assert garden["rmse_with_other_years"] < 2 * garden["rmse_without_notes"]
