"""Results → sentences. No layout and no decisions here: what is said follows from data."""

from __future__ import annotations

import re
from collections.abc import Iterable, Iterator, Sequence
from dataclasses import replace
from statistics import fmean
from typing import TYPE_CHECKING, cast

import numpy as np

from pollinet.findings import Finding
from pollinet.language import N_, _, ngettext, npgettext, number, pgettext, told
from pollinet.language import date_range as date_range
from pollinet.language import joined as joined
from pollinet.letters import seen
from pollinet.network.coverage import Refusal
from pollinet.network.nearest_miss import different_misses
from pollinet.network.proximity import distance_m
from pollinet.readers.names import names_sentence
from pollinet.wording.verdicts import verdict_sentence

if TYPE_CHECKING:
    from pollinet.domain import Aim, DailyWeather, Moved, Node, Winters
    from pollinet.network.cover import Cover, Uncovered
    from pollinet.network.coverage import DonorShare, LimbCoverage, RefusalCode
    from pollinet.network.shortage import ChillLack
    from pollinet.summary.limbs import LimbChill, YoungDonor


def count(number: int, noun: str) -> str:
    """`1 limb`, `2 limbs`."""
    return f"{number} {noun}" if number == 1 else f"{number} {noun}s"


def crab_note(name: str) -> str:
    """What use a crab apple is as a limb; it changes no answer by itself."""
    text = _(
        "{name} is a crab apple, mostly grafted for its many flowers: a limb for pollen only "
        "(crops = false in the plan) needs no donor of its own."
    )
    return text.format(name=name)


SEVERITIES = {"error": N_("error"), "warning": N_("warning"), "note": N_("note")}


def bad_input_answer(findings: Sequence[Finding]) -> str:
    """What stands before the findings on an input with errors."""
    errors = sum(finding.severity == "error" for finding in findings)
    text = ngettext(
        "{number} thing in the input must be put right:",
        "{number} things in the input must be put right:",
        errors,
    )
    return text.format(number=errors)


MOST_PLACES = 3
"""So many places of one and the same finding are told in words. Own convention."""


def finding_texts(findings: Iterable[Finding]) -> list[str]:
    """Each finding in one paragraph; those that are equal but for their place are one."""
    alike: dict[Finding, list[Finding]] = {}
    for finding in findings:
        alike.setdefault(replace(finding, place="", line=None), []).append(finding)
    return [_finding_text(some) for some in alike.values()]


def _finding_text(alike: Sequence[Finding]) -> str:
    """One paragraph: severity, place, what was found, where else, the cure.

    Spaces in the name of a file are not to be broken at: they are U+00A0.
    """
    first, *others = alike
    file = first.file.replace(" ", "\N{NO-BREAK SPACE}")
    where = ", ".join(part for part in (file, _place(first)) if part)
    severity, message = _(SEVERITIES[first.severity]), told(first.message)
    also = f"\n    {_elsewhere(others)}" if others else ""
    cure = f"\n    → {told(first.cure)}" if first.cure else ""
    head = f"{severity}: {where}: {message}" if where else f"{severity}: {message}"
    return _ENDLESS.sub(r"\1…", seen(f"{head}{also}{cure}"))


def _elsewhere(others: Sequence[Finding]) -> str:
    """The other places of a finding, the first by name."""
    named = "; ".join(_place(one) for one in others[: MOST_PLACES - 1])
    more = len(others) - (MOST_PLACES - 1)
    if more <= 0:
        return _("also: {places}").format(places=named)
    text = ngettext(
        "also: {places}; and at {number} more place",
        "also: {places}; and at {number} more places",
        more,
    )
    return text.format(places=named, number=more)


def _place(finding: Finding) -> str:
    """Where in its file a finding is."""
    line = "" if finding.line is None else _("line {number}").format(number=finding.line)
    return ", ".join(part for part in (line, told(finding.place)) if part)


