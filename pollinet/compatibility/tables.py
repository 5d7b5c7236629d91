"""The tables of the fertility rules, laid out for looking up."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field

from pollinet.compatibility.gametophytic import SLocus, s_locus
from pollinet.compatibility.genotypes import Layouts, Possible
from pollinet.domain import (
    CrossingRule,
    Fertility,
    FertilityRules,
    Fruit,
    MeasuredPair,
    UsualFertility,
)
from pollinet.errors import PollinetError


@dataclass(frozen=True)
class RuleIndex:
    """The tables of `FertilityRules`, laid out for looking up."""

    fruits: Mapping[str, Fruit]
    loci: Mapping[str, SLocus]
    pairs: Mapping[tuple[str, str, str], tuple[MeasuredPair, ...]]
    crossings: Mapping[tuple[str, str], CrossingRule]
    usual: Mapping[str, UsualFertility]
    layouts: Layouts = field(default_factory=Layouts, compare=False, repr=False)

    def laid_out(self, own: Fertility) -> Possible:
        """All genotypes that a variety may have, by its own alleles and parents."""
        return self.layouts.of(own, self.fruit(own.id.species), self.loci[own.id.species])

    def usual_of(self, species: str) -> UsualFertility:
        """What is usual among the varieties of a fruit."""
        return self.usual.get(species, UsualFertility())

    def fruit(self, species: str) -> Fruit:
        """The fruit of a variety; raises `PollinetError` where its tables were not loaded."""
        if species not in self.fruits:
            raise PollinetError(f"the fertility rules of {species} were not loaded")
        return self.fruits[species]


def rule_index(rules: FertilityRules) -> RuleIndex:
    """Lay out the tables once for many verdicts."""
    pairs: dict[tuple[str, str, str], tuple[MeasuredPair, ...]] = {}
    for pair in rules.pairs:
        key = (pair.species, pair.female, pair.male)
        pairs[key] = (*pairs.get(key, ()), pair)
    return RuleIndex(
        fruits=rules.fruits,
        loci={name: s_locus(fruit, rules) for name, fruit in rules.fruits.items()},
        pairs=pairs,
        crossings={(rule.donor, rule.receiver): rule for rule in rules.crossings},
        usual=rules.usual,
    )


def pairs_on(donor: Fertility, receiver: Fertility, index: RuleIndex) -> tuple[MeasuredPair, ...]:
    """What is published on this pair; under the parents' names where a sport has no rows."""
    if donor.id.species != receiver.id.species:
        return ()
    species = donor.id.species
    return index.pairs.get((species, receiver.id.name, donor.id.name)) or index.pairs.get(
        (species, receiver.clone, donor.clone), ()
    )
