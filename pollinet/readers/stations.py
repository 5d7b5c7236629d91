"""The shipped climates of weather stations of the world, `world_stations.csv`."""

from __future__ import annotations

import csv
from functools import cache

import numpy as np

from pollinet.domain import FloatArray, Stations
from pollinet.readers.text_tables import shipped_text

FILE_NAME = "world_stations.csv"
"""Monthly CLIMAT reports 2003-2021 collected by Deutscher Wetterdienst (CC BY 4.0); see
`catalogues/README.md` for what was left out and changed."""


@cache
def load_stations() -> Stations:
    """All stations, in the order of the table. Country `NA` is Namibia.

    The table is long and ships as it is: its rows are judged by the tests, not on every run.
    """
    head, *rows = csv.reader(shipped_text(FILE_NAME).splitlines())
    columns = dict(zip(head, zip(*rows, strict=True), strict=True))

    def column(name: str) -> FloatArray:
        return np.array([cell or "nan" for cell in columns[name]], dtype=float)

    def months(name: str) -> FloatArray:
        return np.column_stack([column(f"{name}_{month}") for month in range(1, 13)])

    return Stations(
        ids=columns["id"],
        names=columns["name"],
        countries=columns["country"],
        latitude=column("latitude"),
        longitude=column("longitude"),
        elevation_m=column("elevation_m"),
        tmin_c=months("tmin_c"),
        tmax_c=months("tmax_c"),
        sd_c=months("sd_c"),
        daily_sd_c=months("daily_sd_c"),
    )
