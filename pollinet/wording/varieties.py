"""What is known of a variety, in a grower's words."""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from pathlib import Path

from pollinet.days import short_date
from pollinet.domain import (
    BloomEvidence,
    Dispute,
    DisputedValue,
    Fact,
    Fruit,
    MeasuredPair,
    Variety,
)
from pollinet.wording.sentences import date_range, days, joined
from pollinet.wording.verdicts import fertility_lines, genotype_words

LABELS = {
    "s_genotype": "S-alleles",
    "s_genotype_other": "S-alleles, another reading",
    "s_genotype_old": "S-alleles, older letters",
    "pollen_alleles": "alleles its pollen shows",
    "modifier_share": "share of pollen with a modifier",
    "m_genotype": "M-locus",
    "incompatibility_group": "incompatibility group",
    "ploidy": "sets of chromosomes",
    "self_compatibility": "sets fruit with own pollen",
    "pollen_ok": "pollen works",
    "pollen_quality": "pollen quality",
    "parthenocarpy": "fruit without seed",
    "effective_pollination_period": "a flower can be served for",
    "first_bloom_day": "first bloom",
    "full_bloom_day": "full bloom",
    "bloom_end_day": "petal fall",
    "bloom_offset_days": "bloom",
    "bloom_class": "bloom class",
    "bloom_length_days": "length of bloom",
    "pollen_shed_first_day": "first pollen shed",
    "pollen_shed_end_day": "last pollen shed",
    "pollen_shed_class": "pollen shed",
    "stigma_receptivity_class": "stigmas receptive",
    "harvest_day": "harvest",
    "harvest_offset_days": "harvest",
    "days_bloom_to_harvest": "from bloom to harvest",
    "chill_portions": "chill requirement",
    "chill_portions_sd": "its standard deviation",
    "chill_units_utah": "chill requirement, Utah Model",
    "chill_hours": "chill requirement, chill hours",
    "chill_class": "chill requirement, in a word",
    "heat_gdh": "heat requirement",
    "vigour": "vigour",
    "biennial_tendency": "alternate bearing",
}
"""Properties of the catalogue in a grower's words, in the order in which a page tells them."""

SHOWN_NAMES = 8
"""Names shown in a list of varieties; all of them are in the JSON."""


def bloom_words(variety: Variety, relative_days: float | None) -> str:
    """`Bloom: dated at Etoile and Jork; 3 days later than the middle sweet cherry.`"""
    return f"{_bloom_words(variety, relative_days)}{_shed_words(variety)}"


def _shed_words(variety: Variety) -> str:
    if variety.typed_shed is not None:
        first, last = variety.typed_shed.intervals[0]
        return f" Pollen shed: {date_range(int(first), int(last))}."
    if variety.shed:
        return f" Pollen shed: known from {joined(sorted({e.place for e in variety.shed}))}."
    return ""


def _bloom_words(variety: Variety, relative_days: float | None) -> str:
    if variety.typed_bloom is not None:
        first, last = variety.typed_bloom.intervals[0]
        return f"Bloom: {date_range(int(first), int(last))} in your garden, as you typed it."
    places = sorted({evidence.place for evidence in variety.bloom})
    if not places:
        return "Bloom: no date known that could be carried to your garden."
    told = f"Bloom: known from {joined(places)}"
    if relative_days is not None:
        told += f"; {relative_words(relative_days)} the middle {variety.id.species}"
    weak = " (from memory)" if all(e.status == "memory" for e in variety.bloom) else ""
    return f"{told}{weak}."


def relative_words(relative_days: float) -> str:
    """`3 days later than`, `at about the time of`."""
    if abs(relative_days) < 1:
        return "at about the time of"
    return f"{days(abs(relative_days))} {'later' if relative_days > 0 else 'earlier'} than"


def variety_answer(variety: Variety, fruit: Fruit, relative_days: float | None = None) -> str:
    """All that decides about a donor, in two sentences."""
    return f"{fertility_lines(variety.fertility, fruit)[0]} {bloom_words(variety, relative_days)}"


# --- facts -----------------------------------------------------------------------------------


def fact_words(fact: Fact, evidence: BloomEvidence | None, reference: str = "") -> str:
    """The value of a fact: `7 Apr ± 1.5; 5 years`, `2 days after Bing`, `at most 200 h`."""
    value = fact.value
    if fact.property == "harvest_offset_days" or fact.property == "bloom_offset_days":
        value = _offset(float(fact.value), reference)
    elif fact.unit == "day of year":
        value = short_date(round(float(fact.value)))
    elif fact.unit:
        value = f"{fact.value} {fact.unit}"
    if fact.note in _LIMITS:
        value = f"{_LIMITS[fact.note]} {value}"
    if evidence is not None:
        dated = "" if evidence.kind == "date" else f", about {short_date(round(evidence.day))}"
        value = f"{value}{dated} ± {evidence.sd_days:g}"
    return f"{value}; {fact.note}" if fact.note and fact.note not in _LIMITS else value


_LIMITS = {"at most this": "at most", "more than this": "more than", "about": "about"}
"""Notes of the catalogue that belong before the number."""


