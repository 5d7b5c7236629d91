"""Balance, harvest and the dates of work, against figures worked out outside the program."""

from __future__ import annotations

from dataclasses import replace
from datetime import date, timedelta
from math import isnan

import numpy as np
import pytest
from hypothesis import assume, given
from hypothesis import strategies as st

from pollinet.advice.balance import area_mm2, fruits_to_leave, placement, tree_balance
from pollinet.advice.harvest import (
    PROPERTIES,
    Summer,
    Told,
    carried_day,
    gaps,
    harvests,
    joined_days,
)
from pollinet.advice.observed import Log
from pollinet.advice.rules import split
from pollinet.advice.work import (
    HARVEST_LATER_DAYS,
    LimbDates,
    dated,
    first_bloomers,
    just_over,
    season_of,
    tasks,
    undated_grafts,
)
from pollinet.days import season_start
from pollinet.domain import (
    Aim,
    BloomEvidence,
    Catalogue,
    Fact,
    Fertility,
    Limb,
    Observation,
    PickWindow,
    Plan,
    Records,
    Site,
    Tree,
    Variety,
    VarietyId,
)
from pollinet.readers.advice import advice_tables
from pollinet.readers.catalogue import load_catalogue
from pollinet.summary.work import work_rows

TABLES = advice_tables()
LOAD = TABLES["load"]
BEARS_AFTER = 3
"""Years to the first flowers of a graft on a bearing tree (4-H, Fruit Tree Grafting: 2 to 3)."""


@pytest.mark.parametrize(
    ("diameter", "area", "fruits"),
    # Look-up computed beside the sources: 4 and 6 fruits per cm².
    [
        (10, 0.79, (3, 5)),
        (15, 1.77, (7, 11)),
        (20, 3.14, (13, 19)),
        (25, 4.91, (20, 29)),
        (30, 7.07, (28, 42)),
    ],
)
def test_fruits_by_thickness(diameter: float, area: float, fruits: tuple[int, int]) -> None:
    assert area_mm2(diameter) / 100 == pytest.approx(area, abs=0.005)
    assert fruits_to_leave(diameter, "apple", LOAD) == fruits


def test_no_figure_for_a_fruit_is_said_as_such() -> None:
    assert fruits_to_leave(30, "sweet cherry", LOAD) is None


@given(st.floats(1, 200), st.floats(1, 200))
def test_a_thicker_limb_never_carries_less(one: float, other: float) -> None:
    thin, thick = sorted((one, other))
    a, b = fruits_to_leave(thin, "apple", LOAD), fruits_to_leave(thick, "apple", LOAD)
    assert a is not None and b is not None
    assert a[0] <= b[0] and a[1] <= b[1]


def test_placement() -> None:
    assert placement("high", ["low", "medium"]) == "low"
    assert placement("low", ["high", None]) == "high"
    assert placement("medium", ["medium"]) == "beside"
    assert placement(None, ["high"]) == placement("high", [None]) == "unknown"


A, B = VarietyId("apple", "A"), VarietyId("apple", "B")


def variety(name: VarietyId, *facts: Fact, bloom: float | None = None) -> Variety:
    evidence = () if bloom is None else (
        BloomEvidence("full", bloom, 3, "Somewhere", "offset", "S"),)  # fmt: skip
    return Variety(name, Fertility(name, name.name), bloom=evidence, facts=facts)


def test_strong_and_crowded_limbs_are_flagged_only_where_all_are_measured() -> None:
    limbs = tuple(Limb(x, "t", A) for x in "abc")
    tree = Tree("t", "apple", limbs)
    plan = Plan(Site("here", 47.0), Aim(), (tree,))
    sizes = {"a": 60, "b": 20, "c": 20}
    thick = [Observation(x, "diameter", 2026, None, mm) for x, mm in sizes.items()]
    known = {A: variety(A)}
    found = tree_balance(tree, Log(plan, Records(tuple(thick))), known, TABLES, BEARS_AFTER)
    # Areas 9 : 1 : 1, so the first has 82 % of the wood.
    assert found[0].share == pytest.approx(9 / 11)
    assert [limb.flags for limb in found] == [
        ("summer-prune",), ("crowded-out",), ("crowded-out",)]  # fmt: skip
    found = tree_balance(tree, Log(plan, Records(tuple(thick[:2]))), known, TABLES, BEARS_AFTER)
    assert [(limb.share, limb.flags) for limb in found] == [(None, ())] * 3


