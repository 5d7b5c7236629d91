"""Mistakes as people make them: exit code 2, one clear finding, no traceback, nothing written."""

from __future__ import annotations

import json
import re
from collections.abc import Callable
from pathlib import Path
from typing import Any

import numpy as np
import pytest
from gardens import saved

Run = Callable[..., Any]

PLAN = """
[site]
name = "a slope"
latitude = 46.4
weather = "weather.csv"

[[tree]]
id = "cherry"
species = "sweet cherry"
spare_limbs = 1
[[tree.limb]]
id = "low"
variety = "Van"
[[tree.limb]]
id = "top"
variety = "Regina"
"""


def record(low: float = -3.0, high: float = 5.0, years: int = 7, scale: float = 1.0) -> list[str]:
    """A smooth made-up record in the house format, from 1 January 2001 on."""
    days = np.arange("2001-01-01", f"{2001 + years}-01-01", dtype="datetime64[D]")
    turn = 10 - 10 * np.cos(2 * np.pi * (np.arange(days.size) % 365.25 - 15) / 365.25)
    offset = 32 if scale > 1 else 0
    rows = [
        f"{day},{(low + t) * scale + offset:.1f},{(high + t) * scale + offset:.1f}"
        for day, t in zip(days, turn, strict=True)
    ]
    return ["date,tmin_c,tmax_c", *rows]


@pytest.fixture
def garden(tmp_path: Path) -> Path:
    (tmp_path / "weather.csv").write_text("\n".join(record()) + "\n", encoding="utf-8")
    return saved(tmp_path, PLAN)


def rewrite(plan: Path, right: str, wrong: str) -> None:
    text = plan.read_text(encoding="utf-8")
    assert right in text
    plan.write_text(text.replace(right, wrong, 1), encoding="utf-8")


def rewrite_weather(plan: Path, lines: list[str]) -> None:
    (plan.parent / "weather.csv").write_text("\n".join(lines) + "\n", encoding="utf-8")


def break_toml(plan: Path) -> None:
    rewrite(plan, 'id = "cherry"', 'id = "cherry')


def unknown_variety(plan: Path) -> None:
    rewrite(plan, '"Regina"', '"Reginna"')


def fahrenheit(plan: Path) -> None:
    rewrite_weather(plan, record(scale=1.8))


def crossed(plan: Path) -> None:
    rewrite_weather(plan, record(low=5, high=-3))


def missing_days(plan: Path) -> None:
    lines = record()
    rewrite_weather(plan, [lines[0], *lines[1::4]])


def unknown_genotype(plan: Path) -> None:
    text = '\n[[variety]]\nspecies = "sweet cherry"\nname = "Own"\ns_genotype = "QQ7"\n'
    plan.write_text(plan.read_text(encoding="utf-8") + text, encoding="utf-8")


def limb_twice(plan: Path) -> None:
    rewrite(plan, 'id = "top"', 'id = "low"')


def empty_tree(plan: Path) -> None:
    text = '\n[[tree]]\nid = "bare"\nspecies = "apple"\n'
    plan.write_text(plan.read_text(encoding="utf-8") + text, encoding="utf-8")


def no_weather_file(plan: Path) -> None:
    (plan.parent / "weather.csv").unlink()


def missing_plan(plan: Path) -> None:
    plan.unlink()


MISTAKES = {
    missing_plan: ("missing-file", "plan.toml"),
    no_weather_file: ("missing-file", "weather.csv"),
    break_toml: ("broken-toml", "line"),
    unknown_variety: ("unknown-variety", "Regina"),
    fahrenheit: ("wrong-unit", "weather.csv"),
    crossed: ("tmin-above-tmax", "weather.csv"),
    missing_days: ("", "weather"),
    unknown_genotype: ("unknown-genotype", "QQ7"),
    limb_twice: ("repeated-id", "low"),
    empty_tree: ("empty-tree", "bare"),
}


