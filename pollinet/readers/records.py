"""The log beside the plan, `records.csv`: what was seen on which limb, and when.

One row an observation; the log only grows. A row with the same limb, kind and date as an earlier
one (for leafing and a stage of bloom: the same year) stands in its place, and the value `-` takes
back what was noted on its date. What can be observed is a table:
`catalogues/advice/observations.csv`.
"""

from __future__ import annotations

import csv
import io
import os
import tempfile
from collections.abc import Collection, Iterable, Iterator, Mapping, Sequence
from dataclasses import dataclass, replace
from datetime import date
from functools import cache
from itertools import pairwise
from pathlib import Path

from pollinet.catalogue_files import catalogue_root, table_text
from pollinet.days import day_of_year, is_southern, season_start
from pollinet.domain import BloomRecord, Observation, Plan, Records, Stage, VarietyId
from pollinet.errors import CatalogueMissing
from pollinet.findings import Finding, has_errors
from pollinet.readers.names import suggest

COLUMNS = ("date", "limb", "kind", "value", "unit", "note")
FILE_NAME = "records.csv"
WHOLE_GARDEN = "all"
WITHDRAWN = "-"
FIRST_YEAR, LAST_YEAR = 1800, 2200

ONCE_A_YEAR = ("stage", "leafing")
"""Kinds of which a limb has one date for each word and year."""

_STAGES: dict[str, Stage] = {"start": "start", "full": "full", "end": "end"}


@dataclass(frozen=True)
class Kind:
    """One kind of observation, a row of `observations.csv`.

    form : `number`, `word`, or `share` (a count out of a count, `14/20`).
    other_units : factor from each other unit that is understood to the kind's own.
    season : whether its year is that of the bloom it was seen at or of the crop it belongs to.
    dated : whether it needs a day. garden : whether it may be about the whole garden.
    """

    name: str
    form: str
    unit: str
    other_units: Mapping[str, float]
    minimum: float
    maximum: float
    allowed: tuple[str, ...]
    season: str
    dated: bool
    garden: bool
    description: str


@cache
def kinds() -> Mapping[str, Kind]:
    """Every kind of observation by its name, in the order of the table."""
    text = table_text(catalogue_root(), "advice/observations.csv")
    if text is None:
        raise CatalogueMissing("advice/observations.csv is not among the catalogues")
    return {row["kind"]: _kind(row) for row in csv.DictReader(text.splitlines())}


def _kind(row: Mapping[str, str]) -> Kind:
    units = (entry.partition("=") for entry in row["other_units"].split("|") if entry)
    return Kind(
        name=row["kind"],
        form=row["form"],
        unit=row["unit"],
        other_units={name: float(factor or "nan") for name, _, factor in units},
        minimum=float(row["minimum"] or "-inf"),
        maximum=float(row["maximum"] or "inf"),
        allowed=tuple(filter(None, row["allowed"].split("|"))),
        season=row["season"],
        dated=row["dated"] == "yes",
        garden=row["garden"] == "yes",
        description=row["description"],
    )


# --- reading -----------------------------------------------------------------------------------


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
        text = path.read_bytes().decode("utf-8-sig")
    except (OSError, UnicodeDecodeError) as problem:
        cure = "save it as CSV in UTF-8"
        return Records(), (
            Finding("error", "unreadable", f"cannot be read: {problem}", path.name, cure=cure),
        )
    return parse_records(text, plan, path.name)


def parse_records(text: str, plan: Plan, file: str) -> tuple[Records, tuple[Finding, ...]]:
    """The log of a plan from its text; see `read_records`."""
    rows, findings = log_rows(text, file)
    found: list[Observation] = []
    lost = {name for tree in plan.trees for name in tree.lost_limbs}
    for line, cells in rows:
        if cells["limb"] in lost:
            continue
        seen, problem = observation(cells, plan, file, line)
        if problem is not None:
            findings.append(problem)
        elif seen is not None:
            found = [earlier for earlier in found if not _replaces(seen, earlier)]
            found += [seen] if seen.word != WITHDRAWN else []
    kept = tuple(found)
    return Records(kept, bloom_records(kept, plan)), tuple(findings)


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
                header = [cell.strip() for cell in cells]
                missing = [column for column in COLUMNS[:4] if column not in header]
                if missing:
                    return [], [_header_finding(missing, file, reader.line_num)]
                continue
            if len(cells) > len(header):
                findings.append(_length_finding(len(cells), len(header), file, reader.line_num))
                continue
            filled = dict.fromkeys(COLUMNS, "")
            filled.update((k, v.strip()) for k, v in zip(header, cells, strict=False))
            rows.append((reader.line_num, filled))
    except csv.Error as problem:
        message = f"this is no CSV row: {problem}"
        findings.append(Finding("error", "broken-row", message, file, line=reader.line_num))
    if not header and not findings:
        findings.append(_header_finding(list(COLUMNS[:4]), file, 1))
    return rows, findings