def summers(catalogue: Catalogue) -> dict[str, Summer]:
    return {
        place: Summer(site.latitude, tuple(np.add(site.normals.tmin_c, site.normals.tmax_c) / 2))
        for place, site in catalogue.sites.items()
        if site.normals is not None
    }


COOL = (1.0, 1.0, 4.0, 8.0, 12.0, 15.0, 17.0, 17.0, 13.0, 9.0, 4.0, 2.0)
HERE = Summer(47.0, COOL)
WARM = Summer(42.0, tuple(c + 3 for c in COOL))
SOUTH = Summer(-42.0, WARM.means_c[6:] + WARM.means_c[:6])


def test_a_harvest_is_carried_by_the_warmth_of_the_season() -> None:
    # 4 days earlier for each degree; the south has the same weeks half a year on.
    assert carried_day(270, HERE, WARM) == pytest.approx(270 - 12)
    assert carried_day(270, HERE, SOUTH) == pytest.approx(270 - 12 + 182.5)
    assert carried_day(75.5, SOUTH, HERE) == pytest.approx(258 + 12)
    winter_only = Summer(47.0, (1.0, 1.0, 4.0, *[float("nan")] * 9))
    assert isnan(carried_day(270, HERE, winter_only))
    # Months that one of them lacks are left out of both.
    part = Summer(47.0, (*COOL[:5], *[float("nan")] * 7))
    assert carried_day(270, HERE, part) == 270


def test_evidence_on_a_harvest_is_joined() -> None:
    days = Fact("harvest_day", "250", context="Somewhere", source="S")
    places = {"Somewhere": HERE}
    first = variety(A, Fact("harvest_offset_days", "1", context="L"), days)
    other = variety(B, Fact("harvest_offset_days", "10", context="L", source="T"))
    found = harvests([first, other], {}, here=WARM, places=places)
    # B ripens nine days after A in one list.
    assert found[A].day == pytest.approx(238)
    assert found[B].day - found[A].day == pytest.approx(9)
    assert "Somewhere (S)" in found[A].rests_on and "days in L (T)" in found[B].rests_on
    assert harvests([other], {B: 125.0}, here=WARM, places=places) == {}
    assert harvests([other], {}, [first], here=WARM, places=places)[B] == found[B]


def test_without_any_weather_a_harvest_is_carried_by_bloom() -> None:
    one = variety(A, Fact("harvest_day", "250", context="Somewhere", source="S"), bloom=150)
    assert harvests([one], {A: 120.0})[A].day == pytest.approx(250 - 0.6 * 30)
    grown = variety(B, Fact("days_bloom_to_harvest", "100", status="published"))
    found = harvests([grown], {B: 120.0})[B]
    assert (found.day, found.status) == (pytest.approx(220.0), "published")


def test_a_day_that_no_other_place_bears_out_hardly_counts() -> None:
    names = [VarietyId("apple", name) for name in "ABCDEFGH"]
    told = [
        Told(name, place, 240.0 + 5 * number, 9.0, 6.0)
        for number, name in enumerate(names)
        for place in ("one", "two", "three")
    ]
    told[2] = told[2]._replace(day=312.0)  # the end of the season
    days = joined_days(told)
    assert days[names[0]] == pytest.approx(240, abs=3)
    assert [days[name] for name in names[1:]] == pytest.approx(range(245, 280, 5), abs=2)


