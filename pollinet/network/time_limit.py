"""How long a search may take, by a clock that is handed in: the stages have none of their own."""

from __future__ import annotations

from collections.abc import Callable

Clock = Callable[[], float]
"""Seconds since some moment, such as `time.monotonic`."""

TimeLeft = Callable[[], float | None]
"""Asked before each run: how long it may take; None: no limit. [s]"""


def no_limit() -> None:
    """As long as it takes."""


def time_left(limit_s: float | None, clock: Clock | None = None) -> TimeLeft:
    """Count down from now; without a clock each run may take the whole limit."""
    if limit_s is None or clock is None:
        return lambda: limit_s
    end = clock() + limit_s
    return lambda: max(0.0, end - clock())
