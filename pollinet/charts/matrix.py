"""Who can serve whom, as a table: limbs in rows, donors in columns, one mark a cell."""

from __future__ import annotations

from collections.abc import Collection, Iterator, Mapping, Sequence
from dataclasses import dataclass
from itertools import product
from typing import TYPE_CHECKING, Literal, TypeAlias

from pollinet.charts.parties import (
    MOST_PARTIES,
    Giver,
    Receiver,
    givers_of,
    others_told,
    receivers_of,
    service,
)
from pollinet.charts.style import (
    LINE_IN,
    SCREEN,
    Form,
    Inks,
    fit_height,
    forwards,
    legend_below,
    name_rows,
    new_axes,
    sentence_chart,
    settings,
    stacked,
    title_of,
    wrapped,
)
from pollinet.compatibility.crossing import is_relied_upon
from pollinet.domain import NetworkInput, VarietyId
from pollinet.language import N_, _, number
from pollinet.network.coverage import DonorShare, LimbCoverage, Refusal, RefusalCode
from pollinet.network.graph import EdgeStrength, edge_reason, edge_strengths
from pollinet.wording.check import LEGEND, MARKS, marked, spoken
from pollinet.wording.sentences import tenths

if TYPE_CHECKING:
    from matplotlib.axes import Axes

CELL_IN = 0.26
"""Height of a cell, and its width at least. [inch]"""

BESIDE_IN = 0.36
"""Room that the names of rows take, as a part of the width."""

HEAD_WIDTH = 26
"""Letters of a donor's name in one line."""

MARK_PT = 12.0

Cell: TypeAlias = Literal["alone", "helps", "unknown", "never", "none"]
"""What a cell tells of a pair; `none`: nothing, the receiver is the donor or needs none."""

SIGNS: Mapping[Cell, str] = {
    "alone": MARKS["sure"],
    "helps": MARKS["likely"],
    "unknown": MARKS["open"],
    "never": MARKS["lacking"],
    "none": "",
}
"""The marks of the verdicts, here on one donor."""

UNKNOWN: Collection[RefusalCode] = ("unknown-compatibility", "no-own-bloom", "no-bloom")
"""Reasons for no donor that are no reason against it."""

ITSELF: Collection[RefusalCode] = ("same-variety", "not-self-fertile")
"""Reasons that no other variety has anything to do with."""

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
    """One table: its rows and columns, all of one fruit, in the order of bloom.

    covered : how many rows were left out because they need nothing.
    """

    receivers: tuple[Receiver, ...]
    givers: tuple[Giver, ...]
    covered: int = 0


def matrices(
    network: NetworkInput,
    coverage: Sequence[LimbCoverage],
    order: Mapping[VarietyId, float],
    species: str,
    form: Form = SCREEN,
) -> tuple[Matrix, ...]:
    """The tables of one fruit, each narrow enough to be read.

    With many limbs, those alone that need something, and whoever may be of use to them; one table
    without rows where none does.
    """
    receivers = receivers_of(network, coverage, species, order)
    givers = givers_of(network, species, order)
    shown, left = receivers, 0
    if len(receivers) > MOST_PARTIES:
        shown = tuple(receiver for receiver in receivers if receiver.needs)
        left = len(receivers) - len(shown)
        strengths = edge_strengths(network, coverage)
        givers = tuple(
            giver for giver in givers
            if any(_cell(coverage, strengths, giver, one) not in ("never", "none") for one in shown)
        )  # fmt: skip
    if not shown:
        return (Matrix((), (), left),) if left else ()
    most = int(_columns(givers, form))
    return tuple(Matrix(shown, columns, left) for columns in _bands(givers, most))


def _columns(givers: Sequence[Giver], form: Form) -> float:
    """How many columns fit beside the names of rows, each as wide as its heading is high."""
    lines = max((wrapped(giver.label, HEAD_WIDTH).count("\n") for giver in givers), default=0)
    beside = 0.0 if form.narrow else BESIDE_IN
    return form.width_in * (0.94 - beside) / max(CELL_IN, LINE_IN * (lines + 1.4))


