"""The smallest set of scions that leaves every limb with a viable donor, exactly.

Coverage is closed: an added candidate that is to crop needs a viable donor too. Among the sets of
the same cost the first is the one whose worst-off limb is covered most often, then the best
chilled one, then by the preferences handed in, then by the order of nodes.

Before the search, what cannot matter is left out: candidates that could not crop even if everything
else were grafted, candidates whose pollen serves nobody who could need it; and parts of the garden
that share no donors (another kind of fruit, as a rule) are solved apart.
"""

from __future__ import annotations

from collections.abc import Collection, Iterator, Mapping, Sequence
from dataclasses import dataclass, replace
from itertools import islice, product
from typing import Literal

import numpy as np

from pollinet.domain import NetworkInput
from pollinet.messages import say
from pollinet.network.checker import is_cover
from pollinet.network.cuts import (
    Clock,
    CoverProblem,
    Solved,
    TimeLeft,
    minimise,
    time_left,
)
from pollinet.network.misses import (
    Shortfall,
    Uncovered,
    loss_miss,
    nearest_miss,
    shortfalls,
)
from pollinet.network.search import (
    Part,
    Ranking,
    croppable,
    parts_of,
    solve_part,
    useful,
    worst,
)
from pollinet.network.viability import (
    Viability,
    needed_scenarios,
    present_of,
    receivers_of,
    viability,
)

CoverStatus = Literal["nothing to add", "optimal", "infeasible", "time limit"]

__all__ = ["Cover", "Proof", "Uncovered", "cover_problem", "is_cover", "parties", "smallest_cover"]

PROGRAMME = ("HiGHS (scipy.optimize.milp)", say("integer programme with learnt coverage cuts"))
EXHAUSTION = (say("own search"), say("every smaller set ruled out, size by size"))


@dataclass(frozen=True)
class Proof:
    """Why the answer can be believed.

    solver, method : what proved it; where parts of the garden were solved in both ways, the
        programme is named. Both are exact.
    bound : no cover costs less than this. gap : cost found minus bound.
    status : `time limit` also where some limbs cannot be covered and the rest was not proven.
    sizes : candidates offered, those that were searched, limbs, scenarios, parts solved apart,
        cuts learnt, programmes solved.
    """

    solver: str
    method: str
    status: CoverStatus
    bound: float
    gap: float
    sizes: Mapping[str, int]


@dataclass(frozen=True)
class Cover:
    """Answer of `smallest_cover`; numbers are node indices.

    added : the best smallest set; empty where there is nothing to add or no cover. With the status
        `time limit` a cover that need not be the smallest (heuristic), or empty.
    alternatives : all sets of the same cost, `added` first, as far as `all_listed` says.
    first_proven : whether `added` is proven to be the first of all sets of this cost, in the order
        of ranks; that it is a smallest set does not hang on this.
    partial : where some limbs cannot be covered, the smallest set for the others. Where the cover
        must survive a loss, those that cannot survive it are still covered as long as none is lost.
    reliability : of the worst-off receiver with `added` (or `partial`); 1 where there is none.
        Where the cover must survive a loss: after the loss that is worst for it.
    most_proven : whether no choice that there is room for keeps more limbs safe from a loss.
    """

    status: CoverStatus
    added: tuple[int, ...]
    alternatives: tuple[tuple[int, ...], ...]
    all_listed: bool
    first_proven: bool
    cost: float
    reliability: float
    uncovered: tuple[Uncovered, ...]
    partial: tuple[int, ...]
    proof: Proof
    most_proven: bool = True


# --- the whole -------------------------------------------------------------------------------


