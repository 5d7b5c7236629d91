"""Scenes of gardens with their answers, worked out by hand.

Source of the scenes: the project's own user research (invented gardens, gametophytic rule: a grain
passes where its allele is not in the style; a triploid gives nothing; days counted with both ends).
"""

from __future__ import annotations

import pytest
from network_gardens import garden, names, node

from pollinet.domain import Aim, NetworkInput
from pollinet.network.cover import smallest_cover
from pollinet.network.coverage import LimbCoverage, limb_coverage
from pollinet.network.graph import donor_graph
from pollinet.network.resilience import losses, mutual_groups


def answers_by_alleles(alleles: dict[str, str]) -> dict[tuple[str, str], str]:
    """`2 5` on `1 2 3`: one of two grains passes. Three alleles: a triploid, no donor."""
    words = {}
    for donor, theirs in alleles.items():
        for receiver, style in alleles.items():
            grains = theirs.split()
            passing = sum(grain not in style.split() for grain in grains)
            good = passing if len(grains) == 2 else 0
            if donor != receiver:
                words[donor, receiver] = ("no", "half", "yes")[good]
    return words


def scene(
    limbs: str,
    candidates: str,
    days: dict[str, list[tuple[float, float]]],
    alleles: dict[str, str],
    neighbours: str = "",
) -> NetworkInput:
    nodes = [
        *(node(n) for n in limbs.split()),
        *(node(n, "neighbour") for n in neighbours.split()),
        *(node(n, "candidate") for n in candidates.split()),
    ]
    here = {n.id: alleles[n.id] for n in nodes}
    return garden(nodes, days, answers_by_alleles(here))


def by_name(network: NetworkInput, rows: tuple[LimbCoverage, ...]) -> dict[str, LimbCoverage]:
    return {network.nodes[row.node].id: row for row in rows}


def test_a_triploid_and_the_donor_that_has_none() -> None:
    network = scene(
        "T D1",
        "D2 D3 D4",
        {
            "T": [(110, 121)],
            "D1": [(108, 118)],
            "D2": [(109, 119)],
            "D3": [(112, 122)],
            "D4": [(126, 136)],
        },
        {"T": "1 2 3", "D1": "2 5", "D2": "2 5", "D3": "3 7", "D4": "4 9"},
    )
    before = by_name(network, limb_coverage(network))
    (share,) = before["T"].donors
    assert (share.overlap_days, share.compatible_fraction) == (9, 0.5)
    assert before["T"].covered
    assert not before["D1"].covered
    assert [r.code for r in before["D1"].refusals] == ["incompatible", "not-self-fertile"]
    cover = smallest_cover(network, [2, 3, 4])
    assert [names(network, chosen) for chosen in cover.alternatives] == [["D3"]]
    after = by_name(network, limb_coverage(network, [0, 1, *cover.added]))
    assert [(d.overlap_days, d.compatible_fraction) for d in after["D1"].donors] == [(7, 1.0)]
    best = after["T"].donors[0]
    assert (best.node, best.overlap_days, best.compatible_fraction) == (3, 10, 0.5)
    everything = by_name(network, limb_coverage(network, range(5)))
    refused = {network.nodes[r.node].id: r for r in everything["D1"].refusals}
    assert refused["D2"].code == "incompatible"
    assert refused["D4"].code == "blooms-later"
    assert refused["D4"].days == pytest.approx(18)
    graph = donor_graph(network, [0, 1, *cover.added])
    assert mutual_groups(graph) == (("D1", "D3"),)


def test_a_self_fertile_partner_is_enough() -> None:
    days = {"T": [(112.0, 123.0)], "F": [(110.0, 120.0)]}
    words = {("F", "T"): "yes", ("T", "F"): "no", ("F", "F"): "yes"}
    network = garden([node("T"), node("F")], days, words)
    rows = by_name(network, limb_coverage(network))
    assert rows["T"].covered
    assert rows["T"].donors[0].overlap_days == 9
    assert rows["F"].covered
    assert smallest_cover(network, []).status == "nothing to add"


