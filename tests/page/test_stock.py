"""Changing what stands in a plan by forms: checked, remarks kept, hand edits found, taken back."""

from __future__ import annotations

import re
from pathlib import Path
from urllib.parse import unquote_plus

import pytest
from gardens import saved
from visitor import Visitor

from pollinet import editing
from pollinet.findings import Finding
from pollinet.study import open_plan

PLAN = """\
# my garden
[site]
name = "hill"
latitude = 46.4
longitude = 7.5

[[tree]] # the old one
id = "old tree"
species = "apple"
spare_limbs = 2

[[tree.limb]]
id = "a/b: c?"
variety = "Jonathan"

[[tree.limb]]
id = "top"
variety = "Golden Delicious"
grafted = 2019 # by my father

[[tree]]
id = "young"
species = "apple"

[[tree.limb]]
id = "young-1"
variety = "Discovery"

[[neighbour]]
species = "apple"
variety = "Idared"
distance_m = 20

# wood
[[scion]]
species = "apple"
variety = "Spartan"

[[variety]]
species = "apple"
name = "Jonathan"
bloom = ["04-20", "05-02"]
"""


@pytest.fixture
def plan(tmp_path: Path) -> Path:
    return saved(tmp_path, PLAN)


@pytest.fixture
def visitor(plan: Path) -> Visitor:
    return Visitor(plan).go("/stock")


def change(visitor: Visitor, kind: str, name: str, act: str, **values: str) -> Visitor:
    visitor.go("/stock").go(f"/stock/entry?kind={kind}&name={name}")
    (digest,) = {*re.findall(r'name="digest" value="(\w+)"', visitor.text)} or {""}
    return visitor.send(
        "/stock/entry", digest=digest, kind=kind, name=unquote_plus(name), act=act, **values
    )


def test_the_list_names_all(visitor: Visitor) -> None:
    for words in ("a/b: c? · Jonathan", "grafted 2019", "room for 2 more grafts",
                  "neighbour-1 · apple · Idared · 20 m away", "Spartan"):  # fmt: skip
        assert words in visitor.words.replace("  ", " ")
    # Every entry's own page opens, whatever its id.
    for address in re.findall(r'href="(/stock/entry[^"]+)"', visitor.text):
        page = visitor.go(address.replace("&amp;", "&"))
        assert (page.at, page.code) == ("/stock/entry", 200)


def test_adding_of_every_kind_keeps_remarks(plan: Path, visitor: Visitor) -> None:
    visitor.go("/stock/add/limb?tree=old+tree").fill("/add/limb", variety="Cox", grafted="2021")
    assert visitor.at == "/stock" and "Written into the plan." in visitor.words
    visitor.go("/stock/add/tree?fruit=pear").fill("/add/tree", variety="Conference", spare="1")
    visitor.go("/stock/add/neighbour?fruit=pear")
    visitor.fill("/add/neighbour", variety="Williams", metres="12,5", id="<b>fence</b>")
    assert "<b>fence" not in visitor.text and "<b>fence</b>" in visitor.words
    visitor.go("/stock/add/scion?fruit=apple").fill("/add/scion", variety="Idared")
    text = plan.read_text(encoding="utf-8")
    for remark in ("# my garden", "# the old one", "# by my father", "# wood"):
        assert remark in text
    made, _, findings = open_plan(plan)
    assert made is not None and not [one for one in findings if one.severity == "error"]
    limbs = {limb.id: (limb.variety.name, limb.grafted) for limb in made.limbs}
    assert limbs["old tree-1"][1] == 2021 and limbs["pear-1"] == ("Conference", None)
    assert made.trees[0].spare_limbs == 1 and made.trees[2].spare_limbs == 1
    assert made.neighbours[1].distance_m == 12.5
    assert [one.variety.name for one in made.scions] == ["Spartan", "Idared"]


def test_an_unknown_variety_is_taken_on_confirmation(plan: Path, visitor: Visitor) -> None:
    visitor.go("/stock/add/limb?tree=young").fill("/add/limb", variety="Quincunx 7/8")
    assert visitor.code == 422 and "is no variety of apple known here" in visitor.words
    assert plan.read_text() == PLAN
    visitor.fill("/add/limb", own="1")
    made, _, _ = open_plan(plan)
    assert made is not None
    assert [v.id.name for v in made.own_varieties] == ["Jonathan", "Quincunx 7/8"]
    assert "Quincunx 7/8" in visitor.words


@pytest.mark.parametrize(
    ("address", "values", "told"),
    [
        ("limb?tree=young", {"variety": "Spartan", "id": "top"}, "stands 2 times"),
        ("limb?tree=young", {"variety": "Spartan", "grafted": "3000"}, "allowed is 1800 to 2200"),
        ("limb?tree=young", {"variety": "Spartan", "tree": "gone"}, 'there is no tree "gone"'),
        ("tree?fruit=apple", {"variety": "Spartan", "id": "young"}, "stands 2 times"),
        ("neighbour?fruit=apple", {"variety": "?", "metres": "-3"}, "allowed is 0 to 5000"),
        ("scion?fruit=apple", {"variety": " "}, "this must be filled in"),
    ],
)
def test_what_is_wrong_is_told_and_not_written(
    plan: Path, visitor: Visitor, address: str, values: dict[str, str], told: str
) -> None:
    visitor.go(f"/stock/add/{address}").fill(f"/add/{address.partition('?')[0]}", **values)
    assert visitor.code == 422 and told in visitor.words
    assert plan.read_text() == PLAN


