"""A region run against single studies, to the byte: the proof that the issue asks for."""

from __future__ import annotations

import json
from calendar import isleap
from collections.abc import Iterator
from dataclasses import replace
from datetime import date
from pathlib import Path
from typing import Any

import numpy as np
import pytest
from gardens import made_weather, saved, studied

from pollinet.answers.bloom import bloom_by_winter_of
from pollinet.answers.check import check_of
from pollinet.answers.chill import chill_of
from pollinet.answers.cover import Wishes, searched
from pollinet.domain import Normals, VarietyId
from pollinet.phenology.chill import chill_portions, compiled
from pollinet.readers.places import Place
from pollinet.region.chunks import tasks
from pollinet.region.work import (
    NONE,
    SHARES,
    STATUSES,
    STRENGTHS,
    VERDICTS,
    Answers,
    Question,
    Task,
    answer,
    least_chill,
)
from pollinet.study import Study
from pollinet.study.elsewhere import movable
from pollinet.summary.sites import STANDINGS
from pollinet.summary.suits import suitability

GARDEN = """
[aim]
draws = 8
[[tree]]
id = "apple"
species = "apple"
spare_limbs = 2
[[tree.limb]]
id = "a1"
variety = "Elstar"
[[tree.limb]]
id = "a2"
variety = "Gala"
[[tree.limb]]
id = "a3"
variety = "Jonagold"
crops = false
[[tree]]
id = "cherry"
species = "sweet cherry"
spare_limbs = 2
[[tree.limb]]
id = "c1"
variety = "Lapins"
[[tree.limb]]
id = "c2"
variety = "Regina"
[[neighbour]]
id = "next door"
species = "hazelnut"
variety = "Barcelona"
distance_m = 20
[[scion]]
species = "sweet cherry"
variety = "Kordia"
[[scion]]
species = "apple"
variety = "Discovery"
"""

SOUTH = Normals(
    (13.5, 13.4, 11.6, 8.9, 6.3, 4.0, 3.4, 4.1, 6.0, 7.8, 9.7, 11.9),
    (24.0, 24.1, 21.9, 18.3, 14.5, 11.5, 10.9, 12.3, 14.7, 17.1, 19.6, 21.9),
)
"""Invented: a temperate place of the south."""

NORTH = Normals(SOUTH.tmin_c[6:] + SOUTH.tmin_c[:6], SOUTH.tmax_c[6:] + SOUTH.tmax_c[:6])

STATIONS = (
    ("Hill", 47.0, 8.0, 450.0), ("Valley", 46.2, 7.3, 500.0), ("Plain", 52.5, 13.4, 40.0),
    ("Coast", 43.6, 1.4, 150.0), ("High north", 60.2, 24.9, 20.0), ("Island", -41.3, 174.8, 30.0),
    ("Highland", -33.3, 149.1, 900.0),
    ("Unknown height", 48.5, 9.5, None),
)  # fmt: skip
"""Both hemispheres; coordinates without any place in mind."""

WARMER = (0.0, 2.0)


def record(folder: Path, name: str, normals: Normals, latitude: float) -> Path:
    place = {"latitude": latitude, "longitude": 8.5, "elevation_m": 300}
    return made_weather(folder / name, normals, 2001, 6, latitude, 3, about=place)


@pytest.fixture(scope="module")
def folder(tmp_path_factory: pytest.TempPathFactory) -> Path:
    return tmp_path_factory.mktemp("region")


@pytest.fixture(scope="module")
def places(folder: Path) -> tuple[Place, ...]:
    north = record(folder, "north.csv", NORTH, 47.5)
    south = record(folder, "south.csv", SOUTH, -40.5)
    made = tuple(Place(*told) for told in STATIONS)
    return (*made, Place("Gauge north", weather=north), Place("Gauge south", weather=south))


def site_lines(place: Place) -> str:
    """The part of a plan that says where it is."""
    latitude, longitude, height = place.latitude, place.longitude, place.elevation_m
    if place.weather is not None:
        latitude = -40.5 if "south" in place.weather.name else 47.5
        longitude, height = 8.5, 300.0
    lines = ["[site]", f"latitude = {latitude}", f"longitude = {longitude}"]
    lines += [] if height is None else [f"elevation_m = {height}"]
    lines += [] if place.weather is None else [f'weather = "{place.weather.name}"']
    return "\n".join(lines) + "\n"


def study_of(folder: Path, place: Place) -> Study:
    """The single study of a place, opened from a plan file of its own."""
    return studied(saved(folder, site_lines(place) + GARDEN))


def question_of(folder: Path, *, is_compiled: bool = False) -> Question:
    garden, findings = movable(study_of(folder, Place("home", 50.0, 10.0, 300.0)))
    assert findings == ()
    return Question(garden, WARMER, False, 20.0, is_compiled)


