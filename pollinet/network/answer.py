"""What a search for the smallest set answers, and why it can be believed."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from math import prod
from typing import Literal

import numpy as np

from pollinet.domain import NetworkInput
from pollinet.messages import say
from pollinet.network.coverage import limb_coverage
from pollinet.network.nearest_miss import Uncovered
from pollinet.network.parts import Part, joined_sets, some_infeasible
from pollinet.network.problem import CoverProblem, scenarios_of_worst
from pollinet.network.programme import Solved
from pollinet.network.viability import present_of

CoverStatus = Literal["nothing to add", "optimal", "infeasible", "time limit"]

PROGRAMME = ("HiGHS (scipy.optimize.milp)", say("integer programme with learnt coverage cuts"))
BY_SIZE = (say("own search"), say("every smaller set ruled out, size by size"))
BOTH = (
    say("own search and HiGHS (scipy.optimize.milp)"),
    say("small sets ruled out size by size, and an integer programme with learnt coverage cuts"),
)


@dataclass(frozen=True)
class Proof:
    """Why the answer can be believed.

    solver, method : what was asked to prove it; both where both were. Both are exact.
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
class Tally:
    """How the limbs that must crop stand with a set grafted; new grafts are not counted.

    sure : limbs that are served surely. covered : surely or likely.
    worst : expected share of scenarios of the worst-off limb; 1 where there is none.
    """

    limbs: int
    sure: int
    covered: int
    worst: float


def tally(network: NetworkInput, chosen: Sequence[int]) -> Tally:
    """Count the limbs once these candidates stand."""
    rows = [
        row
        for row in limb_coverage(network, (*present_of(network), *chosen))
        if network.nodes[row.node].kind == "limb"
    ]
    return Tally(
        len(rows),
        sum(row.verdict == "sure" for row in rows),
        sum(row.covered for row in rows),
        min((row.reliability for row in rows), default=1.0),
    )


@dataclass(frozen=True)
class Cover:
    """Answer of `smallest_cover`; numbers are node indices.

    added : the best smallest set; empty where there is nothing to add or no cover. With the status
        `time limit` a cover that need not be the smallest (heuristic), or empty.
    alternatives : all sets of the same cost, `added` first, as far as `all_listed` says.
    first_proven : whether `added` is proven to be the first of all sets of this cost, in the order
        of ranks; that it is a smallest set does not hang on this. compared : how many sets of this
        cost were compared for it, at least.
    partial : where some limbs cannot be covered, the smallest set for the others. Where the cover
        must survive a loss, those that cannot survive it are still covered as long as none is lost.
    reliability : of the worst-off receiver with `added` (or `partial`); 1 where there is none.
        Where the cover must survive a loss: after the loss that is worst for it.
    most_proven : whether no choice that there is room for keeps more limbs safe from a loss.
    sure : whether limbs were to be served surely; else the expected share counts.
    tally : how the limbs stand with `added` (or `partial`).
    fewest_ordered : whether it is proven that no set of its kind has less wood to order, see
        `pollinet.network.preferred`. smaller : a smaller set with more to order, where there is one
        and wood at hand was preferred.
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
    sure: bool = False
    tally: Tally = Tally(0, 0, 0, 1.0)
    fewest_ordered: bool = False
    compared: int = 0
    smaller: tuple[int, ...] = ()


def answer_of(
    problem: CoverProblem,
    parts: Sequence[Part],
    uncovered: tuple[Uncovered, ...],
    most: int,
    offered: int,
    also: Sequence[Solved] = (),
) -> Cover:
    """Put the solved parts of a problem together.

    offered : candidates before any were left out. also : what else was solved on the way.
    """
    sets, complete = joined_sets(parts, most)
    bound = float(sum(part.bound for part in parts))
    stopped = any(part.status == "time limit" for part in parts)
    status: CoverStatus = "optimal" if any(sets) else "nothing to add"
    if uncovered or some_infeasible(parts):
        status = "infeasible"
    elif stopped:
        status = "time limit"
    best = sets[0] if sets else ()
    chosen = problem.variables_of(best)
    cost = float(problem.costs[list(chosen)].sum())
    ran: list[Part | Solved] = [*parts, *also]
    sizes = {
        "offered": offered,
        "candidates": len(problem.candidates),
        "limbs": len(problem.limbs),
        "scenarios": problem.view.scenarios,
        "parts": len(parts),
        "cuts": sum(one.cuts for one in ran),
        "programmes": sum(one.programmes for one in ran),
    }
    looked = any(part.looked for part in parts)
    solver, method = BY_SIZE if not sizes["programmes"] else BOTH if looked else PROGRAMME
    failed = status == "infeasible"
    worst = scenarios_of_worst(problem, chosen, range(len(problem.limbs)))
    return Cover(
        status=status,
        added=() if failed else best,
        alternatives=() if failed else sets,
        all_listed=complete and not failed,
        first_proven=all(part.first_proven for part in parts),
        cost=cost,
        reliability=worst / problem.view.scenarios,
        uncovered=uncovered,
        partial=best if failed else (),
        sure=problem.sure,
        compared=prod(max(1, part.compared) for part in parts),
        proof=Proof(
            solver=solver,
            method=method,
            status="time limit" if stopped else status,
            bound=bound,
            gap=max(0.0, cost - bound) if sets else np.inf,
            sizes=sizes,
        ),
    )
