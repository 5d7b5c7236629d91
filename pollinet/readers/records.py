"""The log beside the plan, `records.csv`: what was seen on which limb, and when.

One row an observation; the log only grows. A row with the same limb, kind and date as an earlier
one (for leafing and a stage of bloom: the same year) stands in its place, and the value `-` takes
back what was noted on its date. What can be observed is a table:
`readers/observations.py` knows it.
"""

from __future__ import annotations

import csv
import io
from collections.abc import Iterable, Iterator, Mapping, Sequence
from datetime import date
from itertools import pairwise
from pathlib import Path

from pollinet.days import day_of_year
from pollinet.domain import BloomRecord, Observation, Plan, Records, Stage
from pollinet.files import LOG_NAME, read_whole, write_whole
from pollinet.findings import Finding, Severity, has_errors
from pollinet.messages import listing, mark, say, say_number
from pollinet.readers.files import unreadable
from pollinet.readers.names import one_of
from pollinet.readers.observations import (
    WITHDRAWN,
    doubtful_dates,
    observation,
    odd_note,
    places,
)

COLUMNS = ("date", "limb", "kind", "value", "unit", "note")

ONCE_A_YEAR = ("stage", "leafing")
"""Kinds of which a limb has one date for each word and year."""

SAVE_AS_CSV = say("save it as CSV in UTF-8")

_STAGES: dict[str, Stage] = {"start": "start", "full": "full", "end": "end"}


def read_records(path: Path, plan: Plan) -> tuple[Records, tuple[Finding, ...]]:
    """Read the log of a plan; no file is an empty log.

    Returns
    -------
    records, findings
        The good rows, and an error finding with its line for every row that cannot be used.
    """
    if not path.exists():
        return Records(), ()
    try:
        text = read_whole(path).decode("utf-8-sig")
    except (OSError, UnicodeDecodeError) as problem:
        return Records(), (unreadable(problem, path.name, cure=SAVE_AS_CSV),)
    return parse_records(text, plan, path.name)


def parse_records(text: str, plan: Plan, file: str) -> tuple[Records, tuple[Finding, ...]]:
    """The log of a plan from its text; see `read_records`."""
    rows, findings = log_rows(text, file)
    every, problems = good_rows(rows, plan, file)
    kept = counted(every)
    named = frozenset(cells["limb"] for _, cells in rows)
    doubts = _few((*_doubts(kept, plan, file)[1], *taking_nothing(every, file)), file)
    return records_of(kept, plan, named), (*findings, *problems, *doubts)


def records_of(
    seen: tuple[Observation, ...], plan: Plan, named: frozenset[str] = frozenset()
) -> Records:
    """The log of a plan from what counts of it; what cannot be right is left out of its bloom."""
    left_out, _ = _doubts(seen, plan)
    sound = [note for note in seen if note not in left_out]
    return Records(seen, bloom_records(sound, plan), named, left_out)


def _doubts(
    seen: Sequence[Observation], plan: Plan, file: str = ""
) -> tuple[frozenset[Observation], list[Finding]]:
    """Notes that cannot be right, and a warning for each or for each two that contradict."""
    misdated = list(doubtful_dates(seen, plan, file))
    odd = {note for note, _ in misdated}
    # A note that is wrong by itself makes no other doubtful.
    disordered = list(disordered_stages(note for note in seen if note not in odd))
    left_out = odd.union(*(pair for pair, _ in disordered))
    return frozenset(left_out), [finding for _, finding in (*misdated, *disordered)]


MOST_DOUBTS = 3
"""So many doubts about a log are told one by one. Own convention."""


def _few(doubts: Sequence[Finding], file: str) -> tuple[Finding, ...]:
    """The first doubts, and how many more there are: they are told with every answer."""
    rest = len(doubts) - MOST_DOUBTS
    if rest <= 0:
        return tuple(doubts)
    message = say_number("{number} more note is doubtful", "{number} more notes are doubtful", rest)
    cure = say("put the first ones right: then the others are told")
    line = doubts[MOST_DOUBTS].line
    more = Finding("warning", "doubtful-notes", message, file, line=line, cure=cure)
    return (*doubts[:MOST_DOUBTS], more)


