"""The log: good rows become observations, bad ones findings with their line; it only grows."""

from __future__ import annotations

import csv
import io
from dataclasses import replace
from datetime import date
from pathlib import Path

import pytest
from hypothesis import given
from hypothesis import strategies as st

from pollinet.domain import Aim, Limb, Neighbour, Plan, Site, Tree, VarietyId
from pollinet.letters import hidden_in
from pollinet.readers.observations import kinds, year_of
from pollinet.readers.records import COLUMNS, append_records, parse_records, read_records

GALA, ELSTAR = VarietyId("apple", "Gala"), VarietyId("apple", "Elstar")
PLAN = Plan(
    Site("here", 47.0),
    Aim(),
    (Tree("t", "apple", (Limb("top", "t", GALA), Limb("low", "t", ELSTAR))),),
    (Neighbour("next door", GALA, 12.0),),
)
HEAD = ",".join(COLUMNS) + "\n"


def one(row: str):  # type: ignore[no-untyped-def]
    records, findings = parse_records(HEAD + row + "\n", PLAN, "records.csv")
    assert findings == ()
    (seen,) = records.observations
    return seen


def problem(row: str):  # type: ignore[no-untyped-def]
    records, findings = parse_records(HEAD + "2025,top,fruits,3,,\n" + row + "\n", PLAN, "r.csv")
    assert len(records.observations) == 1
    (finding,) = findings
    assert (finding.line, finding.file, finding.severity) == (3, "r.csv", "error")
    assert finding.cure
    return finding


def test_no_file_is_an_empty_log(tmp_path: Path) -> None:
    records, findings = read_records(tmp_path / "records.csv", PLAN)
    assert (records.observations, records.bloom, findings) == ((), (), ())


def test_a_stage_is_bloom_evidence_of_its_variety() -> None:
    text = HEAD + "2026-04-12,top,stage,full,,\n2026-04-02,next door,stage,start,,\n"
    records, _ = parse_records(text, PLAN, "records.csv")
    # 12 April is day 102 and 2 April day 92 of a year without leap day (calendar).
    assert [(r.variety, r.harvest_year, r.stage, r.day) for r in records.bloom] == [
        (GALA, 2026, "full", 102.0),
        (GALA, 2026, "start", 92.0),
    ]


@pytest.mark.parametrize(
    ("rows", "left_out", "bloom"),
    [
        # No fruit tree of the north is in bloom in November.
        (("2026-11-30,top,stage,full,,",), {1}, []),
        # Petals fall after the flowers open; which of the two dates is wrong nobody can tell.
        (
            ("2026-04-02,top,stage,start,,", "2026-05-08,top,stage,full,,",
             "2026-04-04,top,stage,end,,", "2026-04-14,low,stage,end,,"),
            {2, 3}, [92.0, 104.0],
        ),
        # A note that is wrong by itself makes the other not doubtful.
        (("2025-11-02,top,stage,full,,", "2026-04-02,top,stage,start,,"), {1}, [92.0]),
    ],
)  # fmt: skip
def test_nothing_is_learnt_from_notes_that_cannot_be_right(
    rows: tuple[str, ...], left_out: set[int], bloom: list[float]
) -> None:
    records, findings = parse_records(HEAD + "\n".join(rows) + "\n", PLAN, "records.csv")
    assert len(records.observations) == len(rows), "all stand in the log"
    assert {one.line - 1 for one in records.left_out} == left_out
    assert [one.line - 1 for one in records.sound] == sorted({*range(1, len(rows) + 1)} - left_out)
    assert [record.day for record in records.bloom] == bloom
    (finding,) = findings
    assert finding.severity == "warning" and "left out until" in finding.message


def test_a_note_older_than_the_graft_tells_nothing_of_it() -> None:
    limb = Limb("top", "t", GALA, grafted=2019)
    plan = replace(PLAN, trees=(Tree("t", "apple", (limb,)),))
    text = HEAD + "2005-04-12,top,stage,full,,\n2005,top,fruits,9,,\n2020-04-20,top,stage,full,,\n"
    records, findings = parse_records(text, plan, "records.csv")
    assert [(r.harvest_year, r.day) for r in records.bloom] == [(2020, 110.0)]
    assert [one.year for one in records.sound] == [2020]
    assert [one.code for one in findings] == ["doubtful-date"] * 2


