"""How a variety would fare, in a grower's words."""

from __future__ import annotations

from collections.abc import Mapping

from pollinet.advice.harvest import HARVEST_SD_DAYS, RIPENING_C, RIPENING_DAYS
from pollinet.advice.pollinizer import is_crab
from pollinet.language import N_, _, ngettext, number, short_date, told
from pollinet.summary.suits import WARMER_C, Doubt, Suitability, Unknown
from pollinet.weather.extremes import HARD_FROST_C
from pollinet.wording.sentences import (
    crab_note,
    date_range,
    days,
    donor_text,
    joined,
    memory_text,
    of_ten,
    reasons,
    straggling_note,
    tenths,
)
from pollinet.wording.varieties import vigour_words

SHOWN = 4
"""Donors and limbs named; all of them are in the JSON."""


def suits_answer(view: Suitability) -> str:
    """The answer in one sentence: what speaks against the variety here, or that nothing does."""
    name, unknown = view.variety.id.name, joined([_(_UNKNOWN[code]) for code in view.unknown])
    why = joined([_doubt(view, doubt) for doubt in view.doubts])
    match view.verdict:
        case "no":
            text = _("{name} does not suit this garden: {why}.")
        case "unknown" if why:
            text = _("{name}: cannot be judged here: nothing is known of its bloom; {why}.")
        case "unknown":
            text = _("{name}: cannot be judged here: nothing is known of its bloom.")
        case "doubtful":
            text = _("{name} is doubtful here: {why}.")
        case "suits" if unknown:
            text = _("{name} suits this garden as far as is known; not known: {unknown}.")
        case "suits":
            text = _("{name} suits this garden.")
    return text.format(name=name, why=why, unknown=unknown)


_UNKNOWN: Mapping[Unknown, str] = {
    "bloom": N_("its bloom"),
    "cold": N_("whether it lives through the winters"),
    "ripening": N_("whether it ripens before frost"),
    "frost": N_("frost at its bloom"),
    "chill": N_("whether it gets its winter chill"),
    "chill need": N_("its need of winter chill (not published)"),
    "chill sources": N_("how much winter chill it needs, on which it hangs (sources differ)"),
}


def _doubt(view: Suitability, doubt: Doubt) -> str:
    """What speaks against a variety, with its winters."""
    match doubt:
        case "cold":
            return _cold_doubt(view)
        case "warmth":
            text = _("it hardly ripens: the {days} days before its pick average {degrees} °C")
            degrees = number(round(view.before_pick_c or 0.0))
            return text.format(days=RIPENING_DAYS, degrees=degrees)
        case "ripening":
            text, share = _("a hard frost comes before it is ripe in {ten} years"), view.frozen
        case "chill":
            text, share = _("it gets all its winter chill in only {ten} winters"), view.enough_chill
        case "donors":
            text, share = (
                _("it has a viable donor in only {ten} winters"),
                view.coverage.reliability,
            )
        case "frost":
            text = _("frost can kill most flowers in {ten} winters")
            share = None if view.frost is None else view.frost[1]
    return text.format(ten=of_ten(share or 0.0))


def _cold_doubt(view: Suitability) -> str:
    cold = view.cold
    assert cold is not None
    text = (
        _("winters here fall to {coldest} °C, and it is said to live to about {limit} °C")
        if cold.own
        else _(
            "winters here fall to {coldest} °C, and {fruit} is usually hardy to about {limit} °C"
        )
    )
    return text.format(
        coldest=number(cold.coldest_c, ".0f"),
        limit=number(cold.limit_c, ".0f"),
        fruit=_(view.variety.id.species),
    )


def suits_lines(view: Suitability) -> list[str]:
    """All that is told of one variety, the answer first."""
    lines = [suits_answer(view), ""]
    if view.limb is not None:
        lines.append("- " + _("It stands already: limb {limb}.").format(limb=view.limb))
    lines += [f"- {label}: {text}" for label, text in suits_facts(view)]
    lines += [f"- {note}" for note in suits_notes(view)]
    return lines


