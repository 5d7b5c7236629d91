"""Tables with a heading, whoever wrote them: find the heading, convert the columns.

A unit in the heading is believed and converted with a note. Without a unit, °C is taken where the
values can be °C, and said; a record of all twelve months that cannot be °C is converted from the
unit that fits, with a warning; a shorter one is refused. The other quantities follow the system
of the temperatures (°F: inches and miles an hour; tenths: tenths).
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass

import numpy as np

from pollinet.domain import FloatArray
from pollinet.findings import Finding, has_errors
from pollinet.messages import listing, mark, say
from pollinet.readers.weather.cells import Times, days, join, moments, numbers
from pollinet.readers.weather.folding import folded
from pollinet.readers.weather.names import CONVERSIONS, Meaning, Quantity, meaning
from pollinet.readers.weather.record import likely_unit
from pollinet.readers.weather.samples import Samples, readable, within_days
from pollinet.readers.weather.table import HEAD_LINES, Table, delimiter_of, read_table, split

_DEFAULTS: dict[str, dict[Quantity, str]] = {
    "C": {"rain": "mm", "wind": "m/s"},
    "K": {"rain": "mm", "wind": "m/s"},
    "F": {"rain": "in", "wind": "mph"},
    "tenths of °C": {"rain": "tenths of mm", "wind": "tenths of m/s"},
}

Columns = Mapping[Quantity, tuple[int, Meaning]]
"""Quantity → (index of the column, what its heading says); the first column of each kind."""

_TEMPERATURES: tuple[Quantity, ...] = ("low", "high", "air")


@dataclass(frozen=True)
class Heading:
    """Where the heading stands (index of its line) and what its columns hold."""

    line: int
    columns: Columns


def columns_of(cells: list[str]) -> dict[Quantity, tuple[int, Meaning]]:
    """The first column of each quantity that we use."""
    found: dict[Quantity, tuple[int, Meaning]] = {}
    for index, cell in enumerate(cells):
        known = meaning(cell)
        if known is None:
            continue
        quantity = known.quantity
        if quantity == "date" and "date" in found and cell.strip().lower().startswith("time"):
            quantity = "clock"  # a table with both `date` and `time`
        found.setdefault(quantity, (index, known))
    return found


def find_heading(head: str) -> Heading | None:
    """The first line that names a date and a temperature; None where there is none."""
    for number, line in enumerate(head.splitlines()[:HEAD_LINES]):
        if line.startswith("#"):
            continue
        columns = columns_of(split(line, delimiter_of(line)))
        dated = "date" in columns or {"year", "month", "day"} <= columns.keys()
        dated |= {"year", "day_of_year"} <= columns.keys()
        if dated and any(quantity in columns for quantity in _TEMPERATURES):
            return Heading(number, columns)
    return None


def headed_samples(
    text: str, file: str
) -> tuple[Table, Columns, Samples | None, tuple[Finding, ...]]:
    """The table under a heading that `find_heading` finds, its columns, and what they hold."""
    heading = find_heading(text)
    if heading is None:
        raise ValueError("read is for text that recognise accepts")
    table, findings = read_table(text, file, heading.line)
    return table, heading.columns, *table_samples(table, file, heading.columns, findings)


def table_samples(
    table: Table,
    file: str,
    columns: Columns,
    earlier: tuple[Finding, ...] = (),
) -> tuple[Samples | None, tuple[Finding, ...]]:
    """Columns of text to samples in °C, mm and m/s."""
    twice = _told_twice(table, file, columns)
    if has_errors(twice):
        return None, (*earlier, *twice)
    times, utc = _times(table, columns)
    place = table.names[columns.get("date", columns.get("year", (0, None)))[0]]
    findings = earlier + twice + readable(times, table.lines, file, place)
    raw: dict[Quantity, FloatArray] = {}
    for quantity in (*_TEMPERATURES, "rain", "wind"):
        if quantity in columns:
            raw[quantity], bad = numeric_column(table, columns[quantity][0], file)
            findings += bad
    kept, more = _extremes(raw, times, table, file)
    findings += more
    if kept is None:
        return None, findings
    converted, more = _converted(kept, times, table, file, columns)
    findings += more
    if converted is None:
        return None, findings
    low, high = converted["low"], converted["high"]
    return (
        Samples(times, table.lines, low, high, converted.get("rain"), converted.get("wind"), utc),
        findings,
    )


def _told_twice(table: Table, file: str, columns: Columns) -> tuple[Finding, ...]:
    """A column that stands there twice is an error; one that means the same is noted."""
    findings: tuple[Finding, ...] = ()
    for index, name in enumerate(table.names):
        known = meaning(name)
        if known is None or known.quantity not in ("date", "low", "high"):
            continue
        used = columns.get(known.quantity, (index, known))[0]
        if used == index or columns.get("clock", (None, known))[0] == index:
            continue
        if name.casefold() == table.names[used].casefold():
            message = say("The column {column} stands there twice.", column=name)
            cure = say("Keep the one that is right.")
            return (Finding("error", "repeated-column", message, file, name, cure=cure),)
        message = say("The column {other} is not read, as {column} tells the same.",
                      other=name, column=table.names[used])  # fmt: skip
        findings += (Finding("note", "unread-column", message, file, name),)
    return findings


def numeric_column(table: Table, index: int, file: str) -> tuple[FloatArray, tuple[Finding, ...]]:
    """The numbers of a column, and an error finding for cells that are not numbers."""
    values, bad = numbers(table.columns[index], table.decimal_comma)
    wrong = [table.columns[index][row] for row in np.flatnonzero(bad)[:1]]
    return values, folded(
        "error",
        "bad-number",
        say("“{cell}” is not a number", cell=wrong[0] if wrong else ""),
        file,
        table.lines[bad],
        place=table.names[index],
        cure=say("Write numbers with a decimal point; leave a missing value empty."),
    )


def _times(table: Table, columns: Columns) -> tuple[Times, bool]:
    """Moments of the rows, and whether they are UTC."""

    def cells(quantity: Quantity) -> tuple[str, ...]:
        return table.columns[columns[quantity][0]]

    utc = any(known.utc for _, known in columns.values())
    if "date" in columns and "clock" not in columns:
        times, marked = moments(cells("date"))
        return times, utc or marked
    if "date" in columns:
        dates = days(cells("date"))
    elif "day_of_year" in columns:
        dates = _numbered_days(cells("year"), cells("day_of_year"))
    else:
        parts = zip(cells("year"), cells("month"), cells("day"), strict=True)
        dates = days([f"{y.strip()}-{m.strip():0>2}-{d.strip():0>2}" for y, m, d in parts])
    if "clock" not in columns:
        return dates.astype("datetime64[m]"), utc
    return join(dates, cells("clock")), utc


def _numbered_days(years: tuple[str, ...], numbered: tuple[str, ...]) -> Times:
    """Year and day of the year (1 January is 1) to days."""
    first = days([f"{year.strip()}-01-01" for year in years])
    number, bad = numbers(numbered)
    bad = bad | np.isnan(number) | (number < 1) | (number > 366)
    dates: Times = first + (np.where(bad, 1, number).astype(np.int64) - 1)
    dates[bad] = np.datetime64("NaT")
    return dates


def _extremes(
    raw: Mapping[Quantity, FloatArray],
    times: Times,
    table: Table,
    file: str,
) -> tuple[dict[Quantity, FloatArray] | None, tuple[Finding, ...]]:
    """Lowest and highest temperature of each row; a lone temperature within the day is both."""
    if "low" in raw and "high" in raw:
        return {q: values for q, values in raw.items() if q != "air"}, ()
    if "air" in raw and within_days(times):
        others = {q: values for q, values in raw.items() if q not in _TEMPERATURES}
        return {**others, "low": raw["air"], "high": raw["air"]}, ()
    found = ", ".join(table.names)
    if "low" in raw:
        wanting = say(
            "No column with the highest temperature of the day was found among {columns}.",
            columns=found,
        )
    elif "high" in raw:
        wanting = say(
            "No column with the lowest temperature of the day was found among {columns}.",
            columns=found,
        )
    else:
        wanting = say(
            "No column with the lowest and highest temperature of the day was found among "
            "{columns}.",
            columns=found,
        )
    cure = say("A daily record needs tmin_c and tmax_c; a mean alone is not enough.")
    return None, (Finding("error", "missing-column", wanting, file, cure=cure),)


def _converted(
    raw: Mapping[Quantity, FloatArray],
    times: Times,
    table: Table,
    file: str,
    columns: Columns,
) -> tuple[dict[Quantity, FloatArray] | None, tuple[Finding, ...]]:
    """Values in °C, mm and m/s; None where the unit of the temperatures cannot be told."""
    heads = {q: columns[q if q in columns else "air"] for q in raw}
    strange = [q for q in raw if heads[q][1].unit is None]
    findings = tuple(_strange_unit(table.names[heads[q][0]], q, file) for q in strange)
    if "low" in strange or "high" in strange:
        return None, findings
    guess, more = _temperature_unit(raw, times.astype("datetime64[D]"), heads, file)
    findings += more
    if guess is None:
        return None, findings
    defaults = {"low": guess, "high": guess, **_DEFAULTS[guess]}
    units = {q: heads[q][1].unit or defaults[q] for q in raw if q not in strange}
    changed = {table.names[heads[q][0]]: u for q, u in units.items() if CONVERSIONS[u] != (1, 0)}
    if changed and not more:
        units_of = [
            say("{column} from {unit}", column=name, unit=_shown(unit))
            for name, unit in changed.items()
        ]
        message = say("Converted to °C, mm and m/s: {units}.", units=listing(units_of))
        findings += (Finding("note", "converted-unit", message, file),)
    return {
        q: raw[q] * CONVERSIONS[unit][0] + CONVERSIONS[unit][1] for q, unit in units.items()
    }, findings


def _temperature_unit(
    raw: Mapping[Quantity, FloatArray],
    dates: Times,
    heads: Columns,
    file: str,
) -> tuple[str | None, tuple[Finding, ...]]:
    """The unit of the temperatures: the heading's, else the one that fits the values."""
    if named := heads["low"][1].unit or heads["high"][1].unit:
        return named, ()
    unit = likely_unit(dates, raw["low"], raw["high"])
    if unit == "C":
        message = say("The heading names no unit for the temperatures; they were taken as °C.")
        return unit, (Finding("note", "assumed-unit", message, file),)
    months = np.unique(dates[~np.isnat(dates)].astype("datetime64[M]").astype(np.int64) % 12)
    whole_year = months.size == 12
    pattern = (
        mark(
            "The heading names no unit and the temperatures cannot be °C; they look like {unit} "
            "and were converted."
        )
        if whole_year
        else mark(
            "The heading names no unit and the temperatures cannot be °C; they look like {unit}, "
            "but less than a year does not show it."
        )
    )
    finding = Finding(
        "warning" if whole_year else "error",
        "guessed-unit",
        say(pattern, unit=_shown(unit)),
        file,
        cure=say("Name the unit in the heading, as in tmin_c or tmin_f."),
    )
    return (unit if whole_year else None), (finding,)


def _shown(unit: str) -> str:
    """A unit as people write it."""
    named = {"C": "°C", "F": "°F", "tenths of °C": say("tenths of °C")}
    return named.get(unit, unit)


def _strange_unit(name: str, quantity: Quantity, file: str) -> Finding:
    """A unit that we do not know: without it a temperature is of no use, rain is left out."""
    needed = quantity in ("low", "high")
    return Finding(
        "error" if needed else "warning",
        "unknown-unit",
        say("The unit of {column} is not known.", column=name)
        if needed
        else say("The unit of {column} is not known; the column was left out.", column=name),
        file,
        name,
        cure=say("Use °C (or °F), mm and m/s."),
    )
