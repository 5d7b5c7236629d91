"""What a place costs in a region run, against a study of its own and against its parts."""

from __future__ import annotations

import sys
from collections.abc import Callable
from dataclasses import replace
from pathlib import Path
from time import perf_counter, process_time

import numpy as np
import pytest
from gardens import grown, studied
from ratios import Ratio

from pollinet.answers.bloom import bloom_by_winter_of
from pollinet.answers.check import check_of
from pollinet.phenology.chill import chill_portions, compiled
from pollinet.readers.places import Place, grid_places
from pollinet.region.chunks import tasks
from pollinet.region.run import Where, run
from pollinet.region.work import Question, answer
from pollinet.study import Study
from pollinet.study.elsewhere import movable

VARIETIES = 10
"""Of each of two fruits: twenty varieties, in the thirty winters that are made up."""


@pytest.fixture(scope="module")
def study(tmp_path_factory: pytest.TempPathFactory) -> Study:
    plan = tmp_path_factory.mktemp("region") / "plan.toml"
    site = "[site]\nlatitude = 47.0\nlongitude = 8.0\nelevation_m = 450\n"
    plan.write_text(site + tree("apple", ["Elstar"]) + tree("sweet cherry", ["Van"]))
    opened = studied(plan)
    named = {
        species: [
            name.name
            for name in sorted(opened.known)
            if name.species == species and opened.known[name].bloom and name.name.isascii()
            and "'" not in name.name
        ][:VARIETIES]
        for species in ("apple", "sweet cherry")
    }  # fmt: skip
    plan.write_text(site + "".join(tree(species, names) for species, names in named.items()))
    opened = studied(plan)
    assert len(opened.varieties()) == 2 * VARIETIES
    return opened


def tree(species: str, varieties: list[str]) -> str:
    return grown(species, {f"{species}-{i}": name for i, name in enumerate(varieties)}, species)


def alone(study: Study, place: Place) -> None:
    """What the commands do for one place, as `check`, `cover` and the table of bloom."""
    assert place.latitude is not None
    site = replace(
        study.plan.site, latitude=place.latitude, longitude=place.longitude,
        elevation_m=place.elevation_m,
    )  # fmt: skip
    there = replace(study, plan=replace(study.plan, site=site)).on_station_winters()
    check_of(there)
    there.cover()
    bloom_by_winter_of(there)


def grid(places: int) -> tuple[Place, ...]:
    side = int(np.ceil(places**0.5))
    edge = 0.25 * (side - 1)
    return grid_places(44.0, 5.0, 44 + edge, 5 + edge, 0.25, elevation_m=300.0)[0][:places]


def test_a_place_against_a_study_of_its_own(study: Study, tell: Callable[..., Ratio]) -> None:
    places = grid(30)
    garden, _ = movable(study)
    question = Question(garden, (0.0,), False, 10.0, True)
    first, *rest = tasks(places, 10)
    answer(question, first)
    alone(study, places[0])
    begin = process_time()
    for task in rest:
        answer(question, task)
    one = (process_time() - begin) / 20
    begin = process_time()
    for place in places[10:20]:
        alone(study, place)
    other = (process_time() - begin) / 10
    tell("a study of its own / one of many places, CPU", other / one)
    tell("CPU of one of many places [ms]", 1000 * one, aim="≤ 60")
    assert one < other


def test_chill_of_one_place_and_of_many_and_compiled(tell: Callable[..., Ratio]) -> None:
    winters = np.random.default_rng(1).normal(5, 8, (30, 24 * 304))
    many = np.concatenate([winters] * 8)
    fast = compiled()

    def seconds(hours: np.ndarray, **how: object) -> float:
        begin = process_time()
        chill_portions(hours, **how)  # type: ignore[arg-type]
        return process_time() - begin

    one, block = seconds(winters), seconds(many) / 8
    tell("chill of a place among eight / alone", block / one)
    if fast is not None:
        chill_portions(winters[:1, :48], fast)
        tell("chill of a place compiled / not", seconds(winters, recurrence=fast) / one)


PLACES = 1200
"""Places of a run: to start two processes takes two seconds, as long as some fifty places."""


def test_two_processes_against_one(
    study: Study, tmp_path: Path, tell: Callable[..., Ratio]
) -> None:
    if not (sys.platform == "linux" and len(grid(PLACES)) == PLACES):
        pytest.skip("measured on Linux")
    garden, _ = movable(study)
    question, walls = Question(garden, (0.0,), False, 10.0, True), {}
    for workers in (1, 2):
        out = tmp_path / str(workers)
        (out / "chunks").mkdir(parents=True)
        begin = perf_counter()
        run(question, b"", grid(PLACES), out, Where(workers), lambda progress: None, size=10)
        walls[workers] = perf_counter() - begin
    tell(f"{PLACES} places by one process / by two", walls[1] / walls[2], aim="≥ 1.7")
