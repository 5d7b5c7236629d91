"""Winters made up from monthly means against the real ones of places with daily records.

python tests/validation/prove_winters.py --weather FOLDER --write

Each record gives its own monthly means; how far the weather strays is told by the stations near the
place, never by the record itself. `generated_winters.csv` holds mean and SD of chill portions from
1 October to the end of February, and of growing degree hours from February to April.

Records: stations of the Korean and Spanish weather services, Klein-Altendorf, Sfax and others, and
NASA POWER grid cells. Left out: Cacak (weather and bloom disagree, nobody knows why), Conthey (the
grid cell is that of another elevation).
"""

from __future__ import annotations

import argparse
import csv
from collections.abc import Iterator
from pathlib import Path
from typing import Literal, NamedTuple
from zlib import crc32

import numpy as np
from proofs import write_table

from pollinet.domain import DailyWeather, FloatArray, Normals
from pollinet.phenology.sums import season_sums
from pollinet.readers.stations import load_stations
from pollinet.weather.generated import generate_daily
from pollinet.weather.station_climate import spread_near
from pollinet.weather.winters import split_winters

HERE = Path(__file__).parent
RESULTS = HERE / "generated_winters.csv"
MADE = 500
"""Winters made up for a place: their SD is known to 3 %, that of 30 real ones to 13 %."""

FEW = 15
"""Real winters below which an SD says little."""

FEBRUARY, MARCH, MAY = 123, 151, 212
"""Days from 1 October to 1 February, March and May."""


class Place(NamedTuple):
    """Where a record was taken, in degrees; at a station, or the mean of a cell of a grid."""

    latitude: float
    longitude: float
    kind: Literal["station", "grid"]


PLACES = {
    "Balandran": Place(43.76, 4.46, "grid"),
    "Bonn": Place(50.62, 6.98, "grid"),
    "Busan": Place(35.10, 129.03, "station"),
    "Carpentras": Place(44.09, 5.05, "grid"),
    "Chuncheon": Place(37.90, 127.74, "station"),
    "Cieza": Place(38.24, -1.41, "station"),
    "Corbins": Place(41.70, 0.69, "grid"),
    "East_Malling": Place(51.28, 0.45, "grid"),
    "Etoile": Place(44.82, 4.89, "grid"),
    "Gwangju": Place(35.17, 126.89, "station"),
    "Jork": Place(53.51, 9.74, "grid"),
    "Jumilla": Place(38.04, -1.98, "grid"),
    "Klein-Altendorf": Place(50.61, 6.99, "station"),
    "Montauban": Place(44.04, 1.31, "grid"),
    "Obernai": Place(48.47, 7.51, "grid"),
    "Santomera": Place(38.06, -1.05, "station"),
    "Seoul": Place(37.57, 126.97, "station"),
    "Sfax": Place(34.75, 10.75, "station"),
    "St_Gilles": Place(43.69, 4.43, "grid"),
    "Toulenne": Place(44.58, -0.28, "grid"),
    "Vienna": Place(48.29, 16.43, "grid"),
    "Zaragoza": Place(41.65, -0.88, "station"),
}


class Compared(NamedTuple):
    """Mean and SD over winters, real and made; portions to the end of February, GDH of spring."""

    place: str
    kind: str
    winters: int
    portions: float
    portions_made: float
    portions_sd: float
    portions_sd_made: float
    portions_sd_ratio: float
    gdh: float
    gdh_made: float
    gdh_sd: float
    gdh_sd_made: float
    gdh_sd_ratio: float


def read_record(folder: Path, name: str) -> DailyWeather:
    """Daily record of a place; days that it does not hold are NaN."""
    found = [
        f for f in (f"weather_{name}.csv", f"more_weather_{name}.csv") if (folder / f).exists()
    ]
    with (folder / found[0]).open(newline="", encoding="utf-8") as file:
        rows = list(csv.DictReader(file))
    days = np.array([row["date"] for row in rows], dtype="datetime64[D]")
    dates = np.arange(days[0], days[-1] + 1)
    place = (days - days[0]).astype(int)

    def told(key: str) -> FloatArray:
        values = np.full(dates.size, np.nan)
        values[place] = [float(row[key]) if row[key] not in ("", "NA") else np.nan for row in rows]
        return values

    return DailyWeather(dates, told("tmin_c"), told("tmax_c"), latitude=PLACES[name].latitude)


def monthly_means(record: DailyWeather) -> Normals:
    """Mean minimum and maximum of each month over all days of a record."""
    month = record.dates.astype("datetime64[M]").astype(int) % 12
    low, high = (
        tuple(float(np.nanmean(values[month == m])) for m in range(12))
        for values in (record.tmin_c, record.tmax_c)
    )
    return Normals(low, high)


def made_record(record: DailyWeather, name: str, winters: int) -> DailyWeather:
    """Winters made up from the monthly means of a record and the spread of stations near it."""
    place = PLACES[name]
    return generate_daily(
        monthly_means(record),
        spread_near(load_stations(), place.latitude, place.longitude),
        first_harvest_year=2001,
        winters=winters,
        latitude=place.latitude,
        seed=crc32(name.encode()),
    )


def chill_and_heat(record: DailyWeather, latitude: float) -> tuple[FloatArray, FloatArray]:
    """Portions to the end of February and GDH from February to April, of each whole winter."""
    sums = season_sums(split_winters(record, latitude)[0])
    return sums.portions[:, MARCH], sums.heat_gdh[:, MAY] - sums.heat_gdh[:, FEBRUARY]


def compared(folder: Path, name: str, winters: int = MADE) -> Compared:
    """One place, its record against winters made up from it."""
    record, place = read_record(folder, name), PLACES[name]
    real = chill_and_heat(record, place.latitude)
    made = chill_and_heat(made_record(record, name, winters), place.latitude)

    def told(of: int, digits: int) -> Iterator[float]:
        yield from (round(float(some[of].mean()), digits) for some in (real, made))
        spreads = float(real[of].std(ddof=1)), float(made[of].std(ddof=1))
        yield from (round(spread, digits) for spread in spreads)
        yield round(spreads[1] / spreads[0], 2)

    return Compared(name, place.kind, len(real[0]), *told(0, 1), *told(1, 0))


if __name__ == "__main__":
    parser = argparse.ArgumentParser(description=__doc__.splitlines()[0])
    parser.add_argument("--weather", type=Path, required=True)
    parser.add_argument("--write", action="store_true", help=f"write {RESULTS.name}")
    given = parser.parse_args()
    rows = []
    for name in PLACES:
        rows.append(compared(given.weather, name))
        print(*rows[-1], sep=" | ", flush=True)
    if given.write:
        write_table(RESULTS, Compared._fields, rows)
