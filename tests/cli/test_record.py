"""`pollinet record` end to end: plain words in, one row more in the log."""

from __future__ import annotations

import csv
from collections.abc import Callable
from datetime import date
from pathlib import Path
from typing import Any

import pytest
from gardens import saved

Run = Callable[..., Any]

PLAN = """
[site]
latitude = 47
[[tree]]
id = "old tree"
species = "apple"
[[tree.limb]]
id = "top"
variety = "Gala"
[[tree.limb]]
id = "low"
variety = "Elstar"
"""


@pytest.fixture
def plan(tmp_path: Path) -> Path:
    return saved(tmp_path, PLAN)


def log(plan: Path) -> list[dict[str, str]]:
    with (plan.parent / "records.csv").open(encoding="utf-8", newline="") as file:
        return list(csv.DictReader(file))


def test_plain_words_make_a_row(plan: Path, pollinet: Run) -> None:
    assert pollinet("record", plan, "top", "--stage", "full", "--date", "2026-04-12").code == 0
    answer = pollinet("record", plan, "top", "--fruits", "214", "--year", "2025", "--json")
    assert answer.code == 0
    assert answer.data["written"][0]["value"] == "214"
    assert [(r["date"], r["limb"], r["kind"], r["value"]) for r in log(plan)] == [
        ("2026-04-12", "top", "stage", "full"),
        ("2025", "top", "fruits", "214"),
    ]


def test_a_mistake_writes_nothing_and_names_the_cure(plan: Path, pollinet: Run) -> None:
    answer = pollinet("record", plan, "tpo", "--clusters", "0", "--year", "2025")
    assert answer.code == 2
    assert "the limbs are: top, low" in answer.err
    assert not (plan.parent / "records.csv").exists()


def test_a_day_to_come_is_refused(plan: Path, pollinet: Run) -> None:
    answer = pollinet("record", plan, "top", "--stage", "full", "--date", "2199-04-12")
    assert answer.code == 2
    assert "has not come yet" in answer.err


def test_stages_in_the_wrong_order_are_told_and_written(plan: Path, pollinet: Run) -> None:
    for stage, day in (("start", "2025-04-20"), ("end", "2025-05-01")):
        assert "warning" not in pollinet(
            "record", plan, "top", "--stage", stage, "--date", day).err  # fmt: skip
    answer = pollinet("record", plan, "top", "--stage", "full", "--date", "2025-04-12")
    assert answer.code == 0
    assert "2025-04-20" in answer.err and "2025-04-12" in answer.err
    assert "warning" in answer.err
    assert len(log(plan)) == 3
    # Another limb and another year are not compared, and a corrected note is no longer told.
    other = pollinet("record", plan, "low", "--stage", "full", "--date", "2025-04-12", "--json")
    assert other.data["findings"] == []
    mended = pollinet("record", plan, "top", "--stage", "start", "--date", "2025-04-08", "--json")
    assert mended.data["findings"] == []


def test_a_sheet_is_filled_in_and_added(plan: Path, pollinet: Run) -> None:
    sheet = plan.parent / "spring.csv"
    assert pollinet("record", plan, "--sheet", sheet).code == 0
    assert pollinet("record", plan, "--from", sheet).code == 2  # nothing is filled in yet
    lines = sheet.read_text(encoding="utf-8").splitlines()
    filled = [line.replace(",top,stage,full", "2026-04-12,top,stage,full") for line in lines]
    sheet.write_text("\n".join(filled), encoding="utf-8")
    assert pollinet("record", plan, "--from", sheet).code == 0
    assert [(r["date"], r["limb"], r["value"]) for r in log(plan)] == [
        ("2026-04-12", "top", "full")
    ]
    assert pollinet("record", plan, "--sheet", sheet).code == 2  # never written over


def test_the_log_is_shown_and_a_note_taken_back(plan: Path, pollinet: Run) -> None:
    pollinet("record", plan, "top", "--fruits", "21", "--year", "2025")
    pollinet("record", plan, "top", "--take-back", "fruits", "--year", "2025")
    assert len(log(plan)) == 2
    assert pollinet("record", plan, "--json").data["notes"] == []
    assert "Nothing noted yet of: top, low." in pollinet("record", plan).out


