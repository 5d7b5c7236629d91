"""Draw `figures/cover_growth.svg` from `growth.csv`.

python tests/benchmarks/draw_growth.py
"""

from __future__ import annotations

import csv
from pathlib import Path
from statistics import median

import matplotlib as mpl
from matplotlib.axes import Axes
from matplotlib.figure import Figure

HERE = Path(__file__).parent
STYLES = {
    "exact": ("exact cover", "o", "-", "black"),
    "CP-SAT": ("CP-SAT, exact", "s", "--", "white"),
    "networkx": ("networkx, dominating set", "^", ":", "0.6"),
    "greedy": ("greedy", "x", "-.", "none"),
}
TITLES = {
    "candidates": "more candidates, 100 scenarios",
    "scenarios": "more scenarios, 100 candidates",
}


def rows() -> list[dict[str, str]]:
    """What was measured."""
    with (HERE / "growth.csv").open(newline="", encoding="utf-8") as file:
        return list(csv.DictReader(file))


def draw(axes: Axes, grows: str, what: str) -> None:
    """Median of the gardens of one size by method, and their range; no cover: left out."""
    for method, (label, mark, line, fill) in STYLES.items():
        found: dict[int, list[float]] = {}
        for row in rows():
            if (row["grows"], row["method"]) == (grows, method) and row[what]:
                found.setdefault(int(row[grows]), []).append(float(row[what]))
        sizes, middle = list(found), [median(values) for values in found.values()]
        # The exact cover and CP-SAT agree in size: the one is drawn small upon the other.
        size, above = (4, 3) if method == "exact" else (8, 2)
        axes.plot(
            sizes, middle, line, marker=mark, color="black", markerfacecolor=fill, label=label,
            markersize=size, zorder=above,
        )  # fmt: skip
        low, high = map(min, found.values()), map(max, found.values())
        axes.vlines(sizes, list(low), list(high), color="0.7", linewidth=3, zorder=0)
    axes.set(xscale="log", yscale="log", xlabel=grows)
    ticks = sorted({int(row[grows]) for row in rows() if row["grows"] == grows})
    axes.set_xticks(ticks, [f"{tick}" for tick in ticks])
    axes.minorticks_off()


def growth() -> Figure:
    """Work above, varieties below; candidates on the left, scenarios on the right."""
    figure = Figure(figsize=(9, 6.5), layout="constrained")
    panels = figure.subplots(2, 2, sharey="row", sharex="col")
    for column, (grows, title) in enumerate(TITLES.items()):
        draw(panels[0, column], grows, "overlap_times")
        draw(panels[1, column], grows, "size")
        panels[0, column].set(title=title, xlabel="")
    panels[0, 0].set_ylabel("time [times all overlaps]")
    panels[1, 0].set_ylabel("varieties to graft")
    sizes = (2, 3, 4, 6, 10, 20, 35)
    panels[1, 0].set_yticks(sizes, [f"{size}" for size in sizes])
    figure.legend(*panels[0, 0].get_legend_handles_labels(), loc="outside lower center", ncols=4)
    return figure


if __name__ == "__main__":
    mpl.rcParams["svg.hashsalt"] = "pollinet"
    out = HERE.parents[1] / "figures" / "cover_growth.svg"
    growth().savefig(out, metadata={"Date": None})
