"""Own tables: what is read, what goes before the shipped values, and each kind of bad row."""

from __future__ import annotations

from pathlib import Path

import pytest

from pollinet.compatibility.verdict import cross_verdict
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
    crossings = "donor,receiver,strength,source,status,note"
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


# --- words in columns of words, and other cells that nobody must pass over ---------------------

HEADERS = {
    "sources.csv": "source,citation,address,licence,part",
    "trial_sites.csv": "place,country,latitude,longitude,elevation_m,source,status,note",
    "trial_site_normals.csv": "place,month,tmin_c,tmax_c,source,status",
    "contexts.csv": "context,place,years,stage,reference_variety,reference_day,sd_days,source,"
    "status,note",
    "bloom_classes.csv": "context,class,day,sd_days,source,status,note",
    "crossings.csv": "donor,receiver,strength,source,status,note",
    "apple/facts.csv": HEADER,
    "apple/synonyms.csv": SYNONYMS,
    "apple/pairs.csv": "female,male,result,fruit_set_pct,kind,context,source,status,note",
    "apple/alleles.csv": "allele,alias_of,mutant,source,status,note",
}


def load_table(
    folder: Path, path: str, *lines: str, fruit: str = "apple"
) -> tuple[Catalogue, tuple[Finding, ...]]:
    write(folder, path, HEADERS[path], *lines)
    return load_catalogue([fruit], folder)


def fuji_and_redgold(catalogue: Catalogue) -> str:
    one, other = (apple(catalogue, name).fertility for name in ("Redgold", "Fuji"))
    return cross_verdict(one, other, catalogue.rules).answer


def test_kind_of_a_pair_counts_as_it_is_meant(tmp_path: Path) -> None:
    alone, _ = load_catalogue(["apple"])
    assert fuji_and_redgold(alone) != "no"
    for kind in ("measured cross", "Measured cross", " measured  Cross ", "measured-cross"):
        pair = f"Fuji,Redgold,no,,{kind},,own,plan,"
        catalogue, findings = load_table(tmp_path, "apple/pairs.csv", pair)
        assert findings == ()
        assert fuji_and_redgold(catalogue) == "no"
        assert catalogue.rules.pairs[0].kind == "measured cross"


WRONG_WORDS = {
    ("apple/pairs.csv", "kind"): ("Fuji,Gala,no,,measurd cross,,own,plan,", "measured cross"),
    ("apple/pairs.csv", "result"): ("Fuji,Gala,yess,,measured cross,,own,plan,", "yes"),
    ("apple/pairs.csv", "status"): ("Fuji,Gala,no,,measured cross,,own,planned,", "plan"),
    ("apple/synonyms.csv", "kind"): ("Old Red,Fuji,synonim,own,plan,", "synonym"),
    ("apple/alleles.csv", "mutant"): ("S9,,pollin,own,plan,", "pollen"),
    ("contexts.csv", "stage"): ("My garden,,,fulll,,,,own,plan,", "full"),
    ("crossings.csv", "strength"): ("apple,pear,unknow,own,plan,", "unknown"),
    ("apple/facts.csv", "value"): ("Fuji,self_compatibility,partially,,,own,plan,", "partial"),
    ("apple/facts.csv", "status"): ("Fuji,vigour,low,,,own,publishd,", "published"),
}


@pytest.mark.parametrize(("path", "column"), WRONG_WORDS)
def test_a_word_outside_its_list_is_found_with_the_nearest(
    tmp_path: Path, path: str, column: str
) -> None:
    row, near = WRONG_WORDS[path, column]
    _, (finding,) = load_table(tmp_path, path, row)
    assert (finding.severity, finding.code, finding.line) == ("error", "not-allowed", 2)
    assert (finding.file, finding.place) == (f"{tmp_path}/{path}", column)
    assert near in finding.message and finding.cure == f"Nearest: {near}."


RIGHT_WORDS = {
    "apple/pairs.csv": "Fuji,Gala,NO,, Source statement,,own,Plan,",
    "apple/synonyms.csv": "Old Red,Fuji,Synonym ,own,plan,",
    "apple/alleles.csv": "S9,,Pollen,own,plan,",
    "contexts.csv": "My garden,,,Full,,,,own,plan,",
    "crossings.csv": "apple,pear,No,own,plan,",
    "apple/facts.csv": "Fuji,vigour,Low to Medium,,,own,plan,",
}


