"""Odd logs, sheets and notes: refused with place and cure, told, or meant; never a fault."""

from __future__ import annotations

from pathlib import Path

import odd_logs
import pytest
from oddities import all_faults, tried

ONE_OF = 7
LEAST = 200
"""So many cases are tried on every run at least."""


def test_odd_logs(tmp_path: Path) -> None:
    often, _ = tried(odd_logs.cases(), ONE_OF)
    assert len(often) >= LEAST
    assert all_faults(often, tmp_path) == []


@pytest.mark.long
def test_all_other_odd_logs(tmp_path: Path) -> None:
    _, seldom = tried(odd_logs.cases(), ONE_OF)
    assert all_faults(seldom, tmp_path) == []
