"""The download against a small server of our own on loopback.

Its answers have the shape of recorded ones of the service's daily archive; no test goes on line.
"""

from __future__ import annotations

import json
import socket
import threading
from collections.abc import Callable, Iterator
from contextlib import suppress
from dataclasses import dataclass, field, replace
from datetime import date
from http.server import BaseHTTPRequestHandler, ThreadingHTTPServer
from pathlib import Path
from typing import Any
from urllib.parse import parse_qs, urlsplit

import numpy as np
import pytest
from gardens import saved

pytest.importorskip("httpx", reason="the extra `fetch` is not installed")

from pollinet.domain import DailyWeather, Site
from pollinet.fetch import http as fetch_http
from pollinet.fetch.http import Manners, get_text
from pollinet.fetch.openmeteo import fetch_daily, question
from pollinet.findings import Finding
from pollinet.readers.weather import read_weather
from pollinet.saving import house_csv

SITE = Site("Here", 46.1, 7.4, 500.0)
FIRST, LAST, TODAY = date(2001, 1, 1), date(2001, 1, 3), date(2001, 6, 1)

ANSWER = json.dumps(
    {
        "latitude": 46.080845,
        "longitude": 7.4000006,
        "generationtime_ms": 0.3,
        "utc_offset_seconds": 3600,
        "timezone": "Europe/Zurich",
        "timezone_abbreviation": "GMT+1",
        "elevation": 500.0,
        "daily_units": {
            "time": "iso8601",
            "temperature_2m_max": "°C",
            "temperature_2m_min": "°C",
            "precipitation_sum": "mm",
        },
        "daily": {
            "time": ["2001-01-01", "2001-01-02", "2001-01-03"],
            "temperature_2m_max": [4.5, None, 6.0],
            "temperature_2m_min": [-2.0, None, 1.5],
            "precipitation_sum": [0.0, None, 3.2],
        },
    }
)


@dataclass
class Reply:
    """What the server does with one request."""

    status: int = 200
    body: str = ANSWER
    headers: dict[str, str] = field(default_factory=dict)
    cut_at: int | None = None
    silent: bool = False


@dataclass
class Service:
    """The server, what it will reply, and what it was asked."""

    url: str
    replies: list[Reply] = field(default_factory=list)
    asked: list[dict[str, list[str]]] = field(default_factory=list)
    closing: threading.Event = field(default_factory=threading.Event)


@pytest.fixture
def service(monkeypatch: pytest.MonkeyPatch) -> Iterator[Service]:
    for name in ("http_proxy", "https_proxy", "all_proxy"):
        monkeypatch.delenv(name, raising=False)
        monkeypatch.delenv(name.upper(), raising=False)
    ours = Service("")

    class Handler(BaseHTTPRequestHandler):
        def do_GET(self) -> None:
            ours.asked.append(parse_qs(urlsplit(self.path).query))
            reply = ours.replies.pop(0) if ours.replies else Reply(500, "no more replies")
            if reply.silent:
                ours.closing.wait(10)
                return
            body = reply.body.encode()
            self.send_response(reply.status)
            for name, value in reply.headers.items():
                self.send_header(name, value)
            self.send_header("Content-Length", str(len(body)))
            self.end_headers()
            with suppress(BrokenPipeError, ConnectionResetError):
                self.wfile.write(body[: reply.cut_at])

        def log_message(self, *_: object) -> None:
            pass

    server = ThreadingHTTPServer(("127.0.0.1", 0), Handler)
    ours.url = f"http://127.0.0.1:{server.server_address[1]}/v1/archive"
    thread = threading.Thread(target=server.serve_forever, kwargs={"poll_interval": 0.02})
    thread.start()
    try:
        yield ours
    finally:
        ours.closing.set()
        server.shutdown()
        server.server_close()
        thread.join(5)


def manners(pauses: list[float], timeout_s: float = 5.0) -> Manners:
    return Manners(timeout_s=timeout_s, attempts=3, pause=pauses.append)


