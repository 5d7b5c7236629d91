"""Who pollinates whom: donors on the left, limbs on the right, both in the order of bloom."""

from __future__ import annotations

from collections.abc import Collection, Iterator, Mapping, Sequence
from dataclasses import dataclass
from typing import TYPE_CHECKING, Any, Literal

from pollinet.charts.parties import (
    MOST_PARTIES,
    Giver,
    Receiver,
    Service,
    givers_of,
    others_told,
    receivers_of,
    service,
    shares_of,
)
from pollinet.charts.style import (
    LINE_IN,
    SCREEN,
    SMALL_PT,
    TIGHT_IN,
    Form,
    Inks,
    fit_height,
    forwards,
    legend_below,
    new_axes,
    sentence_chart,
    settings,
    title_of,
    wrapped,
)
from pollinet.charts.verdicts import SIZES, mark_legend, put_mark
from pollinet.domain import NetworkInput, VarietyId
from pollinet.language import _, joined, ngettext, number
from pollinet.network.coverage import DonorShare, LimbCoverage
from pollinet.network.graph import EdgeStrength, edge_strengths
from pollinet.network.shortage import chill_lack
from pollinet.summary.limbs import name_beside
from pollinet.wording.check import STATES, Kind, marked, winters_cell
from pollinet.wording.sentences import days, reasons

if TYPE_CHECKING:
    from matplotlib.axes import Axes

MOST_DONORS = 3
"""Donors of one limb that are drawn: its best ones."""

MOST_REASONS = 2
"""Reasons told of a limb that needs something, in a table of needs."""

THIN_PT, DAY_PT, MOST_PT = 0.8, 0.25, 4.0
"""Width of a path of pollen: at no day, for each day together, at most. [points]"""

GIVES, RECEIVES = (0.33, 0.38), (0.64, 0.59)
"""Where the two columns stand, as parts of the width; on a narrow form."""


@dataclass(frozen=True)
class Pollen:
    """A path of pollen. days : mean time in bloom together."""

    giver: Giver
    receiver: Receiver
    path: Service
    days: float


def draw_network(
    network: NetworkInput,
    coverage: Sequence[LimbCoverage],
    order: Mapping[VarietyId, float],
    *,
    species: str,
    title: str,
    form: Form = SCREEN,
    ax: Axes | None = None,
) -> Axes:
    """Draw who gives pollen to whom among the trees of one fruit.

    Parameters
    ----------
    coverage : what `limb_coverage` gave for the limbs and neighbours of the network.
    order : usual full bloom of each variety, the earliest on top.
    species : the fruit to show: pollen hardly ever passes between two of them.
    ax : axes to draw on; new ones of the right size by default.

    Returns
    -------
    The axes. An arrow from donor to limb is the thicker, the more days the two bloom together, and
    dashed where nobody knows whether the pollen is accepted. With many limbs, those alone that
    need something, and what is nearest to serving them.
    """
    givers = givers_of(network, species, order)
    receivers = receivers_of(network, coverage, species, order)
    pollen = _pollen(edge_strengths(network, coverage), givers, receivers)
    if len(receivers) > MOST_PARTIES or not pollen:
        return _draw_needs(network, receivers, title, form, ax)
    shown = [giver for giver in givers if any(one.giver is giver for one in pollen)]
    left = _labels([giver.label for giver in shown], form)
    right = _labels([_told(one) for one in receivers], form)
    height = max(map(_column_in, (left, right)))
    gives, takes = (_places(column, height) for column in (left, right))
    with settings(form):
        axes = ax or new_axes(height, form)
        axes.set(xlim=(0, 1), ylim=(height, 0))
        axes.set_axis_off()
        at = (GIVES[form.narrow], RECEIVES[form.narrow])
        for giver, label, y in zip(shown, left, gives, strict=True):
            _put_giver(axes, giver, label, (at[0], y), form)
        for receiver, label, y in zip(receivers, right, takes, strict=True):
            put_mark(axes, at[1], y, receiver.row.verdict, form=form, zorder=4)
            _put_words(
                axes,
                label,
                (at[1] + (0.045 if form.narrow else 0.022), y),
                "left",
                form,
                strong=receiver.needs,
            )
        for one in pollen:
            ends = gives[shown.index(one.giver)], takes[receivers.index(one.receiver)]
            _draw_path(axes, one, (at[0] + 0.012, ends[0]), (at[1], ends[1]), form.inks)
        title_of(axes, title, form)
        note = "\n".join(_notes(givers, shown, receivers))
        legend_below(axes, _legend(pollen, receivers, form), form, note=note)
        fit_height(axes, height)
    return axes


