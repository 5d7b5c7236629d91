"""Gardens that people really have: what nobody knows is told as such, never as a no.

That Bramley is triploid, that Cox is S5S9, Golden Delicious S2S3 and Idared S3S7, that Victoria,
Redhaven, Bergeron and Morello set fruit alone: trade knowledge that the catalogue has with its
sources. Twelve monthly means near those of southern England, typed by hand.
"""

from __future__ import annotations

from collections.abc import Callable
from pathlib import Path
from typing import Any

import pytest
from gardens import entry, grown, limbs, saved

from pollinet.answers.donors import look
from pollinet.strips import limb_spring
from pollinet.study import open_study

Run = Callable[..., Any]

SITE = """
[site]
latitude = 51.5
elevation_m = 60
[site.normals]
tmin_c = [1.5, 1.3, 2.8, 4.3, 7.3, 10.3, 12.4, 12.2, 9.8, 7.1, 4.0, 2.0]
tmax_c = [7.5, 8.0, 10.8, 13.7, 17.1, 20.2, 22.5, 22.1, 19.0, 14.8, 10.6, 7.9]
"""

MARKS = "●◐?✕"


def tree(species: str, *names: str) -> str:
    return grown(species, names, f"{species} tree", spare_limbs=4)


def next_door(species: str, name: str, distance_m: float) -> str:
    where = {"id": "next door", "distance_m": distance_m}
    return entry("neighbour", species=species, variety=name, **where)


def own(species: str, name: str, *lines: str) -> str:
    return "\n".join(["[[variety]]", f'species = "{species}"', f'name = "{name}"', *lines, ""])


def plan(folder: Path, *parts: str) -> Path:
    return saved(folder, SITE + "".join(parts))


def test_bramley_among_known_apples_is_covered(tmp_path: Path, pollinet: Run) -> None:
    """Triploid, its alleles unpublished: Cox, Golden Delicious and Idared cannot all be refused.

    Its sure winters fall short of the expected ones only where one or two of them bloom with it.
    """
    names = ("Bramley's Seedling", "Cox's Orange Pippin", "Golden Delicious", "Idared",
             "Egremont Russet")  # fmt: skip
    found = limbs(pollinet("check", plan(tmp_path, tree("apple", *names)), "--json").data)
    bramley = found["Bramley's Seedling"]
    assert bramley["verdict"] in ("sure", "likely")
    assert 0.7 < bramley["winters_sure"] <= bramley["winters_expected"]
    assert found["Cox's Orange Pippin"]["covered"]
    served = [donor["id"] for donor in found["Egremont Russet"]["donors"]]
    # Nobody has published its alleles or dated its bloom; it still has donors, at a chance.
    assert {"Cox's Orange Pippin", "Golden Delicious", "Idared"} <= set(served)
    assert 0 < found["Egremont Russet"]["winters_expected"] <= 1


@pytest.mark.parametrize(
    ("species", "name"),
    [("European plum", "Victoria"), ("peach", "Redhaven"), ("apricot", "Bergeron"),
     ("sour cherry", "Morello")],
)  # fmt: skip
def test_a_self_fertile_limb_alone_needs_nobody(
    species: str, name: str, tmp_path: Path, pollinet: Run
) -> None:
    garden = plan(tmp_path, tree(species, name))
    answer = pollinet("check", garden, "--json")
    assert answer.code == 0
    limb = limbs(answer.data)[name]
    assert (limb["verdict"], limb["donors"][0]["id"]) == ("sure", name)
    assert pollinet("donors", garden, name, "--json").data["verdict"] == "sure"
    assert pollinet("cover", garden, "--json").data["status"] == "nothing to add"


def test_a_self_fertile_limb_needs_no_date_at_all(tmp_path: Path, pollinet: Run) -> None:
    """No weather, no dates: it serves itself all the same, and says what is not known."""
    path = saved(tmp_path, "[site]\nlatitude = 50\n" + tree("European plum", "Victoria"))
    answer = pollinet("check", path, "--json")
    assert (answer.code, limbs(answer.data)["Victoria"]["verdict"]) == (0, "sure")
    assert [found["code"] for found in answer.data["findings"]] == ["no-dates"]
    path.write_text(path.read_text("utf-8").replace("Victoria", "Coe's Golden Drop"), "utf-8")
    assert pollinet("check", path).code == 2


