"""A study derived from another against opening the changed plan file: equal to the byte.

The changed file is written by `pollinet.editing`, as the commands write it, and read anew.
"""

from __future__ import annotations

import json
import tomllib
from collections.abc import Callable, Mapping
from dataclasses import fields
from pathlib import Path
from typing import Any

import numpy as np
import pytest
from gardens import HEAD, NORMALS, made_weather, variety
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st

from pollinet import editing
from pollinet.answers.check import check_of
from pollinet.domain import Bloom, NetworkInput, Normals
from pollinet.errors import WrongChange
from pollinet.study import Study, open_study
from pollinet.weather.generated import generate_daily

SITE = '[site]\nlatitude = 46.4\nweather = "weather.csv"\nlost_neighbours = ["gone"]\n'
SLOPE = (
    SITE
    + """
[aim]
draws = 4
[[tree]]
id = "cherry"
species = "sweet cherry"
[[tree.limb]]
id = "known"
variety = "Van"
[[tree.limb]]
id = "C2"
variety = "Regina"
former_ids = ["C-old"]
[[tree.limb]]
id = "C3"
variety = "Bing"
[[tree]]
id = "apple"
species = "Apple"
spare_limbs = 1
[[tree.limb]]
id = "A1"
variety = "Golden Delicious"
[[tree.limb]]
id = "A2"
variety = "Jonagold"
crops = false
[[neighbour]]
species = "apple"
variety = "Discovery"
distance_m = 25
[[neighbour]]
species = "sour cherry"
variety = "Montmorency"
distance_m = 40
[[neighbour]]
id = "N3"
species = "sweet cherry"
variety = "Garnet"
distance_m = 12
[[scion]]
species = "sweet cherry"
variety = "Sam"
[[variety]]
species = "apple"
name = "Grandmother's"
s_genotype = "S1S5"
bloom = ["04-10", "04-20"]
"""
)

LOG = """date,limb,kind,value,unit,note
2021-04-10,known,stage,full,,
2021-04-20,known,stage,end,,
2022-04-14,C-old,stage,full,,
2022-04-16,C3,stage,full,,
2022-04-29,A1,stage,full,,
2023-05-02,A1,stage,full,,
2023-05-02,A2,stage,start,,
2023-05-02,neighbour-1,stage,full,,
2023-04-09,N3,stage,full,,
2023-04-09,gone,stage,full,,
"""

TYPED = (
    HEAD
    + '[[tree]]\nid = "tree"\nspecies = "apple"\nspare_limbs = 3\n'
    + "".join(f'[[tree.limb]]\nid = "{x}"\nvariety = "{x}"\n' for x in "PQR")
    + '[[tree]]\nid = "other"\nspecies = "apple"\n'
    + '[[tree.limb]]\nid = "T"\nvariety = "T"\n'
    + variety("P", "S1S2", [108, 118])
    + variety("Q", "S2S3", [110, 120])
    + variety("R", "S3S4", [121, 130]).replace("bloom_sd_days = 0", "bloom_sd_days = 2")
    + variety("T", "S1S3", [105, 113])
)

NUTS = (
    SITE
    + '[aim]\ndraws = 4\ndonors = 2\n[[tree]]\nid = "tree"\nspecies = "hazelnut"\n'
    + "".join(
        f'[[tree.limb]]\nid = "{name}"\nvariety = "{name}"\n'
        for name in ("Barcelona", "Ennis", "Butler")
    )
    + '[[neighbour]]\nspecies = "hazelnut"\nvariety = "Daviana"\ndistance_m = 30\n'
)

PLACED = (
    TYPED.replace('id = "tree"', 'id = "tree"\nposition_m = [0, 0]')
    .replace('id = "other"', 'id = "other"\nposition_m = [30, 40.5]')
    .replace('id = "Q"', 'id = "Q"\nbiennial = true')
    + '[[neighbour]]\nid = "N3"\nspecies = "apple"\nvariety = "T"\ndistance_m = 12.5\n'
    + "position_m = [10, -90]\nmay_be_felled = true\n"
    + '[[neighbour]]\nspecies = "apple"\nvariety = "R"\nposition_m = [0, 40]\nbiennial = true\n'
)