WELL_KNOWN = {
    # Orders that the trade knows (common practice, no source): the first ripens clearly earlier.
    "apple": [
        ("Discovery", "James Grieve"),
        ("Vista Bella", "Gravenstein"),
        ("James Grieve", "Cox's Orange Pippin"),
        ("Gala", "Golden Delicious"),
        ("McIntosh", "Idared"),
        ("Gravenstein", "Jonagold"),
        ("Elstar", "Golden Delicious"),
        ("Golden Delicious", "Granny Smith"),
        ("Golden Delicious", "Fuji"),
        ("Gala", "Cripps Pink"),
        ("Discovery", "Bramley's Seedling"),
    ],
    "sweet cherry": [("Van", "Regina"), ("Bing", "Sweetheart"), ("Early Rivers", "Regina")],
    "European plum": [("Czar", "Victoria"), ("Opal", "Stanley")],
    "peach": [("Redhaven", "Elberta")],
    "nashi": [("Kosui", "Nijisseiki"), ("Hosui", "Niitaka")],
}


def test_well_known_pairs_ripen_in_their_order() -> None:
    catalogue = load_catalogue(sorted(WELL_KNOWN))[0]
    peers = [
        v for v in catalogue.varieties.values() if any(f.property in PROPERTIES for f in v.facts)
    ]
    found = harvests(peers, {v.id: 115.0 for v in peers}, here=HERE, places=summers(catalogue))
    for fruit, pairs in WELL_KNOWN.items():
        for early, late in pairs:
            one, other = (found[VarietyId(fruit, name)].day for name in (early, late))
            assert one < other - 3, (fruit, early, late)


def window(first: float, context: str, *, here: bool = False) -> PickWindow:
    return PickWindow(first, first + 14, context, "T", "plan" if here else "trade", here)


def test_a_time_of_picking_elsewhere_places_a_variety() -> None:
    days = Fact("harvest_day", "250", context="Somewhere", source="S")
    first = replace(variety(A, days), picking=(window(244, "L"),))
    other = replace(variety(B), picking=(window(251, "L"),))
    places = {"Somewhere": HERE}
    found = harvests([first, other], {}, here=WARM, places=places)
    # A is ripe on day 238 here and picked on 244 there; B is picked a week after it.
    assert (found[A].day, found[B].day) == (pytest.approx(238), pytest.approx(245))
    assert found[B].status == "inferred" and "first pick in L (T)" in found[B].rests_on
    alone = replace(other, picking=(window(251, "Elsewhere"),))
    assert harvests([alone, first], {}, here=WARM, places=places).keys() == {A}
    # What one source says twice, as a day and as the time around it, counts once.
    twice = replace(first, picking=(PickWindow(244, 253, "Somewhere", "S", "published"),))
    assert harvests([twice], {}, here=WARM, places=places)[A].rests_on == (
        harvests([variety(A, days)], {}, here=WARM, places=places)[A].rests_on
    )
    assert harvests([twice, replace(other, picking=(window(251, "Somewhere"),))], {},
                    here=WARM, places=places).keys() == {A}  # fmt: skip


def test_a_time_of_picking_in_the_own_garden_goes_before_all() -> None:
    days = Fact("harvest_day", "250", context="Somewhere", source="S")
    own = replace(
        variety(A, days), picking=(window(210, "own garden", here=True), window(244, "L"))
    )
    other = replace(variety(B), picking=(window(251, "L"),))
    found = harvests([own, other], {}, here=WARM, places={"Somewhere": HERE})
    assert (found[A].day, found[A].status) == (210, "plan")
    assert "your garden" in found[A].rests_on
    # The others follow it: B is picked a week after A, and A is early by itself, or all here are.
    assert 217 <= found[B].day < 238 + 7
    # It needs nothing else; in the south it is in the year after the bloom.
    only = replace(variety(A), picking=(window(60, "own garden", here=True),))
    assert harvests([only], {})[A].day == 60
    assert harvests([only], {A: 275.0})[A].day == 60 + 365
    assert harvests([only], {}, here=SOUTH)[A].day == 60 + 365


def test_gaps_between_harvests() -> None:
    # Each is ripe for fourteen days, so that of b ends on day 224, sixteen days before c.
    assert gaps({"c": 240, "a": 200, "b": 210}) == [("b", "c", 16)]
    # A part of a day is no day without fruit.
    assert gaps({"a": 200, "b": 214.4, "c": 229.4}) == [("b", "c", pytest.approx(1))]


# --- work ----------------------------------------------------------------------------------------

WORK = work_rows()
LIMB = LimbDates("a", "A", "apple", 110, 115, 122, 250)
TODAY = date(2026, 11, 25)


