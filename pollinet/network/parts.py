"""One part of the garden solved: its smallest sets, the first one first, and what is proven."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace
from itertools import islice, product

from pollinet.network.engines import cheapest, least_cost
from pollinet.network.equals import equal_groups, renamed_sets, with_few
from pollinet.network.problem import CoverProblem
from pollinet.network.programme import Solved, Status
from pollinet.network.tie_break import Ranking, ordered_sets, rank
from pollinet.network.time_limit import TimeLeft


@dataclass(frozen=True)
class Part:
    """Smallest sets of one part of the garden (nodes), best first.

    all_listed, first_proven, bound : see `Cover` and `Proof`.
    cuts, programmes : how many were learnt and solved. looked : see `Solved`.
    compared : how many sets of one cost were compared, at least.
    """

    status: Status
    sets: tuple[tuple[int, ...], ...]
    all_listed: bool
    first_proven: bool
    bound: float
    cuts: int = 0
    programmes: int = 0
    looked: bool = False
    compared: int = 0


def solve_part(problem: CoverProblem, ranking: Ranking, most: int, left: TimeLeft) -> Part:
    """Find up to `most` smallest sets of one part, the first one first."""
    groups = equal_groups(problem, ranking.penalties, left)
    part = _solve(with_few(problem, groups), ranking, most, left)
    if not groups or part.status != "optimal":
        return part
    named = list(islice(renamed_sets(part.sets, groups), most + 1))
    ordered = sorted(named, key=lambda one: rank(problem, ranking, problem.variables_of(one)))
    return replace(
        part, sets=tuple(ordered[:most]), all_listed=part.all_listed and len(named) <= most
    )


def _solve(problem: CoverProblem, ranking: Ranking, most: int, left: TimeLeft) -> Part:
    first = cheapest(problem, left=left)
    if first.status != "optimal":
        some = [problem.nodes(first.chosen)] if first.chosen else []
        bound = max(first.bound, least_cost(problem))
        return Part(first.status, tuple(some), False, False, bound, *_ran(problem, first))
    ordered = ordered_sets(problem, first, ranking, most, left)
    sets = tuple(problem.nodes(chosen) for chosen in ordered.sets)
    return Part(
        "optimal", sets, ordered.complete, ordered.proven, first.bound, *_ran(problem, first),
        compared=ordered.looked,
    )  # fmt: skip


def _ran(problem: CoverProblem, found: Solved) -> tuple[int, int, bool]:
    """What was asked: cuts and programmes, and whether there was anything to look through."""
    return found.cuts, found.programmes, found.looked and bool(problem.candidates)


def some_infeasible(parts: Sequence[Part]) -> bool:
    """Whether a part has no cover."""
    return any(part.status == "infeasible" for part in parts)


def joined_sets(parts: Sequence[Part], most: int) -> tuple[tuple[tuple[int, ...], ...], bool]:
    """Every combination of the parts' sets, best first in each part; whether these are all."""
    combined = product(*(part.sets for part in parts))
    sets = [tuple(sorted(sum(choice, ()))) for choice in islice(combined, most + 1)]
    return tuple(sets[:most]), len(sets) <= most and all(part.all_listed for part in parts)
