"""Small gardens of apples some of whose alleles nobody knows, for tests against brute force."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
from hypothesis import strategies as st

from pollinet.compatibility.drawn import DrawnCrosses, Genotypes
from pollinet.compatibility.tables import rule_index
from pollinet.compatibility.verdict_table import verdicts
from pollinet.domain import (
    Aim,
    Alternative,
    Fertility,
    FertilityRules,
    Fruit,
    Genotype,
    NetworkInput,
    Node,
    UsualFertility,
    VarietyId,
)
from pollinet.readers.disputes import with_alternatives

SHARES = {"S1": 0.4, "S2": 0.3, "S3": 0.2, "S5": 0.1}
FRUIT = Fruit("apple", "Malus domestica", "gametophytic", "apple", 2, False)
WINTERS, DRAWS = 5, 8


@dataclass(frozen=True, eq=False)
class Scene:
    """A garden in short.

    alleles : of each node; None: not known at all, `?`: one of them is not, `/` between those that
        sources disagree about, `self` for a side on which it is self-fertile.
    kinds : of each node, as in `Node`; `pollen` is a candidate that need not crop.
    together : shape (nodes, winters): in which winters a node blooms early, else late; only those
        in bloom at the same time serve each other.
    """

    alleles: tuple[str | None, ...]
    kinds: tuple[str, ...]
    together: np.ndarray
    donors: int = 1
    level: float = 0.8


def open_garden(scene: Scene) -> NetworkInput:
    """The network of a scene; unknown genotypes are drawn."""
    varieties = [variety(f"v{i}", told) for i, told in enumerate(scene.alleles)]
    nodes = [
        Node(
            v.id.name,
            "candidate" if kind == "pollen" else kind,  # type: ignore[arg-type]
            v.id,
            v.clone,
            must_crop=kind in ("limb", "candidate"),
        )
        for v, kind in zip(varieties, scene.kinds, strict=True)
    ]
    aim = Aim(donors=scene.donors, level=scene.level)
    return network_of(varieties, nodes, scene.together, rules(), aim, draws=DRAWS)


def rules(odd: float = 0.0) -> FertilityRules:
    """odd : share of varieties with an odd number of sets."""
    usual = {"apple": UsualFertility(odd_ploidy=odd)}
    return FertilityRules({"apple": FRUIT}, allele_frequencies={"apple": SHARES}, usual=usual)


def variety(name: str, alleles: str | None, ploidy: int | None = 2) -> Fertility:
    """alleles : as in `Scene`."""
    sides = [
        Alternative(1.0, _genotype(side), ploidy, self_fertile=side == "self")
        for side in ([None] if alleles is None else alleles.split("/"))
    ]
    return with_alternatives(Fertility(VarietyId("apple", name), name), sides)


def _genotype(alleles: str | None) -> Genotype | None:
    if alleles is None or alleles == "self":
        return None
    told = tuple(a for a in alleles.split() if a != "?")
    return Genotype(told, "?" not in alleles.split())


def network_of(
    varieties: Sequence[Fertility],
    nodes: Sequence[Node],
    together: np.ndarray,
    told: FertilityRules,
    aim: Aim,
    *,
    draws: int,
    seed: int = 3,
) -> NetworkInput:
    """A garden whose nodes bloom early or late, shape (nodes, winters), the same in all draws."""
    table, known = verdicts(varieties, told), {v.id: v for v in varieties}
    start = np.tile(np.where(together, 0.0, 2400.0), (1, draws))
    return NetworkInput(
        tuple(nodes), start, start + 240.0, start.copy(), start + 240.0,
        table, np.ones((len(nodes),) * 2), np.ones(start.shape),
        np.ones(start.shape), aim, winters=together.shape[1],
        drawn=DrawnCrosses(table, Genotypes(rule_index(told), known, draws=draws, seed=seed)),
    )  # fmt: skip


@st.composite
def scenes(draw: st.DrawFn, *, candidates: int) -> Scene:
    """One to three limbs, perhaps a neighbour's tree, and so many candidates."""
    limbs = draw(st.integers(1, 3))
    kinds = ["limb"] * limbs + ["neighbour"] * draw(st.integers(0, 1))
    kinds += draw(
        st.lists(st.sampled_from(["candidate", "pollen"]), min_size=candidates, max_size=candidates)
    )
    told = st.sampled_from(
        [None, "S1 S2", "S1 S3", "S2 S3", "S1 ?", "S3 ?", "S2 S5", "S1 S2/S3 S5", "S1 S2/self"]
    )
    alleles = draw(st.lists(told, min_size=len(kinds), max_size=len(kinds)))
    # Mostly together, or there is nothing to find.
    winter = st.sampled_from([True, True, True, False])
    flat = draw(st.lists(winter, min_size=len(kinds) * WINTERS, max_size=len(kinds) * WINTERS))
    return Scene(
        tuple(alleles), tuple(kinds), np.array(flat).reshape(len(kinds), WINTERS),
        draw(st.sampled_from([1, 1, 2])), draw(st.sampled_from([0.4, 0.8])),
    )  # fmt: skip
