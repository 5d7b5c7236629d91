"""Who gives and who receives pollen: limbs of one variety together, in the order of bloom."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from math import inf
from typing import Literal, TypeAlias

from pollinet.charts.verdicts import ATTENTION
from pollinet.domain import NetworkInput, VarietyId
from pollinet.language import _, ngettext, number
from pollinet.network.coverage import DonorShare, LimbCoverage
from pollinet.network.graph import EdgeStrength
from pollinet.summary.limbs import name_beside

MOST_PARTIES = 12
"""With more receivers than these, a picture shows those alone that need something."""

Service: TypeAlias = Literal["alone", "helps", "unknown"]
"""What a donor does for a limb: it carries it, serves it in some winters, or nobody knows."""


@dataclass(frozen=True)
class Giver:
    """Limbs or trees next door of one variety. nodes : of these."""

    label: str
    nodes: tuple[int, ...]
    next_door: bool = False


@dataclass(frozen=True)
class Receiver:
    """Limbs of one variety that fare alike. row : the coverage of the first of them."""

    label: str
    nodes: tuple[int, ...]
    row: LimbCoverage

    @property
    def needs(self) -> bool:
        """Whether they need attention."""
        return self.row.verdict in ATTENTION


def givers_of(
    network: NetworkInput, species: str, order: Mapping[VarietyId, float]
) -> tuple[Giver, ...]:
    """All that stand here or next door, of one fruit; order : full bloom of each variety."""
    found: dict[tuple[VarietyId, bool], list[int]] = {}
    for place, node in enumerate(network.nodes):
        if node.variety.species == species and node.kind != "candidate":
            found.setdefault((node.variety, node.kind == "neighbour"), []).append(place)
    return tuple(
        Giver(_named(network, places), tuple(places), away)
        for (variety, away), places in sorted(
            found.items(), key=lambda item: (order.get(item[0][0], inf), item[0])
        )
    )


def receivers_of(
    network: NetworkInput,
    coverage: Sequence[LimbCoverage],
    species: str,
    order: Mapping[VarietyId, float],
) -> tuple[Receiver, ...]:
    """Limbs of one fruit that are to crop; those of one variety and verdict on a tree together."""
    found: dict[tuple[VarietyId, str, str], list[LimbCoverage]] = {}
    for row in coverage:
        node = network.nodes[row.node]
        if node.variety.species == species:
            found.setdefault((node.variety, node.tree or "", row.verdict), []).append(row)
    return tuple(
        Receiver(_named(network, [row.node for row in rows]), tuple(r.node for r in rows), rows[0])
        for key, rows in sorted(
            found.items(), key=lambda item: (order.get(item[0][0], inf), item[0])
        )
    )


def shares_of(receiver: Receiver, givers: Sequence[Giver]) -> list[tuple[Giver, DonorShare]]:
    """The donors of a receiver, best first, each variety once; not its own pollen."""
    found: dict[Giver, DonorShare] = {}
    for share in receiver.row.donors:
        giver = next((giver for giver in givers if share.node in giver.nodes), None)
        if giver is not None and share.node not in receiver.nodes:
            found.setdefault(giver, share)
    return list(found.items())


def service(share: DonorShare, strength: EdgeStrength) -> Service:
    """What a donor is to a limb, by its winters and what is known of it."""
    if not share.known:
        return "unknown"
    return "helps" if strength == "rare" else "alone"


def others_told(number_covered: int) -> str:
    """How many are left out of a picture because they need nothing."""
    return ngettext(
        "{number} other has a donor.", "{number} others have a donor.", number_covered
    ).format(number=number_covered)


def _named(network: NetworkInput, places: Sequence[int]) -> str:
    """`Elstar · A-top, A-low`; of neighbours how far away they stand."""
    nodes = [network.nodes[place] for place in places]
    told = [
        _("{distance} m away").format(distance=number(node.distance_m))
        if node.kind == "neighbour"
        else node.id
        for node in nodes
    ]
    name = name_beside(nodes[0].variety.name, [node.id for node in nodes])
    return f"{name} · {', '.join(told)}"
