"""How a variety would fare, and the work of the year, in a grower's words."""

from __future__ import annotations

from collections.abc import Iterable, Mapping, Sequence
from datetime import date

from pollinet.advice.harvest import GAP_DAYS, HARVEST_SD_DAYS
from pollinet.advice.pollinizer import is_crab
from pollinet.advice.work import Task
from pollinet.days import day_of_year, short_date
from pollinet.summary.suits import WARMER_C, Doubt, Suitability
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

SHOWN = 4
"""Donors and limbs named; all of them are in the JSON."""


def suits_answer(view: Suitability) -> str:
    """The answer in one sentence: what speaks against the variety here, or that nothing does."""
    name = view.variety.id.name
    if view.bloom is None:
        return f"{name}: cannot be judged here: nothing is known of its bloom."
    against = [_doubt(view, doubt) for doubt in view.doubts]
    if against:
        return f"{name} is doubtful here: {joined(against)}."
    unknown = "" if view.chill_published else " (its need of winter chill is not published)"
    return f"{name} suits this garden{unknown}."


def _doubt(view: Suitability, doubt: Doubt) -> str:
    """What speaks against a variety, with its winters."""
    match doubt:
        case "chill":
            return f"it gets all its winter chill in only {of_ten(view.enough_chill or 0)} winters"
        case "donors":
            return f"it has a viable donor in only {of_ten(view.coverage.reliability)} winters"
        case "frost":
            most = 0.0 if view.frost is None else view.frost[1]
            return f"frost can kill most flowers in {of_ten(most)} winters"


def suits_lines(view: Suitability) -> list[str]:
    """All that is told of one variety, the answer first."""
    name = view.variety.id.name
    lines = [suits_answer(view), ""]
    if view.limb is not None:
        lines.append(f"- It stands already: limb {view.limb}.")
    lines += [_chill(view), _bloom(view), _donors(view), _serves(view), _harvest(view),
              _frost(view), _vigour(view), *_crab(view), *_look(view), _sure(view)]  # fmt: skip
    if view.memory:
        lines.append(f"- {memory_text(view.memory)}")
    lines.append(f"- Whether {name} may be grafted is not judged here: healthy wood only; ask your "
                 "plant-health service and the variety register.")  # fmt: skip
    return lines


def _chill(view: Suitability) -> str:
    if view.enough_chill is None:
        return "- Winter chill: not known how much it needs."
    text = f"- Winter chill: all it needs in {of_ten(view.enough_chill)} winters"
    if view.enough_chill_warmer is not None:
        text += f"; with {WARMER_C:g} °C more, in {of_ten(view.enough_chill_warmer)}"
    if not view.chill_published:
        text += " (not published: drawn from what is usual for the fruit)"
    note = straggling_note(["chill" in view.doubts])
    return " ".join([text + ".", *note])


def _bloom(view: Suitability) -> str:
    if view.bloom is None:
        return "- Bloom: not known."
    text = (f"- Bloom: usually {date_range(view.bloom.start, view.bloom.end)}, full bloom "
            f"{short_date(view.bloom.full)} ± {view.bloom.sd_days:.0f} days")  # fmt: skip
    if view.bloom_warmer is not None:
        text += f"; with {WARMER_C:g} °C more, full bloom {short_date(view.bloom_warmer.full)}"
    return text + "."


def _donors(view: Suitability) -> str:
    nodes, coverage = view.network.nodes, view.coverage
    if not coverage.donors:
        why = [text for _, text in reasons(coverage, nodes)[:2]]
        return f"- Pollen for it: none in the garden ({'; '.join(why)})."
    named = [
        f"{donor_text(d, nodes, coverage.node)} (in {of_ten(d.reliability)} winters)"
        for d in coverage.donors[:SHOWN]
    ]
    return f"- Pollen for it: {'; '.join(named)}."


def _serves(view: Suitability) -> str:
    if not view.serves:
        return "- Its pollen: serves no limb here."
    named = [
        f"{s.limb} ({s.variety.name}, {of_ten(s.reliability)} winters"
        f"{', which has no sure donor now' if s.newly else ''})"
        for s in view.serves[:SHOWN]
    ]
    more = len(view.serves) - SHOWN
    return f"- Its pollen serves: {'; '.join(named)}{f'; and {more} more' if more > 0 else ''}."


def _harvest(view: Suitability) -> str:
    if view.harvest is None:
        return "- Harvest: not known."
    day = view.harvest.day
    text = f"- Harvest: about {short_date(round(day))} ± {HARVEST_SD_DAYS:.0f} days"
    before = [h for h in view.harvests_beside if h.day <= day]
    after = [h for h in view.harvests_beside if h.day > day]
    if before:
        last = max(before, key=lambda h: h.day)
        text += f", {days(round(day - last.day))} after {last.variety.name}"
    if after:
        following = min(after, key=lambda h: h.day)
        text += f", {days(round(following.day - day))} before {following.variety.name}"
    return f"{text}; {view.harvest.rests_on}."


