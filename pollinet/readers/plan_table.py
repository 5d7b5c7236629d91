"""Step one of a plan: its TOML text → typed tables, checked key by key.

The classes mirror the tables of the file one to one; names of fruits and varieties are still text
here. What does not fit is left out, with a finding, and the rest is read all the same.
"""

from __future__ import annotations

import copy
from collections.abc import Iterable, Mapping, Sequence
from typing import Annotated, Any, Final, Self, get_args

from pydantic import BaseModel, ConfigDict, Field, ValidationError, model_validator
from pydantic_core import PydanticCustomError

from pollinet.domain import Aim, Limb, Neighbour, Scion, Tree
from pollinet.findings import Finding
from pollinet.messages import listing, mark, say
from pollinet.readers.names import LIKE_A_WORD, suggest
from pollinet.readers.plan_bounds import (
    DISTANCE_M,
    DONORS,
    ELEVATION_M,
    LATITUDE,
    LEVEL,
    LONGITUDE,
    OVERLAP_DAYS,
    POSITION_M,
    SPARE_LIMBS,
    YEARS,
)
from pollinet.readers.text_tables import properties
from pollinet.readers.toml_words import shown

Place = Sequence[str | int]

NOWHERE: Final = "nowhere"
"""What is wrong with a neighbour's tree without distance and position."""


# --- what a plan may hold ----------------------------------------------------------------------


class _Table(BaseModel):
    model_config = ConfigDict(extra="forbid", strict=True, frozen=True, allow_inf_nan=False)


def _within(bounds: tuple[int, int]) -> Any:
    """From the least to the most."""
    return Field(ge=bounds[0], le=bounds[1])


def _above(bounds: tuple[int, int]) -> Any:
    """Above the first number, up to the second."""
    return Field(gt=bounds[0], le=bounds[1])


def _as_in_catalogue(name: str) -> Any:
    """The bounds of a whole number that the catalogues have too."""
    return _within((int(properties()[name].minimum), int(properties()[name].maximum)))


Name = Annotated[str, Field(pattern=r"^[^\x00-\x1f\x7f]*[^\x00-\x20\x7f][^\x00-\x1f\x7f]*$")]
"""Text that can be printed in a line and is not blank."""


Position = Annotated[list[Annotated[float, _within(POSITION_M)]], Field(min_length=2, max_length=2)]
"""Metres east and north of a point that the grower chose."""


class NormalsTable(_Table):
    """[site.normals]: twelve monthly means, January first, and the years they stand for."""

    years: Annotated[list[Annotated[int, _within(YEARS)]], Field(min_length=2, max_length=2)] = []
    tmin_c: Annotated[list[float], Field(min_length=12, max_length=12)]
    tmax_c: Annotated[list[float], Field(min_length=12, max_length=12)]


class SiteTable(_Table):
    """[site]: where the garden is and where its weather comes from."""

    name: str = "this garden"
    latitude: Annotated[float, _within(LATITUDE)] | None = None
    longitude: Annotated[float, _within(LONGITUDE)] | None = None
    elevation_m: Annotated[float, _within(ELEVATION_M)] | None = None
    weather: str | None = None
    normals: NormalsTable | None = None
    lost_neighbours: list[str] = []


class AimTable(_Table):
    """[aim]: what counts as covered."""

    level: Annotated[float, _above(LEVEL)] = Aim.level
    min_overlap_days: Annotated[float, _above(OVERLAP_DAYS)] = Aim.min_overlap_days
    half_counts: bool = Aim.half_counts
    donors: Annotated[int, _within(DONORS)] = Aim.donors
    near_m: Annotated[float, Field(gt=0)] | None = Aim.near_m
    far_m: Annotated[float, Field(gt=0)] | None = Aim.far_m
    draws: Annotated[int, Field(ge=1, le=512)] = Aim.draws
    seed: Annotated[int, Field(ge=0)] = Aim.seed
    off_years: bool = Aim.off_years


class LimbTable(_Table):
    """[[tree.limb]]: one grafted limb, or the tree's own variety."""

    id: Name
    variety: str
    grafted: Annotated[int, _within(YEARS)] | None = Limb.grafted
    crops: bool = Limb.crops
    biennial: bool = Limb.biennial
    former_ids: list[str] = []


class TreeTable(_Table):
    """[[tree]]: one tree of the grower's own."""

    id: Name
    species: str
    spare_limbs: Annotated[int, _within(SPARE_LIMBS)] = Tree.spare_limbs
    position_m: Position = []
    rootstock: Name | None = None
    lost_limbs: list[str] = []
    limb: list[LimbTable] = []


class NeighbourTable(_Table):
    """[[neighbour]]: a tree next door whose pollen may arrive."""

    species: str
    variety: str
    distance_m: Annotated[float, _within(DISTANCE_M)] | None = None
    position_m: Position = []
    id: str | None = None
    may_be_felled: bool = Neighbour.may_be_felled
    biennial: bool = Neighbour.biennial
    former_ids: list[str] = []

    @model_validator(mode="after")
    def _stands_somewhere(self) -> Self:
        if self.distance_m is None and not self.position_m:
            raise PydanticCustomError(NOWHERE, "distance_m is missing")
        return self


class ScionTable(_Table):
    """[[scion]]: wood at hand."""

    species: str
    variety: str
    blocked: str | None = Scion.blocked
    crops: bool = Scion.crops
    biennial: bool = Scion.biennial
    cost: Annotated[float, Field(gt=0)] = Scion.cost
    source: Name | None = Scion.source
    rights: Name | None = Scion.rights


