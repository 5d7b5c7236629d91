"""Who may ask: a browser on this machine; and who may write: a form of this very page.

A page of another site in the same browser can send requests here, too. It cannot read our forms,
so it does not know the token of this start; and its requests carry another Host (where a name was
made to lead here) or Origin. Sources: OWASP, Cross-Site Request Forgery Prevention; W3C, Content
Security Policy Level 3; Fetch Metadata Request Headers.
"""

from __future__ import annotations

import hmac
from collections.abc import Collection

from flask import Flask, Request, Response, abort, request

WRITES = frozenset({"POST"})
ASKS = frozenset({"GET", "HEAD"})

POLICY = "; ".join(
    (
        "default-src 'none'",
        "script-src 'self'",
        "style-src 'self'",
        "img-src 'self' data:",
        "connect-src 'self'",
        "form-action 'self'",
        "base-uri 'none'",
        "frame-ancestors 'none'",
    )
)
"""Nothing from elsewhere, and nothing that stands in the page itself, is run or asked."""

HEADERS = {
    "Content-Security-Policy": POLICY,
    "X-Content-Type-Options": "nosniff",
    "Referrer-Policy": "same-origin",
    "Cross-Origin-Opener-Policy": "same-origin",
    "Cross-Origin-Resource-Policy": "same-origin",
    "Cache-Control": "no-store",
}

MOST_BYTES = 64 * 1024
"""Largest form without a file: own convention. [bytes]"""

MOST_MEMORY_BYTES = 4 * MOST_BYTES
"""What a form with a file may hold in memory: own convention. Werkzeug counts each piece of 64 KB
of the file with it, too, so that it must be well above that. [bytes]"""

MOST_FILE_BYTES = 32 * 1024 * 1024
"""Largest weather file: a century of days in the widest format has 5 MB. Own convention. [bytes]"""


def guard(app: Flask, *, hosts: Collection[str], token: str) -> None:
    """Check every request, and set the headers of every answer.

    hosts : what may stand in Host, port included. token : what every form that writes carries.
    """

    @app.before_request
    def check() -> None:
        if request.host not in hosts:
            abort(403, "host")
        if request.method not in ASKS | WRITES:
            abort(405)
        if request.method in WRITES:
            if request.mimetype != "multipart/form-data":
                request.max_content_length = MOST_BYTES
            _check_write(request, hosts, token)

    @app.after_request
    def seal(response: Response) -> Response:
        for name, value in HEADERS.items():
            response.headers.setdefault(name, value)
        return response


def _check_write(asked: Request, hosts: Collection[str], token: str) -> None:
    site = asked.headers.get("Sec-Fetch-Site", "same-origin")
    origin = asked.headers.get("Origin")
    if site != "same-origin" or (origin is not None and origin not in _origins(hosts)):
        abort(403, "origin")
    if not hmac.compare_digest(asked.form.get("token", "").encode(), token.encode()):
        abort(403, "token")


def _origins(hosts: Collection[str]) -> set[str]:
    return {f"http://{host}" for host in hosts}
