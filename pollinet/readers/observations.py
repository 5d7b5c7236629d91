"""What can be observed (`catalogues/advice/observations.csv`), and one row of a log as that."""

from __future__ import annotations

import re
from collections.abc import Iterable, Iterator, Mapping
from dataclasses import dataclass, replace
from datetime import date
from functools import cache

from pollinet.days import is_southern, out_of_spring, season_start
from pollinet.domain import Observation, Plan, VarietyId
from pollinet.findings import Finding
from pollinet.letters import hidden_in, shortened
from pollinet.messages import NOTHING, Message, joined, listing, mark, say, say_number
from pollinet.readers.day_words import dates_meant
from pollinet.readers.names import fold, one_of, suggest
from pollinet.readers.plan_bounds import YEARS
from pollinet.readers.text_tables import shipped_texts

WHOLE_GARDEN = "all"
WITHDRAWN = "-"
FIRST_YEAR, LAST_YEAR = YEARS


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
    return {row["kind"]: _kind(row) for row in shipped_texts("advice/observations.csv")}


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


def observation(
    cells: Mapping[str, str], plan: Plan, file: str = "", line: int | None = None
) -> tuple[Observation | None, Finding | None]:
    """One row as an observation, or the first thing that is wrong with it."""

    def wrong(code: str, column: str, message: str, cure: str = NOTHING) -> tuple[None, Finding]:
        return None, Finding("error", code, message, file, column, line, cure)

    kind = kinds().get(cells["kind"])
    if kind is None:
        near, every = suggest(cells["kind"], kinds(), 3), listing(tuple(kinds()))
        cure = (
            say("nearest: {near}; kinds: {kinds}", near=listing(near), kinds=every)
            if near
            else say("kinds: {kinds}", kinds=every)
        )
        message = say('"{kind}" is no kind of observation', kind=cells["kind"])
        return wrong("unknown-kind", "kind", message, cure)
    limb = _current_id(cells["limb"], plan)
    if not (limb in places(plan) or (kind.garden and limb == WHOLE_GARDEN)):
        message = say('the plan has no limb "{limb}"', limb=limb)
        return wrong("unknown-limb", "limb", message, _limb_cure(limb, plan))
    day, year = _date(cells["date"], kind, plan.site.latitude)
    if year is None:
        message = say('"{date}" is no date for {kind}', date=cells["date"], kind=kind.name)
        usual = (
            say("write it as 2026-04-12")
            if kind.dated
            else say("write it as 2026-04-12, or only the year")
        )
        return wrong("wrong-date", "date", message, as_date(cells["date"], usual))
    base = Observation(limb, kind.name, year, day, unit=kind.unit, note=cells.get("note", ""),
                       line=line or 0)  # fmt: skip
    value, problem = _value(base, cells["value"], cells.get("unit", ""), kind)
    return (value, None) if value is not None else wrong("wrong-value", "value", *problem)


_WHEN = re.compile(r"[0-9]{4}(-[0-9]{2}-[0-9]{2})?")

SPRING_KINDS = ("stage", "leafing")
"""What is seen around spring alone."""


def doubtful_dates(
    seen: Iterable[Observation], plan: Plan, file: str
) -> Iterator[tuple[Observation, Finding]]:
    """Each note that is dated out of spring, or before the limb was grafted, with a warning."""
    grafted = {limb.id: limb.grafted for limb in plan.limbs if limb.grafted is not None}
    latitude = plan.site.latitude
    for note in seen:
        day, year = note.day, grafted.get(note.limb)
        if note.word == WITHDRAWN:
            continue
        if note.kind in SPRING_KINDS and day and out_of_spring(day.month, latitude):
            message = say(
                "{date} is not in spring here: the note is left out until it is put right", date=day
            )
            yield note, _doubt(message, note, file)
        if year is not None and note.year < year:
            message = say(
                "noted of {year}, but the plan says: grafted in {grafted}; the note is left out "
                "until one of them is put right",
                year=str(note.year),
                grafted=str(year),
            )
            yield note, _doubt(message, note, file)


def odd_note(
    cells: Mapping[str, str], file: str = "", line: int | None = None
) -> Iterator[Finding]:
    """An error for own words with signs that steer a terminal or are not seen."""
    words = cells.get("note", "")
    if hidden_in(words, "\n\r\t"):
        message = say('the note "{note}" holds signs that are not seen', note=shortened(words))
        cure = say("type it again by hand")
        yield Finding("error", "wrong-note", message, file, "note", line, cure)


def _doubt(message: str, note: Observation, file: str) -> Finding:
    when = note.day.isoformat() if note.day else str(note.year)
    cure = say(
        "if it is wrong, take it back: --take-back {kind} --date {date}", kind=note.kind, date=when
    )
    return Finding("warning", "doubtful-date", message, file, note.limb, note.line or None, cure)


def notes_to_come(seen: Iterable[Observation], today: date, file: str) -> tuple[Finding, ...]:
    """A warning where notes are dated after today."""
    late = [note for note in seen if (note.day or date(note.year, 1, 1)) > today]
    if not late:
        return ()
    message = say_number(
        "{date} has not come yet, and a note of {limb} is dated so",
        "{date} has not come yet, and a note of {limb} is dated so; {number} notes are dated ahead",
        len(late),
        date=late[0].day.isoformat() if late[0].day else str(late[0].year),
        limb=late[0].limb,
    )
    cure = say("take it back, and note it again with its right date")
    return (Finding("warning", "date-to-come", message, file, "date", late[0].line or None, cure),)