GARDENS: Mapping[str, tuple[str, str]] = {
    "slope": (SLOPE, ""),
    "noted": (SLOPE, LOG),
    "typed": (TYPED, ""),
    "placed": (PLACED, ""),
    "nuts": (NUTS, ""),
}
SPECIES = ("sweet cherry", "apple", "sour cherry", "hazelnut", "Kirsche", "cloudberry")
NAMES = {
    "slope": ("Van", "Kordia", "Lapins", "golden delicious", "Elstar", "Grandmother's", "Hudson",
              "Napoleon", "Royal Ann", "Montmorency", "Nobody's", "?"),
    "typed": ("P", "Q", "R", "T", "Gala"),
    "nuts": ("Ennis", "Butler", "Daviana", "Hall's Giant", "Jefferson", "Lewis"),
}  # fmt: skip
IDS = ("known", "C2", "C3", "A1", "A2", "P", "Q", "R", "T", "Ennis", "Butler", "new", "newer",
       "neighbour-1", "neighbour-2", "N3", "gone", "C-old")  # fmt: skip
TREES = ("cherry", "apple", "tree", "other", "nowhere")

Call = tuple[str, tuple[str, ...], dict[str, Any]]


@st.composite
def calls(draw: st.DrawFn, garden: str) -> list[Call]:
    """One to three changes of a garden; many can be made, some cannot."""
    names = st.sampled_from(NAMES[{"noted": "slope", "placed": "typed"}.get(garden, garden)])
    known = [name for name in IDS if name in GARDENS[garden][0] or name.startswith("ne")]
    ids = st.sampled_from(known)
    limb = st.fixed_dictionaries(
        {},
        optional={
            "variety": names,
            "tree": st.sampled_from([tree for tree in TREES if tree in GARDENS[garden][0]]),
            "grafted": st.sampled_from([None, 1999, 2021, 3000]),
            "crops": st.booleans(),
        },
    )
    tree = st.fixed_dictionaries(
        {
            "species": st.sampled_from(SPECIES),
            "variety": names,
            "distance_m": st.sampled_from([0, 12.5, 40, 99, 200, -1]),
        }
    )
    one = st.one_of(
        st.tuples(st.just("with_limb"), st.tuples(ids), limb),
        st.tuples(st.just("with_neighbour"), st.tuples(ids), tree),
        st.tuples(st.just("lose"), st.lists(ids, min_size=1, max_size=2).map(tuple), st.just({})),
    )
    return draw(st.lists(one, min_size=1, max_size=3))


def rewritten(text: str, call: Call, study: Study) -> str | None:
    """The plan file after a change; None where the file has no place for it."""
    method, ids, words = call
    spots = {
        (spot.kind, name): spot for name, spot in editing.spots(tomllib.loads(text))
        if spot.kind != "tree"
    }  # fmt: skip
    trees = [tree.id for tree in study.plan.trees]
    changes: list[editing.Change] = []
    if method == "lose":
        for name in dict.fromkeys(ids):
            made = _loss(text, name, study)
            if made is None:
                return None
            text = made
        return text
    (name,) = ids
    entry: dict[str, Any] = {key: value for key, value in words.items() if value is not None}
    if method == "with_neighbour":
        spot = spots.get(("neighbour", name))
        if spot is None:
            changes.append(editing.add_entry("neighbour", {"id": name, **entry}))
        else:
            (was,) = (tree.distance_m for tree in study.plan.neighbours if tree.id == name)
            # Another distance is another place.
            gone = {} if was == entry["distance_m"] else {"position_m": None}
            changes.append(editing.change_entry(spot, entry | gone))
    else:
        tree = entry.pop("tree", None)
        if tree is not None and tree not in trees:
            return None
        spot = spots.get(("limb", name))
        if spot is None:
            if tree is None:
                return None
            changes.append(editing.add_limb(trees.index(tree), {"id": name, **entry}))
        else:

            def change(data: Any) -> None:
                spot.entry(data).update(entry)
                if words.get("grafted", "") is None:
                    spot.entry(data).pop("grafted", None)

            changes.append(change)
            if tree is not None and tree != trees[spot.tree]:
                changes.append(editing.move_limb(spot, trees.index(tree)))
    for change in changes:
        made = editing.edited(text, change)
        assert made is not None
        text = made
    return text