def suits_facts(view: Suitability) -> list[tuple[str, str]]:
    """What is told of one variety here, each with what it is about."""
    look = _look(view)
    return [
        (_("Winter cold"), _cold(view)),
        (_("Winter chill"), _chill(view)),
        (_("Bloom"), _bloom(view)),
        (_("Pollen for it"), _donors(view)),
        (_("Its pollen serves"), _serves(view)),
        (_("Harvest"), _harvest(view)),
        (_("Warmth to ripen"), _warmth(view)),
        (_("Ripe before frost"), _ripe(view)),
        (_("Frost at bloom"), _frost(view)),
        (_("Vigour"), _vigour(view)),
        *([(_("Look in bloom"), look)] if look else []),
        (_("How sure"), _sure(view)),
    ]


def suits_notes(view: Suitability) -> list[str]:
    """What else is to be minded: crab apples, what rests on memory, and rights on the wood."""
    caution = _(
        "Whether {name} may be grafted is not judged here: healthy wood only; ask your "
        "plant-health service and the variety register."
    )
    crab = [crab_note(_("It"))] if is_crab(view.variety) else []
    memory = [memory_text(view.memory)] if view.memory else []
    return [*crab, *memory, caution.format(name=view.variety.id.name)]


def _cold(view: Suitability) -> str:
    cold = view.cold
    if cold is None:
        return _("not known.")
    told = (
        _("it is said to live in hardiness zone {zone}, to about {limit} °C")
        if cold.own
        else _(
            "not told of it; {fruit} usually lives in hardiness zone {zone}, to about {limit} °C "
            "(common practice, no source)"
        )
    )
    text = _(
        "{told}. The coldest night here is usually {usual} °C, the coldest of all {coldest} °C; "
        "below that limit in {ten} winters. Flower buds and young grafts die sooner than the tree."
    )
    return text.format(
        told=told.format(
            zone=number(cold.zone),
            limit=number(cold.limit_c, ".0f"),
            fruit=_(view.variety.id.species),
        ),
        usual=number(cold.usual_c, ".0f"),
        coldest=number(cold.coldest_c, ".0f"),
        ten=of_ten(cold.colder),
    )


def _warmth(view: Suitability) -> str:
    if view.before_pick_c is None:
        return _("not known.")
    text = _(
        "the {days} days before its pick average {degrees} °C; below {least} °C fruit hardly "
        "ripens. How much warmth the variety itself needs is not judged."
    )
    degrees = number(round(view.before_pick_c))
    return text.format(days=RIPENING_DAYS, degrees=degrees, least=number(RIPENING_C))


def _ripe(view: Suitability) -> str:
    if view.frozen is None:
        return _("not known.")
    text = _("a night of {frost} °C comes before the first pick in {ten} years.")
    return text.format(frost=number(HARD_FROST_C), ten=of_ten(view.frozen))


def _chill(view: Suitability) -> str:
    if view.enough_chill is None:
        return _("not known how much it needs.")
    text = _("all it needs in {ten} winters").format(ten=of_ten(view.enough_chill))
    if view.enough_chill_warmer is not None:
        later = _("{text}; with {degrees} °C more, in {ten}")
        ten = of_ten(view.enough_chill_warmer)
        text = later.format(text=text, degrees=number(WARMER_C), ten=ten)
    if not view.chill_published:
        text = _("{text} (not published: drawn from what is usual for the fruit)").format(text=text)
    if "chill sources" in view.unknown:
        text = _("{text} (sources differ about how much that is)").format(text=text)
    return " ".join([text + ".", *straggling_note([view.drags_on])])


def _bloom(view: Suitability) -> str:
    if view.bloom is None:
        return _("not known.")
    text = _("usually {days}, full bloom {day} ± {sd} days").format(
        days=date_range(view.bloom.start, view.bloom.end),
        day=short_date(view.bloom.full),
        sd=round(view.bloom.sd_days),
    )
    if view.bloom_warmer is not None:
        later = _("{text}; with {degrees} °C more, full bloom {day}")
        day = short_date(view.bloom_warmer.full)
        text = later.format(text=text, degrees=number(WARMER_C), day=day)
    return _ended(text)


def _ended(text: str) -> str:
    """With a full stop, unless a date ends with one already: `11. Apr.`."""
    return text if text.endswith(".") else f"{text}."


