"""Collect the messages of the package and bring the catalogues up to date.

Run `python tests/language/messages.py` after a change of a message. It writes the template
`pollinet/locale/pollinet.pot`, adds new messages to every `pollinet.po` (and takes out what is no
longer said), compiles each to `pollinet.mo`, and names what is still to be translated.
"""

from __future__ import annotations

import csv
import io
from collections.abc import Iterator
from datetime import UTC, datetime
from pathlib import Path

from babel.messages.catalog import Catalog
from babel.messages.extract import extract_from_dir
from babel.messages.mofile import write_mo
from babel.messages.pofile import read_po, write_po

ROOT = Path(__file__).resolve().parents[2]
LOCALE = ROOT / "pollinet" / "locale"

METHODS = [("**.py", "python"), ("**.j2", "jinja2.ext:babel_extract")]
KEYWORDS = {
    "_": None,
    "N_": None,
    "ngettext": (1, 2),
    "pgettext": ((1, "c"), 2),
    "npgettext": ((1, "c"), 2, 3),
    "mark": None,
    "say": None,
    "say_number": (1, 2),
}
COLUMNS = {
    "advice/causes.csv": ("title", "remedy"),
    "advice/evidence.csv": ("saying",),
    "advice/remedies.csv": ("remedy",),
    "advice/stages.csv": ("saying",),
    "advice/test_outcomes.csv": ("outcome",),
    "advice/tests.csv": ("title", "how"),
    "advice/cautions.csv": ("text",),
    "advice/questions.csv": ("question",),
    "advice/work.csv": ("title", "reason"),
    "advice/grafting_windows.csv": ("title", "on", "reason"),
    "advice/grafts.csv": ("saying",),
    "advice/rootstocks.csv": ("stock",),
    "fruits.csv": ("name",),
}
"""Texts of the catalogues that are said as they stand."""

HEAD = "# Messages of Pollinet; made and kept up to date by tests/language/messages.py."

UNCHANGED = datetime(2000, 1, 1, tzinfo=UTC)
"""Date written into every file, so that the same messages give the same bytes."""


def template() -> Catalog:
    """Every message of the package, with the files that it stands in."""
    found = _empty()
    for file, _line, message, _notes, context in extract_from_dir(
        ROOT / "pollinet", METHODS, keywords=KEYWORDS, directory_filter=lambda folder: True
    ):
        found.add(message, locations=[(f"pollinet/{Path(file).as_posix()}", 0)], context=context)
    for file, text in catalogue_texts():
        found.add(text, locations=[(f"catalogues/{file}", 0)])
    return found


def _empty(language: str | None = None) -> Catalog:
    return Catalog(
        language, project="Pollinet", version="0", header_comment=HEAD, charset="utf-8",
        creation_date=UNCHANGED, revision_date=UNCHANGED, fuzzy=False,
        msgid_bugs_address="none", last_translator="the Pollinet contributors",
        language_team="the Pollinet contributors",
    )  # fmt: skip


def catalogue_texts() -> Iterator[tuple[str, str]]:
    """(file, text) of everything in the catalogues' tables that is said as it stands."""
    for file, columns in COLUMNS.items():
        text = (ROOT / "catalogues" / file).read_text(encoding="utf-8")
        for row in csv.DictReader(text.splitlines()):
            yield from ((file, row[column]) for column in columns)


def languages() -> list[str]:
    """Codes of the languages that have a catalogue."""
    return sorted(path.name for path in LOCALE.iterdir() if path.is_dir())


def po_file(language: str) -> Path:
    """Where the catalogue of a language stands."""
    return LOCALE / language / "LC_MESSAGES" / "pollinet.po"


def translated(language: str) -> Catalog:
    """The catalogue of a language as it is in its file."""
    with po_file(language).open("rb") as file:
        return read_po(file, locale=language, charset="utf-8")


def compiled(catalogue: Catalog) -> bytes:
    """A catalogue in the form that is read when the program runs."""
    written = io.BytesIO()
    write_mo(written, catalogue)
    return written.getvalue()


def _write(catalogue: Catalog, path: Path) -> None:
    with path.open("wb") as file:
        write_po(file, catalogue, width=96, sort_output=True, ignore_obsolete=True,
                 include_lineno=False)  # fmt: skip


def main() -> None:
    """Write the template and every catalogue."""
    new = template()
    _write(new, LOCALE / "pollinet.pot")
    for language in languages():
        catalogue = _empty(language)
        if po_file(language).exists():
            for entry in filter(lambda entry: entry.id, translated(language)):
                catalogue[entry.id] = entry
        catalogue.update(new, no_fuzzy_matching=True)
        _write(catalogue, po_file(language))
        po_file(language).with_suffix(".mo").write_bytes(compiled(catalogue))
        missing = [entry.id for entry in catalogue if entry.id and not all(_strings(entry.string))]
        print(f"{language}: {len(catalogue)} messages, {len(missing)} to be translated", *missing,
              sep="\n- ")  # fmt: skip


def _strings(string: str | tuple[str, ...]) -> tuple[str, ...]:
    return string if isinstance(string, tuple) else (string,)


if __name__ == "__main__":
    main()