def _loss(text: str, name: str, study: Study) -> str | None:
    spot, _ = editing.spot_named(tomllib.loads(text), name, ("limb", "neighbour"))
    if spot is None:
        return None
    in_log = name in study.records.named
    if spot.kind == "limb":
        return editing.edited(text, editing.remove_limb(spot, in_log=in_log))
    return editing.edited(text, editing.remove_neighbour(spot, name, in_log=in_log))


def same_bytes(mine: Bloom | NetworkInput, theirs: Bloom | NetworkInput) -> None:
    """Every array and every other field but what is looked up pair by pair."""
    for field in fields(mine):
        one, other = getattr(mine, field.name), getattr(theirs, field.name)
        if isinstance(one, np.ndarray):
            assert one.dtype == other.dtype, field.name
            assert one.shape == other.shape, field.name
            assert one.tobytes() == other.tobytes(), field.name
        elif field.name not in ("verdicts", "drawn"):
            assert one == other, field.name


def drawn(network: NetworkInput) -> tuple[object, ...]:
    """All that is drawn of crosses of which nobody knows whether they work."""
    unknown = [pair for pair, told in network.verdicts.items() if told.answer == "unknown"]
    assert network.drawn is not None
    donors, receivers = np.array(unknown, dtype=np.int64).reshape(-1, 2).T
    shares = network.drawn.fractions(donors, receivers)
    worst = [
        network.drawn.worst(donors[receivers == own].tolist(), own, least=1.0).tolist()
        for own in np.unique(receivers).tolist()
    ]
    return unknown, shares.shape, shares.tobytes(), worst


def equal(mine: Study, theirs: Study) -> None:
    assert mine.plan == theirs.plan
    assert mine.records == theirs.records
    assert mine.findings == theirs.findings
    same_bytes(mine.bloom, theirs.bloom)
    same_bytes(mine.network, theirs.network)
    assert dict(mine.network.verdicts) == dict(theirs.network.verdicts)
    assert drawn(mine.network) == drawn(theirs.network)
    assert mine.coverage == theirs.coverage
    assert json.dumps(check_of(mine).to_data()) == json.dumps(check_of(theirs).to_data())


