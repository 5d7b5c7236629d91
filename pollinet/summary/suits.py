"""A study → how a variety would fare in this garden, and when the fruits are picked."""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Mapping, Sequence
from dataclasses import dataclass
from typing import Literal

import numpy as np

from pollinet.advice.balance import placement, vigour_of
from pollinet.advice.harvest import (
    PROPERTIES,
    Harvest,
    Summer,
    dates_bloom_to_harvest,
    harvests,
    may_ripen,
    ripening_c,
)
from pollinet.advice.look import BloomLook
from pollinet.domain import Bloom, NetworkInput, Normals, Scion, Variety, VarietyId
from pollinet.language import N_
from pollinet.network.coverage import LimbCoverage, limb_coverage
from pollinet.network.selection import as_receiver
from pollinet.network.shortage import chill_lack
from pollinet.network.viability import present_of
from pollinet.phenology.adequacy import (
    assumed_range,
    lacks_chill,
    methods_disagree,
    often_enough,
)
from pollinet.phenology.frost import frost_nights
from pollinet.phenology.hardiness import WinterCold, winter_cold
from pollinet.readers.chill_ranges import load_chill_ranges
from pollinet.readers.frost import load_frost_limits
from pollinet.readers.hardiness import load_hardiness
from pollinet.shares import reaches
from pollinet.study import Study
from pollinet.summary.advice import tree_bloom_look
from pollinet.summary.limbs import BloomDates, bloom_dates, memory_words, name_beside
from pollinet.weather.extremes import autumn_frost_days, winter_minima
from pollinet.weather.plausibility import monthly_means_c

WARMER_C = 1.5
"""The warmer climate that is told beside today's: every hour this much warmer. [°C]"""


LOST_TO_FROST = 0.2
"""From this share of winters on, frost that kills nearly all flowers speaks against a variety, even
where the plan's level would bear it. Own convention."""

Doubt = Literal["cold", "warmth", "ripening", "frost", "chill", "donors"]
"""What speaks against a variety here, what weighs most first."""

Unknown = Literal["cold", "ripening", "frost", "chill", "chill need", "chill sources", "bloom"]
"""What could speak against a variety and is not known; the need of chill: not published, or told
by sources that differ so far that it decides."""

Verdict = Literal["suits", "doubtful", "no", "unknown"]
"""`no`: its winters kill it. `unknown`: nothing is known of its bloom."""


@dataclass(frozen=True)
class ServedLimb:
    """A limb that the variety would serve, with the share of winters it does; `newly`: the limb
    has no sure donor without it."""

    limb: str
    variety: VarietyId
    reliability: float
    newly: bool


@dataclass(frozen=True)
class Suitability:
    """How one variety would fare as one more limb. Shares are of winters and draws; None: unknown.

    enough_chill, enough_chill_warmer : the winter meets the whole requirement.
    chill_published : whether that is published; else it is drawn from the range of its fruit.
    drags_on : whether too few winters meet the whole requirement, as bloom then lasts longer.
    cold : the lowest minima of the winters against its hardiness.
    before_pick_c : mean temperature of the month before its pick, see `harvest.ripening_c`. [°C]
    frozen : share of years in which a hard frost comes before it is ripe.
    frost : shares of seasons with a night in bloom that kills one flower in ten, and nine in ten.
    coverage : its own donors if it were grafted. limb : the limb it already is, if any.
    place : where on each tree of its fruit it would go, see `balance.placement`.
    looks : for each of these trees how it looks in bloom without and with the variety.
    doubts, unknown : what speaks against it, measured by the plan's level; what could, and is not
        known.
    """

    variety: Variety
    limb: str | None
    bloom: BloomDates | None
    enough_chill: float | None
    enough_chill_warmer: float | None
    chill_published: bool
    drags_on: bool
    bloom_warmer: BloomDates | None
    coverage: LimbCoverage
    serves: tuple[ServedLimb, ...]
    network: NetworkInput
    harvest: Harvest | None
    harvests_beside: tuple[Harvest, ...]
    cold: WinterCold | None
    before_pick_c: float | None
    frozen: float | None
    frost: tuple[float, float] | None
    vigour: str | None
    place: tuple[tuple[str, str], ...]
    memory: tuple[tuple[str, str], ...]
    looks: tuple[tuple[str, BloomLook, BloomLook], ...]
    doubts: tuple[Doubt, ...]
    unknown: tuple[Unknown, ...]

    @property
    def verdict(self) -> Verdict:
        """The answer in a word; what kills the tree decides even where its bloom is unknown."""
        if self.cold is not None and self.cold.verdict == "killed":
            return "no"
        if self.bloom is None:
            return "unknown"
        return "doubtful" if self.doubts else "suits"


