"""The picking season and what a longer one costs, in a grower's words."""

from __future__ import annotations

from collections.abc import Sequence
from math import floor

from pollinet.advice.harvest import GAP_DAYS, HARVEST_SD_DAYS
from pollinet.advice.season import BEARS
from pollinet.domain import Node
from pollinet.language import _, date_range, ngettext, number, short_date
from pollinet.summary.season import GardenSeason, Ripening, SeasonChoice
from pollinet.wording.sentences import days, joined, memory_text, of_ten, whole_winters
from pollinet.wording.sentences import winters_of_ten as winters

SHOWN = 12
"""Choices, limbs and names shown; all of them are in the JSON."""


def season_answer(season: GardenSeason) -> str:
    """The answer in one or two sentences."""
    today, best = season.today, season.choices
    if today.last is None and all(choice.last is None for choice in best):
        return _("The picking season cannot be told: of no limb that bears a harvest is known.")
    now = _("Ripe fruit on {days} as it stands").format(days=_days(today))
    if today.last is None:
        now = _("No fruit to count on as it stands")
    if not any(choice.added for choice in best):
        text = _("{now}; there is no scion, or no room for one.")
        if season.tried > 1:
            text = _("{now}; no scion makes it longer or the worst-off limb surer.")
        return text.format(now=now)
    first, last = best[0], best[-1]
    words = {
        "now": now, "days": _days(first), "names": _names(first), "winters": _winters(first),
        "last_days": _days(last), "last_names": _names(last), "last_winters": _winters(last),
    }  # fmt: skip
    text = _(
        "{now}. A longer season has its price: {days} with {names}, {winters}; up to {last_days} "
        "with {last_names}, {last_winters}."
    )
    if last.point.fruit_days <= today.point.fruit_days:
        text = _("{now}; no scion makes it longer. Surest: {names}, {winters}.")
    elif len(best) == 1 and not last.enough:
        text = _(
            "{now}; {days} with {names}, {winters}: see to its pollen first. No other set that was "
            "looked at is longer or surer."
        )
    elif len(best) == 1 and season.exact:
        text = _(
            "{now}. A longer season costs nothing here: {days} with {names}, {winters}; no other "
            "set is longer or surer."
        )
    elif len(best) == 1:
        text = _(
            "{now}. A longer season costs nothing here: {days} with {names}, {winters}; no other "
            "set that was looked at is longer or surer."
        )
    return text.format(**words)


def _days(choice: SeasonChoice) -> str:
    return days(choice.point.fruit_days)


def _names(choice: SeasonChoice) -> str:
    return joined([name.name for name in choice.added]) or _("nothing added")


def _winters(choice: SeasonChoice) -> str:
    if choice.worst is not None and choice.point.reliability == 0:
        return _("but {limb} has no donor").format(limb=node_name(choice.worst))
    text = _("the worst-off limb with a donor in {winters}")
    return text.format(winters=whole_winters(choice.point.reliability))


# --- tables ----------------------------------------------------------------------------------


def choice_label(choice: SeasonChoice) -> str:
    """What is grafted: `as it stands`, `graft Sam and Spartan`."""
    if not choice.added:
        return _("as it stands")
    return _("graft {names}").format(names=_names(choice))


def choice_cells(choice: SeasonChoice) -> tuple[str, ...]:
    """One row: what is grafted, days with fruit, picks, the worst-off limb, shared bloom."""
    share = choice.point.reliability
    low = "" if choice.enough else " *"
    worst = "" if choice.worst is None else f" ({node_name(choice.worst)})"
    return (
        choice_label(choice),
        f"{choice.point.fruit_days}",
        _picks(choice),
        f"{of_ten(share)}{worst}{low}",
        number(choice.overlap_days, ".1f"),
    )


def _picks(choice: SeasonChoice) -> str:
    if choice.first is None or choice.last is None:
        return _("not known")
    return date_range(*(_day_of_year(day) for day in (choice.first, choice.last)))


def _day_of_year(day: float) -> int:
    return (floor(day + 0.5) - 1) % 365 + 1


def node_name(node: Node) -> str:
    """A limb by its id, a scion by its variety."""
    return node.variety.name if node.kind == "candidate" else node.id


