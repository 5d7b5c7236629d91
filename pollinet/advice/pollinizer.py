"""The one variety to add: what each candidate alone would do for the limbs. Exact, one by one."""

from __future__ import annotations

from collections.abc import Collection, Mapping, Sequence
from dataclasses import dataclass, replace
from math import floor

import numpy as np

from pollinet.domain import NetworkInput, Variety
from pollinet.network.counting import covered_count
from pollinet.network.coverage import DonorShare, limb_coverage, receiver_days
from pollinet.network.nearest_miss import shortfalls
from pollinet.network.problem import cover_problem
from pollinet.network.prune import (
    drop_bare,
    drop_limbs,
    drop_slack_limits,
    drop_useless,
    separate_parts,
)
from pollinet.network.shortage import pollen_helps
from pollinet.network.tie_break import rank, ranking_of
from pollinet.network.viability import needed_scenarios, present_of, receivers_of, viability
from pollinet.phenology.adequacy import often_enough
from pollinet.shares import TOLERANCE, reaches


def is_crab(variety: Variety) -> bool | None:
    """Whether a variety is a crab apple, grown for its blossom and pollen; None: nobody says."""
    return next((fact.value == "yes" for fact in variety.facts if fact.property == "crab"), None)


ONE_WINTER = 0.1
"""A graft or a jar of blossom that does not bring a limb a whole winter of ten is no advice. Own
convention."""


@dataclass(frozen=True)
class Gain:
    """What a candidate does for one limb: shares of scenarios covered, before and after.

    sought : whether it lacks a donor now; where no limb does, each is sought.
    overlap_days, effective_days : mean over all scenarios of the candidate's own. [days]
    """

    node: int
    now: float
    then: float
    covers: bool
    sought: bool
    overlap_days: float
    effective_days: float

    @property
    def winters(self) -> int:
        """Winters of ten that are added, as both shares are told: whole, rounded down."""
        now, then = (floor((share + TOLERANCE) * 10) for share in (self.now, self.then))
        return then - now

    @property
    def helps(self) -> bool:
        """Whether the limb is covered by it, or has a whole winter of ten more: less is noise."""
        return self.covers or reaches(self.then - self.now, ONE_WINTER)


@dataclass(frozen=True)
class Choice:
    """One candidate, grafted alone.

    gains : limbs whose share rises.
    own : share of scenarios in which the new limb has a donor itself. closed : whether that is
        enough, or whether it need not crop.
    chill : share of scenarios in which its chill requirement is met; 1 where none is known.
    """

    node: int
    gains: tuple[Gain, ...]
    own: float
    closed: bool
    chill: float

    @property
    def covers(self) -> tuple[int, ...]:
        """Limbs that are not covered now and would be."""
        return tuple(gain.node for gain in self.gains if gain.covers)

    @property
    def helps(self) -> bool:
        """Whether it is worth a graft: it helps a limb that is sought."""
        return any(gain.helps for gain in self.gains if gain.sought)

    @property
    def winters(self) -> int:
        """Winters of ten that are added to limbs that are sought and that it helps, in sum."""
        return sum(gain.winters for gain in self.gains if gain.sought and gain.helps)

    @property
    def added(self) -> float:
        """Sum over limbs of the share of scenarios that is added."""
        return sum(gain.then - gain.now for gain in self.gains)

    @property
    def effective_days(self) -> float:
        """Mean over the limbs that gain. [days]"""
        return sum(gain.effective_days for gain in self.gains) / len(self.gains)


def choices(
    network: NetworkInput, candidates: Sequence[int], receivers: Sequence[int] | None = None
) -> tuple[Choice, ...]:
    """Candidates that raise the share of any receiver, best first.

    Ranked by: helps (`Choice.helps`), has a donor itself, limbs newly covered, whole winters added
    to limbs that lack a donor, winters added to all (to one in ten: finer differences are noise of
    the draws), effective days, chill, order of nodes.

    Parameters
    ----------
    receivers : limbs that are to be helped (default: all that must crop).
    """
    here, need, wanted = present_of(network), needed_scenarios(network), network.aim.donors
    limbs = [r for r in receivers_of(network) if network.nodes[r].kind == "limb"]
    view = viability(network, limbs if receivers is None else receivers)
    now = [covered_count(view, row, here, wanted) for row in range(len(view.receivers))]
    lacking = [row for row, count in enumerate(now) if count < need]
    sought = set(lacking or range(len(now)))
    # All pairs of a limb at once: sooner than one by one. Who gives it nothing, adds nothing.
    offered = np.array(candidates, dtype=np.int64)
    giving = [set(view.serving(row, offered).tolist()) for row in range(len(view.receivers))]
    gains: dict[int, list[Gain]] = {}
    for candidate in candidates:
        for row, limb in enumerate(view.receivers):
            if candidate not in giving[row]:
                continue
            then = covered_count(view, row, (*here, candidate), wanted)
            if then > now[row]:
                covers = now[row] < need <= then
                shares = (now[row] / view.scenarios, then / view.scenarios)
                days = _days(network, candidate, limb)
                gain = Gain(limb, *shares, covers, row in sought, *days)
                gains.setdefault(candidate, []).append(gain)
    return tuple(sorted(_with_own_coverage(network, gains), key=_rank))


