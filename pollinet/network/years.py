"""Springs after grafting: who blooms yet, and who is covered by those that do.

A graft gives no flowers for some years, and how many differs; so each spring has a cautious and a
hopeful answer. Nothing but age is changed: bloom dates, verdicts and winters stay as they are.
"""

from __future__ import annotations

from collections.abc import Collection, Mapping, Sequence
from dataclasses import dataclass
from typing import Literal

from pollinet.domain import Limb, NetworkInput, Tree
from pollinet.network.counting import counts_without_each, covered_count
from pollinet.network.viability import felled_of, receivers_of, viability

GraftMethod = Literal["graft on a bearing tree", "young tree"]
"""`young tree`: the tree itself is no older than the graft."""


@dataclass(frozen=True)
class SpringShare:
    """One receiver in one coming spring.

    blooms : `no` (too young), `perhaps` or `yes`.
    cautious, hopeful : share of scenarios in which it is covered when every young graft needs its
        latest usual age, and its earliest; None where it does not bloom itself then. On the
        cautious side the tree that it would miss most of those that may be felled is gone, too.
    """

    node: int
    spring: int
    blooms: Literal["no", "perhaps", "yes"]
    cautious: float | None
    hopeful: float | None


def graft_method(limb: Limb, tree: Tree) -> GraftMethod:
    """How a limb began: on a tree that bore already, or together with its tree.

    A tree with a limb of unknown age is an old one; where every limb is dated, the oldest are as
    young as the tree. Own convention.
    """
    years = [other.grafted for other in tree.limbs]
    known = [year for year in years if year is not None]
    young = len(known) == len(years) and limb.grafted == min(known)
    return "young tree" if young else "graft on a bearing tree"


def first_springs(
    limbs: Mapping[int, int | None], ages: Mapping[int, tuple[int, int]]
) -> dict[int, tuple[int, int]]:
    """Earliest and latest first spring with flowers of each node whose graft year is known.

    limbs : graft year of each node; None: long ago. ages : (first, late) years from graft to
        flowers of each node.
    """
    return {
        node: (year + ages[node][0], year + ages[node][1])
        for node, year in limbs.items()
        if year is not None
    }


def blooming(
    nodes: Sequence[int],
    firsts: Mapping[int, tuple[int, int]],
    spring: int,
    *,
    hopeful: bool,
) -> tuple[int, ...]:
    """Those of the nodes that are old enough to bloom in a spring.

    firsts : (earliest, latest) first spring with flowers; a node that is missing is old.
    """
    edge = 0 if hopeful else 1
    return tuple(n for n in nodes if n not in firsts or spring >= firsts[n][edge])


def coverage_by_spring(
    network: NetworkInput,
    present: Sequence[int],
    firsts: Mapping[int, tuple[int, int]],
    springs: Sequence[int],
    *,
    survive: bool = False,
) -> tuple[tuple[SpringShare, ...], ...]:
    """Coverage of every receiver among `present` in each coming spring.

    Parameters
    ----------
    present : nodes that stand, new grafts included.
    firsts : see `first_springs`. [harvest year]
    springs : the springs to look at. [harvest year]
    survive : tell what is left when the one that each receiver would miss most is lost.

    Returns
    -------
    One row for each receiver in the order of nodes, one entry for each spring.
    """
    here = tuple(sorted(set(present)))
    view = viability(network, [r for r in receivers_of(network) if r in set(here)])
    hopeful = [blooming(here, firsts, spring, hopeful=True) for spring in springs]
    cautious = [blooming(here, firsts, spring, hopeful=False) for spring in springs]

    felled = set(felled_of(network))

    def share(row: int, donors: tuple[int, ...], losses: Collection[int]) -> float | None:
        receiver, wanted = view.receivers[row], network.aim.donors
        if receiver not in donors:
            return None
        lost = [i for i, donor in enumerate(donors) if donor in losses and donor != receiver]
        covered = covered_count(view, row, donors, wanted)
        if lost:
            left = counts_without_each(view, row, donors, wanted)[lost]
            covered = min(covered, int(left.min()))
        return covered / view.scenarios

    rows = []
    for row, node in enumerate(view.receivers):
        entries = []
        for spring, early, late in zip(springs, hopeful, cautious, strict=True):
            best = share(row, early, here if survive else ())
            # A receiver that may be in flower is judged by its donors, however young they are.
            certain = tuple(sorted({*late, node}))
            worst = None if best is None else share(row, certain, here if survive else felled)
            blooms = "yes" if node in late else "perhaps" if node in early else "no"
            entries.append(SpringShare(node, spring, blooms, worst, best))  # type: ignore[arg-type]
        rows.append(tuple(entries))
    return tuple(rows)
