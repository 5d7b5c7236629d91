"""The smallest set of scions that leaves every limb with a viable donor, exactly.

Coverage is closed: an added candidate that is to crop needs a viable donor too. Among the sets of
the same cost the first is the one whose worst-off limb is covered most often, then the best
chilled one, then by the preferences handed in, then by the order of nodes.

Before the search, what cannot matter is left out: candidates that could not crop even if everything
else were grafted, candidates whose pollen serves nobody who could need it; and parts of the garden
that share no donors (another kind of fruit, as a rule) are solved apart.
"""

from __future__ import annotations

from collections.abc import Collection, Mapping, Sequence
from dataclasses import dataclass, replace
from itertools import islice, product
from typing import Literal

import numpy as np

from pollinet.domain import NetworkInput, Verdict
from pollinet.messages import say
from pollinet.network.checker import is_cover
from pollinet.network.coverage import DonorShare, Refusal, limb_coverage
from pollinet.network.cuts import (
    Clock,
    CoverProblem,
    Demand,
    Solved,
    TimeLeft,
    counted,
    minimise,
    time_left,
    violated,
)
from pollinet.network.search import (
    Part,
    Ranking,
    cheapest,
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
class Uncovered:
    """A limb that no choice of candidates can cover.

    code : why its nearest donor fails, a `RefusalCode`; `too-few-winters` where donors are viable
        in some scenarios, but together in too few; `no-spare-limb` where a cover exists but there
        is no room for it; `no-donor` where no other node exists. Where a loss must be survived:
        `one-loss` where the loss of `donor` leaves too few scenarios whatever is grafted, and
        `one-loss-no-room` where it does so because there is no room for another donor.
    donor : the nearest miss, or the donor that must not be lost, a node index. verdict, days,
        reliability : of that donor, see `Refusal.days`; after a loss, `reliability` is what is
        left of the limb's coverage.
    reachable : share of scenarios in which it would be covered with every candidate grafted.
    """

    node: int
    code: str
    donor: int | None
    verdict: Verdict | None
    days: float | None
    overlap_days: float
    reliability: float
    reachable: float


@dataclass(frozen=True)
class Cover:
    """Answer of `smallest_cover`; numbers are node indices.

    added : the best smallest set; empty where there is nothing to add or no cover. With the status
        `time limit` a cover that need not be the smallest (heuristic), or empty.
    alternatives : all sets of the same cost, `added` first, as far as `all_listed` says.
    first_proven : whether `added` is proven to be the first of all sets of this cost, in the order
        of ranks; that it is a smallest set does not hang on this.
    partial : where some limbs cannot be covered, the smallest set for the others.
    reliability : of the worst-off receiver with `added` (or `partial`); 1 where there is none.
        Where the cover must survive a loss: after the loss that is worst for it.
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
        survive=survive,
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


def _short(problem: CoverProblem, chosen: Sequence[int]) -> dict[int, tuple[Demand, float]]:
    """Limbs that some candidates leave short: why, by the worst loss, and the share then covered.

    The demand is `without` a lost donor where the limb is covered as long as none is lost.
    """
    first = len(problem.candidates)
    found: dict[int, tuple[Demand, float]] = {}
    for demand in violated(problem, chosen, range(len(problem.limbs))):
        share = counted(problem, demand, chosen) / problem.view.scenarios
        limb = problem.limbs[demand.variable - first] if demand.variable >= first else None
        if limb is not None and (limb not in found or share < found[limb][1]):
            found[limb] = demand, share
    return found


def _blind_to_losses(problem: CoverProblem, left: TimeLeft) -> Sequence[int]:
    """The cheapest cover as long as nothing is lost; where there is none, what must be grafted."""
    if problem.survive:
        found = cheapest(replace(problem, survive=False), left=left)
        if found.status == "optimal":
            return found.chosen
    return sorted(problem.include)


def _nearest_miss(
    network: NetworkInput,
    problem: CoverProblem,
    limb: int,
    short: tuple[Demand, float] | None,
    *,
    hopeless: bool,
) -> Uncovered:
    """short : what leaves the limb short, whatever is grafted, or with what there is room for."""
    here = (*problem.present, *problem.candidates)
    (row,) = limb_coverage(network, (*here, limb), only=(limb,))
    if short is not None and short[0].without is not None:
        lost = next(donor for donor in row.donors if donor.node == short[0].without)
        code = "one-loss" if hopeless else "one-loss-no-room"
        return _miss(limb, code, lost, short[1], None, row.reliability)
    if not hopeless or row.donors:
        best = row.donors[0]
        code = "too-few-winters" if hopeless else "no-spare-limb"
        return _miss(row.node, code, best, best.reliability, None, row.reliability)
    reasons = sorted(row.refusals, key=_distance)
    if not reasons:
        return Uncovered(limb, "no-donor", None, None, None, 0.0, 0.0, 0.0)
    return _miss(limb, reasons[0].code, reasons[0], 0.0, reasons[0].days, 0.0)


def _miss(
    limb: int,
    code: str,
    donor: DonorShare | Refusal,
    reliability: float,
    days: float | None,
    reachable: float,
) -> Uncovered:
    return Uncovered(
        limb, code, donor.node, donor.verdict, days, donor.overlap_days, reliability, reachable
    )


_NEAREST = (
    "unknown-compatibility",
    "short-overlap",
    "blooms-earlier",
    "blooms-later",
    "half-only",
    "too-far",
    "chill",
    "incompatible",
    "no-bloom",
    "same-variety",
    "not-self-fertile",
    "no-verdict",
)
"""Own order: what a grower could still change comes first."""


def _distance(refusal: Refusal) -> tuple[float, ...]:
    # Among the donors that only bloom at the wrong time, the nearest in days counts.
    group = {"blooms-later": "blooms-earlier"}.get(refusal.code, refusal.code)
    days = abs(refusal.days) if refusal.days is not None else 999.0
    return (_NEAREST.index(group), -refusal.possible, days, -refusal.overlap_days, refusal.node)


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
    left = time_left(time_limit_s, clock)
    whole = cover_problem(
        network,
        candidates,
        spare,
        must_include=must_include,
        never=never,
        survive=survives_any_single_loss,
        view=view,
    )
    problem = useful(croppable(whole))
    ranking = _ranking(network, preferences)
    short = _short(problem, range(len(problem.candidates)))
    hopeless = {*short, *(set(must_include) - set(problem.candidates))}
    possible = _tight(_without(problem, hopeless))
    parts = _solved_parts(possible, ranking, max_alternatives, left)
    crowded: set[int] = set()
    finished = True
    if any(part.status == "infeasible" for part in parts):
        most = _most_limbs(possible, left)
        finished = most.status == "optimal"
        crowded = set(possible.limbs) - {possible.limbs[i] for i in most.limbs}
        if not finished:
            # Heuristic: left out, these leave a problem that has a cover.
            crowded = set(_short(possible, sorted(possible.include)))
        short = _short(possible, _blind_to_losses(possible, left)) | short
        possible = _without(possible, crowded)
        parts = _solved_parts(possible, ranking, max_alternatives, left)
    uncovered = tuple(
        _nearest_miss(network, whole, node, short.get(node), hopeless=node in hopeless)
        for node in sorted(hopeless | crowded)
    )
    found = _answer(possible, parts, uncovered, max_alternatives, offered=len(whole.candidates))
    if finished:
        return found
    return replace(found, proof=replace(found.proof, status="time limit"))


def _without(problem: CoverProblem, limbs: Collection[int]) -> CoverProblem:
    return replace(problem, limbs=tuple(x for x in problem.limbs if x not in limbs))


def _ranking(network: NetworkInput, preferences: Sequence[Mapping[int, float]]) -> Ranking:
    shortfall = 1.0 - network.chill_quality.mean(axis=1)
    count = range(len(network.nodes))
    wishes = [np.array([wish.get(i, 0.0) for i in count]) for wish in preferences]
    return Ranking((shortfall, *wishes))


def _solved_parts(problem: CoverProblem, ranking: Ranking, most: int, left: TimeLeft) -> list[Part]:
    return [solve_part(part, ranking, most, left) for part in parts_of(problem)]


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
    if uncovered or any(part.status == "infeasible" for part in parts):
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
