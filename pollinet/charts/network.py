"""The pollination network: limbs round their tree, arrows from donor to receiver."""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass
from math import sqrt
from typing import TYPE_CHECKING, Any, Literal, TypeAlias

from pollinet.charts.style import (
    A5_WIDTH_IN,
    LIGHT,
    LINE_IN,
    MIDDLE,
    PAPER,
    SMALL_PT,
    legend_below,
    new_axes,
    settings,
    title_of,
    wrapped,
)
from pollinet.charts.verdicts import ATTENTION, STATES, Kind, mark_legend, put_mark
from pollinet.domain import NetworkInput, Node
from pollinet.language import _, ngettext, number
from pollinet.network.coverage import DonorShare, LimbCoverage
from pollinet.network.graph import EdgeStrength, edge_strengths
from pollinet.wording.check import winters_cell
from pollinet.wording.sentences import days

if TYPE_CHECKING:
    from matplotlib.axes import Axes

HALF_IN, CAP_IN, GAP_IN, FRAME_IN = 1.65, 0.2, 0.65, 0.9
"""Half the width of a crown, its rounding above, room between crowns, title and legend."""

LABEL_WIDTH = 28
NEXT_DOOR = STATES["next door"]
MOST_ARROWS = 40
"""With more arrows than these, only the best donors of each limb are drawn."""

Arrow: TypeAlias = EdgeStrength | Literal["unknown"]

ARROWS: Mapping[Arrow, Mapping[str, Any]] = {
    "strong": {"color": MIDDLE, "lw": 2.2, "ls": "-"},
    "weak": {"color": MIDDLE, "lw": 1.0, "ls": "-"},
    "rare": {"color": MIDDLE, "lw": 1.0, "ls": (0, (2, 2))},
    "unknown": {"color": MIDDLE, "lw": 1.4, "ls": (0, (6, 2, 1, 2))},
}
"""Of every strength, where nobody knows whether the pollen is accepted, as `unknown`."""


@dataclass(frozen=True)
class Crown:
    """A tree of one fruit, or what stands next door, with the nodes of its two sides."""

    title: str
    left: tuple[int, ...]
    right: tuple[int, ...]


