"""What the strips show, against gardens worked out by hand; how they may stand in any page.

O1 of `test_chart_contents.py` is written out here again: T and D1 share 20 to 28 April.
"""

from __future__ import annotations

import re
import subprocess
import sys
from dataclasses import fields
from datetime import date
from itertools import pairwise
from pathlib import Path
from xml.etree import ElementTree

import awkward_gardens
import pytest
from gardens import saved, studied
from hypothesis import given
from hypothesis import strategies as st

from pollinet import strips
from pollinet.answers.check import check_of
from pollinet.answers.donors import look
from pollinet.charts.style import GARDEN, GREYS
from pollinet.demo import demo_files, write_demo
from pollinet.language import short_date, speaking
from pollinet.strips.drawing import Axis
from pollinet.study import Study
from pollinet.summary.spring import garden_spring, winter_spring
from pollinet.summary.suits import garden_pickings

EXACT = "bloom_sd_days = 0\n"


def study_of(body: str, folder: Path) -> Study:
    head = awkward_gardens.HEAD.format(site='"x"', latitude=46)
    return studied(saved(folder, head + body))


@pytest.fixture(scope="module")
def demo(tmp_path_factory: pytest.TempPathFactory) -> Study:
    return studied(write_demo(tmp_path_factory.mktemp("demo"), demo_files()))


@pytest.fixture
def pair(tmp_path: Path) -> Study:
    """T blooms from 18 to 28 April (days 108 to 118), D from 20 April to 3 May (110 to 123)."""
    body = (
        awkward_gardens.tree([("t", "T"), ("d", "D")])
        + awkward_gardens.variety("T", "S1S2", (108, 118))
        + EXACT
        + awkward_gardens.variety("D", "S3S4", (110, 123))
        + EXACT
    )
    return study_of(body, tmp_path)


def all_strips(study: Study) -> dict[str, str]:
    spring, first = garden_spring(study), study.plan.limbs[0].id
    return {
        "calendar": strips.calendar_strip(spring),
        "chosen": strips.calendar_strip(spring, chosen=first),
        "limb": strips.limb_strip(strips.limb_spring(study, look(study, 0))),
        "winters": strips.winters_strip(check_of(study)),
        "harvest": strips.harvest_strip(garden_pickings(study), 11),
        "chill": strips.chill_strip([strips.Tenths("A", 0.65, True)]),
    }


def tree(strip: str) -> ElementTree.Element:
    """The strip as a tree of elements: HTML of ours is well-formed XML but for one name."""
    return ElementTree.fromstring(f"<main>{strip.replace('&nbsp;', ' ')}</main>")


def rows_of(strip: str) -> list[ElementTree.Element]:
    return [row for row in tree(strip).iter("div") if row.get("class", "").split()[:1] == ["row"]]


def words(element: ElementTree.Element | None) -> str:
    return "" if element is None else " ".join("".join(element.itertext()).split())


def row_named(strip: str, name: str) -> ElementTree.Element:
    return next(row for row in rows_of(strip) if name in words(row.find("div")))


def share(text: str | None) -> float:
    return float((text or "").removesuffix("%"))


def drawn(row: ElementTree.Element, kind: str) -> list[ElementTree.Element]:
    return [one for one in row.iter() if one.get("class") == kind]


# --- in any page ---------------------------------------------------------------------------------


@pytest.mark.parametrize("name", ["demo", *awkward_gardens.GARDENS])
def test_any_page_may_hold_them(name: str, demo: Study, tmp_path: Path) -> None:
    study = demo if name == "demo" else studied(awkward_gardens.written(name, tmp_path))
    for strip in all_strips(study).values():
        # A content security policy of 'self' refuses styles in attributes, scripts and fetches.
        assert not re.search(r"\sstyle=|\sid=|<script|\son\w+=|href|url\(", strip)
        for element in tree(strip).iter("svg"):
            if element.get("class"):
                told = element.find("title")
                assert element.get("aria-hidden") == "true" or (
                    element.get("role") == "img" and told is not None and words(told)
                )
        # Places are in percent of the width, and lie within it.
        for at in re.findall(r' (?:x|x1|x2)="([\d.]+)%"', strip):
            assert 0 <= float(at) <= 100
        for begin, width in re.findall(r' x="([\d.]+)%" width="([\d.]+)%"', strip):
            assert float(begin) + float(width) <= 100.01


def test_names_are_escaped(tmp_path: Path) -> None:
    study = studied(awkward_gardens.written("foreign names", tmp_path))
    for kind in ("calendar", "chosen", "limb", "winters"):
        strip = all_strips(study)[kind]
        assert "<b>" not in strip
        assert "Cox <b>&\"$x_1$' {{ 7*7 }}" in words(tree(strip))


def test_matplotlib_is_not_needed() -> None:
    code = "import sys, pollinet.strips; sys.exit('matplotlib' in sys.modules)"
    subprocess.run([sys.executable, "-c", code], check=True, timeout=60)


# --- what they show ------------------------------------------------------------------------------


