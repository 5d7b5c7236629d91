"""Measure the exact cover against its rivals on large and on hard gardens, all with the same time.

    python tests/benchmarks/measure_covers.py

Makes `covers.csv` anew (some thirty minutes). Every method has each garden in a process of its
own, so that its memory is its own; seconds and memory are those of the search, not of making the
garden. All stop by the same clock on the wall after `LIMIT_S`; the seconds that are told are the
processor's. The rivals need the whole model, so that they are asked up to `MOST_BITS` alone.
"""

from __future__ import annotations

import csv
import resource
from collections.abc import Callable
from itertools import product
from multiprocessing import get_context
from multiprocessing.connection import Connection
from pathlib import Path
from statistics import median
from time import monotonic, process_time

import test_hard_covers as hard
from test_cover_speed import free

from pollinet.domain import NetworkInput
from pollinet.network.cover import is_cover, smallest_cover

LIMIT_S = 10.0
MOST_BITS = 30_000_000
CANDIDATES, LIMBS, SCENARIOS = (100, 300, 1000, 3000), (8, 40, 200), (480, 1620)
COLUMNS = ("garden", "candidates", "limbs", "scenarios", "method", "seconds", "peak_mb", "size",
           "bound", "proven")  # fmt: skip
OWN = "exact"


def gardens() -> dict[str, Callable[[], NetworkInput]]:
    """The orchards of all sizes, then the hard ones."""
    found: dict[str, Callable[[], NetworkInput]] = {}
    for limbs, candidates, scenarios in product(LIMBS, CANDIDATES, SCENARIOS):
        size = limbs, candidates, scenarios, 8.0
        found[f"{candidates:,} candidates, {limbs} limbs, {scenarios:,} scenarios"] = (
            lambda size=size: hard.orchard_of(*size)
        )
    others = {name: make for name, make in hard.GARDENS.items() if "limbs" not in name}
    return found | others


def exact(network: NetworkInput) -> tuple[float | None, float | None, bool]:
    """Cost, bound and whether it is proven; no cost where some limb cannot be served at all."""
    cover = smallest_cover(
        network, free(network), max_alternatives=1, time_limit_s=LIMIT_S, clock=monotonic
    )
    assert not cover.added or is_cover(network, cover.added)
    return (cover.cost if cover.added else None), cover.proof.bound, cover.proof.gap == 0


def asked(garden: str, method: str, told: Connection) -> None:
    """Ask one method in this process."""
    network = gardens()[garden]()
    hard.LIMIT_S = LIMIT_S
    before = resource.getrusage(resource.RUSAGE_SELF).ru_maxrss
    began = process_time()
    if method == OWN:
        size, bound, proven = exact(network)
    else:
        size, proven = hard.RIVALS[method](network)
        bound = size if proven else None
    seconds = process_time() - began
    peak = resource.getrusage(resource.RUSAGE_SELF).ru_maxrss
    limbs = sum(node.kind == "limb" for node in network.nodes)
    told.send(
        (garden, len(network.nodes) - limbs, limbs, network.open_start_h.shape[1], method,
         f"{seconds:.3g}", max(before, peak) // 1000, size, bound, proven)
    )  # fmt: skip


def row_of(garden: str, method: str) -> tuple[object, ...] | None:
    """What a method does in a garden; None: it came to nothing within six times the limit."""
    mine, theirs = get_context("spawn").Pipe()
    process = get_context("spawn").Process(target=asked, args=(garden, method, theirs))
    process.start()
    row = mine.recv() if mine.poll(60 + 6 * LIMIT_S) else None
    process.terminate()
    process.join()
    return row


def bits(garden: str) -> int:
    """How many pairs and scenarios the whole model of a garden has."""
    numbers = [int(word.split()[0].replace(",", "")) for word in garden.split(", ")[:3]
               if word[0].isdigit()]  # fmt: skip
    return numbers[0] * numbers[1] * numbers[2] if len(numbers) == 3 else 0


def table() -> list[tuple[object, ...]]:
    """All rows; each is printed as it comes."""
    rows = []
    for garden in gardens():
        rivals = hard.RIVALS if bits(garden) <= MOST_BITS else ()
        for method in (OWN, *rivals):
            if method == "networkx" and garden.startswith("two donors"):
                continue
            row = row_of(garden, method) or (garden, *[""] * 3, method, *[""] * 5)
            print(*row, sep="; ", flush=True)
            rows.append(row)
    return rows


def ratios(rows: list[dict[str, str]], rival: str) -> list[float]:
    """Seconds of a rival as multiples of ours, where both have an answer."""
    own = {row["garden"]: row for row in rows if row["method"] == OWN}
    return [
        float(row["seconds"]) / float(own[row["garden"]]["seconds"])
        for row in rows
        if row["method"] == rival and row["seconds"] and own[row["garden"]]["seconds"]
    ]


if __name__ == "__main__":
    path = Path(__file__).parent / "covers.csv"
    with path.open("w", newline="", encoding="utf-8") as file:
        writer = csv.writer(file, lineterminator="\n")
        writer.writerow(COLUMNS)
        for one in table():
            writer.writerow(one)
    with path.open(newline="", encoding="utf-8") as file:
        measured = list(csv.DictReader(file))
    for name in hard.RIVALS:
        found = ratios(measured, name)
        print(f"{name}: {median(found):.2f} times our time in the median of {len(found)} gardens")
