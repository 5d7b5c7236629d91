"""`pollinet varieties`: lists and filters, checked against the sources and by hand."""

from __future__ import annotations

import csv
from collections.abc import Callable
from typing import Any

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from pollinet.domain import BloomEvidence, Fertility, Variety, VarietyId
from pollinet.summary.varieties import bloom_word, relative_bloom

Run = Callable[..., Any]


def names(answer: Any) -> set[str]:
    return {row["variety"] for row in answer.data["varieties"]}


def test_triploid_apples(pollinet: Run) -> None:
    """EXT-APPLES, NCSU302 and USU list these as triploids without good pollen."""
    answer = pollinet("varieties", "apple", "--where", "ploidy=3", "--json")
    assert {"Jonagold", "Mutsu", "Gravenstein", "Stayman"} <= names(answer)
    assert all(row["ploidy"] == 3 for row in answer.data["varieties"])
    assert not {"Golden Delicious", "Fuji"} & names(answer)


def test_all_conditions_must_hold(pollinet: Run) -> None:
    """Schuster 2020: Bing S3S4, Van S1S3; UC Davis table: Burlat 48, Lapins 35 portions."""
    two = pollinet(
        *("varieties", "Prunus avium", "--json"),
        *("--where", "s_genotype~S3", "--where", "s_genotype~S4"),
    )
    assert {"Bing", "Lambert", "Napoleon"} <= names(two) and "Van" not in names(two)
    little = pollinet("varieties", "cherry", "--where", "chill_portions<40", "--json")
    assert "Lapins" in names(little) and "Burlat" not in names(little)


def test_unknown_is_neither_yes_nor_no(pollinet: Run) -> None:
    asked = [
        names(pollinet("varieties", "apple", "--json", "--where", f"s_genotype{condition}"))
        for condition in ("~S3", "!~S3", "=unknown")
    ]
    every = names(pollinet("varieties", "apple", "--json"))
    assert sum(map(len, asked)) <= len(every)
    assert set.intersection(*asked) == set() and asked[2]


def test_table_is_narrow_and_says_what_is_left_out(pollinet: Run) -> None:
    lines = pollinet("varieties", "sweet cherry").out.splitlines()
    assert "varieties are known here" in lines[0]
    assert "more rows" in lines[-1] and len(lines) < 60
    assert max(map(len, lines)) <= 100
    assert len(pollinet("varieties", "sweet cherry", "--all").out.splitlines()) > 1400


def test_memory_is_marked(pollinet: Run) -> None:
    """Conference's alleles are recalled, see catalogues/pear."""
    out = pollinet("varieties", "pear", "--where", "name=Conference").out
    assert "S108S119*" in out and "not confirmed" in out


def test_csv_holds_the_same_as_json(pollinet: Run) -> None:
    where = ("varieties", "almond", "--where", "chill_portions<40")
    rows = list(csv.DictReader(pollinet(*where, "--csv").out.splitlines()))
    data = pollinet(*where, "--json").data["varieties"]
    assert [row["variety"] for row in rows] == [row["variety"] for row in data]
    assert list(rows[0]) == list(data[0])


def test_nothing_found_is_an_answer(pollinet: Run) -> None:
    answer = pollinet("varieties", "pear", "--where", "chill_portions<1")
    assert answer.code == 0 and answer.out.startswith("None of ")


def test_all_wrong_conditions_are_told(pollinet: Run) -> None:
    answer = pollinet("varieties", "pear", "--where", "plody=3", "--where", "ploidy=many")
    assert answer.code == 2
    assert "plody=3" in answer.err and "ploidy=many" in answer.err
    assert pollinet("varieties", "chery").code == 2
    assert pollinet("varieties", "pear", "--csv", "--json").code == 2


def test_order_of_bloom(pollinet: Run) -> None:
    """At Etoile (Wenden et al. 2016) Burlat blooms before Regina, which is a late one."""
    rows = pollinet("varieties", "sweet cherry", "--sort", "bloom", "--json").data["varieties"]
    order = [row["variety"] for row in rows]
    assert order.index("Burlat") < order.index("Regina")
    known = [row["bloom_relative_days"] is not None for row in rows]
    assert known == sorted(known, reverse=True)
    late = pollinet("varieties", "cherry", "--where", "bloom=late", "--json")
    assert "Regina" in names(late) and "Burlat" not in names(late)