def of(task: str, *limbs: LimbDates, today: date = TODAY):  # type: ignore[no-untyped-def]
    return [t for t in tasks(WORK, limbs, today) if t.task == task]


def test_thinning_is_done_within_forty_days_of_bloom() -> None:
    (thin,) = of("thin", LIMB)
    # Full bloom on day 115 (25 April) and forty days: 4 June.
    assert thin.last == date(2027, 6, 4)
    assert of("thin-biennial", LIMB) == []
    (early,) = of("thin-biennial", replace(LIMB, marks=frozenset({"alternates"})))
    assert early.last == date(2027, 5, 25)  # thirty days


def test_jar_and_hand_are_for_uncovered_limbs_only() -> None:
    assert of("jar", LIMB) == of("hand", LIMB) == []
    poor = replace(LIMB, limb="p", marks=frozenset({"uncovered"}))
    (jar,) = of("jar", LIMB, poor)
    assert jar.limbs == ("p",)
    assert jar.first == date(2027, 4, 20)


def test_what_blooms_before_it_leafs_is_grafted_by_its_leaves() -> None:
    """Hazelnut in bloom in January: grafts go by bud break in spring."""
    hazel = LimbDates("h", "H", "hazelnut", 8, 20, 31, None, frozenset({"graft"}), None, True)
    assert of("graft-dormant", hazel) == of("graft-bark", hazel) == []
    # Its wood is cut in deep winter all the same, whenever it leafs.
    (cut,) = of("cut-scions", hazel)
    assert cut.first <= date(2026, 12, 21) <= cut.last
    assert of("log-bloom", hazel)
    assert undated_grafts([hazel]) == ("hazelnut",)
    noted = replace(hazel, leafing=95.0)
    (bark,) = of("graft-bark", hazel, noted)
    assert bark.first <= date(2027, 4, 5) <= bark.last  # day 95: first leaves
    (scions,) = of("cut-scions", noted)
    assert scions.last < bark.first
    assert undated_grafts([hazel, noted]) == undated_grafts([LIMB]) == ()


@given(st.floats(-200, 500), st.floats(0, 60), st.dates(date(2000, 1, 1), date(2090, 1, 1)))
def test_work_lies_within_a_year(first: float, length: float, today: date) -> None:
    begins, ends = dated(first, first + length, today)
    assert begins <= ends
    assert ends >= today
    assert (ends - today).days <= 366


@given(st.dates(date(2000, 1, 1), date(2090, 1, 1)))
def test_tasks_are_in_order_and_give_a_reason(today: date) -> None:
    found = tasks(WORK, [LIMB], today)
    assert [t.first for t in found] == sorted(t.first for t in found)
    assert all(t.reason and t.source and t.last >= today for t in found)


def test_bloom_round_the_new_year_is_one_season() -> None:
    early = replace(LIMB, start=360, full=364, end=375, harvest=None, marks=frozenset({"graft"}))
    late = replace(early, limb="b", start=5, full=9, end=20)
    found = tasks(WORK, [early, late], date(2026, 11, 1))
    # First bloom 26 December, last 20 January: one span, dated by hand.
    (spray,) = [t for t in found if t.task == "no-sprays"]
    assert (spray.first, spray.last) == (date(2026, 12, 26), date(2027, 1, 20))
    (cut,) = [t for t in found if t.task == "cut-scions"]
    # 105 to 50 days before the first bloom; the day before yesterday's is the next one.
    assert (cut.first, cut.last) == (date(2026, 9, 12), date(2026, 11, 6))
    assert all((t.last - t.first).days < 60 for t in found if t.task != "order-scions")
    other_order = tasks(WORK, [late, early], date(2026, 11, 1))
    assert [(t.task, t.first) for t in other_order] == [(t.task, t.first) for t in found]


def test_no_limb_with_dates_has_no_work() -> None:
    assert tasks(WORK, [], TODAY) == ()


def test_every_caution_of_the_work_is_written() -> None:
    cautions = {row["caution"] for row in advice_tables()["cautions"]} | {""}
    assert {word for row in WORK for word in split(row["caution"])} <= cautions
    assert all(row["source"] and row["status"] for row in WORK)


