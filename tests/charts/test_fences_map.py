"""The map of several gardens: no text is cut, small or over another, in every form."""

from __future__ import annotations

from math import cos, dist, pi, sin

import numpy as np
import pytest
from matplotlib.axes import Axes
from matplotlib.lines import Line2D
from matplotlib.patches import FancyArrowPatch, Polygon
from measured_charts import cut, overlaps, smallest_text, texts
from scipy.spatial import ConvexHull

from pollinet.charts import style
from pollinet.charts.boxes import Box
from pollinet.charts.fences import Crossing, Ground, Standing, draw_fences, fences_description
from pollinet.charts.plots import along_arc, name_box, outline

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


def long_names() -> Ground:
    names = ("the garden of the widow on the hill behind the old mill of the lower village",
             "Ölgrube", "果園在山丘上的老房子後面", "בוסתן הסבתא")  # fmt: skip
    spots = ((0, 0), (14, 9), (70, -40), (60, 55))
    return Ground(
        tuple(
            Standing(name, f"t{i}", (x + 9 * i, y + 4 * i), "sure", ("Elstar",))
            for name, (x, y) in zip(names, spots, strict=True)
            for i in range(2)
        ),
        (),
    )


@pytest.mark.parametrize("form", ["screen", "paper", "telephone"])
@pytest.mark.parametrize(
    "grounds", [[ground(9, 60)], [ground(3, 4), ground(2, 300)], [long_names()], []]
)
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


# --- outlines of gardens -----------------------------------------------------------------------


def marks(axes: Axes) -> list[Line2D]:
    """Marks of trees in the order of drawing, without what is drawn over one."""
    found: list[Line2D] = []
    for line in axes.get_lines():
        is_mark = len(line.get_xdata()) == 1 and line.get_markerfacecolor() != "none"
        if is_mark and not any(_at(line) == _at(one) for one in found):
            found.append(line)
    return found


def _at(line: Line2D) -> tuple[float, float]:
    (x, y), *_rest = line.get_xydata()
    return x, y


def outlines(axes: Axes) -> list[Polygon]:
    return [one for one in axes.patches if isinstance(one, Polygon) and not one.get_fill()]


@pytest.mark.parametrize("form", ["screen", "telephone"])
@pytest.mark.parametrize("one", [ground(9, 60), ground(60, 300), long_names()])
def test_each_garden_has_an_outline_round_its_own_trees(one: Ground, form: str) -> None:
    # Drawn alone a garden tells where its trees stand; no tree here shares its spot with another.
    axes = draw_fences([one], {}, title="Gardens", form=style.FORMS[form])
    own = {tree.garden for tree in one.trees if tree.kind != "next door"}
    assert len(outlines(axes)) == len(own)
    held = [[plot.get_path().contains_point(_at(mark)) for plot in outlines(axes)]
            for mark in marks(axes)]  # fmt: skip
    is_own = [mark.get_marker() != "D" for mark in marks(axes)]
    assert all(any(row) for row, own_tree in zip(held, is_own, strict=True) if own_tree)
    assert all(any(column) for column in zip(*held, strict=True))


@pytest.mark.parametrize("form", ["screen", "paper", "telephone"])
@pytest.mark.parametrize("one", [ground(9, 60), long_names()])
def test_no_name_or_number_hides_a_tree(one: Ground, form: str) -> None:
    axes = draw_fences([one], {}, title="Gardens", form=style.FORMS[form])
    figure = axes.get_figure(root=True)
    assert figure is not None
    words = [(text, box) for text, artist, box in texts(figure) if artist in axes.texts]
    for mark in marks(axes):
        x, y = axes.transData.transform(_at(mark))
        # Half a mark and its box may share a corner that the round mark does not fill.
        far = 0.6 * mark.get_markersize() / 2 / 72 * figure.dpi
        assert not [
            text
            for text, box in words
            if box.x0 < x + far and box.x1 > x - far and box.y0 < y + far and box.y1 > y - far
        ]


def test_of_one_tree_the_outline_is_a_circle_and_of_many_their_hull() -> None:
    circle = outline([((2.0, 3.0), 0.5)])
    assert {round(dist(corner, (2, 3)), 9) for corner in circle} == {0.5}
    discs = [((3 * cos(5.1 * i), 2 * sin(3.7 * i)), 0.1 + 0.02 * i) for i in range(12)]
    points = [(x + far * cos(2 * pi * i / 24), y + far * sin(2 * pi * i / 24))
              for (x, y), far in discs for i in range(24)]  # fmt: skip
    found = outline(discs)
    # scipy's hull is Qhull's (Barber, Dobkin and Huhdanpaa 1996).
    assert {tuple(np.round(p, 9)) for p in found} == {
        tuple(np.round(points[i], 9)) for i in ConvexHull(points).vertices
    }


def test_a_name_stands_beside_its_outline_where_nothing_else_does() -> None:
    ground, size = Box(0, 0, 10, 10), (2.0, 0.3)
    corners = outline([((5.0, 5.0), 1.0)])
    above = name_box(corners, size, ground, [], [])
    assert (above.left, round(above.bottom, 2)) == (4.0, 3.97)
    below = name_box(corners, size, ground, [above], [])
    assert (below.left, round(below.top, 2)) == (4.0, 6.03)
    beside = name_box(corners, size, ground, [above], [(5.0, 6.1)])
    assert beside.shared(above) == 0
    assert not beside.holds((5.0, 6.1))
    # At the edge of the ground it stays on it.
    edge = name_box(outline([((0.5, 0.5), 0.4)]), size, ground, [], [])
    assert edge.left >= 0
    assert edge.top >= 0


def test_an_arrow_runs_where_its_points_are() -> None:
    crossed = ground(4, 60)
    axes = draw_fences([crossed], {}, title="Gardens")
    (arrow,) = [one for one in axes.patches if isinstance(one, FancyArrowPatch)]
    start, end = (_at(marks(axes)[i]) for i in (0, 3))
    style_of = arrow.get_connectionstyle()
    bent = style_of(*(axes.transData.transform(spot) for spot in (start, end)))
    _start, control, _end = axes.transData.inverted().transform(bent.vertices)
    middle = 0.25 * np.array(start) + 0.5 * control + 0.25 * np.array(end)
    assert along_arc(start, end, 0.15)[6] == pytest.approx(tuple(middle), abs=0.02)


def test_a_tree_under_suspicion_has_a_ring_and_is_told_first() -> None:
    trees = (Standing("a", "t", (0, 0), "sure", ("Elstar",), "fire blight"),
             Standing("b", "u", (30, 10), "lacking", ("Gala",)))  # fmt: skip
    first = "First: look at a/t."
    axes = draw_fences([Ground(trees, ())], {}, title="Gardens", first=first)
    rings = [line for line in axes.get_lines() if line.get_markerfacecolor() == "none"]
    assert [_at(ring) for ring in rings] == [_at(marks(axes)[0])]
    assert rings[0].get_markersize() > marks(axes)[0].get_markersize()
    said = [text.get_text() for text in axes.texts]
    assert said[0] == first
    assert "1  a/t, under suspicion of fire blight: Elstar" in said
    figure = axes.get_figure(root=True)
    assert figure is not None
    assert any("suspicion of a" in text.get_text() for text in figure.legends[0].get_texts())
    assert fences_description([Ground(trees, ())], {}, first).startswith(first)