def test_a_later_note_counts_in_place_of_the_earlier_and_can_be_taken_back() -> None:
    text = HEAD + (
        "2026-04-12,top,stage,full,,\n2026-04-14,top,stage,full,,slip of the pen\n"
        "2025,top,fruits,21,,\n2025,top,fruits,214,,\n2024,top,fruits,9,,\n2024,top,fruits,-,,\n"
    )
    records, findings = parse_records(text, PLAN, "records.csv")
    assert findings == ()
    assert [r.day for r in records.bloom] == [104.0]
    assert [o.number for o in records.observations if o.kind == "fruits"] == [214]


def test_what_is_counted_in_autumn_is_about_the_bloom_that_was() -> None:
    assert one("2026-11-25,top,clusters,0,,").year == 2026
    assert one("2026-11-25,top,set,1/40,,").year == 2026
    assert one("2026-12-20,top,forced,9/30,,").year == 2027  # buds of the coming bloom


def test_units_are_turned_into_the_kinds_own() -> None:
    assert one("2025,top,shoots,24,in,").number == pytest.approx(60.96)  # 24 in, by definition
    assert one("2025,top,shoots,1.1,m,").number == pytest.approx(110)
    assert one("2026-04-10,all,frost,28,F,").number == pytest.approx(-2.22)  # NIST: (F - 32) / 1.8
    share = one("2026,top,hand,14 of 20,,")
    assert (share.number, share.of) == (14, 20)


@pytest.mark.parametrize(
    ("day", "season", "latitude", "year"),
    [
        (date(2025, 10, 12), "crop", 47, 2025),  # apples picked in October are this year's
        (date(2025, 12, 20), "bloom", 47, 2026),  # hazel catkins before the new year
        (date(2026, 2, 10), "crop", -34, 2025),  # southern summer: flowers of September before
        (date(2025, 9, 20), "bloom", -34, 2025),
    ],
)
def test_the_year_is_that_of_the_flowers(
    day: date, season: str, latitude: float, year: int
) -> None:
    assert year_of(day, season, latitude) == year


@pytest.mark.parametrize(
    ("row", "code", "word"),
    [
        ("2026-04-12,tpo,stage,full,,", "unknown-limb", "top"),
        ("2026-04-12,Gala,stage,full,,", "unknown-limb", "top"),
        ("2026-04-12,all,stage,full,,", "unknown-limb", "top"),
        ("2026-04-12,top,stages,full,,", "unknown-kind", "stage"),
        ("2026-04-12,top,stage,petals,,", "wrong-value", "full"),
        ("2026,top,stage,full,,", "wrong-date", "2026-04-12"),
        ("12.4.2026,top,stage,full,,", "wrong-date", "2026-04-12"),
        ("2026-02-30,top,stage,full,,", "wrong-date", "2026-04-12"),
        ("2025,top,fruits,many,,", "wrong-value", "fruits"),
        ("2025,top,fruits,nan,,", "wrong-value", "fruits"),
        ("2025,top,fruits,-4,,", "wrong-value", "fruits"),
        ("2025,top,diameter,30,yd,", "wrong-value", "mm"),
        ("2026,top,hand,14,,", "wrong-value", "14/20"),
        ("2026,top,hand,21/20,,", "wrong-value", "14/20"),
        ("2026,top,set,45/40,,", "wrong-value", "45 is more than 40"),
        ("2026-04-10,all,frost,28F,,", "wrong-value", "28 F is -2.22 °C"),  # NIST: (F - 32) / 1.8
        ("2026-04-10,all,frost,28 °F,,", "wrong-value", "--unit F"),
        ("2026-04-10,all,frost,-2C,,", "wrong-value", "give a number, in °C"),
        ("2026,top,hand,0/0,,", "wrong-value", "14/20"),
        ("2025,top,fruits,3,,a,b", "wrong-length", "quotes"),
    ],
)
def test_a_bad_row_is_a_finding_with_its_line(row: str, code: str, word: str) -> None:
    finding = problem(row)
    assert finding.code == code
    assert word in finding.message + finding.cure


@pytest.mark.parametrize("text", ["", "a,b\n1,2\n", 'date,limb,kind,value\n"2025,top\n'])
def test_a_broken_file_is_a_finding(text: str) -> None:
    _, (finding,) = parse_records(text, PLAN, "r.csv")
    assert finding.severity == "error"


@given(st.text(max_size=200))
def test_any_text_is_read_without_an_exception(text: str) -> None:
    parse_records(HEAD + text, PLAN, "r.csv")


