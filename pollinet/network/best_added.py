"""The best so many varieties to add: "which three of these scions shall I take home". Exact.

Sets are ranked by limbs that are served surely, then by limbs served surely or likely, then by the
expected share of the worst-off limb; of equal sets the smallest come first, then the order of
`smallest_cover` decides. A set is closed: what is to crop needs a viable donor itself.

All sets of a size are looked through, on packed bits, but for those that a bound rules out: a set
adds to no limb more scenarios than its candidates do one by one (`pollinet.network.problem.gains`),
so that a choice whose bound ranks behind the best set found need not be followed. Of candidates
that are equal in every scenario (`equals`) the first few alone are looked through.
"""

from __future__ import annotations

from collections.abc import Hashable, Iterator, Mapping, Sequence
from dataclasses import dataclass, field

import numpy as np
from numpy.typing import NDArray

from pollinet.domain import BoolArray, FloatArray, NetworkInput
from pollinet.network.answer import Tally, tally
from pollinet.network.counting import Standing
from pollinet.network.equals import Among, Groups, equal_among, first_names
from pollinet.network.problem import room_of
from pollinet.network.sure import sure_viability
from pollinet.network.tie_break import Ranking, ranking_of
from pollinet.network.time_limit import (
    SEARCH_LIMIT_S,
    Clock,
    TimeLeft,
    is_over,
    part_of,
    time_left,
)
from pollinet.network.viability import (
    Viability,
    needed_scenarios,
    popcount,
    present_of,
    receivers_of,
    viability,
)

Chosen = tuple[int, ...]
"""Places among the candidates of a search, in the order in which they were taken."""

EQUALS_SHARE = 0.1
"""Share of the time for seeing which candidates are equal: own convention."""

Words = NDArray[np.uint64]
Counts = NDArray[np.int64]

_BLOCK = 4_000_000
"""Words that are counted at once."""

_ROUNDING = 1e-9
"""Sums of gains are exact but for rounding: a bound must not cut off what it just reaches."""


@dataclass(frozen=True)
class BestAdded:
    """The best set of at most so many candidates, by node.

    added : the first of the best sets; fewer than `most` where more brings nothing.
    tally : how the limbs stand with it.
    alternatives : sets equal to it in all that is ranked before ties are broken, `added` first, as
        far as `all_listed` says.
    proven : whether every other set was ruled out; False where a time limit was met.
    offered, looked : candidates, and sets that were counted one by one; equal varieties as one.
    """

    most: int
    added: tuple[int, ...]
    tally: Tally
    alternatives: tuple[tuple[int, ...], ...]
    all_listed: bool
    proven: bool
    offered: int
    looked: int


def best_added(
    network: NetworkInput,
    candidates: Sequence[int],
    most: int,
    spare: Mapping[str, int] | None = None,
    *,
    must_include: Sequence[int] = (),
    sure: bool = False,
    preferences: Sequence[Mapping[int, float]] = (),
    max_alternatives: int = 20,
    time_limit_s: float | None = SEARCH_LIMIT_S,
    clock: Clock | None = None,
) -> BestAdded:
    """Find the best `most` candidates to add, and prove it. Exact.

    For the other parameters see `smallest_cover`.

    Parameters
    ----------
    must_include : candidates that are in every set, whether or not they have a donor themselves.
    sure : new grafts that are to crop need a donor surely; else likely is enough.
    time_limit_s : where it is met by the clock, the best set found so far is the answer.
    """
    left = time_left(time_limit_s, clock)
    free = tuple(sorted({*candidates, *must_include}))
    donors = tuple(sorted({*present_of(network), *free}))
    views = viability(network), sure_viability(network, donors=donors)
    ranking, exempt = ranking_of(network, preferences), frozenset(must_include)
    groups = _equals(network, views, free, exempt, ranking, part_of(left, EQUALS_SHARE))
    # A smallest of the best sets has no more of a group than may count, and one to be served.
    surplus = {node for group in groups for node in group[network.aim.donors + 1 :]}
    few = tuple(node for node in free if node not in surplus)
    search = _Search(
        _bits_of(network, views, _limbs(network), present_of(network), few),
        _Grafts(network, views, few, exempt, spare, sure=sure),
        ranking,
        max_alternatives,
        left,
    )
    given = tuple(few.index(node) for node in must_include)
    proven = True
    try:
        for size in range(len(given), max(most, len(given)) + 1):
            search.look_through(given, size)
    except _Stopped:
        proven = False
    found = [tuple(sorted(few[c] for c in chosen)) for _, chosen in search.best]
    sets, number = first_names(found, groups, search.order, max_alternatives)
    added = sets[0] if sets else tuple(sorted(must_include))
    return BestAdded(
        most,
        added,
        tally(network, added),
        tuple(sets),
        proven and max(search.equal, number) <= max_alternatives,
        proven,
        len(free),
        search.looked,
    )