def test_compared_variety_stands_beside_the_other(
    pollinet: Run, tmp_path: Any, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.chdir(tmp_path)
    words = ("--species", "cherry", "--bloom", "2 days before Regina")
    assert pollinet("variety", "add", "Own Dawn", *words).code == 0
    days = {
        name: pollinet("variety", name, "--json").data["bloom_relative_days"]
        for name in ("Own Dawn", "Regina")
    }
    assert days["Own Dawn"] == pytest.approx(days["Regina"] - 2, abs=0.5)


def test_own_tables_are_listed(
    pollinet: Run, tmp_path: Any, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.chdir(tmp_path)
    pollinet("variety", "add", "Dawn", "--species", "pear", "--ploidy", "3")
    assert "Dawn" in names(pollinet("varieties", "pear", "--where", "ploidy=3", "--json"))


# --- order of bloom --------------------------------------------------------------------------


def seen(name: str, days: dict[str, float]) -> Variety:
    identity = VarietyId("sweet cherry", name)
    bloom = tuple(
        BloomEvidence("full", day, 2.0, place, "date", "made up", context=place)
        for place, day in days.items()
    )
    return Variety(identity, Fertility(identity, name), bloom)


@given(
    st.lists(st.integers(-20, 20), min_size=3, max_size=9, unique=True),
    st.lists(st.integers(60, 160), min_size=1, max_size=3),
)
def test_order_without_noise_is_found_again(later: list[int], sites: list[int]) -> None:
    """Days made as variety + site have exactly these differences, whatever the sites are."""
    made = [
        seen(f"v{i}", {f"site {s}": site + day for s, site in enumerate(sites)})
        for i, day in enumerate(later)
    ]
    found = relative_bloom(made)
    days = [found[variety.id] for variety in made]
    assert np.diff(days) == pytest.approx(np.diff(later), abs=0.21)


def test_late_company_makes_nobody_early() -> None:
    """Some are seen among late ones only; C, seen at both sites, ties these together."""
    made = [
        *(seen(f"early {i}", {"one": 90 + i}) for i in range(3)),
        seen("C", {"one": 100, "two": 120}),
        *(seen(f"late {i}", {"two": 121 + i}) for i in range(3)),
    ]
    found = {name.name: day for name, day in relative_bloom(made).items()}
    assert found["early 2"] < found["C"] < found["late 0"]


def test_words_for_the_order() -> None:
    assert [bloom_word(day) for day in (None, -2.1, -2, 0, 2, 2.1)] == [
        *("", "early", "mid", "mid", "mid", "late")
    ]
    assert relative_bloom([seen("alone", {"one": 90})]) == {}
    undated = [seen("one", {}), seen("other", {})]
    assert relative_bloom(undated) == {}


def test_new_properties_can_be_asked_for(pollinet: Run) -> None:
    """Common knowledge of the trade, as the catalogue's recalled rows have it."""
    young = pollinet("varieties", "apple", "--where", "parents~Braeburn", "--json")
    assert {"Scifresh", "Nicoter", "Scilate"} <= names(young)
    hardy = pollinet(
        *("varieties", "apple", "--json"),
        *("--where", "crab=yes", "--where", "hardiness_zone<=3"),
    )
    assert {"Dolgo", "Kerr"} <= names(hardy) and "Golden Hornet" not in names(hardy)
    keeping = pollinet("varieties", "pear", "--where", "keeping_weeks>=14", "--json")
    assert "Catillac" in names(keeping) and "Williams" not in names(keeping)


def test_times_of_picking_count_thirds_of_a_month(pollinet: Run) -> None:
    """NFC-APPLES: Baldwin is picked in mid October, Freyberg too."""
    late = pollinet(
        *("varieties", "apple", "--json"),
        *("--where", "pick_first_day@Brogdale>=11 Oct", "--where", "pick_last_day<=20 Oct"),
    )
    assert {"Baldwin", "Freyberg"} <= names(late)
    early = pollinet("varieties", "pear", "--where", "pick_first_day<1 Aug", "--json")
    assert "Precoce de Trevoux" in names(early) and "Conference" not in names(early)
