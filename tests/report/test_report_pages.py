"""The report: answer first, whole, self-contained, the same on paper."""

from __future__ import annotations

import io
import re
from calendar import month_abbr
from datetime import date
from html.parser import HTMLParser
from pathlib import Path
from typing import Any

import awkward_gardens
import pypdfium2
import pytest
from gardens import studied
from hypothesis import given
from hypothesis import strategies as st
from pypdf import PdfReader

from pollinet.demo import demo_files, write_demo
from pollinet.report.blocks import Bullets, Grid, Report
from pollinet.report.content import report_of
from pollinet.report.html import html_of
from pollinet.report.paper import new_pdf, put_text, shortened
from pollinet.report.pdf import pdf_of
from pollinet.report.work_sheet import sheet_of, sheet_pdf
from pollinet.study import Study
from pollinet.summary.work import work_from
from pollinet.wording.check import MARKS
from pollinet.wording.work import kind_rows

A4_POINTS = (595.3, 841.9)
"""210 mm x 297 mm (ISO 216) in points of 1/72 inch."""


@pytest.fixture(scope="module")
def study(tmp_path_factory: pytest.TempPathFactory) -> Study:
    return studied(write_demo(tmp_path_factory.mktemp("demo"), demo_files()))


@pytest.fixture(scope="module")
def report(study: Study) -> Report:
    return report_of(study)


@pytest.fixture(scope="module")
def page(report: Report) -> str:
    return html_of(report)


@pytest.fixture(scope="module")
def printed_report(study: Study) -> Report:
    return report_of(study, paper=True)


@pytest.fixture(scope="module")
def paper(printed_report: Report) -> PdfReader:
    return PdfReader(io.BytesIO(pdf_of(printed_report)))


class Outline(HTMLParser):
    """Tags, ids and addresses of a page."""

    def __init__(self, page: str) -> None:
        super().__init__()
        self.open: list[str] = []
        self.ids: list[str] = []
        self.targets: list[str] = []
        self.badly_closed: list[str] = []
        self.words = ""
        self.feed(page)

    def handle_starttag(self, tag: str, attrs: list[tuple[str, str | None]]) -> None:
        if tag not in ("meta", "col"):
            self.open.append(tag)
        self.ids += [value or "" for key, value in attrs if key == "id"]
        self.targets += [v or "" for k, v in attrs if k in ("src", "href", "xlink:href")]

    def handle_startendtag(self, tag: str, attrs: list[tuple[str, str | None]]) -> None:
        self.handle_starttag(tag, attrs)
        if self.open and self.open[-1] == tag:
            self.open.pop()

    def handle_endtag(self, tag: str) -> None:
        if not self.open or self.open.pop() != tag:
            self.badly_closed.append(tag)

    def handle_data(self, data: str) -> None:
        self.words += data


# --- what it says ----------------------------------------------------------------------------


def test_sections_come_in_the_order_of_the_questions(report: Report) -> None:
    order = [section.anchor for section in report.sections]
    assert order == ["answer", "do", "bloom", "add", "network", "limbs", "risks", "chill",
                     "warming", "harvest", "work", "sources", "repeat"]  # fmt: skip


def test_the_report_says_what_check_and_cover_say(tmp_path: Path, page: str, pollinet) -> None:
    plan = write_demo(tmp_path, demo_files())
    main = re.sub(r"\s+", " ", re.sub(r"<[^>]+>", " ", page[page.index("<main>") :]))
    check, cover = (pollinet(command, plan, "--json").data for command in ("check", "cover"))
    first = main.index(check["answer"])
    assert first < 40
    assert first < main.index(cover["answer"]) < first + len(check["answer"]) + 10
    for limb in check["limbs"]:
        assert limb["id"] in main
        for remembered in limb["rests_on_memory"]:
            assert remembered.split(" of ")[1] in main[main.index("Rests on memory") :]


