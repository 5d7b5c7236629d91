"""What the charts show, against gardens worked out by hand and against the calendar.

O1 and O3 are invented gardens whose answers were worked out outside the program, see
`tests/test_scenarios.py`: in O1 a triploid T is served by D1 on nine days with half of its
pollen, and D1 by nobody; in O3 the limbs H and L share three days in all springs but the warm
seventh, eighth and tenth.
"""

from __future__ import annotations

from dataclasses import replace
from datetime import date, timedelta
from itertools import combinations
from pathlib import Path

import awkward_gardens
import numpy as np
import pytest
from gardens import saved, studied
from hypothesis import given
from hypothesis import strategies as st
from matplotlib.colors import to_hex
from matplotlib.figure import Figure
from matplotlib.patches import FancyArrowPatch, Rectangle
from measured_charts import texts

from pollinet.charts.album import charts_of
from pollinet.charts.calendar import STRIP_IN, draw_calendar
from pollinet.charts.chill import ChillNeed, draw_chill
from pollinet.charts.harvest import draw_harvest, harvest_description
from pollinet.charts.matrix import MARK_PT, draw_matrix, matrices, matrix_description
from pollinet.charts.network import MOST_DONORS, draw_network, network_description
from pollinet.charts.parties import MOST_PARTIES
from pollinet.charts.style import FORMS, GARDEN, TELEPHONE
from pollinet.charts.tradeoff import draw_tradeoff
from pollinet.charts.treeplan import Grown, draw_tree, place_of
from pollinet.charts.verdicts import ATTENTION, SIZES, marker
from pollinet.charts.winters import draw_winters
from pollinet.demo import demo_files, write_demo
from pollinet.network.coverage import coverage_by_winter
from pollinet.network.graph import donor_graph
from pollinet.study import Study
from pollinet.summary.limbs import (
    BloomSpan,
    CalendarRow,
    bloom_order,
    calendar_rows,
    nominal_start,
    spring_shifts,
)
from pollinet.summary.outlook import Step, cover_steps
from pollinet.summary.spring import Against, DayShares, Mark, shared_span
from pollinet.summary.suits import Picking, in_picking_order
from pollinet.wording.check import STATES
from pollinet.wording.sentences import tenths

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
    return studied(saved(folder, head + body))


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
        [*bars(axes, GARDEN.bloom), *bars(axes, GARDEN.attention)],
        (date(2001, 4, 20), date(2001, 4, 18)),
        (date(2001, 5, 1), date(2001, 4, 28)), strict=True,
    ):  # fmt: skip
        began = start + timedelta(days=bar.get_x())
        ended = start + timedelta(days=bar.get_x() + bar.get_width())
        assert (began.month, began.day) == (first.month, first.day)
        assert (ended - timedelta(days=1)).timetuple()[1:3] == last.timetuple()[1:3]


def test_rows_stand_in_the_order_of_bloom_and_one_variety_is_one_row(tmp_path: Path) -> None:
    body = O1.replace("[[variety]]", '[[tree.limb]]\nid = "T2"\nvariety = "T"\n[[variety]]', 1)
    rows = calendar_rows(study_of(body, tmp_path))
    # D1 blooms two days before T.
    assert [row.label for row in rows] == ["D1 · D1", "T · T, T2"]


def test_a_whole_spring_is_told_once_and_rows_show_their_own_spread(tmp_path: Path) -> None:
    study = study_of(O3, tmp_path)
    (shift,) = spring_shifts(study)
    rows = {row.label: row for row in calendar_rows(study)}
    # Both go back to the dates: in each spring the mean of the two middles, and how far each lies
    # from the other; 80 % of a normal distribution lie within 1.2816 standard deviations.
    middles = np.array([[(a + b + 1) / 2 for a, b in kind] for kind in (H, L)])
    assert shift.days == pytest.approx(1.2816 * middles.mean(axis=0).std(), abs=0.3)
    # Typed springs leave nothing unknown: all that moves is the springs' own.
    assert shift.own_days == pytest.approx(shift.days, abs=0.1) and not shift.little_known
    apart = 1.2816 * (middles[0] - middles[1]).std()
    assert rows["H · H"].own_days == pytest.approx(apart, abs=0.3)
    axes = draw_calendar(list(rows.values()), nominal_start(study.bloom), title="", shifts=[shift])
    for row, bar in zip(rows.values(), bars(axes, GARDEN.soft), strict=True):
        assert bar.get_width() == pytest.approx(row.span.end - row.span.start + 2 * row.own_days)


