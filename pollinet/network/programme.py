"""The exact engine by programme: a small integer programme that learns what coverage asks for.

The full model has one variable for every receiver and scenario. Here the programme only knows
which candidates are grafted; whenever its proposal leaves a receiver short, it is told why by one
linear inequality that every true cover satisfies, and solved again. The programme is a relaxation
at every step, so that its first proposal without fault is a proven optimum. Much is learnt sooner
from proposals in fractions, which are solved at once (`_learn_from_fractions`).

The inequality. Let a receiver have `covered` scenarios with the donors D that stand when the set T
of candidates is grafted, and let it need `need` of them. A scenario that is not covered under T has
too few viable varieties, say j of `wanted`; in every set of candidates that covers it, the new
varieties number at least `wanted` - j. Hence with
gain(c) = sum over uncovered scenarios where c is viable of 1 / (wanted - j)

    sum over c outside T of min(gain(c), need - covered) x_c  >=  need - covered.

For one wanted variety these are the inequalities of submodular covering; the cap is the usual
tightening of knapsack covers.

References
----------
L. A. Wolsey, An analysis of the greedy algorithm for the submodular set covering problem,
Combinatorica 2 (1982) 385-393. J. N. Hooker and G. Ottosson, Logic-based Benders decomposition,
Mathematical Programming 96 (2003) 33-60. Both: `memory`; the proof above stands by itself.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace
from typing import TYPE_CHECKING, Literal

import numpy as np

from pollinet.domain import FloatArray
from pollinet.errors import SolverFailure
from pollinet.network.problem import (
    CoverProblem,
    Demand,
    gains,
    kept_short,
    open_demands,
    unmet_demands,
)
from pollinet.network.time_limit import TimeLeft, is_over, no_limit, part_of

if TYPE_CHECKING:
    from scipy.optimize import OptimizeResult

Status = Literal["optimal", "infeasible", "time limit"]

Row = tuple[FloatArray, float, float]
"""Coefficients of all variables, lowest and highest value."""

ROUNDING = 1e-7
"""By how much a sum of costs may exceed a bound: the solver's own feasibility is 1e-6."""


FRACTION_ROUNDS = 10
"""How often it is asked for fractions: own choice, measured; later ones teach little."""

TAKEN_FIRST = (1, 2, 3, 5, 8, 13, 21)
"""Of how many of the candidates with the largest fractions it is asked whom they leave short."""

FRACTION_SHARE = 0.15
"""Share of the programme's time that all of them have."""

LEAST_BREACH = 1e-3
"""By how much a proposal must breach an inequality for it to be learnt."""

LEAST_RISE = 0.002
"""By what part the bound must rise for another round in fractions."""


@dataclass(frozen=True, eq=False)
class Cut:
    """One learnt inequality before the cap: gain of each candidate, scenarios covered already."""

    variable: int
    gains: FloatArray
    covered: int


@dataclass(frozen=True)
class Solved:
    """Outcome of one minimisation.

    chosen : candidate variables at 1, ascending; where the time was over those of a cover that
        need not be the cheapest, or none. limbs : limb variables at 1.
    value, bound : objective reached, and what the solver proved it cannot fall below.
    cuts, programmes : how many were learnt and solved; 0: found without.
    looked : whether sets were looked through size by size. by_size : whether that decided.
    """

    status: Status
    chosen: tuple[int, ...] = ()
    limbs: tuple[int, ...] = ()
    value: float = np.nan
    bound: float = -np.inf
    cuts: int = 0
    programmes: int = 0
    looked: bool = False
    by_size: bool = False


# --- what coverage asks for ------------------------------------------------------------------


def learn_cut(problem: CoverProblem, demand: Demand, standing: Sequence[int]) -> Cut:
    """State what a receiver lacks when the candidate variables `standing` are grafted."""
    count = len(problem.candidates)
    others = np.setdiff1d(np.arange(count), np.asarray(standing, dtype=np.int64))
    values = np.zeros(count)
    values[others], covered = gains(problem, demand, standing, others)
    return Cut(demand.variable, values, covered)


def _widened(problem: CoverProblem, demand: Demand, chosen: Sequence[int]) -> tuple[int, ...]:
    """Add candidates, weakest first, for as long as the receiver stays short.

    The cut of the widened set names only candidates of which at least one is indispensable.
    """
    useful = learn_cut(problem, demand, chosen).gains
    weakest_first = np.argsort(useful, kind="stable")
    return (*chosen, *kept_short(problem, demand, chosen, weakest_first[useful[weakest_first] > 0]))


def _cut_row(problem: CoverProblem, cut: Cut) -> Row | None:
    """The inequality of a cut for the problem's need; None: nothing is lacking."""
    lacking = problem.need - cut.covered
    if lacking <= 0:
        return None
    row = np.zeros(problem.variables)
    row[: len(problem.candidates)] = np.minimum(cut.gains, lacking) / lacking
    row[cut.variable] -= 1.0
    return row, 0.0, np.inf


# --- rows of the programme -------------------------------------------------------------------


def _fixed_rows(problem: CoverProblem) -> list[Row]:
    rows: list[Row] = []
    for members, most in problem.capacities:
        row = np.zeros(problem.variables)
        row[list(members)] = 1.0
        rows.append((row, -np.inf, float(most)))
    return rows


def cost_objective(problem: CoverProblem) -> FloatArray:
    """The objective that makes a set cheap."""
    return np.concatenate([problem.costs, np.zeros(len(problem.limbs))])


def at_most(problem: CoverProblem, of_candidates: FloatArray, most: float) -> Row:
    """The candidates' sum of some values is no higher than this."""
    row = np.concatenate([of_candidates, np.zeros(len(problem.limbs))])
    return row, -np.inf, most + ROUNDING


