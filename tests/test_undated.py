"""Gardens with varieties that nobody dated, and whose need of chill nobody published."""

from __future__ import annotations

from collections.abc import Callable
from datetime import date, timedelta
from pathlib import Path
from typing import Any

import pytest
from gardens import entry, grown, saved, studied

from pollinet.days import season_day
from pollinet.domain import VarietyId
from pollinet.study import Study

Pollinet = Callable[..., Any]


def site(latitude: float, tmin_c: tuple[float, ...], tmax_c: tuple[float, ...]) -> str:
    lists = f"tmin_c = {list(tmin_c)}\ntmax_c = {list(tmax_c)}"
    return f"[site]\nlatitude = {latitude}\n[site.normals]\n{lists}\n"


# Monthly means of stations, from CLIMAT reports (Deutscher Wetterdienst, Climate Data Center):
# Daejeon 2003-2019, Montélimar 2003-2021, Christchurch 1961-1990 moved to 2003-2021.
DAEJEON = site(
    36.4,
    (-5.5, -3.5, 1.2, 7.1, 13.1, 18.3, 22.4, 22.8, 17.4, 9.8, 3.3, -3.7),
    (4.0, 6.9, 12.7, 19.2, 24.9, 28.1, 29.4, 30.4, 26.2, 20.9, 13.5, 5.5),
)
MONTELIMAR = site(
    44.6,
    (2.7, 2.7, 5.0, 8.1, 11.6, 15.9, 18.0, 17.4, 14.3, 10.9, 6.6, 3.4),
    (8.8, 10.5, 15.0, 18.9, 22.5, 27.6, 30.3, 29.6, 25.1, 19.3, 13.3, 9.2),
)
CHRISTCHURCH = site(
    -43.5,
    (12.5, 12.0, 10.7, 7.3, 4.1, 1.4, 1.2, 2.5, 4.7, 6.9, 9.0, 11.2),
    (22.7, 22.2, 20.5, 17.8, 14.4, 11.7, 11.1, 12.5, 14.9, 17.5, 19.5, 21.4),
)
# Geisenheim on the Rhine, about 1981-2010, from memory.
GEISENHEIM = site(
    50.0,
    (-0.9, -0.9, 2.1, 4.8, 9.0, 12.1, 13.9, 13.6, 10.3, 6.6, 2.7, 0.3),
    (4.2, 6.0, 11.0, 15.9, 20.4, 23.4, 25.6, 25.1, 20.3, 14.3, 8.3, 4.8),
)


def garden(folder: Path, where: str, *limbs: tuple[str, str]) -> Study:
    trees = "".join(grown(fruit, {f"l{i}": name}, f"t{i}") for i, (fruit, name) in enumerate(limbs))
    own = "".join(
        entry("variety", species=fruit, name=name)
        for fruit, name in limbs
        if name.startswith("Own")
    )
    return studied(saved(folder, where + trees + own))


def usual_day(study: Study, fruit: str, name: str) -> float:
    """Mean day of full bloom, days of the season."""
    bloom = study.bloom
    return float(bloom.full_h[bloom.varieties.index(VarietyId(fruit, name))].mean() / 24)


@pytest.mark.parametrize(
    ("where", "fruit", "name", "day", "off"),
    [
        # Full bloom of one marked peach tree at Daejeon, mean of 32 springs of 1973-2024: 13
        # April (Korea Meteorological Administration, seasonal observations).
        (DAEJEON, "peach", "Own peach", 103.0, 7),
        # The apricot Bergeron bloomed on 20 March 2011 in southern France (GRAB, Avignon, apricot
        # sheets of 2011-13); one spring strays by 6 to 8 days.
        (MONTELIMAR, "apricot", "Own apricot", 79.0, 12),
        # A week before and after 22 April: sour cherries bloom on the Rhine in the last third of
        # April (common practice, no source).
        (GEISENHEIM, "sour cherry", "Own Morello", 112.0, 10),
    ],
)
def test_the_right_month(
    tmp_path: Path, where: str, fruit: str, name: str, day: float, off: float
) -> None:
    study = garden(tmp_path, where, (fruit, name))
    assert usual_day(study, fruit, name) == pytest.approx(season_day(45.0, day) + 0.5, abs=off)
    assert not study.bloom.dated.any()
    assert 8 < study.bloom.sd_days[0] < 20
    assert study.bloom.rests_on[0].startswith("the run of its fruit")


def test_hazelnuts_bloom_in_winter(tmp_path: Path) -> None:
    """South Canterbury, 2011: catkins shed from early July, some still in late August; few stigmas
    in mid July, some still in late August (Hazelnut Growers Association of New Zealand)."""
    nut = VarietyId("hazelnut", "Own nut")
    bloom = garden(tmp_path, CHRISTCHURCH, nut).bloom
    assert bloom.shed_start_h is not None and bloom.shed_end_h is not None
    catkins = float((bloom.shed_start_h + bloom.shed_end_h).mean() / 48)
    july, september = season_day(-43.5, 182), season_day(-43.5, 244)
    assert july < catkins < september
    assert july < bloom.full_h.mean() / 24 < september


