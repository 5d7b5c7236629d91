"""The chart of the season's price: legible and whole for any choices, told in words."""

from __future__ import annotations

import re

import numpy as np
import pytest
from measured_charts import contrast, cut, overlaps, smallest_text, texts

from pollinet.charts import style
from pollinet.charts.season import Dot, draw_season, season_description


def dot(label: str, days: float, share: float, level: float = 0.8) -> Dot:
    return Dot(label, days, share, share >= level)


TODAY = dot("as it stands", 40, 0.55)


def front(seed: int, count: int, level: float = 0.8) -> list[Dot]:
    """Choices by chance, many of them close together: longer seasons, fewer winters."""
    rng = np.random.default_rng(seed)
    days = np.sort(rng.choice(np.arange(40, 40 + rng.integers(count, 120)), count, replace=False))
    shares = np.sort(rng.choice(np.arange(30, 100), count, replace=False))[::-1] / 100
    words = ["graft " + " and ".join(["Wetherington Seedling"] * rng.integers(1, 6))] * count
    return [dot(*row, level) for row in zip(words, days.tolist(), shares.tolist(), strict=True)]


FRONTS = [[], [dot("graft A", 40, 0.9)], *(front(seed, 2 + seed % 11) for seed in range(12))]


@pytest.mark.parametrize("dots", FRONTS, ids=lambda dots: str(len(dots)))
@pytest.mark.parametrize(("level", "form"), [(0.5, "screen"), (0.8, "paper"), (1.0, "screen")])
def test_legible_and_whole(dots: list[Dot], level: float, form: str) -> None:
    axes = draw_season(TODAY, dots, level, title="What a season costs", form=style.FORMS[form])
    figure = axes.figure
    low, high = axes.get_xlim()
    assert all(low <= one.days <= high for one in (TODAY, *dots))
    assert min(axes.get_xticks()) >= 0
    assert overlaps(figure) == []
    assert cut(figure) == []
    assert smallest_text(figure) >= 9
    for _, text, _ in texts(figure):
        # 4.5 for text: Web Content Accessibility Guidelines 2.2, success criterion 1.4.3.
        assert contrast(text.get_color(), style.GREYS.paper) >= 4.5
    svg = style.picture_bytes(figure, ".svg", "", "").decode()
    for red, green, blue in re.findall(r"#([0-9a-f]{2})([0-9a-f]{2})([0-9a-f]{2})\b", svg):
        assert red == green == blue or form != "paper"


def test_points_stand_where_they_are_told() -> None:
    dots = [dot("graft A", 50, 0.9), dot("graft B", 70, 0.7)]
    axes = draw_season(TODAY, dots, 0.8, title="x")
    drawn = {
        (float(line.get_xdata()[0]), round(float(line.get_ydata()[0]), 9)): line.get_mfc()
        for line in axes.lines
        if line.get_marker() in ("o", "s")
    }
    # Dark is what needs something: sets below the plan's level.
    assert drawn == {
        (50, 9): style.GARDEN.paper,
        (70, 7): style.GARDEN.attention,
        (40, 5.5): style.GARDEN.attention,
    }
    words = {words for words, _, _ in texts(axes.figure)}
    assert {"1", "2", "as it stands", "asked for"} <= words
    assert {"1  graft A: 50 days, 9 of 10", "2  graft B: 70 days, 7 of 10"} <= words


def test_the_description_tells_every_choice_once() -> None:
    told = season_description(TODAY, [TODAY, dot("graft A", 50, 0.9)], 0.8)
    assert told == (
        "asked for: 8 of 10 winters; as it stands: 40 days, 5 of 10; graft A: 50 days, 9 of 10"
    )