def test_an_open_limb_is_not_drawn_as_one_that_lacks_a_donor() -> None:
    span = BloomSpan(200.0, 202.0, 207.0, 212.0, 215.0)
    rows = [CalendarRow("t", kind, span, (n,), verdict=kind)
            for n, kind in enumerate(("sure", "open", "lacking"))]  # fmt: skip
    axes = draw_calendar(rows, date(2001, 4, 1), title="")
    fills = [to_hex(p.get_facecolor()) for p in axes.patches if p.get_width() == 10]
    assert fills == [GARDEN.bloom, GARDEN.paper, GARDEN.attention]


def test_strips_use_their_height_and_say_how_much_that_is() -> None:
    span = BloomSpan(20.0, 22.0, 27.0, 32.0, 35.0)
    shares = np.zeros(60)
    shares[25:27] = 0.1, 0.25
    axes = draw_calendar(
        [CalendarRow("t", "x", span)], date(2001, 4, 1), title="",
        strips=[DayShares("frost", shares)],
    )  # fmt: skip
    high = [-p.get_height() for p in axes.patches if to_hex(p.get_facecolor()) == GARDEN.frost]
    assert max(high) == pytest.approx(STRIP_IN)
    assert sorted(high)[-2] == pytest.approx(0.4 * STRIP_IN)
    told = "nights below 0 °C (tallest: 2 of 10 winters)"
    assert told in [words.replace("\n", " ") for words, _, _ in texts(axes.figure)]


def test_shared_days_are_filled_and_counted(tmp_path: Path) -> None:
    study = study_of(O1, tmp_path)
    rows = calendar_rows(study)
    begin, end = shared_span(rows[0].span, rows[1].span) or (0.0, 0.0)
    assert end - begin == 9  # 20 to 28 April, both counted: by hand
    axes = draw_calendar(rows, nominal_start(study.bloom), title="", against=Against(0, [1]))
    assert any(words == "9 d" for words, _, _ in texts(axes.figure))
    assert [bar.get_width() for bar in bars(axes, GARDEN.accent)] == [9]


@given(st.lists(st.floats(0, 300), min_size=4, max_size=4))
def test_sharing_is_mutual_and_never_longer_than_either(days: list[float]) -> None:
    edges = [tuple(sorted(pair)) for pair in (days[:2], days[2:])]
    rows = [CalendarRow("", "", BloomSpan(a, a, (a + b) / 2, b, b)) for a, b in edges]
    shared = shared_span(rows[0].span, rows[1].span)
    assert shared == shared_span(rows[1].span, rows[0].span)
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


def drawn_network(study: Study):
    order = bloom_order(study)
    return draw_network(study.network, study.coverage, order, species="apple", title="")


def paths(axes) -> list[FancyArrowPatch]:
    return [patch for patch in axes.patches if isinstance(patch, FancyArrowPatch)]


@pytest.mark.parametrize("name", awkward_gardens.GARDENS)
def test_every_limb_is_reached_by_its_best_donors(name: str, tmp_path: Path) -> None:
    body, latitude, _ = awkward_gardens.GARDENS[name]
    study = study_of(body, tmp_path, latitude)
    axes = draw_network(
        study.network, study.coverage, bloom_order(study), species="apple", title=""
    )
    graph = donor_graph(study.network, coverage=study.coverage)
    # All limbs of these gardens are varieties of their own, so each donor is one.
    wanted = sum(min(MOST_DONORS, len([d for d in graph.predecessors(limb) if d != limb]))
                 for limb in graph)  # fmt: skip
    many = len(study.coverage) > MOST_PARTIES
    assert len(paths(axes)) == (0 if many else wanted)


