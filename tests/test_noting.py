"""Notes as text into the log, each once; and what is taken back counts as never noted."""

from __future__ import annotations

import errno
import re
from datetime import date
from pathlib import Path

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from pollinet.domain import Aim, Limb, Neighbour, Plan, Site, Tree, VarietyId
from pollinet.findings import has_errors
from pollinet.letters import hidden_in
from pollinet.noting import TakenIn, log_text, note_down, take_back, take_in
from pollinet.readers.note_text import is_note_text, note_text, read_note_text
from pollinet.readers.observations import kinds
from pollinet.readers.records import COLUMNS, append_records, observed, read_records
from pollinet.study import open_plan

GALA, ELSTAR = VarietyId("apple", "Gala"), VarietyId("apple", "Elstar")
LIMBS = (
    Limb("C-top", "t", GALA, former_ids=("old top",)),
    Limb("C-low", "t", ELSTAR),
    Limb("a|b 50% %7C", "t", GALA),
)
PLAN = Plan(
    Site("The garden on the hill", 47.0),
    Aim(),
    (Tree("t", "apple", LIMBS),),
    (Neighbour("next door", GALA, 12.0),),
)
SOUTH = Plan(Site("far south", -41.0), Aim(), PLAN.trees)
TODAY = date(2026, 11, 30)
HEAD = "Pollinet notes 1: The garden on the hill\n"


def cells(day: str, limb: str, kind: str, value: str, unit: str = "", note: str = ""):  # type: ignore[no-untyped-def]
    return dict(zip(COLUMNS, (day, limb, kind, value, unit, note), strict=True))


@pytest.fixture
def log(tmp_path: Path) -> Path:
    return tmp_path / "records.csv"


def taken(log: Path, text: str, plan: Plan = PLAN) -> TakenIn:
    return take_in(log, text, plan, "notes.txt", TODAY)


def seen(log: Path, plan: Plan = PLAN) -> list[tuple[object, ...]]:
    records, findings = read_records(log, plan)
    assert not has_errors(findings)
    return [(s.limb, s.kind, s.word or s.number, s.of, s.day or s.year, s.note)
            for s in records.observations]  # fmt: skip


def codes(found: TakenIn) -> list[tuple[str, int | None]]:
    assert all(one.cure for one in found.findings)
    return [(one.code, one.line) for one in found.findings]


# --- the text ----------------------------------------------------------------------------------


def test_what_was_noted_reads_back_and_keeps_its_order(log: Path) -> None:
    text = HEAD + (
        "k7f3q2 | 2026-04-14 | C-top | stage | full | the south side | first\n"
        "k7f3q3 | 2026-04-12 | all | frost | -1.5\n"
        "k7f3q4 | 2026-04-13 | all | frost | 28 F\n"
        "k7f3q5 | 2025 | next door | set | 14/20\n"
    )
    found = taken(log, text)
    assert (len(found.written), found.known, found.wrong, found.findings) == (4, 0, 0, ())
    assert seen(log) == [
        ("C-top", "stage", "full", None, date(2026, 4, 14), "the south side | first"),
        ("all", "frost", -1.5, None, date(2026, 4, 12), ""),
        # 28 °F are -2.22 °C (definition of the scale).
        ("all", "frost", -2.22, None, date(2026, 4, 13), ""),
        ("next door", "set", 14.0, 20, 2025, ""),
    ]


NOTES = st.builds(
    lambda limb, kind, day, words: (limb, *kind, day.isoformat(), words),
    st.sampled_from(["C-top", "C-low", "a|b 50% %7C", "next door"]),
    st.sampled_from([("stage", "full", ""), ("frost", "-1.5", ""), ("frost", "30", "F"),
                     ("set", "3/20", ""), ("shoots", "0.5", "m"), ("pruned", "hard", "")]),
    st.dates(date(2000, 1, 1), date(2026, 11, 30)),
    st.text(st.characters(codec="utf-8", exclude_categories=["Cc", "Cs", "Zl", "Zp"]), max_size=20)
    .filter(lambda words: not hidden_in(words)),
)  # fmt: skip


@given(st.lists(NOTES, max_size=6))
@settings(max_examples=50, deadline=None)
def test_text_and_log_say_the_same(notes: list[tuple[str, ...]]) -> None:
    rows = [cells(day, limb, kind, value, unit, words)
            for limb, kind, value, unit, day, words in notes]  # fmt: skip
    text = note_text(PLAN.site.name, [(f"id{n}", row) for n, row in enumerate(rows)])
    found, findings = read_note_text(text, PLAN, "notes.txt", TODAY)
    assert findings == ()
    told = [{**one.cells, "note": one.cells["note"]} for one in found]
    assert told == [{**row, "note": " ".join(row["note"].split())} for row in rows]


