"""Values that sources disagree about: their weights, what follows, and what ends a dispute."""

from __future__ import annotations

from pathlib import Path

import pytest

from pollinet.compatibility.verdict import cross_verdict, with_selfing
from pollinet.domain import (
    Alternative,
    Catalogue,
    Fact,
    Fertility,
    Genotype,
    Status,
    Variety,
    VarietyId,
)
from pollinet.readers.catalogue import fruits, load_catalogue
from pollinet.readers.disputes import (
    STATUS_WEIGHTS,
    Weighed,
    dispute_of,
    settled_by,
    with_alternatives,
)
from pollinet.readers.text_tables import shipped_rows
from pollinet.readers.varieties import like_parent

HEADER = "variety,property,value,unit,context,source,status,note"


def fact(value: str, source: str, status: Status = "published") -> Fact:
    return Fact("self_compatibility", value, source=source, status=status)


def weights(*facts: Fact, **factors: float) -> dict[str, float]:
    given = {value: Weighed(factor) for value, factor in factors.items()}
    found = dispute_of("self_compatibility", facts, given)
    return {one.value: round(one.weight, 6) for one in found.values}


@pytest.fixture(scope="module")
def catalogue() -> Catalogue:
    return load_catalogue(fruits())[0]


def own(folder: Path, fruit: str, species: str, row: str) -> Catalogue:
    file = folder / fruit / "facts.csv"
    file.parent.mkdir(parents=True)
    file.write_text(f"{HEADER}\n{row}\n", encoding="utf-8")
    found, findings = load_catalogue([species], folder)
    assert findings == ()
    return found


# --- weights ---------------------------------------------------------------------------------


def test_weights_follow_the_order_of_trust() -> None:
    told = [STATUS_WEIGHTS[s] for s in ("published", "trade", "inferred", "memory")]
    assert told == sorted(told, reverse=True) and len(set(told)) == 4


def test_each_source_counts_once_and_all_recall_as_one() -> None:
    yes, no = fact("yes", "BOOK"), fact("no", "MEM-A", "memory")
    share = STATUS_WEIGHTS["published"] / (STATUS_WEIGHTS["published"] + STATUS_WEIGHTS["memory"])
    expected = {"yes": round(share, 6), "no": round(1 - share, 6)}
    assert weights(yes, no) == expected
    assert weights(yes, yes, no) == expected
    assert (
        weights(yes, no, fact("no", "MEM-B", "memory"), fact("no", "C_MEM", "memory")) == expected
    )
    assert weights(yes, no, fact("no", "PAGE", "trade"))["no"] > expected["no"]


def test_factors_multiply_and_nothing_outweighs() -> None:
    yes, no = fact("yes", "BOOK"), fact("no", "PAPER")
    assert weights(yes, no) == {"no": 0.5, "yes": 0.5}
    assert weights(yes, no, no=3.0) == {"no": 0.75, "yes": 0.25}
    assert weights(yes, no, no=0.0) == {"yes": 1.0, "no": 0.0}


# --- what follows ----------------------------------------------------------------------------


def test_fields_hold_what_all_sides_agree_on() -> None:
    sides = [
        Alternative(0.25, Genotype(("S1", "S2")), 2, True),
        Alternative(0.75, Genotype(("S1", "S5")), 2, False),
    ]
    found = with_alternatives(Fertility(VarietyId("apple", "a"), "a"), sides)
    assert found.genotype == Genotype(("S1",), False)
    assert (found.ploidy, found.self_fertile) == (2, None)
    assert found.disputed == {"genotype", "self_fertile"}
    assert [one.weight for one in found.alternatives] == [0.75, 0.25]


def test_no_and_partial_are_no_alternatives() -> None:
    sides = [Alternative(0.4, self_fertile=False, partly_self_fertile=True),
             Alternative(0.6, self_fertile=False)]  # fmt: skip
    found = with_alternatives(Fertility(VarietyId("apple", "a"), "a"), sides)
    assert (found.self_fertile, found.partly_self_fertile) == (False, False)
    assert found.alternatives == ()


def test_a_sport_takes_over_its_parents_dispute_unless_it_has_a_value_of_its_own() -> None:
    names = [VarietyId("pear", name) for name in ("parent", "sport")]
    sides = [Alternative(0.5, self_fertile=True), Alternative(0.5, self_fertile=False)]
    parent = Variety(names[0], with_alternatives(Fertility(names[0], "parent"), sides))
    plain = like_parent(Variety(names[1], Fertility(names[1], "sport")), parent).fertility
    assert plain.alternatives == parent.fertility.alternatives and plain.self_fertile is None
    told = Variety(names[1], Fertility(names[1], "sport", self_fertile=True))
    settled = like_parent(told, parent).fertility
    assert settled.alternatives == () and settled.self_fertile is True


# --- the shipped tables ----------------------------------------------------------------------