def test_the_table_of_limbs_is_that_of_check(report: Report, tmp_path: Path, pollinet) -> None:
    plan = write_demo(tmp_path, demo_files())
    (section,) = (section for section in report.sections if section.anchor == "limbs")
    grid = next(block for block in section.blocks if isinstance(block, Grid))
    printed = [line.split() for line in pollinet("check", plan).out.splitlines()]
    listed = [words[:2] for words in printed if words and words[0] in MARKS.values()]
    # The legend and the answer begin otherwise; rows begin with a mark and an id.
    limbs = {limb["id"] for limb in pollinet("check", plan, "--json").data["limbs"]}
    assert [row[0].split() for row in grid.rows] == [x for x in listed if x[1] in limbs]
    assert grid.rows[0][0] == "✕ C-mid"
    # Whole winters: no cell of the table has a fraction.
    assert not any(re.search(r"\d\.\d", cell) for row in grid.rows for cell in row)


def test_what_nobody_knows_is_told_as_open_not_as_lacking(tmp_path: Path) -> None:
    body = (
        awkward_gardens.tree([("A", "A"), ("B", "B")])
        + awkward_gardens.variety("A", "S1S2", (110, 121))
        + awkward_gardens.variety("B", None, (110, 121))
    )
    head = awkward_gardens.HEAD.format(site='"x"', latitude=47) + "level = 0.97\n"
    (tmp_path / "plan.toml").write_text(head + body, encoding="utf-8")
    study = studied(tmp_path / "plan.toml")
    assert sorted(row.verdict for row in study.coverage) == ["likely", "open"]
    told = {section.anchor: section for section in report_of(study).sections}
    grid = next(block for block in told["limbs"].blocks if isinstance(block, Grid))
    # What is open needs attention, so it comes first.
    assert [row[0][0] for row in grid.rows] == ["?", "◐"]
    (to_do,) = (b for b in told["do"].blocks if isinstance(b, Bullets))
    (open_limb,) = to_do.items
    # What would settle it stands behind it.
    assert open_limb.startswith("Nobody knows the S-alleles of B: that decides whether")
    assert len(open_limb.split(". ")) > 1


def test_one_reason_is_said_once_for_all_that_it_holds_for(report: Report) -> None:
    (limbs,) = (section for section in report.sections if section.anchor == "limbs")
    (notes,) = (block for block in limbs.blocks if isinstance(block, Bullets))
    # Van and Black Star carry the S-alleles of Regina: the table of the demo's own remarks.
    assert "C-mid (Regina): Van and Black Star: same genotype S1S3." in notes.items
    said = [sentence for section in report.sections for block in section.blocks
            for sentence in getattr(block, "items", ())]  # fmt: skip
    assert len(said) == len(set(said))


def test_the_spring_moves_by_as_many_days_in_words_as_in_the_picture(report: Report) -> None:
    page = html_of(report)
    drawn = re.search(r"apple: whole spring ± (\d+) days", page)
    written = re.search(r"eight springs in ten by up to (\d+) days \(apple\)", page)
    assert drawn is not None and written is not None
    assert drawn[1] == written[1]


def test_it_can_be_repeated(study: Study, page: str, tmp_path: Path) -> None:
    assert f"Seed {study.plan.aim.seed}," in page
    again = studied(write_demo(tmp_path, demo_files()))
    assert html_of(report_of(again)) == page