def _offset(number: float, reference: str) -> str:
    reference = reference or "the reference variety"
    if number == 0:
        return f"with {reference}"
    return f"{days(abs(number))} {'after' if number > 0 else 'before'} {reference}"


def dispute_line(dispute: Dispute) -> str:
    """`S-alleles: S101S108 (BAGHERI2019, published), weight 80 %, or S101S102 (…), weight 20 %.`"""
    values = [_disputed_value(one) for one in dispute.values]
    return f"{LABELS.get(dispute.property, dispute.property)}: {' or '.join(values)}."


def _disputed_value(one: DisputedValue) -> str:
    sources = "; ".join(f"{source}, {status}" for source, status in one.told_by)
    weight = f"weight {one.weight * 100:.0f} %" if one.weight else "outweighed, not used"
    note = f": {one.note}" if one.note else ""
    return f"{one.value} ({sources}), {weight}{note}"


# --- company ---------------------------------------------------------------------------------


def names_words(names: Sequence[str]) -> str:
    """`3: A, B and C`, `112: A, B, … and 104 more`."""
    more = len(names) - SHOWN_NAMES
    told = [*names[:SHOWN_NAMES], f"{more} more"] if more > 0 else list(names)
    return f"{len(names)}: {joined(told)}"


def sharing_line(variety: Variety, others: Sequence[str]) -> str:
    """Who has the same S-alleles, so that they do not serve one another."""
    alleles = genotype_words(variety.fertility.genotype)
    if not others:
        return f"No other {variety.id.species} here has the same S-alleles, {alleles}."
    return f"With the same S-alleles {alleles}, {names_words(others)}."


def cross_line(pair: MeasuredPair) -> str:
    """One published cross: `Van pollen on Bing: yes, set 34 % (measured cross, SOURCE)`."""
    fruit_set = f", set {pair.fruit_set_pct} %" if pair.fruit_set_pct else ""
    told = f"{pair.male} pollen on {pair.female}: {pair.result}{fruit_set}"
    return f"{told} ({pair.kind}, {pair.source})"


# --- what is missing -------------------------------------------------------------------------

_ASK = "send young leaves to a laboratory that types S-alleles, or ask a gene bank that keeps it"


def missing_lines(variety: Variety, fruit: Fruit) -> list[str]:
    """What is not known, and how a grower finds out. The ways are common practice, no source."""
    fertility, genotype = variety.fertility, variety.fertility.genotype
    lines = []
    disputed = fertility.disputed
    if "genotype" in disputed:
        lines.append(
            "S-alleles: sources disagree; ask who keeps it for a measured genotype, or dab a "
            "donor's pollen on bagged flowers and see whether fruit sets."
        )
    elif fruit.system != "class" and (genotype is None or not genotype.complete):
        what = "S-alleles: not known" if genotype is None else "One S-allele: not known"
        lines.append(f"{what}; {_ASK}. Until then a cross has only a chance.")
    if disputed & {"ploidy", "pollen_ok"}:
        lines.append(
            "Its pollen: sources disagree whether it is good; dab it on bagged flowers of another "
            "variety and see whether fruit sets."
        )
    elif fertility.ploidy is None:
        lines.append(
            "Ploidy: nobody says; taken as usual for the fruit. A laboratory counts it from a leaf."
        )
    if "self_fertile" in disputed:
        lines.append(
            "Own pollen: sources disagree whether it serves; net a branch before its first flower "
            "opens, count flowers and fruits."
        )
    elif fertility.self_fertile is None:
        lines.append(
            "Own pollen: not known whether it serves; net a branch before its first flower opens, "
            "count flowers and fruits."
        )
    if fruit.shed_apart and not variety.sheds_apart:
        lines.append(
            "Pollen shed: no date known that could be carried; write down from when to when the "
            "catkins dust, and when the female flowers show their stigmas."
        )
    return lines + _missing_dates(variety)


def _missing_dates(variety: Variety) -> list[str]:
    lines = []
    if variety.typed_bloom is None:
        how = "write down 10 % open, full bloom and petal fall in three springs"
        if not variety.bloom:
            lines.append(f"Bloom: {how}, together with those of a variety that is known here.")
        elif all(evidence.status == "memory" for evidence in variety.bloom):
            lines.append(f"Bloom rests on memory; to be sure, {how}.")
    if not variety.chill:
        lines.append(
            "Chill requirement in portions: none published; where winters are mild, ask growers "
            "nearby whether it flowers evenly after a warm one."
        )
    return lines


# --- one's own -------------------------------------------------------------------------------


def added_lines(answer: str, folder: Path) -> list[str]:
    """Where it was added, what is known of it now, and what to do next."""
    return [
        f"Added to {folder}.",
        answer,
        f"A plan in {folder.parent.resolve().name or folder.parent} can name it now; your values "
        "go before the catalogue's.",
    ]


def list_answer(found: int, all_of_them: int, species: str, conditions: Iterable[str]) -> str:
    """`12 of 872 apple varieties: ploidy=3.`"""
    told = " and ".join(conditions)
    what = f"{all_of_them} {species} {'variety' if all_of_them == 1 else 'varieties'}"
    if not told:
        return f"{what} {'is' if all_of_them == 1 else 'are'} known here."
    return f"{found or 'None'} of {what}: {told}."
