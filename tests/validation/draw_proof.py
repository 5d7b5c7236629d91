"""Draw `figures/timing_proof.svg` from `results.csv`.

python tests/validation/draw_proof.py
"""

from __future__ import annotations

import csv
from pathlib import Path

import matplotlib as mpl
from matplotlib.axes import Axes
from matplotlib.figure import Figure

HERE = Path(__file__).parent
HALVES = (
    ("even years", "fitted on even years, tested on odd"),
    ("odd years", "the other way round"),
)
MARKS = {
    "median RMSE of usual dates alone": ("usual date alone", "x", "none"),
    "median RMSE, same site, usual date": ("same site, from the usual date", "s", "white"),
    "median RMSE, same site, own notes": ("same site, with own notes", "+", "none"),
    "median RMSE, carried": ("carried from another site", "o", "black"),
    "median RMSE, carried with two own dates": ("carried, with two own dates", "^", "0.6"),
}


def rows() -> list[dict[str, str]]:
    """Figures of the proof."""
    with (HERE / "results.csv").open(newline="", encoding="utf-8") as file:
        return list(csv.DictReader(file))


def draw(axes: Axes, fitted_on: str, title: str) -> None:
    """One half: error by place, one mark for each way of foretelling."""
    some = [r for r in rows() if r["fitted_on"] == fitted_on and r["what"] in MARKS]
    pairs_last = sorted({r["where"] for r in some}, key=lambda p: (p == "all", " to " in p, p))
    places = pairs_last[::-1]
    for what, (label, mark, fill) in MARKS.items():
        found = [(float(r["value"]), places.index(r["where"])) for r in some if r["what"] == what]
        axes.plot(*zip(*found, strict=True), mark, color="black", markerfacecolor=fill, label=label)
    axes.axvline(5, color="0.7", linewidth=0.8, zorder=0)
    axes.set(title=title, xlabel="median RMSE of full bloom [days]", xlim=(0, 9))
    axes.set_yticks(range(len(places)), places)


def main() -> None:
    """Write the figure; the same results give the same bytes."""
    mpl.rcParams["svg.hashsalt"] = "pollinet"
    figure = Figure(figsize=(10, 5), layout="constrained")
    left, right = figure.subplots(1, 2, sharey=True)
    for axes, half in zip((left, right), HALVES, strict=True):
        draw(axes, *half)
    figure.legend(*left.get_legend_handles_labels(), loc="outside lower center", ncols=3)
    figure.savefig(HERE.parents[1] / "figures" / "timing_proof.svg", metadata={"Date": None})


if __name__ == "__main__":
    main()
