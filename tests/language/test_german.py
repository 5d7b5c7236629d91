"""The demo in German: dates and numbers as Germans write them, and no English left."""

from __future__ import annotations

import csv
import html
import io
import re
import shutil
from calendar import month_abbr
from collections.abc import Callable, Iterator
from datetime import date, timedelta
from functools import cache
from pathlib import Path
from string import Formatter

import messages
import pytest
from babel.dates import format_skeleton
from babel.numbers import format_decimal
from pypdf import PdfReader

from pollinet.days import day_of_year
from pollinet.demo import demo_files, write_demo
from pollinet.domain import Normals
from pollinet.language import date_range, number, short_date, speaking, told
from pollinet.messages import listing, say, say_number
from pollinet.weather.generated import generate_daily

WIDTH = 100
MANY_LETTERS = 8
"""A stretch of an English message that is too long to be in German text by chance."""


@pytest.fixture(scope="module")
def plan(tmp_path_factory: pytest.TempPathFactory) -> Path:
    return write_demo(tmp_path_factory.mktemp("demo"), demo_files())


@pytest.fixture(autouse=True)
def no_language_from_outside(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.delenv("POLLINET_LANGUAGE", raising=False)


def english_stretches() -> Iterator[str]:
    """What stands between the places of each message, where it is long and German differs."""
    for entry in messages.translated("de"):
        if not entry.id:
            continue
        english = entry.id if isinstance(entry.id, tuple) else (entry.id,)
        german = "".join(entry.string if isinstance(entry.string, tuple) else (entry.string,))
        for text in english:
            for part, _name, _form, _conversion in Formatter().parse(text):
                part = " ".join(part.split())
                if len(part) >= MANY_LETTERS and " " in part and part not in german:
                    yield part


@cache
def source_titles() -> tuple[str, ...]:
    text = (messages.ROOT / "catalogues" / "sources.csv").read_text(encoding="utf-8")
    return tuple(cell for row in csv.reader(text.splitlines()) for cell in row if len(cell) > 30)


def left_in_english(text: str) -> list[str]:
    """Stretches of English messages in a text; the titles of sources are not ours to translate."""
    flat = " ".join(text.split())
    for title in source_titles():
        flat = flat.replace(" ".join(title.split()), " ")
    return [part for part in english_stretches() if part in flat]


def without_marks(page: str) -> str:
    """All words of a page: text, titles and descriptions of the drawings, labels for readers."""
    page = re.sub(r"<(style|script).*?</\1>", " ", page, flags=re.DOTALL)
    labels = " ".join(re.findall(r'aria-label="([^"]*)"', page))
    return html.unescape(re.sub(r"<[^>]*>", " ", page) + labels)


def test_english_is_seen_where_it_is(plan: Path, pollinet: Callable) -> None:
    assert len(left_in_english(pollinet("check", plan).out)) >= 5


def test_check_speaks_german(plan: Path, pollinet: Callable) -> None:
    answer = pollinet("check", plan, "--language", "de")
    assert answer.code == 1
    first = "7 von 8 Ästen haben in mindestens 8 von 10 Wintern einen brauchbaren Befruchter."
    words = " ".join(answer.out.split())
    assert words.startswith("C-mid (Regina) braucht einen Befruchter: ")
    assert first in words
    assert left_in_english(answer.out + answer.err) == []
    assert max(map(len, answer.out.splitlines())) <= WIDTH


def test_check_speaks_german_of_a_warmer_climate(plan: Path, pollinet: Callable) -> None:
    answer = pollinet("check", plan, "--language", "de", "--warmer", "1.5")
    assert "Wären alle Winter und Frühjahre 1,5 °C wärmer: " in answer.out
    assert left_in_english(answer.out) == []
    assert max(map(len, answer.out.splitlines())) <= WIDTH


@pytest.mark.parametrize(
    "wishes",
    [
        ("--trade-off", "--years", "--spring", "2026", "--warmer", "1"),
        ("--must", "Kordia", "--pollen-only", "Kordia"),
        ("--survive-loss",),
        ("--level", "1", "--min-overlap", "12"),
    ],
)
def test_cover_speaks_german(wishes: tuple[str, ...], plan: Path, pollinet: Callable) -> None:
    answer = pollinet("cover", plan, *wishes, "--language", "de")
    assert answer.code in (0, 1)
    assert left_in_english(answer.out + answer.err) == []
    assert max(map(len, answer.out.splitlines())) <= WIDTH


@pytest.mark.parametrize(
    ("words", "heading"),
    [
        (("donors", "C-mid", "--from", "catalogue"), "Gemeinsame Tage"),
        (("without",), "Lässt unversorgt"),
        (("without", "C-top"), "Dann bester Befruchter"),
        (("pollinizer",), "Winter von 10, jetzt → dann"),
        (("scions",), "Obstart"),
        (("triploids",), "Sein Befruchter"),
        (("graph",), "Empfänger"),
        (("suits", "Kordia"), "Winterkälte"),
        (("season",), "Tage mit Obst"),
    ],
)
def test_what_is_asked_beside_the_set_is_told_in_german(
    words: tuple[str, ...], heading: str, plan: Path, pollinet: Callable
) -> None:
    """`heading` is not in the English text, and nothing that is marked is left in English."""
    command, *more = words
    answer = pollinet(command, plan, *more, "--language", "de")
    assert heading in answer.out
    assert left_in_english(answer.out + answer.err) == []
    assert max(map(len, answer.out.splitlines())) <= WIDTH
    assert heading not in pollinet(command, plan, *more).out


def test_calendar_speaks_german(plan: Path, pollinet: Callable, tmp_path: Path) -> None:
    file = tmp_path / "calendar.svg"
    answer = pollinet("calendar", plan, "--out", file, "--language", "de")
    words = without_marks(file.read_text(encoding="utf-8"))
    assert "Süßkirsche" in words
    assert "Vollblüte" in words
    assert left_in_english(answer.out + words) == []


def test_charts_and_labels_speak_german(plan: Path, pollinet: Callable, tmp_path: Path) -> None:
    answer = pollinet("chart", plan, "--out", tmp_path, "--language", "de")
    drawn = " ".join(without_marks(file.read_text("utf-8")) for file in tmp_path.glob("*.svg"))
    assert "Befruchter in wärmeren Wintern" in drawn
    assert left_in_english(answer.out + drawn) == []
    answer = pollinet("labels", plan, "--out", tmp_path / "labels.pdf", "--language", "de")
    printed = " ".join(page.extract_text() for page in PdfReader(tmp_path / "labels.pdf").pages)
    assert "Edelreis · Süßkirsche" in printed
    assert left_in_english(answer.out + printed) == []


def test_report_speaks_german(plan: Path, pollinet: Callable, tmp_path: Path) -> None:
    file = tmp_path / "report.html"
    answer = pollinet("report", plan, "--out", file, "--language", "de")
    page = file.read_text(encoding="utf-8")
    words = without_marks(page)
    assert '<html lang="de">' in page
    for trade in ("Edelreis", "Befruchter", "Vollblüte", "Kältebedarf",
                  "S-Genotyp", "triploid", "Ast für Ast"):  # fmt: skip
        assert trade in words
    assert left_in_english(answer.out + words) == []


def test_the_paper_speaks_german(plan: Path, pollinet: Callable, tmp_path: Path) -> None:
    file = tmp_path / "report.pdf"
    pollinet("report", plan, "--out", file, "--language", "de")
    paper = PdfReader(io.BytesIO(file.read_bytes()))
    words = " ".join(page.extract_text() for page in paper.pages)
    assert f"1 von {len(paper.pages)}" in words
    assert left_in_english(words) == []


# --- which language --------------------------------------------------------------------------


def test_the_environment_names_the_language(
    plan: Path, pollinet: Callable, monkeypatch: pytest.MonkeyPatch
) -> None:
    asked = pollinet("check", plan, "--language", "de").out
    monkeypatch.setenv("POLLINET_LANGUAGE", "de")
    assert pollinet("check", plan).out == asked
    assert pollinet("check", plan, "--language", "en").out != asked


def test_the_system_does_not(
    plan: Path, pollinet: Callable, monkeypatch: pytest.MonkeyPatch
) -> None:
    english = pollinet("check", plan).out
    for name in ("LANG", "LANGUAGE", "LC_ALL", "LC_MESSAGES"):
        monkeypatch.setenv(name, "de_DE.UTF-8")
    assert pollinet("check", plan).out == english


def test_data_stay_english(plan: Path, pollinet: Callable) -> None:
    assert pollinet("check", plan, "--json", "--language", "de").out == (
        pollinet("check", plan, "--json").out
    )


def test_an_unknown_language_is_bad_input(plan: Path, pollinet: Callable) -> None:
    answer = pollinet("check", plan, "--language", "xx")
    assert answer.code == 2
    assert "'en', 'de'" in answer.err


def test_a_language_ends_where_its_block_ends() -> None:
    with pytest.raises(RuntimeError), speaking("de"):
        assert number(0.5) == "0,5"
        raise RuntimeError
    assert number(0.5) == "0.5"


# --- dates and numbers, against the Unicode CLDR as Babel has it ------------------------------


def test_dates_are_written_as_in_german() -> None:
    with speaking("de"):
        for month in range(1, 13):
            day = date(2001, month, 8)
            assert short_date(day_of_year(month, 8)) == format_skeleton("MMMd", day, locale="de")
        assert date_range(98, 112) == "8.–22. Apr."
        assert date_range(86, 124) == "27. März – 4. Mai"


def test_english_dates_are_those_of_the_days() -> None:
    for place in range(1, 366):
        day = date(2001, 1, 1) + timedelta(place - 1)
        assert short_date(place) == f"{day.day} {month_abbr[day.month]}"
    assert date_range(98, 112) == "8–22 Apr"
    assert date_range(98, 98) == "8 Apr"


@pytest.mark.parametrize("value", [0.5, 7.0, 9.6, -1.25])
def test_numbers_are_written_as_in_german(value: float) -> None:
    with speaking("de"):
        assert number(value) == format_decimal(value, locale="de")


# --- what readers and stages said ------------------------------------------------------------


def test_what_stages_said_is_told_with_what_stands_in_it() -> None:
    normals = Normals((0.0,) * 12, (10.0,) * 12, "Jork 1991-2020", "published")
    made = generate_daily(normals, first_harvest_year=2001, winters=1, latitude=53.5, seed=1)
    assert made.source == "generated from monthly normals (Jork 1991-2020)"
    with speaking("de"):
        assert told(made.source) == "aus Monatsmitteln: Jork 1991-2020"
        assert told("nobody has said this") == "nobody has said this"


def test_numbers_and_lists_in_a_message_are_told() -> None:
    hot = say("latitude {there:.2f} instead of {here:.2f}", there=1.5, here=2.25)
    said = say_number(
        "A winter left out, by the year of bloom: {years}.",
        "Winters left out, by the year of bloom: {years}.",
        2,
        years=listing([hot, say("{number} days are missing", number=3)], "; "),
    )
    assert said == (
        "Winters left out, by the year of bloom: latitude 1.50 instead of 2.25; 3 days are missing."
    )
    with speaking("de"):
        assert told(said) == (
            "Ausgelassene Winter, nach dem Jahr der Blüte: Breite 1,50 statt 2,25; 3 Tage fehlen."
        )
        assert said.startswith("Winters left out")  # a program reads English all the same


def test_notes_on_a_record_with_holes_are_told(plan: Path, tmp_path: Path, pollinet) -> None:
    """The readers' own words, not copies of them, must fit the messages."""
    rows = (plan.parent / "weather.csv").read_text(encoding="utf-8").splitlines()
    holed = [row for row in rows if not re.match(r"1998-01-(0[2-9]|1)|1999-02-03", row)]
    weather = tmp_path / "holed.csv"
    weather.write_text("\n".join(holed), encoding="utf-8")
    told = pollinet("check", plan, "--weather", weather, "--language", "de").err
    assert "Hinweis" in told or "Warnung" in told
    assert "fehlen" in told
    assert "Ausgelassen" in told
    assert "überbrückt" in told
    assert left_in_english(told) == []


def test_record_speaks_german(plan: Path, tmp_path: Path, pollinet: Callable) -> None:
    shutil.copytree(plan.parent, tmp_path, dirs_exist_ok=True)
    note = ("record", tmp_path / "plan.toml", "A-top", "--language", "de")
    assert pollinet(*note, "--stage", "full", "--date", "2024-04-12").code == 0
    late = pollinet(*note, "--stage", "start", "--date", "2024-04-20")
    assert late.out.startswith("1 Notiz in ")
    assert "der Blühbeginn 2024-04-20, später als die Vollblüte 2024-04-12" in late.findings
    wrong = pollinet(*note, "--fruits", "many")
    assert wrong.code == 2 and "„many“ ist keine Zahl" in wrong.findings
    assert left_in_english(late.out + late.err + wrong.err) == []
    log = pollinet("record", tmp_path / "plan.toml", "--language", "de").out
    assert "Noch nichts notiert von: " in log


MISTAKES = [
    ("plan.toml", "spare_limbs = 1", "spare_limb = 1"),
    ("plan.toml", "spare_limbs = 1", 'spare_limbs = "two"'),
    ("plan.toml", "latitude = 46.4", "latitude = 465"),
    ("plan.toml", 'species = "apple"', 'species = "apple'),
    ("plan.toml", 'variety = "Regina"', 'variety = "Rgina"'),
    ("plan.toml", "weather.csv", "wether.csv"),
    ("plan.toml", "latitude = 46.4", "latitude = -46.4"),
    ("weather.csv", "date,tmin_c,tmax_c", "date,tmin_c,tmean_c"),
    ("weather.csv", "date,tmin_c,tmax_c", "day,low,high"),
    ("weather.csv", "1998-02-03,", "1998-02-30,"),
    ("weather.csv", "1998-02-03,", "1998-02-03,x"),
    ("records.csv", "limb,kind", "limb"),
    ("records.csv", "2024-04-12", "2024-04-99"),
    ("records.csv", "A-top", "A-tip"),
    ("records.csv", "full", "fully"),
]


@pytest.mark.parametrize(("name", "right", "wrong"), MISTAKES)
def test_mistakes_are_told_in_german(
    name: str, right: str, wrong: str, plan: Path, tmp_path: Path, pollinet: Callable
) -> None:
    shutil.copytree(plan.parent, tmp_path, dirs_exist_ok=True)
    log = "date,limb,kind,value,unit,note\n2024-04-12,A-top,stage,full,,\n"
    (tmp_path / "records.csv").write_text(log, encoding="utf-8")
    text = (tmp_path / name).read_text(encoding="utf-8")
    assert right in text
    (tmp_path / name).write_text(text.replace(right, wrong, 1), encoding="utf-8")
    told = pollinet("check", tmp_path / "plan.toml", "--language", "de")
    assert told.code == 2
    assert "zu berichtigen:" in told.err and "Fehler: " in told.err
    assert left_in_english(told.err) == []
    english = pollinet("check", tmp_path / "plan.toml").err
    assert left_in_english(english) != []
