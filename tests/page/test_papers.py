"""Papers and downloads: what the commands write, under safe names, each with its own policy."""

from __future__ import annotations

import io
import re
import zipfile
from collections.abc import Callable, Iterator
from pathlib import Path
from time import monotonic, sleep
from typing import Any

import pytest
from browsing import Browser, browser_on, on_demo
from gardens import HILL, O1, saved, studied, tree, variety, written
from pypdf import PdfReader

from pollinet.charts.album import KINDS
from pollinet.demo import demo_files, write_demo
from pollinet.page.questions import Question, answered
from pollinet.page.screens.papers import PICTURES

Run = Callable[..., Any]

HILL_SITE = HILL.partition("[[tree]]")[0]


@pytest.fixture(scope="module")
def demo(tmp_path_factory: pytest.TempPathFactory) -> Iterator[Browser]:
    """The demo's garden, opened once; tests that write take one of their own."""
    with on_demo(tmp_path_factory.mktemp("demo")) as browser:
        yield browser


@pytest.mark.parametrize("form", ["graphml", "json", "csv"])
def test_the_graph_is_the_commands_own(
    demo: Browser, pollinet: Run, tmp_path: Path, form: str
) -> None:
    out = tmp_path / f"garden.{form}"
    assert pollinet("graph", str(demo.plan), "--out", str(out)).code == 0
    answer = demo.get(f"/download/graph.{form}")
    assert answer.data == out.read_bytes()
    assert answer.headers["Content-Disposition"] == f"attachment; filename=garden.{form}"


def test_the_calendar_file_is_the_commands_own(
    demo: Browser, pollinet: Run, tmp_path: Path
) -> None:
    out = tmp_path / "work.ics"
    day = "2026-11-01"
    assert pollinet("work", str(demo.plan), "--out", str(out), "--from", day).code == 0
    answer = demo.get(f"/download/work.ics?first={day}")
    assert answer.data == out.read_bytes()
    assert answer.mimetype == "text/calendar"


def test_the_sheet_for_the_shed_door_is_the_commands_own(
    demo: Browser, pollinet: Run, tmp_path: Path
) -> None:
    out = tmp_path / "shed.pdf"
    day = "2026-11-01"
    assert pollinet("work", str(demo.plan), "--print", str(out), "--from", day).code == 0
    answer = demo.get(f"/download/work.pdf?first={day}")
    assert answer.data == out.read_bytes()
    assert f"/download/work.pdf?first={day}" in demo.get(f"/papers/work?first={day}").text


def test_labels_are_the_commands_own(demo: Browser, pollinet: Run, tmp_path: Path) -> None:
    out = tmp_path / "labels.pdf"
    words = ("labels", str(demo.plan), "--out", str(out), "--for", "limbs", "--size", "60x40")
    assert pollinet(*words).code == 0
    assert demo.get("/download/labels.pdf?of=limbs&width=60&height=40").data == out.read_bytes()


@pytest.mark.parametrize(("kind", "form"), [("tradeoff", "svg"), ("harvest", "png")])
def test_pictures_are_the_commands_own(
    demo: Browser, pollinet: Run, tmp_path: Path, kind: str, form: str
) -> None:
    words = ("chart", str(demo.plan), kind, "--out", str(tmp_path), "--format", form)
    assert pollinet(*words).code == 0
    files = sorted(tmp_path.iterdir())
    answer = demo.get(f"/download/picture/{kind}.{form}")
    if len(files) == 1:
        assert answer.data == files[0].read_bytes()
        assert files[0].name in answer.headers["Content-Disposition"]
        return
    with zipfile.ZipFile(io.BytesIO(answer.data)) as archive:
        assert {name: archive.read(name) for name in archive.namelist()} == {
            file.name: file.read_bytes() for file in files
        }


def test_every_kind_of_picture_is_offered(demo: Browser) -> None:
    assert list(PICTURES) == list(KINDS)
    page = demo.get("/papers").text
    assert all(f"/download/picture/{kind}.svg" in page for kind in KINDS)


def test_several_pictures_come_in_one_archive(demo: Browser) -> None:
    first, again = (demo.get("/download/picture/network.svg") for _ in range(2))
    assert first.mimetype == "application/zip"
    assert first.data == again.data


def test_the_plan_file_is_given_as_it_is(demo: Browser) -> None:
    answer = demo.get("/download/plan.toml")
    assert answer.data == demo.plan.read_bytes()
    tried = demo.get("/download/plan.toml?try=change:C-mid:Kordia").data.decode()
    assert 'variety = "Kordia"' in tried
    assert demo.plan.read_text() != tried