def _rank(choice: Choice) -> tuple[float, ...]:
    return (
        not choice.helps,
        not choice.closed,
        -len(choice.covers),
        -choice.winters,
        -round(choice.added, 1),
        -round(choice.effective_days, 6),
        -choice.chill,
        choice.node,
    )


def _with_own_coverage(network: NetworkInput, gains: dict[int, list[Gain]]) -> list[Choice]:
    here, need = present_of(network), needed_scenarios(network)
    own = viability(network, list(gains))
    found = []
    for row, node in enumerate(own.receivers):
        count = covered_count(own, row, (*here, node), network.aim.donors)
        closed = count >= need or not network.nodes[node].must_crop
        chill = often_enough(network.chill_quality[node])
        found.append(Choice(node, tuple(gains[node]), count / own.scenarios, closed, chill))
    return found


def _days(network: NetworkInput, donor: int, receiver: int) -> tuple[float, float]:
    """Mean overlap and mean effective days of one donor."""
    verdict = network.verdicts[donor, receiver]
    share = verdict.fraction
    if share is None:
        share = 0.5 if verdict.answer == "half" else 1.0
    days = receiver_days(network, receiver, [donor], np.array([share]))
    return float(days.overlap.mean()), float(days.effective.mean())


def cover_order(
    network: NetworkInput,
    candidates: Sequence[int],
    spare: Mapping[str, int],
    preferences: Sequence[Mapping[int, float]],
) -> Mapping[int, tuple[float, ...]]:
    """Keys that sort candidates as `smallest_cover` sorts the sets that hold one of them alone.

    Of candidates that could be in no set there is none.
    """
    whole = drop_useless(drop_bare(cover_problem(network, candidates, spare)))
    hopeless = shortfalls(whole, range(len(whole.candidates)))
    ranking = ranking_of(network, preferences)
    return {
        node: (float(part.costs[place]), *rank(part, ranking, (place,)))
        for part in separate_parts(drop_slack_limits(drop_limbs(whole, hopeless)))
        for place, node in enumerate(part.candidates)
    }


def in_cover_order(
    ranked: Sequence[Choice],
    network: NetworkInput,
    spare: Mapping[str, int],
    preferences: Sequence[Mapping[int, float]],
) -> tuple[Choice, ...]:
    """The same choices, those that are as good as the first in the order of `smallest_cover`.

    As good: they cover as many limbs. Wood at hand goes before wood to order, as there.
    """
    alike = [c for c in ranked if c.closed and c.covers and len(c.covers) == len(ranked[0].covers)]
    if len(alike) < 2:
        return tuple(ranked)
    order = cover_order(network, [choice.node for choice in alike], spare, preferences)

    def place(choice: Choice) -> tuple[bool, bool, tuple[float, ...]]:
        key = order.get(choice.node)
        return key is None, not network.nodes[choice.node].at_hand, key or ()

    first = {choice.node for choice in alike}
    rest = [choice for choice in ranked if choice.node not in first]
    return (*sorted(alike, key=place), *rest)


@dataclass(frozen=True)
class Jar:
    """Cut blossom that would serve one limb, best first: pollen carried to it by hand."""

    node: int
    sources: tuple[DonorShare, ...]


def jars(
    network: NetworkInput,
    limbs: Sequence[int],
    candidates: Sequence[int],
    suspected: Collection[str] = (),
) -> tuple[Jar, ...]:
    """Whose cut blossom, in water beside the limb, would be a donor in a winter of ten or more.

    A jar stands where it is wanted, so distance does not count. Sources are candidates' mother
    trees and neighbours' trees that are no donors where they stand. Limbs that pollen could serve
    in no more winters than now have no jar.

    suspected : ids of trees under suspicion of a disease, from which no blossom is carried.
    """
    beside = replace(network, proximity=np.ones_like(network.proximity))
    now = limb_coverage(network, only=limbs)
    wanted = {row.node for row in now if pollen_helps(network, row)}
    standing = {row.node: {donor.node for donor in row.donors} for row in now}
    rows = limb_coverage(beside, (*present_of(network), *candidates), only=limbs)
    return tuple(
        Jar(
            row.node,
            tuple(
                donor
                for donor in row.donors
                if network.nodes[donor.node].kind != "limb"
                and reaches(donor.reliability, ONE_WINTER)
                and network.nodes[donor.node].id not in suspected
                and donor.node not in standing[row.node]
            ),
        )
        for row in rows
        if row.node in wanted
    )
