"""Answers kept on disk, so that the same question is asked once."""

from __future__ import annotations

import hashlib
from collections.abc import Mapping
from contextlib import suppress
from pathlib import Path

from pollinet.files import write_whole


def default_folder() -> Path:
    """The cache folder of this user on this system."""
    import platformdirs

    return platformdirs.user_cache_path("pollinet") / "weather"


def place_of(folder: Path, url: str, parameters: Mapping[str, str]) -> Path:
    """File of the answer to a question; the order of the parameters does not matter."""
    question = "\n".join([url, *(f"{name}={parameters[name]}" for name in sorted(parameters))])
    return folder / f"{hashlib.sha256(question.encode()).hexdigest()[:32]}.json"


def kept(place: Path) -> str | None:
    """The answer kept there; None where there is none or it cannot be read."""
    try:
        return place.read_text(encoding="utf-8")
    except (OSError, UnicodeDecodeError):
        return None


def keep(place: Path, text: str) -> None:
    """Keep an answer, whole or not at all. A disk that takes nothing is no reason to fail."""
    with suppress(OSError):
        place.parent.mkdir(parents=True, exist_ok=True)
        write_whole(place, text.encode())