def test_what_is_not_there_is_told(tmp_path: Path) -> None:
    browser = browser_on(written(tmp_path, *O1))
    assert "typed" in browser.text("/download/picture/chill.svg", 422)
    assert "names of the limbs" in browser.text("/download/picture/tree.svg", 422)
    # No link promises a picture that there is not: the page says why.
    page = browser.get("/papers").text
    assert "None: the bloom dates are typed" in page and "None: the names of the limbs" in page
    for kind in PICTURES:
        offered = f"/download/picture/{kind}.svg" in page
        assert offered == (browser.get(f"/download/picture/{kind}.svg").status_code == 200), kind
    assert browser.get("/download/picture/nothing.svg").status_code == 404
    assert browser.get("/download/picture/chill.exe").status_code == 404
    assert browser.get("/download/graph.toml").status_code == 404
    assert browser.get("/download/report.doc").status_code == 404
    # Nobody has asked for it yet.
    assert browser.get("/download/report.html").status_code == 404
    assert "at least" in browser.text("/download/labels.pdf?width=11&height=11", 422)
    assert "found x" in browser.text("/download/labels.pdf?width=x", 422)
    assert browser.get("/papers/weather").status_code == 200
    assert browser.get("/papers/chill").status_code == 200
    assert "26-13-01" in browser.text("/papers/work?first=26-13-01", 422)


def test_a_file_has_a_safe_name(tmp_path: Path) -> None:
    write_demo(tmp_path, demo_files())
    plan = tmp_path / 'my "garden"; x.toml'
    (tmp_path / "plan.toml").rename(plan)
    told = browser_on(plan).get("/download/plan.toml").headers["Content-Disposition"]
    assert re.fullmatch(r"attachment; filename=[\w.-]+", told)


def test_the_report_is_a_document_of_its_own(tmp_path: Path, pollinet: Run) -> None:
    browser = browser_on(written(tmp_path, *O1))
    try:
        there = browser.post("/behind/ask/report").headers["Location"]
        end = monotonic() + 120
        while "The report is ready." not in browser.get(there).text and monotonic() < end:
            sleep(0.1)
        answer = browser.get("/download/report.html")
        out = tmp_path / "report.html"
        assert pollinet("report", str(browser.plan), "--out", str(out)).code == 0
        assert answer.data == out.read_bytes()
        policy = answer.headers["Content-Security-Policy"]
        assert "default-src 'none'" in policy and "script-src 'sha256-" in policy
        assert "style-src 'unsafe-inline'" in policy
        assert answer.headers["Content-Disposition"] == "inline; filename=report.html"
        kept = browser.get("/download/report.html?keep=1").headers["Content-Disposition"]
        assert kept.startswith("attachment")
    finally:
        browser.app.extensions["pollinet-behind"].close()


def test_the_report_on_paper_is_the_commands_own(demo: Browser, pollinet: Run) -> None:
    study = studied(demo.plan)
    made = answered(study, Question("report", (("form", "pdf"),)))
    assert made.startswith(b"%PDF")
    out = demo.plan.parent / "report.pdf"
    assert pollinet("report", str(demo.plan), "--out", str(out)).code == 0
    pages = [len(PdfReader(io.BytesIO(pdf)).pages) for pdf in (made, out.read_bytes())]
    assert pages[0] == pages[1] > 1


def test_the_picking_season_stands_without_a_harvest_that_nobody_knows(tmp_path: Path) -> None:
    """`undated` has no harvest in any catalogue: it is named in the notes, not in the order."""
    own = variety("undated", "S1S2", [100, 110])
    plan = saved(tmp_path, HILL_SITE + tree("Jonathan Elstar undated") + own)
    browser = browser_on(plan, "en")
    text = browser.text("/papers/season")
    assert "Harvest not known, so left out of the season: undated" in text
    order = text.partition("Order of ripening")[2].partition("What could be")[0]
    assert "Jonathan" in order and "undated" not in order


def test_does_a_variety_suit(demo: Browser, pollinet: Run) -> None:
    shown = demo.text("/papers/suits?names=Sam, Kordia")
    for line in pollinet("suits", str(demo.plan), "Sam", "Kordia").out.split("\n")[:1]:
        assert line.split(":")[0] in shown
    assert "Kordja" in demo.text("/papers/suits?names=Kordja", 422)
    assert demo.get("/papers/suits").status_code == 200


def test_without_wood_there_is_no_label_of_wood(tmp_path: Path) -> None:
    browser = browser_on(written(tmp_path, tree("P"), variety("P", "S1S2", [108, 118])))
    assert "names no scions" in browser.text("/download/labels.pdf?of=scions", 422)
    assert browser.get("/download/labels.pdf?of=limbs").data.startswith(b"%PDF")


def test_names_that_are_not_there_are_told_on_every_screen(tmp_path: Path) -> None:
    browser = browser_on(written(tmp_path, *O1))
    for address in ("/know/Nosuch", "/lost-label/Nosuch"):
        assert "Nosuch" in browser.text(address, 404)
    assert browser.post("/know/Nosuch", ploidy="2").status_code == 404
    assert not (tmp_path / "catalogues").exists()
    answer = browser.get("/language/xx?back=/papers/weather")
    assert answer.status_code == 302 and "Set-Cookie" not in answer.headers
    assert "Set-Cookie" in browser.get("/language/de").headers
