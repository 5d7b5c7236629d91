"""`pollinet suits`, `work`, `balance` and `rows` end to end."""

from __future__ import annotations

import csv
from collections.abc import Callable
from datetime import date, timedelta
from pathlib import Path
from typing import Any

import icalendar
import pytest
from gardens import variety

Run = Callable[..., Any]


@pytest.fixture(scope="module")
def garden(tmp_path_factory: pytest.TempPathFactory) -> Path:
    from pollinet.demo import demo_files, write_demo

    return write_demo(tmp_path_factory.mktemp("garden"), demo_files())


PLAN = """
[site]
name = "nowhere"
latitude = 47
[aim]
min_overlap_days = 3
[[tree]]
id = "tree"
species = "apple"
spare_limbs = 1
[[tree.limb]]
id = "limb A"
variety = "A"
[[tree.limb]]
id = "limb B"
variety = "B"
"""


@pytest.fixture
def typed(tmp_path: Path) -> Path:
    plan = tmp_path / "plan.toml"
    parts = (variety("A", "S1S2", [110, 120]), variety("B", "S1S2", [110, 120]),
             variety("C", "S3S4", [112, 121]), variety("D", "S3S4", [140, 150]))  # fmt: skip
    plan.write_text(PLAN + "".join(parts), encoding="utf-8")
    return plan


def test_suits_by_hand(typed: Path, pollinet: Run) -> None:
    answer = pollinet("suits", typed, "C", "D", "--json")
    assert answer.code == 0
    c, d = answer.data["varieties"]
    # C shares nine days with both and no allele; D blooms three weeks after them.
    assert c["reliability"] == 1
    assert {donor["variety"] for donor in c["donors"]} == {"A", "B"}
    assert {donor["overlap_days"] for donor in c["donors"]} == {9}
    assert {(s["limb"], s["newly_covered"]) for s in c["serves"]} == {
        ("limb A", True), ("limb B", True)}  # fmt: skip
    assert (d["reliability"], d["donors"], d["serves"]) == (0, [], [])
    assert (
        c["enough_chill"] is None and c["frost_one_in_ten"] is None
    )  # no weather: not known, not zero
    # A and B bloom on the same eleven days; of the twelve with C nine are shared, with D none.
    # Full bloom is two fifths of the way: C's ten days begin two days later, 2 + 4 - 4.4.
    for found, lag, together in ((c, 1.6, 9 / 12), (d, 30, 0)):
        (look,) = found["look"]
        assert look["lag_days"] == pytest.approx(lag)
        assert (look["together"], look["together_now"]) == (pytest.approx(together), 1)
    out = pollinet("suits", typed, "C").out
    # No weather, so nothing that hangs on it is known, and that is said.
    assert c["verdict"] == "suits" and c["winter_cold"] is None
    assert c["not_known"] == ["cold", "ripening", "frost", "chill"]
    assert out.startswith("C suits this garden as far as is known; not known: whether it lives")
    assert "is not judged here" in out
    assert "D is doubtful here" in pollinet("suits", typed, "D").out


def test_suits_in_the_demo_garden(garden: Path, pollinet: Run) -> None:
    answer = pollinet("suits", garden, "Kordia")
    assert answer.code == 0
    assert len(answer.out.splitlines()) < 60
    for words in ("Winter chill", "with 1.5 °C more", "Harvest", "Frost at bloom", "How sure"):
        assert words in answer.out
    assert "C-mid" in answer.out and "which has no sure donor now" in answer.out


def test_rows_name_who_serves_whom(typed: Path, tmp_path: Path, pollinet: Run) -> None:
    table = tmp_path / "suits.csv"
    assert pollinet("suits", typed, "C", "D", "--csv", table).code == 0
    with table.open(encoding="utf-8", newline="") as file:
        c, d = csv.DictReader(file)
    assert set(c["donors"].split("; ")) == set(c["serves"].split("; ")) == {"limb A", "limb B"}
    assert (c["place"], c["look"]) == ("tree: unknown", "tree: +1.6 days")
    assert (d["donors"], d["serves"]) == ("", "")


def test_a_crab_is_a_hint_and_changes_no_verdict(typed: Path, pollinet: Run) -> None:
    (plain,) = pollinet("suits", typed, "C", "--json").data["varieties"]
    own = typed.parent / "catalogues" / "apple"
    own.mkdir(parents=True)
    header = "variety,property,value,unit,context,source,status,note\n"
    (own / "facts.csv").write_text(f"{header}C,crab,yes,,,own,plan,\n", encoding="utf-8")
    (crab,) = pollinet("suits", typed, "C", "--json").data["varieties"]
    assert (plain["crab"], crab["crab"]) == (None, True)
    assert {**crab, "crab": None} == plain
    text = " ".join(pollinet("suits", typed, "C").out.split())
    assert "a limb for pollen only (crops = false in the plan) needs no donor of its own" in text