def names_note(findings: Iterable[Finding]) -> list[str]:
    """What other names of varieties mean, all in one sentence; nothing where there are none."""
    sentence = told(names_sentence(findings))
    return [sentence] if sentence else []


_ENDLESS = re.compile(r"(\S{60})\S{240,}")
"""What was typed without a blank and is too long to be read."""


def whole_tenths(share: float) -> int:
    """A share in whole winters of ten, never rounded up."""
    return int(np.floor(share * 10 + 1e-6))


def tenths(share: float) -> str:
    """A share in whole winters of ten: `8`; never rounded up, `<1` where it is next to none."""
    whole = whole_tenths(share)
    return "<1" if whole == 0 and share > 0 else number(whole)


def of_ten(share: float) -> str:
    """A share of winters as growers say it: `8 of 10`."""
    return _("{tenths} of 10").format(tenths=tenths(share))


def winters_of_ten(share: float) -> str:
    """`8 winters of 10`, as it stands after `in`; a level typed in between stays as it is: 8.5."""
    typed = abs(share * 100 - round(share * 100)) < 1e-6
    shown = number(round(share * 10, 1)) if typed else tenths(share)
    return _("{tenths} winters of 10").format(tenths=shown)


def whole_winters(share: float) -> str:
    """`5 winters of 10` of a share that was counted, as the tables have it: never 5.5."""
    return _("{tenths} winters of 10").format(tenths=tenths(share))


def days(time: float) -> str:
    """`1 day`, `9 days`, `4.5 days`."""
    rounded = round(time, 1)
    text = ngettext("{number} day", "{number} days", 1 if rounded == 1 else 2)
    return text.format(number=number(rounded))


def winters_text(count: int) -> str:
    """`1 winter`, `30 winters`."""
    return ngettext("{number} winter", "{number} winters", count).format(number=count)


def has_or_have(some: int, of: int) -> int:
    """The number that the verb goes by after `some of so many`: of a single one it is one."""
    return 1 if of == 1 else some


def of_limbs(count: int) -> str:
    """`1 limb`, `8 limbs`, as it stands after `of`."""
    text = npgettext("of so many", "{number} limb", "{number} limbs", count)
    return text.format(number=count)


def why_joined(coverage: LimbCoverage, nodes: Sequence[Node], most: int) -> str:
    """Why others are no donors of a limb: so many reasons, each once for all that it holds for.

    Donors in too few winters are told where there is no other reason: a table has them anyway.
    """
    alike: dict[str, list[str]] = {}
    for refusal in different_misses(coverage, nodes):
        names = [] if refusal.code == "no-own-bloom" else [nodes[refusal.node].variety.name]
        alike.setdefault(refusal_words(refusal, nodes, coverage.node), []).extend(names)
    text = _("{names}: {why}")
    told = [
        text.format(names=joined(list(dict.fromkeys(names))), why=why) if names else why
        for why, names in alike.items()
    ] or [text for _code, text in reasons(coverage, nodes)]
    shown, more = "; ".join(told[:most]), len(told) - most
    if more <= 0:
        return shown
    text = ngettext("{reasons}; and {number} more", "{reasons}; and {number} more", more)
    return text.format(reasons=shown, number=more)


def outlook_words(warmer_c: float) -> str:
    """What stands before an answer for a climate so much warmer. [°C]"""
    text = (
        _("With every winter and spring {degrees} °C warmer:")
        if warmer_c > 0
        else _("With every winter and spring {degrees} °C colder:")
    )
    return text.format(degrees=number(abs(warmer_c))) + " "


def young_note(young: Sequence[YoungDonor]) -> list[str]:
    """What to bear in mind of donors that may not flower yet; nothing without them."""
    told: dict[bool, list[str]] = {False: [], True: []}
    for donor in young:
        text = _("{limb} (grafted in {grafted}, first flowers {first} to {late})").format(
            limb=donor.limb, grafted=donor.grafted, first=donor.first, late=donor.late
        )
        told[donor.sheds_apart].append(text)
    return [_(_YOUNG[kind]).format(limbs=joined(each)) for kind, each in told.items() if each]


