"""The smallest cover that holds after any one loss, or as much of it as can be had."""

from __future__ import annotations

from collections.abc import Collection, Iterator, Mapping, Sequence
from dataclasses import replace

from pollinet.network.answer import Cover, answer_of
from pollinet.network.engines import most_limbs
from pollinet.network.nearest_miss import (
    Shortfall,
    Uncovered,
    loss_miss,
    nearest_miss,
    shortfalls,
)
from pollinet.network.parts import joined_sets, some_infeasible
from pollinet.network.plain import Search, plain_cover
from pollinet.network.problem import CoverProblem
from pollinet.network.programme import Solved
from pollinet.network.prune import (
    drop_bare,
    drop_limbs,
    drop_slack_limits,
    drop_useless,
    never_met,
    pruned,
)
from pollinet.network.time_limit import TimeLeft, part_of

SAFE_SHARE = 0.4
"""Share of what time is left for knowing how many limbs can be kept safe: own convention; the rest
is for the cover as long as nothing is lost, which answers where that is not known in time."""


def surviving_cover(search: Search) -> Cover:
    """Every receiver stays covered when any one other node is lost, or as many as can be."""
    whole = search.whole
    problem = pruned(whole, search.left)
    everything = range(len(problem.candidates))
    if search.must <= set(problem.candidates) and not shortfalls(problem, everything, doubtful=()):
        parts = search.parts(drop_slack_limits(problem))
        if not some_infeasible(parts):
            return answer_of(problem, parts, (), search.most, offered=len(whole.candidates))
    return _partly_surviving(search)


def _partly_surviving(search: Search) -> Cover:
    """Cover what can be covered at all, and safe from a loss all that can be made so.

    A receiver hangs on one donor where it falls back when this is lost, whatever is grafted. If
    there is not room to keep the others safe, as many limbs as possible are, as long as this
    leaves nobody bare; else the plain cover answers, as it does where the time is over before it is
    known who falls back.
    """
    whole = search.whole
    closed = drop_bare(replace(drop_useless(whole), surviving=frozenset()), search.left)
    safe = drop_useless(replace(closed, surviving=whole.surviving))
    doubtful = never_met(safe, search.left)
    short = shortfalls(safe, range(len(safe.candidates)), doubtful=doubtful or ())
    if doubtful is None:
        return _until_a_loss(search, short)
    bare = {node for node, (demand, _) in short.items() if demand.without is None}
    bare |= search.must - set(safe.candidates)
    possible = drop_slack_limits(drop_limbs(replace(safe, surviving=frozenset()), bare))
    for surviving, also in _choices_of_survivors(possible, set(short), search.left):
        mixed = replace(possible, surviving=surviving)
        parts = search.parts(mixed)
        if not some_infeasible(parts):
            misses = [nearest_miss(search.network, whole, i, hopeless=True) for i in sorted(bare)]
            best = next(iter(joined_sets(parts, 1)[0]), ())
            misses += _hanging_on_one(search, mixed, best, short)
            return answer_of(mixed, parts, tuple(misses), search.most, len(whole.candidates), also)
    return _until_a_loss(search, short)


def _until_a_loss(search: Search, short: Mapping[int, Shortfall]) -> Cover:
    """The cover as long as nothing is lost, and who falls back then.

    short : receivers that do so whatever is grafted, as far as is known.
    """
    found, possible = plain_cover(search)
    best = found.added or found.partial
    misses = [*found.uncovered, *_hanging_on_one(search, possible, best, short)]
    return replace(
        found, status="infeasible", added=(), alternatives=(), all_listed=False, partial=best,
        uncovered=tuple(misses), most_proven=False,
    )  # fmt: skip


def _choices_of_survivors(
    problem: CoverProblem, weak: Collection[int], left: TimeLeft
) -> Iterator[tuple[frozenset[int], tuple[Solved, ...]]]:
    """Receivers to keep safe from a loss: all that can be, then as many limbs as there is room for;
    and what was solved to know them.

    The most are counted as if nobody else asked for anything, so that none can be kept beyond them.
    """
    limbs = frozenset(problem.limbs) - set(weak)
    grafts = frozenset(problem.candidates) - set(weak)
    yield limbs | grafts, ()
    alone = replace(drop_limbs(problem, weak), surviving=limbs)
    most = most_limbs(alone, part_of(left, SAFE_SHARE))
    if most.status == "optimal":
        kept = frozenset(alone.limbs[i] for i in most.limbs)
        yield kept | grafts, (most,)
        yield kept, (most,)


def _hanging_on_one(
    search: Search, problem: CoverProblem, best: Sequence[int], short: Mapping[int, Shortfall]
) -> list[Uncovered]:
    """Receivers that the set covers only as long as one donor is not lost."""
    chosen = problem.variables_of(best)
    then = shortfalls(replace(problem, surviving=search.whole.surviving), chosen)
    return [
        loss_miss(search.network, search.whole, node, short.get(node, now), hopeless=node in short)
        for node, now in sorted(then.items())
        if now[0].without is not None
    ]
