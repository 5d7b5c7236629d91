"""What is left out before the search because it cannot matter, and the parts the rest falls into.

Each step is exact: no smallest set holds what is dropped here.
"""

from __future__ import annotations

from collections.abc import Collection, Iterator, Sequence
from dataclasses import replace

import numpy as np

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
    import networkx as nx

    serves = problem.view.serves
    graph: nx.Graph[int] = nx.Graph()
    graph.add_nodes_from([*problem.limbs, *problem.candidates])
    for receiver in graph.nodes & serves.keys():
        donors = [c for c in problem.candidates if serves[receiver][c]]
        graph.add_edges_from((receiver, donor) for donor in donors)
    for members, _ in problem.capacities:
        nx.add_path(graph, [problem.candidates[m] for m in members])
    for part in sorted(nx.connected_components(graph), key=min):
        limbs = tuple(limb for limb in problem.limbs if limb in part)
        kept = [i for i, c in enumerate(problem.candidates) if c in part]
        yield replace(_keep_candidates(problem, kept), limbs=limbs)


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
