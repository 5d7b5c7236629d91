"""Where the catalogues stand: inside the installed package, or beside it in a checkout."""

from __future__ import annotations

import hashlib
from collections.abc import Iterator
from functools import cache
from importlib.resources import files
from importlib.resources.abc import Traversable
from pathlib import Path

from pollinet.errors import CatalogueMissing


def catalogue_root() -> Traversable:
    """The folder of the catalogues.

    A wheel carries it as `pollinet/catalogues`; in a checkout (also an editable install) it
    stands beside the package. The checkout counts only next to a `pyproject.toml`, so that a
    folder of another distribution is never read by mistake.

    Raises
    ------
    CatalogueMissing
        Neither is there: the installation is broken.
    """
    package = Path(__file__).parent
    # What looks into packages that are no folders (a zip) takes longer to load than a table.
    installed = (package if package.is_dir() else files("pollinet")).joinpath("catalogues")
    if installed.is_dir():
        return installed
    checkout = Path(__file__).resolve().parent.parent
    if (checkout / "pyproject.toml").is_file() and (checkout / "catalogues").is_dir():
        return checkout / "catalogues"
    raise CatalogueMissing(f"no catalogues inside the package and none in {checkout}")


@cache
def catalogue_digest() -> str:
    """SHA-256 of the names and the content of all shipped tables, in hexadecimal."""
    digest = hashlib.sha256()
    for path, file in _tables(catalogue_root(), ""):
        content = file.read_bytes()
        digest.update(f"{path} {len(content)}\n".encode() + content)
    return digest.hexdigest()


def _tables(folder: Traversable, above: str) -> Iterator[tuple[str, Traversable]]:
    """Paths and files of all tables below a folder, in the order of their names."""
    for one in sorted(folder.iterdir(), key=lambda inner: inner.name):
        if one.is_dir():
            yield from _tables(one, f"{above}{one.name}/")
        elif one.name.endswith(".csv"):
            yield f"{above}{one.name}", one


def table_text(root: Traversable, path: str) -> str | None:
    """Text of one table under `root`; None where there is no such file."""
    file = root.joinpath(*path.split("/"))
    return file.read_text(encoding="utf-8-sig") if file.is_file() else None
