"""The picking season and what a longer one costs, in a grower's words."""

from __future__ import annotations

from collections.abc import Sequence
from math import floor

from pollinet.advice.harvest import GAP_DAYS, HARVEST_SD_DAYS
from pollinet.advice.season import BEARS
from pollinet.domain import Node
from pollinet.language import date_range, short_date
from pollinet.summary.season import GardenSeason, Ripening, SeasonChoice
from pollinet.wording.sentences import count, days, joined, memory_text, of_ten
from pollinet.wording.sentences import winters_of_ten as winters

SHOWN = 12
"""Choices, limbs and names shown; all of them are in the JSON."""


def season_answer(season: GardenSeason) -> str:
    """The answer in one or two sentences."""
    today, best = season.today, season.choices
    if today.last is None and all(choice.last is None for choice in best):
        return "The picking season cannot be told: of no limb that bears a harvest is known."
    now = f"Ripe fruit on {_days(today)} as it stands"
    if today.last is None:
        now = "No fruit to count on as it stands"
    if not any(choice.added for choice in best):
        why = "no scion makes it longer or the worst-off limb surer"
        return f"{now}; {why if season.tried > 1 else 'there is no scion, or no room for one'}."
    first, last = best[0], best[-1]
    if last.point.fruit_days <= today.point.fruit_days:
        return f"{now}; no scion makes it longer. Surest: {_names(first)}, {_winters(first)}."
    if len(best) == 1:
        others = "no other set is" if season.exact else "no other set that was looked at is"
        return (
            f"{now}. A longer season costs nothing here: {_days(first)} with {_names(first)}, "
            f"{_winters(first)}; {others} longer or surer."
        )
    return (
        f"{now}. A longer season has its price: {_days(first)} with {_names(first)}, "
        f"{_winters(first)}; up to {_days(last)} with {_names(last)}, {_winters(last)}."
    )


def _days(choice: SeasonChoice) -> str:
    return days(choice.point.fruit_days)


def _names(choice: SeasonChoice) -> str:
    return joined([name.name for name in choice.added]) or "nothing added"


def _winters(choice: SeasonChoice) -> str:
    return f"the worst-off limb with a donor in {winters(choice.point.reliability)}"


# --- tables ----------------------------------------------------------------------------------


def choice_label(choice: SeasonChoice) -> str:
    """What is grafted: `as it stands`, `graft Sam and Spartan`."""
    return f"graft {_names(choice)}" if choice.added else "as it stands"


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
        f"{choice.overlap_days:.1f}",
    )


def _picks(choice: SeasonChoice) -> str:
    if choice.first is None or choice.last is None:
        return "not known"
    return date_range(*(_day_of_year(day) for day in (choice.first, choice.last)))


def _day_of_year(day: float) -> int:
    return (floor(day + 0.5) - 1) % 365 + 1


def node_name(node: Node) -> str:
    """A limb by its id, a scion by its variety."""
    return node.variety.name if node.kind == "candidate" else node.id


def ripening_cells(row: Ripening) -> tuple[str, ...]:
    """One row of the order of ripening: when, limb, variety, what follows it."""
    when = (
        "not known" if row.harvest is None else f"about {short_date(_day_of_year(row.harvest.day))}"
    )
    after = "" if row.bears else "not counted: a donor in too few winters"
    if row.gap_days is not None:
        after = f"then {days(round(row.gap_days))} without fruit"
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
    notes = [
        f"Days with fruit: each variety counts for {GAP_DAYS} days from its first pick, if it has "
        f"a donor in {winters(BEARS)} or more. Each pick may be off by about "
        f"{HARVEST_SD_DAYS:.0f} days, most of it for all alike: a few days more or less mean "
        "nothing.",
        "Overlap: days in bloom with the best donor, mean of all limbs that are to crop.",
    ]
    if not all(choice.enough for choice in shown):
        notes.append(f"* below the {winters(level)} that the plan asks for.")
    notes += _unknown(season)
    if season.tried > 1:
        notes.append(_search(season))
    if len(season.choices) > len(shown):
        notes.append(f"{count(len(season.choices), 'set')} in all; --json gives every one.")
    if season.memory:
        notes.append(memory_text(season.memory))
    return notes


def _search(season: GardenSeason) -> str:
    tried = f"{season.tried} sets of {count(season.offered, 'scion')}"
    if season.exact:
        return f"Exact: all {tried} that there is room for were looked through."
    return f"Heuristic: {tried} were looked through, not all; there may be better ones."


def _unknown(season: GardenSeason) -> list[str]:
    limbs = [row.limb.id for row in season.ripening if row.harvest is None]
    notes = []
    if limbs:
        notes.append(
            f"Harvest not known, so left out of the season: {_some(limbs)}. To tell it: pollinet "
            "variety add NAME --species FRUIT --set days_bloom_to_harvest=120."
        )
    if season.unknown:
        names = [name.name for name in season.unknown]
        told = joined(names) if len(names) <= SHOWN else f"{len(names)} of {season.offered}"
        notes.append(f"Scions that add nothing, as their harvest is not known: {told}.")
    return notes


def _some(names: Sequence[str]) -> str:
    more = len(names) - SHOWN
    return joined(names) if more <= 0 else f"{', '.join(names[:SHOWN])} and {more} more"
