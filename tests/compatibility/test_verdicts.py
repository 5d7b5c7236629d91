"""Verdicts: direction, order of decision, sources, memory, and laws that must always hold."""

from __future__ import annotations

from dataclasses import replace
from itertools import product

import numpy as np
import pytest
from crosses import FRUITS, frequencies, rules, variety
from hypothesis import given
from hypothesis import strategies as st

from pollinet.compatibility.crossing import NOT_RELIED_UPON, POSSIBLE, strength_of
from pollinet.compatibility.outcome import CODES
from pollinet.compatibility.verdict import cross_verdict
from pollinet.compatibility.verdict_table import verdicts
from pollinet.domain import (
    CrossingRule,
    Fertility,
    FertilityRules,
    MeasuredPair,
    VarietyId,
    Verdict,
)
from pollinet.errors import PollinetError
from pollinet.readers.catalogue import load_catalogue
from pollinet.wording.verdicts import verdict_sentence

RULES = rules()


def pair(species: str, female: str, male: str, result: str, kind: str = "measured cross", **more):
    return MeasuredPair(species, female, male, result, "", kind, "SRC", "published", **more)


def verdict(donor: Fertility, receiver: Fertility, table: FertilityRules = RULES) -> Verdict:
    result = cross_verdict(donor, receiver, table)
    assert result.code in CODES
    assert "{" not in verdict_sentence(result)
    return result


# --- mutants and direction: notes on the fertility systems, section 2 -------------------------

BING = variety("sweet cherry", "Bing", "S3 S4", sources=("SCHUSTER2020",))
STELLA = variety("sweet cherry", "Stella", "S3 S4'", self_fertile=True, sources=("SCHUSTER2020",))


def test_pollen_part_mutant_gives_and_does_not_receive() -> None:
    """Bing x Stella is half, Stella x Bing is no: Schuster 2020, rule in its class SC."""
    gives = verdict(STELLA, BING)
    assert (gives.answer, gives.fraction) == ("half", 0.5)
    assert (gives.accepted, gives.refused) == (("S4'",), ("S3",))
    takes = verdict(BING, STELLA)
    assert (takes.answer, takes.code) == ("no", "all-alleles-refused")


def test_dropped_prime_is_the_careful_reading() -> None:
    """A primed allele that no table explains has no privilege, neither as pollen nor as style."""
    plain, untold = replace(RULES, alleles=()), replace(STELLA, self_fertile=None)
    assert verdict(untold, BING, plain).answer == "no"
    assert verdict(BING, untold, plain).answer == "no"


def test_self_fertility_that_the_alleles_do_not_tell_leaves_crosses_open() -> None:
    """Cherry Endiablà is self-compatible with a plain genotype: notes on the fertility systems."""
    plain = variety("sweet cherry", "Endiablà", "S3 S3")
    endiabla = replace(plain, self_fertile=True)
    asked = verdict(endiabla, BING)
    assert (asked.answer, asked.code, asked.refused) == ("unknown", "unmarked-mutation", ("S3",))
    assert verdict(plain, BING).answer == "no"
    twin = variety("sweet cherry", "T", "S3 S3")
    assert verdict(twin, endiabla).answer == "unknown"
    assert verdict(endiabla, variety("sweet cherry", "Z", "S1 S4")).answer == "yes"


def test_partly_self_fertile_is_not_counted_on_and_leaves_sf_inactive() -> None:
    guara = variety("almond", "Guara", "S1 Sf", self_fertile=True)
    other = variety("almond", "P", "S1 Sf", self_fertile=False)
    partly = replace(other, partly_self_fertile=True)
    own = verdict(partly, partly)
    assert (own.answer, own.code) == ("no", "partly-self-fertile")
    assert verdict(guara, partly).answer == "half"
    assert verdict(guara, other).answer == "no"


