"""The exact engine: a small integer programme that learns what coverage asks for.

The full model has one variable for every receiver and scenario. Here the programme only knows
which candidates are grafted; whenever its proposal leaves a receiver short, it is told why by one
linear inequality that every true cover satisfies, and solved again. The programme is a relaxation
at every step, so that its first proposal without fault is a proven optimum.

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

from collections.abc import Callable, Sequence
from dataclasses import dataclass, replace
from typing import Literal

import numpy as np
from numpy.typing import NDArray

from pollinet.domain import FloatArray
from pollinet.errors import SolverFailure
from pollinet.network.tally import at_least, counts_without_each, covered_count
from pollinet.network.viability import Viability, popcount

Status = Literal["optimal", "infeasible", "time limit"]

Row = tuple[FloatArray, float, float]
"""Coefficients of all variables, lowest and highest value."""

TimeLeft = Callable[[], float | None]
"""Asked before each run: how long it may take; None: no limit. [s]"""


Clock = Callable[[], float]
"""Seconds since some moment; handed in, as the stages have no clock of their own."""


def no_limit() -> None:
    """As long as it takes."""


def time_left(limit_s: float | None, clock: Clock | None = None) -> TimeLeft:
    """Count down from now; without a clock each run may take the whole limit."""
    if limit_s is None or clock is None:
        return lambda: limit_s
    end = clock() + limit_s
    return lambda: max(0.0, end - clock())


@dataclass(frozen=True, eq=False)
class CoverProblem:
    """A cover problem on packed bits. Variables: candidates first, then limbs.

    candidates : node of each candidate variable, ascending.
    limbs : node of each limb that must be covered, ascending.
    present : nodes that stand already, all of them donors.
    wanted : how many different viable varieties make a scenario covered.
    need : how many scenarios must be covered.
    costs : shape (candidates,).
    capacities : (candidate variables, how many of them at most).
    include : candidate variables that must be 1.
    optional : limbs may be left uncovered (their variables are free).
    firm : receivers (nodes) that must stay covered when any single other node is lost.
    """

    view: Viability
    candidates: tuple[int, ...]
    limbs: tuple[int, ...]
    present: tuple[int, ...]
    wanted: int
    need: int
    costs: FloatArray
    capacities: tuple[tuple[tuple[int, ...], int], ...] = ()
    include: frozenset[int] = frozenset()
    optional: bool = False
    firm: frozenset[int] = frozenset()

    @property
    def variables(self) -> int:
        """Number of variables."""
        return len(self.candidates) + len(self.limbs)


@dataclass(frozen=True)
class Demand:
    """A receiver that must be covered if its variable is 1, also `without` a lost node."""

    row: int
    variable: int
    without: int | None = None


@dataclass(frozen=True, eq=False)
class Cut:
    """One learnt inequality before the cap: gain of each candidate, scenarios covered already."""

    variable: int
    gains: FloatArray
    covered: int


@dataclass(frozen=True)
class Solved:
    """Outcome of one minimisation.

    chosen : candidate variables at 1, ascending. limbs : limb variables at 1.
    value, bound : objective reached, and what the solver proved it cannot fall below.
    cuts, programmes : how many were learnt and solved; 0: found without.
    """

    status: Status
    chosen: tuple[int, ...] = ()
    limbs: tuple[int, ...] = ()
    value: float = np.nan
    bound: float = -np.inf
    cuts: int = 0
    programmes: int = 0


def donors_standing(
    problem: CoverProblem, demand: Demand, chosen: Sequence[int]
) -> tuple[int, ...]:
    """Nodes that can give pollen to a receiver once the chosen candidates are grafted."""
    nodes = {*problem.present, *(problem.candidates[c] for c in chosen)}
    nodes.add(problem.view.receivers[demand.row])
    return tuple(sorted(nodes - {demand.without}))


def demands(
    problem: CoverProblem, chosen: Sequence[int], limbs: Sequence[int]
) -> tuple[Demand, ...]:
    """Receivers that must be covered when these candidates and limbs are on."""
    rows = {node: row for row, node in enumerate(problem.view.receivers)}
    first_limb = len(problem.candidates)
    active = [Demand(rows[problem.limbs[i]], first_limb + i) for i in limbs]
    active += [
        Demand(rows[problem.candidates[c]], c) for c in chosen if problem.candidates[c] in rows
    ]
    return tuple(active)


def counted(problem: CoverProblem, demand: Demand, chosen: Sequence[int]) -> int:
    """In how many scenarios a receiver is covered."""
    donors = donors_standing(problem, demand, chosen)
    return covered_count(problem.view, demand.row, donors, problem.wanted)


def after_each_loss(
    problem: CoverProblem, demand: Demand, chosen: Sequence[int]
) -> list[tuple[Demand, int]]:
    """The same demand without each other donor that stands, and the scenarios covered then."""
    donors = donors_standing(problem, demand, chosen)
    counts = counts_without_each(problem.view, demand.row, donors, problem.wanted)
    receiver = problem.view.receivers[demand.row]
    return [
        (replace(demand, without=node), count)
        for node, count in zip(donors, counts.tolist(), strict=True)
        if node != receiver
    ]


def violated(
    problem: CoverProblem, chosen: Sequence[int], limbs: Sequence[int]
) -> tuple[Demand, ...]:
    """Demands that these candidates leave short; empty: they are a cover."""
    short = []
    for demand in demands(problem, chosen, limbs):
        if counted(problem, demand, chosen) < problem.need:
            short.append(demand)
        elif problem.view.receivers[demand.row] in problem.firm:
            lost = after_each_loss(problem, demand, chosen)
            short += [without for without, count in lost if count < problem.need]
    return tuple(short)


def gains(
    problem: CoverProblem, demand: Demand, standing: Sequence[int], among: NDArray[np.int64]
) -> tuple[FloatArray, int]:
    """What each of some candidates could add for a receiver, and what is covered without them.

    standing : candidate variables that are grafted. among : candidate variables that are not.
    No set of candidates adds more scenarios than the sum of its gains.
    """
    view, wanted = problem.view, problem.wanted
    donors = np.asarray(donors_standing(problem, demand, standing), dtype=np.int64)
    given = view.bits[demand.row, donors]
    levels = at_least(given, view.clones[donors], wanted)
    nodes = np.asarray(problem.candidates, dtype=np.int64)[among]
    new = view.bits[demand.row, nodes]
    for clone in np.unique(view.clones[donors]) if wanted > 1 else ():
        # A second limb of the same variety is no second variety.
        had = np.bitwise_or.reduce(given[view.clones[donors] == clone], axis=0)
        new[view.clones[nodes] == clone] &= ~had
    added = np.zeros(len(nodes))
    exactly = ~levels[0]
    for level in range(wanted):
        added += popcount(new & exactly) / (wanted - level)
        if level + 1 < wanted:
            exactly = levels[level] & ~levels[level + 1]
    # The receiver itself counts among the donors; a lost node gives nothing.
    idle = (nodes == view.receivers[demand.row]) | (nodes == demand.without)
    added[idle] = 0.0
    return added, int(popcount(levels[-1]))


def learn(problem: CoverProblem, demand: Demand, standing: Sequence[int]) -> Cut:
    """State what a receiver lacks when the candidate variables `standing` are grafted."""
    count = len(problem.candidates)
    others = np.setdiff1d(np.arange(count), np.asarray(standing, dtype=np.int64))
    values = np.zeros(count)
    values[others], covered = gains(problem, demand, standing, others)
    return Cut(demand.variable, values, covered)


def widen(problem: CoverProblem, demand: Demand, chosen: Sequence[int]) -> tuple[int, ...]:
    """Add candidates, weakest first, for as long as the receiver stays short.

    The cut of the widened set names only candidates of which at least one is indispensable.
    """
    useful = learn(problem, demand, chosen).gains
    standing = list(chosen)
    for candidate in np.argsort(useful, kind="stable"):
        if useful[candidate] > 0 and (
            counted(problem, demand, [*standing, int(candidate)]) < problem.need
        ):
            standing.append(int(candidate))
    return tuple(standing)


def cut_row(problem: CoverProblem, cut: Cut) -> Row | None:
    """The inequality of a cut for the problem's need; None: nothing is lacking."""
    lacking = problem.need - cut.covered
    if lacking <= 0:
        return None
    row = np.zeros(problem.variables)
    row[: len(problem.candidates)] = np.minimum(cut.gains, lacking) / lacking
    row[cut.variable] -= 1.0
    return row, 0.0, np.inf


