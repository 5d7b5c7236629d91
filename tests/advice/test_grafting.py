"""What holds on what, and how much wood: the tables, and the sums against scipy's."""

from __future__ import annotations

import pytest
from scipy.stats import binom

from pollinet.advice.grafting import (
    SURE,
    grafts_to_make,
    stock_kind,
    union_of,
    wood_for,
)
from pollinet.advice.rules import split
from pollinet.domain import VarietyId
from pollinet.readers.advice import advice_tables
from pollinet.readers.catalogue import fruits, load_catalogue

GRAFTS, ROOTSTOCKS, TAKES = (advice_tables()[name] for name in ("grafts", "rootstocks", "takes"))

KINDS = {row["stock"] for row in ROOTSTOCKS} | set(fruits())


@pytest.mark.parametrize("take", [0.05, 0.3, 0.4, 0.5, 0.6, 0.776393202250021, 0.8, 0.96])
def test_so_many_grafts_that_one_takes(take: float) -> None:
    """The binomial distribution of scipy: at least one of n takes, and of one fewer too seldom."""
    grafts = grafts_to_make(take)
    assert binom.sf(0, grafts, take) >= SURE - 1e-9
    assert grafts == 1 or binom.sf(0, grafts - 1, take) < SURE


def test_sticks_are_those_of_the_grafts_and_one_to_spare() -> None:
    # By hand: an apple takes 2 grafts, 2 a stick; a cherry 4; a hazel 6; a peach 4 buds of one.
    wood = {fruit: wood_for(TAKES, fruit) for fruit in fruits()}
    found = {fruit: (one.grafts, one.sticks) for fruit, one in wood.items() if one is not None}
    assert set(found) == set(fruits())
    assert (found["apple"], found["sweet cherry"]) == ((2, 2), (4, 3))
    assert (found["hazelnut"], found["peach"]) == ((6, 4), (4, 2))


def test_rows_are_whole() -> None:
    for row in (*GRAFTS, *ROOTSTOCKS, *TAKES):
        assert row["source"] and row["status"] in ("published", "inferred", "memory")
    for row in GRAFTS:
        assert row["scions"] in fruits() and row["holds"] in ("yes", "some", "no")
        assert set(split(row["stock"])) <= KINDS
        assert not row["except"] or row["holds"] == "some"
    pairs = [(row["scions"], stock) for row in GRAFTS for stock in split(row["stock"])]
    assert len(pairs) == len(set(pairs))
    for row in ROOTSTOCKS:
        assert set(split(row["of"])) <= set(fruits())


def test_varieties_that_are_named_are_those_of_the_catalogue() -> None:
    known = load_catalogue([row["scions"] for row in GRAFTS if row["except"]])[0].varieties
    for row in GRAFTS:
        for name in set(split(row["except"])) - {"*"}:
            assert VarietyId(row["scions"], name) in known, name


def stocks_for(fruit: str) -> set[str]:
    """Every kind of wood on which a fruit, or some of its varieties, holds."""
    rows = (row for row in GRAFTS if row["scions"] == fruit and row["holds"] != "no")
    return {stock for row in rows for stock in split(row["stock"])}


def test_each_fruit_holds_on_itself_and_its_rootstocks_are_told() -> None:
    for fruit in fruits():
        on_itself = union_of(GRAFTS, fruit, [], fruit)
        assert on_itself is not None and on_itself.holds == "yes"
        assert stock_kind(ROOTSTOCKS, fruit, "seedling") is not None
        assert fruit in stocks_for(fruit)
    for row in ROOTSTOCKS:
        for fruit in split(row["of"]):
            assert union_of(GRAFTS, fruit, [], row["stock"]) is not None, (fruit, row["stock"])


def test_apples_and_pears_do_not_mix() -> None:
    """University of New Hampshire Extension, grafting fruit trees: apple on pear fails."""
    for scion, stock in (("apple", "pear"), ("pear", "apple")):
        found = union_of(GRAFTS, scion, [], stock)
        assert found is not None and found.holds == "no"
    assert "apple" not in stocks_for("pear")


def test_a_pear_that_parts_from_quince_and_one_that_does_not() -> None:
    """Williams is the common example of a pear that wants an interstem; common practice."""
    parting = union_of(GRAFTS, "pear", ["Williams"], "quince")
    holding = union_of(GRAFTS, "pear", ["Conference"], "quince")
    assert parting is not None and parting.parts and "Beurre Hardy" in parting.bridges
    assert holding is not None and not holding.parts
    every = union_of(GRAFTS, "nashi", ["Shinseiki"], "quince")
    assert every is not None and every.parts


@pytest.mark.parametrize(
    ("fruit", "typed", "kind"),
    [
        ("apple", "M.9", "apple"),
        ("pear", "quince c", "quince"),
        ("sweet cherry", "gisela-5", "dwarf cherry"),
        ("peach", "GF-677", "peach-almond"),
        ("pear", "", None),
        ("apple", "Gisela 5", None),
        ("hazelnut", "Corylus colurna", "Turkish hazel"),
    ],
)
def test_rootstocks_are_found_in_other_spellings(fruit: str, typed: str, kind: str | None) -> None:
    assert stock_kind(ROOTSTOCKS, fruit, typed) == kind


def test_of_a_fruit_that_no_row_has_nothing_is_made_up() -> None:
    assert wood_for([row for row in TAKES if "apple" not in row["fruits"]], "apple") is None
    assert wood_for(TAKES, "apple") is not None