def test_stylar_part_mutant_in_almond() -> None:
    """Sf pollen is stopped by a working Sf (Vivot, Fernández i Martí et al. 2010), else free."""
    tuono = variety("almond", "Tuono", "S1 Sf", self_fertile=True)
    vivot = variety("almond", "Vivot", "S23 Sf", self_fertile=False)
    soleta = variety("almond", "Soleta", "S23 Sf", self_fertile=True)
    assert verdict(tuono, vivot).refused == ("Sf",)
    assert verdict(tuono, soleta).answer == "yes"
    assert verdict(vivot, vivot).answer == "no"
    assert verdict(soleta, soleta).answer == "yes"


def test_stylar_part_mutant_pollen_is_the_plain_allele() -> None:
    """Osa-Nijisseiki S2S4sm: accepts S4 pollen; its own S4sm pollen is stopped by S4 (notes)."""
    osa = variety("nashi", "Osa", "S2 S4sm", self_fertile=True)
    kosui = variety("nashi", "Kosui", "S4 S5")
    assert verdict(kosui, osa).fraction == 1.0
    assert verdict(osa, kosui).refused == ("S4sm",)
    assert verdict(osa, kosui).sources == ("MEM-NS",)
    assert verdict(osa, kosui).memory  # The table of alleles has S4sm from memory only.


def test_modifier_outside_the_s_locus() -> None:
    """Katy S1S2 with one m0: half of its pollen passes an S1S2 style (Muñoz-Sanz et al. 2017)."""
    katy = variety("apricot", "Katy", "S1 S2", modifier_share=0.5, self_fertile=True)
    goldrich = variety("apricot", "Goldrich", "S1 S2", self_fertile=False)
    assert verdict(katy, goldrich).fraction == 0.5
    assert verdict(katy, goldrich).code == "modifier-pollen"
    # The half without m0 follows its S-alleles: on S1S3 only its S2 grains pass.
    assert verdict(katy, variety("apricot", "R", "S1 S3")).fraction == 0.75
    assert verdict(goldrich, katy).answer == "no"


def test_aliases_name_one_allele() -> None:
    """S19 of old papers is S28 (notes on apple alleles, memory)."""
    old, new = variety("apple", "A", "S9 S19"), variety("apple", "B", "S9 S28")
    assert verdict(old, new).code == "same-genotype"
    assert verdict(old, new).memory


# --- ploidy -----------------------------------------------------------------------------------


def test_triploid_receives_alleles_it_lacks_and_gives_nothing() -> None:
    """Jonagold S2S3S9: Golden Delicious S2S3 is refused both ways (NC extension HIL-302)."""
    jonagold = variety("apple", "Jonagold", "S2 S3 S9", ploidy=3)
    golden = variety("apple", "Golden Delicious", "S2 S3")
    fuji = variety("apple", "Fuji", "S1 S9")
    assert verdict(golden, jonagold).code == "all-alleles-refused"
    assert verdict(fuji, jonagold).fraction == 0.5
    assert verdict(jonagold, golden).code == "triploid-pollen"
    assert verdict(replace(jonagold, ploidy=None), golden).code == "triploid-pollen"


def test_a_source_can_say_that_triploid_pollen_works() -> None:
    """Beurré d'Amanlis is said to set Conference though triploid (notes, YGI)."""
    amanlis = variety("pear", "Beurre d'Amanlis", "S101 S105 S107", ploidy=3, pollen_ok=True)
    conference = variety("pear", "Conference", "S108 S119")
    assert verdict(amanlis, conference).answer == "yes"


def test_tetraploid_apple_and_its_diploid() -> None:
    """Adachi et al. 2009: 4x pollen works on the 2x original, 2x pollen not on the 4x tree."""
    diploid = variety("apple", "Two", "S1 S2")
    tetraploid = variety("apple", "Four", "S1 S2", ploidy=4)
    assert verdict(tetraploid, diploid).fraction == pytest.approx(4 / 6)
    assert verdict(diploid, tetraploid).answer == "no"


