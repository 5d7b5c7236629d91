"""Which varieties a limb without a label may be: a shortlist, and what would tell them apart."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Annotated, ClassVar, Literal

from pollinet.answers.base import About, Answer, Findings, Told
from pollinet.answers.parts import Day, Fruit, month_day
from pollinet.summary.alone import OwnPollen
from pollinet.summary.lost_label import Candidate, Label, Test
from pollinet.summary.varieties import either, genotype_text
from pollinet.wording.lost_label import label_answer, test_words


@dataclass(frozen=True)
class MayBe:
    """A variety of the shortlist."""

    variety: str
    also: Annotated[tuple[str, ...], About("Its clones and sports, which bloom alike.")]
    fits: Annotated[
        Literal["closely", "less closely"],
        About("closely: the best one is at most twice as likely; less: at most eight times."),
    ]
    share: Annotated[
        float,
        About(
            "Of the likelihood of all that could be judged. No chance that it is this one: it may "
            "be a variety that nobody has dated.", 0, 1,
        ),
    ]  # fmt: skip
    full_bloom_after_days: Annotated[
        float | None, About("Its full bloom here after that of the limb `beside`. [days]")
    ]
    full_bloom_after_sd_days: Annotated[float | None, About("How far that strays. [days]")]
    first_pick: Annotated[Day | None, About("Its first pick here; null: not known.")]
    own_pollen: Annotated[OwnPollen, About("Whether its own pollen serves it.")]
    s_genotype: Annotated[str, About("Empty: not known.")]


@dataclass(frozen=True)
class NotedSpring:
    """A note of bloom on the limb, and what it was held against."""

    year: int
    stage: Literal["start", "full", "end"]
    beside: Annotated[
        tuple[str, ...],
        About("Limbs noted at that stage the same spring; none: the date itself was used."),
    ]
    later_days: Annotated[float, About("Days after the mean of these.")]


@dataclass(frozen=True)
class FurtherLook:
    """What would tell the varieties of the shortlist apart."""

    test: Annotated[
        Test,
        About(
            "bloom: full bloom beside a limb that is known; pick: the first pick; bagged: fruit in "
            "bags; alleles: S-alleles by a laboratory."
        ),
    ]
    parts: Annotated[float, About("Spread of the shortlist in errors of one such look.", 0)]
    how: str


@dataclass(frozen=True, repr=False)
class LostLabel(Answer):
    """Which varieties a limb without a label may be."""

    NAME: ClassVar[str] = "lost-label"
    ROWS: ClassVar[str] = "shortlist"
    ROW: ClassVar[type] = MayBe

    answer: Told
    limb: str
    fruit: Fruit
    shortlist: Annotated[tuple[MayBe, ...], About("All that fit, likeliest first.")]
    more: Annotated[int, About("How many of these are beyond the first eight.")]
    looked_at: Annotated[int, About("Varieties of the fruit that could be judged.")]
    not_judged: Annotated[int, About("Of which nothing is known that was seen.")]
    ruled_out: Annotated[int, About("By the conditions.")]
    beside: Annotated[str | None, About("Limb that full bloom is told against.")]
    springs: tuple[NotedSpring, ...]
    further: Annotated[tuple[FurtherLook, ...], About("What tells most first.")]
    findings: Findings


def lost_label_of(label: Label, findings: Findings) -> LostLabel:
    """The answer, from what `label_of` has found."""
    return LostLabel(
        answer=label_answer(label),
        limb=label.limb.id,
        fruit=label.limb.variety.species,
        shortlist=tuple(map(_may_be, label.candidates)),
        more=label.more,
        looked_at=label.looked_at,
        not_judged=label.unjudged,
        ruled_out=label.ruled_out,
        beside=None if label.beside is None else label.beside.id,
        springs=tuple(
            NotedSpring(one.year, one.stage, one.beside, round(one.later, 1))
            for one in label.springs
        ),
        further=tuple(
            FurtherLook(test, round(parts, 2), test_words(label, test))
            for test, parts in label.tests
        ),
        findings=findings,
    )


def _may_be(one: Candidate) -> MayBe:
    return MayBe(
        one.variety.id.name,
        one.also,
        "closely" if one.fit.closely else "less closely",
        one.fit.share,
        None if one.after is None else round(one.after, 1),
        None if one.after_sd is None else round(one.after_sd, 1),
        None if one.picked is None else month_day(round(one.picked)),
        one.own_pollen,
        either(one.variety.fertility, "genotype", genotype_text),
    )
