"""`pollinet report`: a file that stands alone, or one clear finding."""

from __future__ import annotations

from collections.abc import Callable
from pathlib import Path
from typing import Any

import awkward_gardens
import pytest

Run = Callable[..., Any]


@pytest.fixture
def plan(tmp_path: Path) -> Path:
    return awkward_gardens.written("one limb", tmp_path)


@pytest.mark.parametrize(("name", "begin"), [("r.html", b"<!DOCTYPE"), ("r.pdf", b"%PDF-")])
def test_the_suffix_decides(
    name: str, begin: bytes, plan: Path, tmp_path: Path, pollinet: Run
) -> None:
    answer = pollinet("report", plan, "--out", tmp_path / name)
    # A limb without a donor is what the report is about, not a failure to write it.
    assert answer.code == 0
    assert answer.out.startswith("only (Alone) needs a donor")
    assert name in answer.out
    assert (tmp_path / name).read_bytes().startswith(begin)


@pytest.mark.parametrize(
    ("out", "said"), [("r.docx", ".html or .pdf"), ("nowhere/r.pdf", "folder does not exist")]
)
def test_mistakes_write_nothing(
    out: str, said: str, plan: Path, tmp_path: Path, pollinet: Run
) -> None:
    answer = pollinet("report", plan, "--out", tmp_path / out)
    assert answer.code == 2
    assert said in answer.findings
    assert not (tmp_path / out).exists()


@pytest.mark.parametrize("name", ["letter.html", "letter.pdf"])
def test_a_file_of_others_is_not_written_over(
    name: str, plan: Path, tmp_path: Path, pollinet: Run
) -> None:
    letter = tmp_path / name
    letter.write_text("<!DOCTYPE html>\n<p>Dear neighbour</p>", encoding="utf-8")
    before = letter.read_bytes()
    answer = pollinet("report", plan, "--out", letter)
    assert answer.code == 2 and "not written over" in answer.findings
    assert letter.read_bytes() == before
    letter.unlink()
    # A report of ours is: it is written again whenever the plan has changed.
    assert pollinet("report", plan, "--out", letter).code == 0
    assert pollinet("report", plan, "--out", letter).code == 0


def test_a_bad_plan_writes_nothing(tmp_path: Path, pollinet: Run) -> None:
    (tmp_path / "plan.toml").write_text("[site]\nlatitude = 400\n", encoding="utf-8")
    answer = pollinet("report", tmp_path / "plan.toml", "--out", tmp_path / "r.html")
    assert answer.code == 2
    assert not (tmp_path / "r.html").exists()