def cover_problem(
    network: NetworkInput,
    candidates: Sequence[int],
    spare: Mapping[str, int] | None = None,
    *,
    must_include: Sequence[int] = (),
    never: Sequence[int] = (),
    survive: bool = False,
    view: Viability | None = None,
) -> CoverProblem:
    """State the cover problem of a network, before anything is left out.

    view : viability of all receivers among limbs and candidates, to save the work.
    """
    nodes = network.nodes
    free = tuple(sorted((set(candidates) - set(never)) | set(must_include)))
    if view is None:
        receivers, donors = parties(network, free)
        view = viability(network, receivers, donors=donors)
    return CoverProblem(
        view=view,
        candidates=free,
        limbs=tuple(i for i in view.receivers if nodes[i].kind == "limb"),
        present=present_of(network),
        wanted=network.aim.donors,
        need=needed_scenarios(network),
        costs=np.array([nodes[c].cost for c in free]),
        capacities=() if spare is None else _capacities(network, free, spare),
        include=frozenset(free.index(c) for c in must_include),
        firm=frozenset(view.receivers if survive else ()),
    )


def parties(
    network: NetworkInput, candidates: Sequence[int]
) -> tuple[tuple[int, ...], tuple[int, ...]]:
    """Receivers and donors of a cover problem: what stands, and the candidates."""
    donors = (*present_of(network), *candidates)
    return tuple(i for i in receivers_of(network) if i in set(donors)), donors


def _capacities(
    network: NetworkInput, free: Sequence[int], spare: Mapping[str, int]
) -> tuple[tuple[tuple[int, ...], int], ...]:
    species = [network.nodes[c].variety.species for c in free]
    return tuple(
        (tuple(i for i, other in enumerate(species) if other == name), spare.get(name, 0))
        for name in sorted(set(species))
    )


def _tight(problem: CoverProblem) -> CoverProblem:
    """Forget limits that cannot bind, so that parts can be solved apart."""
    return replace(
        problem, capacities=tuple((m, most) for m, most in problem.capacities if most < len(m))
    )


def _most_limbs(problem: CoverProblem, left: TimeLeft) -> Solved:
    """Cover as many limbs as there is room for."""
    loose = replace(problem, optional=True)
    reward = np.concatenate([np.zeros(len(problem.candidates)), -np.ones(len(problem.limbs))])
    return minimise(loose, reward, [], (), left)


def _join(parts: Sequence[Part], most: int) -> tuple[tuple[tuple[int, ...], ...], bool]:
    """Every combination of the parts' sets, best first in each part; whether these are all."""
    combined = product(*(part.sets for part in parts))
    sets = [tuple(sorted(sum(choice, ()))) for choice in islice(combined, most + 1)]
    return tuple(sets[:most]), len(sets) <= most and all(part.all_listed for part in parts)


def smallest_cover(
    network: NetworkInput,
    candidates: Sequence[int],
    spare: Mapping[str, int] | None = None,
    *,
    must_include: Sequence[int] = (),
    never: Sequence[int] = (),
    survives_any_single_loss: bool = False,
    preferences: Sequence[Mapping[int, float]] = (),
    max_alternatives: int = 20,
    time_limit_s: float | None = 60.0,
    clock: Clock | None = None,
    view: Viability | None = None,
) -> Cover:
    """Find the cheapest candidates that leave every limb covered, and prove it. Exact.

    Parameters
    ----------
    candidates : node indices that may be grafted (wood that is not blocked).
    spare : how many more limbs the trees of each species can carry; a species that is missing can
        carry none. None: no limit.
    must_include, never : candidates that are grafted in any case, or not at all; where one is in
        both, it is grafted.
    survives_any_single_loss : every receiver must stay covered when any one other node is lost.
    preferences : penalties by candidate (a node that is missing has 0), the most important first,
        that decide between sets equal in cost, worst-off limb and chill.
    max_alternatives : how many sets of the same cost are listed.
    time_limit_s, clock : limit of the whole search by a clock such as `time.monotonic`; without a
        clock, of each run of the integer programme. None: no limit. Where it is met the status is
        `time limit`, and `proof.bound` says what is proven. What is needed for any answer (who can
        serve whom, a set to name) is not limited. [s]
    view : viability of all receivers among limbs and candidates, to save the work.

    Returns
    -------
    The cover; `is_cover` checks its sets by another way.
    """
    whole = cover_problem(
        network,
        candidates,
        spare,
        must_include=must_include,
        never=never,
        survive=survives_any_single_loss,
        view=view,
    )
    ranking, left = _ranking(network, preferences), time_left(time_limit_s, clock)
    search = _Search(network, whole, frozenset(must_include), ranking, max_alternatives, left)
    return _safe_cover(search) if survives_any_single_loss else _plain_cover(search)[0]