def test_tetraploid_cherry_follows_the_one_allele_match() -> None:
    """Hauck et al. 2006: sour cherry grains with a working allele of the sweet style never set."""
    crossing = CrossingRule("sour cherry", "sweet cherry", "reliable", "HAUCK2006", "published")
    table = rules(crossings=(crossing,))
    sour = variety("sour cherry", "Sour", "S4 S6 S9 S35")
    sweet = variety("sweet cherry", "Gold", "S3 S6")
    # Six grains, of which the three without S6 pass.
    assert verdict(sour, sweet, table).fraction == 0.5
    both_shared = variety("sweet cherry", "Both", "S6 S9")
    assert verdict(sour, both_shared, table).fraction == pytest.approx(1 / 6)


def test_sterile_pollen_of_a_diploid() -> None:
    winesap = variety("apple", "Winesap", "S1 S28", pollen_ok=False, memory=("genotype",))
    golden = variety("apple", "Golden Delicious", "S2 S3")
    assert verdict(winesap, golden).code == "sterile-pollen"
    assert not verdict(winesap, golden).memory  # The genotype from memory did not decide.
    assert verdict(golden, winesap).memory


# --- the same variety -------------------------------------------------------------------------


@pytest.mark.parametrize(
    ("species", "alleles", "self_fertile", "expected"),
    [
        ("apple", "S1 S2", None, "no"),
        ("apple", None, None, "no"),
        ("apple", "S1 S2", True, "yes"),
        ("sweet cherry", "S3 S4'", None, "unknown"),
        ("sweet cherry", "S3 S6", True, "yes"),  # Cristobalina, Schuster 2020
        ("European plum", None, None, "unknown"),
        ("European plum", None, False, "no"),
        ("European plum", None, True, "yes"),
        ("European plum", "S1 S2 S3 S4 S5 S6", None, "unknown"),
        ("peach", None, None, "yes"),  # AUTOGAMY1983: the species is self-fertile
        ("hazelnut", None, None, "no"),  # what the pollen shows stands in the own stigma
    ],
)
def test_own_pollen(
    species: str, alleles: str | None, self_fertile: bool | None, expected: str
) -> None:
    own = variety(species, "Own", alleles, self_fertile=self_fertile)
    assert verdict(own, own).answer == expected
    sport = variety(species, "Red Own", alleles, self_fertile=self_fertile, clone="Own")
    assert verdict(sport, own).answer == expected


def test_male_sterile_peach_needs_another() -> None:
    """J.H. Hale is never a donor, not even for itself (AUTOGAMY1983)."""
    hale = variety("peach", "J.H. Hale", pollen_ok=False)
    other = variety("peach", "Other")
    assert verdict(hale, hale).code == "sterile-pollen"
    # Without good pollen a fruit set "by itself" is not set by it.
    told = replace(hale, self_fertile=True)
    assert verdict(told, told).code == "sterile-pollen"
    assert verdict(hale, other).answer == "no"
    assert verdict(other, hale).answer == "yes"


# --- measured crosses, groups, other fruits ---------------------------------------------------


def test_measured_cross_overrules_the_rule_and_half_agrees_with_yes() -> None:
    a, b = variety("apple", "A", "S1 S2"), variety("apple", "B", "S2 S3")
    good = verdict(a, b, rules(pairs=(pair("apple", "B", "A", "yes"),)))
    assert (good.answer, good.fraction, good.code) == ("half", 0.5, "shares-one-allele")
    assert good.measured == ("yes (measured cross, SRC)",)
    bad = verdict(a, b, rules(pairs=(pair("apple", "B", "A", "no"),)))
    assert (bad.answer, bad.code, bad.sources) == ("no", "measured-cross", ("SRC",))
    other_way = verdict(b, a, rules(pairs=(pair("apple", "B", "A", "no"),)))
    assert other_way.answer == "half"


def test_recommendation_and_derived_pair_decide_nothing() -> None:
    a, b = variety("apple", "A"), variety("apple", "B", "S2 S3")
    for kind in ("listed pollinizer (recommendation, not a cross)", "rule-derived"):
        table = rules(pairs=(pair("apple", "B", "A", "yes", kind),))
        assert verdict(a, b, table).answer == "unknown"
    stated = rules(pairs=(pair("apple", "B", "A", "yes", "source statement"),))
    assert verdict(a, b, stated).code == "source-statement"


