"""The grower's own dates as misses of what the rules say: of the day of bloom, of its length."""

from __future__ import annotations

from collections.abc import Iterable, Mapping, Sequence
from typing import NamedTuple

import numpy as np

from pollinet.days import season_start
from pollinet.domain import BloomRecord, FloatArray, Stage, Timing, VarietyId
from pollinet.phenology.climate import Climate, days_into_season
from pollinet.phenology.length import at_days
from pollinet.phenology.positions import MORNING
from pollinet.phenology.records import Note

NOTE_SD_DAYS = 1.5
"""How far a grower's note of a stage may be off. Common practice, no source. [days]"""


class Noted(NamedTuple):
    """A stage that was noted: day of the season, and how far the note may be off. [days]"""

    stage: Stage
    day: float
    sd_days: float


Springs = Mapping[tuple[int, int], Sequence[Noted]]
"""What was noted, by index of the family and harvest year."""


def noted_springs(
    records: Iterable[BloomRecord], index: Mapping[VarietyId, int], latitude: float
) -> Springs:
    """Sort the grower's dates by family and spring; those of other varieties are left out."""
    springs: dict[tuple[int, int], list[Noted]] = {}
    for record in sorted(records, key=lambda r: (r.variety, r.harvest_year, r.stage, r.day)):
        if record.variety in index:
            start = season_start(latitude, record.harvest_year)
            day = days_into_season(start, record.day, latitude) + MORNING[record.stage]
            sd_days = NOTE_SD_DAYS if record.sd_days is None else record.sd_days
            key = index[record.variety], record.harvest_year
            springs.setdefault(key, []).append(Noted(record.stage, day, sd_days))
    return dict(sorted(springs.items()))


def day_notes(springs: Springs, parts: FloatArray, timing: Timing, home: Climate) -> list[Note]:
    """Misses of the day of bloom: one note for each family and spring, in days.

    A spring outside the weather record is compared with the mean winter, and counts less.

    parts : shape (3, N, R, W), days before full bloom, its day, days after it.
    """
    found = []
    for (family, year), noted in springs.items():
        lead, full, tail = parts[:, family]
        if not np.isfinite(full).any(axis=1).all():
            continue  # By some rule it never blooms here: a note cannot be compared with that.
        days = {"start": full - lead, "full": full, "end": full + tail}
        winter = home.sums.winter_of(year)
        misses, variances = [], []
        # The rules were fitted to full bloom; the other stages lie off by errors of length, too.
        for stage, day, sd_days in [n for n in noted if n.stage == "full"] or noted:
            variance = sd_days**2 + timing.own_sd_days**2
            if winter is not None:
                expected = days[stage][:, winter]
            else:
                expected = np.nanmean(days[stage], axis=1)
                variance += float(np.nanvar(days[stage], axis=1).mean())
            misses.append(day - expected)
            variances.append(variance)
        # Stages of one spring share its error, so that several are one note.
        miss = np.mean(misses, axis=0)
        if np.isfinite(miss).all():
            found.append(Note(family, year, miss, min(variances)))
    return found


def usual_length(timing: Timing) -> float:
    """Length of a species' bloom in reference warmth. [days]"""
    return timing.lead_days + timing.tail_days


def length_notes(
    springs: Springs, lengths: Sequence[float | None], timing: Timing, home: Climate
) -> list[Note]:
    """Misses of the length of bloom where two stages of a spring were noted.

    A miss is that of the logarithm of the length in the weather at the noted full bloom, times
    the usual length: in days of a usual bloom, for all rules the same. Where all three stages
    were noted, the whole counts; one part alone is a shorter measure and so a poorer one.

    lengths : of each family against the species'; None: not known.
    """
    found = []
    for (family, year), noted in springs.items():
        span = _span(noted, timing)
        if span is None or span.days <= 0:
            continue
        expected = (lengths[family] or 1.0) * _expected(span, year, timing, home)
        logs = np.log(span.days / expected)
        scale = usual_length(timing)
        variance = span.variance / float(np.mean(expected)) ** 2 + float(np.var(logs))
        miss = np.array([scale * float(np.mean(logs))])
        found.append(Note(family, year, miss, scale**2 * variance))
    return found


class _Span(NamedTuple):
    """Time between the first and the last stage noted, and when full bloom was. [days]"""

    stages: tuple[Stage, Stage]
    days: float
    variance: float
    full: float


def _span(noted: Sequence[Noted], timing: Timing) -> _Span | None:
    """The longest stretch of bloom that was noted; None: a single stage."""
    days: dict[Stage, list[float]] = {}
    for each in noted:
        days.setdefault(each.stage, []).append(each.day)
    stages: list[Stage] = [stage for stage in ("start", "full", "end") if stage in days]
    if len(stages) < 2:
        return None
    mean = {stage: float(np.mean(days[stage])) for stage in stages}
    first, last = stages[0], stages[-1]
    variance = sum(
        min(each.sd_days for each in noted if each.stage == stage) ** 2 for stage in (first, last)
    )
    length = mean[last] - mean[first]
    full = mean.get("full", mean[first] + length * timing.lead_days / usual_length(timing))
    return _Span((first, last), length, variance, full)


def _expected(span: _Span, year: int, timing: Timing, home: Climate) -> FloatArray:
    """Usual days of a span in that spring's weather; in that of each winter where not known."""
    full = np.full(len(home.sums.starts), span.full)
    lead = timing.lead_days * at_days(home.lead_stretch, full)
    tail = timing.tail_days * at_days(home.tail_stretch, full)
    days = lead * (span.stages[0] == "start") + tail * (span.stages[1] == "end")
    winter = home.sums.winter_of(year)
    return np.asarray(days if winter is None else days[winter : winter + 1])
