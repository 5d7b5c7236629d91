"""The questions of `pollinet start`: every answer is checked as it is typed."""

from __future__ import annotations

from collections.abc import Callable, Collection, Mapping
from dataclasses import replace
from pathlib import Path
from typing import Any, TypeVar

import click

from pollinet.domain import Catalogue
from pollinet.drafting import Draft, Entry, free_id, new_limb, new_tree
from pollinet.findings import Finding, has_errors
from pollinet.readers.catalogue import fruits, load_catalogue
from pollinet.readers.names import means_any, resolve_fruit, resolve_variety
from pollinet.readers.plan_bounds import (
    DISTANCE_M,
    ELEVATION_M,
    LATITUDE,
    LONGITUDE,
    SPARE_LIMBS,
    YEARS,
)
from pollinet.readers.typed_numbers import EAST, NORTH, Bounds, degrees, number, whole
from pollinet.readers.weather import read_weather

_T = TypeVar("_T")


def answered(draft: Draft) -> Draft:
    """The draft with all that was not told by flags, as answered on the terminal."""
    click.echo("A few questions about your garden. Empty answers leave things out; Ctrl+C stops.\n")
    if draft.site is None:
        draft = replace(draft, site=click.prompt("Name of the garden", default="my garden"))
    if draft.latitude is None:
        asked = _ask("Latitude in degrees, south negative", _angle(LATITUDE, NORTH))
        draft = replace(draft, latitude=asked)
    if draft.longitude is None:
        asked = _ask("Longitude in degrees, west negative", _angle(LONGITUDE, EAST))
        draft = replace(draft, longitude=asked)
    if draft.elevation_m is None:
        asked = _ask("Metres above the sea", _number(ELEVATION_M), optional=True)
        draft = replace(draft, elevation_m=asked)
    if draft.weather is None and draft.normals is None:
        draft = _weather(draft)
    names = _Names()
    if not draft.trees:
        draft = replace(draft, trees=_trees(names))
    for tree in draft.trees:
        if not tree["limb"]:
            tree["limb"] += _limbs(tree, names, _limb_ids(draft.trees))
    if not draft.neighbours:
        draft = replace(draft, neighbours=_neighbours(names))
    if not draft.scions:
        draft = replace(draft, scions=_others("Fruit of scion wood that you have", names))
    return replace(draft, own=names.own)


# --- asking ------------------------------------------------------------------------------------


def _ask(text: str, read: Callable[[str], _T], *, optional: bool = False) -> Any:
    """Ask until the answer can be read; None for an empty answer to an optional question."""

    def value(typed: str) -> _T | None:
        typed = typed.strip()
        if optional and not typed:
            return None
        return read(typed)

    ending = " (empty: none)" if optional else ""
    default = "" if optional else None
    return click.prompt(text + ending, default=default, show_default=False, value_proc=value)


def _number(bounds: Bounds) -> Callable[[str], float]:
    return _reader(lambda text: number(text, bounds))


def _angle(bounds: Bounds, directions: Mapping[str, int]) -> Callable[[str], float]:
    return _reader(lambda text: degrees(text, bounds, directions))


def _whole(bounds: Bounds) -> Callable[[str], int]:
    return _reader(lambda text: whole(text, bounds))


def _reader(read: Callable[[str], tuple[_T | None, Finding | None]]) -> Callable[[str], _T]:
    """The reader of an answer that is asked for again where it is wrong."""

    def value(text: str) -> _T:
        found, problem = read(text)
        if found is None:
            raise click.BadParameter(_words((problem,) if problem else ()))
        return found

    return value


def _new_id(taken: Collection[str]) -> Callable[[str], str]:
    def read(typed: str) -> str:
        if not typed or typed in taken:
            raise click.BadParameter(f'"{typed}" is taken; every id is used once')
        return typed

    return read


def _words(findings: tuple[Finding, ...]) -> str:
    return " ".join(f"{finding.message} {finding.cure}".strip() for finding in findings)


# --- weather -----------------------------------------------------------------------------------


