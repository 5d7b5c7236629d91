"""Balance and work as a grower reads them: gardens invented for this, with what is known of each.

What is expected is trade knowledge, named beside each check, not what the program happens to say.
"""

from __future__ import annotations

import csv
import io
import re
from collections.abc import Callable
from datetime import date, timedelta
from pathlib import Path
from typing import Any

import icalendar
import pytest
from gardens import entry, saved
from pypdf import PdfReader

from pollinet.demo import demo_files, write_demo
from pollinet.readers.advice import advice_tables
from pollinet.readers.text_tables import shipped_texts

Run = Callable[..., Any]

THIS_YEAR = date.today().year
TODAY = "2026-11-30"


def plan_of(path: Path, site: str, *parts: str) -> Path:
    return saved(path, f'[site]\nname = "a garden"\n{site}\n' + "".join(parts))


def tree(name: str, species: str, limbs: dict[str, str], spare: int = 0, **years: int) -> str:
    return entry("tree", id=name, species=species, spare_limbs=spare) + "".join(
        entry("tree.limb", id=limb, variety=variety, grafted=years.get(limb))
        for limb, variety in limbs.items()
    )


def own(species: str, name: str, more: str = "") -> str:
    return f'[[variety]]\nspecies = "{species}"\nname = "{name}"\n{more}\n'


CANTERBURY = "latitude = -43.6\nlongitude = 172.4\nelevation_m = 20"
TAUNUS = "latitude = 50.2\nlongitude = 8.1\nelevation_m = 210"


def dates(data: Any, task: str) -> tuple[date, date]:
    found = [t for t in data["tasks"] if t["task"] == task]
    return date.fromisoformat(found[0]["first"]), date.fromisoformat(found[0]["last"])


# --- balance -------------------------------------------------------------------------------------


@pytest.fixture
def family(tmp_path: Path, pollinet: Run) -> Path:
    """Eleven cherries grafted last year on an old limb, all measured."""
    names = ["Burlat", "Van", "Lapins", "Stella", "Regina", "Kordia", "Summit", "Sunburst",
             "Hedelfinger", "Merton Glory", "Napoleon", "Sam"]  # fmt: skip
    limbs = {f"f{i}": name for i, name in enumerate(names)}
    years = {f"f{i}": THIS_YEAR - 1 if i else 2012 for i in range(12)}
    plan = plan_of(tmp_path, "latitude = 48.9\nlongitude = 9.2\nelevation_m = 260",
                   tree("family", "sweet cherry", limbs, **years))  # fmt: skip
    lines = ["date,limb,kind,value,unit,note"]
    for i in range(12):
        day = f"{THIS_YEAR - 1}-10-01"
        lines += [f"{day},f{i},diameter,{8 + i if i else 48},mm,",
                  f"{day},f{i},shoots,{35 + 5 * i},cm,"]  # fmt: skip
    (tmp_path / "records.csv").write_text("\n".join(lines) + "\n", encoding="utf-8")
    return plan


def test_a_graft_of_last_year_is_young_not_weak(family: Path, pollinet: Run) -> None:
    said = pollinet("balance", family)
    limbs = pollinet("balance", family, "--json").data["trees"]["family"]
    assert [limb["young"] for limb in limbs] == [False] + [True] * 11
    # By thickness alone the thinnest has 2 % of the wood, and the longest shoots have 90 cm.
    assert all(limb["flags"] == [] for limb in limbs[1:])
    assert limbs[0]["flags"] == ["shades"]
    assert "Young, not weak: f1" in said.out
    assert "give it light" not in said.out and "Shorten" not in said.out


def test_triploids_and_sports_have_the_vigour_of_their_kin(tmp_path: Path, pollinet: Run) -> None:
    """Triploids mostly become the largest (growers' reports); a red sport grows like its parent."""
    plan = plan_of(
        tmp_path, CANTERBURY,
        tree("old", "apple", {"n": "Jonagored", "e": "Own Giant", "s": "Sunset", "w": "Unheard"}),
        own("apple", "Own Giant", "ploidy = 3"), own("apple", "Unheard"),
    )  # fmt: skip
    limbs = {x["limb"]: x for x in pollinet("balance", plan, "--json").data["trees"]["old"]}
    told = {name: (x["vigour"], x["vigour_from"]) for name, x in limbs.items()}
    assert told == {"n": ("high", "sport"), "e": ("high", "triploid"), "s": ("low", "memory"),
                    "w": (None, None)}  # fmt: skip
    out = pollinet("balance", plan).out
    assert "By nature n and e will outgrow s" in out
    assert "high (as Jonagold)" in out and "high (triploid)" in out
    assert "Vigour not known of Unheard" in out