def _fixed_rows(problem: CoverProblem) -> list[Row]:
    rows: list[Row] = []
    for members, most in problem.capacities:
        row = np.zeros(problem.variables)
        row[list(members)] = 1.0
        rows.append((row, -np.inf, float(most)))
    return rows


def _programme(
    problem: CoverProblem, objective: FloatArray, rows: Sequence[Row], time_limit_s: float | None
) -> Solved:
    from scipy.optimize import Bounds, LinearConstraint, milp

    count, lowest = problem.variables, np.zeros(problem.variables)
    lowest[list(problem.include)] = 1.0
    if not problem.optional:
        lowest[len(problem.candidates) :] = 1.0
    options: dict[str, float] = {"mip_rel_gap": 0.0}
    if time_limit_s is not None:
        options["time_limit"] = time_limit_s
    matrix = np.array([row for row, _, _ in rows]).reshape(len(rows), count)
    limits = LinearConstraint(matrix, [low for _, low, _ in rows], [high for _, _, high in rows])
    result = milp(
        objective,
        integrality=np.ones(count),
        bounds=Bounds(lowest, np.ones(count)),
        constraints=[limits] if rows else [],
        options=options,
    )
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
    left : for each programme. Where one meets its limit, the bound is the best one proven so far.
    """
    if not pool:
        pool += [learn(problem, d, ()) for d in demands(problem, (), range(len(problem.limbs)))]
    fixed = [*_fixed_rows(problem), *extra]
    seen: set[tuple[tuple[int, ...], tuple[int, ...]]] = set()
    bound = -np.inf
    while True:
        rows = [row for cut in pool if (row := cut_row(problem, cut)) is not None]
        solved = replace(
            _programme(problem, objective, [*fixed, *rows], left()),
            cuts=len(pool),
            programmes=len(seen) + 1,
        )
        # Every programme is a relaxation, so that each of their bounds holds.
        bound = max(bound, solved.bound)
        if solved.status != "optimal":
            return replace(solved, bound=bound)
        short = violated(problem, solved.chosen, solved.limbs)
        if not short:
            return solved
        if (solved.chosen, solved.limbs) in seen:
            raise SolverFailure("a set that was refused came back")
        seen.add((solved.chosen, solved.limbs))
        for demand in short:
            pool.append(learn(problem, demand, solved.chosen))
            pool.append(learn(problem, demand, widen(problem, demand, solved.chosen)))