def another_set(problem: CoverProblem, chosen: Sequence[int]) -> Row:
    """Neither this set nor one that holds it."""
    row = np.zeros(problem.variables)
    row[list(chosen)] = 1.0
    return row, -np.inf, len(chosen) - 1.0


# --- solving it ------------------------------------------------------------------------------


def _solve(
    problem: CoverProblem, objective: FloatArray, rows: Sequence[Row], time_limit_s: float | None
) -> Solved:
    result = _asked(problem, objective, rows, time_limit_s, whole=True)
    if result.status == 2:
        return Solved("infeasible")
    if result.status == 1:
        bound = result.mip_dual_bound
        return Solved("time limit", bound=-np.inf if bound is None else float(bound))
    if result.status != 0:
        raise SolverFailure(f"HiGHS stopped without an answer: {result.message}")
    on = np.flatnonzero(result.x > 0.5)
    first_limb = len(problem.candidates)
    return Solved(
        "optimal",
        tuple(int(c) for c in on[on < first_limb]),
        tuple(int(i) - first_limb for i in on[on >= first_limb]),
        float(result.fun),
        float(result.mip_dual_bound),
    )


def _asked(
    problem: CoverProblem,
    objective: FloatArray,
    rows: Sequence[Row],
    time_limit_s: float | None,
    *,
    whole: bool,
) -> OptimizeResult:
    """What HiGHS answers, in whole numbers or in fractions."""
    from scipy.optimize import Bounds, LinearConstraint, milp

    count, lowest = problem.variables, np.zeros(problem.variables)
    lowest[list(problem.include)] = 1.0
    if not problem.optional:
        lowest[len(problem.candidates) :] = 1.0
    matrix = np.array([row for row, _, _ in rows]).reshape(len(rows), count)
    limits = LinearConstraint(matrix, [low for _, low, _ in rows], [high for _, _, high in rows])
    return milp(
        objective,
        integrality=np.full(count, int(whole)),
        bounds=Bounds(lowest, np.ones(count)),
        constraints=[limits] if rows else [],
        options={"mip_rel_gap": 0.0}
        if time_limit_s is None
        else {"mip_rel_gap": 0.0, "time_limit": time_limit_s},
    )


def _rows_of(problem: CoverProblem, pool: Sequence[Cut]) -> list[Row]:
    return [row for cut in pool if (row := _cut_row(problem, cut)) is not None]


def _learn_from_fractions(
    problem: CoverProblem,
    objective: FloatArray,
    pool: list[Cut],
    fixed: Sequence[Row],
    left: TimeLeft,
) -> None:
    """Append inequalities that the best proposals in fractions breach.

    Each is true of every cover, whatever set it was learnt from: here of the candidates that such a
    proposal takes most of.
    """
    count, last = len(problem.candidates), -np.inf
    for _ in range(FRACTION_ROUNDS):
        result = _asked(problem, objective, [*fixed, *_rows_of(problem, pool)], left(), whole=False)
        if result.status != 0 or result.fun <= last + LEAST_RISE * abs(last):
            return
        last = float(result.fun)
        shares = result.x[:count]
        order = np.argsort(-shares, kind="stable")
        some = int((shares > LEAST_BREACH).sum())
        limbs = np.flatnonzero(result.x[count:] > LEAST_BREACH).tolist()
        before = len(pool)
        for taken in sorted({min(number, some) for number in TAKEN_FIRST}):
            chosen = sorted(order[:taken].tolist())
            for demand in unmet_demands(problem, chosen, limbs):
                if is_over(left):
                    return
                cut = learn_cut(problem, demand, chosen)
                row = _cut_row(problem, cut)
                if row is not None and row[0] @ result.x < -LEAST_BREACH:
                    pool.append(cut)
        if len(pool) == before:
            return


def minimise(
    problem: CoverProblem,
    objective: FloatArray,
    pool: list[Cut],
    extra: Sequence[Row] = (),
    left: TimeLeft = no_limit,
) -> Solved:
    """Find a cover with the smallest objective, or prove that there is none.

    Parameters
    ----------
    objective : shape (variables,).
    pool : cuts learnt so far; new ones are appended. They hold for every need, so that one pool
        serves all solves of the same candidates, receivers and wanted varieties.
    extra : further linear conditions.
    left : time for all of it. Where it is met, the bound is the best one proven so far.
    """
    is_new = not pool
    if is_new:
        limbs = range(len(problem.limbs))
        pool += [learn_cut(problem, d, ()) for d in open_demands(problem, (), limbs)]
    fixed = [*_fixed_rows(problem), *extra]
    if is_new and not problem.optional:  # limbs in fractions teach little
        _learn_from_fractions(problem, objective, pool, fixed, part_of(left, FRACTION_SHARE))
    seen: set[tuple[tuple[int, ...], tuple[int, ...]]] = set()
    bound = -np.inf
    while True:
        rows = _rows_of(problem, pool)
        solved = replace(
            _solve(problem, objective, [*fixed, *rows], left()),
            cuts=len(pool),
            programmes=len(seen) + 1,
        )
        # Every programme is a relaxation, so that each of their bounds holds.
        bound = max(bound, solved.bound)
        if solved.status != "optimal":
            return replace(solved, bound=bound)
        short = unmet_demands(problem, solved.chosen, solved.limbs)
        if not short:
            return solved
        if (solved.chosen, solved.limbs) in seen:
            raise SolverFailure("a set that was refused came back")
        seen.add((solved.chosen, solved.limbs))
        for demand in short:
            if is_over(left):
                return replace(solved, status="time limit", chosen=(), limbs=(), bound=bound)
            pool.append(learn_cut(problem, demand, solved.chosen))
            pool.append(learn_cut(problem, demand, _widened(problem, demand, solved.chosen)))
