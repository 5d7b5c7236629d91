"""Whole plans as text: pieces, and the invented scenarios O1, O2, O3 and O8.

The scenarios were worked out by hand and by a separate script under the gametophytic rule: a
diploid grain passes where its allele is not in the style, a triploid gives nothing, days in bloom
are counted with both ends, three shared days are needed.
"""

from __future__ import annotations

import json
from collections.abc import Iterable, Mapping
from pathlib import Path
from typing import Any

import numpy as np

from pollinet.domain import Normals
from pollinet.study import Study, open_study
from pollinet.weather.generated import generate_daily

NORMALS = Normals(
    (-1.8, -1.2, 1.7, 4.8, 8.9, 12.3, 14.4, 14.0, 10.5, 6.9, 2.2, -0.7),
    (4.6, 6.7, 11.6, 15.8, 20.2, 24.0, 26.5, 25.8, 21.0, 15.2, 8.9, 5.3),
)
"""Invented: a temperate place of the north."""

MONTHS = f"""[site.normals]
tmin_c = {list(NORMALS.tmin_c)}
tmax_c = {list(NORMALS.tmax_c)}
"""

HEAD = """
[site]
name = "nowhere"
latitude = 47
[aim]
min_overlap_days = 3
"""


HILL = f"""
[site]
latitude = 46.4
{MONTHS}[[tree]]
id = "cherry"
species = "sweet cherry"
[[tree.limb]]
id = "known"
variety = "Van"
"""
"""A cherry tree with a limb of Van, in generated winters; further limbs may follow."""


def entry(head: str, **values: object) -> str:
    """A tree, a limb or the like, as it stands in a plan; what is None or empty is left out."""
    rows = {key: value for key, value in values.items() if value is not None and value != ""}
    lines = (f"{key} = {json.dumps(value, ensure_ascii=False)}\n" for key, value in rows.items())
    return f"[[{head}]]\n" + "".join(lines)


def grown(
    species: str, limbs: Mapping[str, str] | Iterable[str], id: str = "tree", **more: object
) -> str:
    """A tree and its limbs: varieties by their ids, or varieties after which they are called."""
    kinds = limbs if isinstance(limbs, Mapping) else {name: name for name in limbs}
    head = entry("tree", id=id, species=species, **more)
    return head + "".join(entry("tree.limb", id=k, variety=v) for k, v in kinds.items())


def variety(name: str, genotype: str, bloom: object, species: str = "apple", **more: object) -> str:
    return entry(
        "variety", species=species, name=name, s_genotype=genotype, bloom_days=bloom,
        bloom_sd_days=0, **more,
    )  # fmt: skip


def tree(limbs: str, spare: int = 3) -> str:
    return grown("apple", limbs.split(), spare_limbs=spare)


def scions(names: str) -> str:
    return "".join(entry("scion", species="apple", variety=name) for name in names.split())


def neighbour(name: str, distance_m: float, species: str = "apple") -> str:
    return entry("neighbour", species=species, variety=name, id=name, distance_m=distance_m)


def saved(folder: Path, text: str) -> Path:
    """A plan in a folder."""
    path = folder / "plan.toml"
    path.write_text(text, encoding="utf-8")
    return path


def written(folder: Path, *parts: str) -> Path:
    return saved(folder, HEAD + "".join(parts))


def studied(plan: Path) -> Study:
    """The study of a plan that has no error."""
    found = open_study(plan)
    assert found.study is not None, [str(one) for one in found.findings]
    return found.study


def made_weather(
    file: Path,
    normals: Normals,
    first: int,
    winters: int,
    latitude: float,
    seed: int = 1,
    about: Mapping[str, float] | None = None,
) -> Path:
    """Winters made up, written as if they had been measured; about : the place, as remarks."""
    daily = generate_daily(
        normals, first_harvest_year=first, winters=winters, latitude=latitude, seed=seed
    )
    assert (np.diff(daily.dates) == np.timedelta64(1, "D")).all()
    days = zip(daily.dates.tolist(), daily.tmin_c, daily.tmax_c, strict=True)
    rows = [f"{day},{low:.2f},{high:.2f}" for day, low, high in days]
    remarks = [f"# {key} {value}" for key, value in (about or {}).items()]
    file.write_text("\n".join([*remarks, "date,tmin_c,tmax_c", *rows, ""]), encoding="utf-8")
    return file


def limbs(data: Mapping[str, Any]) -> dict[str, Any]:
    return {limb["id"]: limb for limb in data["limbs"]}


O1 = (
    tree("T D1"),
    scions("D2 D3 D4"),
    variety("T", "S1S2S3", [110, 121], ploidy=3),
    variety("D1", "S2S5", [108, 118]),
    variety("D2", "S2S5", [109, 119]),
    variety("D3", "S3S7", [112, 122]),
    variety("D4", "S4S9", [126, 136]),
)

O2 = (
    tree("T F"),
    variety("T", "S2S4S9", [112, 123], ploidy=3),
    variety("F", "S1S5", [110, 120], self_fertile=True),
)

SPRINGS = {
    "H": "112–121,110–119,115–124,113–122,109–118,114–123,125–138,127–142,111–120,124–136",
    "L": "109–118,107–116,112–121,110–119,106–115,111–120,108–117,107–116,108–117,109–118",
    "K": "113–122,111–120,116–125,114–123,110–119,115–124,122–133,123–136,112–121,121–132",
}


def springs(name: str) -> list[list[int]]:
    return [[int(day) for day in spring.split("–")] for spring in SPRINGS[name].split(",")]


# L misses K in the same three warm springs, so it is asked to give pollen only.
O3 = (
    tree("H L").replace('id = "L"\n', 'id = "L"\ncrops = false\n'),
    scions("K"),
    variety("H", "S1S2", springs("H")),
    variety("L", "S3S4", springs("L")),
    variety("K", "S5S7", springs("K")),
)

O8 = (
    tree("A B C"),
    scions("X1 X2 X3"),
    variety("A", "S3S5", [105, 114]),
    variety("B", "S3S5", [108, 117]),
    variety("C", "S2S7", [116, 126]),
    variety("N", "S10S24", [103, 119]),
    variety("X1", "S1S9", [107, 118]),
    variety("X2", "S3S7", [112, 122]),
    variety("X3", "S5S9", [104, 111]),
)
"""After the neighbour's tree is felled; `neighbour("N", 14)` puts it back."""
