"""Hazelnut: catkins shed pollen and stigmas show at times of their own, and wind carries it."""

from __future__ import annotations

from collections.abc import Callable
from datetime import date
from pathlib import Path
from typing import Any

import pytest
from gardens import entry, grown, limbs

Run = Callable[..., Any]

# S1S2 whose pollen shows S1, and S3S4: either takes the other's pollen. Shared days counted by
# hand, both ends included: the pollen of B, 25 Jan - 10 Feb, meets the stigmas of A, 20 Jan -
# 15 Feb, on 17 days; that of A, 5-18 Jan, is gone before the stigmas of B show on 1 Feb.
A = ("A", "S1S2", ("01-20", "02-15"), ("01-05", "01-18"))
B = ("B", "S3S4", ("02-01", "02-25"), ("01-25", "02-10"))

NORMALS = """[site.normals]
tmin_c = [0, 0, 3, 6, 9, 13, 15, 15, 11, 8, 3, 1]
tmax_c = [6, 8, 13, 17, 21, 26, 28, 28, 23, 17, 11, 7]
"""


def described(
    name: str, genotype: str, stigmas: tuple[str, str], catkins: tuple[str, str] | None
) -> str:
    return entry(
        "variety", species="hazelnut", name=name, s_genotype=genotype, bloom=stigmas,
        bloom_sd_days=0, pollen_shed=catkins,
    )  # fmt: skip


def plan(folder: Path, *varieties: str, site: str = "") -> Path:
    path = folder / "plan.toml"
    tree = grown("hazelnut", "AB", "t")
    text = f"[site]\nlatitude = 45\n{site}{tree}{''.join(varieties)}"
    path.write_text(text, encoding="utf-8")
    return path


def test_pollen_of_one_meets_the_stigmas_of_the_other(tmp_path: Path, pollinet: Run) -> None:
    found = limbs(pollinet("check", plan(tmp_path, described(*A), described(*B)), "--json").data)
    assert found["A"]["covered"]
    assert found["A"]["donors"][0]["overlap_days"] == 17
    assert not found["B"]["covered"]
    assert found["B"]["reasons"][0]["code"] == "blooms-earlier"
    # From the middle of 5-18 January to that of 1-25 February: 32.5 days.
    assert "its catkins dust 32.5 days earlier" in found["B"]["reasons"][0]["text"]


def test_with_weather_the_two_keep_their_own_dates_and_cold_days_keep_no_bees_away(
    tmp_path: Path, pollinet: Run
) -> None:
    path = plan(tmp_path, described(*A), described(*B), site=NORMALS)
    found = limbs(pollinet("check", path, "--json").data)
    assert found["A"]["donors"][0]["overlap_days"] == pytest.approx(17)
    # Bees hardly fly in January: were they counted on, few of the days would be left.
    assert found["A"]["donors"][0]["effective_days"] == pytest.approx(17)
    assert not found["B"]["covered"]


def test_unknown_pollen_shed_is_no_donor_and_is_told(tmp_path: Path, pollinet: Run) -> None:
    told = pollinet("check", plan(tmp_path, described(*A), described(*B[:3], None)), "--json")
    assert not any(limb["covered"] for limb in limbs(told.data).values())
    warning = next(f for f in told.data["findings"] if f["code"] == "no-pollen-shed")
    assert "not known of B;" in warning["message"]
    assert "pollen_shed" in warning["cure"]
    assert "not known when its catkins dust" in limbs(told.data)["A"]["reasons"][0]["text"]


def test_a_clone_sheds_with_its_parent(tmp_path: Path, pollinet: Run) -> None:
    clone = 'name = "R"\nclone_of = "B"\n'
    path = plan(
        tmp_path, described(*A), described(*B), f'[[variety]]\nspecies = "hazelnut"\n{clone}'
    )
    path.write_text(path.read_text().replace('variety = "B"', 'variety = "R"'))
    assert limbs(pollinet("check", path, "--json").data)["A"]["donors"][0]["overlap_days"] == 17


def test_wrong_days_of_pollen_shed_are_named(tmp_path: Path, pollinet: Run) -> None:
    path = plan(tmp_path, described(*A), described(*B[:3], ("02-10", "01-25")))
    told = pollinet("check", path, "--json")
    assert told.code == 2
    assert [f["place"] for f in told.data["findings"]] == ['variety "B", pollen_shed']


def test_own_tables_take_days_of_pollen_shed(tmp_path: Path, pollinet: Run) -> None:
    """What `variety add` was told of two varieties gives the same 17 days."""
    path = plan(tmp_path)
    for letter, genotype, stigmas, catkins in (A, B):
        text = path.read_text(encoding="utf-8")
        path.write_text(text.replace(f'variety = "{letter}"', f'variety = "Grove {letter}"'))
        added = pollinet(
            "variety", "add", f"Grove {letter}", "--species", "hazelnut", "--s-genotype", genotype,
            "--bloom", "..".join(stigmas), "--pollen-shed", "..".join(catkins),
            "--folder", tmp_path / "catalogues",
        )  # fmt: skip
        assert added.code == 0
    assert (
        "Pollen shed: 25 Jan – 10 Feb"
        in pollinet("variety", "Grove B", "--folder", tmp_path / "catalogues").out
    )
    found = limbs(pollinet("check", path, "--json").data)
    assert found["A"]["donors"][0]["overlap_days"] == pytest.approx(17, abs=1)
    assert not found["B"]["covered"]


def test_unreadable_days_of_pollen_shed_add_nothing(tmp_path: Path, pollinet: Run) -> None:
    told = pollinet(
        "variety", "add", "Grove A", "--species", "hazelnut", "--pollen-shed", "winter",
        "--folder", tmp_path / "catalogues", "--json",
    )  # fmt: skip
    assert told.code == 2
    assert told.data["findings"][0]["place"] == "--pollen-shed"
    assert not (tmp_path / "catalogues").exists()


def test_the_calendar_has_a_row_for_the_catkins(tmp_path: Path, pollinet: Run) -> None:
    out = tmp_path / "calendar.svg"
    pollinet("calendar", plan(tmp_path, described(*A), described(*B)), "--out", out)
    drawn = out.read_text(encoding="utf-8")
    assert "A · A, pollen" in drawn
    assert "A · A, pollen: 5 Jan to 18 Jan" in drawn


def test_what_stands_in_for_a_young_hazel_is_cut_catkins(tmp_path: Path, pollinet: Run) -> None:
    """Wind carries this pollen (`pollen_by` in fruits.csv): no bee comes for a hung bouquet."""
    path = plan(tmp_path, described(*A), described(*B))
    whole = path.read_text(encoding="utf-8")
    young = whole.replace('variety = "B"', f'variety = "B"\ngrafted = {date.today().year}')
    path.write_text(young, encoding="utf-8")
    told = " ".join(pollinet("check", path).out.split())
    assert "though young: B (grafted" in told
    assert "Until then stand cut catkins in water, upwind of the limbs" in told
    assert "blossom" not in told
    scion = '[[scion]]\nspecies = "hazelnut"\nvariety = "B"\n'
    lone = whole.replace('[[tree.limb]]\nid = "B"\nvariety = "B"\n', scion)
    path.write_text(lone.replace('id = "t"', 'id = "t"\nspare_limbs = 1'), encoding="utf-8")
    told = " ".join(pollinet("cover", path, "--pollen-only", "B").out.split())
    assert "cut catkins in water upwind of a limb can stand in: for A those of B (10 of" in told
    assert "blossom" not in told
