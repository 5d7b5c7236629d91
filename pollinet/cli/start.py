"""`pollinet start`: a plan of one's own garden, from answers or from flags."""

from __future__ import annotations

import sys
from collections.abc import Callable, Iterable, Sequence
from dataclasses import replace
from pathlib import Path

import click

from pollinet.answers.start import new_plan_of
from pollinet.cli.common import (
    Degrees,
    FilePath,
    FiniteRange,
    give,
    json_option,
    print_lines,
    show_findings,
    stop,
)
from pollinet.drafting import Draft, Entry, draft_text, new_limb, new_tree, weather_name
from pollinet.files import cannot_write, not_a_folder, write_new
from pollinet.findings import Finding, has_errors
from pollinet.messages import say
from pollinet.readers.names import one_of
from pollinet.readers.typed_numbers import EAST, NORTH
from pollinet.study.station_winters import NAMED, SEASIDE_M, climate_findings, climate_of
from pollinet.weather.station_climate import StationClimate

Command = Callable[..., int]

PLAN_NAME = "plan.toml"

FORMS = {
    "--tree": ("ID:SPECIES[:SPARE]", "--tree old-apple:apple:2"),
    "--limb": ("TREE:ID:VARIETY[:YEAR]", '--limb "old-apple:top:Golden Delicious:2019"'),
    "--neighbour": ("SPECIES:VARIETY:METRES", "--neighbour apple:Discovery:25"),
    "--scion": ("SPECIES:VARIETY", "--scion apple:Spartan"),
    "--tmin": ("12 NUMBERS", "--tmin -2,-1,2,5,9,12,14,14,10,7,2,-1"),
}
FORMS["--tmax"] = FORMS["--tmin"]


def _parts(name: str, help_text: str, *, multiple: bool = True) -> Callable[[Command], Command]:
    return click.option(name, multiple=multiple, metavar=FORMS[name][0], help=help_text)


@click.command(
    epilog="Example: pollinet start my-garden --latitude 46.4 --tree old-apple:apple:1 --limb "
    'old-apple:low:Jonathan --limb "old-apple:top:Golden Delicious:2019" --yes. Without flags, on '
    "a terminal: pollinet start my-orchard. Exit codes: 0 written, 2 something is missing or wrong "
    "and nothing was written."
)
@click.argument("folder", metavar="DIR", type=FilePath())
@click.option("--site", metavar="NAME", help="What the garden is called.")
@click.option(
    "--latitude", type=Degrees(NORTH), metavar="DEGREES", help="South of the equator: negative."
)
@click.option(
    "--longitude", type=Degrees(EAST), metavar="DEGREES", help="West of Greenwich: negative."
)
@click.option(
    "--elevation", type=FiniteRange(), metavar="M", help="Height above the sea, in metres."
)
@click.option(
    "--weather", type=FilePath(), metavar="FILE",
    help="Record of daily minimum and maximum temperature.",
)  # fmt: skip
@_parts("--tmin", "Without a record: mean minimum of each month in °C.", multiple=False)
@_parts("--tmax", "And the mean maximum of each month.", multiple=False)
@_parts("--tree", "A tree, its fruit, and how many more grafts it can carry.")
@_parts("--limb", "A limb; the tree's own variety is one too.")
@_parts("--neighbour", "A tree next door and how far away it stands.")
@_parts("--scion", "Wood that you have or could get.")
@click.option("--yes", is_flag=True, help="Ask nothing: take the flags, and defaults for the rest.")
@json_option
def start(
    folder: Path,
    site: str | None,
    latitude: float | None,
    longitude: float | None,
    elevation: float | None,
    weather: Path | None,
    tmin: str | None,
    tmax: str | None,
    tree: tuple[str, ...],
    limb: tuple[str, ...],
    neighbour: tuple[str, ...],
    scion: tuple[str, ...],
    yes: bool,
    as_json: bool,
) -> int:
    """Write DIR/plan.toml for your own garden; on a terminal, what no flag tells is asked for.

    An existing plan is never written over.
    """
    _stop_at(_folder_findings(folder), as_json)
    normals, findings = _normals(tmin, tmax)
    trees, problems = _trees(tree, limb)
    neighbours, more = _split_all("--neighbour", neighbour, ("species", "variety", "distance_m"))
    scions, others = _split_all("--scion", scion, ("species", "variety"))
    draft = Draft(site, latitude, longitude, elevation, weather, normals, trees, neighbours, scions)
    _stop_at([*findings, *problems, *more, *others], as_json)
    if sys.stdin.isatty() and not (yes or as_json):
        from pollinet.cli.start_questions import answered

        draft = answered(draft)
    else:
        _stop_at(_missing(draft), as_json)
    return _written(draft, folder, as_json)


# --- flags -------------------------------------------------------------------------------------


def _stop_at(findings: Iterable[Finding], as_json: bool) -> None:
    found = tuple(findings)
    if has_errors(found):
        stop(found, as_json)


def _folder_findings(folder: Path) -> list[Finding]:
    if folder.exists() and not folder.is_dir():
        return [not_a_folder(folder)]
    if (file := folder / PLAN_NAME).exists():
        cure = say("change it with `pollinet plan`, or give another folder")
        message = say("this plan is there and is not written over")
        return [Finding("error", "would-overwrite", message, str(file), cure=cure)]
    return []


def _wrong_form(flag: str, text: str) -> Finding:
    form, example = FORMS[flag]
    message = say('found "{text}", needed is {form}', text=text, form=form)
    cure = say("for example {example}", example=example)
    return Finding("error", "wrong-form", message, place=flag, cure=cure)