def test_shoots_are_judged_by_fruit_and_age(tmp_path: Path, pollinet: Run) -> None:
    """40 cm is long for a bearing pear (Colorado State: 6 to 12 in), not an apple (12 to 24)."""
    parts = [
        tree("p", "pear", {"p1": "Conference", "p2": "Williams"}, p1=2005, p2=2005),
        tree("a", "apple", {"a1": "Gala", "a2": "Elstar"}, a1=2005, a2=THIS_YEAR - 1),
    ]
    plan = plan_of(tmp_path, TAUNUS, *parts)
    for limb, shoots in (("p1", 40), ("a1", 40), ("a2", 80)):
        pollinet("record", plan, limb, "--shoots", shoots)
    trees = pollinet("balance", plan, "--json").data["trees"]
    found = {limb["limb"]: (limb["growth"], limb["flags"]) for x in trees.values() for limb in x}
    assert found["p1"] == ("strong", ["summer-prune"])
    assert found["a1"] == ("fair", [])
    # Not yet bearing apples may make 24 to 36 in.
    assert found["a2"] == ("fair", [])


def test_columns_without_content_vanish(tmp_path: Path, pollinet: Run) -> None:
    plan = plan_of(tmp_path, TAUNUS, tree("c", "sweet cherry", {"x": "Van", "y": "Lapins"}))
    head = next(line for line in pollinet("balance", plan).out.splitlines() if "Variety" in line)
    assert not re.search("Vigour|Grafted|Shoots|Part|Fruits|What to do", head)
    pollinet("record", plan, "x", "--diameter", 30)
    pollinet("record", plan, "y", "--diameter", 30)
    out = pollinet("balance", plan).out
    assert "Part of the wood" in out and "50 %" in out
    assert out.startswith("In balance: all 2 grown limbs are measured")


def test_the_look_is_judged_only_when_enough_is_known(tmp_path: Path, pollinet: Run) -> None:
    """Bloom of one limb in three is not known: no word on the tree, and how to find out."""
    typed = "\nbloom_days = [110, 120]"
    limbs = {"a": "One", "b": "Two", "c": "Three"}
    varieties = [own("apple", "One", f's_genotype = "S1S2"{typed}'),
                 own("apple", "Two", f's_genotype = "S3S4"{typed}')]  # fmt: skip
    unknown = own("apple", "Three", 's_genotype = "S5S6"')
    plan = plan_of(tmp_path, TAUNUS, tree("t", "apple", limbs), *varieties, unknown)
    answer = pollinet("balance", plan, "--json").data["looks"]["t"]["bloom"]
    assert (answer["word"], answer["together"], answer["unknown"]) == (None, None, ["c"])
    text = " ".join(pollinet("balance", plan).out.split())
    assert "is not judged, as too little is known of it: t (no bloom dates of c)" in text
    assert "note one spring of c: pollinet record PLAN LIMB --stage start" in text


def test_every_fruit_has_a_figure_with_its_source_or_is_told_as_not_known() -> None:
    rows = advice_tables()["load"]
    assert all(row["source"] and row["status"] for row in rows)
    found = {(row["fruit"], row["measure"]): (row["low"], row["high"]) for row in rows}
    # County extension: 4 to 6 in for apple and peach; plum 4 in, apricot 2 to 4 in; an inch is
    # 2.54 cm, told here in steps of 5 cm.
    inches = {"apple": (4, 6), "peach": (4, 6), "European plum": (4, 4), "apricot": (2, 4)}
    for fruit, span in inches.items():
        told = tuple(float(end) for end in found[fruit, "cm apart"])
        assert told == tuple(5 * round(2.54 * inch / 5) for inch in span)
    assert {row["fruit"] for row in rows} <= {row["name"] for row in shipped_texts("fruits.csv")}


