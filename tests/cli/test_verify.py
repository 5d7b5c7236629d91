"""An answer tells what it was made of, and is asked again."""

from __future__ import annotations

import hashlib
import json
from collections.abc import Callable
from importlib.metadata import version
from pathlib import Path
from typing import Any

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from pollinet.answers.made_of import COMMANDS, MOST_DIFFERENCES, differences

Run = Callable[..., Any]

QUESTIONS: dict[str, tuple[str, ...]] = {
    "balance": (),
    "check": ("--warmer", "1.5"),
    "chill": (),
    "collection": ("--from", "catalogue"),
    "cover": ("--must", "Sam", "--never", "Kordia", "--level", "0.7", "--trade-off"),
    "diagnose": ("C-mid", "--year", "2024"),
    "donors": ("C-mid",),
    "fit": (),
    "graph": (),
    "lost-label": ("A-top", "--picked", "09-20", "--bare-with", "Gala"),
    "pollinizer": ("--tree", "cherry"),
    "report": ("--out", "report.html", "--language", "de"),
    "scions": (),
    "season": ("--max", "1"),
    "suits": ("Kordia", "Van", "--species", "sweet cherry"),
    "triploids": (),
    "weather": (),
    "without": ("neighbour-1", "A-top"),
    "work": ("--from", "2026-01-01"),
}


def asked(pollinet: Run, *words: str, into: str = "answer.json") -> Any:
    """An answer, kept in a file as a shell would keep it."""
    said = pollinet(*words, "--json")
    assert said.code in (0, 1), said.out
    Path(into).write_text(said.out, "utf-8")
    return said.data


def test_every_question_has_its_line() -> None:
    assert set(QUESTIONS) == set(COMMANDS)


@pytest.mark.parametrize("command", QUESTIONS)
def test_a_question_is_asked_again_with_its_options(
    command: str, garden: Path, pollinet: Run
) -> None:
    place = "." if command == "collection" else "plan.toml"
    data = asked(pollinet, command, place, *QUESTIONS[command])
    made = data["made_of"]
    assert list(data)[-1] == "made_of" and made["command"] == command
    wanted = [word for word in QUESTIONS[command] if word not in ("--out", "report.html")]
    assert sorted(made["options"]) == sorted(wanted)
    before = {file: file.read_bytes() for file in garden.rglob("*") if file.is_file()}
    said = pollinet("verify", "answer.json", "--json")
    assert said.code == 0 and said.data["same"], said.out
    assert {file: file.read_bytes() for file in garden.rglob("*") if file.is_file()} == before
    assert str(garden) not in Path("answer.json").read_text("utf-8")


def test_inputs_and_versions_are_told_as_they_are(garden: Path, pollinet: Run) -> None:
    note = ("record", "plan.toml", "C-mid", "--fruits", "3", "--year", "2024")
    own = ("variety", "add", "Grove Cherry", "--species", "sweet cherry", "--ploidy", "2")
    assert pollinet(*note).code == 0 and pollinet(*own).code == 0
    made = asked(pollinet, "check", "plan.toml")["made_of"]
    # Independent: hashlib on the files as they stand, and the installed packages' own metadata.
    told = {one["file"]: one["sha256"] for one in made["inputs"]}
    files = ["plan.toml", "records.csv", "weather.csv"]
    files += [
        file.relative_to(garden).as_posix()
        for file in sorted((garden / "catalogues").rglob("*.csv"))
    ]
    assert list(told) == files
    for name, digest in told.items():
        assert hashlib.sha256((garden / name).read_bytes()).hexdigest() == digest
    assert made["versions"] == {name: version(name) for name in ("pollinet", "numpy", "scipy")}
    assert made["seed"] == 1 and len(made["catalogue_sha256"]) == 64


CHANGES: dict[str, tuple[Callable[[Path], object], str]] = {
    "plan": (
        lambda g: swapped(g / "plan.toml", 'variety = "Garnet"', 'variety = "Kordia"'),
        "plan",
    ),
    "log": (
        lambda g: (g / "records.csv").write_text(
            "date,limb,kind,value,unit,note\n2024-04-20,C-mid,stage,full,,\n", "utf-8"
        ),
        "log",
    ),
    "weather": (
        lambda g: swapped(g / "weather.csv", "1996-04-0", "1996-04-0", warmer=True),
        "weather",
    ),
}


