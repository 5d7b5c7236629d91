"""The cover problem on packed bits: what is asked, whom a set leaves short, what a scion could add.

Everything here is counted on `pollinet.network.viability`; nothing searches.
"""

from __future__ import annotations

from collections.abc import Collection, Mapping, Sequence
from dataclasses import dataclass, replace

import numpy as np
from numpy.typing import NDArray

from pollinet.domain import BoolArray, FloatArray, NetworkInput, Node
from pollinet.network.counting import (
    Standing,
    at_least,
    counts_without_each,
    covered_and_safe,
    covered_count,
)
from pollinet.network.sure import SureViability, sure_viability
from pollinet.network.viability import (
    Bits,
    Viability,
    felled_of,
    kinds_apart,
    needed_scenarios,
    popcount,
    present_of,
    receivers_of,
    viability,
)

Chosen = tuple[int, ...]
"""Candidate variables that are grafted, ascending."""


@dataclass(frozen=True, eq=False)
class CoverProblem:
    """A cover problem. Variables: candidates first, then limbs.

    standing : how what stands covers each receiver.
    candidates : node of each candidate variable, ascending.
    limbs : node of each limb that must be covered, ascending.
    present : nodes that stand already, all of them donors.
    wanted : how many different viable varieties make a scenario covered.
    need : how many scenarios must be covered.
    fruits : shape (N,), a number for the kind of fruit of each node. apart : shape (kinds, kinds),
        of which donor's kind it is known that it sets none of a receiver's.
    costs : shape (candidates,).
    capacities : (candidate variables, how many of them at most).
    include : candidate variables that must be 1.
    optional : limbs may be left uncovered (their variables are free).
    surviving : receivers (nodes) that must stay covered when any single other node is lost.
    felled : nodes that may be felled. outlasting : receivers that must stay covered when any one of
        these is gone.
    """

    view: Viability
    standing: Standing
    candidates: tuple[int, ...]
    limbs: tuple[int, ...]
    present: tuple[int, ...]
    wanted: int
    need: int
    fruits: NDArray[np.int64]
    apart: BoolArray
    costs: FloatArray
    capacities: tuple[tuple[tuple[int, ...], int], ...] = ()
    include: frozenset[int] = frozenset()
    optional: bool = False
    surviving: frozenset[int] = frozenset()
    felled: tuple[int, ...] = ()
    outlasting: frozenset[int] = frozenset()

    @property
    def sure(self) -> bool:
        """Whether limbs are to be served whatever it is that nobody knows."""
        return isinstance(self.view, SureViability)

    @property
    def variables(self) -> int:
        """Number of variables."""
        return len(self.candidates) + len(self.limbs)

    def asks(self, node: int) -> bool:
        """Whether a receiver needs more than what stands, as long as it stands itself."""
        return self.view.is_receiver(node) and not self.is_met(node, *self.standing.of(node))

    def may_serve(self, receiver: int, nodes: NDArray[np.int64]) -> BoolArray:
        """Which of some nodes could serve a receiver as far as their kinds of fruit say."""
        return np.asarray(~self.apart[self.fruits[nodes], self.fruits[receiver]])

    def is_met(self, node: int, covered: int, safe: int) -> bool:
        """Whether a receiver needs no more, as `Standing` counts it: never too soon."""
        loses = node in self.surviving or (bool(self.felled) and node in self.outlasting)
        return covered >= self.need and (not loses or safe >= self.need)

    def nodes(self, chosen: Sequence[int]) -> tuple[int, ...]:
        """Nodes of some candidate variables."""
        return tuple(self.candidates[c] for c in chosen)

    def variables_of(self, nodes: Sequence[int]) -> Chosen:
        """Candidate variables of some nodes."""
        return tuple(self.candidates.index(node) for node in nodes)

    def has_room_for(self, chosen: Collection[int]) -> bool:
        """Whether the trees can carry these candidate variables."""
        taken = set(chosen)
        return all(len(taken.intersection(group)) <= most for group, most in self.capacities)


@dataclass(frozen=True)
class Demand:
    """A receiver that must be covered if its variable is 1, also `without` a lost node."""

    row: int
    variable: int
    without: int | None = None


# --- stating it ------------------------------------------------------------------------------