def test_a_limb_without_a_donor_is_plain_to_see(tmp_path: Path) -> None:
    study = study_of(O1, tmp_path)
    axes = draw_network(
        study.network, study.coverage, bloom_order(study), species="apple", title=""
    )
    crosses = [line for line in axes.lines if line.get_marker() == "X"]
    assert len(crosses) == 1
    assert SIZES["lacking"] > SIZES["sure"]
    bold = [w for w, t, _ in texts(axes.figure) if t.get_weight() == "bold" and "winters" in w]
    assert bold == ["D1 · D1\n0 of 10 winters"]
    told = network_description(study.network, study.coverage, "apple")
    assert "D1 (D1), lacks a donor, 0 of 10 winters, pollen from nobody" in told


def test_arrows_reach_their_marks_and_more_days_are_thicker(tmp_path: Path) -> None:
    study = study_of(O3, tmp_path)
    axes = draw_network(
        study.network, study.coverage, bloom_order(study), species="apple", title=""
    )
    limbs = [float(x[0]) for x in (line.get_xdata() for line in axes.lines)]
    start, end = min(limbs), max(limbs)
    assert len(paths(axes)) == 2
    for arrow in paths(axes):
        path = arrow.get_path()
        across = path.vertices[path.codes != path.CLOSEPOLY, 0]
        # As parts of the width: close to its donor, and to the mark of its limb, but not over it.
        assert 0 < across.min() - start < 0.03
        assert 0 < end - across.max() < 0.03
    thin, thick = (_width(days, tmp_path) for days in (4, 12))
    assert thin < thick


def _width(days: int, folder: Path) -> float:
    """Width of the arrows between two limbs that share so many days."""
    body = awkward_gardens.tree([("A", "A"), ("B", "B")])
    body += awkward_gardens.variety("A", "S1S2", (110, 121)) + EXACT
    body += awkward_gardens.variety("B", "S3S4", (122 - days, 133 - days)) + EXACT
    study = study_of(body, folder)
    axes = draw_network(
        study.network, study.coverage, bloom_order(study), species="apple", title=""
    )
    (width,) = {arrow.get_linewidth() for arrow in paths(axes)}
    return float(width)


def test_with_many_limbs_only_needs_are_told(tmp_path: Path) -> None:
    names = [f"V{number:02d}" for number in range(MOST_PARTIES + 1)]
    body = awkward_gardens.tree([(f"L-{name}", name) for name in names])
    # All bloom together; the last one weeks after all others.
    body += "".join(awkward_gardens.variety(n, f"S{1 + i % 3}S{5 + i % 4}", (110, 120))
                    for i, n in enumerate(names[:-1]))  # fmt: skip
    body += awkward_gardens.variety(names[-1], "S8S9", (150, 160))
    study = study_of(body, tmp_path)
    order = bloom_order(study)
    axes = draw_network(study.network, study.coverage, order, species="apple", title="")
    shown = [words for words, _, _ in texts(axes.figure)]
    assert "✕ V12 · L-V12" in shown
    assert "12 others have a donor." in shown
    (table,) = matrices(study.network, study.coverage, order, "apple")
    assert [row.label for row in table.receivers] == ["V12 · L-V12"]
    assert table.covered == 12
    assert table.givers == ()  # nobody can be of use to it


