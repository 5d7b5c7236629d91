"""What a form tells of a place, a tree, a limb, a neighbour's tree or wood at hand.

Numbers are read and names resolved here, so that a form can be shown again with what is wrong and
with the names that are near; what is wrong in a plan as a whole its reader finds.
"""

from __future__ import annotations

from collections.abc import Callable, Collection, Iterable, Mapping, Sequence
from dataclasses import dataclass, replace
from pathlib import Path
from typing import Any, TypeVar

from pollinet.domain import Catalogue, Site
from pollinet.drafting import Entry, free_id, new_limb, new_tree
from pollinet.editing import Kind, Spot, spot_named, spots
from pollinet.errors import WrongChange
from pollinet.findings import Finding, has_errors
from pollinet.language import _
from pollinet.messages import say
from pollinet.readers.catalogue import fruits, load_catalogue
from pollinet.readers.names import means_any, resolve_fruit, resolve_variety, suggest
from pollinet.readers.own_tables import own_folder_beside
from pollinet.readers.plan_bounds import (
    DISTANCE_M,
    ELEVATION_M,
    LATITUDE,
    LONGITUDE,
    SPARE_LIMBS,
    YEARS,
)
from pollinet.readers.plan_positions import typed_distance_m
from pollinet.readers.typed_numbers import EAST, NORTH, degrees, number, whole
from pollinet.study.station_winters import climate_of
from pollinet.weather.station_climate import StationClimate

_T = TypeVar("_T")

Read = tuple[_T | None, Finding | None]
Form = Mapping[str, str]

KINDS = ("tree", "limb", "neighbour", "scion")
"""What a form can add."""

NEAR = 6
"""Near names that are offered."""


# --- the place ---------------------------------------------------------------------------------


@dataclass(frozen=True)
class Place:
    """Where a garden is, as a form tells it; None: not told, or not to be read."""

    name: str | None
    latitude: float | None
    longitude: float | None
    elevation_m: float | None
    findings: tuple[Finding, ...] = ()

    @property
    def values(self) -> dict[str, Any]:
        """The keys of [site]."""
        return {
            "name": self.name,
            "latitude": self.latitude,
            "longitude": self.longitude,
            "elevation_m": self.elevation_m,
        }

    @property
    def site(self) -> Site:
        """The same as the site of a plan; of a place whose latitude is told."""
        latitude = self.latitude or 0.0
        return Site(self.name or "", latitude, self.longitude, self.elevation_m, None, True)


def place_of(form: Form, *, needed: bool = True) -> Place:
    """The place that a form tells. `needed` : whether it must tell latitude and longitude."""
    texts = {key: form.get(key, "").strip() for key in ("latitude", "longitude", "elevation_m")}
    if not texts["longitude"]:
        # As maps give a place to be copied: both angles in a row.
        first, _mark, second = texts["latitude"].replace(";", ", ").partition(", ")
        if second:
            texts |= {"latitude": first, "longitude": second}
    labels = {"latitude": _("Latitude"), "longitude": _("Longitude")}
    findings = [_missing(label) for key, label in labels.items() if needed and not texts[key]]
    latitude, problem = _read(texts["latitude"], lambda text: degrees(text, LATITUDE, NORTH))
    findings += _at(problem, labels["latitude"])
    longitude, problem = _read(texts["longitude"], lambda text: degrees(text, LONGITUDE, EAST))
    findings += _at(problem, labels["longitude"])
    elevation, problem = _read(texts["elevation_m"], lambda text: number(text, ELEVATION_M))
    findings += _at(problem, _("Metres above the sea"))
    name = form.get("name", "").strip() or None
    return Place(name, latitude, longitude, elevation, tuple(findings))


def climate_at(place: Place) -> StationClimate | None:
    """What the weather stations near a place tell of it; None: nobody told where it is."""
    return None if place.latitude is None else climate_of(place.site)


# --- entries -----------------------------------------------------------------------------------


@dataclass(frozen=True)
class Filled:
    """What a form told. `entry` : None where an error stands in the way.

    own : a [[variety]] that the plan needs for it, as no catalogue has that name.
    near : names in the catalogue that are like the one typed.
    unknown : whether it may be taken as one that no catalogue has.
    """

    entry: Entry | None
    findings: tuple[Finding, ...] = ()
    own: Entry | None = None
    near: tuple[str, ...] = ()
    unknown: bool = False


@dataclass(frozen=True)
class Known:
    """What a plan, or one in the making, has already.

    folder : where it stands or will stand. ids : of trees, and of limbs and neighbours.
    own : its own varieties, as (fruit, name).
    """

    folder: Path
    trees: Mapping[str, str]
    limbs: Collection[str]
    own: Collection[tuple[str, str]]


