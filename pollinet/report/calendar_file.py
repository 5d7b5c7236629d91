"""The work of a year as a calendar file for a telephone or computer."""

from __future__ import annotations

import hashlib
from collections.abc import Mapping, Sequence
from datetime import UTC, date, datetime, timedelta

from pollinet.advice.work import Task
from pollinet.language import _
from pollinet.study import Study
from pollinet.wording.suits import task_limbs

MARK = b"PRODID:-//Pollinet//"
"""What tells a calendar of ours: only such a file is written over."""


def calendar_bytes(
    found: Sequence[Task], cautions: Mapping[str, str], study: Study, today: date
) -> bytes:
    """The work as an iCalendar file (RFC 5545); the same plan and first day give the same bytes."""
    from icalendar import Calendar, Event

    calendar = Calendar()
    calendar.add("prodid", "-//Pollinet//work of the year//EN")
    calendar.add("version", "2.0")
    for task in found:
        caution = cautions.get(task.caution, "")
        words = f"{_(task.reason)}. {_(caution) if caution else ''}".strip()
        event = Event()
        event.add("uid", _uid(task, study))
        event.add("dtstamp", datetime(today.year, today.month, today.day, tzinfo=UTC))
        event.add("dtstart", task.first)
        # The end of an event of whole days is the day after its last one.
        event.add("dtend", task.last + timedelta(days=1))
        event.add("summary", f"{_(task.title)}: {task_limbs(task)}")
        event.add("description", words)
        event.add("transp", "TRANSPARENT")
        calendar.add_component(event)
    return bytes(calendar.to_ical())


def _uid(task: Task, study: Study) -> str:
    """The same for the same work of the same year, so that a new calendar replaces the old one."""
    words = (study.plan.site.name, task.task, task.fruit, *task.limbs, str(task.last.year))
    return hashlib.sha256("|".join(words).encode()).hexdigest()[:24] + "@pollinet"
