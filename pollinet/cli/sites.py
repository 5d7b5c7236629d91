"""`pollinet sites`: the questions of one garden, asked of thousands of places."""

from __future__ import annotations

import json
import os
import sys
from collections.abc import Iterator, Sequence
from hashlib import sha256
from importlib import import_module
from pathlib import Path
from typing import TYPE_CHECKING, Any

import click

from pollinet import __version__
from pollinet.cli.common import (
    FilePath,
    FiniteRange,
    form_option,
    give,
    in_language,
    json_option,
    opened,
    out_problem,
    plan_argument,
    print_lines,
    put_picture,
    show_findings,
    stop,
)
from pollinet.cli.donors import source_option
from pollinet.files import cannot_write, locked, made_by, not_a_folder, write_whole
from pollinet.findings import Finding, has_errors
from pollinet.language import _
from pollinet.messages import listing, say, say_number
from pollinet.readers import plan_bounds
from pollinet.readers.own_tables import own_folder_beside
from pollinet.readers.places import (
    Place,
    Read,
    grid_places,
    read_heights,
    read_places,
    station_places,
)

if TYPE_CHECKING:
    from pollinet.answers.sites import Sites
    from pollinet.region.run import Progress
    from pollinet.region.work import Question
    from pollinet.study import Study

NEEDED = ("dask", "distributed", "xarray", "netCDF4")
"""Libraries of the extra; pyarrow and numba are used where they are there."""

MARK = "run.json"
"""File by which a folder is known as one of ours."""

ON_MAP_C = (1.0, 2.0)
"""Steps of warming that a map shows beside today where no others are asked for. Own convention.
[°C]"""

SHARED_FROM = 200
"""Places from which several processes pay where nothing is told: each takes three seconds to start.
Own estimate."""

COMPILED_FROM = 100
"""Places from which compiling pays: a second, against some ten milliseconds a place. Own
estimate."""

CHUNK = 20
"""Places in a chunk: a second or two of work, so that little is lost and little time goes into
keeping it. Own convention."""

TIME_LIMIT_S = 10.0
"""How long a search for a best set may take in a place: own convention. [s]"""

PICTURES = (".svg", ".png", ".pdf")


