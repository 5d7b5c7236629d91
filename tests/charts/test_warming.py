"""Coverage over degrees of warming: what it says, how it is laid out, where it is left out."""

from __future__ import annotations

from pathlib import Path

import awkward_gardens
import pytest
from gardens import studied
from hypothesis import given
from hypothesis import strategies as st
from measured_charts import cut, overlaps, smallest_text, texts

from pollinet.charts.album import charts_of
from pollinet.charts.style import FORMS
from pollinet.charts.warming import (
    crossing,
    draw_warming,
    warming_answer,
    warming_description,
)
from pollinet.demo import demo_files, write_demo
from pollinet.language import speaking
from pollinet.study import WARMER_C, Study
from pollinet.summary.outlook import Course, warming_courses


def course(label: str, shares: tuple[float, ...], level: float = 0.8) -> Course:
    return Course(label, shares, tuple("sure" if x >= level else "lacking" for x in shares))


STEADY = course("steady: A", (0.9, 0.9, 0.9))
FALLING = course("falling: B", (0.9, 0.8, 0.7))
NEVER = course("never: C", (0.5, 0.5, 0.4))
STEPS = (0.0, 1.0, 2.0)


@pytest.fixture(scope="module")
def study(tmp_path_factory: pytest.TempPathFactory) -> Study:
    return studied(write_demo(tmp_path_factory.mktemp("demo"), demo_files()))


# --- what it says ----------------------------------------------------------------------------


def test_each_step_is_what_check_says_of_it(study: Study, pollinet, tmp_path: Path) -> None:
    # `check` counts by another way: donor by donor, not on packed bits.
    plan = write_demo(tmp_path, demo_files())
    assert study.warming is not None
    for step in (0, 3):
        words = ("--warmer", WARMER_C[step]) if step else ()
        data = pollinet("check", plan, "--json", *words).data
        limbs = (data["warmer"] if step else data)["limbs"]
        said = [limb["reliability"] for limb in limbs if limb["reliability"] is not None]
        assert study.warming[:, step].tolist() == pytest.approx(said)
        verdicts = sorted(limb["verdict"] for limb in limbs if limb["verdict"] is not None)
        assert sorted(one.verdicts[step] for one in warming_courses(study)) == verdicts


@given(st.lists(st.booleans(), min_size=1, max_size=7))
def test_a_limb_falls_where_it_is_never_covered_again(covered: list[bool]) -> None:
    asked = course("x", tuple(0.9 if yes else 0.1 for yes in covered))
    falls = [step for step in range(len(covered)) if not any(covered[step:])]
    assert asked.fall == min(falls, default=None)


def test_the_sentence_names_who_falls_and_when() -> None:
    courses = (STEADY, FALLING, NEVER)
    assert warming_answer(courses, STEPS) == "Warmer winters would uncover falling: B from +2 °C."
    assert "stays so" in warming_answer((STEADY, NEVER), STEPS)
    assert warming_answer((NEVER,), STEPS) == "No limb is covered as it is."
    many = [course(f"x{number}", FALLING.shares) for number in range(9)]
    assert "and 3 others" in warming_answer(many, STEPS)
    told = warming_description(courses, STEPS)
    assert "steady: A: 9 of 10 winters, 9 of 10 with +2 °C; stays covered" in told


def test_limbs_of_one_variety_that_fare_alike_share_a_line(tmp_path: Path) -> None:
    plan = write_demo(tmp_path, demo_files())
    text = plan.read_text("utf-8")
    more = "".join(
        f'[[tree.limb]]\nid = "more-{number}"\nvariety = "Elstar"\n\n' for number in range(3)
    )
    place = text.index("[[tree.limb]]")
    plan.write_text(text[:place] + more + text[place:], "utf-8")
    labels = [one.label for one in warming_courses(studied(plan))]
    assert "more-0, more-1 and 2 more: Elstar" in labels
    assert len(labels) == 8  # as many as before


