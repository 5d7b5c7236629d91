"""A study → the rows that every presentation shares: table, JSON, chart, report."""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Sequence
from dataclasses import dataclass, replace
from datetime import date
from typing import Final

import numpy as np

from pollinet.days import calendar_day_of_year
from pollinet.domain import (
    Bloom,
    ChillRange,
    FloatArray,
    NetworkInput,
    Node,
    Variety,
    VarietyId,
)
from pollinet.language import N_, _, number
from pollinet.network.coverage import LimbCoverage, LimbVerdict
from pollinet.network.resilience import carriers
from pollinet.network.shortage import ChillLack, chill_lack
from pollinet.phenology.adequacy import assumed_range, of_one_method, often_enough, requirement_of
from pollinet.readers.bearing import load_bearing
from pollinet.readers.chill_ranges import load_chill_ranges
from pollinet.shares import reaches
from pollinet.study import Study
from pollinet.summary.open_questions import OpenQuestion, open_questions

EARLY, LATE = 0.1, 0.9
"""The range shown over winters: eight scenarios in ten lie inside. Own convention."""


@dataclass(frozen=True)
class BloomDates:
    """Usual bloom at the site, days of the year (no leap day, both ends counted).

    earliest, latest : first and last day in bloom over eight scenarios in ten.
    sd_days : standard deviation of full bloom over all scenarios. [days]
    rests_on : where the dates come from, in a few words.
    """

    start: int
    full: int
    end: int
    earliest: int
    latest: int
    sd_days: float
    rests_on: str


@dataclass(frozen=True)
class LimbSummary:
    """One limb with all that is said about it; `coverage` is None where it need not crop.

    short : whether chill is what it lacks in most winters without a donor; None: it is not.
    by_wind : whether the wind carries the pollen of its fruit, so that it asks for no bees.
    """

    node: Node
    bloom: BloomDates | None
    coverage: LimbCoverage | None
    memory: tuple[tuple[str, str], ...]
    against: Against | None = None
    hangs_on: tuple[OpenQuestion, ...] = ()
    short: ChillLack | None = None
    by_wind: bool = False


def limb_summaries(study: Study) -> tuple[LimbSummary, ...]:
    """Every limb of the plan, in its order."""
    nodes = study.network.nodes
    coverage = {nodes[limb.node].id: limb for limb in study.coverage}
    against = against_others(study)

    def summary(node: Node) -> LimbSummary:
        row = coverage.get(node.id)
        return LimbSummary(
            node,
            bloom_dates(study.bloom, node.variety),
            row,
            memory_of(study, node, row),
            against.get(node.variety),
            () if row is None else open_questions(study, row),
            None if row is None else chill_lack(study.network, row),
            study.catalogue.rules.fruits[node.variety.species].pollen_by == "wind",
        )

    return tuple(summary(node) for node in nodes if node.kind == "limb")


@dataclass(frozen=True)
class Against:
    """Full bloom of a variety against the mean of the others of its fruit in the garden.

    days : mean; negative: earlier. sd_days : how far it strays from that, over winters and over
        what is not known; how far a whole spring moves is not in it. [days]
    """

    days: float
    sd_days: float


def against_others(study: Study, bloom: Bloom | None = None) -> dict[VarietyId, Against]:
    """For each variety in the garden with others of its fruit; `bloom`: not the study's own."""
    found: dict[VarietyId, Against] = {}
    for names, full_d in _full_by_fruit(study, bloom):
        for row, name in enumerate(names) if len(names) > 1 else ():
            apart = full_d[row] - np.delete(full_d, row, axis=0).mean(axis=0)
            if np.isfinite(apart).any():
                found[name] = Against(float(np.nanmean(apart)), float(np.nanstd(apart)))
    return found


