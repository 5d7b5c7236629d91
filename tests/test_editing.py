"""Changes to the text of a plan, against the standard library's reader and against the text."""

from __future__ import annotations

import difflib
import tomllib
from importlib.resources import files

import pytest
from hypothesis import given
from hypothesis import strategies as st

from pollinet.editing import (
    Change,
    Spot,
    add_entry,
    add_limb,
    change_aim,
    changed_text,
    edited,
    move_limb,
    remove_entry,
    remove_limb,
    remove_neighbour,
    rename,
    spot_named,
    spots,
)
from pollinet.errors import WrongChange

DEMO = files("pollinet").joinpath("demo_plan.toml").read_text(encoding="utf-8")
SPOTS = dict(spots(tomllib.loads(DEMO)))
LIMB = {"id": "new", "variety": "Kordia", "grafted": 2026}
LIMBS = [name for name, spot in SPOTS.items() if spot.kind == "limb"]
ANY_NAMED = [*LIMBS, "neighbour-1", "neighbour-2", "apple", "cherry"]


def made(text: str, change: Change) -> str:
    new = edited(text, change)
    assert new is not None
    return new


def lines(text: str, change: Change) -> list[str]:
    """Lines taken away and added, as the standard library compares texts."""
    rows = difflib.ndiff(text.splitlines(), made(text, change).splitlines())
    return [row for row in rows if row[0] in "+-"]


def test_a_new_limb_stands_with_its_tree_above_the_next_heading() -> None:
    assert lines(DEMO, add_limb(1, LIMB)) == [
        "- spare_limbs = 1",
        "+ spare_limbs = 0",
        "+ ",
        "+ [[tree.limb]]",
        '+ id = "new"',
        '+ variety = "Kordia"',
        "+ grafted = 2026",
    ]
    text = made(DEMO, add_limb(1, LIMB))
    assert text.index('id = "new"') < text.index("# --- next door")


def test_the_last_limb_leaves_the_heading_below_it() -> None:
    assert lines(DEMO, remove_limb(SPOTS["C-top"], in_log=False)) == [
        "- [[tree.limb]]",
        '- id = "C-top"',
        '- variety = "Garnet"',
        "- grafted = 2020",
        "- ",
    ]


def test_remarks_survive_the_removal_of_a_first_limb() -> None:
    text = DEMO.replace(
        'variety = "Golden Delicious"\n', 'variety = "Golden Delicious"\n\n# west\n'
    )
    assert "# west" in made(text, remove_limb(SPOTS["A-low-south"], in_log=False))


def test_the_last_tree_next_door_leaves_the_heading_below_it() -> None:
    last = made(DEMO, remove_neighbour(Spot("neighbour", 1), "neighbour-2", in_log=False))
    text = made(last, remove_neighbour(Spot("neighbour", 0), "neighbour-1", in_log=False))
    gone = [row for row in difflib.ndiff(DEMO.splitlines(), text.splitlines()) if row[0] in "+-"]
    assert not [row for row in gone if row.startswith(("+", "- #"))]
    assert "[[neighbour]]" not in text and "\n\n# --- scions at hand" in text
    # Nothing stands above the list that the remark below it could be put behind.
    first = "[[neighbour]]\nx = 1\n\n# scions\n[[scion]]\ny = 1\n"
    assert edited(first, remove_neighbour(Spot("neighbour", 0), "a", in_log=False)) is None


def test_a_new_id_keeps_the_remark_beside_it() -> None:
    text = DEMO.replace('id = "A-top"', 'id = "A-top"   # reached by ladder')
    new = made(text, rename(SPOTS["A-top"], "A-top", "summit", in_log=True))
    assert 'id = "summit"   # reached by ladder' in new
    assert 'former_ids = ["A-top"]' in new


def test_two_renames_keep_both_ids_and_a_rename_back_drops_its_own() -> None:
    text = made(DEMO, rename(SPOTS["A-top"], "A-top", "x", in_log=True))
    text = made(text, rename(SPOTS["A-top"], "x", "y", in_log=True))
    limb = SPOTS["A-top"].entry(tomllib.loads(text))
    assert (limb["id"], limb["former_ids"]) == ("y", ["A-top", "x"])
    back = made(text, rename(SPOTS["A-top"], "y", "A-top", in_log=False))
    assert SPOTS["A-top"].entry(tomllib.loads(back))["former_ids"] == ["x"]