def test_a_wrong_name_is_a_finding(garden: Path, pollinet: Run) -> None:
    answer = pollinet("suits", garden, "Kordai")
    assert answer.code == 2
    assert "Kordia" in answer.err


def test_myth_a_variety_never_serves_its_own(typed: Path, pollinet: Run) -> None:
    (a,) = pollinet("suits", typed, "A", "--json").data["varieties"]
    assert a["limb"] == "limb A"
    assert a["donors"] == [] and a["serves"] == []


def test_the_calendar_is_one_that_others_read(garden: Path, tmp_path: Path, pollinet: Run) -> None:
    file = tmp_path / "work.ics"
    answer = pollinet("work", garden, "--out", file, "--from", "2026-11-25", "--json")
    assert answer.code == 0
    content = file.read_bytes()
    assert max(map(len, content.split(b"\r\n"))) <= 75  # RFC 5545, 3.1: lines of 75 octets
    calendar = icalendar.Calendar.from_ical(content)
    events = calendar.walk("VEVENT")
    assert len(events) == len(answer.data["tasks"])
    for event, task in zip(events, answer.data["tasks"], strict=True):
        assert event["DTSTART"].dt.isoformat() == task["first"]
        assert event["DTEND"].dt - timedelta(days=1) == date.fromisoformat(task["last"])
    assert len({str(event["UID"]) for event in events}) == len(events)
    pollinet("work", garden, "--out", file, "--from", "2026-11-25")
    assert file.read_bytes() == content


def test_work_is_dated_from_bloom(typed: Path, pollinet: Run) -> None:
    answer = pollinet("work", typed, "--from", "2027-01-01", "--json")
    by_task = {task["task"]: task for task in answer.data["tasks"]}
    # Bloom 20 to 30 April; neither limb has a donor: A and B share their genotype.
    assert by_task["no-sprays"]["first"] == "2027-04-20"
    assert by_task["no-sprays"]["last"] == "2027-04-30"
    jars = [t["limbs"] for t in answer.data["tasks"] if t["task"] == "jar"]
    assert jars == [["limb A"], ["limb B"]]
    text = pollinet("work", typed, "--from", "2027-01-01").out
    assert len(text.splitlines()) < 50
    assert "not a forecast" in text and "no insecticide on open" in text


def test_work_names_the_scions_to_graft(typed: Path, pollinet: Run) -> None:
    """C serves both limbs for sure; D blooms weeks after them."""
    scions = "".join(f'[[scion]]\nspecies = "apple"\nvariety = "{name}"\n' for name in "CD")
    typed.write_text(typed.read_text(encoding="utf-8") + scions, encoding="utf-8")
    answer = pollinet("work", typed, "--from", "2027-01-01", "--json")
    told = {task["task"]: task["scions"] for task in answer.data["tasks"]}
    assert told["graft-bark"] == told["graft-dormant"] == ["C"]
    assert told["no-sprays"] is None
    assert "(apple: C)" in pollinet("work", typed, "--from", "2027-01-01").out


def test_hazelnut_is_not_grafted_by_its_bloom(tmp_path: Path, pollinet: Run) -> None:
    plan = tmp_path / "plan.toml"
    plan.write_text(
        '[site]\nname = "nuts"\nlatitude = 47\n[[tree]]\nid = "n"\nspecies = "hazelnut"\n'
        'spare_limbs = 1\n[[tree.limb]]\nid = "n1"\nvariety = "Hone"\n'
        '[[variety]]\nspecies = "hazelnut"\nname = "Hone"\ns_genotype = "S1S3"\n'
        'bloom = ["01-20", "02-10"]\npollen_shed = ["12-20", "01-18"]\n',
        encoding="utf-8",
    )
    said = pollinet("work", plan, "--from", "2026-11-25")
    assert "Graft hazelnut when its buds break" in said.out
    assert "under the bark" not in said.out
    assert pollinet("record", plan, "n1", "--leafing", "2026-04-10").code == 0
    data = pollinet("work", plan, "--from", "2026-11-25", "--json").data
    (bark,) = [task for task in data["tasks"] if task["task"] == "graft-bark"]
    assert bark["first"] <= "2027-04-10" <= bark["last"]
    assert data["grafting_not_dated"] == []


def test_a_range_over_new_year_names_both_years(typed: Path, pollinet: Run) -> None:
    early = typed.read_text(encoding="utf-8").replace("[110, 120]", "[20, 30]")
    typed.write_text(early, encoding="utf-8")
    assert "21 Dec 2026 – 15 Jan 2027" in pollinet("work", typed, "--from", "2026-11-25").out


def test_work_and_season_tell_the_same_gap(garden: Path, pollinet: Run) -> None:
    gaps = pollinet("work", garden, "--json").data["harvest_gaps"]
    told = [[f"{gap['days']} days" for gap in gaps]]
    season = pollinet("season", garden).out
    told.append([line.split("then ")[1].split(" without")[0]
                 for line in season.splitlines() if "then " in line])  # fmt: skip
    assert told[0] == told[1] != []


