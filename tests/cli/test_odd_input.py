"""What is odd on the line, in files and in the terminal: told in a sentence, never a traceback."""

from __future__ import annotations

import json
import os
import subprocess
import sys
from collections.abc import Callable
from pathlib import Path
from typing import Any

import pytest
from gardens import saved

from pollinet.files import MOST_BYTES

Run = Callable[..., Any]

PLAN = """
[site]
name = "a slope"
latitude = 46.4
longitude = 7.2
elevation_m = 420

[[tree]]
id = "cherry"
species = "sweet cherry"
[[tree.limb]]
id = "low"
variety = "Van"
grafted = 2019
[[tree.limb]]
id = "top"
variety = "Regina"
"""

VAN = '[[variety]]\nspecies = "sweet cherry"\nname = "Van"\n'


@pytest.fixture
def plan(tmp_path: Path) -> Path:
    return saved(tmp_path, PLAN)


def in_a_process(encoding: str, *words: str | Path) -> subprocess.CompletedProcess[bytes]:
    return subprocess.run(
        [sys.executable, "-m", "pollinet", *map(str, words)],
        capture_output=True,
        env={**os.environ, "PYTHONIOENCODING": encoding},
        check=False,
    )


def test_a_terminal_without_our_marks_has_others_and_no_mark_becomes_the_open_one(
    plan: Path,
) -> None:
    run = in_a_process("ascii", "check", plan)
    text = run.stdout.decode("ascii")
    assert run.returncode == 1, run.stderr
    assert "x  low" in text and "x  top" in text
    assert "* sure, ~ likely, ? open: hangs on something not known, x lacks a donor" in text


def test_json_is_the_same_whatever_the_output_holds(plan: Path) -> None:
    plain, whole = (in_a_process(kind, "check", plan, "--json") for kind in ("ascii", "utf-8"))
    assert json.loads(plain.stdout.decode("ascii")) == json.loads(whole.stdout)