def ask(
    service: Service, folder: Path, pauses: list[float] | None = None, **changed: object
) -> tuple[DailyWeather | None, tuple[Finding, ...]]:
    options = {"today": TODAY, "manners": manners([] if pauses is None else pauses), **changed}
    return fetch_daily(SITE, FIRST, LAST, base_url=service.url, folder=folder, **options)  # type: ignore[arg-type]


def codes(findings: tuple[Finding, ...]) -> list[str]:
    return [finding.code for finding in findings]


def test_an_answer_becomes_a_record(service: Service, tmp_path: Path) -> None:
    service.replies = [Reply()]
    record, findings = ask(service, tmp_path)
    assert record is not None
    assert record.dates.astype(str).tolist() == ["2001-01-01", "2001-01-02", "2001-01-03"]
    assert np.array_equal(record.tmin_c, [-2.0, np.nan, 1.5], equal_nan=True)
    assert record.elevation_m == 500.0
    assert "CC BY 4.0" in record.source
    assert codes(findings) == ["missing-days"]
    asked = service.asked[0]
    assert asked["latitude"] == ["46.100"]
    assert asked["start_date"] == ["2001-01-01"]
    assert asked["elevation"] == ["500"]


def test_the_same_question_is_asked_once(service: Service, tmp_path: Path) -> None:
    service.replies = [Reply()]
    first, _ = ask(service, tmp_path)
    again, _ = ask(service, tmp_path)
    assert first is not None
    assert again is not None
    assert np.array_equal(first.tmax_c, again.tmax_c, equal_nan=True)
    assert len(service.asked) == 1
    assert [path.suffix for path in tmp_path.iterdir()] == [".json"]


def test_young_days_are_not_kept(service: Service, tmp_path: Path) -> None:
    service.replies = [Reply(), Reply()]
    ask(service, tmp_path, today=date(2001, 1, 5))
    ask(service, tmp_path, today=date(2001, 1, 5))
    assert len(service.asked) == 2


def test_a_damaged_cache_is_asked_again(service: Service, tmp_path: Path) -> None:
    service.replies = [Reply(), Reply()]
    ask(service, tmp_path)
    next(tmp_path.iterdir()).write_text(ANSWER[:50])
    record, _ = ask(service, tmp_path)
    assert record is not None
    assert len(service.asked) == 2


def test_a_busy_service_is_asked_again_as_late_as_it_wishes(
    service: Service, tmp_path: Path
) -> None:
    pauses: list[float] = []
    service.replies = [Reply(503, "busy"), Reply(429, "slow down", {"Retry-After": "7"}), Reply()]
    record, _ = ask(service, tmp_path, pauses)
    assert record is not None
    assert pauses == [1.0, 7.0]


def test_an_endless_wish_is_bounded(service: Service, tmp_path: Path) -> None:
    pauses: list[float] = []
    service.replies = [Reply(429, "", {"Retry-After": "86400"}), Reply()]
    ask(service, tmp_path, pauses)
    assert pauses == [60.0]


def test_a_failing_service_is_left_after_some_attempts(service: Service, tmp_path: Path) -> None:
    service.replies = [Reply(500, "oops")] * 9
    record, findings = ask(service, tmp_path)
    assert record is None
    assert codes(findings) == ["service-failing"]
    assert len(service.asked) == 3
    assert list(tmp_path.iterdir()) == []


def test_a_refusal_is_passed_on_and_not_repeated(service: Service, tmp_path: Path) -> None:
    reason = json.dumps({"error": True, "reason": "End date must not be before start date."})
    service.replies = [Reply(400, reason)]
    record, findings = ask(service, tmp_path)
    assert record is None
    assert codes(findings) == ["service-refused"]
    assert "End date must not be before" in findings[0].message
    assert len(service.asked) == 1