def test_work_writes_over_no_other_file(typed: Path, pollinet: Run) -> None:
    other = typed.parent / "mine.ics"
    other.write_text("BEGIN:VCALENDAR\n")
    assert pollinet("work", typed, "--out", other).code == 2
    assert other.read_text() == "BEGIN:VCALENDAR\n"
    assert pollinet("work", typed, "--out", typed.parent / "mine.txt").code == 2
    assert pollinet("work", typed, "--from", "soon").code == 2


def test_balance_lives_on_notes(typed: Path, pollinet: Run) -> None:
    assert "cannot be judged" in pollinet("balance", typed).out
    pollinet("record", typed, "limb A", "--diameter", "30", "--shoots", "90")
    answer = pollinet("balance", typed, "--json")
    first, second = answer.data["trees"]["tree"]
    assert first["fruits"] == [28, 42]
    assert first["flags"] == ["summer-prune"]
    assert second["area_mm2"] is None and second["flags"] == []


def test_rows_of_the_balance_are_the_limbs(typed: Path, tmp_path: Path, pollinet: Run) -> None:
    pollinet("record", typed, "limb A", "--diameter", "30")
    table = tmp_path / "balance.csv"
    assert pollinet("balance", typed, "--csv", table).code == 0
    with table.open(encoding="utf-8", newline="") as file:
        first, second = csv.DictReader(file)
    assert (first["tree"], first["limb"], first["fruits"]) == ("tree", "limb A", "28; 42")
    # A and B bloom on the same days.
    assert float(first["lag_days"]) == float(second["lag_days"]) == 0
    assert second["area_mm2"] == ""


def test_balance_tells_how_even_a_tree_looks(typed: Path, pollinet: Run) -> None:
    """A and B bloom on the same days; of their leafing only one limb's is noted, then both."""
    said = pollinet("balance", typed).out
    assert "Even in bloom: tree." in said
    assert "Leafing not noted." in said
    pollinet("record", typed, "limb A", "--leafing", "2026-04-02")
    assert "Leafing not noted." in pollinet("balance", typed).out
    pollinet("record", typed, "limb B", "--leafing", "2026-04-12")
    said = pollinet("balance", typed)
    assert "Lopsided in leaf, by 10 days." in " ".join(said.out.split())
    leafing = pollinet("balance", typed, "--json").data["looks"]["tree"]["leafing"]
    assert leafing["lags"] == {"limb A": -5, "limb B": 5}


def test_rows(pollinet: Run) -> None:
    answer = pollinet("rows", 18, "--spacing", 4.5, "--json")
    assert answer.data["layouts"][0]["name"] == "every third row"
    assert "no triploid" in " ".join(pollinet("rows", 18).out.split())


def test_a_limb_that_need_not_crop_is_judged_too(typed: Path, pollinet: Run) -> None:
    text = typed.read_text(encoding="utf-8")
    typed.write_text(text.replace('variety = "A"\n', 'variety = "A"\ncrops = false\n'), "utf-8")
    (told,) = pollinet("suits", typed, "A", "--json").data["varieties"]
    # A and B are of one genotype, so nobody serves A.
    assert told["limb"] == "limb A" and told["reliability"] == 0


TWO_FRUITS = """
[site]
latitude = 47
longitude = 8
[[tree]]
id = "almond"
species = "almond"
[[tree.limb]]
id = "a"
variety = "Nonpareil"
[[tree]]
id = "apple"
species = "apple"
[[tree.limb]]
id = "b"
variety = "Anna"
"""


@pytest.mark.parametrize(
    ("words", "told", "cure"),
    [
        # Kordia is a sweet cherry in the catalogue.
        (("Kordia",), '"Kordia" is a variety of sweet cherry: no such tree stands in the plan',
         'add a [[tree]] with species = "sweet cherry"'),
        (("Kordia", "--species", "cherry"), "no such tree stands in the plan", "[[tree]]"),
        (("Kordia", "--species", "apple"),
         "'Kordia' is no variety of apple known here; it is one of sweet cherry", "Nearest"),
        (("Nonparel",), '"Nonparel" is no variety of almond or apple known here',
         "Nearest: Nonpareil"),
    ],
)  # fmt: skip
def test_a_variety_that_no_fruit_of_the_garden_has_is_told_once(
    tmp_path: Path, pollinet: Run, words: tuple[str, ...], told: str, cure: str
) -> None:
    plan = tmp_path / "plan.toml"
    plan.write_text(TWO_FRUITS, encoding="utf-8")
    result = pollinet("suits", plan, *words)
    assert result.code == 2
    said = " ".join(result.err.split())
    assert "1 thing in the input" in said and told in said and cure in said
