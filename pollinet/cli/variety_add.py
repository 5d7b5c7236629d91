"""`pollinet variety add`: a variety of one's own, into tables beside the plan."""

from __future__ import annotations

from collections.abc import Iterable
from pathlib import Path

import click

from pollinet.answers.variety_add import added_variety_of
from pollinet.cli.common import (
    FilePath,
    give,
    hold_garden,
    json_option,
    print_lines,
    show_findings,
    stop,
)
from pollinet.domain import Catalogue, VarietyId
from pollinet.files import OWN_FOLDER
from pollinet.findings import Finding
from pollinet.messages import say
from pollinet.readers.add_variety import add_variety
from pollinet.readers.names import resolve_fruit
from pollinet.readers.own_tables import is_shipped
from pollinet.readers.own_varieties import OPTIONS, OwnVariety
from pollinet.readers.shared_tables import fruits
from pollinet.wording.varieties import added_lines

folder_option = click.option(
    "--folder",
    type=FilePath(),
    metavar="FOLDER",
    help="Folder of your own tables; without it, `catalogues` beside the plan or here.",
)


@click.command(
    epilog='Example: pollinet variety add "Old Garden Pear" --species pear --ploidy 2 '
    '--bloom "4 days after Conference". Exit codes: 0 added, 2 something is wrong and nothing '
    "was written."
)
@click.argument("name", nargs=-1, required=True)
@click.option("--species", metavar="FRUIT", required=True, help="Kind of fruit.")
@click.option("--s-genotype", metavar="ALLELES", help="S-alleles, such as S1S5 or S1S?.")
@click.option("--ploidy", metavar="2-6", help="Sets of chromosomes; 3 is a triploid.")
@click.option("--self-fertile", metavar="yes|no|partial", help="Whether own pollen sets a crop.")
@click.option("--pollen-ok", metavar="yes|no", help="Whether its pollen works at all.")
@click.option("--chill-portions", metavar="PORTIONS", help="Winter chill needed.")
@click.option(
    "--bloom",
    multiple=True,
    metavar="WHEN",
    help='In your garden: "8 Apr - 18 Apr". Compared: "4 days after Conference", "with Bing". '
    'By class: "England groups: C".',
)
@click.option(
    "--pollen-shed",
    metavar="DAYS",
    help='When its catkins shed pollen in your garden, such as "8 Jan - 2 Feb" (hazelnut).',
)
@click.option("--pick", metavar="DAYS", help='When you pick it, such as "8 Sep - 20 Sep".')
@click.option(
    "--parents",
    metavar="NAMES",
    help='Its parents, the seed parent first: "Gala x Braeburn"; "Gala, Braeburn" where it is not '
    "known which is which; ? for one that is not known.",
)
@click.option("--keeping-weeks", metavar="WEEKS", help="How long it keeps in a cool cellar.")
@click.option("--hardiness-zone", metavar="1-13", help="Coldest USDA zone it is said to live in.")
@click.option("--crab", metavar="yes|no", help="Whether it is a crab apple.")
@click.option("--sport-of", metavar="NAME", help="The variety that it is a sport or clone of.")
@click.option(
    "--set",
    "others",
    multiple=True,
    metavar="PROPERTY=VALUE",
    help="Any other property of the catalogue, such as vigour=low.",
)
@click.option("--note", default="", metavar="TEXT", help="Where you know it from.")
@click.option(
    "--plan",
    type=FilePath(exists=True, dir_okay=False),
    help="The plan beside which your tables stand.",
)
@folder_option
@json_option
def add(
    name: tuple[str, ...],
    species: str,
    s_genotype: str | None,
    ploidy: str | None,
    self_fertile: str | None,
    pollen_ok: str | None,
    chill_portions: str | None,
    bloom: tuple[str, ...],
    pollen_shed: str | None,
    pick: str | None,
    parents: str | None,
    keeping_weeks: str | None,
    hardiness_zone: str | None,
    crab: str | None,
    sport_of: str | None,
    others: tuple[str, ...],
    note: str,
    plan: Path | None,
    folder: Path | None,
    as_json: bool,
) -> int:
    """Describe a variety of your own; your values go before those of the catalogue."""
    fertility = (s_genotype, ploidy, self_fertile, pollen_ok, chill_portions)
    more = (parents, keeping_weeks, hardiness_zone, crab)
    properties = _properties((*fertility, *more), others)
    told = {"--pollen-shed": pollen_shed, "--pick": pick, "--sport-of": sport_of}
    for option, text in told.items():
        if text is not None and not text.strip():
            raise click.UsageError(f"{option} is empty.")
    if not (properties or bloom or pollen_shed or pick or sport_of):
        raise click.UsageError("Say something about the variety, at least one value.")
    fruit, problems = resolve_fruit(species, fruits(), place="--species")
    if fruit is None:
        stop(problems, as_json)
    title, parent, remark = (_clean(text) for text in (" ".join(name), sport_of or "", note))
    own = OwnVariety(
        title, fruits()[fruit], properties, bloom, parent, remark, pollen_shed or "", pick or ""
    )
    home = folder or (plan.parent if plan else Path()) / OWN_FOLDER
    catalogue, findings = _added(own, home, as_json)
    variety = catalogue.varieties[VarietyId(fruit, own.name)]
    answer = added_variety_of(variety, own.fruit, home, findings)

    def show_added() -> None:
        show_findings(findings)
        print_lines(added_lines(answer.answer, home))

    return give(answer, show_added, as_json=as_json)


def _properties(given: Iterable[str | None], others: Iterable[str]) -> dict[str, str]:
    """Values by property: those with an option of their own, and those of --set."""
    found = {
        name: _clean(value) for name, value in zip(OPTIONS, given, strict=True) if value is not None
    }
    for other in others:
        name, equals, value = other.partition("=")
        if not equals:
            raise click.UsageError(f"--set needs PROPERTY=VALUE; found: {other}")
        if (key := name.strip()) in found:
            raise click.UsageError(f"{key} is given twice.")
        found[key] = _clean(value)
    return found


def _clean(text: str) -> str:
    """One line without surplus blanks, as a cell of a table has it."""
    return " ".join(text.split())


def _added(own: OwnVariety, home: Path, as_json: bool) -> tuple[Catalogue, tuple[Finding, ...]]:
    """The catalogue with the new variety, its tables written; ends the command otherwise."""
    if is_shipped(home):
        message = say("This is the folder of the shipped catalogues, which stay as they are.")
        cure = say("Call it beside your plan, or with --plan PLAN or --folder FOLDER.")
        stop([Finding("error", "shipped-folder", message, f"{home}", cure=cure)], as_json)
    hold_garden(home if home.parent.is_dir() else Path(OWN_FOLDER))
    catalogue, findings = add_variety(own, home)
    if catalogue is None:
        stop(findings, as_json)
    return catalogue, findings
