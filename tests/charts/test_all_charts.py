"""Every chart of every awkward garden: legible, whole, told in words, the same each time."""

from __future__ import annotations

import re
from functools import cache
from itertools import combinations
from pathlib import Path
from xml.etree import ElementTree

import awkward_gardens
import pytest
from matplotlib.patches import Rectangle
from measured_charts import contrast, cut, lightness, overlaps, smallest_text, texts

from pollinet.charts import style
from pollinet.charts.album import KINDS, Chart, charts_of
from pollinet.cli.chart import KINDS as OFFERED
from pollinet.demo import demo_files, write_demo
from pollinet.report.blocks import Picture
from pollinet.report.pdf import size_on_page
from pollinet.study import Study, open_study

GARDENS = ("demo", *awkward_gardens.GARDENS)
A5_SCALE = 0.707
"""A5 is A4 at this scale (ISO 216: the sides are as one to the square root of two)."""

SVG = "{http://www.w3.org/2000/svg}"


def garden_file(name: str, folder: Path) -> Path:
    if name == "demo":
        return write_demo(folder, demo_files())
    return awkward_gardens.written(name, folder)


@pytest.fixture(scope="module")
def charts(tmp_path_factory: pytest.TempPathFactory) -> object:
    """The charts of a garden by its name, drawn once."""

    @cache
    def drawn(name: str) -> tuple[Study, tuple[Chart, ...]]:
        opened = open_study(garden_file(name, tmp_path_factory.mktemp("garden")))
        assert opened.study is not None, opened.findings
        return opened.study, tuple(charts_of(opened.study))

    return drawn


def flat(text: str) -> str:
    """Text without the breaks that long names get."""
    return re.sub(r"\s+", "", text)


@pytest.mark.parametrize("name", GARDENS)
def test_no_text_lies_over_another_or_is_cut(name: str, charts) -> None:
    for chart in charts(name)[1]:
        assert overlaps(chart.figure) == [], chart.name
        assert cut(chart.figure) == [], chart.name


@pytest.mark.parametrize("name", GARDENS)
def test_text_stays_legible_at_a5(name: str, charts) -> None:
    # Five points are the least that printers set legal print in: common practice, no source.
    for chart in charts(name)[1]:
        shrunk = A5_SCALE * style.A5_WIDTH_IN / chart.figure.get_size_inches()[0]
        assert smallest_text(chart.figure) * shrunk >= 5


@pytest.mark.parametrize("name", GARDENS)
def test_text_stays_legible_in_the_report(name: str, charts) -> None:
    for chart in charts(name)[1]:
        wide_mm = chart.figure.get_size_inches()[0] * 25.4
        shrunk = size_on_page(Picture(chart))[0] / wide_mm
        assert smallest_text(chart.figure) * shrunk >= 5, chart.name


@pytest.mark.parametrize("name", GARDENS)
def test_every_limb_is_named_in_full(name: str, charts) -> None:
    study, drawn = charts(name)
    for chart in drawn:
        if chart.name in ("calendar", "winters"):
            shown = flat("".join(words for words, _, _ in texts(chart.figure)))
            for limb in study.plan.limbs:
                assert flat(limb.id) in shown
                assert flat(limb.variety.name) in shown
                assert limb.id in chart.description


@pytest.mark.parametrize("name", ["demo", "foreign names"])
def test_svg_is_well_formed_and_tells_itself(name: str, charts) -> None:
    for chart in charts(name)[1]:
        data = style.picture_bytes(chart.figure, ".svg", chart.title, chart.description)
        root = ElementTree.fromstring(data)
        assert root.tag == f"{SVG}svg"
        assert root.get("role") == "img"
        assert root.findtext(f"{SVG}title") == chart.title
        assert root.findtext(f"{SVG}desc") == chart.description
        # Text is text: it can be searched, copied and read out.
        written = flat("".join("".join(node.itertext()) for node in root.iter(f"{SVG}text")))
        for words, _, _ in texts(chart.figure):
            assert flat(words) in written, chart.name


def test_the_same_study_gives_the_same_bytes(charts) -> None:
    study, _ = charts("foreign names")
    # A figure that was measured before is laid out anew from there, to within a last digit.
    twice = zip(charts_of(study), charts_of(study), strict=True)
    for number, (one, other) in enumerate(twice):
        for suffix in (".svg", ".pdf") if number == 0 else (".svg",):
            pair = [
                style.picture_bytes(c.figure, suffix, c.title, c.description) for c in (one, other)
            ]
            assert pair[0] == pair[1], (one.name, suffix)


def test_greys_stay_apart_and_text_stands_out() -> None:
    greys = (style.DARK, style.MIDDLE, style.LIGHT, style.PAPER)
    for one, other in combinations(greys, 2):
        assert abs(lightness(one) - lightness(other)) >= 20
    # 4.5 for text: Web Content Accessibility Guidelines 2.2, success criterion 1.4.3.
    for ink, paper in (
        (style.DARK, style.PAPER), (style.DARK, style.LIGHT), (style.PAPER, style.DARK),
        (style.DARK, "#ffffff"),
    ):  # fmt: skip
        assert contrast(ink, paper) >= 4.5


def test_every_text_of_the_demo_has_contrast_with_what_it_lies_on(charts) -> None:
    for chart in charts("demo")[1]:
        assert chart.figure.axes
        for _, text, _ in texts(chart.figure):
            under = [
                patch.get_facecolor()
                for axes in chart.figure.axes
                for patch in axes.patches
                if isinstance(patch, Rectangle) and text.axes is axes
                if patch.contains_point(_middle(text))
            ]
            paper = under[-1] if under and text.get_bbox_patch() is None else style.PAPER
            # 4.5 for text: Web Content Accessibility Guidelines 2.2, success criterion 1.4.3.
            assert contrast(text.get_color(), paper) >= 4.5, (chart.name, text.get_text())


def _middle(text) -> tuple[float, float]:
    box = text.get_window_extent()
    return (box.x0 + box.x1) / 2, (box.y0 + box.y1) / 2


def test_no_colour_but_grey(charts) -> None:
    for chart in charts("demo")[1]:
        svg = style.picture_bytes(chart.figure, ".svg", "", "").decode()
        for red, green, blue in re.findall(r"#([0-9a-f]{2})([0-9a-f]{2})([0-9a-f]{2})\b", svg):
            assert red == green == blue


def test_the_command_offers_every_kind() -> None:
    assert tuple(KINDS) == OFFERED