def spring_sd_days(study: Study) -> dict[str, float]:
    """By how much a whole spring comes early or late, for each fruit in the garden: SD. [days]"""
    found = {}
    for names, full_d in _full_by_fruit(study):
        mean = full_d.mean(axis=0)
        if np.isfinite(mean).any():
            found[names[0].species] = float(np.nanstd(mean))
    return found


def _full_by_fruit(
    study: Study, bloom: Bloom | None = None
) -> Iterator[tuple[tuple[VarietyId, ...], FloatArray]]:
    """Full bloom of the varieties that stand here, fruit by fruit, shape (V, K, W). [days]"""
    standing = sorted({node.variety for node in study.network.nodes})
    bloom = study.bloom if bloom is None else bloom
    for species in sorted({name.species for name in standing}):
        names = tuple(
            name for name in standing
            if name.species == species
            and np.isfinite(bloom.full_h[bloom.varieties.index(name)]).any()
        )  # fmt: skip
        if names:
            yield names, bloom.full_h[[bloom.varieties.index(name) for name in names]] / 24


def bloom_order(study: Study) -> dict[VarietyId, float]:
    """Usual full bloom of the varieties that stand here, where it is known. [season days]"""
    return {
        name: float(day)
        for names, full_d in _full_by_fruit(study)
        for name, day in zip(names, np.nanmedian(full_d, axis=(1, 2)), strict=True)
    }


@dataclass(frozen=True)
class BloomSpan:
    """Quantiles of one variety's bloom over all scenarios. [days since the season's start]

    start, full, end : of the median scenario. earliest, latest : eight scenarios in ten begin
    after the first and end before the second.
    """

    earliest: float
    start: float
    full: float
    end: float
    latest: float


def bloom_span(bloom: Bloom, variety: VarietyId) -> BloomSpan | None:
    """Bloom of one variety over all scenarios; None where it is not known."""
    row = bloom.varieties.index(variety)
    return _span(bloom.start_h[row], bloom.full_h[row], bloom.end_h[row])


def shed_span(bloom: Bloom, variety: VarietyId) -> BloomSpan | None:
    """Pollen shed of one variety over all scenarios, its middle as `full`; None: not known."""
    if bloom.shed_start_h is None or bloom.shed_end_h is None:
        return None
    row = bloom.varieties.index(variety)
    start, end = bloom.shed_start_h[row], bloom.shed_end_h[row]
    return _span(start, (start + end) / 2, end)


def _span(start_h: FloatArray, full_h: FloatArray, end_h: FloatArray) -> BloomSpan | None:
    start, full, end = start_h / 24, full_h / 24, end_h / 24
    if not np.isfinite(full).any():
        return None
    return BloomSpan(
        *(
            float(np.nanquantile(values, quantile))
            for values, quantile in (
                (start, EARLY), (start, 0.5), (full, 0.5), (end, 0.5), (end, LATE)
            )
        )
    )  # fmt: skip


def bloom_dates(bloom: Bloom, variety: VarietyId) -> BloomDates | None:
    """Usual dates of one variety; None where its bloom is not known."""
    span = bloom_span(bloom, variety)
    if span is None:
        return None
    row = bloom.varieties.index(variety)
    first_day = nominal_start(bloom)

    def day_of_year(day: float) -> int:
        return calendar_day_of_year(first_day, 24 * day)

    return BloomDates(
        start=day_of_year(span.start),
        full=day_of_year(span.full),
        # The end is exclusive: the last day in bloom is the one that holds the moment before.
        end=day_of_year(span.end - 1e-3),
        earliest=day_of_year(span.earliest),
        latest=day_of_year(span.latest - 1e-3),
        sd_days=float(bloom.sd_days[row]),
        rests_on=bloom.rests_on[row] if bloom.rests_on else "",
    )


def nominal_start(bloom: Bloom) -> date:
    """First day of a season without a leap day, in which usual dates are told."""
    common = [start for start in bloom.starts if (start.year + (start.month > 2)) % 4]
    return common[0] if common else bloom.starts[0]