@pytest.mark.parametrize("path", RIGHT_WORDS)
def test_case_and_spaces_of_a_word_do_not_matter(tmp_path: Path, path: str) -> None:
    assert load_table(tmp_path, path, RIGHT_WORDS[path])[1] == ()


def test_every_word_is_read_as_the_list_has_it(tmp_path: Path) -> None:
    catalogue, _ = load_table(
        tmp_path, "apple/facts.csv", "Fuji,self_compatibility,YES,,,own,plan,"
    )
    assert apple(catalogue, "Fuji").fertility.self_fertile is True
    catalogue, _ = load_table(tmp_path, "apple/alleles.csv", "S9,,Pollen,own,plan,")
    assert catalogue.rules.alleles[0].mutant == "pollen"


OTHER_CELLS = {
    "name of an allele to compare with": (
        ("apple/alleles.csv", "S9,Q7,,own,plan,"),
        ("error", "unknown-genotype", "alias_of"),
    ),
    "month between two": (
        ("trial_site_normals.csv", "Etoile,2.5,1,9,own,plan"),
        ("error", "wrong-type", "month"),
    ),
    "means of a place that is none": (
        ("trial_site_normals.csv", "Nowhere,2,1,9,own,plan"),
        ("error", "unknown-place", "place"),
    ),
    "day without a place": (
        ("apple/facts.csv", "Fuji,full_bloom_day,120,day of year,,own,plan,"),
        ("warning", "unused-value", "context"),
    ),
    "day in a context without an error": (
        ("apple/facts.csv", "Fuji,full_bloom_day,120,day of year,Kentville,own,plan,"),
        ("warning", "unused-value", "context"),
    ),
    "class that its context does not have": (
        ("apple/facts.csv", "Fuji,bloom_class,earlyish,,Raleigh,own,plan,"),
        ("warning", "unused-value", "context"),
    ),
    "variety nearly written as another": (
        ("apple/pairs.csv", "Fuji,Golden Delicous,no,,measured cross,,own,plan,"),
        ("note", "near-name", "male"),
    ),
    "facts of a variety nearly written as another": (
        ("apple/facts.csv", "Golden Delicous,vigour,low,,,own,plan,"),
        ("note", "near-name", "variety"),
    ),
    "parent nearly written as another": (
        ("apple/synonyms.csv", "Old Red,Golden Delicous,sport,own,plan,"),
        ("note", "near-name", "variety"),
    ),
}


@pytest.mark.parametrize("case", OTHER_CELLS)
def test_a_cell_that_would_be_passed_over_is_found(tmp_path: Path, case: str) -> None:
    table, told = OTHER_CELLS[case]
    _, findings = load_table(tmp_path, *table)
    assert [(f.severity, f.code, f.place) for f in findings] == [told]


def test_names_are_meant_whatever_their_case(tmp_path: Path) -> None:
    write(tmp_path, "apple/pairs.csv", HEADERS["apple/pairs.csv"],
          "FUJI,coxs orange-pippin,no,,measured cross,,own,plan,")  # fmt: skip
    catalogue, findings = load_own(tmp_path, "fuji,vigour,low,,,own,plan,")
    assert findings == ()
    [pair] = [pair for pair in catalogue.rules.pairs if pair.source == "own"]
    assert (pair.female, pair.male) == ("Fuji", "Cox's Orange Pippin")
    assert VarietyId("apple", "fuji") not in catalogue.varieties
    assert "own" in {fact.source for fact in apple(catalogue, "Fuji").facts}


def test_class_of_a_context_whatever_its_case(tmp_path: Path) -> None:
    catalogue, findings = load_own(tmp_path, "Fuji,bloom_class,LATE,,Raleigh,own,plan,")
    assert findings == ()
    assert "own" in {one.source for one in apple(catalogue, "Fuji").bloom}


