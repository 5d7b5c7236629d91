"""The table of the coldest zone in which each fruit is usually grown, `hardiness.csv`."""

from __future__ import annotations

from collections.abc import Mapping

from pollinet.readers.text_tables import shipped_rows


def load_hardiness() -> Mapping[str, float]:
    """The coldest hardiness zone of each fruit, for varieties of which none is told."""
    return {row["fruit"]: row["zone"] for row in shipped_rows("hardiness.csv")}
