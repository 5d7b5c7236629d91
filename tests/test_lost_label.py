"""A limb without a label: a shortlist by what was seen, never a name."""

from __future__ import annotations

import csv
from collections.abc import Callable, Mapping, Sequence
from pathlib import Path
from typing import Any

import numpy as np
import pytest
from gardens import studied
from hypothesis import given
from hypothesis import strategies as st

from pollinet.advice.label import (
    CLOSE,
    FITS,
    SELFED,
    Fit,
    SeenDay,
    bagged_likelihood,
    cross_likelihood,
    day_likelihood,
    fitting,
    joint_shares,
    parting,
)
from pollinet.answers.lost_label import lost_label_of
from pollinet.domain import VarietyId
from pollinet.readers.catalogue import load_catalogue
from pollinet.study import Study, open_study
from pollinet.summary.lost_label import Asked, Label, _tests, label_of, unknown_limb
from pollinet.summary.named import varieties_named

Run = Callable[..., Any]

PLAN = """
[site]
latitude = 46.4
longitude = 7.2
elevation_m = 420
[[tree]]
id = "cherry"
species = "sweet cherry"
[[tree.limb]]
id = "known"
variety = "Van"
[[tree.limb]]
id = "late"
variety = "Regina"
[[tree.limb]]
id = "lost"
variety = "{name}"
"""

LOG = "date,limb,kind,value\n"


def opened(folder: Path, *notes: str, name: str = "?") -> Study:
    (folder / "plan.toml").write_text(PLAN.format(name=name), encoding="utf-8")
    if notes:
        (folder / "records.csv").write_text(LOG + "\n".join(notes) + "\n", encoding="utf-8")
    return studied(folder / "plan.toml")


def bloom_notes(later: int, springs: int = 3) -> list[str]:
    """Full bloom of the lost limb so many days after that of Van."""
    years = range(2018, 2018 + springs)
    return [
        note
        for year in years
        for note in (
            f"{year}-04-15,known,stage,full",
            f"{year}-04-{15 + later:02d},lost,stage,full",
        )
    ]


def looked(study: Study, **asked: Any) -> Label:
    limb, _problems = unknown_limb(study, "lost")
    assert limb is not None
    label, problems = label_of(study, limb, Asked(**asked))
    assert label is not None, problems
    return label


def names(label: Label) -> list[str]:
    return [one.variety.id.name for one in label.candidates]


# --- the sums ------------------------------------------------------------------------------------


def test_a_day_is_as_likely_as_the_normal_law_says() -> None:
    # One draw and winter; 0.95 of the density of the standard normal at 1, 0.2420 (Abramowitz and
    # Stegun 1964, table 26.1), halved by an SD of 2, and 0.05 spread over 60 days.
    look = SeenDay(np.array([[[10.0]], [[np.nan]]]), 12.0, 2.0)
    assert day_likelihood([look]) == pytest.approx(
        [0.95 * 0.24197 / 2 + 0.05 / 60, 0.05 / 60], rel=1e-4
    )


def test_what_is_not_known_of_a_variety_is_the_same_in_all_springs() -> None:
    # Two draws, one right and one 30 days off. Twice right speaks for the right draw both times;
    # a variety that is right every other spring by chance would be far less likely.
    steady = SeenDay(np.array([[[0.0], [30.0]]]), 0.0, 1.0)
    changing = SeenDay(np.array([[[30.0], [0.0]]]), 0.0, 1.0)
    (same,), (other,) = day_likelihood([steady, steady]), day_likelihood([steady, changing])
    assert same > 50 * other


def test_fruit_in_bags_speaks_for_self_fertile_ones() -> None:
    # 6 of 20 against none of 20, by the beta-binomial law; its sum over all counts is 1
    # (Johnson, Kotz & Kemp 1992, Univariate Discrete Distributions, chapter 6).
    from scipy.special import comb

    chance = np.array([1.0, 0.0, np.nan])
    some, none = bagged_likelihood(chance, 6, 20), bagged_likelihood(chance, 0, 20)
    assert some[0] > 5 * some[1]
    assert none[1] > 2 * none[0]
    assert np.isnan(some[2])
    total = sum(comb(20, k) * bagged_likelihood(chance, k, 20) for k in range(21))
    assert total[:2] == pytest.approx([1.0, 1.0])
    assert SELFED[True][0] / sum(SELFED[True]) == 0.25


