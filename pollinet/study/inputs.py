"""Which files a study was made from, and a digest of each: what tells one input from another."""

from __future__ import annotations

import hashlib
from collections.abc import Iterator
from pathlib import Path

from pollinet.domain import InputFile, InputKind, Plan
from pollinet.files import LOG_NAME, OWN_FOLDER, read_whole


def digest_of(file: Path) -> str:
    """SHA-256 (FIPS 180-4) of a file's bytes; empty where it cannot be read."""
    try:
        return hashlib.sha256(read_whole(file)).hexdigest()
    except OSError:
        return ""


def own_digests(path: Path) -> tuple[str, str]:
    """Digests of a plan and its log, by which it is seen that neither changed meanwhile."""
    return digest_of(path), digest_of(path.parent / LOG_NAME)


def inputs_of(
    path: Path,
    plan: Plan,
    digests: tuple[str, str],
    *,
    weather: Path | None,
    own_folder: Path | None,
) -> tuple[InputFile, ...]:
    """Every file that the study of a plan is made from, in an order of its own.

    path : of the plan. digests : of it and its log. weather : given in place of the plan's own.
    """
    folder = path.parent
    found: list[tuple[InputKind, str, Path]] = []
    if weather is not None:
        found.append(("weather", str(weather), weather))
    elif plan.weather_file:
        found.append(("weather", plan.weather_file, folder / plan.weather_file))
    found += [("own table", name, file) for name, file in _own_tables(own_folder)]
    told = [InputFile("plan", path.name, digests[0]), InputFile("log", LOG_NAME, digests[1])]
    told += [InputFile(kind, name, digest_of(file)) for kind, name, file in found]
    # Without a log nothing was noted.
    return tuple(one for one in told if one.sha256)


def _own_tables(own_folder: Path | None) -> Iterator[tuple[str, Path]]:
    if own_folder is not None:
        for file in sorted(own_folder.rglob("*.csv")):
            yield f"{OWN_FOLDER}/{file.relative_to(own_folder).as_posix()}", file