def test_a_day_without_error_is_used(tmp_path: Path) -> None:
    write(tmp_path, "contexts.csv", HEADERS["contexts.csv"], "Sure,Kentville,,full,,,0,own,plan,")
    _, findings = load_own(tmp_path, "Fuji,full_bloom_day,150,day of year,Sure,own,plan,")
    assert findings == ()


def test_incompatibility_group_whatever_its_case(tmp_path: Path) -> None:
    write(tmp_path, "sweet_cherry/facts.csv", HEADER, "Dusk,incompatibility_group,iii,,,own,plan,")
    catalogue, findings = load_catalogue(["sweet cherry"], tmp_path)
    assert findings == ()
    assert catalogue.varieties[VarietyId("sweet cherry", "Dusk")].fertility.group == "III"


GARDEN = "own garden,here,,,,,,own,plan,"


def test_only_first_and_last_day_together_count_in_the_garden(tmp_path: Path) -> None:
    write(tmp_path, "contexts.csv", HEADERS["contexts.csv"], GARDEN)
    first = "Fuji,first_bloom_day,100,day of year,own garden,own,plan,"
    last = "Fuji,bloom_end_day,112,day of year,own garden,own,plan,"
    full = "Fuji,full_bloom_day,105,day of year,own garden,own,plan,"
    for rows, unused in (((first, last), 0), ((first,), 1), ((first, last, full), 1)):
        catalogue, findings = load_own(tmp_path, *rows)
        assert [finding.code for finding in findings] == ["unused-value"] * unused
        assert (apple(catalogue, "Fuji").typed_bloom is not None) == (len(rows) > 1)


TWICE = {
    "sources.csv": ("book,One,,,", "book,Another,,,"),
    "contexts.csv": ("My garden,,,,,,2,own,plan,", "My garden,,,,,,3,own,plan,"),
    "bloom_classes.csv": ("Raleigh,new,99,4,own,plan,", "Raleigh,new,100,4,own,plan,"),
    "crossings.csv": ("apple,pear,no,own,plan,", "apple,pear,reliable,own,plan,"),
    "apple/alleles.csv": ("S9,,,own,plan,", "S9,,pollen,own,plan,"),
    "trial_site_normals.csv": ("Etoile,2,1,9,own,plan", "Etoile,2,3,9,own,plan"),
}


@pytest.mark.parametrize("path", TWICE)
def test_a_second_row_of_one_key_is_found(tmp_path: Path, path: str) -> None:
    one, other = TWICE[path]
    _, (finding,) = load_table(tmp_path, path, one, other)
    assert (finding.severity, finding.code, finding.line) == ("error", "contradiction", 3)
    _, (finding,) = load_table(tmp_path, path, one, one)
    assert (finding.severity, finding.code, finding.line) == ("warning", "duplicate", 3)


def test_a_column_that_stands_there_twice_is_found(tmp_path: Path) -> None:
    write(tmp_path, "apple/facts.csv", f"{HEADER},value", "Fuji,vigour,low,,,own,plan,,high")
    _, (finding,) = load_catalogue(["apple"], tmp_path)
    assert (finding.severity, finding.code) == ("error", "repeated-column")


def test_a_table_with_a_capital_ending_is_told(tmp_path: Path) -> None:
    write(tmp_path, "apple/facts.CSV", HEADER, GOOD)
    _, (finding,) = load_catalogue(["apple"], tmp_path)
    assert (finding.severity, finding.code) == ("warning", "unread-table")


@pytest.mark.parametrize(
    ("rows", "lines"),
    [
        (["S1,S9,first,own,plan,"], set()),
        (["S4,,one,own,plan,"], set()),
        (["S4,S9,one,own,plan,"], {2}),
        (["S4,,first,own,plan,"], {2}),
        (["S4,S4,both,own,plan,"], {2}),
        (["S1,S9,first,own,plan,", "S9,S1,first,own,plan,"], {3}),
    ],
)
def test_dominance_is_told_of_each_pair_of_two_alleles_once(
    rows: list[str], lines: set[int], tmp_path: Path
) -> None:
    write(tmp_path, "hazelnut/dominance.csv", "allele,other,shown,source,status,note", *rows)
    _, findings = load_catalogue(["hazelnut"], tmp_path)
    assert {one.code for one in findings} <= {"contradiction"}
    assert {one.line for one in findings} == lines
