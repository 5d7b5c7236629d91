"""What a form of the page tells keeps to the same bounds as a plan and a log that are typed."""

from __future__ import annotations

from pathlib import Path

import pytest

from pollinet.findings import has_errors
from pollinet.page.entries import filled, known_of, place_of
from pollinet.readers.plan_table import checked

KNOWN = {"tree": [{"id": "old", "species": "apple", "limb": [{"id": "a", "variety": "Gala"}]}]}


@pytest.mark.parametrize(
    "values",
    [
        {"latitude": "nan"}, {"latitude": "91"}, {"latitude": "1e400"}, {"longitude": "-181"},
        {"longitude": "east"}, {"elevation_m": "8848"}, {"elevation_m": "-5000"},
        {"elevation_m": "inf"}, {"latitude": ""}, {"latitude": "=1+1"}, {"latitude": "9" * 5000},
    ],
    ids=str,
)  # fmt: skip
def test_an_odd_place_is_refused(values: dict[str, str]) -> None:
    sound = {"latitude": "46.4", "longitude": "7.2", "elevation_m": "420", "name": "a slope"}
    assert not has_errors(place_of(sound).findings)
    assert has_errors(place_of({**sound, **values}).findings)


@pytest.mark.parametrize(
    ("kind", "values"),
    [
        ("limb", {"grafted": "1e9"}), ("limb", {"grafted": "1500"}), ("limb", {"grafted": "x"}),
        ("tree", {"fruit": "apple", "spare": "-1"}), ("tree", {"fruit": "apple", "spare": "1e9"}),
        ("neighbour", {"fruit": "apple", "metres": "-3"}),
        ("neighbour", {"fruit": "apple", "metres": "nan"}),
        ("neighbour", {"fruit": "apple", "metres": ""}),
        ("limb", {"variety": "a\u202eb"}), ("limb", {"variety": "\x1b[31m"}),
        ("tree", {"fruit": "kiwi"}),
    ],
    ids=str,
)  # fmt: skip
def test_an_odd_entry_is_refused(kind: str, values: dict[str, str], tmp_path: Path) -> None:
    form = {"tree": "old", "variety": "Gala", **values}
    assert has_errors(filled(kind, form, known_of(KNOWN, tmp_path)).findings)


@pytest.mark.parametrize("id_", ["all\x07", "a\u202eb", "-x", "#x", "x" * 9999, "\x9b"])
def test_an_odd_id_is_refused_where_the_plan_is_made(id_: str, tmp_path: Path) -> None:
    told = filled("limb", {"tree": "old", "variety": "Gala", "id": id_}, known_of(KNOWN, tmp_path))
    assert told.entry is not None
    plan = {"tree": [{"id": "old", "species": "apple", "limb": [dict(told.entry)]}]}
    assert has_errors(checked(plan, "plan.toml")[1])
