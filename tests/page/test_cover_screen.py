"""What to graft, on the page: what the commands tell, sets to try, wishes, long questions."""

from __future__ import annotations

import json
import re
from collections.abc import Callable, Iterator
from pathlib import Path
from time import monotonic, sleep
from typing import Any
from urllib.parse import unquote

import pytest
from browsing import HOST, Browser, browser_on, on_demo
from flask import url_for
from gardens import O1, scions, tree, variety, written

from pollinet.page.behind import Job
from pollinet.page.links import graft_texts
from pollinet.page.questions import ANSWERS, FIELDS
from pollinet.page.screens.behind import SHOWN_ON

Run = Callable[..., Any]


@pytest.fixture(scope="module")
def demo(tmp_path_factory: pytest.TempPathFactory) -> Iterator[Browser]:
    """The demo's garden, opened once; tests that write take one of their own."""
    with on_demo(tmp_path_factory.mktemp("demo")) as browser:
        yield browser


LONG_S = 120.0


def done(browser: Browser) -> Job:
    """The last question that was asked behind, worked out."""
    behind = browser.app.extensions["pollinet-behind"]
    job: Job = list(behind._jobs.values())[-1]
    end = monotonic() + LONG_S
    while job.under_way and monotonic() < end:
        sleep(0.05)
    return job


@pytest.mark.parametrize(
    ("address", "words"),
    [
        ("/cover", ("cover",)),
        ("/cover?survive=1", ("cover", "--survive-loss")),
        ("/cover?sure=1&never=Kordia", ("cover", "--sure", "--never", "Kordia")),
        ("/cover?add=2", ("cover", "--add", "2")),
        ("/cover?level=9", ("cover", "--level", "0.9")),
        ("/cover?overlap=4,5", ("cover", "--min-overlap", "4.5")),
        ("/pollinizer?tree=cherry", ("pollinizer", "--tree", "cherry")),
        ("/donors?limb=C-mid", ("donors", "C-mid")),
        ("/wood", ("scions",)),
        ("/triploids", ("triploids",)),
        ("/without", ("without",)),
        ("/without?lost=C-top", ("without", "C-top")),
        ("/papers/season?max=1", ("season", "--max", "1")),
        ("/papers/chill", ("chill",)),
        ("/papers/balance", ("balance",)),
        ("/papers/work", ("work",)),
        ("/papers/weather", ("weather",)),
    ],
)
def test_a_screen_answers_as_its_command_does(
    demo: Browser, pollinet: Run, address: str, words: tuple[str, ...]
) -> None:
    command, *more = words
    told = pollinet(command, str(demo.plan), *more, "--json").data["answer"]
    shown = demo.text(address)
    # Names of commands are links to screens on the page.
    for piece in re.split(r"`[^`]*`", told):
        assert " ".join(piece.split()) in shown


def test_every_smallest_set_can_be_tried(demo: Browser, pollinet: Run) -> None:
    sets = pollinet("cover", str(demo.plan), "--json").data["alternatives"]
    links = re.findall(r'href="(/try\?[^"]*)"', demo.get("/cover").text)
    tried = [unquote(link.replace("+", " ")) for link in links]
    assert len(tried) == len(sets) > 1
    for names, link in zip(sets, tried, strict=True):
        assert all(f":{name}" in link for name in names)
    assert "9 of 9 limbs have a viable donor" in demo.text(links[0])


APART = (
    tree("early late"),
    scions("first last"),
    variety("early", "S1S2", [100, 108]), variety("first", "S3S4", [100, 108]),
    variety("late", "S5S6", [130, 138]), variety("last", "S7S8", [130, 138]),
)  # fmt: skip
"""Two limbs that bloom a month apart, each with a scion that would serve it alone."""


def test_a_set_of_several_is_tried_whole(tmp_path: Path, pollinet: Run) -> None:
    browser = browser_on(written(tmp_path, *APART))
    (added, *_) = pollinet("cover", browser.plan, "--json").data["alternatives"]
    link = re.findall(r'href="(/try\?[^"]*)"', browser.get("/cover").text)[0]
    tried = re.findall(r"graft:([^&]*)", unquote(link.replace("&amp;", "&")))
    assert [one.split(":")[2] for one in tried] == added
    assert len(added) > 1
    assert len({one.split(":")[1] for one in tried}) == len(added)


def test_no_graft_is_tried_where_a_disease_may_be(tmp_path: Path) -> None:
    # The tree with most room has fire blight, perhaps; two grafts, and room for one elsewhere.
    sick = tree("early", spare=9)
    sound = tree("late", spare=1).replace('id = "tree"', 'id = "sound"')
    plan = written(tmp_path, sick, sound, *APART[1:])
    log = "date,limb,kind,value,unit,note\n2026,early,disease,ooze,,\n"
    (tmp_path / "records.csv").write_text(log, encoding="utf-8")
    browser = browser_on(plan)
    with browser.app.test_request_context("/", headers={"Host": HOST}):
        made = graft_texts([{"species": "apple", "name": name} for name in ("first", "last")])
    assert [one.split(":")[:2] for one in made] == [["graft", "sound"]] * 2


