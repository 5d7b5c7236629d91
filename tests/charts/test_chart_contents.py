"""What the charts show, against gardens worked out by hand and against the calendar.

O1 and O3 are invented gardens whose answers were worked out outside the program, see
`tests/test_scenarios.py`: in O1 a triploid T is served by D1 on nine days with half of its
pollen, and D1 by nobody; in O3 the limbs H and L share three days in all springs but the warm
seventh, eighth and tenth.
"""

from __future__ import annotations

from datetime import date, timedelta
from itertools import combinations
from pathlib import Path

import awkward_gardens
import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st
from matplotlib.colors import to_hex
from matplotlib.figure import Figure
from matplotlib.patches import FancyArrowPatch, Rectangle
from measured_charts import texts

from pollinet.charts.calendar import Against, Mark, draw_calendar, shared_days
from pollinet.charts.chill import ChillNeed, draw_chill
from pollinet.charts.harvest import Picking, draw_harvest, harvest_description, in_picking_order
from pollinet.charts.matrix import (
    MOST_COLUMNS,
    MOST_ROWS,
    draw_matrix,
    matrices,
    matrix_description,
)
from pollinet.charts.network import ARROWS, draw_network, network_description
from pollinet.charts.style import DARK, MIDDLE, PAPER
from pollinet.charts.tradeoff import draw_tradeoff
from pollinet.charts.treeplan import draw_tree, place_of
from pollinet.charts.verdicts import ATTENTION, MARKERS, STATES
from pollinet.charts.winters import draw_winters, grey_of
from pollinet.network.coverage import coverage_by_winter
from pollinet.network.graph import donor_graph
from pollinet.study import Study, open_study
from pollinet.summary.limbs import BloomSpan, CalendarRow, calendar_rows, nominal_start
from pollinet.summary.outlook import Step

EXACT = "bloom_sd_days = 0\n"

O1 = (
    awkward_gardens.tree([("T", "T"), ("D1", "D1")])
    + awkward_gardens.variety("T", "S1S2S3", (110, 121)) + EXACT + "ploidy = 3\n"
    + awkward_gardens.variety("D1", "S2S5", (108, 118)) + EXACT
)  # fmt: skip

H = ((112, 121), (110, 119), (115, 124), (113, 122), (109, 118), (114, 123), (125, 138),
     (127, 142), (111, 120), (124, 136))  # fmt: skip
L = ((109, 118), (107, 116), (112, 121), (110, 119), (106, 115), (111, 120), (108, 117),
     (107, 116), (108, 117), (109, 118))  # fmt: skip
O3 = (
    awkward_gardens.tree([("H", "H"), ("L", "L")])
    + awkward_gardens.variety("H", "S1S2", *H) + EXACT
    + awkward_gardens.variety("L", "S3S4", *L) + EXACT
)  # fmt: skip


def study_of(body: str, folder: Path, latitude: float = 47) -> Study:
    head = awkward_gardens.HEAD.format(site='"nowhere"', latitude=latitude)
    (folder / "plan.toml").write_text(head + body, encoding="utf-8")
    opened = open_study(folder / "plan.toml")
    assert opened.study is not None, opened.findings
    return opened.study


# --- calendar --------------------------------------------------------------------------------


def bars(axes, colour: str) -> list[Rectangle]:
    return [p for p in axes.patches if to_hex(p.get_facecolor()) == colour and p.get_width() > 0]


def test_a_bar_runs_from_the_first_day_typed_to_the_end_of_the_last(tmp_path: Path) -> None:
    study = study_of(O1, tmp_path)
    start = nominal_start(study.bloom)
    axes = draw_calendar(calendar_rows(study), start, title="")
    # Day 110 of a year without leap day is 20 April, day 121 is 1 May (any wall calendar). T has a
    # donor; D1, which has none, is dark.
    for bar, first, last in zip(
        [*bars(axes, MIDDLE), *bars(axes, DARK)], (date(2001, 4, 20), date(2001, 4, 18)),
        (date(2001, 5, 1), date(2001, 4, 28)), strict=True,
    ):  # fmt: skip
        began = start + timedelta(days=bar.get_x())
        ended = start + timedelta(days=bar.get_x() + bar.get_width())
        assert (began.month, began.day) == (first.month, first.day)
        assert (ended - timedelta(days=1)).timetuple()[1:3] == last.timetuple()[1:3]


