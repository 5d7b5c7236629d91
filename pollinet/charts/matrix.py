"""Who can serve whom, as a table: receivers in rows, donors in columns, days and reasons."""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass
from itertools import pairwise
from typing import TYPE_CHECKING

from pollinet.charts.style import (
    DARK,
    LIGHT,
    MIDDLE,
    PAPER,
    SMALL_PT,
    legend_below,
    middles,
    new_axes,
    row_edges,
    settings,
    swatch,
    title_of,
    wrapped,
)
from pollinet.domain import NetworkInput
from pollinet.language import N_, _, number
from pollinet.network.coverage import DonorShare, LimbCoverage, Refusal
from pollinet.network.graph import EdgeStrength, edge_reason, edge_strength
from pollinet.wording.sentences import tenths

if TYPE_CHECKING:
    from matplotlib.axes import Axes

MOST_COLUMNS, MOST_ROWS = 8, 20
"""Donors and receivers in one table: as many as stay legible on a page."""

ROW_IN, HEAD_IN, FRAME_IN = 0.4, 1.5, 1.3
LABEL_WIDTH, HEAD_WIDTH = 26, 22

NOTE = N_(
    "d: mean days in bloom together; /10: winters in which it serves; ½: half of its pollen is "
    "accepted"
)

FILLS: Mapping[EdgeStrength, str] = {"strong": DARK, "weak": MIDDLE, "rare": LIGHT}

_REASONS = {
    "same-variety": N_("same\nvariety"),
    "not-self-fertile": N_("itself"),
    "incompatible": N_("pollen\nrefused"),
    "half-only": N_("half of\npollen"),
    "unknown-compatibility": N_("pollen\nunknown"),
    "too-far": N_("too far"),
    "no-own-bloom": N_("bloom\nunknown"),
    "no-bloom": N_("bloom\nunknown"),
    "chill": N_("too little\nchill"),
}

_POLLEN = {
    "triploid-pollen": N_("triploid\npollen"),
    "sterile-pollen": N_("sterile\npollen"),
    "same-genotype": N_("same\nS-alleles"),
    "same-group": N_("same\ngroup"),
}


@dataclass(frozen=True)
class Matrix:
    """One table: node indices of its rows and columns, all of one fruit."""

    receivers: tuple[int, ...]
    donors: tuple[int, ...]


def matrices(
    network: NetworkInput, coverage: Sequence[LimbCoverage], species: str
) -> tuple[Matrix, ...]:
    """The tables of one fruit, each narrow enough to be read."""
    of_fruit = [i for i, node in enumerate(network.nodes) if node.variety.species == species]
    donors = [i for i in of_fruit if network.nodes[i].kind != "candidate"]
    receivers = [row.node for row in coverage if row.node in of_fruit]
    return tuple(
        Matrix(rows, columns)
        for rows in _bands(receivers, MOST_ROWS)
        for columns in _bands(donors, MOST_COLUMNS)
    )