def _labels(labels: Sequence[str], form: Form) -> list[str]:
    wide = int(form.letters() * (0.4 if form.narrow else 0.33))
    return [forwards("\n".join(wrapped(line, wide) for line in label.splitlines()))
            for label in labels]  # fmt: skip


def _told(receiver: Receiver) -> str:
    """A receiver with its winters of ten."""
    selfed = any(donor.node in receiver.nodes for donor in receiver.row.donors)
    text = _("{tenths} of 10 winters, own pollen") if selfed else _("{tenths} of 10 winters")
    return f"{receiver.label}\n{text.format(tenths=winters_cell(receiver.row))}"


def _column_in(labels: Sequence[str]) -> float:
    return sum(map(_high, labels)) + 2 * TIGHT_IN


def _high(label: str) -> float:
    return LINE_IN * (label.count("\n") + 1) + 3 * TIGHT_IN


def _places(labels: Sequence[str], height: float) -> list[float]:
    """The middle of each label, the column spread over a height. [inches from the top]"""
    spare = (height - sum(map(_high, labels))) / max(len(labels), 1)
    places, top = [], 0.0
    for label in labels:
        room = _high(label) + spare
        places.append(top + room / 2)
        top += room
    return places


def _pollen(
    strengths: Mapping[tuple[int, int], EdgeStrength],
    givers: Sequence[Giver],
    receivers: Sequence[Receiver],
) -> list[Pollen]:
    """The best donors of each limb, those drawn last that carry it alone."""
    found = [
        Pollen(
            giver,
            receiver,
            service(share, strengths[share.node, receiver.row.node]),
            share.overlap_days,
        )
        for receiver in receivers
        for giver, share in shares_of(receiver, givers)[:MOST_DONORS]
    ]
    return sorted(found, key=lambda one: one.path == "alone")


def _stroke(path: Service, inks: Inks) -> dict[str, Any]:
    """How a path is drawn, beside its width."""
    if path == "alone":
        return {"color": inks.leaf}
    dashed: dict[str, Any] = {"ls": (0, (3, 1.5))} if path == "unknown" else {}
    return {"color": inks.wood, "alpha": 0.6, **dashed}


def _draw_path(
    axes: Axes, one: Pollen, start: tuple[float, float], end: tuple[float, float], inks: Inks
) -> None:
    from matplotlib.patches import FancyArrowPatch
    from matplotlib.path import Path

    bend = 0.45 * (end[0] - start[0])
    points = [start, (start[0] + bend, start[1]), (end[0] - bend, end[1]), end]
    codes = [Path.MOVETO, Path.CURVE4, Path.CURVE4, Path.CURVE4]
    wide = min(THIN_PT + DAY_PT * one.days, MOST_PT)
    axes.add_patch(
        FancyArrowPatch(
            path=Path(points, codes), arrowstyle="-|>", mutation_scale=6 + 1.2 * wide, shrinkA=0,
            shrinkB=SIZES[one.receiver.row.verdict] / 2 + 3, lw=wide, fill=False,
            capstyle="butt", joinstyle="miter", zorder=2,
            **_stroke(one.path, inks),
        )
    )  # fmt: skip


def _put_giver(
    axes: Axes, giver: Giver, label: str, place: tuple[float, float], form: Form
) -> None:
    sign = "D" if giver.next_door else "o"
    fill = form.inks.paper if giver.next_door else form.inks.wood
    axes.plot(*place, sign, ms=6, mfc=fill, mec=form.inks.wood, zorder=4)
    _put_words(axes, label, (place[0] - 0.02, place[1]), "right", form)


def _put_words(
    axes: Axes, label: str, place: tuple[float, float], side: Literal["left", "right"], form: Form,
    *, strong: bool = False,
) -> None:  # fmt: skip
    axes.annotate(
        label, place, ha=side, va="center", fontsize=SMALL_PT, linespacing=1.1, zorder=5,
        weight="bold" if strong else "normal",
        color=form.inks.attention if strong else form.inks.ink,
    )  # fmt: skip


