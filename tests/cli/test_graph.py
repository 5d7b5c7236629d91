"""`pollinet graph`: the donor graph for other programs."""

from __future__ import annotations

import csv
import json
from collections.abc import Callable
from pathlib import Path
from typing import Any
from xml.etree import ElementTree

import networkx as nx
import pytest
from gardens import O8, neighbour, written

Run = Callable[..., Any]

GRAPHML = "{http://graphml.graphdrawing.org/xmlns}"

# Worked by hand (O8 with the neighbour's tree): only N serves, for 10, 10 and 4 days.
EDGES = {("N", "A"): 10, ("N", "B"): 10, ("N", "C"): 4}


@pytest.fixture
def o8(tmp_path: Path) -> Path:
    return written(tmp_path, *O8, neighbour("N", 14))


def test_graphml_is_well_formed_and_complete(o8: Path, tmp_path: Path, pollinet: Run) -> None:
    out = tmp_path / "garden.graphml"
    assert pollinet("graph", o8, "--out", out).code == 0
    root = ElementTree.parse(out).getroot()
    assert root.tag == f"{GRAPHML}graphml"
    nodes = [node.get("id") for node in root.iter(f"{GRAPHML}node")]
    assert nodes == ["A", "B", "C", "N"]
    keys = {key.get("id"): key.get("attr.name") for key in root.iter(f"{GRAPHML}key")}
    days = {}
    for edge in root.iter(f"{GRAPHML}edge"):
        data = {keys[d.get("key")]: d.text for d in edge.iter(f"{GRAPHML}data")}
        days[edge.get("source"), edge.get("target")] = float(data["overlap_days"] or "nan")
    assert days == EDGES


def test_json_opens_as_node_link(o8: Path, tmp_path: Path, pollinet: Run) -> None:
    out = tmp_path / "garden.json"
    assert pollinet("graph", o8, "--out", out).code == 0
    written_graph = json.loads(out.read_text(encoding="utf-8"))
    graph = nx.node_link_graph(written_graph, edges="edges")
    assert {e: graph.edges[e]["overlap_days"] for e in graph.edges} == EDGES
    assert pollinet("graph", o8, "--json").data["graph"] == written_graph


def test_csv_has_receivers_in_rows_and_donors_in_columns(
    o8: Path, tmp_path: Path, pollinet: Run
) -> None:
    out = tmp_path / "garden.csv"
    assert pollinet("graph", o8, "--out", out, "--value", "effective_days").code == 0
    with out.open(encoding="utf-8", newline="") as file:
        rows = list(csv.DictReader(file))
    assert [row["receiver"] for row in rows] == ["A", "B", "C"]
    assert [row["N"] for row in rows] == ["10", "10", "4"]
    assert {row[d] for row in rows for d in "ABC"} == {""}


def test_without_a_file_the_edges_are_printed(o8: Path, pollinet: Run) -> None:
    answer = pollinet("graph", o8)
    assert answer.out.startswith("3 edges from donor to receiver among 4 limbs and trees.")
    assert max(map(len, answer.out.splitlines())) <= 100


def test_what_a_strength_means_is_said(o8: Path, pollinet: Run) -> None:
    table, _blank, said = pollinet("graph", o8).out.partition("\n\nStrength tells")
    words = {word for line in table.splitlines() for word in line.split()[-1:]} & {
        "strong",
        "weak",
        "rare",
    }
    assert words
    for word in ("strong", "weak", "rare"):
        assert (f"{word}: with" in " ".join(said.split())) == (word in words)
    assert "Effective: the days" in " ".join(said.split())


def test_rows_are_the_edges(o8: Path, tmp_path: Path, pollinet: Run) -> None:
    table = tmp_path / "edges.csv"
    assert pollinet("graph", o8, "--csv", table).code == 0
    with table.open(encoding="utf-8", newline="") as file:
        rows = list(csv.DictReader(file))
    assert {(row["source"], row["target"]): float(row["overlap_days"]) for row in rows} == EDGES
    assert list(rows[0])[:2] == ["source", "target"]


def test_wrong_places_are_told_before_any_work(o8: Path, tmp_path: Path, pollinet: Run) -> None:
    wrong = pollinet("graph", o8, "--out", tmp_path / "garden.xlsx")
    assert wrong.code == 2
    assert ".graphml" in wrong.err
    nowhere = pollinet("graph", o8, "--out", tmp_path / "no" / "garden.csv", "--json")
    assert nowhere.code == 2
    assert nowhere.data["findings"][0]["code"] == "missing-folder"
    assert not list(tmp_path.glob("*.part"))
