"""Answers where a part is not known: months, alleles, dates and pollen that nobody told."""

from __future__ import annotations

from dataclasses import replace
from pathlib import Path

import numpy as np
import pytest
from gardens import neighbour, tree, variety, written
from network_gardens import garden, node

from pollinet.answers.weather import monthly_c
from pollinet.charts.matrix import cell_kind
from pollinet.domain import DailyWeather, Fact, Fertility, Genotype, VarietyId
from pollinet.network.coverage import Refusal, RefusalCode
from pollinet.readers.catalogue import fruits, load_catalogue
from pollinet.readers.varieties import _genotype, clone_differences
from pollinet.readers.weather import parse_weather
from pollinet.report.content import _without_neighbours
from pollinet.study import Study, open_study
from pollinet.summary.limbs import against_others, shed_span, spring_sd_days
from pollinet.summary.open_questions import _is_told, open_questions
from pollinet.summary.passed_over import _code
from pollinet.summary.work import garden_dates


def opened(path: Path) -> Study:
    found = open_study(path)
    assert found.study is not None, found.findings
    return found.study


def test_months_that_a_record_does_not_hold_or_tell_are_not_known() -> None:
    dates = np.arange("2001-01-01", "2001-03-01", dtype="datetime64[D]")
    low, high = np.full(dates.size, -2.0), np.full(dates.size, 5.0)
    low[3], high[10] = -9.0, 12.0
    high[31:] = np.nan
    rows = monthly_c(DailyWeather(dates, low, high, source="made"))
    assert rows[0].tolist() == [(-2.0 * 30 - 9.0) / 31, (5.0 * 30 + 12.0) / 31, -9.0, 12.0]
    assert np.isnan(rows[1:]).all()


def test_a_quotation_mark_that_is_not_closed_is_told_with_its_line() -> None:
    days = [f"2001-01-{day:02d}" for day in range(1, 29)]
    lines = ["date,tmin_c,tmax_c", *(f"{day},-2.0,5.0" for day in days)]
    lines[7] = f'"{days[6]},-2.0,5.0'
    record, findings = parse_weather("\n".join(lines).encode(), "w.csv", latitude=47.0)
    assert record is None
    told = [one for one in findings if one.severity == "error"]
    assert [(one.code, one.line) for one in told] == [("unreadable-row", 8)]


@pytest.mark.parametrize(
    ("style", "pollen", "alleles", "complete"),
    [
        ("S1S?", "S2", ("S1", "S2"), True),
        ("S1S?", "S1", ("S1",), False),
        ("S1S2", "S2", ("S1", "S2"), True),
        (None, "S2", ("S2",), False),
    ],
)
def test_what_pollen_shows_completes_what_is_half_known(
    style: str | None, pollen: str, alleles: tuple[str, ...], complete: bool
) -> None:
    told = {"pollen_alleles": Fact("pollen_alleles", pollen)}
    told |= {} if style is None else {"s_genotype": Fact("s_genotype", style)}
    found = _genotype(fruits()["hazelnut"], told)
    assert found == Genotype(alleles, complete, (pollen,))


def test_a_clone_has_the_ploidy_of_its_parent() -> None:
    parent = Fertility(VarietyId("apple", "P"), "P", Genotype(("S1", "S2")), 2)
    same = Fertility(VarietyId("apple", "C"), "P", Genotype(("S1", "S2")), 2)
    assert clone_differences(same, parent) == ()
    assert clone_differences(replace(same, ploidy=None), parent) == ()
    assert clone_differences(replace(same, ploidy=4), parent) == (("ploidy", "4", "2"),)


def test_why_a_candidate_is_of_no_use_is_told_by_what_is_known_of_it() -> None:
    nan = float("nan")
    nodes = [node("L"), *(node(name, "candidate") for name in ("never", "sterile", "idle"))]
    days = {"L": [(100.0, 110.0)], "never": [(nan, nan)], "sterile": [(100.0, 110.0)],
            "idle": [(100.0, 110.0)]}  # fmt: skip
    network = garden(nodes, days, {})
    shed = network.shed_start_h.copy()
    shed[2] = nan
    network = replace(network, shed_start_h=shed)
    closed = [_code(network, place, is_closed=True) for place in (1, 2, 3)]
    assert closed == ["no-bloom", "no-shed", "idle"]
    assert [_code(network, place, is_closed=False) for place in (1, 2, 3)] == [
        "no-bloom", "own-donor", "own-donor"
    ]  # fmt: skip
    undated = replace(network, dated=np.array([True, True, True, False]))
    assert _code(undated, 3, is_closed=True) == "no-bloom"


