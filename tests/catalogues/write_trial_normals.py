"""Make the normals of the trial sites in `catalogues/` anew from tables of weather stations.

python tests/catalogues/write_trial_normals.py STATION_NORMALS.csv

The table of stations (place, station, elevation_m, period, month, tmin_c, tmax_c, status) is not in
the repository. Sites that are not chosen here keep the rows they have. Then run
`write_trial_sums.py`.
"""

from __future__ import annotations

import csv
import sys
from collections.abc import Mapping
from pathlib import Path
from typing import NamedTuple

from pollinet.weather.station_climate import LAPSE_C

CATALOGUES = Path(__file__).resolve().parents[2] / "catalogues"


class Choice(NamedTuple):
    """Which station stands for a trial site.

    place : its name in the table of stations.
    shifted : another station and two of its periods, whose difference moves the first one.
    warmer_c : what is added to Tmin and Tmax for the years since.
    """

    place: str
    station: str
    period: str
    source: str
    shifted: tuple[str, str, str] | None = None
    warmer_c: tuple[float, float] = (0.0, 0.0)


CHOSEN: Mapping[str, Choice] = {
    "Balandran": Choice("Balandran", "Montpellier (WMO 07643)", "1981-2010", "DWDCLIMAT"),
    # The groups and the older records of the collection belong to the climate before 1990.
    "Brogdale": Choice(
        *("Brogdale", "Wye (Kent)", "1981-2010", "WIKI-KENT"),
        shifted=("Manston (Met Office)", "1981-2010", "1961-1990"),
    ),
    "Busan": Choice("Busan", "Busan (WMO 47159)", "1981-2010", "DWDCLIMAT"),
    "Chico": Choice("Chico", "Chico University Farm", "1981-2010", "MEM-NORMALS"),
    "Chuncheon": Choice("Chuncheon", "Chuncheon (WMO 47101)", "1981-2010", "DWDCLIMAT"),
    "Etoile": Choice("Etoile-sur-Rhone", "Montelimar (WMO 07577)", "1984-2010", "DWDCLIMAT"),
    "Gimenells": Choice("Gimenells", "Lleida (WMO 08171)", "2003-2015", "DWDCLIMAT"),
    "Jork": Choice("Jork", "Hamburg Airp. (WMO 10147)", "1992-2011", "DWDCLIMAT"),
    "Kentville": Choice("Kentville", "Kentville CDA", "1981-2010", "MEM-NORMALS"),
    # National normals of 1971-2000 stand so far below the reports of 2003-2021 (DWDCLIMAT).
    "Laimburg": Choice(
        *("Laimburg", "Bolzano", "not stated (1961-1990 or 1971-2000 likely)", "CLIMATE-PAGES"),
        warmer_c=(0.76, 0.62),
    ),
    "Orange": Choice("Orange", "Orange Airport", "not stated (before 2013)", "WIKI-ORANGE"),
    "Prosser": Choice("Prosser", "Yakima/WA (WMO 72781)", "2003-2020", "DWDCLIMAT"),
    "Raleigh": Choice("Raleigh", "Raleigh/NC (WMO 72306)", "2003-2020", "DWDCLIMAT"),
    "Rillaar": Choice("Rillaar", "Bruessel (Uccle) (WMO 06447)", "2003-2020", "DWDCLIMAT"),
    "Seoul": Choice("Seoul", "Seoul (WMO 47108)", "1981-2010", "DWDCLIMAT"),
    "Skierniewice": Choice(
        *("Skierniewice", "Warszawa-Okecie (WMO 12375)", "2003-2020", "DWDCLIMAT")
    ),
    "Wädenswil": Choice("Waedenswil", "Zuerich/Fluntern (WMO 06660)", "2008-2020", "DWDCLIMAT"),
    "Zaragoza": Choice("Zaragoza", "Zaragoza Airp. (WMO 08160)", "2003-2020", "DWDCLIMAT"),
    "Čačak": Choice("Cacak", "Kraljevo", "1981-2010", "MEM-NORMALS"),
}

Stations = Mapping[tuple[str, str, str], list[dict[str, str]]]
"""The twelve rows of each place, station and period."""


def read_stations(file: Path) -> Stations:
    stations: dict[tuple[str, str, str], list[dict[str, str]]] = {}
    with file.open(encoding="utf-8", newline="") as stream:
        for row in csv.DictReader(stream):
            key = row["place"], row["station"], row["period"]
            stations.setdefault(key, []).append(row)
    return stations


def normals_of(choice: Choice, elevation_m: float, stations: Stations) -> list[list[str]]:
    """Twelve rows of month, Tmin, Tmax, source and status at the height of the site."""
    rows = stations[choice[:3]]
    lower = (float(rows[0]["elevation_m"]) - elevation_m) / 100
    made = []
    for number, row in enumerate(rows):
        values = []
        for (name, lapse), warmer_c in zip(LAPSE_C.items(), choice.warmer_c, strict=True):
            key = f"{name}_c"
            value = float(row[key]) + lapse * lower + warmer_c
            if choice.shifted is not None:
                station, old, new = choice.shifted
                before, after = (stations[choice.place, station, each] for each in (old, new))
                value += float(after[number][key]) - float(before[number][key])
            values.append(f"{value:.1f}")
        as_read = [float(row[key]) for key in ("tmin_c", "tmax_c")]
        moved = row["status"] == "estimated" or as_read != [float(value) for value in values]
        status = "memory" if row["status"] == "memory" else "inferred" if moved else "published"
        made.append([row["month"], *values, choice.source, status])
    return made


if __name__ == "__main__":
    stations = read_stations(Path(sys.argv[1]))
    with (CATALOGUES / "trial_sites.csv").open(encoding="utf-8", newline="") as stream:
        sites = {row["place"]: float(row["elevation_m"]) for row in csv.DictReader(stream)}
    file = CATALOGUES / "trial_site_normals.csv"
    with file.open(encoding="utf-8", newline="") as stream:
        head, *known = csv.reader(stream)
    rows = []
    for place, elevation_m in sites.items():
        if place in CHOSEN:
            made = normals_of(CHOSEN[place], elevation_m, stations)
            rows += [[place, *row] for row in made]
        else:
            rows += [row for row in known if row[0] == place]
    with file.open("w", encoding="utf-8", newline="") as stream:
        csv.writer(stream, lineterminator="\n").writerows([head, *rows])