def suitability(study: Study, wanted: VarietyId) -> Suitability:
    """How a variety of the catalogue or the plan would fare in this garden."""
    variety = study.known[wanted]
    limb = next((x.id for x in study.plan.limbs if x.variety == wanted), None)
    network = study.network_of(() if limb else (Scion(wanted),))
    node = next(i for i, n in enumerate(network.nodes)
                if (n.id == limb if limb else n.kind == "candidate"))  # fmt: skip
    warmer = study.warmer(WARMER_C) if study.winters is not None else None
    varieties = study.varieties([wanted])
    bloom = study.bloom_of(varieties)
    beside = [x for tree in study.plan.trees if tree.species == wanted.species for x in tree.limbs]
    kin = [study.known[x.variety] for x in beside]
    ripe = garden_harvests(study, [variety, *kin], bloom)
    (own,) = limb_coverage(as_receiver(network, node), (*present_of(network), node), only=[node])
    chill, frost = _enough_chill(study, wanted), _frost(study, bloom, wanted)
    short = None if chill is None else _lacks_chill(study, network, node)
    fails = not own.covered and not _for_chill_alone(network, own, node)
    cold, frozen = _cold(study, variety), _frozen(study, ripe.get(wanted))
    ripens = not too_cool(study, ripe, [wanted])
    dates = bloom_dates(bloom, wanted)
    unknown: dict[Unknown, bool] = {
        "bloom": dates is None,
        "cold": cold is None,
        "ripening": frozen is None,
        "frost": frost is None,
        "chill": chill is None,
        "chill need": chill is not None and not variety.chill,
        "chill sources": chill is not None and short is None,
    }
    return Suitability(
        variety=variety,
        limb=limb,
        bloom=dates,
        enough_chill=chill,
        enough_chill_warmer=None if warmer is None else _enough_chill(warmer, wanted),
        chill_published=bool(variety.chill),
        drags_on=chill is not None and not reaches(chill, study.plan.aim.level),
        bloom_warmer=None if warmer is None else bloom_dates(warmer.bloom_of(varieties), wanted),
        coverage=own,
        serves=_serves(network, node),
        network=network,
        harvest=ripe.get(wanted),
        harvests_beside=tuple(ripe[v.id] for v in kin if v.id in ripe and v.id != wanted),
        cold=cold,
        before_pick_c=_before_pick_c(study, ripe.get(wanted)),
        frozen=frozen,
        frost=frost,
        vigour=vigour_of(variety),
        place=_places(study, variety),
        memory=memory_words(variety) + _zone_memory(variety, cold),
        looks=_looks(study, bloom, wanted),
        doubts=tuple(
            _doubts(
                study.plan.aim.level, cold, frozen, frost, ripens=ripens, short=short, fails=fails
            )
        ),
        unknown=tuple(code for code, holds in unknown.items() if holds),
    )


def _doubts(
    level: float,
    cold: WinterCold | None,
    frozen: float | None,
    frost: tuple[float, float] | None,
    *,
    ripens: bool,
    short: bool | None,
    fails: bool,
) -> Iterator[Doubt]:
    """What speaks against a variety; what is not known does not.

    ripens : whether it is warm enough for it. short : of chill. fails : whether donors serve it too
        seldom, and not for want of chill alone.
    """
    if cold is not None and cold.verdict != "lives":
        yield "cold"
    if not ripens:
        yield "warmth"
    if frozen is not None and not reaches(1 - frozen, level):
        yield "ripening"
    if frost is not None and (reaches(frost[1], LOST_TO_FROST) or not reaches(1 - frost[1], level)):
        yield "frost"
    if short:
        yield "chill"
    if fails:
        yield "donors"