def test_shared_days_are_hatched_and_counted(tmp_path: Path) -> None:
    study = study_of(O1, tmp_path)
    rows = calendar_rows(study)
    begin, end = shared_days(rows, 0, 1) or (0.0, 0.0)
    assert end - begin == 9  # 20 to 28 April, both counted: by hand
    axes = draw_calendar(rows, nominal_start(study.bloom), title="", against=Against(0, [1]))
    assert any(words == "9 d" for words, _, _ in texts(axes.figure))
    assert [patch.get_width() for patch in axes.patches if patch.get_hatch()] == [9]


@given(st.lists(st.floats(0, 300), min_size=4, max_size=4))
def test_sharing_is_mutual_and_never_longer_than_either(days: list[float]) -> None:
    edges = [tuple(sorted(pair)) for pair in (days[:2], days[2:])]
    rows = [CalendarRow("", "", BloomSpan(a, a, (a + b) / 2, b, b)) for a, b in edges]
    shared = shared_days(rows, 0, 1)
    assert shared == shared_days(rows, 1, 0)
    if shared is not None:
        assert 0 < shared[1] - shared[0] <= min(b - a for a, b in edges) + 1e-9


def test_own_dates_stand_on_their_day() -> None:
    span = BloomSpan(200.0, 202.0, 207.0, 212.0, 215.0)
    start = date(2001, 4, 1)
    axes = draw_calendar([CalendarRow("t", "x", span)], start, title="", marks=[Mark(0, 300)])
    (mark,) = [line for line in axes.lines if line.get_marker() == "D"]
    # Day 300 is 27 October (any wall calendar); the mark stands in the middle of the day.
    assert start + timedelta(days=float(mark.get_xdata()[0]) - 0.5) == date(2001, 10, 27)


# --- network and matrix ----------------------------------------------------------------------


@pytest.mark.parametrize("name", awkward_gardens.GARDENS)
def test_as_many_arrows_as_the_graph_has_edges(name: str, tmp_path: Path) -> None:
    body, latitude, _ = awkward_gardens.GARDENS[name]
    study = study_of(body, tmp_path, latitude)
    axes = draw_network(study.network, study.coverage, species="apple", title="")
    arrows = sum(isinstance(patch, FancyArrowPatch) for patch in axes.patches)
    graph = donor_graph(study.network)
    edges = sum(one != other for one, other in graph.edges)
    limited = any("only the" in words for words, _, _ in texts(axes.figure))
    assert arrows == edges or (limited and 0 < arrows < edges)


def test_a_limb_without_a_donor_is_plain_to_see(tmp_path: Path) -> None:
    study = study_of(O1, tmp_path)
    axes = draw_network(study.network, study.coverage, species="apple", title="")
    crosses = [line for line in axes.lines if line.get_marker() == "X"]
    assert len(crosses) == 1
    assert MARKERS["lacking"]["ms"] > MARKERS["sure"]["ms"]
    bold = [w for w, t, _ in texts(axes.figure) if t.get_weight() == "bold" and "winters" in w]
    assert bold == ["D1\nD1\n0 of 10 winters"]
    told = network_description(study.network, study.coverage, "apple")
    assert "D1 (D1), lacks a donor, 0 of 10 winters, pollen from nobody" in told


def test_the_matrix_tells_days_and_reasons(tmp_path: Path) -> None:
    study = study_of(O1, tmp_path)
    (table,) = matrices(study.network, study.coverage, "apple")
    told = matrix_description(study.network, study.coverage, table)
    assert told == (
        "T (sure): T itself, D1 9.0 d ½ 10/10; D1 (lacks a donor): T triploid pollen, D1 itself"
    )
    axes = draw_matrix(study.network, study.coverage, table, title="")
    cells = [p for p in axes.patches if isinstance(p, Rectangle)]
    # Two limbs, each with its verdict and a cell for each of two donors.
    assert len(cells) == 6
    # Only what needs something is dark: D1, which lacks a donor.
    assert len([p for p in cells if to_hex(p.get_facecolor()) == DARK]) == 1
    assert {"● 10", "✕ 0"} <= {words for words, _, _ in texts(axes.figure)}


UNKNOWN = (
    awkward_gardens.tree([("A", "A"), ("B", "B")])
    + awkward_gardens.variety("A", "S1S2", (110, 121)) + EXACT
    + awkward_gardens.variety("B", "S3S4", (110, 121)).replace('s_genotype = "S3S4"\n', "") + EXACT
)  # fmt: skip
"""Two limbs in bloom together; nobody knows the alleles of B."""


