"""Balance between the limbs of a tree: age, vigour, load, where a new variety goes, what to cut.

Age goes first: a graft of last year is young, not weak. What a limb is by nature comes from the
catalogue, from its kin or from its own shoots; how many fruits it is left from `load.csv`, how long
shoots should be from `shoots.csv`. Limb area is that of a round limb.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, replace
from math import floor, isfinite, pi
from statistics import median
from typing import Literal

from pollinet.advice.observed import Log, alternation
from pollinet.advice.rules import Rows
from pollinet.domain import Tree, Variety, VarietyId

Flag = Literal["summer-prune", "shades", "crowded-out", "grows-little", "alternates"]
"""What stands out in a limb."""

Placement = Literal["low", "high", "beside", "unknown"]
"""Where on a tree a new variety goes, by its vigour against that of the limbs there."""

VigourFrom = Literal["catalogue", "memory", "sport", "triploid"]
"""Where a vigour comes from: a source, a value that is recalled, the variety that it is a sport of,
or that it is a triploid."""

Growth = Literal["strong", "fair", "weak"]
"""How long the shoots of a limb are, against what is usual in its fruit or on its tree."""

VIGOUR = ("low", "low to medium", "medium", "medium to high", "high")
"""Vigour classes of the catalogue, weakest first."""

OUTGROWS = 2
"""Classes of vigour from which on one variety will outgrow another. Own convention."""

AGE_APART = 3
"""Years from which on the thicker of two limbs is thicker by its age. Own convention. [years]"""


@dataclass(frozen=True)
class Vigour:
    """How strongly a variety grows by nature. parent : the variety whose vigour it is, if any."""

    word: str
    rests_on: VigourFrom
    parent: str = ""


@dataclass(frozen=True)
class Thinning:
    """How many fruits a fruit is left when it is thinned, as a source says.

    measure : fruits per cm² of cross-section; centimetres from one fruit to the next; or that it is
        not thinned. low, high : of the measure; None where it is not thinned.
    """

    measure: Literal["per cm2", "cm apart", "not thinned"]
    low: float | None
    high: float | None
    source: str
    status: str


@dataclass(frozen=True)
class LimbBalance:
    """What is known of one limb's strength. None: not known.

    age : years since it was grafted. young : whether it may be too young to flower yet; None: the
        year of its grafting or today's is not told.
    area_mm2 : cross-section. [mm²] share : its part of that of all limbs of the tree.
    fruits : fewest and most fruits to leave. apart_cm : from one fruit to the next. [cm]
    growth : of its shoots. alternation : index and pairs of years.
    """

    limb: str
    variety: VarietyId
    vigour: Vigour | None
    grafted: int | None
    age: int | None
    young: bool | None
    area_mm2: float | None
    share: float | None
    fruits: tuple[int, int] | None
    apart_cm: tuple[float, float] | None
    shoots_cm: float | None
    growth: Growth | None
    alternation: tuple[float, int] | None
    flags: tuple[Flag, ...]


def area_mm2(diameter_mm: float) -> float:
    """Cross-section of a round limb. [mm²]"""
    return pi * diameter_mm**2 / 4


def thinning_of(fruit: str, table: Rows) -> tuple[Thinning, ...]:
    """How a fruit is thinned, the surest measure first; empty: not known."""
    return tuple(
        Thinning(
            row["measure"],  # type: ignore[arg-type]
            float(row["low"]) if row["low"] else None,
            float(row["high"]) if row["high"] else None,
            row["source"],
            row["status"],
        )
        for row in table
        if row["fruit"] == fruit
    )


def fruits_to_leave(diameter_mm: float, fruit: str, table: Rows) -> tuple[int, int] | None:
    """Fewest and most fruits for a limb of a diameter; None: no such figure for this fruit.

    Rounded to whole fruits.
    """
    found = _measured(fruit, "per cm2", table)
    if found is None:
        return None
    area_cm2 = area_mm2(diameter_mm) / 100
    return floor(area_cm2 * found[0] + 0.5), floor(area_cm2 * found[1] + 0.5)


def _measured(fruit: str, measure: str, table: Rows) -> tuple[float, float] | None:
    for one in thinning_of(fruit, table):
        if one.measure == measure and one.low is not None and one.high is not None:
            return one.low, one.high
    return None


def vigour_of(variety: Variety) -> str | None:
    """Vigour class of a variety, or None where no source gives one."""
    classes = [fact.value for fact in variety.facts if fact.property == "vigour"]
    return classes[0] if classes else None


def vigour_told(variety: Variety, known: Mapping[VarietyId, Variety]) -> Vigour | None:
    """Vigour of a variety: as told, else that of the variety it is a sport of, else by its ploidy.

    A spur type grows less than its parent, and does not take over its vigour. A triploid mostly
    becomes the largest (growers' reports, needs no class of its own). None: not known.
    """
    for fact in variety.facts:
        if fact.property == "vigour":
            return Vigour(fact.value, "memory" if fact.status == "memory" else "catalogue")
    parent = known.get(VarietyId(variety.id.species, variety.fertility.clone))
    if parent is not None and parent.id != variety.id and "spur" not in variety.id.name.lower():
        word = vigour_of(parent)
        if word is not None:
            return Vigour(word, "sport", parent.id.name)
    return Vigour("high", "triploid") if variety.fertility.ploidy == 3 else None


def outgrown(limbs: Sequence[LimbBalance]) -> tuple[tuple[str, ...], tuple[str, ...]]:
    """Limbs of a tree that will outgrow others by nature, and these; empty where none will."""
    ranks = {x.limb: VIGOUR.index(x.vigour.word) for x in limbs if x.vigour is not None}
    if not ranks:
        return (), ()
    most, least = max(ranks.values()), min(ranks.values())
    if most - least < OUTGROWS:
        return (), ()
    weak = tuple(limb for limb, rank in ranks.items() if rank <= most - OUTGROWS)
    weakest = max(ranks[limb] for limb in weak)
    strong = tuple(limb for limb, rank in ranks.items() if rank >= weakest + OUTGROWS)
    return strong, weak


def tree_balance(
    tree: Tree,
    log: Log,
    varieties: Mapping[VarietyId, Variety],
    tables: Mapping[str, Rows],
    bears_after: int,
    year: int | None = None,
) -> tuple[LimbBalance, ...]:
    """Balance of every limb of one tree, in the order of the plan.

    tables : `load` and `shoots`. bears_after : years from grafting until a limb surely flowers.
    year : this one; None: each limb is judged by its age when it was last measured.
    """
    bare = [_alone(tree, limb.id, log, varieties, tables, bears_after, year) for limb in tree.limbs]
    areas = [limb.area_mm2 for limb in bare if limb.area_mm2 is not None]
    whole = sum(areas) if len(areas) == len(bare) > 1 else None
    shares = [limb.area_mm2 / whole if limb.area_mm2 and whole else None for limb in bare]
    return tuple(
        _judged(limb, share, bare, tables["shoots"], tree.species)
        for limb, share in zip(bare, shares, strict=True)
    )


def _alone(
    tree: Tree,
    name: str,
    log: Log,
    varieties: Mapping[VarietyId, Variety],
    tables: Mapping[str, Rows],
    bears_after: int,
    year: int | None,
) -> LimbBalance:
    """What is known of a limb without the others."""
    limb = next(limb for limb in tree.limbs if limb.id == name)
    thick, shoots = log.last(name, "diameter"), log.last(name, "shoots")
    noted = [seen.year for seen in (thick, shoots) if seen is not None]
    now = year if year is not None else max(noted, default=None)
    age = None if limb.grafted is None or now is None else max(0, now - limb.grafted)
    diameter = None if thick is None else thick.number
    index = alternation(log.crops(name))
    young = None if age is None else age < bears_after
    fruits = None if diameter is None else fruits_to_leave(diameter, tree.species, tables["load"])
    return LimbBalance(
        limb=name,
        variety=limb.variety,
        vigour=vigour_told(varieties[limb.variety], varieties),
        grafted=limb.grafted,
        age=age,
        young=young,
        area_mm2=None if diameter is None else area_mm2(diameter),
        share=None,
        # A graft of this year or the last is to grow first: common practice, no source.
        fruits=(0, 0) if age is not None and age < FIRST_FRUIT else fruits,
        apart_cm=_measured(tree.species, "cm apart", tables["load"]),
        shoots_cm=None if shoots is None else shoots.number,
        growth=None,
        alternation=index if isfinite(index[0]) else None,
        flags=(),
    )


FIRST_FRUIT = 2
"""Years after grafting before which a limb is left no fruit. Common practice, no source. [years]"""


def _judged(
    limb: LimbBalance,
    share: float | None,
    tree: Sequence[LimbBalance],
    shoots: Rows,
    fruit: str,
) -> LimbBalance:
    """The same limb beside the others of its tree."""
    growth = _growth(limb, tree, shoots, fruit)
    flags = _flags(limb, tree, share, growth)
    return replace(limb, share=share, growth=growth, flags=flags)


def _growth(
    limb: LimbBalance, tree: Sequence[LimbBalance], shoots: Rows, fruit: str
) -> Growth | None:
    """How long its shoots are: by what its fruit should make at its age, else beside the others.

    Beside the others, twice and half the middle of limbs of its age is much and little: own
    convention.
    """
    if limb.shoots_cm is None:
        return None
    state = "young" if limb.young else "bearing"
    for row in shoots:
        if (row["fruit"], row["state"]) == (fruit, state):
            low, high = float(row["low_cm"]), float(row["high_cm"])
            break
    else:
        beside = [
            x.shoots_cm
            for x in tree
            if x.limb != limb.limb and x.shoots_cm is not None and bool(x.young) == bool(limb.young)
        ]
        if len(beside) < 2:
            return None
        middle = median(beside)
        low, high = middle / 2, 2 * middle
    if limb.shoots_cm > high:
        return "strong"
    return "weak" if limb.shoots_cm < low else "fair"


def _flags(
    limb: LimbBalance, tree: Sequence[LimbBalance], share: float | None, growth: Growth | None
) -> tuple[Flag, ...]:
    """What to look at. Twice and half an equal part are own convention.

    Limbs are compared by thickness only with those as old: what is young is thin, what was there
    before the grafts is thick.
    """
    flags: list[Flag] = []
    part = _part_of_its_age(limb, tree)
    if (growth == "strong" and not limb.young) or (part is not None and part >= 2):
        flags.append("summer-prune")
    elif share is not None and share * len(tree) >= 2 and not limb.young:
        flags.append("shades")
    if part is not None and part <= 0.5:
        flags.append("crowded-out")
    elif growth == "weak":
        flags.append("grows-little")
    if limb.alternation is not None and limb.alternation[1] >= 3 and limb.alternation[0] >= 0.5:
        flags.append("alternates")
    return tuple(flags)


def _part_of_its_age(limb: LimbBalance, tree: Sequence[LimbBalance]) -> float | None:
    """Its cross-section against the mean of the limbs as old, itself too; None: cannot be said.

    Not of a young limb, nor where one as old is not measured.
    """
    alike = [x for x in tree if not x.young and _as_old(x, limb)]
    areas = [x.area_mm2 for x in alike if x.area_mm2 is not None]
    if limb.young or limb.area_mm2 is None or len(areas) < len(alike) or len(alike) < 2:
        return None
    return limb.area_mm2 * len(areas) / sum(areas)


def _as_old(one: LimbBalance, other: LimbBalance) -> bool:
    if one.grafted is None or other.grafted is None:
        return one.grafted is other.grafted
    return abs(one.grafted - other.grafted) <= AGE_APART


def placement(vigour: str | None, beside: Sequence[str | None]) -> Placement:
    """Where on a tree a new variety goes.

    The strongest lowest, the weaker higher and in the best light: what practitioners do; no trial
    was found. Without the vigour of the new variety or of any other: `unknown`.
    """
    known = [VIGOUR.index(v) for v in beside if v is not None]
    if vigour is None or not known:
        return "unknown"
    mean = sum(known) / len(known)
    mine = VIGOUR.index(vigour)
    if abs(mine - mean) < 1:
        return "beside"
    return "low" if mine > mean else "high"