@dataclass(frozen=True, eq=False)
class _Search:
    """What is asked: whole, before anything is left out. must : nodes grafted in any case."""

    network: NetworkInput
    whole: CoverProblem
    must: frozenset[int]
    ranking: Ranking
    most: int
    left: TimeLeft

    def parts(self, problem: CoverProblem) -> list[Part]:
        """Smallest sets of each part; they end with the first part that has none."""
        found: list[Part] = []
        for part in parts_of(problem):
            found.append(solve_part(part, self.ranking, self.most, self.left))
            if found[-1].status == "infeasible":
                break
        return found


def _plain_cover(search: _Search) -> tuple[Cover, CoverProblem]:
    """The cover as long as nothing is lost, and the problem without what cannot be covered."""
    network, whole = search.network, replace(search.whole, firm=frozenset())
    problem = useful(croppable(whole))
    hopeless = {
        *shortfalls(problem, range(len(problem.candidates))),
        *(search.must - set(problem.candidates)),
    }
    possible = _tight(_without(problem, hopeless))
    parts = search.parts(possible)
    crowded: set[int] = set()
    finished = True
    if _infeasible(parts):
        most = _most_limbs(possible, search.left)
        finished = most.status == "optimal"
        crowded = set(possible.limbs) - {possible.limbs[i] for i in most.limbs}
        if not finished:
            # Heuristic: left out, these leave a problem that has a cover.
            crowded = set(shortfalls(possible, sorted(possible.include))) & set(possible.limbs)
        possible = _without(possible, crowded)
        parts = search.parts(possible)
    uncovered = tuple(
        nearest_miss(network, whole, node, hopeless=node in hopeless)
        for node in sorted(hopeless | crowded)
    )
    found = _answer(possible, parts, uncovered, search.most, offered=len(whole.candidates))
    if not finished:
        found = replace(found, proof=replace(found.proof, status="time limit"))
    return found, possible


# --- where a loss must be survived -----------------------------------------------------------


def _safe_cover(search: _Search) -> Cover:
    """The cover that holds after any one loss; where there is none, as much of it as can be."""
    whole = search.whole
    problem = useful(croppable(whole))
    everything = range(len(problem.candidates))
    if search.must <= set(problem.candidates) and not shortfalls(problem, everything):
        parts = search.parts(_tight(problem))
        if not _infeasible(parts):
            return _answer(problem, parts, (), search.most, offered=len(whole.candidates))
    return _mixed_cover(search)


def _mixed_cover(search: _Search) -> Cover:
    """Cover what can be covered at all, and safe from a loss all that can be made so.

    A receiver hangs on one donor where it falls back when this is lost, whatever is grafted. If
    there is not room to keep the others safe, as many limbs as possible are, as long as this
    leaves nobody bare; else the plain cover answers.
    """
    whole = search.whole
    problem = useful(croppable(replace(whole, firm=frozenset())))
    everything = range(len(problem.candidates))
    short = shortfalls(replace(problem, firm=whole.firm), everything)
    bare = {node for node, (demand, _) in short.items() if demand.without is None}
    bare |= search.must - set(problem.candidates)
    possible = _tight(_without(problem, bare))
    for firm in _firm_choices(possible, set(short), search.left):
        mixed = replace(possible, firm=firm)
        parts = search.parts(mixed)
        if not _infeasible(parts):
            misses = [nearest_miss(search.network, whole, i, hopeless=True) for i in sorted(bare)]
            best = next(iter(_join(parts, 1)[0]), ())
            misses += _hanging(search, mixed, best, short)
            return _answer(mixed, parts, tuple(misses), search.most, len(whole.candidates))
    found, possible = _plain_cover(search)
    best = found.added or found.partial
    misses = [*found.uncovered, *_hanging(search, possible, best, short)]
    return replace(
        found, status="infeasible", added=(), alternatives=(), all_listed=False, partial=best,
        uncovered=tuple(misses), most_proven=False,
    )  # fmt: skip


