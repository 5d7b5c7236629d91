"""Coverage winter by winter: in which springs a limb would have gone without."""

from __future__ import annotations

from collections.abc import Sequence
from typing import TYPE_CHECKING

import numpy as np

from pollinet.charts.style import (
    DARK,
    LIGHT,
    MIDDLE,
    PAPER,
    SMALL_PT,
    legend_below,
    new_axes,
    settings,
    swatch,
    title_of,
    wrapped,
)
from pollinet.domain import FloatArray
from pollinet.wording import of_ten

if TYPE_CHECKING:
    from matplotlib.axes import Axes

ROW_IN, FRAME_IN = 0.28, 1.6
LABEL_WIDTH = 34
MOST_YEARS = 32
"""Years named under the chart; with more winters only every second, third … one."""

STEPS = ((0.95, PAPER), (0.5, LIGHT), (0.05, MIDDLE), (-1.0, DARK))
"""Least share of draws for each grey: dark is bad. Own convention."""

WORDS = ("surely covered", "rather covered", "rather not covered", "surely not covered")


def grey_of(share: float) -> str:
    """The grey of a share of draws."""
    return next(grey for least, grey in STEPS if share >= least)


def draw_winters(
    labels: Sequence[str],
    years: Sequence[int],
    shares: FloatArray,
    *,
    title: str,
    ax: Axes | None = None,
) -> Axes:
    """Draw one row a limb, one column a winter.

    Parameters
    ----------
    labels : of the R limbs.
    years : of the W winters: the year of the bloom.
    shares : shape (R, W), share of draws in which the limb is covered.
    """
    with settings():
        axes = ax or new_axes(FRAME_IN + ROW_IN * max(len(labels), 1))
        axes.set(xlim=(0, len(years)), ylim=(len(labels), 0))
        for row in range(len(labels)):
            for column in range(len(years)):
                _draw_cell(axes, column, row, float(shares[row, column]))
            axes.annotate(
                of_ten(float(shares[row].mean())), (1.01, row + 0.5), va="center",
                xycoords=("axes fraction", "data"), annotation_clip=False, fontsize=SMALL_PT,
            )  # fmt: skip
        step = -(-len(years) // MOST_YEARS)
        axes.set_xticks(
            [column + 0.5 for column in range(0, len(years), step)],
            [str(year) for year in years[::step]], rotation=90, fontsize=SMALL_PT,
        )  # fmt: skip
        axes.set_yticks(
            [row + 0.5 for row in range(len(labels))],
            [wrapped(label, LABEL_WIDTH) for label in labels], fontsize=SMALL_PT,
        )  # fmt: skip
        axes.tick_params(length=0)
        axes.spines["bottom"].set_visible(False)
        title_of(axes, title)
        pairs = zip(STEPS, WORDS, strict=True)
        legend_below(axes, (swatch(grey, word) for (_, grey), word in pairs), 4)
    return axes


def _draw_cell(axes: Axes, column: int, row: int, share: float) -> None:
    from matplotlib.patches import Rectangle

    fill = grey_of(share)
    axes.add_patch(Rectangle((column + 0.05, row + 0.08), 0.9, 0.84, fc=fill, ec=LIGHT, lw=0.6))


def winters_description(labels: Sequence[str], years: Sequence[int], shares: FloatArray) -> str:
    """The chart in words, for those who cannot see it."""
    said = []
    for label, row in zip(labels, np.asarray(shares), strict=True):
        bare = [str(year) for year, share in zip(years, row, strict=True) if share < 0.5]
        without = f"rather not covered in {', '.join(bare)}" if bare else "covered in every winter"
        said.append(f"{label}: {of_ten(float(row.mean()))} winters, {without}")
    return "; ".join(said)
