"""Many gardens at once: who serves whom across fences, what one loss does, the set for all."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass, field
from pathlib import Path
from time import monotonic
from typing import TYPE_CHECKING, Annotated, ClassVar

from pollinet.advice.suspicion import Ill
from pollinet.answers.base import WHEN_ASKED, About, Answer, Findings, Share, Told
from pollinet.answers.parts import Fruit, WintersExpected, WintersPossible, WintersSure
from pollinet.network.coverage import LimbVerdict
from pollinet.network.time_limit import SEARCH_LIMIT_S, time_left
from pollinet.study.collection import Collection as Opened
from pollinet.summary.collection import GroupFacts, SharedLimb, SuspectTree, group_facts
from pollinet.wording.collection import collection_answer
from pollinet.wording.sentences import cover_answer

if TYPE_CHECKING:
    import pandas as pd

Metres = Annotated[float | None, About("[m]; null: not told.")]


@dataclass(frozen=True)
class OneGarden:
    """A garden of the folder."""

    name: str
    file: str
    latitude: Annotated[float | None, About("[degrees]; null: not told.")]
    longitude: Annotated[float | None, About("[degrees]; null: not told.")]
    together_with: Annotated[tuple[str, ...], About("Gardens that pollen links it with.")]
    limbs: Annotated[int, About("Limbs that are to crop.")]
    covered: Annotated[int, About("Of these, with a viable donor.")]
    covered_by_own: Annotated[int, About("Of these, by the limbs of this garden alone.")]


@dataclass(frozen=True)
class LimbOfMany:
    """A limb: what its own garden gives it, and what all gardens do together."""

    garden: str
    id: str
    fruit: Fruit
    variety: str
    verdict: Annotated[LimbVerdict, About("With all that stands.")]
    verdict_by_own: Annotated[LimbVerdict, About("By the limbs of its own garden alone.")]
    winters_sure: WintersSure
    winters_expected: WintersExpected
    winters_possible: WintersPossible
    winters_expected_by_own: WintersExpected
    best_donor: Annotated[str | None, About("Its variety; null: there is none.")]
    best_donor_garden: Annotated[
        str | None, About("Where it stands; null: next door, in none of these gardens.")
    ]
    best_donor_m: Metres
    only_across_fences: Annotated[bool, About("Covered, but not by its own garden alone.")]


@dataclass(frozen=True)
class AcrossFence:
    """A donor of one garden that carries a limb of another alone, or is its best one."""

    giver: str
    donor: Annotated[str, About("Id of a limb of the giver.")]
    receiver: str
    limb: str
    winters: Annotated[Share, About("Share of winters in which it is a viable donor.")]
    overlap_days: Annotated[float, About("Mean shared bloom. [days]")]
    distance_m: Annotated[float, About("[m]")]


@dataclass(frozen=True)
class LimbNamed:
    """A limb by its garden and id."""

    garden: str
    id: str


@dataclass(frozen=True)
class LossOfTree:
    """A tree whose loss leaves a limb without a donor."""

    garden: Annotated[str, About("Whose it is, or who tells of it.")]
    tree: str
    next_door: Annotated[bool, About("It stands in none of these gardens.")]
    varieties: tuple[str, ...]
    uncovers: tuple[LimbNamed, ...]
    in_other_gardens: Annotated[int, About("How many of these limbs are another garden's.")]


@dataclass(frozen=True)
class GraftOfSet:
    """A variety of the smallest set, and where it goes."""

    variety: str
    garden: Annotated[str | None, About("null: no tree has room.")]
    tree: str | None
    wood_from: Annotated[tuple[str, ...], About("Gardens that have wood; none: to be ordered.")]
    serves: tuple[LimbNamed, ...]


@dataclass(frozen=True)
class SetOfGroup:
    """The smallest set for gardens within reach of each other."""

    gardens: tuple[str, ...]
    answer: str
    status: str
    bound: Annotated[float | None, About("No set is smaller than this.")]
    grafts: tuple[GraftOfSet, ...]


@dataclass(frozen=True)
class ToldTwice:
    """A neighbour's tree that another garden tells of, too."""

    garden: str
    neighbour: str
    other: str
    tree: Annotated[str | None, About("Tree of the other garden; null: its neighbour, too.")]


@dataclass(frozen=True)
class SignNoted:
    """A sign of disease in a log."""

    limb: str
    sign: str
    year: int


@dataclass(frozen=True)
class SuspectedTree:
    """A tree under suspicion of a disease: nothing is grafted on it, no wood is cut from it."""

    garden: Annotated[str, About("Whose it is, or who tells of it.")]
    tree: str
    next_door: Annotated[bool, About("It stands in none of these gardens.")]
    disease: Ill
    limbs: Annotated[tuple[str, ...], About("All that grow on it.")]
    signs: tuple[SignNoted, ...]


