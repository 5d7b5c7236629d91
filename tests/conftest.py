"""Shared fixtures."""

from __future__ import annotations

from pathlib import Path

import pytest

CHECKOUT = Path(__file__).resolve().parent.parent
REFERENCE = CHECKOUT.parent / "shared" / "reference"


@pytest.fixture(scope="session")
def checkout() -> Path:
    """Root of the checkout."""
    return CHECKOUT


@pytest.fixture(scope="session")
def reference_weather() -> Path:
    """Folder with long real weather and bloom series, which are never committed."""
    folder = REFERENCE / "weather"
    if not folder.is_dir():
        pytest.skip("the long real series are not beside this checkout")
    return folder
