"""Own tables: what is read, what goes before the shipped values, and each kind of bad row."""

from __future__ import annotations

from pathlib import Path

import pytest

from pollinet.domain import BloomEvidence, Catalogue, Genotype, Variety, VarietyId
from pollinet.findings import Finding
from pollinet.readers.catalogue import fruits, load_catalogue

HEADER = "variety,property,value,unit,context,source,status,note"
GOOD = "Fuji,ploidy,2,,,own,plan,"


def write(folder: Path, path: str, *lines: str) -> None:
    file = folder / path
    file.parent.mkdir(parents=True, exist_ok=True)
    file.write_text("\n".join(lines) + "\n", encoding="utf-8")


def load_own(folder: Path, *lines: str) -> tuple[Catalogue, tuple[Finding, ...]]:
    write(folder, "apple/facts.csv", HEADER, *lines)
    return load_catalogue(["apple"], folder)


def apple(catalogue: Catalogue, name: str) -> Variety:
    return catalogue.varieties[VarietyId("apple", name)]


def test_shipped_tables_have_no_findings() -> None:
    catalogue, findings = load_catalogue(fruits())
    assert findings == ()
    assert {variety.species for variety in catalogue.varieties} == set(fruits())


def test_only_the_fruits_asked_for_are_read() -> None:
    catalogue, _ = load_catalogue(["pear"])
    assert {variety.species for variety in catalogue.varieties} == {"pear"}
    assert set(catalogue.rules.fruits) == {"pear"}


def test_unknown_fruit_is_found() -> None:
    _, (finding,) = load_catalogue(["pears"])
    assert finding.code == "unknown-fruit" and "nearest: pear" in finding.message


BAD_ROWS = {
    "unknown-property": "Fuji,bloom_week,17,,,own,plan,",
    "wrong-type": "Fuji,full_bloom_day,late April,day of year,,own,plan,",
    "out-of-range": "Fuji,full_bloom_day,412,day of year,,own,plan,",
    "wrong-unit": "Fuji,chill_portions,50,h,,own,plan,",
    "not-allowed": "Fuji,self_compatibility,maybe,,,own,plan,",
    "missing-source": "Fuji,vigour,high,,,,plan,",
    "missing-value": "Fuji,vigour,,,,own,plan,",
    "unknown-source": "Fuji,vigour,high,,,BOOK1999,plan,",
    "unknown-context": "Fuji,full_bloom_day,120,day of year,My garden,own,plan,",
    "unknown-genotype": "Fuji,s_genotype,S101S102,,,own,plan,",
    "wrong-length": "Fuji,vigour,high,,,own,plan,tall, but slow",
}


@pytest.mark.parametrize(("code", "row"), BAD_ROWS.items())
def test_each_bad_row_is_one_finding_with_its_line(tmp_path: Path, code: str, row: str) -> None:
    catalogue, (finding,) = load_own(tmp_path, GOOD, row)
    assert (finding.severity, finding.code, finding.line) == ("error", code, 3)
    assert finding.file == f"{tmp_path}/apple/facts.csv"
    assert apple(catalogue, "Fuji").fertility.genotype == Genotype(("S1", "S9"))


def test_whole_number_is_asked_for(tmp_path: Path) -> None:
    _, (finding,) = load_own(tmp_path, "Fuji,ploidy,2.5,,,own,plan,")
    assert finding.code == "wrong-type" and "whole number" in finding.message


def test_unknown_status_is_found(tmp_path: Path) -> None:
    _, (finding,) = load_own(tmp_path, "Fuji,vigour,high,,,own,sure,")
    assert (finding.code, finding.place) == ("not-allowed", "status")


def test_second_value_is_a_contradiction(tmp_path: Path) -> None:
    catalogue, (finding,) = load_own(
        tmp_path, "Fuji,s_genotype,S1S9,,,own,plan,", "Fuji,s_genotype,S1S2,,,own,plan,"
    )
    assert (finding.severity, finding.code, finding.line) == ("error", "contradiction", 3)
    assert "S1S9 in line 2" in finding.message
    assert apple(catalogue, "Fuji").fertility.genotype == Genotype(("S1", "S9"))


def test_same_value_twice_is_a_warning(tmp_path: Path) -> None:
    _, (finding,) = load_own(tmp_path, GOOD, GOOD)
    assert (finding.severity, finding.code) == ("warning", "duplicate")


def test_missing_column_stops_the_table(tmp_path: Path) -> None:
    write(tmp_path, "apple/facts.csv", "variety,property,value", "Fuji,ploidy,2")
    _, (finding,) = load_catalogue(["apple"], tmp_path)
    assert (finding.code, finding.line) == ("missing-column", 1)
    assert "source" in finding.message


def test_table_with_a_wrong_name_is_told(tmp_path: Path) -> None:
    write(tmp_path, "aple/facts.csv", HEADER)
    _, (finding,) = load_catalogue(["apple"], tmp_path)
    assert (finding.severity, finding.code) == ("warning", "unread-table")
    assert "apple/facts.csv" in finding.message


def test_missing_folder_is_told(tmp_path: Path) -> None:
    _, (finding,) = load_catalogue(["apple"], tmp_path / "nowhere")
    assert (finding.severity, finding.code) == ("error", "missing-folder")


def test_other_encoding_is_told(tmp_path: Path) -> None:
    (tmp_path / "apple").mkdir()
    (tmp_path / "apple" / "facts.csv").write_bytes(f"{HEADER}\nSüßapfel".encode("latin-1"))
    _, (finding,) = load_catalogue(["apple"], tmp_path)
    assert (finding.severity, finding.code) == ("error", "wrong-encoding")


