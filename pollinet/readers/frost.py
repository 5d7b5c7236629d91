"""The table of temperatures that kill flowers, `frost.csv`."""

from __future__ import annotations

from collections.abc import Mapping

from pollinet.domain import Stage
from pollinet.readers.text_tables import shipped_rows


def load_frost_limits() -> Mapping[str, Mapping[Stage, tuple[float, float]]]:
    """Temperatures that kill 10 % and 90 % of the flowers, by fruit and stage. [°C]"""
    limits: dict[str, dict[Stage, tuple[float, float]]] = {}
    for row in shipped_rows("frost.csv"):
        limits.setdefault(row["fruit"], {})[row["stage"]] = (row["kill_10_c"], row["kill_90_c"])
    return limits