def test_fruits_to_leave_are_told_for_each_fruit(tmp_path: Path, pollinet: Run) -> None:
    years = {"p": 2005, "a": THIS_YEAR, "b": 2005}
    plan = plan_of(
        tmp_path, TAUNUS,
        tree("plum", "European plum", {"p": "Victoria"}, **years),
        tree("apple", "apple", {"a": "Gala", "b": "Elstar"}, **years),
        tree("nut", "hazelnut", {"h": "Barcelona"}),
    )  # fmt: skip
    pollinet("record", plan, "b", "--diameter", 20)
    data = pollinet("balance", plan, "--json").data
    limbs = {limb["limb"]: limb for x in data["trees"].values() for limb in x}
    # 20 mm are 3.14 cm²: 13 to 19 fruits at 4 to 6 (looked up beside the sources).
    assert limbs["b"]["fruits"] == [13, 19]
    assert limbs["p"]["apart_cm"] == [10, 10] and limbs["p"]["fruits"] is None
    assert limbs["a"]["fruits"] == [0, 0]  # grafted this year
    assert data["thinning"]["hazelnut"][0]["measure"] == "not thinned"
    assert "Not thinned (common practice): hazelnut" in pollinet("balance", plan).out


# --- work ----------------------------------------------------------------------------------------


@pytest.fixture
def nuts(tmp_path: Path) -> Path:
    """Hazels and a plum of which hardly anything is known."""
    hedge = {"h1": "Hall's Giant", "h2": "Webb's Prize Cob", "h3": "the red one"}
    return plan_of(
        tmp_path, TAUNUS, tree("hedge", "hazelnut", hedge, 1),
        tree("plum", "European plum", {"p": "aunt's plum"}),
        own("hazelnut", "the red one"), own("European plum", "aunt's plum"),
    )  # fmt: skip


@pytest.fixture
def south(tmp_path: Path) -> Path:
    """Two triploids and an apple nobody knows, in Canterbury, and no donor for the triploids."""
    limbs = {"n": "Bramley's Seedling", "e": "Gravenstein", "w": "Jonagored"}
    return plan_of(tmp_path, CANTERBURY, tree("old", "apple", limbs, 1, n=2009, e=2019, w=2020))


@pytest.fixture(scope="module")
def demo(tmp_path_factory: pytest.TempPathFactory) -> Path:
    return write_demo(tmp_path_factory.mktemp("demo"), demo_files())


def test_no_limb_is_left_out_because_nobody_dated_it(nuts: Path, pollinet: Run) -> None:
    data = pollinet("work", nuts, "--from", TODAY, "--json").data
    assert {limb for task in data["tasks"] for limb in task["limbs"]} == {"h1", "h2", "h3", "p"}
    assert {limb for task in data["tasks"] for limb in task["undated"]} == {"h3", "p"}
    text = " ".join(pollinet("work", nuts, "--from", TODAY).out.split())
    assert "Dated by the run of their fruit, so only roughly" in text and "h3 and p" in text


def test_hazel_is_served_by_the_wind(nuts: Path, pollinet: Run) -> None:
    """Catkins and wind; bees have nothing to do with it (common practice)."""
    tasks = pollinet("work", nuts, "--from", TODAY, "--json").data["tasks"]
    hazel = [task for task in tasks if task["species"] == "hazelnut"]
    jars = [task for task in hazel if task["task"] == "jar"]
    assert jars and all("catkins" in task["title"] and task["donors"] for task in jars)
    told = " ".join(f"{task['title']} {task['reason']}" for task in hazel)
    assert "wind carries this pollen, bees do not" in told
    assert not {"no-sprays", "frost-watch", "thin"} & {task["task"] for task in hazel}


def test_jars_name_donors(demo: Path, pollinet: Run) -> None:
    tasks = pollinet("work", demo, "--from", TODAY, "--json").data["tasks"]
    (jar,) = [task for task in tasks if task["task"] == "jar"]
    told = pollinet("cover", demo, "--json").data["jars"]
    assert jar["limbs"] == ["C-mid"]
    assert jar["donors"] == [source["variety"] for source in told[0]["sources"]][:3]
    text = pollinet("work", demo, "--from", TODAY).out
    row = text[text.index("Hang blossom") :].split("\n", 2)
    assert "C-mid, with Lambert," in row[0] and "Kordia or Sam" in row[1]


