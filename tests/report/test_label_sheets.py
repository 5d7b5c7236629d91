"""Labels: of the size asked for, whole, and their codes read again by an independent reader."""

from __future__ import annotations

import io
from datetime import date
from pathlib import Path

import awkward_gardens
import cv2
import numpy as np
import pypdfium2
import pytest
from gardens import studied
from hypothesis import given
from hypothesis import strategies as st
from pypdf import PdfReader

from pollinet.domain import Scion, VarietyId
from pollinet.language import speaking
from pollinet.report.labels import (
    Label,
    Sheet,
    labels_pdf,
    limb_labels,
    scion_labels,
    sheet_problem,
)
from pollinet.study import Study

SHEET = Sheet()
PRINTED = date(2031, 2, 9)
DOTS_PER_MM = 16
"""About 400 to the inch: what a household printer does."""


def study_of(name: str, folder: Path) -> Study:
    return studied(awkward_gardens.written(name, folder))


def pictures(data: bytes, dots_per_mm: int = DOTS_PER_MM) -> list[np.ndarray]:
    """Every page in grey, drawn by PDFium."""
    document = pypdfium2.PdfDocument(data)
    return [
        page.render(scale=dots_per_mm * 25.4 / 72, grayscale=True).to_numpy() for page in document
    ]


def cut_out(picture: np.ndarray, sheet: Sheet, number: int) -> np.ndarray:
    """One label of a printed sheet, cut along its lines."""
    x, y = sheet.corner(number)
    top, left = round((y + 0.3) * DOTS_PER_MM), round((x + 0.3) * DOTS_PER_MM)
    high, wide = sheet.label_height - 0.6, sheet.label_width - 0.6
    return picture[top : top + int(high * DOTS_PER_MM), left : left + int(wide * DOTS_PER_MM)]


def read_code(picture: np.ndarray) -> str:
    """What OpenCV's reader finds; it hands out the bytes of UTF-8 text as they are."""
    sharp = np.ascontiguousarray(picture)
    # A camera is never as sharp as a rendered page; large codes are found only so.
    for seen in (sharp, cv2.GaussianBlur(sharp, (5, 5), 0)):
        text, _, _ = cv2.QRCodeDetectorAruco().detectAndDecode(seen)
        if text:
            return str(text)
    return ""


@pytest.mark.parametrize("name", ["foreign names", "long names", "southern new year"])
@pytest.mark.parametrize("sheet", [SHEET, Sheet(label_width=40, label_height=20, gap=2.5)])
def test_codes_are_read_again(name: str, sheet: Sheet, tmp_path: Path) -> None:
    labels = limb_labels(study_of(name, tmp_path), PRINTED)
    (picture,) = pictures(labels_pdf(labels, sheet, "labels"))
    for number, label in enumerate(labels):
        assert read_code(cut_out(picture, sheet, number)) == label.text


def test_codes_hold_no_address(tmp_path: Path) -> None:
    for label in limb_labels(study_of("southern new year", tmp_path), PRINTED):
        assert "://" not in label.text
        assert "www" not in label.text


