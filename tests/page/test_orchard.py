"""In the orchard: what is pressed goes into the log, and what is brought home, each once."""

from __future__ import annotations

import io
import re
import shutil
from collections.abc import Callable
from datetime import date, timedelta
from pathlib import Path
from typing import Any

import awkward_gardens
import pytest
from flask.testing import FlaskClient
from gardens import saved

from pollinet.page.screens import orchard
from pollinet.page.take_along import MARK

Run = Callable[..., Any]
Open = Callable[[Path], FlaskClient]
TOKEN = "the-token-of-this-start"
PLAN = """
[site]
name = "the slope"
latitude = 47
[[tree]]
id = "old tree"
species = "apple"
[[tree.limb]]
id = "top"
variety = "One"
[[tree.limb]]
id = "low"
variety = "Two"
[[neighbour]]
id = "hedge"
species = "apple"
variety = "Three"
distance_m = 9
[[variety]]
species = "apple"
name = "One"
s_genotype = "S1S2"
bloom = ["04-20", "05-01"]
[[variety]]
species = "apple"
name = "Two"
s_genotype = "S3S4"
bloom = ["04-22", "05-03"]
[[variety]]
species = "apple"
name = "Three"
s_genotype = "S3S5"
bloom = ["04-22", "05-03"]
"""
HEAD = "Pollinet notes 1: the slope\n"


@pytest.fixture
def plan(tmp_path: Path) -> Path:
    return saved(tmp_path, PLAN)


@pytest.fixture
def client(plan: Path, open_page: Open) -> FlaskClient:
    return open_page(plan)


def post(client: FlaskClient, path: str = "/orchard", **values: Any):  # type: ignore[no-untyped-def]
    return client.post(path, data={"token": TOKEN, **values})


def log(plan: Path) -> list[str]:
    path = plan.with_name("records.csv")
    rows = path.read_text().splitlines()[1:] if path.exists() else []
    return [row for row in rows if not row.startswith("#")]


def test_every_limb_and_neighbour_has_a_tile_and_every_stage_a_button(client: FlaskClient) -> None:
    page = client.get("/orchard").text
    assert re.findall(r'name="limb" value="(\w+)"', page) == ["top", "low", "hedge"]
    assert re.findall(r'name="seen" value="(\w+)"', page) == ["start", "full", "end"]


def test_two_touches_note_full_bloom(client: FlaskClient, plan: Path) -> None:
    answer = post(client, limb="low", seen="full", day="2026-04-25")
    assert answer.status_code == 302
    assert log(plan) == ["2026-04-25,low,stage,full,,"]
    said = client.get(answer.headers["Location"]).text
    assert "Kept." in said and "25 Apr 2026" in said
    # The form stands at the same limb and day for the next note.
    assert re.search(r'value="low" checked', said) and 'value="2026-04-25" max=' in said
    assert "Kept." not in client.get("/orchard").text


def test_all_that_is_filled_in_is_noted_frost_of_the_whole_garden(
    client: FlaskClient, plan: Path
) -> None:
    post(client, limb="top", seen="", day="2026-04-25", frost="-1,5", set="14/20", leafing="open",
         disease="canker", note="windy, wet")  # fmt: skip
    assert sorted(log(plan)) == [
        '2026-04-25,all,frost,"-1,5",,"windy, wet"',
        '2026-04-25,top,disease,canker,,"windy, wet"',
        '2026-04-25,top,leafing,open,,"windy, wet"',
        '2026-04-25,top,set,14/20,,"windy, wet"',
    ]


AHEAD = (date.today() + timedelta(days=1)).isoformat()