def test_a_bar_spans_the_days_in_bloom(pair: Study) -> None:
    spring = garden_spring(pair)
    strip = strips.calendar_strip(spring)
    first, last = spring.window
    per_day = 100 / (last - first)
    bars = {name: drawn(row_named(strip, name), "bloom")[0] for name in ("T · t", "D · d")}
    # 108 to 118 are eleven days, both counted, 110 to 123 fourteen.
    assert share(bars["T · t"].get("width")) == pytest.approx(11 * per_day, abs=0.02)
    assert share(bars["D · d"].get("width")) == pytest.approx(14 * per_day, abs=0.02)
    later = share(bars["D · d"].get("x")) - share(bars["T · t"].get("x"))
    assert later == pytest.approx(2 * per_day, abs=0.02)
    title = words(row_named(strip, "T · t").find("svg/title"))
    # The 108th day of a year without leap day is 18 April, the 118th 28 April.
    assert "18 Apr to 28 Apr" in title


def test_days_shared_with_a_limb_are_filled_and_counted(pair: Study) -> None:
    strip = strips.calendar_strip(garden_spring(pair), chosen="t")
    (shared,) = drawn(row_named(strip, "D · d"), "shared")
    (own,) = drawn(row_named(strip, "T · t"), "frame")
    assert words(row_named(strip, "D · d").find("div[@class='told']")) == "9 days"
    assert share(shared.get("width")) == pytest.approx(9 / 11 * share(own.get("width")), abs=0.03)
    end = share(own.get("x")) + share(own.get("width"))
    assert share(shared.get("x")) + share(shared.get("width")) == pytest.approx(end, abs=0.03)
    assert "shared with the framed limb" in strip


def test_a_try_out_shows_where_a_bar_stood(demo: Study) -> None:
    before = garden_spring(demo)
    after = garden_spring(demo.with_limb("C-mid", variety="Kordia"))
    strip = strips.calendar_strip(after, before=before)
    moved = {words(row.find("div")): drawn(row, "before") for row in rows_of(strip)}
    assert [name for name, found in moved.items() if found] == ["● Kordia · C-mid (sure)"]
    # The old bar stands on the same axis as the new one: as wide a window holds both.
    old = next(row for row in before.rows if "C-mid" in row.ids).span
    assert old is not None
    first = min(before.window[0], after.window[0])
    last = max(before.window[1], after.window[1])
    (outline,) = next(found for found in moved.values() if found)
    assert share(outline.get("x")) == pytest.approx(
        100 * (old.start - first) / (last - first), abs=0.01
    )
    # The rows keep their order, so that one bar alone moves.
    order = [limb for row in strips.calendar.in_old_order(after.rows, before.rows)
             for limb in row.ids]  # fmt: skip
    assert order == [limb for row in before.rows for limb in row.ids]


def test_one_winter_shows_the_usual_bloom_behind(demo: Study) -> None:
    assert demo.winters is not None
    spring = winter_spring(demo, demo.winters.harvest_years[3])
    assert spring is not None
    strip = strips.calendar_strip(spring)
    rows = [row for row in rows_of(strip) if drawn(row, "bloom") or drawn(row, "lacking")]
    assert rows and all(drawn(row, "before") for row in rows)
    assert "usual bloom" in strip
    assert winter_spring(demo, 1800) is None


def test_a_limb_lacking_a_donor_is_dark_and_said_to(demo: Study) -> None:
    strip = strips.calendar_strip(garden_spring(demo))
    row = row_named(strip, "Regina")
    assert drawn(row, "lacking") and not drawn(row, "bloom")
    assert words(row.find("div")) == "✕ Regina · C-mid (lacks a donor)"
    assert len(re.findall(r'class="lacking"', strip)) == 2  # the bar, and the key


def test_one_limb_and_all_that_might_serve_it(demo: Study) -> None:
    nodes = demo.network.nodes
    place = next(i for i, node in enumerate(nodes) if node.id == "C-mid")
    spring = strips.limb_spring(demo, look(demo, place))
    strip = strips.limb_strip(spring)
    kinds = {one.label.split(" · ")[0]: one.kind for one in spring.beside}
    # Regina is S1S3, as Van and Black Star are; Garnet and the wood at hand are not.
    assert kinds == {
        "Garnet": "donor", "Kordia": "could be grafted", "Lambert": "could be grafted",
        "Sam": "could be grafted", "Van": "no donor", "Black Star": "no donor",
    }  # fmt: skip
    for refused in ("Van", "Black Star"):
        row = row_named(strip, refused)
        assert words(row.find("div[@class='told']")) == "refused S1S3"
        assert not drawn(row, "shared")
    assert words(row_named(strip, "Garnet").find("div[@class='told']")).endswith("half its pollen")
    # Its own days are the pale band through every row of bars.
    rows = [row for row in rows_of(strip) if "scale" not in row.get("class", "")]
    assert len({(band.get("x"), band.get("width")) for row in rows
                for band in drawn(row, "band")}) == 1  # fmt: skip
    assert all(drawn(row, "band") for row in rows)