def test_statement_does_not_overrule_a_rule() -> None:
    a, b = variety("apple", "A", "S1 S2"), variety("apple", "B", "S1 S2")
    table = rules(pairs=(pair("apple", "B", "A", "yes", "source statement"),))
    assert verdict(a, b, table).code == "same-genotype"


def test_half_and_yes_of_several_crosses_make_half() -> None:
    a, b = variety("apple", "A", "S1 S2"), variety("apple", "B", "S3 S4")
    table = rules(pairs=(pair("apple", "B", "A", "yes"), pair("apple", "B", "A", "half")))
    assert (verdict(a, b, table).answer, verdict(a, b, table).code) == ("half", "measured-cross")


def test_contradicting_crosses_leave_the_rule() -> None:
    a, b = variety("apple", "A", "S1 S2"), variety("apple", "B", "S3 S4")
    table = rules(pairs=(pair("apple", "B", "A", "yes"), pair("apple", "B", "A", "no")))
    assert verdict(a, b, table).code == "compatible"
    assert len(verdict(a, b, table).measured) == 2


def test_sport_uses_the_crosses_of_its_parent() -> None:
    sport = variety("apple", "Red A", "S1 S2", clone="A")
    table = rules(pairs=(pair("apple", "B", "A", "no"),))
    assert verdict(sport, variety("apple", "B", "S3 S4"), table).code == "measured-cross"


def test_groups_serve_where_a_genotype_is_missing() -> None:
    a, b = variety("almond", "A", group="Carmel"), variety("almond", "B", "S5 S8", group="Carmel")
    assert verdict(a, b).code == "same-group"
    assert verdict(a, replace(b, group="Solano")).answer == "unknown"
    incomplete = variety("almond", "C", "S5 ?", group="Carmel")
    assert verdict(incomplete, b).code == "same-group"
    other = variety("almond", "D", "S1 S7", group="Carmel")  # The genotypes are the closer look.
    assert verdict(other, b).code == "compatible"
    unique = replace(a, group="0"), replace(b, group="0")
    assert verdict(*unique).answer == "unknown"


def test_class_fruits_assume_and_respect_forbidden_pairs() -> None:
    a, b = variety("European plum", "A"), variety("European plum", "B")
    # Nobody says so of these two: a chance, never a silent yes.
    assert (verdict(a, b).answer, verdict(a, b).code) == ("unknown", "assumed-compatible")
    assert 0.5 < verdict(a, b).probability < 1.0
    table = rules(pairs=(pair("European plum", "B", "A", "no", "source statement"),))
    assert verdict(a, b, table).answer == "no"


def test_other_fruits() -> None:
    apple, pear = variety("apple", "A", "S1 S2"), variety("pear", "P", "S101 S102")
    assert verdict(apple, pear).code == "other-fruit"
    plum, apricot = variety("Japanese plum", "J"), variety("apricot", "X", ploidy=2)
    reliable = CrossingRule("apricot", "Japanese plum", "reliable", "YOSHIDA1975", "published")
    table = rules(crossings=(reliable,))
    assert verdict(apricot, plum, table).code == "species-cross"
    assert verdict(apricot, plum, table).sources == ("YOSHIDA1975",)
    untold = verdict(plum, apricot, table)
    assert (untold.answer, untold.code) == ("unknown", "unknown-fruit-cross")
    assert verdict(replace(apricot, pollen_ok=False), plum, table).answer == "no"
    refused = rules(crossings=(replace(reliable, strength="no"),))
    assert (verdict(apricot, plum, refused).code, verdict(apricot, plum, refused).sources) == (
        "other-fruit",
        ("YOSHIDA1975",),
    )
    for strength, chance in {"possible": POSSIBLE, "not relied upon": NOT_RELIED_UPON}.items():
        doubtful = verdict(apricot, plum, rules(crossings=(replace(reliable, strength=strength),)))
        assert (doubtful.answer, doubtful.probability) == ("unknown", chance)
        assert strength_of(doubtful) == strength
    assert strength_of(verdict(apricot, plum, table)) == "reliable"
    assert strength_of(verdict(apricot, plum, refused)) == "no"
    assert strength_of(verdict(plum, plum, table)) is None
    open_question = rules(crossings=(replace(reliable, strength="unknown"),))
    assert verdict(apricot, plum, open_question).code == "different-name-space"


