"""The verdicts among many varieties: one for all pairs that behave alike."""

from __future__ import annotations

from collections.abc import Collection, Iterator, Mapping, Sequence
from functools import cached_property
from itertools import product
from typing import Final, NamedTuple

import numpy as np
from numpy.typing import NDArray

from pollinet.compatibility.likeness import nameless, same_variety
from pollinet.compatibility.tables import RuleIndex, pairs_on, rule_index
from pollinet.compatibility.verdict import indexed_verdict, rule_verdict
from pollinet.domain import BoolArray, Fertility, FertilityRules, FloatArray, VarietyId, Verdict

Indices = NDArray[np.int64]


def verdicts(fertilities: Sequence[Fertility], rules: FertilityRules) -> VerdictTable:
    """The verdict on every ordered pair `(donor index, receiver index)`, own pollen included."""
    return VerdictTable(fertilities, Crossings(rule_index(rules)))


ANSWERS: Final = {"no": (1, 0.0), "unknown": (2, 0.0), "half": (3, 0.5), "yes": (4, 1.0)}
"""What an answer is in arrays, and the share of the pollen where none is told."""

HALF: Final = ANSWERS["half"][0]

OTHER_FRUIT: Final = "other-fruit"
"""Code of a verdict that holds for all varieties of the two kinds of fruit."""


class _Numbers(NamedTuple):
    """What tells one variety from another in crosses, as numbers.

    kind : shared by varieties whose genotypes and flags are the same. clone : shared by clones.
    fruit : its kind of fruit.
    name, parent : its own name, and that of its clone, among those of which crosses are
        published; -1: none is.
    """

    kind: int
    clone: int
    name: int
    parent: int
    fruit: int


class Answers:
    """What verdicts say, as arrays by their numbers.

    answer : 1 no, 2 unknown, 3 half, 4 yes. fraction : share of the pollen that is accepted; where
        it is accepted and no share is told, 1 or ½; 0 where it is refused or unknown.
    """

    def __init__(self) -> None:
        self._told: list[tuple[int, float, int]] = []
        self._codes: dict[str, int] = {}
        self._table: FloatArray = np.zeros((0, 3))

    def add(self, verdict: Verdict) -> None:
        """Take the next verdict."""
        answer, share = ANSWERS[verdict.answer]
        accepted = answer >= HALF and verdict.fraction is not None
        code = self._codes.setdefault(verdict.code, len(self._codes))
        self._told.append((answer, verdict.fraction or 0.0 if accepted else share, code))

    @property
    def answer(self) -> NDArray[np.int8]:
        """By number."""
        return np.asarray(self._rows[:, 0], dtype=np.int8)

    @property
    def fraction(self) -> FloatArray:
        """By number."""
        return self._rows[:, 1]

    def coded(self, numbers: Indices, codes: Collection[str]) -> BoolArray:
        """Which of some verdicts, by number, have one of these codes."""
        asked = [self._codes[code] for code in codes if code in self._codes]
        return np.isin(self._rows[numbers, 2], asked)

    @property
    def _rows(self) -> FloatArray:
        if len(self._table) < len(self._told):
            new = np.array(self._told[len(self._table) :])
            self._table = np.concatenate([self._table, new])
        return self._table