_YOUNG = {
    False: N_(
        "Counted as if in flower already, though young: {limbs}. Until then hang cut blossom."
    ),
    True: N_(
        "Counted as if in flower already, though young: {limbs}. Until then stand cut catkins in "
        "water, upwind of the limbs that need their pollen."
    ),
}
"""How donors that may not flower yet are told of, by whether their pollen comes by catkins."""


def donor_rule(aim: Aim, apart: Sequence[str] = ()) -> str:
    """When a donor counts in a winter.

    apart : kinds of fruit in the garden whose catkins have a time of their own.
    """
    text = _(
        "A donor counts in a winter when both bloom together for at least {days} and its pollen "
        "is accepted."
    )
    rule = text.format(days=days(aim.min_overlap_days))
    if not apart:
        return rule
    own = _("Of {fruits}, the donor's catkins must dust while the receiver's stigmas show.")
    return f"{rule} {own.format(fruits=joined([_(fruit) for fruit in apart]))}"


def donor_text(donor: DonorShare, nodes: Sequence[Node], receiver: int) -> str:
    """The best donor in a table cell: its name, where it is if not in the garden, the days."""
    overlap = days(donor.overlap_days)
    if donor.node == receiver:
        return _("itself, {days}").format(days=overlap)
    name = donor_place(nodes[donor.node], nodes[receiver])
    if donor.verdict.answer == "half":
        return _("{name}, {days}, half").format(name=name, days=overlap)
    return f"{name}, {overlap}"


def best_donor(row: LimbCoverage, nodes: Sequence[Node]) -> str:
    """The best donor of a limb in a table cell, `none` where there is none."""
    none = pgettext("donor", "none")
    return donor_text(row.donors[0], nodes, row.node) if row.donors else none


def donor_place(node: Node, receiver: Node) -> str:
    """A donor's name, with where it is if not beside the limb that it serves."""
    name, away = node.variety.name, metres(node, receiver)
    if node.kind == "neighbour":
        return _("{name} (next door, {distance} m)").format(name=name, distance=away)
    if node.kind == "limb":
        return away_words(node, receiver)
    if node.tree is None:
        return _("{name} (scion)").format(name=name)
    text = _("{name} (scion on {tree}, {distance} m)")
    return text.format(name=name, tree=node.tree, distance=away)


def away_words(node: Node, receiver: Node) -> str:
    """A donor's name, with how far away it stands if it is next door or on another spot."""
    name = node.variety.name
    if node.kind != "neighbour" and not distance_m(node, receiver):
        return name
    return _("{name} ({distance} m)").format(name=name, distance=metres(node, receiver))


def metres(node: Node, receiver: Node) -> str:
    """How far apart two stand, as it was typed, or to the metre by their positions. [m]"""
    away = distance_m(node, receiver)
    is_placed = node.position_m is not None and receiver.position_m is not None
    return number(round(away) if is_placed else away)


def reasons(
    limb: LimbCoverage, nodes: Sequence[Node], short: ChillLack | None = None
) -> list[tuple[str, str]]:
    """Why a limb is not covered, as (code, sentence), the nearest to a donor first.

    A donor that works in some winters comes first, then the refused ones; trees of the same
    variety and the limb itself are named only where there is nothing else to name.

    short : as of a `LimbSummary`; it is told before all else.
    """
    found = [] if short is None else [("chill", chill_words(short))]
    found += [("too-few-winters", _partly(limb, donor, nodes)) for donor in limb.donors]
    found += [(r.code, miss_words(r, nodes, limb.node)) for r in different_misses(limb, nodes)]
    if not found:
        found = [("no-donor", _("no other variety of this fruit within reach"))]
    return list(dict.fromkeys(found))


def chill_words(short: ChillLack) -> str:
    """That a limb is not served for want of winter chill, and whose flowers lack it."""
    if short.whose == "own":
        return _("too little winter chill here for its flowers")
    return _("too little winter chill here for the flowers of its donors")


