"""Files are written whole or not at all, over nothing foreign, and by one edit at a time."""

from __future__ import annotations

import ast
import json
import os
import resource
import subprocess
import sys
from collections.abc import Callable
from pathlib import Path
from typing import Any

import pytest
from hypothesis import given
from hypothesis import strategies as st

import pollinet
from pollinet.errors import Busy
from pollinet.files import file_stems, locked, refusal, write_all, write_new

Run = Callable[..., Any]
PACKAGE = Path(pollinet.__file__).parent

OUTPUTS = (
    ("calendar", "--out", "x.svg"),
    ("calendar", "--out", "x.png"),
    ("calendar", "--out", "x.pdf"),
    ("graph", "--out", "x.csv"),
    ("graph", "--out", "x.json"),
    ("graph", "--out", "x.graphml"),
    ("report", "--out", "x.html"),
    ("report", "--out", "x.pdf"),
    ("labels", "--out", "x.pdf"),
    ("season", "--chart", "x.svg"),
    ("work", "--out", "x.ics"),
    ("check", "--csv", "x.csv"),
)


# --- over nothing foreign ----------------------------------------------------------------------


@pytest.mark.parametrize(("command", "option", "name"), OUTPUTS, ids=lambda word: word)
def test_only_a_file_of_the_same_purpose_is_replaced(
    command: str, option: str, name: str, garden: Path, pollinet: Run
) -> None:
    out = garden / name
    assert pollinet(command, "plan.toml", option, name).code in (0, 1)
    first = out.read_bytes()
    assert pollinet(command, "plan.toml", option, name).code in (0, 1)
    assert out.read_bytes() == first
    out.write_text("somebody's own\n")
    said = pollinet(command, "plan.toml", option, name)
    assert said.code == 2 and "not written over" in said.err
    assert out.read_text() == "somebody's own\n"
    out.unlink()
    target = garden / "elsewhere"
    target.write_bytes(first)
    out.symlink_to(target)
    said = pollinet(command, "plan.toml", option, name)
    assert said.code == 2 and "link" in said.err
    assert target.read_bytes() == first
    assert not [left for left in garden.iterdir() if left.name.endswith(".part")]


def test_a_picture_of_another_purpose_stays(garden: Path, pollinet: Run) -> None:
    assert pollinet("calendar", "plan.toml", "--out", "x.svg").code == 0
    before = (garden / "x.svg").read_bytes()
    assert pollinet("season", "plan.toml", "--chart", "x.svg").code == 2
    assert pollinet("report", "plan.toml", "--out", "x.pdf").code == 0
    assert pollinet("labels", "plan.toml", "--out", "x.pdf").code == 2
    assert (garden / "x.svg").read_bytes() == before


@pytest.mark.parametrize(
    ("words", "name", "content"),
    [
        (
            ("calendar", "--out"),
            "x.svg",
            "<svg><title>copy of Pollinet calendar</title><text>Pollinet calendar</text></svg>",
        ),
        (("season", "--chart"), "x.svg", "<svg><desc>Pollinet season, my drawing</desc></svg>"),
        (("calendar", "--out"), "x.pdf", "%PDF-1.4\n(Pollinet calendar)\n"),
        (("labels", "--out"), "x.pdf", "%PDF-1.4\n/Title (Pollinet labels)\n"),
        (
            ("report", "--out"),
            "x.html",
            '<title>x</title><pre><meta name="generator" content="Pollinet"></pre>',
        ),
        (("graph", "--out"), "x.json", '{"note": "like the Pollinet donor graph"}'),
        (("graph", "--out"), "x.graphml", "<graphml><!-- Pollinet donor graph --></graphml>"),
        (
            ("work", "--out"),
            "x.ics",
            "BEGIN:VCALENDAR\nPRODID:-//Mine//\nBEGIN:VEVENT\n"
            "DESCRIPTION:PRODID:-//Pollinet//\nEND:VEVENT\n",
        ),
    ],
    ids=lambda value: value[0] if isinstance(value, tuple) else "",
)
def test_a_file_that_only_speaks_of_ours_stays(
    words: tuple[str, str], name: str, content: str, garden: Path, pollinet: Run
) -> None:
    (garden / name).write_text(content, "utf-8")
    said = pollinet(words[0], "plan.toml", words[1], name)
    assert said.code == 2 and "not written over" in said.findings
    assert (garden / name).read_text("utf-8") == content