def _equals(
    network: NetworkInput,
    views: _Views,
    free: Chosen,
    given: frozenset[int],
    ranking: Ranking,
    left: TimeLeft,
) -> Groups:
    """Groups of candidates that are equal in every scenario, as is expected and surely."""
    nodes, limbs = network.nodes, _limbs(network)

    def tell(some: NDArray[np.int64]) -> list[Hashable]:
        each = [(node, nodes[node]) for node in some.tolist()]
        return [(n.cost, n.must_crop, room_of(n), i if i in given else None) for i, n in each]

    among = Among(views, limbs, limbs, free, present_of(network))
    return equal_among(among, tell, ranking.penalties, left)


class _Stopped(Exception):
    """No time is left."""


# --- what sets are ranked by -----------------------------------------------------------------


@dataclass(frozen=True, eq=False)
class _Bits:
    """Limbs on packed bits; a limb has a row for its expected share and one for each worst case.

    standing : shape (rows, wanted, words): in which scenarios a limb has 1, 2, … `wanted` viable
        varieties as the garden stands.
    given : shape (candidates, rows, words): what each candidate adds to these.
    clones : shape (candidates,), a number that all of one variety share.
    expected : row of the expected share of each limb. cases : rows of the worst cases, limb by
        limb. first_cases : where those of each limb begin in `cases`.
    """

    standing: Words
    given: Words
    clones: NDArray[np.int64]
    expected: NDArray[np.int64]
    cases: NDArray[np.int64]
    first_cases: NDArray[np.int64]
    need: int
    scenarios: int

    def keys(self, counts: Counts) -> Counts:
        """One number for each set, the higher the better: all that is ranked before ties.

        counts : scenarios covered, shape (sets, rows).
        """
        limbs = self.expected.size
        if not limbs:
            return np.zeros(len(counts), dtype=np.int64)
        sure = self.surely(counts)
        served = np.maximum(counts[:, self.expected], sure)
        surely, likely = ((each >= self.need).sum(axis=1) for each in (sure, served))
        key = (surely * (limbs + 1) + likely) * (self.scenarios + 1) + served.min(axis=1)
        return np.asarray(key, dtype=np.int64)

    def surely(self, counts: Counts) -> Counts:
        """In how many scenarios each limb is served surely, shape (sets, limbs)."""
        worst = np.minimum.reduceat(counts[:, self.cases], self.first_cases, axis=1)
        return np.asarray(worst, dtype=np.int64)

    def bound(self, counts: FloatArray) -> Counts:
        """`keys` of the most that could be covered, shape (sets, rows)."""
        whole = np.minimum(np.floor(counts + _ROUNDING), self.scenarios).astype(np.int64)
        return self.keys(whole)

    def with_one(self, state: Words, chosen: Chosen, more: NDArray[np.int64]) -> Iterator[Words]:
        """What each of some more candidates adds to a state, in blocks (candidates, rows, words).

        chosen : those that are in the state; another limb of the same variety is no second one.
        """
        rows, words = state.shape[0], state.shape[2]
        step = max(1, _BLOCK // max(1, rows * words))
        for start in range(0, len(more), step):
            few = more[start : start + step]
            new = self.given[few]
            for other in chosen:
                new[self.clones[few] == self.clones[other]] &= ~self.given[other]
            yield new

    def add(self, state: Words, chosen: Chosen, one: int) -> Words:
        """The state with one more candidate."""
        (new,) = next(self.with_one(state, chosen, np.array([one])))
        after = state.copy()
        after[:, 1:] |= state[:, :-1] & new[:, None]
        after[:, 0] |= new
        return after

    def counts(self, state: Words, chosen: Chosen, more: NDArray[np.int64]) -> Counts:
        """Scenarios covered with each of some more candidates, shape (candidates, rows)."""
        found = [np.zeros((0, len(state)), dtype=np.int64)]
        for new in self.with_one(state, chosen, more):
            if state.shape[1] > 1:
                new &= state[:, -2]
            new |= state[:, -1]
            found.append(_count(new))
        return np.concatenate(found)

    def gains(self, state: Words, chosen: Chosen, more: NDArray[np.int64]) -> FloatArray:
        """What each could add at most, also together with others, shape (candidates, rows)."""
        wanted = state.shape[1]
        found = [np.zeros((0, len(state)))]
        for new in self.with_one(state, chosen, more):
            total = _count(new & ~state[:, 0]) / wanted
            for level in range(1, wanted):
                total += _count(new & state[:, level - 1] & ~state[:, level]) / (wanted - level)
            found.append(total)
        return np.concatenate(found)


def _count(bits: Words) -> Counts:
    return popcount(bits.view(np.uint8))


def _limbs(network: NetworkInput) -> Chosen:
    """The limbs of the garden that must crop."""
    nodes = network.nodes
    return tuple(i for i in receivers_of(network) if nodes[i].kind == "limb")


_Views = tuple[Viability, Viability]
"""Who serves whom as is expected, and surely."""


def _bits_of(
    network: NetworkInput,
    views: _Views,
    limbs: Chosen,
    standing_nodes: Chosen,
    candidates: Chosen,
) -> _Bits:
    """What some receivers have as the garden stands, and what each candidate adds."""
    present = np.array(standing_nodes, dtype=np.int64)
    nodes, wanted = np.array(candidates, dtype=np.int64), network.aim.donors
    rows: list[tuple[Words, Words]] = []
    expected, cases, first_cases = list[int](), list[int](), list[int]()
    for limb in limbs:
        (row,) = views[0].rows_of(limb)
        expected.append(len(rows))
        likely = _row(views[0], row, present, nodes, wanted)
        rows.append(likely)
        first_cases.append(len(cases))
        for case in views[1].rows_of(limb):
            surely = _row(views[1], case, present, nodes, wanted)
            same = all(np.array_equal(a, b) for a, b in zip(likely, surely, strict=True))
            cases.append(expected[-1] if same else len(rows))
            rows += [] if same else [surely]
    words = views[0].width // 8
    standing = np.array([one for one, _ in rows], dtype=np.uint64).reshape(len(rows), wanted, words)
    given = np.array([one for _, one in rows], dtype=np.uint64).reshape(
        len(rows), nodes.size, words
    )
    return _Bits(
        standing,
        np.ascontiguousarray(given.swapaxes(0, 1)),
        views[0].clones[nodes],
        np.array(expected, dtype=np.int64),
        np.array(cases, dtype=np.int64),
        np.array(first_cases, dtype=np.int64),
        needed_scenarios(network),
        views[0].scenarios,
    )


def _row(
    view: Viability, row: int, present: NDArray[np.int64], nodes: NDArray[np.int64], wanted: int
) -> tuple[Words, Words]:
    """What a limb has as it stands, shape (wanted, words), and what each candidate adds to it."""
    had, new = view.given(row, present), view.given(row, nodes)
    levels = np.zeros((wanted, had.shape[1]), dtype=np.uint8)
    for clone in np.unique(view.clones[present]):
        variety = np.bitwise_or.reduce(had[view.clones[present] == clone], axis=0)
        levels[1:] |= levels[:-1] & variety
        levels[0] |= variety
        new[view.clones[nodes] == clone] &= ~variety
    return levels.view(np.uint64), np.ascontiguousarray(new).view(np.uint64)


# --- which sets there are --------------------------------------------------------------------


@dataclass(frozen=True, eq=False)
class _Own:
    """The own donors of a new graft for which those that stand are not enough.

    never : not even all candidates together are enough.
    beside : shape (candidates,), whether one of them is enough beside those that stand.
    """

    bits: _Bits
    never: bool
    beside: BoolArray


class _Grafts:
    """Which candidates there is room for together, and whether those that must crop are served.

    Whom a new graft has for donors is looked at when it is first asked for: few are.
    """

    def __init__(
        self,
        network: NetworkInput,
        views: _Views,
        candidates: Chosen,
        exempt: frozenset[int],
        spare: Mapping[str, int] | None,
        *,
        sure: bool,
    ) -> None:
        self.nodes = candidates
        self.cost_of = np.array([node.cost for node in network.nodes])
        self._rooms = np.array([room_of(network.nodes[c]) for c in candidates])
        self._spare = spare
        self._network, self._views = network, views
        wanted, looks = network.aim.donors, views[1:] if sure else views
        self._standing = [Standing(view, present_of(network), wanted) for view in looks]
        self._sure = sure
        self._exempt = exempt
        self._own: dict[int, _Own | None] = {}

    def has_room(self, chosen: Chosen, more: NDArray[np.int64]) -> BoolArray:
        """Whether there is a limb for each of some more."""
        if self._spare is None:
            return np.ones(len(more), dtype=bool)
        taken = self._rooms[list(chosen)].tolist()
        full = [r for r in set(self._rooms.tolist()) if taken.count(r) >= self._spare.get(r, 0)]
        return ~np.isin(self._rooms[more], full)

    def is_bare(self, one: int) -> bool:
        """Whether it was seen that a new graft must crop and can never be served."""
        own = self._own.get(one)
        return own is not None and own.never

    def closed(self, chosen: Chosen, more: NDArray[np.int64]) -> BoolArray:
        """Whether all are served that must crop, when one of some more is added."""
        fine = np.ones(len(more), dtype=bool)
        doubtful = np.zeros(len(more), dtype=bool)
        for one in chosen:
            own = self._of(one)
            if own is not None and not own.beside[list(chosen)].any():
                doubtful |= ~own.beside[more]
        for place, one in enumerate(more.tolist()):
            own = self._of(one)
            if own is not None:
                fine[place] = not own.never
                doubtful[place] |= not own.beside[list(chosen)].any()
        for place in np.flatnonzero(fine & doubtful).tolist():
            together = (*chosen, int(more[place]))
            fine[place] = all(self._is_served(one, together) for one in together)
        return fine

    def _is_served(self, one: int, chosen: Chosen) -> bool:
        own = self._of(one)
        return own is None or bool(self._enough(own.bits, _with_all(own.bits, chosen)).all())

    def _of(self, one: int) -> _Own | None:
        """None: it need not be served, or is by those that stand."""
        if one not in self._own:
            self._own[one] = self._look(one)
        return self._own[one]

    def _look(self, one: int) -> _Own | None:
        node, network = self.nodes[one], self._network
        if node in self._exempt or not network.nodes[node].must_crop:
            return None
        if any(one.of(node)[0] >= needed_scenarios(network) for one in self._standing):
            return None
        standing = (*present_of(network), node)
        bits = _bits_of(network, self._views, (node,), standing, self.nodes)
        everyone = np.arange(len(self.nodes))
        never = not self._enough(bits, _with_all(bits, tuple(everyone.tolist()))).all()
        beside = np.zeros(len(everyone), dtype=bool)
        if not never:
            beside = self._enough(bits, bits.counts(bits.standing, (), everyone))[:, 0]
        return _Own(bits, never, beside)

    def _enough(self, bits: _Bits, counts: Counts) -> BoolArray:
        served = bits.surely(counts)
        if not self._sure:
            served = np.maximum(served, counts[:, bits.expected])
        return np.asarray(served >= bits.need)


def _with_all(bits: _Bits, chosen: Chosen) -> Counts:
    """Scenarios covered with all of some candidates, shape (1, rows)."""
    state, taken = bits.standing.copy(), np.array(chosen, dtype=np.int64)
    for clone in np.unique(bits.clones[taken]):
        new = np.bitwise_or.reduce(bits.given[taken[bits.clones[taken] == clone]], axis=0)
        state[:, 1:] |= state[:, :-1] & new[:, None]
        state[:, 0] |= new
    return _count(state[:, -1])[None]


# --- the search ------------------------------------------------------------------------------


@dataclass
class _Search:
    """One search while it runs.

    best : the best sets found, with what orders them; no more than are wanted, and one.
    key : of the best sets; -1: none was found. equal : how many sets have it.
    """

    bits: _Bits
    grafts: _Grafts
    ranking: Ranking
    most: int
    left: TimeLeft
    best: list[tuple[tuple[float, ...], Chosen]] = field(default_factory=list)
    key: int = -1
    equal: int = 0
    looked: int = 0
    _beaten: int = -1

    def look_through(self, given: Chosen, size: int) -> None:
        """Look through all sets of a size that hold the given ones; larger ones must be better."""
        self._beaten = self.key
        state, taken = self.bits.standing, tuple[int, ...]()
        for one in given:
            state, taken = self.bits.add(state, taken, one), (*taken, one)
        if size == len(given):
            self._end(taken[:-1], np.array(taken[-1:], dtype=np.int64), state)
            return
        others = np.setdiff1d(np.arange(len(self.grafts.nodes)), np.array(given, dtype=np.int64))
        first = self.bits.keys(self.bits.counts(state, taken, others))
        worth = self.bits.gains(state, taken, others).sum(axis=1)
        self._grow(taken, state, others[np.lexsort((-worth, -first))], size - len(given))

    def order(self, nodes: Chosen) -> tuple[float, ...]:
        """What orders sets that are equal in all else, by node."""
        some, columns = list(nodes), (self.grafts.cost_of, *self.ranking.penalties)
        return (*(round(float(c[some].sum()), 9) for c in columns), *sorted(nodes))

    def _hopeful(self, bound: Counts) -> BoolArray:
        return np.asarray((bound > self._beaten) & (bound >= self.key))

    def _grow(self, chosen: Chosen, state: Words, more: NDArray[np.int64], left: int) -> None:
        if self.best and is_over(self.left):
            raise _Stopped
        more = more[self.grafts.has_room(chosen, more)]
        if left == 1:
            self._finish(chosen, more, self.bits.counts(state, chosen, more))
            return
        now = _count(state[:, -1]).astype(np.float64)
        gains = self.bits.gains(state, chosen, more)
        highest = gains.max(axis=0, initial=0.0)
        bound = self.bits.bound(now + gains + (left - 1) * highest)
        for place in range(len(more) - left + 1):
            if not self._hopeful(bound[place : place + 1])[0]:
                continue
            partners = gains[place + 1 :] + (now + gains[place] + (left - 2) * highest)
            further = more[place + 1 :][self._hopeful(self.bits.bound(partners))]
            one = int(more[place])
            if len(further) >= left - 1 and not self.grafts.is_bare(one):
                after = self.bits.add(state, chosen, one)
                self._grow((*chosen, one), after, further, left - 1)

    def _end(self, chosen: Chosen, last: NDArray[np.int64], state: Words) -> None:
        """Look at one whole set, whose state is known."""
        counts = _count(state[:, -1])[None]
        if last.size:
            self._finish(chosen, last, counts)
        else:
            self.key, self.best, self.equal = int(self.bits.keys(counts)[0]), [((), ())], 1

    def _finish(self, chosen: Chosen, more: NDArray[np.int64], counts: Counts) -> None:
        """Look at the sets that one of some more makes whole."""
        self.looked += len(more)
        keys = self.bits.keys(counts)
        while (hopeful := self._hopeful(keys)).any():
            highest = keys[hopeful].max()
            places = np.flatnonzero(keys == highest)
            places = places[self.grafts.closed(chosen, more[places])]
            if places.size:
                self._keep(int(highest), chosen, more[places])
                return
            keys = np.where(keys == highest, -1, keys)

    def _keep(self, key: int, chosen: Chosen, more: NDArray[np.int64]) -> None:
        """Take sets with the best key so far; they are ordered as ties are broken."""
        if key > self.key:
            self.key, self.best, self.equal = key, [], 0
        self.equal += len(more)
        nodes, taken = np.array(self.grafts.nodes, dtype=np.int64), list(chosen)
        columns = [c[nodes] for c in (self.grafts.cost_of, *self.ranking.penalties)]
        sums = [np.round(c[taken].sum() + c[more], 9) for c in columns]
        for place in np.lexsort((nodes[more], *reversed(sums)))[: self.most + 1].tolist():
            whole = (*chosen, int(more[place]))
            order = (*(float(s[place]) for s in sums), *sorted(nodes[list(whole)].tolist()))
            if len(self.best) > self.most and order >= self.best[-1][0]:
                break
            self.best = sorted([*self.best, (order, whole)])[: self.most + 1]
