"""A study → the spring of the garden: all that a bloom calendar shows, in whatever form."""

from __future__ import annotations

from collections.abc import Collection, Sequence
from dataclasses import dataclass, replace
from datetime import date
from typing import Literal, TypeAlias

import numpy as np
from numpy.typing import NDArray

from pollinet.days import calendar_day_of_year
from pollinet.domain import Bloom, FloatArray, VarietyId, Winters
from pollinet.phenology.flight import flight_share
from pollinet.study import Study
from pollinet.summary.limbs import (
    BloomSpan,
    CalendarRow,
    SpringShift,
    calendar_rows,
    nominal_start,
    spring_shifts,
)

LEAST_DAYS_SHOWN = 28

DaysOf: TypeAlias = Literal["frost", "frost of one winter", "bees"]


@dataclass(frozen=True)
class Mark:
    """A bloom date that the grower wrote down. [day of year]"""

    row: int
    day: int


@dataclass(frozen=True)
class Against:
    """The row whose bloom is compared, and the rows that it is compared with."""

    row: int
    partners: Collection[int]


@dataclass(frozen=True, eq=False)
class DayShares:
    """How often something happens on each day of the season, shape (season days,), 0 to 1.

    of : nights of frost as a share of the winters; hours of daylight in which bees can fly.
    """

    of: DaysOf
    shares: FloatArray


@dataclass(frozen=True, eq=False)
class Spring:
    """When all that stands here blooms, over all winters or in one.

    rows : by tree, in the order of bloom. start : the day from which their days are counted.
    shifts : how far a whole spring moves; none of one winter. days : frost and flight weather.
    marks : own notes. winter : its harvest year; None: the usual spring.
    """

    rows: tuple[CalendarRow, ...]
    start: date
    shifts: tuple[SpringShift, ...] = ()
    days: tuple[DayShares, ...] = ()
    marks: tuple[Mark, ...] = ()
    winter: int | None = None

    @property
    def window(self) -> tuple[int, int]:
        """First and last day that is shown. [days since `start`]"""
        noted = [season_day(mark, self.start) for mark in self.marks]
        return window_of(self.rows, noted, self.shifts)


def garden_spring(study: Study) -> Spring:
    """The usual spring of a garden, over all its winters."""
    return _spring(study, study.bloom, calendar_rows(study), None)


def winter_spring(study: Study, winter: int) -> Spring | None:
    """The spring after one winter, told by its harvest year; None where there is no such winter."""
    if study.winters is None or winter not in study.winters.harvest_years:
        return None
    bloom = one_winter(study.bloom, study.winters.harvest_years.index(winter))
    return _spring(study, bloom, calendar_rows(study, bloom), winter)


def _spring(
    study: Study, bloom: Bloom, rows: tuple[CalendarRow, ...], winter: int | None
) -> Spring:
    shifts = spring_shifts(study) if winter is None else ()
    marks = own_marks(study, rows, winter)
    return Spring(rows, nominal_start(bloom), shifts, day_shares(study, winter), marks, winter)


def one_winter(bloom: Bloom, place: int) -> Bloom:
    """The same bloom in one winter alone, told by its place among all."""
    chosen = slice(place, place + 1)
    sheds, ends = bloom.shed_start_h, bloom.shed_end_h
    return replace(
        bloom,
        start_h=bloom.start_h[:, :, chosen],
        full_h=bloom.full_h[:, :, chosen],
        end_h=bloom.end_h[:, :, chosen],
        starts=bloom.starts[chosen],
        shed_start_h=None if sheds is None else sheds[:, :, chosen],
        shed_end_h=None if ends is None else ends[:, :, chosen],
    )


# --- what is compared --------------------------------------------------------------------------


def against_limb(rows: Sequence[CalendarRow], limb: str) -> Against:
    """The bloom of a limb, by its id, and the bloom or pollen of all others of its fruit."""
    receiver = next(i for i, row in enumerate(rows) if limb in row.ids and not row.sheds)
    variety = rows[receiver].variety
    sheds = {row.ids for row in rows if row.sheds}
    return Against(
        receiver,
        [
            place
            for place, row in enumerate(rows)
            if row.variety is not None and variety is not None
            and row.variety.species == variety.species
            and row.variety != variety
            and row.sheds == (row.ids in sheds)
        ],
    )  # fmt: skip


