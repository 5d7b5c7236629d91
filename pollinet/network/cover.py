"""The smallest set of scions that leaves every limb with a viable donor, exactly: the way in.

Coverage is closed: an added candidate that is to crop needs a viable donor too. Among the sets of
the same cost the first is the one whose worst-off limb is covered most often, then the best
chilled one, then by the preferences handed in, then by the order of nodes.

DEVELOPERS.md has a picture of the search.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import replace

from pollinet.domain import NetworkInput
from pollinet.network.answer import Cover, Proof, Tally, tally
from pollinet.network.checker import is_cover
from pollinet.network.nearest_miss import Uncovered
from pollinet.network.plain import Search, plain_cover
from pollinet.network.problem import cover_problem
from pollinet.network.survival import surviving_cover
from pollinet.network.tie_break import ranking_of
from pollinet.network.time_limit import SEARCH_LIMIT_S, Clock, time_left
from pollinet.network.viability import Viability, present_of, receivers_of

_TALLY_CELL_S = 3e-8
"""What a pair of nodes takes in a scenario when limbs are counted in the end: measured. [s]"""

_MOST_RESERVED = 0.2
"""Share of the limit that may be kept back for it."""

__all__ = ["Cover", "Proof", "Tally", "Uncovered", "is_cover", "smallest_cover"]


def smallest_cover(
    network: NetworkInput,
    candidates: Sequence[int],
    spare: Mapping[str, int] | None = None,
    *,
    must_include: Sequence[int] = (),
    never: Sequence[int] = (),
    survives_any_single_loss: bool = False,
    sure: bool = False,
    preferences: Sequence[Mapping[int, float]] = (),
    max_alternatives: int = 20,
    time_limit_s: float | None = SEARCH_LIMIT_S,
    clock: Clock | None = None,
    view: Viability | None = None,
    most_ordered: int | None = None,
) -> Cover:
    """Find the cheapest candidates that leave every limb covered, and prove it. Exact.

    Parameters
    ----------
    candidates : node indices that may be grafted (wood that is not blocked).
    spare : how many more limbs the trees of each species, or each place among them, can carry, by
        `room_of`; what is missing can carry none. None: no limit.
    must_include, never : candidates that are grafted in any case, or not at all; where one is in
        both, it is grafted.
    survives_any_single_loss : every receiver must stay covered when any one other node is lost.
    sure : every receiver must be served in enough scenarios whatever the unknown alleles are, and
        by donors of whose bloom something is known; else the expected share counts.
    preferences : penalties by candidate (a node that is missing has 0), the most important first,
        that decide between sets equal in cost, worst-off limb and chill.
    max_alternatives : how many sets of the same cost are listed.
    time_limit_s, clock : limit of the whole search by a clock such as `time.monotonic`; without a
        clock, of each run of the integer programme. None: no limit. Where it is met the status is
        `time limit`, and `proof.bound` says what is proven. What is needed for any answer (who can
        serve whom, a set to name) is not limited. [s]
    view : viability of all receivers among limbs and candidates, to save the work; with `sure`
        that of `sure_viability`.
    most_ordered : of how many candidates the wood may be ordered; None: of any number.

    Returns
    -------
    The cover; `is_cover` checks its sets by another way.
    """
    reserved = 0.0 if time_limit_s is None else _tally_s(network, time_limit_s)
    left = time_left(time_limit_s and time_limit_s - reserved, clock)
    whole = cover_problem(
        network,
        candidates,
        spare,
        must_include=must_include,
        never=never,
        survive=survives_any_single_loss,
        sure=sure,
        view=view,
        most_ordered=most_ordered,
    )
    search = Search(
        network=network,
        whole=whole,
        must=frozenset(must_include),
        ranking=ranking_of(network, preferences),
        most=max_alternatives,
        left=left,
    )
    found = surviving_cover(search) if survives_any_single_loss else plain_cover(search)[0]
    return replace(found, tally=tally(network, found.added or found.partial))


def _tally_s(network: NetworkInput, time_limit_s: float) -> float:
    """How much of the limit is kept back to count the limbs in the end. [s]"""
    present, scenarios = present_of(network), network.open_start_h.shape[1]
    limbs = sum(node in present for node in receivers_of(network))
    needed = _TALLY_CELL_S * limbs * len(present) * scenarios
    return float(min(needed, _MOST_RESERVED * time_limit_s))
