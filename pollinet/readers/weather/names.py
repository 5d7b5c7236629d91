"""What the columns of a weather table mean: known names and units.

The names are those that services print in their own files: GHCN-Daily and NCEI (TMAX, TMIN, PRCP,
AWND), the German weather service's daily KL (TXK, TNK, RSK, FM), NASA POWER (T2M_MAX, PRECTOTCORR,
WS2M), Open-Meteo (temperature_2m_max), PVGIS (T2m, WS10m), TMY3 (Dry-bulb), the symbols of the
climate and forecast conventions (tasmin, tasmax, pr), and plain English.
"""

from __future__ import annotations

import re
from dataclasses import dataclass
from typing import Literal

Quantity = Literal[
    "date",
    "clock",
    "year",
    "month",
    "day",
    "day_of_year",
    "low",
    "high",
    "air",
    "rain",
    "wind",
    "latitude",
    "longitude",
    "elevation",
]
"""`air` is a temperature at one moment or over one interval, `low` and `high` the extremes."""

_NAMES: dict[Quantity, str] = {
    "date": "date datetime timestamp time dateandtime datetimelocal messdatum daydate validtime",
    "clock": "clock hourminute timelocal localtime hour hr hh",
    "year": "year yyyy yr",
    "month": "month mo mm mon",
    "day": "day dd dayofmonth dy",
    "day_of_year": "doy dayofyear yday julianday",
    "latitude": "latitude lat",
    "longitude": "longitude lon long",
    "elevation": "elevation altitude elev",
    "low": "tmin tn tnk tmn tasmin mintemp mintemperature tempmin temperaturemin "
    "minimumtemperature lowtemp low lowest t2mmin temperature2mmin airtempmin minairtemp tairmin",
    "high": "tmax tx txk tmx tasmax maxtemp maxtemperature tempmax temperaturemax "
    "maximumtemperature hightemp high highest t2mmax temperature2mmax airtempmax maxairtemp "
    "tairmax",
    "air": "temp temperature tair ta tas t airtemp airtemperature t2m temperature2m drybulb "
    "drybulbtemperature outdoortemperature hourlydrybulbtemperature",
    "rain": "rain rainfall rainsum precip precipitation precipitationsum prcp pr rr rsk "
    "prectotcorr dailyrain",
    "wind": "wind windspeed meanwind windspeedmean windmean awnd fm fg ws ws2m ws10m wspd "
    "windspeed2m windspeed10m windspeed10mmean sfcwind",
}

_MEANINGS: dict[str, Quantity] = {
    name: quantity for quantity, names in _NAMES.items() for name in names.split()
}

_SERVICE_UNITS: dict[str, str] = {
    **dict.fromkeys(("txk", "tnk", "t2m", "t2mmin", "t2mmax"), "C"),
    **dict.fromkeys(("temperature2m", "temperature2mmin", "temperature2mmax"), "C"),
    **dict.fromkeys(("rsk", "prectotcorr"), "mm"),
    **dict.fromkeys(("fm", "ws2m", "ws10m"), "m/s"),
}
"""Units of names that belong to one service and stand without a unit in its headings: documentation
of the German weather service, NASA POWER, Open-Meteo and PVGIS."""

_UNITS: dict[str, str] = {
    "C": "c degc celsius degreecelsius degreescelsius degreec",
    "F": "f degf fahrenheit degreefahrenheit degreesfahrenheit degreef",
    "K": "k kelvin",
    "tenths of °C": "0.1c 0.1degc 10c tenthsc tenthsdegreesc tenthsofc tenthsofdegc",
    "mm": "mm millimeter millimetre mm/day mm/d kgm-2 kg/m2",
    "cm": "cm",
    "in": "in inch inches",
    "tenths of mm": "0.1mm tenthsmm tenthsofmm",
    "m/s": "m/s ms ms-1 mps",
    "km/h": "km/h kmh kmh-1 kph",
    "mph": "mph mp/h mi/h",
    "kn": "kn kt kts knots",
    "tenths of m/s": "0.1m/s tenthsm/s tenthsofm/s",
}
_SPELLINGS = {spelling: unit for unit, words in _UNITS.items() for spelling in words.split()}

CONVERSIONS: dict[str, tuple[float, float]] = {
    "C": (1.0, 0.0),
    "F": (5.0 / 9.0, -160.0 / 9.0),
    "K": (1.0, -273.15),
    "tenths of °C": (0.1, 0.0),
    "mm": (1.0, 0.0),
    "cm": (10.0, 0.0),
    "in": (25.4, 0.0),
    "tenths of mm": (0.1, 0.0),
    "m/s": (1.0, 0.0),
    "km/h": (1.0 / 3.6, 0.0),
    "mph": (0.44704, 0.0),
    "kn": (1852.0 / 3600.0, 0.0),
    "tenths of m/s": (0.1, 0.0),
}
"""Factor and addend to °C, mm or m/s. All are exact by definition (international inch, mile and
nautical mile)."""

FAMILY: dict[Quantity, frozenset[str]] = {
    **dict.fromkeys(("low", "high", "air"), frozenset({"C", "F", "K", "tenths of °C"})),
    "rain": frozenset({"mm", "cm", "in", "tenths of mm"}),
    "wind": frozenset({"m/s", "km/h", "mph", "kn", "tenths of m/s"}),
}
"""Units that each measured quantity may have."""

_BRACKETED = re.compile(r"(.*?)\s*[(\[]([^()\[\]]*)[)\]]")
_SUFFIXED = re.compile(
    r"(.+?)[ _]+(°?[cfk]|deg_?[cf]|celsius|fahrenheit|kelvin|mm|cm|in|inch|inches"
    r"|m_s|ms|m/s|km_h|kmh|km/h|mph|kn|knots)"
)


@dataclass(frozen=True)
class Meaning:
    """What a column holds.

    unit : a key of `CONVERSIONS`; empty: the heading names none; None: one we do not know.
    utc : whether the heading says that times are UTC.
    """

    quantity: Quantity
    unit: str | None = ""
    utc: bool = False


def meaning(heading: str) -> Meaning | None:
    """What a column of this heading holds; None where it is nothing that we use."""
    lowered = heading.strip().lower()
    plain, unit = lowered, ""
    if match := (_BRACKETED.fullmatch(lowered) or _SUFFIXED.fullmatch(lowered)):
        plain, unit = match.groups()
    name = re.sub(r"[^a-z0-9]", "", plain)
    if name not in _MEANINGS:
        return None
    quantity = _MEANINGS[name]
    if quantity not in FAMILY:
        return Meaning(quantity, utc=unit in ("utc", "gmt"))
    if not unit:
        return Meaning(quantity, _SERVICE_UNITS.get(name, ""))
    known = _SPELLINGS.get(re.sub(r"[°º\s]|_(?=s|h)", _joined, unit))
    return Meaning(quantity, known if known in FAMILY[quantity] else None)


def _joined(match: re.Match[str]) -> str:
    """`m_s` is `m/s`; degree signs and blanks go."""
    return "/" if match.group() == "_" else ""
