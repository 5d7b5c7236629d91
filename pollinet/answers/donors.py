"""All donors of one limb, present and possible, and why the others are none."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from typing import Annotated, ClassVar, Literal

from pollinet.answers.base import About, Answer, Findings, Share, Told, Typed
from pollinet.answers.parts import (
    Donor,
    Fruit,
    Standing,
    WintersError,
    WintersExpected,
    WintersHigh,
    WintersLow,
    WintersPossible,
    WintersSure,
    donor,
    standing,
)
from pollinet.domain import NetworkInput, Node
from pollinet.network.coverage import LimbCoverage, Refusal, limb_coverage
from pollinet.network.nearest_miss import nearness
from pollinet.network.selection import as_receiver
from pollinet.study import Study
from pollinet.summary.limbs import carrying
from pollinet.wording.network import donors_answer
from pollinet.wording.sentences import refusal_words


@dataclass(frozen=True)
class RefusedDonor:
    """A variety that is no donor of the limb."""

    id: str
    kind: Literal["limb", "neighbour", "candidate"]
    variety: str
    species: Fruit
    code: Annotated[str, About("Why not, as a stable word.")]
    reason: str
    shift_days: Annotated[
        float | None,
        About("How much later it blooms; negative: earlier; null: never in one scenario. [days]"),
    ]
    overlap_days: Annotated[float, About("Usual shared bloom. [days]")]
    reliability_if_unknown_pollen_works: Share


@dataclass(frozen=True, repr=False)
class Donors(Answer):
    """All donors of one limb, present and possible."""

    NAME: ClassVar[str] = "donors"
    ROWS: ClassVar[str] = "donors"
    ROW: ClassVar[type] = Donor

    answer: Told
    limb: str
    variety: str
    typed: Typed
    covered: Annotated[bool, About("Whether what stands now covers the limb.")]
    verdict: Standing
    reliability: Annotated[Share, About("Scenarios with a viable donor that stands now.")]
    winters_sure: WintersSure
    winters_expected: WintersExpected
    winters_possible: WintersPossible
    winters_expected_low: WintersLow
    winters_expected_high: WintersHigh
    winters_expected_error: WintersError
    donors: Annotated[tuple[Donor, ...], About("Viable donors, best first.")]
    refused: Annotated[tuple[RefusedDonor, ...], About("No donors, the nearest first.")]
    findings: Findings


@dataclass(frozen=True)
class Looked:
    """What stands and what could be grafted, looked at for one limb.

    now : coverage by what stands. row : coverage by all.
    """

    network: NetworkInput
    now: LimbCoverage
    row: LimbCoverage

    @property
    def node(self) -> Node:
        """The limb."""
        return self.network.nodes[self.row.node]

    @property
    def answer(self) -> str:
        """The answer in one sentence."""
        network, enough = self.network, carrying(self.network, self.row)
        # With two donors asked for, the winters of all are not those with any of them.
        together = self.now.reliability if network.aim.donors == 1 else None
        return donors_answer(
            self.node, self.row, network.nodes, network.aim.level, enough, together
        )


def look(study: Study, receiver: int, *, from_catalogue: bool = False) -> Looked:
    """Look at all that could serve one limb; receiver : its place among the nodes."""
    scions = study.free_scions(from_catalogue=from_catalogue)
    network = as_receiver(study.network_of(scions), receiver)
    here = [i for i, node in enumerate(network.nodes) if node.kind != "candidate"]
    (now,) = limb_coverage(network, here, only=(receiver,))
    (row,) = limb_coverage(network, range(len(network.nodes)), only=(receiver,))
    return Looked(network, now, row)


def refused(row: LimbCoverage, nodes: Sequence[Node]) -> list[Refusal]:
    """Refused nodes of the same or a crossing fruit, what stands first, the nearest first."""
    others = [
        r
        for r in row.refusals
        if r.node != row.node
        and r.verdict is not None
        and (r.code == "same-variety" or r.verdict.code != "other-fruit")
    ]
    return sorted(others, key=lambda r: (nodes[r.node].kind == "candidate", *nearness(r), r.node))


def donors_of(study: Study, looked: Looked) -> Donors:
    """The answer on one limb, from what `look` has found."""
    nodes, row = looked.network.nodes, looked.row
    return Donors(
        answer=looked.answer,
        limb=looked.node.id,
        variety=looked.node.variety.name,
        typed=study.plan.typed.get(looked.node.id),
        covered=looked.now.covered,
        reliability=looked.now.reliability,
        donors=tuple(donor(share, nodes[share.node], nodes[row.node]) for share in row.donors),
        refused=tuple(_refused(r, nodes, row.node) for r in refused(row, nodes)),
        findings=study.findings,
        **standing(looked.now),
    )


def _refused(refusal: Refusal, nodes: Sequence[Node], limb: int) -> RefusedDonor:
    node = nodes[refusal.node]
    return RefusedDonor(
        id=node.id,
        kind=node.kind,
        variety=node.variety.name,
        species=node.variety.species,
        code=refusal.code,
        reason=refusal_words(refusal, nodes, limb),
        shift_days=None if refusal.days is None else round(refusal.days, 3),
        overlap_days=round(refusal.overlap_days, 3),
        reliability_if_unknown_pollen_works=refusal.possible,
    )