class Crossings:
    """Verdicts under one set of rules, each worked out once, numbered and kept.

    The rules are asked once for each pair of different genotypes and flags, not of varieties:
    most varieties of a catalogue share theirs with others.

    different : the verdicts by number. answers : what they say, as arrays. of_kinds : the number by
    the kinds of donor and receiver, at least as large as there are kinds; -1: not asked for yet.
    """

    def __init__(self, index: RuleIndex) -> None:
        self._index = index
        self._kinds: dict[Fertility, int] = {}
        self._clones: dict[tuple[str, str], int] = {}
        self._fruits: dict[str, int] = {}
        self._numbers: dict[VarietyId, tuple[Fertility, _Numbers]] = {}
        self._of_pair: dict[tuple[VarietyId, VarietyId], tuple[Fertility, Fertility, int]] = {}
        self._of_fruits: dict[tuple[str, str], int] = {}
        self.different: list[Verdict] = []
        self.of_kinds: Indices = np.full((8, 8), -1, dtype=np.int64)
        self.answers = Answers()

    def verdict(self, donor: Fertility, receiver: Fertility) -> Verdict:
        """`cross_verdict` of two varieties."""
        return renamed(self.different[self.number(donor, receiver)], donor.id, receiver.id)

    def number(self, donor: Fertility, receiver: Fertility) -> int:
        """The number of their verdict, which is another's in all but the names."""
        # One variety and published rows: for these the names matter.
        if same_variety(donor, receiver) or pairs_on(donor, receiver, self._index):
            return self.named(donor, receiver)
        return self.by_rules(donor, receiver)

    def by_rules(self, donor: Fertility, receiver: Fertility) -> int:
        """The same of a pair whose names do not matter."""
        kinds = self.numbers(donor).kind, self.numbers(receiver).kind
        found = int(self.of_kinds[kinds])
        if found < 0:
            fruits = donor.id.species, receiver.id.species
            found = self._of_fruits.get(fruits, -1)
            if found < 0:
                verdict = rule_verdict(donor, receiver, self._index)
                found = self._kept(verdict)
                if verdict.code == OTHER_FRUIT:
                    self._of_fruits[fruits] = found
            self.of_kinds[kinds] = found
        return found

    def numbers(self, fertility: Fertility) -> _Numbers:
        """What tells a variety from others in crosses."""
        kept = self._numbers.get(fertility.id)
        if kept is None or kept[0] is not fertility:
            species, clone = fertility.id.species, fertility.clone
            kind = self._kinds.setdefault(nameless(fertility), len(self._kinds))
            if kind >= len(self.of_kinds):
                self.of_kinds = np.pad(self.of_kinds, (0, kind), constant_values=-1)
            numbers = _Numbers(
                kind,
                self._clones.setdefault((species, clone), len(self._clones)),
                self._published_names.get((species, fertility.id.name), -1),
                self._published_names.get((species, clone), -1),
                self._fruits.setdefault(species, len(self._fruits)),
            )
            kept = self._numbers[fertility.id] = fertility, numbers
        return kept[1]

    @cached_property
    def published(self) -> BoolArray:
        """Of which father and mother, by number, a cross is published; row and column -1: none."""
        count = len(self._published_names) + 1
        found = np.zeros((count, count), dtype=bool)
        for species, female, male in self._index.pairs:
            names = (species, male), (species, female)
            found[tuple(self._published_names[name] for name in names)] = True
        return found

    @cached_property
    def _published_names(self) -> Mapping[tuple[str, str], int]:
        both = ((species, name) for species, *names in sorted(self._index.pairs) for name in names)
        return {name: number for number, name in enumerate(dict.fromkeys(both))}

    def named(self, donor: Fertility, receiver: Fertility) -> int:
        """The same of one variety, or of a pair of which something is published."""
        kept = self._of_pair.get((donor.id, receiver.id))
        if kept is None or kept[0] is not donor or kept[1] is not receiver:
            number = self._kept(indexed_verdict(donor, receiver, self._index))
            kept = self._of_pair[donor.id, receiver.id] = donor, receiver, number
        return kept[2]

    def _kept(self, verdict: Verdict) -> int:
        self.different.append(verdict)
        self.answers.add(verdict)
        return len(self.different) - 1


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

    def code(self, donor: int, receiver: int) -> str:
        """The code of the verdict on a pair."""
        number = self._crossings.number(self.fertilities[donor], self.fertilities[receiver])
        return self._crossings.different[number].code

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
        found = self.numbers(donors, receivers)
        asked = np.zeros(len(self._crossings.different), dtype=bool)
        asked[found] = True
        places = np.cumsum(asked) - 1
        return places[found], [self._crossings.different[i] for i in np.flatnonzero(asked).tolist()]

    @property
    def answers(self) -> Answers:
        """What the verdicts say, by number."""
        return self._crossings.answers

    def verdict(self, number: int, donor: int, receiver: int) -> Verdict:
        """The verdict of a number, on this pair of nodes."""
        each, kept = self.fertilities, self._crossings.different[number]
        return renamed(kept, each[donor].id, each[receiver].id)

    def numbers(self, donors: Indices, receivers: Indices) -> Indices:
        """The number of the verdict on each of many pairs; indices that broadcast."""
        crossings, own = self._crossings, self._of_each
        donors, receivers = np.broadcast_arrays(donors, receivers)
        giving, taking = own.kind[donors], own.kind[receivers]
        named = own.clone[donors] == own.clone[receivers]
        for names in (own.name, own.parent):
            named |= crossings.published[names[donors], names[receivers]]
        found = crossings.of_kinds[giving, taking]
        new = ~named & (found < 0)
        if new.any():
            # One pair stands for all of its kinds.
            kinds = giving[new] * len(crossings.of_kinds) + taking[new]
            models = np.unique(kinds, return_index=True)[1]
            models = models[~self._apart(donors[new][models], receivers[new][models])]
            for pair in self._pairs(donors[new][models], receivers[new][models]):
                crossings.by_rules(*pair)
            found[new] = crossings.of_kinds[giving[new], taking[new]]
        if named.any():
            each = self._pairs(donors[named], receivers[named])
            found[named] = [crossings.named(*pair) for pair in each]
        return found

    def _apart(self, donors: Indices, receivers: Indices) -> BoolArray:
        """Which of some pairs are of fruits that never set each other; their kinds get numbers."""
        crossings, own = self._crossings, self._of_each
        apart = np.zeros(donors.size, dtype=bool)
        fruits = np.stack([own.fruit[donors], own.fruit[receivers]])
        for giver, taker in np.unique(fruits, axis=1).T.tolist():
            here = (fruits[0] == giver) & (fruits[1] == taker)
            first = int(here.argmax())
            (pair,) = self._pairs(donors[first, None], receivers[first, None])
            number = crossings.by_rules(*pair)
            if crossings.different[number].code == OTHER_FRUIT:
                crossings.of_kinds[own.kind[donors[here]], own.kind[receivers[here]]] = number
                apart |= here
        return apart

    def is_open(self) -> bool:
        """Whether it is unknown of any pair if the pollen is accepted."""
        everyone, unknown = np.arange(len(self.fertilities)), ANSWERS["unknown"][0]
        for receiver in everyone[:, None]:  # row by row: in a catalogue the first ones tell
            numbers = self.numbers(everyone, receiver)
            if (self.answers.answer[numbers] == unknown).any():
                return True
        return False

    def is_apart(self, donor: str, receiver: str) -> bool:
        """Whether no variety of one kind of fruit sets any of another."""
        pair = self._of_fruit[donor], self._of_fruit[receiver]
        different = self._crossings.different
        return donor != receiver and different[self._crossings.number(*pair)].code == OTHER_FRUIT

    @cached_property
    def _of_fruit(self) -> dict[str, Fertility]:
        """One variety of each kind of fruit."""
        return {own.id.species: own for own in self.fertilities}

    def _pairs(self, donors: Indices, receivers: Indices) -> Iterator[tuple[Fertility, Fertility]]:
        each = self.fertilities
        for donor, receiver in zip(donors.tolist(), receivers.tolist(), strict=True):
            yield each[donor], each[receiver]

    @cached_property
    def _of_each(self) -> _NumberRows:
        rows = [self._crossings.numbers(own) for own in self.fertilities]
        return _NumberRows(*np.array(rows, dtype=np.int64).reshape(-1, 5).T)


class _NumberRows(NamedTuple):
    """`_Numbers` of several varieties, shape (N,) each."""

    kind: Indices
    clone: Indices
    name: Indices
    parent: Indices
    fruit: Indices


def renamed(verdict: Verdict, donor: VarietyId, receiver: VarietyId) -> Verdict:
    """The same verdict for two other varieties."""
    # `dataclasses.replace` sets field by field and is four times slower, a million times.
    other = object.__new__(Verdict)
    vars(other).update(vars(verdict), donor=donor, receiver=receiver)
    return other
