"""Labels: of the size asked for, whole, and their codes read again by an independent reader."""

from __future__ import annotations

import io
from pathlib import Path

import awkward_gardens
import cv2
import numpy as np
import pypdfium2
import pytest
from hypothesis import given
from hypothesis import strategies as st
from pypdf import PdfReader

from pollinet.report.labels import (
    Label,
    Sheet,
    labels_pdf,
    limb_labels,
    scion_labels,
    sheet_problem,
)
from pollinet.study import Study, open_study
from pollinet.summary.scions import scions_wanted
from pollinet.wording.check import MARKS

SHEET = Sheet()
DOTS_PER_MM = 16
"""About 400 to the inch: what a household printer does."""


def study_of(name: str, folder: Path) -> Study:
    opened = open_study(awkward_gardens.written(name, folder))
    assert opened.study is not None, opened.findings
    return opened.study


def pictures(data: bytes) -> list[np.ndarray]:
    """Every page in grey, drawn by PDFium."""
    document = pypdfium2.PdfDocument(data)
    return [
        page.render(scale=DOTS_PER_MM * 25.4 / 72, grayscale=True).to_numpy() for page in document
    ]


def cut_out(picture: np.ndarray, sheet: Sheet, number: int) -> np.ndarray:
    """One label of a printed sheet, cut along its lines."""
    x, y = sheet.corner(number)
    top, left = round((y + 0.3) * DOTS_PER_MM), round((x + 0.3) * DOTS_PER_MM)
    high, wide = sheet.label_height - 0.6, sheet.label_width - 0.6
    return picture[top : top + int(high * DOTS_PER_MM), left : left + int(wide * DOTS_PER_MM)]


def read_code(picture: np.ndarray) -> str:
    """What OpenCV's reader finds; it hands out the bytes of UTF-8 text as they are."""
    text, _, _ = cv2.QRCodeDetectorAruco().detectAndDecode(np.ascontiguousarray(picture))
    return str(text)


@pytest.mark.parametrize("name", ["foreign names", "long names", "southern new year"])
@pytest.mark.parametrize("sheet", [SHEET, Sheet(label_width=40, label_height=20, gap=2.5)])
def test_codes_are_read_again(name: str, sheet: Sheet, tmp_path: Path) -> None:
    labels = limb_labels(study_of(name, tmp_path))
    (picture,) = pictures(labels_pdf(labels, sheet, "labels"))
    for number, label in enumerate(labels):
        assert read_code(cut_out(picture, sheet, number)) == label.text


def test_codes_hold_no_address(tmp_path: Path) -> None:
    for label in limb_labels(study_of("southern new year", tmp_path)):
        assert "://" not in label.text
        assert "www" not in label.text


@pytest.mark.parametrize("name", ["one limb", "forty limbs"])
def test_every_limb_has_a_tag(name: str, tmp_path: Path) -> None:
    study = study_of(name, tmp_path)
    labels = limb_labels(study)
    reader = PdfReader(io.BytesIO(labels_pdf(labels, SHEET, "labels")))
    assert len(labels) == len(study.plan.limbs)
    # 3 x 8 labels of 70 mm x 37 mm on A4 of 210 mm x 297 mm: by hand.
    assert len(reader.pages) == -(-len(labels) // 24)
    words = " ".join(page.extract_text() for page in reader.pages)
    for limb in study.plan.limbs:
        assert limb.id in words
        assert limb.variety.name in words
    assert words.count("grafted 2019") == len(labels)


def test_a_tag_tells_the_verdict_in_whole_winters(tmp_path: Path) -> None:
    study = study_of("southern new year", tmp_path)
    rows = {study.network.nodes[row.node].id: row for row in study.coverage}
    assert rows
    for label in limb_labels(study):
        limb = label.lines[0].split(" · ")[0]
        (told,) = (line for line in label.lines if line.endswith("of 10 winters"))
        assert told[0] == MARKS[rows[limb].verdict]
        assert "." not in told


def test_scions_to_graft_have_labels_for_their_bags(tmp_path: Path) -> None:
    body = (
        awkward_gardens.tree([("T", "T")]) + awkward_gardens.scion("D")
        + awkward_gardens.variety("T", "S1S2", (110, 120))
        + awkward_gardens.variety("D", "S3S4", (110, 120))
    )  # fmt: skip
    head = awkward_gardens.HEAD.format(site='"x"', latitude=46)
    (tmp_path / "plan.toml").write_text(head + body, encoding="utf-8")
    study = open_study(tmp_path / "plan.toml").study
    assert study is not None
    (label,) = scion_labels(scions_wanted(study, *study.cover()))
    assert label.name == "D"
    assert "for T" in label.lines


@given(
    st.floats(30, 120), st.floats(15, 90), st.floats(0, 8), st.floats(90, 420), st.floats(90, 600)
)
def test_labels_stay_on_the_sheet_and_apart(
    label_width: float, label_height: float, gap: float, width: float, height: float
) -> None:
    sheet = Sheet(width, height, label_width, label_height, gap)
    if sheet_problem(sheet):
        assert label_width > width or label_height > height
        return
    corners = [sheet.corner(number) for number in range(sheet.columns * sheet.rows)]
    for number, (x, y) in enumerate(corners):
        assert x >= -1e-6 and x + label_width <= width + 1e-6
        assert y >= -1e-6 and y + label_height <= height + 1e-6
        for other_x, other_y in corners[:number]:
            apart = max(abs(x - other_x) - label_width, abs(y - other_y) - label_height)
            assert apart >= gap - 1e-6
    # No further column or row would fit.
    assert sheet.columns * (label_width + gap) + label_width > width - 1e-6
    assert sheet.rows * (label_height + gap) + label_height > height - 1e-6


def test_print_stays_within_its_label() -> None:
    long = Label(awkward_gardens.LONG[0], tuple(f"line {n} {'word ' * 12}" for n in range(6)))
    sheet = Sheet(label_width=60, label_height=25, gap=4)
    (picture,) = pictures(labels_pdf([long], sheet, "labels"))
    x, y = (round(edge * DOTS_PER_MM) for edge in sheet.corner(0))
    outside = picture.copy()
    high, wide = round(25 * DOTS_PER_MM), round(60 * DOTS_PER_MM)
    outside[y - 3 : y + high + 4, x - 3 : x + wide + 4] = 255
    assert (outside == 255).all()
    # The text and its code do not touch: a white column stands between them.
    inside = cut_out(picture, sheet, 0)[10:-10, 10:-10]
    blank = (inside > 200).all(axis=0)
    code_left = round((60 - 2.5 - 20) * DOTS_PER_MM)
    assert blank[code_left - 40 : code_left + 30].any()


@pytest.mark.parametrize(
    ("sheet", "word"), [(Sheet(label_width=20), "read"), (Sheet(label_width=300), "larger")]
)
def test_sizes_that_cannot_be_printed_are_refused(sheet: Sheet, word: str) -> None:
    assert word in sheet_problem(sheet)
