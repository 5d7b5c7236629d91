"""A study → what becomes of each limb when winters grow warmer, and what more scions buy."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from pollinet.domain import FloatArray, VarietyId
from pollinet.language import _, joined, ngettext
from pollinet.network.coverage import LimbVerdict, limb_coverage
from pollinet.network.tradeoff import gain_per_cost
from pollinet.shares import reaches
from pollinet.study import WARMER_C, Study


@dataclass(frozen=True)
class Course:
    """What becomes of limbs of one variety.

    shares : share of scenarios with a donor at each step of warming. verdicts : on it, at each.
    """

    label: str
    shares: tuple[float, ...]
    verdicts: tuple[LimbVerdict, ...]

    @property
    def covered(self) -> tuple[bool, ...]:
        """Whether the limb surely or likely has its donors, at each step."""
        return tuple(verdict in ("sure", "likely") for verdict in self.verdicts)

    @property
    def fall(self) -> int | None:
        """First step from which on the limb is never covered again; None: covered at the last."""
        if self.covered[-1]:
            return None
        last = self.covered[::-1].index(True) if True in self.covered else len(self.covered)
        return len(self.covered) - last


def warming_courses(study: Study) -> tuple[Course, ...]:
    """What becomes of each limb when winters grow warmer; limbs that fare alike in one row.

    Empty where there is no weather to warm, or no limb that is to crop.
    """
    if study.warming is None:
        return ()
    alike: dict[tuple[VarietyId, tuple[float, ...], tuple[LimbVerdict, ...]], list[str]] = {}
    steps = [study.warmer(degrees).coverage for degrees in WARMER_C]
    for place, shares in enumerate(study.warming.tolist()):
        node = study.network.nodes[steps[0][place].node]
        verdicts = tuple(step[place].verdict for step in steps)
        alike.setdefault((node.variety, tuple(shares), verdicts), []).append(node.id)
    return tuple(
        Course(f"{_some(limbs)}: {variety.name}", shares, verdicts)
        for (variety, shares, verdicts), limbs in alike.items()
    )


def _some(limbs: Sequence[str]) -> str:
    """A few names in full, of many the first two."""
    if len(limbs) <= 3:
        return joined(limbs)
    text = ngettext("{limbs} and {number} more", "{limbs} and {number} more", len(limbs) - 2)
    return text.format(limbs=", ".join(limbs[:2]), number=len(limbs) - 2)


def cover_steps(shares: FloatArray, level: float) -> NDArray[np.int64]:
    """Shares in five steps around the level: 4 and 3 reach it, 2 to 0 fall short, 0 the most.

    Beyond the level it is half of the way to one that counts, below it thirds; own convention.
    """
    bounds = (level / 3, 2 * level / 3, level, (1 + level) / 2)
    return np.array(
        [
            [sum(reaches(share, bound) for bound in bounds) for share in row]
            for row in shares.tolist()
        ]
    )


@dataclass(frozen=True)
class Step:
    """The best set of one size.

    reliability : of the worst-off limb then. enough : whether it reaches the plan's level.
    error : standard error of its reliability for the number of draws, at most.
    """

    label: str
    reliability: float
    enough: bool
    error: float = 0.0


def tradeoff_steps(study: Study) -> tuple[Step, ...]:
    """What grafting more of the plan's scions buys; empty where there are none."""
    scions = study.free_scions()
    if not scions:
        return ()
    network = study.network_of(scions)
    candidates = [i for i, node in enumerate(network.nodes) if node.kind == "candidate"]
    standing = [i for i, node in enumerate(network.nodes) if node.kind != "candidate"]
    steps = []
    preferences = study.tie_breakers(network)
    for gain in gain_per_cost(network, candidates, study.spare_limbs(), preferences=preferences):
        names = joined([network.nodes[i].graft for i in gain.added])
        text = _("graft {names}") if names else _("as it stands")
        enough = reaches(gain.reliability, study.plan.aim.level)
        rows = limb_coverage(network, [*standing, *gain.added])
        error = min(rows, key=lambda row: row.reliability).error if rows else 0.0
        steps.append(Step(text.format(names=names), gain.reliability, enough, error))
    return tuple(steps)
