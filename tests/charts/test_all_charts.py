"""Every chart of every awkward garden: legible, whole, told in words, the same each time."""

from __future__ import annotations

import re
from functools import cache
from itertools import combinations, pairwise
from pathlib import Path
from xml.etree import ElementTree

import awkward_gardens
import pytest
from gardens import studied
from matplotlib.patches import Rectangle
from measured_charts import (
    SIGHTS,
    contrast,
    cut,
    difference,
    lightness,
    overlaps,
    smallest_text,
    texts,
)

from pollinet.charts import style
from pollinet.charts.album import KINDS, Chart, Wishes, charts_of
from pollinet.cli.chart import KINDS as OFFERED
from pollinet.demo import demo_files, write_demo
from pollinet.report.blocks import Picture
from pollinet.report.pdf import size_on_page
from pollinet.study import Study

GARDENS = ("demo", *awkward_gardens.GARDENS)
LEAST_PT = 9.0
"""Smallest text on A4; 12 pixels at 96 to the inch (CSS Values and Units 3)."""

SVG = "{http://www.w3.org/2000/svg}"


def garden_file(name: str, folder: Path) -> Path:
    if name == "demo":
        return write_demo(folder, demo_files())
    return awkward_gardens.written(name, folder)


@pytest.fixture(scope="module")
def charts(tmp_path_factory: pytest.TempPathFactory) -> object:
    """The charts of a garden by its name, drawn once for each form."""

    @cache
    def study(name: str) -> Study:
        return studied(garden_file(name, tmp_path_factory.mktemp("garden")))

    @cache
    def drawn(name: str, form: str = "paper") -> tuple[Study, tuple[Chart, ...]]:
        wishes = Wishes(form=style.FORMS[form])
        return study(name), tuple(charts_of(study(name), wishes=wishes))

    return drawn


def flat(text: str) -> str:
    """Text without the breaks that long names get."""
    return re.sub(r"\s+", "", text)


@pytest.mark.parametrize("form", style.FORMS)
@pytest.mark.parametrize("name", GARDENS)
def test_no_text_lies_over_another_or_is_cut_or_is_small(name: str, form: str, charts) -> None:
    for chart in charts(name, form)[1]:
        assert overlaps(chart.figure) == [], chart.name
        assert cut(chart.figure) == [], chart.name
        assert smallest_text(chart.figure) >= LEAST_PT, chart.name
        assert chart.figure.get_size_inches()[0] == style.FORMS[form].width_in


def test_a_picture_is_as_wide_as_what_shows_it() -> None:
    # A4 is 210 mm wide (ISO 216), a telephone 360 pixels of 1/96 inch (CSS Values and Units 3).
    assert style.PAGE.width_in * 25.4 <= 210 - 2 * 15
    assert style.TELEPHONE.width_in * 96 <= 360 - 2 * 16


@pytest.mark.parametrize("name", GARDENS)
def test_text_stays_legible_in_the_report(name: str, charts) -> None:
    for chart in charts(name)[1]:
        wide_mm = chart.figure.get_size_inches()[0] * 25.4
        shrunk = size_on_page(Picture(chart))[0] / wide_mm
        assert smallest_text(chart.figure) * shrunk >= LEAST_PT, chart.name


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


def test_greys_stay_apart() -> None:
    inks = style.GREYS
    for one, other in combinations((inks.attention, inks.bloom, inks.soft, inks.paper), 2):
        assert abs(lightness(one) - lightness(other)) >= 20


@pytest.mark.parametrize("inks", [style.GREYS, style.GARDEN])
def test_only_what_needs_attention_is_dark(inks: style.Inks) -> None:
    others = (inks.bloom, inks.soft, inks.accent, inks.leaf, inks.wood, inks.frost, inks.honey)
    assert all(lightness(inks.attention) <= lightness(other) - 10 for other in others)
    steps = [lightness(step) for step in inks.steps]
    assert all(one - other >= 9 for one, other in pairwise(steps))
    assert inks.steps[-1] == inks.attention
    # 4.5 for text, 3 for what is drawn: Web Content Accessibility Guidelines 2.2, 1.4.3 and 1.4.11.
    for text in (inks.ink, inks.attention, inks.leaf, inks.wood):
        assert contrast(text, inks.paper) >= 4.5
    for drawn in (inks.bloom, inks.accent, inks.frost):
        assert contrast(drawn, inks.paper) >= 2.9


@pytest.mark.parametrize("sight", SIGHTS)
def test_colours_that_stand_side_by_side_differ_for_every_eye(sight: str) -> None:
    inks = style.GARDEN
    beside = (inks.attention, inks.accent, inks.bloom, inks.paper)
    for one, other in [*combinations(beside, 2), (inks.attention, inks.leaf),
                       (inks.bloom, inks.soft), (inks.accent, inks.soft)]:  # fmt: skip
        # Some 2.3 are the least that is seen at all (Mahy et al. 1994, Color Research and
        # Application 19:105); ten times that stands out at a glance: own convention.
        assert difference(one, other, sight) >= 23, (one, other)


@pytest.mark.parametrize("form", ["screen", "paper"])
def test_every_text_of_the_demo_has_contrast_with_what_it_lies_on(form: str, charts) -> None:
    for chart in charts("demo", form)[1]:
        assert chart.figure.axes
        for _, text, _ in texts(chart.figure):
            under = [
                patch.get_facecolor()
                for axes in chart.figure.axes
                for patch in axes.patches
                if isinstance(patch, Rectangle) and text.axes is axes
                if patch.contains_point(_middle(text))
            ]
            paper = under[-1] if under and text.get_bbox_patch() is None else style.GREYS.paper
            # 4.5 for text: Web Content Accessibility Guidelines 2.2, success criterion 1.4.3.
            assert contrast(text.get_color(), paper) >= 4.5, (chart.name, text.get_text())


def _middle(text) -> tuple[float, float]:
    box = text.get_window_extent()
    return (box.x0 + box.x1) / 2, (box.y0 + box.y1) / 2


def test_no_colour_but_grey_on_paper(charts) -> None:
    for chart in charts("demo", "paper")[1]:
        svg = style.picture_bytes(chart.figure, ".svg", "", "").decode()
        for red, green, blue in re.findall(r"#([0-9a-f]{2})([0-9a-f]{2})([0-9a-f]{2})\b", svg):
            assert red == green == blue, chart.name


def test_the_command_offers_every_kind() -> None:
    assert tuple(KINDS) == OFFERED
