"""Coverage winter by winter: in which springs a limb would have gone without."""

from __future__ import annotations

from collections.abc import Sequence
from math import ceil
from typing import TYPE_CHECKING

import numpy as np
from numpy.typing import NDArray

from pollinet.charts.style import (
    LINE_IN,
    SCREEN,
    Form,
    fit_height,
    legend_below,
    name_rows,
    new_axes,
    settings,
    stacked,
    swatch,
    tell_rows,
    title_of,
)
from pollinet.charts.verdicts import ATTENTION
from pollinet.domain import FloatArray
from pollinet.language import N_, _
from pollinet.network.coverage import LimbVerdict
from pollinet.wording.check import LEGEND, marked, spoken
from pollinet.wording.sentences import of_ten, tenths

if TYPE_CHECKING:
    from matplotlib.axes import Axes

CELL_IN = 0.2
"""Height of a cell. [inch]"""

LEAST_COLUMNS = 12
YEAR_IN = 0.19
"""Room that the name of a winter needs, written upwards. [inch]"""

WORDS = (N_("no donor"), N_("hardly one"), N_("in doubt"), N_("a donor, as asked for"),
         N_("a donor for certain"))  # fmt: skip
"""What each step of `cover_steps` says of a limb in a winter."""


def draw_winters(
    labels: Sequence[str],
    springs: Sequence[str],
    shares: FloatArray,
    steps: NDArray[np.int64],
    *,
    title: str,
    verdicts: Sequence[LimbVerdict] = (),
    form: Form = SCREEN,
    ax: Axes | None = None,
) -> Axes:
    """Draw one row a limb, one column a winter; dark where it goes without.

    Parameters
    ----------
    labels : of the R limbs.
    springs : of the W winters: the year of the bloom, or what else it is called.
    shares : shape (R, W), share of draws in which the limb is covered.
    steps : the same in five steps, see `cover_steps`.
    verdicts : of the R limbs, shown before their labels.
    """
    told = [of_ten(float(row.mean())) for row in shares]
    rows = stacked(marked(labels, verdicts), CELL_IN, form, told=told)
    inks = form.inks
    with settings(form):
        axes = ax or new_axes(rows.height, form)
        axes.set(xlim=(0, max(len(springs), LEAST_COLUMNS)), ylim=(rows.height, 0))
        for row, row_steps in zip(rows, steps.tolist(), strict=True):
            for column, step in enumerate(row_steps):
                axes.barh(row.y, 0.9, CELL_IN, column + 0.05, align="center", lw=0.4,
                          color=inks.steps[-1 - step], edgecolor=inks.soft)  # fmt: skip
        tell_rows(axes, rows, form)
        most = form.width_in * (1.0 if form.narrow else 0.5) / YEAR_IN
        step = ceil(len(springs) / most)
        axes.set_xticks(
            [column + 0.5 for column in range(0, len(springs), step)],
            springs[::step], rotation=90 if max(map(len, springs), default=0) > 2 else 0,
        )  # fmt: skip
        name_rows(axes, rows, form, [verdict in ATTENTION for verdict in verdicts])
        axes.tick_params(length=0)
        axes.spines["bottom"].set_visible(False)
        title_of(axes, title, form)
        swatches = (swatch(inks.steps[-1 - step], _(word))
                    for step, word in reversed(list(enumerate(WORDS))))  # fmt: skip
        note = _(LEGEND) if verdicts else ""
        legend_below(axes, swatches, form, columns=3, note=note)
        fit_height(axes, rows.height + LINE_IN / 4)
    return axes


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
