"""Winter chill of the site against what the varieties ask for."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from typing import TYPE_CHECKING

import numpy as np

from pollinet.charts.style import (
    SCREEN,
    Form,
    Inks,
    fit_height,
    legend_below,
    name_rows,
    new_axes,
    sentence_chart,
    settings,
    stacked,
    swatch,
    tell_rows,
    title_of,
)
from pollinet.domain import FloatArray
from pollinet.language import N_, _, ngettext
from pollinet.summary.limbs import EARLY, LATE
from pollinet.wording.sentences import tenths

if TYPE_CHECKING:
    from matplotlib.axes import Axes

BAR_IN = 0.26
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
    years: Sequence[str],
    supply: FloatArray,
    needs: Sequence[ChillNeed],
    *,
    title: str,
    form: Form = SCREEN,
    ax: Axes | None = None,
) -> Axes:
    """Draw every winter's chill on the top row and each requirement below it.

    Parameters
    ----------
    years : of the W winters: the year of the bloom; empty words where winters are not dated.
    supply : shape (W,), chill of each winter. [chill portions]
    needs : one row each; where the dot lies left of the band, chill is no worry here; it is dark
        where chill falls short too often. A sentence where no requirement is published.
    """
    asked = [need for need in needs if need.portions is not None]
    note = "\n".join(_notes(needs, asked))
    if not asked:
        return sentence_chart(f"{_supply(supply)} {note}", title, form, ax)
    names = [_(WINTERS), *(need.label for need in asked)]
    told = [_span(years, supply), *map(_enough, asked)]
    rows = stacked(names, BAR_IN, form, [BAR_IN / 2] + [0.0] * len(asked), told)
    inks = form.inks
    with settings(form):
        axes = ax or new_axes(rows.height, form)
        low, high = (float(np.quantile(supply, share)) for share in (EARLY, LATE))
        axes.axvspan(low, high, color=inks.soft, lw=0, zorder=0)
        first, *others = rows
        axes.plot(supply, np.full(len(supply), first.y), "|", ms=13, mew=1.4, color=inks.frost)
        for row, need in zip(others, asked, strict=True):
            fill = inks.attention if need.short else inks.leaf
            axes.plot(need.portions or 0.0, row.y, "o", ms=8, mfc=fill, mec=inks.paper, mew=0.8)
        tell_rows(axes, rows, form)
        shown = [*supply.tolist(), *(need.portions or 0.0 for need in asked)]
        axes.set(xlim=(min(shown) - 6, max(shown) + 6), ylim=(rows.height, 0))
        name_rows(axes, rows, form, [False, *(need.short for need in asked)])
        axes.grid(axis="x", lw=0.6)
        axes.set_axisbelow(True)
        axes.set_xlabel(_("chill portions until the end of winter"))
        title_of(axes, title, form)
        short = any(need.short for need in asked)
        legend_below(axes, _legend(inks, short=short), form, note=note)
        fit_height(axes, rows.height)
    return axes


def _notes(needs: Sequence[ChillNeed], asked: Sequence[ChillNeed]) -> Iterator[str]:
    if asked:
        least, most = (f"{edge([need.sd_portions for need in asked]):.0f}" for edge in (min, max))
        text = (
            _("A published requirement may be off by about {portions} portions.")
            if least == most
            else _("A published requirement may be off by {least} to {most} portions.")
        )
        yield text.format(portions=least, least=least, most=most)
    silent = [need.label for need in needs if need.portions is None]
    if silent:
        yield _silent(silent)


def _supply(supply: FloatArray) -> str:
    text = _("Winters here bring {least} to {most} chill portions.")
    return text.format(least=f"{supply.min():.0f}", most=f"{supply.max():.0f}")


def _span(years: Sequence[str], supply: FloatArray) -> str:
    """The least and the most chill, with their winters where these are dated."""
    told = [
        f"{supply[place]:.0f} ({years[place]})" if years[place] else f"{supply[place]:.0f}"
        for place in (int(np.argmin(supply)), int(np.argmax(supply)))
    ]
    return " – ".join(told)


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


def _enough(need: ChillNeed) -> str:
    if need.enough is None:
        return ""
    return _("enough in {tenths} of 10 winters").format(tenths=tenths(need.enough))


def _legend(inks: Inks, *, short: bool) -> Iterator[object]:
    from matplotlib.lines import Line2D

    yield Line2D([], [], ls="", color=inks.frost, marker="|", ms=11, mew=1.4,
                 label=_("one winter here"))  # fmt: skip
    yield swatch(inks.soft, _("8 winters in 10 lie inside"))
    yield Line2D([], [], ls="", marker="o", ms=8, mfc=inks.leaf, mec=inks.paper,
                 label=_("published requirement"))  # fmt: skip
    if short:
        yield Line2D([], [], ls="", marker="o", ms=8, mfc=inks.attention, mec=inks.paper,
                     label=_("met in fewer winters than asked for"))  # fmt: skip


def chill_description(years: Sequence[str], supply: FloatArray, needs: Sequence[ChillNeed]) -> str:
    """The chart in words, for those who cannot see it."""
    text = ngettext(
        "{number} winter with {span} chill portions",
        "{number} winters with {span} chill portions",
        len(years),
    )
    said = [text.format(number=len(years), span=_span(years, supply))]
    for need in needs:
        text = _("{variety}: no requirement published")
        if need.portions is not None:
            text = _("{variety}: {portions} portions, {enough}")
        portions = f"{need.portions or 0:.0f}"
        said.append(text.format(variety=need.label, portions=portions, enough=_enough(need)))
    return "; ".join(said)