def test_a_year_to_come_is_written_and_doubted(visitor: Visitor) -> None:
    visitor.go("/stock/add/limb?tree=young").fill("/add/limb", variety="Spartan", grafted="2199")
    assert visitor.at == "/stock" and "more than a year ahead" in visitor.words


def test_renaming_moving_and_numbers(plan: Path, visitor: Visitor) -> None:
    change(visitor, "limb", "a%2Fb%3A+c%3F", "rename", new="תחתון/1")
    assert visitor.code == 200 and "תחתון/1" in visitor.words
    change(visitor, "limb", "top", "move", tree="young")
    change(visitor, "limb", "top", "number", value="2018")
    change(visitor, "tree", "young", "number", value="4")
    change(visitor, "neighbour", "neighbour-1", "number", value="17,5")
    change(visitor, "tree", "young", "rename", new="new")
    made, _, _ = open_plan(plan)
    assert made is not None
    assert [(tree.id, [limb.id for limb in tree.limbs]) for tree in made.trees] == [
        ("old tree", ["תחתון/1"]), ("new", ["young-1", "top"])]  # fmt: skip
    assert made.trees[1].spare_limbs == 4 and made.neighbours[0].distance_m == 17.5
    assert "grafted = 2018 # by my father" in plan.read_text(encoding="utf-8")


@pytest.mark.parametrize(
    ("kind", "name", "values", "told"),
    [
        ("limb", "top", {"act": "rename", "new": "young-1"}, "stands 2 times"),
        ("limb", "top", {"act": "rename", "new": "  "}, "allowed is a text that is not empty"),
        ("limb", "top", {"act": "number", "value": "soon"}, '"soon" is no number'),
        ("limb", "top", {"act": "move", "tree": "gone"}, 'has no tree "gone"'),
        ("tree", "young", {"act": "number", "value": "1,5"}, "a whole number"),
    ],
)
def test_a_wrong_change_is_told(
    plan: Path, visitor: Visitor, kind: str, name: str, values: dict[str, str], told: str
) -> None:
    change(visitor, kind, name, **values)
    assert visitor.code == 422 and told in visitor.words
    assert plan.read_text() == PLAN


def test_removing_and_what_the_log_remembers(plan: Path, visitor: Visitor) -> None:
    log = "date,limb,kind,value,note\n2024-04-20,top,stage,full,\n"
    (plan.parent / "records.csv").write_text(log)
    change(visitor, "scion", "0", "remove")
    change(visitor, "neighbour", "neighbour-1", "remove")
    assert "remove the tree" in visitor.go("/stock/entry?kind=limb&name=young-1").words
    change(visitor, "tree", "old+tree", "remove")
    made, _, findings = open_plan(plan)
    assert made is not None and findings == ()
    assert [tree.id for tree in made.trees] == ["young"] and not made.neighbours + made.scions
    assert made.trees[0].lost_limbs == ("top",)
    change(visitor, "tree", "young", "remove")
    assert visitor.code == 422 and "the plan has no tree" in visitor.words
    assert visitor.go("/").code == 200


def test_taken_back(plan: Path, visitor: Visitor) -> None:
    change(visitor, "limb", "top", "remove")
    assert "top" not in visitor.words.split("Next door")[0]
    visitor.fill("/undo")
    assert plan.read_text() == PLAN


def test_a_hand_edit_meanwhile_is_found(plan: Path, visitor: Visitor) -> None:
    visitor.go("/stock/add/scion?fruit=apple")
    plan.write_text(PLAN.replace("46.4", "46.5"))
    visitor.fill("/add/scion", variety="Idared")
    assert visitor.code == 409 and "was changed meanwhile" in visitor.words
    visitor.send("/stock/entry", digest="old", kind="limb", name="top", act="remove")
    assert visitor.code == 409
    assert plan.read_text() == PLAN.replace("46.4", "46.5")


def test_a_link_to_a_plan_stays_one(plan: Path) -> None:
    link = plan.parent / "linked" / "plan.toml"
    link.parent.mkdir()
    link.symlink_to(plan)
    visitor = Visitor(link)
    change(visitor, "limb", "top", "remove")
    assert visitor.code == 200 and link.is_symlink()
    assert 'id = "top"' not in plan.read_text()


def test_addresses_that_lead_nowhere_lead_back(visitor: Visitor) -> None:
    for address in ("/stock/entry?kind=limb&name=gone", "/stock/entry", "/stock/add/nothing",
                    "/stock/entry?kind=scion&name=9"):  # fmt: skip
        assert visitor.go(address).at == "/stock"
    visitor.send("/stock/entry", kind="scion", name="0", act="rename", new="x")
    assert visitor.code == 422
    assert visitor.go("/stock/add/limb?tree=gone").code == 200


def test_nothing_written_is_nothing_to_take_back_and_no_kind_nothing_to_add(
    plan: Path, visitor: Visitor
) -> None:
    assert visitor.send("/undo").code == 200
    assert visitor.send("/stock/add/nothing", variety="Idared").at == "/stock"
    assert plan.read_text() == PLAN


def test_a_plan_that_cannot_be_written_stays_and_is_told(
    plan: Path, visitor: Visitor, monkeypatch: pytest.MonkeyPatch
) -> None:
    finding = Finding("error", "cannot-write", "the disk is full", plan.name)
    with monkeypatch.context() as patch:
        patch.setattr(editing, "write_plan", lambda path, text: finding)
        change(visitor, "limb", "top", "remove")
        assert visitor.code == 422 and "the disk is full" in visitor.words
    assert plan.read_text() == PLAN
    # What was not written cannot be taken back either.
    visitor.send("/undo")
    assert plan.read_text() == PLAN
