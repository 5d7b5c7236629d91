"""The smallest cover as long as nothing is lost: for all limbs, or for as many as there can be."""

from __future__ import annotations

from dataclasses import dataclass, replace

from pollinet.domain import NetworkInput
from pollinet.network.answer import Cover, answer_of
from pollinet.network.engines import most_limbs
from pollinet.network.nearest_miss import loss_miss, nearest_miss, never_covered, shortfalls
from pollinet.network.parts import Part, solve_part, some_infeasible
from pollinet.network.problem import CoverProblem
from pollinet.network.programme import Solved
from pollinet.network.prune import (
    drop_limbs,
    drop_slack_limits,
    pruned,
    separate_parts,
)
from pollinet.network.tie_break import Ranking
from pollinet.network.time_limit import TimeLeft


@dataclass(frozen=True, eq=False)
class Search:
    """What is asked.

    whole : the problem before anything is left out. must : nodes grafted in any case.
    most : how many sets of the same cost are listed.
    """

    network: NetworkInput
    whole: CoverProblem
    must: frozenset[int]
    ranking: Ranking
    most: int
    left: TimeLeft

    def parts(self, problem: CoverProblem) -> list[Part]:
        """Smallest sets of each part; they end with the first part that has none."""
        found: list[Part] = []
        for part in separate_parts(problem):
            found.append(solve_part(part, self.ranking, self.most, self.left))
            if found[-1].status == "infeasible":
                break
        return found


def plain_cover(search: Search) -> tuple[Cover, CoverProblem]:
    """The cover, and the problem without what cannot be covered.

    Limbs are left out that no candidates could cover, then the fewest for which there is no room.
    """
    network, whole = search.network, replace(search.whole, surviving=frozenset())
    # Whom all candidates leave short asks for none: what only they would have use for goes, too.
    lost_anyway = never_covered(whole)
    problem = pruned(drop_limbs(whole, lost_anyway), search.left)
    short = shortfalls(problem, range(len(problem.candidates)), doubtful=())
    # Limbs that fall back when a tree is felled, whatever is grafted, are covered as it stands.
    hanging = {node: lost for node, lost in short.items() if lost[0].without is not None}
    problem = replace(problem, outlasting=problem.outlasting - set(hanging))
    hopeless = {
        *lost_anyway,
        *(short.keys() - hanging.keys()),
        *(search.must - set(problem.candidates)),
    }
    possible = drop_slack_limits(drop_limbs(problem, hopeless))
    parts = search.parts(possible)
    crowded: set[int] = set()
    finished, also = True, list[Solved]()
    if some_infeasible(parts):
        most = most_limbs(possible, search.left)
        finished = most.status == "optimal"
        also.append(most)
        crowded = set(possible.limbs) - {possible.limbs[i] for i in most.limbs}
        if not finished:
            # Heuristic: left out, these leave a problem that has a cover.
            crowded = set(shortfalls(possible, sorted(possible.include))) & set(possible.limbs)
        possible = drop_limbs(possible, crowded)
        parts = search.parts(possible)
    uncovered = tuple(
        nearest_miss(network, whole, node, hopeless=node in hopeless)
        for node in sorted(hopeless | crowded)
    )
    uncovered += tuple(
        loss_miss(network, whole, node, lost, hopeless=True)
        for node, lost in sorted(hanging.items())
        if node not in hopeless
    )
    found = answer_of(possible, parts, uncovered, search.most, len(whole.candidates), also)
    if not finished:
        found = replace(found, proof=replace(found.proof, status="time limit"))
    return found, possible