def _bands(givers: Sequence[Giver], most: int) -> list[tuple[Giver, ...]]:
    """Columns in bands of about the same size, none larger than `most`; at least one."""
    size = -(-len(givers) // max(1, -(-len(givers) // most)))
    return [tuple(givers[at : at + size]) for at in range(0, max(len(givers), 1), size or 1)]


def draw_matrix(
    network: NetworkInput,
    coverage: Sequence[LimbCoverage],
    matrix: Matrix,
    *,
    title: str,
    form: Form = SCREEN,
    ax: Axes | None = None,
) -> Axes:
    """Draw one table of `matrices`: a mark tells what each donor is to each limb.

    Numbers and reasons stand in the description.
    """
    if text := _instead(matrix):
        return sentence_chart(text, title, form, ax)
    strengths = edge_strengths(network, coverage)
    verdicts = [receiver.row.verdict for receiver in matrix.receivers]
    names = marked([receiver.label for receiver in matrix.receivers], verdicts)
    rows = stacked(names, CELL_IN, form)
    across = [forwards(wrapped(giver.label, HEAD_WIDTH)) for giver in matrix.givers]
    found = set()
    with settings(form):
        axes = ax or new_axes(rows.height, form)
        axes.set(xlim=(0, max(_columns(matrix.givers, form), len(across))), ylim=(rows.height, 0))
        for column, giver in enumerate(matrix.givers):
            axes.axvline(column + 0.5, color=form.inks.line, lw=0.6, zorder=0)
            for row, receiver in zip(rows, matrix.receivers, strict=True):
                cell = _cell(coverage, strengths, giver, receiver)
                found.add(cell)
                axes.text(column + 0.5, row.y, SIGNS[cell], ha="center", va="center",
                          fontsize=MARK_PT, color=_colour(cell, form.inks),
                          bbox={"fc": form.inks.paper, "ec": "none", "pad": 0})  # fmt: skip
        axes.set_xticks([])
        for column, words in enumerate(across):
            axes.annotate(
                words, (column + 0.5, 1), (0, 4), xycoords=("data", "axes fraction"), rotation=90,
                textcoords="offset points", ha="center", va="bottom", annotation_clip=False,
            )  # fmt: skip
        name_rows(axes, rows, form, [receiver.needs for receiver in matrix.receivers])
        axes.tick_params(length=0)
        axes.spines["bottom"].set_visible(False)
        title_of(axes, title, form)
        legend_below(axes, (), form, note="\n".join(_notes(matrix, found)))
        fit_height(axes, rows.height)
    return axes


def _instead(matrix: Matrix) -> str:
    """What is said where there is no pair to draw; else nothing."""
    if not matrix.receivers:
        return _("Every limb has a donor: no row is left that needs something.")
    pairs = product(matrix.receivers, matrix.givers)
    if all({*giver.nodes} <= {*receiver.nodes} for receiver, giver in pairs):
        name = ", ".join(receiver.label for receiver in matrix.receivers)
        text = _("{limb} stands alone: no other limb of its fruit, and no tree next door, is there "
                 "to compare it with.")  # fmt: skip
        return text.format(limb=name)
    return ""


def _cell(
    coverage: Sequence[LimbCoverage],
    strengths: Mapping[tuple[int, int], EdgeStrength],
    giver: Giver,
    receiver: Receiver,
) -> Cell:
    """What a donor is to a receiver: the best that any of its limbs is."""
    cells = [
        cell_kind(reason, strengths.get((node, receiver.row.node), "rare"))
        for node in giver.nodes
        if (reason := edge_reason(coverage, node, receiver.row.node)) is not None
    ]
    return min(cells, key=list(SIGNS).index, default="none")


def cell_kind(reason: DonorShare | Refusal, strength: EdgeStrength) -> Cell:
    """What a cell tells; strength : of the donor, if it is one."""
    if isinstance(reason, DonorShare):
        return service(reason, strength)
    if reason.code in UNKNOWN:
        return "unknown"
    return "none" if reason.code in ITSELF else "never"


def _colour(cell: Cell, inks: Inks) -> str:
    return {"alone": inks.leaf, "helps": inks.leaf, "never": inks.wood}.get(cell, inks.ink)


def _notes(matrix: Matrix, found: Collection[Cell]) -> Iterator[str]:
    words: Mapping[Cell, str] = {
        "alone": _("carries the limb alone"),
        "helps": _("serves it in some winters"),
        "unknown": _("not known whether it serves"),
        "never": _("never serves it"),
    }
    yield _("Before a limb: {legend}").format(legend=_(LEGEND))
    told = [f"{SIGNS[cell]} {word}" for cell, word in words.items() if cell in found]
    if told:
        text = _("In a cell: {legend}. Both ways in the order of bloom.")
        yield text.format(legend=", ".join(told))
    if matrix.covered:
        yield others_told(matrix.covered)


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
    unknown = reason.verdict if reason.code == "unknown-compatibility" else None
    if unknown is not None and not is_relied_upon(unknown):
        return _("not\nrelied on")
    return _(_REASONS.get(reason.code, "–"))


def matrix_description(
    network: NetworkInput, coverage: Sequence[LimbCoverage], matrix: Matrix
) -> str:
    """The table in words and numbers, for those who cannot see it."""
    if text := _instead(matrix):
        return text
    said = []
    for receiver in matrix.receivers:
        cells = []
        for giver in matrix.givers:
            reason = edge_reason(coverage, giver.nodes[0], receiver.row.node)
            cells.append(f"{network.nodes[giver.nodes[0]].variety.name} {cell_text(reason)}")
        (limb,) = spoken([receiver.label], [receiver.row.verdict])
        said.append(f"{limb}: {', '.join(cells)}".replace("\n", " "))
    return "; ".join(said)
