"""The weather record at a glance."""

from __future__ import annotations

from dataclasses import dataclass, field
from datetime import date
from typing import Annotated, Any, ClassVar, Literal

import numpy as np

from pollinet.answers.base import WHEN_ASKED, About, Answer, Findings, Told, columns_of
from pollinet.answers.parts import Stations, stations_of
from pollinet.domain import DailyWeather, FloatArray, Moved
from pollinet.study import Study
from pollinet.wording.sentences import weather_words

Celsius = Annotated[float | None, About("[°C]; null: the record does not hold the month.")]


@dataclass(frozen=True)
class Month:
    """One month over all years of the record."""

    mean_tmin_c: Celsius
    mean_tmax_c: Celsius
    lowest_c: Celsius
    highest_c: Celsius


@dataclass(frozen=True)
class Shift:
    """By how much a record was moved before use, month by month, January first."""

    to: Annotated[
        Literal["normals", "height"], About("To the normals of the plan, or the site's height.")
    ]
    tmin_c: Annotated[tuple[float, ...], About("Of the lowest temperatures. [°C]")]
    tmax_c: Annotated[tuple[float, ...], About("Of the highest temperatures. [°C]")]


@dataclass(frozen=True)
class LeftOut:
    """A winter that is not used."""

    year: Annotated[int, About("Year of bloom.")]
    why: str


@dataclass(frozen=True, repr=False)
class Weather(Answer):
    """The record at a glance."""

    NAME: ClassVar[str] = "weather"
    ROWS: ClassVar[str] = "months"
    ROW: ClassVar[type] = Month

    answer: Told
    findings: Findings
    source: Annotated[
        str | None, About("Of the record. This key and those below: only where weather is used.")
    ] = field(default=None, metadata=WHEN_ASKED)
    generated: Annotated[bool | None, About("Whether it was made, not measured.")] = field(
        default=None, metadata=WHEN_ASKED
    )
    first: Annotated[date | None, About("First day.")] = field(default=None, metadata=WHEN_ASKED)
    last: Annotated[date | None, About("Last day.")] = field(default=None, metadata=WHEN_ASKED)
    months: Annotated[tuple[Month, ...] | None, About("January first.")] = field(
        default=None, metadata=WHEN_ASKED
    )
    moved: Annotated[
        Shift | None, About("What was done to the record, months included; null: nothing.")
    ] = field(default=None, metadata=WHEN_ASKED)
    winters: Annotated[tuple[int, ...] | None, About("Years of bloom of the winters used.")] = (
        field(default=None, metadata=WHEN_ASKED)
    )
    left_out: Annotated[tuple[LeftOut, ...] | None, About("Winters that are not used.")] = field(
        default=None, metadata=WHEN_ASKED
    )
    stations: Stations = field(default=None, metadata=WHEN_ASKED)

    def rows(self) -> list[dict[str, Any]]:
        """One row a month that is numbered from 1, January; none without weather."""
        return [{"month": i, **vars(month)} for i, month in enumerate(self.months or (), start=1)]

    @classmethod
    def columns(cls) -> list[str]:
        """The month's number, then its means and extremes."""
        return ["month", *columns_of(Month)]


def weather_of(study: Study) -> Weather:
    """The record of a study, or that none is used."""
    record, winters = study.record, study.winters
    words = weather_words(record, winters)
    if record is None or winters is None:
        return Weather(words, study.findings)
    return Weather(
        answer=words,
        findings=study.findings,
        source=record.source,
        generated=record.generated,
        first=record.dates[0].item(),
        last=record.dates[-1].item(),
        months=tuple(Month(*map(_told, row)) for row in monthly_c(record)),
        moved=_shift(record.moved),
        winters=tuple(winters.harvest_years),
        left_out=tuple(LeftOut(year, why) for year, why in winters.dropped),
        stations=stations_of(study.climate),
    )


def monthly_c(record: DailyWeather) -> FloatArray:
    """Mean minimum, mean maximum, lowest and highest of each month, shape (12, 4). [°C]

    NaN for a month that the record does not hold.
    """
    months = record.dates.astype("datetime64[M]").astype(int) % 12
    rows = np.full((12, 4), np.nan)
    for month in np.unique(months):
        low, high = record.tmin_c[months == month], record.tmax_c[months == month]
        if np.isfinite(low).any() and np.isfinite(high).any():
            rows[month] = np.nanmean(low), np.nanmean(high), np.nanmin(low), np.nanmax(high)
    return rows


def _shift(moved: Moved | None) -> Shift | None:
    if moved is None:
        return None
    low, high = (tuple(round(c, 2) for c in shift) for shift in (moved.tmin_c, moved.tmax_c))
    return Shift(moved.to, low, high)


def _told(value_c: float) -> float | None:
    return round(float(value_c), 2) if np.isfinite(value_c) else None
