"""How long a search may take, by a clock that is handed in: the stages have none of their own."""

from __future__ import annotations

from collections.abc import Callable

Clock = Callable[[], float]
"""Seconds since some moment, such as `time.monotonic`."""

TimeLeft = Callable[[], float | None]
"""Asked before each run: how long it may take; None: no limit. [s]"""


SEARCH_LIMIT_S = 20.0
"""How long a search may take where nothing else is wished: own convention. [s]"""


def no_limit() -> None:
    """As long as it takes."""


def time_left(limit_s: float | None, clock: Clock | None = None) -> TimeLeft:
    """Count down from now; without a clock each run may take the whole limit."""
    if limit_s is None or clock is None:
        return lambda: limit_s
    end = clock() + limit_s
    return lambda: max(0.0, end - clock())


def part_of(left: TimeLeft, share: float) -> TimeLeft:
    """Count down a share of what is left now."""
    now = left()
    if now is None:
        return left
    kept = now * (1.0 - share)

    def part() -> float:
        return max(0.0, (left() or 0.0) - kept)

    return part


def is_over(left: TimeLeft) -> bool:
    """Whether no time is left."""
    seconds = left()
    return seconds is not None and seconds <= 0