def _frost(view: Suitability) -> str:
    if view.frost is None:
        return "- Frost at bloom: not known."
    some, most = map(of_ten, view.frost)
    return (
        f"- Frost at bloom: a night can kill one flower in ten in {some} winters, nine in ten in "
        f"{most} (temperatures of the record, not of a hollow)."
    )


_PLACES = {
    "low": "it grows more strongly than the others: graft it low",
    "high": "it grows more weakly than the others: graft it high, in the best light",
    "beside": "it grows like the others",
    "unknown": "not known how it compares with the others",
}


def _vigour(view: Suitability) -> str:
    if view.vigour is None:
        return "- Vigour: not known; watch its shoots beside the others'."
    told = [f"on {tree}, {_PLACES[code]}" for tree, code in view.place]
    return f"- Vigour: {view.vigour}{'; ' if told else ''}{'; '.join(told)}."


def _crab(view: Suitability) -> list[str]:
    """What use a crab apple is; nothing for others. No verdict hangs on it."""
    return [f"- {crab_note('It')}"] if is_crab(view.variety) else []


def _look(view: Suitability) -> list[str]:
    """How the trees would look in bloom with it; nothing where that is not known."""
    told = []
    for tree, now, then in view.looks:
        lag = then.lags.get("")
        if then.together is not None and lag is not None:
            was = "" if now.together is None else f", now on {tenths(now.together)}"
            told.append(
                f"on {tree} in full bloom {_apart(lag)} the tree's middle; nearly all limbs in "
                f"flower on {of_ten(then.together)} days with blossom{was}"
            )
    return [f"- Look in bloom: {'; '.join(told)}."] if told else []


def _apart(lag_days: float) -> str:
    if abs(lag_days) < 0.5:
        return "with"
    return f"{days(round(abs(lag_days)))} {'before' if lag_days < 0 else 'after'}"


def _sure(view: Suitability) -> str:
    fertility = view.variety.fertility
    parts = []
    if view.bloom is not None:
        parts.append(f"bloom rests on {view.bloom.rests_on or 'dates as typed'}, "
                     f"± {view.bloom.sd_days:.0f} days")  # fmt: skip
    if fertility.genotype is None and fertility.group is None:
        parts.append("its S-alleles are not known")
    return f"- How sure: {'; '.join(parts) or 'nothing is known'}."


# --- the work of the year ------------------------------------------------------------------------


def work_answer(found: Iterable[Task]) -> str:
    """What comes next, in one sentence."""
    first = next(iter(found), None)
    if first is None:
        return "No work can be dated: nothing is known of any limb's bloom."
    return f"Next: {first.title.lower()}, {task_dates(first)} ({task_limbs(first)})."


def task_dates(task: Task) -> str:
    """`12 Feb – 3 Mar 2027`, with both years where they differ."""
    if task.first.year != task.last.year:
        ends = (f"{short_date(_day(day))} {day.year}" for day in (task.first, task.last))
        return " – ".join(ends)
    return f"{date_range(_day(task.first), _day(task.last))} {task.last.year}"


def _day(when: date) -> int:
    return day_of_year(when.month, when.day)


def task_limbs(task: Task) -> str:
    """The limbs of a task in a few words: all of a fruit by its name; of grafting, the scions."""
    if task.scions is not None:
        return f"{task.fruit}: {joined(task.scions) or 'scions of your choice'}"
    if len(task.limbs) > 3:
        return f"{task.fruit}, {len(task.limbs)} limbs"
    return f"{task.fruit}: {', '.join(task.limbs)}"


def caution_lines(found: Iterable[Task], cautions: Mapping[str, str]) -> list[str]:
    """Every caution that the tasks call for, once."""
    return [cautions[word] for word in dict.fromkeys(t.caution for t in found if t.caution)]


def gap_lines(found: Sequence[tuple[str, str, float]]) -> list[str]:
    """The days without fruit, in one line; none where there are none."""
    if not found:
        return []
    named = [f"{days(round(gap))} from {one} to {other}" for one, other, gap in found[:SHOWN]]
    return [
        f"Days without fruit, as estimated: {'; '.join(named)}. Each variety counts for {GAP_DAYS} "
        "days from its first pick, if its limb has a donor often enough to bear."
    ]


def undated_lines(fruits: Iterable[str]) -> list[str]:
    """How grafting is dated of fruits that bloom long before they leaf."""
    return [
        f"Graft {fruit} when its buds break, long after its bloom: log leafing (pollinet record "
        "PLAN LIMB --leafing) and it is dated."
        for fruit in fruits
    ]
