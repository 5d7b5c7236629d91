"""From a plan to a server on this machine that a browser can ask."""

from __future__ import annotations

import socket
from collections.abc import Callable
from dataclasses import dataclass
from pathlib import Path
from typing import Any

from pollinet.page.app import create_app

ADDRESS = "127.0.0.1"
"""This machine alone."""

THREADS = 8
"""Requests that are taken in at once; they are answered one after the other."""

SILENT_S = 30
"""A connection that says nothing for so long is ended. [s]"""

MOST_CONNECTIONS = 100


@dataclass(frozen=True)
class Served:
    """A server that listens. `run` : answers until it is stopped. `stop` : ends it."""

    address: str
    run: Callable[[], None]
    stop: Callable[[], None]


def serve(plan: Path, *, port: int = 0, language: str | None = None) -> Served:
    """Listen on this machine; `port` 0: any that is free. Raises OSError where it is taken."""
    from waitress.server import create_server
    from waitress.wasyncore import close_all

    listening = socket.socket(socket.AF_INET, socket.SOCK_STREAM)
    listening.setsockopt(socket.SOL_SOCKET, socket.SO_REUSEADDR, 1)
    try:
        listening.bind((ADDRESS, port))
    except OSError:
        listening.close()
        raise
    found: int = listening.getsockname()[1]
    hosts = {f"{ADDRESS}:{found}", f"localhost:{found}"}
    app = create_app(plan, hosts=hosts, language=language)
    connections: dict[int, Any] = {}
    server: Any = create_server(
        app,
        map=connections,
        sockets=[listening],
        threads=THREADS,
        channel_timeout=SILENT_S,
        connection_limit=MOST_CONNECTIONS,
        max_request_body_size=app.config["MAX_CONTENT_LENGTH"],
        ident=None,
        clear_untrusted_proxy_headers=True,
    )

    def close() -> None:
        # Browsers keep connections open, and the server runs as long as there is one.
        close_all(connections, ignore_all=True)

    def run() -> None:
        try:
            server.run()
        finally:
            app.extensions["pollinet-behind"].close()
            close()
            server.task_dispatcher.shutdown()

    def stop() -> None:
        # In the thread that listens: it may not find its sockets closed beneath it.
        server.trigger.pull_trigger(close)

    return Served(f"http://{ADDRESS}:{found}/", run, stop)