def test_the_work_of_the_year_is_that_of_the_command(
    tmp_path: Path, report: Report, pollinet
) -> None:
    plan = write_demo(tmp_path, demo_files())
    (section,) = (section for section in report.sections if section.anchor == "work")
    grid = next(block for block in section.blocks if isinstance(block, Grid))
    found = pollinet("work", plan, "--from", "2027-01-01", "--json").data["tasks"]
    # What is picked on the same days stands in one row; all else is a row each.
    found = [task for task in found if task["needed"]]
    assert {task["task"] for task in found} >= {"harvest", "graft-dormant"}
    for row, task in zip(grid.rows, found, strict=True):
        year, month, day = map(int, task["last"].split("-"))
        assert year == 2027
        assert row[0].endswith(f"{day} {month_abbr[month]}")
        assert not re.search(r"\d{4}", row[0])
        assert row[1] == task["title"]
        assert row[2].startswith(task["species"])
    # Blossom is hung and flowers are dusted by hand where the command check finds no donor.
    bare = [limb["id"] for limb in pollinet("check", plan, "--json").data["limbs"]
            if not limb["covered"]]  # fmt: skip
    by_hand = [row[2] for row in grid.rows if row[1] == "Pollinate by hand"]
    assert by_hand == [f"sweet cherry: {limb}" for limb in bare]
    said = " ".join(b for block in section.blocks if isinstance(block, Bullets)
                    for b in block.items)  # fmt: skip
    for caution in ("Ladders:", "Knives", "Never spray", "Fire blight", "Scions:"):
        assert caution.lower() in said.lower()


def test_what_is_added_is_cited(study: Study, page: str) -> None:
    network, cover = study.cover()
    assert cover.added
    cited = page[page.index('id="sources"') :]
    for node in cover.added:
        for source in study.known[network.nodes[node].variety].fertility.sources:
            assert source in cited


# --- HTML ------------------------------------------------------------------------------------


def test_tags_are_balanced_and_ids_are_single(page: str) -> None:
    outline = Outline(page)
    assert outline.badly_closed == []
    assert outline.open == []
    assert len(outline.ids) == len(set(outline.ids))


def test_nothing_is_fetched(page: str) -> None:
    outline = Outline(page)
    assert all(target.startswith("#") for target in outline.targets)
    assert {target[1:] for target in outline.targets} <= set(outline.ids)
    assert not re.search(r"@import|url\((?!#)|<script[^>]+src|<link|<iframe|<img", page)


def test_names_are_escaped(tmp_path: Path) -> None:
    study = studied(awkward_gardens.written("foreign names", tmp_path))
    page = html_of(report_of(study))
    assert "<b>" not in page
    assert "{{ 7*7 }}" in page
    for name in awkward_gardens.FOREIGN:
        assert name in Outline(page).words


# --- commands, and days of no year -----------------------------------------------------------

LONE = """\
[site]
latitude = 50.0
longitude = 8.0
elevation_m = 150
[[tree]]
id = "lone"
species = "apple"
spare_limbs = 1
[[tree.limb]]
id = "lone"
variety = "Belle de Boskoop"
"""
"""A tree that stands alone, with room for a graft: a command tells what could be added."""


@pytest.fixture(scope="module")
def lone(tmp_path_factory: pytest.TempPathFactory) -> Study:
    plan = tmp_path_factory.mktemp("lone") / "plan.toml"
    plan.write_text(LONE)
    return studied(plan)


def test_commands_are_set_as_code(lone: Study) -> None:
    page = html_of(report_of(lone))
    for command in ("pollinet pollinizer", "pollinet cover PLAN --from catalogue",
                    "pollinet report plan.toml --out FILE"):  # fmt: skip
        assert f"<code>{command}</code>" in page
    assert "`" not in Outline(page).words
    assert not re.search(r"pollinet record [A-Z]", re.sub(r"<code>[^<]*</code>", "", page))


def test_commands_are_set_as_code_on_paper(lone: Study) -> None:
    sheets = (
        pdf_of(report_of(lone, paper=True)),
        sheet_pdf(sheet_of(lone, work_from(lone, date(2027, 1, 1)))),
    )
    coded: list[str] = []

    def keep(text: str, _cm: object, _tm: object, font: Any, _size: object) -> None:
        if font and "Mono" in font["/BaseFont"]:
            coded.append(text)

    for paper in map(PdfReader, map(io.BytesIO, sheets)):
        assert "`" not in words_of(paper)
        coded.clear()
        for sheet in paper.pages:
            sheet.extract_text(visitor_text=keep)
        assert "pollinetcoverPLAN--fromcatalogue" in "".join("".join(coded).split())