def test_windows_stand_in_the_calendar_of_the_south(south: Path, pollinet: Run) -> None:
    """Wood is cut in the southern winter, grafted in spring, budded from late in December on."""
    data = pollinet("work", south, "--from", "2027-03-01", "--json").data
    cut, graft, bud = (dates(data, task) for task in ("cut-scions", "graft-bark", "bud-summer"))
    assert date(2027, 6, 1) <= cut[0] < cut[1] <= date(2027, 8, 31)
    assert date(2027, 9, 1) <= graft[0] < graft[1] <= date(2027, 11, 15)
    assert date(2027, 12, 15) <= bud[0] < bud[1] <= date(2028, 3, 1)
    # Nobody serves three triploids: what to order is asked for, and told where to look.
    assert all(task["needed"] for task in data["tasks"])
    out = " ".join(pollinet("work", south, "--from", "2027-03-01").out.split())
    assert "what to order tells `pollinet cover PLAN --from catalogue`" in out


def test_wood_is_ordered_before_it_is_cut_before_it_is_grafted(pollinet: Run, south: Path) -> None:
    data = pollinet("work", south, "--from", "2027-03-01", "--json").data
    order, cut, early, late = (
        dates(data, task) for task in ("order-scions", "cut-scions", "graft-dormant", "graft-bark")
    )
    assert order[1] < cut[1] < early[0] < late[1]


def test_what_is_over_is_said(demo: Path, pollinet: Run) -> None:
    """Wood of the cherry is cut until early February: in late February that is told."""
    answer = pollinet("work", demo, "--from", "2027-02-20", "--json").data
    assert "cut-scions" in {task["task"] for task in answer["over"]}
    out = " ".join(pollinet("work", demo, "--from", "2027-02-20").out.split())
    assert "Over for this season: Cut scions (sweet cherry, until " in out
    assert "else bud in summer" in out
    # Before it was over nothing of it is.
    assert "Cut scions (sweet cherry, until" not in pollinet("work", demo, "--from", TODAY).out


def test_what_is_under_way_comes_first_with_its_latest_day(south: Path, pollinet: Run) -> None:
    out = pollinet("work", south, "--from", "2027-07-01").out
    assert out.startswith("Now, until ") and "at the latest: " in out.splitlines()[0]
    assert "now – " in out


@pytest.mark.parametrize("garden", ["demo", "nuts", "south", "family"])
@pytest.mark.parametrize("day", [TODAY, "2027-04-20"])
def test_work_is_short_and_begins_with_what_is_next(
    garden: str, day: str, request: pytest.FixtureRequest, pollinet: Run
) -> None:
    plan = request.getfixturevalue(garden)
    said = pollinet("work", plan, "--from", day).out
    assert len(said.splitlines()) < 50
    assert re.match(r"(Now|Next)\b", said)
    assert said.index("local rules go first") > 0


def test_young_grafts_are_not_picked(tmp_path: Path, pollinet: Run) -> None:
    """A graft on a bearing tree bears after two to three years (4-H); its ties must be loosened."""
    years = {"old": 2005, "young": 2026}
    limbs = {"old": "Gala", "young": "Elstar"}
    plan = plan_of(tmp_path, TAUNUS, tree("t", "apple", limbs, **years))
    tasks = pollinet("work", plan, "--from", TODAY, "--json").data["tasks"]
    at_young = {task["task"] for task in tasks if "young" in task["limbs"]}
    assert at_young == {"ties"}
    assert {"harvest", "thin", "log-bloom"} <= {t["task"] for t in tasks if "old" in t["limbs"]}
    later = pollinet("work", plan, "--from", "2027-11-30")
    assert "may flower for the first time in 2028: young" in " ".join(later.out.split())


