"""How varieties would fare in the garden."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from typing import Annotated, Any, ClassVar, Literal

from pollinet.advice.pollinizer import is_crab
from pollinet.answers.base import About, Answer, Findings, Recalled, Share, Told, flat
from pollinet.answers.parts import Fruit, UsualBloom, usual_bloom
from pollinet.phenology.hardiness import WinterCold
from pollinet.study import Study
from pollinet.summary.suits import WARMER_C, Suitability
from pollinet.wording.suits import suits_answer


@dataclass(frozen=True)
class DonorHere:
    """A limb or neighbour's tree that would serve the variety."""

    id: str
    variety: str
    reliability: Annotated[Share, About("Scenarios in which it is a viable donor.")]
    overlap_days: Annotated[float, About("Usual shared bloom. [days]")]


@dataclass(frozen=True)
class LimbServed:
    """A limb that the variety would serve."""

    limb: Annotated[str, About("Id.")]
    variety: str
    reliability: Annotated[Share, About("Scenarios in which the variety is a viable donor.")]
    newly_covered: Annotated[bool, About("Whether the limb has no sure donor without it.")]


@dataclass(frozen=True)
class LookWith:
    """Bloom of one tree with the variety on it."""

    tree: Annotated[str, About("Id.")]
    lag_days: Annotated[
        float | None, About("Its full bloom after the tree's middle; null: not known. [days]")
    ]
    together: Annotated[
        float | None,
        About("Share of the days with blossom on which nearly all limbs flower."),
    ]
    together_now: Annotated[
        float | None, About("The same without it; null: fewer than two limbs are known.")
    ]


@dataclass(frozen=True)
class Cold:
    """The lowest minima of the winters against the hardiness of a tree."""

    zone: Annotated[float, About("Coldest hardiness zone it is said to live in.")]
    told_of_variety: Annotated[
        bool, About("Whether the zone is the variety's own; else its fruit's.")
    ]
    limit_c: Annotated[float, About("Lowest usual minimum of that zone. [°C]")]
    usual_c: Annotated[float, About("Mean of the lowest minima of the winters. [°C]")]
    coldest_c: Annotated[float, About("The lowest of all. [°C]")]
    colder: Annotated[Share, About("Winters that are colder than the limit.")]


@dataclass(frozen=True)
class Suited:
    """How one variety would fare as one more limb."""

    answer: Told
    variety: str
    species: Fruit
    limb: Annotated[str | None, About("Id, where it is in the plan.")]
    verdict: Annotated[
        Literal["suits", "doubtful", "no", "unknown"],
        About("no: its winters kill it; unknown: nothing is known of its bloom."),
    ]
    against: Annotated[tuple[str, ...], About("What speaks against it.")]
    not_known: Annotated[tuple[str, ...], About("What could speak against it and is not known.")]
    winter_cold: Annotated[Cold | None, About("Null: not known.")]
    month_before_pick_c: Annotated[
        float | None,
        About("Mean temperature of the 30 days before its first pick; null: not known. [°C]"),
    ]
    frost_before_ripe: Annotated[
        Share | None, About("Years with a hard frost before its first pick; null: not known.")
    ]
    enough_chill: Annotated[Share | None, About("Winters with enough chill; null: no weather.")]
    enough_chill_warmer: Annotated[Share | None, About("The same, warmer.")]
    chill_published: Annotated[
        bool, About("Whether the need is published; else drawn from the range of its fruit.")
    ]
    warmer_c: Annotated[float, About("How much warmer the outlook is. [°C]")]
    bloom: Annotated[UsualBloom | None, About("Usual bloom here; null: not known.")]
    bloom_warmer: Annotated[UsualBloom | None, About("The same, warmer.")]
    reliability: Annotated[Share, About("Scenarios with a viable donor.")]
    donors: Annotated[tuple[DonorHere, ...], About("Its donors, best first.")]
    serves: Annotated[tuple[LimbServed, ...], About("Limbs that it is a donor of.")]
    harvest_day: Annotated[float | None, About("Day of the year; null: not known.")]
    harvest_rests_on: Annotated[str | None, About("What that comes from.")]
    frost_one_in_ten: Annotated[
        Share | None, About("Seasons with a night in bloom that kills one flower in ten.")
    ]
    frost_nine_in_ten: Annotated[Share | None, About("… nine in ten.")]
    vigour: Annotated[str | None, About("Published vigour.")]
    crab: Annotated[bool | None, About("Whether it is a crab apple; null: nobody says.")]
    place: Annotated[dict[str, str], About("Where on each tree, by vigour.")]
    look: Annotated[
        tuple[LookWith, ...], About("Bloom on each tree of its fruit that does not carry it.")
    ]
    genotype_known: bool
    rests_on_memory: Recalled


