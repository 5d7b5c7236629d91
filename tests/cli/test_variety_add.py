"""`pollinet variety add`: what is written, what is refused, and what the main job makes of it."""

from __future__ import annotations

import os
from collections.abc import Callable
from pathlib import Path
from typing import Any

import pytest

from pollinet.days import day_of_year
from pollinet.domain import VarietyId
from pollinet.readers.catalogue import load_catalogue
from pollinet.readers.own_tables import own_folder_beside

Run = Callable[..., Any]

# Two cherries of one tree, and nothing about Dawn in any catalogue.
PLAN = """\
[[tree]]
id = "cherry"
species = "sweet cherry"

[[tree.limb]]
id = "low"
variety = "Bing"

[[tree.limb]]
id = "high"
variety = "Dawn of the Garden"

[[variety]]
species = "sweet cherry"
name = "Bing"
bloom = ["04-10", "04-20"]
"""


@pytest.fixture
def garden(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Path:
    """A folder of one's own, in which commands are run."""
    monkeypatch.chdir(tmp_path)
    (tmp_path / "plan.toml").write_text(PLAN, encoding="utf-8")
    return tmp_path


def files(folder: Path) -> dict[str, bytes]:
    return {
        path.relative_to(folder).as_posix(): path.read_bytes()
        for path in sorted(folder.rglob("*"))
        if path.is_file()
    }


def add(pollinet: Run, *words: str) -> Any:
    return pollinet("variety", "add", *words, "--species", "sweet cherry")


def test_added_variety_is_used_by_check(pollinet: Run, garden: Path) -> None:
    """Bing is S3S4 (Schuster 2020): S1S2 serves it, and both bloom together 12–20 April."""
    refused = pollinet("check", "plan.toml")
    assert refused.code == 2 and "Dawn of the Garden" in refused.err
    added = add(
        pollinet, "Dawn of the Garden", "--s-genotype", "S2 S1", "--bloom", "12 Apr - 22 Apr"
    )
    assert added.code == 0, added.err
    checked = pollinet("check", garden / "plan.toml", "--json")
    assert checked.code == 0, checked.err
    limbs = {limb["id"]: limb for limb in checked.data["limbs"]}
    assert limbs["low"]["donors"][0]["variety"] == "Dawn of the Garden"
    assert limbs["low"]["donors"][0]["compatible_fraction"] == 1
    assert limbs["high"]["bloom"]["start"] == "04-12"
    # From anywhere else too: the folder belongs to the plan, not to where the command is run.
    os.chdir(garden.parent)
    assert pollinet("check", garden / "plan.toml").code == 0


def test_same_genotype_as_bing_covers_nobody(pollinet: Run, garden: Path) -> None:
    add(pollinet, "Dawn of the Garden", "--s-genotype", "S3S4", "--bloom", "12 Apr - 22 Apr")
    assert pollinet("check", "plan.toml").code == 1


def test_own_value_goes_before_the_shipped_one(pollinet: Run, garden: Path) -> None:
    shipped = pollinet("variety", "Bing", "--json").data
    assert shipped["s_alleles"] == ["S3", "S4"]
    answer = add(pollinet, "Bing", "--s-genotype", "S1S2", "--note", "typed by a laboratory")
    assert answer.code == 0 and "in the catalogue" in answer.err
    own = pollinet("variety", "Bing", "--json").data
    assert own["s_alleles"] == ["S1", "S2"]
    [told] = [fact for fact in own["facts"] if fact["property"] == "s_genotype"]
    assert (told["source"], told["status"]) == ("own", "plan")
    assert told["note"] == "typed by a laboratory"
    # What was not typed stays as it was.
    assert {f["property"] for f in own["facts"]} == {f["property"] for f in shipped["facts"]}
    assert pollinet("cross", "Bing", "Lambert", "--json").data["verdict"] == "yes"


def test_all_mistakes_at_once_and_nothing_written(pollinet: Run, garden: Path) -> None:
    before = files(garden)
    answer = add(
        pollinet,
        "Dawn",
        *("--s-genotype", "S101S105", "--ploidy", "many", "--self-fertile", "maybe"),
        *("--bloom", "soon", "--set", "vigor=low", "--sport-of", "Bingo"),
    )
    assert answer.code == 2
    for place in ("--s-genotype", "--ploidy", "--self-fertile", "--bloom", "--sport-of"):
        assert place in answer.err
    assert "nearest: vigour" in answer.err
    assert files(garden) == before


@pytest.mark.parametrize(
    "words",
    [
        ("Dawn", "--s-genotype", "S1S2S3", "--ploidy", "2"),
        ("Dawn", "--ploidy", "9"),
        ("Dawn", "--bloom", "1 Apr - 31 Mar"),
        ("Dawn", "--bloom", "England groups: C"),
        ("Dawn", "--bloom", "2 days after Big Fellow"),
        ("Dawn", "--set", "full_bloom_day=100"),
        ("Dawn", "--chill-portions", "many"),
        ("Dawn", "--sport-of", "Dawn"),
        ("bing", "--ploidy", "2"),
        (" ", "--ploidy", "2"),
        ("#1", "--ploidy", "2"),
        ("Dawn", "--ploidy", ""),
        ("Dawn",),
        ("Dawn", "--set", "vigour"),
    ],
)
def test_wrong_input_is_refused(pollinet: Run, garden: Path, words: tuple[str, ...]) -> None:
    before = files(garden)
    assert add(pollinet, *words).code == 2
    assert files(garden) == before


def test_second_value_is_refused_and_the_first_named(pollinet: Run, garden: Path) -> None:
    add(pollinet, "Dawn", "--ploidy", "2")
    before = files(garden)
    for ploidy in ("2", "3"):
        answer = add(pollinet, "Dawn", "--ploidy", ploidy)
        assert answer.code == 2
        assert "catalogues/sweet_cherry/facts.csv" in answer.findings
        assert "line 2" in answer.findings
    assert files(garden) == before
    assert add(pollinet, "Dawn", "--set", "vigour=low").code == 0


def test_what_stands_in_a_table_stays(pollinet: Run, garden: Path) -> None:
    table = garden / "catalogues" / "sweet_cherry" / "facts.csv"
    table.parent.mkdir(parents=True)
    # Another order of columns, a comment, lines ended as a spreadsheet does, none at the end.
    old = (
        "\ufeffproperty,variety,value,unit,context,source,status,note\r\n"
        "# my trees\r\nvigour,Dawn,high,,,own,plan,"
    ).encode()
    table.write_bytes(old)
    table.chmod(0o640)
    assert add(pollinet, "Dusk", "--ploidy", "2").code == 0
    assert table.read_bytes() == old + b"\r\nploidy,Dusk,2,,,own,plan,\r\n"
    assert table.stat().st_mode & 0o777 == 0o640
    names = {v.name for v in load_catalogue(["sweet cherry"], garden / "catalogues")[0].varieties}
    assert {"Dawn", "Dusk"} <= names


def test_broken_own_table_is_shown_and_left(pollinet: Run, garden: Path) -> None:
    table = garden / "catalogues" / "sweet_cherry" / "facts.csv"
    table.parent.mkdir(parents=True)
    table.write_bytes(b"variety,property\nDawn,vigour\n")
    answer = add(pollinet, "Dusk", "--ploidy", "2")
    assert answer.code == 2 and "missing-column" not in answer.out
    assert "facts.csv" in answer.err
    assert table.read_bytes() == b"variety,property\nDawn,vigour\n"


def test_interrupted_writing_leaves_the_tables(
    pollinet: Run, garden: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    assert add(pollinet, "Dawn", "--ploidy", "2").code == 0
    before = files(garden)

    def full(*_: object) -> None:
        raise OSError(28, "No space left on device")

    monkeypatch.setattr(Path, "replace", full)
    answer = add(pollinet, "Dusk", "--bloom", "12 Apr - 22 Apr")
    assert answer.code == 2 and "the disk is full" in answer.err
    assert files(garden) == before


def test_shipped_catalogues_are_never_written(pollinet: Run, checkout: Path) -> None:
    answer = add(pollinet, "Dawn", "--ploidy", "2", "--folder", str(checkout / "catalogues"))
    assert answer.code == 2 and "shipped" in answer.err
    assert own_folder_beside(checkout) is None


def test_bloom_against_another_variety(pollinet: Run, garden: Path) -> None:
    """Every date of the other variety moves by the days typed, and its error grows."""
    assert add(pollinet, "Dawn", "--bloom", "4 days after Burlat").code == 0
    catalogue, findings = load_catalogue(["sweet cherry"], garden / "catalogues")
    assert findings == ()
    dawn, burlat = (
        {(e.place, e.stage): e for e in catalogue.varieties[VarietyId("sweet cherry", n)].bloom}
        for n in ("Dawn", "Burlat")
    )
    assert dawn.keys() == burlat.keys() and dawn
    # What "four days" may be wrong by (3 days) is shared by all places and must not average out.
    pooled = sum(1 / dawn[key].sd_days ** 2 for key in dawn if key[1] == "full") ** -0.5
    assert pooled >= 3
    for key, evidence in dawn.items():
        assert evidence.day == pytest.approx(burlat[key].day + 4)
        assert evidence.sd_days > burlat[key].sd_days
        assert (evidence.status == "memory") == (burlat[key].status == "memory")


def test_bloom_against_an_own_variety(pollinet: Run, garden: Path) -> None:
    add(pollinet, "Dawn", "--bloom", "30 Mar - 9 Apr")
    assert add(pollinet, "Dusk", "--bloom", "3 days before Dawn").code == 0
    catalogue, _ = load_catalogue(["sweet cherry"], garden / "catalogues")
    typed = catalogue.varieties[VarietyId("sweet cherry", "Dusk")].typed_bloom
    assert typed is not None
    assert typed.intervals == ((day_of_year(3, 27), day_of_year(4, 6)),)


def test_sport_takes_over_the_alleles(pollinet: Run, garden: Path) -> None:
    """Stella S3S4' (Schuster 2020): its sport has them too, and never serves as another variety."""
    assert add(pollinet, "Red Stella", "--sport-of", "stella").code == 0
    data = pollinet("variety", "Red Stella", "--json").data
    assert (data["clone_of"], data["s_alleles"]) == ("Stella", ["S3", "S4'"])


def test_new_allele_is_noted(pollinet: Run, garden: Path) -> None:
    answer = add(pollinet, "Dawn", "--s-genotype", "S1S98")
    assert answer.code == 0 and "S98" in answer.err


def test_json(pollinet: Run, garden: Path) -> None:
    answer = add(pollinet, "Dawn", "--ploidy", "2", "--json")
    assert answer.code == 0
    assert (answer.data["variety"], answer.data["findings"]) == ("Dawn", [])
    wrong = add(pollinet, "Dawn", "--ploidy", "3", "--json")
    assert wrong.code == 2 and wrong.data["answer"] is None


@pytest.mark.parametrize(
    ("words", "said"),
    [
        # A sport has its parent's alleles and ploidy: Stella is S3S4', and diploid as cherries are.
        (("--s-genotype", "S1S2", "--sport-of", "Stella"), "of which it is a clone, has S3S4'"),
        (("--pollen-shed", "8 Jan - 2 Feb"), "sheds its pollen with its bloom"),
    ],
)
def test_what_cannot_be_is_refused(
    words: tuple[str, ...], said: str, pollinet: Run, garden: Path
) -> None:
    before = files(garden)
    answer = add(pollinet, "Dawn", *words)
    assert answer.code == 2
    assert said in " ".join(answer.err.split())
    assert files(garden) == before


def test_pollen_cannot_show_what_the_tree_has_not(pollinet: Run, garden: Path) -> None:
    answer = pollinet("variety", "add", "Dusk", "--species", "hazelnut", "--s-genotype", "S1S3",
                      "--set", "pollen_alleles=S7")  # fmt: skip
    assert answer.code == 2
    assert "the tree has S1, S3" in " ".join(answer.err.split())


def test_a_value_is_given_once(pollinet: Run, garden: Path) -> None:
    answer = add(pollinet, "Dusk", "--ploidy", "2", "--set", "ploidy=3")
    assert answer.code == 2
    assert "ploidy is given twice" in answer.err


def test_a_sport_of_a_self_fertile_variety_is_self_fertile(pollinet: Run, garden: Path) -> None:
    """Stella is self-fertile by its S4'; nobody has said so of its sport (Schuster 2020)."""
    assert add(pollinet, "Red Stella", "--sport-of", "Stella").code == 0
    answer = pollinet("cross", "Red Stella", "Stella", "--json").data
    assert (answer["verdict"], answer["other_way"]["verdict"]) == ("yes", "yes")


def test_an_allele_by_another_name_is_not_new(pollinet: Run, garden: Path) -> None:
    """S27 of apple is S16 in the tables of alleles."""
    answer = pollinet("variety", "add", "Dusk", "--species", "apple", "--s-genotype", "S3S27")
    assert answer.code == 0
    assert "No other" not in answer.err


def test_descent_and_picking_of_a_variety_of_ones_own(garden: Path, pollinet: Run) -> None:
    """Of S2S5 by S9S24 (as the catalogue has Gala and Braeburn), and picked from 8 September on."""
    added = pollinet(
        *("variety", "add", "Gate Apple", "--species", "apple", "--parents", "gala X braeburn"),
        *("--pick", "8 Sep - 20 Sep", "--keeping-weeks", "12", "--hardiness-zone", "6"),
        *("--crab", "no"),
    )
    assert added.code == 0
    data = pollinet("variety", "Gate Apple", "--species", "apple", "--json").data
    assert (data["parents"]["first"], data["parents"]["second"]) == ("Gala", "Braeburn")
    assert data["picking"][0]["own_garden"] and data["picking"][0]["first"] == "09-08"
    assert (data["keeping_weeks"], data["hardiness_zone"], data["crab"]) == (12, 6, False)
    catalogue, findings = load_catalogue(["apple"], garden / "catalogues")
    assert findings == ()
    descent = catalogue.varieties[VarietyId("apple", "Gate Apple")].fertility.descent
    assert descent is not None and descent.told
    assert (descent.seed, descent.pollen) == (("S2", "S5"), ("S9", "S24"))


@pytest.mark.parametrize(
    ("typed", "told"),
    [
        (["--parents", "Gala"], "does not name two parents"),
        (["--parents", "? x ?"], "does not name two parents"),
        (["--parents", "Gate Apple x Gala"], "cannot be a parent of itself"),
        (["--parents", "Gala x Braeburn", "--s-genotype", "S7S10"], "cannot come from"),
        (["--pick", "soon"], "cannot be read as days of picking"),
        (["--keeping-weeks", "99"], "outside 0 to 60"),
        (["--hardiness-zone", "20"], "outside 1 to 13"),
        (["--crab", "perhaps"], "not allowed for crab"),
    ],
)
def test_wrong_descent_and_picking_are_told(
    typed: list[str], told: str, garden: Path, pollinet: Run
) -> None:
    answer = pollinet("variety", "add", "Gate Apple", "--species", "apple", *typed)
    assert answer.code == 2 and told in " ".join(answer.err.split())
    assert not (garden / "catalogues").exists()


def test_a_parent_that_nobody_knows_is_only_noted(garden: Path, pollinet: Run) -> None:
    typed = ("--parents", "Gala, Tree by the Gate")
    answer = pollinet("variety", "add", "Gate Apple", "--species", "apple", *typed)
    assert answer.code == 0 and "nothing follows from it" in " ".join(answer.err.split())


def own_facts(folder: Path, fruit: str, name: str) -> dict[str, str]:
    catalogue, findings = load_catalogue([fruit], folder / "catalogues")
    assert findings == ()
    facts = catalogue.varieties[VarietyId(fruit, name)].facts
    return {fact.property: fact.value for fact in facts if fact.source == "own"}


@pytest.mark.parametrize(("typed", "share"), [("m0M1", 0.5), ("M0m0", 1.0), ("M1M2", 0.0)])
def test_modifiers_of_an_apricot_let_their_share_of_the_pollen_pass(
    typed: str, share: float, pollinet: Run, garden: Path
) -> None:
    """Half of the pollen for one m0, all for two (Muñoz-Sanz et al. 2017)."""
    answer = pollinet("variety", "add", "Own", "--species", "apricot", "--s-genotype", "S1S2",
                      "--set", f"m_genotype={typed}")  # fmt: skip
    assert answer.code == 0, answer.err
    catalogue, _ = load_catalogue(["apricot"], garden / "catalogues")
    assert catalogue.varieties[VarietyId("apricot", "Own")].fertility.modifier_share == share
    again = pollinet("variety", "add", "Told", "--species", "apricot", "--set", "m_genotype=m0m0",
                     "--set", "modifier_share=0.25")  # fmt: skip
    assert again.code == 0, again.err
    assert own_facts(garden, "apricot", "Told")["modifier_share"] == "0.25"


def test_a_bloom_class_of_the_fruit_is_taken_and_another_told(pollinet: Run, garden: Path) -> None:
    line = ("variety", "add", "Own", "--species", "apple", "--bloom")
    before = files(garden)
    wrong = pollinet(*line, "England groups: K")
    assert wrong.code == 2 and "is no bloom class of England groups" in wrong.findings
    assert "Its classes: A, B, C" in wrong.findings
    assert files(garden) == before
    assert pollinet(*line, "England groups: B").code == 0
    assert own_facts(garden, "apple", "Own") == {"bloom_class": "B"}
    catalogue, _ = load_catalogue(["apple"], garden / "catalogues")
    (evidence,) = catalogue.varieties[VarietyId("apple", "Own")].bloom
    # The middle of the printed dates of group B (catalogues/bloom_classes.csv).
    assert evidence.day == 125.5


def test_a_variety_is_no_sport_of_itself(pollinet: Run, garden: Path) -> None:
    before = files(garden)
    for name in ("Bing", "Lambert"):
        answer = add(pollinet, name, "--sport-of", name)
        assert answer.code == 2 and f"{name} cannot be a sport of itself" in answer.findings
    assert files(garden) == before


def test_a_bloom_that_nobody_knows_is_no_measure_for_another(pollinet: Run, garden: Path) -> None:
    assert add(pollinet, "Dawn", "--ploidy", "2").code == 0
    before = files(garden)
    answer = add(pollinet, "Dusk", "--bloom", "2 days after Dawn")
    assert answer.code == 2 and "is known of the bloom of Dawn" in answer.findings
    assert files(garden) == before


def test_a_synonym_is_told_with_the_name_it_stands_for(pollinet: Run, garden: Path) -> None:
    synonyms = load_catalogue(["sweet cherry"])[0].synonyms
    other, proper = min((key.name, value.name) for key, value in synonyms.items())
    before = files(garden)
    answer = add(pollinet, other, "--ploidy", "2")
    assert answer.code == 2
    assert f"{other} is a synonym; the catalogue has it as {proper}." in answer.findings
    assert files(garden) == before