@dataclass(frozen=True)
class CalendarRow:
    """One row of the calendar; `span` None where the bloom is not known.

    nodes : indices of the limbs of one variety on one tree, or of the neighbour.
    sheds : whether the row is that of their catkins' pollen.
    verdict : on the limbs; None: a neighbour, catkins, or they need not crop.
    own_days : eight scenarios in ten stray less than that from the others of its fruit; None:
        there are no others. usual : its bloom over all winters, where `span` is that of one.
    variety, ids : what grows there, and on which limbs, or the neighbour's id.
    """

    group: str
    label: str
    span: BloomSpan | None
    nodes: tuple[int, ...] = (0,)
    sheds: bool = False
    verdict: LimbVerdict | None = None
    own_days: float | None = None
    usual: BloomSpan | None = None
    variety: VarietyId | None = None
    ids: tuple[str, ...] = ()

    @property
    def node(self) -> int:
        """The first of its limbs."""
        return self.nodes[0]


EIGHT_IN_TEN = 1.2816
"""Standard deviations to either side of the mean that hold 80 % of a normal distribution."""


def calendar_rows(study: Study, bloom: Bloom | None = None) -> tuple[CalendarRow, ...]:
    """Varieties by tree, then those next door, each in the order of bloom.

    bloom : in place of the study's own, which is then told as the usual one.
    """
    shown = study.bloom if bloom is None else bloom
    verdicts = {row.node: row.verdict for row in study.coverage}
    against = against_others(study, bloom)
    groups: dict[str, dict[tuple[VarietyId, float, LimbVerdict | None], list[int]]] = {}
    for place, node in enumerate(study.network.nodes):
        group = _("next door") if node.tree is None else tree_name(node.tree, node.variety)
        key = (node.variety, node.distance_m, verdicts.get(place))
        groups.setdefault(group, {}).setdefault(key, []).append(place)
    found: list[CalendarRow] = []
    for group, alike in groups.items():
        rows = []
        for (variety, _away, verdict), places in alike.items():
            own = against.get(variety)
            rows.append(
                CalendarRow(
                    group, _row_label(study, places), bloom_span(shown, variety), tuple(places),
                    verdict=verdict,
                    own_days=None if own is None else EIGHT_IN_TEN * own.sd_days,
                    usual=None if bloom is None else bloom_span(study.bloom, variety),
                    variety=variety,
                    ids=tuple(study.network.nodes[place].id for place in places),
                )
            )  # fmt: skip
        rows.sort(key=lambda row: row.span.full if row.span is not None else np.inf)
        for row in rows:
            found.append(row)
            variety = study.network.nodes[row.node].variety
            if study.known[variety].sheds_apart:
                catkins = _("{limb}, pollen").format(limb=row.label)
                shed = shed_span(shown, variety)
                pollen = replace(row, label=catkins, span=shed, sheds=True, verdict=None,
                                 own_days=None, usual=None)  # fmt: skip
                found.append(pollen)
    return tuple(found)


def _row_label(study: Study, places: Sequence[int]) -> str:
    """`Elstar · A-top, A-low`; of a neighbour its fruit and how far away it stands."""
    nodes = [study.network.nodes[place] for place in places]
    ids, variety = [node.id for node in nodes], nodes[0].variety
    name = name_beside(variety.name, ids)
    if nodes[0].tree is None:
        away = _("{distance} m").format(distance=number(nodes[0].distance_m))
        return f"{name} · {_(variety.species)}, {away}"
    return f"{name} · {', '.join(ids)}"


@dataclass(frozen=True)
class SpringShift:
    """How far a whole spring of one fruit comes early or late.

    days : eight springs in ten lie within them. full : usual full bloom, in days since the
    season's start, the mean of the fruit's varieties here. own_days : as `days`, if it were known
    when the fruit blooms here, and springs alone moved it.
    """

    fruit: str
    days: float
    full: float
    own_days: float

    @property
    def little_known(self) -> bool:
        """Whether it is mostly the usual date that is not known: 80 % of the variance. Own
        convention."""
        return self.own_days**2 < 0.2 * self.days**2


