"""Who can serve whom, as a table: receivers in rows, donors in columns, days and reasons."""

from __future__ import annotations

from collections.abc import Collection, Iterator, Mapping, Sequence
from dataclasses import dataclass
from itertools import pairwise
from typing import TYPE_CHECKING, Any, Literal, TypeAlias

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
    title_of,
    wrapped,
)
from pollinet.charts.verdicts import ATTENTION, marked_share, name_rows, spoken
from pollinet.domain import NetworkInput
from pollinet.language import N_, _, number
from pollinet.network.coverage import DonorShare, LimbCoverage, LimbVerdict, Refusal, RefusalCode
from pollinet.network.graph import EdgeStrength, edge_reason, edge_strengths
from pollinet.wording.check import LEGEND
from pollinet.wording.sentences import tenths

if TYPE_CHECKING:
    from matplotlib.axes import Axes

MOST_COLUMNS, MOST_ROWS = 8, 20
"""Donors and receivers in one table: as many as stay legible on a page."""

ROW_IN, HEAD_IN, FRAME_IN = 0.4, 1.5, 1.9
LABEL_WIDTH, HEAD_WIDTH = 26, 22

OWN = 0.55
"""Width of the column that tells each limb's own verdict and winters, in columns of donors."""

NOTES = (
    LEGEND,
    N_("d: mean days in bloom together; /10: winters in which it serves; ½: half of its pollen is "
       "accepted; ?: not known whether any is, and the chance"),
)  # fmt: skip

Cell: TypeAlias = EdgeStrength | Literal["unknown", "never", "none"]
"""What a cell tells of a pair; `none`: nothing, the receiver needs no donor."""

CELLS: Mapping[Cell, Mapping[str, Any]] = {
    "strong": {"fc": PAPER, "ec": MIDDLE, "lw": 2.2},
    "weak": {"fc": PAPER, "ec": MIDDLE, "lw": 1.0},
    "rare": {"fc": PAPER, "ec": MIDDLE, "lw": 1.0, "ls": (0, (2, 2))},
    "unknown": {"fc": PAPER, "ec": MIDDLE, "lw": 1.4, "ls": (0, (6, 2, 1, 2))},
    "never": {"fc": LIGHT, "ec": LIGHT, "lw": 1.0},
    "none": {"fc": PAPER, "ec": LIGHT, "lw": 0.6},
}
"""Frames are the lines of the network's arrows; dark is left to limbs that need something."""

INSET = 0.05
"""Room between two frames, in inches on either side."""

UNKNOWN: Collection[RefusalCode] = ("unknown-compatibility", "no-own-bloom", "no-bloom")
"""Reasons for no donor that are no reason against it."""

