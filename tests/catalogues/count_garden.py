"""Count what the catalogues know of the varieties that gardens grow, as the table in their README.

python tests/catalogues/count_garden.py

`garden_names.csv` holds names under which such varieties are sold and listed. A variety counts
once, under however many names it is listed.
"""

from __future__ import annotations

import csv
from collections import defaultdict
from dataclasses import astuple, dataclass
from pathlib import Path

from pollinet.domain import Catalogue, Variety, VarietyId
from pollinet.readers.catalogue import fruits, load_catalogue
from pollinet.readers.names import fold

NAMES = Path(__file__).with_name("garden_names.csv")
HARVEST = {"harvest_day", "harvest_offset_days", "days_bloom_to_harvest"}


@dataclass(frozen=True)
class Count:
    """Names listed and found of one fruit; and of the varieties found, of how many it is known
    when they bloom, who fertilises them, and when they ripen."""

    fruit: str
    names: int
    names_found: int
    varieties: int
    with_bloom: int
    with_fertility: int
    with_harvest: int


def has_fertility(variety: Variety) -> bool:
    """Whether anything is known that decides a cross: alleles, group, selfing or dead pollen."""
    own = variety.fertility
    told = own.self_fertile is not None or own.pollen_ok is not None
    return told or bool(own.genotype or own.group or own.alternatives)


def counts(catalogue: Catalogue) -> list[Count]:
    """One count a fruit, in the order of the list of names."""
    known = {(name.species, fold(name.name)): name for name in catalogue.varieties}
    known |= {(n.species, fold(n.name)): main for n, main in catalogue.synonyms.items()}
    listed: defaultdict[str, list[VarietyId | None]] = defaultdict(list)
    with NAMES.open(encoding="utf-8", newline="") as file:
        for row in csv.DictReader(file):
            listed[row["fruit"]].append(known.get((row["fruit"], fold(row["name"]))))
    found = {fruit: {name for name in names if name} for fruit, names in listed.items()}
    told = {fruit: [catalogue.varieties[name] for name in names] for fruit, names in found.items()}
    return [
        Count(
            fruit,
            len(names),
            sum(name is not None for name in names),
            len(told[fruit]),
            sum(bool(variety.bloom) for variety in told[fruit]),
            sum(map(has_fertility, told[fruit])),
            sum(any(f.property in HARVEST for f in variety.facts) for variety in told[fruit]),
        )
        for fruit, names in listed.items()
    ]


def table(rows: list[Count]) -> str:
    """The counts as a table in Markdown."""
    head = "| fruit | names | found | varieties | with bloom | with fertility | with harvest |"
    lines = ["| " + " | ".join(map(str, astuple(row))) + " |" for row in rows]
    return "\n".join([head, "|---" * 7 + "|", *lines])


if __name__ == "__main__":
    print(table(counts(load_catalogue(fruits())[0])))