def test_what_nobody_knows_has_a_mark_of_its_own(tmp_path: Path) -> None:
    study = study_of(UNKNOWN, tmp_path)
    verdicts = [row.verdict for row in study.coverage]
    assert not set(verdicts) & {"sure", "lacking"}
    (table,) = matrices(study.network, study.coverage, "apple")
    axes = draw_matrix(study.network, study.coverage, table, title="")
    shown = {words for words, _, _ in texts(axes.figure)}
    chance = round(100 * study.coverage[0].donors[0].verdict.probability)
    assert any(words.startswith("12.0 d\n") and words.endswith(f"?{chance} %") for words in shown)
    axes = draw_network(study.network, study.coverage, species="apple", title="")
    arrows = [patch for patch in axes.patches if isinstance(patch, FancyArrowPatch)]
    assert len(arrows) == 2
    assert {arrow.get_linestyle() for arrow in arrows} == {ARROWS["unknown"]["ls"]}
    told = network_description(study.network, study.coverage, "apple")
    assert f"(accepted with a chance of {chance} %)" in told


def test_every_verdict_has_a_mark_and_only_what_needs_something_is_dark(tmp_path: Path) -> None:
    limbs = [("low-N", "a", "sure"), ("low-E", "b", "likely"), ("low-S", "c", "open"),
             ("low-W", "d", "lacking"), ("top", "e", "need not crop")]  # fmt: skip
    axes = draw_tree(limbs, title="")
    dark = [line for line in axes.lines if line.get_marker() != "None" and line.get_mfc() == DARK]
    assert [MARKERS[kind]["marker"] for kind in ATTENTION] == [x.get_marker() for x in dark]
    legend = {words for words, _, _ in texts(axes.figure)}
    assert {STATES[kind] for _, _, kind in limbs} <= legend
    drawn = [{k: v for k, v in MARKERS[kind].items() if k != "ms"} for kind in STATES]
    assert all(one != other for one, other in combinations(drawn, 2))


def test_wide_matrices_are_split_and_nothing_is_lost(tmp_path: Path) -> None:
    study = study_of(awkward_gardens.forty_limbs(), tmp_path)
    tables = matrices(study.network, study.coverage, "apple")
    cells = [(r, d) for table in tables for r in table.receivers for d in table.donors]
    assert sorted(cells) == [(receiver, donor) for receiver in range(40) for donor in range(40)]
    assert all(len(table.donors) <= MOST_COLUMNS for table in tables)
    assert all(len(table.receivers) <= MOST_ROWS for table in tables)


# --- winters, chill, harvest, tree -----------------------------------------------------------


def test_warm_winters_are_dark(tmp_path: Path) -> None:
    study = study_of(O3, tmp_path)
    _, shares = coverage_by_winter(study.network)
    springs = [f"spring {number + 1}" for number in range(10)]
    axes = draw_winters(["H", "L"], springs, shares, title="")
    fills = [to_hex(patch.get_facecolor()) for patch in axes.patches]
    expected = [DARK if number in (6, 7, 9) else PAPER for number in range(10)]
    assert fills == expected * 2


@given(st.floats(0, 1), st.floats(0, 1))
def test_more_cover_is_never_darker(one: float, other: float) -> None:
    low, high = sorted((one, other))
    assert int(grey_of(high)[1:3], 16) >= int(grey_of(low)[1:3], 16)


def test_chill_is_drawn_where_it_is() -> None:
    needs = [ChillNeed("A", 50.0, 6.0, 0.7, short=True), ChillNeed("B", None)]
    axes = draw_chill([2001, 2002, 2003], np.array([40.0, 60.0, 80.0]), needs, title="")
    (winters,) = [line for line in axes.lines if line.get_marker() == "|"]
    assert winters.get_xdata().tolist() == [40, 60, 80]
    (square,) = [line for line in axes.lines if line.get_marker() == "s"]
    assert list(square.get_xdata()) == [50]
    assert square.get_mfc() == DARK  # seven winters in ten are fewer than asked for
    shown = " ".join(words for words, _, _ in texts(axes.figure))
    assert "enough in 7 of 10 winters" in shown
    assert "No requirement published: B." in shown


def test_the_earliest_is_picked_first_and_the_unknown_told_last() -> None:
    pickings = [Picking("late", 290.0), Picking("?", None), Picking("early", 200.0)]
    assert [p.label for p in in_picking_order(pickings)] == ["early", "late", "?"]
    # Day 200 is 19 July, day 290 is 17 October (any wall calendar).
    told = harvest_description(pickings)
    assert told == "early: 19 Jul; late: 17 Oct; ?: not known"