_REASONS = {
    "same-variety": N_("same\nvariety"),
    "not-self-fertile": N_("itself"),
    "incompatible": N_("pollen\nrefused"),
    "half-only": N_("half of\npollen"),
    "unknown-compatibility": N_("? pollen\nunknown"),
    "too-far": N_("too far"),
    "no-own-bloom": N_("? bloom\nunknown"),
    "no-bloom": N_("? bloom\nunknown"),
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

    The first column is the receivers' own: verdict and winters, dark where one needs something. A
    cell of a donor tells the mean days in bloom together and the winters in which it serves, a grey
    one why it never does.
    """
    across, down = _names(network, matrix)
    edges = row_edges(down, ROW_IN)
    rows = {row.node: row for row in coverage}
    verdicts = [rows[receiver].verdict for receiver in matrix.receivers]
    strengths = edge_strengths(network, coverage)
    with settings():
        axes = ax or new_axes(FRAME_IN + HEAD_IN + ROW_IN * edges[-1])
        axes.set(xlim=(-OWN, max(len(across), 3)), ylim=(edges[-1], 0))
        for row, receiver in zip(pairwise(edges), matrix.receivers, strict=True):
            _draw_own(axes, row, rows[receiver])
            for column, donor in enumerate(matrix.donors):
                reason = edge_reason(coverage, donor, receiver)
                cell = cell_kind(reason, strengths.get((donor, receiver), "rare"))
                _draw_cell(axes, column, row, cell, cell_text(reason))
        _name(axes, across, down, middles(edges), verdicts)
        title_of(axes, title)
        legend_below(axes, _legend(), note="\n".join(_(note) for note in NOTES))
    return axes


def cell_kind(reason: DonorShare | Refusal | None, strength: EdgeStrength) -> Cell:
    """What a cell tells; strength : of the donor, if it is one."""
    match reason:
        case None:
            return "none"
        case DonorShare():
            return strength if reason.known else "unknown"
        case Refusal():
            return "unknown" if reason.code in UNKNOWN else "never"


def _draw_own(axes: Axes, row: tuple[float, float], coverage: LimbCoverage) -> None:
    """The verdict on a receiver before its row."""
    from matplotlib.patches import Rectangle

    dark = coverage.verdict in ATTENTION
    gap = INSET / ROW_IN
    axes.add_artist(
        Rectangle((-OWN, row[0] + gap), OWN - 0.06, row[1] - row[0] - 2 * gap,
                  fc=DARK if dark else PAPER, ec="none")
    )  # fmt: skip
    axes.text(
        -OWN / 2 - 0.03, sum(row) / 2, marked_share(coverage), ha="center", va="center",
        fontsize=SMALL_PT, color=PAPER if dark else DARK, weight="bold",
    )  # fmt: skip


def _draw_cell(axes: Axes, column: int, row: tuple[float, float], cell: Cell, text: str) -> None:
    from matplotlib.patches import Rectangle

    gap, bold = INSET / ROW_IN, cell in ("strong", "weak")
    axes.add_artist(
        Rectangle((column + 0.03, row[0] + gap), 0.94, row[1] - row[0] - 2 * gap, **CELLS[cell])
    )
    axes.text(
        column + 0.5, sum(row) / 2, text, ha="center", va="center", color=DARK,
        fontsize=SMALL_PT, linespacing=1.1, weight="bold" if bold else "normal",
    )  # fmt: skip


def cell_text(reason: DonorShare | Refusal | None) -> str:
    """Two short lines: days and winters of a donor, or why there is none."""
    if isinstance(reason, DonorShare):
        half = " ½" if reason.known and reason.compatible_fraction < 1 else ""
        chance = "" if reason.known else f" ?{reason.verdict.probability * 100:.0f} %"
        overlap = _("{days} d").format(days=number(reason.overlap_days, ".1f"))
        return f"{overlap}{half}\n{tenths(reason.reliability)}/10{chance}"
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


def _name(
    axes: Axes,
    across: Sequence[str],
    down: Sequence[str],
    places: Sequence[float],
    verdicts: Sequence[LimbVerdict],
) -> None:
    axes.xaxis.tick_top()
    columns = [number + 0.5 for number in range(len(across))]
    axes.set_xticks(columns, across, rotation=90, fontsize=SMALL_PT)
    name_rows(axes, places, down, verdicts)
    axes.tick_params(length=0)
    axes.spines["bottom"].set_visible(False)
    axes.set_ylabel(_("receives pollen"), fontsize=SMALL_PT)
    axes.set_xlabel(_("gives pollen"), fontsize=SMALL_PT)
    axes.xaxis.set_label_position("top")


def _legend() -> Iterator[object]:
    from matplotlib.patches import Patch

    words: Mapping[Cell, str] = {
        "strong": _("carries the limb alone"),
        "weak": _("carries it alone, but weakly"),
        "rare": _("serves it in too few winters"),
        "unknown": _("not known whether it serves"),
        "never": _("never serves it, and why"),
    }
    for cell, word in words.items():
        yield Patch(label=word, **CELLS[cell])


def matrix_description(
    network: NetworkInput, coverage: Sequence[LimbCoverage], matrix: Matrix
) -> str:
    """The table in words, for those who cannot see it."""
    said = []
    rows = {row.node: row for row in coverage}
    for receiver in matrix.receivers:
        cells = []
        for donor in matrix.donors:
            reason = edge_reason(coverage, donor, receiver)
            cells.append(f"{network.nodes[donor].variety.name} {cell_text(reason)}")
        (limb,) = spoken([network.nodes[receiver].id], [rows[receiver].verdict])
        said.append(f"{limb}: {', '.join(cells)}".replace("\n", " "))
    return "; ".join(said)
