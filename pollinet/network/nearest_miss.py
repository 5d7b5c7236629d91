"""The nearest miss: which of the nodes that are no donors comes nearest, and so why a limb is bare.

One order for every answer that names it. A limb whose donors serve in too few winters has its best
donor for its nearest miss (`LimbCoverage.donors`); the refused ones come after it.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

from pollinet.domain import NetworkInput, Node, Verdict
from pollinet.network.coverage import (
    DonorShare,
    LimbCoverage,
    LimbVerdict,
    Refusal,
    RefusalCode,
    limb_coverage,
)
from pollinet.network.problem import (
    CoverProblem,
    Demand,
    open_demands,
    scenarios_covered,
    unmet_among,
)
from pollinet.network.shortage import ChillLack, chill_lack

_STEPS: dict[RefusalCode, int] = {
    "unknown-compatibility": 0,
    "no-own-bloom": 1,
    "no-bloom": 1,
    "short-overlap": 2,
    "half-only": 3,
    "chill": 4,
    "blooms-earlier": 5,
    "blooms-later": 5,
    "too-far": 6,
    "incompatible": 7,
    "same-variety": 8,
    "not-self-fertile": 9,
    "no-verdict": 10,
}
"""Own order, the nearest first: what a fact still to be found out would change comes before what
weather, distance and alleles forbid."""


def nearness(refusal: Refusal) -> tuple[float, ...]:
    """Key for sorting the nodes that are no donors of one limb, the nearest to being one first.

    First the pairs whose verdict alone is missing, by their chance to serve; then as `_STEPS` has
    it, by days between their blooms, shared days, and the order of nodes.
    """
    step = _STEPS[refusal.code]
    days = abs(refusal.days) if refusal.days is not None else 999.0
    return step, -refusal.possible, days, -refusal.overlap_days, refusal.node


def misses(limb: LimbCoverage) -> list[Refusal]:
    """The nodes that are no donors of a limb and could be named for it, the nearest first.

    The limb itself, where it is not self-fertile, and other kinds of fruit are no misses.
    """
    named = [r for r in limb.refusals if r.code not in ("not-self-fertile", "no-verdict")]
    kin = [r for r in named if r.verdict is None or r.verdict.code != "other-fruit"]
    return sorted(kin, key=nearness)


def different_misses(limb: LimbCoverage, nodes: Sequence[Node]) -> list[Refusal]:
    """`misses`, but of trees of one variety to which the same applies only the first.

    What stands too far away is told of each: how far is said of it.
    """
    found: dict[tuple[object, ...], Refusal] = {}
    for refusal in limb.refusals:
        node, code = nodes[refusal.node], refusal.code
        away = refusal.node if code == "too-far" else None
        told = code, id(refusal.verdict), refusal.days, refusal.possible, refusal.overlap_days
        found.setdefault((*told, node.variety, node.sheds_apart, away), refusal)
    return misses(limb.with_donors(limb.node, limb.donors, tuple(found.values())))


Shortfall = tuple[Demand, float]
"""What a receiver lacks, and the share of scenarios in which it is covered then."""


@dataclass(frozen=True)
class Uncovered:
    """A limb that no choice of candidates can cover, or not after a loss; new grafts count too.

    code : why its nearest donor fails, a `RefusalCode`; `too-few-winters` where donors are viable
        in some scenarios, but together in too few; `no-spare-limb` where a cover exists but there
        is no room for it; `no-donor` where no other node exists; `bare-donor` where new grafts
        would cover it that would have no donor themselves; `not-sure` where it is covered with
        every candidate grafted, but only likely, and sure was asked for. Where a loss must be
        survived: `one-loss` where the loss of `donor` leaves too few scenarios whatever is
        grafted, and `one-loss-no-room` where it does so because there is no room for another
        donor; both are covered as long as nothing is lost.
    donor : the nearest miss, or the donor that must not be lost, a node index. verdict, days,
        reliability : of that donor, see `Refusal.days`; after a loss, `reliability` is what is
        left of the limb's coverage.
    reachable : share of scenarios in which it would be covered with every candidate grafted; the
        sure share where sure was asked for. expected : the expected one in any case.
    standing : the verdict on it with every candidate grafted.
    undated : nodes among the limb and that donor of whose bloom nothing is known.
    short : whether chill is what it lacks, with every candidate grafted, in too many winters.
    """

    node: int
    code: str
    donor: int | None
    verdict: Verdict | None
    days: float | None
    overlap_days: float
    reliability: float
    reachable: float
    expected: float = 0.0
    standing: LimbVerdict = "lacking"
    undated: tuple[int, ...] = ()
    short: ChillLack | None = None

    @property
    def hangs(self) -> bool:
        """Whether it is covered until one donor is lost."""
        return self.code.startswith("one-loss")


def shortfalls(
    problem: CoverProblem, chosen: Sequence[int], *, doubtful: Sequence[int] | None = None
) -> dict[int, Shortfall]:
    """Receivers that some candidates leave short, by node: the worst loss of each.

    doubtful : those of them of which it is not known that they are served; None: all.
    The demand is `without` a lost donor where the receiver is covered as long as none is lost.
    """
    found: dict[int, Shortfall] = {}
    asking = chosen if doubtful is None else doubtful
    active = open_demands(problem, asking, range(len(problem.limbs)))
    for demand in unmet_among(problem, active, chosen):
        share = scenarios_covered(problem, demand, chosen) / problem.view.scenarios
        node = problem.view.node_of(demand.row)
        if node not in found or _severity(demand, share) < _severity(*found[node]):
            found[node] = demand, share
    return found


def never_covered(problem: CoverProblem) -> set[int]:
    """Limbs, as nodes, that even all candidates together leave short, whatever is lost or not."""
    every = shortfalls(problem, range(len(problem.candidates)), doubtful=())
    return {node for node, lost in every.items() if lost[0].without is None}


def _severity(demand: Demand, share: float) -> tuple[bool, float]:
    """What is short as long as nothing is lost comes first, also where other cases are worse."""
    return demand.without is not None, share


def loss_miss(
    network: NetworkInput, problem: CoverProblem, node: int, short: Shortfall, *, hopeless: bool
) -> Uncovered:
    """State the donor that must not be lost. hopeless : whatever else is grafted."""
    (row,) = limb_coverage(network, (*problem.present, *problem.candidates), only=(node,))
    known: tuple[DonorShare | Refusal, ...] = (*row.donors, *row.refusals)
    lost = next(donor for donor in known if donor.node == short[0].without)
    code = "one-loss" if hopeless else "one-loss-no-room"
    return _miss(network, problem, row, code, lost, short[1])


def nearest_miss(
    network: NetworkInput, problem: CoverProblem, limb: int, *, hopeless: bool
) -> Uncovered:
    """State why a limb has no sure donor. hopeless : whatever is grafted, not for lack of room."""
    here = (*problem.present, *problem.candidates)
    (row,) = limb_coverage(network, (*here, limb), only=(limb,))
    if not hopeless or row.donors:
        code, best = _cause(network, problem, row) if hopeless else ("no-spare-limb", row.donors[0])
        return _miss(network, problem, row, code, best, best.reliability)
    reasons = misses(row)
    if not reasons:
        return Uncovered(limb, "no-donor", None, None, None, 0.0, 0.0, 0.0)
    return _miss(network, problem, row, reasons[0].code, reasons[0], 0.0)


def _cause(
    network: NetworkInput, problem: CoverProblem, row: LimbCoverage
) -> tuple[str, DonorShare]:
    """Why a limb that has donors when every candidate is grafted cannot be covered, and by whom."""
    if row.verdict == "sure" or (row.covered and not problem.sure):
        grafts = (d for d in row.donors if network.nodes[d.node].kind == "candidate")
        bare = next((d for d in grafts if network.nodes[d.node].must_crop), None)
        if bare is not None:
            return "bare-donor", bare
    if problem.sure and row.covered:
        return "not-sure", _first_open(network, row)
    return "too-few-winters", row.donors[0]


def _first_open(network: NetworkInput, row: LimbCoverage) -> DonorShare:
    """The best donor that may turn out to be none, else the best of all."""
    dated = network.dated
    doubtful = (d for d in row.donors if not d.known or (dated is not None and not dated[d.node]))
    return next(doubtful, row.donors[0])


def _miss(
    network: NetworkInput,
    problem: CoverProblem,
    row: LimbCoverage,
    code: str,
    donor: DonorShare | Refusal,
    reliability: float,
) -> Uncovered:
    """row : coverage of the limb with every candidate grafted."""
    both = (row.node, donor.node)
    return Uncovered(
        row.node,
        code,
        donor.node,
        donor.verdict,
        donor.days if isinstance(donor, Refusal) else None,
        donor.overlap_days,
        reliability,
        row.sure if problem.sure else row.reliability,
        row.reliability,
        row.verdict,
        () if network.dated is None else tuple(i for i in both if not network.dated[i]),
        None if code != "too-few-winters" else chill_lack(network, row),
    )
