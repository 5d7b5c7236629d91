"""When what ripens, and what a longer picking season costs in pollination."""

from __future__ import annotations

from dataclasses import dataclass
from math import floor
from typing import Annotated, ClassVar

from pollinet.advice.harvest import GAP_DAYS, HARVEST_SD_DAYS
from pollinet.answers.base import About, Answer, Findings, Recalled, Share
from pollinet.answers.parts import month_day
from pollinet.study import Study
from pollinet.summary.season import GardenSeason, Ripening, SeasonChoice
from pollinet.wording.season import node_name, season_answer


@dataclass(frozen=True)
class Choice:
    """A set of scions with what the garden is then."""

    added: tuple[str, ...]
    days_with_fruit: Annotated[int, About("Days of the year with ripe fruit. [days]")]
    first_pick: Annotated[str | None, About("MM-DD; null: no harvest is known.")]
    last_pick: Annotated[str | None, About("MM-DD; null: no harvest is known.")]
    reliability: Annotated[Share, About("Of the worst-off limb.")]
    mean_reliability: Annotated[Share, About("Mean of all limbs that are to crop.")]
    enough: Annotated[bool, About("Whether the worst-off limb reaches the plan's level.")]
    worst: Annotated[str | None, About("The worst-off limb or scion.")]
    overlap_days: Annotated[float, About("With the best donor, mean of all limbs. [days]")]
    effective_days: Annotated[float, About("The same, weighted. [days]")]


@dataclass(frozen=True)
class RipeLimb:
    """A limb in the order of picking."""

    limb: Annotated[str, About("Id.")]
    variety: str
    pick: Annotated[str | None, About("Estimated first pick, MM-DD; null: not known.")]
    rests_on: Annotated[str | None, About("What that comes from.")]
    bears: Annotated[
        bool, About("Whether it has its donors in half of the winters, and so counts.")
    ]
    days_to_next: Annotated[
        float | None,
        About("Days to the next first pick where a gap lies between; null: none does."),
    ]


@dataclass(frozen=True, repr=False)
class Season(Answer):
    """The order of ripening, and what a longer picking season costs."""

    NAME: ClassVar[str] = "season"
    ROWS: ClassVar[str] = "ripening"
    ROW: ClassVar[type] = RipeLimb

    answer: Annotated[str, About("The answer in one or two sentences.")]
    ripe_days: Annotated[
        int, About("Days from its first pick for which a variety counts as ripe. [days]")
    ]
    pick_sd_days: Annotated[float, About("How far an estimated first pick may be off. [days]")]
    today: Annotated[Choice, About("The garden as it stands.")]
    choices: Annotated[
        tuple[Choice, ...],
        About("Sets that no other betters in days and winters, the shortest season first."),
    ]
    ripening: Annotated[
        tuple[RipeLimb, ...],
        About("Limbs that are to crop in the order of picking, unknown ones last."),
    ]
    scions_without_harvest: Annotated[
        tuple[str, ...],
        About("Varieties to choose from whose harvest is not known: they add no days."),
    ]
    scions_too_cool: Annotated[
        tuple[str, ...],
        About("Varieties to choose from that hardly ripen here: they add no days."),
    ]
    exact: Annotated[
        bool, About("Whether every set was looked through; else there may be better ones.")
    ]
    sets_tried: int
    rests_on_memory: Recalled
    findings: Findings


def season_of(study: Study, found: GardenSeason) -> Season:
    """The answer on the picking season, from what `garden_season` has found."""
    return Season(
        answer=season_answer(found),
        ripe_days=GAP_DAYS,
        pick_sd_days=HARVEST_SD_DAYS,
        today=_choice(found.today),
        choices=tuple(map(_choice, found.choices)),
        ripening=tuple(map(_ripe, found.ripening)),
        scions_without_harvest=tuple(name.name for name in found.unknown),
        scions_too_cool=tuple(name.name for name in found.cool),
        exact=found.exact,
        sets_tried=found.tried,
        rests_on_memory=tuple(f"{field} of {name}" for field, name in found.memory),
        findings=study.findings,
    )


def _choice(choice: SeasonChoice) -> Choice:
    return Choice(
        added=tuple(name.name for name in choice.added),
        days_with_fruit=choice.point.fruit_days,
        first_pick=_date(choice.first),
        last_pick=_date(choice.last),
        reliability=choice.point.reliability,
        mean_reliability=choice.point.mean_reliability,
        enough=choice.enough,
        worst=None if choice.worst is None else node_name(choice.worst),
        overlap_days=round(choice.overlap_days, 3),
        effective_days=round(choice.effective_days, 3),
    )


def _ripe(row: Ripening) -> RipeLimb:
    return RipeLimb(
        limb=row.limb.id,
        variety=row.limb.variety.name,
        pick=None if row.harvest is None else _date(row.harvest.day),
        rests_on=None if row.harvest is None else row.harvest.rests_on,
        bears=row.bears,
        days_to_next=None if row.gap_days is None else round(row.gap_days + GAP_DAYS, 1),
    )


def _date(day: float | None) -> str | None:
    return None if day is None else month_day(floor(day + 0.5))
