"""Shared fixtures."""

from __future__ import annotations

import json
import shutil
from collections.abc import Callable, Iterator
from dataclasses import dataclass
from pathlib import Path
from typing import Any

import pytest

from pollinet.cli import main
from pollinet.demo import demo_files, write_demo

CHECKOUT = Path(__file__).resolve().parent.parent
REFERENCE = CHECKOUT.parent / "shared" / "reference"


@pytest.fixture(scope="session", autouse=True)
def own_cache(tmp_path_factory: pytest.TempPathFactory) -> Iterator[Path]:
    """What the program keeps on disk stands in a folder of this run, for its children too."""
    folder = tmp_path_factory.mktemp("cache", numbered=True)
    with pytest.MonkeyPatch.context() as patch:
        patch.setenv("POLLINET_CACHE_DIR", str(folder))
        yield folder


@pytest.fixture(scope="session")
def checkout() -> Path:
    """Root of the checkout."""
    return CHECKOUT


@pytest.fixture(scope="session")
def demo(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """The folder of the demo; not to be written to."""
    return write_demo(tmp_path_factory.mktemp("made") / "demo", demo_files()).parent


@pytest.fixture
def plan(demo: Path, tmp_path: Path) -> Path:
    """The plan of a copy of the demo, for this test alone."""
    return Path(shutil.copytree(demo, tmp_path / "garden")) / "plan.toml"


@pytest.fixture
def garden(plan: Path, monkeypatch: pytest.MonkeyPatch) -> Path:
    """The folder of a copy of the demo, for this test alone, which runs in it."""
    monkeypatch.chdir(plan.parent)
    return plan.parent


@pytest.fixture(scope="session")
def reference_weather() -> Path:
    """Folder with long real weather and bloom series, which are never committed."""
    folder = REFERENCE / "weather"
    if not folder.is_dir():
        pytest.skip("the long real series are not beside this checkout")
    return folder


@dataclass(frozen=True)
class Answer:
    """What a command answered."""

    code: int
    out: str
    err: str

    @property
    def data(self) -> Any:
        """The answer of a command that was asked for JSON."""
        return json.loads(self.out)

    @property
    def findings(self) -> str:
        """Standard error in one line: where its lines end depends on how long the names are."""
        return " ".join(self.err.split())


@pytest.fixture
def pollinet(capsys: pytest.CaptureFixture[str]) -> Callable[..., Answer]:
    """Run a command in this process."""

    def run(*words: object) -> Answer:
        capsys.readouterr()
        code = main([str(word) for word in words])
        captured = capsys.readouterr()
        return Answer(code, captured.out, captured.err)

    return run