def _header_finding(missing: Sequence[str], file: str, line: int) -> Finding:
    return Finding(
        "error", "missing-column", f"the log has no column {', '.join(missing)}", file, line=line,
        cure=f"begin the file with the line: {','.join(COLUMNS)}",
    )  # fmt: skip


def _length_finding(found: int, wanted: int, file: str, line: int) -> Finding:
    return Finding(
        "error", "wrong-length", f"the row has {found} cells, the header {wanted}", file,
        line=line, cure="put a note that holds a comma in double quotes",
    )  # fmt: skip


def observation(
    cells: Mapping[str, str], plan: Plan, file: str = "", line: int | None = None
) -> tuple[Observation | None, Finding | None]:
    """One row as an observation, or the first thing that is wrong with it."""

    def wrong(code: str, column: str, message: str, cure: str = "") -> tuple[None, Finding]:
        return None, Finding("error", code, message, file, column, line, cure)

    kind = kinds().get(cells["kind"])
    if kind is None:
        near = suggest(cells["kind"], kinds(), 3)
        hint = f"nearest: {', '.join(near)}; " if near else ""
        cure = f"{hint}kinds: {', '.join(kinds())}"
        return wrong("unknown-kind", "kind", f'"{cells["kind"]}" is no kind of observation', cure)
    limb = _current_id(cells["limb"], plan)
    if not (limb in places(plan) or (kind.garden and limb == WHOLE_GARDEN)):
        return wrong(
            "unknown-limb", "limb", f'the plan has no limb "{limb}"', _limb_cure(limb, plan)
        )
    day, year = _date(cells["date"], kind, plan.site.latitude)
    if year is None:
        form = "2026-04-12" if kind.dated else "2026-04-12, or only the year"
        return wrong("wrong-date", "date", f'"{cells["date"]}" is no date for {kind.name}',
                     f"write it as {form}")  # fmt: skip
    base = Observation(limb, kind.name, year, day, unit=kind.unit, note=cells.get("note", ""),
                       line=line or 0)  # fmt: skip
    value, problem = _value(base, cells["value"], cells.get("unit", ""), kind)
    return (value, None) if value is not None else wrong("wrong-value", "value", *problem)


def _current_id(name: str, plan: Plan) -> str:
    """What a limb or neighbour's tree is called now that may have had another id before."""
    return next((p.id for p in (*plan.limbs, *plan.neighbours) if name in p.former_ids), name)


def places(plan: Plan) -> dict[str, VarietyId]:
    """Ids of what the log can be about, with their varieties: limbs, then neighbours' trees."""
    return {
        **{limb.id: limb.variety for limb in plan.limbs},
        **{tree.id: tree.variety for tree in plan.neighbours},
    }


def _limb_cure(typed: str, plan: Plan) -> str:
    near = suggest(typed, places(plan), 3) if typed else []
    of_variety = [name for name, variety in places(plan).items() if variety.name == typed]
    listed = ", ".join(of_variety or near or places(plan))
    return f"{'nearest' if of_variety or near else 'the limbs are'}: {listed}"


def _date(text: str, kind: Kind, latitude: float) -> tuple[date | None, int | None]:
    """The day and the year of the bloom it belongs to; a year of None: no date."""
    if len(text) == 4 and text.isdecimal() and not kind.dated:
        year = int(text)
        return None, year if FIRST_YEAR <= year <= LAST_YEAR else None
    try:
        day = date.fromisoformat(text) if len(text) == 10 else None
    except ValueError:
        day = None
    if day is None or not FIRST_YEAR <= day.year <= LAST_YEAR:
        return None, None
    return day, year_of(day, kind.season, latitude)


def year_of(day: date, season: str, latitude: float) -> int:
    """The year in which the flowers opened that an observation of a day is about.

    Bloom: the season in which the day lies. Crop: the calendar year in the north; in the south,
    where fruit hangs over the new year, July to June. Own convention.
    """
    if season == "bloom":
        return next(y for y in (day.year + 1, day.year, day.year - 1)
                    if season_start(latitude, y) <= day)  # fmt: skip
    return day.year - (is_southern(latitude) and day.month < 7)