@pytest.mark.parametrize("cut_at", [0, 40, len(ANSWER.encode()) - 1])
def test_an_answer_that_breaks_off_is_asked_again(
    service: Service, tmp_path: Path, cut_at: int
) -> None:
    service.replies = [Reply(cut_at=cut_at), Reply()]
    record, _ = ask(service, tmp_path)
    assert record is not None
    service.replies = [Reply(cut_at=cut_at)] * 3
    record, findings = ask(service, tmp_path / "other")
    assert record is None
    assert codes(findings) == ["broken-answer"]


def test_a_short_answer_of_the_promised_length_is_noticed(service: Service, tmp_path: Path) -> None:
    service.replies = [Reply(body=ANSWER[:100]), Reply()]
    record, _ = ask(service, tmp_path)
    assert record is not None
    assert len(service.asked) == 2


def test_answers_of_another_kind_are_findings(service: Service, tmp_path: Path) -> None:
    for body in ("{}", '{"daily": {}}', '{"daily": [}', "<html></html>"):
        service.replies = [Reply(body=body)] * 3
        record, findings = ask(service, tmp_path)
        assert record is None
        assert findings
    assert list(tmp_path.iterdir()) == []


def test_a_silent_service_runs_into_the_time_out(service: Service, tmp_path: Path) -> None:
    service.replies = [Reply(silent=True)] * 3
    record, findings = ask(service, tmp_path, manners=manners([], timeout_s=0.1))
    assert record is None
    assert codes(findings) == ["service-slow"]


def test_off_line(service: Service, tmp_path: Path) -> None:
    with socket.socket() as probe:  # a port that nobody listens on
        probe.bind(("127.0.0.1", 0))
        port = probe.getsockname()[1]
    service.url = f"http://127.0.0.1:{port}/v1/archive"
    record, findings = ask(service, tmp_path)
    assert record is None
    assert codes(findings) == ["offline"]
    assert "beside the plan" in findings[0].cure


def test_off_line_with_a_kept_answer(service: Service, tmp_path: Path) -> None:
    service.replies = [Reply()]
    ask(service, tmp_path)
    service.replies = [Reply(500, "down")] * 3
    record, _ = ask(service, tmp_path)
    assert record is not None


def test_bad_questions_are_not_asked(service: Service, tmp_path: Path) -> None:
    options = {"today": TODAY, "base_url": service.url, "folder": tmp_path}
    _, findings = fetch_daily(Site("Here", 46.0), FIRST, LAST, **options)  # type: ignore[arg-type]
    assert codes(findings) == ["missing-longitude"]
    _, findings = fetch_daily(SITE, LAST, FIRST, **options)  # type: ignore[arg-type]
    assert codes(findings) == ["bad-date"]
    assert service.asked == []


