"""Coverage winter by winter: in which springs a limb would have gone without."""

from __future__ import annotations

from collections.abc import Sequence
from typing import TYPE_CHECKING

import numpy as np

from pollinet.charts.style import (
    DARK,
    LABEL_WIDTH,
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
from pollinet.charts.verdicts import marked, name_rows, spoken
from pollinet.domain import FloatArray
from pollinet.language import N_, _
from pollinet.network.coverage import LimbVerdict
from pollinet.wording.check import LEGEND
from pollinet.wording.sentences import of_ten, tenths

if TYPE_CHECKING:
    from matplotlib.axes import Axes

ROW_IN, FRAME_IN = 0.28, 1.8
LEAST_COLUMNS = 12
MOST_YEARS = 32
"""Years named under the chart; with more winters only every second, third … one."""

STEPS = ((0.95, PAPER), (0.5, LIGHT), (0.05, MIDDLE), (-1.0, DARK))
"""Least share of draws for each grey: dark is bad. Own convention."""

WORDS = (N_("covered"), N_("rather covered"), N_("rather not covered"), N_("not covered"))


def grey_of(share: float) -> str:
    """The grey of a share of draws."""
    return next(grey for least, grey in STEPS if share >= least)


def draw_winters(
    labels: Sequence[str],
    springs: Sequence[str],
    shares: FloatArray,
    *,
    title: str,
    verdicts: Sequence[LimbVerdict] = (),
    ax: Axes | None = None,
) -> Axes:
    """Draw one row a limb, one column a winter.

    Parameters
    ----------
    labels : of the R limbs.
    springs : of the W winters: the year of the bloom, or what else it is called.
    shares : shape (R, W), share of draws in which the limb is covered.
    verdicts : of the R limbs, shown before their labels.
    """
    names = [wrapped(label, LABEL_WIDTH) for label in marked(labels, verdicts)]
    edges = row_edges(names, ROW_IN)
    places = middles(edges)
    with settings():
        axes = ax or new_axes(FRAME_IN + ROW_IN * edges[-1])
        axes.set(xlim=(0, max(len(springs), LEAST_COLUMNS)), ylim=(edges[-1], 0))
        for row, place in zip(shares, places, strict=True):
            for column, share in enumerate(row.tolist()):
                _draw_cell(axes, column, place, share)
            axes.annotate(
                of_ten(float(row.mean())), (len(springs) + 0.2, place), va="center",
                annotation_clip=False, fontsize=SMALL_PT,
            )  # fmt: skip
        step = -(-len(springs) // MOST_YEARS)
        axes.set_xticks(
            [column + 0.5 for column in range(0, len(springs), step)],
            springs[::step], rotation=90, fontsize=SMALL_PT,
        )  # fmt: skip
        name_rows(axes, places, names, verdicts)
        axes.tick_params(length=0)
        axes.spines["bottom"].set_visible(False)
        title_of(axes, title)
        pairs = zip(STEPS, WORDS, strict=True)
        greys = (swatch(grey, _(word)) for (_least, grey), word in pairs)
        legend_below(axes, greys, columns=4, note=_(LEGEND) if verdicts else "")
    return axes


def _draw_cell(axes: Axes, column: int, place: float, share: float) -> None:
    from matplotlib.patches import Rectangle

    fill = grey_of(share)
    axes.add_artist(Rectangle((column + 0.05, place - 0.42), 0.9, 0.84, fc=fill, ec=LIGHT, lw=0.6))


def winters_description(
    labels: Sequence[str],
    springs: Sequence[str],
    shares: FloatArray,
    verdicts: Sequence[LimbVerdict] = (),
) -> str:
    """The chart in words, for those who cannot see it."""
    told = spoken(labels, verdicts)
    said = []
    for label, row in zip(told, np.asarray(shares), strict=True):
        bare = [spring for spring, share in zip(springs, row, strict=True) if share < 0.5]
        text = (
            _("{limb}: {tenths} of 10 winters, rather not covered in {years}")
            if bare
            else _("{limb}: {tenths} of 10 winters, covered in every winter")
        )
        share = tenths(float(row.mean()))
        said.append(text.format(limb=label, tenths=share, years=", ".join(bare)))
    return "; ".join(said)
