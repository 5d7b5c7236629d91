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
    names = tuple(f"Place ${row}$ of the $plain" for row in range(places))
    return SitesSeen(
        latitude, longitude, standing, chill, 0.8, (0.0, 1.0, 2.0, 3.0)[:climates], step, names
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


@pytest.mark.parametrize("form", ["screen", "telephone"])
def test_places_that_lack_pollen_are_named_where_there_is_room(form: str) -> None:
    names = ("Up the hill", "Down by the river", "Next to it", "Far away", "Good enough")
    latitude, longitude = (
        np.array([47.0, 46.0, 46.0, 44.0, 45.0]),
        np.array([8.0, 7.0, 7.001, 9.0, 7.5]),
    )
    standing = np.full((5, 1), STANDINGS.index("lacks pollen"), dtype=np.int8)
    standing[4] = STANDINGS.index("has pollen")
    chill = np.full((5, 1), 1.0)
    shown = SitesSeen(latitude, longitude, standing, chill, 0.8, (0.0,), None, names)
    figure = draw_sites(shown, title="Where there is pollen", form=style.FORMS[form])
    told = {text.get_text() for text in figure.axes[0].texts}
    assert told >= {"Up the hill", "Far away"}
    assert "Good enough" not in told
    assert (overlaps(figure), cut(figure)) == ([], [])
    # What has no room stands in the words under it.
    assert all(name in sites_description(shown) for name in names[:4])


def test_marks_are_small_enough_for_the_nearest_places() -> None:
    rng = np.random.default_rng(1)
    crowd = rng.normal(0, 0.1, (2, 30))
    far = np.array([[5.0], [5.0]])
    latitude, longitude = np.hstack([crowd, far])
    standing = np.full((31, 1), STANDINGS.index("has pollen"), dtype=np.int8)
    args = (standing, np.ones((31, 1)), 0.8, (0.0,))
    sizes = [
        draw_sites(SitesSeen(lat, lon, *args), title="T").axes[0].lines[0].get_markersize()
        for lat, lon in ((latitude, longitude), (np.arange(31.0), rng.permutation(np.arange(31.0))))
    ]
    assert sizes[0] < sizes[1]
