"""Draw `figures/cover_growth.svg` from `growth.csv`, `figures/cover_rivals.svg` from `covers.csv`.

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
RIVALS = {
    "exact": ("exact cover", "o"),
    "CP-SAT": ("CP-SAT", "s"),
    "plain milp": ("plain integer programme", "D"),
    "greedy": ("greedy", "x"),
    "networkx": ("networkx, dominating set", "^"),
}
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


def rows(table: str = "growth.csv") -> list[dict[str, str]]:
    """What was measured."""
    with (HERE / table).open(newline="", encoding="utf-8") as file:
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


def rivals() -> Figure:
    """Seconds of each method in each garden, filled where the size is proven; the sizes beside."""
    measured = rows("covers.csv")
    names = list(dict.fromkeys(row["garden"] for row in measured))
    figure = Figure(figsize=(10, 9), layout="constrained")
    axes = figure.subplots()
    for method, (label, mark) in RIVALS.items():
        own = [row for row in measured if row["method"] == method and row["seconds"]]
        color = "black" if method == "exact" else "0.55"
        for proven in (True, False):
            some = [row for row in own if (row["proven"] == "True") == proven]
            axes.plot(
                [float(row["seconds"]) for row in some],
                [names.index(row["garden"]) for row in some], mark, color=color,
                markerfacecolor=color if proven else "white",
                label=label if proven == (method not in ("greedy", "networkx")) else None,
            )  # fmt: skip
    sizes = {
        (row["garden"], row["method"]): row["size"] and f"{float(row['size']):.0f}"
        for row in measured
    }
    asked = {row["garden"] for row in measured if row["method"] != "exact"}
    told = [
        "  ".join(sizes.get((name, method)) or ("–" if name in asked else " ") for method in RIVALS)
        for name in names
    ]
    axes.set_yticks(range(len(names)), names)
    axes.invert_yaxis()
    beside = axes.secondary_yaxis("right")
    beside.set_yticks(range(len(names)), told)
    beside.set_ylabel("varieties found, in the order of the legend; –: none")
    axes.set(xscale="log", xlabel="processor time [s]; filled: proven to be the fewest")
    axes.grid(axis="y", color="0.9")
    figure.legend(loc="outside lower center", ncols=5)
    return figure


if __name__ == "__main__":
    mpl.rcParams["svg.hashsalt"] = "pollinet"
    folder = HERE.parents[1] / "figures"
    growth().savefig(folder / "cover_growth.svg", metadata={"Date": None})
    rivals().savefig(folder / "cover_rivals.svg", metadata={"Date": None})
