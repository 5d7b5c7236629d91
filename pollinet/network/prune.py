"""What is left out before the search because it cannot matter, and the parts the rest falls into.

Each step is exact: no smallest set holds what is dropped here.
"""

from __future__ import annotations

from collections.abc import Collection, Iterator, Sequence
from dataclasses import replace

import numpy as np
from numpy.typing import NDArray

from pollinet.domain import BoolArray
from pollinet.network.problem import CoverProblem, demands, unmet_among
from pollinet.network.viability import Viability


def drop_bare(problem: CoverProblem) -> CoverProblem:
    """Drop candidates that could not crop even with all others: no closed set can hold them.

    More donors never uncover anybody, so that dropping the short ones until none is short is exact.
    """
    doubtful = set(problem.candidates)
    while True:
        chosen = range(len(problem.candidates))
        active = demands(problem, chosen, ())
        asked = [d for d in active if problem.candidates[d.variable] in doubtful]
        short = {d.variable for d in unmet_among(problem, asked, chosen)}
        if not short:
            return problem
        left = _keep_candidates(problem, [c for c in chosen if c not in short])
        # Only whom one of the dropped ones served can be short now.
        dropped, serves = list(problem.nodes(sorted(short))), problem.view.serves
        doubtful = {c for c in left.candidates if c in serves and serves[c][dropped].any()}
        problem = left


def drop_useless(problem: CoverProblem) -> CoverProblem:
    """Drop candidates that serve no limb and no useful candidate: no smallest set has them."""
    view, nodes = problem.view, np.asarray(problem.candidates, dtype=np.int64)
    serves = view.serves
    useful = _any_of(view, problem.limbs)
    useful[nodes[list(problem.include)]] = True
    while True:
        reached = [c for c in problem.candidates if useful[c] and c in serves]
        wider = useful | _any_of(view, reached)
        if (wider[nodes] == useful[nodes]).all():
            return _keep_candidates(problem, np.flatnonzero(useful[nodes]).tolist())
        useful = wider


def _any_of(view: Viability, receivers: Sequence[int]) -> BoolArray:
    """Which nodes serve any of some receivers, shape (N,)."""
    found = np.zeros(len(view.clones), dtype=bool)
    for receiver in receivers:
        found |= view.serves[receiver]
    return found


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
    serves, candidates = problem.view.serves, np.array(problem.candidates, dtype=np.int64)
    nodes = np.array(sorted({*problem.limbs, *problem.candidates}), dtype=np.int64)
    grafts = np.searchsorted(nodes, candidates)
    links = np.zeros((nodes.size, nodes.size), dtype=bool)
    for place, receiver in enumerate(nodes.tolist()):
        if receiver in serves:
            links[place, grafts] = serves[receiver][candidates]
    for members, _ in problem.capacities:
        of_limit = grafts[list(members)]
        links[of_limit[:-1], of_limit[1:]] = True
    for places in _connected(links | links.T):
        part = set(nodes[places].tolist())
        limbs = tuple(limb for limb in problem.limbs if limb in part)
        kept = [i for i, c in enumerate(problem.candidates) if c in part]
        yield replace(_keep_candidates(problem, kept), limbs=limbs)


def _connected(links: BoolArray) -> Iterator[NDArray[np.int64]]:
    """Groups of places that hang together, the first place of each group ascending.

    links : shape (N, N), symmetric; a graph of a million edges takes a hundred times as long.
    """
    open_still = np.ones(len(links), dtype=bool)
    while open_still.any():
        reached = np.zeros(len(links), dtype=bool)
        new = np.array([open_still.argmax()])
        while new.size:
            reached[new] = True
            new = np.flatnonzero(links[new].any(axis=0) & ~reached)
        open_still &= ~reached
        yield np.flatnonzero(reached)


def _keep_candidates(problem: CoverProblem, kept: Sequence[int]) -> CoverProblem:
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