@click.command(
    epilog="Example: pollinet sites plan.toml --grid 46.0 7.0 46.5 7.5 --step 0.5 --elevation 500 "
    "--out region --map region.png. Exit codes: 0 an answer, 2 bad input. "
    "Needs the extra: pip install 'pollinet[region]'."
)
@plan_argument
@click.option(
    "--places", type=FilePath(), metavar="FILE",
    help="A table of places: name, latitude, longitude, elevation_m, and perhaps weather, the "
    "name of a file with its daily record.",
)  # fmt: skip
@click.option(
    "--grid", type=FiniteRange(-180, 180), nargs=4, metavar="SOUTH WEST NORTH EAST",
    help="The points of a grid in a box, in degrees.",
)  # fmt: skip
@click.option(
    "--step", type=FiniteRange(0.001, 45), default=0.5, show_default=True, metavar="DEGREES",
    help="From one point of the grid to the next.",
)  # fmt: skip
@click.option(
    "--elevation", type=FiniteRange(*plan_bounds.ELEVATION_M), metavar="METRES",
    help="Height of all points of the grid. Without heights, that of the nearest stations stands "
    "in, and the climate is told with a wider error.",
)  # fmt: skip
@click.option(
    "--elevations", type=FilePath(), metavar="FILE",
    help="A table of heights, latitude, longitude, elevation_m; each point of the grid takes the "
    "nearest one within half a step.",
)  # fmt: skip
@click.option(
    "--stations", type=FilePath(), metavar="FOLDER",
    help="A folder of daily weather records, each of which tells where it holds.",
)  # fmt: skip
@click.option(
    "--out", type=FilePath(), required=True, metavar="FOLDER",
    help="Folder for the results: a new one, or that of a run that was broken off.",
)  # fmt: skip
@click.option(
    "--warmer", type=FiniteRange(-5, 10), multiple=True, metavar="DEGREES",
    help="Tell also the answers with every hour this much warmer (°C); may be given several times.",
)  # fmt: skip
@click.option(
    "--map", "picture", type=FilePath(), metavar="FILE",
    help="Draw where the garden has pollen (.svg, .png or .pdf): today and, where --warmer is not "
    "given, 1 and 2 °C warmer.",
)  # fmt: skip
@form_option
@source_option
@click.option(
    "--time-limit", "time_limit_s", type=FiniteRange(0, min_open=True), default=TIME_LIMIT_S,
    show_default=True, metavar="SECONDS", help="Stop the search for a best set in a place after "
    "so long; the table then says what is not proven.",
)  # fmt: skip
@click.option(
    "--workers", type=click.IntRange(1, 256), metavar="N",
    help="Processes of this machine that share the work; without it one a processor, and of few "
    "places this one alone.",
)  # fmt: skip
@click.option(
    "--scheduler", metavar="ADDRESS",
    help="Let a Dask cluster do the work, such as tcp://host:8786; it has Pollinet installed.",
)  # fmt: skip
@click.option(
    "--chunk", type=click.IntRange(1, 10_000), default=CHUNK, show_default=True, metavar="N",
    help="Places in a chunk; each process of a run that is killed does at most one again.",
)  # fmt: skip
@click.option("--zarr", is_flag=True, help="Write the arrays as Zarr, too; needs the library zarr.")
@json_option
@in_language
def sites(
    plan: Path,
    out: Path,
    picture: Path | None,
    form: str | None,
    source: str,
    warmer: tuple[float, ...],
    time_limit_s: float,
    workers: int | None,
    scheduler: str | None,
    zarr: bool,
    as_json: bool,
    **where: Any,
) -> int:
    """Ask of many places at once: which limb has a donor, what to graft, when all bloom.

    What stands in the garden is asked about as it is, in each place; notes and typed bloom dates of
    its own place stay there. Without a record, winters are made from the weather stations around a
    place. FOLDER gets sites.csv, limbs.csv and bloom.csv, the same as Parquet where pyarrow is
    installed, and sites.nc (NetCDF). A run that was broken off goes on where it stopped when the
    same line is given again.
    """
    _check_libraries(zarr, as_json)
    if picture is not None and (problem := out_problem(picture, PICTURES, _mark())):
        stop([problem], as_json)
    places, findings = _places(where)
    if has_errors(findings) or not places:
        stop(findings, as_json)
    study = opened(plan, as_json=as_json)
    steps = warmer or (ON_MAP_C if picture is not None else ())
    question, more = _question(study, steps, source, time_limit_s, len(places))
    findings += more
    if not as_json:
        show_findings(findings)
    inputs = tuple(_inputs(plan))
    asked = _asked_digest(question, inputs, places)
    _take_folder(out, asked, as_json)
    try:
        hands = _hands(workers, len(places))
        answer, seen = _run(
            question, plan, inputs, places, out, hands, scheduler, where, zarr, findings, asked
        )  # fmt: skip
    except OSError as fault:
        stop([cannot_write(fault)], as_json)
    if picture is not None:
        _draw(seen, study.plan.site.name or plan.stem, picture, form, as_json)
    return give(answer, lambda: print_lines(_lines(answer, seen, out, picture)), as_json=as_json)


def _check_libraries(zarr: bool, as_json: bool) -> None:
    """End the command where a library is missing, before anything takes long."""
    for name in (*NEEDED, *(["zarr"] if zarr else [])):
        try:
            import_module(name)
        except ImportError:
            message = say("many places need {library}, which is not installed", library=name)
            cure = say("run pip install 'pollinet[region]'")
            if name == "zarr":
                cure = say("run pip install zarr, or leave --zarr out")
            stop([Finding("error", "missing-library", message, cure=cure)], as_json)


def _places(where: dict[str, Any]) -> Read:
    """The places that were asked for, in one of three ways."""
    ways = [name for name in ("places", "grid", "stations") if where[name]]
    if len(ways) != 1:
        message = say("one of --places, --grid and --stations says which places are meant")
        cure = say("give one of them")
        return (), (Finding("error", "which-places", message, cure=cure),)
    if where["places"]:
        told, doubts = read_places(where["places"])
        return told, (*doubts, *_rows_finding(told), *_heights_finding(told, "--places"))
    if where["stations"]:
        return station_places(where["stations"])
    heights: tuple[Place, ...] = ()
    findings: tuple[Finding, ...] = ()
    if where["elevations"]:
        heights, findings = read_heights(where["elevations"])
        if has_errors(findings):
            return (), findings
    south, west, north, east = where["grid"]
    places, more = grid_places(
        south, west, north, east, where["step"], elevation_m=where["elevation"], heights=heights
    )
    return places, findings + more + _heights_finding(places, "--grid")


