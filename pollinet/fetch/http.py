"""One well-kept way to get a text over HTTP: time-outs, few retries, findings instead of errors."""

from __future__ import annotations

import time
from collections.abc import Callable, Mapping
from dataclasses import dataclass
from importlib.util import find_spec
from typing import TYPE_CHECKING

from pollinet.findings import Finding
from pollinet.messages import say

if TYPE_CHECKING:
    import httpx

AGAIN = frozenset({429, 500, 502, 503, 504})
"""Status codes after which the same request may succeed later (RFC 9110, RFC 6585)."""

LONGEST_PAUSE_S = 60.0
LARGEST_ANSWER = 64 * 2**20
"""Bounds on what a service can make us wait for or take in. [s, bytes] Own convention."""


class TooLarge(Exception):
    """An answer is larger than `LARGEST_ANSWER`."""


@dataclass(frozen=True)
class Manners:
    """How patiently a service is asked.

    timeout_s : for connecting and for each wait for data. [s]
    attempts : requests in all, the first one counted.
    first_pause_s : before the second attempt; each later pause is twice as long. [s]
    pause : what waits; tests hand in one that does not.
    """

    timeout_s: float = 30.0
    attempts: int = 4
    first_pause_s: float = 1.0
    pause: Callable[[float], None] = time.sleep


def get_text(
    url: str,
    parameters: Mapping[str, str],
    manners: Manners,
    is_whole: Callable[[str], bool] = lambda text: True,
) -> tuple[str | None, tuple[Finding, ...]]:
    """Get a text, or the one finding that says why it cannot be had.

    Parameters
    ----------
    is_whole : tells an answer that broke off from a whole one; the former is asked for again.
    """
    import httpx

    host = url.partition("://")[2].partition("/")[0] or url
    failure = Finding("error", "service-failing", say("{host} was not asked.", host=host))
    with httpx.Client(timeout=manners.timeout_s, headers={"User-Agent": "pollinet"}) as client:
        for attempt in range(manners.attempts):
            wait_s = manners.first_pause_s * 2**attempt
            try:
                status, asked_s, text = _once(client, url, parameters)
            except TooLarge:
                return None, (_too_large(host),)
            except (httpx.InvalidURL, httpx.UnsupportedProtocol, ValueError) as problem:
                return None, (_impossible(host, problem),)
            except httpx.RequestError as problem:
                failure = _unreachable(host, problem)
            else:
                if status == 200 and is_whole(text):
                    return text, ()
                if status != 200 and status not in AGAIN:
                    return None, (_refused(host, _reason(status, text)),)
                failure = _failing(host, status)
                wait_s = max(wait_s, asked_s)
            if attempt + 1 < manners.attempts:
                manners.pause(min(wait_s, LONGEST_PAUSE_S))
    return None, (failure,)


def _once(client: httpx.Client, url: str, parameters: Mapping[str, str]) -> tuple[int, float, str]:
    """One request: status, seconds that the service asks us to wait, text."""
    with client.stream("GET", url, params=dict(parameters)) as answer:
        body = bytearray()
        for piece in answer.iter_bytes():
            body += piece
            if len(body) > LARGEST_ANSWER:
                raise TooLarge
        after = answer.headers.get("Retry-After", "")
        asked_s = float(after) if after.isdecimal() else 0.0
        return answer.status_code, asked_s, body.decode("utf-8", errors="replace")


_OFFLINE_CURE = say(
    "Check the connection, or put a daily record beside the plan; nothing but the download needs "
    "the network."
)


_LATER = say("Try again later.")


def _unreachable(host: str, problem: httpx.RequestError) -> Finding:
    """Off line, too slow, or an answer that broke off."""
    import httpx

    if isinstance(problem, httpx.ConnectError | httpx.ConnectTimeout):
        return Finding(
            "error",
            "offline",
            say("{host} could not be reached.", host=host),
            host,
            cure=_OFFLINE_CURE,
        )
    if isinstance(problem, httpx.TimeoutException):
        message = say("{host} did not answer in time.", host=host)
        return Finding("error", "service-slow", message, host, cure=_LATER)
    return _broken_off(host)


def _broken_off(host: str) -> Finding:
    message = say("The answer of {host} broke off.", host=host)
    return Finding("error", "broken-answer", message, host, cure=_LATER)


def _failing(host: str, status: int) -> Finding:
    if status == 200:
        return _broken_off(host)
    message = say("{host} is failing or busy (status {status}).", host=host, status=status)
    return Finding("error", "service-failing", message, host, cure=_LATER)


def _impossible(host: str, problem: Exception) -> Finding:
    message = say("{host} cannot be asked: {reason}.", host=host, reason=problem)
    return Finding("error", "service-refused", message, host)


def _too_large(host: str) -> Finding:
    message = say("The answer of {host} is larger than any weather record.", host=host)
    return Finding("error", "service-refused", message, host)


def _refused(host: str, reason: str) -> Finding:
    message = say("{host} refused the request: {reason}.", host=host, reason=reason)
    return Finding("error", "service-refused", message, host)


def _reason(status: int, text: str) -> str:
    """Status and the beginning of what the service says, on one line."""
    said = " ".join(text.split())[:200].rstrip(".")
    if not said:
        return say("status {status}", status=status)
    return say("status {status}, {reason}", status=status, reason=said)


def missing_extra() -> Finding | None:
    """The finding for an installation without the extra `fetch`; None where all is there."""
    if find_spec("httpx"):
        return None
    message = say("Downloads need the extra `fetch`.")
    return Finding("error", "missing-extra", message, cure=say("pip install 'pollinet[fetch]'"))
