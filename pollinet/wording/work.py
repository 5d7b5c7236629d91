"""The work of the year in a grower's words: what comes next, when, where, why, what to mind."""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from datetime import date

from pollinet.advice.harvest import GAP_DAYS
from pollinet.advice.rules import split
from pollinet.advice.work import Task
from pollinet.days import day_of_year
from pollinet.findings import Finding
from pollinet.language import N_, _, date_range, day_and_year, joined, ngettext, told
from pollinet.readers.advice import advice_tables
from pollinet.study.under_suspicion import NOTED_CODE
from pollinet.summary.scions import NearHelp
from pollinet.summary.work import YearOfWork
from pollinet.wording.scions import near_help_lines
from pollinet.wording.sentences import days, first_of

SHOWN, NAMED = 3, 6
"""Gaps and fruits told, and limbs named; all of them are in the JSON."""


@dataclass(frozen=True)
class Row:
    """One line of the list: when, what, and at which limbs; `task`: the first that it tells of."""

    when: str
    what: str
    where: str
    task: Task


def work_answer(found: Sequence[Task], today: date) -> str:
    """What is to be done now and what comes next, the latest day of each told."""
    needed = [task for task in found if task.needed]
    if not found:
        return _("No work can be dated: nothing is known of any limb's bloom.")
    if not needed:
        return _("Nothing needs to be done in the coming twelve months.")
    now = sorted((t for t in needed if t.first <= today), key=lambda t: t.last)
    later = [task for task in needed if task.first > today]
    told = []
    if now:
        text = _("Now, until {date} at the latest: {task} ({limbs}).")
        task = now[0]
        day, what = day_and_year(task.last), small_title(task)
        told.append(text.format(date=day, task=what, limbs=task_limbs(task)))
    if later:
        task = later[0]
        text = _("Next: {task}, {dates} ({limbs}).")
        dates = task_dates(task)
        told.append(text.format(task=small_title(task), dates=dates, limbs=task_limbs(task)))
    return " ".join(told)


def small_title(task: Task) -> str:
    """Its title within a sentence."""
    title = _(task.title)
    # Only English writes the first word of a title small in the middle of a sentence.
    return title[0].lower() + title[1:] if title == task.title else title


def task_dates(task: Task, today: date | None = None) -> str:
    """`12 Feb – 3 Mar 2027`, with both years where they differ; of what is under way `now – …`."""
    if today is not None and task.first <= today:
        return _("now – {date}").format(date=day_and_year(task.last))
    return _span(task.first, task.last)


def _span(first: date, last: date) -> str:
    if first.year != last.year:
        return f"{day_and_year(first)} – {day_and_year(last)}"
    days = (day_of_year(day.month, day.day) for day in (first, last))
    return f"{date_range(*days)} {last.year}"


def task_limbs(task: Task) -> str:
    """The limbs of a task in a few words: all of a fruit by its name; of grafting, the scions."""
    return _where(task, task.limbs)


def _where(task: Task, limbs: Sequence[str]) -> str:
    fruit = _(task.fruit)
    if task.scions is not None:
        return f"{fruit}: {_scions(task)}" if task.scions or not task.needed else fruit
    if len(limbs) > SHOWN:
        text = ngettext("{fruit}, {number} limb", "{fruit}, {number} limbs", len(limbs))
        where = text.format(fruit=fruit, number=len(limbs))
    else:
        where = f"{fruit}: {', '.join(limbs)}"
    if task.donors:
        text = _("{where}, with {donors}")
        return text.format(where=where, donors=joined(task.donors, "or"))
    return where


def _scions(task: Task) -> str:
    return joined(task.scions or ()) or _("scions of your choice")


def at_once(found: Iterable[Task]) -> list[list[Task]]:
    """What is needed, in order of time; the same work on the same days together."""
    together: dict[tuple[object, ...], list[Task]] = {}
    for task in found:
        if task.needed:
            same = (task.title, task.fruit, task.first, task.last, task.donors, task.scions)
            together.setdefault(same, []).append(task)
    return list(together.values())


def work_rows(found: Iterable[Task], today: date | None = None) -> list[Row]:
    """What is needed, in order of time; limbs with the same work on the same days in one row."""
    return [
        Row(
            task_dates(tasks[0], today),
            _(tasks[0].title),
            _where(tasks[0], [limb for task in tasks for limb in task.limbs]),
            tasks[0],
        )
        for tasks in at_once(found)
    ]