def _rows_finding(places: Sequence[Place]) -> tuple[Finding, ...]:
    """Which rows of a table cannot be used, the first few by name."""
    from pollinet.wording.sites import NAMED

    bad = [place for place in places if place.problem is not None]
    if not bad:
        return ()
    named = [
        say("{name}: {problem}", name=place.name, problem=place.problem.message)
        for place in bad[:NAMED]
        if place.problem is not None
    ]
    message = say_number(
        "{number} place cannot be asked about. {named}",
        "{number} places cannot be asked about. {named}",
        len(bad),
        named=listing(named, "; "),
    )
    cure = say("all of them stand in sites.csv with their reason")
    return (Finding("warning", "unusable-places", message, "--places", cure=cure),)


def _heights_finding(places: Sequence[Place], way: str) -> tuple[Finding, ...]:
    """That heights are not told of some places whose winters are made from stations."""
    asked = [place for place in places if place.problem is None and place.weather is None]
    without = sum(place.elevation_m is None for place in asked)
    if not without:
        return ()
    message = say(
        "the height of {number} of {places} places is not told; that of the stations near each "
        "stands in, and its climate is told with a wider error",
        number=without,
        places=len(places),
    )
    cure = say("give --elevations FILE, or --elevation METRES where all lie about as high")
    if way == "--places":
        cure = say("fill the column elevation_m")
    return (Finding("warning", "no-elevation", message, way, cure=cure),)


def _question(
    study: Study, steps: Sequence[float], source: str, time_limit_s: float, places: int
) -> tuple[Question, tuple[Finding, ...]]:
    from pollinet.region.work import Question
    from pollinet.study.elsewhere import movable

    garden, findings = movable(study)
    climates = tuple(dict.fromkeys((0.0, *steps)))
    question = Question(
        garden, climates, source == "catalogue", time_limit_s, places >= COMPILED_FROM
    )
    return question, findings


def _asked_digest(question: Question, inputs: Sequence[bytes], places: Sequence[Place]) -> str:
    """What a whole run is about, in few letters: the garden, the places and what is asked."""
    whole = sha256()
    told = (question.warmer_c, question.from_catalogue, question.time_limit_s)
    rows = (
        (
            place.name, place.latitude, place.longitude, place.elevation_m,
            None if place.weather is None else str(place.weather.resolve()),
        )
        for place in places
    )  # fmt: skip
    for part in (*inputs, *(repr(one).encode("utf-8") for one in (told, *rows))):
        whole.update(sha256(part).digest())
    return whole.hexdigest()


def _take_folder(out: Path, asked: str, as_json: bool) -> None:
    """Make the folder of the results; end the command where it holds something else.

    That of a run that was broken off is taken over whatever was asked: nobody has its results yet.
    """
    if out.exists() and not out.is_dir():
        stop([not_a_folder(out)], as_json)
    try:
        from pollinet.region.chunks import FOLDER

        if out.is_dir() and any(out.iterdir()) and (problem := _foreign(out, asked)):
            stop([problem], as_json)
        (out / FOLDER).mkdir(parents=True, exist_ok=True)
        # Two runs at once would do the same work twice.
        click.get_current_context().with_resource(locked(out))
        if _told_by(out / MARK) is None:
            write_whole(out / MARK, _run_file({}))
    except OSError as fault:
        stop([cannot_write(fault)], as_json)


def _run_file(told: dict[str, Any]) -> bytes:
    head = {"made_by": made_by("sites"), "version": __version__}
    return (json.dumps({**head, **told}, indent=2) + "\n").encode()


def _foreign(out: Path, asked: str) -> Finding | None:
    """What a folder holds that must not be written over."""
    told = _told_by(out / MARK)
    if told is None:
        message = say("this folder holds something else, and nothing is written over")
        cure = say("give a new folder, or that of a run that was broken off")
    elif "places" in told and told.get("asked") != asked:
        message = say("this folder holds the results of another run: of other places, another plan "
                      "or other options; nothing is written over")  # fmt: skip
        cure = say("give a new folder, or the line that made it")
    else:
        return None
    return Finding("error", "would-overwrite", message, str(out), cure=cure)


def _told_by(file: Path) -> dict[str, Any] | None:
    """What a run left of itself; None: the file is none of ours."""
    try:
        told = json.loads(file.read_bytes())
    except (OSError, ValueError, RecursionError):
        return None
    return told if isinstance(told, dict) and told.get("made_by") == made_by("sites") else None


def _hands(workers: int | None, places: int) -> int:
    """How many processes share the work; to start some takes seconds, which few places are not."""
    if workers is not None or places < SHARED_FROM:
        return workers or 1
    return len(os.sched_getaffinity(0)) if sys.platform == "linux" else os.cpu_count() or 1


