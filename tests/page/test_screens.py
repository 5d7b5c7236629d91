"""What the screens garden, limb, spring, variety and the type-ahead show, and wrong input."""

from __future__ import annotations

import re
from collections.abc import Callable
from html import unescape
from html.parser import HTMLParser
from importlib.resources import files
from pathlib import Path

import pytest
from conftest import TOKEN
from flask.testing import FlaskClient

SCREENS = (
    "/",
    "/limb/C-mid",
    "/limb/A-top",
    "/try",
    "/try?try=change:C-mid:Kordia&try=lose:A-top",
    "/compare?a=change:C-mid:Kordia&b=graft:cherry:new:Sam",
    "/spring?limb=C-mid",
    "/variety",
    "/variety/Kordia",
    "/know/Kordia",
    "/write?try=change:C-mid:Kordia",
)


def text(client: FlaskClient, address: str, code: int = 200) -> str:
    answer = client.get(address)
    assert answer.status_code == code, answer.get_data(as_text=True)
    return unescape(answer.get_data(as_text=True))


def words(page: str) -> str:
    """All that is read of a page."""
    return re.sub(r" ([,:;.])", r"\1", " ".join(re.sub(r"<[^>]*>", " ", page).split()))


class Page(HTMLParser):
    """Ids, labels, fields and headings of a page."""

    def __init__(self, page: str) -> None:
        super().__init__()
        self.ids: list[str] = []
        self.labelled: set[str] = set()
        self.fields: list[dict[str, str | None]] = []
        self.headings: list[int] = []
        self.attributes: set[str] = set()
        self.feed(page)

    def handle_starttag(self, tag: str, attrs: list[tuple[str, str | None]]) -> None:
        given = dict(attrs)
        self.attributes |= set(given)
        self.ids += [given["id"]] if given.get("id") else []
        if tag == "label":
            self.labelled.add(given.get("for") or "")
        if tag in ("input", "select", "textarea") and given.get("type") != "hidden":
            self.fields.append(given)
        if re.fullmatch("h[1-6]", tag):
            self.headings.append(int(tag[1]))


@pytest.mark.parametrize("address", SCREENS)
def test_a_screen_is_sound(read_only: FlaskClient, address: str) -> None:
    """Source: WCAG 2.2, 1.3.1, 2.4.6, 3.3.2, 4.1.1; and what the content policy lets through."""
    page = Page(text(read_only, address))
    assert len(page.ids) == len(set(page.ids))
    assert all(field.get("id") in page.labelled for field in page.fields)
    assert page.headings[0] == 1 and page.headings.count(1) == 1
    assert all(b - a <= 1 for a, b in zip(page.headings, page.headings[1:], strict=False))
    assert not {name for name in page.attributes if name == "style" or name.startswith("on")}


# The plan's own text, which the last screen shows, is in no language.
@pytest.mark.parametrize("address", SCREENS[:-1])
def test_a_screen_speaks_german(demo: Path, open_page: Callable, address: str) -> None:
    client = open_page(demo / "plan.toml", "de")
    # Notes of the catalogue stay as their sources have them.
    page = re.sub(r'<details id="facts">.*?</details>', "", text(client, address), flags=re.S)
    english = words(page)
    for word in (" donor", " limb ", " winters ", " variety", " Try ", " bloom "):
        assert word not in english


def test_the_sheet_of_pages_leaves_the_strips_alone() -> None:
    """A class that strips have, too, is told by what it stands on or in."""
    sheets = files("pollinet")
    page = sheets.joinpath("page/static/page.css").read_text("utf-8")
    own = set(re.findall(r"\.([a-z-]+)", sheets.joinpath("strips/strips.css").read_text("utf-8")))
    bare = set(re.findall(r"(?:^|[},])\s*\.([a-z-]+)\s*(?=[{,])", page))
    own |= {"calendar", "limb", "winters"}
    assert bare & own <= {"mark", "unseen"}


# --- the garden --------------------------------------------------------------------------------


def test_the_gap_comes_first(read_only: FlaskClient) -> None:
    page = text(read_only, "/")
    told = words(page)
    assert told.index("Needs a donor") < told.index("Has a donor")
    assert '<details class="group covered"' in page
    assert "lacks a donor: C-mid · Regina" in told
    # The invented demo says itself what it rests on.
    assert "Rests on generated weather, and 10 values from memory" in told


