"""Own bloom dates against what was foretold: with no notes, and with those of the other years."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import date

import numpy as np

from pollinet.domain import Bloom, BloomRecord, FloatArray, VarietyId
from pollinet.phenology.climate import days_into_season
from pollinet.phenology.positions import MORNING
from pollinet.study import Study


@dataclass(frozen=True)
class FitRow:
    """One note against the forecast for its spring, in days of the season.

    noted : day of the stage that was written down. [days since the season's start]
    before, after : median forecast without any note, and with the notes of all other years.
    low, high : the span in which eight draws in ten of `after` lie.
    start : first day of that season, to turn days into dates.
    from_weather : whether that spring's own winter is in the record; otherwise the forecast is
        the usual date.
    """

    record: BloomRecord
    noted: float
    before: float
    after: float
    low: float
    high: float
    start: date
    from_weather: bool


@dataclass(frozen=True)
class VarietyFit:
    """How far the forecasts of one variety are off.

    label : its name, with its fruit where another fruit among the notes has one of that name.
    before, after : root mean square errors without notes, and with those of other years. [days]
    """

    variety: VarietyId
    label: str
    notes: int
    before: float
    after: float


def fit_rows(study: Study) -> tuple[FitRow, ...]:
    """Every bloom note that has forecasts; empty where there are none or no weather.

    A note has none where its variety blooms in no scenario for that spring.
    """
    notes = study.records.bloom
    if not notes or study.sums is None:
        return ()
    names = {note.variety for note in notes}
    varieties = tuple(v for v in study.varieties() if v.id in names)
    without = study.bloom_of(varieties, ())
    rows = []
    for year in sorted({note.harvest_year for note in notes}):
        others = [note for note in notes if note.harvest_year != year]
        learnt = study.bloom_of(varieties, others) if others else without
        for note in sorted(notes, key=lambda n: (n.variety, n.stage)):
            if note.harvest_year == year:
                rows.append(_row(note, without, learnt, study))
    return tuple(row for row in rows if row is not None)


def _row(note: BloomRecord, without: Bloom, learnt: Bloom, study: Study) -> FitRow | None:
    assert study.sums is not None
    winter = study.sums.winter_of(note.harvest_year)
    before = _forecast(without, note, winter)
    after = _forecast(learnt, note, winter)
    if np.isnan(before).all() or np.isnan(after).all():
        return None
    low, middle, high = (float(q) for q in np.nanquantile(after, (0.1, 0.5, 0.9)))
    start = study.sums.starts[0 if winter is None else winter]
    noted = days_into_season(start, note.day, study.plan.site.latitude) + MORNING[note.stage]
    return FitRow(
        note, noted, float(np.nanmedian(before)), middle, low, high, start, winter is not None
    )


def _forecast(bloom: Bloom, note: BloomRecord, winter: int | None) -> FloatArray:
    """Days on which the stage is forecast for that winter, over draws (and winters)."""
    row = bloom.varieties.index(note.variety)
    stages = {"start": bloom.start_h, "full": bloom.full_h, "end": bloom.end_h}
    hours: FloatArray = stages[note.stage][row] / 24
    return hours if winter is None else hours[:, winter]


def variety_labels(rows: Sequence[FitRow]) -> dict[VarietyId, str]:
    """Names of the varieties noted, sorted; with its fruit where two fruits share a name."""
    ids = sorted({row.record.variety for row in rows}, key=lambda id_: (id_.name, id_.species))
    names = [id_.name for id_ in ids]
    return {
        id_: id_.name if names.count(id_.name) == 1 else f"{id_.name}, {id_.species}" for id_ in ids
    }


def variety_fits(rows: Sequence[FitRow]) -> tuple[VarietyFit, ...]:
    """The errors of each variety, by name."""
    return tuple(
        _variety_fit(id_, label, [row for row in rows if row.record.variety == id_])
        for id_, label in variety_labels(rows).items()
    )


def _variety_fit(variety: VarietyId, label: str, rows: Sequence[FitRow]) -> VarietyFit:
    before = rmse([row.before - row.noted for row in rows])
    after = rmse([row.after - row.noted for row in rows])
    return VarietyFit(variety, label, len(rows), before, after)


def rmse(misses: Sequence[float] | FloatArray) -> float:
    """Root mean square; NaN for nothing."""
    return float(np.sqrt(np.mean(np.square(misses)))) if len(misses) else float("nan")