@dataclass(frozen=True, repr=False)
class Suits(Answer):
    """How varieties would fare here."""

    NAME: ClassVar[str] = "suits"
    ROW: ClassVar[type] = Suited

    varieties: Annotated[tuple[Suited, ...], About("In the order in which they were named.")]
    findings: Findings

    def rows(self) -> list[dict[str, Any]]:
        """One row a variety; limbs and trees by their ids, after a tree how its bloom would lag."""
        return [
            {
                **dict(flat(found)),
                "donors": "; ".join(donor.id for donor in found.donors),
                "serves": "; ".join(served.limb for served in found.serves),
                "place": "; ".join(f"{tree}: {code}" for tree, code in found.place.items()),
                "look": "; ".join(
                    f"{look.tree}: {look.lag_days:+.1f} days"
                    for look in found.look
                    if look.lag_days is not None
                ),
            }
            for found in self.varieties
        ]


def suits_of(study: Study, found: Sequence[Suitability]) -> Suits:
    """The answer on some varieties, from what `suitability` has found of each."""
    return Suits(tuple(map(_suited, found)), study.findings)


def _cold(found: WinterCold | None) -> Cold | None:
    if found is None:
        return None
    limit, usual, coldest = (
        round(value, 1) for value in (found.limit_c, found.usual_c, found.coldest_c)
    )
    return Cold(found.zone, found.own, limit, usual, coldest, found.colder)


def _suited(view: Suitability) -> Suited:
    nodes = view.network.nodes
    some, most = (None, None) if view.frost is None else view.frost
    return Suited(
        answer=suits_answer(view),
        variety=view.variety.id.name,
        species=view.variety.id.species,
        limb=view.limb,
        verdict=view.verdict,
        against=view.doubts,
        not_known=view.unknown,
        winter_cold=_cold(view.cold),
        month_before_pick_c=None if view.before_pick_c is None else round(view.before_pick_c, 1),
        frost_before_ripe=view.frozen,
        enough_chill=view.enough_chill,
        enough_chill_warmer=view.enough_chill_warmer,
        chill_published=view.chill_published,
        warmer_c=WARMER_C,
        bloom=usual_bloom(view.bloom),
        bloom_warmer=usual_bloom(view.bloom_warmer),
        reliability=view.coverage.reliability,
        donors=tuple(
            DonorHere(
                nodes[donor.node].id,
                nodes[donor.node].variety.name,
                donor.reliability,
                round(donor.overlap_days, 3),
            )
            for donor in view.coverage.donors
        ),
        serves=tuple(
            LimbServed(served.limb, served.variety.name, served.reliability, served.newly)
            for served in view.serves
        ),
        harvest_day=None if view.harvest is None else round(view.harvest.day, 1),
        harvest_rests_on=None if view.harvest is None else view.harvest.rests_on,
        frost_one_in_ten=some,
        frost_nine_in_ten=most,
        vigour=view.vigour,
        crab=is_crab(view.variety),
        place=dict(view.place),
        look=tuple(
            LookWith(tree, then.lags.get(""), then.together, now.together)
            for tree, now, then in view.looks
        ),
        genotype_known=view.variety.fertility.genotype is not None,
        rests_on_memory=tuple(f"{field} of {name}" for field, name in view.memory),
    )