def known_of(data: Mapping[str, Any], folder: Path) -> Known:
    """What plain data of a plan has; what is not as it should be is passed over."""
    trees = _tables(data, "tree")
    limbs = [limb for tree in trees for limb in _tables(tree, "limb")]
    places = [*limbs, *_tables(data, "neighbour")]
    return Known(
        folder,
        {str(tree.get("id", "")): str(tree.get("species", "")) for tree in trees},
        {str(one.get("id", "")) for one in places},
        [(str(e.get("species")), str(e.get("name"))) for e in _tables(data, "variety")],
    )


def _tables(holder: Mapping[str, Any], key: str) -> list[Mapping[str, Any]]:
    listed = holder.get(key, [])
    return [one for one in listed if isinstance(one, dict)] if isinstance(listed, list) else []


def filled(kind: str, form: Form, known: Known) -> Filled:
    """The entry that a form tells, of one of `KINDS`."""
    typed_fruit = form.get("fruit", "")
    if kind == "limb":
        tree = form.get("tree", "")
        if tree not in known.trees:
            message = say('there is no tree "{name}" here', name=tree)
            return Filled(None, (Finding("error", "unknown-tree", message),))
        typed_fruit = known.trees[tree]
    fruit, problems = resolve_fruit(typed_fruit, fruits())
    if fruit is None:
        return Filled(None, problems)
    name, made = _variety(form, fruit, known, next_door=kind == "neighbour")
    entry, findings = _MAKERS[kind](form, fruit, name, known)
    findings = (*made.findings, *findings)
    return replace(made, entry=None if has_errors(findings) else entry, findings=findings)


def _tree(form: Form, fruit: str, variety: str, known: Known) -> tuple[Entry, tuple[Finding, ...]]:
    # Called like its fruit in the language of the page: a word of the grower's own.
    id = form.get("id", "").strip() or free_id(_(fruit), known.trees)
    spare, problem = _read(form.get("spare", ""), lambda text: whole(text, SPARE_LIMBS))
    tree = new_tree(id, fruit, spare or 0)
    limb, problems = _limb({**form, "tree": id, "id": ""}, fruit, variety, known)
    tree["limb"].append(limb)
    return tree, (*_at(problem, _("Further grafts it can carry")), *problems)


def _limb(form: Form, fruit: str, variety: str, known: Known) -> tuple[Entry, tuple[Finding, ...]]:
    numbered = (f"{form['tree']}-{number}" for number in range(1, len(known.limbs) + 2))
    free = next(name for name in numbered if name not in known.limbs)
    id = form.get("id", "").strip() or free
    grafted, problem = _read(form.get("grafted", ""), lambda text: whole(text, YEARS))
    return new_limb(id, variety, grafted), _at(problem, _("Year of grafting"))


def _neighbour(
    form: Form, fruit: str, variety: str, known: Known
) -> tuple[Entry, tuple[Finding, ...]]:
    text, label = form.get("metres", ""), _("How many metres away")
    metres, problem = _read(text, lambda text: number(text, DISTANCE_M))
    findings = _at(problem, label) if text.strip() else (_missing(label),)
    id = {"id": form["id"].strip()} if form.get("id", "").strip() else {}
    distance = int(metres) if metres is not None and metres.is_integer() else metres
    return {**id, "species": fruit, "variety": variety, "distance_m": distance}, findings


def _scion(form: Form, fruit: str, variety: str, known: Known) -> tuple[Entry, tuple[Finding, ...]]:
    return {"species": fruit, "variety": variety}, ()


_Maker = Callable[[Form, str, str, Known], tuple[Entry, tuple[Finding, ...]]]
_MAKERS: Mapping[str, _Maker] = {
    "tree": _tree, "limb": _limb, "neighbour": _neighbour, "scion": _scion
}  # fmt: skip


def _variety(form: Form, fruit: str, known: Known, *, next_door: bool) -> tuple[str, Filled]:
    """The name that is meant, and what is to be told of it."""
    # A near name that was pressed goes before what had been typed.
    name = " ".join((form.get("near") or form.get("variety", "")).split())
    if next_door and means_any(name, fruits()[fruit]):
        return name or "?", Filled({})
    if not name:
        return "", Filled(None, (_missing(_("Variety")),))
    own = [other for species, other in known.own if resolve_fruit(species, fruits())[0] == fruit]
    catalogue = catalogue_of(fruit, known.folder)
    found, findings = resolve_variety(name, fruit, catalogue, own=own)
    if found is not None:
        return found.name, Filled({}, findings)
    unknown = any(finding.code == "unknown-variety" for finding in findings)
    if unknown and form.get("own"):
        return name, Filled({}, own={"species": fruit, "name": name})
    near = suggest(name, names_of(fruit, known), NEAR) if unknown else []
    cure = say("Choose one of those below, type it otherwise, or take it as it is.")
    told = tuple(replace(one, cure=cure) if unknown else one for one in findings)
    return name, Filled(None, told, near=tuple(near), unknown=unknown)


