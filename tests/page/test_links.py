"""Every link of every screen leads to a screen, with and without something tried."""

from __future__ import annotations

import shutil
from collections import deque
from html.parser import HTMLParser
from pathlib import Path
from urllib.parse import parse_qs, unquote, urljoin, urlsplit

import pytest
from conftest import HOST, browser
from flask import Flask
from flask.testing import FlaskClient
from visitor import HOST as VISITED
from visitor import Visitor

MOST = 400
"""More addresses than the demo has screens; those of alternatives and varieties repeat."""

ALIKE = 3
"""Addresses of one screen that are looked at, with and without something tried: limbs are alike."""

NO_SCREENS = {
    "static", "strips_sheet", "language_chosen", "names.show", "take_along.show",
    "orchard.again", "orchard.as_text", "place.back", "tryout.add", "tryout.beside",
    "download.graph", "download.labels", "download.picture", "download.plan_file",
    "download.report", "download.work", "download.work_sheet",
}  # fmt: skip
"""Addresses that answer with a file, a part of a screen, or the way to a screen."""

Links = dict[str, list[str]]


class _Links(HTMLParser):
    def __init__(self) -> None:
        super().__init__()
        self.found: list[str] = []

    def handle_starttag(self, tag: str, attrs: list[tuple[str, str | None]]) -> None:
        told = dict(attrs)
        if tag == "a" and (href := told.get("href")) and not href.startswith("#"):
            self.found.append(href)


def walked(client: FlaskClient, *start: str, host: str = HOST) -> Links:
    """The links of each screen that links lead to, by its address; each of them answers."""
    urls = client.application.url_map.bind(host)
    waiting, seen, kinds, found = deque(start), set(start), {}, {}
    while waiting:
        address = waiting.popleft()
        answer = client.get(address, base_url=f"http://{host}")
        assert answer.status_code in (200, 302), address
        if answer.mimetype != "text/html" or answer.status_code != 200:
            continue
        reader = _Links()
        reader.feed(answer.get_data(as_text=True))
        found[address] = reader.found
        for link in reader.found:
            target = urljoin(address, link)
            parts = urlsplit(target)
            if parts.netloc or target in seen or parts.path.startswith(("/download", "/take-")):
                continue
            kind = (urls.match(parts.path)[0], "try=" in parts.query)
            kinds[kind] = kinds.get(kind, 0) + 1
            if kinds[kind] <= ALIKE:
                seen.add(target)
                waiting.append(target)
    assert len(seen) < MOST
    return found


@pytest.fixture(scope="module")
def links(read_only_app: Flask, demo: Path, tmp_path_factory: pytest.TempPathFactory) -> Links:
    """The links of all screens: of the demo, of one whose label is lost, of one that is begun."""
    found = walked(
        read_only_app.test_client(),
        *(
            "/",
            "/try?try=change:C-mid:Kordia",
            "/stock/add/scion?fruit=apple",
            "/donors?limb=C-mid",
        ),
    )
    folder = tmp_path_factory.mktemp("links")
    shutil.copytree(demo, folder / "lost")
    plan = folder / "lost" / "plan.toml"
    plan.write_text(plan.read_text().replace('variety = "Regina"', 'variety = "?"'))
    found |= walked(browser(plan), "/lost-label/C-mid")
    begun = Visitor(folder / "new" / "plan.toml", "en").go("/")
    begun.fill("/begin", latitude="46", longitude="7", elevation_m="430", name="Hill", act="next")
    key = begun.at.split("/")[2]
    steps = ("/begin", f"/begin/{key}/place", f"/begin/{key}/add/tree?fruit=apple")
    return found | walked(begun.client, *steps, host=VISITED)


def test_every_link_leads_to_a_screen(links: Links, read_only_app: Flask) -> None:
    urls = read_only_app.url_map.bind(HOST)
    seen = {urls.match(urlsplit(address).path)[0] for address in links}
    addresses = {rule.endpoint for rule in urls.map.iter_rules() if "GET" in (rule.methods or ())}
    assert addresses - seen == NO_SCREENS


def test_the_other_language_keeps_the_place(links: Links) -> None:
    for address, found in links.items():
        (back,) = (
            parse_qs(urlsplit(link).query)["back"][0]
            for link in found
            if link.startswith("/language/")
        )
        assert unquote(back) == unquote(address)