def swapped(file: Path, old: str, new: str, *, warmer: bool = False) -> None:
    text = file.read_text("utf-8")
    if warmer:
        rows = [line.split(",") for line in text.splitlines()]
        text = "\n".join(
            ",".join([row[0], row[1], f"{float(row[2]) + 9:.2f}", *row[3:]])
            if row[0].startswith("2003-03-1")
            else ",".join(row)
            for row in rows
        )
    else:
        assert old in text
        text = text.replace(old, new, 1)
    file.write_text(text + "\n" * warmer, "utf-8")


@pytest.mark.parametrize("name", CHANGES)
def test_what_changed_is_told(name: str, garden: Path, pollinet: Run) -> None:
    then = asked(pollinet, "check", "plan.toml")
    change, what = CHANGES[name]
    change(garden)
    said = pollinet("verify", "answer.json", "--json")
    assert said.code == 1, said.out
    assert [one["what"] for one in said.data["inputs"]] == [what]
    now = pollinet("check", "plan.toml", "--json").data
    assert said.data["differing_values"] > 0
    assert len(said.data["values"]) <= MOST_DIFFERENCES
    for one in said.data["values"]:
        # Each path leads to the values that it tells, in both answers.
        for tree, told in ((then, one["then"]), (now, one["now"])):
            assert (
                told == "" or json.dumps(follow(tree, one["what"]), ensure_ascii=False)[:50] in told
            )
    text = pollinet("verify", "answer.json", "--language", "de")
    assert text.code == 1 and text.out.startswith("Nicht dasselbe. Anders: ")
    assert len([line for line in text.out.splitlines() if line.startswith("- ")]) <= 25


def follow(tree: Any, path: str) -> Any:
    """The value at a path such as `limbs[C-mid].donors[0].id`."""
    for step in path.replace("[", ".[").split("."):
        if step.startswith("["):
            name = step[1:-1]
            named = [one for one in tree if isinstance(one, dict) and one.get("id") == name]
            tree = named[0] if named else tree[int(name)]
        elif step:
            tree = tree[step]
    return tree


def test_a_remark_in_the_plan_changes_an_input_and_no_value(garden: Path, pollinet: Run) -> None:
    asked(pollinet, "check", "plan.toml")
    with (garden / "plan.toml").open("a", encoding="utf-8") as plan:
        plan.write("# a remark\n")
    said = pollinet("verify", "answer.json")
    assert said.code == 1 and "every value is as it was" in said.out and "the plan: " in said.out


def test_other_versions_are_told_and_alone_make_no_difference(garden: Path, pollinet: Run) -> None:
    data = asked(pollinet, "check", "plan.toml")
    data["made_of"]["versions"]["numpy"] = "1.0.0"
    Path("answer.json").write_text(json.dumps(data), "utf-8")
    said = pollinet("verify", "answer.json")
    assert said.code == 0 and "version of numpy: 1.0.0 → " in said.out


def test_a_value_that_somebody_changed_is_found(garden: Path, pollinet: Run) -> None:
    data = asked(pollinet, "check", "plan.toml")
    data["limbs"][2]["variety"] = "Another"
    data["made_of"]["catalogue_sha256"] = "0" * 64
    Path("answer.json").write_text(json.dumps(data), "utf-8")
    said = pollinet("verify", "answer.json")
    name = data["limbs"][2]["id"]
    assert said.code == 1 and f'limbs[{name}].variety: "Another" → ' in said.out
    assert "the shipped catalogue: 000000000000 → " in said.out