def test_one_mark_a_cell_and_the_numbers_in_words(tmp_path: Path) -> None:
    study = study_of(O1, tmp_path)
    (table,) = matrices(study.network, study.coverage, bloom_order(study), "apple")
    # D1 blooms two days before T.
    assert [row.label for row in table.receivers] == ["D1 · D1", "T · T"]
    told = matrix_description(study.network, study.coverage, table)
    assert told == (
        "D1 · D1 (lacks a donor): D1 itself, T triploid pollen; T · T (sure): D1 9.0 d ½ 10/10, "
        "T itself"
    )
    axes = draw_matrix(study.network, study.coverage, table, title="")
    cells = [(text.get_text(), to_hex(text.get_color())) for text in axes.texts
             if text.get_fontsize() == MARK_PT]  # fmt: skip
    assert [sign for sign, _colour in cells] == ["", "●", "✕", ""]
    # A cell is no verdict: dark is left to the limbs that need something.
    assert GARDEN.attention not in [colour for _sign, colour in cells]


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
    order = bloom_order(study)
    (table,) = matrices(study.network, study.coverage, order, "apple")
    axes = draw_matrix(study.network, study.coverage, table, title="")
    signs = [text.get_text() for text in axes.texts if text.get_fontsize() == MARK_PT]
    assert signs == ["", "?", "?", ""]
    chance = round(100 * study.coverage[0].donors[0].verdict.probability)
    described = matrix_description(study.network, study.coverage, table)
    assert f"B 12.0 d {tenths(study.coverage[0].reliability)}/10 ?{chance} %" in described
    axes = draw_network(study.network, study.coverage, order, species="apple", title="")
    assert len(paths(axes)) == 2
    assert all(arrow.get_linestyle() != "-" for arrow in paths(axes))
    told = network_description(study.network, study.coverage, "apple")
    assert f"(accepted with a chance of {chance} %)" in told


def test_every_verdict_has_a_mark_and_only_what_needs_something_is_dark() -> None:
    limbs = [Grown("low-N", "a", "sure"), Grown("low-E", "b", "likely"),
             Grown("low-S", "c", "open"), Grown("low-W", "d", "lacking"),
             Grown("top", "e", "need not crop")]  # fmt: skip
    for form in FORMS.values():
        axes = draw_tree(limbs, title="", form=form)
        marks = [line for line in axes.lines if line.get_marker() != "None"]
        dark = {line.get_marker() for line in marks if line.get_mfc() == form.inks.attention}
        assert dark == {marker(kind, form.inks)["marker"] for kind in ATTENTION}
        legend = {words.replace("\n", " ") for words, _, _ in texts(axes.figure)}
        assert {STATES[limb.kind] for limb in limbs} <= legend
        drawn = [{k: v for k, v in marker(kind, form.inks).items() if k != "ms"} for kind in STATES]
        assert all(one != other for one, other in combinations(drawn, 2))


def test_wide_matrices_are_split_and_nothing_is_lost(tmp_path: Path) -> None:
    names = [f"V{number:02d}" for number in range(11)]
    body = awkward_gardens.tree([(f"L-{name}", name) for name in names])
    body += "".join(awkward_gardens.variety(n, "S1S2", (110 + i, 120 + i))
                    for i, n in enumerate(names))  # fmt: skip
    narrow = replace(TELEPHONE, width_in=1.6)
    study = study_of(body, tmp_path)
    tables = matrices(study.network, study.coverage, bloom_order(study), "apple", narrow)
    assert len(tables) > 1
    cells = [(r.label, g.label) for table in tables for r in table.receivers for g in table.givers]
    wanted = [f"{name} · L-{name}" for name in names]
    assert sorted(cells) == [(receiver, donor) for receiver in wanted for donor in wanted]


# --- winters, chill, harvest, tree -----------------------------------------------------------


def test_warm_winters_are_dark(tmp_path: Path) -> None:
    study = study_of(O3, tmp_path)
    _, shares = coverage_by_winter(study.network)
    springs = [f"spring {number + 1}" for number in range(10)]
    axes = draw_winters(["H", "L"], springs, shares, cover_steps(shares, 0.8), title="")
    fills = [to_hex(patch.get_facecolor()) for patch in axes.patches]
    least, most = GARDEN.steps[-1], GARDEN.steps[0]
    expected = [least if number in (6, 7, 9) else most for number in range(10)]
    assert fills == expected * 2


