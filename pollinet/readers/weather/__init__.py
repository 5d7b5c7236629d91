"""Weather files: the format is told from the content, never from the file's suffix."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass, replace
from pathlib import Path

from pollinet.files import read_whole
from pollinet.findings import Finding
from pollinet.messages import say
from pollinet.readers.files import unreadable
from pollinet.readers.weather import epw, ghcn, headed, openmeteo, pvgis, tmy3, uscrn
from pollinet.readers.weather.samples import Outcome

HEAD_CHARACTERS = 16_000
"""So much of a file is shown to the formats; enough for the longest known heading (TMY3)."""


@dataclass(frozen=True)
class Format:
    """One weather format: a name in words, how to recognise it, how to read it."""

    name: str
    recognise: Callable[[str], bool]
    read: Callable[[str, str], Outcome]


FORMATS: tuple[Format, ...] = tuple(
    Format(module.NAME, module.recognise, module.read)
    for module in (epw, tmy3, pvgis, openmeteo, ghcn, uscrn, headed)
)
"""All formats, the most particular ones first."""


def read_weather(path: Path, *, latitude: float | None = None) -> Outcome:
    """Read a weather file of any known format.

    Parameters
    ----------
    latitude : of the site, north positive; used where the file names none. [degrees]

    Returns
    -------
    (record, findings) : the record is None where a finding is an error.
    """
    file = path.name or str(path)
    try:
        data = read_whole(path)
    except FileNotFoundError:
        missing = Finding(
            "error",
            "missing-file",
            say("There is no weather file {path}.", path=path),
            path.name,
            cure=say("Check the name; it is taken from the folder of the plan."),
        )
        return None, (missing,)
    except OSError as problem:
        return None, (unreadable(problem, file),)
    return parse_weather(data, file, latitude=latitude)


def parse_weather(data: bytes, file: str, *, latitude: float | None = None) -> Outcome:
    """`read_weather` of the content of a file; `file` : its name, for findings."""
    text = _text(data)
    head = text[:HEAD_CHARACTERS]
    for known in FORMATS:
        if known.recognise(head):
            if "\0" in text:
                return None, (_zeros(file, text),)
            record, findings = known.read(text, file)
            if record is not None and record.latitude is None:
                record = replace(record, latitude=latitude)
            return record, findings
    return None, (_unknown(file, text),)


def _text(data: bytes) -> str:
    """The text of a file with line ends of one kind."""
    return _decoded(data).replace("\r\n", "\n").replace("\r", "\n")


def _decoded(data: bytes) -> str:
    if data.startswith((b"\xff\xfe", b"\xfe\xff")):
        return data.decode("utf-16", errors="replace")
    try:
        return data.decode("utf-8-sig")
    except UnicodeDecodeError:  # older stations write one byte a sign; digits are the same
        return data.decode("latin-1")


def _zeros(file: str, text: str) -> Finding:
    """That a file was written by halves: some systems fill up with zeros what was not."""
    message = say("The file is damaged: bytes of zero stand where text should be.")
    cure = say("Get the file again, completely.")
    line = text[: text.index("\0")].count("\n") + 1
    return Finding("error", "broken-file", message, file, line=line, cure=cure)


def _unknown(file: str, text: str) -> Finding:
    """One finding that says what was looked for."""
    if not text.strip():
        cure = say("Get the file again, or name another one.")
        return Finding("error", "empty-weather", say("The weather file is empty."), file, cure=cure)
    known = ", ".join(one.name for one in FORMATS)
    message = (
        say("The file is not a text file. Looked for: {formats}.", formats=known)
        if "\0" in text
        else say("The file is in no known weather format. Looked for: {formats}.", formats=known)
    )
    return Finding(
        "error",
        "unknown-weather-format",
        message,
        file,
        cure=say(
            "Write a table with the heading {heading}, one line a day, dates as 2001-12-31.",
            heading=headed.LAYOUT,
        ),
    )