def test_without_the_extra(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(fetch_http, "find_spec", lambda name: None)
    record, findings = fetch_daily(SITE, FIRST, LAST, today=TODAY, folder=tmp_path)
    assert record is None
    assert codes(findings) == ["missing-extra"]


@pytest.mark.parametrize("url", ["http://127.0.0.1:door/", "ftp://127.0.0.1/archive", "nowhere"])
def test_an_address_that_is_none(url: str) -> None:
    text, findings = get_text(url, {}, manners([]))
    assert text is None
    assert codes(findings) == ["service-refused"]


def test_a_folder_that_takes_nothing_is_no_failure(service: Service, tmp_path: Path) -> None:
    (tmp_path / "file").write_text("in the way")
    service.replies = [Reply()]
    record, _ = ask(service, tmp_path / "file" / "below")
    assert record is not None


def test_a_saved_record_reads_back_the_same(service: Service, tmp_path: Path) -> None:
    service.replies = [Reply()]
    record, _ = ask(service, tmp_path / "kept")
    assert record is not None
    path = tmp_path / "here.csv"
    path.write_text(house_csv(record), encoding="utf-8")
    again, findings = read_weather(path)
    assert again is not None
    assert codes(findings) == ["missing-days"]
    for one, other in (
        (record.tmin_c, again.tmin_c),
        (record.tmax_c, again.tmax_c),
        (record.rain_mm, again.rain_mm),
    ):
        assert one is not None
        assert other is not None
        assert np.array_equal(one, other, equal_nan=True)
    assert again.dates.tolist() == record.dates.tolist()
    assert again.latitude == pytest.approx(record.latitude, abs=1e-3)
    assert not again.generated


PLAN = """
[site]
latitude = 46.1
longitude = 7.4
elevation_m = 500
weather = "weather.csv"
[[tree]]
id = "t"
species = "apple"
[[tree.limb]]
id = "a"
variety = "Gala"
"""


@pytest.fixture
def plan(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Path:
    monkeypatch.setenv("XDG_CACHE_HOME", str(tmp_path / "cache"))
    return saved(tmp_path, PLAN)


def test_the_command_writes_a_record_that_can_be_read(
    service: Service, plan: Path, pollinet: Callable[..., Any]
) -> None:
    service.replies.append(Reply())
    words = ("fetch", plan, "--from", 2001, "--to", 2001, "--service", service.url)
    out = plan.parent / "weather.csv"
    answer = pollinet(*words, "--out", out)
    assert answer.code == 0, answer.err
    assert service.asked[0]["latitude"] == ["46.100"]
    assert service.asked[0]["start_date"] == ["2000-07-01"]
    record, findings = read_weather(out)
    assert record is not None, findings
    assert record.tmax_c[0] == 4.5
    again = pollinet(*words, "--out", out)
    assert again.code == 2
    assert "not written over" in again.err
    assert len(service.asked) == 1


def test_the_command_says_so_when_the_service_fails(
    service: Service, plan: Path, pollinet: Callable[..., Any]
) -> None:
    service.replies.append(Reply(400, '{"error": true, "reason": "no such day"}'))
    out = plan.parent / "weather.csv"
    words = ("fetch", plan, "--from", 2001, "--to", 2001, "--service", service.url, "--out", out)
    answer = pollinet(*words)
    assert answer.code == 2
    assert answer.err.count("error: ") == 1
    assert not out.exists()


def test_an_answer_beyond_all_reason_is_left(
    service: Service, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr(fetch_http, "LARGEST_ANSWER", len(ANSWER.encode()) - 1)
    service.replies = [Reply()]
    record, (finding,) = ask(service, tmp_path)
    assert record is None and finding.severity == "error"
    assert len(service.asked) == 1 and not list(tmp_path.rglob("*.json"))
    monkeypatch.setattr(fetch_http, "LARGEST_ANSWER", len(ANSWER.encode()))
    service.replies = [Reply()]
    assert ask(service, tmp_path)[0] is not None


def test_a_refusal_without_a_word_has_its_status(service: Service, tmp_path: Path) -> None:
    service.replies = [Reply(400, "  ")]
    record, (finding,) = ask(service, tmp_path)
    assert record is None and "status 400" in finding.message


def test_a_height_that_nobody_told_is_not_asked_for() -> None:
    assert "elevation" not in question(replace(SITE, elevation_m=None), FIRST, LAST)
    assert question(SITE, FIRST, LAST)["elevation"] == "500"


@pytest.mark.parametrize(
    ("text", "out", "word"),
    [
        ("[site\n", "w.csv", "plan.toml"),
        (None, "w.docx", "w.docx"),
        ("[site]\nlatitude = 46.1\n", "w.csv", "longitude"),
        ("[site]\n", "w.csv", "latitude"),
    ],
)
def test_the_command_asks_nobody_where_it_cannot_write_or_know_the_place(
    text: str | None,
    out: str,
    word: str,
    service: Service,
    plan: Path,
    pollinet: Callable[..., Any],
) -> None:
    if text is not None:
        plan.write_text(text, encoding="utf-8")
    words = ("fetch", plan, "--from", 2001, "--to", 2001, "--service", service.url)
    answer = pollinet(*words, "--out", plan.parent / out)
    assert answer.code == 2 and word in answer.err
    assert service.asked == [] and not (plan.parent / out).exists()