@pytest.mark.parametrize(
    ("values", "told"),
    [
        ({"limb": "top", "day": "2026-04-25"}, "what was seen is missing"),
        ({"day": "2026-04-25", "seen": "full"}, "the limb is missing"),
        ({"limb": "tpo", "day": "2026-04-25", "seen": "full"}, "no limb"),
        ({"limb": "top", "day": AHEAD, "seen": "full"}, "has not come yet"),
        ({"limb": "top", "day": "", "seen": "full"}, "is no date"),
        ({"limb": "top", "day": "2026-04-25", "seen": "fulll"}, "is no value"),
        ({"limb": "top", "day": "2026-04-25", "fruits": "<b>many</b>"}, "is no number"),
        ({"limb": "top", "day": "2026-04-25", "fruits": "x"}, '"where">Fruits picked'),
        ({"limb": "top", "day": "2026-04-25", "set": "20/14", "fruits": "3"}, "no count out of"),
    ],
)
def test_what_is_wrong_is_told_nothing_is_written_and_what_was_typed_stays(
    client: FlaskClient, plan: Path, values: dict[str, str], told: str
) -> None:
    answer = post(client, **values)
    assert answer.status_code == 422
    assert told in answer.text and "<b>many" not in answer.text
    assert log(plan) == []
    if "fruits" in values:
        assert re.search(r'name="fruits"[^>]*value="[^"]', answer.text)


def test_a_note_says_what_it_changes(tmp_path: Path, demo: Path, open_page: Open) -> None:
    shutil.copytree(demo, tmp_path / "garden")
    client = open_page(tmp_path / "garden" / "plan.toml")
    said = []
    for year, day in (("2021", "05-02"), ("2022", "05-04")):
        answer = post(client, limb="C-mid", seen="full", day=f"{year}-{day}")
        said.append(client.get(answer.headers["Location"]).text)
    assert re.search(r"foretold anew:.*Regina \d+ (Apr|May) \(\d+ days? later\)", "".join(said))
    notes = client.get("/notes").text
    assert "Over 2 springs the forecast is off by" in notes
    assert "By the notes sweet cherry blooms" in notes and "later here" in notes
    assert notes.count("the forecast is ") >= 2
    client.get("/language/de")
    german = client.get("/notes").text
    assert "Over 2" not in german and "later" not in german and "springs" not in german


def test_a_note_can_be_taken_back(client: FlaskClient, plan: Path) -> None:
    post(client, limb="low", seen="full", day="2026-04-20")
    post(client, limb="low", seen="full", day="2026-04-25")
    page = client.get("/orchard").text
    back = re.search(r'action="/orchard/take-back">(.*?)</form>', page, re.DOTALL)
    assert back is not None
    values = dict(re.findall(r'name="(\w+)" value="([^"]*)"', back[1]))
    assert post(client, "/orchard/take-back", **values).status_code == 302
    # The earlier date counts again, and what stood in the log stands there still.
    assert "20 Apr 2026" in client.get("/notes").text
    assert log(plan)[:2] == ["2026-04-20,low,stage,full,,", "2026-04-25,low,stage,full,,"]
    again = post(client, "/orchard/take-back", **values)
    assert again.status_code == 422 and "not in the log" in again.text


def test_a_pasted_text_and_its_file_come_in_once(client: FlaskClient, plan: Path) -> None:
    text = HEAD + "a1 | 2026-04-25 | top | stage | full\na2 | 2026-04-26 | low | stage | full\n"
    answer = post(client, "/orchard/text", text=text.replace("\n", "\r\n"))
    assert answer.status_code == 302
    assert "2 new notes." in client.get("/orchard").text
    assert len(log(plan)) == 2
    file = (io.BytesIO(b"\xef\xbb\xbf" + text.encode()), "notes.txt")
    assert post(client, "/orchard/text", file=file).status_code == 302
    assert "0 new notes and 2 known." in client.get("/orchard").text
    assert len(log(plan)) == 2


