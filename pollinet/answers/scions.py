"""Which wood to cut or to order for the smallest set."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from typing import Annotated, ClassVar

from pollinet.answers.base import About, Answer, Findings
from pollinet.answers.grafting import HowToGraft, how_to_graft
from pollinet.answers.parts import Fruit
from pollinet.domain import NetworkInput
from pollinet.network.cover import Cover
from pollinet.study import Study
from pollinet.summary.grafting import Grafting, graftings
from pollinet.summary.scions import ScionWanted, near_help, scions_wanted
from pollinet.wording.grafting import grafting_lines, left_lines
from pollinet.wording.scions import cautions, graft_text, scions_answer
from pollinet.wording.sentences import cover_answer, short_name


@dataclass(frozen=True)
class ScionToGraft:
    """One variety to graft."""

    variety: str
    species: Fruit
    at_hand: Annotated[bool, About("Among the plan's scions; else it must be ordered.")]
    graft_on: Annotated[tuple[str, ...], About("Trees with room for it.")]
    carries: Annotated[
        tuple[str, ...],
        About(
            "Limbs that it would carry alone, whose best donor it would be, or that would fall "
            "short without it."
        ),
    ]
    tree: Annotated[str | None, About("The tree that it goes on; null: none has room.")]
    place: Annotated[str, About("That tree, why that one, and where on it, in words.")]
    how: Annotated[HowToGraft, About("When, into what, how much wood, whose.")]


@dataclass(frozen=True, repr=False)
class Scions(Answer):
    """Wood to cut or to order."""

    NAME: ClassVar[str] = "scions"
    ROWS: ClassVar[str] = "scions"
    ROW: ClassVar[type] = ScionToGraft

    answer: Annotated[str, About("The list in one sentence.")]
    why: Annotated[str, About("The cover that asks for it.")]
    scions: tuple[ScionToGraft, ...]
    to_do: Annotated[
        tuple[str, ...], About("When to graft, into what, how much wood, whom to ask, in words.")
    ]
    cautions: Annotated[tuple[str, ...], About("What to mind with wood from elsewhere.")]
    findings: Findings
    uncovered: Annotated[tuple[str, ...], About("Limbs that no choice of scions covers.")]

    @property
    def exit_code(self) -> int:
        """1 where some limb cannot be covered."""
        return 1 if self.uncovered else 0


def scions_of(study: Study, network: NetworkInput, cover: Cover) -> Scions:
    """The list for the first set of a cover."""
    wanted, nodes = scions_wanted(study, network, cover), network.nodes
    chosen = cover.added or cover.partial
    trees = {node: one.tree for node, one in zip(chosen, wanted, strict=True)}
    how = graftings(study, network, chosen, trees)
    uncovered = tuple(short_name(nodes[miss.node]) for miss in cover.uncovered)
    return Scions(
        answer=scions_answer(wanted, cover, near_help(study, network, cover)),
        why=cover_answer(cover, nodes, study.plan.aim.level),
        scions=_listed(wanted, how),
        to_do=(*grafting_lines(how), *left_lines(uncovered)),
        cautions=cautions({scion.variety.species for scion in wanted}),
        findings=study.findings,
        uncovered=uncovered,
    )


def _listed(wanted: Sequence[ScionWanted], how: Sequence[Grafting]) -> tuple[ScionToGraft, ...]:
    return tuple(
        ScionToGraft(
            scion.variety.name, scion.variety.species, scion.at_hand, scion.trees, scion.serves,
            scion.tree, graft_text(scion), how_to_graft(one),
        )
        for scion, one in zip(wanted, how, strict=True)
    )  # fmt: skip