def crowns(network: NetworkInput, species: str) -> tuple[Crown, ...]:
    """Trees of one fruit in the order of their limbs, then the neighbours' trees."""
    groups: dict[str, list[int]] = {}
    for index, node in enumerate(network.nodes):
        if node.variety.species == species and node.kind != "candidate":
            groups.setdefault(node.tree or NEXT_DOOR, []).append(index)
    return tuple(
        Crown(title, tuple(nodes[: (len(nodes) + 1) // 2]), tuple(nodes[(len(nodes) + 1) // 2 :]))
        for title, nodes in groups.items()
    )


def draw_network(
    network: NetworkInput,
    coverage: Sequence[LimbCoverage],
    *,
    species: str,
    title: str,
    ax: Axes | None = None,
) -> Axes:
    """Draw who gives pollen to whom in the trees of one fruit.

    Parameters
    ----------
    coverage : what `limb_coverage` gave for the limbs and neighbours of the network.
    species : the fruit to show: pollen hardly ever passes between two of them.
    ax : axes to draw on, in inches; new ones of the right size by default.

    Returns
    -------
    The axes. Thick arrows carry their limb alone, thin ones too but weakly, dotted ones in too few
    winters to do so alone; of dashed and dotted ones nobody knows whether the pollen is accepted.
    Limbs that need something are dark.
    """
    rows = {row.node: row for row in coverage}
    drawn = crowns(network, species)
    labels = {i: _label(network.nodes[i], rows.get(i)) for c in drawn for i in c.left + c.right}
    row_in = LINE_IN * (1.6 + max((text.count("\n") for text in labels.values()), default=1))
    places, height = _places(drawn, row_in)
    arrows, most = _arrows(network, rows, labels)
    with settings():
        axes = ax or new_axes(FRAME_IN + height)
        axes.set(xlim=(0, A5_WIDTH_IN), ylim=(height, 0), aspect="equal")
        axes.set_axis_off()
        _draw_crowns(axes, drawn, row_in)
        for donor, receiver, arrow in arrows:
            _draw_arrow(axes, places[donor], places[receiver], arrow)
        for node, text in labels.items():
            kind = _kind(network.nodes[node], rows.get(node))
            _draw_node(axes, places[node], text, kind)
        title_of(axes, title)
        legend_below(axes, _legend(arrows, labels, network, rows, most), columns=3)
    return axes


def _label(node: Node, row: LimbCoverage | None) -> str:
    away = _("{distance} m away").format(distance=number(node.distance_m))
    lines = [node.id if node.kind == "limb" else away, node.variety.name]
    if row is not None:
        selfed = any(donor.node == row.node for donor in row.donors)
        text = _("{tenths} of 10 winters, own pollen") if selfed else _("{tenths} of 10 winters")
        lines.append(text.format(tenths=winters_cell(row)))
    return "\n".join(wrapped(line, LABEL_WIDTH) for line in lines)


def _kind(node: Node, row: LimbCoverage | None) -> Kind:
    if node.kind == "neighbour":
        return "next door"
    return "need not crop" if row is None else row.verdict


def _places(drawn: Sequence[Crown], row_in: float) -> tuple[dict[int, tuple[float, float]], float]:
    """Where each node stands and how high the whole is. [inch]"""
    places: dict[int, tuple[float, float]] = {}
    top = 0.0
    for crown in drawn:
        height = row_in * max(len(crown.left), 1)
        for side, nodes in ((-1, crown.left), (1, crown.right)):
            for order, node in enumerate(nodes):
                down = (order + 0.5) / len(nodes)
                across = A5_WIDTH_IN / 2 + side * _half_width(down)
                places[node] = (across, top + GAP_IN + down * height)
        top += GAP_IN + height
    return places, top + GAP_IN / 2


def _draw_crowns(axes: Axes, drawn: Sequence[Crown], row_in: float) -> None:
    from matplotlib.patches import Arc

    top, centre = 0.0, A5_WIDTH_IN / 2
    for crown in drawn:
        height = row_in * max(len(crown.left), 1)
        first = top + GAP_IN
        if crown.title != NEXT_DOOR:
            steps = [number / 40 for number in range(41)]
            for side in (-1, 1):
                across = [centre + side * _half_width(step) for step in steps]
                axes.plot(across, [first + step * height for step in steps], color=LIGHT, lw=1.5)
            for edge, angles in ((first, (180, 360)), (first + height, (0, 180))):
                axes.add_patch(
                    Arc((centre, edge), HALF_IN, 2 * CAP_IN, theta1=angles[0], theta2=angles[1],
                        color=LIGHT, lw=1.5)
                )  # fmt: skip
        # At the edge of the page no arrow passes through it.
        axes.annotate(
            _(NEXT_DOOR) if crown.title == NEXT_DOOR else crown.title, (0.1, top + 0.3),
            va="center", weight="bold",
        )  # fmt: skip
        top += GAP_IN + height


def _half_width(down: float) -> float:
    """Half the width of a crown at a share of its height from above. [inch]"""
    return HALF_IN * sqrt(1 - 0.75 * (2 * down - 1) ** 2)


def _arrows(
    network: NetworkInput, rows: Mapping[int, LimbCoverage], shown: Mapping[int, str]
) -> tuple[list[tuple[int, int, Arrow]], int | None]:
    """(donor, receiver, arrow) to be drawn, and how many a limb at most; None: all."""
    strengths = edge_strengths(network, list(rows.values()))
    donors = {
        node: [share for share in row.donors if share.node != node and share.node in shown]
        for node, row in rows.items()
        if node in shown
    }
    most = max(map(len, donors.values()), default=0)
    while most > 1 and sum(min(most, len(shares)) for shares in donors.values()) > MOST_ARROWS:
        most -= 1
    found: list[tuple[int, int, Arrow]] = [
        (share.node, node, strengths[share.node, node] if share.known else "unknown")
        for node, shares in donors.items()
        for share in shares[:most]
    ]
    left_out = any(len(shares) > most for shares in donors.values())
    return found, most if left_out else None


def _draw_arrow(
    axes: Axes, donor: tuple[float, float], receiver: tuple[float, float], arrow: Arrow
) -> None:
    from matplotlib.patches import FancyArrowPatch

    bend = f"arc3,rad={_bend(donor, receiver):.3f}"
    drawn = FancyArrowPatch(
        donor, receiver, arrowstyle="-|>", mutation_scale=11, shrinkA=7, shrinkB=9,
        connectionstyle=bend, zorder=2, **ARROWS[arrow],
    )  # fmt: skip
    axes.add_patch(drawn)


def _bend(donor: tuple[float, float], receiver: tuple[float, float]) -> float:
    """Curvature of an arrow: inside the crown on one side of it, two ways kept apart."""
    middle = A5_WIDTH_IN / 2
    if (donor[0] - middle) * (receiver[0] - middle) < 0:
        return 0.12
    down = receiver[1] > donor[1]
    size = 0.3 if down else 0.5
    return -size if down == (donor[0] < middle) else size


def _draw_node(axes: Axes, place: tuple[float, float], text: str, kind: Kind) -> None:
    left = place[0] < A5_WIDTH_IN / 2
    put_mark(axes, *place, kind, zorder=4)
    axes.annotate(
        text, (place[0] + (-0.17 if left else 0.17), place[1]), ha="right" if left else "left",
        va="center", fontsize=SMALL_PT, linespacing=1.15, zorder=5,
        bbox={"fc": PAPER, "ec": "none", "pad": 0.5, "alpha": 0.85},
        weight="bold" if kind in ATTENTION else "normal",
    )  # fmt: skip


def _legend(
    arrows: Sequence[tuple[int, int, Arrow]],
    shown: Mapping[int, str],
    network: NetworkInput,
    rows: Mapping[int, LimbCoverage],
    most: int | None,
) -> Iterator[Any]:
    from matplotlib.lines import Line2D

    yield from mark_legend({_kind(network.nodes[node], rows.get(node)) for node in shown})
    words: dict[Arrow, str] = {
        "strong": _("carries the limb alone"),
        "weak": _("carries it alone, but weakly"),
        "rare": _("serves it in too few winters"),
        "unknown": _("not known whether its pollen is accepted"),
    }
    for arrow, word in words.items():
        if any(drawn[2] == arrow for drawn in arrows):
            yield Line2D([], [], label=word, **ARROWS[arrow])
    if most is not None:
        text = ngettext(
            "(only the best donor of each limb)",
            "(only the {number} best donors of each limb)",
            most,
        )
        yield Line2D([], [], ls="", label=text.format(number=most))


def network_description(
    network: NetworkInput, coverage: Sequence[LimbCoverage], species: str
) -> str:
    """The network in words, for those who cannot see it."""
    said = []
    for row in coverage:
        node = network.nodes[row.node]
        if node.variety.species != species:
            continue
        donors = ", ".join(_donor_words(share, row.node, network) for share in row.donors)
        text = _("{limb} ({variety}), {state}, {tenths} of 10 winters, pollen from {donors}")
        if not donors:
            text = _("{limb} ({variety}), {state}, {tenths} of 10 winters, pollen from nobody")
        said.append(
            text.format(
                limb=node.id, variety=node.variety.name, tenths=winters_cell(row),
                state=_(STATES[row.verdict]), donors=donors,
            )
        )  # fmt: skip
    return "; ".join(said)


def _donor_words(share: DonorShare, receiver: int, network: NetworkInput) -> str:
    name = _("itself") if share.node == receiver else network.nodes[share.node].variety.name
    told = f"{name} {days(share.overlap_days)}"
    if share.known:
        return told
    text = _("{donor} (accepted with a chance of {chance} %)")
    return text.format(donor=told, chance=number(round(100 * share.verdict.probability)))