def spring_shifts(study: Study) -> tuple[SpringShift, ...]:
    """The shift of whole springs, once for each fruit in the garden that has any."""
    spread = spring_sd_days(study)
    return tuple(
        SpringShift(
            names[0].species,
            EIGHT_IN_TEN * spread[names[0].species],
            float(mean),
            EIGHT_IN_TEN * _within_draws_sd(full_d.mean(axis=0)),
        )
        for names, full_d in _full_by_fruit(study)
        if np.isfinite(mean := np.nanmean(np.nanmedian(full_d, axis=(1, 2))))
        and spread[names[0].species] >= 0.5
    )


def _within_draws_sd(days: FloatArray) -> float:
    """SD over the winters of a draw, the mean of all draws of days of shape (K, W)."""
    known = days[np.isfinite(days).any(axis=1)]
    return float(np.sqrt(np.nanmean(np.nanvar(known, axis=1))))


def name_beside(name: str, ids: Iterable[str]) -> str:
    """The name of a variety where it stands beside the limbs that have it.

    A variety that nobody knows bears the name of its limb within its own: `? (A-top)`.
    """
    bare = next((name.removesuffix(f" ({one})") for one in ids if name.endswith(f" ({one})")), name)
    return _("unknown") if bare == "?" else bare


def tree_name(tree: str, variety: VarietyId) -> str:
    """A tree by its id, with its fruit where the id does not tell it: `old tree (apple)`."""
    fruit = _(variety.species)
    return tree if tree in (fruit, variety.species) else f"{tree} ({fruit})"


def apart_fruits(study: Study) -> tuple[str, ...]:
    """Kinds of fruit of the garden whose catkins shed pollen at a time of their own, sorted."""
    fruits = (study.fruit_of(variety) for variety in study.varieties())
    return tuple(sorted({fruit.name for fruit in fruits if fruit.shed_apart}))


@dataclass(frozen=True)
class YoungDonor:
    """A limb that is some other limb's best donor and may be too young to flower.

    first, late : years of its first flowers, in the earliest and the latest usual case.
    sheds_apart : as of a `Node`: whether its pollen comes by catkins.
    """

    limb: str
    grafted: int
    first: int
    late: int
    sheds_apart: bool = False


def young_donors(study: Study, year: int) -> tuple[YoungDonor, ...]:
    """Best donors of other limbs that were grafted too lately to flower for certain this year."""
    nodes = study.network.nodes
    best = {nodes[row.donors[0].node].id for row in study.coverage if row.donors}
    graft = {limb.id: limb for limb in study.plan.limbs if limb.grafted and limb.id in best}
    ages = load_bearing(
        {limb.variety.species for limb in graft.values()}, "graft on a bearing tree"
    )
    found = []
    for limb in graft.values():
        age, grafted = ages[limb.variety.species], limb.grafted or 0
        if grafted + age.late > year:
            years = (grafted, grafted + age.first, grafted + age.late)
            apart = study.catalogue.rules.fruits[limb.variety.species].shed_apart
            found.append(YoungDonor(limb.id, *years, apart))
    return tuple(found)


@dataclass(frozen=True)
class LimbChill:
    """What one limb needs of winter chill and how often it gets it.

    needs, sd : pooled published requirement; None: none is published. [chill portions]
    enough : share of scenarios in which the winter's chill meets the drawn requirement.
    short : whether that is less often than the plan asks for; None: not known.
    assumed : what the requirement is drawn from where none is published; None: it is, or nothing
        is known of the fruit, and it counts as met.
    assumed_enough : `enough` of what is drawn from there.
    """

    node: Node
    needs: float | None = None
    sd: float | None = None
    enough: float | None = None
    sources: tuple[str, ...] = ()
    memory: bool = False
    assumed: ChillRange | None = None
    assumed_enough: float | None = None
    short: bool | None = None


