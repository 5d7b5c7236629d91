"""Why some limbs cannot be covered, or not after a loss: the nearest miss of each."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

from pollinet.domain import NetworkInput, Verdict
from pollinet.network.coverage import DonorShare, Refusal, limb_coverage
from pollinet.network.cuts import CoverProblem, Demand, counted, violated

Shortfall = tuple[Demand, float]
"""What a receiver lacks, and the share of scenarios in which it is covered then."""


@dataclass(frozen=True)
class Uncovered:
    """A limb that no choice of candidates can cover, or not after a loss; new grafts count too.

    code : why its nearest donor fails, a `RefusalCode`; `too-few-winters` where donors are viable
        in some scenarios, but together in too few; `no-spare-limb` where a cover exists but there
        is no room for it; `no-donor` where no other node exists. Where a loss must be survived:
        `one-loss` where the loss of `donor` leaves too few scenarios whatever is grafted, and
        `one-loss-no-room` where it does so because there is no room for another donor; both are
        covered as long as nothing is lost.
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

    @property
    def hangs(self) -> bool:
        """Whether it is covered until one donor is lost."""
        return self.code.startswith("one-loss")


def shortfalls(problem: CoverProblem, chosen: Sequence[int]) -> dict[int, Shortfall]:
    """Receivers that some candidates leave short, by node: the worst loss of each.

    The demand is `without` a lost donor where the receiver is covered as long as none is lost.
    """
    found: dict[int, Shortfall] = {}
    for demand in violated(problem, chosen, range(len(problem.limbs))):
        share = counted(problem, demand, chosen) / problem.view.scenarios
        node = problem.view.receivers[demand.row]
        if node not in found or share < found[node][1]:
            found[node] = demand, share
    return found


def loss_miss(
    network: NetworkInput, problem: CoverProblem, node: int, short: Shortfall, *, hopeless: bool
) -> Uncovered:
    """State the donor that must not be lost. hopeless : whatever else is grafted."""
    (row,) = limb_coverage(network, (*problem.present, *problem.candidates), only=(node,))
    lost = next(donor for donor in row.donors if donor.node == short[0].without)
    code = "one-loss" if hopeless else "one-loss-no-room"
    return _miss(node, code, lost, short[1], None, row.reliability)


def nearest_miss(
    network: NetworkInput, problem: CoverProblem, limb: int, *, hopeless: bool
) -> Uncovered:
    """State why a limb has no sure donor. hopeless : whatever is grafted, not for lack of room."""
    here = (*problem.present, *problem.candidates)
    (row,) = limb_coverage(network, (*here, limb), only=(limb,))
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