def _partly(limb: LimbCoverage, donor: DonorShare, nodes: Sequence[Node]) -> str:
    """A donor that is not enough: in too few winters, or alone where two are asked for."""
    # Alone it serves in more winters than count as covered: then a second donor is asked for.
    if donor.reliability > limb.reliability + 1e-9:
        text = _("{name} in {tenths} of 10 winters, but two different donors are asked for")
    else:
        text = _("{name} in {tenths} of 10 winters only")
    return text.format(name=nodes[donor.node].variety.name, tenths=tenths(donor.reliability))


def miss_words(refusal: Refusal, nodes: Sequence[Node], receiver: int) -> str:
    """A node that is no donor, and why; where that is the limb's own doing, without its name."""
    words = refusal_words(refusal, nodes, receiver)
    if refusal.code == "no-own-bloom":
        return words
    return f"{nodes[refusal.node].variety.name}: {words}"


def refusal_words(refusal: Refusal, nodes: Sequence[Node], receiver: int) -> str:
    """Why a node is no donor, without its name."""
    catkins = nodes[refusal.node].sheds_apart
    match refusal.code:
        case "blooms-earlier":
            text = _("its catkins dust {days} earlier") if catkins else _("blooms {days} earlier")
            return text.format(days=days(abs(refusal.days or 0)))
        case "blooms-later":
            text = _("its catkins dust {days} later") if catkins else _("blooms {days} later")
            return text.format(days=days(abs(refusal.days or 0)))
        case "no-bloom" if catkins:
            return _("not known when its catkins dust")
        case "short-overlap":
            return _("shares only {days} of bloom").format(days=days(refusal.overlap_days))
        case "too-far":
            away = metres(nodes[refusal.node], nodes[receiver])
            return _("{distance} m away, too far").format(distance=away)
        case "chill":
            return _("not enough winter chill here")
        case "no-own-bloom":
            return _("its own bloom time here not known")
        case "no-bloom":
            return _("bloom time here not known")
        case "same-variety":
            return _("the same variety or a clone of it")
        case "half-only":
            return _("only half of its pollen is accepted")
        case _other:
            return verdict_sentence(refusal.verdict) if refusal.verdict else refusal.code


def weather_words(record: DailyWeather | None, winters: Winters | None) -> str:
    """What the dates rest on: typed dates, generated winters or a record."""
    if record is None or winters is None:
        return _("Dates: as typed in the plan; no weather was used.")
    years = winters.harvest_years
    if record.generated:
        text = _("Weather: generated, not measured ({source}); {winters}.")
        return text.format(source=told(record.source), winters=winters_text(len(years)))
    text = _("Weather: {source}; {winters}, bloom of {first} to {last}.")
    words = text.format(
        source=told(record.source), winters=winters_text(len(years)), first=years[0], last=years[-1]
    )
    return words if record.moved is None else f"{words} {moved_words(record.moved)}"


def moved_words(moved: Moved) -> str:
    """To what a record was moved, and how far over the year."""
    text = (
        _("Moved to the normals of the plan: {low} °C by night, {high} °C by day.")
        if moved.to == "normals"
        else _("Carried to the height of the site: {low} °C by night, {high} °C by day.")
    )
    low, high = (number(fmean(shift), "+.1f") for shift in (moved.tmin_c, moved.tmax_c))
    return text.format(low=low, high=high)