@dataclass(frozen=True, repr=False)
class Collection(Answer):
    """Many gardens at once."""

    NAME: ClassVar[str] = "collection"
    ROWS: ClassVar[str] = "limbs"
    ROW: ClassVar[type] = LimbOfMany

    answer: Told
    suspected: Annotated[
        tuple[SuspectedTree, ...] | None, About("Only where a tree is under suspicion.")
    ] = field(default=None, kw_only=True, metadata=WHEN_ASKED)
    gardens: tuple[OneGarden, ...]
    limbs: tuple[LimbOfMany, ...]
    across_fences: tuple[AcrossFence, ...]
    losses: Annotated[tuple[LossOfTree, ...], About("Those that leave a limb bare.")]
    sets: Annotated[tuple[SetOfGroup, ...], About("One for gardens within reach of each other.")]
    told_twice: tuple[ToldTwice, ...]
    left_out: Annotated[tuple[str, ...], About("Plans with errors; see the findings.")]
    findings: Findings

    @property
    def exit_code(self) -> int:
        """1 where some limb is not covered, or a plan was left out."""
        bare = any(one.covered < one.limbs for one in self.gardens)
        return 1 if bare or self.left_out else 0

    def to_frame(self) -> pd.DataFrame:
        """The limbs; where a tree is under suspicion, a first column says of what each is."""
        frame = super().to_frame()
        if self.suspected:
            ills = {(one.garden, limb): one.disease for one in self.suspected for limb in one.limbs}
            told = [ills.get((limb.garden, limb.id), "") for limb in self.limbs]
            frame.insert(0, "suspicion", told)
        return frame


def collection_facts(opened: Opened, *, from_catalogue: bool = False) -> tuple[GroupFacts, ...]:
    """What is told of each group; all their searches share one limit, by what each has limbs."""
    left = time_left(SEARCH_LIMIT_S, monotonic)
    ordered = sorted(opened.groups, key=lambda group: len(group.study.plan.limbs))
    waiting = sum(len(group.study.plan.limbs) for group in ordered)
    found = {}
    for group in ordered:
        limbs = len(group.study.plan.limbs)
        limit_s = (left() or 0.0) * limbs / max(waiting, 1)
        waiting -= limbs
        found[id(group)] = group_facts(group, limit_s=limit_s, from_catalogue=from_catalogue)
    return tuple(found[id(group)] for group in opened.groups)


def collection_of(opened: Opened, facts: Sequence[GroupFacts], folder: Path) -> Collection:
    """The answer on a folder of gardens, from what `collection_facts` has found."""
    limbs = [limb for one in facts for limb in one.limbs]
    return Collection(
        answer=collection_answer(facts, len(opened.left_out)),
        suspected=tuple(_suspected(one) for group in facts for one in group.suspected) or None,
        gardens=tuple(sorted(_gardens(facts, folder), key=lambda garden: garden.name)),
        limbs=tuple(_limb(limb) for limb in limbs),
        across_fences=tuple(
            AcrossFence(
                one.giver, one.donor, one.receiver, one.limb, one.share.reliability,
                one.share.overlap_days, round(one.way_m, 1),
            )
            for group in facts
            for one in group.services
        ),
        losses=tuple(
            LossOfTree(
                loss.garden, loss.tree, loss.is_neighbours, loss.varieties,
                tuple(LimbNamed(*limb) for limb in loss.uncovers), loss.elsewhere,
            )
            for group in facts
            for loss in group.losses
        ),
        sets=tuple(_set(one) for one in facts),
        told_twice=tuple(
            ToldTwice(same.garden, same.neighbour, same.other, same.here)
            for group in facts
            for same in group.group.same
        ),
        left_out=opened.left_out,
        findings=opened.findings,
    )  # fmt: skip


def _gardens(facts: Sequence[GroupFacts], folder: Path) -> Iterator[OneGarden]:
    for one in facts:
        names = [garden.name for garden in one.group.gardens]
        for garden in one.group.gardens:
            own = [limb for limb in one.limbs if limb.garden == garden.name]
            site = garden.study.plan.site
            yield OneGarden(
                garden.name, garden.path.relative_to(folder).as_posix(),
                site.latitude if site.latitude_known else None, site.longitude,
                tuple(name for name in names if name != garden.name),
                len(own), sum(limb.together.covered for limb in own),
                sum(limb.own.covered for limb in own),
            )  # fmt: skip


def _limb(limb: SharedLimb) -> LimbOfMany:
    way = limb.best_m
    return LimbOfMany(
        limb.garden, limb.id, limb.node.variety.species, limb.node.variety.name,
        limb.together.verdict, limb.own.verdict, limb.together.sure, limb.together.reliability,
        limb.together.possible_reliability, limb.own.reliability,
        None if limb.best is None else limb.best.variety.name, limb.giver,
        None if way is None else round(way, 1), limb.across,
    )  # fmt: skip


def _suspected(one: SuspectTree) -> SuspectedTree:
    signs = tuple(SignNoted(*sign) for sign in one.signs)
    return SuspectedTree(one.garden, one.tree, one.is_neighbours, one.ill, one.limbs, signs)


def _set(one: GroupFacts) -> SetOfGroup:
    proof = one.cover.proof
    return SetOfGroup(
        tuple(garden.name for garden in one.group.gardens),
        cover_answer(one.cover, one.nodes, one.group.study.plan.aim.level),
        proof.status,
        proof.bound,
        tuple(
            GraftOfSet(
                graft.variety, graft.garden, graft.tree, graft.wood_from,
                tuple(LimbNamed(*limb) for limb in graft.carries),
            )
            for graft in one.grafts
        ),
    )  # fmt: skip
