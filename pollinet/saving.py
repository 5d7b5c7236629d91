"""A weather record as text in the house format, to be kept beside a plan."""

from __future__ import annotations

import numpy as np

from pollinet.domain import DailyWeather, FloatArray


def house_csv(weather: DailyWeather) -> str:
    """The record as `date,tmin_c,tmax_c[,rain_mm,wind_m_s]`; missing values are empty.

    Comments carry source and place. Values keep two decimals.
    """
    about = {
        "latitude": weather.latitude,
        "longitude": weather.longitude,
        "elevation_m": weather.elevation_m,
    }
    comments = [f"# {'generated, ' if weather.generated else ''}{weather.source}"]
    comments += [f"# {name} {value:g}" for name, value in about.items() if value is not None]
    optional = {"rain_mm": weather.rain_mm, "wind_m_s": weather.wind_m_s}
    measured = {"tmin_c": weather.tmin_c, "tmax_c": weather.tmax_c}
    measured |= {name: values for name, values in optional.items() if values is not None}
    columns = [weather.dates.astype(str), *(_cells(values) for values in measured.values())]
    rows = [",".join(row) for row in zip(*columns, strict=True)]
    return "\n".join([*comments, ",".join(["date", *measured]), *rows]) + "\n"


def _cells(values: FloatArray) -> list[str]:
    return ["" if np.isnan(value) else f"{value:.2f}" for value in values]