def chill_answer(limbs: Sequence[LimbChill], level: float) -> str:
    """The one-sentence answer of `pollinet chill`."""
    known = [limb for limb in limbs if limb.enough is not None]
    enough = sum(limb.short is False for limb in known)
    if known:
        text = ngettext(
            "{enough} of {limbs} with a known requirement gets enough chill in at least {winters}.",
            "{enough} of {limbs} with a known requirement get enough chill in at least {winters}.",
            has_or_have(enough, len(known)),
        )
        limbs_known = of_limbs(len(known))
        answer = text.format(enough=enough, limbs=limbs_known, winters=winters_of_ten(level))
    else:
        answer = _("Whether the limbs get enough chill is not known: no requirement is at hand.")
    drawn = sum(limb.assumed is not None for limb in limbs)
    unknown = len(limbs) - len(known) - drawn
    if known and unknown:
        rest = ngettext(
            "For {number} limb no requirement is known.",
            "For {number} limbs no requirement is known.",
            unknown,
        )
        answer = f"{answer} {rest.format(number=unknown)}"
    if drawn:
        rest = ngettext(
            "For {number} limb none is published: it is drawn from the range of its fruit.",
            "For {number} limbs none is published: they are drawn from the ranges of their fruits.",
            drawn,
        )
        answer = f"{answer} {rest.format(number=drawn)}"
    return answer


def straggling_note(short: Iterable[bool | None]) -> list[str]:
    """What becomes of bloom where chill falls short more often than is allowed; else nothing.

    short : for each limb, whether it does; None: not known.
    """
    if not any(short):
        return []
    return [
        _("After too little winter chill bloom drags on and is poor, and its dates are the least "
          "sure: the last stray flowers are shown, and never counted as days in bloom together.")
    ]  # fmt: skip


def memory_text(values: Iterable[tuple[str, str]], most: int | None = None) -> str:
    """What an answer rests on that was recalled and not confirmed, grouped by kind of value.

    most : varieties named of each kind; None: all.
    """
    kinds: dict[str, list[str]] = {}
    for field, name in values:
        kinds.setdefault(field, []).append(name)
    listed = "; ".join(
        _("{value} of {names}").format(value=_(field), names=first_of(names, most, after_of=True))
        for field, names in kinds.items()
    )
    return _("Rests on memory, to be confirmed: {values}.").format(values=listed)


def first_of(
    names: Sequence[str], most: int | None, last: str = "and", *, after_of: bool = False
) -> str:
    """Names in a row; of more than `most` the first ones, and how many more there are.

    last : `and` or `or`. after_of : whether they stand after `of`, which other languages hear.
    """
    more = 0 if most is None else len(names) - most
    # One more takes no more room than its name.
    if more <= 1:
        return joined(names, last)
    rest = (
        npgettext("of so many", "{number} more", "{number} more", more)
        if after_of
        else ngettext("{number} more", "{number} more", more)
    )
    return joined([*names[:most], rest.format(number=more)], last)


def cover_answer(cover: Cover, nodes: Sequence[Node], level: float) -> str:
    """The one-sentence answer of `pollinet cover`."""
    winters = winters_of_ten(level)
    names = joined([graft_name(nodes[i]) for i in cover.added])
    if cover.status == "nothing to add":
        text = (
            _("Nothing to add: every limb surely has a viable donor in at least {winters}.")
            if cover.sure
            else _("Nothing to add: every limb has a viable donor in at least {winters}.")
        )
        return _with_tally(text.format(winters=winters), cover)
    if cover.uncovered:
        answer = " ".join(_miss_answers(cover, nodes, winters))
        rest = joined([graft_name(nodes[i]) for i in cover.partial])
        hanging = joined([short_name(nodes[m.node]) for m in cover.uncovered if m.hangs])
        best = (
            _("Graft {names}: that covers {limbs} as long as no donor is lost, and every other "
              "limb that can be covered also after a loss.")
            if hanging
            else _("For the other limbs, graft {names}.")
        ).format(names=rest, limbs=hanging)  # fmt: skip
        return f"{answer} {best}" if rest else answer
    text = (
        _("Graft {names}: then every limb surely has a viable donor in at least {winters}.")
        if cover.sure
        else _("Graft {names}: then every limb has a viable donor in at least {winters}.")
    )
    if cover.status == "time limit":
        text = (
            _("Graft {names}: then every limb surely has a viable donor in at least {winters} (the "
              "best found within the time allowed).")
            if cover.sure
            else _("Graft {names}: then every limb has a viable donor in at least {winters} (the "
                   "best found within the time allowed).")
        )  # fmt: skip
    return _with_tally(text.format(names=names, winters=winters), cover)


