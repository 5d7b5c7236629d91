"""The plan file: what is read, and what is said about each mistake."""

from __future__ import annotations

from pathlib import Path

import pytest
from gardens import saved

from pollinet.domain import Plan, VarietyId
from pollinet.findings import Finding
from pollinet.readers.catalogue import fruits, load_catalogue
from pollinet.readers.plan import read_plan_table
from pollinet.readers.plan_names import fruits_of, resolve_plan

GOOD = """
[site]
name = "a slope"
latitude = 46.5

[[tree]]
id = "old"
species = "apple"
spare_limbs = 2
[[tree.limb]]
id = "n"
variety = "First"
grafted = 2019
[[tree.limb]]
id = "s"
variety = "Second"
crops = false

[[neighbour]]
species = "apple"
variety = "Second"
distance_m = 14

[[scion]]
species = "apple"
variety = "First"
blocked = "diseased"

[[variety]]
species = "apple"
name = "First"
s_genotype = "S1S5"
ploidy = 2
self_fertile = false
pollen_ok = true
bloom = ["04-10", "04-20"]
bloom_sd_days = 0

[[variety]]
species = "apple"
name = "Second"
s_genotype = "S2S3S9"
bloom_days = [100, 110]
"""


def read(text: str, folder: Path) -> tuple[Plan | None, tuple[Finding, ...]]:
    path = saved(folder, text)
    table, findings = read_plan_table(path)
    if table is None:
        return None, findings
    named, more = fruits_of(table, fruits(), path.name)
    catalogue, _ = load_catalogue(named)
    plan, last = resolve_plan(table, catalogue, fruits(), path.name)
    return plan, findings + more + last


def errors(text: str, folder: Path) -> list[Finding]:
    return [finding for finding in read(text, folder)[1] if finding.severity == "error"]


def test_a_good_plan_is_read_whole(tmp_path: Path) -> None:
    plan, findings = read(GOOD, tmp_path)
    assert findings == ()
    assert plan is not None
    assert [limb.id for limb in plan.limbs] == ["n", "s"]
    assert plan.limbs[0].grafted == 2019
    assert not plan.limbs[1].crops
    assert plan.trees[0].spare_limbs == 2
    assert plan.neighbours[0].distance_m == 14
    assert plan.scions[0].blocked == "diseased"
    first, second = plan.own_varieties
    assert first.id == VarietyId("apple", "First")
    assert first.fertility.genotype is not None
    assert first.fertility.genotype.alleles == ("S1", "S5")
    assert first.typed_bloom is not None
    # 10 April is the 100th day of a year without leap day.
    assert first.typed_bloom.intervals == ((100.0, 110.0),)
    assert first.typed_bloom.sd_days == 0
    assert second.fertility.ploidy == 3


def test_defaults_of_the_aim(tmp_path: Path) -> None:
    plan, _ = read(GOOD, tmp_path)
    assert plan is not None
    assert (plan.aim.level, plan.aim.min_overlap_days, plan.aim.draws) == (0.8, 3, 32)


MISTAKES = [
    ("spare_limbs = 2", "spare_limb = 2", "unknown-key", "spare_limbs"),
    ("spare_limbs = 2", 'spare_limbs = "two"', "wrong-value", "whole number"),
    ("spare_limbs = 2", "spare_limbs = -1", "wrong-value", "at least 0"),
    ("distance_m = 14", "", "missing-key", "distance_m"),
    ('id = "s"', 'id = "n"', "repeated-id", "2 times"),
    ('species = "apple"\nspare', 'species = "aple"\nspare', "unknown-fruit", "apple"),
    ('variety = "Second"\ncrops', 'variety = "Secnd"\ncrops', "unknown-variety", "Second"),
    ('"S1S5"', '"S1Q?!"', "unknown-genotype", ""),
    ("[100, 110]", "[110, 100]", "wrong-bloom", "before it begins"),
    ("[100, 110]", "[100]", "wrong-bloom", "first and last day"),
    ("[100, 110]", "[1, 500]", "wrong-bloom", "found [1, 500], allowed"),
    ("[100, 110]", "2024-04-10", "wrong-bloom", "found the date 2024-04-10 without quotes"),
    ("[100, 110]", '["a", true]', "wrong-bloom", 'found ["a", true], allowed'),
    ('["04-10", "04-20"]', '["04-20", "04-10"]', "wrong-bloom", 'begins: ["04-20", "04-10"]'),
    ('["04-10", "04-20"]', '["04-10", "04-31"]', "wrong-bloom", "04-10"),
    ('"S1S5"\nploidy = 2', '"S1S5S7"\nploidy = 2', "too-many-alleles", "3 S-alleles"),
    ('id = "s"', 'id = ""', "wrong-value", "a text that is not empty"),
    ('id = "s"', 'id = "s\\n"', "wrong-value", "a text in one line"),
    ("latitude = 46.5", "latitude = 465", "wrong-value", "at most 70"),
    ("latitude = 46.5", "latitude = nan", "wrong-value", "finite"),
    ('name = "a slope"', 'name = "a slope', "broken-toml", "line 3: a text in quotes is not"),
    ("latitude = 46.5", "latitude 46.5", "broken-toml", "line 4: there is no = after the key"),
    ("latitude = 46.5", "latitude = 46,5", "broken-toml", "line 4: the line goes on after"),
    ("latitude = 46.5", "latitude = 46,5", "broken-toml", "are negative: latitude = 46.5"),
    ("latitude = 46.5", "latitude = 46.5S # hill", "broken-toml", "are negative: latitude = -46.5"),
    ("distance_m = 14", "distance_m = 1,5", "broken-toml", "with a point: distance_m = 1.5"),
    ("distance_m = 14", "distance_m = 1,400", "broken-toml", "1.400 or distance_m = 1400"),
    ("latitude = 46.5", "latitude = north", "broken-toml", "line 4: the value is no text in"),
    ("latitude = 46.5", "latitude = 1\nlatitude = 2", "broken-toml", "line 5: it stands there"),
    ("latitude = 46.5", "[site]", "broken-toml", "line 4: it stands there"),
    ("[100, 110]", "[100, 110", "broken-toml", "a list is not closed with ]"),
    ("[site]", "[site", "broken-toml", "line 2: a heading is not closed with ]"),
]


