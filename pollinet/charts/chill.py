"""Winter chill of the site against what the varieties ask for."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from typing import TYPE_CHECKING

import numpy as np

from pollinet.charts.style import (
    DARK,
    LABEL_WIDTH,
    LIGHT,
    LINE_IN,
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
from pollinet.domain import FloatArray
from pollinet.language import N_, _, ngettext
from pollinet.summary.limbs import EARLY, LATE
from pollinet.wording.sentences import tenths

if TYPE_CHECKING:
    from matplotlib.axes import Axes

ROW_IN, FRAME_IN = 0.34, 2.3
MOST_SILENT = 16
"""Varieties without a requirement that are named."""

WINTERS = N_("winters here")


@dataclass(frozen=True)
class ChillNeed:
    """What one variety asks for; `portions` None where no requirement is published.

    portions, sd_portions : requirement and its standard deviation. [chill portions]
    enough : share of scenarios in which it is met. short : whether that is too seldom.
    """

    label: str
    portions: float | None
    sd_portions: float = 0.0
    enough: float | None = None
    short: bool = False


def draw_chill(
    years: Sequence[int],
    supply: FloatArray,
    needs: Sequence[ChillNeed],
    *,
    title: str,
    ax: Axes | None = None,
) -> Axes:
    """Draw every winter's chill on the top row and each requirement below it.

    Parameters
    ----------
    years : of the W winters: the year of the bloom.
    supply : shape (W,), chill of each winter. [chill portions]
    needs : one row each; where the square lies left of the grey band, chill is no worry here; it
        is dark where chill falls short too often.
    """
    with settings():
        asked = [need for need in needs if need.portions is not None]
        silent = [need.label for need in needs if need.portions is None]
        note = wrapped(_silent(silent), 95) if silent else ""
        names = [wrapped(label, LABEL_WIDTH) for label in (_(WINTERS), *(n.label for n in asked))]
        places = middles(row_edges(names, ROW_IN))
        axes = ax or new_axes(FRAME_IN + ROW_IN * places[-1] + LINE_IN * note.count("\n"))
        low, high = (float(np.quantile(supply, share)) for share in (EARLY, LATE))
        axes.axvspan(low, high, color=LIGHT, lw=0, zorder=0)
        _draw_winters(axes, years, supply)
        for row, need in zip(places[1:], asked, strict=True):
            _draw_need(axes, row, need)
        shown = [*supply.tolist(), *(need.portions or 0.0 for need in asked)]
        axes.set_xlim(min(shown) - 12, max(shown) + 12)
        axes.set_ylim(places[-1] + 0.7, -0.7)
        axes.set_yticks(places, names)
        axes.tick_params(axis="y", length=0)
        axes.grid(axis="x", color=LIGHT, lw=0.6)
        axes.set_axisbelow(True)
        words = _("chill portions until the end of winter")
        axes.set_xlabel(f"{words}\n\n{note}".strip())
        title_of(axes, title)
        legend_below(axes, _legend(any(need.short for need in asked)))
    return axes


def _silent(names: Sequence[str]) -> str:
    """Who has no published requirement; of many the first ones."""
    more = len(names) - MOST_SILENT
    if more <= 0:
        return _("No requirement published: {names}.").format(names=", ".join(names))
    text = ngettext(
        "No requirement published: {names} and {number} more.",
        "No requirement published: {names} and {number} more.",
        more,
    )
    return text.format(names=", ".join(names[:MOST_SILENT]), number=more)


def _draw_winters(axes: Axes, years: Sequence[int], supply: FloatArray) -> None:
    axes.plot(supply, np.full(len(supply), 0.5), "|", ms=13, mew=1.4, color=DARK)
    for place in {int(np.argmin(supply)), int(np.argmax(supply))}:
        side = "right" if supply[place] == supply.min() else "left"
        axes.annotate(
            str(years[place]), (supply[place], -0.25), ha=side, va="center", fontsize=SMALL_PT
        )


def _draw_need(axes: Axes, row: float, need: ChillNeed) -> None:
    portions, spread = need.portions or 0.0, need.sd_portions
    axes.plot([portions - spread, portions + spread], [row, row], color=DARK, lw=1.6)
    axes.plot(portions, row, "s", ms=8, mfc=DARK if need.short else PAPER, mec=DARK, mew=1.6)
    axes.annotate(
        _enough(need), (1.01, row),
        xycoords=("axes fraction", "data"), va="center", fontsize=SMALL_PT, annotation_clip=False,
    )  # fmt: skip


def _enough(need: ChillNeed) -> str:
    if need.enough is None:
        return ""
    return _("enough in {tenths} of 10 winters").format(tenths=tenths(need.enough))


def _legend(short: bool) -> Iterator[object]:
    from matplotlib.lines import Line2D

    yield Line2D([], [], ls="", color=DARK, marker="|", ms=11, mew=1.4, label=_("one winter here"))
    yield swatch(LIGHT, _("8 winters in 10 lie inside"))
    yield Line2D(
        [], [], color=DARK, lw=1.6, marker="s", mfc=PAPER, mec=DARK, mew=1.6,
        label=_("published requirement ± standard deviation"),
    )  # fmt: skip
    if short:
        yield Line2D([], [], ls="", marker="s", mfc=DARK, mec=DARK, mew=1.6,
                     label=_("met in fewer winters than asked for"))  # fmt: skip


def chill_description(years: Sequence[int], supply: FloatArray, needs: Sequence[ChillNeed]) -> str:
    """The chart in words, for those who cannot see it."""
    low, high = int(np.argmin(supply)), int(np.argmax(supply))
    text = ngettext(
        "{number} winter with {least} ({first}) to {most} ({last}) chill portions",
        "{number} winters with {least} ({first}) to {most} ({last}) chill portions",
        len(years),
    )
    said = [
        text.format(
            number=len(years), least=f"{supply[low]:.0f}", first=years[low],
            most=f"{supply[high]:.0f}", last=years[high],
        )
    ]  # fmt: skip
    for need in needs:
        text = _("{variety}: no requirement published")
        if need.portions is not None:
            text = _("{variety}: {portions} portions, {enough}")
        portions = f"{need.portions or 0:.0f}"
        said.append(text.format(variety=need.label, portions=portions, enough=_enough(need)))
    return "; ".join(said)