def limb_chill(study: Study) -> tuple[LimbChill, ...]:
    """Chill of every limb of the plan, in its order."""
    return tuple(
        _one_chill(study, row, node)
        for row, node in enumerate(study.network.nodes)
        if node.kind == "limb"
    )


def enough_chill(study: Study) -> dict[str, float | None]:
    """How often each limb of the plan gets all its chill, by its id: a share of scenarios.

    None: no weather, or nothing is known of what its fruit needs. A requirement that nobody
    published is drawn from the usual one of its fruit.
    """
    return {
        node.id: _enough_chill(study, row, node)
        for row, node in enumerate(study.network.nodes)
        if node.kind == "limb"
    }


def _enough_chill(study: Study, row: int, node: Node) -> float | None:
    ranges = load_chill_ranges(node.variety.species)
    if study.winters is None or requirement_of(study.known[node.variety], ranges) is None:
        return None
    return often_enough(study.network.chill_quality[row])


def _one_chill(study: Study, row: int, node: Node) -> LimbChill:
    variety = study.known[node.variety]
    enough = _enough_chill(study, row, node)
    if enough is None:
        return LimbChill(node)
    ranges = load_chill_ranges(node.variety.species)
    assumed = assumed_range(variety, ranges)
    if assumed is not None:
        return LimbChill(node, assumed=assumed, assumed_enough=enough)
    requirement = requirement_of(variety, ranges)
    assert requirement is not None
    needs, sd = requirement
    taken = of_one_method(variety.chill)
    return LimbChill(
        node,
        needs,
        sd,
        enough,
        tuple(sorted({one.source for one in taken})),
        any(one.status == "memory" for one in taken),
        short=not reaches(enough, study.plan.aim.level),
    )


def carrying(network: NetworkInput, row: LimbCoverage) -> tuple[int, ...]:
    """Donors of a limb of which each would be enough alone."""
    return carriers(row, network.aim.level)


def redundancy(network: NetworkInput, coverage: Sequence[LimbCoverage]) -> dict[str, int]:
    """How many such donors each limb has, by its id."""
    return {network.nodes[row.node].id: len(carrying(network, row)) for row in coverage}


def memory_of(
    study: Study, node: Node, coverage: LimbCoverage | None
) -> tuple[tuple[str, str], ...]:
    """What this limb's answer rests on that was recalled and not confirmed: (value, variety)."""
    words = set(memory_words(study.known[node.variety]))
    selfed = False
    if coverage is not None and coverage.donors:
        donor = study.network.nodes[coverage.donors[0].node]
        words |= set(memory_words(study.known[donor.variety]))
        selfed = donor is node
    return tuple(sorted(w for w in words if selfed or w[0] != _FIELDS["self_fertile"]))


_FIELDS = {
    "genotype": N_("S-genotype"),
    "ploidy": N_("ploidy"),
    "self_fertile": N_("self-fertility"),
    "pollen_ok": N_("pollen"),
    "group": N_("incompatibility group"),
    "modifier_share": N_("pollen modifier"),
    "clone": N_("parentage"),
    "descent": N_("parents"),
}


def memory_words(variety: Variety) -> tuple[tuple[str, str], ...]:
    """The values of one variety that carry the status `memory`: `("S-genotype", "Idared")`."""
    name = variety.id.name
    words = [(_FIELDS.get(field, field), name) for field in variety.fertility.memory]
    if variety.typed_bloom is None and any(e.status == "memory" for e in variety.bloom):
        words.append((N_("bloom"), name))
    if any(requirement.status == "memory" for requirement in variety.chill):
        words.append((N_("chill requirement"), name))
    return tuple(words)


# --- what deserves a word --------------------------------------------------------------------

ATTENTION: Final[tuple[LimbVerdict, ...]] = ("lacking", "open")
"""Verdicts that need something, the most urgent first."""