def test_two_pears_with_one_next_door(tmp_path: Path, pollinet: Run) -> None:
    garden = plan(tmp_path, tree("pear", "Comice", "Williams"), next_door("pear", "Conference", 40))
    found = limbs(pollinet("check", garden, "--json").data)
    for name in ("Comice", "Williams"):
        assert found[name]["verdict"] in ("sure", "likely", "open")
        assert "next door" in [donor["id"] for donor in found[name]["donors"]]


UNKNOWN = own("apple", "Found", 'bloom_days = ["04-24", "05-06"]', "bloom_sd_days = 1")
KNOWN = own("apple", "Known", 's_genotype = "S3S5"', 'bloom_days = ["04-24", "05-06"]',
            "bloom_sd_days = 1")  # fmt: skip
TWIN = KNOWN.replace('"Known"', '"Twin"')


def test_an_unknown_apple_with_one_known_donor_is_likely(tmp_path: Path, pollinet: Run) -> None:
    garden = plan(tmp_path, tree("apple", "Found", "Known"), UNKNOWN, KNOWN)
    answer = pollinet("check", garden, "--json")
    found = limbs(answer.data)["Found"]
    assert found["verdict"] == "likely"
    assert found["winters_sure"] == 0
    assert 0.8 < found["winters_expected"] < found["winters_possible"]
    assert [part["code"] for part in found["hangs_on"]] == ["own-alleles"]
    assert found["hangs_on"][0]["varieties"] == ["Found"]
    text = pollinet("check", garden).out
    assert "S-alleles of Found" in text
    assert "laboratory" in text
    # The other limb hangs on the pollen of Found alone, which one in nine apples lacks.
    assert answer.code == (0 if limbs(answer.data)["Known"]["covered"] else 1)


def test_two_of_one_genotype_serve_each_other_never(tmp_path: Path, pollinet: Run) -> None:
    garden = plan(tmp_path, tree("apple", "Known", "Twin"), KNOWN, TWIN)
    answer = pollinet("check", garden, "--json")
    assert answer.code == 1
    for limb in answer.data["limbs"]:
        assert (limb["verdict"], limb["winters_possible"]) == ("lacking", 0)
    assert "same genotype S3S5" in pollinet("check", garden).out


def test_one_variety_under_two_names_serves_itself_never(tmp_path: Path, pollinet: Run) -> None:
    """The French and the English name of one apple; a sport of a sport (trade knowledge)."""
    names = ("Reine des Reinettes", "King of the Pippins")
    found = limbs(pollinet("check", plan(tmp_path, tree("apple", *names)), "--json").data)
    assert [limb["verdict"] for limb in found.values()] == ["lacking", "lacking"]
    sports = ("Gala", "Royal Gala")
    found = limbs(pollinet("check", plan(tmp_path, tree("apple", *sports)), "--json").data)
    assert [limb["winters_possible"] for limb in found.values()] == [0, 0]


def test_a_kind_of_fruit_that_growers_do_not_rely_on_is_no_cover(
    tmp_path: Path, pollinet: Run
) -> None:
    """Apricot pollen has set Japanese plums in trials (Yoshida 1975); nobody plants for it."""
    bloom = ('bloom_days = ["04-01", "04-22"]', "bloom_sd_days = 1")
    plum = own("Japanese plum", "Plum", 's_genotype = "SbSc"', "self_fertile = false", *bloom)
    apricot = own("apricot", "Stone", 's_genotype = "S1S2"', "self_fertile = false", *bloom)
    garden = plan(tmp_path, tree("Japanese plum", "Plum"), tree("apricot", "Stone"), plum, apricot)
    found = limbs(pollinet("check", garden, "--json").data)["Plum"]
    assert found["verdict"] == "open"
    assert 0 < found["winters_expected"] < 0.5
    assert found["hangs_on"][0]["code"] == "fruit-crosses"
    assert "do not count on it" in pollinet("check", garden).out


