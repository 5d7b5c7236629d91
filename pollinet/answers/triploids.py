"""Whether triploids, and others without good pollen, and their donors are served."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from typing import Annotated, ClassVar

from pollinet.advice.pollinizer import Choice, choices
from pollinet.advice.triploids import PollenlessLimb, pollenless_limbs
from pollinet.answers.base import About, Answer, Findings, Share, Told
from pollinet.answers.parts import (
    Donor,
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
from pollinet.compatibility.ploidy import ploidy_of, pollen_fault
from pollinet.domain import Node
from pollinet.study import Study
from pollinet.wording.network import second_text, triploids_answer


@dataclass(frozen=True)
class PollenlessAnswer:
    """A limb without good pollen, its donor, and who serves that donor."""

    id: str
    variety: str
    covered: bool
    verdict: Standing
    reliability: Annotated[Share, About("Expected scenarios with a viable donor.")]
    winters_sure: WintersSure
    winters_expected: WintersExpected
    winters_possible: WintersPossible
    winters_expected_low: WintersLow
    winters_expected_high: WintersHigh
    winters_expected_error: WintersError
    good_pollen_by: Annotated[
        str | None, About("Who says that its pollen is good all the same; null: it is not.")
    ]
    donor: Annotated[
        Donor | None,
        About(
            "The donor told of, not always the best that `check` lists first: the best limb that "
            "has a donor itself, else the best tree next door, else the best of all."
        ),
    ]
    donor_served_by: Annotated[tuple[Donor, ...], About("Who serves that donor.")]
    second_donor: Annotated[str, About("Whether a second donor is needed, as a stable word.")]
    second_donor_needed: bool
    why: str
    would_help: Annotated[tuple[str, ...], About("Scions that would serve what lacks a donor.")]


@dataclass(frozen=True, repr=False)
class Triploids(Answer):
    """Each triploid, its donor, and whether a second one is really needed."""

    NAME: ClassVar[str] = "triploids"
    ROWS: ClassVar[str] = "limbs"
    ROW: ClassVar[type] = PollenlessAnswer

    answer: Told
    limbs: tuple[PollenlessAnswer, ...]
    findings: Findings

    @property
    def exit_code(self) -> int:
        """1 where one of them, or the donor of one, is not covered."""
        lacking = ("needed", "no-first-donor")
        return 1 if any(limb.second_donor in lacking for limb in self.limbs) else 0


@dataclass(frozen=True)
class TriploidsFound:
    """The limbs, who says that the pollen of some is good, and what would help, by node."""

    limbs: tuple[PollenlessLimb, ...]
    givers: Mapping[int, str]
    helpers: Mapping[int, tuple[Choice, ...]]


def look_at_triploids(study: Study) -> TriploidsFound:
    """Look at every limb that is triploid or has no good pollen."""
    limbs = tuple(pollenless_limbs(study.network, study.coverage, _odd_ones(study)))
    return TriploidsFound(limbs, _givers(study, limbs), _helpers(study, limbs))


def _odd_ones(study: Study) -> tuple[int, ...]:
    """Nodes that are triploid, whatever their pollen, and others without good pollen."""
    fruits = study.catalogue.rules.fruits
    nodes = [
        (study.known[node.variety].fertility, fruits[node.variety.species])
        for node in study.network.nodes
    ]
    return tuple(
        i
        for i, (fertility, fruit) in enumerate(nodes)
        if ploidy_of(fertility, fruit) % 2 or pollen_fault(fertility, fruit)
    )


def _givers(study: Study, limbs: Sequence[PollenlessLimb]) -> dict[int, str]:
    """Limbs among them whose pollen is good all the same, with who says so."""
    found = {}
    for node in (limb.coverage.node for limb in limbs):
        variety = study.known[study.network.nodes[node].variety]
        if variety.fertility.pollen_ok is True:
            typed = any(f.property == "pollen_ok" and f.status == "plan" for f in variety.facts)
            found[node] = "plan" if typed else "source"
    return found


def _helpers(study: Study, limbs: Sequence[PollenlessLimb]) -> dict[int, tuple[Choice, ...]]:
    """Scions that would cover each limb that lacks a donor: the first donor's, or its own."""
    lacking = sorted({i for x in limbs if (i := _lacking(x)) is not None})
    if not lacking:
        return {}
    network = study.network_of(study.free_scions())
    candidates = [i for i, node in enumerate(network.nodes) if node.kind == "candidate"]
    return {
        i: tuple(c for c in choices(network, candidates, [i]) if c.closed and c.covers)
        for i in lacking
    }


def _lacking(limb: PollenlessLimb) -> int | None:
    if limb.second == "no-first-donor":
        return limb.coverage.node
    return limb.donor.node if limb.second == "needed" and limb.donor is not None else None


def helping(
    scions: Sequence[Node], helpers: Mapping[int, Sequence[Choice]], limb: int | None
) -> list[str]:
    """Names of the scions that would serve a limb which lacks a donor."""
    found = () if limb is None else helpers[limb]
    return [scions[choice.node].variety.name for choice in found]


def triploids_of(study: Study, found: TriploidsFound) -> Triploids:
    """The answer, limbs in the order of the plan."""
    nodes, scions = study.network.nodes, study.nodes(study.free_scions())
    return Triploids(
        answer=triploids_answer(found.limbs, nodes, found.givers),
        limbs=tuple(
            PollenlessAnswer(
                id=nodes[x.coverage.node].id,
                variety=nodes[x.coverage.node].variety.name,
                covered=x.coverage.covered,
                reliability=x.coverage.reliability,
                good_pollen_by=found.givers.get(x.coverage.node),
                donor=None
                if x.donor is None
                else donor(x.donor, nodes[x.donor.node], nodes[x.coverage.node]),
                donor_served_by=tuple(
                    donor(server, nodes[server.node], nodes[x.donor.node])
                    for server in x.servers
                    if x.donor is not None
                ),
                second_donor=x.second,
                second_donor_needed=x.second == "needed",
                why=second_text(x, nodes),
                would_help=tuple(helping(scions, found.helpers, _lacking(x))),
                **standing(x.coverage),
            )
            for x in found.limbs
        ),
        findings=study.findings,
    )