ONE_BY_ONE = ("uncovered", "doubtful", "harvest", "graft")
"""Scopes of work of which the place is not the fruit alone."""


def kind_rows(found: Iterable[Task], most: int) -> list[tuple[str, str, str]]:
    """The same in one row a kind of work, with the first `most` places and their days."""
    kinds: dict[str, list[Row]] = {}
    for row in work_rows(found):
        kinds.setdefault(row.what, []).append(row)
    told = []
    for what, rows in kinds.items():
        first, last = min(r.task.first for r in rows), max(r.task.last for r in rows)
        places = [
            _("{place} {dates}").format(
                place=row.where if row.task.scope in ONE_BY_ONE else _(row.task.fruit),
                dates=date_range(*row.task.days_of_year),
            )
            for row in rows
        ]
        more = len(places) - most
        rest = ngettext("and {number} more", "and {number} more", more).format(number=more)
        where = "; ".join([*places[:most], *([rest] if more > 0 else [])])
        told.append((_span(first, last), what, where))
    return told


def reason_lines(found: Iterable[Task], most: int | None = None) -> list[str]:
    """Why each kind of work is done, once."""
    kinds: dict[tuple[str, str], Task] = {}
    for task in found:
        if task.needed:
            # Where few are told, one work has one reason.
            kinds.setdefault((task.title, task.reason if most is None else ""), task)
    text = _("{work}: {reason}.")
    told = list(kinds.values())[:most]
    return [text.format(work=_(task.title), reason=_(task.reason)) for task in told]


MIND = N_(
    "Mind: local rules go first (plant health, sprays, nesting birds, protected varieties). A "
    "three-legged ladder on soil, clear of power lines; blades away from the body; no insecticide "
    "on open flowers, for the bees; wood and blossom from healthy trees only, tools clean."
)
"""What to mind, where there is no room for more."""


def caution_lines(found: Iterable[Task]) -> list[str]:
    """Local rules first; then every caution that the tasks call for, once."""
    rows = {row["caution"]: row for row in advice_tables()["cautions"]}
    texts = [rows["rules"]["text"]]
    for task in found:
        for word in task.cautions:
            fruits = split(rows[word]["fruits"])
            if not fruits or task.fruit in fruits:
                texts.append(rows[word]["text"])
    return [_(text) for text in dict.fromkeys(texts)]


TOLD_OVER = ("forcing", "jar", "hand", "thin", "thin-biennial", "ties", "summer-prune")
"""Work beside grafting of which a grower wants to know that its time is over."""


def disease_lines(findings: Iterable[Finding]) -> list[str]:
    """Trees under suspicion of a disease, with what to do."""
    text = _("{warning}: {cure}.")
    return [
        text.format(warning=told(one.message), cure=told(one.cure))
        for one in findings
        if one.code == NOTED_CODE
    ]


def over_lines(found: Sequence[Task]) -> list[str]:
    """What is over for this season, the work of grafting first."""
    found = [task for task in found if task.grafting or task.task in TOLD_OVER]
    if not found:
        return []
    ranked = sorted(found, key=lambda task: (not task.grafting, -task.last.toordinal()))
    kinds = list({(task.title, task.fruit): task for task in ranked}.values())
    text = _("{task} ({limbs}, until {date})")
    named = [
        text.format(task=_(task.title), limbs=_(task.fruit), date=day_and_year(task.last))
        for task in kinds
    ]
    line = _("Over for this season: {tasks}.").format(tasks=first_of(named, SHOWN))
    if any(task.task == "cut-scions" for task in found):
        line += " " + _("Only wood that was cut in time and kept cold can still be grafted this "
                        "spring; else bud in summer.")  # fmt: skip
    return [line]


def room_lines(found: Iterable[Task]) -> list[str]:
    """Where a graft could be made that nothing needs, and on which days its wood is cut."""
    cuts = [task for task in found if not task.needed and task.task == "cut-scions"]
    if not cuts:
        return []
    one = _("{fruit} ({dates})")
    told = [one.format(fruit=_(task.fruit), dates=date_range(*task.days_of_year)) for task in cuts]
    text = _("Room for grafts that, as far as is known, no limb needs, with the days on which to "
             "cut the wood: {fruits}. The calendar file has all their dates.")  # fmt: skip
    return [text.format(fruits=first_of(told, NAMED))]


