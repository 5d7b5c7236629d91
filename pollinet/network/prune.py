"""What is left out before the search because it cannot matter, and the parts the rest falls into.

Each step is exact: no smallest set holds what is dropped here.
"""

from __future__ import annotations

from collections.abc import Collection, Iterator, Sequence
from dataclasses import replace

import numpy as np
from numpy.typing import NDArray

from pollinet.network.problem import CoverProblem, demands, unmet_among
from pollinet.network.time_limit import TimeLeft, is_over, no_limit

FIRST_LOOK = 16
"""So many other candidates are asked first whether they serve one; four times as many each next
time. Own choice: most are served by a few."""


def pruned(problem: CoverProblem, left: TimeLeft = no_limit) -> CoverProblem:
    """Without candidates that no smallest set can hold.

    Those that serve nobody go first, so that few are asked whom they have for donors. Whoever may
    serve one that is left is left itself, so that nobody seems bare who is not.
    """
    return drop_useless(drop_bare(drop_useless(problem), left))


def drop_bare(problem: CoverProblem, left: TimeLeft = no_limit) -> CoverProblem:
    """Drop candidates that could not crop even with all others: no closed set can hold them.

    More donors never uncover anybody, so that dropping the short ones until none is short is exact,
    and that some of the others are enough shows that all of them are. Where the time is over
    before that is known, none is dropped: that is exact, too.
    """
    nodes = problem.candidates
    kept = set(range(len(nodes)))
    served_by: dict[int, set[int]] = {}
    problem.standing.look(
        np.array([n for n in nodes if problem.view.is_receiver(n)], dtype=np.int64)
    )
    doubtful = sorted(c for c in kept if problem.asks(nodes[c]))
    while doubtful:
        for one in doubtful:
            if is_over(left):
                return problem
            served_by[one] = _enough_for(problem, one, kept)
        short = {c for c in doubtful if not served_by[c]}
        kept -= short
        # Only whom one of the dropped ones served can be short now.
        doubtful = sorted(c for c in kept & served_by.keys() if served_by[c] & short)
    return problem if len(kept) == len(nodes) else keep_candidates(problem, sorted(kept))


def never_met(problem: CoverProblem, left: TimeLeft = no_limit) -> list[int] | None:
    """Candidate variables that all candidates together leave short; None: no time to know it."""
    every, found = set(range(len(problem.candidates))), list[int]()
    for one in sorted(every):
        if is_over(left):
            return None
        if problem.asks(problem.candidates[one]) and not _enough_for(problem, one, every):
            found.append(one)
    return found


def _enough_for(problem: CoverProblem, one: int, kept: set[int]) -> set[int]:
    """Some of the candidates that are kept, itself too, that cover one; empty: all do not."""
    node, places = problem.candidates[one], np.array(sorted(kept - {one}), dtype=np.int64)
    nodes = np.array(problem.candidates, dtype=np.int64)[places]
    near = np.argsort(problem.fruits[nodes] != problem.fruits[node], kind="stable")
    others = places[near][problem.may_serve(node, nodes[near])].tolist()
    asked = FIRST_LOOK
    while True:
        some = others[:asked]
        if problem.is_met(node, *problem.standing.beside(node, problem.nodes(some))):
            return {one, *some}
        if asked >= len(others):
            break
        asked *= 4
    # What is safe was not counted to the last scenario.
    everyone = sorted([one, *others])
    is_short = unmet_among(problem, demands(problem, [one], ()), everyone)
    return set() if is_short else set(everyone)


def drop_useless(problem: CoverProblem) -> CoverProblem:
    """Drop candidates that serve no limb that asks, and could serve no useful candidate that asks.

    No smallest set has them. Whom a candidate could serve is read off its kind of fruit.
    """
    nodes = np.array(problem.candidates, dtype=np.int64)
    useful = np.zeros(nodes.size, dtype=bool)
    useful[list(problem.include)] = True
    for limb in problem.limbs:
        if problem.asks(limb):
            useful |= problem.view.serves(limb, nodes)
    fruits, looked = problem.fruits[nodes], set[int]()
    while new := set(fruits[useful].tolist()) - looked:
        looked |= new
        for fruit in sorted(new):
            alike = nodes[useful & (fruits == fruit)].tolist()
            asking = next(filter(problem.asks, alike), None)
            if asking is not None:
                useful |= problem.may_serve(asking, nodes)
    return keep_candidates(problem, np.flatnonzero(useful).tolist())


