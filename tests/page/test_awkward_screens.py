"""Gardens as growers have them: a variety a tree, positions, a neighbour of no name."""

from __future__ import annotations

import re
from pathlib import Path
from urllib.parse import quote

import pytest
from gardens import entry, grown, saved, scions, studied
from visitor import Visitor

from pollinet.study import open_plan

APPLE = """\
[site]
latitude = 50.0
[aim]
draws = 4
"""


def typed(name: str, alleles: str, first: str, last: str) -> str:
    return entry(
        "variety", species="apple", name=name, s_genotype=alleles, bloom=[first, last],
        bloom_sd_days=0,
    )  # fmt: skip


def tree(id: str, east: int, *limbs: tuple[str, str], spare: int = 0) -> str:
    return grown("apple", dict(limbs), id, spare_limbs=spare, position_m=[east, 0])


KINDS = (
    typed("One", "S1S2", "04-20", "04-30")
    + typed("Two", "S3S4", "04-20", "04-30")
    + typed("Late", "S5S6", "04-28", "05-08")
)
NEXT = """\
[[neighbour]]
species = "apple"
variety = "Two"
position_m = [0, 30]
[[neighbour]]
species = "apple"
variety = "?"
distance_m = 20
"""
WOOD, LATE = scions("Two"), scions("Late")


def garden(folder: Path, *more: str) -> Path:
    plan = folder / "plan.toml"
    trees = (
        tree("west", 0, ("w", "One"), spare=1)
        + tree("mid", 30, ("m", "One"), spare=1)
        + tree("east", 60, ("e", "One"))
    )
    plan.write_text(APPLE + trees + NEXT + "".join(more) + KINDS, encoding="utf-8")
    return plan


@pytest.fixture
def plan(tmp_path: Path) -> Path:
    return garden(tmp_path, WOOD)


@pytest.fixture
def visitor(plan: Path) -> Visitor:
    return Visitor(plan, "en")


def test_a_neighbour_may_have_a_position_in_place_of_a_distance(
    plan: Path, visitor: Visitor
) -> None:
    # 30 m north of the western tree, by Pythagoras farther from the others.
    assert "Two · 30 m away" in " ".join(visitor.go("/stock").words.split())
    visitor.go("/stock/entry?kind=neighbour&name=neighbour-1")
    (digest,) = {*re.findall(r'name="digest" value="(\w+)"', visitor.text)}
    told = {"kind": "neighbour", "name": "neighbour-1", "act": "number", "value": "12"}
    visitor.send("/stock/entry", digest=digest, **told)
    visitor.go("/stock/entry?kind=neighbour&name=neighbour-1")
    made, _, findings = open_plan(plan)
    assert made is not None and visitor.code == 200
    assert (made.neighbours[0].distance_m, made.neighbours[0].position_m) == (12, None)
    assert not [one for one in findings if one.code == "distance-and-position"]


def test_wood_is_offered_once_and_on_its_best_tree(visitor: Visitor) -> None:
    visitor.go("/limb/m")
    assert visitor.text.count(">Try Two<") == 1
    # Pollen of its own tree comes surest; the limb of a tree without room has the wood nearest it.
    assert f"try={quote('graft:mid:mid-Two:Two', safe=':')}" in visitor.text
    assert "graft:mid:mid-Two:Two" in visitor.go("/limb/e").text


def test_wood_that_is_too_seldom_enough_is_not_told_to_mend(tmp_path: Path) -> None:
    """Two days in common of the three that count, but for years in which they stray: seldom."""
    plan = garden(tmp_path, LATE)
    text = plan.read_text().replace(NEXT, "").replace("draws = 4", "draws = 60")
    late = typed("Late", "S5S6", "04-29", "05-09")
    straying = late.replace("sd_days = 0", "sd_days = 1")
    plan.write_text(text.replace(typed("Late", "S5S6", "04-28", "05-08"), straying))
    visitor = Visitor(plan, "en").go("/limb/m")
    assert ">Try Late<" in visitor.text and "seldom alone" in visitor.words
    assert "Could mend it" not in visitor.words