def test_the_log_as_text_brings_nothing_new_home_and_everything_elsewhere(
    log: Path, tmp_path: Path
) -> None:
    rows = [cells("2026-04-12", "old top", "stage", "full", "", "warm, dry"),
            cells("2026-04-12", "C-low", "shoots", "0.5", "m"),
            cells("2025", "C-low", "set", "14 of 20", "of clusters")]  # fmt: skip
    append_records(log, rows, PLAN)
    text = log_text(log, PLAN)
    assert is_note_text(text)
    again = taken(log, text)
    assert (again.written, again.known, again.findings) == ((), 3, ())
    other = tmp_path / "elsewhere.csv"
    assert len(taken(other, text).written) == 3
    assert seen(other) == seen(log)


def test_a_sheet_is_no_text_of_notes() -> None:
    assert not is_note_text(",".join(COLUMNS) + "\n2026-04-12,C-top,stage,full,,\n")


def test_the_example_of_the_manual_reads(checkout: Path) -> None:
    readme = (checkout / "README.md").read_text(encoding="utf-8")
    (text,) = re.findall(r"```text\n(Pollinet notes.*?)```", readme, re.DOTALL)
    plan, _, _ = open_plan(checkout / "pollinet" / "demo_plan.toml")
    assert plan is not None
    notes, findings = read_note_text(text, plan, "notes.txt", TODAY)
    assert (len(notes), findings) == (3, ())


# --- each once ---------------------------------------------------------------------------------


def test_the_same_text_comes_in_once_however_often_it_is_read(log: Path) -> None:
    text = HEAD + "aaaa | 2026-04-12 | C-top | stage | full\n"
    assert len(taken(log, text).written) == 1
    before = log.read_bytes()
    again = taken(log, text + text)
    assert (again.written, again.known, again.wrong) == ((), 1, 0)
    assert log.read_bytes() == before


def test_a_longer_text_adds_only_what_is_new(log: Path) -> None:
    first = HEAD + "aaaa | 2026-04-12 | C-top | stage | start\n"
    taken(log, first)
    before = log.read_bytes()
    more = taken(log, first + "bbbb | 2026-04-16 | C-top | stage | full\n")
    assert (len(more.written), more.known) == (1, 1)
    assert log.read_bytes().startswith(before)


def test_two_telephones_that_note_the_same_are_no_clash(log: Path) -> None:
    line = " | 2026-04-12 | C-top | stage | full\n"
    taken(log, HEAD + "aaaa" + line)
    second = taken(log, HEAD + "bbbb" + line + HEAD + "cccc | 2026-04-13 | C-low | fruits | 3\n")
    assert (len(second.written), second.known) == (2, 0)
    assert len(seen(log)) == 2


def test_a_note_that_was_taken_back_stays_so_when_its_text_is_read_again(log: Path) -> None:
    text = HEAD + "aaaa | 2026-04-12 | C-top | fruits | 3\n"
    taken(log, text)
    assert take_back(log, cells("2026-04-12", "C-top", "fruits", "3"), PLAN) == ()
    assert taken(log, text).known == 1
    assert seen(log) == []


def test_a_line_without_an_id_is_known_by_what_it_says(log: Path) -> None:
    text = HEAD + "2026-04-12 | C-top | stage | full\n2026-04-12 | C-top | fruits | 3\n"
    assert len(taken(log, text).written) == 2
    assert taken(log, text.replace("fruits | 3", "fruits | 4")).known == 1
    assert taken(log, text).known == 2


def test_a_known_id_that_reads_otherwise_is_told_and_not_taken(log: Path) -> None:
    taken(log, HEAD + "aaaa | 2026-04-12 | C-top | fruits | 3\n")
    found = taken(log, HEAD + "aaaa | 2026-04-12 | C-top | fruits | 30\n")
    assert (found.written, found.known, codes(found)) == ((), 1, [("known-id", 2)])


def test_an_id_that_was_copied_with_its_line_loses_no_note_silently(log: Path) -> None:
    text = HEAD + (
        "aaaa | 2026-04-12 | C-top | fruits | 3\n"
        "aaaa | 2026-04-12 | C-low | fruits | 3\n"
        "aaaa | 2026-04-12 | C-top | fruits | 3\n"
    )
    found = taken(log, text)
    assert (len(found.written), found.wrong, codes(found)) == (1, 1, [("same-id", 3)])