def test_rules_of_a_fruit_that_were_not_loaded() -> None:
    quince = variety("quince", "Q")
    with pytest.raises(PollinetError, match="quince"):
        cross_verdict(quince, variety("quince", "R"), RULES)


# --- laws -------------------------------------------------------------------------------------

GAMETOPHYTIC = sorted(name for name, f in FRUITS.items() if f.system == "gametophytic")
PLAIN = ["S1", "S2", "S3", "S5", "S7"]
alleles = st.lists(st.sampled_from([*PLAIN, "S4'", "S4", "Sc", "Sf"]), min_size=1, max_size=3)


@st.composite
def fertilities(draw: st.DrawFn, name: str = "V") -> Fertility:
    known = draw(st.none() | alleles.map(lambda names: tuple(sorted(names))))
    text = None if known is None else " ".join(known) + ("" if draw(st.booleans()) else " ?")
    return variety(
        draw(st.sampled_from(["apple", "almond", "sweet cherry"])),
        name,
        text,
        ploidy=draw(st.sampled_from([None, 2, 3, 4])),
        self_fertile=draw(st.sampled_from([None, True, False])),
        pollen_ok=draw(st.sampled_from([None, True, False])),
    )


COUNTS = {space: dict.fromkeys([*PLAIN, "S4", "S4'"], 1.0) for space in ("Malus", "Prunus cerasus")}


@given(fertilities("D"), fertilities("R"))
def test_answer_fraction_and_probability_tell_one_story(donor: Fertility, rec: Fertility) -> None:
    result = verdict(
        donor,
        replace(rec, id=rec.id._replace(species=donor.id.species)),
        rules(allele_frequencies=COUNTS),
    )
    assert 0.0 <= result.probability <= 1.0
    assert (result.fraction is None) == (result.answer == "unknown")
    if result.answer == "no":
        assert (result.fraction, result.probability) == (0.0, 0.0)
    if result.answer in ("yes", "half"):
        assert result.fraction > 0.0
        assert result.probability == 1.0


@given(st.sampled_from(GAMETOPHYTIC), st.permutations(PLAIN), st.sampled_from([None, False]))
def test_no_diploid_accepts_itself_unless_self_compatible(
    species: str, order: list[str], self_fertile: bool | None
) -> None:
    own = variety(species, "Own", " ".join(order[:2]), ploidy=2, self_fertile=self_fertile)
    assert verdict(own, own).answer == "no"
    twin = variety(species, "Twin", " ".join(order[:2]), ploidy=2, self_fertile=self_fertile)
    assert verdict(own, twin).code == "same-genotype"


@given(fertilities("D"), fertilities("R"))
def test_triploid_never_gives_unless_a_source_says_so(donor: Fertility, rec: Fertility) -> None:
    triploid = replace(donor, ploidy=3, pollen_ok=None)
    rec = replace(rec, id=rec.id._replace(species=donor.id.species))
    assert verdict(triploid, rec).code == "triploid-pollen"