def test_a_neighbour_of_no_name_has_no_page_to_link_to(visitor: Visitor) -> None:
    visitor.go("/limb/w")
    assert "neighbour-2" in visitor.words and "/variety/%3F" not in visitor.text
    assert "? (neighbour-2)" not in visitor.go("/limb/w").words.split("In bloom")[0]


@pytest.mark.parametrize("log", ["", "date,limb,kind,value,note\n2024-04-20,w,stage,full,\n"])
def test_the_only_limb_of_a_tree_is_lost_with_its_tree(plan: Path, log: str) -> None:
    """In memory as in the file, to what is told of it: `open_study` of what was written."""
    if log:
        (plan.parent / "records.csv").write_text(log)
    before = plan.read_text()
    visitor = Visitor(plan, "en").go("/try?try=lose:w")
    assert "Left out" not in visitor.words and "gone" in visitor.words
    tried = visitor.go("/?try=lose:w").text.split('id="answer"')[1].split("</p>")[0]
    visitor.go("/write?try=lose:w").fill("/write")
    written = visitor.go("/").text.split('id="answer"')[1].split("</p>")[0]
    assert written == tried
    read = studied(plan)
    assert [tree.id for tree in read.plan.trees] == ["mid", "east"]
    assert read.plan.trees[0].lost_limbs == (("w",) if log else ())
    base = open_study_of(before, plan.parent)
    assert base.lose_tree("west").plan == read.plan
    visitor.fill("/undo")
    assert plan.read_text() == before


def open_study_of(text: str, folder: Path):  # type: ignore[no-untyped-def]
    """The study of a text of a plan, in the same file."""
    path = folder / "plan.toml"
    now = path.read_text()
    path.write_text(text)
    study = studied(path)
    path.write_text(now)
    return study


def test_the_last_tree_stays(tmp_path: Path) -> None:
    plan = saved(tmp_path, APPLE + tree("only", 0, ("o", "One")) + KINDS)
    words = Visitor(plan, "en").go("/try?try=lose:o").words
    assert "Left out" in words and "this tree has no limb" in words


def test_what_is_left_out_is_not_written(plan: Path, visitor: Visitor) -> None:
    both = "try=move:w:east&try=graft:west:new:Two"
    visitor.go(f"/write?{both}")
    assert "Left out" in visitor.words and "w is all that grows on its tree" in visitor.words
    visitor.fill("/write")
    made, _, _ = open_plan(plan)
    assert made is not None
    assert [[limb.id for limb in one.limbs] for one in made.trees] == [["w", "new"], ["m"], ["e"]]


def test_trees_of_one_limb_share_a_heading_in_the_notes(visitor: Visitor) -> None:
    text = visitor.go("/orchard").text
    assert re.findall(r'class="tree"[^>]*><bdi>([^<]+)', text) == ["apple", "next door"]
    assert re.findall(r'<b><bdi>([^<]+)</bdi></b> <bdi>([^<]+)', text) == [
        ("w", "One"), ("m", "One"), ("e", "One"),
        ("neighbour-1", "Two"), ("neighbour-2", "unknown"),
    ]  # fmt: skip


def test_the_file_for_the_telephone_keeps_the_letters_of_its_name(tmp_path: Path) -> None:
    plan = garden(tmp_path)
    plan.write_text(plan.read_text().replace("[site]", '[site]\nname = "Obst für Łukasz & Söhne"'))
    answer = Visitor(plan, "en").client.get("/take-along", base_url="http://127.0.0.1:1")
    # The combining marks go, the letters stay; what has no plain letter below it is left out.
    assert (
        answer.headers["Content-Disposition"] == 'attachment; filename="obst-fur-ukasz-sohne.html"'
    )
