"""The order in which apples bloom, foretold at panels that were left out.

python tests/validation/prove_order.py --cultivars FOLDER --write

FOLDER holds `more_apple_bloom_six_sites.csv` (five panels 2018-2023, REFPOP), which is not in the
repository. A panel is foretold by `bloom_ensemble` in the climate of its station from the shipped
evidence on each apple, with the shipped days of western Europe (the median of all panels) replaced
by the days at the other four. `order.csv` is written beside this file.
"""

from __future__ import annotations

from dataclasses import replace
from pathlib import Path
from typing import NamedTuple

import numpy as np
from proofs import proven
from prove_harvest import Days, rank_agreement, read_panels

from pollinet.domain import BloomEvidence, Variety
from pollinet.phenology.bloom import bloom_ensemble
from pollinet.readers.catalogue import load_catalogue
from pollinet.readers.timing import load_timing
from pollinet.study.trial_sites import trial_site_sums

TABLE = Path(__file__).parent / "order.csv"
WESTERN_EUROPE = "Western Europe apples"
PANEL_SD_DAYS = 3.0
"""Of the usual day of an apple at a panel, from up to six springs. Own convention."""

DRAWS = 32


class Row(NamedTuple):
    """One panel. order, without : rank correlation, with the other panels and without any.

    bias, rmse : of the usual day of the beginning of bloom. [days]
    """

    place: str
    varieties: int
    order: float
    without: float
    bias: float
    rmse: float


def prove(folder: Path) -> list[Row]:
    """One row a panel."""
    seen = read_panels(folder, "day_begin")
    return [_row(place, seen) for place in sorted(seen)]


def _row(place: str, seen: dict[str, Days]) -> Row:
    others = {name: days for name, days in seen.items() if name != place}
    told, alone = foretold(place, others), foretold(place, {})
    names = sorted(set(told) & set(alone) & set(seen[place]))
    errors = np.array([told[name] - seen[place][name] for name in names])
    return Row(
        place,
        len(names),
        round(rank_agreement(told, seen[place], names), 2),
        round(rank_agreement(alone, seen[place], names), 2),
        round(float(errors.mean()), 1),
        round(float(np.sqrt((errors**2).mean())), 1),
    )


def foretold(place: str, panels: dict[str, Days]) -> Days:
    """Usual beginning of bloom at a place, by name, from these panels and all else that ships."""
    catalogue, _ = load_catalogue(["apple"])
    apples = [
        _with_panels(variety, panels)
        for variety in catalogue.varieties.values()
        if variety.id.species == "apple"
    ]
    dated = [apple for apple in apples if apple.bloom]
    site = catalogue.sites[place]
    sums = {name: trial_site_sums(catalogue.sites[name]) for name in _places(dated)}
    bloom = bloom_ensemble(
        dated,
        trial_site_sums(site),
        sums,
        load_timing(["apple"]),
        draws=DRAWS,
        latitude=site.latitude,
        seed=1,
        peers=dated,
    )
    days = bloom.start_h.mean(axis=(1, 2)) / 24
    # From the season's day to that of the year.
    return {
        name.name: float(day) - 91
        for name, day in zip(bloom.varieties, days, strict=True)
        if np.isfinite(day)
    }


def _with_panels(variety: Variety, panels: dict[str, Days]) -> Variety:
    """The variety with its days at these panels in place of those of western Europe."""
    kept = tuple(one for one in variety.bloom if one.context != WESTERN_EUROPE)
    told = tuple(
        BloomEvidence("start", days[variety.id.name], PANEL_SD_DAYS, place, "offset", "REFPOP")
        for place, days in sorted(panels.items())
        if variety.id.name in days
    )
    return replace(variety, bloom=kept + told)


def _places(varieties: list[Variety]) -> list[str]:
    return sorted({one.place for variety in varieties for one in variety.bloom})


if __name__ == "__main__":
    proven(__doc__, prove, TABLE, Row._fields)
