"""A study → the order of ripening, and what a longer picking season costs in pollination."""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from dataclasses import dataclass

from pollinet.advice.harvest import Harvest, gaps
from pollinet.advice.season import SeasonPoint, bears, season_front
from pollinet.domain import Limb, NetworkInput, Node, VarietyId
from pollinet.language import N_
from pollinet.network.coverage import limb_coverage
from pollinet.network.selection import keep_nodes
from pollinet.network.viability import present_of
from pollinet.shares import reaches
from pollinet.study import Study
from pollinet.summary.limbs import memory_words
from pollinet.summary.suits import garden_harvests, too_cool
from pollinet.summary.work import bearing_limbs


@dataclass(frozen=True)
class Ripening:
    """A limb that is to crop, with its first pick; `harvest` None: not known.

    gap_days : days without fruit until the next first pick; None: there are none.
    bears : whether it has its donors in enough winters to count.
    """

    limb: Limb
    harvest: Harvest | None
    gap_days: float | None
    bears: bool


@dataclass(frozen=True)
class SeasonChoice:
    """A set of scions with what the garden is then.

    first, last : first and last pick of the year; None: none is known. [day of year]
    worst : the worst-off limb or scion; None where nothing must crop.
    overlap_days, effective_days : of the best donor of each limb that is to crop, mean of them all;
        see `DonorShare`. [days]
    enough : whether the worst-off limb's share reaches the plan's level.
    """

    added: tuple[VarietyId, ...]
    point: SeasonPoint
    first: float | None
    last: float | None
    worst: Node | None
    overlap_days: float
    effective_days: float
    enough: bool


@dataclass(frozen=True)
class GardenSeason:
    """The picking season of a garden, and how it could be longer or surer.

    ripening : the limbs that are to crop, in the order of picking, unknown ones last.
    today : the garden as it stands. choices : the front, the shortest season first.
    exact, tried : see `SeasonFront`. offered : scions between which to choose.
    unknown : of these the varieties whose harvest is not known; they add nothing to the season.
    cool : likewise those that hardly ripen here, see `harvest.may_ripen`.
    memory : values of the scions chosen, and harvests, that were recalled and not confirmed:
        (value, variety).
    """

    ripening: tuple[Ripening, ...]
    today: SeasonChoice
    choices: tuple[SeasonChoice, ...]
    exact: bool
    tried: int
    offered: int
    unknown: tuple[VarietyId, ...]
    cool: tuple[VarietyId, ...]
    memory: tuple[tuple[str, str], ...]

    @property
    def dated(self) -> tuple[Ripening, ...]:
        """The limbs whose harvest is known."""
        return tuple(row for row in self.ripening if row.harvest is not None)


def garden_season(
    study: Study, *, from_catalogue: bool = False, most: int | None = None
) -> GardenSeason:
    """The order of ripening, and the sets of scions between a long season and sure pollination."""
    scions = study.free_scions(from_catalogue=from_catalogue)
    network = study.network_of(scions)
    varieties = study.varieties(scion.variety for scion in scions)
    harvests = garden_harvests(study, varieties, study.bloom_of(varieties))
    nodes = network.nodes
    candidates = range(len(present_of(network)), len(nodes))
    cool = too_cool(study, harvests, (scion.variety for scion in scions))
    unripe = {i for i in candidates if nodes[i].variety in cool}
    ripe = {
        i: harvests[n.variety].day
        for i, n in enumerate(nodes)
        if n.variety in harvests and i not in unripe
    }
    front = season_front(network, candidates, ripe, study.spare_limbs(), most=most)
    choices = {p: _choice(network, ripe, p) for p in (front.today, *front.points)}
    return GardenSeason(
        ripening=_ripening(study, harvests),
        today=choices[front.today],
        choices=tuple(choices[point] for point in front.points),
        exact=front.exact,
        tried=front.tried,
        offered=len(candidates),
        unknown=tuple(sorted({s.variety for s in scions if s.variety not in harvests})),
        cool=cool,
        memory=_memory(study, harvests, choices.values()),
    )


def _memory(
    study: Study, harvests: Mapping[VarietyId, Harvest], choices: Iterable[SeasonChoice]
) -> tuple[tuple[str, str], ...]:
    added = {name for choice in choices for name in choice.added}
    words = {word for name in added for word in memory_words(study.known[name])}
    shown = added | {limb.variety for limb in study.plan.limbs}
    recalled = [n for n in shown if n in harvests and harvests[n].status == "memory"]
    return tuple(sorted(words | {(N_("harvest"), name.name) for name in recalled}))


def _ripening(study: Study, harvests: Mapping[VarietyId, Harvest]) -> tuple[Ripening, ...]:
    bearing = bearing_limbs(study)
    limbs = [limb for limb in study.plan.limbs if limb.crops]
    known = {limb.id: harvests[limb.variety].day for limb in limbs if limb.variety in harvests}
    after = {a: days for a, _, days in gaps({x: known[x] for x in known if x in bearing})}
    order = sorted(limbs, key=lambda limb: (limb.id not in known, known.get(limb.id, 0), limb.id))
    return tuple(
        Ripening(limb, harvests.get(limb.variety), after.get(limb.id), limb.id in bearing)
        for limb in order
    )


def _choice(network: NetworkInput, ripe: Mapping[int, float], point: SeasonPoint) -> SeasonChoice:
    standing = sorted((*present_of(network), *point.added))
    garden = keep_nodes(network, standing)
    rows = limb_coverage(garden, range(len(standing)))
    best = [row.donors[0] for row in rows if row.donors]
    worst = min(rows, key=lambda row: row.reliability, default=None)
    days = [
        ripe[node]
        for row in rows
        if (node := standing[row.node]) in ripe and bears(row.reliability)
    ]
    return SeasonChoice(
        added=tuple(network.nodes[i].variety for i in point.added),
        point=point,
        first=min(days, default=None),
        last=max(days, default=None),
        worst=None if worst is None else garden.nodes[worst.node],
        overlap_days=sum(donor.overlap_days for donor in best) / max(1, len(rows)),
        effective_days=sum(donor.effective_days for donor in best) / max(1, len(rows)),
        enough=reaches(point.reliability, network.aim.level),
    )