H = "112–121,110–119,115–124,113–122,109–118,114–123,125–138,127–142,111–120,124–136"
L = "109–118,107–116,112–121,110–119,106–115,111–120,108–117,107–116,108–117,109–118"
K = "113–122,111–120,116–125,114–123,110–119,115–124,122–133,123–136,112–121,121–132"


def intervals(text: str) -> list[tuple[float, float]]:
    return [(float(a), float(b)) for a, b in (part.split("–") for part in text.split(","))]


def test_warm_winters_take_the_low_chill_partner_away() -> None:
    days = {"H": intervals(H), "K": intervals(K), "L": intervals(L)}
    network = garden(
        [node("H"), node("K", "candidate"), node("L", "candidate")], days, {}, default="yes"
    )
    (row,) = limb_coverage(network, [0, 1, 2], only=[0])
    shares = {network.nodes[s.node].id: s for s in row.donors}
    assert shares["L"].reliability == pytest.approx(0.7)
    assert shares["L"].overlap_least_days == 0
    assert shares["K"].reliability == 1.0
    assert shares["K"].overlap_least_days == 9
    # By hand: L shares none in three winters and 7 days in seven, K 9 days in nine and 10 in one.
    assert (shares["L"].overlap_low_days, shares["L"].overlap_high_days) == (0, 7)
    spread = (shares["K"].overlap_low_days, shares["K"].overlap_high_days)
    assert spread == pytest.approx((9, 9.1))
    cover = smallest_cover(network, [1, 2])
    assert cover.alternatives == ((1,),)


FELLED_DAYS = {
    "A": [(105.0, 114.0)],
    "B": [(108.0, 117.0)],
    "C": [(116.0, 126.0)],
    "N": [(103.0, 119.0)],
    "X1": [(107.0, 118.0)],
    "X2": [(112.0, 122.0)],
    "X3": [(104.0, 111.0)],
}
FELLED_ALLELES = {
    "A": "3 5",
    "B": "3 5",
    "C": "2 7",
    "N": "10 24",
    "X1": "1 9",
    "X2": "3 7",
    "X3": "5 9",
}


def test_the_neighbours_tree_is_felled() -> None:
    network = scene("A B C", "X1 X2 X3", FELLED_DAYS, FELLED_ALLELES, neighbours="N")
    rows = by_name(network, limb_coverage(network))
    assert all(row.covered for row in rows.values())
    assert [d.overlap_days for d in rows["C"].donors] == [4]
    (felled,) = (loss for loss in losses(network) if network.nodes[loss.node].id == "N")
    assert names(network, felled.uncovered) == ["A", "B", "C"]
    without = scene("A B C", "X1 X2 X3", FELLED_DAYS, FELLED_ALLELES)
    assert not any(row.covered for row in limb_coverage(without))
    cover = smallest_cover(without, [3, 4, 5])
    assert {tuple(names(without, chosen)) for chosen in cover.alternatives} == {("X1",), ("X2",)}
    assert cover.all_listed
    marginal = by_name(without, limb_coverage(without, [0, 1, 2, 3]))["C"]
    assert marginal.covered
    assert [d.overlap_days for d in marginal.donors] == [3]
    assert by_name(without, limb_coverage(without, [0, 1, 2, 4]))["A"].donors[0].overlap_days == 3
    bare = by_name(without, limb_coverage(without, [0, 1, 2, 5]))["C"]
    assert not bare.covered


def test_half_compatible_pollen_can_be_made_not_to_count() -> None:
    days = {"A": [(100.0, 110.0)], "B": [(100.0, 110.0)]}
    words = {("A", "B"): "half", ("B", "A"): "half"}
    for counts in (True, False):
        network = garden([node("A"), node("B")], days, words, aim=Aim(half_counts=counts))
        rows = limb_coverage(network)
        assert [row.covered for row in rows] == [counts, counts]
    assert rows[0].refusals[1].code == "half-only"