def with_more(
    seen: Iterable[Observation],
    rows: Iterable[tuple[int | None, Mapping[str, str]]],
    plan: Plan,
    file: str = "",
) -> tuple[tuple[Observation, ...], tuple[Finding, ...]]:
    """What was seen with further rows (line, cells), of which the later takes an earlier's place.

    A row that cannot be used is left out and told.
    """
    new, findings = good_rows(rows, plan, file)
    return counted([*seen, *new]), findings


def good_rows(
    rows: Iterable[tuple[int | None, Mapping[str, str]]], plan: Plan, file: str = ""
) -> tuple[list[Observation], tuple[Finding, ...]]:
    """Rows as observations, in their order; what is wrong with the others is told."""
    found, findings = [], []
    for line, cells in rows:
        if cells["limb"] in plan.lost:
            continue
        new, problem = observation(cells, plan, file, line)
        findings += [problem] if problem else []
        found += [new] if new else []
    return found, tuple(findings)


def counted(observations: Iterable[Observation]) -> tuple[Observation, ...]:
    """What counts of a log: later rows in place of earlier ones, without what was taken back."""
    found: list[Observation] = []
    for seen in observations:
        found = [earlier for earlier in found if not _replaces(seen, earlier)]
        found += [seen] if seen.word != WITHDRAWN else []
    return tuple(found)


def observed(path: Path, plan: Plan) -> tuple[tuple[dict[str, str], Observation], ...]:
    """Every good row of the log, also those that no longer count, as written and as read."""
    rows, _ = log_rows(_text(path), path.name)
    read = [(cells, observation(cells, plan, path.name, line)[0]) for line, cells in rows]
    return tuple((cells, seen) for cells, seen in read if seen is not None)


def taking_nothing(
    rows: Iterable[Observation],
    file: str = "",
    known: Iterable[Observation] = (),
    *,
    severity: Severity = "warning",
) -> tuple[Finding, ...]:
    """A finding for each row that takes back what nobody noted.

    rows : in the order of the log. known : what counted before them.
    """
    standing: dict[tuple[str, str, int], list[Observation]] = {}
    for one in known:
        standing.setdefault((one.limb, one.kind, one.year), []).append(one)
    findings = []
    for row in rows:
        place = (row.limb, row.kind, row.year)
        before = standing.get(place, [])
        left = [earlier for earlier in before if not _replaces(row, earlier)]
        if row.word != WITHDRAWN:
            left.append(row)
        elif len(left) == len(before):
            findings.append(_nothing_there(row, before, file, severity))
        standing[place] = left
    return tuple(findings)


def _nothing_there(
    row: Observation, others: Sequence[Observation], file: str, severity: Severity
) -> Finding:
    """That nothing was noted which a row could take back; others : of its kind, in its year."""
    message = say(
        "nothing of {kind} is noted of {limb} on {date}, so nothing can be taken back",
        kind=row.kind,
        limb=row.limb,
        date=_when(row),
    )
    cure = say("give the date on which it was noted; `pollinet record PLAN` shows the log")
    if others:
        dates = listing([_when(one) for one in others])
        cure = say("give the date on which it was noted: {dates}", dates=dates)
    return Finding(severity, "nothing-to-take-back", message, file, "date", row.line or None, cure)


def _when(row: Observation) -> str:
    return row.day.isoformat() if row.day else str(row.year)


_TAKEN = "# notes taken in:"
"""Begins a remark in the log that holds the ids of the notes of a text that were added below."""


def taken_ids(path: Path) -> frozenset[str]:
    """Ids of all notes of texts that came into the log."""
    lines = [line.strip('," ') for line in _text(path).splitlines() if _TAKEN in line]
    return frozenset(id_ for line in lines for id_ in line.removeprefix(_TAKEN).split())


def _text(path: Path) -> str:
    """The log as text; empty where there is none, or none that can be read."""
    try:
        return read_whole(path).decode("utf-8-sig")
    except (OSError, UnicodeDecodeError):
        return ""


