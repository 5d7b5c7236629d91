"""A garden in the browser, asked by Flask's test client."""

from __future__ import annotations

import html
import re
from collections.abc import Iterator
from contextlib import contextmanager
from dataclasses import dataclass
from pathlib import Path
from typing import Any

from flask import Flask
from flask.testing import FlaskClient

from pollinet.demo import demo_files, write_demo
from pollinet.page.app import create_app

HOST = "127.0.0.1:1"
TOKEN = "of these tests"


@dataclass(frozen=True)
class Browser:
    """Asks as a browser on this machine does."""

    app: Flask
    client: FlaskClient
    plan: Path

    def get(self, address: str, **more: Any) -> Any:
        return self.client.get(address, headers={"Host": HOST}, **more)

    def post(self, address: str, **values: str) -> Any:
        data = {"token": TOKEN, **values}
        return self.client.post(address, headers={"Host": HOST}, data=data)

    def text(self, address: str, code: int = 200) -> str:
        """The words of a page, without its marks, in one line."""
        answer = self.get(address)
        assert answer.status_code == code, answer.text
        body = re.sub(r"<[^>]+>", " ", answer.text.partition("<main")[2])
        return " ".join(html.unescape(body).split())


def browser_on(plan: Path, language: str | None = None) -> Browser:
    """A browser that has a garden before it."""
    app = create_app(plan, hosts={HOST}, token=TOKEN, language=language)
    return Browser(app, app.test_client(), plan)


@contextmanager
def on_demo(folder: Path, language: str | None = None) -> Iterator[Browser]:
    """The demo's garden in the browser; what it works out behind ends with it."""
    write_demo(folder, demo_files())
    made = browser_on(folder / "plan.toml", language)
    try:
        yield made
    finally:
        made.app.extensions["pollinet-behind"].close()
