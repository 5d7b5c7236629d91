"""Place and weather of a plan: moved by a form, a record dropped in or told to be none."""

from __future__ import annotations

import io
import re
from pathlib import Path

import pytest
from gardens import saved
from visitor import Visitor

from pollinet.page.entries import climate_at, place_of
from pollinet.study import open_plan

PLAN = """\
[site] # where
name = "hill"
latitude = 46.4
longitude = 7.5
elevation_m = 500

[[tree]]
id = "tree"
species = "apple"

[[tree.limb]]
id = "low"
variety = "Jonathan"
"""


def record(years: int = 3) -> bytes:
    """A plausible record of a cool place: a plain wave a year."""
    from datetime import date, timedelta
    from math import cos, pi

    rows = ["date,tmin,tmax"]
    for number in range(365 * years):
        day = date(2001, 1, 1) + timedelta(number)
        mean = 9 - 10 * cos(2 * pi * (number - 20) / 365.25) + 3 * cos(number * 1.7)
        rows.append(f"{day},{mean - 4.5:.1f},{mean + 4.5:.1f}")
    return "\n".join(rows).encode()


@pytest.fixture
def plan(tmp_path: Path) -> Path:
    return saved(tmp_path, PLAN)


@pytest.fixture
def visitor(plan: Path) -> Visitor:
    return Visitor(plan).go("/place")


def upload(visitor: Visitor, name: str, content: bytes) -> Visitor:
    visitor.go("/place")
    digest = re.findall(r'name="digest" value="(\w+)"', visitor.text)[0]
    return visitor.send(
        "/place/weather", files=True, digest=digest, record=(io.BytesIO(content), name)
    )


def test_stations_are_told_and_the_place_can_be_moved(plan: Path, visitor: Visitor) -> None:
    assert "made from the weather stations near it" in visitor.words and "km" in visitor.words
    visitor.fill("/place", latitude="46° 30' N", longitude="7,25", elevation_m="", act="next")
    assert visitor.at == "/place" and "Written into the plan." in visitor.words
    text = plan.read_text()
    assert "[site] # where" in text and "latitude = 46.5" in text and "longitude = 7.25" in text
    assert "elevation_m" not in text


def test_a_wrong_place_is_told_and_not_written(plan: Path, visitor: Visitor) -> None:
    for values, told in (({"latitude": "99"}, "allowed is"), ({"elevation_m": "x"}, "no number")):
        visitor.go("/place").fill("/place", **values, act="next")
        assert visitor.code == 422 and told in visitor.words
    assert plan.read_text() == PLAN


@pytest.mark.parametrize(
    ("name", "kept"),
    [
        ("my weather.csv", "my-weather.csv"),
        ("../../etc/Passwd", "passwd.txt"),
        ("records.csv", "weather-records.csv"),
        ("plan.toml", "plan.txt"),
        ("con.csv", "_con.csv"),
        ("מזג/אוויר.csv", "אוויר.csv"),
        ("x" * 300 + ".csv", "x" * 80 + ".csv"),
    ],
)
def test_a_record_is_copied_under_a_safe_name(
    plan: Path, visitor: Visitor, name: str, kept: str
) -> None:
    upload(visitor, name, record())
    assert visitor.code == 200, visitor.words
    assert (plan.parent / kept).read_bytes() == record()
    assert sorted(file.name for file in plan.parent.iterdir()) == sorted(["plan.toml", kept])
    made, _, _ = open_plan(plan)
    assert made is not None and made.weather_file == kept
    assert f"rest on the record {kept}" in visitor.words


def test_a_record_of_many_years(plan: Path, visitor: Visitor) -> None:
    long = record(40)
    assert len(long) > 200_000
    assert upload(visitor, "long.csv", long).code == 200
    assert (plan.parent / "long.csv").read_bytes() == long


def test_a_record_never_takes_the_place_of_a_file(plan: Path, visitor: Visitor) -> None:
    (plan.parent / "site.csv").write_text("mine")
    upload(visitor, "site.csv", record())
    assert (plan.parent / "site.csv").read_text() == "mine"
    assert (plan.parent / "site-2.csv").read_bytes() == record()
    # The same once more is not copied again.
    upload(visitor, "site.csv", record())
    assert not (plan.parent / "site-3.csv").exists()
    visitor.fill("/place/stations")
    assert "weather =" not in plan.read_text() and "weather stations" in visitor.words


