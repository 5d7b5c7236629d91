"""Names on labels: found, found as a synonym, or refused with the nearest names."""

from __future__ import annotations

import pytest

from pollinet.domain import Catalogue, VarietyId
from pollinet.readers.catalogue import fruits, load_catalogue
from pollinet.readers.names import fold, resolve_fruit, resolve_variety


@pytest.fixture(scope="module")
def catalogue() -> Catalogue:
    return load_catalogue(["apple", "pear", "sweet cherry", "hazelnut"])[0]


@pytest.mark.parametrize(
    ("text", "species", "name"),
    [
        ("Fuji", "apple", "Fuji"),
        ("golden delicious", "apple", "Golden Delicious"),
        ("Coxs Orange-Pippin", "apple", "Cox's Orange Pippin"),
        ("Cox’s Orange Pippin", "apple", "Cox's Orange Pippin"),
        ("Beurré Hardy", "pear", "Beurre Hardy"),
        ("Schneiders spate Knorpelkirsche", "sweet cherry", "Schneiders Späte Knorpelkirsche"),
        ("Cakildak", "hazelnut", "Çakıldak"),
    ],
)
def test_case_accents_and_signs_do_not_matter(
    catalogue: Catalogue, text: str, species: str, name: str
) -> None:
    assert resolve_variety(text, species, catalogue) == (VarietyId(species, name), ())


@pytest.mark.parametrize(
    ("text", "species", "name"),
    [
        ("Bartlett", "pear", "Williams"),
        ("comice", "pear", "Doyenne du Comice"),
        ("Sumtare", "sweet cherry", "Sweetheart"),  # SCHUSTER2020: Sweetheart (Sumtare)
        ("Crispin", "apple", "Mutsu"),
    ],
)
def test_synonym_is_told(catalogue: Catalogue, text: str, species: str, name: str) -> None:
    variety, (finding,) = resolve_variety(text, species, catalogue, file="plan.toml", place="x")
    assert variety == VarietyId(species, name)
    assert (finding.severity, finding.code) == ("note", "synonym")
    assert name in finding.message and finding.where == "plan.toml, x"


def test_unknown_name_offers_the_nearest_and_takes_none(catalogue: Catalogue) -> None:
    variety, (finding,) = resolve_variety(
        "Golden Delicous", "apple", catalogue, file="p", place="q"
    )
    assert variety is None
    assert (finding.severity, finding.code) == ("error", "unknown-variety")
    assert "Golden Delicious" in finding.cure and finding.where == "p, q"


def test_name_of_another_fruit_is_unknown_and_says_so(catalogue: Catalogue) -> None:
    variety, (finding,) = resolve_variety("bing", "apple", catalogue)
    assert variety is None and finding.code == "unknown-variety"
    assert finding.message.endswith("it is one of sweet cherry.")


def test_own_variety_goes_first(catalogue: Catalogue) -> None:
    own = ("Bartlett", "Hedge Pear")
    for text, name in {"Bartlett": "Bartlett", "hedge-pear": "Hedge Pear"}.items():
        assert resolve_variety(text, "pear", catalogue, own=own) == (VarietyId("pear", name), ())


def test_equally_near_own_names_are_not_guessed(catalogue: Catalogue) -> None:
    variety, (finding,) = resolve_variety(
        "oldtree", "pear", catalogue, own=("Old Tree", "Old-tree")
    )
    assert variety is None and finding.code == "ambiguous-variety"


@pytest.mark.parametrize(
    ("text", "name"),
    [
        ("apple", "apple"),
        ("Malus domestica", "apple"),
        ("European pear", "pear"),
        ("nectarine", "peach"),
        ("Prunus avium", "sweet cherry"),
        ("Sweet-Cherry", "sweet cherry"),
        ("japanese plum", "Japanese plum"),
        ("filbert", "hazelnut"),
        ("hazel", "hazelnut"),
        ("cob nut", "hazelnut"),
        # German names: Duden.
        ("Haselnuß", "hazelnut"),
        ("Apfel", "apple"),
        ("Birne", "pear"),
        ("Kirsche", "sweet cherry"),
        ("Süsskirsche", "sweet cherry"),
        ("Sauerkirsche", "sour cherry"),
        ("Zwetschge", "European plum"),
        ("Aprikose", "apricot"),
        ("Pfirsich", "peach"),
        ("Mandel", "almond"),
    ],
)
def test_fruit_by_any_of_its_names(text: str, name: str) -> None:
    assert resolve_fruit(text, fruits()) == (name, ())


def test_unknown_fruit_offers_the_nearest() -> None:
    name, (finding,) = resolve_fruit("aple", fruits(), file="plan.toml", place="tree[1].species")
    assert name is None
    assert finding.code == "unknown-fruit" and finding.cure.startswith("Nearest: apple")
    assert finding.where == "plan.toml, tree[1].species"


def test_fold_keeps_letters_of_any_script() -> None:
    assert fold("Ярославна") and fold("Weiße Herzkirsche") == fold("WEISSE HERZKIRSCHE")