def _with_tally(answer: str, cover: Cover) -> str:
    """The answer, and for how many limbs it is only likely; nothing more where all is known."""
    limbs, sure = cover.tally.limbs, cover.tally.sure
    if sure >= limbs:
        return answer
    text = (
        _("{answer} That is sure for {sure} of {limbs}, and likely for the others.")
        if sure
        else _("{answer} That is likely, not sure.")
    )
    return text.format(answer=answer, sure=number(sure), limbs=of_limbs(limbs))


def short_name(node: Node) -> str:
    """The id of a limb; a new graft is called by its variety."""
    return graft_name(node) if node.kind == "candidate" else node.id


def graft_name(node: Node) -> str:
    """A new graft by its variety, with its tree where it matters on which."""
    if node.tree is None:
        return node.variety.name
    return _("{name} on {tree}").format(name=node.variety.name, tree=node.tree)


def _miss_answers(cover: Cover, nodes: Sequence[Node], winters: str) -> Iterator[str]:
    """Which limbs stay without a donor, and which hang on a single one."""
    bare: dict[str, list[str]] = {}
    for miss in cover.uncovered:
        if not miss.hangs:
            bare.setdefault(_claim(miss, cover), []).append(short_name(nodes[miss.node]))
    for claim, limbs in bare.items():
        yield _(claim).format(limbs=joined(limbs), winters=winters)
    hanging: dict[tuple[str, int], list[str]] = {}
    for miss in cover.uncovered:
        if miss.hangs and miss.donor is not None:
            hanging.setdefault((miss.code, miss.donor), []).append(short_name(nodes[miss.node]))
    for (code, donor), limbs in hanging.items():
        text = (
            _("When {lost} is lost, no choice of these varieties keeps {limbs} covered.")
            if code == "one-loss"
            else _("There is no room for another donor that would keep {limbs} covered when {lost} "
                   "is lost.")
        )  # fmt: skip
        yield text.format(lost=named(nodes[donor]), limbs=joined(limbs))


_CLAIMS = {
    "lacking": N_("No choice of these varieties gives {limbs} a donor in {winters}."),
    "open": N_(
        "No choice of these varieties makes it likely that {limbs} will have a donor in {winters}; "
        "what is not known may still bring it."
    ),
    "sure": N_(
        "No choice of these varieties makes it sure that {limbs} will have a donor in {winters}."
    ),
    "bare-donor": N_(
        "No choice of these varieties, each with a donor of its own, gives {limbs} a donor in "
        "{winters}."
    ),
    "no-spare-limb": N_("There is no room for a donor of {limbs}."),
    "time limit": N_(
        "Within the time allowed no set was found that gives {limbs} a donor in {winters}."
    ),
}


def _claim(miss: Uncovered, cover: Cover) -> str:
    """What has been shown of a limb without a donor, and no more."""
    if miss.code == "no-spare-limb":
        return _CLAIMS["time limit" if cover.proof.status == "time limit" else miss.code]
    if miss.code == "bare-donor":
        return _CLAIMS[miss.code]
    if cover.sure and miss.standing != "lacking":
        return _CLAIMS["sure"]
    return _CLAIMS["lacking" if miss.standing == "lacking" else "open"]


def named(node: Node) -> str:
    """A node with its variety: `C-mid (Regina)`, `neighbour-1 (Discovery, 25 m)`."""
    if node.kind == "candidate":
        return graft_name(node)
    name = "" if node.variety.name == node.id else node.variety.name
    if name == f"? ({node.id})":
        name = "?"
    where = f"{number(node.distance_m)} m" if node.kind == "neighbour" else ""
    more = ", ".join(filter(None, (name, where)))
    return f"{node.id} ({more})" if more else node.id