def test_winters_are_ten_squares(demo: Study) -> None:
    check = check_of(demo)
    strip = strips.winters_strip(check)
    for limb in check.limbs:
        row = row_named(strip, limb.id)
        squares = [one.get("class") for one in row.iter("rect")]
        assert len(squares) == 10
        assert squares.count("leaf") == int((limb.winters_expected or 0) * 10 + 1e-6)
        assert ("lacking" in squares) == (limb.verdict == "lacking")
    assert len(rows_of(strips.winters_strip(check, limbs=["C-mid"]))) == 1


@given(st.floats(0, 1), st.floats(0, 1), st.booleans())
def test_squares_are_always_ten_in_order(share: float, possible: float, needs: bool) -> None:
    squares = strips.Tenths("x", share, needs, max(share, possible)).squares
    assert len(squares) == 10
    ranks = {"leaf": 0, "may": 1, "behind": 2, "lacking": 2}
    assert squares == sorted(squares, key=lambda square: ranks[square])
    assert ("lacking" in squares) <= needs


def test_harvest_is_told_by_date_and_what_is_not_known_by_name(demo: Study) -> None:
    pickings = garden_pickings(demo)
    strip = strips.harvest_strip(pickings, 11)
    for picking in pickings:
        told = words(row_named(strip, picking.label).find("div[@class='told']"))
        assert picking.day is not None and told == short_date(round(picking.day))
    assert "± 11 days" in strip
    unknown = [strips.harvest.Picking("A", 200.0), strips.harvest.Picking("B", None)]
    assert "Not known: B." in strips.harvest_strip(unknown, 11)


def test_they_speak_german(demo: Study) -> None:
    with speaking("de"):
        found = all_strips(demo)
    for strip in found.values():
        told = words(tree(strip))
        assert not re.search(r"winter with|in bloom|shared with|not known|\bdays?\b", told)
    assert "Apr." in found["calendar"]


@given(st.integers(0, 300), st.integers(20, 200))
def test_dates_stand_apart_and_within_the_axis(first: int, days: int) -> None:
    axis = Axis(first, first + days, date(2001, 1, 1))
    places = [axis.at(tick) for tick in axis.ticks]
    assert places
    assert all(0 <= place <= 80 for place in places)
    # A date is some 45 pixels of the 238 that the narrowest strip has beside words.
    assert all(later - place >= 100 * 45 / 238 for place, later in pairwise(places))


# --- the style sheet -----------------------------------------------------------------------------


def palettes() -> dict[str, dict[str, str]]:
    """The custom properties in light, dark and print."""
    found = re.findall(r"(@media[^{]*)?\{?\s*:root \{(.*?)\}", strips.style_sheet(), re.DOTALL)
    names = ("light", "dark", "print")
    return {
        name: dict(re.findall(r"--([\w-]+): (#\w+)", rules))
        for name, (_media, rules) in zip(names, found, strict=True)
    }


def luminance(colour: str) -> float:
    """Relative luminance, WCAG 2.2."""
    parts = [int(colour[i : i + 2], 16) / 255 for i in (1, 3, 5)]
    linear = [x / 12.92 if x <= 0.04045 else ((x + 0.055) / 1.055) ** 2.4 for x in parts]
    return 0.2126 * linear[0] + 0.7152 * linear[1] + 0.0722 * linear[2]


def contrast(one: str, other: str) -> float:
    """Contrast ratio, WCAG 2.2."""
    low, high = sorted((luminance(one), luminance(other)))
    return (high + 0.05) / (low + 0.05)


def test_colours_are_those_of_the_charts() -> None:
    for name, inks in (("light", GARDEN), ("print", GREYS)):
        told = palettes()[name]
        for ink in fields(inks):
            if ink.name in told:
                assert told[ink.name] == getattr(inks, ink.name), (name, ink.name)
    assert {"ink", "attention", "bloom", "soft", "accent", "leaf"} <= set(palettes()["light"])


@pytest.mark.parametrize("name", ["light", "dark", "print"])
def test_words_are_legible_and_attention_stands_out(name: str) -> None:
    told = palettes()[name]
    paper = told["paper"]
    # 4.5 to 1 for words, 3 to 1 for what is drawn: WCAG 2.2, 1.4.3 and 1.4.11.
    for ink in ("ink", "quiet", "attention", "accent" if name != "print" else "ink"):
        assert contrast(told[ink], paper) >= 4.5, ink
    for ink in ("attention", "accent", "leaf", "wood", "frost"):
        assert contrast(told[ink], paper) >= 3, ink
    # Blossom has 2.9 to 1 on white: its dates stand in words beside it.
    assert contrast(told["bloom"], paper) >= 2.9
    steps = [contrast(told[ink], paper) for ink in ("attention", "bloom", "soft")]
    assert steps == sorted(steps, reverse=True)
    assert steps[0] >= 2 * steps[1]


def test_every_look_has_its_rule(demo: Study) -> None:
    sheet = strips.style_sheet()
    used = {kind for strip in all_strips(demo).values()
            for text in re.findall(r'class="([^"]+)"', strip) for kind in text.split()}  # fmt: skip
    loose = {"calendar", "limb", "harvest", "row", "picked", "scale", "date"}
    for kind in used - loose:
        if not kind.startswith("of-"):
            assert re.search(rf"\.{kind}\b", sheet), kind
