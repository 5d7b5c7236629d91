"""`pollinet plan …`: change the plan file; remarks and order stay, mistakes are not written."""

from __future__ import annotations

import tomllib
from collections.abc import Callable, Sequence
from datetime import date
from pathlib import Path
from typing import Any

import click

from pollinet import editing
from pollinet.answers.plan_change import plan_change_of
from pollinet.cli.common import (
    FiniteRange,
    give,
    hold_garden,
    json_option,
    plan_argument,
    plan_ids,
    print_lines,
    show_findings,
    stop,
)
from pollinet.domain import Plan
from pollinet.editing import Change, Kind, Spot
from pollinet.readers.plan import read_plan_table
from pollinet.readers.plan_bounds import POSITION_M, SPARE_LIMBS
from pollinet.wording import edits

Tell = Callable[[Plan], list[str]]
"""What is told of a change: a sentence first, then what to mind; from the plan as it is now."""


@click.group(
    epilog="Example: pollinet plan add-limb plan.toml --tree cherry --id C-new --variety Kordia. "
    "`pollinet plan COMMAND --help` explains each. Exit codes: 0 written, 2 something is wrong "
    "and nothing was written."
)
def plan() -> None:
    """Change a plan file; your remarks and its order stay.

    The changed plan is checked before anything is written.
    """


species_option = click.option("--species", required=True, metavar="FRUIT", help="Kind of fruit.")
variety_option = click.option("--variety", required=True, metavar="NAME", help="Its variety.")
biennial_option = click.option("--biennial", is_flag=True, help="It flowers every other year only.")


@plan.command(
    "add-limb",
    epilog="Example: pollinet plan add-limb plan.toml --tree cherry --id C-new --variety Kordia "
    "--grafted 2026.",
)
@plan_argument
@click.option("--tree", required=True, metavar="TREE", help="Id of the tree that carries it.")
@click.option("--id", "name", required=True, metavar="ID", help="What the limb shall be called.")
@variety_option
@click.option("--grafted", type=int, metavar="YEAR", help="Year of the grafting.")
@click.option("--no-crop", is_flag=True, help="It is there for its pollen and need not crop.")
@biennial_option
@click.option(
    "--spare", type=click.IntRange(*SPARE_LIMBS), metavar="N",
    help="Grafts that the tree can still carry; without it: one less than before.",
)  # fmt: skip
@json_option
def add_limb(
    plan: Path,
    tree: str,
    name: str,
    variety: str,
    grafted: int | None,
    no_crop: bool,
    biennial: bool,
    spare: int | None,
    as_json: bool,
) -> int:
    """Add a limb to a tree."""
    text, data = _opened(plan, as_json)
    spot = _spot(data, tree, ("tree",), as_json)
    entry = _without_none({"id": name, "variety": variety, "grafted": grafted})
    entry |= ({"crops": False} if no_crop else {}) | ({"biennial": True} if biennial else {})

    assumed = spare is None and spot.entry(data).get("spare_limbs", 0) < 1

    def tell(changed: Plan) -> list[str]:
        return edits.limb_added(name, changed.trees[spot.index], place_assumed=assumed)

    return _change(plan, text, editing.add_limb(spot.index, entry, spare), tell, as_json)


@plan.command(
    "remove-limb", epilog="Example: pollinet plan remove-limb plan.toml C-top."
)  # fmt: skip
@plan_argument
@click.argument("limb", shell_complete=plan_ids)
@json_option
def remove_limb(plan: Path, limb: str, as_json: bool) -> int:
    """Take a limb out of the plan; what the log has of it is passed over from then on."""
    text, data = _opened(plan, as_json)
    spot = _spot(data, limb, ("limb",), as_json)
    in_log = editing.in_log(plan.parent, limb)

    def tell(changed: Plan) -> list[str]:
        return edits.limb_removed(limb, changed.trees[spot.tree], in_log=in_log)

    return _change(plan, text, editing.remove_limb(spot, in_log=in_log), tell, as_json)


@plan.command("move", epilog="Example: pollinet plan move plan.toml A-top --to apple-2.")
@plan_argument
@click.argument("limb", shell_complete=plan_ids)
@click.option("--to", "tree", required=True, metavar="TREE", help="Id of the tree it stands on.")
@json_option
def move(plan: Path, limb: str, tree: str, as_json: bool) -> int:
    """Put a limb on another tree of the plan; it keeps its id and its notes."""
    text, data = _opened(plan, as_json)
    spot = _spot(data, limb, ("limb",), as_json)
    target = _spot(data, tree, ("tree",), as_json)
    said = edits.limb_moved(limb, tree)
    return _change(plan, text, editing.move_limb(spot, target.index), lambda _: said, as_json)


@plan.command("rename", epilog="Example: pollinet plan rename plan.toml A-top A-summit.")
@plan_argument
@click.argument("old", shell_complete=plan_ids)
@click.argument("new")
@click.option(
    "--kind", type=click.Choice(["limb", "neighbour", "tree"]),
    help="What is meant, where a tree and a limb share an id.",
)  # fmt: skip
@json_option
def rename(plan: Path, old: str, new: str, kind: Kind | None, as_json: bool) -> int:
    """Give a limb, a neighbour's tree or a tree another id.

    The log keeps the old id; the plan remembers it as a former id, so that its notes stay good.
    """
    text, data = _opened(plan, as_json)
    kinds: tuple[Kind, ...] = (kind,) if kind else ("limb", "neighbour", "tree")
    spot = _spot(data, old, kinds, as_json)
    in_log = spot.kind != "tree" and editing.in_log(plan.parent, old)
    said = edits.renamed(old, new, labelled=spot.kind == "limb", in_log=in_log)
    change = editing.rename(spot, old, new, in_log=in_log)
    return _change(plan, text, change, lambda _: said, as_json)