def test_work_and_season_say_that_they_count_a_young_graft_otherwise(
    tmp_path: Path, pollinet: Run
) -> None:
    """The coming season is without its fruit; the season of the garden as it stands has it."""
    limbs = {"early": "One", "mid": "Two", "late": "Three"}
    years = {"early": 2005, "mid": 2026, "late": 2005}
    bloom = 'bloom = ["04-20", "05-01"]'
    kinds = [own("apple", name, bloom) for name in limbs.values()]
    plan = plan_of(tmp_path, TAUNUS, tree("t", "apple", limbs, **years), *kinds)
    for name, after in (("One", 100), ("Two", 130), ("Three", 170)):
        words = ("variety", "add", name, "--species", "apple", "--plan", plan)
        assert pollinet(*words, "--set", f"days_bloom_to_harvest={after}").code == 0
    work, season = (
        " ".join(pollinet(*words).out.split())
        for words in (("work", plan, "--from", TODAY), ("season", plan))
    )
    # 70 days from one first pick to the other, less two weeks of ripe fruit.
    assert "56 days from One to Three" in work
    assert "Too young to be counted in 2027: mid; `pollinet season` counts them as grown." in work
    assert "Two then 26 days without fruit" in season
    assert "Grafts count as grown" in season
    old = plan.read_text().replace("grafted = 2026\n", "").replace("grafted = 2005\n", "")
    plan.write_text(old)
    assert "Too young" not in pollinet("work", plan, "--from", TODAY).out
    assert "Grafts count" not in pollinet("season", plan).out


def test_where_nothing_at_all_is_known_it_is_said(tmp_path: Path, pollinet: Run) -> None:
    parts = [own("apple", name, f's_genotype = "S{i}S{i + 1}"\nbloom_days = [110, 120]')
             for i, name in ((1, "A"), (3, "B"))]  # fmt: skip
    plan = plan_of(tmp_path, "latitude = 47", tree("t", "apple", {"a": "A", "b": "B"}),
                   tree("s", "sour cherry", {"c": "Montmorency"}), *parts)  # fmt: skip
    answer = pollinet("work", plan, "--from", TODAY, "--json").data
    assert answer["limbs_not_dated"] == ["c"]
    assert "No work can be dated at c" in pollinet("work", plan, "--from", TODAY).out


# --- calendar file and sheet ---------------------------------------------------------------------


def events(file: Path) -> dict[str, icalendar.Event]:
    found = icalendar.Calendar.from_ical(file.read_bytes()).walk("VEVENT")
    return {str(event["UID"]): event for event in found}


def test_reminders_come_before_the_work(demo: Path, tmp_path: Path, pollinet: Run) -> None:
    file = tmp_path / "work.ics"
    pollinet("work", demo, "--out", file, "--from", TODAY)
    told = events(file)
    alarmed = {uid: event.walk("VALARM") for uid, event in told.items()}
    assert any(alarmed.values())
    for uid, alarms in alarmed.items():
        for alarm in alarms:
            trigger, from_end = alarm["TRIGGER"], alarm["TRIGGER"].params["RELATED"] == "END"
            # RFC 5545, 3.8.6.3: a duration before the start or the end.
            assert timedelta(days=-15) < trigger.dt < timedelta(0)
            day = told[uid]["DTEND" if from_end else "DTSTART"].dt
            assert day + trigger.dt >= date.fromisoformat(TODAY)
            assert str(alarm["ACTION"]) == "DISPLAY" and str(alarm["DESCRIPTION"])
    (cut,) = [e for e in told.values() if str(e["SUMMARY"]) == "Cut scions: sweet cherry: Lambert"]
    related = {alarm["TRIGGER"].params["RELATED"] for alarm in cut.walk("VALARM")}
    assert related == {"START", "END"}
    # What no limb needs does not remind.
    spare = [e for e in told.values() if "scions of your choice" in str(e["SUMMARY"])]
    assert spare and not any(event.walk("VALARM") for event in spare)


def test_a_new_file_replaces_the_old_events(demo: Path, tmp_path: Path, pollinet: Run) -> None:
    """Same work of the same spring, same id, whatever the day and however dates have moved."""
    plan = tmp_path / "plan.toml"
    for name, content in demo_files().items():
        (tmp_path / name).write_text(content, encoding="utf-8")
    file = tmp_path / "work.ics"
    pollinet("work", plan, "--out", file, "--from", TODAY)
    before = events(file)
    pollinet("work", plan, "--out", file, "--from", "2026-12-20")
    assert set(before) == set(events(file))
    # One more limb of the apple, and bloom a week later by what is noted.
    text = plan.read_text(encoding="utf-8")
    new = (
        '[[tree.limb]]\nid = "A-new"\nvariety = "Idared"\ngrafted = 2012\n\n[[tree]]\nid = "cherry"'
    )
    plan.write_text(text.replace('[[tree]]\nid = "cherry"', new), encoding="utf-8")
    pollinet("record", plan, "C-top", "--stage", "full", "--date", "2026-05-01")
    pollinet("work", plan, "--out", file, "--from", "2026-12-20")
    after = events(file)
    assert set(before) <= set(after)
    assert {str(after[uid]["SUMMARY"]).split(":")[0] for uid in set(after) - set(before)} <= {
        "Pick", "Hang blossom of a good donor in a jar of water", "Pollinate by hand"}  # fmt: skip
    assert any(before[uid]["DTSTART"].dt != after[uid]["DTSTART"].dt for uid in before)
    assert all(int(after[uid]["SEQUENCE"]) > int(before[uid]["SEQUENCE"]) for uid in before)