@pytest.fixture(scope="module")
def studies(folder: Path, places: tuple[Place, ...]) -> tuple[Study, ...]:
    return tuple(study_of(folder, place) for place in places)


@pytest.fixture(scope="module")
def answers(folder: Path, places: tuple[Place, ...]) -> Answers:
    (task,) = tasks(places, len(places))
    return answer(question_of(folder), task)


def season_days(text: str, south: bool) -> int:
    """Days of a date since its season began, 29 February counted as 1 March."""
    day = date.fromisoformat(text)
    first = date(day.year - (day.month < (4 if south else 10)), 4 if south else 10, 1)
    days = (day - first).days
    return days - (not south and isleap(first.year + 1) and day >= date(first.year + 1, 3, 1))


def limb_rows(told: Any) -> Iterator[list[Any]]:
    for limb in told["limbs"]:
        shares = [limb[f"winters_{share}"] for share in SHARES]
        yield [limb["covered"], limb["verdict"], limb["strength"], *shares]


def seen_rows(answers: Answers, place: int, climate: int) -> Iterator[list[Any]]:
    for limb in range(answers.covered.shape[2]):
        at = place, climate, limb
        covered = None if answers.covered[at] == NONE else bool(answers.covered[at])
        words = [
            None if number == NONE else words[number]
            for number, words in (
                (answers.verdict[at], VERDICTS),
                (answers.strength[at], STRENGTHS),
            )
        ]
        shares = [None if np.isnan(share) else share for share in answers.shares[at].tolist()]
        yield [covered, *words, *shares]


def test_each_place_is_as_its_own_study_has_it(
    places: tuple[Place, ...], studies: tuple[Study, ...], answers: Answers
) -> None:
    assert len(places) == 10
    for number, (place, alone) in enumerate(zip(places, studies, strict=True)):
        # The warmer climate of every other place: the whole takes seconds.
        for climate, degrees in tuple(enumerate(WARMER))[: 1 + number % 2]:
            study = alone.warmer(degrees)
            told = json.loads(check_of(study).to_json())
            # Shares are compared as they are: a single bit off would show.
            assert list(seen_rows(answers, number, climate)) == list(limb_rows(told)), place.name
            wanted = [limb["covered"] for limb in told["limbs"] if limb["covered"] is not None]
            state = STANDINGS[answers.standing[number, climate]]
            assert state == ("has pollen" if all(wanted) else "lacks pollen"), place.name
            found = searched(study, Wishes())
            best, nodes = found.answer, found.network.nodes
            assert STATUSES[answers.status[number, climate]] == best.status, place.name
            names = "; ".join(nodes[i].graft for i in best.added or best.partial)
            assert answers.best[number, climate] == names, place.name
            bare = "; ".join(nodes[miss.node].id for miss in best.uncovered)
            assert answers.uncovered[number, climate] == bare, place.name
    # Else the comparison would show little.
    assert {"nothing to add", "optimal"} <= {STATUSES[one] for one in answers.status.ravel()}, (
        answers.status
    )


def test_chill_is_that_of_its_own_study(
    studies: tuple[Study, ...], places: tuple[Place, ...], answers: Answers
) -> None:
    for number in (3, 8, 9):
        for climate, degrees in enumerate(WARMER):
            told = json.loads(chill_of(studies[number].warmer(degrees)).to_json())["limbs"]
            own = [
                one["assumed_enough"] if one["enough"] is None else one["enough"] for one in told
            ]
            assert answers.chill[number, climate].tolist() == own, places[number].name
            assert least_chill(answers)[number, climate] == min(own)
    regina = suitability(studies[3].warmer(WARMER[1]), VarietyId("sweet cherry", "Regina"))
    assert answers.chill[3, 1, 4] == regina.enough_chill
    # Else the comparison would show little.
    assert 0 < np.nanmin(answers.chill[:, 1]) < 1


def test_bloom_is_the_mean_over_the_winters_of_its_own_study(
    studies: tuple[Study, ...], answers: Answers
) -> None:
    for number, study in tuple(enumerate(studies))[5:]:
        south = study.plan.site.latitude < 0
        rows = json.loads(bloom_by_winter_of(study).to_json())["bloom"]
        for variety, known in enumerate(study.varieties()):
            own = [row for row in rows if row["variety"] == known.id.name]
            assert answers.blooms[number, 0, variety] == 1.0
            for stage, name in enumerate(("start", "full", "end")):
                for point, part in enumerate(("_early", "", "_late")):
                    days = [season_days(row[name + part], south) for row in own]
                    mean = sum(days) / len(days)
                    told = answers.bloom[number, 0, variety, stage, point]
                    assert told == pytest.approx(mean, abs=1e-9), (number, known.id, name + part)