@given(st.floats(0, 1), st.floats(0, 1), st.floats(0.05, 1))
def test_more_cover_is_never_a_lower_step(one: float, other: float, level: float) -> None:
    low, high = sorted((one, other))
    steps = cover_steps(np.array([[low, high, level, 0.0, 1.0]]), level)[0].tolist()
    assert steps[0] <= steps[1]
    assert steps[2] >= 3  # what reaches the level
    assert steps[3:] == [0, 4]


def test_generated_winters_are_numbered_not_dated(tmp_path: Path) -> None:
    demo = studied(write_demo(tmp_path, demo_files()))
    assert demo.winters is not None
    for kind in ("winters", "chill"):
        (chart,) = charts_of(demo, [kind])
        shown = " ".join(words for words, _, _ in texts(chart.figure)) + chart.description
        assert not any(str(year) in shown for year in demo.winters.harvest_years), kind


def test_chill_is_drawn_where_it_is() -> None:
    needs = [ChillNeed("A", 50.0, 6.0, 0.7, short=True), ChillNeed("B", None)]
    supply = np.array([40.0, 60.0, 80.0])
    axes = draw_chill(["2001", "2002", "2003"], supply, needs, title="")
    (winters,) = [line for line in axes.lines if line.get_marker() == "|"]
    assert winters.get_xdata().tolist() == [40, 60, 80]
    (dot,) = [line for line in axes.lines if line.get_marker() == "o"]
    assert list(dot.get_xdata()) == [50]
    assert dot.get_mfc() == GARDEN.attention  # seven winters in ten are fewer than asked for
    shown = " ".join(words for words, _, _ in texts(axes.figure))
    assert "enough in 7 of 10 winters" in shown
    assert "40 (2001) – 80 (2003)" in shown
    assert "off by about 6 portions" in shown
    assert "No requirement published: B." in shown


def test_how_far_requirements_may_be_off_is_told_from_the_least_to_the_most() -> None:
    needs = [ChillNeed("A", 50.0, 5.0), ChillNeed("B", 50.0, 11.0), ChillNeed("C", 50.0, 24.4)]
    axes = draw_chill(["2001", "2002"], np.array([40.0, 80.0]), needs, title="")
    shown = " ".join(" ".join(words for words, _, _ in texts(axes.figure)).split())
    assert "A published requirement may be off by 5 to 24 portions." in shown


def test_a_sentence_where_there_is_nothing_to_draw() -> None:
    supply = np.array([40.0, 80.0])
    for axes, said in (
        (draw_chill(["", ""], supply, [ChillNeed("B", None)], title="t"),
         "Winters here bring 40 to 80 chill portions. No requirement published: B."),
        (draw_tradeoff([Step("as it stands", 0.5, False)], 0.8, title="t"),
         "No scion at hand betters the worst-off limb; as it stands: 5 of 10 winters."),
        (draw_harvest([Picking("A", None)], 21.0, title="t"), "Not known: A."),
    ):  # fmt: skip
        assert not axes.axison
        assert said in [words for words, _, _ in texts(axes.figure)]


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
    steps_of = cover_steps(shares, 0.8)
    needs = [ChillNeed(long, 50.0), ChillNeed("b", 60.0)]
    pickings = [Picking(long, 200.0), Picking("b", 210.0)]
    barred = {
        "calendar": (draw_calendar(bloom, date(2001, 4, 1), title=""), GARDEN.bloom),
        "winters": (draw_winters([long, "b"], ["x"], shares, steps_of, title=""), None),
    }
    for name, (axes, colour) in barred.items():
        found = [p for p in axes.patches if isinstance(p, Rectangle)]
        found = [p for p in found if colour in (None, to_hex(p.get_facecolor()))]
        middles = sorted({round(bar.get_y() + bar.get_height() / 2, 6) for bar in found})
        assert middles == pytest.approx(sorted(axes.get_yticks().tolist()), abs=1e-5), name
    dotted = {
        "tradeoff": (draw_tradeoff(steps, 0.8, title=""), 0),
        "harvest": (draw_harvest(pickings, 15.0, title=""), 1),
        "chill": (draw_chill(["", ""], np.array([40.0, 60.0]), needs, title=""), 1),
    }
    for name, (axes, scales) in dotted.items():
        dots = [float(line.get_ydata()[0]) for line in axes.lines if line.get_marker() == "o"]
        assert dots == pytest.approx(axes.get_yticks().tolist()[scales:]), name


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
    limbs = [Grown("low-N", "a", "sure"), Grown("low-E", "b", "lacking"), Grown("SW", "c", "open")]
    for form in FORMS.values():
        axes = draw_tree(limbs, title="", form=form)
        # A branch begins in the middle of the tree and ends at its mark.
        ends = [np.transpose(line.get_data()) for line in axes.lines if len(line.get_xdata()) == 2]
        north, east, south_west = (end - start for start, end in ends)
        # y counts downwards. [inch]
        assert north[1] < 0 and north[0] == pytest.approx(0, abs=1e-9)
        assert east[0] > 0 and east[1] == pytest.approx(0, abs=1e-9)
        assert south_west[0] < 0 < south_west[1]