def miss_text(miss: Uncovered, nodes: Sequence[Node]) -> str:
    """Why a limb cannot be covered, with its nearest miss."""
    limb = named(nodes[miss.node])
    if miss.hangs and miss.donor is not None:
        text = (
            _("{limb}: without {lost} it has a viable donor in {tenths} of 10 winters, whatever "
              "is grafted")
            if miss.code == "one-loss"
            else _("{limb}: without {lost} it has a viable donor in {tenths} of 10 winters; "
                   "another donor could be grafted, but the trees of this fruit have too few "
                   "limbs to spare")
        )  # fmt: skip
        lost = named(nodes[miss.donor])
        return text.format(limb=limb, lost=lost, tenths=tenths(miss.reliability))
    if miss.code == "no-spare-limb":
        text = _(
            "{limb}: a donor could be grafted, but the trees of this fruit have too few limbs "
            "to spare"
        )
        return text.format(limb=limb)
    if miss.donor is None:
        text = _("{limb}: no other variety of this fruit, here or among the candidates")
        return text.format(limb=limb)
    name = nodes[miss.donor].variety.name
    if miss.code == "bare-donor":
        text = _(
            "{limb}: {name} would be a donor, but would have too few winters with a donor itself"
        )
        return text.format(limb=limb, name=name)
    if miss.code in ("too-few-winters", "not-sure"):
        text = (
            _("{limb}: its own pollen serves it in {tenths} of 10 winters; with every candidate "
              "grafted it would be {together} of 10")
            if miss.code == "too-few-winters" and miss.donor == miss.node
            else _("{limb}: nearest is {name}, in {tenths} of 10 winters; with every candidate "
                   "grafted it would be {together} of 10")
            if miss.code == "too-few-winters"
            else _("{limb}: nearest is {name}, in {tenths} of 10 winters; with every candidate "
                   "grafted it would likely be {likely} of 10, and surely {together} of 10")
        ).format(
            limb=limb, name=name, tenths=tenths(miss.reliability), likely=tenths(miss.expected),
            together=tenths(miss.reachable),
        )  # fmt: skip
        chill = [] if miss.short is None else [chill_words(miss.short)]
        return "; ".join((text, *chill, *untold_words(miss, nodes)))
    code = cast("RefusalCode", miss.code)
    refusal = Refusal(miss.donor, code, miss.verdict, miss.days, miss.overlap_days)
    text = _("{limb}: nearest is {name}, but: {reason}")
    return text.format(limb=limb, name=name, reason=refusal_words(refusal, nodes, miss.node))


def untold_words(miss: Uncovered, nodes: Sequence[Node]) -> list[str]:
    """What nobody knows of a limb and its nearest donor, one sentence each: alleles, dates."""
    found = []
    if miss.verdict is not None and miss.verdict.answer == "unknown":
        found.append(verdict_sentence(miss.verdict))
    if miss.undated:
        names = list(dict.fromkeys(nodes[i].variety.name for i in miss.undated))
        found.append(_("when {names} blooms is not known").format(names=joined(names, "or")))
    return found


def proof_text(cover: Cover, nodes: Sequence[Node]) -> str:
    """How we know that no smaller set exists, or that some limbs cannot be covered."""
    if cover.status == "nothing to add":
        return _("Nothing is missing, so the empty set is the smallest.")
    if not cover.uncovered:
        return _search_text(cover)
    proven = []
    crowded = [miss for miss in cover.uncovered if miss.code.endswith(("no-room", "no-spare-limb"))]
    hopeless = [miss for miss in cover.uncovered if miss not in crowded]
    offered = cover.proof.sizes["offered"]
    bare = joined([short_name(nodes[miss.node]) for miss in hopeless if not miss.hangs], "or")
    hanging = joined([short_name(nodes[miss.node]) for miss in hopeless if miss.hangs], "or")
    if bare:
        text = _bare_proof(cover, offered, is_open=any(m.standing != "lacking" for m in hopeless))
        proven.append(text.format(number=offered, limbs=bare))
    if hanging:
        text = ngettext(
            "Proven: with the {number} candidate grafted, {limbs} would still hang on one donor.",
            "Proven: with all {number} candidates grafted, {limbs} would still hang on one donor.",
            offered,
        ) if offered else _("Proven: there is no candidate that could help {limbs}.")  # fmt: skip
        proven.append(text.format(number=offered, limbs=hanging))
    if crowded and cover.proof.status == "time limit":
        proven.append(_("Not proven what there is room for: the search was stopped."))
    elif crowded and cover.most_proven:
        proven.append(
            _("Proven: no choice that there is room for keeps more limbs safe from a loss.")
            if any(miss.hangs for miss in crowded)
            else _("Proven: no choice that there is room for covers more limbs than this.")
        )
    if cover.partial:
        proven.append(_search_text(cover))
    return " ".join(proven)


