"""Own bloom dates that stay far from the forecast: what was learnt cannot be all there is to it."""

from __future__ import annotations

from collections.abc import Sequence
from typing import NamedTuple

import numpy as np

from pollinet.domain import Bloom, BloomRecord, VarietyId
from pollinet.findings import Finding
from pollinet.messages import mark, say
from pollinet.phenology.climate import days_into_season
from pollinet.phenology.positions import MORNING
from pollinet.phenology.sums import SeasonSums

FAR_DAYS = 10.0
"""How far the notes of a variety may lie from the forecast that has learnt from them. Own
convention: twice what springs scatter by (`timing_errors.csv`). [days]"""

FAR_BEFORE_DAYS = 20.0
"""How far they may lie from the forecast without any note. Own convention: about three times the
error of a date carried to another site (`timing_errors.csv`, other fruits). [days]"""


class Apart(NamedTuple):
    """How far the notes of one variety lie from a forecast.

    typical : median of the misses, whatever their sign. [days]
    later : median of noted minus foretold. [days]
    """

    typical: float
    later: float


def far_notes(
    notes: Sequence[BloomRecord],
    before: Bloom,
    after: Bloom,
    sums: SeasonSums,
    latitude: float,
    file: str,
) -> tuple[Finding, ...]:
    """Warnings on varieties whose notes lie far off; a few wrong notes among many are no reason.

    before, after : forecast without any note and with all, of the varieties that were noted.
    file : name of the log.
    """
    found = []
    for variety in sorted({note.variety for note in notes}):
        mine = [note for note in notes if note.variety == variety]
        left = _apart(variety, mine, after, sums, latitude)
        at_first = _apart(variety, mine, before, sums, latitude)
        if left.typical > FAR_DAYS:
            found.append(_still_apart(variety, left, file))
        elif abs(at_first.later) > FAR_BEFORE_DAYS:
            found.append(_moved_far(variety, at_first, file))
    return tuple(found)


def _still_apart(variety: VarietyId, left: Apart, file: str) -> Finding:
    return _finding(
        "notes-far-off",
        variety,
        mark(
            "The forecast for {name} stays {days:.0f} days away from what was noted of it, though "
            "it has learnt from these notes"
        ),
        left.typical,
        file,
    )


def _moved_far(variety: VarietyId, at_first: Apart, file: str) -> Finding:
    pattern = (
        mark(
            "By the notes, {name} blooms {days:.0f} days later than foretold without them; other "
            "varieties follow it only as far as an error of the site may go"
        )
        if at_first.later > 0
        else mark(
            "By the notes, {name} blooms {days:.0f} days earlier than foretold without them; other "
            "varieties follow it only as far as an error of the site may go"
        )
    )
    return _finding("notes-moved-far", variety, pattern, abs(at_first.later), file)


def _finding(code: str, variety: VarietyId, pattern: str, days: float, file: str) -> Finding:
    cure = say(
        "look whether weather and elevation are those of the site, whether the tree is {name}, and "
        "whether the dates in the log are right",
        name=variety.name,
    )
    return Finding("warning", code, say(pattern, name=variety.name, days=days), file, cure=cure)


def _apart(
    variety: VarietyId,
    notes: Sequence[BloomRecord],
    bloom: Bloom,
    sums: SeasonSums,
    latitude: float,
) -> Apart:
    """How far the notes of a variety lie from a forecast; 0 where it is not known to bloom."""
    row = bloom.varieties.index(variety)
    hours = {"start": bloom.start_h, "full": bloom.full_h, "end": bloom.end_h}
    misses = []
    for note in notes:
        winter = sums.winter_of(note.harvest_year)
        winters = slice(None) if winter is None else slice(winter, winter + 1)
        days = np.median(hours[note.stage][row][:, winters], axis=0) / 24
        days = days[np.isfinite(days)]
        if not days.size:
            continue
        start = sums.starts[winter or 0]
        noted = days_into_season(start, note.day, latitude) + MORNING[note.stage]
        # Where that winter is not in the record, any usual one may have been like it.
        low, high = np.quantile(days, (0.1, 0.9))
        misses.append(noted - float(np.clip(noted, low, high)))
    if not misses:
        return Apart(0.0, 0.0)
    return Apart(float(np.median(np.abs(misses))), float(np.median(misses)))
