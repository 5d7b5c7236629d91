"""Scions of the plan that no set can hold, each with the first reason that rules it out."""

from __future__ import annotations

from collections.abc import Callable, Collection
from dataclasses import dataclass
from typing import Literal

import numpy as np

from pollinet.domain import NetworkInput, Scion, VarietyId
from pollinet.network.problem import CoverProblem
from pollinet.network.prune import drop_bare, idle_among, kin_of
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
    open_still = {name for name, code in codes.items() if code is None}
    if open_still:
        codes |= _late_codes(network, problem(), open_still)
    return tuple(
        PassedOver(name, code, scions[name].blocked or "")
        for name, code in codes.items()
        if code is not None
    )


def _early_code(study: Study, scion: Scion) -> PassedCode | None:
    """What rules a scion out before anybody looks at bloom or pollen."""
    trees = [tree for tree in study.open_trees if tree.species == scion.variety.species]
    if scion.blocked is not None:
        return "blocked"
    if not trees:
        return "other-fruit"
    return None if any(tree.spare_limbs for tree in trees) else "no-room"


def _late_codes(
    network: NetworkInput, whole: CoverProblem, asked: Collection[VarietyId]
) -> dict[VarietyId, PassedCode]:
    """What rules candidates out that there would be room for; none that are grafted in any case."""
    some = {
        c: network.nodes[node].variety
        for c, node in enumerate(whole.candidates)
        if c not in whole.include and network.nodes[node].variety in asked
    }
    everywhere = some
    some = {c: name for c, name in some.items() if _is_doubtful(whole, whole.candidates[c])}
    if not some:
        return {}
    # Kinds of fruit that have nothing to do with these cannot matter.
    closed = drop_bare(kin_of(whole, some))
    left = {node: c for c, node in enumerate(closed.candidates)}
    idle = idle_among(closed, [left[n] for n in whole.nodes(sorted(some)) if n in left])
    codes = {
        c: _code(network, node, is_closed=node in left)
        for c in some
        if (node := whole.candidates[c]) not in left or left[node] in idle
    }
    # On one tree a variety may be of use, and on another not.
    useful = {name for c, name in everywhere.items() if c not in codes}
    return {some[c]: code for c, code in codes.items() if some[c] not in useful}


def _is_doubtful(whole: CoverProblem, node: int) -> bool:
    """Whether it is not plain that a candidate is served and serves a limb."""
    one = np.array([node])
    return whole.asks(node) or not any(whole.view.serves(x, one)[0] for x in whole.limbs)


def _code(network: NetworkInput, place: int, *, is_closed: bool) -> PassedCode:
    if not np.isfinite(network.open_start_h[place]).any():
        return "no-bloom"
    if not is_closed:
        return "own-donor"
    if not np.isfinite(network.shed_start_h[place]).any():
        return "no-shed"
    undated = network.dated is not None and not network.dated[place]
    return "no-bloom" if undated else "idle"