def test_an_undated_hazelnut_serves_another_though_not_for_sure(
    tmp_path: Path, pollinet: Pollinet
) -> None:
    study = garden(tmp_path, CHRISTCHURCH, ("hazelnut", "Palaz"), ("hazelnut", "Çakıldak"))
    shares = [limb.reliability for limb in study.coverage]
    assert all(0.3 < share < 1 for share in shares)
    assert study.network.dated is not None and not study.network.dated.any()
    assert [limb.sure for limb in study.coverage] == [0, 0]
    told = pollinet("check", tmp_path / "plan.toml", "--json")
    assert "no-pollen-shed" not in {found["code"] for found in told.data["findings"]}


def test_own_notes_alone_place_a_variety(tmp_path: Path) -> None:
    study = garden(tmp_path, MONTELIMAR, ("sweet cherry", "Own seedling"))
    before = usual_day(study, "sweet cherry", "Own seedling")
    noted = round(before - season_day(45.0, 1)) + 10  # days after 1 January
    rows = ["date,limb,kind,value"] + [
        f"{date(year, 1, 1) + timedelta(noted)},l0,stage,full" for year in range(2010, 2019)
    ]
    (tmp_path / "records.csv").write_text("\n".join(rows) + "\n", encoding="utf-8")
    after = studied(tmp_path / "plan.toml")
    assert after.bloom.dated.all()
    assert usual_day(after, "sweet cherry", "Own seedling") == pytest.approx(before + 10, abs=2)
    spread = [(s.bloom.full_h[0] / 24).mean(axis=1).std() for s in (study, after)]
    # Nine winters of which only the mean is known leave some two days.
    assert spread[1] < 0.6 * spread[0]


def test_candidates_of_the_catalogue_stay_those_that_are_dated(tmp_path: Path) -> None:
    study = garden(tmp_path, GEISENHEIM, ("peach", "Redhaven"))
    scions = {scion.variety for scion in study.catalogue_scions()}
    assert scions and all(study.known[name].bloom for name in scions)
    assert VarietyId("peach", "Chimarrita") in set(study.known) - scions


def test_dates_typed_without_weather_tell_nothing_of_others(
    tmp_path: Path, pollinet: Pollinet
) -> None:
    garden(tmp_path, GEISENHEIM, ("apple", "Own"), ("apple", "Own too"))
    path = tmp_path / "plan.toml"
    text = path.read_text(encoding="utf-8")
    body = "[site]\nlatitude = 50\n" + text[text.index("[[tree]]") :]
    path.write_text(body.replace('name = "Own"', 'name = "Own"\nbloom_days = [110, 120]'))
    told = pollinet("check", path, "--json")
    assert told.code == 2
    assert [found["code"] for found in told.data["findings"]] == ["no-weather"]


# Sfax on the Tunisian coast, where almonds get 3 to 23 portions (Benmoussa et al. 2017).
SFAX = site(
    34.8,
    (6.5, 7.2, 9.4, 12.0, 15.6, 19.4, 21.8, 22.6, 20.5, 16.7, 11.5, 7.6),
    (16.6, 17.6, 19.5, 22.0, 25.5, 29.2, 32.0, 32.3, 29.6, 25.9, 21.3, 17.6),
)


def chill_quality(folder: Path, where: str, fruit: str, name: str) -> float:
    """Mean quality of the flowers of one variety."""
    study = garden(folder, where, (fruit, name))
    return float(study.network.chill_quality[0].mean())


@pytest.mark.parametrize(
    ("fruit", "name"),
    [
        ("apple", "Boskoop"), ("pear", "Conference"), ("sweet cherry", "Van"), ("peach", "Own"),
        ("apricot", "Own"), ("European plum", "Victoria"), ("sour cherry", "Own"),
        ("hazelnut", "Barcelona"), ("Japanese plum", "Own"),
    ],
)  # fmt: skip
def test_winters_of_the_rhine_serve_every_ordinary_variety(
    tmp_path: Path, fruit: str, name: str
) -> None:
    """All these crop there (common practice, no source)."""
    assert chill_quality(tmp_path, GEISENHEIM, fruit, name) > 0.995


def test_mild_winters_serve_few_and_those_bred_for_them(tmp_path: Path) -> None:
    """Apples need about 57 portions, those bred for mild winters 13 to 23 (Anna, Eva: El Yaacoubi
    et al. 2016)."""
    plain, anna = (chill_quality(tmp_path, SFAX, "apple", name) for name in ("Boskoop", "Anna"))
    assert plain < 0.8
    assert anna > 0.98


def test_a_drawn_requirement_is_told_as_such(tmp_path: Path, pollinet: Pollinet) -> None:
    garden(tmp_path, GEISENHEIM, ("apple", "Golden Delicious"), ("apple", "Jonathan"))
    data = pollinet("chill", tmp_path / "plan.toml", "--json").data
    drawn = "For 1 limb none is published: it is drawn from the range of its fruit."
    assert data["answer"].endswith(drawn)
    limb = data["limbs"][1]
    assert (limb["needs_portions"], limb["enough"], limb["sources"]) == (None, None, [])
