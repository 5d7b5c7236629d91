"""From log, weather and pollen to measures: what is known, and what stays unknown."""

from __future__ import annotations

from dataclasses import replace
from datetime import date
from itertools import pairwise

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from pollinet.advice.computed import (
    Site,
    against_winters,
    computed,
    frost_kill,
    noted_bloom,
    stage_on,
)
from pollinet.advice.observed import Log, alternation, full_crop_share, observed
from pollinet.advice.rules import Measure
from pollinet.domain import (
    Aim,
    Fact,
    Fertility,
    Limb,
    NetworkInput,
    Node,
    Observation,
    Plan,
    Records,
    Tree,
    Variety,
    VarietyId,
    Verdict,
    Winters,
)
from pollinet.domain import Site as Place
from pollinet.readers.advice import advice_tables

A, B = VarietyId("apple", "A"), VarietyId("apple", "B")
LIMBS = (Limb("a", "t", A, 2020), Limb("b", "t", B))
PLAN = Plan(Place("here", 47.0), Aim(), (Tree("t", "apple", LIMBS),))


def variety(name: VarietyId, ploidy: int | None = 2, **facts: str) -> Variety:
    return Variety(name, Fertility(name, name.name, ploidy=ploidy),
                   facts=tuple(Fact(k, v) for k, v in facts.items()))  # fmt: skip


def seen(kind: str, number: float | None = None, of: int | None = None, **more) -> Observation:  # type: ignore[no-untyped-def]
    values = {"limb": "a", "year": 2026, "number": number, "of": of, **more}
    return Observation(kind=kind, **values)


def known(*notes: Observation, ploidy: int | None = 2, **facts: str):  # type: ignore[no-untyped-def]
    varieties = {A: variety(A, ploidy, **facts), B: variety(B)}
    return observed(Log(PLAN, Records(notes)), LIMBS[0], 2026, varieties, advice_tables())


def test_an_empty_log_knows_the_graft_alone() -> None:
    assert set(known()) == {"years_to_bearing", "years_past_bearing"}
    # Apple bears two to five years after planting (UConn); this graft is six years old.
    assert known()["years_past_bearing"].value == 1


def test_seeds_of_a_triploid_or_a_seedless_fruit_are_no_lack() -> None:
    assert known(seen("seeds", 3.0))["seeds_low"].value == 1
    for measures in (
        known(seen("seeds", 3.0), ploidy=3),
        known(seen("seeds", 3.0), ploidy=None),
        known(seen("seeds", 3.0), parthenocarpy="yes"),
    ):
        assert "seeds_low" not in measures
        assert measures["seeds"].value == 3


def test_flowers_cut_in_winter_are_buds() -> None:
    found = known(seen("dead", 10, 20, day=date(2026, 2, 1)), seen("dead", 1, 20,
                  day=date(2026, 4, 20)))  # fmt: skip
    assert (found["dead_buds"].value, found["dead_share"].value) == (0.5, 0.05)


def test_looking_for_disease_and_finding_none_is_known() -> None:
    assert known(seen("disease", word="none"))["ooze"].value == 0
    assert known(seen("disease", word="ooze"))["ooze"].value == 1
    assert "ooze" not in known()


def test_a_trial_in_the_log_is_judged_by_fishers_test() -> None:
    # 2 open against 9 by hand is the published limit of the decision table, 8 is not shown.
    shown = known(seen("open", 2, 20), seen("hand", 9, 20))
    not_shown = known(seen("open", 2, 20), seen("hand", 8, 20))
    assert shown["hand_better"].value == 1
    assert not_shown["hand_better"].value == 0
    assert not_shown["hand_no_gain"].value == 0  # eight of twenty is a good set, not a failure


def test_forced_shoots_are_compared_with_other_limbs_only() -> None:
    mine = seen("forced", 2, 30)
    assert "forced_worse" not in known(mine)
    assert known(mine, replace(seen("forced", 25, 30), limb="b"))["forced_worse"].value == 1


def test_drop_after_a_good_first_set() -> None:
    found = known(seen("first-set", 20, 40), seen("set", 1, 40))
    assert found["set_lost"].value == 1
    assert "set_lost" not in known(seen("set", 1, 40))


