"""Odd plans: refused with place and cure, told, or plainly meant; never a fault."""

from __future__ import annotations

from pathlib import Path

import odd_plans
import pytest
from oddities import all_faults, tried

ONE_OF = 6
LEAST = 300
"""So many cases are tried on every run at least."""


def test_odd_plans(tmp_path: Path) -> None:
    often, _ = tried(odd_plans.cases(), ONE_OF)
    assert len(often) >= LEAST
    assert all_faults(often, tmp_path) == []


@pytest.mark.long
def test_all_other_odd_plans(tmp_path: Path) -> None:
    _, seldom = tried(odd_plans.cases(), ONE_OF)
    assert all_faults(seldom, tmp_path) == []