@given(fertilities("D"), fertilities("R"), st.permutations(PLAIN))
def test_renaming_alleles_changes_nothing(
    donor: Fertility, receiver: Fertility, order: list[str]
) -> None:
    new = dict(zip(PLAIN, order, strict=True))

    def renamed(side: Fertility) -> Fertility:
        side = replace(side, id=side.id._replace(species="apple"))
        if side.genotype is None:
            return side
        names = tuple(new.get(a, a) for a in side.genotype.alleles)
        return replace(side, genotype=replace(side.genotype, alleles=names))

    table = rules(allele_frequencies=COUNTS)
    before = [replace(s, id=s.id._replace(species="apple")) for s in (donor, receiver)]
    one, two = verdict(*before, table), verdict(renamed(donor), renamed(receiver), table)
    assert (one.answer, one.fraction, one.code) == (two.answer, two.fraction, two.code)
    assert one.probability == pytest.approx(two.probability)
    assert {new.get(a, a) for a in one.refused} == set(two.refused)


@given(st.sampled_from(GAMETOPHYTIC), alleles, alleles, st.sampled_from(PLAIN))
def test_another_allele_in_the_style_never_raises_the_share(
    species: str, pollen: list[str], style: list[str], extra: str
) -> None:
    donor = variety(species, "D", " ".join(pollen), ploidy=2)
    narrow = variety(species, "R", " ".join(style), ploidy=len(style))
    wide = variety(species, "R", " ".join([*style, extra]), ploidy=len(style) + 1)
    assert verdict(donor, wide).fraction <= verdict(donor, narrow).fraction


@given(fertilities("D"), fertilities("R"))
def test_unknown_genotype_is_never_a_full_yes(donor: Fertility, receiver: Fertility) -> None:
    """Whatever is known of the donor, a style that nobody knows cannot be a plain yes.

    Only pollen that passes every style does (all alleles broken: S4'S4').
    """
    receiver = replace(receiver, id=donor.id._replace(name="R"), genotype=None)
    donor = replace(donor, modifier_share=0.0)
    result = verdict(donor, receiver, rules(allele_frequencies=COUNTS))
    mutants = donor.genotype is not None and set(donor.genotype.alleles) <= {"S4'"}
    mixed = donor.id.species == "apple" and (donor.ploidy or 2) >= 4
    assert result.answer != "yes" or mutants or mixed


def test_a_self_fertile_variety_of_half_known_alleles_leaves_crosses_open() -> None:
    donor = variety("sweet cherry", "D", "S1 S1")
    receiver = variety("sweet cherry", "R", "S1 S?", self_fertile=True)
    assert verdict(donor, receiver).code == "unmarked-mutation"
    assert verdict(donor, replace(receiver, self_fertile=None)).answer == "no"


@given(fertilities("D"), fertilities("R"))
def test_naming_a_missing_allele_never_contradicts(donor: Fertility, receiver: Fertility) -> None:
    """What was certain with an incomplete genotype stays so when the genotype is completed."""
    donor = replace(donor, id=donor.id._replace(species="sweet cherry"), ploidy=2)
    receiver = replace(receiver, id=receiver.id._replace(species="sweet cherry"), ploidy=2)
    before = verdict(donor, receiver, rules(allele_frequencies=COUNTS))
    for extra_d, extra_r in product(["S1", "S4'", "S99"], repeat=2):
        after = verdict(completed(donor, extra_d), completed(receiver, extra_r))
        if before.answer == "no":
            assert after.answer == "no"
        elif before.answer != "unknown":
            assert after.fraction >= before.fraction


def completed(side: Fertility, extra: str) -> Fertility:
    """The variety with `extra` for each allele that was missing."""
    known = side.genotype.alleles if side.genotype else ()
    if side.genotype is not None and side.genotype.complete:
        return side
    missing = max(2 - len(known), 1 if side.genotype else 0)
    return variety(
        side.id.species,
        side.id.name,
        " ".join([*known, *[extra] * missing]),
        **{f: getattr(side, f) for f in ("ploidy", "self_fertile", "pollen_ok")},
    )


# --- many at once -----------------------------------------------------------------------------


