"""Own tables: what is typed comes back as it was typed, and nothing else changes."""

from __future__ import annotations

import tempfile
from pathlib import Path

from hypothesis import given, settings
from hypothesis import strategies as st

from pollinet.domain import VarietyId
from pollinet.letters import hidden_in
from pollinet.readers.catalogue import load_catalogue
from pollinet.readers.own_tables import NewRow, add_rows, is_shipped, own_folder_beside

FACTS = "sour_cherry/facts.csv"


def row(variety: str, note: str) -> NewRow:
    cells = {"variety": variety, "property": "vigour", "value": "low", "note": note}
    return NewRow(FACTS, {**cells, "source": "own", "status": "plan"}, "--set vigour")


WORDS = st.text(st.characters(exclude_categories=["Cs", "Cc"]), max_size=30)
LINE = WORDS.filter(lambda text: not hidden_in(text)).map(lambda text: " ".join(text.split()))


@settings(max_examples=30, deadline=None)
@given(
    st.lists(LINE, min_size=1, max_size=3),
    st.sampled_from([b"", b"# mine\n", b"\xef\xbb\xbf", b"# mine\r\n\r\n"]),
)
def test_texts_come_back_and_old_bytes_stay(notes: list[str], old: bytes) -> None:
    with tempfile.TemporaryDirectory() as name:
        folder = Path(name)
        (folder / "sour_cherry").mkdir()
        table = folder / FACTS
        table.write_bytes(old)
        for number, note in enumerate(notes):
            before = table.read_bytes()
            catalogue, findings = add_rows(folder, "sour cherry", [row(f"Own {number}", note)])
            assert catalogue is not None and findings == ()
            assert table.read_bytes().startswith(before)
        loaded, _ = load_catalogue(["sour cherry"], folder)
        for number, note in enumerate(notes):
            [fact] = loaded.varieties[VarietyId("sour cherry", f"Own {number}")].facts
            assert fact.note == note


def test_one_wrong_row_keeps_all_out(tmp_path: Path) -> None:
    wrong = NewRow(FACTS, {**row("Dusk", "").cells, "value": "huge"}, "--set vigour")
    catalogue, [finding] = add_rows(tmp_path, "sour cherry", [row("Dawn", ""), wrong])
    assert catalogue is None and list(tmp_path.rglob("*")) == []
    assert (finding.code, finding.place, finding.file) == ("not-allowed", "--set vigour", "")


def test_a_name_near_another_can_be_added(tmp_path: Path) -> None:
    catalogue, findings = add_rows(tmp_path, "sour cherry", [row("Montmorencys", "")])
    assert catalogue is not None and findings == ()
    loaded, [note] = load_catalogue(["sour cherry"], tmp_path)
    assert VarietyId("sour cherry", "Montmorencys") in loaded.varieties
    assert (note.severity, note.code) == ("note", "near-name") and "Montmorency" in note.message


def test_a_folder_that_cannot_be_written(tmp_path: Path) -> None:
    (tmp_path / "sour_cherry").write_text("a file, no folder", encoding="utf-8")
    catalogue, [finding] = add_rows(tmp_path, "sour cherry", [row("Dawn", "")])
    assert catalogue is None and finding.code == "cannot-write"


def test_only_a_folder_of_ones_own_is_found(tmp_path: Path, checkout: Path) -> None:
    assert own_folder_beside(tmp_path) is None
    (tmp_path / "catalogues").mkdir()
    assert own_folder_beside(tmp_path) == tmp_path / "catalogues"
    assert own_folder_beside(checkout) is None and is_shipped(checkout / "catalogues")
    # A checkout beside an installed package is nobody's own either.
    whole = (checkout / "catalogues" / "datapackage.json").read_bytes()
    (tmp_path / "catalogues" / "datapackage.json").write_bytes(whole)
    assert own_folder_beside(tmp_path) is None
