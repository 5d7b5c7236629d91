"""Every link of every screen leads to a screen, with and without something tried."""

from __future__ import annotations

from collections import deque
from html.parser import HTMLParser
from urllib.parse import urljoin, urlsplit

from flask.testing import FlaskClient

MOST = 400
"""More addresses than the demo has screens; those of alternatives and varieties repeat."""


class _Links(HTMLParser):
    def __init__(self) -> None:
        super().__init__()
        self.found: list[str] = []

    def handle_starttag(self, tag: str, attrs: list[tuple[str, str | None]]) -> None:
        told = dict(attrs)
        if tag == "a" and (href := told.get("href")) and not href.startswith("#"):
            self.found.append(href)


def test_every_link_leads_to_a_screen(read_only: FlaskClient) -> None:
    start = ["/", "/try?try=change:C-mid:Kordia"]
    waiting, seen, kinds = deque(start), set(start), {}
    while waiting:
        address = waiting.popleft()
        answer = read_only.get(address)
        assert answer.status_code in (200, 302), address
        if answer.mimetype != "text/html":
            continue
        links = _Links()
        links.feed(answer.get_data(as_text=True))
        for link in links.found:
            target = urljoin(address, link)
            parts = urlsplit(target)
            if parts.netloc or target in seen or parts.path.startswith(("/download", "/take-")):
                continue
            # One of each kind of address and stack is enough: limbs are alike.
            kind = (parts.path.split("/")[1], "try=" in parts.query)
            kinds[kind] = kinds.get(kind, 0) + 1
            if kinds[kind] <= 3:
                seen.add(target)
                waiting.append(target)
    assert 20 < len(seen) < MOST