@pytest.mark.parametrize("name", ["one limb", "forty limbs"])
def test_every_limb_has_a_tag(name: str, tmp_path: Path) -> None:
    study = study_of(name, tmp_path)
    labels = limb_labels(study, PRINTED)
    reader = PdfReader(io.BytesIO(labels_pdf(labels, SHEET, "labels")))
    assert len(labels) == len(study.plan.limbs)
    # 3 x 8 labels of 70 mm x 37 mm on A4 of 210 mm x 297 mm: by hand.
    assert len(reader.pages) == -(-len(labels) // 24)
    words = " ".join(page.extract_text() for page in reader.pages)
    for limb in study.plan.limbs:
        assert limb.id in words
        assert limb.variety.name in words
    assert words.count("grafted 2019") == len(labels)


def test_a_tag_holds_no_forecast(tmp_path: Path) -> None:
    labels = limb_labels(study_of("southern new year", tmp_path), PRINTED)
    # Middle is the one variety of other alleles than Early and Late.
    assert [label.lines for label in labels] == [
        ("low-N · apple", "grafted 2019", "pollen: Middle", "printed 9 Feb 2031"),
        ("low-S · apple", "grafted 2019", "pollen: Middle", "printed 9 Feb 2031"),
        ("top · apple", "grafted 2019", labels[2].lines[2], "printed 9 Feb 2031"),
    ]


SCION = VarietyId("apple", "Spare")


@pytest.mark.parametrize(
    ("scion", "told"),
    [
        (Scion(SCION), ("scion · apple", "from ________", "rights: ________")),
        (
            Scion(SCION, source="the school orchard", rights="free to graft"),
            ("scion · apple", "from the school orchard", "rights: free to graft"),
        ),
        (Scion(SCION, blocked="oozing\ncankers"), ("do not graft: oozing cankers",)),
    ],
)
def test_a_bag_tells_fruit_source_rights_and_what_forbids_it(
    scion: Scion, told: tuple[str, ...]
) -> None:
    (label,) = scion_labels([scion], PRINTED)
    assert label.name == "Spare"
    assert set(told) <= set(label.lines)
    assert label.lines[-2:] == ("cut on ________", "printed 9 Feb 2031")


def scions_of(study: Study) -> tuple[Scion, ...]:
    long = Scion(VarietyId("apple", awkward_gardens.LONG[0]), blocked="cankers " * 20)
    return (*study.plan.scions, long)


def sizes_in(data: bytes) -> set[float]:
    """Sizes of all print in a document. [points]"""
    found: set[float] = set()

    def visit(text: str, _cm: object, _tm: object, _font: object, size: float) -> None:
        if text.strip():
            found.add(size)

    for page in PdfReader(io.BytesIO(data)).pages:
        page.extract_text(visitor_text=visit)
    return found


@pytest.mark.parametrize("language", ["en", "de"])
@pytest.mark.parametrize("name", list(awkward_gardens.GARDENS))
@pytest.mark.parametrize("sheet", [SHEET, Sheet(label_width=48.5, label_height=25.4)])
def test_nothing_is_small_or_near_the_edge(
    name: str, sheet: Sheet, language: str, tmp_path: Path
) -> None:
    study = study_of(name, tmp_path)
    with speaking(language):
        labels = (*limb_labels(study, PRINTED), *scion_labels(scions_of(study), PRINTED))
    data = labels_pdf(labels, sheet, "labels")
    edge = 5 * 8
    for number, picture in enumerate(pictures(data, dots_per_mm=8)):
        assert (picture < 128).any(), number
        inside = picture.copy()
        inside[edge:-edge, edge:-edge] = 255
        assert (inside == 255).all(), number
    assert min(sizes_in(data)) >= 9


def test_what_is_cut_is_marked_and_stands_in_the_code() -> None:
    whole = Label("Alone", ("A", "B"))
    cut = Label("Alone", tuple(f"line {number}" for number in range(20)))
    data = labels_pdf([whole, cut], SHEET, "labels")
    (page,) = PdfReader(io.BytesIO(data)).pages
    lines = page.extract_text().splitlines()
    assert [line for line in lines if "…" in line] == [f"line {len(lines) - 5}…"]
    assert read_code(cut_out(pictures(data)[0], SHEET, 1)) == cut.text


def test_text_alone_where_it_is_whole_only_so() -> None:
    label = Label("Alone", tuple(f"line {number} of many and of long words" for number in range(5)))
    data = labels_pdf([label], SHEET, "labels")
    (picture,) = pictures(data)
    assert not read_code(cut_out(picture, SHEET, 0))
    assert PdfReader(io.BytesIO(data)).pages[0].extract_text() == label.text


@given(
    st.floats(30, 120), st.floats(15, 90), st.floats(0, 8), st.floats(90, 420), st.floats(90, 600)
)
def test_labels_stay_on_the_sheet_and_apart(
    label_width: float, label_height: float, gap: float, width: float, height: float
) -> None:
    sheet = Sheet(width, height, label_width, label_height, gap)
    if sheet_problem(sheet):
        # At the worst a label loses 5 mm on both sides, and 25 x 10 mm is the least room.
        larger = label_width > width or label_height > height
        assert larger or label_width - 10 < 25 or label_height - 10 < 10
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
    ("sheet", "word"),
    [
        (Sheet(label_width=20), "at least 25 x 10 mm"),
        (Sheet(label_width=300), "larger"),
        (Sheet(label_width=35, margin=9), "9 mm inside"),
    ],
)
def test_sizes_that_cannot_be_printed_are_refused(sheet: Sheet, word: str) -> None:
    assert word in sheet_problem(sheet)