@pytest.fixture(scope="module")
def folder(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """A folder with six made-up winters."""
    place = tmp_path_factory.mktemp("changes")
    made_weather(place / "weather.csv", NORMALS, 2019, 6, 46.4)
    return place


Opener = Callable[[str, str], Study | None]


@pytest.fixture(scope="module")
def opened(folder: Path) -> Opener:
    def read(text: str, log: str) -> Study | None:
        (folder / "plan.toml").write_text(text, encoding="utf-8")
        (folder / "records.csv").write_text(log or "date,limb,kind,value\n", encoding="utf-8")
        return open_study(folder / "plan.toml").study

    return read


@pytest.fixture(scope="module")
def bases(opened: Opener) -> Mapping[str, Study]:
    """The gardens as they stand, looked at before anything is changed."""
    found = {}
    for name, (text, log) in GARDENS.items():
        study = opened(text, log)
        assert study is not None
        assert study.coverage
        found[name] = study
    return found


@settings(
    max_examples=200, deadline=None, suppress_health_check=[HealthCheck.function_scoped_fixture]
)
@given(data=st.data(), garden=st.sampled_from(sorted(GARDENS)))
def test_a_derived_study_is_that_of_the_changed_plan(
    data: st.DataObject, garden: str, bases: Mapping[str, Study], opened: Opener
) -> None:
    (text, log), study = GARDENS[garden], bases[garden]
    for call in data.draw(calls(garden)):
        made = rewritten(text, call, study)
        method, ids, words = call
        try:
            changed = getattr(study, method)(*ids, **words)
        except WrongChange as wrong:
            assert all(found.severity == "error" for found in wrong.findings if found.cure)
            assert made is None or opened(made, log) is None
            continue
        assert made is not None
        study, text = changed, made
    read = opened(text, log)
    assert read is not None
    equal(study, read)


def test_what_does_not_change_is_the_very_same(opened: Opener) -> None:
    base = opened(*GARDENS["slope"])
    assert base is not None
    assert base.coverage
    changed = base.with_limb("C3", variety="Kordia")
    assert changed.winters is base.winters
    assert changed.sums is base.sums
    assert changed.chill_supply is base.chill_supply
    third = [node.id for node in base.network.nodes].index("C3")
    for before, after in zip(base.coverage, changed.coverage, strict=True):
        if before.node != third:
            seen = {id(one) for one in (*after.donors, *after.refusals)}
            kept = [one for one in (*before.donors, *before.refusals) if one.node != third]
            assert len(kept) > 4
            assert all(id(one) in seen for one in kept)


def test_a_warmer_garden_is_changed_as_a_cold_one(
    bases: Mapping[str, Study], opened: Opener
) -> None:
    text, log = GARDENS["noted"]
    mine = bases["noted"].warmer(1.5).with_limb("C3", variety="Kordia").lose("N3")
    made = rewritten(text, ("with_limb", ("C3",), {"variety": "Kordia"}), bases["noted"])
    assert made is not None
    made = rewritten(made, ("lose", ("N3",), {}), bases["noted"])
    assert made is not None
    read = opened(made, log)
    assert read is not None
    equal(mine, read.warmer(1.5))
    assert mine.warming is not None
    assert read.warming is not None
    assert mine.warming.tobytes() == read.warming.tobytes()


@pytest.mark.parametrize(
    ("method", "ids", "words", "code"),
    [
        ("with_limb", ("C33",), {"variety": "Van"}, "unknown-limb"),
        ("with_limb", ("C4",), {"variety": "Van", "tree": "chery"}, "unknown-tree"),
        ("with_limb", ("C4",), {"tree": "cherry"}, "missing-key"),
        ("with_limb", ("C3",), {"variety": "Kordja"}, "unknown-variety"),
        ("with_limb", ("C-old",), {"variety": "Van", "tree": "cherry"}, "repeated-id"),
        ("with_limb", ("gone",), {"variety": "Van", "tree": "cherry"}, "repeated-id"),
        ("with_limb", ("C3",), {"grafted": 30}, "wrong-value"),
        ("lose", ("A1", "A2"), {}, "empty-tree"),
        ("lose", ("A1", "A9"), {}, "unknown-limb"),
    ],
)
def test_a_bad_change_says_what_is_wrong(
    bases: Mapping[str, Study],
    method: str,
    ids: tuple[str, ...],
    words: dict[str, Any],
    code: str,
) -> None:
    with pytest.raises(WrongChange) as wrong:
        getattr(bases["noted"], method)(*ids, **words)
    assert [found.code for found in wrong.value.findings] == [code]


def test_the_nearest_name_is_told(bases: Mapping[str, Study]) -> None:
    with pytest.raises(WrongChange) as wrong:
        bases["slope"].with_limb("A1", variety="Elstr")
    assert "Elstar" in wrong.value.findings[0].cure


def test_what_is_wrong_in_own_tables_of_a_fruit_comes_and_goes_with_it(tmp_path: Path) -> None:
    """A spelling of the own table of sour cherries is told only where a plan has sour cherries."""
    table = tmp_path / "catalogues" / "sour_cherry" / "facts.csv"
    table.parent.mkdir(parents=True)
    head = "variety,property,value,unit,context,source,status,note\n"
    row = "Montmorencys,vigour,low,,,own,plan,\n"
    table.write_text(head + row + row, encoding="utf-8")
    parts = (HEAD, '[[tree]]\nid = "tree"\nspecies = "apple"\n[[tree.limb]]\nid = "P"\n',
             'variety = "P"\n', variety("P", "S1S2", [108, 118]))  # fmt: skip
    (tmp_path / "plan.toml").write_text("".join(parts), encoding="utf-8")
    near = '[[neighbour]]\nid = "n"\nspecies = "sour cherry"\nvariety = "Montmorency"\n'
    near += "distance_m = 9\n"
    (tmp_path / "more.toml").write_text("".join(parts) + near, encoding="utf-8")
    without, with_it = (open_study(tmp_path / name).study for name in ("plan.toml", "more.toml"))
    assert without is not None and with_it is not None
    about = {one.code for one in with_it.findings} - {one.code for one in without.findings}
    assert about
    added = without.with_neighbour("n", species="sour cherry", variety="Montmorency", distance_m=9)
    codes = [(one.code, one.message) for one in added.findings]
    assert codes == [(one.code, one.message) for one in with_it.findings]
    gone = with_it.lose("n")
    assert [one.code for one in gone.findings] == [one.code for one in without.findings]


def test_the_last_tree_is_not_lost(tmp_path: Path) -> None:
    one = '[[tree]]\nid = "tree"\nspecies = "apple"\n[[tree.limb]]\nid = "P"\nvariety = "P"\n'
    path = tmp_path / "plan.toml"
    path.write_text(HEAD + one + variety("P", "S1S2", [108, 118]), encoding="utf-8")
    study = open_study(path).study
    assert study is not None
    with pytest.raises(WrongChange) as wrong:
        study.lose_tree("tree")
    assert [found.code for found in wrong.value.findings] == ["empty-tree"]


def test_bloom_of_several_springs_and_weather_are_not_mixed(tmp_path: Path) -> None:
    made = generate_daily(
        Normals((-2.0,) * 3 + (5.0,) * 6 + (-1.0,) * 3, (6.0,) * 3 + (20.0,) * 6 + (5.0,) * 3),
        first_harvest_year=2001, winters=3, latitude=47.0, seed=1,
    )  # fmt: skip
    lines = zip(made.dates.tolist(), made.tmin_c, made.tmax_c, strict=True)
    rows = "".join(f"{day},{low:.1f},{high:.1f}\n" for day, low, high in lines)
    (tmp_path / "w.csv").write_text("date,tmin_c,tmax_c\n" + rows, encoding="utf-8")
    path = tmp_path / "plan.toml"
    text = TYPED.replace("latitude = 47", 'latitude = 47\nweather = "w.csv"')
    for first, last in ((108, 118), (110, 120), (121, 130), (105, 113)):
        two = f"[[{first}, {last}], [{first + 1}, {last + 1}]]"
        text = text.replace(f"[{first}, {last}]", two)
    path.write_text(text, encoding="utf-8")
    opened = open_study(path)
    assert opened.study is None
    assert "springs-and-weather" in [one.code for one in opened.findings]
    path.write_text(path.read_text(encoding="utf-8").replace('weather = "w.csv"\n', ""), "utf-8")
    assert open_study(path).study is not None


def test_a_variety_typed_for_other_springs_cannot_come_in(tmp_path: Path) -> None:
    text = TYPED.replace("[108, 118]", "[[108, 118], [109, 119]]")
    only = (
        text.replace("[110, 120]", "[[110, 120], [111, 121]]")
        .replace("[105, 113]", "[[105, 113], [106, 114]]")
        .replace('[[tree.limb]]\nid = "R"\nvariety = "R"\n', "")
    )
    path = tmp_path / "plan.toml"
    path.write_text(only, encoding="utf-8")
    study = open_study(path).study
    assert study is not None
    with pytest.raises(WrongChange) as wrong:
        study.with_limb("P", variety="R")
    assert [found.code for found in wrong.value.findings] == ["unequal-springs"]
