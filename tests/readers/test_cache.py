"""What is kept on disk of the catalogue: never stale, never trusted from others, never needed."""

from __future__ import annotations

import os
import pickle
from collections.abc import Callable
from pathlib import Path

import pytest

from pollinet.readers import cache, catalogue
from pollinet.readers.catalogue import load_catalogue

HEADER = "variety,property,value,unit,context,source,status,note\n"


@pytest.fixture
def folder(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Path:
    place = tmp_path / "kept"
    monkeypatch.setenv(cache.VARIABLE, str(place))
    return place


@pytest.fixture
def readings(monkeypatch: pytest.MonkeyPatch) -> list[object]:
    """Grows with every reading of tables that was not spared."""
    seen: list[object] = []
    read = catalogue._read_catalogue

    def counted(*words: object) -> object:
        seen.append(words)
        return read(*words)  # type: ignore[arg-type]

    monkeypatch.setattr(catalogue, "_read_catalogue", counted)
    return seen


def files(folder: Path) -> list[Path]:
    return sorted((folder / "catalogue").iterdir())


def test_the_second_reading_is_spared_and_the_same(folder: Path, readings: list[object]) -> None:
    first, second = load_catalogue(["pear"]), load_catalogue(["pear"])
    assert first == second
    assert len(readings) == 1
    assert len(files(folder)) == 1
    assert load_catalogue(["quince", "pear"])[1] != ()
    assert len(readings) == 2


def test_an_own_table_of_the_same_size_and_time_is_read_anew(
    folder: Path, readings: list[object], tmp_path: Path
) -> None:
    own = tmp_path / "own" / "pear" / "facts.csv"
    own.parent.mkdir(parents=True)
    seen = []
    for ploidy in (2, 3, 2):
        own.write_text(f"{HEADER}Hedge Pear,ploidy,{ploidy},,,own,plan,\n", encoding="utf-8")
        os.utime(own, ns=(10**18, 10**18))
        found, _ = load_catalogue(["pear"], tmp_path / "own")
        seen.append({v.fertility.ploidy for v in found.varieties.values() if "Hedge" in v.id.name})
    assert len(readings) == 2
    assert seen == [{2}, {3}, {2}]


def test_kept_findings_can_be_said_in_german(folder: Path, tmp_path: Path) -> None:
    own = tmp_path / "own" / "pear" / "facts.csv"
    own.parent.mkdir(parents=True)
    own.write_text(f"{HEADER}Hedge Pear,ploidy,2,,,nowhere,plan,\n", encoding="utf-8")
    told = []
    for _ in range(2):
        (finding,) = load_catalogue(["pear"], tmp_path / "own")[1]
        told.append((finding.message, finding.message.pattern, finding.message.values))  # type: ignore[attr-defined]
    assert told[0] == told[1]


@pytest.mark.parametrize(
    "spoil",
    [
        lambda file: file.write_bytes(b""),
        lambda file: file.write_bytes(file.read_bytes()[:-1]),
        lambda file: file.write_bytes(pickle.dumps("a foreign result")),
        lambda file: file.chmod(0o666),
        lambda file: file.parent.chmod(0o777),
    ],
    ids=["empty", "cut", "foreign", "writable by all", "in a folder writable by all"],
)
def test_what_cannot_be_trusted_is_read_anew(
    folder: Path, readings: list[object], spoil: Callable[[Path], object]
) -> None:
    first = load_catalogue(["pear"])
    (file,) = files(folder)
    spoil(file)
    assert load_catalogue(["pear"]) == first
    assert len(readings) == 2


def test_it_works_where_nothing_can_be_kept(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch, readings: list[object]
) -> None:
    (tmp_path / "file").write_text("no folder")
    for named in (str(tmp_path / "file"), ""):
        monkeypatch.setenv(cache.VARIABLE, named)
        assert load_catalogue(["pear"]) == load_catalogue(["pear"])
    assert len(readings) == 4
    assert (tmp_path / "file").read_text() == "no folder"


def test_only_the_latest_are_kept(folder: Path) -> None:
    for number in range(cache.MOST_FILES + 3):
        assert cache.kept("numbers", [b"%d" % number], lambda n=number: n) == number
    assert len(list((folder / "numbers").iterdir())) == cache.MOST_FILES


def test_a_changed_program_reads_anew(folder: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    assert cache.kept("word", [b"same"], lambda: "old") == "old"
    assert cache.kept("word", [b"same"], lambda: "new") == "old"
    monkeypatch.setattr(cache, "_program", lambda: b"another")
    assert cache.kept("word", [b"same"], lambda: "new") == "new"
