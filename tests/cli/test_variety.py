"""`pollinet variety`: one page on one variety, with sources and what is missing."""

from __future__ import annotations

from collections.abc import Callable
from typing import Any

import pytest

from pollinet.domain import VarietyId
from pollinet.readers.catalogue import fruits, load_catalogue
from pollinet.readers.shared_tables import read_shared
from pollinet.wording.varieties import LABELS

Run = Callable[..., Any]


def test_page_answers_first(pollinet: Run) -> None:
    """Bing: S3S4, group III (Schuster 2020), so it does not serve itself."""
    answer = pollinet("variety", "Bing")
    lines = answer.out.splitlines()
    assert answer.code == 0
    assert lines[0].startswith("Bing: S-alleles S3S4; ")
    assert "self-fertile: no" in " ".join(lines[:2])
    assert "incompatibility group III" in " ".join(lines[:3])
    assert "SCHUSTER2020: " in answer.out and "published" in answer.out
    assert "Lambert" in pollinet("variety", "Bing", "--json").data["same_s_alleles"]


def test_every_page_is_short_and_narrow(pollinet: Run) -> None:
    """The page holds fewer than 75 lines of 100 columns for those of whom most is known."""
    catalogue, _ = load_catalogue(fruits())
    known = sorted(catalogue.varieties.values(), key=lambda v: -len(v.facts))[:4]
    crossed = [VarietyId("apple", "Golden Delicious"), VarietyId("nashi", "Kosui")]
    for species, name in [*(variety.id for variety in known), *crossed]:
        lines = pollinet("variety", name, "--species", species).out.splitlines()
        assert len(lines) < 75
        assert max(map(len, lines)) <= 100


def test_values_have_source_and_status(pollinet: Run) -> None:
    """Rainier needs 45 portions (Erez 2000, as in the UC Davis table)."""
    data = pollinet("variety", "Rainier", "--json").data
    chill = [fact for fact in data["facts"] if fact["property"] == "chill_portions"]
    told = [(fact["value"], fact["source"], fact["status"]) for fact in chill]
    assert ("45", "EREZ2000", "published") in told
    assert all(fact["source"] in data["sources"] for fact in data["facts"])
    assert all(data["sources"].values())


def test_memory_is_told(pollinet: Run) -> None:
    answer = pollinet("variety", "Conference")
    assert "S-alleles S108S119 (from memory)" in answer.out
    assert "Rests on memory, to be confirmed: S-genotype, ploidy" in answer.out
    assert "published (date:" in answer.out


def test_what_is_missing_and_how_to_find_out(pollinet: Run) -> None:
    """Nobody has published the S-alleles or a dated bloom of Runkel in these sources."""
    data = pollinet("variety", "Runkel", "--json").data
    missing = " ".join(data["missing"])
    for word in ("leaves to a laboratory", "gene bank", "three springs", "Chill requirement"):
        assert word in missing
    assert data["s_alleles"] is None and data["ploidy"] is None


def test_self_fertility_follows_from_a_mutant_allele(pollinet: Run) -> None:
    """Stella S3S4' is self-fertile by its mutant of the pollen (Schuster 2020)."""
    data = pollinet("variety", "Stella", "--species", "sweet cherry", "--json").data
    assert data["self_fertile"] is True and data["own_pollen"]["verdict"] in ("yes", "half")


def test_bloom_by_context(pollinet: Run) -> None:
    data = pollinet("variety", "Burlat", "--json").data
    dates = [fact["bloom"] for fact in data["facts"] if fact["bloom"]]
    assert {"Etoile", "Balandran"} <= {date["place"] for date in dates}
    assert all(date["sd_days"] > 0 for date in dates)


def test_synonym_is_a_note(pollinet: Run) -> None:
    answer = pollinet("variety", "Bartlett", "--json")
    assert answer.data["variety"] == "Williams"
    assert [finding["code"] for finding in answer.data["findings"]] == ["synonym"]
    assert "Bartlett" in answer.data["other_names"]


def test_name_of_several_fruits_asks_for_the_fruit(pollinet: Run) -> None:
    answer = pollinet("variety", "Williams")
    assert answer.code == 2
    assert "apple and pear" in answer.err and "--species" in answer.err
    assert pollinet("variety", "Williams", "--species", "Pyrus communis").code == 0