def test_site_without_twelve_months_is_told(tmp_path: Path) -> None:
    site = "place,country,latitude,longitude,elevation_m,source,status,note"
    write(tmp_path, "trial_sites.csv", site, "Garden,,50,9,100,own,plan,")
    _, (finding,) = load_catalogue(["apple"], tmp_path)
    assert (finding.code, finding.line) == ("missing-normals", 2)


def test_bad_pair_crossing_and_synonym_are_found(tmp_path: Path) -> None:
    pairs = "female,male,result,fruit_set_pct,kind,context,source,status,note"
    write(tmp_path, "apple/pairs.csv", pairs, "Fuji,Gala,often,,measured cross,,own,plan,")
    crossings = "donor,receiver,answer,source,status,note"
    write(tmp_path, "crossings.csv", crossings, "quince,apple,no,own,plan,")
    synonyms = "name,variety,kind,source,status,note"
    write(tmp_path, "apple/synonyms.csv", synonyms, "Old Red,Fuji,nickname,own,plan,")
    _, findings = load_catalogue(["apple"], tmp_path)
    assert {(f.file.split("/")[-1], f.code, f.line) for f in findings} == {
        ("pairs.csv", "not-allowed", 2),
        ("crossings.csv", "unknown-fruit", 2),
        ("synonyms.csv", "not-allowed", 2),
    }


def test_own_value_goes_before_the_shipped_one(tmp_path: Path) -> None:
    catalogue, findings = load_own(tmp_path, "Fuji,s_genotype,S1S?,,,own,plan,")
    assert findings == ()
    fuji = apple(catalogue, "Fuji")
    assert fuji.fertility.genotype == Genotype(("S1",), complete=False)
    assert [f.source for f in fuji.facts if f.property == "s_genotype"] == ["own"]
    assert fuji.fertility.ploidy == 2  # other shipped values stay


def test_own_variety_own_site_and_own_date(tmp_path: Path) -> None:
    site = "place,country,latitude,longitude,elevation_m,source,status,note"
    write(tmp_path, "trial_sites.csv", site, "Garden,,50,9,100,own,plan,")
    months = [f"Garden,{month},{month - 5},{month + 6},own,plan" for month in range(1, 13)]
    write(tmp_path, "trial_site_normals.csv", "place,month,tmin_c,tmax_c,source,status", *months)
    context = "context,place,years,stage,reference_variety,reference_day,sd_days,source,status,note"
    write(tmp_path, "contexts.csv", context, "My garden,Garden,,full,Fuji,118,2,own,plan,")
    catalogue, findings = load_own(
        tmp_path,
        "Hedge Apple,full_bloom_day,121.5,day of year,My garden,own,plan,",
        "Hedge Apple,bloom_offset_days,4,days,My garden,own,plan,",
        "Hedge Apple,s_genotype,S2S3S9,,,own,plan,",
    )
    assert findings == ()
    hedge = apple(catalogue, "Hedge Apple")
    shared = ("Garden",)
    assert hedge.bloom == (
        BloomEvidence("full", 121.5, 2, *shared, "date", "own", "plan", "My garden"),
        BloomEvidence("full", 122.0, 2, *shared, "offset", "own", "plan", "My garden"),
    )
    # Three alleles tell a triploid, and its pollen then counts as not working.
    assert (hedge.fertility.ploidy, hedge.fertility.pollen_ok) == (3, False)


def test_own_name_may_be_a_synonym(tmp_path: Path) -> None:
    catalogue, _ = load_own(tmp_path, "Crispin,vigour,high,,,own,plan,")
    assert VarietyId("apple", "Crispin") not in catalogue.varieties
    assert "own" in {fact.source for fact in apple(catalogue, "Mutsu").facts}


SYNONYMS = "name,variety,kind,source,status,note"


def test_own_sports_of_sports_share_the_first_parent(tmp_path: Path) -> None:
    write(
        tmp_path,
        "apple/synonyms.csv",
        SYNONYMS,
        "Red Hedge,Striped Hedge,sport,own,plan,",
        "Striped Hedge,Crispin,sport,own,plan,",
    )
    catalogue, findings = load_catalogue(["apple"], tmp_path)
    assert findings == ()
    for name in ("Red Hedge", "Striped Hedge"):
        fertility = apple(catalogue, name).fertility
        assert (fertility.clone, fertility.ploidy, fertility.pollen_ok) == ("Mutsu", 3, False)


def test_own_synonym_goes_before_the_shipped_one(tmp_path: Path) -> None:
    write(tmp_path, "apple/synonyms.csv", SYNONYMS, "Boskoop,Fuji,synonym,own,plan,")
    catalogue, findings = load_catalogue(["apple"], tmp_path)
    assert findings == ()
    assert catalogue.synonyms[VarietyId("apple", "Boskoop")].name == "Fuji"


def test_one_name_for_two_varieties_is_a_contradiction(tmp_path: Path) -> None:
    rows = ("Old Red,Fuji,synonym,own,plan,", "Old Red,Gala,synonym,own,plan,")
    write(tmp_path, "apple/synonyms.csv", SYNONYMS, *rows)
    _, (finding,) = load_catalogue(["apple"], tmp_path)
    assert (finding.code, finding.line) == ("contradiction", 3)


def test_allele_of_another_name_space_is_found(tmp_path: Path) -> None:
    write(
        tmp_path,
        "apple/alleles.csv",
        "allele,alias_of,mutant,source,status,note",
        "S104,S4,,own,plan,",
    )
    _, (finding,) = load_catalogue(["apple"], tmp_path)
    assert (finding.code, finding.place, finding.line) == ("unknown-genotype", "allele", 2)