def test_all_pairs_equal_one_by_one() -> None:
    names = [("A", "S1 S2"), ("B", "S2 S3"), ("C", None), ("D", "S1 S2"), ("E", "S1 S2 S3")]
    some = [variety("apple", name, text) for name, text in names]
    some.append(variety("apple", "Red A", "S1 S2", clone="A"))
    some.append(variety("pear", "A", "S1 S2"))
    table = rules(
        pairs=(pair("apple", "B", "A", "no"),),
        allele_frequencies=frequencies("Malus", S1=3, S2=2, S3=1),
    )
    many = verdicts(some, table)
    assert len(many) == len(some) ** 2
    for donor, receiver in many:
        assert many[donor, receiver] == cross_verdict(some[donor], some[receiver], table)
    assert (0, len(some)) not in many
    assert (-1, 0) not in many


def test_a_thousand_varieties_are_judged_by_kinds() -> None:
    counts = {f"S{i}": 20.0 - i for i in range(1, 16)}
    texts = [f"S{1 + i % 14} S{2 + i % 14}" if i % 5 else None for i in range(1000)]
    some = [variety("apple", f"V{i}", text) for i, text in enumerate(texts)]
    many = verdicts(some, rules(allele_frequencies={"Malus": counts}))
    answers = {v.answer for v in many.values()}
    assert answers == {"yes", "half", "no", "unknown"}


def test_many_pairs_at_once_are_those_asked_one_by_one() -> None:
    """Shipped cherries and apples, with every clone and every published cross."""
    catalogue, _ = load_catalogue(["sweet cherry", "apple"])
    names = sorted(catalogue.varieties)
    place = {name: i for i, name in enumerate(names)}
    some = [catalogue.varieties[name].fertility for name in names]
    twins = [
        (i, place[VarietyId(own.id.species, own.clone)])
        for i, own in enumerate(some)
        if own.clone != own.id.name
    ]
    crossed = [
        (place[VarietyId(p.species, p.male)], place[VarietyId(p.species, p.female)])
        for p in catalogue.rules.pairs
    ]
    assert len(twins) > 50 and len(crossed) > 20
    others = np.random.default_rng(1).integers(len(some), size=(6000, 2))
    alone = [(i, i) for i in range(0, len(some), 20)]
    asked = np.array([*twins, *crossed, *alone, *others.tolist()])
    one_by_one = [
        cross_verdict(some[donor], some[receiver], catalogue.rules)
        for donor, receiver in asked.tolist()
    ]
    table = verdicts(some, catalogue.rules)
    assert table.of(asked[:, 0], asked[:, 1]) == one_by_one
    places, different = table.alike(asked[:, 0], asked[:, 1])
    assert len(different) < len(asked) / 2
    assert [(different[i].answer, different[i].fraction, different[i].code) for i in places] == [
        (verdict.answer, verdict.fraction, verdict.code) for verdict in one_by_one
    ]
    square, few = table.alike(np.arange(90)[:, None], np.arange(60))
    assert square.shape == (90, 60)
    assert few[square[70, 7]] == replace(
        table[70, 7], donor=few[square[70, 7]].donor, receiver=few[square[70, 7]].receiver
    )


def test_verdicts_of_some_varieties_keep_their_order() -> None:
    names = [("A", "S1 S2"), ("B", "S2 S3"), ("C", None), ("D", "S1 S2")]
    some = [variety("apple", name, text) for name, text in names]
    table = rules(pairs=(pair("apple", "D", "B", "no"),))
    few = verdicts(some, table).kept([1, 3])
    assert dict(few) == dict(verdicts([some[1], some[3]], table))
    assert few[0, 1].answer == "no"


@pytest.mark.parametrize("result", ["yes", "no"])
def test_a_selfing_that_was_made_tells_of_own_pollen_where_nothing_else_does(result: str) -> None:
    own = variety("European plum", "Own")
    table = rules(pairs=(pair("European plum", "Own", "Own", result),))
    told = verdict(own, own, table)
    assert (told.answer, told.code, told.sources) == (result, "measured-cross", ("SRC",))
    # What is told of the variety as a whole goes before a single selfing.
    sure = replace(own, self_fertile=result == "no")
    assert verdict(sure, sure, table).answer != result
