"""A garden for the page: the invented demo, copied for each test that writes."""

from __future__ import annotations

from collections.abc import Callable
from pathlib import Path

import pytest
from flask import Flask
from flask.testing import FlaskClient

from pollinet.page.app import create_app

HOST = "localhost"
TOKEN = "the-token-of-this-start"


@pytest.fixture(scope="session")
def read_only_app(demo: Path) -> Flask:
    """The page on the demo: what it has worked out serves all tests that write nothing."""
    return create_app(demo / "plan.toml", hosts={HOST}, token=TOKEN, language="en")


@pytest.fixture
def read_only(read_only_app: Flask) -> FlaskClient:
    """A browser without cookies on the demo, for tests that look and try and write nothing."""
    return read_only_app.test_client()


@pytest.fixture
def client(plan: Path) -> FlaskClient:
    """A browser on a garden that may be written to."""
    return browser(plan)


def browser(plan: Path, language: str | None = "en") -> FlaskClient:
    """A browser on a plan, without a server between."""
    app: Flask = create_app(plan, hosts={HOST}, token=TOKEN, language=language)
    return app.test_client()


@pytest.fixture(scope="session")
def open_page() -> Callable[[Path], FlaskClient]:
    """`browser`, for tests with plans of their own."""
    return browser
