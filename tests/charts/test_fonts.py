"""Letters that the house font lacks: lent from an installed font, or named.

U+10FFFD is a private-use code of the last plane: the Unicode Standard gives it to nobody, so no
font of a script has it.
"""

from __future__ import annotations

import io
from collections.abc import Iterator
from pathlib import Path

import awkward_gardens
import pytest
from fontTools.fontBuilder import FontBuilder
from fontTools.pens.ttGlyphPen import TTGlyphPen
from fontTools.ttLib import TTFont
from matplotlib import font_manager
from pypdf import PdfReader

from pollinet.charts import fonts
from pollinet.charts.harvest import Picking, draw_harvest
from pollinet.charts.style import picture_bytes
from pollinet.report.labels import Label, Sheet, labels_pdf

RARE = "\U0010fffd"
LETTERS = "Aż אب Ω й ½ ± °"


@pytest.fixture(autouse=True)
def forgotten() -> Iterator[None]:
    fonts._lent.cache_clear()
    yield
    fonts._lent.cache_clear()


@pytest.fixture
def rare_font(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> str:
    """A font with one square for the rare letter, put among the installed ones."""
    pen = TTGlyphPen(None)
    pen.moveTo((100, 0))
    for corner in ((100, 700), (800, 700), (800, 0)):
        pen.lineTo(corner)
    pen.closePath()
    square = pen.glyph()
    font = FontBuilder(1000)
    font.setupGlyphOrder([".notdef", "rare"])
    font.setupCharacterMap({ord(RARE): "rare"})
    font.setupGlyf({".notdef": square, "rare": square})
    font.setupHorizontalMetrics({".notdef": (900, 0), "rare": (900, 100)})
    font.setupHorizontalHeader(ascent=800, descent=-200)
    font.setupNameTable({"familyName": "Rare Letters", "styleName": "Regular", "psName": "Rare"})
    font.setupOS2(usWeightClass=400)
    font.setupPost()
    font.save(tmp_path / "rare.ttf")
    installed = list(font_manager.fontManager.ttflist)
    monkeypatch.setattr(font_manager.fontManager, "ttflist", installed)
    font_manager.fontManager.addfont(tmp_path / "rare.ttf")
    return "Rare Letters"


def test_the_house_font_has_the_letters_it_is_trusted_with() -> None:
    # The font's own table of letters, read by fontTools.
    cmap = TTFont(font_manager.findfont(fonts.HOUSE)).getBestCmap()
    assert all(ord(letter) in cmap for letter in LETTERS)
    assert fonts.lent_for(LETTERS) == fonts.Lent((), "")


def test_a_letter_that_no_font_has_is_named() -> None:
    assert fonts.lent_for(["Ab", RARE]) == fonts.Lent((), RARE)
    (finding,) = fonts.missing_letters(RARE, "x.pdf", ".html")
    assert finding.severity == "warning"
    assert "U+10FFFD" in finding.message
    assert ".html" in finding.cure


def test_marks_that_leave_nothing_on_paper_are_not_missed() -> None:
    # Category Cf of the Unicode Character Database: joiners, marks of direction.
    assert fonts.lent_for("a\u200d\u200f\u2066\n\u3000").missing == ""


def test_an_installed_font_lends_its_letters(rare_font: str) -> None:
    lent = fonts.lent_for(["Ab", RARE])
    assert [font.name for font in lent.fonts] == [rare_font]
    assert lent.missing == ""
    assert fonts.missing_letters(RARE, "x.pdf") == ()


def embedded(data: bytes) -> str:
    """Names of all fonts in a PDF, in one string."""
    page = PdfReader(io.BytesIO(data)).pages[0]
    found = (font.get_object() for font in page["/Resources"]["/Font"].values())
    return " ".join(str(font["/BaseFont"]) for font in found)


@pytest.mark.parametrize("lent", [True, False])
def test_charts_use_what_is_lent(lent: bool, request: pytest.FixtureRequest) -> None:
    if lent:
        request.getfixturevalue("rare_font")
    axes = draw_harvest([Picking(RARE, 200.0)], 15.0, title="t")
    data = picture_bytes(axes.get_figure(root=True), ".pdf", "t", "d")
    assert ("Rare" in embedded(data)) == lent


def test_letters_that_no_font_has_become_codes_but_not_in_svg() -> None:
    axes = draw_harvest([Picking(f"x{RARE}{RARE}", 200.0)], 15.0, title="t")
    figure = axes.get_figure(root=True)
    paper = PdfReader(io.BytesIO(picture_bytes(figure, ".pdf", "t", "d"))).pages[0].extract_text()
    assert "x[U+10FFFD U+10FFFD]" in paper
    assert RARE in picture_bytes(figure, ".svg", "t", "d").decode()


@pytest.mark.parametrize("lent", [True, False])
def test_labels_use_what_is_lent(lent: bool, request: pytest.FixtureRequest) -> None:
    if lent:
        request.getfixturevalue("rare_font")
    data = labels_pdf([Label(f"x{RARE}", (RARE,))], Sheet(), "t")
    assert (RARE in PdfReader(io.BytesIO(data)).pages[0].extract_text()) == lent


@pytest.mark.parametrize(
    ("words", "told"),
    [
        (("calendar", "--out", "c.png"), True),
        (("calendar", "--out", "c.svg"), False),
        (("chart", "winters", "--format", "pdf", "--out", "charts"), True),
        (("chart", "winters", "--out", "charts"), False),
        (("labels", "--out", "l.pdf"), True),
        (("report", "--out", "r.pdf"), True),
        (("report", "--out", "r.html"), False),
    ],
)
def test_commands_tell_of_boxes(
    words: tuple[str, ...], told: bool, tmp_path: Path, monkeypatch, pollinet
) -> None:
    body = awkward_gardens.tree([("A", f"x{RARE}")])
    body += awkward_gardens.variety(f"x{RARE}", "S1S2", (110, 120))
    head = awkward_gardens.HEAD.format(site='"x"', latitude=46)
    (tmp_path / "plan.toml").write_text(head + body, encoding="utf-8")
    monkeypatch.chdir(tmp_path)
    answer = pollinet(words[0], "plan.toml", *words[1:])
    assert answer.code == 0
    assert ("U+10FFFD" in answer.err) == told