@pytest.mark.parametrize("name", ["records.csv", "Records.csv", "catalogues/x.csv", "weather.csv"])
def test_no_answer_goes_where_the_garden_keeps_its_own(
    name: str, garden: Path, pollinet: Run
) -> None:
    (garden / "catalogues").mkdir()
    kept = {file: file.read_bytes() for file in garden.rglob("*") if file.is_file()}
    for command, option in (("graph", "--out"), ("check", "--csv"), ("record", "--sheet")):
        said = pollinet(command, "plan.toml", option, name)
        assert said.code == 2, said.out
    assert {file: file.read_bytes() for file in garden.rglob("*") if file.is_file()} == kept


def test_trees_with_like_names_have_charts_of_their_own(garden: Path, pollinet: Run) -> None:
    plan = garden / "plan.toml"
    text = plan.read_text("utf-8")
    one = text.replace('id = "apple"', 'id = "../up"').replace('id = "cherry"', 'id = "..\\\\UP"')
    one = one.replace('id = "C-low"', 'id = "C-low-south"')
    assert one != text
    plan.write_text(one, "utf-8")
    before = set(garden.parent.rglob("*"))
    assert pollinet("chart", "plan.toml", "--out", "pictures", "tree").code == 0
    made = set(garden.parent.rglob("*")) - before
    assert all((garden / "pictures") in (file, *file.parents) for file in made)
    assert len({file.name.casefold() for file in made if file.is_file()}) == 2


@given(st.lists(st.text(max_size=200), max_size=8))
def test_names_of_files_are_safe_and_differ(ids: list[str]) -> None:
    stems = file_stems(ids)
    assert len({stem.casefold() for stem in stems}) == len(ids)
    for stem in stems:
        assert stem and not set(stem) & set('/\\:*?"<>|\0') and not stem.startswith(".")
        assert stem.lower() not in ("con", "nul", "aux", "prn") and len(stem) < 90


# --- whole or not at all -----------------------------------------------------------------------


def test_all_files_are_written_before_any_is_put_in_its_place(tmp_path: Path) -> None:
    one = tmp_path / "one"
    one.write_bytes(b"old")
    with pytest.raises(OSError) as raised:
        write_all({one: b"new", tmp_path / "missing" / "two": b"new"})
    assert one.read_bytes() == b"old"
    assert str(tmp_path / "missing") in str(raised.value.filename)
    assert [file.name for file in tmp_path.iterdir()] == ["one"]


def test_a_new_file_never_takes_a_place(tmp_path: Path) -> None:
    write_new(tmp_path / "one", b"first")
    with pytest.raises(FileExistsError):
        write_new(tmp_path / "one", b"second")
    assert (tmp_path / "one").read_bytes() == b"first"
    assert [file.name for file in tmp_path.iterdir()] == ["one"]


def test_new_files_get_the_rights_of_this_user_and_old_ones_keep_theirs(tmp_path: Path) -> None:
    before = os.umask(0o027)
    try:
        write_all({tmp_path / "one": b"x"})
        write_new(tmp_path / "two", b"x")
        (tmp_path / "three").write_bytes(b"old")
        (tmp_path / "three").chmod(0o604)
        write_all({tmp_path / "three": b"new"})
    finally:
        os.umask(before)
    rights = {file.name: file.stat().st_mode & 0o777 for file in tmp_path.iterdir()}
    assert rights == {"one": 0o640, "two": 0o640, "three": 0o604}