def cover_problem(
    network: NetworkInput,
    candidates: Sequence[int],
    spare: Mapping[str, int] | None = None,
    *,
    must_include: Sequence[int] = (),
    never: Sequence[int] = (),
    survive: bool = False,
    sure: bool = False,
    view: Viability | None = None,
    most_ordered: int | None = None,
) -> CoverProblem:
    """State the cover problem of a network, before anything is left out.

    Every receiver must do without each tree that may be felled, one at a time.

    sure : limbs must be served whatever the unknown alleles are.
    view : viability of all receivers among limbs and candidates, to save the work.
    most_ordered : of how many candidates the wood may be ordered; None: of any number.
    """
    nodes = network.nodes
    free = tuple(sorted((set(candidates) - set(never)) | set(must_include)))
    if view is None:
        view = view_of(network, free, sure=sure)
    present = present_of(network)
    fruits, apart = kinds_apart(network)
    return CoverProblem(
        view=view,
        standing=Standing(view, present, network.aim.donors),
        candidates=free,
        limbs=tuple(i for i in view.receivers if nodes[i].kind == "limb"),
        present=present,
        wanted=network.aim.donors,
        need=needed_scenarios(network),
        fruits=fruits,
        apart=apart,
        costs=np.array([nodes[c].cost for c in free]),
        capacities=(
            *(() if spare is None else _capacities(network, free, spare)),
            *(() if most_ordered is None else ((_to_order(network, free), most_ordered),)),
        ),
        include=frozenset(free.index(c) for c in must_include),
        surviving=frozenset(view.receivers if survive else ()),
        # Where any loss must be survived, those of these trees are among them.
        felled=() if survive else felled_of(network),
        outlasting=frozenset(view.receivers),
    )


def view_of(network: NetworkInput, candidates: Sequence[int], *, sure: bool) -> Viability:
    """Who serves whom among what stands and the candidates; see `cover_problem`."""
    donors = {*present_of(network), *candidates}
    receivers = [i for i in receivers_of(network) if i in donors]
    if sure:
        return sure_viability(network, receivers, donors=sorted(donors))
    return viability(network, receivers)


def _capacities(
    network: NetworkInput, free: Sequence[int], spare: Mapping[str, int]
) -> tuple[tuple[tuple[int, ...], int], ...]:
    rooms = [room_of(network.nodes[c]) for c in free]
    return tuple(
        (tuple(i for i, other in enumerate(rooms) if other == name), spare.get(name, 0))
        for name in sorted(set(rooms))
    )


def _to_order(network: NetworkInput, free: Sequence[int]) -> tuple[int, ...]:
    return tuple(i for i, c in enumerate(free) if not network.nodes[c].at_hand)


def room_of(node: Node) -> str:
    """What a candidate takes room of: the trees of its fruit, or one place among them."""
    return room_on(node.variety.species, node.tree)


def room_on(species: str, tree: str | None) -> str:
    """The same by fruit and tree; None: any tree of the fruit."""
    return species if tree is None else f"{species} on {tree}"


# --- counting in it --------------------------------------------------------------------------


def donors_standing(
    problem: CoverProblem, demand: Demand, chosen: Sequence[int]
) -> NDArray[np.int64]:
    """Nodes that give pollen to a receiver once the chosen candidates are grafted, ascending."""
    nodes = {*problem.present, *problem.nodes(chosen), problem.view.node_of(demand.row)}
    return _giving(problem, demand, np.array(sorted(nodes), dtype=np.int64))


def _giving(
    problem: CoverProblem, demand: Demand, standing: NDArray[np.int64]
) -> NDArray[np.int64]:
    """Those of some nodes that give a receiver any pollen in time."""
    donors = problem.view.serving(demand.row, standing)
    return donors if demand.without is None else donors[donors != demand.without]


def demands(
    problem: CoverProblem, chosen: Sequence[int], limbs: Sequence[int]
) -> tuple[Demand, ...]:
    """Receivers that must be covered when these candidates and limbs are on."""
    rows, first_limb = problem.view.rows_of, len(problem.candidates)
    active = [Demand(row, first_limb + i) for i in limbs for row in rows(problem.limbs[i])]
    active += [Demand(row, c) for c in chosen for row in rows(problem.candidates[c])]
    return tuple(active)


def open_demands(
    problem: CoverProblem, chosen: Sequence[int], limbs: Sequence[int]
) -> tuple[Demand, ...]:
    """Those of them that what stands does not meet."""
    asking = [i for i in limbs if problem.asks(problem.limbs[i])]
    return demands(problem, [c for c in chosen if problem.asks(problem.candidates[c])], asking)


def scenarios_covered(problem: CoverProblem, demand: Demand, chosen: Sequence[int]) -> int:
    """In how many scenarios a receiver is covered."""
    donors = donors_standing(problem, demand, chosen)
    return covered_count(problem.view, demand.row, donors, problem.wanted)


def losses_of(problem: CoverProblem, receiver: int, donors: NDArray[np.int64]) -> NDArray[np.int64]:
    """Those of some donors whose loss, one at a time, a receiver must outlast; not its own."""
    if receiver in problem.surviving:
        return np.asarray(donors[donors != receiver])
    if receiver in problem.outlasting and problem.felled:
        return np.asarray(donors[np.isin(donors, problem.felled)])
    return donors[:0]


def covered_after_each_loss(
    problem: CoverProblem, demand: Demand, donors: NDArray[np.int64], losses: NDArray[np.int64]
) -> tuple[NDArray[np.int64], NDArray[np.int64]]:
    """Some of a receiver's donors, and the scenarios covered when each of them is lost."""
    counts = counts_without_each(problem.view, demand.row, donors, problem.wanted)
    return losses, counts[np.isin(donors, losses)]