def shared_span(one: BloomSpan | None, other: BloomSpan | None) -> tuple[float, float] | None:
    """Begin and end of what two share in the median scenario; None: nothing or not known."""
    if one is None or other is None:
        return None
    begin, end = max(one.start, other.start), min(one.end, other.end)
    return (begin, end) if end > begin else None


# --- what is shown -----------------------------------------------------------------------------


def season_day(mark: Mark, start: date) -> float:
    """The middle of the day of a mark. [days since the season's start]"""
    return (mark.day - calendar_day_of_year(start, 0)) % 365 + 0.5


def own_ends(span: BloomSpan, own_days: float) -> tuple[float, float]:
    """How early and how late a variety may bloom of its own. [days since the season's start]"""
    return span.start - own_days, span.end + own_days


def window_of(
    rows: Sequence[CalendarRow], noted: Sequence[float], shifts: Sequence[SpringShift]
) -> tuple[int, int]:
    """First and last day that holds all of it. [days since the season's start]"""
    ends = [edge for row in rows if row.span is not None
            for edge in own_ends(row.span, row.own_days or 0.0)]  # fmt: skip
    ends += [edge for row in rows if row.usual is not None
             for edge in (row.usual.start, row.usual.end)]  # fmt: skip
    ends += [*noted, *(shift.full - shift.days for shift in shifts)]
    ends += [shift.full + shift.days for shift in shifts]
    first, last = min(ends, default=0.0), max(ends, default=0.0)
    missing = max(0.0, LEAST_DAYS_SHOWN - (last - first)) / 2
    return int(first - missing) - 2, int(last + missing) + 3


def shown_shares(days: DayShares, window: tuple[int, int]) -> tuple[NDArray[np.int64], FloatArray]:
    """Days and their shares within a window."""
    shown = np.arange(max(window[0], 0), min(window[1], len(days.shares)))
    return shown, days.shares[shown]


def own_marks(study: Study, rows: Sequence[CalendarRow], winter: int | None) -> tuple[Mark, ...]:
    """Own notes of the start, full bloom and end of every row."""
    nodes = study.network.nodes
    return tuple(
        Mark(place, round(record.day))
        for record in study.records.bloom
        if winter in (None, record.harvest_year)
        for place, row in enumerate(rows)
        if nodes[row.node].variety == record.variety and not row.sheds
    )


def day_shares(study: Study, winter: int | None) -> tuple[DayShares, ...]:
    """How often each night has frost and how far bees can fly each day; of one winter or all."""
    winters, nodes = study.winters, study.network.nodes
    if winters is None:
        return ()
    chosen = [winter in (None, year) for year in winters.harvest_years]
    hourly = winters.temperature_c
    frost = (hourly.reshape(len(hourly), -1, 24).min(axis=2) < 0)[chosen].mean(axis=0)
    found = DayShares("frost" if winter is None else "frost of one winter", frost)
    if not any(study.fruit_of(study.known[node.variety]).pollen_by == "bees" for node in nodes):
        return (found,)
    flight = _flight(winters, study.plan.site.latitude)[chosen].mean(axis=0)
    return found, DayShares("bees", flight)


def _flight(winters: Winters, latitude: float) -> FloatArray:
    """Share of the daylight in which bees can fly, shape (winters, season days)."""
    # Bloom of one day, on each day of the season in turn, asks the flight rule for that day.
    count, hourly = winters.temperature_c.shape
    hours = np.arange(hourly // 24, dtype=float)[None, :, None] * 24 + np.zeros(count)
    anything = (VarietyId("", ""),)
    day = Bloom(anything, hours, hours, hours + 24, winters.starts, np.zeros(1), np.zeros(1, bool))
    shares: FloatArray = flight_share(day, winters, latitude)[0].T
    return shares