@given(st.dates(date(2000, 1, 1), date(2090, 1, 1)), st.integers(1, 365), st.booleans())
def test_each_spring_has_its_own_work(today: date, start: int, southern: bool) -> None:
    """The same work a year later is of the next spring; what has just ended is told as over.

    But for bloom about the very day at which a season begins: a leap year moves it over that day.
    """
    edge = season_start(-1.0 if southern else 1.0, 2001).timetuple().tm_yday
    anchors = (start, start + 5, start + 140 - HARVEST_LATER_DAYS)
    assume(all(abs((day - edge + 182) % 365 - 182) > 2 for day in anchors))
    marks = frozenset({"graft", "uncovered", "alternates"})
    limb = replace(LIMB, start=start, full=start + 5, end=start + 12, harvest=start + 140,
                   southern=southern, marks=marks)  # fmt: skip
    found = {(t.task, t.title): t for t in tasks(WORK, [limb], today)}
    later = {(t.task, t.title): t for t in tasks(WORK, [limb], today + timedelta(days=365))}
    assert found.keys() == later.keys()
    assert all(0 <= later[key].season - found[key].season <= 1 for key in found)
    same = [key for key in found if later[key].first == found[key].first]
    assert all(later[key].season == found[key].season for key in same)
    over = just_over(WORK, [limb], today)
    assert all(today - timedelta(days=60) <= task.last < today for task in over)


def test_a_young_limb_takes_part_when_it_flowers() -> None:
    young = replace(LIMB, grafted=2026, flowers_from=2028, crops_from=2029)
    assert {t.task for t in tasks(WORK, [young], TODAY)} == {"ties"}
    second = {t.task for t in tasks(WORK, [young], date(2027, 11, 25))}
    assert {"log-bloom", "frost-watch"} <= second and not {"harvest", "thin", "ties"} & second
    assert first_bloomers([young], 2028) == ("a",)
    assert first_bloomers([young], 2029) == first_bloomers([LIMB], 2028) == ()


@pytest.mark.parametrize(
    ("day", "kind", "southern", "spring"),
    [
        (date(2026, 12, 26), "bloom-start", False, 2027),  # a hazel round the new year
        (date(2027, 1, 20), "bloom-start", False, 2027),
        (date(2027, 11, 5), "harvest", False, 2027),  # a late apple
        (date(2026, 12, 21), "midwinter", False, 2027),
        (date(2027, 9, 20), "full-bloom", True, 2027),
        (date(2028, 3, 20), "harvest", True, 2027),
        (date(2027, 6, 21), "midwinter", True, 2027),
    ],
)
def test_the_spring_of_a_day(day: date, kind: str, southern: bool, spring: int) -> None:
    assert season_of(day, kind, southern=southern) == spring


def test_limbs_that_hardly_grow_or_bear_every_second_year_are_flagged() -> None:
    limbs = tuple(Limb(x, "t", A) for x in "abc")
    tree = Tree("t", "apple", limbs)
    plan = Plan(Site("here", 47.0), Aim(), (tree,))
    shoots = {"a": 3, "b": 30, "c": 30}
    notes = [Observation(x, "shoots", 2026, None, cm) for x, cm in shoots.items()]
    crops = {2022: 80, 2023: 2, 2024: 90, 2025: 1, 2026: 85}
    notes += [Observation("b", "fruits", year, None, n) for year, n in crops.items()]
    notes += [Observation("c", "fruits", year, None, 80) for year in crops]
    found = tree_balance(
        tree, Log(plan, Records(tuple(notes))), {A: variety(A)}, TABLES, BEARS_AFTER
    )
    flags = {limb.limb: limb.flags for limb in found}
    assert flags == {"a": ("grows-little",), "b": ("alternates",), "c": ()}
    # Two crops are too few to tell.
    few = [note for note in notes if note.kind == "shoots" or note.year >= 2025]
    found = tree_balance(tree, Log(plan, Records(tuple(few))), {A: variety(A)}, TABLES, BEARS_AFTER)
    assert [limb.flags for limb in found] == [("grows-little",), (), ()]
