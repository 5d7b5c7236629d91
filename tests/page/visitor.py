"""A grower's browser as Flask's test client: reads forms, presses their buttons, follows."""

from __future__ import annotations

import re
from dataclasses import dataclass, field
from html import unescape
from html.parser import HTMLParser
from pathlib import Path
from typing import Any

from pollinet.page.app import create_app

HOST = "127.0.0.1:1"
TOKEN = "a token of the tests"


@dataclass
class Form:
    """A form of a page: where it goes, what it holds, and its buttons."""

    action: str
    method: str
    values: dict[str, str] = field(default_factory=dict)
    buttons: list[tuple[str, str]] = field(default_factory=list)


class _Forms(HTMLParser):
    def __init__(self) -> None:
        super().__init__()
        self.forms: list[Form] = []
        self.inside = False

    def handle_starttag(self, tag: str, attrs: list[tuple[str, str | None]]) -> None:
        told = {name: value or "" for name, value in attrs}
        if tag == "form":
            self.forms.append(Form(told.get("action", ""), told.get("method", "get")))
            self.inside = True
        elif self.inside and tag in ("input", "select", "textarea") and told.get("name"):
            self.forms[-1].values[told["name"]] = told.get("value", "")
        elif self.inside and tag == "button" and "name" in told:
            self.forms[-1].buttons.append((told["name"], told.get("value", "")))

    def handle_endtag(self, tag: str) -> None:
        self.inside = self.inside and tag != "form"


class Visitor:
    """Looks at one plan; `at` is the address last seen, `text` its page, `code` its status."""

    def __init__(self, plan: Path, language: str | None = None) -> None:
        self.app = app = create_app(plan, hosts={HOST}, token=TOKEN, language=language)
        app.testing = True
        self.client = app.test_client()
        self.at, self.text, self.code = "", "", 0

    def go(self, address: str) -> Visitor:
        """Open an address."""
        return self._seen(
            self.client.get(address, base_url=f"http://{HOST}", follow_redirects=True)
        )

    def send(self, address: str, files: bool = False, **values: Any) -> Visitor:
        """Send a form to an address, with its token."""
        answer = self.client.post(
            address,
            base_url=f"http://{HOST}",
            data={"token": TOKEN, **values},
            follow_redirects=True,
            content_type="multipart/form-data" if files else None,
        )
        return self._seen(answer)

    def form(self, part: str) -> Form:
        """The one form whose address ends with this part."""
        reader = _Forms()
        reader.feed(self.text)
        (found,) = (one for one in reader.forms if one.action.partition("?")[0].endswith(part))
        return found

    def fill(self, part: str, **values: str) -> Visitor:
        """Fill in the form whose address ends with this part, and send it."""
        form = self.form(part)
        assert form.method == "post"
        return self.send(form.action, **{**form.values, **values})

    def _seen(self, answer: Any) -> Visitor:
        self.at, self.code = answer.request.path, answer.status_code
        self.text = answer.get_data(as_text=True)
        return self

    @property
    def words(self) -> str:
        """What can be read on the page."""
        return " ".join(unescape(re.sub(r"<[^>]+>", " ", self.text)).split())