def test_a_new_file_where_files_have_one_name_only(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    def refused(*names: object) -> None:
        raise PermissionError(1, "Operation not permitted")

    monkeypatch.setattr(os, "link", refused)
    write_new(tmp_path / "one", b"first")
    with pytest.raises(FileExistsError) as raised:
        write_new(tmp_path / "one", b"second")
    assert raised.value.filename == str(tmp_path / "one")
    (tmp_path / "two").symlink_to(tmp_path / "nowhere")
    with pytest.raises(FileExistsError):
        write_new(tmp_path / "two", b"second")
    assert (tmp_path / "one").read_bytes() == b"first"
    assert sorted(file.name for file in tmp_path.iterdir()) == ["one", "two"]


def test_a_link_to_a_log_stays_a_link(garden: Path, pollinet: Run) -> None:
    kept = garden / "kept.csv"
    kept.write_text("date,limb,kind,value,unit,note\n", "utf-8")
    (garden / "records.csv").symlink_to(kept)
    assert pollinet("record", "plan.toml", "C-mid", "--fruits", 3, "--year", 2024).code == 0
    assert (garden / "records.csv").is_symlink()
    assert len(kept.read_text("utf-8").splitlines()) == 2


def test_a_device_and_a_pipe_are_no_place_for_an_answer(tmp_path: Path) -> None:
    os.mkfifo(tmp_path / "pipe.csv")
    for place in (tmp_path / "pipe.csv", Path("/dev/null")):
        found = refusal(place, b"x")
        assert found is not None and found.code == "not-a-file"


@pytest.mark.parametrize(
    "line",
    [
        ("plan", "add-scion", "plan.toml", "--species", "apple", "--variety", "Idared"),
        ("record", "plan.toml", "C-mid", "--fruits", "12", "--year", "2024"),
        ("variety", "add", "Old Pear", "--species", "pear", "--ploidy", "2"),
        ("graph", "plan.toml", "--out", "x.graphml"),
        ("report", "plan.toml", "--out", "x.html"),
    ],
    ids=lambda line: line[0],
)
def test_on_a_full_disk_nothing_half_written_stays(line: tuple[str, ...], garden: Path) -> None:
    # A limit on the size of files stands in for a disk that fills up: writing fails midway.
    log = garden / "records.csv"
    log.write_text("date,limb,kind,value,unit,note\n" + "2020,C-mid,fruits,1,,x\n" * 200, "utf-8")
    before = {file: file.read_bytes() for file in garden.rglob("*") if file.is_file()}
    aside = {"POLLINET_CACHE_DIR": str(garden / "no-cache"), "PYTHONDONTWRITEBYTECODE": "1"}
    run = subprocess.run(
        [sys.executable, "-m", "pollinet", *line],
        cwd=garden,
        capture_output=True,
        text=True,
        preexec_fn=lambda: resource.setrlimit(resource.RLIMIT_FSIZE, (1000, 1000)),
        env={**os.environ, **aside},
        check=False,
    )
    own = line[0] == "variety"  # its tables are small enough
    assert run.returncode == (0 if own else 2), run.stderr
    assert "Traceback" not in run.stderr
    if own:
        return
    assert "cannot be written" in run.stderr or "larger than is allowed" in run.stderr
    after = {
        file: file.read_bytes()
        for file in garden.rglob("*")
        if file.is_file() and "no-cache" not in file.parts
    }
    assert after == before


# --- one edit at a time ------------------------------------------------------------------------


def pairs(number: int) -> tuple[tuple[str, ...], ...]:
    limb = ("plan", "add-limb", "plan.toml", "--tree", "cherry", "--variety", "Sam", "--id")
    note = ("record", "plan.toml", "C-mid", "--year", "2024", "--note")
    own = ("variety", "add", "--species", "pear", "--ploidy", "2")
    return (
        (*limb, f"n{number}"),
        (*note, f"n{number}", "--fruits", str(10 + number)),
        (*own, "Old", "Pear", "Number", "".join(chr(65 + int(d)) * 3 for d in f"{number:02d}")),
    )


AT_ONCE = """
import json, multiprocessing, os, sys, tempfile
from pollinet.cli import COMMANDS, load, main

def edit(start, words, folder, said):
    os.environ["TMPDIR"], tempfile.tempdir = folder, None
    sys.stdout = sys.stderr = open(said, "w")
    start.wait()
    sys.exit(main(words))

if __name__ == "__main__":
    for name in COMMANDS:
        load(name)
    forked = multiprocessing.get_context("fork")
    for rows in json.load(sys.stdin):
        start = forked.Barrier(len(rows))
        runs = [forked.Process(target=edit, args=(start, *row)) for row in rows]
        for run in runs:
            run.start()
        for run, (_words, _folder, said) in zip(runs, rows):
            run.join(60)
            if run.exitcode != 0:
                sys.exit(f"{run.exitcode}: {open(said).read()}")
"""
"""Pairs of edits, each in a process of its own; the two begin in the very same moment."""


@pytest.mark.parametrize("kind", [0, 1, 2], ids=["plan add-limb", "record", "variety add"])
def test_of_edits_started_at_once_none_is_lost(kind: int, garden: Path) -> None:
    # Each of the two has a folder of its own for temporary files, as two sessions may have.
    plan = garden / "plan.toml"
    aside = [garden.parent / name for name in ("temporary-one", "temporary-two")]
    for folder in aside:
        folder.mkdir()
    text = plan.read_text("utf-8").replace("spare_limbs = 2", "spare_limbs = 60")
    plan.write_text(text, "utf-8")
    rows = [
        [
            (pairs(2 * pair + one)[kind], str(folder), str(folder / "said"))
            for one, folder in enumerate(aside)
        ]
        for pair in range(15)
    ]
    run = subprocess.run(
        [sys.executable, "-c", AT_ONCE],
        input=json.dumps(rows), cwd=garden, capture_output=True, text=True, timeout=300,
    )  # fmt: skip
    assert run.returncode == 0, run.stderr
    files = ("plan.toml", "records.csv", "catalogues/pear/facts.csv")
    lines = (garden / files[kind]).read_text("utf-8").splitlines()
    words = {
        0: [f'id = "n{n}"' for n in range(30)],
        1: [f",{10 + n}," for n in range(30)],
        2: ["".join(chr(65 + int(d)) * 3 for d in f"{n:02d}") for n in range(30)],
    }[kind]
    assert [word for word in words if not any(word in line for line in lines)] == []


def test_an_edit_that_does_not_end_is_told(tmp_path: Path) -> None:
    with locked(tmp_path):
        code = (
            "from pathlib import Path; from pollinet.files import locked\n"
            "from pollinet.errors import Busy\n"
            f"try:\n    locked(Path({str(tmp_path)!r}), 0.2).__enter__()\n"
            "except Busy as busy: print(busy.findings[0].code)"
        )
        run = subprocess.run(
            [sys.executable, "-c", code], capture_output=True, text=True, check=True
        )
    assert run.stdout.strip() == "busy"
    with locked(tmp_path, 0.2):
        pass
    assert issubclass(Busy, Exception) and list(tmp_path.iterdir()) == []


# --- one place that writes ---------------------------------------------------------------------

WRITERS = {"files.py", "readers/cache.py"}
"""Modules that may write: the one for all files, and one that keeps a cache of its own."""


def writes(tree: ast.AST) -> list[str]:
    """Calls by which a module would write a file itself."""
    found = []
    for node in ast.walk(tree):
        if not isinstance(node, ast.Call):
            continue
        name = (
            node.func.attr if isinstance(node.func, ast.Attribute) else getattr(node.func, "id", "")
        )
        words = [arg.value for arg in node.args if isinstance(arg, ast.Constant)]
        modes = [word for word in words if isinstance(word, str) and set(word) & set("wax+")]
        if name in ("write_text", "write_bytes", "mkstemp") or (
            name in ("open", "fdopen") and any(len(mode) < 4 for mode in modes)
        ):
            found.append(f"line {node.lineno}: {name}")
    return found


def test_one_module_writes_files() -> None:
    found = {
        path.relative_to(PACKAGE).as_posix(): told
        for path in sorted(PACKAGE.rglob("*.py"))
        if (told := writes(ast.parse(path.read_text("utf-8"))))
    }
    # Tables are tried in a temporary folder, standard output is opened by its number, and tables of
    # many places are written in parts into what `writing_whole` puts in place.
    trials = {"readers/own_tables.py", "cli/__init__.py", "region/tables.py"}
    assert set(found) - trials <= WRITERS, found
    assert "files.py" in found
