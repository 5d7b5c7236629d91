"""Places to ask about: a table of them, a grid, or a folder of weather files.

A row that cannot be used stays a place, with what is wrong with it: one slip among thousands of
rows stops nothing. Only what makes the whole table useless is an error of its own.
"""

from __future__ import annotations

import csv
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass
from math import floor, hypot, inf
from pathlib import Path

from pollinet.files import read_whole, reason_of
from pollinet.findings import Finding
from pollinet.messages import Message, listing, mark, say
from pollinet.readers.names import LIKE_A_WORD, nearest_first, suggest
from pollinet.readers.plan_bounds import ELEVATION_M, LATITUDE, LONGITUDE
from pollinet.readers.typed_numbers import EAST, NORTH, degrees, value_of
from pollinet.readers.weather.table import delimiter_of

COLUMNS = ("name", "latitude", "longitude", "elevation_m", "weather")
"""Columns of a table of places; the last two may be left out, and cells of theirs be empty."""

MOST_PLACES = 100_000
"""More places than that are a slip in a step or a box. Own convention."""

WORDS = {
    "latitude": (LATITUDE, mark("degrees, south of the equator negative")),
    "longitude": (LONGITUDE, mark("degrees, west of Greenwich negative")),
    "elevation_m": (ELEVATION_M, mark("metres above the sea")),
}
"""Bounds of each number of a place, and what it is."""

DIRECTIONS = {"latitude": NORTH, "longitude": EAST}
"""Numbers that may be an angle, such as 47° 12' N."""


@dataclass(frozen=True)
class Place:
    """A place to ask about. latitude, longitude : degrees; None: its weather file tells.

    elevation_m : None: not told, and that of the stations near it stands in.
    weather : file of its daily record; None: winters are made from the stations near it.
    problem : what is wrong with its row; it then has no answer.
    """

    name: str
    latitude: float | None = None
    longitude: float | None = None
    elevation_m: float | None = None
    weather: Path | None = None
    problem: Finding | None = None


Read = tuple[tuple[Place, ...], tuple[Finding, ...]]
"""Places, none where a finding is an error; and findings on the whole table."""


def read_places(path: Path) -> Read:
    """A table of places; weather files are named from its own folder."""
    rows, findings = _rows(path, COLUMNS[:3])
    return tuple(_place(row, line, path) for line, row in rows), findings


def station_places(folder: Path) -> Read:
    """The weather files of a folder, by name; each must tell where it holds."""
    try:
        files = sorted(one for one in folder.iterdir() if not one.name.startswith("."))
        found = tuple(Place(_shown(one.stem), weather=one) for one in files if one.is_file())
    except OSError as problem:
        return (), (Finding("error", "unreadable-folder", reason_of(problem), str(folder)),)
    if found:
        return found, ()
    message = say("there is no file in this folder")
    return (), (Finding("error", "no-places", message, str(folder)),)


def grid_places(
    south: float,
    west: float,
    north: float,
    east: float,
    step: float,
    *,
    elevation_m: float | None = None,
    heights: Sequence[Place] = (),
) -> Read:
    """The points of a grid, from south-west on; both edges are in it where the step fits.

    step : between points, in latitude and in longitude. [degrees]
    elevation_m : height of all of them; None: not told, or as in `heights`.
    heights : places whose height each point takes over that lies no farther than half a step.
    """
    low, high = min(south, north), max(south, north)
    left, right = min(west, east), max(west, east)
    across, up = (floor((b - a) / step + 1e-9) + 1 for a, b in ((left, right), (low, high)))
    if across * up > MOST_PLACES:
        message = say("the grid has {number} points; {most} are the most", number=across * up,
                      most=MOST_PLACES)  # fmt: skip
        cure = say("take a larger step or a smaller box")
        return (), (Finding("error", "too-many-places", message, "--grid", cure=cure),)
    known = _Heights(heights, step)
    points = [
        (round(low + step * row, 6), round(left + step * column, 6))
        for row in range(up)
        for column in range(across)
    ]
    return tuple(
        Place(
            _point_name(*point),
            *point,
            known.at(*point) if elevation_m is None else elevation_m,
        )
        for point in points
    ), ()


def read_heights(path: Path) -> Read:
    """A table of heights, `latitude,longitude,elevation_m`; rows without all three are left out."""
    rows, findings = _rows(path, COLUMNS[1:4])
    places = (_place({"name": "height", **row}, line, path) for line, row in rows)
    return tuple(p for p in places if p.problem is None and p.elevation_m is not None), findings


class _Heights:
    """Known heights by the cells of a grid, so that the nearest is found at once."""

    def __init__(self, places: Iterable[Place], step: float) -> None:
        self.step = step
        self.cells: dict[tuple[int, int], list[Place]] = {}
        for place in places:
            assert place.latitude is not None and place.longitude is not None
            self.cells.setdefault(self._cell(place.latitude, place.longitude), []).append(place)

    def _cell(self, latitude: float, longitude: float) -> tuple[int, int]:
        return floor(latitude / self.step), floor(longitude / self.step)

    def at(self, latitude: float, longitude: float) -> float | None:
        row, column = self._cell(latitude, longitude)
        near = [
            (max(abs(p.latitude - latitude), abs(p.longitude - longitude)),  # type: ignore[operator]
             hypot(p.latitude - latitude, p.longitude - longitude), p.elevation_m)  # type: ignore[operator]
            for r in (row - 1, row, row + 1)
            for c in (column - 1, column, column + 1)
            for p in self.cells.get((r, c), ())
        ]  # fmt: skip
        fit = [(far, height) for off, far, height in near if off <= self.step / 2 + 1e-9]
        return min(fit, key=lambda one: one[0])[1] if fit else None