@pytest.mark.parametrize(
    ("typed", "more", "written"),
    [
        ("open", ("--date", "2026-04-02"), "2026-04-02"),
        ("2025-04-02", (), "2025-04-02"),
        ("04-02", ("--year", "2024"), "2024-04-02"),
        # The last 2 April before New Year's Day of 2026.
        ("04-02", ("--date", "2026-01-01"), "2025-04-02"),
    ],
)
def test_leafing_is_noted_by_its_day(
    plan: Path, pollinet: Run, typed: str, more: tuple[str, ...], written: str
) -> None:
    assert pollinet("record", plan, "top", "--leafing", typed, *more).code == 0
    (row,) = log(plan)
    assert (row["date"], row["kind"], row["value"]) == (written, "leafing", "open")


@pytest.mark.parametrize("words", [("--leafing", "open"), ("--stage", "full")])
def test_what_is_seen_in_spring_needs_its_date_in_autumn(
    words: tuple[str, str], plan: Path, pollinet: Run, monkeypatch: pytest.MonkeyPatch
) -> None:
    class November(date):
        @classmethod
        def today(cls) -> date:
            return date(2026, 11, 25)

    monkeypatch.setattr("pollinet.cli.record.date", November)
    answer = pollinet("record", plan, "top", *words)
    assert answer.code == 2 and "the date is missing" in answer.findings
    assert f"error: {words[0]}:" in answer.err
    assert not (plan.parent / "records.csv").exists()
    assert pollinet("record", plan, "top", *words, "--date", "2026-04-12").code == 0
    assert pollinet("record", plan, "top", "--leafing", "04-02").code == 0
    # In Tasmania trees come into leaf in November; in the north that is in April.
    south = plan.read_text(encoding="utf-8").replace("latitude = 47", "latitude = -42")
    plan.write_text(south, encoding="utf-8")
    assert pollinet("record", plan, "low", *words).code == 0


@pytest.mark.parametrize(
    ("words", "told"),
    [
        (("tpo", "--fruits", "3", "--year", "2025"), "error: LIMB:"),
        (("top", "--stage", "ful", "--date", "2025-04-02"), "error: --stage:"),
        (("top", "--stage", "full", "--year", "2025"), "error: --year:"),
        (("top", "--fruits", "x", "--year", "2025"), "error: --fruits:"),
        (("top", "--leafing", "31.4.", "--year", "2025"), "write it as 04-12"),
        (("top", "--leafing", "2/4/2025"), "write it as 2025-04-02 or 2025-02-04"),
        (("top", "--fruits", "3", "--date", "8/10/2024"), "write it as 2024-10-08 or 2024-08-10"),
        (("top", "--fruits", "3", "--date", "8.10.24"), "→ write it as 2024-10-08"),
        (("top", "--fruits", "3", "--year", "24"), "or only the year"),
    ],
)
def test_a_mistake_names_its_option(
    words: tuple[str, ...], told: str, plan: Path, pollinet: Run
) -> None:
    answer = pollinet("record", plan, *words)
    assert answer.code == 2 and told in answer.findings


@pytest.mark.parametrize("typed", ["2199-04-02", "02-30", "green", "13-45"])
def test_a_leafing_that_cannot_be_is_refused(plan: Path, pollinet: Run, typed: str) -> None:
    assert pollinet("record", plan, "top", "--leafing", typed, "--year", "2024").code == 2
    assert not (plan.parent / "records.csv").exists()


def test_a_limb_comes_into_leaf_once_a_year(plan: Path, pollinet: Run) -> None:
    for day in ("2025-04-02", "2026-04-05", "2026-04-03"):
        assert pollinet("record", plan, "top", "--leafing", day).code == 0
    answer = pollinet("record", plan, "--json")
    assert [note["date"] for note in answer.data["notes"]] == ["2025-04-02", "2026-04-03"]


def test_a_sheet_that_cannot_be_read_is_told_in_words(plan: Path, pollinet: Run) -> None:
    wide = plan.parent / "spring.csv"
    wide.write_text("date,limb,kind,value\n", encoding="utf-16")
    for file, said, cure in (
        (plan.parent / "none.csv", "there is no such file", "check its name"),
        (plan.parent, "this is a folder, not a file", "save it as CSV in UTF-8"),
        (wide, "this is not text in UTF-8", "save it as CSV in UTF-8"),
    ):
        answer = pollinet("record", plan, "--from", file)
        assert answer.code == 2
        assert said in answer.findings and cure in answer.findings
        assert "Errno" not in answer.err and "codec" not in answer.err