@pytest.mark.parametrize(
    ("name", "content", "told"),
    [
        ("a.csv", b"", "The weather file is empty."),
        ("a.csv", b"hello\nworld\n", "no known weather format"),
        ("a.png", b"\x89PNG\r\n\0\0\0" * 50, "not a text file"),
        ("a.csv", b"date,tmin,tmax\n2001-01-01,9,3\n", "a.csv"),
        ("<script>.csv", b"no", "no known weather format"),
    ],
)
def test_a_wrong_record_is_told_and_nothing_is_kept(
    plan: Path, visitor: Visitor, name: str, content: bytes, told: str
) -> None:
    upload(visitor, name, content)
    assert visitor.code == 422 and told in visitor.words
    assert "<script>.csv" not in visitor.text
    assert [file.name for file in plan.parent.iterdir()] == ["plan.toml"]
    assert plan.read_text() == PLAN


def test_addresses_of_forms_lead_to_the_screen(visitor: Visitor) -> None:
    assert visitor.go("/place/weather").at == visitor.go("/place/stations").at == "/place"


def test_no_file_and_a_file_that_is_too_large(plan: Path, visitor: Visitor) -> None:
    visitor.send("/place/weather", files=True)
    assert visitor.code == 422 and "choose a file first" in visitor.words
    visitor.app.config["MAX_CONTENT_LENGTH"] = 10_000
    upload(visitor, "large.csv", b"x" * 20_000)
    assert visitor.code == 413
    assert [file.name for file in plan.parent.iterdir()] == ["plan.toml"]


def test_a_hand_edit_meanwhile_is_found_and_nothing_is_kept(plan: Path, visitor: Visitor) -> None:
    digest = re.findall(r'name="digest" value="(\w+)"', visitor.text)[0]
    plan.write_text(PLAN + "# more\n")
    sent = (io.BytesIO(record()), "site.csv")
    visitor.send("/place/weather", files=True, digest=digest, record=sent)
    assert visitor.code == 409
    visitor.send("/place/stations", digest=digest)
    assert visitor.code == 409
    visitor.send("/place", digest=digest, latitude="40", longitude="8")
    assert visitor.code == 409
    assert [file.name for file in plan.parent.iterdir()] == ["plan.toml"]
    assert plan.read_text() == PLAN + "# more\n"


def test_a_plan_without_a_place(plan: Path) -> None:
    """One that rests on typed dates stays so, and can be told its place."""
    bare = PLAN[PLAN.index("[[tree]]") :]
    own = '[[variety]]\nspecies = "apple"\nname = "Jonathan"\nbloom = ["04-20", "05-02"]\n'
    plan.write_text(bare + own)
    visitor = Visitor(plan).go("/place")
    assert "There is no weather" in visitor.words
    visitor.fill("/place", latitude="46.4", longitude="7.5", act="next")
    assert visitor.code == 200 and "weather stations near it" in visitor.words
    assert "[site]" in plan.read_text()


def test_a_record_that_a_plan_cannot_take_is_not_kept(plan: Path) -> None:
    """Bloom typed for two springs goes with no weather: the plan stays, and the file goes."""
    springs = 'bloom = [["04-20", "05-02"], ["04-22", "05-04"]]\n'
    own = f'[[variety]]\nspecies = "apple"\nname = "Jonathan"\n{springs}'
    plan.write_text(PLAN + own)
    visitor = Visitor(plan).go("/place")
    upload(visitor, "site.csv", record())
    assert visitor.code == 422 and "several springs" in visitor.words
    assert [file.name for file in plan.parent.iterdir()] == ["plan.toml"]
    assert plan.read_text() == PLAN + own


def test_the_height_of_the_nearest_station_is_proposed_and_not_written(
    plan: Path, visitor: Visitor
) -> None:
    visitor.fill("/place", latitude="47.4", longitude="8.6", elevation_m="", act="height")
    assert visitor.code == 200 and "Written" not in visitor.words
    proposed = float(visitor.form("/place").values["elevation_m"])
    near = climate_at(place_of({"latitude": "47.4", "longitude": "8.6"}))
    assert near is not None and proposed == round(near.nearest[0].elevation_m)
    assert plan.read_text() == PLAN