def rests_lines(found: Iterable[Task], undated: Sequence[str]) -> list[str]:
    """Which limbs go by the run of their fruit, and of which nothing is known."""
    lines = []
    by_run = list(dict.fromkeys(limb for task in found for limb in task.undated))
    if by_run:
        text = _(
            "Dated by the run of their fruit, so only roughly, as nobody has dated their bloom: "
            "{limbs}. One noted bloom mends that."
        )
        lines.append(text.format(limbs=first_of(by_run, NAMED)))
    if undated:
        text = _(
            "No work can be dated at {limbs}: neither their bloom nor the weather here is known. "
            "Note their bloom, or give latitude, longitude and elevation_m of the site."
        )
        lines.append(text.format(limbs=first_of(undated, NAMED)))
    return lines


def which_lines(found: Iterable[Task], near: NearHelp | None = None) -> list[str]:
    """How to find what to graft, where a limb lacks a donor and no scion at hand will do.

    near : what helps most all the same.
    """
    fruits = dict.fromkeys(_(task.fruit) for task in found if task.scions == () and task.needed)
    if not fruits:
        return []
    text = _("A limb lacks a donor and no scion at hand is enough, {fruits}: what to order "
             "tells `pollinet cover PLAN --from catalogue`.")  # fmt: skip
    helps = [] if near is None else near_help_lines(near)
    return [" ".join([text.format(fruits=joined(list(fruits))), *helps])]


def first_bloom_lines(limbs: Sequence[str], spring: int) -> list[str]:
    """Young limbs that may flower for the first time."""
    if not limbs:
        return []
    text = _("Young, and may flower for the first time in {year}: {limbs}. Leave a few fruits at "
             "most; their crop is not counted yet.")  # fmt: skip
    return [text.format(year=spring, limbs=first_of(limbs, NAMED))]


def no_room_lines(fruits: Sequence[str]) -> list[str]:
    """Fruits with a limb that lacks a donor, and no tree of which has room for a graft."""
    if not fruits:
        return []
    text = _("No graft is dated of {fruits}, though a limb lacks a donor: no tree has a limb to "
             "spare (spare_limbs in the plan).")  # fmt: skip
    return [text.format(fruits=joined([_(fruit) for fruit in fruits]))]


def gap_lines(
    found: Sequence[tuple[str, str, float]], unripe: Sequence[str] = (), year: int = 0
) -> list[str]:
    """The days without fruit, in one line; none where there are none.

    unripe : limbs that are too young to be counted in this `year`.
    """
    if not found:
        return []
    gap_words = _("{days} from {one} to {other}")
    named = [
        gap_words.format(days=days(round(gap)), one=one, other=other)
        for one, other, gap in found[:SHOWN]
    ]
    text = _(
        "Days without fruit, as estimated: {gaps}. Each variety counts for {days} days from its "
        "first pick, if its limb has a donor often enough to bear."
    )
    line = text.format(gaps="; ".join(named), days=GAP_DAYS)
    if unripe:
        young = _("Too young to be counted in {year}: {limbs}; `pollinet season` counts them as "
                  "grown.")  # fmt: skip
        line += " " + young.format(year=year, limbs=first_of(unripe, NAMED))
    return [line]


def undated_lines(fruits: Iterable[str]) -> list[str]:
    """How grafting is dated of fruits that bloom long before they leaf."""
    text = _(
        "Graft {fruit} when its buds break, long after its bloom: log leafing (pollinet record "
        "PLAN LIMB --leafing) and it is dated."
    )
    return [text.format(fruit=_(fruit)) for fruit in fruits]


def dates_line(found: Iterable[Task]) -> str:
    """What kind of dates these are."""
    line = _("Dates are those of usual bloom here, not a forecast: go by the tree.")
    if any(task.grafting and task.needed for task in found):
        line += " " + _("The last day of ordering, cutting, grafting and budding is the latest.")
    return line


def work_notes(year: YearOfWork) -> list[str]:
    """What else is to be said of a year's work: what is over, roughly dated, or has no date."""
    return [
        *over_lines(year.over),
        *which_lines(year.tasks, year.near),
        *first_bloom_lines(year.may_flower, year.spring),
        *room_lines(year.tasks),
        *no_room_lines(year.no_room),
        *rests_lines(year.tasks, year.undated),
        *undated_lines(year.undated_grafts),
        *gap_lines(year.gaps, year.unripe, year.spring),
        dates_line(year.tasks),
    ]
