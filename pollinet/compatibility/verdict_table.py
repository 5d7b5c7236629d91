"""The verdicts among many varieties: one for all pairs that behave alike."""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass, field, replace
from functools import cached_property
from itertools import product

import numpy as np
from numpy.typing import NDArray

from pollinet.compatibility.tables import RuleIndex, pairs_on, rule_index, same_variety
from pollinet.compatibility.verdict import indexed_verdict, rule_verdict
from pollinet.domain import BoolArray, Fertility, FertilityRules, VarietyId, Verdict

Indices = NDArray[np.int64]


def verdicts(fertilities: Sequence[Fertility], rules: FertilityRules) -> VerdictTable:
    """The verdict on every ordered pair `(donor index, receiver index)`, own pollen included."""
    return VerdictTable(fertilities, Crossings(rule_index(rules)))


class Crossings:
    """Verdicts under one set of rules, each worked out once and kept.

    The rules are asked once for each pair of different genotypes and flags, not of varieties:
    most varieties of a catalogue share theirs with others.
    """

    def __init__(self, index: RuleIndex) -> None:
        self._index = index
        self._kinds: dict[Fertility, int] = {}
        self._kind_of: dict[VarietyId, tuple[Fertility, int]] = {}
        self._of_kinds: dict[tuple[int, int], Verdict] = {}
        self._of_pair: dict[tuple[VarietyId, VarietyId], tuple[Fertility, Fertility, Verdict]] = {}

    def verdict(self, donor: Fertility, receiver: Fertility) -> Verdict:
        """`cross_verdict` of two varieties."""
        # One variety and published rows: for these the names matter.
        if same_variety(donor, receiver) or pairs_on(donor, receiver, self._index):
            return self._named(donor, receiver)
        kinds = (self.kind(donor), self.kind(receiver))
        if kinds not in self._of_kinds:
            self._of_kinds[kinds] = rule_verdict(donor, receiver, self._index)
        return renamed(self._of_kinds[kinds], donor.id, receiver.id)

    def kind(self, fertility: Fertility) -> int:
        """A number that varieties share whose genotypes and flags are the same."""
        kept = self._kind_of.get(fertility.id)
        if kept is None or kept[0] is not fertility:
            kept = fertility, self._kinds.setdefault(nameless(fertility), len(self._kinds))
            self._kind_of[fertility.id] = kept
        return kept[1]

    def named(self, fertilities: Sequence[Fertility]) -> BoolArray:
        """For which pairs of donor and receiver their names matter, shape (N, N)."""
        names, clones = _places(fertilities, "name"), _places(fertilities, "clone")
        found = np.zeros((len(fertilities), len(fertilities)), dtype=bool)
        for own in clones.values():
            found[np.ix_(own, own)] = True
        for places in (names, clones):
            for (species, female), receivers in places.items():
                for male in self._males.get((species, female), ()):
                    found[np.ix_(places.get((species, male), []), receivers)] = True
        return found

    @cached_property
    def _males(self) -> Mapping[tuple[str, str], tuple[str, ...]]:
        """By species and mother the fathers of which something is published."""
        found: dict[tuple[str, str], tuple[str, ...]] = {}
        for species, female, male in self._index.pairs:
            found[species, female] = (*found.get((species, female), ()), male)
        return found

    def _named(self, donor: Fertility, receiver: Fertility) -> Verdict:
        kept = self._of_pair.get((donor.id, receiver.id))
        if kept is None or kept[0] is not donor or kept[1] is not receiver:
            kept = donor, receiver, indexed_verdict(donor, receiver, self._index)
            self._of_pair[donor.id, receiver.id] = kept
        return kept[2]


def _places(fertilities: Sequence[Fertility], by: str) -> dict[tuple[str, str], list[int]]:
    """By species and name or clone, who is called so."""
    found: dict[tuple[str, str], list[int]] = {}
    for place, own in enumerate(fertilities):
        name = own.clone if by == "clone" else own.id.name
        found.setdefault((own.id.species, name), []).append(place)
    return found


@dataclass
class _Numbers:
    """Different verdicts, numbered in the order in which they were first asked for.

    kind : shape (N,), the kind of each variety, counted from 0 within the table.
    named : shape (N, N), pairs whose names matter.
    of_kinds : shape (kinds, kinds), the number of a verdict; -1: not asked for yet.
    """

    kind: Indices
    named: BoolArray
    of_kinds: Indices
    of_named: dict[tuple[int, int], int] = field(default_factory=dict)
    verdicts: list[Verdict] = field(default_factory=list)


