"""The donor graph: an edge goes from a pollen donor to the limb that receives it."""

from __future__ import annotations

import csv
import io
from collections.abc import Sequence
from typing import TYPE_CHECKING, Any, Literal

from pollinet.domain import NetworkInput, Node
from pollinet.network.coverage import DonorShare, LimbCoverage, Refusal, limb_coverage
from pollinet.shares import reaches

if TYPE_CHECKING:
    import networkx as nx

EdgeStrength = Literal["strong", "weak", "rare"]
"""`strong` and `weak` reach the aim's level alone, with and without effective days; `rare`: viable
in some scenarios, but in fewer than the level asks for."""

MatrixValue = Literal["overlap_days", "effective_days", "reliability", "compatible_fraction"]


MADE_BY = "Pollinet donor graph"
"""Attribute of every graph, by which its files are known."""


def edge_strength(share: DonorShare, level: float) -> EdgeStrength:
    """How far one donor alone would carry its receiver."""
    if reaches(share.strong, level):
        return "strong"
    return "weak" if reaches(share.reliability, level) else "rare"


def edge_strengths(
    network: NetworkInput, coverage: Sequence[LimbCoverage]
) -> dict[tuple[int, int], EdgeStrength]:
    """The strength of every edge, by donor and receiver."""
    return {
        (share.node, row.node): edge_strength(share, network.aim.level)
        for row in coverage
        for share in row.donors
    }


def _node_attributes(node: Node) -> dict[str, str | float | bool]:
    # GraphML knows no None: a tree that is not known is an empty word.
    return {
        "kind": node.kind,
        "species": node.variety.species,
        "variety": node.variety.name,
        "clone": node.clone,
        "tree": node.tree or "",
        "distance_m": float(node.distance_m),
        "must_crop": node.must_crop,
    }


def _edge_attributes(share: DonorShare, level: float) -> dict[str, str | float | bool]:
    return {
        "overlap_days": share.overlap_days,
        "effective_days": share.effective_days,
        "compatible_fraction": share.compatible_fraction,
        "reliability": share.reliability,
        "strength": edge_strength(share, level),
        "code": share.verdict.code,
        "memory": share.verdict.memory,
    }


def donor_graph(
    network: NetworkInput,
    present: Sequence[int] | None = None,
    coverage: Sequence[LimbCoverage] | None = None,
) -> nx.DiGraph[str]:
    """Build the graph of who can serve whom, in at least one scenario.

    Nodes are the ids of the nodes present, sorted; every attribute is a string, a number or a
    flag, so that the graph goes into GraphML and JSON as it is. A self-fertile limb has an edge to
    itself.

    Parameters
    ----------
    present : nodes that stand (default: limbs and neighbours).
    coverage : what `limb_coverage` gave for the same nodes, to save the work.
    """
    import networkx as nx

    rows = limb_coverage(network, present) if coverage is None else coverage
    nodes = network.nodes
    here = (
        [i for i, node in enumerate(nodes) if node.kind != "candidate"]
        if present is None
        else present
    )
    graph: nx.DiGraph[str] = nx.DiGraph(made_by=MADE_BY)
    for node in sorted((nodes[i] for i in here), key=lambda n: n.id):
        graph.add_node(node.id, **_node_attributes(node))
    edges = [
        (nodes[share.node].id, nodes[row.node].id, _edge_attributes(share, network.aim.level))
        for row in rows
        for share in row.donors
    ]
    graph.add_edges_from(sorted(edges, key=lambda edge: edge[:2]))
    return graph


def edge_reason(
    coverage: Sequence[LimbCoverage], donor: int, receiver: int
) -> DonorShare | Refusal | None:
    """Why there is an edge, or why there is none; None: the receiver needs no donor."""
    for row in coverage:
        if row.node == receiver:
            reasons: tuple[DonorShare | Refusal, ...] = (*row.donors, *row.refusals)
            return next((reason for reason in reasons if reason.node == donor), None)
    return None


def node_link(graph: nx.DiGraph[str]) -> dict[str, Any]:
    """The graph as node-link data, ready for JSON."""
    import networkx as nx

    data: dict[str, Any] = nx.node_link_data(graph, edges="edges")
    return data


def graphml(graph: nx.DiGraph[str]) -> str:
    """The graph as GraphML text."""
    import networkx as nx

    return "\n".join(nx.generate_graphml(graph)) + "\n"


def matrix_csv(graph: nx.DiGraph[str], value: MatrixValue = "overlap_days") -> str:
    """The graph as a table: receivers in rows, donors in columns; an empty cell is no edge."""
    names = sorted(graph.nodes)
    receivers = [n for n in names if graph.nodes[n]["must_crop"]]
    receivers = [n for n in receivers if graph.nodes[n]["kind"] != "neighbour"]
    text = io.StringIO()
    table = csv.writer(text, lineterminator="\n")
    table.writerow(["receiver", *names])
    for receiver in receivers:
        edges = [graph.get_edge_data(donor, receiver) for donor in names]
        table.writerow([receiver, *("" if e is None else f"{e[value]:.3g}" for e in edges)])
    return text.getvalue()