def catalogue_of(fruit: str, folder: Path) -> Catalogue:
    """The catalogue of a fruit, with the own tables beside the plan."""
    return load_catalogue([fruit], own_folder_beside(folder))[0]


def names_of(fruit: str, known: Known) -> Sequence[str]:
    """All names that may be typed for varieties of a fruit, in order of the alphabet."""
    own = [name for species, name in known.own if species == fruit]
    return sorted({*own, *_catalogue_names(fruit, known.folder)}, key=str.casefold)


def _catalogue_names(fruit: str, folder: Path) -> tuple[str, ...]:
    catalogue = catalogue_of(fruit, folder)
    names = (*catalogue.varieties, *catalogue.synonyms)
    return tuple(one.name for one in names if one.species == fruit)


# --- values ------------------------------------------------------------------------------------


def _read(text: str, read: Callable[[str], Read[_T]]) -> Read[_T]:
    """A value; None without a problem where nothing was typed."""
    return read(text) if text.strip() else (None, None)


def _at(problem: Finding | None, label: str) -> tuple[Finding, ...]:
    return () if problem is None else (replace(problem, place=label),)


def _missing(label: str) -> Finding:
    return Finding("error", "missing-value", say("this must be filled in"), place=label)


def new_errors(before: Iterable[Finding], after: Iterable[Finding]) -> tuple[Finding, ...]:
    """Errors that a change has brought."""
    old = {(one.code, one.message, one.place) for one in before}
    return tuple(
        one
        for one in after
        if one.severity == "error" and (one.code, one.message, one.place) not in old
    )


# --- what stands already -----------------------------------------------------------------------


@dataclass(frozen=True)
class Standing:
    """An entry of a plan as it is listed. `name` : its id; of a scion its number, from 0.

    fruit : in the language of the page. spare : of a tree. metres : of a neighbour's tree.
    """

    kind: str
    name: str
    fruit: str
    variety: str = ""
    grafted: int | None = None
    spare: int = 0
    metres: float | None = None
    limbs: tuple[Standing, ...] = ()


def standing(data: Mapping[str, Any]) -> dict[str, list[Standing]]:
    """All entries of the plain data of a plan, by the steps of its beginning."""
    trees = [
        Standing(
            "tree",
            str(tree.get("id", "")),
            fruit_words(tree),
            spare=tree.get("spare_limbs", 0),
            limbs=tuple(
                Standing(
                    "limb", str(limb.get("id", "")), fruit_words(tree), limb.get("variety", ""),
                    limb.get("grafted"),
                )
                for limb in _tables(tree, "limb")
            ),
        )
        for tree in _tables(data, "tree")
    ]  # fmt: skip
    neighbours = [
        Standing(
            "neighbour", name, fruit_words(one), one.get("variety", ""),
            metres=typed_distance_m(data, one),
        )
        for (name, spot) in spots(data)
        if spot.kind == "neighbour"
        for one in [spot.entry(data)]
    ]  # fmt: skip
    scions = [
        Standing("scion", str(number), fruit_words(one), one.get("variety", ""))
        for number, one in enumerate(_tables(data, "scion"))
    ]
    return {"trees": trees, "neighbours": neighbours, "scions": scions}


def fruit_words(entry: Mapping[str, Any]) -> str:
    """The fruit of an entry in the language of the page; as typed where it is none."""
    text = str(entry.get("species", ""))
    return _(resolve_fruit(text, fruits())[0] or text)


def spot_of(data: Mapping[str, Any], kind: str, name: str) -> Spot | int:
    """Where an entry stands: that of a `Standing`; raises `WrongChange` where there is none."""
    if kind == "scion":
        if name.isdecimal() and int(name) < len(_tables(data, "scion")):
            return int(name)
        raise WrongChange([Finding("error", "unknown-scion", say("there is no such wood here"))])
    kinds: dict[str, Kind] = {"tree": "tree", "limb": "limb", "neighbour": "neighbour"}
    spot, problem = spot_named(data, name, (kinds.get(kind, "limb"),))
    if spot is None:
        raise WrongChange([problem] if problem else [])
    return spot
