"""What the grower's own bloom dates changed."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from math import isnan
from typing import Annotated, ClassVar

from pollinet.answers.base import About, Answer, Findings, Told
from pollinet.answers.parts import Fruit
from pollinet.domain import Stage
from pollinet.study import Study
from pollinet.summary.fitting import FitRow, garden_fit, site_offsets, variety_fits
from pollinet.wording.fitting import fit_answer


@dataclass(frozen=True)
class FittedNote:
    """One note against the forecasts for its spring."""

    variety: str
    species: Fruit
    year: Annotated[int, About("Year of bloom.")]
    stage: Stage
    error_without_notes: Annotated[float, About("Forecast less note. [days]")]
    error_with_other_years: Annotated[float, About("The same, learnt from all other years. [days]")]
    inside_8_in_10: Annotated[
        bool, About("Whether the note lies inside the forecast's 8-in-10 range.")
    ]
    winter_in_record: Annotated[bool, About("Whether the weather record has that winter.")]


@dataclass(frozen=True)
class FittedVariety:
    """Root mean square errors of one variety."""

    notes: Annotated[int, About("How many.", 1)]
    rmse_without_notes: Annotated[float, About("[days]", 0)]
    rmse_with_other_years: Annotated[float, About("[days]", 0)]


@dataclass(frozen=True)
class FittedGarden:
    """Forecasts of all notes, each spring counted once."""

    springs: Annotated[int, About("How many were noted.", 1)]
    rmse_without_notes: Annotated[float, About("[days]", 0)]
    rmse_with_other_years: Annotated[float, About("[days]", 0)]
    notes_make_it_worse: Annotated[bool, About("With other years' notes worse than without.")]


@dataclass(frozen=True)
class SiteShift:
    """What the notes say of the site for all varieties of a fruit."""

    later_days: Annotated[float, About("Bloom later than by the record alone. [days]")]
    sd_days: Annotated[float, About("How far that may be off. [days]", 0)]
    warmer_c: Annotated[
        float | None, About("So much warmer than its record the garden would be; null: unknown.")
    ]


@dataclass(frozen=True, repr=False)
class Fit(Answer):
    """What own bloom dates changed."""

    NAME: ClassVar[str] = "fit"
    ROWS: ClassVar[str] = "notes"
    ROW: ClassVar[type] = FittedNote

    answer: Told
    notes: Annotated[tuple[FittedNote, ...], About("By year; none without a forecast.")]
    varieties: Annotated[
        dict[str, FittedVariety],
        About("By name; where two fruits share one, by name and fruit: `Nova, apple`."),
    ]
    garden: Annotated[FittedGarden | None, About("null: no note has a forecast.")]
    sites: Annotated[dict[str, SiteShift], About("By fruit.")]
    findings: Findings


def fit_of(study: Study, rows: Sequence[FitRow]) -> Fit:
    """The answer, from what `fit_rows` has found."""
    return Fit(
        answer=fit_answer(rows),
        notes=tuple(map(_note, rows)),
        varieties={
            one.label: FittedVariety(one.notes, round(one.before, 2), round(one.after, 2))
            for one in variety_fits(rows)
        },
        garden=_garden(rows),
        sites={
            one.species: SiteShift(
                round(one.later, 2),
                round(one.sd, 2),
                None if isnan(one.warmer_c) else round(one.warmer_c, 2),
            )
            for one in site_offsets(study)
        },
        findings=study.findings,
    )


def _garden(rows: Sequence[FitRow]) -> FittedGarden | None:
    if not rows:
        return None
    found = garden_fit(rows)
    return FittedGarden(found.springs, round(found.before, 2), round(found.after, 2), found.worse)


def _note(row: FitRow) -> FittedNote:
    return FittedNote(
        variety=row.record.variety.name,
        species=row.record.variety.species,
        year=row.record.harvest_year,
        stage=row.record.stage,
        error_without_notes=round(row.before - row.noted, 2),
        error_with_other_years=round(row.after - row.noted, 2),
        inside_8_in_10=row.low <= row.noted <= row.high,
        winter_in_record=row.from_weather,
    )
