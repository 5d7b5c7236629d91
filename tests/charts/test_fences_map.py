"""The map of several gardens: no text is cut, small or over another, in every form."""

from __future__ import annotations

from math import cos, sin

import pytest
from measured_charts import cut, overlaps, smallest_text

from pollinet.charts import style
from pollinet.charts.fences import Crossing, Ground, Standing, draw_fences, fences_description

VERDICTS = ("sure", "likely", "open", "lacking", "need not crop", "next door")


def ground(trees: int, reach_m: float) -> Ground:
    """Trees on a spiral, so that no two stand on one spot."""
    standing = tuple(
        Standing(
            f"garden {i // 2}", f"tree-{i}",
            (reach_m * i / trees * cos(2.4 * i), reach_m * i / trees * sin(2.4 * i)),
            VERDICTS[i % len(VERDICTS)], ("Belle de Boskoop", "Cox's Orange Pippin"),
        )
        for i in range(trees)
    )  # fmt: skip
    pairs = [Crossing((a.garden, a.tree), (b.garden, b.tree))
             for a, b in zip(standing, standing[3:], strict=False)]  # fmt: skip
    return Ground(standing, tuple(pairs))


@pytest.mark.parametrize("form", ["screen", "paper", "telephone"])
@pytest.mark.parametrize("grounds", [[ground(9, 60)], [ground(3, 4), ground(2, 300)], []])
def test_no_text_is_cut_small_or_over_another(grounds: list[Ground], form: str) -> None:
    alone = {"the garden on the hill": "lacking", "orchard by the brook": "sure"}
    axes = draw_fences(grounds, alone, title="Who has pollen", form=style.FORMS[form])
    figure = axes.get_figure(root=True)
    assert figure is not None
    assert (overlaps(figure), cut(figure)) == ([], [])
    assert smallest_text(figure) >= 9.0
    words = fences_description(grounds, alone)
    assert all(one.giver[1] in words for some in grounds for one in some.crossings)
    assert "the garden on the hill" in words


def test_of_many_trees_each_garden_is_named_and_what_needs_something_stays_in_sight() -> None:
    many = ground(60, 300)
    figure = draw_fences([many], {}, title="Many").get_figure(root=True)
    assert figure is not None
    assert cut(figure) == []
    shown = {text.get_text() for text in figure.axes[0].texts}
    assert {f"garden {i}" for i in range(30)} <= shown
    assert not any(text.startswith("1 ") for text in shown)
