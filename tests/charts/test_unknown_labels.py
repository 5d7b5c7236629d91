"""A limb of unknown label, and one that stands alone, in pictures, on tags and on screens."""

from __future__ import annotations

import re
from datetime import date
from pathlib import Path

import pytest
from gardens import entry, grown, saved, studied

from pollinet.charts.album import charts_of
from pollinet.charts.fonts import words_in
from pollinet.page.app import create_app
from pollinet.report.labels import Label, _broken, _fitted, limb_labels
from pollinet.report.paper import new_pdf
from pollinet.strips import calendar_strip
from pollinet.study import Study
from pollinet.summary.limbs import name_beside
from pollinet.summary.spring import garden_spring

GARDEN = (
    "[site]\nlatitude = 50.0\n[aim]\ndraws = 4\n"
    + grown("apple", {"a-what": "?", "a-one": "One"}, id="apple")
    + grown("pear", {"lone": "Two"}, id="pear")
    + entry("variety", species="apple", name="One", bloom=["04-20", "04-30"])
    + entry("variety", species="pear", name="Two", bloom=["04-10", "04-20"])
)


@pytest.fixture(scope="module")
def plan(tmp_path_factory: pytest.TempPathFactory) -> Path:
    return saved(tmp_path_factory.mktemp("unknown"), GARDEN)


@pytest.fixture(scope="module")
def study(plan: Path) -> Study:
    return studied(plan)


def test_a_label_names_an_unknown_limb_once() -> None:
    assert name_beside("? (a-what)", ["a-what"]) == "unknown"
    assert name_beside("? (a-what)", ["a-one", "a-what"]) == "unknown"
    assert name_beside("any (a-what)", ["a-what"]) == "any"
    # What no limb beside it tells stays.
    assert name_beside("? (a-what)", ["a-one"]) == "? (a-what)"
    assert name_beside("Two (red)", ["lone"]) == "Two (red)"


def test_pictures_tags_and_screens_name_an_unknown_limb_once(plan: Path, study: Study) -> None:
    told = {one.name: f"{words_in(one.figure)} {one.description}" for one in charts_of(study)}
    told["strip"] = str(calendar_strip(garden_spring(study)))
    told["tags"] = " ".join(f"{tag.name} {tag.lines}" for tag in limb_labels(study, date.today()))
    client = create_app(plan, hosts={"localhost"}, language="en").test_client()
    for address in ("/", "/limb/a-what", "/limb/a-one", "/orchard", "/take-along"):
        page = client.get(address)
        assert page.status_code == 200
        told[address] = re.sub(r"<[^>]+>", "", page.get_data(as_text=True))
    assert {"calendar", "matrix-apple", "network-apple"} <= told.keys()
    for name, words in told.items():
        assert not re.search(r"\? \(a-what\)\W+a-what|a-what\W+\? \(a-what\)", words), name
        if "a-what" in words:
            assert "unknown" in words, name


def test_one_limb_alone_is_not_drawn_as_a_table(study: Study) -> None:
    (alone,) = (one for one in charts_of(study, ("matrix",)) if one.name == "matrix-pear")
    assert "to compare it with" in alone.description
    assert "to compare it with" in " ".join(words_in(alone.figure).split())
    (both,) = (one for one in charts_of(study, ("matrix",)) if one.name == "matrix-apple")
    assert "to compare it with" not in both.description


@pytest.mark.parametrize("name", ["Schattenmorelle", "Rheinische Schattenmorelle"])
def test_a_tag_breaks_no_word_of_a_name(name: str) -> None:
    """Smaller letters go before a broken word."""
    pdf = new_pdf("", "")
    pdf.add_page()
    print_ = _fitted(pdf, Label(name, ("a line",)), 31, 40)
    assert print_.whole and " ".join(print_.names) == name
    assert _broken(pdf, name, "B", 13, 31) != print_.names
