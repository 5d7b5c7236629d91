"""The log → trees under suspicion of a disease that goes with wood, blossom and knife."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from typing import Literal

from pollinet.domain import Limb, Neighbour, Observation, Plan

Ill = Literal["fire blight", "bacterial canker"]

POME = ("apple", "pear", "nashi", "hybrid pear")
STONE = (
    *("sweet cherry", "sour cherry", "European plum", "Japanese plum"),
    *("peach", "apricot", "almond"),
)
SIGNS: dict[Ill, tuple[tuple[str, ...], frozenset[str]]] = {
    "fire blight": (POME, frozenset({"ooze", "crook", "blackened"})),
    "bacterial canker": (STONE, frozenset({"canker"})),
}
"""Fruits and signs of each. Fire blight as in `causes.csv` (extension.illinois.edu/hortanswers);
bacterial canker of stone fruit (Pseudomonas syringae): memory. Blossom blast blackens clusters,
too; which it is only a laboratory tells, so that each of the signs alone is a suspicion."""

YEARS = 2
"""So many of the last years noted count. Common practice, no source."""


@dataclass(frozen=True)
class Suspicion:
    """A tree, of the grower's own or next door, with signs noted of a disease.

    holder : id of the tree. signs : (limb, sign, year) as noted, in order, each once.
    """

    holder: str
    ill: Ill
    signs: tuple[tuple[str, str, int], ...]


def suspicions(plan: Plan, seen: Sequence[Observation]) -> tuple[Suspicion, ...]:
    """Trees under suspicion, in the order of the plan, neighbours' last.

    A sign counts in the last `YEARS` in which anything was noted of its tree: time alone clears
    nobody, as cankers carry the bacteria on.
    """
    holders: list[tuple[str, str, Sequence[Limb | Neighbour]]] = [
        *((tree.id, tree.species, tree.limbs) for tree in plan.trees),
        *((near.id, near.variety.species, (near,)) for near in plan.neighbours),
    ]
    found = (_of(holder, species, parts, seen) for holder, species, parts in holders)
    return tuple(one for one in found if one is not None)


def _of(
    holder: str, species: str, parts: Sequence[Limb | Neighbour], seen: Sequence[Observation]
) -> Suspicion | None:
    ids = {part.id for part in parts}
    own = [one for one in seen if one.limb in ids]
    noted = [one for one in own if one.kind == "disease"]
    last = max((one.year for one in own), default=0)
    for ill, (fruits, signs) in SIGNS.items():
        told = dict.fromkeys(
            (one.limb, one.word, one.year)
            for one in noted
            if one.word in signs and one.year > last - YEARS
        )
        if species in fruits and told:
            return Suspicion(holder, ill, tuple(told))
    return None
