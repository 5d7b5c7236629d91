"""Parts that several answers have in common."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Annotated, Any, Literal

from pollinet.answers.base import About, Share
from pollinet.answers.cross import Strength
from pollinet.compatibility.crossing import strength_of
from pollinet.days import month_and_day
from pollinet.domain import Node, Status, Variety
from pollinet.network.coverage import DonorShare, LimbCoverage, LimbVerdict
from pollinet.network.proximity import distance_m
from pollinet.summary.limbs import BloomDates
from pollinet.weather.station_climate import StationClimate
from pollinet.wording.verdicts import verdict_sentence

Day = Annotated[str, About("Day of a usual year, MM-DD.")]
Fruit = Annotated[str, About("Kind of fruit.")]

Standing = Annotated[
    LimbVerdict | None,
    About(
        "sure: the sure winters reach the level; likely: the expected ones do; open: only the "
        "possible ones do, it hangs on something not known; lacking; null: need not crop."
    ),
]
WintersSure = Annotated[
    Share | None, About("Share of winters, all that is unknown of the alleles at its worst.")
]
WintersExpected = Annotated[Share | None, About("Expected share of winters.")]
WintersPossible = Annotated[
    Share | None, About("Share of winters, all that is unknown of the alleles at its best.")
]
WintersLow = Annotated[
    Share | None, About("The expected share in one draw of ten: alleles and dates not known.")
]
WintersHigh = Annotated[Share | None, About("The expected share in nine draws of ten.")]

WintersError = Annotated[
    float | None, About("Standard error of the expected share for the number of draws.")
]


def standing(row: LimbCoverage | None) -> dict[str, Any]:
    """The verdict on a limb and its shares of winters, by the names of their keys."""
    shares = ("sure", "reliability", "possible_reliability", "low", "high", "error")
    keys = (
        "sure", "expected", "possible", "expected_low", "expected_high", "expected_error"
    )  # fmt: skip
    told = {
        f"winters_{key}": None if row is None else getattr(row, share)
        for key, share in zip(keys, shares, strict=True)
    }
    return {"verdict": None if row is None else row.verdict, **told}


@dataclass(frozen=True)
class Station:
    """A weather station near the site."""

    id: Annotated[str, About("WMO number.")]
    name: str
    country: Annotated[str, About("ISO 3166 code; NA is Namibia.")]
    km: Annotated[float, About("How far away it is. [km]")]
    elevation_m: Annotated[float, About("[m above the sea]")]


Stations = Annotated[
    tuple[Station, ...] | None,
    About("Nearest stations first; only where the winters were made from the climate of stations."),
]


def stations_of(climate: StationClimate | None) -> tuple[Station, ...] | None:
    """The stations nearest to a site; None: its winters are not made from such."""
    if climate is None:
        return None
    return tuple(
        Station(near.id, near.name, near.country, round(near.km, 1), near.elevation_m)
        for near in climate.nearest
    )


@dataclass(frozen=True)
class ToldBy:
    """A source that gives a value."""

    source: str
    status: Status


@dataclass(frozen=True)
class ValueTold:
    """One of several values that sources give."""

    value: str
    weight: Annotated[
        float,
        About("Chance that it is right, by which it is drawn; 0: outweighed, not used.", 0, 1),
    ]
    told_by: tuple[ToldBy, ...]
    note: Annotated[str, About("Why its weight is not that of its sources; empty: it is.")]


@dataclass(frozen=True)
class DisputeTold:
    """Values of one property that disagree, the likeliest first."""

    property: str
    values: tuple[ValueTold, ...]


def disputes_told(variety: Variety) -> tuple[DisputeTold, ...]:
    """What sources disagree about, of one variety."""
    return tuple(
        DisputeTold(
            dispute.property,
            tuple(
                ValueTold(
                    one.value,
                    round(one.weight, 3),
                    tuple(ToldBy(source, status) for source, status in one.told_by),
                    one.note,
                )
                for one in dispute.values
            ),
        )
        for dispute in variety.disputes
    )


@dataclass(frozen=True)
class UsualBloom:
    """Usual bloom at the site."""

    start: Annotated[str, About("10 % of flowers open, MM-DD.")]
    full: Annotated[str, About("Full bloom, MM-DD.")]
    end: Annotated[str, About("Petal fall, MM-DD.")]
    earliest: Annotated[str, About("First day in bloom over eight scenarios in ten, MM-DD.")]
    latest: Annotated[str, About("Last day in bloom over eight scenarios in ten, MM-DD.")]
    sd_days: Annotated[float, About("Standard deviation of full bloom here, all causes. [days]")]
    rests_on: Annotated[str, About("What the dates come from.")]


def usual_bloom(dates: BloomDates | None) -> UsualBloom | None:
    """Usual bloom as it is told; None where it is not known."""
    if dates is None:
        return None
    return UsualBloom(
        start=month_day(dates.start),
        full=month_day(dates.full),
        end=month_day(dates.end),
        earliest=month_day(dates.earliest),
        latest=month_day(dates.latest),
        sd_days=round(dates.sd_days, 2),
        rests_on=dates.rests_on,
    )


def month_day(day_of_year: int) -> str:
    """A day of the year, no leap day, as MM-DD."""
    return "{:02d}-{:02d}".format(*month_and_day(day_of_year))


@dataclass(frozen=True)
class Reason:
    """Why something is as it is: a stable word for programs and a sentence."""

    code: str
    text: str


@dataclass(frozen=True)
class Donor:
    """A donor with its figures for one limb."""

    id: str
    kind: Literal["limb", "neighbour", "candidate"]
    variety: str
    species: Fruit
    reliability: Annotated[Share, About("Scenarios in which it is a viable donor.")]
    overlap_days: Annotated[float, About("Usual shared bloom. [days]")]
    overlap_least_days: Annotated[float, About("In the winter with the least. [days]")]
    overlap_most_days: Annotated[float, About("In the winter with the most. [days]")]
    overlap_low_days: Annotated[
        float, About("Eight scenarios in ten lie between this and the next. [days]")
    ]
    overlap_high_days: Annotated[float, About("The upper end of these. [days]")]
    effective_days: Annotated[float, About("Weighted shared bloom. [days]")]
    compatible_fraction: Annotated[
        float | None, About("Share of its pollen that is accepted; null: not known.")
    ]
    chance_of_acceptance: Annotated[
        Share, About("Chance that any of its pollen is accepted; 1: known to be.")
    ]
    why: Annotated[str, About("What the alleles or the measured crosses say.")]
    strength: Strength
    distance_m: Annotated[float, About("From the limb; 0: in one place with it. [m]")]
    tree: Annotated[
        str | None,
        About("Tree that it stands on, or would be grafted on where it matters; null: none."),
    ]


def donor(share: DonorShare, node: Node, receiver: Node) -> Donor:
    """One donor of a limb as it is told."""
    return Donor(
        node.id,
        node.kind,
        node.variety.name,
        node.variety.species,
        share.reliability,
        round(share.overlap_days, 3),
        round(share.overlap_least_days, 3),
        round(share.overlap_most_days, 3),
        round(share.overlap_low_days, 3),
        round(share.overlap_high_days, 3),
        round(share.effective_days, 3),
        share.compatible_fraction if share.known else None,
        share.verdict.probability,
        verdict_sentence(share.verdict),
        strength_of(share.verdict),
        round(distance_m(node, receiver), 1),
        node.tree,
    )