def _value(
    base: Observation, text: str, unit: str, kind: Kind
) -> tuple[Observation | None, tuple[str, str]]:
    """The observation with its value; None with (message, cure) where that is wrong."""
    if text == WITHDRAWN:
        return replace(base, word=WITHDRAWN), ("", "")
    if kind.form == "word":
        word = text.casefold()
        good = f"allowed: {', '.join(kind.allowed)}"
        return (replace(base, word=word), ("", "")) if word in kind.allowed else (
            None, (f'"{text}" is no value for {kind.name}', good))  # fmt: skip
    first, _, second = text.replace(" of ", "/").partition("/")
    number, total = _number(first), _number(second)
    if kind.form == "share":
        if number is None or total is None or number % 1 or total % 1 or not 0 <= number <= total:
            return None, (f'"{text}" is no count out of a count', "write it as 14/20")
        if not 1 <= total <= kind.maximum:
            return None, (f"{total:g} {kind.unit} cannot be", "write it as 14/20")
        return replace(base, number=number, of=int(total)), ("", "")
    if number is None or second:
        return None, (f'"{text}" is no number', f"give {kind.description.lower()}, in {kind.unit}")
    number, problem = _in_own_unit(number, unit, kind)
    if problem or not kind.minimum <= number <= kind.maximum:
        between = f"allowed: {kind.minimum:g} to {kind.maximum:g} {kind.unit}"
        return None, (problem or f"{text} {unit or kind.unit} is outside the range", between)
    return replace(base, number=number), ("", "")


def _number(text: str) -> float | None:
    try:
        value = float(text.replace("−", "-").replace(",", "."))
    except ValueError:
        return None
    return value if abs(value) < 1e9 else None


def _in_own_unit(number: float, unit: str, kind: Kind) -> tuple[float, str]:
    if unit in ("", kind.unit):
        return number, ""
    if unit in ("F", "°F") and "F" in kind.other_units:
        return round((number - 32) / 1.8, 2), ""
    if unit in kind.other_units:
        return round(number * kind.other_units[unit], 3), ""
    known = ", ".join((kind.unit, *kind.other_units))
    return number, f'"{unit}" is no unit of {kind.name}; known: {known}'


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
    path: Path, rows: Sequence[Mapping[str, str]], plan: Plan
) -> tuple[Finding, ...]:
    """Add rows to the log, all or none; what stands in it stays as it is, byte for byte.

    The whole new log is written beside the old one and then put in its place. Returns errors
    and writes nothing where a row is wrong or the log's own header cannot be used; otherwise
    returns what is doubtful in what was written.
    """
    old = path.read_bytes() if path.exists() else b""
    header, findings = _header(old, path.name)
    seen = []
    for cells in rows:
        good, problem = observation(cells, plan)
        findings += [problem] if problem else []
        seen += [good] if good else []
    if has_errors(findings):
        return tuple(findings)
    new = row_text([header] if not old else [])
    new += row_text([[cells.get(column, "") for column in header] for cells in rows])
    glue = b"\n" if old and not old.endswith(b"\n") else b""
    write_whole(path, old + glue + new.encode())
    known, _ = read_records(path, plan)
    return tuple(disordered_stages(known.observations, {(s.limb, s.year) for s in seen}))


def disordered_stages(
    observations: Iterable[Observation], places: Collection[tuple[str, int]]
) -> Iterator[Finding]:
    """A warning for stages of one limb and year that were noted in the wrong order.

    places : the limbs and years that are looked at.
    """
    days: dict[tuple[str, int], dict[str, date]] = {}
    for seen in observations:
        if seen.kind == "stage" and seen.day is not None and (seen.limb, seen.year) in places:
            days.setdefault((seen.limb, seen.year), {})[seen.word] = seen.day
    for (limb, _), noted in sorted(days.items()):
        stages = [stage for stage in _STAGES if stage in noted]
        for one, other in pairwise(stages):
            if noted[one] > noted[other]:
                yield Finding(
                    "warning", "stages-out-of-order",
                    f"the {one} of bloom is noted on {noted[one]}, after the {other} on "
                    f"{noted[other]}", FILE_NAME, limb,
                    cure="note the wrong one again with its right date, or take it back: "
                    f"--take-back stage --date {noted[one]}",
                )  # fmt: skip


def _header(old: bytes, file: str) -> tuple[list[str], list[Finding]]:
    """The columns of the log in its own order."""
    if not old:
        return list(COLUMNS), []
    try:
        text = old.decode("utf-8-sig")
    except UnicodeDecodeError:
        return [], [Finding("error", "unreadable", "the log is not in UTF-8", file)]
    for number, line in enumerate(text.splitlines(), 1):
        if line.strip() and not line.lstrip().startswith("#"):
            header = [cell.strip() for cell in next(csv.reader([line]))]
            missing = [column for column in COLUMNS if column not in header]
            return header, [_header_finding(missing, file, number)] if missing else []
    return [], [_header_finding(COLUMNS, file, 1)]


def write_whole(path: Path, content: bytes) -> None:
    """Write a file beside its place and put it there: a reader sees the old one or the new one."""
    handle, name = tempfile.mkstemp(dir=path.parent, prefix=f".{path.name}.")
    try:
        with os.fdopen(handle, "wb") as file:
            file.write(content)
            file.flush()
            os.fsync(file.fileno())
        # A temporary file is private; the log keeps its rights, or gets the usual ones.
        Path(name).chmod(path.stat().st_mode & 0o777 if path.exists() else 0o644)
        os.replace(name, path)
    except BaseException:
        Path(name).unlink(missing_ok=True)
        raise