def log_rows(text: str, file: str) -> tuple[list[tuple[int, dict[str, str]]], list[Finding]]:
    """The rows of a log or sheet with their lines, every column of the log filled or empty."""
    reader = csv.reader(io.StringIO(text, newline=""), strict=True)
    rows: list[tuple[int, dict[str, str]]] = []
    findings: list[Finding] = []
    header: list[str] = []
    try:
        for cells in reader:
            if not any(cell.strip() for cell in cells) or cells[0].lstrip().startswith("#"):
                continue
            if not header:
                header = _names(cells)
                findings += _header_findings(header, COLUMNS[:4], file, reader.line_num)
                if has_errors(findings):
                    return [], findings
                continue
            if len(cells) > len(header):
                findings.append(_length_finding(len(cells), len(header), file, reader.line_num))
                continue
            filled = dict.fromkeys(COLUMNS, "")
            filled.update((k, v.strip()) for k, v in zip(header, cells, strict=False))
            rows.append((reader.line_num, filled))
    except csv.Error as problem:
        message = say("this is no CSV row: {reason}", reason=problem)
        cure = say("look for a quotation mark that is not closed, here or above")
        findings.append(
            Finding("error", "broken-row", message, file, line=reader.line_num, cure=cure)
        )
    if not header and not findings:
        findings += _header_findings([], COLUMNS[:4], file, 1)
    return rows, findings


def _names(cells: Iterable[str]) -> list[str]:
    """The columns of a header, whose case and spaces do not matter."""
    return [cell.strip().casefold() for cell in cells]


def _header_findings(
    header: Sequence[str], needed: Sequence[str], file: str, line: int
) -> list[Finding]:
    """Columns that are missing, stand there twice or are not known: their cells would be lost."""
    cure = say("begin the file with the line: {header}", header=",".join(COLUMNS))
    missing = [column for column in needed if column not in header]
    if missing:
        message = say("the log has no column {columns}", columns=listing(missing))
        return [Finding("error", "missing-column", message, file, line=line, cure=cure)]
    repeated = [column for column in COLUMNS if header.count(column) > 1]
    if repeated:
        message = say("the column {columns} stands there twice", columns=listing(repeated))
        return [Finding("error", "repeated-column", message, file, line=line, cure=cure)]
    unknown = [column for column in header if column and column not in COLUMNS]
    if unknown:
        message = say("the column {columns} is not known and is not read", columns=listing(unknown))
        cure = one_of(unknown[0], COLUMNS, mark("the columns are: {names}"))
        return [Finding("warning", "unknown-column", message, file, line=line, cure=cure)]
    return []


def _length_finding(found: int, wanted: int, file: str, line: int) -> Finding:
    return Finding(
        "error", "wrong-length",
        say("the row has {found} cells, the header {wanted}", found=found, wanted=wanted), file,
        line=line, cure=say("put a note that holds a comma in double quotes"),
    )  # fmt: skip


def _replaces(later: Observation, earlier: Observation) -> bool:
    """Whether a row stands in the place of an earlier one; a limb has one date a stage and year."""
    if (later.limb, later.kind, later.year) != (earlier.limb, earlier.kind, earlier.year):
        return False
    if later.kind in ONCE_A_YEAR and later.word != WITHDRAWN:
        return later.word == earlier.word
    return later.day == earlier.day


def bloom_records(observations: Iterable[Observation], plan: Plan) -> tuple[BloomRecord, ...]:
    """The stages of bloom in the log as evidence for the bloom stage."""
    variety = places(plan)
    return tuple(
        BloomRecord(
            variety[seen.limb], seen.year, _STAGES[seen.word],
            float(day_of_year(seen.day.month, seen.day.day)),
        )
        for seen in observations
        if seen.kind == "stage" and seen.day is not None
    )  # fmt: skip


# --- writing -----------------------------------------------------------------------------------


def row_text(rows: Iterable[Sequence[str]]) -> str:
    """Rows as CSV text with line ends of one kind."""
    out = io.StringIO()
    csv.writer(out, lineterminator="\n").writerows(rows)
    return out.getvalue()