def _notes(
    givers: Sequence[Giver], shown: Collection[Giver], receivers: Sequence[Receiver]
) -> Iterator[str]:
    yield _("Donor → limb, from top to bottom in the order of bloom.")
    if any(len(shares_of(receiver, givers)) > MOST_DONORS for receiver in receivers):
        text = ngettext(
            "Only the best donor of each limb is drawn.",
            "Only the {number} best donors of each limb are drawn.",
            MOST_DONORS,
        )
        yield text.format(number=MOST_DONORS)
    serving = {giver for receiver in receivers for giver, _share in shares_of(receiver, givers)}
    idle = [giver.label for giver in givers if giver not in serving]
    if idle:
        text = ngettext("Serves nobody here: {names}.", "Serve nobody here: {names}.", len(idle))
        yield text.format(names=joined(idle))
    best = [giver.label for giver in givers if giver in serving and giver not in shown]
    if best:
        yield _("Nobody's best donor: {names}.").format(names=joined(best))


def _legend(pollen: Sequence[Pollen], receivers: Sequence[Receiver], form: Form) -> Iterator[Any]:
    from matplotlib.lines import Line2D

    kinds: set[Kind] = {receiver.row.verdict for receiver in receivers}
    yield from mark_legend(kinds, form)
    words: dict[Service, str] = {
        "alone": _("carries the limb alone"),
        "helps": _("serves it in some winters"),
        "unknown": _("not known whether its pollen is accepted"),
    }
    for path, word in words.items():
        drawn = [one for one in pollen if one.path == path]
        if drawn:
            yield Line2D([], [], lw=2.4, label=word, **_stroke(path, form.inks))
    if pollen:
        most = max(one.days for one in pollen)
        text = _("the thicker, the more days together; most: {days}")
        wide = min(THIN_PT + DAY_PT * most, MOST_PT)
        yield Line2D([], [], lw=wide, color=form.inks.wood, label=text.format(days=days(most)))
    if any(one.giver.next_door for one in pollen):
        mark = {"marker": "D", "ls": "", "ms": 6, "mfc": form.inks.paper, "mec": form.inks.wood}
        yield Line2D([], [], label=_(STATES["next door"]), **mark)  # type: ignore[arg-type]


# --- many limbs ------------------------------------------------------------------------------


def _draw_needs(
    network: NetworkInput, receivers: Sequence[Receiver], title: str, form: Form, ax: Axes | None
) -> Axes:
    """A table of the limbs that need something, and what is nearest to serving each."""
    needy = [receiver for receiver in receivers if receiver.needs]
    if not needy:
        text = ngettext(
            "Every limb has a donor ({number} variety on the tree).",
            "Every limb has a donor ({number} varieties on their trees).",
            len(receivers),
        )
        return sentence_chart(text.format(number=len(receivers)), title, form, ax)
    wide = form.letters() - 4
    labels = marked([one.label for one in needy], [one.row.verdict for one in needy])
    names = [wrapped(label, wide) for label in labels]
    told = [wrapped("; ".join(_whys(network, one.row)[:MOST_REASONS]), wide) for one in needy]
    height = sum(LINE_IN * (name.count("\n") + why.count("\n") + 2) + 2 * TIGHT_IN
                 for name, why in zip(names, told, strict=True))  # fmt: skip
    with settings(form):
        axes = ax or new_axes(height, form)
        axes.set(xlim=(0, form.width_in), ylim=(height, 0))
        axes.set_axis_off()
        top = 0.0
        for name, why in zip(names, told, strict=True):
            axes.annotate(forwards(name), (0, top), va="top", fontsize=SMALL_PT, weight="bold",
                          color=form.inks.attention)  # fmt: skip
            top += LINE_IN * (name.count("\n") + 1)
            axes.annotate(why, (0.2, top), va="top", fontsize=SMALL_PT)
            top += LINE_IN * (why.count("\n") + 1) + 2 * TIGHT_IN
        title_of(axes, title, form)
        covered = len(receivers) - len(needy)
        if covered:
            legend_below(axes, (), form, note=others_told(covered))
        fit_height(axes, height)
    return axes


def _whys(network: NetworkInput, row: LimbCoverage) -> list[str]:
    return [why for _code, why in reasons(row, network.nodes, chill_lack(network, row))]


# --- words -----------------------------------------------------------------------------------


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
                limb=node.id, variety=name_beside(node.variety.name, [node.id]),
                tenths=winters_cell(row),
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