def date_to_come(text: str, today: date, file: str = "", line: int | None = None) -> Finding | None:
    """That a day or year of a note, as text, lies ahead; None where it does not, or is no date."""
    if not _WHEN.fullmatch(text) or text <= today.isoformat():
        return None
    message = say("{date} has not come yet", date=text)
    cure = say("note what was seen; for work to do see `pollinet work`")
    return Finding("error", "date-to-come", message, file, "date", line, cure)


def as_date(text: str, usual: Message) -> Message:
    """How to write what was typed for a date; the usual words where nothing can be meant by it."""
    meant = [day.isoformat() for day in dates_meant(text) if FIRST_YEAR <= day.year <= LAST_YEAR]
    return say("write it as {dates}", dates=joined(meant, "or")) if meant else usual


def _current_id(name: str, plan: Plan) -> str:
    """What a limb or neighbour's tree is called now that may have had another id before."""
    former = {old: limb.id for limb in plan.limbs for old in limb.former_ids}
    former |= {old: tree.id for tree in plan.neighbours for old in tree.former_ids}
    return former.get(name, name)


def places(plan: Plan) -> dict[str, VarietyId]:
    """Ids of what the log can be about, with their varieties: limbs, then neighbours' trees."""
    return {
        **{limb.id: limb.variety for limb in plan.limbs},
        **{tree.id: tree.variety for tree in plan.neighbours},
    }


def _limb_cure(typed: str, plan: Plan) -> str:
    of_variety = [name for name, variety in places(plan).items() if variety.name == typed]
    if of_variety:
        return say("nearest: {names}", names=listing(of_variety))
    return one_of(typed, places(plan), mark("the limbs are: {names}"))


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


_SOUND = (NOTHING, NOTHING)


def _value(
    base: Observation, text: str, unit: str, kind: Kind
) -> tuple[Observation | None, tuple[str, str]]:
    """The observation with its value; None with (message, cure) where that is wrong."""
    if text == WITHDRAWN:
        return replace(base, word=WITHDRAWN), _SOUND
    if kind.form == "word":
        word = text.casefold()
        if word in kind.allowed:
            return replace(base, word=word), _SOUND
        message = say('"{value}" is no value for {kind}', value=text, kind=kind.name)
        return None, (message, say("allowed: {words}", words=listing(kind.allowed)))
    first, _, second = text.replace(" of ", "/").partition("/")
    number, total = _number(first), _number(second)
    if kind.form == "share":
        cure = say("write it as 14/20")
        if number is not None and total is not None and number > total:
            return None, (_more_than_all(text, number, total), cure)
        if number is None or total is None or number % 1 or total % 1 or not 0 <= number <= total:
            return None, (say('"{value}" is no count out of a count', value=text), cure)
        if not 1 <= total <= kind.maximum:
            return None, (say("{number:g} {unit} cannot be", number=total, unit=kind.unit), cure)
        return replace(base, number=number, of=int(total)), _SOUND
    if number is None or second:
        return None, (say('"{value}" is no number', value=text), _number_cure(text, kind))
    number, problem = _in_own_unit(number, unit, kind)
    if problem or not kind.minimum <= number <= kind.maximum:
        between = say(
            "allowed: {least:g} to {most:g} {unit}",
            least=kind.minimum,
            most=kind.maximum,
            unit=kind.unit,
        )
        outside = say("{value} {unit} is outside the range", value=text, unit=unit or kind.unit)
        return None, (problem or outside, between)
    return replace(base, number=number), _SOUND


def _more_than_all(text: str, number: float, total: float) -> Message:
    return say(
        '"{value}" is no count out of a count: {number:g} is more than {total:g}',
        value=text,
        number=number,
        total=total,
    )


_WITH_UNIT = re.compile(r"([-−+]?\d+(?:[.,]\d+)?)\s*(\D+)")


def _number_cure(text: str, kind: Kind) -> Message:
    """To give a number; where it came with another unit that is known, how much that is."""
    usual = say("give a number, in {unit}", unit=kind.unit)
    found = _WITH_UNIT.fullmatch(text.strip())
    meant = next((unit for unit in kind.other_units if found and fold(unit) == fold(found[2])), "")
    number = _number(found[1]) if found else None
    if number is None or not meant:
        return usual
    return say(
        "{number:g} {unit} is {own:g} {own_unit}: give that, or {number:g} with the unit {unit} "
        "(`--unit {unit}`)",
        number=number,
        unit=meant,
        own=round(_in_own_unit(number, meant, kind)[0], 2),
        own_unit=kind.unit,
    )


def _number(text: str) -> float | None:
    try:
        value = float(text.replace("−", "-").replace(",", "."))
    except ValueError:
        return None
    return value if abs(value) < 1e9 else None


def _in_own_unit(number: float, unit: str, kind: Kind) -> tuple[float, str]:
    """A number in the kind's own unit, and what is wrong with the unit that it was given in."""
    known = (kind.unit, *kind.other_units)
    # Case and signs do not matter: `IN`, `C` and `f` are what they seem.
    meant = next((one for one in known if one == unit or fold(one) == fold(unit) != ""), None)
    if not unit or meant == kind.unit:
        return number, NOTHING
    if meant == "F":
        return round((number - 32) / 1.8, 2), NOTHING
    if meant is not None:
        return round(number * kind.other_units[meant], 3), NOTHING
    return number, say(
        '"{unit}" is no unit of {kind}; known: {units}',
        unit=unit,
        kind=kind.name,
        units=listing(known),
    )