def append_records(
    path: Path, rows: Sequence[Mapping[str, str]], plan: Plan, ids: Sequence[str] = ()
) -> tuple[Finding, ...]:
    """Add rows to the log, all or none; what stands in it stays as it is, byte for byte.

    ids : those of the notes of a text, by which they are known when it is read again.

    The whole new log is written beside the old one and then put in its place. Returns errors
    and writes nothing where a row is wrong or the log's own header cannot be used; otherwise
    returns what is doubtful in what was written.
    """
    old = read_whole(path) if path.exists() else b""
    header, findings = _header(old, path.name)
    seen = []
    for cells in rows:
        good, problem = observation(cells, plan)
        findings += [problem] if problem else []
        seen += [good] if good else []
    if not has_errors(findings):
        known, _ = read_records(path, plan)
        findings += taking_nothing(seen, "", known.observations, severity="error")
    findings += [problem for cells in rows for problem in odd_note(cells)]
    if has_errors(findings):
        return tuple(findings)
    new = row_text([header] if not old else [])
    new += f"{_TAKEN} {' '.join(ids)}\n" if ids else ""
    new += row_text([[cells.get(column, "") for column in header] for cells in rows])
    glue = b"\n" if old and not old.endswith(b"\n") else b""
    # A link to a log stays a link, as one to a plan does.
    write_whole(path.resolve(), old + glue + new.encode())
    known, _ = read_records(path, plan)
    places = {(one.limb, one.year) for one in seen}
    there = [one for one in known.observations if (one.limb, one.year) in places]
    odd = {one for one, _ in doubtful_dates(there, plan, path.name)}
    disordered = disordered_stages(one for one in there if one not in odd)
    dated = doubtful_dates(seen, plan, path.name)
    return tuple(finding for _, finding in (*dated, *disordered))


_BLOOM_STAGES = {
    "start": mark("the start of bloom"),
    "full": mark("full bloom"),
    "end": mark("the end of bloom"),
}


def disordered_stages(
    observations: Iterable[Observation],
) -> Iterator[tuple[tuple[Observation, Observation], Finding]]:
    """Each two stages of one limb and year that were noted in the wrong order, with a warning."""
    notes: dict[tuple[str, int], dict[str, tuple[date, Observation]]] = {}
    for seen in observations:
        if seen.kind == "stage" and seen.day is not None:
            notes.setdefault((seen.limb, seen.year), {})[seen.word] = seen.day, seen
    for (limb, _), noted in sorted(notes.items()):
        stages = [stage for stage in _STAGES if stage in noted]
        for one, other in pairwise(stages):
            (day, first), (other_day, second) = noted[one], noted[other]
            if day > other_day:
                message = say(
                    "{one} is noted on {date}, after {other} on {other_date}: both notes are left "
                    "out until one of them is put right",
                    one=say(_BLOOM_STAGES[one]),
                    other=say(_BLOOM_STAGES[other]),
                    date=day,
                    other_date=other_day,
                )
                cure = say(
                    "note the wrong one again with its right date, or take it back: "
                    "--take-back stage --date {date}",
                    date=day,
                )
                code = "stages-out-of-order"
                finding = Finding("warning", code, message, LOG_NAME, limb, cure=cure)
                yield (first, second), finding


def _header(old: bytes, file: str) -> tuple[list[str], list[Finding]]:
    """The columns of the log in its own order."""
    if not old:
        return list(COLUMNS), []
    try:
        text = old.decode("utf-8-sig")
    except UnicodeDecodeError as problem:
        return [], [unreadable(problem, file, cure=SAVE_AS_CSV)]
    for number, line in enumerate(text.splitlines(), 1):
        if line.strip() and not line.lstrip().startswith("#"):
            header = _names(next(csv.reader([line])))
            found = _header_findings(header, COLUMNS, file, number)
            return header, [finding for finding in found if finding.severity == "error"]
    return [], _header_findings([], COLUMNS, file, 1)