def test_names_stand_beside_what_they_name() -> None:
    long = "a name of so many letters that it needs three lines beside the axis, at the very least"
    steps = [Step(long, 0.4, False), Step("b", 0.9, True)]
    span = BloomSpan(200.0, 202.0, 207.0, 212.0, 215.0)
    bloom = [CalendarRow("t", long, span), CalendarRow("u", "b", span)]
    shares = np.array([[0.0], [1.0]])
    needs = [ChillNeed(long, 50.0), ChillNeed("b", 60.0)]
    pickings = [Picking(long, 200.0), Picking("b", 210.0)]
    drawn = {
        "calendar": (draw_calendar(bloom, date(2001, 4, 1), title=""), MIDDLE),
        "winters": (draw_winters([long, "b"], ["x"], shares, title=""), None),
        "tradeoff": (draw_tradeoff(steps, 0.8, title=""), None),
        "harvest": (draw_harvest(pickings, 15.0, title=""), None),
    }
    for name, (axes, colour) in drawn.items():
        bars = [p for p in axes.patches if isinstance(p, Rectangle)]
        bars = [p for p in bars if colour in (None, to_hex(p.get_facecolor()))]
        found = sorted({round(bar.get_y() + bar.get_height() / 2, 6) for bar in bars})
        assert found == pytest.approx(sorted(axes.get_yticks().tolist()), abs=1e-5), name
    axes = draw_chill([1, 2], np.array([40.0, 60.0]), needs, title="")
    squares = [float(line.get_ydata()[0]) for line in axes.lines if line.get_marker() == "s"]
    assert squares == pytest.approx(axes.get_yticks().tolist()[1:])


@pytest.mark.parametrize(
    ("limb", "bearing", "height"),
    [
        # Points of the compass in degrees from north: any compass card.
        ("A-low-south", 180.0, "low"),
        ("ML-SSW", 202.5, "low"),
        ("mid-NE", 45.0, "mid"),
        ("East", 90.0, "low"),
        ("A-top", None, "top"),
    ],
)
def test_places_are_read_out_of_names(limb: str, bearing: float | None, height: str) -> None:
    place = place_of(limb)
    assert place is not None
    assert (place.bearing, place.height) == (bearing, height)


@pytest.mark.parametrize("limb", ["B", "E", "limb-s", "C-low", "Nell", "the big one", "תפוח"])
def test_names_that_tell_no_bearing_are_not_placed(limb: str) -> None:
    assert place_of(limb) is None


def test_north_is_up_and_east_is_right() -> None:
    axes = draw_tree(
        [("low-N", "a", "sure"), ("low-E", "b", "lacking"), ("SW", "c", "need not crop")], title=""
    )
    ends = {
        line.get_marker(): (float(line.get_xdata()[0]), float(line.get_ydata()[0]))
        for line in axes.lines
        if line.get_marker() in ("o", "X", "s")
    }
    assert ends["o"] == pytest.approx((0, 1), abs=1e-9)
    assert ends["X"] == pytest.approx((1, 0), abs=1e-9)
    assert ends["s"][0] < 0 > ends["s"][1]


def test_charts_are_drawn_on_axes_that_are_handed_in(tmp_path: Path) -> None:
    study = study_of(O1, tmp_path)
    network, coverage = study.network, study.coverage
    (table,) = matrices(network, coverage, "apple")
    start = nominal_start(study.bloom)
    draw = [
        lambda ax: draw_calendar(calendar_rows(study), start, title="t", ax=ax),
        lambda ax: draw_network(network, coverage, species="apple", title="t", ax=ax),
        lambda ax: draw_matrix(network, coverage, table, title="t", ax=ax),
        lambda ax: draw_winters(["a"], ["x"], np.ones((1, 1)), title="t", ax=ax),
        lambda ax: draw_chill([1, 2], np.array([40.0, 60.0]), [], title="t", ax=ax),
        lambda ax: draw_harvest([Picking("a", 200.0)], 15.0, title="t", ax=ax),
        lambda ax: draw_tradeoff([Step("a", 0.5, False)], 0.8, title="t", ax=ax),
        lambda ax: draw_tree([("low-N", "a", "sure")], title="t", ax=ax),
    ]
    figure = Figure(figsize=(20, 10))
    for axes, function in zip(figure.subplots(2, 4).flat, draw, strict=True):
        assert function(axes) is axes
        assert axes.get_title(loc="left") == "t"
    assert figure.legends == []
    assert texts(figure)
