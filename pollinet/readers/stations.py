"""The shipped climates of weather stations of the world, `world_stations.csv`."""

from __future__ import annotations

from functools import cache

import numpy as np

from pollinet.domain import FloatArray, Stations
from pollinet.readers.text_tables import shipped_rows

FILE_NAME = "world_stations.csv"
"""Monthly CLIMAT reports 2003-2021 collected by Deutscher Wetterdienst (CC BY 4.0); see
`catalogues/README.md` for what was left out and changed."""


@cache
def load_stations() -> Stations:
    """All stations, in the order of the table. Country `NA` is Namibia."""
    rows = shipped_rows(FILE_NAME)

    def column(name: str) -> FloatArray:
        return np.array([row[name] for row in rows], dtype=float)

    def months(name: str) -> FloatArray:
        return np.column_stack([column(f"{name}_{month}") for month in range(1, 13)])

    words = {key: tuple(row[key] for row in rows) for key in ("id", "name", "country")}
    return Stations(
        ids=words["id"],
        names=words["name"],
        countries=words["country"],
        latitude=column("latitude"),
        longitude=column("longitude"),
        elevation_m=column("elevation_m"),
        tmin_c=months("tmin_c"),
        tmax_c=months("tmax_c"),
        sd_c=months("sd_c"),
        daily_sd_c=months("daily_sd_c"),
    )
