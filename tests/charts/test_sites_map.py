"""The map of places: legible in every form, one meaning of dark, apart in grey, too."""

from __future__ import annotations

import numpy as np
import pytest
from measured_charts import cut, overlaps, smallest_text

from pollinet.charts import style
from pollinet.charts.sites import draw_sites, sites_description
from pollinet.summary.sites import STANDINGS, SitesSeen


def seen(places: int, climates: int, step: float | None = None) -> SitesSeen:
    """Places on a grid, or strewn; those of a warmer climate work less often."""
    rng = np.random.default_rng(places)
    side = int(np.ceil(places**0.5))
    row, column = np.divmod(np.arange(places), side)
    spread = 0.0 if step else 0.3
    latitude = -42.0 + 0.5 * row + rng.normal(0, spread, places)
    longitude = 170.0 + 0.5 * column + rng.normal(0, spread, places)
    standing = rng.integers(0, 3, (places, climates)).astype(np.int8)
    chill = rng.random((places, climates))
    return SitesSeen(
        latitude, longitude, standing, chill, 0.8, (0.0, 1.0, 2.0, 3.0)[:climates], step
    )


@pytest.mark.parametrize("form", ["screen", "paper", "telephone"])
@pytest.mark.parametrize(
    "shown",
    [seen(1, 1), seen(40, 3), seen(400, 3, 0.5), seen(9, 4, 0.5)],
    ids=["one", "strewn", "grid", "four"],
)
def test_no_text_is_cut_small_or_over_another(shown: SitesSeen, form: str) -> None:
    figure = draw_sites(shown, title="Where it has pollen", form=style.FORMS[form])
    assert (overlaps(figure), cut(figure)) == ([], [])
    assert smallest_text(figure) >= 9.0


def test_places_without_coordinates_are_said_not_drawn() -> None:
    nan = np.full(2, np.nan)
    figure = draw_sites(
        SitesSeen(nan, nan, np.zeros((2, 1), dtype=np.int8), np.full((2, 1), np.nan), 0.8, (0.0,)),
        title="None",
    )
    assert any("No place" in text.get_text() for axes in figure.axes for text in axes.texts)


def test_each_standing_is_drawn_as_often_as_it_is_and_dark_is_one_thing() -> None:
    shown = seen(30, 2)
    figure = draw_sites(shown, title="Where it has pollen", form=style.PAGE)
    for climate, axes in enumerate(figure.axes[:2]):
        by_face = {str(line.get_markerfacecolor()): len(line.get_xdata()) for line in axes.lines}
        assert by_face[style.GREYS.attention] == shown.count("lacks pollen", climate)
        assert by_face[style.GREYS.steps[1]] == shown.count("has pollen", climate)
        assert by_face[style.GREYS.paper] == shown.count("not known", climate)
    words = sites_description(shown)
    pollen = STANDINGS.index("has pollen")
    lost = int(((shown.standing[:, 0] == pollen) & (shown.standing[:, 1] != pollen)).sum())
    assert f"{lost} places lose their pollen" in words