def test_code_keeps_its_words_and_their_order_in_both_directions() -> None:
    text = "the limb תפוח: `pollinet lost-label` lists it"
    pdf = new_pdf("", "", letters=(text,))
    pdf.add_page()
    put_text(pdf, text, 5, size=10)
    below = pdf.get_y()
    put_text(pdf, "log it: pollinet record PLAN LIMB --set 7/20. " * 9, 5, size=10, indent_mm=4)
    assert pdf.get_y() > below + 20 and pdf.get_x() == pdf.l_margin
    words = words_of(PdfReader(io.BytesIO(bytes(pdf.output()))))
    assert "pollinet lost-label lists it" in words and "`" not in words
    assert words.count("PLAN LIMB --set 7/20.") == 9


def test_what_to_do_says_that_its_days_are_of_no_year(lone: Study) -> None:
    """They hold in any year; on the sheet, days that run over the new year have two."""
    (section,) = (part for part in report_of(lone).sections if part.anchor == "do")
    assert "usual year" in section.blocks[-1].text  # type: ignore[union-attr]
    year = work_from(lone, date(2026, 11, 30))
    (when,) = (when for when, what, _where in kind_rows(year.tasks, 9) if "Order scions" in what)
    assert "2026" in when and "2027" in when


# --- PDF -------------------------------------------------------------------------------------


def words_of(paper: PdfReader) -> str:
    return re.sub(r"\s+", " ", " ".join(page.extract_text() for page in paper.pages))


def test_pages_are_a4_and_numbered(paper: PdfReader) -> None:
    for number, sheet in enumerate(paper.pages, start=1):
        size = float(sheet.mediabox.width), float(sheet.mediabox.height)
        assert size == pytest.approx(A4_POINTS, abs=0.5)
        assert f"{number} of {len(paper.pages)}" in sheet.extract_text()


def test_paper_says_what_the_page_says(paper: PdfReader, report: Report) -> None:
    words = words_of(paper).replace(" ", "")
    assert paper.metadata is not None
    for section in report.sections:
        assert section.title.replace(" ", "") in words
    answer = report.sections[0].blocks[0].text
    assert words.index(answer.replace(" ", "")) < 300
    # Charts keep their text: it can be searched on paper too.
    assert "Bloomcalendar,thegardenonthehill" in words
    assert paper.metadata.title == report.title


def test_the_same_report_gives_the_same_pdf(printed_report: Report) -> None:
    whole = printed_report
    plain = Report(whole.title, whole.subtitle, (whole.sections[0], whole.sections[2]))
    assert pdf_of(plain) == pdf_of(plain)


def test_a_long_title_stays_on_the_page(tmp_path: Path) -> None:
    title = "the slope " * 30
    pdf = new_pdf(title, "", numbered=True)
    pdf.add_page()
    printed = pypdfium2.PdfDocument(bytes(pdf.output()))[0].render(grayscale=True).to_numpy()
    inked = (printed < 128).any(axis=0).nonzero()[0]
    # Ten millimetres of A4's 210: printers leave less unprinted, common practice, no source.
    assert inked.min() > printed.shape[1] * 10 / 210
    words = PdfReader(io.BytesIO(bytes(pdf.output()))).pages[0].extract_text()
    assert "1 of 1" in words
    assert "…" in words


@given(st.text(), st.integers(0, 30))
def test_a_shortened_text_fits_and_begins_alike(text: str, most: int) -> None:
    short = shortened(text, lambda tried: len(tried) <= most)
    assert len(short) <= most
    assert text.startswith(short.removesuffix("…"))
    if len(text) <= most:
        assert short == text


@pytest.mark.parametrize("name", ["one limb", "long names", "southern new year"])
def test_awkward_gardens_are_printed(name: str, tmp_path: Path) -> None:
    study = studied(awkward_gardens.written(name, tmp_path))
    report = report_of(study, paper=True)
    words = words_of(PdfReader(io.BytesIO(pdf_of(report)))).replace(" ", "")
    for limb in study.plan.limbs:
        assert limb.variety.name.replace(" ", "") in words
