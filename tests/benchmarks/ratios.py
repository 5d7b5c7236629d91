"""Ratios of benchmark runs: kept as a table, and set beside those of an earlier run."""

from __future__ import annotations

import csv
import statistics
from collections.abc import Iterable, Iterator, Sequence
from dataclasses import asdict, dataclass, fields
from pathlib import Path


@dataclass(frozen=True)
class Ratio:
    """One ratio of a run: what it is of, its median, least and most over so many rounds.

    aim : what it is to be, in words; empty where none is told.
    """

    what: str
    median: float
    least: float
    most: float
    rounds: int
    aim: str = ""


def ratio_of(what: str, measured: Sequence[float], aim: str = "") -> Ratio:
    """A ratio from what its rounds measured, at least one."""
    return Ratio(
        what, statistics.median(measured), min(measured), max(measured), len(measured), aim
    )


def words(one: Ratio) -> str:
    """A ratio in a line."""
    spread = f" (of {one.rounds}: {one.least:.3g}-{one.most:.3g})" if one.rounds > 1 else ""
    aim = f"; aim: {one.aim}" if one.aim else ""
    return f"{one.what}: {one.median:.3g}{spread}{aim}"


def write_ratios(path: Path, ratios: Iterable[Ratio], heading: str) -> None:
    """Write a run, each ratio a row, below a remark on what it was made with."""
    with path.open("w", encoding="utf-8", newline="") as file:
        file.write(f"# {heading}\n")
        writer = csv.DictWriter(file, [field.name for field in fields(Ratio)], lineterminator="\n")
        writer.writeheader()
        for one in sorted(ratios, key=lambda ratio: ratio.what):
            row = asdict(one)
            shown = {name: f"{row[name]:.4g}" for name in ("median", "least", "most")}
            writer.writerow({**row, **shown})


def read_ratios(path: Path) -> tuple[Ratio, ...]:
    """The ratios of a run that was written."""
    with path.open(encoding="utf-8", newline="") as file:
        rows = csv.DictReader(line for line in file if not line.startswith("#"))
        return tuple(
            Ratio(
                row["what"], float(row["median"]), float(row["least"]), float(row["most"]),
                int(row["rounds"]), row["aim"],
            )
            for row in rows
        )  # fmt: skip


def compared(now: Iterable[Ratio], then: Iterable[Ratio]) -> Iterator[str]:
    """A line for each ratio of either run: what it was, what it is, whether they overlap.

    Two runs differ where the least and most of one lie wholly beside those of the other.
    """
    before = {one.what: one for one in then}
    after = {one.what: one for one in now}
    for what in sorted({*before, *after}):
        old, new = before.get(what), after.get(what)
        if old is None or new is None:
            yield f"{what}: {'only now' if old is None else 'only then'}"
            continue
        apart = new.least > old.most or new.most < old.least
        change = f"{new.median / old.median:.2f} times" if old.median else "was 0"
        mark = "  <- changed" if apart and max(old.rounds, new.rounds) > 1 else ""
        yield f"{what}: {old.median:.3g} then, {new.median:.3g} now, {change}{mark}"