def _for_chill_alone(network: NetworkInput, own: LimbCoverage, node: int) -> bool:
    """Whether it would have its donors often enough if only its own flowers had their chill."""
    lack = chill_lack(as_receiver(network, node), own)
    return lack is not None and lack.whose == "own" and not lack.besides


def _lacks_chill(study: Study, network: NetworkInput, node: int) -> bool | None:
    variety = study.known[network.nodes[node].variety]
    disputed = methods_disagree(variety, load_chill_ranges(variety.id.species))
    return lacks_chill(
        network.chill_quality[node], network.winters, network.aim.level,
        network.min_chill_quality, disputed=disputed,
    )  # fmt: skip


def _cold(study: Study, variety: Variety) -> WinterCold | None:
    """The record's winters against the zone told of the variety, else that of its fruit."""
    zones, own = _zones(variety), True
    if not zones:
        usual = load_hardiness().get(variety.id.species)
        zones, own = ([] if usual is None else [usual]), False
    if study.record is None or not zones:
        return None
    minima = winter_minima(study.record, study.plan.site.latitude) + study.warmer_c
    return winter_cold(max(zones), minima, own=own) if minima.size else None


def _zones(variety: Variety) -> list[float]:
    """Zones told of a variety: the grower's own go before all others."""
    told = [fact for fact in variety.facts if fact.property == "hardiness_zone"]
    own = [fact for fact in told if fact.status == "plan"]
    return [float(fact.value) for fact in own or told]


def _zone_memory(variety: Variety, cold: WinterCold | None) -> tuple[tuple[str, str], ...]:
    """That the zone of the variety is recalled, where it is used."""
    told = {fact.status for fact in variety.facts if fact.property == "hardiness_zone"}
    if cold is None or not cold.own or told != {"memory"}:
        return ()
    return ((N_("hardiness zone"), variety.id.name),)


def _before_pick_c(study: Study, ripe: Harvest | None) -> float | None:
    here = _summer(study)
    if here is None or ripe is None:
        return None
    mean = ripening_c(ripe.day, here)
    return mean if np.isfinite(mean) else None


def too_cool(
    study: Study, ripe: Mapping[VarietyId, Harvest], varieties: Iterable[VarietyId]
) -> tuple[VarietyId, ...]:
    """Those of some varieties that hardly ripen here, sorted; what is not known is no reason."""
    here = _summer(study)
    if here is None:
        return ()
    known = sorted(name for name in set(varieties) if name in ripe)
    return tuple(name for name in known if not may_ripen(study.known[name], ripe[name], here))


def _frozen(study: Study, ripe: Harvest | None) -> float | None:
    """Share of years in which the first hard frost comes before the first pick."""
    if study.record is None or ripe is None:
        return None
    frosts = autumn_frost_days(study.record, study.plan.site.latitude, study.warmer_c)
    return float(np.mean(frosts <= ripe.day)) if frosts.size else None


def _enough_chill(study: Study, wanted: VarietyId) -> float | None:
    """Share of scenarios that meet the whole requirement, published or drawn; None: no weather."""
    variety = study.known[wanted]
    ranged = assumed_range(variety, load_chill_ranges(wanted.species)) is not None
    if study.sums is None or not (variety.chill or ranged):
        return None
    scions = () if _stands(study, wanted) else (Scion(wanted),)
    network = study.network_of(scions)
    node = next(i for i, n in enumerate(network.nodes) if n.variety == wanted)
    return often_enough(network.chill_quality[node])


def _stands(study: Study, wanted: VarietyId) -> bool:
    return any(limb.variety == wanted for limb in study.plan.limbs)


def _serves(network: NetworkInput, node: int) -> tuple[ServedLimb, ...]:
    """Limbs for which the node is a donor, those in need first."""
    rest = [i for i in present_of(network) if i != node]
    before = {limb.node: limb for limb in limb_coverage(network, rest)}
    after = limb_coverage(network, [*rest, node])
    served = []
    for limb in after:
        share = next((d.reliability for d in limb.donors if d.node == node), 0.0)
        if limb.node != node and limb.node in before and share > 0:
            newly = limb.covered and not before[limb.node].covered
            place = network.nodes[limb.node]
            served.append(ServedLimb(place.id, place.variety, share, newly))
    return tuple(sorted(served, key=lambda s: (not s.newly, -s.reliability)))


