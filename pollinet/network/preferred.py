"""Wood at hand before wood to be ordered: which of the covers is told first, exactly.

Both wishes rank sets by two numbers, how many varieties are grafted and how many of these must be
ordered; only their order differs. Neither number is weighed against the other.
"""

from __future__ import annotations

from collections.abc import Callable, Collection, Sequence
from dataclasses import replace
from typing import Literal

from pollinet.domain import NetworkInput
from pollinet.network.answer import Cover

Prefer = Literal["fewest", "at-hand"]
"""`fewest`: as few varieties as possible, and of such sets those with the fewest to order;
`at-hand`: as few to order as possible, and of such sets the smallest."""

Search = Callable[[Sequence[int], int | None], Cover]
"""The smallest cover by some candidates; so many of them to be ordered at most, None: any."""

_ROUNDING = 1e-9


def preferred_cover(
    network: NetworkInput,
    candidates: Sequence[int],
    search: Search,
    *,
    must_include: Collection[int] = (),
    prefer: Prefer = "fewest",
    most_sets: int = 20,
) -> Cover:
    """The smallest cover in which as much wood as possible is at hand. Exact.

    Where a search meets its time limit, or some limbs cannot be covered, the cover is that of a
    plain search: `Cover.fewest_ordered` says whether it was shown that none has less to order.

    must_include : candidates that are grafted in any case, also where they must be ordered.
    """
    found = search(candidates, None)
    ordered = ordered_of(network, found.added)
    least = ordered_of(network, must_include)
    if found.status != "optimal":
        return found
    for most in range(least, ordered):
        free = [c for c in candidates if network.nodes[c].at_hand or c in must_include]
        other = search(free, None) if most == least else search(candidates, most)
        if other.proof.status == "time limit":
            return _with_sets(network, found, found.alternatives, most_sets)
        if other.status != "optimal":
            continue
        if prefer == "at-hand":
            smaller = found.added if found.cost < other.cost - _ROUNDING else ()
            return replace(other, fewest_ordered=True, smaller=smaller)
        if other.cost <= found.cost + _ROUNDING:
            sets = (*other.alternatives, *found.alternatives)
            best = replace(
                found,
                added=other.added,
                first_proven=other.first_proven,
                compared=other.compared,
                reliability=other.reliability,
                tally=other.tally,
            )
            return replace(_with_sets(network, best, sets, most_sets), fewest_ordered=True)
    found = _with_sets(network, found, found.alternatives, most_sets)
    return replace(found, fewest_ordered=True)


def _with_sets(
    network: NetworkInput, cover: Cover, sets: Sequence[tuple[int, ...]], most: int
) -> Cover:
    """The cover with these sets of one cost: those with the fewest to order first."""
    each = dict.fromkeys(sets)
    alternatives = sorted(each, key=lambda chosen: ordered_of(network, chosen))[:most]
    whole = cover.all_listed and len(each) <= most
    return replace(cover, alternatives=tuple(alternatives), all_listed=whole)


def ordered_of(network: NetworkInput, chosen: Collection[int]) -> int:
    """How many of some candidates must be ordered."""
    return sum(not network.nodes[node].at_hand for node in chosen)
