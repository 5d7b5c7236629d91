"""Draw `figures/timing_proof.svg` from `results.csv` and `reliability.csv`.

python tests/validation/draw_proof.py
"""

from __future__ import annotations

import csv
from pathlib import Path

import matplotlib as mpl
from matplotlib.axes import Axes
from matplotlib.figure import Figure
from prove_timing import EVERYWHERE, RMSE, SITE_MEAN, TWO_SPRINGS, UNSEEN, UNSEEN_MEAN
from series import CHERRY

HERE = Path(__file__).parent
CHERRY_MARKS = {
    SITE_MEAN: ("the place's own mean date", "x", "none"),
    RMSE: ("foretold from the other places", "o", "black"),
    TWO_SPRINGS: ("the same after two springs of notes", "^", "0.7"),
}
OTHER_MARKS = {
    UNSEEN_MEAN: ("the variety's own mean date", "x", "none"),
    UNSEEN: ("foretold from its usual date and the weather", "s", "black"),
}


def rows(name: str) -> list[dict[str, str]]:
    """Rows of one table of figures."""
    with (HERE / name).open(newline="", encoding="utf-8") as file:
        return list(csv.DictReader(file))


def draw_errors(
    axes: Axes, marks: dict[str, tuple[str, str, str]], found: list[tuple[str, str, float]]
) -> None:
    """Error by place, one mark for each way of foretelling."""
    places = sorted({place for place, _, _ in found}, key=lambda p: (p != EVERYWHERE, p))[::-1]
    for what, (label, mark, fill) in marks.items():
        points = [(value, places.index(place)) for place, name, value in found if name == what]
        axes.plot(
            *zip(*points, strict=True), mark, color="black", markerfacecolor=fill, label=label
        )
    axes.set_yticks(range(len(places)), places)
    axes.set_xlim(0, 11)
    axes.set_xlabel("error of full bloom [days]")
    axes.grid(axis="x", color="0.85", linewidth=0.6)
    axes.legend(loc="upper center", bbox_to_anchor=(0.4, -0.1), frameon=False)


def draw_chances(axes: Axes) -> None:
    """How often three shared days came about that were told with a chance."""
    told = rows("reliability.csv")
    middle = [(float(r["from"]) + float(r["to"])) / 2 for r in told]
    sizes = [8 + float(r["cases"]) / 60 for r in told]
    axes.plot([0, 1], [0, 1], color="0.6", linewidth=0.8)
    axes.scatter(middle, [float(r["happened"]) for r in told], s=sizes, color="black")
    axes.set(xlabel="chance told", ylabel="share that came about", xlim=(0, 1), ylim=(0, 1.02))
    axes.set_aspect("equal")


def main() -> None:
    """Write the figure; the same results give the same bytes."""
    mpl.rcParams["svg.hashsalt"] = "pollinet"
    figure = Figure(figsize=(13, 5.5), layout="constrained")
    cherries, others, chances = figure.subplots(1, 3, width_ratios=(1, 1, 0.9))
    results = rows("results.csv")
    own = [(r["where"], r["what"], float(r["value"])) for r in results if r["fruit"] == CHERRY]
    draw_errors(cherries, CHERRY_MARKS, [each for each in own if each[1] in CHERRY_MARKS])
    cherries.set_title("Sweet cherry, each place left out")
    rest = [
        (f"{r['fruit']}, {r['where']}", r["what"], float(r["value"]))
        for r in results
        if r["what"] in OTHER_MARKS
    ]
    draw_errors(others, OTHER_MARKS, rest)
    others.set_title("Other fruits, unseen years")
    draw_chances(chances)
    chances.set_title("Three shared days, cherries")
    figure.savefig(HERE.parents[1] / "figures" / "timing_proof.svg", metadata={"Date": None})


if __name__ == "__main__":
    main()
