"""`pollinet suits` where winter cold, autumn frost and frost at bloom decide; own plan and weather.

The winters are a smooth year with single nights set by hand, so every figure can be counted.
"""

from __future__ import annotations

import math
from collections.abc import Callable, Mapping
from datetime import date, timedelta
from pathlib import Path
from typing import Any

import pytest
from gardens import saved

Run = Callable[..., Any]

PLAN = """
[site]
name = "hill"
latitude = 47
weather = "weather.csv"
[[tree]]
id = "tree"
species = "sweet cherry"
spare_limbs = 1
[[tree.limb]]
id = "limb"
variety = "Own"
"""

YEARS = range(2010, 2016)


def typed(name: str, genotype: str) -> str:
    return (
        f'[[variety]]\nspecies = "sweet cherry"\nname = "{name}"\ns_genotype = "{genotype}"\n'
        "bloom_days = [110, 120]\nbloom_sd_days = 0\n"
    )


def garden(folder: Path, nights: Mapping[str, float], *, winter_c: float = 0.0) -> Path:
    """A garden whose days have a mean from `winter_c` in January to 20 °C in July."""
    rows = ["date,tmin_c,tmax_c"]
    day, last = date(YEARS[0], 1, 1), date(YEARS[-1], 12, 31)
    while day <= last:
        warmth = (1 - math.cos(2 * math.pi * (day.timetuple().tm_yday - 15) / 365)) / 2
        mean = winter_c + (20 - winter_c) * warmth
        low = nights.get(day.isoformat(), nights.get(day.strftime("%m-%d"), mean - 5))
        rows.append(f"{day},{low:.1f},{mean + 5:.1f}")
        day += timedelta(days=1)
    (folder / "weather.csv").write_text("\n".join(rows) + "\n", encoding="utf-8")
    return saved(folder, PLAN + typed("Own", "S1S2") + typed("New", "S3S4"))


def told(pollinet: Run, plan: Path, name: str = "New") -> dict[str, Any]:
    answer = pollinet("suits", plan, name, "--json")
    assert answer.code == 0
    (found,) = answer.data["varieties"]
    return dict(found)


def facts(plan: Path, rows: str) -> None:
    own = plan.parent / "catalogues" / "sweet_cherry"
    own.mkdir(parents=True)
    header = "variety,property,value,unit,context,source,status,note\n"
    (own / "facts.csv").write_text(header + rows, encoding="utf-8")


def test_mild_winters_are_no_reason(tmp_path: Path, pollinet: Run) -> None:
    found = told(pollinet, garden(tmp_path, {"01-15": -12}))
    assert found["winter_cold"]["coldest_c"] == found["winter_cold"]["usual_c"] == -12
    assert found["winter_cold"]["told_of_variety"] is False
    assert found["verdict"] == "suits" and "cold" not in found["not_known"]


def test_one_winter_of_minus_35_is_never_suited(tmp_path: Path, pollinet: Run) -> None:
    """Sweet cherries: zone 5, to -28.9 °C; a whole zone colder, -34.4 °C, is passed once."""
    plan = garden(tmp_path, {"01-15": -15, "2012-01-15": -35})
    for name in ("New", "Bing"):
        found = told(pollinet, plan, name)
        assert (found["verdict"], found["against"][0]) == ("doubtful", "cold")
        assert "suits" not in found["answer"]
    assert found["winter_cold"]["colder"] == pytest.approx(1 / 5)  # five whole winters


def test_winters_of_minus_36_rule_out_what_is_not_known_to_be_hardy(
    tmp_path: Path, pollinet: Run
) -> None:
    plan = garden(tmp_path, {"01-15": -36})
    assert told(pollinet, plan)["verdict"] == "no"
    said = " ".join(pollinet("suits", plan, "New").out.split())
    assert said.startswith("New does not suit this garden: winters here fall to -36 °C, and sweet")
    assert "common practice, no source" in said


def test_the_zone_told_of_the_variety_goes_before_that_of_its_fruit(
    tmp_path: Path, pollinet: Run
) -> None:
    plan = garden(tmp_path, {"01-15": -30})
    facts(plan, "New,hardiness_zone,3,zone,,own,plan,\nOwn,hardiness_zone,5,zone,,own,plan,\n")
    assert told(pollinet, plan)["verdict"] == "suits"  # zone 3: to -40 °C
    assert told(pollinet, plan, "Own")["verdict"] == "no"


def test_cold_decides_where_nothing_is_known_of_bloom(tmp_path: Path, pollinet: Run) -> None:
    plan = garden(tmp_path, {"01-15": -36})
    facts(plan, "Newer,hardiness_zone,5,zone,,own,plan,\n")
    assert told(pollinet, plan, "Newer")["verdict"] == "no"


def test_what_is_picked_after_the_frost_does_not_ripen(tmp_path: Path, pollinet: Run) -> None:
    """Full on day 114, picked 170 days later: 11 October."""
    plan = garden(tmp_path, {"10-01": -4})
    facts(plan, "New,days_bloom_to_harvest,170,days,,own,plan,\n")
    found = told(pollinet, plan)
    assert found["frost_before_ripe"] == 1
    assert (found["verdict"], found["against"]) == ("doubtful", ["ripening"])
    assert "a hard frost comes before it is ripe in 10 of 10 years" in found["answer"]
    facts_file = plan.parent / "catalogues" / "sweet_cherry" / "facts.csv"
    facts_file.write_text(facts_file.read_text("utf-8").replace("170", "150"), "utf-8")
    assert told(pollinet, plan)["frost_before_ripe"] == 0  # 21 September


def test_frost_at_bloom_in_two_winters_of_ten_is_said_first(tmp_path: Path, pollinet: Run) -> None:
    """-6 °C on 26 April kills nine flowers in ten (-3.9 °C, frost.csv): one season of five."""
    found = told(pollinet, garden(tmp_path, {"2012-04-26": -6}))
    assert found["frost_nine_in_ten"] == pytest.approx(1 / 5)
    assert (found["verdict"], found["against"]) == ("doubtful", ["frost"])


def test_what_is_not_known_is_said(tmp_path: Path, pollinet: Run) -> None:
    found = told(pollinet, garden(tmp_path, {}))
    assert found["not_known"] == ["ripening", "chill need"]
    assert found["answer"].startswith("New suits this garden as far as is known; not known: ")
