"""Are the limbs of a tree in balance, and does it look even in spring."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from typing import Annotated, Any, ClassVar

from pollinet.advice.balance import Flag, Growth, LimbBalance, VigourFrom
from pollinet.advice.look import BloomLook, Evenness, LeafingLook
from pollinet.answers.base import About, Answer, Findings, Told, columns_of, flat
from pollinet.study import Study
from pollinet.summary.advice import TreeLook, garden_balance, garden_thinning
from pollinet.wording.balance import balance_answer


@dataclass(frozen=True)
class BalancedLimb:
    """What is known of one limb's strength."""

    limb: Annotated[str, About("Id.")]
    variety: str
    vigour: Annotated[str | None, About("Vigour of the variety; null: not known.")]
    vigour_from: Annotated[
        VigourFrom | None,
        About("A source, a recalled value, the variety it is a sport of, or being a triploid."),
    ]
    grafted: Annotated[int | None, About("Year.")]
    young: Annotated[
        bool | None,
        About("Whether it may be too young to flower; null: no year of grafting is told."),
    ]
    area_mm2: Annotated[float | None, About("Cross-section of the limb. [mm²]")]
    share: Annotated[float | None, About("Its share of the tree's measured cross-section.")]
    fruits: Annotated[
        tuple[int, int] | None,
        About("Fewest and most fruits to leave, by its thickness; 0 on a graft that is to grow."),
    ]
    apart_cm: Annotated[
        tuple[float, float] | None, About("From one fruit to the next, least and most. [cm]")
    ]
    shoots_cm: Annotated[float | None, About("Length of the year's shoots. [cm]")]
    growth: Annotated[
        Growth | None, About("Of its shoots, for its fruit and age; null: not known.")
    ]
    alternation: Annotated[
        tuple[float, int] | None,
        About("Index of alternate bearing, and pairs of years it comes from."),
    ]
    flags: Annotated[tuple[Flag, ...], About("What stands out.")]


@dataclass(frozen=True)
class EvenBloom:
    """How even a tree is in bloom."""

    word: Annotated[
        Evenness | None, About("In the median scenario; null: bloom of two limbs is not known.")
    ]
    together: Annotated[
        float | None, About("Share of the days with blossom on which nearly all limbs flower.")
    ]
    even_share: Annotated[float | None, About("Share of the scenarios in which the tree is even.")]
    lags: Annotated[
        Mapping[str, float], About("Full bloom of each limb after the tree's middle. [days]")
    ]
    unknown: Annotated[tuple[str, ...], About("Limbs left out: their bloom is not known.")]


@dataclass(frozen=True)
class EvenLeafing:
    """How even a tree comes into leaf."""

    word: Annotated[
        Evenness | None, About("By the median noted spring; null: not noted of two limbs.")
    ]
    window_days: Annotated[
        float | None, About("Days within which nearly all limbs come into leaf.")
    ]
    springs: Annotated[int, About("Springs noted.")]
    lags: Annotated[
        Mapping[str, float], About("Leafing of each limb after the tree's middle. [days]")
    ]
    unknown: Annotated[tuple[str, ...], About("Limbs left out: their leafing is not noted.")]


@dataclass(frozen=True)
class Look:
    """How even a tree looks in spring."""

    bloom: EvenBloom
    leafing: EvenLeafing


@dataclass(frozen=True)
class FruitThinning:
    """How a fruit is thinned, as a source says."""

    measure: Annotated[
        str, About("`per cm2` of a limb's cross-section, `cm apart`, or `not thinned`.")
    ]
    low: float | None
    high: float | None
    source: str
    status: str


@dataclass(frozen=True, repr=False)
class Balance(Answer):
    """Which limbs grow away from the others."""

    NAME: ClassVar[str] = "balance"

    answer: Told
    trees: Annotated[dict[str, tuple[BalancedLimb, ...]], About("Limbs by the id of their tree.")]
    looks: Annotated[
        dict[str, Look],
        About("How even each tree of two limbs or more looks in spring, by its id."),
    ]
    thinning: Annotated[
        dict[str, tuple[FruitThinning, ...]],
        About("How each kind of fruit is thinned; empty: not known."),
    ]
    findings: Findings

    def lag_days(self, tree: str, limb: str) -> float | None:
        """Full bloom of a limb after the middle of its tree; None: not known. [days]"""
        return self.looks[tree].bloom.lags.get(limb) if tree in self.looks else None

    def rows(self) -> list[dict[str, Any]]:
        """One row a limb, with its tree and how its bloom lags there."""
        return [
            {"tree": tree, **dict(flat(limb)), "lag_days": self.lag_days(tree, limb.limb)}
            for tree, limbs in self.trees.items()
            for limb in limbs
        ]

    @classmethod
    def columns(cls) -> list[str]:
        """The tree, all that is told of a limb, days of its bloom after the tree's middle."""
        return ["tree", *columns_of(BalancedLimb), "lag_days"]


def balance_of(study: Study, looks: Mapping[str, TreeLook], year: int | None = None) -> Balance:
    """The balance of all trees.

    looks : what `garden_looks` has found. year : this one, for the age of the limbs; None: each is
        judged by its age when it was last measured.
    """
    found = garden_balance(study, year)
    return Balance(
        answer=balance_answer(found),
        trees={tree: tuple(map(_limb, limbs)) for tree, limbs in found.items()},
        looks={tree: Look(_bloom(look.bloom), _leafing(look.leafing))
               for tree, look in looks.items()},
        thinning={
            fruit: tuple(FruitThinning(x.measure, x.low, x.high, x.source, x.status) for x in rows)
            for fruit, rows in garden_thinning(study).items()
        },
        findings=study.findings,
    )  # fmt: skip


def _limb(limb: LimbBalance) -> BalancedLimb:
    return BalancedLimb(
        limb=limb.limb,
        variety=limb.variety.name,
        vigour=None if limb.vigour is None else limb.vigour.word,
        vigour_from=None if limb.vigour is None else limb.vigour.rests_on,
        grafted=limb.grafted,
        young=limb.young,
        area_mm2=limb.area_mm2,
        share=limb.share,
        fruits=limb.fruits,
        apart_cm=limb.apart_cm,
        shoots_cm=limb.shoots_cm,
        growth=limb.growth,
        alternation=limb.alternation,
        flags=limb.flags,
    )


def _bloom(look: BloomLook) -> EvenBloom:
    return EvenBloom(look.word, look.together, look.even_share, look.lags, look.unknown)


def _leafing(look: LeafingLook) -> EvenLeafing:
    return EvenLeafing(look.word, look.window_days, look.springs, look.lags, look.unknown)