def test_a_cross_that_failed_rules_out_few_and_never_wholly() -> None:
    assert cross_likelihood(np.array([1.0, 0.0, 0.5]), True) == pytest.approx([0.95, 0.05, 0.5])
    assert cross_likelihood(np.array([1.0, 0.0, 0.5]), False) == pytest.approx([0.05, 0.95, 0.5])


def test_what_says_nothing_of_a_variety_leaves_it_in_the_middle() -> None:
    shares = joint_shares([np.array([3.0, 1.0, np.nan])])
    assert shares == pytest.approx([0.5, 1 / 6, 1 / 3])


def is_fitting(found: Sequence[Fit], shares: Mapping[VarietyId, float]) -> bool:
    """Whether a list holds all that fit and no others, each with its share, in order."""
    told = [(-fit.share, fit.variety) for fit in found]
    best, listed = max(shares.values(), default=0.0), {fit.variety for fit in found}
    return (
        told == sorted(told)
        and all(shares[fit.variety] == fit.share for fit in found)
        and all(fit.closely == (best <= CLOSE * fit.share) for fit in found)
        and listed == {name for name, share in shares.items() if best <= FITS * share}
    )


@given(st.lists(st.floats(1e-6, 1.0), min_size=1, max_size=40))
def test_the_checker_agrees_with_the_finder(values: list[float]) -> None:
    shares = np.array(values) / sum(values)
    varieties = [VarietyId("apple", f"{i:02d}") for i in range(len(values))]
    found, told = fitting(varieties, shares), dict(zip(varieties, shares.tolist(), strict=True))
    assert is_fitting(found, told)
    assert found[0].share == max(told.values())
    assert not is_fitting(found[1:], told)


def test_a_look_parts_what_lies_apart() -> None:
    shares = np.array([0.5, 0.5, 0.0])
    assert parting(np.array([0.0, 10.0, 99.0]), shares, 2.5) == pytest.approx(2.0)
    assert parting(np.array([0.0, np.nan, np.nan]), shares, 2.5) == 0.0


# --- gardens -------------------------------------------------------------------------------------


def test_an_unknown_limb_is_any_of_its_fruit_and_a_slip_is_none(tmp_path: Path) -> None:
    study = opened(tmp_path)
    (limb,) = [one for one in study.plan.limbs if not one.known]
    assert limb.variety in study.known
    assert "lost-label" in {found.code for found in study.findings}
    (tmp_path / "plan.toml").write_text(PLAN.format(name="Regna"), encoding="utf-8")
    codes = {f.code for f in open_study(tmp_path / "plan.toml").findings if f.severity == "error"}
    assert codes == {"unknown-variety"}


def test_a_changed_unknown_limb_is_as_in_the_plan(tmp_path: Path) -> None:
    study = opened(tmp_path, name="Kordia").with_limb("lost", variety="?")
    (tmp_path / "two").mkdir()
    again = opened(tmp_path / "two")
    assert study.plan.limbs == again.plan.limbs
    moved = again.with_limb("lost", grafted=2015)
    assert not next(one for one in moved.plan.limbs if one.id == "lost").known


@pytest.mark.parametrize(
    ("later", "inside", "outside"), [(-12, "Cristobalina", "Regina"), (8, "Regina", "Cristobalina")]
)
def test_bloom_far_from_a_variety_rules_it_out(
    later: int, inside: str, outside: str, tmp_path: Path
) -> None:
    # Cristobalina is among the first and Regina among the last to bloom (common practice).
    label = looked(opened(tmp_path, *bloom_notes(later)))
    shares = {one.variety.id.name: one.fit.share for one in label.candidates}
    assert shares.get(inside, 0.0) > 3 * shares.get(outside, 0.0)
    assert {spring.beside for spring in label.springs} == {("known",)}
    assert label.springs[0].later == later


def test_more_springs_narrow_it_down(tmp_path: Path) -> None:
    (tmp_path / "one").mkdir()
    (tmp_path / "six").mkdir()
    one = looked(opened(tmp_path / "one", *bloom_notes(-7, 1)))
    six = looked(opened(tmp_path / "six", *bloom_notes(-7, 6)))
    assert len(six.candidates) < len(one.candidates)