NOTES = "Pollinet notes 1\naaaa | 2026-04-12 | top | stage | full\nbbbb | 2025 | low | fruits | 3\n"


def test_the_notes_of_a_telephone_come_in_once(plan: Path, pollinet: Run) -> None:
    notes = plan.with_name("notes.txt")
    notes.write_bytes(b"\xef\xbb\xbf" + NOTES.replace("\n", "\r\n").encode())
    first = pollinet("record", plan, "--from", notes)
    assert first.code == 0 and "2 notes added" in first.out and "known" not in first.out
    before = plan.with_name("records.csv").read_bytes()
    again = pollinet("record", plan, "--from", notes)
    assert again.code == 0 and "0 new notes and 2 known." in again.out
    assert plan.with_name("records.csv").read_bytes() == before
    german = pollinet("record", plan, "--from", notes, "--language", "de")
    assert "0 neue Notizen und 2 bekannt." in german.out
    shown = pollinet("record", plan)
    assert "2 notes in" in shown.out and "full" in shown.out


def test_wrong_lines_of_a_telephone_are_told_and_hinder_no_others(
    plan: Path, pollinet: Run
) -> None:
    notes = plan.with_name("notes.txt")
    notes.write_text(NOTES + "cccc | 2026-04-12 | tpo | stage | full\nhello\n", encoding="utf-8")
    answer = pollinet("record", plan, "--from", notes)
    assert answer.code == 2
    assert "2 new notes and 2 wrong." in answer.out
    assert "notes.txt, line 4" in answer.findings and "the limbs are: top, low" in answer.findings
    data = pollinet("record", plan, "--from", notes, "--json").data
    assert (data["written"], data["known"], data["wrong"]) == ([], 2, 2)
    assert {one["severity"] for one in data["findings"]} == {"error"}


@pytest.mark.parametrize("day", ["8.10.2024", "8/10/2024", "2024/10/08", "x1 | 8-10-2024"])
def test_a_date_in_other_signs_is_told_as_that(day: str, plan: Path, pollinet: Run) -> None:
    notes = plan.with_name("notes.txt")
    notes.write_text(f"Pollinet notes 1\n{day} | top | fruits | 4\n", encoding="utf-8")
    answer = pollinet("record", plan, "--from", notes)
    assert answer.code == 2 and "write it as 2024-10-08" in answer.findings


def test_notes_of_another_garden_are_not_taken(plan: Path, pollinet: Run) -> None:
    notes = plan.with_name("notes.txt")
    notes.write_text(NOTES.replace("notes 1", "notes 1: elsewhere"), encoding="utf-8")
    answer = pollinet("record", plan, "--from", notes)
    assert answer.code == 2 and 'garden "elsewhere"' in answer.findings
    assert not plan.with_name("records.csv").exists()


def test_a_day_and_a_year_together_are_asked_about(plan: Path, pollinet: Run) -> None:
    days = ("--date", "2026-09-01", "--year", "2025")
    answer = pollinet("record", plan, "top", "--fruits", "3", *days, "--json")
    assert answer.code == 2
    assert [one["code"] for one in answer.data["findings"]] == ["two-dates"]
    assert not (plan.parent / "records.csv").exists()


def test_a_broken_plan_or_log_is_told_and_stays(plan: Path, pollinet: Run) -> None:
    log = plan.parent / "records.csv"
    log.write_bytes("date,limb,kind,value\n2026,top,fruits,Äpfel\n".encode("latin-1"))
    before = log.read_bytes()
    for words in ((), ("top", "--fruits", "3", "--year", "2025")):
        answer = pollinet("record", plan, *words)
        assert answer.code == 2 and "records.csv" in answer.err
    assert log.read_bytes() == before
    plan.write_text("[site\n", encoding="utf-8")
    assert pollinet("record", plan, "top", "--fruits", "3", "--year", "2025").code == 2
    assert log.read_bytes() == before
