"""What is known of a variety, in a grower's words."""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from pathlib import Path

from pollinet.compatibility.alleles import in_allele_order
from pollinet.domain import (
    BloomEvidence,
    Descent,
    Dispute,
    DisputedValue,
    Fact,
    Fruit,
    MeasuredPair,
    Variety,
)
from pollinet.language import N_, _, number, pgettext, short_date
from pollinet.wording.sentences import count, date_range, days, joined
from pollinet.wording.verdicts import fertility_lines, genotype_words

LABELS = {
    "s_genotype": N_("S-alleles"),
    "s_genotype_other": N_("S-alleles, another reading"),
    "s_genotype_old": N_("S-alleles, older letters"),
    "pollen_alleles": N_("alleles its pollen shows"),
    "modifier_share": N_("share of pollen with a modifier"),
    "m_genotype": N_("M-locus"),
    "incompatibility_group": N_("incompatibility group"),
    "ploidy": N_("sets of chromosomes"),
    "self_compatibility": N_("sets fruit with own pollen"),
    "pollen_ok": N_("pollen works"),
    "pollen_quality": N_("pollen quality"),
    "parthenocarpy": N_("fruit without seed"),
    "effective_pollination_period": N_("a flower can be served for"),
    "first_bloom_day": N_("first bloom"),
    "full_bloom_day": N_("full bloom"),
    "bloom_end_day": N_("petal fall"),
    "bloom_offset_days": N_("bloom"),
    "bloom_class": N_("bloom class"),
    "bloom_length_days": N_("length of bloom"),
    "pollen_shed_first_day": N_("first pollen shed"),
    "pollen_shed_end_day": N_("last pollen shed"),
    "pollen_shed_class": N_("pollen shed"),
    "stigma_receptivity_class": N_("stigmas receptive"),
    "harvest_day": N_("harvest"),
    "harvest_offset_days": N_("harvest"),
    "days_bloom_to_harvest": N_("from bloom to harvest"),
    "pick_first_day": N_("picked from"),
    "pick_last_day": N_("picked until"),
    "keeping_weeks": N_("keeps for"),
    "chill_portions": N_("chill requirement"),
    "chill_portions_sd": N_("its standard deviation"),
    "chill_units_utah": N_("chill, Utah Model"),
    "chill_hours": N_("chill hours"),
    "chill_class": N_("chill, in a word"),
    "heat_gdh": N_("heat requirement"),
    "vigour": N_("vigour"),
    "biennial_tendency": N_("alternate bearing"),
    "hardiness_zone": N_("hardiness zone"),
    "crab": N_("crab apple"),
    "parents": N_("parents"),
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
        text = _("Pollen shed: {days}.")
        return " " + text.format(days=date_range(int(first), int(last)))
    if variety.shed:
        text = _("Pollen shed: known from {places}.")
        return " " + text.format(places=joined(sorted({e.place for e in variety.shed})))
    return ""


def _bloom_words(variety: Variety, relative_days: float | None) -> str:
    if variety.typed_bloom is not None:
        first, last = variety.typed_bloom.intervals[0]
        text = _("Bloom: {days} in your garden, as you typed it.")
        return text.format(days=date_range(int(first), int(last)))
    places = sorted({evidence.place for evidence in variety.bloom})
    if not places:
        return _("Bloom: no date known that could be carried to your garden.")
    told = _("Bloom: known from {places}").format(places=joined(places))
    if relative_days is not None:
        told += f"; {_relative_words(relative_days, _(variety.id.species))}"
    if all(e.status == "memory" for e in variety.bloom):
        told = _("{text} (from memory)").format(text=told)
    return f"{told}."


def _relative_words(later: float, fruit: str) -> str:
    """`3 days later than the middle apple`."""
    if abs(later) < 1:
        return _("at about the time of the middle {fruit}").format(fruit=fruit)
    text = _("{days} later than the middle {fruit}")
    if later < 0:
        text = _("{days} earlier than the middle {fruit}")
    return text.format(days=days(abs(later)), fruit=fruit)


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
    elif fact.unit == "zone":
        value = _("zone {zone}").format(zone=fact.value)
    elif fact.unit:
        value = f"{number(float(fact.value))} {_(fact.unit)}"
    elif fact.property == "vigour":
        value = vigour_words(fact.value)
    elif fact.value in _WORDS:
        value = _(fact.value)
    else:
        value = amount_words(fact.value)
    if fact.note in _LIMITS:
        value = _(_LIMITS[fact.note]).format(value=value)
    if evidence is not None:
        if evidence.kind != "date":
            day = short_date(round(evidence.day))
            value = _("{value}, about {day}").format(value=value, day=day)
        value = f"{value} ± {number(evidence.sd_days)}"
    return f"{value}; {fact.note}" if fact.note and fact.note not in _LIMITS else value


OF_STUDIES = frozenset({"chill_portions", "chill_units_utah", "chill_hours", "heat_gdh"})
"""Properties that several studies tell of one variety."""


def studies_words(facts: Sequence[Fact]) -> str:
    """The values of several studies: `41, 48 and 86 portions`."""
    values = sorted(float(fact.value) for fact in facts)
    return f"{joined([f'{value:g}' for value in values])} {facts[0].unit}"


_UNITS = (N_("days"), N_("weeks"), N_("portions"), N_("units"), N_("h"), N_("GDH"))
"""Units of the catalogue, as they stand after a number."""

_WORDS = (N_("yes"), N_("no"), N_("partial"), N_("good"))
"""Words that values of the catalogue are chosen from."""


def vigour_words(vigour: str) -> str:
    """How strongly a variety grows, as the catalogue has it."""
    words = {
        "low": pgettext("vigour", "low"),
        "low to medium": pgettext("vigour", "low to medium"),
        "medium": pgettext("vigour", "medium"),
        "medium to high": pgettext("vigour", "medium to high"),
        "high": pgettext("vigour", "high"),
    }
    return words.get(vigour, vigour)


def amount_words(amount: str) -> str:
    """How much there is of something, as the catalogue has it; other words stay as they are."""
    words = {
        "low": pgettext("amount", "low"),
        "medium": pgettext("amount", "medium"),
        "high": pgettext("amount", "high"),
    }
    return words.get(amount, amount)


_LIMITS = {
    "at most this": N_("at most {value}"),
    "more than this": N_("more than {value}"),
    "about": N_("about {value}"),
}
"""Notes of the catalogue that belong before the number."""


def _offset(later: float, reference: str) -> str:
    reference = reference or _("the reference variety")
    if later == 0:
        return _("with {variety}").format(variety=reference)
    text = _("{days} after {variety}") if later > 0 else _("{days} before {variety}")
    return text.format(days=days(abs(later)), variety=reference)


def dispute_line(dispute: Dispute) -> str:
    """`S-alleles: S101S108 (BAGHERI2019, published), weight 80 %, or S101S102 (…), weight 20 %.`"""
    values = [_disputed_value(one) for one in dispute.values]
    label = _(LABELS.get(dispute.property, dispute.property))
    return f"{label}: {_(' or ').join(values)}."


_STATUS = {
    "published": N_("published"),
    "trade": N_("trade"),
    "memory": N_("memory"),
    "plan": N_("plan"),
}


def _disputed_value(one: DisputedValue) -> str:
    sources = "; ".join(f"{source}, {_(_STATUS[status])}" for source, status in one.told_by)
    share = number(round(one.weight * 100))
    weight = _("weight {share} %").format(share=share) if one.weight else _("outweighed, not used")
    note = f": {one.note}" if one.note else ""
    return f"{one.value} ({sources}), {weight}{note}"


# --- company ---------------------------------------------------------------------------------


def names_words(names: Sequence[str]) -> str:
    """`3: A, B and C`, `112: A, B, … and 104 more`."""
    more = len(names) - SHOWN_NAMES
    told = [*names[:SHOWN_NAMES], f"{more} more"] if more > 0 else list(names)
    return f"{len(names)}: {joined(told)}"


def picking_line(variety: Variety) -> str:
    """`Picked: 1 Sep – 15 Sep (Southern England picking).`; empty: nothing is known of it."""
    told = [
        f"{date_range(*window.days)} ({'your garden' if window.here else window.context})"
        for window in variety.picking
    ]
    return f"Picked: {'; '.join(told)}." if told else ""


def chill_line(need: tuple[float, float], method: str, studies: int, others: int) -> str:
    """The one requirement that is reckoned with, and what it comes from."""
    how = {"forced": "of forced shoots", "fitted": "with fits on dates of bloom"}.get(
        method, "whose method is not told"
    )
    found = f"the median of {studies} studies" if studies > 1 else "from one study"
    more = f" Of {count(others, 'value')} by another method the spread alone takes account."
    more = more if others else ""
    return f"Chill reckoned with: {need[0]:.0f} ± {need[1]:.0f} portions, {found} {how}.{more}"


def descent_line(descent: Descent) -> str:
    """Which S-alleles it may have of its parents, where its own are not all known."""
    sides = [
        f"one of {joined(in_allele_order(alleles))}" if len(set(alleles)) > 1 else f"{alleles[0]}"
        for alleles in (descent.seed, descent.pollen)
        if alleles is not None
    ]
    return f"S-alleles that its parents can have given it: {', '.join(sides)}."


HARDINESS_CAUTION = (
    "Hardiness: the zone is said to be the coldest in which it lives through a usual winter. "
    "Rootstock, site, thaws and late frost decide as much: ask growers nearby before you rely on "
    "it."
)
"""What is said wherever a hardiness zone is shown."""


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


def missing_lines(variety: Variety, fruit: Fruit) -> list[str]:
    """What is not known, and how a grower finds out. The ways are common practice, no source."""
    fertility, genotype = variety.fertility, variety.fertility.genotype
    lines = []
    disputed = fertility.disputed
    if "genotype" in disputed:
        lines.append(
            _(
                "S-alleles: sources disagree; ask who keeps it for a measured genotype, or dab a "
                "donor's pollen on bagged flowers and see whether fruit sets."
            )
        )
    elif fruit.system != "class" and (genotype is None or not genotype.complete):
        text = _(
            "One S-allele: not known; send young leaves to a laboratory that types S-alleles, or "
            "ask a gene bank that keeps it. Until then a cross has only a chance."
        )
        if genotype is None:
            text = _(
                "S-alleles: not known; send young leaves to a laboratory that types S-alleles, or "
                "ask a gene bank that keeps it. Until then a cross has only a chance."
            )
        lines.append(text)
    if disputed & {"ploidy", "pollen_ok"}:
        lines.append(
            _(
                "Its pollen: sources disagree whether it is good; dab it on bagged flowers of "
                "another variety and see whether fruit sets."
            )
        )
    elif fertility.ploidy is None:
        lines.append(
            _(
                "Ploidy: nobody says; taken as usual for the fruit. A laboratory counts it from a "
                "leaf."
            )
        )
    if "self_fertile" in disputed:
        lines.append(
            _(
                "Own pollen: sources disagree whether it serves; net a branch before its first "
                "flower opens, count flowers and fruits."
            )
        )
    elif fertility.self_fertile is None:
        lines.append(
            _(
                "Own pollen: not known whether it serves; net a branch before its first flower "
                "opens, count flowers and fruits."
            )
        )
    if fruit.shed_apart and not variety.sheds_apart:
        lines.append(
            _(
                "Pollen shed: no date known that could be carried; write down from when to when "
                "the catkins dust, and when the female flowers show their stigmas."
            )
        )
    return lines + _missing_dates(variety)


def _missing_dates(variety: Variety) -> list[str]:
    lines = []
    if variety.typed_bloom is None:
        if not variety.bloom:
            lines.append(
                _(
                    "Bloom: write down 10 % open, full bloom and petal fall in three springs, "
                    "together with those of a variety that is known here."
                )
            )
        elif all(evidence.status == "memory" for evidence in variety.bloom):
            lines.append(
                _(
                    "Bloom rests on memory; to be sure, write down 10 % open, full bloom and petal "
                    "fall in three springs."
                )
            )
    if not variety.chill:
        lines.append(
            _(
                "Chill requirement in portions: none published; where winters are mild, ask "
                "growers nearby whether it flowers evenly after a warm one."
            )
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
