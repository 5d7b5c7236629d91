"""How well a winter's chill serves a variety: for its flowers, never for its timing."""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from dataclasses import replace

import numpy as np

from pollinet.domain import BoolArray, ChillRange, ChillRequirement, FloatArray, Variety
from pollinet.phenology.streams import shuffled_normals, stream
from pollinet.phenology.sums import SeasonSums
from pollinet.shares import reaches

CHILL_DAYS = 182
"""Chill counts up to this day of the season: 1 April in the north, 30 September in the south. Own
convention; trials end when forced shoots break, at the latest with bloom. [days]"""

NO_FLOWERS_SHARE = 0.4
"""Share of the requirement at which no useful flowers are left. The curve is a straight line from
here to 1 at the full requirement: an assumption, as no dose curve is published for these fruits.
What is known bounds it: walnut and pistachio still crop as usual at 76 to 84 % of what budbreak
asks for (Pope et al. 2015, International Journal of Biometeorology 59:707-715), where the line
gives 0.6 to 0.7; peaches well short of it flower and set poorly (Gariglio et al. 2009, Scientia
Agricola 66:757-763). Half is left at 70 %."""


def chill_quality(
    varieties: Sequence[Variety],
    here: SeasonSums,
    *,
    draws: int,
    seed: int,
    ranges: Sequence[ChillRange] = (),
) -> FloatArray:
    """Quality of the flowers after each winter, shape (V, K, W), varieties sorted.

    1 where the drawn requirement is met. Clones of one variety share draws.

    ranges : of the fruit of the varieties, for those without a published requirement (see
        `is_chill_known`); where there is none either, it counts as met.
    """
    ordered = sorted(varieties, key=lambda v: v.id)
    quality = np.empty((len(ordered), draws, len(here.starts)))
    for row, variety in enumerate(ordered):
        quality[row] = variety_chill_quality(variety, here, draws=draws, seed=seed, ranges=ranges)
    return quality


def variety_chill_quality(
    variety: Variety,
    here: SeasonSums,
    *,
    draws: int,
    seed: int,
    ranges: Sequence[ChillRange] = (),
) -> FloatArray:
    """`chill_quality` of one variety, shape (K, W)."""
    requirement = requirement_of(variety, ranges)
    if requirement is None:
        return np.ones((draws, len(here.starts)))
    got = here.portions[:, min(CHILL_DAYS, here.portions.shape[1] - 1)]
    mean, sd = requirement
    rng = stream(seed, variety.id.species, variety.fertility.clone, "chill")
    needed = np.maximum(mean + sd * shuffled_normals(draws, rng), 1.0)
    return quality_of(got / needed[:, None])


def quality_of(share_of_requirement: FloatArray) -> FloatArray:
    """Quality of the flowers by the share of the chill requirement that was met."""
    return np.asarray(
        np.clip((share_of_requirement - NO_FLOWERS_SHARE) / (1 - NO_FLOWERS_SHARE), 0, 1)
    )


EDGE = 0.1
"""Share of the draws at either end that is left out where it is told how far what is not known may
reach: eight guesses in ten lie within. Own convention."""


def lacks_chill(
    quality: FloatArray, winters: int, level: float, least_quality: float, *, disputed: bool
) -> bool | None:
    """Whether flowers lack chill in more winters than a plan bears; None: not known well enough.

    quality : shape (S,), all winters of a draw one after the other. least_quality : from which on
        flowers serve, as they do short of the whole requirement.
    disputed : whether sources disagree about the requirement, see `methods_disagree`: then it must
        be so, too, if it is as low as in one draw in ten.
    """
    by_draw = np.sort((quality.reshape(-1, winters) >= least_quality).mean(axis=1))
    if reaches(float(by_draw.mean()), level):
        return False
    least_need = float(by_draw[-1 - int(EDGE * (len(by_draw) - 1))])
    return None if disputed and reaches(least_need, level) else True


def often_enough(quality: FloatArray) -> float:
    """Share of scenarios in which a winter meets the whole requirement; every answer tells this."""
    return float((quality >= 1).mean())


