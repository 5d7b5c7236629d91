"""What the loss of limbs or neighbours' trees does, and what to add then."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from time import monotonic
from typing import Annotated, Any, ClassVar

from pollinet.answers.base import About, Answer, Findings, Share, Told
from pollinet.answers.parts import WintersExpected, WintersPossible, WintersSure
from pollinet.network.coverage import LimbCoverage, LimbVerdict, limb_coverage
from pollinet.network.resilience import Loss, losses, mutual_groups
from pollinet.network.selection import lose_nodes
from pollinet.network.viability import present_of
from pollinet.study import Study
from pollinet.summary.limbs import redundancy
from pollinet.wording.network import losses_answer, without_answer
from pollinet.wording.sentences import cover_answer

# --- after a named loss ------------------------------------------------------------------------


@dataclass(frozen=True)
class LimbAfter:
    """A limb before and after the loss."""

    id: str
    variety: str
    covered_now: bool
    covered: bool
    verdict_now: Annotated[LimbVerdict, About("Before: sure, likely, open or lacking.")]
    verdict: Annotated[LimbVerdict, About("After: sure, likely, open or lacking.")]
    reliability_now: Annotated[Share, About("Before, expected.")]
    reliability: Annotated[Share, About("After, expected.")]
    winters_sure: WintersSure
    winters_expected: WintersExpected
    winters_possible: WintersPossible


@dataclass(frozen=True)
class CoverAfter:
    """The smallest set that covers every limb again."""

    answer: str
    added: tuple[str, ...]
    alternatives: tuple[tuple[str, ...], ...]


@dataclass(frozen=True, repr=False)
class Without(Answer):
    """The plan after a loss."""

    NAME: ClassVar[str] = "without"
    ROWS: ClassVar[str] = "limbs"
    ROW: ClassVar[type] = LimbAfter

    answer: Told
    lost: Annotated[tuple[str, ...], About("Ids of what is lost.")]
    limbs: tuple[LimbAfter, ...]
    then: Annotated[CoverAfter, About("The smallest set that covers every limb again.")]
    findings: Findings

    @property
    def exit_code(self) -> int:
        """1 where some limb is not covered after the loss."""
        return 0 if all(limb.covered for limb in self.limbs) else 1


@dataclass(frozen=True)
class After:
    """The garden after a loss, told in the node numbers of before.

    answer : what `cover_answer` says of the smallest set then; added : varieties of that set.
    """

    lost: tuple[int, ...]
    rows: tuple[LimbCoverage, ...]
    answer: str
    added: tuple[str, ...]
    alternatives: tuple[tuple[str, ...], ...]
    all_listed: bool


def loss_of(study: Study, lost: Sequence[int], *, from_catalogue: bool = False) -> After:
    """Coverage and smallest set without some nodes."""
    from pollinet.network.cover import Cover, smallest_cover
    from pollinet.network.preferred import preferred_cover
    from pollinet.network.time_limit import SEARCH_LIMIT_S, time_left

    time = time_left(SEARCH_LIMIT_S, monotonic)
    network = study.network_of(study.free_scions(from_catalogue=from_catalogue))
    rest = [i for i in present_of(network) if i not in set(lost)]
    rows = limb_coverage(network, rest)
    left = lose_nodes(network, lost)
    candidates = range(len(rest), len(left.nodes))

    def search(free: Sequence[int], most_ordered: int | None) -> Cover:
        return smallest_cover(
            left, free, study.spare_limbs(), preferences=study.tie_breakers(left),
            clock=monotonic, time_limit_s=time(), most_ordered=most_ordered,
        )  # fmt: skip

    cover = preferred_cover(left, candidates, search)
    names = [
        tuple(left.nodes[i].graft for i in chosen)
        for chosen in (cover.added or cover.partial, *cover.alternatives)
    ]
    answer = cover_answer(cover, left.nodes, network.aim.level)
    return After(tuple(lost), rows, answer, names[0], tuple(names[1:]), cover.all_listed)


def without_of(study: Study, after: After) -> Without:
    """The answer on a loss, from what `loss_of` has found."""
    nodes, before = study.network.nodes, {row.node: row for row in study.coverage}
    return Without(
        answer=without_answer(after.lost, after.rows, before, nodes),
        lost=tuple(nodes[i].id for i in after.lost),
        limbs=tuple(
            LimbAfter(
                id=nodes[row.node].id,
                variety=nodes[row.node].variety.name,
                covered_now=before[row.node].covered,
                covered=row.covered,
                verdict_now=before[row.node].verdict,
                verdict=row.verdict,
                reliability_now=before[row.node].reliability,
                reliability=row.reliability,
                winters_sure=row.sure,
                winters_expected=row.reliability,
                winters_possible=row.possible_reliability,
            )
            for row in after.rows
        ),
        then=CoverAfter(after.answer, after.added, after.alternatives),
        findings=study.findings,
    )


# --- every single loss -------------------------------------------------------------------------


@dataclass(frozen=True)
class Fall:
    """A limb that is worse off after a loss."""

    limb: str
    now: Annotated[Share, About("Before.")]
    then: Annotated[Share, About("After.")]


@dataclass(frozen=True)
class OneLoss:
    """What one loss does."""

    lost: str
    uncovers: tuple[str, ...]
    falls: tuple[Fall, ...]


@dataclass(frozen=True, repr=False)
class WithoutEach(Answer):
    """The loss of each limb and neighbour in turn."""

    NAME: ClassVar[str] = "without-each"

    answer: Told
    critical: Annotated[tuple[str, ...], About("Whose loss uncovers a limb.")]
    losses: tuple[OneLoss, ...]
    redundancy: Annotated[dict[str, int], About("By limb: donors each of which would do alone.")]
    mutual_groups: Annotated[
        tuple[tuple[str, ...], ...],
        About("Groups in which pollen finds its way from each to each."),
    ]
    findings: Findings
    uncovered: Annotated[tuple[str, ...], About("Limbs that lack cover as it is.")]

    @property
    def exit_code(self) -> int:
        """1 where some limb is not covered as it is."""
        return 1 if self.uncovered else 0

    def rows(self) -> list[dict[str, Any]]:
        """One row a loss and limb that falls by it."""
        return [
            {
                "lost": loss.lost,
                "limb": fall.limb,
                "now": fall.now,
                "then": fall.then,
                "uncovers": fall.limb in loss.uncovers,
            }
            for loss in self.losses
            for fall in loss.falls
        ]

    @classmethod
    def columns(cls) -> list[str]:
        """What is lost, the limb that falls, its shares now and then, whether it is uncovered."""
        return ["lost", "limb", "now", "then", "uncovers"]


def every_loss(study: Study) -> tuple[Loss, ...]:
    """Each limb and neighbour's tree lost in turn."""
    return tuple(losses(study.network))


def groups_of(study: Study) -> tuple[tuple[str, ...], ...]:
    """Groups in which pollen finds its way from each to each."""
    from pollinet.network.graph import donor_graph

    return mutual_groups(donor_graph(study.network, coverage=study.coverage))


def without_each_of(study: Study, found: Sequence[Loss]) -> WithoutEach:
    """The answer on every single loss, in the order of nodes."""
    nodes = study.network.nodes
    return WithoutEach(
        answer=losses_answer(found, study.coverage, nodes),
        critical=tuple(nodes[loss.node].id for loss in found if loss.critical),
        losses=tuple(
            OneLoss(
                nodes[loss.node].id,
                tuple(nodes[i].id for i in loss.uncovered),
                tuple(Fall(nodes[i].id, now, then) for i, now, then in loss.weakened),
            )
            for loss in found
        ),
        redundancy=redundancy(study.network, study.coverage),
        mutual_groups=groups_of(study),
        findings=study.findings,
        uncovered=tuple(nodes[row.node].id for row in study.coverage if not row.covered),
    )