def test_shipped_disputes_keep_both_values(catalogue: Catalogue) -> None:
    """Italian Prune partial or yes, d'Agen yes or no, Louise Bonne of Jersey with two genotypes.

    Sources: an Austrian teaching text against Utah; handbooks against an Italian nursery; the old
    incompatible group of Williams against Bagheri and Ershadi 2019.
    """
    plums = [catalogue.varieties[VarietyId("European plum", name)].fertility
             for name in ("Italian Prune", "d'Agen")]  # fmt: skip
    for plum in plums:
        assert plum.self_fertile is None
        assert {one.self_fertile for one in plum.alternatives} == {True, False}
        assert 0.0 < cross_verdict(plum, plum, catalogue.rules).probability < 1.0
    pear = catalogue.varieties[VarietyId("pear", "Louise Bonne of Jersey")].fertility
    williams = catalogue.varieties[VarietyId("pear", "Williams")].fertility
    genotypes = [one.genotype.alleles for one in pear.alternatives if one.genotype]
    assert sorted(genotypes) == [("S101", "S102"), ("S101", "S108")]
    verdict = cross_verdict(williams, pear, catalogue.rules)
    assert (verdict.answer, verdict.code) == ("unknown", "disputed")
    assert verdict.untold == ("receiver",)


def test_what_a_correction_settled_stays_settled_and_is_shown(catalogue: Catalogue) -> None:
    """Rambour Franc is triploid, whatever a screen of marker genes made of it."""
    variety = catalogue.varieties[VarietyId("apple", "Rambour Franc")]
    assert (variety.fertility.ploidy, variety.fertility.pollen_ok) == (3, False)
    assert variety.fertility.alternatives == ()
    [dispute] = variety.disputes
    assert [(one.value, one.weight) for one in dispute.values] == [("3", 1.0), ("2", 0.0)]
    assert dispute.values[1].note


def test_weights_of_all_shipped_disputes_add_up(catalogue: Catalogue) -> None:
    disputed = [v for v in catalogue.varieties.values() if v.disputes]
    assert len(disputed) > 60
    for variety in disputed:
        for dispute in variety.disputes:
            assert sum(one.weight for one in dispute.values) == pytest.approx(1.0)
        if variety.fertility.alternatives:
            total = sum(one.weight for one in variety.fertility.alternatives)
            assert total == pytest.approx(1.0)


def test_every_factor_belongs_to_a_value_that_is_disputed(catalogue: Catalogue) -> None:
    told = {
        (variety.id.species, variety.id.name, dispute.property, one.value)
        for variety in catalogue.varieties.values()
        for dispute in variety.disputes
        for one in dispute.values
    }
    for row in shipped_rows("disputes.csv"):
        assert (row["fruit"], row["variety"], row["property"], row["value"]) in told


def test_what_all_sides_agree_on_is_no_dispute(catalogue: Catalogue) -> None:
    """Alfa is S1S6 or S3S4 (Schuster 2020): either way its own pollen is refused."""
    alfa = catalogue.varieties[VarietyId("sweet cherry", "Alfa")].fertility
    assert alfa.genotype is None
    assert cross_verdict(alfa, alfa, catalogue.rules).answer == "no"
    assert with_selfing(alfa, catalogue.rules).self_fertile is False


# --- what ends a dispute ---------------------------------------------------------------------


def test_an_own_value_ends_the_dispute(tmp_path: Path) -> None:
    row = "Italian Prune,self_compatibility,yes,,,own,plan,"
    found = own(tmp_path, "european_plum", "European plum", row)
    plum = found.varieties[VarietyId("European plum", "Italian Prune")]
    assert plum.fertility.self_fertile is True
    assert plum.disputes == () and plum.fertility.alternatives == ()
    assert [f.source for f in plum.facts if f.property == "self_compatibility"] == ["own"]


def test_an_own_genotype_ends_the_dispute(tmp_path: Path) -> None:
    row = "Louise Bonne of Jersey,s_genotype,S101S108,,,own,plan,"
    pear = own(tmp_path, "pear", "pear", row).varieties[VarietyId("pear", "Louise Bonne of Jersey")]
    assert pear.fertility.genotype == Genotype(("S101", "S108"))
    assert pear.fertility.alternatives == ()


def test_what_was_never_disputed_is_as_told() -> None:
    plain = Fertility(VarietyId("apple", "a"), "a", Genotype(("S1", "S2")), 2, True)
    assert settled_by(plain, {"ploidy": 3}) is plain
    sides = [
        Alternative(0.25, Genotype(("S1", "S2")), 2),
        Alternative(0.75, Genotype(("S1", "S5")), 3),
    ]
    found = with_alternatives(plain, sides)
    settled = settled_by(found, {"ploidy": 3})
    assert (settled.genotype, settled.ploidy) == (Genotype(("S1", "S5")), 3)
    assert settled.alternatives == ()