def _donors(view: Suitability) -> str:
    nodes, coverage = view.network.nodes, view.coverage
    if not coverage.donors:
        why = "; ".join(text for _code, text in reasons(coverage, nodes)[:2])
        return _("none in the garden ({why}).").format(why=why)
    named = [
        _("{donor} (in {ten} winters)").format(
            donor=donor_text(d, nodes, coverage.node), ten=of_ten(d.reliability)
        )
        for d in coverage.donors[:SHOWN]
    ]
    return "; ".join(named) + "."


def _serves(view: Suitability) -> str:
    if not view.serves:
        return _("no limb here.")
    newly = _("{limb} ({variety}, {ten} winters, which has no sure donor now)")
    plain = _("{limb} ({variety}, {ten} winters)")
    named = [
        (newly if s.newly else plain).format(
            limb=s.limb, variety=s.variety.name, ten=of_ten(s.reliability)
        )
        for s in view.serves[:SHOWN]
    ]
    more = len(view.serves) - SHOWN
    if more > 0:
        named.append(ngettext("and {number} more", "and {number} more", more).format(number=more))
    return "; ".join(named) + "."


def _harvest(view: Suitability) -> str:
    if view.harvest is None:
        return _("not known.")
    day = view.harvest.day
    text = _("about {day} ± {sd} days").format(
        day=short_date(round(day)), sd=round(HARVEST_SD_DAYS)
    )
    before = [h for h in view.harvests_beside if h.day <= day]
    after = [h for h in view.harvests_beside if h.day > day]
    parts = [text]
    if before:
        last = max(before, key=lambda h: h.day)
        apart = days(round(day - last.day))
        parts.append(_("{days} after {variety}").format(days=apart, variety=last.variety.name))
    if after:
        following = min(after, key=lambda h: h.day)
        apart, name = days(round(following.day - day)), following.variety.name
        parts.append(_("{days} before {variety}").format(days=apart, variety=name))
    return f"{', '.join(parts)}; {told(view.harvest.rests_on)}."


def _frost(view: Suitability) -> str:
    if view.frost is None:
        return _("not known.")
    some, most = map(of_ten, view.frost)
    return _(
        "a night can kill one flower in ten in {some} winters, nine in ten in {most} "
        "(temperatures of the record, not of a hollow)."
    ).format(some=some, most=most)


_PLACES = {
    "low": N_("it grows more strongly than the others: graft it low"),
    "high": N_("it grows more weakly than the others: graft it high, in the best light"),
    "beside": N_("it grows like the others"),
    "unknown": N_("not known how it compares with the others"),
}


def _vigour(view: Suitability) -> str:
    if view.vigour is None:
        return _("not known; watch its shoots beside the others'.")
    places = [
        _("on {tree}, {what}").format(tree=tree, what=_(_PLACES[code])) for tree, code in view.place
    ]
    return "; ".join([vigour_words(view.vigour), *places]) + "."


def _look(view: Suitability) -> str:
    """How the trees would look in bloom with it; empty where that is not known."""
    found = []
    for tree, now, then in view.looks:
        lag = then.lags.get("")
        if then.together is not None and lag is not None:
            text = _(
                "on {tree} in full bloom {apart} the tree's middle; nearly all limbs in flower on "
                "{ten} days with blossom"
            ).format(tree=tree, apart=_apart(lag), ten=of_ten(then.together))
            if now.together is not None:
                text = _("{text}, now on {ten}").format(text=text, ten=tenths(now.together))
            found.append(text)
    return "; ".join(found) + "." if found else ""


def _apart(lag_days: float) -> str:
    if abs(lag_days) < 0.5:
        return _("with")
    text = _("{days} before") if lag_days < 0 else _("{days} after")
    return text.format(days=days(round(abs(lag_days))))


def _sure(view: Suitability) -> str:
    fertility = view.variety.fertility
    parts = []
    if view.bloom is not None:
        text = _("bloom rests on {what}, ± {sd} days")
        what = told(view.bloom.rests_on) or _("dates as typed")
        parts.append(text.format(what=what, sd=round(view.bloom.sd_days)))
    if fertility.genotype is None and fertility.group is None:
        parts.append(_("its S-alleles are not known"))
    return ("; ".join(parts) or _("nothing is known")) + "."