def test_a_removed_limb_hands_all_its_ids_to_the_tree() -> None:
    text = made(DEMO, rename(SPOTS["A-top"], "A-top", "x", in_log=True))
    tree = tomllib.loads(made(text, remove_limb(SPOTS["A-top"], in_log=True)))["tree"][0]
    assert tree["lost_limbs"] == ["A-top", "x"]


def test_a_removed_neighbour_takes_nothing_with_it() -> None:
    next_door = '[[neighbour]]\nspecies = "apple"\nvariety = "Gala"\ndistance_m = {}  # {} m\n'
    text = (
        "[site]\nlatitude = 47  # a hill\n\n[site.normals]\ntmin_c = []\n\n# trees next door\n"
        + "".join(next_door.format(metres, metres) for metres in (8, 9, 10))
    )
    first, last = Spot("neighbour", 0), Spot("neighbour", 2)
    quiet = made(text, remove_neighbour(last, "neighbour-3", in_log=False))
    assert quiet == text.replace(next_door.format(10, 10), "")
    noted = made(text, remove_neighbour(first, "neighbour-1", in_log=True))
    assert "# trees next door" in noted and "# a hill" in noted and "# 9 m" in noted
    data = tomllib.loads(noted)
    assert data["site"]["lost_neighbours"] == ["neighbour-1"]
    # Those that were called by their place keep that name.
    assert [tree["id"] for tree in data["neighbour"]] == ["neighbour-2", "neighbour-3"]


@pytest.mark.parametrize("end", ["\n", "\r\n"])
def test_line_ends_stay(end: str) -> None:
    new = made(DEMO.replace("\n", end), add_entry("scion", {"species": "apple", "variety": "Gala"}))
    assert new.count("\n") == new.count(end)


def test_inline_tables_and_plans_without_a_list_can_be_changed() -> None:
    inline = 'tree = [{id = "a", species = "apple", limb = [{id = "l", variety = "Gala"}]}]'
    assert [e["id"] for e in tomllib.loads(made(inline, add_limb(0, LIMB)))["tree"][0]["limb"]] == [
        "l",
        "new",
    ]
    entry = {"species": "apple", "variety": "Gala", "distance_m": 8}
    assert tomllib.loads(made(inline, add_entry("neighbour", entry)))["neighbour"] == [entry]


def test_a_scattered_layout_is_left_alone() -> None:
    tree = '[[tree]]\nid = "{0}"\nspecies = "apple"\n[[tree.limb]]\nid = "{0}1"\nvariety = "Gala"\n'
    text = tree.format("a") + '[[scion]]\nspecies = "apple"\nvariety = "Elstar"\n'
    assert edited(text + tree.format("b"), add_limb(1, LIMB)) is None


def test_names_that_are_not_there_or_mean_two_things() -> None:
    data = tomllib.loads(DEMO.replace('id = "A-top"', 'id = "apple"'))
    found, problem = spot_named(data, "A-topp", ["limb"])
    assert found is None and problem is not None and problem.code == "unknown-limb"
    found, problem = spot_named(data, "apple", ["limb", "tree"])
    assert found is None and problem is not None and problem.code == "ambiguous-id"
    found, _ = spot_named(data, "apple", ["tree"])
    assert found == SPOTS["apple"]


changes = st.one_of(
    st.builds(add_limb, st.sampled_from([0, 1]), st.just(LIMB)),
    st.builds(remove_limb, st.sampled_from([SPOTS[x] for x in LIMBS]), in_log=st.booleans()),
    st.builds(move_limb, st.sampled_from([SPOTS[x] for x in LIMBS]), st.sampled_from([0, 1])),
    st.sampled_from(ANY_NAMED).flatmap(
        lambda name: st.builds(
            rename, st.just(SPOTS[name]), st.just(name), st.text(min_size=1), in_log=st.booleans()
        )
    ),
    st.builds(
        add_entry,
        st.sampled_from(["neighbour", "scion"]),
        st.fixed_dictionaries({"species": st.just("apple"), "variety": st.text()}),
    ),
)