def test_the_log_of_a_spreadsheet_still_knows_what_came_in(log: Path) -> None:
    text = HEAD + "aaaa | 2026-04-12 | C-top | stage | full\n"
    taken(log, text)
    # A spreadsheet fills every row of a table with commas.
    remark = next(line for line in log.read_text().splitlines() if line.startswith("#"))
    log.write_text(log.read_text().replace(remark, remark + ",,,,,"))
    assert taken(log, text).known == 1


# --- what comes from mails and hands -------------------------------------------------------------


@pytest.mark.parametrize("end", ["\n", "\r\n", "\r"])
@pytest.mark.parametrize("before", ["", "\ufeff", "Hello!\n\n", "> "])
def test_what_a_mail_or_an_editor_makes_of_a_text_is_read(log: Path, before: str, end: str) -> None:
    text = before + HEAD + "\n>  aaaa | 2026-04-12 | C-top | stage | full  \n"
    assert len(taken(log, text.replace("\n", end)).written) == 1


@pytest.mark.parametrize(
    ("line", "code", "cure"),
    [
        ("see you tomorrow", "no-note", "2026-04-12 | C-mid | stage | full"),
        ("aaaa | 2026-04-12 | C-top", "no-note", "2026-04-12 | C-mid | stage | full"),
        ("aaaa | 2026-04-12 | C-tpo | stage | full", "unknown-limb", "C-top"),
        ("aaaa | 2026-04-12 | Gala | stage | full", "unknown-limb", "C-top"),
        ("aaaa | 2026-04-12 | C-top | stagge | full", "unknown-kind", "stage"),
        ("aaaa | 2026-04-12 | C-top | stage | fulll", "wrong-value", "full"),
        ("aaaa | 2026-04-31 | C-top | stage | full", "wrong-date", "2026-04-12"),
        ("aaaa | 2026 | C-top | stage | full", "wrong-date", "2026-04-12"),
        ("aaaa | 2026-12-01 | C-top | fruits | 3", "date-to-come", "work"),
        ("aaaa | 2027 | C-top | fruits | 3", "date-to-come", "work"),
        ("aaaa | 2026-04-12 | C-top | frost | 3 parsec", "wrong-value", "°C"),
        ("aaaa | 2026-04-12 | all | fruits | 3", "unknown-limb", "C-top"),
    ],
)  # fmt: skip
def test_a_bad_line_is_told_with_its_cure_and_hinders_no_other(
    log: Path, line: str, code: str, cure: str
) -> None:
    text = (
        f"{HEAD}bbbb | 2026-04-12 | C-low | fruits | 1\n{line}\ncccc | 2025 | C-low | fruits | 2\n"
    )
    found = taken(log, text)
    assert (len(found.written), found.wrong, codes(found)) == (2, 1, [(code, 3)])
    assert cure in found.findings[0].cure
    # Mended, the whole text may be given again.
    mended = text.replace(line, "aaaa | 2026-04-12 | C-top | stage | full")
    again = taken(log, mended)
    assert (len(again.written), again.known, again.wrong) == (1, 2, 0)


@pytest.mark.parametrize(
    ("head", "code"),
    [
        ("Pollinet notes 2: The garden on the hill", "newer-notes"),
        ("Pollinet notes 1: The garden in the vale", "other-garden"),
        ("notes", "no-head"),
    ],
)
def test_notes_of_another_garden_or_version_leave_the_log_alone(
    log: Path, head: str, code: str
) -> None:
    found = taken(log, f"{head}\naaaa | 2026-04-12 | C-top | stage | full\n")
    assert (found.written, [one.code for one in found.findings]) == ((), [code])
    assert found.findings[0].cure
    assert not log.exists()


@pytest.mark.parametrize("head", ["pollinet notes 1", "Pollinet Notes 1: the  garden ON the hill"])
def test_the_head_may_be_typed_by_hand(log: Path, head: str) -> None:
    assert len(taken(log, head + "\n2026-04-12 | C-top | stage | full\n").written) == 1


def test_a_former_id_is_the_limb_of_today(log: Path) -> None:
    taken(log, HEAD + "aaaa | 2026-04-12 | old top | stage | full\n")
    assert seen(log)[0][0] == "C-top"


def test_bloom_at_new_year_in_the_south_is_of_one_season(log: Path) -> None:
    text = "Pollinet notes 1: far south\na1 | 2025-12-28 | C-top | stage | start\n"
    taken(log, text + "a2 | 2026-01-04 | C-top | stage | full\n", SOUTH)
    records, _ = read_records(log, SOUTH)
    assert len({one.year for one in records.observations}) == 1