class VerdictTable(Mapping[tuple[int, int], Verdict]):
    """All verdicts among some varieties; a verdict is made when it is looked up."""

    def __init__(self, fertilities: Sequence[Fertility], crossings: Crossings) -> None:
        self.fertilities = tuple(fertilities)
        self._crossings = crossings

    def __getitem__(self, pair: tuple[int, int]) -> Verdict:
        donor, receiver = pair
        count = len(self.fertilities)
        if not (0 <= donor < count and 0 <= receiver < count):
            raise KeyError(pair)
        return self._crossings.verdict(self.fertilities[donor], self.fertilities[receiver])

    def __iter__(self) -> Iterator[tuple[int, int]]:
        places = range(len(self.fertilities))
        return product(places, places)

    def __len__(self) -> int:
        return len(self.fertilities) ** 2

    def kept(self, nodes: Sequence[int]) -> VerdictTable:
        """The verdicts among some of the varieties, which get new numbers."""
        return VerdictTable([self.fertilities[node] for node in nodes], self._crossings)

    def of(self, donors: Indices, receivers: Indices) -> list[Verdict]:
        """The verdict on each of many pairs; shape (P,) both, or (1,) for all."""
        places, verdicts = self.alike(donors, receivers)
        names = [own.id for own in self.fertilities]
        givers, takers = (side.tolist() for side in np.broadcast_arrays(donors, receivers))
        return [
            renamed(verdicts[place], names[giver], names[taker])
            for place, giver, taker in zip(places.tolist(), givers, takers, strict=True)
        ]

    def alike(self, donors: Indices, receivers: Indices) -> tuple[Indices, list[Verdict]]:
        """The verdicts on many pairs at once, each different one only once.

        donors, receivers : indices that broadcast to the shape of the pairs.

        Returns
        -------
        The place of each pair's verdict in the list, in the shape of the pairs; and the verdicts,
        which are those of the pairs in all but the names of the two varieties.
        """
        numbers = self._numbers
        donors, receivers = np.broadcast_arrays(donors, receivers)
        giving, taking = numbers.kind[donors], numbers.kind[receivers]
        named = numbers.named[donors, receivers]
        found = numbers.of_kinds[giving, taking]
        new = ~named & (found < 0)
        if new.any():
            # One pair stands for all of its kinds.
            model = np.full((2, *numbers.of_kinds.shape), -1, dtype=np.int64)
            model[:, giving[new], taking[new]] = donors[new], receivers[new]
            for kinds in zip(*(side.tolist() for side in np.nonzero(model[0] >= 0)), strict=True):
                pair = model[:, *kinds].tolist()
                numbers.of_kinds[kinds] = self._numbered(*pair)
            found = numbers.of_kinds[giving, taking]
        if named.any():
            each = zip(donors[named].tolist(), receivers[named].tolist(), strict=True)
            found[named] = [self._number_of_named(pair) for pair in each]
        asked = np.zeros(len(numbers.verdicts), dtype=bool)
        asked[found] = True
        places = np.cumsum(asked) - 1
        return places[found], [numbers.verdicts[number] for number in np.flatnonzero(asked)]

    @cached_property
    def _numbers(self) -> _Numbers:
        kinds = [self._crossings.kind(own) for own in self.fertilities]
        place = {kind: i for i, kind in enumerate(dict.fromkeys(kinds))}
        return _Numbers(
            np.array([place[kind] for kind in kinds], dtype=np.int64),
            self._crossings.named(self.fertilities),
            np.full((len(place), len(place)), -1, dtype=np.int64),
        )

    def _numbered(self, donor: int, receiver: int) -> int:
        self._numbers.verdicts.append(self[donor, receiver])
        return len(self._numbers.verdicts) - 1

    def _number_of_named(self, pair: tuple[int, int]) -> int:
        of_named = self._numbers.of_named
        if pair not in of_named:
            of_named[pair] = self._numbered(*pair)
        return of_named[pair]


def nameless(fertility: Fertility) -> Fertility:
    """A variety's fertility without its name: equal for all varieties that behave alike."""
    return replace(fertility, id=VarietyId(fertility.id.species, ""), clone="")


def renamed(verdict: Verdict, donor: VarietyId, receiver: VarietyId) -> Verdict:
    """The same verdict for two other varieties."""
    # `dataclasses.replace` sets field by field and is four times slower, a million times.
    other = object.__new__(Verdict)
    vars(other).update(vars(verdict), donor=donor, receiver=receiver)
    return other