def test_what_mends_it_is_a_touch_away(read_only: FlaskClient) -> None:
    page = text(read_only, "/")
    address = re.search(r'class="button try" href="([^"]*)">Try Sam', page)
    assert address is not None
    assert "9 of 9 limbs have" in text(read_only, address.group(1))


def test_only_screens_that_exist_are_linked(read_only: FlaskClient) -> None:
    here = set(read_only.application.view_functions)
    page = text(read_only, "/")
    for endpoint, name in (("orchard.show", "In the orchard"), ("papers.show", "Report, labels")):
        assert (name in page) == (endpoint in here)


# --- a limb ------------------------------------------------------------------------------------


def test_a_limb_tells_donors_and_why_others_are_none(read_only: FlaskClient) -> None:
    page = text(read_only, "/limb/C-mid")
    told = words(page)
    assert "C-mid (Regina) has one donor here: C-top (Garnet), in 7 winters of 10" in told
    assert "Could mend it" in told and "Try Sam" in told
    # Van and Regina are both S1S3, so are Black Star and Regina: one reason, said once.
    assert "Van, Black Star: same genotype S1S3" in told
    assert 'class="strip' in page


def test_a_limb_that_is_served_needs_no_mending(read_only: FlaskClient) -> None:
    told = words(text(read_only, "/limb/C-top"))
    assert "Could mend it" not in told and "Wood at hand that serves it, too" in told


def test_an_unknown_limb_is_told_with_near_names(read_only: FlaskClient) -> None:
    told = words(text(read_only, "/limb/C-mdi", 404))
    assert 'no limb "C-mdi"' in told and "C-mid" in told


def test_a_lost_limb_has_no_screen(read_only: FlaskClient) -> None:
    assert "There is nothing at this address" in text(read_only, "/limb/C-mid?try=lose:C-mid", 404)


# --- the spring --------------------------------------------------------------------------------


def test_the_spring_of_a_limb_and_of_a_winter(read_only: FlaskClient) -> None:
    usual = text(read_only, "/spring")
    assert "whole spring" in usual and "shared with the framed limb" not in usual
    assert "shared with the framed limb" in text(read_only, "/spring?limb=C-mid")
    year = re.findall(r'<option value="(\d{4})"', usual)[3]
    one = text(read_only, f"/spring?limb=C-mid&winter={year}")
    assert f'<option value="{year}" selected' in one and "whole spring" not in one


@pytest.mark.parametrize("winter", ["1492", "x", "²", "-1", "99999999999999999999"])
def test_a_winter_that_is_none_is_told(read_only: FlaskClient, winter: str) -> None:
    told = words(text(read_only, f"/spring?winter={winter}"))
    assert f"no winter before the spring of {winter}" in told and "usual spring" in told


def test_a_limb_that_is_none_is_told_in_the_spring(read_only: FlaskClient) -> None:
    assert 'no limb "nix"' in text(read_only, "/spring?limb=nix")


# --- a variety ---------------------------------------------------------------------------------


def test_a_variety_says_whether_it_suits(read_only: FlaskClient) -> None:
    told = words(text(read_only, "/variety/Kordia?fruit=sweet%20cherry"))
    assert "Kordia suits this garden." in told
    # S3S6: Schuster (2012), in the catalogue.
    assert "S3S6" in told and "Values and their sources" in told
    assert "Try it as a new limb" in told


def test_a_variety_is_looked_up_by_other_names(read_only: FlaskClient) -> None:
    answer = read_only.get("/variety?variety=Techlovicka+II&fruit=sweet+cherry")
    assert answer.status_code == 302
    assert "Kordia" in words(text(read_only, answer.headers["Location"]))


def test_an_unknown_variety_is_told_with_near_names(read_only: FlaskClient) -> None:
    told = words(text(read_only, "/variety/Kordja?fruit=sweet%20cherry", 404))
    assert "no variety" in told and "Kordia" in told


def test_script_in_a_name_stays_text(read_only: FlaskClient) -> None:
    page = read_only.get("/variety/<script>alert(1)</script>").get_data(as_text=True)
    assert "<script>alert" not in page


