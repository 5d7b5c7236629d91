"""An invented garden: a plan file and thirty generated winters.

The varieties are real; the place, its climate and what stands where are made up for the demo and
describe no real garden. Whatever is computed from them says that its weather is generated.
"""

from __future__ import annotations

import json
from dataclasses import replace
from importlib.resources import files
from pathlib import Path

from pollinet.domain import DailyWeather, Normals
from pollinet.files import write_all
from pollinet.readers.weather.headed import DEMO_SOURCE
from pollinet.saving import house_csv
from pollinet.weather.generated import generate_daily

PLAN_NAME, WEATHER_NAME = "plan.toml", "weather.csv"

LATITUDE = 46.4
WINTERS, FIRST_HARVEST_YEAR, SEED = 30, 1996, 7

NORMALS = Normals(
    tmin_c=(-1.8, -1.2, 1.7, 4.8, 8.9, 12.3, 14.4, 14.0, 10.5, 6.9, 2.2, -0.7),
    tmax_c=(4.6, 6.7, 11.6, 15.8, 20.2, 24.0, 26.5, 25.8, 21.0, 15.2, 8.9, 5.3),
    source="invented for the demo",
    status="invented",
)
"""Monthly means of a place that does not exist, like those of a hill in the middle of Europe."""


def demo_plan(weather: str) -> str:
    """Text of the demo's plan file, with the name of its weather file filled in."""
    text = files("pollinet").joinpath("demo_plan.toml").read_text(encoding="utf-8")
    # A JSON string is a TOML string: quotes and backslashes in a path stay whole.
    return text.replace('"@weather@"', json.dumps(weather, ensure_ascii=False))


def demo_weather() -> DailyWeather:
    """Thirty generated winters of the invented place; the same every time."""
    made = generate_daily(
        NORMALS,
        first_harvest_year=FIRST_HARVEST_YEAR,
        winters=WINTERS,
        latitude=LATITUDE,
        seed=SEED,
    )
    return replace(made, source=DEMO_SOURCE.format(seed=SEED))


def demo_files(weather: Path | None = None) -> dict[str, str]:
    """Names and texts of the demo's files.

    weather : a real daily record to use in place of the generated one; it is named in the plan,
        not copied.
    """
    if weather is not None:
        return {PLAN_NAME: demo_plan(weather.resolve().as_posix())}
    # The weather first: a plan never stands there without what it names.
    return {WEATHER_NAME: house_csv(demo_weather()), PLAN_NAME: demo_plan(WEATHER_NAME)}


def changed_files(folder: Path, texts: dict[str, str]) -> tuple[str, ...]:
    """Names of files that stand in the folder with another text; these are not written over."""
    return tuple(
        name
        for name, text in texts.items()
        if (folder / name).exists() and (folder / name).read_bytes() != text.encode()
    )


def write_demo(folder: Path, texts: dict[str, str]) -> Path:
    """Write the demo's files into a folder (made if it is missing); returns the plan's path."""
    folder.mkdir(parents=True, exist_ok=True)
    write_all({folder / name: text.encode() for name, text in texts.items()})
    return folder / PLAN_NAME