APART_DAYS = 5.0
"""From so many days on, blooming at another time than the others is told as a reason: own
convention. [days]"""

VAGUE = 0.5
"""From half of the winters on, what is not known of the dates is told as the reason: own
convention."""

CLEARLY_WORSE = 0.5
"""Part of the days of the others of its fruit below which a limb is weakly served. Own
convention."""


def stands_apart(limb: LimbSummary) -> bool:
    """Whether a limb blooms much before or after the others of its fruit."""
    return limb.against is not None and abs(limb.against.days) >= APART_DAYS


def is_vague(row: LimbCoverage) -> bool:
    """Whether too little is known of the dates to tell how often a limb has a donor."""
    return row.high - row.low >= VAGUE


@dataclass(frozen=True)
class Weak:
    """How limbs that are covered are served.

    bees : fruits of the limbs that bees serve, sorted, where most of these are weakly served, and
        all of those for want of weather in which bees fly; else empty.
    rows : limbs that are clearly worse served than the others of their fruit.
    """

    bees: tuple[str, ...]
    rows: tuple[LimbCoverage, ...]


def weakly_served(limbs: Sequence[LimbSummary]) -> Weak:
    """Limbs that have a donor often enough, and little of its pollen."""
    covered = [limb for limb in limbs if limb.coverage is not None and limb.coverage.covered]
    served = [(limb.node.variety.species, limb.coverage) for limb in covered if limb.coverage]
    weak = [(fruit, row) for fruit, row in served if row.strength == "weak" and row.donors]

    def others(fruit: str, row: LimbCoverage) -> list[float]:
        return [
            other.donors[0].effective_days
            for kind, other in served
            if kind == fruit and other is not row and other.donors
        ]

    flown = [limb for limb in covered if not limb.by_wind]
    poor = [limb for limb in flown if limb.coverage and limb.coverage.weak_by is not None]
    bees = poor and all(limb.coverage and limb.coverage.weak_by == "bees" for limb in poor)
    most = 2 * len(poor) >= len(flown)
    return Weak(
        bees=tuple(sorted({limb.node.variety.species for limb in flown})) if bees and most else (),
        rows=tuple(
            row
            for fruit, row in weak
            if (days := others(fruit, row))
            and row.donors[0].effective_days < CLEARLY_WORSE * float(np.median(days))
        ),
    )


@dataclass(frozen=True)
class Mend:
    """What would help the limbs that lack a donor.

    scions : scions at hand, in the order of the smallest cover, each of which alone would serve
        these limbs, and no other scion more of them; empty: none serves any.
    served : those that it would serve; all that lack one where there is no scion.
    """

    scions: tuple[VarietyId, ...]
    served: tuple[Node, ...]


def mend_of(study: Study) -> Mend | None:
    """The nearest help for limbs that lack a donor; None where none lacks one that donors mend."""
    from pollinet.advice.pollinizer import choices, in_cover_order

    bare = [
        row.node for row in study.coverage
        if row.verdict == "lacking"
        and ((short := chill_lack(study.network, row)) is None or short.mendable)
    ]  # fmt: skip
    if not bare:
        return None
    nodes = study.network.nodes
    scions = study.free_scions()
    if scions:
        network = study.network_of(scions)
        candidates = [i for i, node in enumerate(network.nodes) if node.kind == "candidate"]
        helping = [c for c in choices(network, candidates, bare) if c.closed and c.covers]
        if helping:
            wishes = study.tie_breakers(network)
            best = in_cover_order(helping, network, study.spare_limbs(), wishes)
            alike = [choice.node for choice in best if choice.covers == best[0].covers]
            names = dict.fromkeys(network.nodes[node].variety for node in alike)
            return Mend(tuple(names), tuple(nodes[node] for node in best[0].covers))
    return Mend((), tuple(nodes[node] for node in bare))