def ripening_cells(row: Ripening) -> tuple[str, ...]:
    """One row of the order of ripening: when, limb, variety, what follows it."""
    assert row.harvest is not None
    when = _("about {date}").format(date=short_date(_day_of_year(row.harvest.day)))
    after = "" if row.bears else _("not counted: a donor in too few winters")
    if row.gap_days is not None:
        after = _("then {days} without fruit").format(days=days(round(row.gap_days)))
    return when, row.limb.id, row.limb.variety.name, after


def shown_choices(season: GardenSeason) -> list[SeasonChoice]:
    """Today first, then the front; of a long front the ends and what lies between evenly."""
    front = [choice for choice in season.choices if choice.added]
    if len(front) > SHOWN:
        front = [front[round(i * (len(front) - 1) / (SHOWN - 1))] for i in range(SHOWN)]
    return [season.today, *front]


# --- notes -----------------------------------------------------------------------------------


def season_notes(season: GardenSeason, level: float) -> list[str]:
    """What the figures mean, what is not known, and whether the search is exact."""
    shown = shown_choices(season)
    counted = _(
        "Days with fruit: each variety counts for {days} days from its first pick, if it has a "
        "donor in {winters} or more. Each pick may be off by about {error} days, most of it for "
        "all alike: a few days more or less mean nothing."
    )
    notes = [
        counted.format(days=GAP_DAYS, winters=winters(BEARS), error=number(HARVEST_SD_DAYS, ".0f")),
        _("Overlap: days in bloom with the best donor, mean of all limbs that are to crop."),
    ]
    if any(row.limb.grafted is not None for row in season.ripening):
        notes.append(
            _("Grafts count as grown, however young: those that do not bear in the coming season "
              "yet, `pollinet work` leaves out.")
        )  # fmt: skip
    if not all(choice.enough for choice in shown):
        notes.append(
            _("* below the {winters} that the plan asks for.").format(winters=winters(level))
        )
    notes += _unknown(season)
    if season.tried > 1:
        notes.append(_search(season))
    if len(season.choices) > len(shown):
        text = ngettext(
            "{number} set in all; --json gives every one.",
            "{number} sets in all; --json gives every one.",
            len(season.choices),
        )
        notes.append(text.format(number=len(season.choices)))
    if season.memory:
        notes.append(memory_text(season.memory))
    return notes


def _search(season: GardenSeason) -> str:
    text = (
        ngettext(
            "Exact: all {tried} sets of {number} scion that there is room for were looked through.",
            "Exact: all {tried} sets of {number} scions that there is room for were looked "
            "through.",
            season.offered,
        )
        if season.exact
        else ngettext(
            "Heuristic: {tried} sets of {number} scion were looked through, not all; there may be "
            "better ones.",
            "Heuristic: {tried} sets of {number} scions were looked through, not all; there may be "
            "better ones.",
            season.offered,
        )
    )
    return text.format(tried=season.tried, number=season.offered)


def _unknown(season: GardenSeason) -> list[str]:
    limbs = [row.limb.id for row in season.ripening if row.harvest is None]
    notes = []
    if limbs:
        text = _(
            "Harvest not known, so left out of the season: {limbs}. To tell it: `pollinet "
            "variety add NAME --species FRUIT --set days_bloom_to_harvest=120`."
        )
        notes.append(text.format(limbs=_some(limbs)))
    if season.unknown:
        names = [name.name for name in season.unknown]
        told = joined(names)
        if len(names) > SHOWN:
            told = _("{some} of {all}").format(some=len(names), all=season.offered)
        text = _("Scions that add nothing, as their harvest is not known: {names}.")
        notes.append(text.format(names=told))
    if season.cool:
        text = _("Scions that add nothing, as they hardly ripen here (too cool): {names}.")
        notes.append(text.format(names=_some([name.name for name in season.cool])))
    return notes


def _some(names: Sequence[str]) -> str:
    more = len(names) - SHOWN
    if more <= 0:
        return joined(names)
    text = ngettext("{names} and {number} more", "{names} and {number} more", more)
    return text.format(names=", ".join(names[:SHOWN]), number=more)