def sheet(file: Path) -> str:
    pages = PdfReader(io.BytesIO(file.read_bytes())).pages
    assert len(pages) == 1
    assert [round(float(side)) for side in pages[0].mediabox[2:]] == [595, 842]  # A4 in points
    return " ".join(pages[0].extract_text().split())


def test_one_sheet_for_the_shed_door(demo: Path, tmp_path: Path, pollinet: Run) -> None:
    file = tmp_path / "shed.pdf"
    assert pollinet("work", demo, "--print", file, "--from", TODAY).code == 0
    text = sheet(file)
    for words in ("Cut scions", "Lambert, Kordia or Sam", "Local rules go before", "Ladders",
                  "Knives", "Never spray", "Bee stings", "Fire blight"):  # fmt: skip
        assert words in text
    # A box to tick for each piece of work; each of the eight limbs is picked on days of its own.
    assert text.count("☐") > 15 and text.count("Pick ") == 8
    other = tmp_path / "mine.pdf"
    other.write_bytes(b"%PDF-1.4 mine")
    assert pollinet("work", demo, "--print", other).code == 2
    assert other.read_bytes() == b"%PDF-1.4 mine"


def test_an_orchard_has_one_sheet_too(tmp_path: Path, pollinet: Run) -> None:
    fruits = {"apple": ["Gala", "Elstar", "Jonagold", "Idared"], "pear": ["Conference", "Williams"],
              "sweet cherry": ["Burlat", "Regina", "Kordia"], "apricot": ["Bergeron", "Goldrich"],
              "European plum": ["Victoria", "Stanley"], "peach": ["Redhaven"]}  # fmt: skip
    trees = [
        tree(f"{fruit} {i}", fruit, {f"{fruit} {i}{n}": name for n, name in enumerate(names)}, 1)
        for fruit, names in fruits.items()
        for i in range(3)
    ]
    plan = plan_of(tmp_path, TAUNUS, *trees)
    file = tmp_path / "shed.pdf"
    said = pollinet("work", plan, "--print", file, "--from", TODAY)
    assert len(said.out.splitlines()) < 50
    text = sheet(file)
    assert "Thin fruits by hand" in text and "Pick" in text and "local rules go first" in text


def test_rows_of_the_work(demo: Path, tmp_path: Path, pollinet: Run) -> None:
    table = tmp_path / "work.csv"
    assert pollinet("work", demo, "--from", TODAY, "--csv", table).code == 0
    with table.open(encoding="utf-8", newline="") as file:
        rows = {row["task"]: row for row in csv.DictReader(file)}
    assert rows["jar"]["donors"] == "Lambert; Kordia; Sam"
    assert rows["cut-scions"]["needed"] in ("True", "False")


@pytest.mark.parametrize("command", ["work", "balance"])
def test_german_is_complete(nuts: Path, pollinet: Run, command: str) -> None:
    """No line of the German answer is one of the English answer, but for those of names."""
    english = pollinet(command, nuts).out.splitlines()
    german = pollinet(command, nuts, "--language", "de").out
    for line in english:
        words = re.findall(r"[a-z]{3,}", line)
        if len(words) > 5:
            assert line.strip("- ") not in german


def test_every_window_of_grafting_has_its_source() -> None:
    rows = advice_tables()["grafting_windows"]
    assert all(row["source"] and row["status"] and row["reason"] for row in rows)
    keys = [(row["task"], fruit) for row in rows for fruit in row["fruits"].split("|")]
    assert len(keys) == len(set(keys))
    grafted = {fruit for task, fruit in keys if task in ("graft-bark", "graft-dormant")}
    assert grafted == {row["name"] for row in shipped_texts("fruits.csv")}
    assert all(float(row["first_days"]) < float(row["last_days"]) for row in rows)
