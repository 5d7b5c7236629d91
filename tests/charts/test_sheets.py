"""Gardens of many limbs: charts on several sheets, each legible, and nothing lost between them."""

from __future__ import annotations

from math import ceil
from pathlib import Path

import awkward_gardens
import pytest
from gardens import saved, studied
from hypothesis import given
from hypothesis import strategies as st
from measured_charts import smallest_text, texts

from pollinet.charts.album import Wishes, charts_of
from pollinet.charts.style import PAGE, sheets, stacked
from pollinet.report.blocks import Picture
from pollinet.report.pdf import size_on_page
from pollinet.study import Study

TREES, LIMBS = 12, 5


@pytest.fixture(scope="module")
def study(tmp_path_factory: pytest.TempPathFactory) -> Study:
    """Twelve trees of five limbs, each limb a variety of its own."""
    names = [[f"Kind {tree}.{limb}" for limb in range(LIMBS)] for tree in range(TREES)]
    body = "".join(
        awkward_gardens.tree(((f"T{t}-{n}", name) for n, name in enumerate(row)), f"tree {t}")
        for t, row in enumerate(names)
    )
    body += "".join(
        awkward_gardens.variety(name, f"S{1 + t % 5}S{7 + n % 3}", (100 + t + n, 109 + t + n))
        for t, row in enumerate(names)
        for n, name in enumerate(row)
    )
    head = awkward_gardens.HEAD.format(site='"orchard"', latitude=46)
    return studied(saved(tmp_path_factory.mktemp("orchard"), head + body))


@pytest.mark.parametrize("kind", ["calendar", "winters"])
def test_every_limb_stands_on_one_sheet_and_can_be_read(kind: str, study: Study) -> None:
    drawn = list(charts_of(study, [kind], Wishes(form=PAGE)))
    assert len(drawn) > 1
    shown = [words for chart in drawn for words, _, _ in texts(chart.figure)]
    for limb in study.plan.limbs:
        # Before the name stands the mark of the verdict.
        named = [words for words in shown if words[2:] == f"{limb.variety.name} · {limb.id}"]
        assert len(named) == 1
        assert named[0][:2] in ("● ", "◐ ", "? ", "✕ ")
    for number, chart in enumerate(drawn, start=1):
        assert chart.name == f"{kind}-{number}"
        assert f"sheet {number} of {len(drawn)}" in chart.title
        wide_mm = chart.figure.get_size_inches()[0] * 25.4
        # On A4 no text is smaller than nine points.
        assert smallest_text(chart.figure) * size_on_page(Picture(chart))[0] / wide_mm >= 9


def test_the_calendar_may_be_whole(study: Study, tmp_path: Path) -> None:
    (chart,) = charts_of(study, ["calendar"], Wishes(whole=True))
    assert chart.name == "calendar"


def test_of_many_limbs_paper_leaves_out_those_that_need_nothing(study: Study) -> None:
    assert all(row.covered for row in study.coverage)
    wishes = Wishes(form=PAGE, needing=True)
    assert list(charts_of(study, ["winters", "network", "tree"], wishes)) == []


@given(st.lists(st.integers(1, 12), min_size=0, max_size=80))
def test_sheets_hold_all_rows_in_order(words: list[int]) -> None:
    labels = ["word " * 7 * lines for lines in words]
    parts = sheets(labels, 0.3, PAGE)
    assert [label for part in parts for label in labels[part]] == labels
    heights = [sum(height_of(label) for label in labels[part]) for part in parts]
    for part, height in zip(parts, heights, strict=True):
        assert height <= PAGE.sheet_in + 1e-9 or part.stop - part.start == 1
    assert len(parts) <= 2 * max(1, ceil(sum(heights) / PAGE.sheet_in))


def height_of(label: str) -> float:
    """Height of a row, asked of the rows' own edges, one row at a time."""
    return stacked([label], 0.3, PAGE).height
