"""What is loaded when: help must be instant, heavy libraries come only where they are used."""

from __future__ import annotations

import subprocess
import sys

HEAVY = ("numpy", "scipy", "networkx", "matplotlib", "pandas", "click", "rich", "pydantic")


def loaded_after(code: str) -> set[str]:
    """Top-level modules in a fresh interpreter after running some code."""
    program = f"{code}\nimport sys; print(' '.join(sorted(sys.modules)))"
    run = subprocess.run(
        [sys.executable, "-c", program], capture_output=True, text=True, check=True
    )
    return {name.split(".")[0] for name in run.stdout.split()}


def test_the_package_alone_loads_nothing_heavy() -> None:
    assert not loaded_after("import pollinet") & set(HEAVY)


def test_help_loads_nothing_heavy() -> None:
    assert not loaded_after("from pollinet.cli import overview; overview()") & set(HEAVY)


def test_no_command_loads_pyplot_or_pandas() -> None:
    code = "import pollinet.study, pollinet.cli.check, pollinet.cli.cover, pollinet.cli.calendar"
    assert not loaded_after(code) & {"pandas", "xclim", "ortools"}


def test_a_reader_that_has_seen_enough_ends_the_program_quietly() -> None:
    words = [sys.executable, "-m", "pollinet", "varieties", "apple"]
    with subprocess.Popen(words, stdout=subprocess.PIPE, stderr=subprocess.PIPE) as run:
        assert run.stdout is not None
        assert run.stderr is not None
        run.stdout.close()
        assert run.stderr.read() == b""
        assert run.wait() == 141