def test_a_log_that_cannot_be_added_to_takes_nothing(log: Path) -> None:
    log.write_text("what is this\n")
    found = taken(log, HEAD + "aaaa | 2026-04-12 | C-top | stage | full\n")
    assert found.written == () and "missing-column" in [one.code for one in found.findings]
    assert log.read_text() == "what is this\n"


def test_a_log_that_cannot_be_written_is_told(log: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    def full(path: Path, content: bytes) -> None:
        raise OSError(errno.ENOSPC, "full", str(path))

    monkeypatch.setattr("pollinet.readers.records.write_whole", full)
    found = taken(log, HEAD + "aaaa | 2026-04-12 | C-top | stage | full\n")
    assert (found.written, codes(found)) == ((), [("cannot-write", None)])
    assert "disk is full" in found.findings[0].message


# --- from a form, and back -----------------------------------------------------------------------


def test_a_day_to_come_is_not_noted(log: Path) -> None:
    early = note_down(log, [cells("2026-12-01", "C-top", "fruits", "3")], PLAN, TODAY)
    assert [one.code for one in early] == ["date-to-come"]
    assert not log.exists()


def test_what_is_taken_back_counts_as_never_noted(log: Path) -> None:
    rows = [
        cells("2026-04-12", "C-top", "stage", "start"),
        cells("2026-04-12", "C-top", "stage", "full"),
        cells("2026-04-15", "C-top", "stage", "full"),
        cells("2026-04-15", "C-low", "stage", "full"),
        cells("2026-05-01", "C-top", "clusters", "5"),
        cells("2026-05-01", "C-top", "clusters", "50", "", "counted again"),
    ]
    append_records(log, rows[:2], PLAN)
    two = seen(log)
    append_records(log, rows[2:], PLAN)
    assert take_back(log, rows[5], PLAN) == ()
    assert ("C-top", "clusters", 5.0, None, date(2026, 5, 1), "") in seen(log)
    assert take_back(log, rows[4], PLAN) == ()
    assert take_back(log, rows[2], PLAN) == ()
    assert take_back(log, rows[3], PLAN) == ()
    # The other stage of that day and the earlier date of this one stand again.
    assert sorted(map(str, seen(log))) == sorted(map(str, two))
    assert len(observed(log, PLAN)) > len(rows)


@given(st.data())
@settings(max_examples=30, deadline=None)
def test_any_note_can_be_taken_back_alone(data: st.DataObject) -> None:
    from tempfile import TemporaryDirectory

    with TemporaryDirectory() as folder:
        log = Path(folder) / "records.csv"
        few = st.tuples(
            st.sampled_from(["2026-04-12", "2026-04-13"]), st.sampled_from(["C-top", "C-low"]),
            st.sampled_from([("stage", "start"), ("stage", "full"), ("fruits", "1"),
                             ("fruits", "2")]),
        )  # fmt: skip
        rows = [cells(day, limb, *what) for day, limb, what in data.draw(st.lists(few, min_size=1))]
        append_records(log, rows, PLAN)
        counts = [cells(str(day), limb, kind, str(word if kind == "stage" else int(word)))
                  for limb, kind, word, _of, day, _note in seen(log)]  # type: ignore[call-overload]  # fmt: skip
        gone = data.draw(st.sampled_from(counts))
        assert take_back(log, gone, PLAN) == ()
        never = Path(folder) / "never.csv"
        append_records(never, [row for row in rows if row != gone], PLAN)
        assert sorted(map(str, seen(log))) == sorted(map(str, seen(never)))


def test_what_is_not_there_cannot_be_taken_back(log: Path) -> None:
    found = take_back(log, cells("2026-04-12", "C-top", "fruits", "3"), PLAN)
    assert [one.code for one in found] == ["no-such-note"]
    assert not log.exists()


def test_every_kind_has_words() -> None:
    from pollinet.wording.notes import KINDS, VALUES, seen_words

    assert set(KINDS) == set(kinds())
    for kind in kinds().values():
        if len(kind.allowed) > 1:
            assert set(kind.allowed) <= set(VALUES), kind.name
        for value in kind.allowed or ("3",):
            assert "{" not in seen_words(kind.name, value)


def test_what_is_no_note_is_not_taken_back(log: Path) -> None:
    assert not has_errors(
        note_down(log, [cells("2026-04-12", "C-top", "fruits", "3")], PLAN, TODAY)
    )
    before = log.read_bytes()
    limb, kind = "C-top", "fruits"
    for wrong in (("2026-04-12", "no limb", kind, "3"), ("12.4.", limb, kind, "3"),
                  ("2026-04-12", limb, kind, "many")):  # fmt: skip
        assert [one.severity for one in take_back(log, cells(*wrong), PLAN)] == ["error"]
    assert log.read_bytes() == before