class VarietyTable(_Table):
    """[[variety]]: a variety described in the plan; it goes before the catalogue."""

    species: str
    name: Name
    s_genotype: str | None = None
    ploidy: Annotated[int, _as_in_catalogue("ploidy")] | None = None
    self_fertile: bool | None = None
    pollen_ok: bool | None = None
    clone_of: str | None = None
    bloom: Any = None
    bloom_days: Any = None
    pollen_shed: Any = None
    bloom_sd_days: Annotated[float, Field(ge=0, le=30)] | None = None
    chill_portions: Annotated[float, Field(gt=0, le=150)] | None = None


class PlanTable(_Table):
    """The whole file."""

    site: SiteTable = SiteTable()
    aim: AimTable = AimTable()
    tree: list[TreeTable] = []
    neighbour: list[NeighbourTable] = []
    scion: list[ScionTable] = []
    variety: list[VarietyTable] = []

    @property
    def neighbour_ids(self) -> list[str]:
        """Ids of the neighbours' trees; one without an id is called by its place in the plan."""
        numbered = enumerate(self.neighbour, start=1)
        return [entry.id or f"neighbour-{number}" for number, entry in numbered]


# --- what does not fit -------------------------------------------------------------------------


def checked(data: dict[str, Any], file: str) -> tuple[PlanTable | None, tuple[Finding, ...]]:
    """Validate against the schema, leaving out what does not fit until the rest does."""
    findings: tuple[Finding, ...] = ()
    remaining = data
    for _ in range(4):
        try:
            return PlanTable.model_validate(remaining), findings
        except ValidationError as problem:
            errors = problem.errors(include_url=False)
            if not findings:
                findings = tuple(_schema_finding(data, error, file) for error in errors)
            remaining = copy.deepcopy(remaining)
            _leave_out(remaining, errors)
    return None, findings


def _leave_out(data: dict[str, Any], errors: Iterable[Any]) -> None:
    """Remove the values that do not fit; an entry that lacks something goes as a whole."""
    doomed = {error["loc"][:-1] if error["type"] == "missing" else error["loc"] for error in errors}
    # Back to front, so that the numbers of earlier list entries stay right.
    for place in sorted(doomed, key=lambda p: [str(part).zfill(6) for part in p], reverse=True):
        holder: Any = data
        try:
            for part in place[:-1]:
                holder = holder[part]
            del holder[place[-1]]
        except (KeyError, IndexError, TypeError):
            continue


def _schema_finding(data: Mapping[str, Any], error: Any, file: str) -> Finding:
    place, kind, key = error["loc"], error["type"], str(error["loc"][-1])
    if kind == "extra_forbidden":
        allowed = sorted(_allowed_keys(place[:-1]))
        near = suggest(key, allowed, 1, least=LIKE_A_WORD)
        cure = say("allowed here: {names}", names=listing(allowed))
        if near:
            cure = say('did you mean "{name}"?', name=near[0])
        message = say('"{key}" is not a key here', key=key)
        return Finding("error", "unknown-key", message, file, _words(data, place), cure=cure)
    if kind == NOWHERE:
        place, kind, key = (*place, "distance_m"), "missing", "distance_m"
    if kind == "missing":
        message, cure = say('"{key}" is missing', key=key), say("add a line: {key} = …", key=key)
        return Finding("error", "missing-key", message, file, _words(data, place[:-1]), cure=cure)
    expected = say(_EXPECTED.get(kind, error["msg"]), **error.get("ctx", {}))
    found = shown(error["input"])
    message = say("found {found}, allowed is {allowed}", found=found, allowed=expected)
    return Finding("error", "wrong-value", message, file, _words(data, place))


_EXPECTED = {
    "float_type": mark("a number"),
    "finite_number": mark("a finite number"),
    "int_type": mark("a whole number"),
    "int_from_float": mark("a whole number"),
    "bool_type": mark("true or false"),
    "string_type": mark('text in quotes, such as "name"'),
    "string_pattern_mismatch": mark("a name in one line"),
    "list_type": mark("a list in [brackets]"),
    "model_type": mark("a table of keys and values"),
    "model_attributes_type": mark("a table of keys and values"),
    "greater_than": mark("a number above {gt}"),
    "greater_than_equal": mark("a number of at least {ge}"),
    "less_than": mark("a number below {lt}"),
    "less_than_equal": mark("a number of at most {le}"),
    "too_short": mark("a list of {min_length} values"),
    "too_long": mark("a list of {max_length} values"),
}


def _allowed_keys(place: Place) -> Iterable[str]:
    """The keys of the table that stands at a place of the file."""
    table: Any = PlanTable
    for key in (part for part in place if isinstance(part, str)):
        # Told as the table itself, a list of it, or it or nothing.
        told = table.model_fields[key].annotation
        table = (get_args(told) or (told,))[0]
    return list(table.model_fields)


def _words(data: Any, place: Place) -> str:
    """A place in the file in words: `tree "old-apple", limb "n1", variety`."""
    words: list[str] = []
    for part in place:
        try:
            data = data[part]
        except (KeyError, IndexError, TypeError):
            data = None
        if isinstance(part, int):
            name = _own_name(data)
            words[-1] += f' "{name}"' if name else f" {part + 1}"
        else:
            words.append(part)
    return ", ".join(words)


def _own_name(entry: Any) -> str:
    if not isinstance(entry, dict):
        return ""
    return str(entry.get("id") or entry.get("name") or entry.get("variety") or "")
