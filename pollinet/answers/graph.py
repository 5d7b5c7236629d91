"""Who can serve whom, as a graph."""

from __future__ import annotations

import json
from dataclasses import dataclass
from typing import TYPE_CHECKING, Annotated, Any, ClassVar, Literal

from pollinet.answers.base import About, Answer, Findings, Share, Told, columns_of, flat
from pollinet.answers.parts import Fruit
from pollinet.network.graph import EdgeStrength, MatrixValue, graphml, matrix_csv, node_link
from pollinet.study import Study
from pollinet.wording.network import graph_answer

if TYPE_CHECKING:
    import networkx as nx


@dataclass(frozen=True)
class GraphNode:
    """A limb or a neighbour's tree."""

    kind: Literal["limb", "neighbour", "candidate"]
    species: Fruit
    variety: str
    clone: Annotated[str, About("Name that all its sports share.")]
    tree: Annotated[str, About("Id of the tree; empty: none.")]
    distance_m: Annotated[float, About("How far it stands. [m]")]
    must_crop: bool
    id: str


@dataclass(frozen=True)
class GraphEdge:
    """A donor that serves a receiver in at least one scenario."""

    overlap_days: Annotated[float, About("Usual shared bloom. [days]")]
    effective_days: Annotated[float, About("Weighted shared bloom. [days]")]
    compatible_fraction: Annotated[float, About("Share of its pollen that is accepted.")]
    reliability: Annotated[Share, About("Scenarios in which it is a viable donor.")]
    strength: Annotated[
        EdgeStrength,
        About(
            "strong and weak reach the plan's level alone, with and without effective days; rare: "
            "in fewer scenarios."
        ),
    ]
    code: Annotated[str, About("The verdict on the pollen.")]
    memory: Annotated[bool, About("Whether that rests on a value recalled and not confirmed.")]
    source: Annotated[str, About("Id of the donor.")]
    target: Annotated[str, About("Id of the receiver.")]


@dataclass(frozen=True)
class NodeLink:
    """A graph in node-link form, which other programs read."""

    directed: bool
    multigraph: bool
    graph: Annotated[dict[str, str], About("Attributes of the whole: its maker.")]
    nodes: tuple[GraphNode, ...]
    edges: tuple[GraphEdge, ...]


@dataclass(frozen=True, repr=False)
class DonorGraph(Answer):
    """The donor graph."""

    NAME: ClassVar[str] = "graph"

    answer: Told
    file: Annotated[str | None, About("File written.")]
    graph: Annotated[NodeLink, About("In node-link form.")]
    findings: Findings

    def rows(self) -> list[dict[str, Any]]:
        """One row an edge, donor and receiver first."""
        return [
            {"source": edge.source, "target": edge.target, **dict(flat(edge))}
            for edge in self.graph.edges
        ]

    @classmethod
    def columns(cls) -> list[str]:
        """Donor, receiver, and what is told of an edge."""
        return list(dict.fromkeys(["source", "target", *columns_of(GraphEdge)]))


def graph_of(study: Study, made: nx.DiGraph[str], file: str | None = None) -> DonorGraph:
    """The answer on a graph that `donor_graph` has made; file : where it was written."""
    told = node_link(made)
    nodes = tuple(GraphNode(**node) for node in told.pop("nodes"))
    edges = tuple(GraphEdge(**edge) for edge in told.pop("edges"))
    return DonorGraph(
        answer=graph_answer(len(edges), len(nodes), file),
        file=file,
        graph=NodeLink(**told, nodes=nodes, edges=edges),
        findings=study.findings,
    )


GRAPH_SUFFIXES = (".graphml", ".json", ".csv")
"""Kinds of files for other programs."""


def graph_text(made: nx.DiGraph[str], suffix: str, value: MatrixValue = "overlap_days") -> str:
    """The graph as a file for other programs; value : what stands in the cells of a matrix."""
    if suffix == ".graphml":
        return graphml(made)
    if suffix == ".csv":
        return matrix_csv(made, value)
    return json.dumps(node_link(made), ensure_ascii=False, indent=2) + "\n"
