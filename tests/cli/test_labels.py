"""`pollinet labels`: sheets of the size asked for, or one clear finding."""

from __future__ import annotations

from collections.abc import Callable
from pathlib import Path
from typing import Any

import awkward_gardens
import pytest
from pypdf import PdfReader

Run = Callable[..., Any]


@pytest.fixture
def plan(tmp_path: Path) -> Path:
    return awkward_gardens.written("southern new year", tmp_path)


def test_limbs_on_a_sheet(plan: Path, tmp_path: Path, pollinet: Run) -> None:
    answer = pollinet("labels", plan, "--out", tmp_path / "l.pdf")
    assert answer.code == 0
    assert answer.out.startswith("5 labels on 1 sheet")
    (page,) = PdfReader(tmp_path / "l.pdf").pages
    for word in ("Early", "low-N", "grafted 2019", "Spare", "do not graft: oozing"):
        assert word in page.extract_text()


def test_sheets_by_size_in_millimetres(plan: Path, tmp_path: Path, pollinet: Run) -> None:
    out = tmp_path / "l.pdf"
    sizes = ("--size", "50x25", "--sheet", "54 x 30.5", "--for", "limbs")
    answer = pollinet("labels", plan, "--out", out, *sizes)
    assert answer.code == 0
    pages = PdfReader(out).pages
    assert len(pages) == 3
    # 25.4 mm are an inch of 72 points.
    assert float(pages[0].mediabox.width) == pytest.approx(54 / 25.4 * 72, abs=0.1)
    assert float(pages[0].mediabox.height) == pytest.approx(30.5 / 25.4 * 72, abs=0.1)


def test_labels_speak_german(plan: Path, tmp_path: Path, pollinet: Run) -> None:
    answer = pollinet("labels", plan, "--out", tmp_path / "l.pdf", "--language", "de")
    assert answer.out.startswith("5 Etiketten auf 1 Blatt")
    (page,) = PdfReader(tmp_path / "l.pdf").pages
    for word in ("low-N · Apfel", "veredelt 2019", "Pollen: Middle"):
        assert word in page.extract_text()


def test_a_printer_of_labels_reaches_the_edge(plan: Path, tmp_path: Path, pollinet: Run) -> None:
    small = ("--size", "30x15", "--sheet", "30x15", "--for", "limbs")
    assert pollinet("labels", plan, "--out", tmp_path / "l.pdf", *small).code == 2
    answer = pollinet("labels", plan, "--out", tmp_path / "l.pdf", *small, "--margin", 1)
    assert answer.code == 0, answer.err
    assert len(PdfReader(tmp_path / "l.pdf").pages) == 3


def test_nothing_to_label(tmp_path: Path, pollinet: Run) -> None:
    plan = awkward_gardens.written("one limb", tmp_path)
    answer = pollinet("labels", plan, "--for", "scions", "--out", tmp_path / "l.pdf")
    assert answer.code == 0
    assert "the plan names no scions" in answer.out
    assert not (tmp_path / "l.pdf").exists()


@pytest.mark.parametrize(
    ("words", "said"),
    [
        (("--size", "70"), "70x37"),
        (("--size", "10x10"), "at least"),
        (("--size", "400x37"), "larger than its sheet"),
        (("--gap", "-1"), "-1"),
    ],
)
def test_mistakes_write_nothing(
    words: tuple[str, ...], said: str, plan: Path, tmp_path: Path, pollinet: Run
) -> None:
    answer = pollinet("labels", plan, "--out", tmp_path / "l.pdf", *words)
    assert answer.code == 2
    assert said in answer.err
    assert not (tmp_path / "l.pdf").exists()


def test_only_pdf(plan: Path, tmp_path: Path, pollinet: Run) -> None:
    answer = pollinet("labels", plan, "--out", tmp_path / "l.doc")
    assert answer.code == 2
    assert ".pdf" in answer.err