def test_limbs_in_one_direction_stand_apart_and_are_listed_with_their_donors() -> None:
    limbs = [Grown("low-N-1", "a", "sure", "b", "low-N-2"), Grown("low-N-2", "b", "sure", "a"),
             Grown("E-low-3", "c", "sure"), Grown("north", "d", "lacking"),
             Grown("?", "e", "open")]  # fmt: skip
    axes = draw_tree(limbs, title="")
    ends = [line.get_data() for line in axes.lines if len(line.get_xdata()) == 2]
    tips = [(float(x[1]), float(y[1])) for x, y in ends]
    assert len(tips) == 4
    # No two marks lie over one another. [inch]
    assert all(np.hypot(*np.subtract(one, other)) > 0.25 for one, other in combinations(tips, 2))
    said = [words for words, _, _ in texts(axes.figure)]
    assert "a · low-N-1\npollen from b" in said
    assert "e · ?\nplace not known" in said
    assert {"1", "2", "3", "4", "5"} <= set(said)
    assert len(paths(axes)) == 1


def test_charts_are_drawn_on_axes_that_are_handed_in(tmp_path: Path) -> None:
    study = study_of(O1, tmp_path)
    network, coverage, order = study.network, study.coverage, bloom_order(study)
    (table,) = matrices(network, coverage, order, "apple")
    start = nominal_start(study.bloom)
    one = np.ones((1, 1))
    steps = [Step("a", 0.5, False), Step("b", 0.9, True)]
    draw = [
        lambda ax: draw_calendar(calendar_rows(study), start, title="t", ax=ax),
        lambda ax: draw_network(network, coverage, order, species="apple", title="t", ax=ax),
        lambda ax: draw_matrix(network, coverage, table, title="t", ax=ax),
        lambda ax: draw_winters(["a"], ["x"], one, cover_steps(one, 0.8), title="t", ax=ax),
        lambda ax: draw_chill(["", ""], np.array([40.0, 60.0]), [ChillNeed("a", 50.0)], title="t",
                              ax=ax),
        lambda ax: draw_harvest([Picking("a", 200.0)], 15.0, title="t", ax=ax),
        lambda ax: draw_tradeoff(steps, 0.8, title="t", ax=ax),
        lambda ax: draw_tree([Grown("low-N", "a", "sure")], title="t", ax=ax),
    ]  # fmt: skip
    figure = Figure(figsize=(20, 10))
    for axes, function in zip(figure.subplots(2, 4).flat, draw, strict=True):
        assert function(axes) is axes
        assert axes.get_title(loc="left") == "t"
    assert figure.legends == []
    assert texts(figure)
