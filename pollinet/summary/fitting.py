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


@dataclass(frozen=True)
class GardenFit:
    """What notes do to the forecasts of a whole garden.

    springs : how many were noted.
    before, after : root mean square over them of what a spring is off by, without notes and with
        those of the other springs: a spring in which much was noted counts no more. [days]
    worse : whether the notes of other springs make forecasts worse here.
    """

    springs: int
    before: float
    after: float
    worse: bool


@dataclass(frozen=True)
class SiteOffset:
    """What the notes say of the site for all varieties of a fruit alike.

    later, sd : bloom later than by the record alone, and how far that may be off. [days]
    warmer_c : how much warmer the garden then is than its record, by the days that a degree makes
        here; NaN where warmth does not hasten bloom. [°C]
    """

    species: str
    later: float
    sd: float
    warmer_c: float


def garden_fit(rows: Sequence[FitRow]) -> GardenFit:
    """Forecasts with notes against those without, spring by spring."""
    springs: dict[int, list[FitRow]] = {}
    for row in rows:
        springs.setdefault(row.record.harvest_year, []).append(row)
    before, after = (
        rmse([rmse([getattr(row, told) - row.noted for row in some]) for some in springs.values()])
        for told in ("before", "after")
    )
    return GardenFit(len(springs), before, after, len(springs) > 1 and after > before)


def site_offsets(study: Study) -> tuple[SiteOffset, ...]:
    """The offset of the site that the notes teach, for each fruit with notes; by its name."""
    if study.sums is None:
        return ()
    noted = {note.variety for note in study.records.bloom}
    found = []
    for species in sorted({name.species for name in noted}):
        shift = study.site_shift_days(species)
        if shift is None:
            continue
        later, sd = float(shift.mean()), float(shift.std())
        varieties = tuple(v for v in study.varieties() if v.id in noted and v.id.species == species)
        now, then = (
            study.warmer(degrees).bloom_of(varieties, ()).full_h / 24 for degrees in (0.0, 1.0)
        )
        sooner = float(np.nanmedian(now - then)) if np.isfinite(now - then).any() else 0.0
        warmer_c = -later / sooner if sooner > 0.5 else float("nan")
        found.append(SiteOffset(species, later, sd, warmer_c))
    return tuple(found)


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