@given(st.lists(st.integers(0, 300), min_size=2, max_size=9))
def test_alternation_lies_between_even_and_every_second_year(crops: list[int]) -> None:
    index, pairs = alternation(dict(enumerate(crops)))
    if any(a + b for a, b in pairwise(crops)):
        assert 0 <= index <= 1
        assert pairs <= len(crops) - 1
    else:
        assert np.isnan(index)


def test_alternation_by_hand() -> None:
    assert alternation({1: 100, 2: 0, 3: 100}) == (1.0, 2)
    assert alternation({1: 50, 2: 50})[0] == 0
    assert alternation({1: 90, 3: 90})[1] == 0  # no two years follow each other


def test_a_full_crop_is_a_fifth_of_the_apple_clusters() -> None:
    # 4 % of the flowers (garden column of 2000), five flowers in a cluster.
    assert full_crop_share("apple", advice_tables()["set"]) == pytest.approx(0.2)


@pytest.mark.parametrize(("low", "kill"), [(-2.2, 0.1), (-3.9, 0.9), (-1.0, 0.0), (-6.0, 1.0)])
def test_frost_meets_the_published_points(low: float, kill: float) -> None:
    # Apple in bloom, 30 minutes: 10 % at 28 °F, 90 % at 25 °F (Penn State, WSU EB0419).
    assert frost_kill(low, -2.2, -3.9) == pytest.approx(kill)


def test_stages_by_day() -> None:
    assert [stage_on(day, 100, 105, 112) for day in (80, 88, 97, 106, 118, 120)] == [
        "", "tight cluster", "start", "full", "full", "",
    ]  # fmt: skip


# --- weather and pollen ------------------------------------------------------------------------


def site(*, generated: bool = False, answer: str = "yes", shift: float = 0.0) -> Site:
    hourly = np.full((1, 304 * 24), 15.0)
    hourly[0, 200 * 24 + 5] = -3.2
    winters = Winters((2026,), (date(2025, 10, 1),), hourly, generated=generated)
    opens = np.array([[197.0], [197.0 + shift]]) * 24
    ends = opens + 240
    verdict = Verdict(B, A, answer, None, 0.5, "triploid-pollen" if answer == "no" else "x")  # type: ignore[arg-type]
    network = NetworkInput(
        (Node("a", "limb", A, "A", "t"), Node("b", "limb", B, "B", "t")),
        opens, ends, opens, ends, {(1, 0): verdict}, np.ones((2, 2)),
        np.full((2, 1), 0.3), np.full((2, 1), 0.1), Aim(),
    )  # fmt: skip
    return Site(network, winters, 47.0, 0, chill_known=True)


LIMITS = {"apple": {"start": (-2.2, -3.9), "full": (-2.2, -3.9)}}


def with_chill(place: Site, *quality: float) -> Site:
    """The same in so many draws, the limb's chill of each told."""
    network, draws = place.network, len(quality)
    wide = {
        name: np.repeat(getattr(network, name), draws, axis=1)
        for name in ("open_start_h", "open_end_h", "shed_start_h", "shed_end_h", "flight_share")
    }
    chill = np.array([quality, np.ones(draws)])
    return replace(place, network=replace(network, **wide, chill_quality=chill))


def measured(place: Site, *notes: Observation):  # type: ignore[no-untyped-def]
    return computed(place, LIMBS[0], 2026, variety(A), Records(notes), LIMITS)


def test_a_measured_year_tells_frost_heat_chill_and_flight() -> None:
    found = measured(site())
    assert 0.5 < found["frost_kill"].value < 0.65  # -3.2 between -2.2 (10 %) and -3.9 (90 %)
    assert found["bloom_heat"].value == 15
    assert found["chill_quality"].value == pytest.approx(0.3)
    assert found["flight"].value == pytest.approx(0.1)
    assert found["open_partner"].value == 1


def test_generated_winters_tell_nothing_of_a_year() -> None:
    found = measured(site(generated=True))
    assert not {"frost_kill", "bloom_heat", "chill_quality", "flight"} & set(found)
    mild = Observation("all", "frost", 2026, date(2026, 4, 18), -1.0)
    assert "frost_kill" not in measured(site(generated=True), mild)
    hard = replace(mild, number=-3.2)
    assert measured(site(generated=True), hard)["frost_kill"].value > 0.5