def _bare_proof(cover: Cover, offered: int, *, is_open: bool) -> str:
    """What is proven of limbs that no candidates serve; places for their number and the limbs.

    is_open : whether it hangs on something not known; then the share that was counted is told.
    """
    if not offered:
        return _("Proven: there is no candidate that could help {limbs}.")
    if is_open and not cover.sure:
        return ngettext(
            "Proven, with all that is not known counted at its chance: with the {number} candidate "
            "grafted, {limbs} would still have too few winters with a donor.",
            "Proven, with all that is not known counted at its chance: with all {number} "
            "candidates grafted, {limbs} would still have too few winters with a donor.",
            offered,
        )
    if is_open:
        return ngettext(
            "Proven, with all that is not known at its worst: with the {number} candidate grafted, "
            "{limbs} would still have too few winters with a donor.",
            "Proven, with all that is not known at its worst: with all {number} candidates "
            "grafted, {limbs} would still have too few winters with a donor.",
            offered,
        )
    return ngettext(
        "Proven: with the {number} candidate grafted, {limbs} would still have too few winters "
        "with a donor.",
        "Proven: with all {number} candidates grafted, {limbs} would still have too few winters "
        "with a donor.",
        offered,
    )


def _search_text(cover: Cover) -> str:
    """What the search for the smallest set has proven."""
    proof = cover.proof
    tried = proof.sizes["candidates"]
    if proof.status == "time limit":
        text = ngettext(
            "Not proven: the search was stopped; no set costs less than {bound}, the one found "
            "costs {cost} ({number} candidate, {solver}).",
            "Not proven: the search was stopped; no set costs less than {bound}, the one found "
            "costs {cost} ({number} candidates, {solver}).",
            tried,
        )
    elif any(miss.hangs for miss in cover.uncovered):
        text = ngettext(
            "Exact search over {number} candidate: no smaller set does as much ({solver}, "
            "{method}; bound {bound}, gap {gap}).",
            "Exact search over {number} candidates: no smaller set does as much ({solver}, "
            "{method}; bound {bound}, gap {gap}).",
            tried,
        )
    elif cover.uncovered:
        text = ngettext(
            "Exact search over {number} candidate: no smaller set serves the other limbs "
            "({solver}, {method}; bound {bound}, gap {gap}).",
            "Exact search over {number} candidates: no smaller set serves the other limbs "
            "({solver}, {method}; bound {bound}, gap {gap}).",
            tried,
        )
    elif cover.smaller:
        text = ngettext(
            "Exact search over {number} candidate: no smaller set has as little to order "
            "({solver}, {method}; bound {bound}, gap {gap}).",
            "Exact search over {number} candidates: no smaller set has as little to order "
            "({solver}, {method}; bound {bound}, gap {gap}).",
            tried,
        )
    else:
        text = ngettext(
            "Exact search over {number} candidate: no smaller set exists ({solver}, {method}; "
            "bound {bound}, gap {gap}).",
            "Exact search over {number} candidates: no smaller set exists ({solver}, {method}; "
            "bound {bound}, gap {gap}).",
            tried,
        )
    return text.format(
        number=tried, solver=told(proof.solver), method=told(proof.method),
        bound=number(proof.bound), gap=number(proof.gap), cost=number(cover.cost),
    )  # fmt: skip
