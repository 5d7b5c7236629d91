"""Trying: the forms of each kind, before and now, two side by side, and what cannot be."""

from __future__ import annotations

import re
from html import unescape
from pathlib import Path
from urllib.parse import parse_qs, urlsplit

import pytest
from flask.testing import FlaskClient
from test_screens import text, words


def tries(address: str) -> list[str]:
    return parse_qs(urlsplit(address).query).get("try", [])


@pytest.mark.parametrize(
    ("form", "tried"),
    [
        ({"kind": "change", "limb": "C-mid", "variety": "Kordia"}, "change:C-mid:Kordia"),
        ({"kind": "graft", "tree": "cherry", "variety": "Sam"}, "graft:cherry:cherry-Sam:Sam"),
        ({"kind": "move", "limb": "C-mid", "tree": "apple"}, "move:C-mid:apple"),
        ({"kind": "lose", "name": "C-top"}, "lose:C-top"),
        (
            {"kind": "next", "species": "sweet cherry", "variety": "Sam", "distance_m": "12,5"},
            "next:Sam:sweet cherry:Sam:12.5",
        ),
        ({"kind": "warmer", "degrees_c": "1,5"}, "warmer:1.5"),
        ({"kind": "level", "share": "0.9"}, "level:0.9"),
    ],
)
def test_each_form_makes_a_try(read_only: FlaskClient, form: dict[str, str], tried: str) -> None:
    answer = read_only.get("/try/add", query_string={"try": "lose:A-top", **form})
    assert answer.status_code == 302
    assert tries(answer.headers["Location"]) == ["lose:A-top", tried]


@pytest.mark.parametrize(
    "form",
    [
        {"kind": "change", "limb": "C-mid", "variety": " "},
        {"kind": "next", "species": "apple", "variety": "Gala", "distance_m": "far"},
        {"kind": "warmer", "degrees_c": ""},
        {"kind": "nothing"},
        {},
    ],
)
def test_what_is_not_filled_in_is_told(read_only: FlaskClient, form: dict[str, str]) -> None:
    answer = read_only.get("/try/add", query_string=form)
    assert answer.status_code == 200
    assert "That was not filled in" in answer.get_data(as_text=True)


def test_a_later_try_of_the_same_takes_the_place(read_only: FlaskClient) -> None:
    before = ["change:C-mid:Sam", "warmer:1"]
    for form, after in (
        ({"kind": "change", "limb": "C-mid", "variety": "Kordia"},
         ["warmer:1", "change:C-mid:Kordia"]),
        ({"kind": "warmer", "degrees_c": "2"}, ["change:C-mid:Sam", "warmer:2"]),
    ):  # fmt: skip
        answer = read_only.get("/try/add", query_string={"try": before, **form})
        assert tries(answer.headers["Location"]) == after


def test_before_and_now_and_what_changed_first(read_only: FlaskClient) -> None:
    page = text(read_only, "/try?try=change:C-mid:Kordia")
    told = words(page)
    assert "Before 7 of 8 Now 8 of 8" in told
    changed = told[told.index("Changed") : told.index("Unchanged")]
    assert changed.index("C-mid") < changed.index("C-low")
    assert re.search(r"Regina ✕ lacks a donor: 7 of 10 \(Garnet\) → now: ● sure: 9 of 10", changed)
    assert "before the try-out" in told


def test_a_step_is_undone_on_the_screen_where_one_is(read_only: FlaskClient) -> None:
    page = text(read_only, "/spring?limb=C-top&try=change:C-mid:Kordia&try=lose:A-top")
    undo = re.findall(r'class="undo" href="([^"]*)"', page)
    kept = [(urlsplit(one).path, tries(one), parse_qs(urlsplit(one).query)["limb"]) for one in undo]
    assert kept == [
        ("/spring", ["lose:A-top"], ["C-top"]),
        ("/spring", ["change:C-mid:Kordia"], ["C-top"]),
    ]


def test_what_cannot_be_is_told_and_left_out(read_only: FlaskClient) -> None:
    told = words(text(read_only, "/try?try=change:C-mid:Kordja&try=change:C-mid:Kordia&try=lose:x"))
    assert "Left out:" in told and "Kordja" in told and re.search(r"Nearest: [^.]*Kordia", told)
    assert "Before 7 of 8 Now 8 of 8" in told


def test_what_cannot_be_read_is_told(read_only: FlaskClient) -> None:
    assert "cannot be read and was left out" in text(read_only, "/try?try=nonsense")


def test_two_try_outs_stand_side_by_side(read_only: FlaskClient) -> None:
    page = text(read_only, "/compare?a=graft:cherry:new:Sam&b=lose:C-top")
    told = words(page)
    assert "A Sam grafted on cherry 9 of 9" in told
    assert re.search(r"B without C-top \d of 7", told)
    table = told[told.index("Where they differ") :]
    assert "C-mid" in table and "A-top" not in table


def test_another_variety_stands_beside_the_last(read_only: FlaskClient) -> None:
    page = text(read_only, "/try?try=lose:A-top&try=graft:cherry:cherry-Sam:Sam")
    last = re.search(r'name="last" value="([^"]*)"', page)
    assert last is not None
    answer = read_only.get("/compare/add", query_string={
        "try": ["lose:A-top", "graft:cherry:cherry-Sam:Sam"], "last": last.group(1),
        "variety": "Kordia",
    })  # fmt: skip
    query = parse_qs(urlsplit(unescape(answer.headers["Location"])).query)
    assert query["a"] == ["lose:A-top", "graft:cherry:cherry-Sam:Sam"]
    assert query["b"] == ["lose:A-top", "graft:cherry:cherry-Kordia:Kordia"]


def test_before_is_the_plan_as_it_is_now(client: FlaskClient, plan: Path) -> None:
    other = "/try?try=lose:A-top"
    assert "Before 7 of 8" in words(text(client, other))
    old = plan.read_text("utf-8")
    plan.write_text(old.replace('variety = "Regina"', 'variety = "Kordia"'), "utf-8")
    assert "Before 8 of 8" in words(text(client, other))


def test_a_wrong_name_beside_is_told(read_only: FlaskClient) -> None:
    told = words(text(read_only, "/compare?a=change:C-mid:Kordja&b=change:C-mid:Sam"))
    assert "Kordja" in told and re.search(r"Nearest: [^.]*Kordia", told)
