"""Balance between the limbs of a tree: vigour, load, where a new variety goes, what to cut.

Limb area is that of a round limb; fruits per area are those of `load.csv`, for apple only, as no
figure was found for the other fruits.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from math import floor, isfinite, pi
from typing import Literal

from pollinet.advice.observed import Log, alternation
from pollinet.advice.rules import Rows
from pollinet.domain import Tree, Variety, VarietyId

Flag = Literal["summer-prune", "crowded-out", "alternates"]
"""What stands out in a limb."""

Placement = Literal["low", "high", "beside", "unknown"]
"""Where on a tree a new variety goes, by its vigour against that of the limbs there."""

VIGOUR = ("low", "low to medium", "medium", "medium to high", "high")
"""Vigour classes of the catalogue, weakest first."""

LONG_SHOOT_CM = 60.0
"""Longer shoots than any guide gives to a bearing apple limb (Colorado State: 12 to 24 in)."""


@dataclass(frozen=True)
class LimbBalance:
    """What is known of one limb's strength. None: not known.

    vigour : class of the catalogue. area_mm2 : cross-section. [mm²]
    share : its part of the cross-section of all measured limbs of the tree.
    fruits : fewest and most fruits to leave. alternation : index and pairs of years.
    """

    limb: str
    variety: VarietyId
    vigour: str | None
    grafted: int | None
    area_mm2: float | None
    share: float | None
    fruits: tuple[int, int] | None
    shoots_cm: float | None
    alternation: tuple[float, int] | None
    flags: tuple[Flag, ...]


def area_mm2(diameter_mm: float) -> float:
    """Cross-section of a round limb. [mm²]"""
    return pi * diameter_mm**2 / 4


def fruits_to_leave(diameter_mm: float, fruit: str, table: Rows) -> tuple[int, int] | None:
    """Fewest and most fruits for a limb of a diameter; None: no figure for this fruit.

    Rounded to whole fruits.
    """
    row = next((row for row in table if row["fruit"] == fruit), None)
    if row is None:
        return None
    area_cm2 = area_mm2(diameter_mm) / 100
    low, high = (float(row[f"fruits_per_cm2_{end}"]) for end in ("low", "high"))
    return floor(area_cm2 * low + 0.5), floor(area_cm2 * high + 0.5)


def vigour_of(variety: Variety) -> str | None:
    """Vigour class of a variety, or None where no source gives one."""
    classes = [fact.value for fact in variety.facts if fact.property == "vigour"]
    return classes[0] if classes else None


def tree_balance(
    tree: Tree, log: Log, varieties: Mapping[VarietyId, Variety], load: Rows
) -> tuple[LimbBalance, ...]:
    """Balance of every limb of one tree, in the order of the plan."""
    thick = {limb.id: _number(log, limb.id, "diameter") for limb in tree.limbs}
    areas = {name: area_mm2(mm) for name, mm in thick.items() if mm is not None}
    whole = sum(areas.values()) if len(areas) == len(tree.limbs) > 1 else None
    balances = []
    for limb in tree.limbs:
        diameter, area = thick[limb.id], areas.get(limb.id)
        share = area / whole if area is not None and whole else None
        index = alternation(log.crops(limb.id))
        shoots = _number(log, limb.id, "shoots")
        balances.append(
            LimbBalance(
                limb=limb.id,
                variety=limb.variety,
                vigour=vigour_of(varieties[limb.variety]),
                grafted=limb.grafted,
                area_mm2=area,
                share=share,
                fruits=None if diameter is None else fruits_to_leave(diameter, tree.species, load),
                shoots_cm=shoots,
                alternation=index if isfinite(index[0]) else None,
                flags=_flags(share, len(tree.limbs), shoots, index),
            )
        )
    return tuple(balances)


def _number(log: Log, limb: str, kind: str) -> float | None:
    seen = log.last(limb, kind)
    return None if seen is None else seen.number


def _flags(
    share: float | None, limbs: int, shoots: float | None, index: tuple[float, int]
) -> tuple[Flag, ...]:
    """What to look at. Twice and half an equal part are own convention."""
    flags: list[Flag] = []
    if (shoots is not None and shoots > LONG_SHOOT_CM) or (share or 0) * limbs >= 2:
        flags.append("summer-prune")
    if share is not None and share * limbs <= 0.5:
        flags.append("crowded-out")
    if index[1] >= 3 and index[0] >= 0.5:
        flags.append("alternates")
    return tuple(flags)


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