def _run(
    question: Question,
    plan: Path,
    inputs: Sequence[bytes],
    places: Sequence[Place],
    out: Path,
    workers: int,
    scheduler: str | None,
    where: dict[str, Any],
    zarr: bool,
    findings: tuple[Finding, ...],
    asked_digest: str,
) -> tuple[Sites, Any]:
    from pollinet.answers.sites import sites_of
    from pollinet.region import tables
    from pollinet.region.chunks import question_digest
    from pollinet.region.run import Progress, Where, kept_parts, run
    from pollinet.region.work import joined_answers, least_chill
    from pollinet.summary.sites import SitesSeen

    digest = question_digest(
        [*inputs, question.warmer_c, question.from_catalogue, question.time_limit_s]
    )
    last = Progress(0, len(places), 0)
    meter = _Meter()

    def tell(progress: Progress) -> None:
        nonlocal last
        last = progress
        meter.show(progress)

    size = where["chunk"]
    chunks = run(question, digest, places, out, Where(workers, scheduler), tell, size=size)
    meter.end()
    asked = tables.Asked(question)
    files = tables.write_tables(
        asked, lambda: kept_parts(chunks), out, parquet=_has("pyarrow")
    )  # fmt: skip
    whole = joined_answers(list(kept_parts(chunks)))
    data = tables.dataset(asked, whole)
    tables.write_netcdf(data, out / "sites.nc")
    files.append(out / "sites.nc")
    if zarr:
        tables.write_zarr(data, out / "sites.zarr")
        files.append(out / "sites.zarr")
    told = {"plan": plan.name, "places": len(places), "digest": digest.hex(),
            "asked": asked_digest,
            "warmer_c": question.warmer_c, "seed": question.garden.plan.aim.seed}  # fmt: skip
    write_whole(out / MARK, _run_file(told))
    step = where["step"] if where["grid"] else None
    seen = SitesSeen(
        whole.latitude, whole.longitude, whole.standing, least_chill(whole),
        question.garden.plan.aim.level, question.warmer_c, step, tuple(whole.name.tolist()),
    )  # fmt: skip
    return sites_of(seen, last.taken_over, [str(file) for file in files], findings), seen


def _inputs(plan: Path) -> Iterator[bytes]:
    """What the garden's own files hold: the plan and the tables beside it."""
    yield plan.read_bytes()
    own = own_folder_beside(plan.parent)
    for file in sorted(own.rglob("*.csv")) if own is not None else ():
        yield file.name.encode()
        yield file.read_bytes()


def _has(library: str) -> bool:
    try:
        import_module(library)
    except ImportError:
        return False
    return True


class _Meter:
    """How far the run is, on standard error: in one line of a terminal, else a line each tenth."""

    def __init__(self) -> None:
        self._tenth = -1
        self._open = False

    def show(self, progress: Progress) -> None:
        """Tell how many places are done."""
        if sys.stderr is None:
            return
        text = _("{done} of {places} places").format(done=progress.done, places=progress.places)
        if progress.taken_over:
            text += _(", {number} of them by an earlier run").format(number=progress.taken_over)
        if sys.stderr.isatty():
            print(f"\r{text} …", end="", file=sys.stderr, flush=True)
            self._open = True
        elif (tenth := 10 * progress.done // max(progress.places, 1)) > self._tenth:
            self._tenth = tenth
            print(text, file=sys.stderr, flush=True)

    def end(self) -> None:
        """End the line of the terminal."""
        if self._open:
            print(file=sys.stderr, flush=True)


def _mark() -> bytes:
    from pollinet.charts.sites import PURPOSE

    return made_by(PURPOSE).encode()


def _draw(seen: Any, garden: str, picture: Path, form: str | None, as_json: bool) -> None:
    from pollinet.charts.sites import PURPOSE, draw_sites, sites_description
    from pollinet.charts.style import form_of

    title = _("Where there is pollen: {garden}").format(garden=garden)
    figure = draw_sites(seen, title=title, form=form_of(form, picture.suffix))
    put_picture(
        figure, picture, title=title, description=sites_description(seen), purpose=PURPOSE,
        as_json=as_json,
    )  # fmt: skip


def _lines(answer: Sites, seen: Any, out: Path, picture: Path | None) -> Iterator[str]:
    from pollinet.wording.sites import lacking_words, not_asked

    yield answer.answer
    if lacking := lacking_words(seen):
        yield lacking
    names = ", ".join(Path(file).name for file in answer.files)
    yield _("Written into {folder}: {files}.").format(folder=out, files=names)
    if picture is not None:
        yield _("The map is in {file}.").format(file=picture)
    yield not_asked()
    if any(climate.not_known for climate in answer.climates):
        yield _("Places that tell of no answer have their reason in the column findings_in_words.")
