"""The table of temperatures that kill flowers, `frost.csv`."""

from __future__ import annotations

import csv
from collections.abc import Mapping

from pollinet.catalogue_files import catalogue_root, table_text
from pollinet.domain import Stage
from pollinet.errors import CatalogueMissing

_STAGES: dict[str, Stage] = {"start": "start", "full": "full"}


def load_frost_limits() -> Mapping[str, Mapping[Stage, tuple[float, float]]]:
    """Temperatures that kill 10 % and 90 % of the flowers, by fruit and stage. [°C]"""
    text = table_text(catalogue_root(), "frost.csv")
    if text is None:
        raise CatalogueMissing("frost.csv is not among the catalogues")
    limits: dict[str, dict[Stage, tuple[float, float]]] = {}
    for row in csv.DictReader(text.splitlines()):
        pair = (float(row["kill_10_c"]), float(row["kill_90_c"]))
        limits.setdefault(row["fruit"], {})[_STAGES[row["stage"]]] = pair
    return limits
