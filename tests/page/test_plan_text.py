"""The text of a plan: findings beside their lines, changed by hand, never written unfit."""

from __future__ import annotations

from pathlib import Path

import pytest
from gardens import saved
from visitor import Visitor

from pollinet.findings import Finding
from pollinet.messages import say
from pollinet.page.near_lines import near_line

PLAN = """\
# mine
[site]
latitude = 46.4
longitude = 7.5

[[tree]]
id = "old"
species = "apple"

[[tree.limb]]
id = "low"
variety = "Jonathan"

[[tree.limb]]
id = "top"
variety = "Goldn Delicous"
"""
GOOD = PLAN.replace("Goldn Delicous", "Golden Delicious")


@pytest.fixture
def plan(tmp_path: Path) -> Path:
    return saved(tmp_path, PLAN)


def test_an_unfit_plan_is_shown_with_its_lines_and_put_right(plan: Path) -> None:
    visitor = Visitor(plan).go("/")
    assert visitor.code == 422 and "The plan must be put right" in visitor.words
    assert "Golden Delicious" in visitor.words
    assert '<span class="here">  16 variety = &#34;Goldn Delicous&#34;' in visitor.text
    visitor.fill("/text", text=PLAN.replace('"top"', '"low"'))
    assert visitor.code == 422 and "Nothing was written yet" in visitor.words
    assert "stands 2 times" in visitor.words and plan.read_text() == PLAN
    # A browser sends its own line ends.
    visitor.fill("/text", text=GOOD.replace("\n", "\r\n"))
    assert visitor.code == 200 and "Written into the plan." in visitor.words
    assert plan.read_bytes() == GOOD.encode()
    assert visitor.go("/").code == 200


def test_line_ends_and_a_mark_of_encoding_stay(plan: Path) -> None:
    plan.write_bytes(b"\xef\xbb\xbf" + GOOD.replace("\n", "\r\n").encode())
    visitor = Visitor(plan).go("/text").fill("/text", text=GOOD + "# ä\n")
    assert visitor.code == 200
    assert plan.read_bytes() == b"\xef\xbb\xbf" + (GOOD + "# ä\n").replace("\n", "\r\n").encode()


def test_a_hand_edit_meanwhile_is_found(plan: Path) -> None:
    visitor = Visitor(plan).go("/text")
    plan.write_text(GOOD)
    visitor.fill("/text", text="x = 1")
    assert visitor.code == 409 and plan.read_text() == GOOD


def test_broken_toml_and_script_in_it(plan: Path) -> None:
    plan.write_text(PLAN + 'name = "</textarea><script>alert(1)</script>\n')
    visitor = Visitor(plan).go("/text")
    assert "a text in quotes is not closed" in visitor.words
    assert '<span class="here">  17 name' in visitor.text
    assert "<script>alert" not in visitor.text


def test_what_is_no_text_is_left_to_an_editor(plan: Path) -> None:
    plan.write_bytes(b"\xff\xfe\x00broken")
    visitor = Visitor(plan).go("/")
    assert visitor.code == 422 and "cannot be read" in visitor.words
    assert "<textarea" not in visitor.text


def test_without_a_plan_there_is_no_text(tmp_path: Path) -> None:
    visitor = Visitor(tmp_path / "plan.toml")
    assert visitor.go("/text").at == "/begin"
    assert visitor.send("/text", text="x").at == "/begin"


@pytest.mark.parametrize(
    ("place", "line"),
    [
        ("site, latitude", 3),
        ('tree "old"', 7),
        ('tree "old", limb "low", variety', 12),
        ('tree "old", limb "top", variety', 16),
        ('tree "old", species', 8),
        ("tree", 6),
        ("tree 1, id", 7),
        ('tree "gone", limb "top"', None),
        ("", None),
    ],
)
def test_a_place_in_words_is_a_line(place: str, line: int | None) -> None:
    found = near_line(PLAN.splitlines(), Finding("error", "x", "x", "plan.toml", place))
    assert (found and found.line) == line


def test_a_line_that_the_finding_tells(plan: Path) -> None:
    lines = PLAN.splitlines()
    near = near_line(lines, Finding("error", "x", say("in line {line}", line="1")))
    assert near is not None
    assert near.around == ((1, "# mine"), (2, "[site]"), (3, "latitude = 46.4"))
    assert near_line(lines, Finding("error", "x", "x", line=99)) is None
