"""The table of branches that no test takes is whole, and is about the code as it stands."""

from __future__ import annotations

from pathlib import Path

import pytest
from measure_branches import CHECKOUT, JUDGEMENTS, TABLE, Row, judged, read_rows, rows_of, shown

ROWS = read_rows(TABLE)


def test_every_branch_is_judged_and_each_stands_once() -> None:
    assert ROWS
    assert [row for row in ROWS if row.judgement not in JUDGEMENTS] == []
    assert len({(row.file, row.line, row.to) for row in ROWS}) == len(ROWS)


@pytest.mark.parametrize("file", sorted({row.file for row in ROWS}))
def test_every_row_is_about_a_line_that_is_still_there(file: str) -> None:
    lines = {shown(line) for line in (CHECKOUT / file).read_text(encoding="utf-8").splitlines()}
    assert [row for row in ROWS if row.file == file and row.source not in lines] == []


def test_of_a_branch_taken_in_another_process_the_tests_are_named() -> None:
    named = {row.why for row in ROWS if row.judgement == "process"}
    assert named
    assert [why for why in named if not (CHECKOUT / why).is_file()] == []


def test_judgements_are_found_again_where_lines_moved(tmp_path: Path) -> None:
    body = "(x):\n    if x:\n        return 1\n"
    text = f"\n\ndef first{body}\n\ndef other{body}"
    (tmp_path / "some.py").write_text(text, encoding="utf-8")
    report = {"files": {"some.py": {"missing_branches": [[9, 10], [4, -3]]},
                        "whole.py": {"missing_branches": []}}}  # fmt: skip
    new = list(rows_of(report, tmp_path))
    assert new == [Row("some.py", 4, -3, "first", "if x:"), Row("some.py", 9, 10, "other", "if x:")]
    old = [Row("some.py", 1, 2, "first", "if x:", "rare", "why"),
           Row("some.py", 8, 9, "other", "if x:", "time"),
           Row("some.py", 8, 3, "other", "if x:", "rare")]  # fmt: skip
    # What was judged in two ways is judged again.
    assert [row[-2:] for row in judged(new, old)] == [("rare", "why"), ("", "")]