def _bands(nodes: Sequence[int], most: int) -> list[tuple[int, ...]]:
    """Nodes in bands of about the same size, none larger than `most`."""
    size = -(-len(nodes) // max(1, -(-len(nodes) // most)))
    return [tuple(nodes[first : first + size]) for first in range(0, len(nodes), size or 1)]


def draw_matrix(
    network: NetworkInput,
    coverage: Sequence[LimbCoverage],
    matrix: Matrix,
    *,
    title: str,
    ax: Axes | None = None,
) -> Axes:
    """Draw one table of `matrices`.

    A cell of a donor tells the mean days in bloom together and the winters in which it serves;
    a white cell why it never does.
    """
    across, down = _names(network, matrix)
    edges = row_edges(down, ROW_IN)
    with settings():
        axes = ax or new_axes(FRAME_IN + HEAD_IN + ROW_IN * edges[-1])
        axes.set(xlim=(0, max(len(across), 3)), ylim=(edges[-1], 0))
        for row, receiver in zip(pairwise(edges), matrix.receivers, strict=True):
            for column, donor in enumerate(matrix.donors):
                reason = edge_reason(coverage, donor, receiver)
                _draw_cell(axes, column, row, reason, network.aim.level)
        _name(axes, across, down, middles(edges))
        title_of(axes, title)
        legend_below(axes, _legend(), note=_(NOTE))
    return axes


def _draw_cell(
    axes: Axes,
    column: int,
    row: tuple[float, float],
    reason: DonorShare | Refusal | None,
    level: float,
) -> None:
    from matplotlib.patches import Rectangle

    fill, edge, colour, weight = PAPER, LIGHT, DARK, "normal"
    if isinstance(reason, DonorShare):
        fill = FILLS[edge_strength(reason, level)]
        edge, colour = PAPER, DARK if fill == LIGHT else PAPER
        weight = "bold"
    axes.add_artist(Rectangle((column, row[0]), 1, row[1] - row[0], fc=fill, ec=edge, lw=0.8))
    axes.text(
        column + 0.5, sum(row) / 2, cell_text(reason), ha="center", va="center", color=colour,
        fontsize=SMALL_PT, linespacing=1.1, weight=weight,
    )  # fmt: skip


def cell_text(reason: DonorShare | Refusal | None) -> str:
    """Two short lines: days and winters of a donor, or why there is none."""
    if isinstance(reason, DonorShare):
        half = " ½" if reason.compatible_fraction < 1 else ""
        overlap = _("{days} d").format(days=number(reason.overlap_days, ".1f"))
        return f"{overlap}{half}\n{tenths(reason.reliability)}/10"
    if reason is None:
        return ""
    verdict = reason.verdict.code if reason.verdict is not None else ""
    if reason.code == "incompatible" and verdict in _POLLEN:
        return _(_POLLEN[verdict])
    apart = f"{abs(reason.days or 0):.0f}"
    if reason.code == "blooms-earlier":
        return _("{days} d\nearlier").format(days=apart)
    if reason.code == "blooms-later":
        return _("{days} d\nlater").format(days=apart)
    if reason.code == "short-overlap":
        return _("only\n{days} d").format(days=number(reason.overlap_days, ".1f"))
    return _(_REASONS.get(reason.code, "–"))


def _names(network: NetworkInput, matrix: Matrix) -> tuple[list[str], list[str]]:
    """What stands over the columns and before the rows."""
    nodes = network.nodes
    across = [
        _("{variety}, {distance} m away").format(
            variety=nodes[i].variety.name, distance=number(nodes[i].distance_m)
        )
        if nodes[i].kind == "neighbour"
        else f"{nodes[i].id}: {nodes[i].variety.name}"
        for i in matrix.donors
    ]
    down = [f"{nodes[i].id}: {nodes[i].variety.name}" for i in matrix.receivers]
    return (
        [wrapped(name, HEAD_WIDTH) for name in across],
        [wrapped(name, LABEL_WIDTH) for name in down],
    )


def _name(axes: Axes, across: Sequence[str], down: Sequence[str], places: Sequence[float]) -> None:
    axes.xaxis.tick_top()
    columns = [number + 0.5 for number in range(len(across))]
    axes.set_xticks(columns, across, rotation=90, fontsize=SMALL_PT)
    axes.set_yticks(places, down, fontsize=SMALL_PT)
    axes.tick_params(length=0)
    axes.spines["bottom"].set_visible(False)
    axes.set_ylabel(_("receives pollen"), fontsize=SMALL_PT)
    axes.set_xlabel(_("gives pollen"), fontsize=SMALL_PT)
    axes.xaxis.set_label_position("top")


def _legend() -> Iterator[object]:
    yield swatch(DARK, _("carries the limb alone"))
    yield swatch(MIDDLE, _("carries it alone, but weakly"))
    yield swatch(LIGHT, _("serves it in too few winters"))
    yield swatch(PAPER, _("never serves it, and why"))


def matrix_description(
    network: NetworkInput, coverage: Sequence[LimbCoverage], matrix: Matrix
) -> str:
    """The table in words, for those who cannot see it."""
    said = []
    for receiver in matrix.receivers:
        cells = []
        for donor in matrix.donors:
            reason = edge_reason(coverage, donor, receiver)
            cells.append(f"{network.nodes[donor].variety.name} {cell_text(reason)}")
        said.append(f"{network.nodes[receiver].id}: {', '.join(cells)}".replace("\n", " "))
    return "; ".join(said)