def _firm_choices(
    problem: CoverProblem, weak: Collection[int], left: TimeLeft
) -> Iterator[frozenset[int]]:
    """Receivers to keep safe from a loss: all that can be, then as many limbs as there is room for.

    The most are counted as if nobody else asked for anything, so that none can be kept beyond them.
    """
    limbs = frozenset(problem.limbs) - set(weak)
    grafts = frozenset(problem.candidates) - set(weak)
    yield limbs | grafts
    alone = replace(_without(problem, weak), firm=limbs)
    most = _most_limbs(alone, left)
    if most.status == "optimal":
        kept = frozenset(alone.limbs[i] for i in most.limbs)
        yield kept | grafts
        yield kept


def _hanging(
    search: _Search, problem: CoverProblem, best: Sequence[int], short: Mapping[int, Shortfall]
) -> list[Uncovered]:
    """Receivers that the set covers only as long as one donor is not lost."""
    chosen = [problem.candidates.index(node) for node in best]
    then = shortfalls(replace(problem, firm=search.whole.firm), chosen)
    return [
        loss_miss(search.network, search.whole, node, short.get(node, now), hopeless=node in short)
        for node, now in sorted(then.items())
        if now[0].without is not None
    ]


def _infeasible(parts: Sequence[Part]) -> bool:
    return any(part.status == "infeasible" for part in parts)


def _without(problem: CoverProblem, limbs: Collection[int]) -> CoverProblem:
    return replace(problem, limbs=tuple(x for x in problem.limbs if x not in limbs))


def _ranking(network: NetworkInput, preferences: Sequence[Mapping[int, float]]) -> Ranking:
    shortfall = 1.0 - network.chill_quality.mean(axis=1)
    count = range(len(network.nodes))
    wishes = [np.array([wish.get(i, 0.0) for i in count]) for wish in preferences]
    return Ranking((shortfall, *wishes))


def _answer(
    problem: CoverProblem,
    parts: Sequence[Part],
    uncovered: tuple[Uncovered, ...],
    most: int,
    offered: int,
) -> Cover:
    sets, complete = _join(parts, most)
    bound = float(sum(part.bound for part in parts))
    stopped = any(part.status == "time limit" for part in parts)
    status: CoverStatus = "optimal" if any(sets) else "nothing to add"
    if uncovered or _infeasible(parts):
        status = "infeasible"
    elif stopped:
        status = "time limit"
    best = sets[0] if sets else ()
    chosen = [problem.candidates.index(node) for node in best]
    cost = float(problem.costs[chosen].sum())
    sizes = {
        "offered": offered,
        "candidates": len(problem.candidates),
        "limbs": len(problem.limbs),
        "scenarios": problem.view.scenarios,
        "parts": len(parts),
        "cuts": sum(part.cuts for part in parts),
        "programmes": sum(part.programmes for part in parts),
    }
    solver, method = PROGRAMME if sizes["programmes"] else EXHAUSTION
    failed = status == "infeasible"
    gap = max(0.0, cost - bound) if sets else np.inf
    return Cover(
        status=status,
        added=() if failed else best,
        alternatives=() if failed else sets,
        all_listed=complete and not failed,
        first_proven=all(part.first_proven for part in parts),
        cost=cost,
        reliability=worst(problem, chosen, range(len(problem.limbs))) / problem.view.scenarios,
        uncovered=uncovered,
        partial=best if failed else (),
        proof=Proof(solver, method, "time limit" if stopped else status, bound, gap, sizes),
    )