def requirement_of(variety: Variety, ranges: Sequence[ChillRange]) -> tuple[float, float] | None:
    """Middle and SD of what a variety needs: as published, else in its fruit's range.

    None: nothing is published and its fruit has no range. [chill portions]
    """
    if variety.chill:
        whole = next((one for one in ranges if not one.chill_class and one.portions), None)
        return pooled_requirement(variety.chill, whole.sd_studies / whole.portions if whole else 0)
    taken = assumed_range(variety, ranges)
    return None if taken is None else (taken.portions, taken.sd_portions)


def methods_disagree(variety: Variety, ranges: Sequence[ChillRange]) -> bool:
    """Whether studies by other methods lie so far off that they widen what a variety may need."""
    alone = replace(variety, chill=tuple(of_one_method(variety.chill)) if variety.chill else ())
    return requirement_of(variety, ranges) != requirement_of(alone, ranges)


def assumed_range(variety: Variety, ranges: Sequence[ChillRange]) -> ChillRange | None:
    """The range that a requirement is drawn from that nobody published.

    That of the variety's chill class, else that of its fruit; None: its requirement is published,
    or its fruit has no range.
    """
    if variety.chill:
        return None
    called = next((fact.value for fact in variety.facts if fact.property == "chill_class"), "")
    by_class = {one.chill_class: one for one in ranges}
    return by_class.get(called, by_class.get(""))


def is_chill_known(varieties: Sequence[Variety]) -> BoolArray:
    """Whether a chill requirement is published for each variety, sorted."""
    return np.array([bool(v.chill) for v in sorted(varieties, key=lambda v: v.id)])


METHODS = ("forced", "fitted", "")
"""Methods of finding a requirement, the one that is taken where there are several first: forced
shoots show the end of rest itself, a fit on dates of bloom infers it. Own convention."""

USUAL_STUDIES = 2.0
"""So many studies' worth of weight has the usual spread of a fruit's studies beside that of a
variety's own, of which two or three tell little. Own convention."""


def pooled_requirement(
    published: Sequence[ChillRequirement], usual_share: float = 0.0
) -> tuple[float, float]:
    """Median over the studies of one method, and SD. [chill portions]

    Each study counts once. The SD is that within the studies and that between them: a garden is
    like one more place, so that more studies do not make it smaller. Studies by another method
    count in it where they lie farther away than those of the own one, and never make it smaller:
    over the varieties of the catalogue that have both, two methods differ as much as two studies by
    one do (16 portions in the mean for apple), and no more, so that they are further studies to the
    spread. What the grower typed stands as it is.

    usual_share : SD between studies of one variety that is usual for the fruit, as a share of the
        requirement: low ones are found as low by all. Own convention.
    """
    taken = of_one_method(dict.fromkeys(published))
    others = [one for one in published if one not in taken]
    if any(one.status == "plan" for one in taken):
        usual_share, others = 0.0, []
    found = _by_study(taken)
    middle = float(np.median([np.median(study) for study, _ in found]))
    apart = [
        (np.median(study) - middle) ** 2 for some in (taken, others) for study, _ in _by_study(some)
    ]
    usual = USUAL_STUDIES if usual_share else 0.0
    between = max(
        (sum(apart[:count]) + usual * (usual_share * middle) ** 2) / max(1.0, count - 1 + usual)
        for count in (len(found), len(apart))
    )
    within = float(np.mean([error + study.var() for study, error in found]))
    return middle, float(np.sqrt(within + between))


def _by_study(published: Iterable[ChillRequirement]) -> list[tuple[FloatArray, float]]:
    """What each study found by each method, and the mean square of its errors."""
    each: dict[tuple[str, str], list[ChillRequirement]] = {}
    for one in dict.fromkeys(published):
        each.setdefault((one.method, one.source), []).append(one)
    return [
        (
            np.array([one.portions for one in study]),
            float(np.mean([one.sd_portions**2 for one in study])),
        )
        for study in each.values()
    ]


def of_one_method(published: Iterable[ChillRequirement]) -> list[ChillRequirement]:
    """The requirements of the first method of `METHODS` that any was found by."""
    told = list(published)
    method = next(name for name in METHODS if any(one.method == name for one in told))
    return [one for one in told if one.method == method]
