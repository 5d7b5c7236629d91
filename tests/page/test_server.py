"""The served page, as a process of its own on this machine."""

from __future__ import annotations

import os
import re
import signal
import socket
import subprocess
import sys
import threading
import time
from collections.abc import Iterator
from concurrent.futures import ThreadPoolExecutor
from pathlib import Path
from urllib.parse import urlsplit

import httpx
import pytest


@pytest.fixture(scope="module")
def served(demo: Path) -> Iterator[tuple[str, int]]:
    """Host and port of a server on the demo; it ends with the module."""
    command = [sys.executable, "-m", "pollinet", "page", str(demo / "plan.toml"), "--no-open"]
    with subprocess.Popen(command, stdout=subprocess.PIPE, text=True) as process:
        try:
            assert process.stdout is not None
            address = urlsplit(process.stdout.readline().strip())
            assert address.scheme == "http" and address.path == "/"
            yield str(address.hostname), int(address.port or 0)
        finally:
            process.send_signal(signal.SIGINT)
            assert process.wait(10) == 0


def _get(served: tuple[str, int], path: str) -> tuple[int, bytes]:
    with httpx.Client(trust_env=False, timeout=60) as browser:
        answer = browser.get(f"http://{served[0]}:{served[1]}{path}")
        return answer.status_code, answer.content


def test_it_answers_on_this_machine_alone(served: tuple[str, int]) -> None:
    assert served[0] == "127.0.0.1"
    assert _get(served, "/")[0] == 200
    with socket.socket() as other:
        other.settimeout(2)
        # Every address 127.x.y.z is this machine's own; one that was not bound is closed.
        assert other.connect_ex(("127.0.0.2", served[1])) != 0


def test_fifty_at_once_are_all_answered(served: tuple[str, int]) -> None:
    paths = ["/", "/limb/C-mid", "/try?try=change:C-mid:Kordia", "/try?try=lose:C-top"]
    with ThreadPoolExecutor(50) as pool:
        answers = list(pool.map(lambda i: _get(served, paths[i % 4]), range(50)))
    assert [code for code, _ in answers] == [200] * 50
    assert len({body for i, (_, body) in enumerate(answers) if i % 4 == 2}) == 1


def test_a_slow_upload_holds_nobody_up(served: tuple[str, int]) -> None:
    slow = [socket.create_connection(served) for _ in range(20)]
    try:
        for one in slow:
            head = f"POST /write HTTP/1.1\r\nHost: {served[0]}:{served[1]}\r\n"
            one.sendall(f"{head}Content-Length: 1000000\r\n\r\na".encode())
        start = time.monotonic()
        assert _get(served, "/")[0] == 200
        assert time.monotonic() - start < 20
    finally:
        for one in slow:
            one.close()


def test_what_is_too_large_is_cut_off(served: tuple[str, int]) -> None:
    with socket.create_connection(served) as large:
        large.settimeout(20)
        head = f"POST /write HTTP/1.1\r\nHost: {served[0]}:{served[1]}\r\n"
        large.sendall(f"{head}Content-Length: {10**12}\r\n\r\n".encode())
        assert b"413" in large.recv(4096)


def test_a_port_that_is_taken_is_told(served: tuple[str, int], demo: Path) -> None:
    command = [sys.executable, "-m", "pollinet", "page", str(demo / "plan.toml"), "--no-open"]
    told = subprocess.run(
        [*command, "--port", str(served[1])], capture_output=True, text=True, timeout=60
    )
    assert told.returncode == 2 and "cannot be used" in told.stderr and not told.stdout


@pytest.mark.skipif(os.name != "posix", reason="signals of POSIX")
def test_a_stop_leaves_the_plan_whole(plan: Path) -> None:
    """Killed in the middle of writes, the file is one of the two texts, never a part of one."""
    texts = {plan.read_bytes(), plan.read_bytes().replace(b'"Regina"', b'"Kordia"')}
    for _ in range(3):
        command = [sys.executable, "-m", "pollinet", "page", str(plan), "--no-open"]
        with subprocess.Popen(command, stdout=subprocess.PIPE, text=True) as process:
            assert process.stdout is not None
            address = urlsplit(process.stdout.readline().strip())
            where = (str(address.hostname), int(address.port or 0))

            def write(where: tuple[str, int] = where) -> None:
                for variety in ("Kordia", "Regina") * 20:
                    try:
                        _, page = _get(where, f"/write?try=change:C-mid:{variety}")
                        found = dict(re.findall(rb'name="(token|digest)" value="([^"]+)"', page))
                        if len(found) < 2:
                            continue
                        with httpx.Client(trust_env=False, timeout=10) as browser:
                            form = {name.decode(): value.decode() for name, value in found.items()}
                            path = f"/write?try=change:C-mid:{variety}"
                            browser.post(f"http://{where[0]}:{where[1]}{path}", data=form)
                    except httpx.HTTPError:
                        return

            writer = threading.Thread(target=write)
            writer.start()
            time.sleep(1.5)
            process.kill()
            writer.join()
        assert plan.read_bytes() in texts
        assert not [x for x in plan.parent.iterdir() if x.suffix == ".toml" and x != plan]
