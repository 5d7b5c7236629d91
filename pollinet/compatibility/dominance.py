"""What hazelnut pollen shows of two alleles: the known order of dominance, and what follows of it.

The order is a line of levels: an allele hides all on lower levels, and those of one level are both
shown. So what two rows say of three alleles says something of the third pair; of a pair that no
row reaches nothing is known.

References
----------
Mehlenbacher 1997 (a line of eight levels); the rows stand in the catalogue, each with its source.
"""

from __future__ import annotations

from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass, field

from pollinet.compatibility.chances import subsets
from pollinet.domain import DominanceFact, Genotype

Pair = frozenset[str]


@dataclass(frozen=True)
class DominanceOrder:
    """What is known of pairs of alleles.

    shown : by pair, the alleles that the pollen shows.
    facts : by pair, the rows that this rests on.
    alone : alleles that share their level with no other: never both are shown.
    """

    shown: Mapping[Pair, frozenset[str]] = field(default_factory=dict)
    facts: Mapping[Pair, tuple[DominanceFact, ...]] = field(default_factory=dict)
    alone: frozenset[str] = frozenset()

    def cases(self, carried: Iterable[str]) -> list[frozenset[str]]:
        """What the pollen of a plant with these alleles may show; one case where it is known."""
        alleles = frozenset(carried)
        if alleles in self.shown:
            return [self.shown[alleles]]
        most = 1 if alleles & self.alone else len(alleles)
        return [case for case in subsets(alleles) if 0 < len(case) <= most]

    def behind(self, genotype: Genotype | None) -> tuple[DominanceFact, ...]:
        """The rows that tell what a genotype's pollen shows, where no source tells it itself."""
        if genotype is None or not genotype.complete or genotype.pollen_alleles is not None:
            return ()
        return self.facts.get(frozenset(genotype.alleles), ())

    def shown_by(self, genotype: Genotype | None) -> tuple[str, ...] | None:
        """What a genotype's pollen shows; None: not known. A source on the variety goes first."""
        if genotype is None or genotype.pollen_alleles is not None:
            return genotype.pollen_alleles if genotype else None
        cases = self.cases(genotype.alleles) if genotype.complete else []
        return tuple(sorted(cases[0])) if len(cases) == 1 else None


def dominance_order(name_space: str, facts: Sequence[DominanceFact]) -> DominanceOrder:
    """The order of one name space, with all that follows of its rows.

    A pair with a row of its own keeps it; one of which the rows say both ways is not known.
    """
    every = [fact for fact in facts if fact.name_space == name_space]
    alone = frozenset(fact.allele for fact in every if fact.shown == "one")
    own = [fact for fact in every if fact.shown != "one"]
    below: dict[str, list[tuple[str, bool, DominanceFact]]] = {}
    for fact in own:
        strict = fact.shown == "first"
        below.setdefault(fact.allele, []).append((fact.other, strict, fact))
        if not strict:
            below.setdefault(fact.other, []).append((fact.allele, False, fact))
    hidden = {allele: _reached(allele, below) for allele in sorted(below)}
    shown: dict[Pair, frozenset[str]] = {}
    ways: dict[Pair, tuple[DominanceFact, ...]] = {}
    for allele, found in hidden.items():
        for (other, strict), way in sorted(found.items(), key=lambda item: item[0]):
            if (allele, True) in hidden.get(other, {}) or (not strict and (other, True) in found):
                continue
            pair = frozenset((allele, other))
            shown[pair] = frozenset((allele,)) if strict else pair
            ways[pair] = way
    for fact in reversed(own):
        pair = frozenset((fact.allele, fact.other))
        shown[pair] = frozenset((fact.allele,)) if fact.shown == "first" else pair
        ways[pair] = (fact,)
    return DominanceOrder(shown, ways, alone)


def _reached(
    start: str, below: Mapping[str, list[tuple[str, bool, DominanceFact]]]
) -> dict[tuple[str, bool], tuple[DominanceFact, ...]]:
    """Alleles on the level of one and below, whether below, by the shortest way of rows."""
    found: dict[tuple[str, bool], tuple[DominanceFact, ...]] = {}
    edge: list[tuple[str, bool, tuple[DominanceFact, ...]]] = [(start, False, ())]
    while edge:
        following = []
        for allele, strict, way in edge:
            for other, lower, fact in below.get(allele, ()):
                place = other, strict or lower
                if other != start and place not in found:
                    found[place] = (*way, fact)
                    following.append((*place, found[place]))
        edge = following
    return found