def _normals(
    tmin: str | None, tmax: str | None
) -> tuple[tuple[list[float], list[float]] | None, list[Finding]]:
    if tmin is None and tmax is None:
        return None, []
    months, findings = [], []
    for flag, text in (("--tmin", tmin or ""), ("--tmax", tmax or "")):
        try:
            months.append([float(part) for part in text.replace(",", " ").split()])
        except ValueError:
            months.append([])
        if len(months[-1]) != 12:
            findings.append(_wrong_form(flag, text))
    return (months[0], months[1]), findings


def _trees(trees: Sequence[str], limbs: Sequence[str]) -> tuple[list[Entry], list[Finding]]:
    """The trees with their limbs."""
    found: list[Entry] = []
    findings: list[Finding] = []
    for text in trees:
        parts = _split(text)
        if _fits(parts, 2):
            found.append(new_tree(parts[0], parts[1], _number_at(parts, 2) or 0))
        else:
            findings.append(_wrong_form("--tree", text))
    for text in limbs:
        parts = _split(text)
        tree = next((one for one in found if one["id"] == parts[0]), None)
        if not _fits(parts, 3):
            findings.append(_wrong_form("--limb", text))
        elif tree is None:
            findings.append(_unknown_tree(parts[0], found))
        else:
            tree["limb"].append(new_limb(parts[1], parts[2], _number_at(parts, 3)))
    return found, findings


def _fits(parts: Sequence[str], words: int) -> bool:
    """Whether there are so many words, and at most a whole number after them."""
    numbers = parts[words:]
    return (
        all(parts)
        and len(parts) >= words
        and len(numbers) <= 1
        and all(number.isdecimal() for number in numbers)
    )


def _number_at(parts: Sequence[str], place: int) -> int | None:
    return int(parts[place]) if len(parts) > place else None


def _unknown_tree(name: str, trees: Sequence[Entry]) -> Finding:
    names = [tree["id"] for tree in trees]
    first = say("name it first: {example}", example=FORMS["--tree"][1])
    message = say('no --tree is called "{name}"', name=name)
    cure = one_of(name, names) if names else first
    return Finding("error", "unknown-tree", message, place="--limb", cure=cure)


def _split(text: str) -> list[str]:
    return [part.strip() for part in text.split(":")]


def _split_all(
    flag: str, texts: Sequence[str], keys: Sequence[str]
) -> tuple[list[Entry], list[Finding]]:
    found: list[Entry] = []
    findings: list[Finding] = []
    for text in texts:
        parts = _split(text)
        entry: Entry = dict(zip(keys, parts, strict=False))
        try:
            if "distance_m" in entry:
                entry["distance_m"] = float(entry["distance_m"])
            sound = len(parts) == len(keys) and all(parts)
        except ValueError:
            sound = False
        if sound:
            found.append(entry)
        else:
            findings.append(_wrong_form(flag, text))
    return found, findings


def _missing(draft: Draft) -> list[Finding]:
    """What no plan can do without, and nobody was asked for."""
    absent = []
    if draft.latitude is None:
        absent.append(("--latitude", "--latitude 46.4"))
    if not draft.trees:
        absent.append(("--tree", FORMS["--tree"][1]))
    bare = [tree["id"] for tree in draft.trees if not tree["limb"]]
    absent += [("--limb", f"--limb {name}:ID:VARIETY for tree {name}") for name in bare]
    if not draft.trees:
        absent.append(("--limb", FORMS["--limb"][1]))
    return [
        Finding("error", "missing-flag", say("{flag} is missing", flag=flag),
                cure=say("add for example {example}; a terminal asks for it, without --yes",
                         example=example))
        for flag, example in absent
    ]  # fmt: skip


# --- writing -----------------------------------------------------------------------------------


def _written(draft: Draft, folder: Path, as_json: bool) -> int:
    from pollinet.readers.weather import read_weather
    from pollinet.study import open_plan

    file = folder / PLAN_NAME
    text = draft_text(replace(draft, weather=weather_name(draft.weather, folder)))
    plan, _, findings = open_plan(file, text)
    if draft.weather is not None:
        findings += read_weather(draft.weather, latitude=draft.latitude)[1]
    if plan is None or has_errors(findings):
        stop(findings, as_json)
    try:
        folder.mkdir(parents=True, exist_ok=True)
        # A plan that came to be there in the meantime is not written over either.
        write_new(file, text.encode())
    except OSError as problem:
        stop([cannot_write(problem)], as_json)
    climate = None
    if draft.weather is None and draft.normals is None:
        climate = climate_of(plan.site)
    if climate is not None:
        findings += tuple(climate_findings(plan.site, climate, plan.file))
    answer = new_plan_of(plan, file, findings, climate)

    def show_written() -> None:
        show_findings(findings)
        print_lines([answer.answer, *_next(draft, file, climate)])

    return give(answer, show_written, as_json=as_json)


def _next(draft: Draft, file: Path, climate: StationClimate | None) -> list[str]:
    if draft.weather is not None or draft.normals is not None:
        return [f"Next: pollinet check {file}"]
    if climate is None:
        return [
            "It has no weather yet. Add longitude and elevation_m under [site], and winters are "
            "made from the weather stations near it; or name a daily record as `weather` "
            "(`pollinet fetch` downloads one), or give usual bloom dates in [[variety]] entries.",
            f"Then: pollinet check {file}",
        ]
    near = "; ".join(f"{s.name} ({s.country}), {s.km:.0f} km" for s in climate.nearest[:NAMED])
    lines = [f"Its winters are made from the weather stations near it: {near}."]
    if climate.elevation_m < SEASIDE_M:
        lines.append(
            "If the sea is within 5 km, its nights may be milder and its days cooler than at these "
            "stations: then a daily record of a station by the sea is better."
        )
    return [*lines, f"Next: pollinet check {file}"]