@pytest.mark.parametrize("words", [("Rainer",), ("Rainer", "--species", "cherry")])
def test_unknown_name_gives_the_nearest(pollinet: Run, words: tuple[str, ...]) -> None:
    answer = pollinet("variety", *words)
    assert answer.code == 2 and "Rainier" in answer.err
    wrong = pollinet("variety", *words, "--json")
    assert wrong.code == 2 and wrong.data["findings"][0]["code"] == "unknown-variety"


def test_name_of_two_words_needs_no_quotes(pollinet: Run) -> None:
    data = pollinet("variety", "golden", "delicious", "--json").data
    assert data["variety"] == "Golden Delicious"


def test_unknown_fruit(pollinet: Run) -> None:
    assert pollinet("variety", "Bing", "--species", "chery").code == 2


def test_missing_folder_is_told(pollinet: Run, tmp_path: Any) -> None:
    answer = pollinet("variety", "Bing", "--folder", tmp_path / "none")
    assert answer.code == 2 and "missing-folder" not in answer.out


def test_every_property_has_a_label() -> None:
    assert set(read_shared(None, []).properties) == set(LABELS)


def test_descent_picking_keeping_and_hardiness_are_told(pollinet: Run) -> None:
    """Common knowledge of the trade: Gala is of Kidd's Orange Red by Golden Delicious."""
    data = pollinet("variety", "Gala", "--species", "apple", "--json").data
    assert (data["parents"]["first"], data["parents"]["second"]) == (
        "Kidd's Orange Red",
        "Golden Delicious",
    )
    assert data["parents"]["first_is_seed_parent"] and data["parents"]["status"] == "memory"
    assert {"Scifresh", "Nicoter", "Sansa"} <= set(data["parent_of"])
    answer = pollinet("variety", "Conference", "--json")
    [picked] = answer.data["picking"]
    assert (picked["first"], picked["last"], picked["own_garden"]) == ("09-16", "09-30", False)
    assert answer.data["keeping_weeks"] > 4 and answer.data["hardiness_zone"] == 5
    text = pollinet("variety", "Conference").out
    assert "Picked: 16–30 Sep" in text and "ask growers nearby before you rely on it" in " ".join(
        text.split()
    )
    # Of two lists the warmer zone is told: the careful side.
    assert pollinet("variety", "Duchess of Oldenburg", "--json").data["hardiness_zone"] == 4


def test_a_third_of_a_month_is_ten_days(pollinet: Run) -> None:
    """NFC-APPLES prints thirds of a month; the middle of each is kept."""
    data = pollinet("variety", "Baldwin", "--species", "apple", "--json").data
    [picked] = data["picking"]
    assert (picked["first"], picked["last"], picked["context"]) == ("10-11", "10-20", "Brogdale")


def test_alleles_by_descent_stand_on_the_page(pollinet: Run) -> None:
    answer = pollinet("variety", "Katja", "--species", "apple")
    assert "one of S5 and S8, one of S2 and S24" in answer.out
    assert "parents" in pollinet("variety", "Katja", "--json").data["rests_on_memory"]


def test_methods_of_chill_are_not_mixed(pollinet: Run) -> None:
    """Burlat by forced shoots: 41 (median of a study), 48 and 86 portions; fitted: 49."""
    answer = pollinet("variety", "Burlat", "--json")
    chill = answer.data["chill"]
    assert (chill["portions"], chill["method"]) == (48, "forced")
    assert chill["studies"] == ["ALBURQUERQUE2008", "CAMPOY2019", "DELGADO2025"]
    assert chill["sd_portions"] > 15
    values = {f["value"] for f in answer.data["facts"] if f["property"] == "chill_portions"}
    assert {"41", "48", "86", "49"} <= values


def test_a_crab_is_told_as_such(pollinet: Run) -> None:
    answer = pollinet("variety", "Evereste")
    assert "Evereste is a crab apple" in answer.out and "crops = false" in answer.out
    assert pollinet("variety", "Gala", "--species", "apple", "--json").data["crab"] is None