def test_pollen_that_is_not_relied_on_is_no_donor_and_no_advice(
    tmp_path: Path, pollinet: Run
) -> None:
    """Peach on apricot is not counted upon (READ-102); of almond on apricot nobody tells."""
    bloom = ('bloom_days = ["04-01", "04-22"]', "bloom_sd_days = 1", "self_fertile = false")
    fruits = ("apricot", "peach", "almond")
    described = [own(fruit, f"{fruit} {one}", *bloom) for fruit in fruits for one in "AB"]
    wood = [
        f'[[scion]]\nspecies = "{fruit}"\nvariety = "{fruit} B"\n' for fruit in ("peach", "almond")
    ]
    trees = [tree(fruit, f"{fruit} A") for fruit in fruits]
    garden = plan(tmp_path, *trees, *described, *wood)
    answer = pollinet("donors", garden, "apricot A", "--json").data
    assert (answer["donors"], answer["winters_expected"]) == ([], 0)
    # It is not known, and so neither a no.
    assert answer["verdict"] == "open" and answer["winters_possible"] > 0.9
    reasons = {one["variety"]: one["reason"] for one in answer["refused"]}
    assert set(reasons) == {"peach A", "peach B", "almond A", "almond B"}
    assert all("not relied upon" in reason for reason in reasons.values())
    assert pollinet("donors", garden, "apricot A").out.startswith("apricot A has no donor here.")
    for command in ("pollinizer", "cover"):
        jars = pollinet(command, garden, "--json").data["jars"]
        (jar,) = [jar for jar in jars if jar["limb"] == "apricot A"]
        assert jar["sources"] == []
    opened = open_study(garden)
    assert opened.study is not None
    beside = limb_spring(opened.study, look(opened.study, 0)).beside
    assert {one.label.split(" · ")[0]: (one.kind, one.told) for one in beside} == dict.fromkeys(
        reasons, ("no donor", "not relied on")
    )
    told = pollinet("cover", garden).out
    assert "for peach A that of peach B (10 of 10 winters)" in " ".join(told.split())


HERITAGE = ("Bramley's Seedling", "Cox's Orange Pippin", "Golden Delicious", "Idared",
            "Egremont Russet", "Blenheim Orange", "Ashmead's Kernel", "James Grieve", "Discovery",
            "Worcester Pearmain", "Ellison's Orange", "Court Pendu Plat")  # fmt: skip


def test_twelve_heritage_apples_fit_on_a_screen(tmp_path: Path, pollinet: Run) -> None:
    out = pollinet("check", plan(tmp_path, tree("apple", *HERITAGE))).out
    lines = out.splitlines()
    assert len(lines) <= 40
    assert max(map(len, lines)) <= 100
    rows = [line for line in lines if line[:1] in MARKS and line[1:3] == "  "]
    assert len(rows) == len(HERITAGE)
    # What needs attention comes first.
    order = [MARKS[::-1].index(row[0]) for row in rows]
    attention = [place for place in order if MARKS[::-1][place] in "✕?"]
    assert order[: len(attention)] == sorted(attention)
    # Whole winters of ten; the ids are whole.
    assert not any(f".{digit} of 10" in out for digit in range(10))
    assert all(name in out for name in HERITAGE)


@pytest.mark.parametrize("width", [60, 79, 80, 100, 140])
def test_the_table_follows_the_width_of_the_terminal(
    width: int, tmp_path: Path, pollinet: Run, monkeypatch: pytest.MonkeyPatch
) -> None:
    """Ids are never broken; where rows do not fit, each is told on two lines."""
    monkeypatch.setattr("pollinet.cli.common.table_width", lambda *_widest: width)
    text = SITE + tree("apple", *HERITAGE)
    for number, name in enumerate(HERITAGE):
        text = text.replace(f'id = "{name}"', f'id = "old-row-{number}-by-the-fence"')
    path = saved(tmp_path, text)
    out = pollinet("check", path).out
    table = out[out.index("\n\n") : out.index(MARKS[0] + " sure")]
    assert max(map(len, table.splitlines())) <= width
    assert all(f"old-row-{number}-by-the-fence" in table for number in range(len(HERITAGE)))
    below = [line for line in table.splitlines() if line.startswith("    ")]
    # A row with these ids takes a little more than a hundred columns.
    assert bool(below) == (width <= 100)