def test_case_of_the_header_and_of_units_does_not_matter() -> None:
    text = "Date,Limb,KIND, Value ,Unit\n2025,top,shoots,24,IN\n2026-04-10,all,frost,28,°f\n"
    records, findings = parse_records(text, PLAN, "r.csv")
    assert findings == ()
    assert [seen.number for seen in records.observations] == [pytest.approx(60.96), -2.22]


def test_a_column_that_is_not_read_is_told() -> None:
    text = "date,limb,kind,value,units\n2025,top,shoots,24,in\n"
    _, (finding,) = parse_records(text, PLAN, "r.csv")
    assert (finding.severity, finding.code, finding.line) == ("warning", "unknown-column", 1)
    assert "units" in finding.message and finding.cure == "nearest: unit"


def test_a_column_that_stands_there_twice_is_an_error() -> None:
    text = "date,limb,kind,value,value\n2025,top,shoots,24,25\n"
    records, (finding,) = parse_records(text, PLAN, "r.csv")
    assert records.observations == ()
    assert (finding.severity, finding.code) == ("error", "repeated-column")


rows = st.fixed_dictionaries(
    {
        "date": st.integers(1990, 2030).map(str),
        "limb": st.sampled_from(["top", "low"]),
        "kind": st.just("fruits"),
        "value": st.integers(0, 500).map(str),
        "unit": st.just(""),
        "note": st.text(st.characters(blacklist_categories=("Cs", "Cc")), max_size=20).filter(
            lambda words: not hidden_in(words)
        ),
    }
)


@given(st.lists(st.lists(rows, max_size=3), max_size=4))
def test_the_log_only_grows(tmp_path_factory: pytest.TempPathFactory, batches: list) -> None:  # type: ignore[type-arg]
    log = tmp_path_factory.mktemp("log") / "records.csv"
    before = b""
    for batch in batches:
        assert append_records(log, batch, PLAN) == ()
        after = log.read_bytes()
        assert after.startswith(before)
        before = after
    # Python's csv reader is the outside check: every row is there, as it was given.
    if before:
        found = list(csv.DictReader(io.StringIO(before.decode(), newline="")))
        assert found == [row for batch in batches for row in batch]


def test_all_rows_are_written_or_none(tmp_path: Path) -> None:
    log = tmp_path / "records.csv"
    log.write_text(HEAD + "2025,top,fruits,3,,")  # its last line has no end
    good = dict(zip(COLUMNS, ("2026", "top", "fruits", "4", "", "a, b"), strict=True))
    bad = {**good, "value": "many"}
    assert [f.code for f in append_records(log, [good, bad], PLAN)] == ["wrong-value"]
    assert log.read_text() == HEAD + "2025,top,fruits,3,,"
    append_records(log, [good], PLAN)
    records, findings = read_records(log, PLAN)
    assert findings == ()
    assert [(o.year, o.number, o.note) for o in records.observations] == [
        (2025, 3.0, ""),
        (2026, 4.0, "a, b"),
    ]
    assert list(tmp_path.iterdir()) == [log]


def test_a_log_with_other_columns_is_left_alone(tmp_path: Path) -> None:
    log = tmp_path / "records.csv"
    log.write_text("what,when\n")
    row = dict(zip(COLUMNS, ("2026", "top", "fruits", "4", "", ""), strict=True))
    assert [f.code for f in append_records(log, [row], PLAN)] == ["missing-column"]
    assert log.read_text() == "what,when\n"


def test_every_kind_says_what_it_is_and_where_it_comes_from() -> None:
    assert all(kind.description and kind.form for kind in kinds().values())


@pytest.mark.parametrize(
    "old", ["# a remark\n", "\n\n", "# Bäume\n2026".encode("latin-1"), b"\xff\xfe\x00"]
)
def test_a_log_without_columns_or_in_another_encoding_is_left_alone(
    old: str | bytes, tmp_path: Path
) -> None:
    log = tmp_path / "records.csv"
    log.write_bytes(old.encode() if isinstance(old, str) else old)
    before = log.read_bytes()
    row = dict.fromkeys(COLUMNS, "") | {"date": "2026-04-12", "limb": "top", "kind": "stage",
                                        "value": "full"}  # fmt: skip
    findings = append_records(log, [row], PLAN)
    assert [one.severity for one in findings] == ["error"]
    assert log.read_bytes() == before
    records, told = read_records(log, PLAN)
    assert records.observations == () and {one.severity for one in told} == {"error"}