def test_what_is_tried_is_kept_and_counted(demo: Browser) -> None:
    tried = "try=change:C-mid:Kordia"
    shown = demo.get(f"/cover?{tried}").text
    assert "nothing" in demo.text(f"/cover?{tried}").lower()
    assert 'name="try" value="change:C-mid:Kordia"' in shown
    assert "/wood?try=change:C-mid:Kordia" in unquote(shown)


@pytest.mark.parametrize(
    ("address", "words"),
    [
        ("/cover?must=Kordja", ("Kordja", "Kordia")),
        ("/cover?level=12", ("found 12", "1 to 10")),
        ("/cover?overlap=many", ("found many",)),
        ("/cover?add=nan", ("found nan",)),
        ("/cover?must=Sam&never=Sam", ("Sam",)),
        ("/cover?add=2&survive=1", ("best so many",)),
        ("/donors?limb=C-mit", ("C-mit", "C-mid")),
        ("/pollinizer?tree=chery", ("chery", "cherry")),
        ("/without?lost=C-tip", ("C-tip", "C-top")),
        ("/rows?rows=2", ("found 2",)),
        ("/rows?rows=9&spacing=0", ("found 0",)),
        ("/papers/season?max=x", ("found x",)),
    ],
)
def test_wrong_wishes_are_told(demo: Browser, address: str, words: tuple[str, ...]) -> None:
    shown = demo.text(address, 422)
    for word in words:
        assert word in shown


def test_what_cannot_be_is_told_with_what_would_do(tmp_path: Path) -> None:
    browser = browser_on(written(tmp_path, *O1))
    shown = browser.text("/cover?level=10&overlap=20")
    assert "Stays without a donor" in shown


def test_the_best_of_no_scions_is_none(tmp_path: Path) -> None:
    browser = browser_on(written(tmp_path, tree("early late"), *APART[2:4], *APART[4:]))
    assert "Take none" in browser.text("/cover?add=2")


def test_a_long_question_is_asked_shown_and_stopped(tmp_path: Path) -> None:
    address, wish = "/papers/season?max=1&from=catalogue", {"max": "1", "from": "catalogue"}
    with on_demo(tmp_path) as browser:
        before = browser.get(address).text
        assert "Work it out" in before
        assert "hx-trigger" not in before
        assert "refresh" not in before.partition("</head>")[0].replace("refreshOnHistoryMiss", "")
        answer = browser.post("/behind/ask/season", **wish)
        assert answer.status_code == 303
        page = browser.get(answer.headers["Location"]).text
        assert 'hx-trigger="every 1s"' in page
        assert '<noscript><meta http-equiv="refresh"' in page.partition("</head>")[0]
        browser.post("/behind/stop/season", **wish)
        assert done(browser).state == "stopped"
        assert "It was stopped." in browser.text(address)


def test_the_garden_that_is_tried_is_asked_about(tmp_path: Path) -> None:
    with on_demo(tmp_path) as browser:
        answer = browser.post("/behind/ask/cover?try=lose:C-top", long="1")
        job = done(browser)
        assert (job.state, job.order.tries) == ("done", ("lose:C-top",))
        told = json.loads(job.data)["answer"]["answer"]
        assert told in browser.text(answer.headers["Location"])
        assert "Work it out" in browser.text("/cover?long=1")


def test_asking_needs_the_token_and_a_kind(demo: Browser) -> None:
    assert demo.post("/behind/ask/cover", token="none").status_code == 403
    assert demo.post("/behind/ask/weather").status_code == 404
    assert demo.get("/behind/ask/cover").status_code == 405
    assert not demo.app.extensions["pollinet-behind"]._jobs


def test_looking_begins_nothing(demo: Browser) -> None:
    for address in ("/cover?from=catalogue", "/donors?limb=C-mid&from=catalogue", "/papers/report"):
        assert "Work it out" in demo.text(address)
    assert not demo.app.extensions["pollinet-behind"]._jobs


def test_every_question_has_its_screen(demo: Browser) -> None:
    assert SHOWN_ON.keys() == ANSWERS.keys() <= FIELDS.keys()
    with demo.app.test_request_context():
        for endpoint in SHOWN_ON.values():
            assert url_for(endpoint)


def test_strange_names_are_text(tmp_path: Path) -> None:
    browser = browser_on(written(tmp_path, *O1))
    for address in ("/cover?must=<script>x</script>", "/without?lost=<b>", '/donors?limb="><i>'):
        page = browser.get(address).text
        assert not re.search(r"<script>x|<b>|<i>", page)


def test_all_is_told_in_german(tmp_path: Path) -> None:
    with on_demo(tmp_path, "de") as browser:
        assert "Was veredeln" in browser.text("/cover")
        assert "aufveredeln" in browser.text("/pollinizer")
        # What nobody has translated is marked as English for those who listen.
        assert 'lang="en"' in browser.get("/balance").text
        told = browser.text("/diagnose/C-mid?clusters=0&year=2025")
        assert "Ursachen, nach den Punkten" in told and "er hatte kein Blütenbüschel" in told