def test_a_wrong_line_is_told_and_the_text_stays_to_be_mended(
    client: FlaskClient, plan: Path
) -> None:
    text = HEAD + "a1 | 2026-04-25 | tpo | stage | full\na2 | 2026-04-26 | low | stage | full\n"
    answer = post(client, "/orchard/text", text=text)
    assert answer.status_code == 422
    assert "1 new note and 1 wrong." in answer.text and "line 2" in answer.text
    assert "a1 | 2026-04-25 | tpo" in answer.text
    assert client.get("/orchard/text").headers["Location"].endswith("/orchard")
    assert len(log(plan)) == 1
    assert post(client, "/orchard/text", text=text.replace("tpo", "top")).status_code == 302
    assert len(log(plan)) == 2


@pytest.mark.parametrize("content", [b"\xff\xfe\x00", b"x" * 1001, b"nothing of ours"])
def test_what_is_no_text_of_notes_is_refused(
    client: FlaskClient, plan: Path, content: bytes, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr(orchard, "MOST_TEXT_BYTES", 1000)
    answer = post(client, "/orchard/text", file=(io.BytesIO(content), "<i>.txt"))
    assert answer.status_code == 422
    assert "<i>.txt" not in answer.text
    assert log(plan) == []


def test_nothing_is_written_without_the_token(client: FlaskClient, plan: Path) -> None:
    for path in ("/orchard", "/orchard/text", "/orchard/take-back"):
        answer = client.post(path, data={"limb": "top", "seen": "full", "day": "2026-04-25"})
        assert answer.status_code == 403
    assert log(plan) == []


def test_the_log_goes_elsewhere_as_text(client: FlaskClient, plan: Path) -> None:
    post(client, limb="low", seen="full", day="2026-04-20")
    answer = client.get("/orchard/notes.txt")
    assert "attachment" in answer.headers["Content-Disposition"]
    assert answer.text.startswith(HEAD) and answer.text.endswith(
        "| 2026-04-20 | low | stage | full\n"
    )


@pytest.mark.parametrize("name", awkward_gardens.GARDENS)
@pytest.mark.parametrize("language", ["en", "de"])
def test_each_screen_and_the_file_stand_for_any_garden(
    name: str, language: str, tmp_path: Path, open_page: Open
) -> None:
    client = open_page(awkward_gardens.written(name, tmp_path))
    client.set_cookie("language", language)
    for address in ("/orchard", "/notes", "/take-along"):
        answer = client.get(address)
        assert answer.status_code == 200
        assert f'<html lang="{language}">' in answer.text
        assert '<b>&"' not in answer.text


# --- the file for the telephone ----------------------------------------------------------------


def test_the_file_needs_nothing_from_elsewhere(tmp_path: Path, demo: Path, pollinet: Run) -> None:
    out = tmp_path / "garden.html"
    assert pollinet("page", demo / "plan.toml", "--take-along", out).code == 0
    text = out.read_text(encoding="utf-8")
    assert len(text.encode()) < 300_000
    assert "default-src 'none'" in text
    assert not re.search(
        r"\b(src|srcset|action)=|<link|@import|url\(|https?://(?!www\.w3\.org)", text
    )
    assert not re.search(r'\sstyle=|\son\w+="', text)
    # The verdicts, the calendar and every limb with its donors are in it.
    for limb in ("A-low-south", "C-mid"):
        assert text.count(limb) >= 3
    assert 'class="strip calendar"' in text and "needs a donor" in text


def test_the_file_is_written_over_its_own_kind_alone(
    tmp_path: Path, plan: Path, pollinet: Run
) -> None:
    out = tmp_path / "garden.html"
    out.write_text("<p>mine</p>")
    refused = pollinet("page", plan, "--take-along", out)
    assert refused.code == 2 and "not written over" in refused.findings
    assert out.read_text() == "<p>mine</p>"
    out.unlink()
    assert pollinet("page", plan, "--take-along", out).code == 0
    assert pollinet("page", plan, "--take-along", out, "--language", "de").code == 0
    assert MARK in out.read_bytes() and '<html lang="de">' in out.read_text()
    assert pollinet("report", plan, "--out", out).code == 2
    assert pollinet("page", plan, "--take-along", tmp_path / "garden.txt").code == 2
