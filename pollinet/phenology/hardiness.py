"""Whether a tree lives through the winters of a place: their coldest nights against its zone."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Literal

from pollinet.domain import FloatArray

ZONE_C = 50 / 9
"""Width of a hardiness zone, 10 °F. USDA Plant Hardiness Zone Map. [°C]"""

Verdict = Literal["lives", "doubtful", "killed"]


@dataclass(frozen=True)
class WinterCold:
    """The winters of a place against the coldest that a tree is said to live through.

    zone : coldest hardiness zone. own : told of the variety, else usual for its fruit.
    limit_c : lowest usual minimum of that zone. usual_c : mean of the lowest minima of the winters.
    coldest_c : the lowest of all. [°C]
    colder : share of winters that are colder than the limit.
    """

    zone: float
    own: bool
    limit_c: float
    usual_c: float
    coldest_c: float
    colder: float
    verdict: Verdict


def zone_limit_c(zone: float) -> float:
    """The lowest mean annual minimum of a hardiness zone: zone 1 begins at -60 °F. [°C]

    USDA Plant Hardiness Zone Map: zones are of 10 °F, by the mean of the annual minima.
    """
    return (-60 + 10 * (zone - 1) - 32) / 1.8


def winter_cold(zone: float, minima_c: FloatArray, *, own: bool) -> WinterCold:
    """Judge the lowest minima of the winters of a place, one or more. [°C]

    Zones are of mean minima, so a tree of the zone outlives some winters below its limit; one that
    is colder by a whole zone may kill it. A zone that is only usual for the fruit says less of the
    variety, so that it rules out only where the mean, too, is colder by a whole zone. Own
    convention.
    """
    limit, usual, coldest = zone_limit_c(zone), float(minima_c.mean()), float(minima_c.min())
    verdict: Verdict = "lives"
    if usual < limit or coldest < limit - ZONE_C:
        verdict = "doubtful"
    if usual < limit - (0 if own else ZONE_C):
        verdict = "killed"
    return WinterCold(
        zone, own, limit, usual, coldest, float((minima_c < limit).mean()), verdict
    )  # fmt: skip
