"""Scions of the plan that no set can hold, each with the first reason that rules it out."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass
from typing import Literal

import numpy as np

from pollinet.domain import NetworkInput, Scion, VarietyId
from pollinet.network.problem import CoverProblem
from pollinet.network.prune import drop_bare, drop_useless
from pollinet.study import Study

PassedCode = Literal[
    "blocked", "other-fruit", "no-room", "no-bloom", "no-shed", "own-donor", "idle"
]  # fmt: skip
"""`other-fruit`: no tree of its fruit; `no-room`: its trees have no limb to spare; `no-bloom`,
`no-shed`: nobody knows when it blooms, or when its catkins shed pollen; `own-donor`: it would have
a donor itself in too few winters whatever else is grafted; `idle`: it serves nobody here."""


@dataclass(frozen=True)
class PassedOver:
    """A scion that was passed over. why : the grower's own words where it is blocked."""

    variety: VarietyId
    code: PassedCode
    why: str = ""


def passed_over(
    study: Study, network: NetworkInput, problem: Callable[[], CoverProblem]
) -> tuple[PassedOver, ...]:
    """The scions of the plan that could be in no set, in its order, each variety once.

    problem : states the whole cover problem; asked only where something hangs on it.
    """
    blocked = {scion.variety: scion for scion in study.plan.scions if scion.blocked is not None}
    scions = {scion.variety: scion for scion in study.plan.scions} | blocked
    codes = {name: _early_code(study, scion) for name, scion in scions.items()}
    if None in codes.values():
        late = _late_codes(network, problem())
        codes |= {name: late.get(name) for name, code in codes.items() if code is None}
    return tuple(
        PassedOver(name, code, scions[name].blocked or "")
        for name, code in codes.items()
        if code is not None
    )


def _early_code(study: Study, scion: Scion) -> PassedCode | None:
    """What rules a scion out before anybody looks at bloom or pollen."""
    trees = [tree for tree in study.plan.trees if tree.species == scion.variety.species]
    if scion.blocked is not None:
        return "blocked"
    if not trees:
        return "other-fruit"
    return None if any(tree.spare_limbs for tree in trees) else "no-room"


def _late_codes(network: NetworkInput, whole: CoverProblem) -> dict[VarietyId, PassedCode]:
    """What rules candidates out that there would be room for; none that are grafted in any case."""
    closed = drop_bare(whole)
    useful = {*drop_useless(closed).candidates, *whole.nodes(sorted(whole.include))}
    return {
        network.nodes[place].variety: _code(network, place, is_closed=place in closed.candidates)
        for place in whole.candidates
        if place not in useful
    }


def _code(network: NetworkInput, place: int, *, is_closed: bool) -> PassedCode:
    if not np.isfinite(network.open_start_h[place]).any():
        return "no-bloom"
    if not is_closed:
        return "own-donor"
    if not np.isfinite(network.shed_start_h[place]).any():
        return "no-shed"
    undated = network.dated is not None and not network.dated[place]
    return "no-bloom" if undated else "idle"