@given(changes, st.sampled_from([0, 1, 5, 12, 17, 22, 28, 40, 52, 58, 60, 63, 72, 90]))
def test_any_change_reads_as_intended_and_keeps_every_remark(change: Change, place: int) -> None:
    """The intended data are made by the same change on what the standard library reads."""
    rows = DEMO.splitlines()
    text = "\n".join([*rows[:place], "# a remark of one's own", *rows[place:]]) + "\n"
    wanted = tomllib.loads(text)
    change(wanted)
    new = made(text, change)
    assert tomllib.loads(new) == {key: value for key, value in wanted.items() if value != []}
    own_lines = [row for row in text.splitlines() if row.startswith("# ")]
    kept = [row for row in new.splitlines() if row.startswith("# ")]
    gone = set(own_lines) - set(kept)
    # Only a remark in the middle of a limb goes with it when the limb goes.
    assert gone <= {"# a remark of one's own"}


def test_aims_come_into_a_plan_with_or_without_any() -> None:
    for text in (DEMO, '[[tree]]\nid = "t"\n\n[[tree.limb]]\nid = "x"\n', "", "# mine\n"):
        new = made(text, change_aim({"level": 0.6, "donors": 2}))
        before, after = tomllib.loads(text), tomllib.loads(new)
        assert after.pop("aim") == before.pop("aim", {}) | {"level": 0.6, "donors": 2}
        assert before == after
        assert {x for x in text.splitlines() if x.startswith("#")} <= set(new.splitlines())


def test_a_rename_to_the_only_former_id_leaves_none() -> None:
    text = made(DEMO, rename(SPOTS["A-top"], "A-top", "x", in_log=True))
    back = made(text, rename(SPOTS["A-top"], "x", "A-top", in_log=False))
    assert tomllib.loads(back) == tomllib.loads(DEMO)


def test_a_change_that_the_layout_does_not_allow_is_told_with_the_file() -> None:
    scattered = "[[a]]\nx = 1\n[[b]]\ny = 1\n[[a]]\nx = 2\n"
    with pytest.raises(WrongChange) as told:
        changed_text(scattered, change_aim({"level": 0.6}), "garden.toml")
    (finding,) = told.value.findings
    assert (finding.severity, finding.file) == ("error", "garden.toml")
    assert changed_text(DEMO, change_aim({"level": 0.6}), "garden.toml") == made(
        DEMO, change_aim({"level": 0.6})
    )


@pytest.mark.parametrize(
    "above", ["", "# a remark\n", "\n", "\n# a remark\n\n", "key = 1\n", "key = 1 # own\n"]
)
@pytest.mark.parametrize(
    "below", ["", "# its own\n", "\n# below\n", "\n\n# below\n\n# more\n", "# its own\n\n# below\n"]
)
@pytest.mark.parametrize("which", [0, 1, 2])
def test_remarks_around_an_entry_that_goes_stay_whatever_stands_above(
    above: str, below: str, which: int
) -> None:
    entries = [f"[[scion]]\nx = {x}\n{below}" for x in range(3)]
    text = f"[site]\nlatitude = 47\n{above}" + "".join(entries) + "[[tree]]\nid = 1\n"
    new = edited(text, remove_entry("scion", which))
    assert new is not None
    assert tomllib.loads(new)["scion"] == [{"x": x} for x in range(3) if x != which]
    remarks = [line for line in text.splitlines() if line.startswith("#")]
    # What stands right under its last line, without a blank one between, is about it and goes.
    if "# its own" in remarks:
        remarks.pop([i for i, x in enumerate(remarks) if x == "# its own"][which])
    assert [line for line in new.splitlines() if line.startswith("#")] == remarks


@pytest.mark.parametrize(
    "above",
    ["# top\n", "# top\n\n", "\n# top\n", "[site]\na = 1\n# top\n", "[site]\na = 1\n\n# top\n",
     "key = 1\n", "key = 1  # top\n\n"],
)  # fmt: skip
@pytest.mark.parametrize("below", ["", "\n# below\n", "\n\n# below\n\n# more\n"])
def test_remarks_round_a_list_that_goes_as_a_whole_stay(above: str, below: str) -> None:
    text = f"{above}[[scion]]\nx = 1\n{below}[[tree]]\nid = 1\n\n# last\n[[neighbour]]\ny = 1\n"
    new = edited(text, remove_entry("scion", 0))
    assert new is not None
    rest = tomllib.loads(text)
    del rest["scion"]
    assert tomllib.loads(new) == rest
    remarks = [line for line in text.splitlines() if "#" in line]
    assert [line for line in new.splitlines() if "#" in line] == remarks
