"""A plan in the making, and the text of its file with remarks on what may be added."""

from __future__ import annotations

import json
from collections.abc import Collection, Iterable, Sequence
from dataclasses import dataclass
from pathlib import Path
from typing import Any

from pollinet.domain import Aim

Entry = dict[str, Any]

HEAD = """\
# The plan of a garden. Lines that begin with # are remarks; change anything and run
# `pollinet check` again. `pollinet plan --help` shows commands that make changes for you.
"""
SITE_REMARKS = {
    "latitude": "degrees; south of the equator: negative",
    "longitude": "degrees; west of Greenwich: negative",
    "elevation_m": "metres above the sea",
    "weather": "daily minimum and maximum in °C",
}
NO_WEATHER = """\
# Without a weather file winters are made from the weather stations near the place. A daily record
# of your own is better; `pollinet fetch` downloads one.
# weather = "weather.csv"     # daily minimum and maximum in °C
"""
NORMALS_REMARK = """\
# Mean minimum and maximum of each month, January first, in °C. Winters are generated from these
# as long as [site] names no weather record.
"""
AIM = f"""\
# [aim]                       # what counts as covered; these are the defaults
# level = {Aim.level:<20g}# in at least {10 * Aim.level:g} winters of 10
# min_overlap_days = {Aim.min_overlap_days:<9g}# shortest time in bloom together that counts
"""
TREE_REMARKS = {"spare_limbs": "how many more grafts the tree can carry"}
OWN_REMARKS = """\
# s_genotype = "S1S2"         # its S-alleles, if you know them
# bloom = ["04-08", "04-18"]  # usual first and last day in bloom here
"""
NO_NEIGHBOUR = """\
# [[neighbour]]
# species = "apple"
# variety = "Discovery"
# distance_m = 25
"""
NO_SCION = """\
# [[scion]]
# species = "apple"
# variety = "Spartan"
"""


@dataclass(frozen=True)
class Draft:
    """What is known of the garden so far. Entries are the tables of the plan file.

    normals : mean minimum and maximum of the twelve months. [°C]
    own : varieties that no catalogue has.
    """

    site: str | None = None
    latitude: float | None = None
    longitude: float | None = None
    elevation_m: float | None = None
    weather: Path | None = None
    normals: tuple[list[float], list[float]] | None = None
    trees: Sequence[Entry] = ()
    neighbours: Sequence[Entry] = ()
    scions: Sequence[Entry] = ()
    own: Sequence[Entry] = ()


def new_tree(name: str, species: str, spare: int) -> Entry:
    """A tree without limbs yet."""
    return {"id": name, "species": species, "spare_limbs": spare, "limb": []}


def new_limb(name: str, variety: str, grafted: int | None) -> Entry:
    """A limb; `grafted`: year, None: not known or long ago."""
    limb: Entry = {"id": name, "variety": variety}
    return limb if grafted is None else {**limb, "grafted": grafted}


def free_id(proposal: str, taken: Collection[str]) -> str:
    """An id that nothing has yet: the one proposed, or that with a number."""
    numbers = (f"{proposal}-{number}" for number in range(2, len(taken) + 3))
    return next(name for name in (proposal, *numbers) if name not in taken)


def weather_name(weather: Path | None, folder: Path) -> Path | None:
    """A weather file as the plan names it: relative where it stands inside the plan's folder."""
    if weather is None:
        return None
    file, home = weather.resolve(), folder.resolve()
    return file.relative_to(home) if file.is_relative_to(home) else file


def draft_text(draft: Draft) -> str:
    """Text of the plan file."""
    site = {
        "name": draft.site or "my garden",
        "latitude": draft.latitude,
        "longitude": draft.longitude,
        "elevation_m": draft.elevation_m,
        "weather": None if draft.weather is None else draft.weather.as_posix(),
    }
    blocks = [HEAD, "[site]\n" + _rows(site, SITE_REMARKS)]
    if draft.normals is not None:
        months = dict(zip(("tmin_c", "tmax_c"), draft.normals, strict=True))
        blocks += [NORMALS_REMARK + "[site.normals]\n" + _rows(months)]
    elif draft.weather is None:
        blocks[-1] += NO_WEATHER
    blocks += [AIM, _rule("what stands in the garden"), *_trees(draft.trees)]
    blocks += [_rule("next door: pollen that may come and may be felled")]
    blocks += _tables("neighbour", draft.neighbours) or [NO_NEIGHBOUR]
    blocks += [_rule("scions at hand"), *(_tables("scion", draft.scions) or [NO_SCION])]
    if draft.own:
        blocks += [_rule("varieties that the catalogue does not have")]
        blocks += [block + OWN_REMARKS for block in _tables("variety", draft.own)]
    return "\n".join(blocks)


def _rule(title: str) -> str:
    return f"# --- {title} ".ljust(91, "-") + "\n"


def _trees(trees: Iterable[Entry]) -> list[str]:
    blocks = []
    for tree in trees:
        own = {key: value for key, value in tree.items() if key != "limb"}
        blocks += ["[[tree]]\n" + _rows(own, TREE_REMARKS), *_tables("tree.limb", tree["limb"])]
    return blocks


def _tables(name: str, entries: Iterable[Entry]) -> list[str]:
    return [f"[[{name}]]\n{_rows(entry)}" for entry in entries]


def _rows(values: Entry, remarks: dict[str, str] | None = None) -> str:
    """Keys and values, each with its remark in one column; None is left out."""
    rows = []
    for key, value in values.items():
        if value is None:
            continue
        row, remark = f"{key} = {_toml(value)}", (remarks or {}).get(key)
        rows.append(f"{row:<29} # {remark}" if remark else row)
    return "\n".join(rows) + "\n"


def _toml(value: Any) -> str:
    # A JSON string is a TOML string, and a JSON list of numbers a TOML one; whole metres stay so.
    if isinstance(value, float) and value.is_integer():
        value = int(value)
    return json.dumps(value, ensure_ascii=False)