@plan.command(
    "add-neighbour",
    epilog="Example: pollinet plan add-neighbour plan.toml --species apple --variety Idared "
    "--metres 30 --id fence.",
)
@plan_argument
@species_option
@variety_option
@click.option("--metres", type=FiniteRange(), metavar="M", help="How far away it stands.")
@click.option(
    "--at",
    "position",
    type=FiniteRange(*POSITION_M),
    nargs=2,
    metavar="EAST NORTH",
    help="Where it stands, in metres; where your own trees have positions.",
)
@click.option("--may-be-felled", is_flag=True, help="No limb shall hang on it.")
@biennial_option
@click.option("--id", "name", metavar="ID", help="What it shall be called.")
@json_option
def add_neighbour(
    plan: Path,
    species: str,
    variety: str,
    metres: float | None,
    position: tuple[float, float] | None,
    may_be_felled: bool,
    biennial: bool,
    name: str | None,
    as_json: bool,
) -> int:
    """Add a tree next door whose pollen may arrive."""
    if metres is None and position is None:
        raise click.UsageError("say how far away it stands (--metres), or where (--at)")
    text, _ = _opened(plan, as_json)
    entry: dict[str, Any] = {
        "id": name,
        "species": species,
        "variety": variety,
        "distance_m": None if metres is None else _short(metres),
        "position_m": None if position is None else [_short(metres) for metres in position],
        "may_be_felled": may_be_felled or None,
        "biennial": biennial or None,
    }

    def tell(changed: Plan) -> list[str]:
        return edits.neighbour_added(changed.neighbours[-1])

    change = editing.add_entry("neighbour", _without_none(entry))
    return _change(plan, text, change, tell, as_json)


@plan.command(
    "remove-neighbour", epilog="Example: pollinet plan remove-neighbour plan.toml neighbour-1."
)
@plan_argument
@click.argument("neighbour", shell_complete=plan_ids)
@json_option
def remove_neighbour(plan: Path, neighbour: str, as_json: bool) -> int:
    """Take a tree next door out of the plan, such as one that was felled."""
    text, data = _opened(plan, as_json)
    spot = _spot(data, neighbour, ("neighbour",), as_json)
    in_log = editing.in_log(plan.parent, neighbour)
    said = edits.neighbour_removed(neighbour, in_log=in_log)
    change = editing.remove_neighbour(spot, neighbour, in_log=in_log)
    return _change(plan, text, change, lambda _: said, as_json)


@plan.command(
    "add-scion",
    epilog='Example: pollinet plan add-scion plan.toml --species "sweet cherry" --variety Stella.',
)
@plan_argument
@species_option
@variety_option
@click.option("--blocked", metavar="WHY", help="Why it must not be chosen.")
@click.option("--no-crop", is_flag=True, help="It is wanted for its pollen and need not crop.")
@biennial_option
@click.option(
    "--cost",
    type=FiniteRange(),
    metavar="WEIGHT",
    help="Its weight in the smallest-set search.",
)
@click.option("--source", metavar="WHERE", help="Where the wood comes from, for its label.")
@click.option("--rights", metavar="NOTE", help="Who holds the rights on it, for its label.")
@json_option
def add_scion(
    plan: Path,
    species: str,
    variety: str,
    blocked: str | None,
    no_crop: bool,
    biennial: bool,
    cost: float | None,
    source: str | None,
    rights: str | None,
    as_json: bool,
) -> int:
    """Add wood that you have or could get."""
    text, _ = _opened(plan, as_json)
    entry = {"species": species, "variety": variety, "blocked": blocked, "cost": cost}
    entry |= {"source": source, "rights": rights} | ({"crops": False} if no_crop else {})
    entry |= {"biennial": True} if biennial else {}

    def tell(changed: Plan) -> list[str]:
        return edits.scion_added(changed.scions[-1])

    change = editing.add_entry("scion", _without_none(entry))
    return _change(plan, text, change, tell, as_json)


# --- reading and writing -----------------------------------------------------------------------


def _short(number: float) -> float:
    """A number as it would be typed."""
    return int(number) if number.is_integer() else number


def _without_none(entry: dict[str, Any]) -> dict[str, Any]:
    return {key: value for key, value in entry.items() if value is not None}


def _opened(path: Path, as_json: bool) -> tuple[str, dict[str, Any]]:
    """Text and data of a plan. It may have mistakes: a change may be what puts them right."""
    hold_garden(path)
    table, findings = read_plan_table(path)
    if table is None:
        stop(findings, as_json)
    text = path.read_bytes().decode("utf-8-sig")
    return text, tomllib.loads(text)


def _spot(data: dict[str, Any], name: str, kinds: Sequence[Kind], as_json: bool) -> Spot:
    spot, problem = editing.spot_named(data, name, kinds)
    if spot is None:
        stop([problem] if problem else [], as_json)
    return spot


def _change(path: Path, text: str, change: Change, tell: Tell, as_json: bool) -> int:
    """Make a change, check the changed plan and write it; ends the command where it is wrong."""
    from pollinet.readers.plan_checks import late_years
    from pollinet.study import open_plan

    made = editing.edited(text, change)
    if made is None:
        stop([editing.scattered(path.name)], as_json)
    changed, _, findings = open_plan(path, made)
    if changed is None:
        stop(findings, as_json)
    findings += late_years(changed, date.today().year)
    if problem := editing.write_plan(path, made):
        stop([problem], as_json)
    answer = plan_change_of(tell(changed), path, findings)

    def show_change() -> None:
        show_findings(findings)
        seen = f"Written to {path}; see what it means with `pollinet check {path}`."
        print_lines([answer.answer, *answer.notes, seen])

    return give(answer, show_change, as_json=as_json)