def test_what_one_knows_is_kept_beside_the_plan(client: FlaskClient, plan: Path) -> None:
    told = {"token": TOKEN, "fruit": "sweet cherry", "bloom": "2 May - 12 May", "note": "my tree"}
    answer = client.post("/know/Kordia", data=told)
    assert answer.status_code == 302, answer.get_data(as_text=True)
    facts = (plan.parent / "catalogues" / "sweet_cherry" / "facts.csv").read_text("utf-8")
    assert "Kordia" in facts and "my tree" in facts
    page = words(text(client, answer.headers["Location"]))
    assert "Kept in your own tables" in page and "2–12 May" in page


@pytest.mark.parametrize(
    ("given", "said"),
    [
        ({}, "at least one value"),
        ({"bloom": "when it likes"}, "Bloom:"),
        ({"ploidy": "9"}, "Sets of chromosomes:"),
        ({"s-genotype": "S1S2S3S4", "ploidy": "2"}, "S-alleles"),
    ],
)
def test_what_is_wrong_is_told_by_its_field(
    client: FlaskClient, plan: Path, given: dict[str, str], said: str
) -> None:
    data = {"token": TOKEN, "fruit": "sweet cherry", **given}
    answer = client.post("/know/Kordia", data=data)
    page = unescape(answer.get_data(as_text=True))
    assert answer.status_code == 422 and said in words(page)
    assert "--" not in words(page)
    assert all(f'value="{typed}"' in page for typed in given.values())
    assert not (plan.parent / "catalogues").exists()


def test_nothing_is_kept_without_the_token(client: FlaskClient, plan: Path) -> None:
    assert client.post("/know/Kordia", data={"bloom": "with Van"}).status_code == 403
    assert not (plan.parent / "catalogues").exists()


# --- names while they are typed ----------------------------------------------------------------


def names(client: FlaskClient, query: str) -> list[str]:
    return re.findall(r'<option value="([^"]*)"', text(client, f"/names?{query}"))


def test_names_at_hand_go_first(read_only: FlaskClient) -> None:
    assert {"Sam", "Lambert", "Kordia"} <= set(names(read_only, "limb=C-mid&variety=")[:4])
    assert names(read_only, "limb=C-mid&variety=kord")[0] == "Kordia"
    assert names(read_only, "fruit=sweet cherry&q=kord")[0] == "Kordia"


def test_names_are_those_of_the_fruit(read_only: FlaskClient) -> None:
    assert "Elstar" in names(read_only, "limb=A-top&variety=elst")
    assert "Elstar" not in names(read_only, "tree=cherry&variety=elst")


def test_near_names_where_none_begins_so(read_only: FlaskClient) -> None:
    assert "Kordia" in names(read_only, "fruit=sweet cherry&q=Kordja")


def test_a_synonym_says_what_it_means(read_only: FlaskClient) -> None:
    assert "= Kordia" in text(read_only, "/names?fruit=sweet cherry&q=Techlovicka")


@pytest.mark.parametrize("query", ["", "fruit=stone&q=a", "limb=nix&variety=ko"])
def test_no_names_where_the_fruit_is_not_known(read_only: FlaskClient, query: str) -> None:
    assert names(read_only, query) == []


def test_names_are_there_before_a_plan_is(tmp_path: Path, open_page: Callable) -> None:
    client = open_page(tmp_path / "plan.toml")
    assert "Conference" in names(client, "fruit=pear&q=confer")


def test_other_names_are_told_in_one_line(
    plan: Path, open_page: Callable[[Path], FlaskClient]
) -> None:
    names = '"Cox"', '"Pink Lady"', '"Reine des Reinettes"'
    limbs = "".join(f'[[tree.limb]]\nid = "l{i}"\nvariety = {x}\n' for i, x in enumerate(names))
    more = f'\n[[tree]]\nid = "t"\nspecies = "apple"\n{limbs}'
    plan.write_text(plan.read_text("utf-8") + more, encoding="utf-8")
    shown = text(open_page(plan), "/")
    noticed = shown[shown.index('<details id="findings">') :]
    assert "Names as the catalogue has them: Cox = " in noticed
    assert noticed.count("Pink Lady (trade name) = Cripps Pink") == noticed.count("Pink Lady") == 1
    assert f'<span class="count">{noticed.count("<li class=")}</span>' in noticed