@pytest.mark.skipif(not Path("/dev/zero").exists(), reason="no devices here")
@pytest.mark.parametrize("words", [["/dev/zero"], ["plan.toml", "--weather", "/dev/zero"]])
def test_a_device_without_end_is_no_file(
    pollinet: Run, plan: Path, words: list[str], monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.chdir(plan.parent)
    result = pollinet("check", *words)
    assert result.code == 2
    assert "a device or a pipe, not an ordinary file" in result.err


def test_a_file_without_measure_is_not_read(pollinet: Run, plan: Path) -> None:
    weather = plan.parent / "weather.csv"
    with weather.open("wb") as file:
        file.truncate(MOST_BYTES + 1)
    result = pollinet("check", plan, "--weather", weather)
    assert result.code == 2
    assert "the file is larger than 100 MB" in result.err


@pytest.mark.parametrize(
    ("right", "wrong", "told"),
    [
        ("420", "9" * 5000, "a number has thousands of digits"),
        ("420", "0x" + "f" * 4000, "a number that is far too large"),
        ("420", "[" * 3000, "nested too deeply"),
        ('"low"', '"all"', 'the id "all" stands for the whole garden in the log'),
    ],
    ids=["digits", "hexadecimal", "brackets", "reserved id"],
)
def test_odd_plans_are_told(pollinet: Run, plan: Path, right: str, wrong: str, told: str) -> None:
    plan.write_text(PLAN.replace(right, wrong, 1), encoding="utf-8")
    result = pollinet("check", plan)
    assert result.code == 2
    assert told in " ".join(result.err.split())
    assert len(result.err) < 600


@pytest.mark.parametrize(
    ("bloom", "code", "told"),
    [
        ("bloom_days = [1, 366]", 2, "bloom of more than 120 days"),
        ("bloom_days = [60, 200]", 2, "bloom of more than 120 days"),
        ('bloom = ["11-10", "11-20"]', 1, "is not in spring here"),
        ('bloom = ["12.05.", "20 May"]', 2, 'write it as "05-12" and "05-20"'),
        ('bloom = [2026-05-12, "05-20"]', 2, 'write it as "05-12" and "05-20"'),
        ('bloom = ["5/6", "05-20"]', 2, 'write it as "05-06" or "06-05" and "05-20"'),
        ('bloom = ["04-20", "04-31"]', 2, 'there is no day "04-31": the last day of that month'),
        ('bloom = ["soon", "04-30"]', 2, 'days are written as "04-10", month and day'),
        ('bloom = ["04-20"]', 2, "give the first and the last day of one spring"),
        ('bloom = ["04-20", "04-23", "04-30"]', 2, "several springs: a list of such pairs"),
        # Across New Year, as hazelnuts in mild places.
        ("bloom_days = [360, 20]", 1, ""),
    ],
)
def test_typed_bloom_must_be_one_spring(
    pollinet: Run, plan: Path, bloom: str, code: int, told: str
) -> None:
    plan.write_text(f"{PLAN}\n{VAN}{bloom}\n", encoding="utf-8")
    result = pollinet("check", plan)
    assert result.code == code
    assert told in " ".join(result.err.split())


@pytest.mark.parametrize("option", ["--date", "--year"])
def test_an_empty_date_is_not_today(pollinet: Run, plan: Path, option: str) -> None:
    result = pollinet("record", plan, "low", "--fruits", "20", option, "")
    assert result.code == 2
    assert f"{option} is empty" in result.err
    assert not (plan.parent / "records.csv").exists()


@pytest.mark.parametrize(
    ("day", "told"),
    [
        ("2025-11-12", "2025-11-12 is not in spring here"),
        ("2005-04-12", "noted of 2005, but the plan says: grafted in 2019"),
        ("2025-04-12", ""),
    ],
)
def test_a_doubtful_date_is_written_and_doubted(
    pollinet: Run, plan: Path, day: str, told: str
) -> None:
    result = pollinet("record", plan, "low", "--stage", "full", "--date", day)
    assert result.code == 0
    assert told in " ".join(result.err.split())
    assert bool(result.err) == bool(told)


def test_an_id_is_no_formula_of_a_spreadsheet(pollinet: Run, plan: Path) -> None:
    plan.write_text(PLAN.replace('"low"', '"=1+1"'), encoding="utf-8")
    out = plan.parent / "limbs.csv"
    pollinet("check", plan, "--csv", out)
    rows = out.read_text(encoding="utf-8").splitlines()
    assert rows[1].startswith("'=1+1,")
    assert ",-4." in rows[1], "numbers stay numbers"


def test_what_steers_a_terminal_is_shown_and_not_obeyed(pollinet: Run) -> None:
    result = pollinet("variety", "\x1b[31mRegina")
    assert result.code == 2
    assert "\x1b" not in result.err and r"\x1b[31mRegina" in result.err


def test_stopped_while_a_command_loads_it_ends_quietly(monkeypatch: pytest.MonkeyPatch) -> None:
    from pollinet import cli

    def stopped(name: str) -> Any:
        raise KeyboardInterrupt

    monkeypatch.setattr(cli, "load", stopped)
    assert cli.main(["check", "plan.toml"]) == 130


def test_a_neighbour_is_as_far_as_from_the_nearest_tree_of_its_fruit(
    pollinet: Run, plan: Path
) -> None:
    plum = '[[tree]]\nid = "plum"\nspecies = "European plum"\nposition_m = [20, 10]\n'
    plum += '[[tree.limb]]\nid = "p"\nvariety = "Victoria"\n'
    near = '[[neighbour]]\nspecies = "sweet cherry"\nvariety = "Kordia"\nposition_m = [30, 0]\n'
    placed = PLAN.replace('species = "sweet', 'position_m = [0, 0]\nspecies = "sweet', 1)
    plan.write_text(f"{placed}\n{plum}\n{near}may_be_felled = true\n", encoding="utf-8")
    # 30 m from the cherry; the plum, which its pollen is nothing to, is 14 m away.
    assert "neighbour-1 (Kordia, 30 m) may be felled" in " ".join(
        pollinet("check", plan).out.split()
    )


def test_a_table_that_just_fits_stays_a_table(pollinet: Run, plan: Path) -> None:
    text = PLAN.replace("sweet cherry", "apple").replace('"Van"', '"Rheinischer Winterrambur"')
    text = text.replace('"Regina"', '"Jonagold"')
    near = '[[neighbour]]\nspecies = "apple"\nvariety = "Cox\'s Orange Pippin"\ndistance_m = 71\n'
    plan.write_text(text + near, encoding="utf-8")
    out = pollinet("check", plan).out
    assert "Limb: low" not in out
    assert any("low" in line and "Rheinischer Winterrambur" in line for line in out.splitlines())


def test_refused_pollen_is_told_before_days_that_would_not_help(pollinet: Run, plan: Path) -> None:
    # Van and Regina share one S-genotype: no spring makes them partners.
    plan.write_text(f'{PLAN}\n{VAN}bloom = ["03-10", "03-18"]\n', encoding="utf-8")
    for words in (["check", plan], ["cover", plan]):
        out = " ".join(pollinet(*words).out.split())
        assert "same genotype S1S3" in out
        assert "days before the others" not in out
