"""What a plan file may hold: the keys, their types and their bounds, in one place.

The classes mirror the tables of the TOML file one to one; names of fruits and varieties are still
text here. `pollinet.readers.plan` turns this into the domain's `Plan`.
"""

from __future__ import annotations

from typing import Annotated, Any

from pydantic import BaseModel, ConfigDict, Field


class _Table(BaseModel):
    model_config = ConfigDict(extra="forbid", strict=True, frozen=True, allow_inf_nan=False)


Name = Annotated[str, Field(pattern=r"^[^\x00-\x1f\x7f]*[^\x00-\x20\x7f][^\x00-\x1f\x7f]*$")]
"""Text that can be printed in a line and is not blank."""


class NormalsTable(_Table):
    """[site.normals]: twelve monthly means, January first."""

    tmin_c: Annotated[list[float], Field(min_length=12, max_length=12)]
    tmax_c: Annotated[list[float], Field(min_length=12, max_length=12)]


class SiteTable(_Table):
    """[site]: where the garden is and where its weather comes from."""

    name: str = "this garden"
    latitude: Annotated[float, Field(ge=-66, le=70)] | None = None
    longitude: Annotated[float, Field(ge=-180, le=180)] | None = None
    elevation_m: Annotated[float, Field(ge=-430, le=4500)] | None = None
    weather: str | None = None
    normals: NormalsTable | None = None
    lost_neighbours: list[str] = []


class AimTable(_Table):
    """[aim]: what counts as covered."""

    level: Annotated[float, Field(gt=0, le=1)] = 0.8
    min_overlap_days: Annotated[float, Field(gt=0, le=30)] = 3.0
    half_counts: bool = True
    donors: Annotated[int, Field(ge=1, le=2)] = 1
    near_m: Annotated[float, Field(gt=0)] = 18.0
    far_m: Annotated[float, Field(gt=0)] = 100.0
    draws: Annotated[int, Field(ge=1, le=512)] = 32
    seed: Annotated[int, Field(ge=0)] = 1


class LimbTable(_Table):
    """[[tree.limb]]: one grafted limb, or the tree's own variety."""

    id: Name
    variety: str
    grafted: Annotated[int, Field(ge=1800, le=2200)] | None = None
    crops: bool = True
    former_ids: list[str] = []


class TreeTable(_Table):
    """[[tree]]: one tree of the grower's own."""

    id: Name
    species: str
    spare_limbs: Annotated[int, Field(ge=0, le=200)] = 0
    lost_limbs: list[str] = []
    limb: list[LimbTable] = []


class NeighbourTable(_Table):
    """[[neighbour]]: a tree next door whose pollen may arrive."""

    species: str
    variety: str
    distance_m: Annotated[float, Field(ge=0, le=5000)]
    id: str | None = None
    former_ids: list[str] = []


class ScionTable(_Table):
    """[[scion]]: wood at hand."""

    species: str
    variety: str
    blocked: str | None = None
    crops: bool = True
    cost: Annotated[float, Field(gt=0)] = 1.0


class VarietyTable(_Table):
    """[[variety]]: a variety described in the plan; it goes before the catalogue."""

    species: str
    name: Name
    s_genotype: str | None = None
    ploidy: Annotated[int, Field(ge=2, le=6)] | None = None
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


ROOMS: dict[str, type[_Table]] = {
    "": PlanTable,
    "site": SiteTable,
    "site.normals": NormalsTable,
    "aim": AimTable,
    "tree": TreeTable,
    "tree.limb": LimbTable,
    "neighbour": NeighbourTable,
    "scion": ScionTable,
    "variety": VarietyTable,
}
"""The table that stands at each place of the file, by its dotted path without numbers."""
