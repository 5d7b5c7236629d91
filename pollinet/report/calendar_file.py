"""The work of a year as a calendar file for a telephone or computer."""

from __future__ import annotations

import hashlib
from collections.abc import Sequence
from datetime import UTC, date, datetime, timedelta
from typing import TYPE_CHECKING

from pollinet.advice.work import Task
from pollinet.language import _
from pollinet.study import Study
from pollinet.wording.work import caution_lines, task_limbs

if TYPE_CHECKING:
    from icalendar import Alarm

MARK = b"PRODID:-//Pollinet//"
"""What tells a calendar of ours: only such a file is written over."""

MORNING = timedelta(hours=8)
"""Reminders come in the morning. Own convention."""

LAST_CALL_DAYS = 7
"""Work of grafting that nobody may miss is called to mind again so long before its last day. Own
convention. [days]"""

_COUNTED_FROM = date(2000, 1, 1)


def calendar_bytes(found: Sequence[Task], study: Study, today: date) -> bytes:
    """The work as an iCalendar file (RFC 5545); the same plan and first day give the same bytes.

    Work that a limb needs has reminders; what is merely possible has none.
    """
    from icalendar import Calendar, Event

    calendar = Calendar()
    calendar.add("prodid", "-//Pollinet//work of the year//EN")
    calendar.add("version", "2.0")
    calendar.add("method", "PUBLISH")
    # RFC 7986.
    calendar.add("name", _("Work: {site}").format(site=study.plan.site.name))
    for task in found:
        event = Event()
        event.add("uid", _uid(task, study))
        # Of two files with the same event the later one holds.
        event.add("sequence", (today - _COUNTED_FROM).days)
        event.add("dtstamp", datetime(today.year, today.month, today.day, tzinfo=UTC))
        event.add("dtstart", task.first)
        # The end of an event of whole days is the day after its last one.
        event.add("dtend", task.last + timedelta(days=1))
        event.add("summary", f"{_(task.title)}: {task_limbs(task)}")
        event.add("description", _description(task))
        event.add("transp", "TRANSPARENT")
        for alarm in _alarms(task, today):
            event.add_component(alarm)
        calendar.add_component(event)
    return bytes(calendar.to_ical())


def _description(task: Task) -> str:
    reason = _("{reason}.").format(reason=_(task.reason))
    rough = [_("Dated by the run of its fruit, only roughly.")] if task.undated else []
    return "\n".join([reason, *rough, *caution_lines([task])])


def _alarms(task: Task, today: date) -> list[Alarm]:
    """A reminder before the first day; of grafting one more before the last. None in the past."""
    if not task.needed or task.alarm_days is None:
        return []
    begins = timedelta(days=-task.alarm_days) + MORNING
    found = []
    if task.first - timedelta(days=task.alarm_days) >= today:
        found.append(_alarm(task, begins, "START"))
    if task.grafting and task.last - timedelta(days=LAST_CALL_DAYS) > max(task.first, today):
        # The event ends with the day after its last one.
        last_call = timedelta(days=-LAST_CALL_DAYS - 1) + MORNING
        found.append(_alarm(task, last_call, "END"))
    return found


def _alarm(task: Task, before: timedelta, related: str) -> Alarm:
    from icalendar import Alarm, vDuration

    alarm = Alarm()
    alarm.add("action", "DISPLAY")
    alarm.add("description", f"{_(task.title)}: {task_limbs(task)}")
    trigger = vDuration(before)
    trigger.params["RELATED"] = related
    alarm.add("trigger", trigger)
    return alarm


def _uid(task: Task, study: Study) -> str:
    """The same for the same work of the same spring, so that a new calendar replaces the old one.

    It hangs on no date, nor on which limbs of a fruit take part.
    """
    alone = task.limbs if task.scope in ("uncovered", "doubtful", "harvest") else ()
    words = (study.plan.site.name, task.task, task.fruit, *alone, str(task.season))
    return hashlib.sha256("|".join(words).encode()).hexdigest()[:24] + "@pollinet"
