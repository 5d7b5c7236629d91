"""Own bloom dates against the forecast, in words."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from math import isnan

from pollinet.days import calendar_day_of_year
from pollinet.language import _, ngettext, number, short_date
from pollinet.summary.fitting import (
    FitRow,
    SiteOffset,
    VarietyFit,
    garden_fit,
    variety_labels,
)
from pollinet.wording.notes import STAGES
from pollinet.wording.sentences import days


def fit_answer(rows: Sequence[FitRow]) -> str:
    """The one-sentence answer of `pollinet fit`."""
    if not rows:
        return _(
            "There are no bloom notes to learn from, or no weather to compare them with: write "
            "some down with `pollinet record`."
        )
    found = garden_fit(rows)
    if found.springs == 1:
        text = _("One spring of notes: the forecast was off by {days} (root mean square).")
        return text.format(days=days(found.before))
    text = _(
        "Over {springs} springs the forecast is off by {before} without notes and by {after} with "
        "the notes of the other years (root mean square)."
    )
    answer = text.format(springs=found.springs, before=days(found.before), after=days(found.after))
    if not found.worse:
        return answer
    warning = _(
        "In this garden the notes make it worse: look whether weather, height, limbs and dates in "
        "the log are right, and hold the forecast to be no better than without them."
    )
    return f"{answer} {warning}"


def site_offset_text(offset: SiteOffset) -> str:
    """What the notes say of the site, in one sentence."""
    if offset.later > 0:
        text = _("By the notes {fruit} blooms {days} later here than the record has it, ± {sd}")
    else:
        text = _("By the notes {fruit} blooms {days} earlier here than the record has it, ± {sd}")
    told = text.format(
        fruit=_(offset.species), days=days(abs(offset.later)), sd=days(round(offset.sd))
    )
    if isnan(offset.warmer_c):
        return _("{text}.").format(text=told)
    if offset.warmer_c > 0:
        text = _("{text}: as if the garden were {degrees} °C warmer than it.")
    else:
        text = _("{text}: as if the garden were {degrees} °C colder than it.")
    return text.format(text=told, degrees=number(abs(offset.warmer_c), ".1f"))


def variety_fit_text(fit: VarietyFit) -> str:
    """How far the forecasts of one variety are off."""
    text = ngettext(
        "{variety}: {number} note, root mean square error {before} days without notes, {after} "
        "days with those of other years.",
        "{variety}: {number} notes, root mean square error {before} days without notes, {after} "
        "days with those of other years.",
        fit.notes,
    )
    return text.format(
        variety=fit.label,
        number=fit.notes,
        before=number(fit.before, ".1f"),
        after=number(fit.after, ".1f"),
    )


@dataclass(frozen=True)
class FitWords:
    """One note against its forecasts, as dates. off : with its way, `3 days too late`."""

    variety: str
    spring: str
    stage: str
    noted: str
    before: str
    after: str
    low: str
    high: str
    off: str


def fit_words(rows: Sequence[FitRow]) -> list[FitWords]:
    """Every note with its forecasts, in their order."""
    labels = variety_labels(rows)
    return [_fit_words(row, labels[row.record.variety]) for row in rows]


def _fit_words(row: FitRow, label: str) -> FitWords:
    # The end is exclusive: the last day in bloom is the one that holds the moment before.
    back = 1e-3 if row.record.stage == "end" else 0.0
    noted, before, after, low, high = (
        short_date(calendar_day_of_year(row.start, 24 * (day - back)))
        for day in (row.noted, row.before, row.after, row.low, row.high)
    )
    year = row.record.harvest_year
    spring = str(year) if row.from_weather else _("{year} (usual date)").format(year=year)
    stage = _(STAGES[row.record.stage])
    return FitWords(label, spring, stage, noted, before, after, low, high, _off(row))


def _off(row: FitRow) -> str:
    miss = round(row.after - row.noted)
    if miss == 0:
        return _("right to the day")
    text = _("{days} too late") if miss > 0 else _("{days} too early")
    return text.format(days=days(abs(miss)))