def test_southern_winters_grow_warmer_too(tmp_path: Path) -> None:
    # The demo's months moved by half a year: the same garden, as far south as it was north.
    plan = write_demo(tmp_path, demo_files())
    text = plan.read_text("utf-8").replace("latitude = 46.4", "latitude = -46.4")
    normals = (
        "[site.normals]\n"
        "tmin_c = [14.4, 14.0, 10.5, 6.9, 2.2, -0.7, -1.8, -1.2, 1.7, 4.8, 8.9, 12.3]\n"
        "tmax_c = [26.5, 25.8, 21.0, 15.2, 8.9, 5.3, 4.6, 6.7, 11.6, 15.8, 20.2, 24.0]\n\n"
    )
    lines = [line for line in text.splitlines(True) if not line.startswith("weather")]
    plan.write_text("".join(lines).replace("[aim]", f"{normals}[aim]"), "utf-8")
    south = studied(plan)
    assert south.warming is not None
    (chart,) = charts_of(south, ["warming"])
    assert overlaps(chart.figure) == cut(chart.figure) == []
    reliability = [row.reliability for row in south.coverage]
    assert south.warming[:, 0].tolist() == pytest.approx(reliability)


def test_typed_dates_have_nothing_to_warm(tmp_path: Path, pollinet) -> None:
    plan = awkward_gardens.written("one limb", tmp_path)
    assert studied(plan).warming is None
    answer = pollinet("chart", plan, "warming", "--out", tmp_path / "out")
    assert answer.code == 0
    assert "No warming: the bloom dates are typed, without weather." in answer.out
    assert list((tmp_path / "out").iterdir()) == []


# --- how it looks ----------------------------------------------------------------------------


def test_only_limbs_that_cross_the_aim_are_drawn() -> None:
    rising = course("rising: D", (0.7, 0.8, 0.9))
    courses = (STEADY, rising, NEVER, FALLING)
    rows = crossing(courses)
    assert rows == [FALLING, rising]  # the first to fall first
    axes = draw_warming(rows, STEPS, 0.8, title="t", steady=(STEADY, NEVER))
    shown = " ".join(words.replace("\n", " ") for words, _, _ in texts(axes.figure))
    assert "Covered at every step: steady: A. Covered at none: never: C." in shown
    assert "not covered from +2 °C" in shown


def test_the_line_goes_from_the_ring_to_the_mark() -> None:
    axes = draw_warming((FALLING,), STEPS, 0.8, title="t")
    (ring,) = [line for line in axes.lines if line.get_marker() == "o"]
    (cross,) = [line for line in axes.lines if line.get_marker() == "X"]
    assert list(ring.get_xdata()) == [9]
    assert list(cross.get_xdata()) == [7]


def test_where_nobody_crosses_a_sentence_says_so() -> None:
    axes = draw_warming((), STEPS, 0.8, title="t", steady=(STEADY, NEVER))
    assert not axes.axison
    shown = " ".join(words.replace("\n", " ") for words, _, _ in texts(axes.figure))
    assert "stays so with all winters 2 °C warmer" in shown
    assert "a trial, not a forecast" in shown


@pytest.mark.parametrize("form", FORMS)
@pytest.mark.parametrize("language", ["en", "de"])
@pytest.mark.parametrize("count", [1, 12])
@pytest.mark.parametrize("name", ["Elstar", awkward_gardens.LONG[0]])
def test_no_text_lies_over_another_or_is_cut(
    count: int, name: str, language: str, form: str
) -> None:
    with speaking(language):
        courses = [course(f"A{n:02d}-low: {name}", (0.95, 0.9, 0.05 * n)) for n in range(count)]
        axes = draw_warming(courses, STEPS, 0.8, title="t", steady=(STEADY,), form=FORMS[form])
        figure = axes.figure
        assert overlaps(figure) == []
        assert cut(figure) == []
        assert figure.get_size_inches()[0] == FORMS[form].width_in
        assert smallest_text(figure) >= 9
