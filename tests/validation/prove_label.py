"""A label is hidden: where does the true variety stand on the shortlist? From bloom alone.

    python tests/validation/prove_label.py --weather FOLDER [--write]

Cherry places of the long series, each foretold from the others. Of every variety that was noted in
at least three springs together with three others, the label is hidden; the three that were noted
most beside it are the limbs that are known. All varieties of the other places are looked through.
Writes `label.csv`.
"""

from __future__ import annotations

import argparse
from collections.abc import Iterator, Mapping
from pathlib import Path
from typing import NamedTuple

import numpy as np
from fit_timing import fit
from proofs import write_table
from prove_timing import CHERRY, foretell, ground_at, homes, known_elsewhere
from series import Series, read_series

from pollinet.advice.label import SeenDay, day_likelihood, fitting, joint_shares
from pollinet.phenology.notes import NOTE_SD_DAYS

SPRINGS, BESIDE, SHOWN = 3, 3, 8


class Row(NamedTuple):
    """One place. rank : median rank of the true variety among `of`, best 1; chance: by guessing.

    shown : share of the hidden ones that stand among the first eight. kept : share of them that
    still fit, listed or not. fitting : median share of all varieties that fit.
    """

    place: str
    hidden: int
    of: int
    rank: float
    by_chance: float
    shown: float
    shown_by_chance: float
    kept: float
    fitting: float


def place_row(series: Series, place: str) -> Row | None:
    """Hide each variety of a place in turn, known from the other places."""
    others = series.without(place)
    known = known_elsewhere(others, CHERRY)
    names = [variety.id.name for variety in known]
    seen = {(v, year): np.array([np.nan, day, np.nan])
            for (v, year), day in series.at(place, 1).items()}  # fmt: skip
    ground = ground_at(known, series.sums[place], homes(others), fit(others))
    told = foretell(ground, known, names, seen)
    expected = told.bloom.full_h / 24
    days: dict[str, dict[int, float]] = {}
    for variety, year, day in told.full():
        days.setdefault(variety, {})[year] = day
    ranks, shown, kept, fits = [], [], [], []
    for hidden in sorted(days):
        looks = list(_looks(hidden, days, expected, told.row))
        if len(looks) < SPRINGS:
            continue
        shares = joint_shares([day_likelihood(looks[:SPRINGS])])
        row = told.row(hidden)
        better = (shares > shares[row]).sum() + ((shares == shares[row]).sum() - 1) / 2
        ranks.append(1 + float(better))
        shown.append(better < SHOWN)
        listed = fitting(told.bloom.varieties, shares)
        kept.append(any(one.variety.name == hidden for one in listed))
        fits.append(len(listed) / len(shares))
    if not ranks:
        return None
    return Row(
        place, len(ranks), len(names), round(float(np.median(ranks)), 1), (len(names) + 1) / 2,
        round(float(np.mean(shown)), 3), round(min(SHOWN / len(names), 1.0), 3),
        round(float(np.mean(kept)), 3), round(float(np.median(fits)), 3),
    )  # fmt: skip


def _looks(
    hidden: str, days: Mapping[str, Mapping[int, float]], expected: np.ndarray, row: object
) -> Iterator[SeenDay]:
    """Springs of the hidden variety against the three known ones that were noted most with it."""
    assert callable(row)
    mine = days[hidden]
    together = sorted((-len(mine.keys() & days[v].keys()), v) for v in days if v != hidden)
    beside = [v for _number, v in together[:BESIDE]]
    for year in sorted(mine):
        here = [v for v in beside if year in days[v]]
        if len(here) < BESIDE:
            continue
        later = mine[year] - float(np.mean([days[v][year] for v in here]))
        by = np.mean([expected[row(v)] for v in here], axis=0)
        yield SeenDay(expected - by, later, NOTE_SD_DAYS * (1 + 1 / BESIDE) ** 0.5)


def prove(series: Series) -> list[Row]:
    """All places with enough."""
    rows = [place_row(series, place) for place in sorted(series.sums)]
    return [row for row in rows if row is not None]


if __name__ == "__main__":
    parser = argparse.ArgumentParser(description=__doc__.splitlines()[0])
    parser.add_argument("--weather", type=Path, required=True)
    parser.add_argument("--write", action="store_true", help="write the table of figures")
    given = parser.parse_args()
    found = prove(read_series(given.weather, [CHERRY])[CHERRY])
    for one in found:
        print(*one, sep=" | ")
    if given.write:
        write_table(Path(__file__).parent / "label.csv", Row._fields, found)
