"""Bloom dates as a person types them in a plan → intervals of days of the year."""

from __future__ import annotations

from typing import Any

from pollinet.days import day_of_year, season_day
from pollinet.domain import Fruit, TypedBloom
from pollinet.findings import Finding
from pollinet.messages import say
from pollinet.readers.plan_schema import VarietyTable
from pollinet.readers.toml_words import shown


def typed_bloom(
    entry: VarietyTable, latitude: float, file: str, place: str
) -> tuple[TypedBloom | None, list[Finding]]:
    """The bloom of one [[variety]], or None; findings say what is wrong with it.

    `bloom` holds dates such as `"04-10"`, `bloom_days` days of the year; one pair of first and
    last day, or one such pair for each of several springs.
    """
    if entry.bloom is not None and entry.bloom_days is not None:
        return None, [
            Finding("error", "two-blooms", say("both bloom and bloom_days are given"), file, place,
                    cure=say("keep the one you trust"))
        ]  # fmt: skip
    return _typed(entry, "bloom_days" if entry.bloom is None else "bloom", latitude, file, place)


def typed_shed(
    entry: VarietyTable, fruit: Fruit, latitude: float, file: str, place: str
) -> tuple[TypedBloom | None, list[Finding]]:
    """When the catkins of one [[variety]] shed pollen, written as its `bloom`; None: not told."""
    if entry.pollen_shed is not None and not fruit.shed_apart:
        message = say("a {fruit} sheds its pollen with its bloom", fruit=say(fruit.name))
        where, cure = f"{place}, pollen_shed", say("give bloom alone")
        return None, [Finding("error", "wrong-bloom", message, file, where, cure=cure)]
    return _typed(entry, "pollen_shed", latitude, file, place)


def _typed(
    entry: VarietyTable, key: str, latitude: float, file: str, place: str
) -> tuple[TypedBloom | None, list[Finding]]:
    value = getattr(entry, key)
    if value is None:
        return None, []
    many = isinstance(value, list) and bool(value) and isinstance(value[0], list)
    intervals = [_interval(pair) for pair in (value if many else [value])]
    if any(interval is None for interval in intervals):
        allowed = "[100, 110]" if key == "bloom_days" else '["04-10", "04-20"]'
        return None, [
            Finding("error", "wrong-bloom",
                    say("found {found}, allowed is first and last day as {allowed}",
                        found=shown(value), allowed=allowed),
                    file, f"{place}, {key}",
                    cure=say("several springs: a list of such pairs, one for each spring"))
        ]  # fmt: skip
    good = tuple(interval for interval in intervals if interval is not None)
    backward = [
        typed
        for typed, (first, last) in zip(value if many else [value], good, strict=True)
        if season_day(latitude, last) < season_day(latitude, first)
    ]
    if backward:
        message = say("bloom ends before it begins: {found}", found=shown(backward[0]))
        return None, [
            Finding("error", "wrong-bloom", message, file, f"{place}, {key}",
                    cure=say("give the first day first"))
        ]  # fmt: skip
    return TypedBloom(good, entry.bloom_sd_days), []


def _interval(pair: Any) -> tuple[float, float] | None:
    if not isinstance(pair, list) or len(pair) != 2:
        return None
    first, last = _day(pair[0]), _day(pair[1])
    return None if first is None or last is None else (first, last)


def _day(value: Any) -> float | None:
    """Day of the year from `"04-10"` or a number; None if it is neither."""
    if isinstance(value, int | float) and not isinstance(value, bool):
        return float(value) if 1 <= value <= 366 else None
    if isinstance(value, str):
        month, _, day = value.partition("-")
        if month.isdecimal() and day.isdecimal() and 1 <= int(month) <= 12:
            longest = (31, 29, 31, 30, 31, 30, 31, 31, 30, 31, 30, 31)[int(month) - 1]
            if 1 <= int(day) <= longest:
                return float(day_of_year(int(month), int(day)))
    return None