def _frost(study: Study, bloom: Bloom, wanted: VarietyId) -> tuple[float, float] | None:
    if study.winters is None:
        return None
    nights = frost_nights(bloom, study.winters, load_frost_limits())
    return nights.shares(bloom.varieties.index(wanted))


def _places(study: Study, variety: Variety) -> tuple[tuple[str, str], ...]:
    return tuple(
        (tree.id, placement(vigour_of(variety),
                            [vigour_of(study.known[x.variety]) for x in tree.limbs]))
        for tree in study.plan.trees
        if tree.species == variety.id.species
    )  # fmt: skip


def _looks(
    study: Study, bloom: Bloom, wanted: VarietyId
) -> tuple[tuple[str, BloomLook, BloomLook], ...]:
    """The look of each tree of the fruit that does not carry the variety, without and with it."""
    trees = [tree for tree in study.plan.trees if tree.species == wanted.species and tree.limbs]
    return tuple(
        (tree.id, tree_bloom_look(bloom, limbs), tree_bloom_look(bloom, {**limbs, "": wanted}))
        for tree in trees
        if wanted not in (limbs := {limb.id: limb.variety for limb in tree.limbs}).values()
    )


def garden_harvests(
    study: Study, varieties: Iterable[Variety], bloom: Bloom
) -> dict[VarietyId, Harvest]:
    """Estimated harvest here, by all that the catalogue knows of the harvests of these fruits."""
    ours = list({v.id: v for v in varieties}.values())
    species = {v.id.species for v in ours}
    peers = [
        v for v in study.catalogue.varieties.values()
        if v.id.species in species
        and (v.picking or any(f.property in PROPERTIES for f in v.facts))
    ]  # fmt: skip
    # Bloom is needed of those alone whose harvest hangs on it.
    by_bloom = [v.id for v in peers if dates_bloom_to_harvest(v)]
    if by_bloom:
        bloom = study.bloom_of(study.varieties([*(v.id for v in ours), *by_bloom]))
    full = {
        name: float(dates.full)
        for name in bloom.varieties
        if (dates := bloom_dates(bloom, name)) is not None
    }
    places = {
        place: Summer(site.latitude, _month_means_c(site.normals))
        for place, site in study.catalogue.sites.items()
        if site.normals is not None
    }
    return harvests(ours, full, peers, here=_summer(study), places=places)


def _summer(study: Study) -> Summer | None:
    """Warmth of the garden by its record; None: there is none."""
    if study.record is None:
        return None
    means = monthly_means_c(study.record) + study.warmer_c
    return Summer(study.plan.site.latitude, tuple(means.tolist()))


def _month_means_c(normals: Normals) -> tuple[float, ...]:
    pairs = zip(normals.tmin_c, normals.tmax_c, strict=True)
    return tuple((low + high) / 2 for low, high in pairs)


# --- the picking ---------------------------------------------------------------------------------


@dataclass(frozen=True)
class Picking:
    """When a variety is first picked; None: not known. [day of year, may run over 365]"""

    label: str
    day: float | None


def garden_pickings(study: Study) -> tuple[Picking, ...]:
    """The varieties of the limbs in the order of picking; empty where none is known."""
    limbs = study.plan.limbs
    found = garden_harvests(study, [study.known[limb.variety] for limb in limbs], study.bloom)
    if not found:
        return ()
    names: dict[VarietyId, list[str]] = {}
    for limb in limbs:
        names.setdefault(limb.variety, []).append(limb.id)
    return in_picking_order([
        Picking(
            f"{name_beside(variety.name, ids)} · {', '.join(ids)}",
            found[variety].day if variety in found else None,
        )
        for variety, ids in names.items()
    ])  # fmt: skip


def in_picking_order(pickings: Sequence[Picking]) -> tuple[Picking, ...]:
    """The earliest first; what is not known last, in the order of the plan."""
    return tuple(sorted(pickings, key=lambda p: (p.day is None, p.day or 0.0)))