def test_chunks_of_any_size_give_the_same_bytes(
    folder: Path, places: tuple[Place, ...], answers: Answers
) -> None:
    question = question_of(folder)
    ones = [answer(question, task) for task in tasks(places[5:8], 1)]
    for field in vars(answers):
        apart = np.concatenate([getattr(one, field) for one in ones])
        whole = getattr(answers, field)[5:8]
        assert apart.tolist() == whole.tolist() or np.array_equal(apart, whole, equal_nan=True)


def test_compiled_chill_is_the_same_to_the_byte() -> None:
    recurrence = compiled()
    if recurrence is None:
        pytest.skip("numba is not installed")
    hours = np.random.default_rng(5).normal(6, 9, (7, 24 * 200))
    hours[3, 1000:] = np.nan
    assert chill_portions(hours, recurrence).tobytes() == chill_portions(hours).tobytes()
    assert chill_portions(hours)[0, -1] > 20


def test_a_place_in_bad_shape_is_a_row_with_its_finding(folder: Path) -> None:
    broken = folder / "broken.csv"
    broken.write_text("nothing that anybody could read\n")
    nowhere = record(folder, "nowhere.csv", NORTH, 47.5)
    nowhere.write_text("\n".join(nowhere.read_text().splitlines()[3:]) + "\n")
    hot = Place("Never cold", 1.0, 104.0, 10.0)
    places = (
        hot,
        Place("Far out at sea", 35.0, -45.0, 0.0),
        Place("No file", 47.0, 8.0, 400.0, folder / "gone.csv"),
        Place("Broken file", 47.0, 8.0, 400.0, broken),
        Place("File of nowhere", weather=nowhere),
        Place("Hill", 47.0, 8.0, 450.0),
    )
    (task,) = tasks(places, 10)
    told = answer(question_of(folder), task)
    codes = [set(codes.split("; ")) for codes in told.codes.tolist()]
    assert "weak-climate" in codes[0] and "weak-climate" in codes[1]
    assert codes[2] == {"missing-file"}
    assert codes[3] == {"unknown-weather-format"}
    assert codes[4] == {"no-place"}
    assert codes[5] == {""}
    assert [STANDINGS[one] for one in told.standing[:, 0]][:5] == ["not known"] * 5
    assert STANDINGS[told.standing[5, 0]] != "not known"
    assert all(told.findings[:5]) and not told.findings[5]
    assert told.winters.tolist() == [30, 30, 0, 0, 0, 30]


def test_dates_of_the_own_garden_stay_there(folder: Path) -> None:
    file = folder / "typed.toml"
    typed = '[[variety]]\nname = "Gala"\nspecies = "apple"\nbloom = ["04-01", "04-12"]\n'
    file.write_text(
        "[site]\nlatitude = 47.0\nlongitude = 8.0\nelevation_m = 400\n" + typed + GARDEN
    )
    study = studied(file)
    garden, findings = movable(study)
    assert [found.code for found in findings] == ["dates-stay-home"]
    assert all(variety.typed_bloom is None for variety in garden.known.values())
    task = Task((Place("South", -41.0, 174.0, 50.0),), (None,))
    told = answer(Question(garden, (0.0,), False, 5.0, False), task)
    # 1 April is autumn there.
    (gala,) = (i for i, v in enumerate(garden.varieties()) if v.id.name == "Gala")
    assert 150 < told.bloom[0, 0, gala, 1, 1] < 230
    assert garden.plan.site == replace(study.plan.site, normals=None)


def test_where_no_place_can_be_opened_each_is_a_row_all_the_same(folder: Path) -> None:
    places = tuple(Place(name, 47.0, 8.0, 400.0, folder / f"{name}.csv") for name in "ab")
    (task,) = tasks(places, 10)
    told = answer(question_of(folder), task)
    assert told.name.tolist() == ["a", "b"]
    assert told.codes.tolist() == ["missing-file"] * 2
    assert {STANDINGS[one] for one in told.standing.ravel()} == {"not known"}
    assert np.isnan(told.bloom).all() and told.winters.tolist() == [0, 0]


def test_where_no_winter_lets_them_bloom_it_is_told_of_each_variety(folder: Path) -> None:
    ice = Place("On the ice", 72.6, -38.5, 3200.0)
    (task,) = tasks((ice,), 1)
    question = question_of(folder)
    told = answer(question, task)
    assert "no-bloom" in told.codes[0].split("; ")
    names = [v.id.name for v in question.garden.varieties()]
    never = [name for name, share in zip(names, told.blooms[0, 0], strict=True) if share == 0]
    assert never and all(name in told.findings[0] for name in never)