def test_a_first_pick_and_bags_narrow_it_down(tmp_path: Path) -> None:
    notes = [*bloom_notes(0), "2020-07-01,lost,bagged,9/30"]
    label = looked(opened(tmp_path, *notes), picked=171)
    without = looked(opened(tmp_path, *bloom_notes(0)))
    assert label.bagged == (9, 30)
    early = {one.variety.id.name: one for one in label.candidates[:8]}
    assert all(one.own_pollen != "no" or one.picked is None or one.picked < 200
               for one in early.values())  # fmt: skip
    fertile = [one.fit.share for one in label.candidates if one.own_pollen == "yes"]
    before = [one.fit.share for one in without.candidates if one.own_pollen == "yes"]
    assert sum(fertile) > 2 * sum(before)


def test_conditions_rule_out_only_what_is_known_to_differ(tmp_path: Path) -> None:
    study = opened(tmp_path, *bloom_notes(0))
    label = looked(study, where=("self_fertile=yes",))
    assert label.ruled_out > 0
    assert all(
        one.own_pollen != "no"
        for one in label.candidates
        if one.variety.fertility.self_fertile is not None
    )
    _label, problems = label_of(study, label.limb, Asked(where=("colour=red",)))
    assert [one.code for one in problems] == ["unknown-property"]


def test_crosses_count_by_alleles(tmp_path: Path) -> None:
    # Van and Regina are both S1S3 (Schuster 2012): a limb that sets with neither shares both.
    study = opened(tmp_path, *bloom_notes(2))
    van = VarietyId("sweet cherry", "Van")
    plain, bare = looked(study), looked(study, bare_with=(van,))
    share = {one.variety.id.name: one.fit.share for one in bare.candidates}
    before = {one.variety.id.name: one.fit.share for one in plain.candidates}
    assert share["Van"] > 3 * before["Van"]


def test_a_pick_in_the_wrong_season_is_a_slip(tmp_path: Path) -> None:
    study = opened(tmp_path, *bloom_notes(0))
    limb, _problems = unknown_limb(study, "lost")
    assert limb is not None
    label, problems = label_of(study, limb, Asked(picked=15))
    assert label is None
    assert [one.code for one in problems] == ["out-of-season"]
    assert "from 0" in problems[0].cure


def test_a_cross_judges_only_those_whose_alleles_are_known(tmp_path: Path) -> None:
    study = opened(tmp_path, *bloom_notes(2))
    van = VarietyId("sweet cherry", "Van")
    plain, bare = looked(study), looked(study, bare_with=(van,))
    assert bare.looked_at < plain.looked_at
    assert all(one.variety.fertility.genotype is not None for one in bare.candidates)


def test_without_notes_it_says_what_to_note(tmp_path: Path) -> None:
    study = opened(tmp_path)
    limb, _problems = unknown_limb(study, "lost")
    assert limb is not None
    label, problems = label_of(study, limb)
    assert label is None
    assert [one.code for one in problems] == ["nothing-noted"]
    assert unknown_limb(study, "lots")[1][0].cure == "nearest: lost"


def test_without_a_limb_beside_it_the_date_alone_tells_little(tmp_path: Path) -> None:
    label = looked(opened(tmp_path, "2020-04-15,lost,stage,full"))
    assert label.springs[0].beside == ()
    assert len(label.candidates) > label.looked_at / 2


def test_the_command_and_the_page_tell_the_same(tmp_path: Path, pollinet: Run) -> None:
    from pollinet.page.app import create_app

    opened(tmp_path, *bloom_notes(-5))
    plan = tmp_path / "plan.toml"
    said = pollinet("lost-label", plan, "lost", "--picked", "20 Jun")
    assert said.code == 0
    lines = said.out.splitlines()
    assert len(lines) < 50 and max(map(len, lines)) <= 100
    assert "This is a list of what fits, no name" in said.out
    data = pollinet("lost-label", plan, "lost", "--picked", "20 Jun", "--json").data
    assert data["more"] == max(len(data["shortlist"]) - 8, 0)
    client = create_app(plan, hosts={"localhost"}, language="en").test_client()
    page = client.get("/lost-label/lost?picked=06-20").get_data(as_text=True)
    assert all(one["variety"].replace("'", "&#39;") in page for one in data["shortlist"][:8])
    assert "Which variety may it be?" in client.get("/limb/lost").get_data(as_text=True)
    assert "is no date" in client.get("/lost-label/lost?picked=soon").get_data(as_text=True)
    german = pollinet("lost-label", plan, "lost", "--language", "de").out
    assert "kein Name" in german
    assert pollinet("lost-label", plan, "lost", "--picked", "soon").code == 2
    assert pollinet("lost-label", plan, "nobody").code == 2