def unmet_demands(
    problem: CoverProblem, chosen: Sequence[int], limbs: Sequence[int]
) -> tuple[Demand, ...]:
    """Demands that these candidates leave short; empty: they are a cover."""
    return unmet_among(problem, open_demands(problem, chosen, limbs), chosen)


def unmet_among(
    problem: CoverProblem, active: Sequence[Demand], chosen: Sequence[int]
) -> tuple[Demand, ...]:
    """The same of some of the demands, whose receivers stand."""
    short = []
    standing = np.array(sorted({*problem.present, *problem.nodes(chosen)}), dtype=np.int64)
    for demand in active:
        donors = _giving(problem, demand, standing)
        losses = losses_of(problem, problem.view.node_of(demand.row), donors)
        if not losses.size:
            covered = safe = covered_count(problem.view, demand.row, donors, problem.wanted)
        else:
            covered, safe = covered_and_safe(problem.view, demand.row, donors, problem.wanted)
        if covered < problem.need:
            short.append(demand)
        elif safe < problem.need:
            lost, left = covered_after_each_loss(problem, demand, donors, losses)
            nodes = lost[left < problem.need].tolist()
            short += [replace(demand, without=node) for node in nodes]
    return tuple(short)


def scenarios_of_worst(problem: CoverProblem, chosen: Sequence[int], limbs: Sequence[int]) -> int:
    """Scenarios in which the worst-off receiver is covered; all of them where there is none.

    Where the cover must outlast losses: after the one that is worst for it.
    """
    active = demands(problem, chosen, limbs)
    counts = [scenarios_covered(problem, d, chosen) for d in active]
    for demand in active:
        donors = donors_standing(problem, demand, chosen)
        losses = losses_of(problem, problem.view.node_of(demand.row), donors)
        if losses.size:
            counts += covered_after_each_loss(problem, demand, donors, losses)[1].tolist()
    return min(counts, default=problem.view.scenarios)


def gains(
    problem: CoverProblem, demand: Demand, standing: Sequence[int], among: NDArray[np.int64]
) -> tuple[FloatArray, int]:
    """What each of some candidates could add for a receiver, and what is covered without them.

    standing : candidate variables that are grafted. among : candidate variables that are not.
    A scenario that has j of the `wanted` varieties gives 1 / (wanted - j) to each candidate that is
    viable in it; so no set of candidates adds more scenarios than the sum of its gains.
    """
    wanted = problem.wanted
    levels, nodes, new = _added(problem, demand, standing, among)
    added = np.zeros(len(nodes))
    exactly = ~levels[0]
    for level in range(wanted):
        added += popcount(new & exactly) / (wanted - level)
        if level + 1 < wanted:
            exactly = levels[level] & ~levels[level + 1]
    offered = np.asarray(problem.candidates, dtype=np.int64)[among]
    worth = np.zeros(len(offered))
    worth[np.isin(offered, nodes)] = added
    return worth, int(popcount(levels[-1]))


def _added(
    problem: CoverProblem, demand: Demand, standing: Sequence[int], among: NDArray[np.int64]
) -> tuple[list[Bits], NDArray[np.int64], Bits]:
    """What a receiver has, as `at_least` says; which of some candidates give it more, and what.

    For the parameters see `gains`.
    """
    view = problem.view
    donors = donors_standing(problem, demand, standing)
    given = view.given(demand.row, donors)
    nodes = _giving(problem, demand, np.asarray(problem.candidates, dtype=np.int64)[among])
    # The receiver itself counts among the donors.
    nodes = nodes[nodes != view.node_of(demand.row)]
    new = view.given(demand.row, nodes)
    for clone in np.unique(view.clones[donors]) if problem.wanted > 1 else ():
        # A second limb of the same variety is no second variety.
        had = np.bitwise_or.reduce(given[view.clones[donors] == clone], axis=0)
        new[view.clones[nodes] == clone] &= ~had
    return at_least(given, view.clones[donors], problem.wanted), nodes, new


def kept_short(
    problem: CoverProblem, demand: Demand, standing: Sequence[int], among: NDArray[np.int64]
) -> list[int]:
    """Those of some candidates, in their order, that can be added with a receiver left short.

    Each is added unless the receiver would have enough with it. For the parameters see `gains`.
    """
    levels, nodes, new = _added(problem, demand, standing, among)
    place = {node: i for i, node in enumerate(nodes.tolist())}
    clones, kept, had = problem.view.clones, list[int](), dict[int, Bits]()
    for candidate in among.tolist():
        node = problem.candidates[candidate]
        if node not in place:
            continue
        given, clone = new[place[node]], int(clones[node])
        more = given & ~had[clone] if clone in had else given
        below = [np.full_like(more, 255), *levels[:-1]]
        after = [level | (more & under) for level, under in zip(levels, below, strict=True)]
        if popcount(after[-1]) < problem.need:
            kept.append(candidate)
            levels, had[clone] = after, had.get(clone, more) | given
    return kept