def _point_name(latitude: float, longitude: float) -> str:
    north, east = "N" if latitude >= 0 else "S", "E" if longitude >= 0 else "W"
    return f"{abs(latitude):g} {north}, {abs(longitude):g} {east}"


# --- the table -------------------------------------------------------------------------------


def _rows(
    path: Path, needed: Sequence[str]
) -> tuple[list[tuple[int, Mapping[str, str]]], tuple[Finding, ...]]:
    """Rows by column with their lines; none where the table cannot be used."""
    file = str(path)
    try:
        text = read_whole(path).decode("utf-8-sig")
    except (OSError, UnicodeDecodeError) as problem:
        return [], (Finding("error", "unreadable-file", reason_of(problem), file),)
    lines = text.splitlines()
    try:
        reader = csv.reader(lines, delimiter=delimiter_of(_header(lines)))
        told = [(reader.line_num, cells) for cells in reader if any(cells)]
    except csv.Error:
        message = say("a cell is too long, or the quotes do not fit")
        return [], (Finding("error", "wrong-table", message, file, line=reader.line_num),)
    told = [(line, cells) for line, cells in told if not cells[0].lstrip().startswith("#")]
    header = [cell.strip().casefold() for cell in told[0][1]] if told else []
    missing = [column for column in needed if column not in header]
    twice = sorted({column for column in header if column and header.count(column) > 1})
    surplus = [column for column in header if column and column not in COLUMNS]
    every = say("Its columns are: {columns}.", columns=listing(COLUMNS))
    findings = []
    if missing:
        message = say("The table has no column {columns}.", columns=listing(missing))
        cure = nearest_first(_near(missing, surplus), every)
        findings.append(Finding("error", "missing-column", message, file, line=1, cure=cure))
    if twice:
        message = say("The column {columns} stands there twice.", columns=listing(twice))
        findings.append(Finding("error", "repeated-column", message, file, line=1, cure=every))
    rows = told[1:]
    if not findings and not rows:
        findings.append(Finding("error", "no-places", say("there is no row in this table"), file))
    if len(rows) > MOST_PLACES:
        message = say("the table has {number} rows; {most} are the most", number=len(rows),
                      most=MOST_PLACES)  # fmt: skip
        findings.append(Finding("error", "too-many-places", message, file))
    if findings:
        return [], tuple(findings)
    if surplus:
        message = say("The column {columns} is not known and is not read.",
                      columns=listing([_shown(one) for one in surplus]))  # fmt: skip
        near = _near(surplus, [column for column in COLUMNS if column not in header])
        cure = nearest_first(near, every)
        findings.append(Finding("warning", "unknown-column", message, file, line=1, cure=cure))
    padded = [(line, [*cells, *[""] * len(header)][: len(header)]) for line, cells in rows]
    by_column: list[tuple[int, Mapping[str, str]]] = [
        (line, dict(zip(header, cells, strict=True))) for line, cells in padded
    ]
    return by_column, tuple(findings)


def _header(lines: Sequence[str]) -> str:
    """The line that names the columns."""
    told = (line for line in lines if line.strip(" ,;\t") and not line.lstrip().startswith("#"))
    return next(told, "")


def _near(names: Iterable[str], known: Sequence[str]) -> list[str]:
    """Of each name the one that is nearest, where one is near."""
    near = (one for name in names for one in suggest(name, known, 1, least=LIKE_A_WORD))
    return [_shown(one) for one in dict.fromkeys(near)]


def _place(row: Mapping[str, str], line: int, path: Path) -> Place:
    """The place of a row, with the first thing that is wrong with it."""
    cells = {name: row.get(name, "").strip() for name in COLUMNS}
    numbers, problems = {}, []
    for column in WORDS:
        numbers[column], problem = _number(cells[column], column, bool(cells["weather"]))
        problems += [problem] if problem else []
    name = _shown(cells["name"])
    found = None
    if problems:
        code, message = problems[0]
        found = Finding("error", code, message, path.name, line=line)
    weather = cells["weather"]
    usable = bool(weather) and "\0" not in weather
    return Place(
        name or say("line {line}", line=line),
        **numbers,
        weather=path.parent / weather if usable else None,
        problem=found,
    )


def _number(
    text: str, column: str, has_weather: bool
) -> tuple[float | None, tuple[str, Message] | None]:
    """A number of a place; None where it may be left out."""
    (low, high), what = WORDS[column]
    if not text:
        # A weather file may tell where it holds; a height may stay unknown.
        if column == "elevation_m" or has_weather:
            return None, None
        return None, ("missing-value", say("The cell {column} is empty.", column=column))
    value = _value(text, column) if len(text) < 40 else None
    if value is None:
        return None, ("wrong-type", say("'{value}' is not a number.", value=_shown(text[:40])))
    if not low <= value <= high:
        outside = say("{column} is {value:g}; allowed is {low:g} to {high:g} ({what})",
                      column=column, value=value, low=low, high=high, what=say(what))  # fmt: skip
        return None, ("out-of-range", outside)
    return value, None


def _value(text: str, column: str) -> float | None:
    """A number, perhaps with a decimal comma, or an angle; None: it is neither."""
    value = value_of(text)
    if value is None and column in DIRECTIONS:
        value, _ = degrees(text, (-inf, inf), DIRECTIONS[column])
    return value


def _shown(text: str) -> str:
    """A text without signs that steer a terminal."""
    return "".join(sign if sign.isprintable() else "\N{REPLACEMENT CHARACTER}" for sign in text)