def _weather(draft: Draft) -> Draft:
    def record(typed: str) -> Path:
        file = Path(typed).expanduser()
        findings = read_weather(file, latitude=draft.latitude)[1]
        if has_errors(findings):
            raise click.BadParameter(_words(findings))
        return file

    click.echo("Winters are made from the weather stations near you, or come from a file of yours.")
    question = "File with daily minimum and maximum temperature"
    return replace(draft, weather=_ask(question, record, optional=True))


# --- what stands where -------------------------------------------------------------------------


class _Names:
    """Resolves fruits and varieties as they are typed; keeps those that the grower describes."""

    def __init__(self) -> None:
        self.own: list[Entry] = []
        self._catalogues: dict[str, Catalogue] = {}

    def fruit(self, typed: str) -> str:
        found, findings = resolve_fruit(typed, fruits())
        if found is None:
            raise click.BadParameter(_words(findings))
        return found

    def variety(self, species: str, *, next_door: bool = False) -> Callable[[str], str]:
        """Reads a variety; `next_door`: of a neighbour's tree, which may be any."""
        if species not in self._catalogues:
            self._catalogues[species] = load_catalogue([species])[0]
        catalogue = self._catalogues[species]

        def read(typed: str) -> str:
            own = [entry["name"] for entry in self.own if entry["species"] == species]
            if typed.startswith("!") and typed[1:].strip():
                name = typed[1:].strip()
                if name not in own:
                    self.own.append({"species": species, "name": name})
                return name
            found, findings = resolve_variety(typed, species, catalogue, own=own)
            if found is None and next_door and means_any(typed, fruits()[species]):
                return typed
            if found is None:
                advice = f"With a ! in front (!{typed}) it is one that you describe in the plan."
                advice += f" With ? alone it is any {species}." if next_door else ""
                raise click.BadParameter(f"{_words(findings)} {advice}")
            if found.name != typed:
                click.echo(f"  {typed} = {found.name}")
            return found.name

        return read


def _limb_ids(trees: Collection[Entry]) -> set[str]:
    return {limb["id"] for tree in trees for limb in tree["limb"]}


def _trees(names: _Names) -> list[Entry]:
    trees: list[Entry] = []
    while True:
        click.echo()
        text = "Fruit of the next tree" if trees else "Fruit of the first tree"
        species = _ask(text, names.fruit, optional=bool(trees))
        if species is None:
            return trees
        taken = {tree["id"] for tree in trees}
        name = _ask_id("What the tree is called", species, taken)
        spare = click.prompt("Further grafts it can carry", "0", value_proc=_whole(SPARE_LIMBS))
        tree = new_tree(name, species, int(spare))
        trees.append(tree)
        tree["limb"] += _limbs(tree, names, _limb_ids(trees))


def _limbs(tree: Entry, names: _Names, taken: set[str]) -> list[Entry]:
    """The limbs of one tree; it has at least one."""
    click.echo(f"  The limbs of {tree['id']}; the tree's own variety is one too.")
    limbs: list[Entry] = []
    while True:
        read = names.variety(tree["species"])
        variety = _ask("  Variety of a limb", read, optional=bool(limbs))
        if variety is None:
            return limbs
        name = _ask_id("  What the limb is called", f"{tree['id']}-{len(limbs) + 1}", taken)
        taken.add(name)
        grafted = _ask("  Year of grafting", _whole(YEARS), optional=True)
        limbs.append(new_limb(name, variety, grafted))


def _ask_id(text: str, proposal: str, taken: Collection[str]) -> str:
    free = free_id(proposal, taken)
    return str(click.prompt(text, default=free, value_proc=_new_id(taken)))


def _others(
    text: str,
    names: _Names,
    *more: tuple[str, str, Callable[[str], Any]],
    next_door: bool = False,
) -> list[Entry]:
    """Entries of a fruit, a variety and (key, question, reader) of what else they hold."""
    entries: list[Entry] = []
    click.echo()
    while (species := _ask(text, names.fruit, optional=True)) is not None:
        read_variety = names.variety(species, next_door=next_door)
        entry = {"species": species, "variety": _ask("  Variety", read_variety)}
        entry |= {key: _ask(f"  {question}", read) for key, question, read in more}
        entries.append(entry)
    return entries


def _neighbours(names: _Names) -> list[Entry]:
    distance = ("distance_m", "How many metres away", _number(DISTANCE_M))
    return _others("Fruit of a neighbour's tree", names, distance, next_door=True)
