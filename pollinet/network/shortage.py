"""What keeps a limb from being served: winters without chill, and what pollen could not mend."""

from __future__ import annotations

from dataclasses import dataclass, replace
from typing import Final, Literal, NamedTuple

import numpy as np

from pollinet.domain import BoolArray, NetworkInput
from pollinet.network.counting import covered_bits
from pollinet.network.coverage import LimbCoverage, RefusalCode
from pollinet.network.selection import keep_nodes
from pollinet.network.viability import unpack, viability
from pollinet.shares import reaches

MOSTLY: Final = 0.5
"""Part of the scenarios without a donor from which on lack of chill is told as what they lack. Own
convention."""

LEAST_HELP: Final = 0.1
"""Pollen is worth bringing to a limb where it could serve in so many more winters: one in ten, the
least that is told. Own convention."""


@dataclass(frozen=True)
class ChillLack:
    """A limb that lacks a donor mostly in winters without enough chill.

    whose : whose flowers lack it in most of these winters. besides : whether too few winters had a
        donor even with chill enough for all. mendable : whether its own flowers have their chill
        often enough for donors to serve it as often as the plan asks for.
    """

    whose: Literal["own", "donors"]
    besides: bool
    mendable: bool


def chill_lack(network: NetworkInput, limb: LimbCoverage) -> ChillLack | None:
    """Whether chill is what a limb lacks in most of the scenarios in which it is not served.

    That is where its own flowers lack it, or where it would be served if all had enough. None: it
    is not so, chill would not serve it in any winter more, or the limb does not lack a donor.
    """
    if limb.verdict != "lacking":
        return None
    found = _looked_at(network, limb)
    missing = ~found.served
    bare, chilled = missing & ~found.chilled, missing & found.chilled & found.if_chilled
    lacks = int(bare.sum() + chilled.sum())
    if lacks <= MOSTLY * missing.sum() or not (missing & found.if_chilled).any():
        return None
    whose: Literal["own", "donors"] = "own" if bare.sum() >= chilled.sum() else "donors"
    often, own = float(found.if_chilled.mean()), float(found.chilled.mean())
    level = network.aim.level
    return ChillLack(whose, not reaches(often, level), reaches(own, level))


def pollen_helps(network: NetworkInput, limb: LimbCoverage) -> bool:
    """Whether pollen brought to a limb could serve it in winters in which it is not served.

    Not in those in which its own flowers lack chill: of its own pollen, too, it has enough then.
    """
    found = _looked_at(network, limb)
    return reaches(float((found.chilled & ~found.served).mean()), LEAST_HELP)


class _Looked(NamedTuple):
    """One limb in all scenarios, shape (S,): whether it is served, would be if all had chill
    enough, and has it itself."""

    served: BoolArray
    if_chilled: BoolArray
    chilled: BoolArray


_WHATEVER_THE_CHILL: Final[frozenset[RefusalCode]] = frozenset({
    "same-variety", "not-self-fertile", "no-verdict", "incompatible", "half-only", "too-far",
})  # fmt: skip
"""Why a node is no donor in any winter, however cold."""


def _looked_at(network: NetworkInput, limb: LimbCoverage) -> _Looked:
    able = [donor.node for donor in limb.donors]
    able += [one.node for one in limb.refusals if one.code not in _WHATEVER_THE_CHILL]
    few = sorted({limb.node, *able})
    network, node, here = keep_nodes(network, few), few.index(limb.node), list(map(few.index, able))
    warm = replace(network, chill_quality=np.ones_like(network.chill_quality))
    served, if_chilled = (
        unpack(covered_bits(view, 0, here, network.aim.donors), view.scenarios)
        for view in (viability(one, [node]) for one in (network, warm))
    )
    return _Looked(served, if_chilled, network.chill_quality[node] >= network.min_chill_quality)
