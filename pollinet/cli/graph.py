"""`pollinet graph`: who can serve whom, as a table and as a file for other programs."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from pathlib import Path
from typing import get_args

import click

from pollinet.answers.graph import GRAPH_SUFFIXES as SUFFIXES
from pollinet.answers.graph import DonorGraph, GraphEdge, graph_of, graph_text
from pollinet.cli.common import (
    FilePath,
    csv_option,
    give,
    in_language,
    json_option,
    new_table,
    opened,
    out_problem,
    plan_argument,
    print_lines,
    print_table,
    put,
    stop,
    weather_option,
)
from pollinet.language import N_, _, ngettext, number
from pollinet.network.graph import MADE_BY, EdgeStrength, MatrixValue, donor_graph
from pollinet.wording.sentences import of_ten


@click.command(
    epilog="Example: pollinet graph plan.toml --out garden.graphml. The suffix decides: .graphml, "
    ".json (node-link) or .csv (receivers in rows, donors in columns). Exit codes: 0 an answer, "
    "2 bad input."
)
@plan_argument
@click.option(
    "--out",
    type=FilePath(),
    help="File to write (graphml, json, csv); without it the edges are printed.",
)
@click.option(
    "--value",
    type=click.Choice(get_args(MatrixValue)),
    default="overlap_days",
    show_default=True,
    help="What stands in the cells of the CSV matrix.",
)
@weather_option
@json_option
@csv_option
@in_language
def graph(
    plan: Path,
    out: Path | None,
    value: MatrixValue,
    weather: Path | None,
    as_json: bool,
    csv: Path | None,
) -> int:
    """Give the donor graph: an edge goes from a pollen donor to the limb that receives it."""
    problem = None if out is None else out_problem(out, SUFFIXES)
    if problem is not None:
        stop([problem], as_json)
    study = opened(plan, weather, as_json=as_json)
    made = donor_graph(study.network, coverage=study.coverage)
    if out is not None:
        suffix = out.suffix.lower()
        text = graph_text(made, suffix, value)
        put(out, text.encode(), _mark(text, suffix), as_json=as_json)
    answer = graph_of(study, made, None if out is None else str(out))
    return give(answer, lambda: show_graph(answer), as_json=as_json, csv=csv)


def _mark(text: str, suffix: str) -> bytes:
    """What a graph of ours holds: its maker, or the same first line of a matrix."""
    if suffix == ".csv":
        return f"{text.partition(chr(10))[0]}\n".encode()
    return MADE_BY.encode()


def show_graph(answer: DonorGraph) -> None:
    """Print the answer and, where no file was written, the edges."""
    print_lines([answer.answer])
    if answer.file is not None or not answer.graph.edges:
        return
    varieties = {node.id: node.variety for node in answer.graph.nodes}
    table = new_table(
        (_("Donor"), {}),
        (_("Receiver"), {}),
        (_("Days"), {"justify": "right"}),
        (_("Effective"), {"justify": "right"}),
        (_("Winters"), {"no_wrap": True}),
        (_("Strength"), {}),
    )
    edges = _strongest(answer.graph.edges)
    for edge in edges:
        table.add_row(
            *(_label(name, varieties[name]) for name in (edge.source, edge.target)),
            number(edge.overlap_days, ".1f"),
            number(edge.effective_days, ".1f"),
            of_ten(edge.reliability),
            _(STRENGTHS[edge.strength]),
        )
    print_lines([""])
    print_table(table)
    if more := len(answer.graph.edges) - len(edges):
        text = ngettext(
            "Of each receiver the best donor; {number} more edge: --out garden.graphml, --json.",
            "Of each receiver the best donor; {number} more edges: --out garden.graphml, --json.",
            more,
        )
        print_lines(["", text.format(number=more)])
    shown = {edge.strength for edge in edges}
    told = [_(meaning) for strength, meaning in MEANINGS.items() if strength in shown]
    print_lines(["", f"{_(ALONE).format(strengths='; '.join(told))} {_(EFFECTIVE)}"])


STRENGTHS: Mapping[EdgeStrength, str] = {
    "strong": N_("strong"),
    "weak": N_("weak"),
    "rare": N_("rare"),
}

ALONE = N_("Strength tells how a donor would serve its receiver without the others; {strengths}.")

MEANINGS: Mapping[EdgeStrength, str] = {
    "strong": N_("strong: with enough effective days in as many winters as the plan asks for"),
    "weak": N_(
        "weak: with enough days in as many winters, which covers it, but with too few effective "
        "days"
    ),
    "rare": N_("rare: with enough days in fewer winters"),
}
"""What each strength says, as `edge_strength` tells them apart."""

EFFECTIVE = N_(
    "Effective: the days, counted by how much of the pollen is accepted, how near the donor "
    "stands, how well bees can fly and whether both had enough chill."
)

MOST_EDGES = 60
"""Edges beyond which the table has those of each receiver's best donor alone. Own convention."""


def _strongest(edges: Sequence[GraphEdge]) -> list[GraphEdge]:
    """All edges, or of many the one that brings each receiver the most winters, then days."""
    if len(edges) <= MOST_EDGES:
        return list(edges)
    best: dict[str, GraphEdge] = {}
    for edge in sorted(edges, key=lambda x: (-x.reliability, -x.effective_days, x.source)):
        best.setdefault(edge.target, edge)
    return sorted(best.values(), key=lambda edge: edge.target)


def _label(name: str, variety: str) -> str:
    return name if variety == name else f"{name} ({variety})"