def kin_of(problem: CoverProblem, some: Collection[int]) -> CoverProblem:
    """The problem with the candidates alone that may serve, or be served by, some or their kin."""
    fruits = problem.fruits[np.array(problem.candidates, dtype=np.int64)]
    sets = ~problem.apart
    kin = np.zeros(len(sets), dtype=bool)
    kin[fruits[list(some)]] = True
    while (wider := kin | (sets | sets.T)[kin].any(axis=0)).sum() > kin.sum():
        kin = wider
    return keep_candidates(problem, np.flatnonzero(kin[fruits]).tolist())


def idle_among(problem: CoverProblem, some: Collection[int]) -> set[int]:
    """Those of some candidates that serve no limb, nor a candidate that is not idle itself."""
    nodes, view = np.array(problem.candidates, dtype=np.int64), problem.view

    def is_busy(which: NDArray[np.int64]) -> bool:
        wanted = bool(problem.include & set(which.tolist()))
        return wanted or any(view.serves(limb, nodes[which]).any() for limb in problem.limbs)

    def is_idle(one: int) -> bool:
        """Whether no way leads from it to a limb."""
        reached = np.zeros(nodes.size, dtype=bool)
        new = np.array([one])
        while new.size:
            if is_busy(new):
                return False
            reached[new] = True
            served = [view.serves(node, nodes[new]).any() for node in nodes.tolist()]
            new = np.flatnonzero(np.array(served) & ~reached)
        return True

    return {one for one in some if is_idle(one)}


def drop_slack_limits(problem: CoverProblem) -> CoverProblem:
    """Forget limits that cannot bind, so that parts can be solved apart."""
    return replace(
        problem, capacities=tuple((m, most) for m, most in problem.capacities if most < len(m))
    )


def drop_limbs(problem: CoverProblem, limbs: Collection[int]) -> CoverProblem:
    """Ask nothing for some limbs; they stay donors."""
    return replace(problem, limbs=tuple(x for x in problem.limbs if x not in limbs))


def separate_parts(problem: CoverProblem) -> Iterator[CoverProblem]:
    """Parts of the garden that share no donors and no limit, each a problem of its own."""
    candidates = np.array(problem.candidates, dtype=np.int64)
    nodes = np.array(sorted({*problem.limbs, *problem.candidates}), dtype=np.int64)
    grafts = np.searchsorted(nodes, candidates)
    part = np.arange(nodes.size)
    for members, _ in problem.capacities:
        _join(part, grafts[list(members)])
    for place, receiver in enumerate(nodes.tolist()):
        asked = FIRST_LOOK
        # One donor ties a receiver to all that hangs together with it.
        others = np.flatnonzero(part[grafts] != part[place])
        others = others[problem.may_serve(receiver, candidates[others])]
        while others.size:
            some = others[:asked]
            serving = problem.view.reach(receiver, candidates[some])
            _join(part, np.append(grafts[some[serving]], place))
            others = others[asked:]
            others = others[part[grafts[others]] != part[place]]
            asked *= 4
    for one in np.unique(part).tolist():
        inside = set(nodes[part == one].tolist())
        limbs = tuple(limb for limb in problem.limbs if limb in inside)
        kept = [i for i, c in enumerate(problem.candidates) if c in inside]
        yield replace(keep_candidates(problem, kept), limbs=limbs)


def _join(part: NDArray[np.int64], places: NDArray[np.int64]) -> None:
    """Make one part of those that some places are in; a part has the number of its first place."""
    if places.size:
        several = np.unique(part[places])
        part[np.isin(part, several)] = several[0]


def keep_candidates(problem: CoverProblem, kept: Sequence[int]) -> CoverProblem:
    """The problem with some candidate variables only; they get new numbers."""
    place = {old: new for new, old in enumerate(kept)}
    return replace(
        problem,
        candidates=tuple(problem.candidates[c] for c in kept),
        costs=problem.costs[list(kept)],
        capacities=tuple(
            (tuple(place[m] for m in members if m in place), most)
            for members, most in problem.capacities
        ),
        include=frozenset(place[c] for c in problem.include if c in place),
    )