def test_partners_by_bloom_and_pollen() -> None:
    assert measured(site(shift=30))["open_partner"].value == 0
    assert "refused_only" not in measured(site(shift=30))
    assert measured(site(answer="no"))["bad_pollen_only"].value == 1
    assert measured(site())["bad_pollen_only"].value == 0
    unknown = measured(site(answer="unknown"))
    assert not {"refused_only", "bad_pollen_only"} & set(unknown)


def test_own_dates_say_which_stage_a_frost_met() -> None:
    late = Observation("a", "stage", 2026, date(2026, 5, 25), word="start")
    ends = Observation("a", "stage", 2026, date(2026, 6, 4), word="end")
    full = Observation("a", "stage", 2026, date(2026, 5, 29), word="full")
    assert measured(site(), late, full, ends)["frost_kill"].value < 0.1


def chilled(place: Site) -> Site:
    return replace(place, network=replace(place.network, chill_quality=np.ones((2, 1))))


def test_an_accepted_partner_in_bloom_and_none_where_it_cannot_be_said() -> None:
    for answer, shift, chance in (("yes", 0, 1), ("half", 0, 1), ("no", 0, 0), ("yes", 30, 0)):
        found = measured(chilled(site(answer=answer, shift=shift)))
        assert found["good_partner"].value == chance, (answer, shift)
    assert "good_partner" not in measured(chilled(site(answer="unknown")))
    assert measured(chilled(site(answer="unknown", shift=30)))["good_partner"].value == 0
    # Its own lack of chill is another cause.
    assert "good_partner" not in measured(site())


def test_chill_is_enough_where_the_whole_requirement_is_met() -> None:
    place = with_chill(site(), 1.0, 0.6, 1.0, 0.2)
    assert measured(place)["chill_usual"].value == 0.5
    assert measured(place)["chill_quality"].value == pytest.approx(0.7)
    # Drawn from the range of its fruit it tells what is usual, and nothing of one winter.
    drawn = measured(replace(place, chill_known=False, chill_drawn=True))
    assert drawn["chill_usual"].value == 0.5
    assert "chill_quality" not in drawn
    assert "chill_usual" not in measured(replace(place, chill_known=False))


# --- unknown, and own notes -----------------------------------------------------------------------


def undated(place: Site) -> Site:
    hours = np.full((2, 1), np.nan)
    network = replace(
        place.network, open_start_h=hours, open_end_h=hours, shed_start_h=hours, shed_end_h=hours,
        flight_share=np.zeros((2, 1)),
    )  # fmt: skip
    return replace(place, network=network)


def stage(word: str, day: date, limb: str = "a") -> Observation:
    return Observation(limb, "stage", 2026, day, word=word)


def test_a_limb_without_bloom_dates_is_told_nothing_of_bees() -> None:
    # Flight outside of any bloom is kept as 0 in the arrays: no bloom is not no bees.
    assert "flight" not in measured(undated(site()))
    assert "flight" not in measured(undated(site()), stage("start", date(2026, 4, 20)))


def test_noted_bloom_gives_bee_weather_and_partners() -> None:
    notes = [stage("start", date(2026, 4, 20)), stage("end", date(2026, 4, 30))]
    found = measured(undated(site()), *notes)
    # 15 °C all the time: 0.21 + (15 - 12.2) / 5 * 0.41 of full flight (WSU, honey bees).
    assert found["flight"].value == pytest.approx(0.4396, abs=0.01)
    assert found["bloom_heat"].value == 15
    both = [*notes, stage("start", date(2026, 4, 22), "b"), stage("end", date(2026, 5, 1), "b")]
    assert measured(undated(site()), *both)["open_partner"].value == 1
    apart = [*notes, stage("start", date(2026, 5, 3), "b"), stage("end", date(2026, 5, 9), "b")]
    assert measured(undated(site()), *apart)["open_partner"].value == 0


def test_stages_not_noted_follow_from_those_that_were() -> None:
    nan = float("nan")
    assert noted_bloom({"start": 100, "end": 110}, nan, nan) == (100, 104, 110)
    assert noted_bloom({"start": 100, "full": 104}, nan, nan) == (100, 104, pytest.approx(110))
    assert noted_bloom({"full": 104}, 200, 210) == (100, 104, 110)
    assert all(np.isnan(noted_bloom({"full": 104}, nan, nan)[::2]))
    assert all(np.isnan(noted_bloom({}, 200, 210)))