def test_a_plan_that_moved_is_found_or_pointed_at(
    garden: Path, pollinet: Run, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.chdir(garden.parent)
    asked(pollinet, "check", "garden/plan.toml", into="garden/answer.json")
    assert pollinet("verify", "garden/answer.json").code == 0
    monkeypatch.chdir(garden)
    assert pollinet("verify", "answer.json").code == 0, "the plan beside the answer"
    garden.rename(garden.parent / "moved")
    monkeypatch.chdir(garden.parent)
    answer = Path("answer.json")
    (garden.parent / "moved" / "answer.json").rename(answer)
    said = pollinet("verify", "answer.json")
    assert said.code == 2 and "there is no such plan" in said.err
    assert pollinet("verify", "answer.json", "--plan", "moved/plan.toml").code == 0


def test_a_weather_file_given_in_place_of_the_plans_own(garden: Path, pollinet: Run) -> None:
    other = garden.parent / "other"
    other.mkdir()
    (garden / "weather.csv").rename(other / "record.csv")
    data = asked(pollinet, "chill", "plan.toml", "--weather", "../other/record.csv")
    assert data["made_of"]["inputs"][-1]["file"] == "../other/record.csv"
    assert pollinet("verify", "answer.json").code == 0
    (other / "record.csv").rename(garden / "record.csv")
    assert pollinet("verify", "answer.json").code == 0, "beside the answer"


def broken(data: dict[str, Any], **more: Any) -> str:
    return json.dumps(data | more)


@pytest.mark.parametrize(
    ("content", "code"),
    [
        ("", "not-an-answer"),
        ("[]", "not-an-answer"),
        ('{"schema": 3}', "not-an-answer"),
        ('{"schema": "pollinet/check"}', "not-an-answer"),
        ("[" * 30000, "not-an-answer"),
        ('{"schema": "pollinet/check/2"}', "newer-version"),
        ('{"schema": "pollinet/check/' + "9" * 9000 + '"}', "newer-version"),
        ('{"schema": "pollinet/of-tomorrow/1"}', "newer-version"),
        ('{"schema": "pollinet/check/1"}', "nothing-to-verify"),
        ('{"schema": "pollinet/check/1", "made_of": {}}', "changed-answer"),
        ('{"schema": "pollinet/check/1", "made_of": 3}', "changed-answer"),
    ],
    ids=lambda value: str(value)[:40],
)
def test_what_is_no_answer_of_ours_is_bad_input(
    content: str, code: str, tmp_path: Path, pollinet: Run
) -> None:
    file = tmp_path / "answer.json"
    file.write_text(content, "utf-8")
    said = pollinet("verify", file, "--json")
    assert said.code == 2 and said.data["findings"][0]["code"] == code


def test_an_answer_of_a_newer_version_is_bad_input(garden: Path, pollinet: Run) -> None:
    data = asked(pollinet, "check", "plan.toml")
    data["made_of"]["versions"]["pollinet"] = "99.0"
    Path("answer.json").write_text(json.dumps(data), "utf-8")
    said = pollinet("verify", "answer.json")
    assert said.code == 2 and "newer version" in said.err


@pytest.mark.parametrize(
    ("command", "options"),
    [
        ("record", ["C-mid", "--fruits", "9", "--year", "2024"]),
        ("plan", ["remove-limb"]),
        ("check", ["--csv", "made.csv"]),
        ("graph", ["--out", "made.csv"]),
        ("season", ["--chart", "made.svg"]),
        ("work", ["--out", "made.ics"]),
        ("check", ["--help"]),
        ("check", ["--no-such"]),
        ("cover", ["--level", "7"]),
        ("report", ["--out", "made.html"]),
    ],
)
def test_an_answer_of_somebody_else_can_write_nothing(
    command: str, options: list[str], garden: Path, pollinet: Run
) -> None:
    data = asked(pollinet, "check", "plan.toml")
    Path("answer.json").write_text(
        json.dumps(data | {"made_of": {**data["made_of"], "command": command, "options": options}})
    )
    before = {file: file.read_bytes() for file in garden.rglob("*") if file.is_file()}
    said = pollinet("verify", "answer.json")
    # What writes a file beside its answer is asked for the answer alone.
    assert said.code in (0, 1, 2) and "Traceback" not in said.err
    assert {file: file.read_bytes() for file in garden.rglob("*") if file.is_file()} == before


def test_the_report_tells_on_paper_what_it_was_made_from(garden: Path, pollinet: Run) -> None:
    data = asked(pollinet, "report", "plan.toml", "--out", "report.html")
    text = Path("report.html").read_text("utf-8")
    for one in data["made_of"]["inputs"]:
        assert f"{one['file']} {one['sha256'][:12]}" in text
    assert data["made_of"]["catalogue_sha256"][:12] in text
    assert data["sha256"] == hashlib.sha256(Path("report.html").read_bytes()).hexdigest()


TREES = st.recursive(
    st.none() | st.booleans() | st.integers() | st.floats(allow_nan=False) | st.text(max_size=5),
    lambda inner: (
        st.lists(inner, max_size=4) | st.dictionaries(st.text(max_size=3), inner, max_size=4)
    ),
    max_leaves=12,
)


@settings(max_examples=200, deadline=None)
@given(then=TREES, now=TREES)
def test_trees_differ_where_json_says_so(then: Any, now: Any) -> None:
    # Independent: the texts of both, whose keys are sorted.
    same = json.dumps(then, sort_keys=True) == json.dumps(now, sort_keys=True)
    assert (list(differences(then, now)) == []) == same
    assert list(differences(then, json.loads(json.dumps(then)))) == []