@pytest.mark.parametrize(("right", "wrong", "code", "words"), MISTAKES)
def test_a_mistake_is_one_clear_finding(
    right: str, wrong: str, code: str, words: str, tmp_path: Path
) -> None:
    assert right in GOOD
    found = errors(GOOD.replace(right, wrong, 1), tmp_path)
    assert [finding.code for finding in found] == [code]
    assert found[0].file == "plan.toml"
    assert words in f"{found[0].message} {found[0].cure}"


def test_a_self_fertile_triploid_is_told_what_it_lacks(tmp_path: Path) -> None:
    text = GOOD.replace('"S2S3S9"', '"S2S3S9"\nself_fertile = true')
    plan, (found,) = read(text, tmp_path)
    assert plan is not None
    assert (found.severity, found.code) == ("warning", "self-fertile-triploid")
    assert "pollen_ok = true" in found.cure
    assert read(text.replace('S9"', 'S9"\npollen_ok = true'), tmp_path)[1] == ()


def test_the_place_of_a_mistake_is_told_in_words(tmp_path: Path) -> None:
    (found,) = errors(GOOD.replace("grafted = 2019", 'grafted = "old"'), tmp_path)
    assert found.place == 'tree "old", limb "n", grafted'


def test_all_mistakes_are_shown_at_once(tmp_path: Path) -> None:
    text = GOOD.replace("spare_limbs = 2", "spare = 2").replace('"S1S5"', '"?!"')
    text = text.replace('variety = "First"\ngrafted', 'variety = "Frist"\ngrafted')
    text = text.replace('id = "s"', 'id = "n"').replace("distance_m = 14", 'distance_m = "far"')
    codes = sorted(finding.code for finding in errors(text, tmp_path))
    assert codes == [
        "repeated-id",
        "unknown-genotype",
        "unknown-key",
        "unknown-variety",
        "wrong-value",
    ]


def test_an_empty_tree_and_an_empty_plan(tmp_path: Path) -> None:
    (found,) = errors('[[tree]]\nid = "bare"\nspecies = "apple"', tmp_path)
    assert found.code == "empty-tree"
    (found,) = errors('[site]\nname = "nothing"', tmp_path)
    assert found.code == "no-tree"


def test_a_missing_file_and_a_folder(tmp_path: Path) -> None:
    for path in (tmp_path / "no.toml", tmp_path):
        table, findings = read_plan_table(path)
        assert table is None
        assert [finding.code for finding in findings] == ["missing-file"]


def test_monthly_means_in_fahrenheit_are_noticed(tmp_path: Path) -> None:
    cold, warm = [30.0] * 12, [60.0] * 12
    normals = f"latitude = 46.5\n[site.normals]\ntmin_c = {cold}\ntmax_c = {warm}"
    (found,) = errors(GOOD.replace("latitude = 46.5", normals), tmp_path)
    assert found.code == "wrong-unit"


def test_years_of_normals(tmp_path: Path) -> None:
    cold, warm = [3.0] * 12, [9.0] * 12
    normals = f"latitude = 46.5\n[site.normals]\ntmin_c = {cold}\ntmax_c = {warm}\nyears = "
    plan, findings = read(GOOD.replace("latitude = 46.5", f"{normals}[1991, 2020]"), tmp_path)
    assert findings == () and plan is not None and plan.site.normals is not None
    assert plan.site.normals.years == (1991, 2020)
    (found,) = errors(GOOD.replace("latitude = 46.5", f"{normals}[2020, 1991]"), tmp_path)
    assert found.place == "site, normals, years"


def test_bloom_over_new_year_in_the_south(tmp_path: Path) -> None:
    text = GOOD.replace("46.5", "-34").replace('["04-10", "04-20"]', '["12-28", "01-05"]')
    plan, findings = read(text.replace("[100, 110]", "[280, 290]"), tmp_path)
    assert findings == ()
    assert plan is not None