def test_a_year_is_compared_with_the_other_winters_of_the_record() -> None:
    place = site()
    flight = np.array([[0.1, 0.2, 0.3, 0.4, 0.05, 0.6, 0.7]] * 2)
    opens = np.full((2, 7), 4700.0)
    network = replace(
        place.network, open_start_h=opens, open_end_h=opens + 240, shed_start_h=opens,
        shed_end_h=opens + 240, flight_share=flight, chill_quality=np.ones((2, 7)), winters=7,
    )  # fmt: skip
    winters = replace(place.winters, starts=tuple(date(y, 10, 1) for y in range(2025, 2032)),
                      harvest_years=tuple(range(2026, 2033)))  # fmt: skip
    place = replace(place, network=network, winters=winters)
    (found,) = against_winters(place, 2026, {"flight": Measure(0.1)})
    # By hand: of 0.05, 0.2, 0.3, 0.4, 0.6 and 0.7 the median is 0.35; one is less than 0.1.
    assert (found.usual, found.others, found.below) == (pytest.approx(0.35), 6, 1)
    assert against_winters(site(), 2026, {"flight": Measure(0.1)}) == ()


def test_shoots_are_set_beside_those_of_the_other_limbs_of_the_same_year() -> None:
    mine, beside = seen("shoots", 12.0), seen("shoots", 40.0, limb="b")
    assert "shoots_against_others" not in known(mine)
    assert "shoots_against_others" not in known(mine, replace(beside, year=2025))
    assert known(mine, beside)["shoots_against_others"].value == pytest.approx(0.3)


def test_straggling_bloom_is_as_noted() -> None:
    assert "straggling" not in known()
    assert known(seen("flowers-habit", word="straggling"))["straggling"].value == 1
    assert known(seen("flowers-habit", word="normal"))["straggling"].value == 0


def test_fruits_picked_tell_the_set_where_it_was_not_counted() -> None:
    # An apple keeps one fruit a cluster: 5 of 100 clusters at most have borne, 20 are a full crop.
    few = known(seen("clusters", 100.0), seen("fruits", 5.0))
    assert few["set_ratio"].value == pytest.approx(0.05 / 0.2)
    assert few["set_low_p"].value < 0.001
    # More fruits than clusters: each has borne one.
    many = known(seen("clusters", 100.0), seen("fruits", 150.0))
    assert many["set_ratio"].value == pytest.approx(1 / 0.2)
    assert many["set_low_p"].value == pytest.approx(1)
    counted = known(seen("clusters", 100.0), seen("fruits", 5.0), seen("set", 10, 40))
    assert counted["set_ratio"].value == pytest.approx(0.25 / 0.2)


def test_bags_are_set_beside_what_was_left_open() -> None:
    alike = known(seen("bagged", 8, 20), seen("open", 9, 20))["bagged_like_open"]
    assert (alike.value, alike.sample) == (1, 20)
    # None of 20 in bags and 12 of 30 left open: the difference is shown (Fisher, p < 0.001).
    apart = known(seen("bagged", 0, 20), seen("open", 12, 30))["bagged_like_open"]
    assert (apart.value, apart.sample) == (0, 20)
    # More in the bags is no sign that insects are needed.
    assert known(seen("bagged", 20, 20), seen("open", 1, 20))["bagged_like_open"].value == 1
    assert "bagged_like_open" not in known(seen("bagged", 8, 20))


def test_its_own_pollen_is_a_partner_whoever_else_is_open() -> None:
    own = Verdict(A, A, "yes", 1.0, 1.0, "self-fertile")
    place = site(answer="no", shift=30)
    network = replace(place.network, verdicts={**place.network.verdicts, (0, 0): own})
    found = measured(replace(place, network=network))
    assert [found[x].value for x in ("open_partner", "refused_only", "bad_pollen_only")] == [
        1,
        0,
        0,
    ]
    refused = replace(place.network, verdicts={**place.network.verdicts,
                                               (0, 0): replace(own, answer="no")})  # fmt: skip
    assert measured(replace(place, network=refused))["open_partner"].value == 0


def test_days_of_receptive_flowers_are_the_mean_of_what_is_published() -> None:
    periods = tuple(Fact("effective_pollination_period", x) for x in ("3", "5.5"))
    told = replace(variety(A), facts=periods)
    found = computed(site(), LIMBS[0], 2026, told, Records(()), LIMITS)
    assert found["receptive_days"].value == pytest.approx(4.25)
    assert "receptive_days" not in measured(site())
