"""Where the catalogues are found."""

from __future__ import annotations

from pathlib import Path

import pytest

from pollinet import catalogue_files
from pollinet.catalogue_files import catalogue_root, table_text
from pollinet.errors import CatalogueMissing


def test_checkout_is_found() -> None:
    assert catalogue_root().joinpath("fruits.csv").is_file()


def test_copy_inside_the_package_goes_first(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    (tmp_path / "catalogues").mkdir()
    monkeypatch.setattr(catalogue_files, "__file__", str(tmp_path / "module.py"))
    assert catalogue_root() == tmp_path / "catalogues"


def test_package_that_is_no_folder_is_looked_into(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    (tmp_path / "catalogues").mkdir()
    monkeypatch.setattr(catalogue_files, "__file__", str(tmp_path / "pollinet.zip" / "module.py"))
    monkeypatch.setattr(catalogue_files, "files", lambda _: tmp_path)
    assert catalogue_root() == tmp_path / "catalogues"


def test_foreign_folder_beside_the_package_is_not_read(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    # As in site-packages: a folder of that name, but no project file beside it.
    (tmp_path / "catalogues").mkdir()
    monkeypatch.setattr(catalogue_files, "files", lambda _: tmp_path / "package")
    monkeypatch.setattr(catalogue_files, "__file__", str(tmp_path / "package" / "module.py"))
    with pytest.raises(CatalogueMissing):
        catalogue_root()


def test_text_of_a_table_or_none(tmp_path: Path) -> None:
    (tmp_path / "apple").mkdir()
    (tmp_path / "apple" / "facts.csv").write_bytes(b"\xef\xbb\xbfvariety\n")
    assert table_text(tmp_path, "apple/facts.csv") == "variety\n"
    assert table_text(tmp_path, "pear/facts.csv") is None