def test_a_limb_that_nobody_dated_is_worked_on_with_the_others_of_its_fruit(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    plan = written(tmp_path, tree("P Q R"), variety("P", "S1S2", [108, 118]),
                   variety("Q", "S3S4", [110, 120]), variety("R", "S3S5", [116, 126]))  # fmt: skip
    study = opened(plan)
    hours = study.bloom.start_h.copy(), study.bloom.full_h.copy(), study.bloom.end_h.copy()
    (row,) = (i for i, name in enumerate(study.bloom.varieties) if name.name == "Q")
    for one in hours:
        one[row] = np.nan
    blank = replace(study.bloom, start_h=hours[0], full_h=hours[1], end_h=hours[2])
    known = {limb.limb: limb for limb in garden_dates(study).limbs}
    monkeypatch.setattr(Study, "bloom", property(lambda _study: blank))
    found = {limb.limb: limb for limb in garden_dates(study).limbs}
    assert found["P"] == known["P"] and found["R"] == known["R"]
    assert found["Q"].rests_on == "others"
    assert found["Q"].full == (known["P"].full + known["R"].full) / 2
    assert garden_dates(study).undated == ()
    against = against_others(study)
    assert VarietyId("apple", "Q") not in against
    assert set(spring_sd_days(study)) <= {"apple"}


def test_fruits_that_shed_with_their_bloom_have_no_days_of_shed(tmp_path: Path) -> None:
    study = opened(written(tmp_path, tree("P"), variety("P", "S1S2", [108, 118])))
    assert shed_span(study.bloom, VarietyId("apple", "P")) is None
    assert study.site_shift_days("apple") is None


def test_without_the_trees_next_door_who_lacks_a_donor_is_told(tmp_path: Path) -> None:
    """By hand: P and Q are of one genotype, and the neighbour's N alone serves both."""
    parts = (variety("P", "S1S2", [108, 118]), variety("Q", "S1S2", [108, 118]),
             variety("N", "S3S4", [108, 118]), variety("R", "S5S7", [108, 118]))  # fmt: skip
    hanging = opened(written(tmp_path, tree("P Q"), neighbour("N", 5), *parts))
    assert _without_neighbours(hanging) == [
        "Without any of the trees next door, P and Q would lack a donor."
    ]
    both = opened(written(tmp_path, tree("P R"), neighbour("N", 5), *parts))
    assert _without_neighbours(both) == [
        "Without any of the trees next door, the same limbs are covered."
    ]


@pytest.mark.parametrize("code", ["unknown-compatibility", "no-own-bloom", "no-bloom"])
def test_a_cell_of_which_nothing_is_known_is_no_refusal(code: RefusalCode) -> None:
    assert cell_kind(Refusal(1, code, None, None, 0.0), "rare") == "unknown"
    assert cell_kind(Refusal(1, "blooms-later", None, 9.0, 0.0), "rare") == "never"
    assert cell_kind(Refusal(1, "same-variety", None, None, 0.0), "rare") == "none"


def test_a_triploid_genotype_settles_a_dispute_by_its_ploidy(tmp_path: Path) -> None:
    """Of a variety of which sources disagree: three S-alleles are three sets of chromosomes."""
    disputed = next(
        one
        for _name, one in sorted(load_catalogue(["apple"])[0].varieties.items())
        if one.fertility.alternatives and one.fertility.ploidy != 3
    )
    name = disputed.id.name
    own = f'[[variety]]\nspecies = "apple"\nname = "{name}"\ns_genotype = "S1S2S3"\n'
    own += "bloom_days = [108, 118]\nbloom_sd_days = 0\n"
    limb = f'[[tree]]\nid = "t"\nspecies = "apple"\n[[tree.limb]]\nid = "x"\nvariety = "{name}"\n'
    study = opened(written(tmp_path, limb, own))
    found = study.known[disputed.id].fertility
    assert (found.ploidy, found.genotype) == (3, Genotype(("S1", "S2", "S3")))
    assert not found.disputed & {"ploidy", "genotype"}


@pytest.mark.parametrize(("alleles", "served"), [("", True), ("S2S?", False)])
def test_what_the_only_draw_accepts_or_refuses_is_a_question_all_the_same(
    alleles: str, served: bool, tmp_path: Path
) -> None:
    """A single draw is the middle one: most varieties serve P, of those with S2 fewer than half."""
    told = variety("N", "S1S2", [108, 118])
    line = f's_genotype = "{alleles}"\n' if alleles else ""
    parts = (tree("P N"), variety("P", "S2S3S9", [108, 118], ploidy=3),
             told.replace('s_genotype = "S1S2"\n', line))  # fmt: skip
    path = written(tmp_path, *parts)
    text = path.read_text(encoding="utf-8")
    path.write_text(text.replace("[aim]", "[aim]\ndraws = 1"), encoding="utf-8")
    study = opened(path)
    (row,) = (x for x in study.coverage if study.network.nodes[x.node].id == "P")
    assert row.covered == served
    asked = {one.code: one.about for one in open_questions(study, row)}
    assert asked["donor-alleles"] == (VarietyId("apple", "N"),)
    assert "own-alleles" not in asked


def test_a_hazelnut_is_told_only_where_it_is_known_which_allele_its_pollen_shows(
    tmp_path: Path,
) -> None:
    """S1 is shown by Barcelona (catalogues/hazelnut/dominance.csv); of S29 and S33 nobody tells."""
    limb = '[[tree.limb]]\nid = "{0}"\nvariety = "{0}"\n'
    names = ("Barcelona", "Odd", "Half")
    own = '[[variety]]\nspecies = "hazelnut"\nname = "{}"\ns_genotype = "{}"\n'
    path = written(
        tmp_path, '[[tree]]\nid = "t"\nspecies = "hazelnut"\n', *(map(limb.format, names)),
        own.format("Odd", "S29S33"), own.format("Half", "S1S?"),
    )  # fmt: skip
    text = path.read_text(encoding="utf-8")
    path.write_text(text.replace("latitude = 47", "latitude = 47\nlongitude = 8"), encoding="utf-8")
    study = opened(path)
    told = {name: _is_told(study, VarietyId("hazelnut", name)) for name in names}
    assert told == {"Barcelona": True, "Odd": False, "Half": False}