@pytest.mark.parametrize("command", ["check", "cover"])
@pytest.mark.parametrize("mistake", MISTAKES, ids=lambda mistake: mistake.__name__)
def test_a_mistake_ends_with_one_clear_finding(
    mistake: Callable[[Path], None], command: str, garden: Path, pollinet: Run
) -> None:
    code, words = MISTAKES[mistake]
    mistake(garden)
    before = sorted(garden.parent.iterdir())
    answer = pollinet(command, garden)
    assert answer.code == 2
    assert answer.out == ""
    assert "Traceback" not in answer.err
    assert answer.err.count("error: ") == 1
    assert words in answer.err
    assert "→" in answer.err or code in ("broken-toml",)
    data = pollinet(command, garden, "--json").data
    errors = [finding for finding in data["findings"] if finding["severity"] == "error"]
    assert len(errors) == 1
    if code:
        assert errors[0]["code"] == code
    assert data["answer"] is None
    assert sorted(garden.parent.iterdir()) == before


def test_the_same_garden_without_mistakes_is_answered(garden: Path, pollinet: Run) -> None:
    assert pollinet("check", garden).code in (0, 1)


@pytest.mark.parametrize("name", ["out.gif", "out", "no/such/folder/out.svg"])
def test_a_picture_that_cannot_be_written(name: str, garden: Path, pollinet: Run) -> None:
    answer = pollinet("calendar", garden, "--out", garden.parent / name)
    assert answer.code == 2
    assert answer.err.count("error: ") == 1
    assert not (garden.parent / name).exists()


def test_an_unknown_command_and_option(pollinet: Run, garden: Path) -> None:
    answer = pollinet("chekc", garden)
    assert (answer.code, answer.out) == (2, "")
    assert "pollinet check" in answer.err
    assert pollinet("check", garden, "--jsn").code == 2
    assert pollinet("check").code == 2


def test_a_plan_without_weather_names_what_is_missing(garden: Path, pollinet: Run) -> None:
    rewrite(garden, 'weather = "weather.csv"', "")
    answer = pollinet("check", garden)
    assert answer.code == 2
    assert "Van" in answer.err
    assert "Regina" in answer.err


def test_a_changed_demo_is_not_written_over(tmp_path: Path, pollinet: Run) -> None:
    assert pollinet("demo", "--out", tmp_path / "demo").code == 0
    assert pollinet("demo", "--out", tmp_path / "demo").code == 0
    plan = tmp_path / "demo" / "plan.toml"
    plan.write_text("# mine now\n", encoding="utf-8")
    answer = pollinet("demo", "--out", tmp_path / "demo")
    assert answer.code == 2
    assert plan.read_text(encoding="utf-8") == "# mine now\n"


ODD_OPTIONS = [
    ("cover", "--level", "nan"),
    ("cover", "--min-overlap", "nan"),
    ("cover", "--time-limit", "nan"),
    ("cover", "--time-limit", "inf"),
    ("check", "--warmer", "nan"),
    ("work", "--from", "9999-12-31"),
    ("work", "--from", "0001-01-01"),
    ("diagnose", "low", "--year", "1"),
    ("diagnose", "low", "--year", "99999"),
]


@pytest.mark.parametrize("words", ODD_OPTIONS, ids=" ".join)
def test_an_odd_value_of_an_option_is_refused(
    words: tuple[str, ...], garden: Path, pollinet: Run
) -> None:
    command, *options = words
    answer = pollinet(command, garden, *options)
    assert (answer.code, answer.out) == (2, "")
    assert options[-2] in answer.err


UNWRITABLE = [("demo", "--out", "FILE/x"), ("report", "PLAN", "--out", "LOOP/x.html")]