def test_the_answer_holds_what_was_found(tmp_path: Path) -> None:
    study = opened(tmp_path, *bloom_notes(-5))
    label = looked(study)
    answer = lost_label_of(label, study.findings)
    assert [one.variety for one in answer.shortlist] == names(label)
    assert answer.more == max(len(label.candidates) - 8, 0)
    assert answer.from_json(answer.to_json()) == answer


def test_hidden_labels_rank_better_than_by_chance() -> None:
    """Committed figures of `prove_label.py`: bloom alone, places of the long cherry series."""
    with (Path(__file__).parent / "validation" / "label.csv").open(encoding="utf-8") as file:
        rows = list(csv.DictReader(file))
    hidden = np.array([int(row["hidden"]) for row in rows])
    rank, chance, kept = (
        np.array([float(row[name]) for row in rows]) for name in ("rank", "by_chance", "kept")
    )
    assert (hidden * kept).sum() / hidden.sum() > 0.95
    assert (hidden * rank).sum() / hidden.sum() < 0.5 * (hidden * chance).sum() / hidden.sum()


def test_a_name_of_several_fruits_is_asked_for(tmp_path: Path) -> None:
    study = opened(tmp_path, "2024-04-10,lost,stage,full")
    shared = {name.name for name in load_catalogue(["sweet cherry"])[0].varieties}
    shared &= {name.name for name in load_catalogue(["apple"])[0].varieties}
    name = min(shared)
    text = PLAN.format(name="?") + '[[tree]]\nid = "a"\nspecies = "apple"\n'
    text += '[[tree.limb]]\nid = "a1"\nvariety = "Gala"\n'
    (tmp_path / "plan.toml").write_text(text, encoding="utf-8")
    both = open_study(tmp_path / "plan.toml").study
    assert both is not None
    found, (problem,) = varieties_named(both, [name])
    assert (found, problem.code) == ((), "several-fruits")
    assert varieties_named(both, [name], "apple") == ((VarietyId("apple", name),), ())
    # Where one of the fruits alone stands, it is meant.
    assert varieties_named(study, [name]) == ((VarietyId("sweet cherry", name),), ())


def test_a_single_variety_that_is_left_has_no_test_and_none_has_no_list(tmp_path: Path) -> None:
    study = opened(tmp_path, "2024-04-10,known,stage,full", "2024-04-10,lost,stage,full")
    limb, _ = unknown_limb(study, "lost")
    assert limb is not None
    told, _ = label_of(study, limb)
    assert told is not None and len(told.listed) > 1 and told.tests
    first = told.candidates[0]
    assert _tests([first]) == [] == _tests([])
    assert tuple(_tests(told.candidates)) == told.tests


NO_WEATHER = """
[[tree]]
id = "apple"
species = "apple"
[[tree.limb]]
id = "known"
variety = "Known"
[[tree.limb]]
id = "lost"
variety = "?"
[[variety]]
species = "apple"
name = "Known"
bloom = ["04-10", "04-20"]
"""


def test_without_weather_crosses_alone_are_judged(tmp_path: Path) -> None:
    path = tmp_path / "plan.toml"
    unknown = '[[variety]]\nspecies = "apple"\nname = "?"\nbloom = ["04-10", "04-20"]\n'
    path.write_text(NO_WEATHER.replace('"?"', '"Elstar"') + unknown.replace("?", "Elstar"), "utf-8")
    study = open_study(path).study
    assert study is not None and study.winters is None
    limb, _ = unknown_limb(study, "lost")
    assert limb is not None
    # A day of bloom says nothing without weather; nothing else is told.
    assert [one.severity for one in label_of(study, limb)[1]] == ["error"]
    gala = VarietyId("apple", "Gala")
    told, problems = label_of(study, limb, Asked(bare_with=(gala,)))
    assert told is not None and not problems
    assert told.springs == () and told.beside is None
    assert {(one.after, one.after_sd) for one in told.candidates} == {(None, None)}
    # Gala's pollen gives no fruit on Gala: it is the first of those left bare, and none of others.
    other, _ = label_of(study, limb, Asked(sets_with=(gala,)))
    assert other is not None
    assert gala in {one.fit.variety for one in told.candidates}
    assert gala not in {one.fit.variety for one in other.candidates}