@pytest.mark.parametrize("words", UNWRITABLE, ids=" ".join)
def test_what_cannot_be_written_is_a_finding(
    words: tuple[str, ...], garden: Path, pollinet: Run
) -> None:
    # A file stands where a folder is needed; a folder stands where the file should go.
    (garden.parent / "LOOP" / "x.html").mkdir(parents=True)
    places = {
        "PLAN": str(garden),
        "FILE/x": f"{garden}/x",
        "LOOP/x.html": f"{garden.parent}/LOOP/x.html",
    }
    answer = pollinet(*(places.get(word, word) for word in words))
    assert answer.code == 2
    assert answer.err.count("error: ") == 1
    assert "cannot be written" in answer.findings
    assert "Traceback" not in answer.err


def test_a_defect_never_passes_for_an_answer(
    garden: Path, pollinet: Run, monkeypatch: pytest.MonkeyPatch
) -> None:
    def defect(name: str) -> Any:
        raise RuntimeError(name)

    monkeypatch.setattr("pollinet.cli.load", defect)
    answer = pollinet("check", garden)
    assert answer.code not in (0, 1, 2)
    assert "Traceback" in answer.err


def test_a_variety_cannot_be_wanted_and_refused(tmp_path: Path, pollinet: Run) -> None:
    assert pollinet("demo", "--out", tmp_path).code == 0
    answer = pollinet("cover", tmp_path / "plan.toml", "--must", "Sam", "--never", "Sam")
    assert answer.code == 2
    assert answer.err.count("error: ") == 1


def test_findings_are_no_wider_than_a_page(garden: Path, pollinet: Run) -> None:
    rewrite(garden, 'variety = "Van"', 'variety = "Van"\ncolour = "red"')
    rewrite(garden, 'variety = "Regina"', 'variety = "no variety that anybody has ever heard of"')
    err = pollinet("check", garden).err
    assert max(map(len, err.splitlines())) <= 100
    assert any(line[:2] == "  " != line[2:4] for line in err.splitlines())  # later lines hang
    # What a program reads is whole.
    (first, *_) = pollinet("check", garden, "--json").data["findings"]
    assert "\n" not in first["message"] + first["cure"]


def test_the_name_of_a_file_is_not_broken(garden: Path, pollinet: Run) -> None:
    folder = garden.parent / "a folder with a long name of many words" / ("and another " * 5)
    told = pollinet("check", folder / "my own plan.toml").err
    assert str(folder / "my own plan.toml") in told


def test_different_numbers_of_springs_are_named(tmp_path: Path, pollinet: Run) -> None:
    own = '[[variety]]\nspecies = "sweet cherry"\nname = "{}"\nbloom_days = {}\n'
    plan = tmp_path / "plan.toml"
    typed = (
        own.format("Van", "[[100, 110], [98, 107]]"),
        own.format("Regina", "[[105, 115], [103, 112], [106, 113]]"),
    )
    plan.write_text(PLAN.replace('weather = "weather.csv"', "") + "".join(typed), encoding="utf-8")
    answer = pollinet("check", plan)
    assert answer.code == 2
    assert "Regina 3 springs, Van 2 springs" in answer.findings


def test_help_tells_every_exit_code(pollinet: Run) -> None:
    told = pollinet("--help").out
    named = {int(number) for number in re.findall(r"\b\d+\b", told.partition("Exit codes")[2])}
    assert named == {0, 1, 2, 70, 130, 141}


def test_what_is_wrong_at_many_places_is_told_once(garden: Path, pollinet: Run) -> None:
    limbs = "".join(f'[[tree.limb]]\nid = "l{n}"\nvariety = "Vann"\n' for n in range(1, 7))
    garden.write_text(PLAN.replace('"Regina"', '"Reggina"') + limbs, encoding="utf-8")
    result = pollinet("check", garden)
    assert result.code == 2
    said = " ".join(result.err.split())
    assert said.count("'Vann' is no variety") == said.count("'Reggina' is no variety") == 1
    assert "limb \"l1\", variety: 'Vann'" in said
    assert (
        'also: tree "cherry", limb "l2", variety; tree "cherry", limb "l3", variety; '
        "and at 3 more places → Nearest: "
    ) in said
    # A program gets each of them.
    found = json.loads(pollinet("check", garden, "--json").out)["findings"]
    assert len(found) == 7
