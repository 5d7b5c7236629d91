"""Gardens that are hard to draw: many limbs, one limb, long and foreign names, bloom at New Year.

All are invented; bloom is typed, so that no weather is needed.
"""

from __future__ import annotations

import json
from collections.abc import Iterable, Mapping
from pathlib import Path

from gardens import entry, saved

HEAD = "[site]\nname = {site}\nlatitude = {latitude}\n[aim]\ndraws = 8\n"

LONG = (
    "Seedling from beside the old drying shed of the lower orchard, second from the left",
    "Donaudampfschifffahrtsgesellschaftskapitänsrenette",
)
FOREIGN = ("תפוח ירוק", "تفاح أخضر", "Żółta Ščavnická Øl", "富士", "Cox <b>&\"$x_1$' {{ 7*7 }}")


def text(value: str) -> str:
    """A TOML string."""
    return json.dumps(value, ensure_ascii=False)


def variety(name: str, genotype: str | None, *bloom: tuple[object, object]) -> str:
    pairs = [list(pair) for pair in bloom]
    key = "bloom" if isinstance(bloom[0][0], str) else "bloom_days"
    typed = {key: pairs if len(pairs) > 1 else pairs[0]}
    return entry("variety", species="apple", name=name, s_genotype=genotype, **typed)


def tree(limbs: Iterable[tuple[str, str]], name: str = "old tree") -> str:
    return entry("tree", id=name, species="apple", spare_limbs=3) + "".join(
        entry("tree.limb", id=limb, variety=kind, grafted=2019) for limb, kind in limbs
    )


def neighbour(name: str, distance_m: float) -> str:
    return entry("neighbour", species="apple", variety=name, distance_m=distance_m)


def scion(name: str, blocked: str = "") -> str:
    return entry("scion", species="apple", variety=name, blocked=blocked)


def one_limb() -> str:
    return tree([("only", "Alone")]) + variety("Alone", "S1S2", (110, 120))


def forty_limbs() -> str:
    names = [f"Variety {number:02d}" for number in range(40)]
    bands = ("low", "mid", "top")
    limbs = [(f"A{n:02d}-{bands[n % 3]}", name) for n, name in enumerate(names)]
    kinds = [
        variety(
            name,
            f"S{1 + n % 5}S{7 + n % 3}",
            *((100 + (n * 7) % 30 + late, 109 + (n * 7) % 30 + late) for late in (0, 4, 9)),
        )
        for n, name in enumerate(names)
    ]
    return tree(limbs) + "".join(kinds)


def long_names() -> str:
    limbs = [
        ("the-limb-that-hangs-over-the-garden-gate-and-is-propped-up-south", LONG[0]),
        ("B", LONG[1]),
    ]
    kinds = variety(LONG[0], "S1S2", (110, 120)) + variety(LONG[1], "S1S2", (111, 121))
    return tree(limbs) + neighbour(LONG[0], 22.5) + kinds


def foreign_names() -> str:
    limbs = [(f"{['N', 'E', 'S', 'W', 'SSW'][n]}-mid", name) for n, name in enumerate(FOREIGN)]
    kinds = [variety(name, None if n == 1 else f"S{n + 1}S9", (110 + n, 119 + n))
             for n, name in enumerate(FOREIGN)]  # fmt: skip
    return tree(limbs, "עץ") + "".join(kinds)


def southern_new_year() -> str:
    springs = [("12-20", "01-04"), ("12-27", "01-11")]
    later = [("12-30", "01-12"), ("01-03", "01-19")]
    limbs = [("low-N", "Early"), ("low-S", "Late"), ("top", "Middle")]
    return (
        tree(limbs)
        + scion("Spare", "")
        + scion("Sick", "oozing cankers")
        + variety("Early", "S1S2", *springs)
        + variety("Late", "S1S2", *later)
        + variety("Middle", "S3S4", ("12-24", "01-08"), ("12-31", "01-15"))
        + variety("Spare", "S5S6", *springs)
        + variety("Sick", "S5S7", *springs)
    )


GARDENS: Mapping[str, tuple[str, float, str]] = {
    "one limb": (one_limb(), 46.0, "a pot on the balcony"),
    "forty limbs": (forty_limbs(), 46.0, "the big tree"),
    "long names": (long_names(), 46.0, "the slope " * 12),
    "foreign names": (foreign_names(), 32.0, "גן"),
    "southern new year": (southern_new_year(), -41.0, "far south"),
}


def written(name: str, folder: Path) -> Path:
    """The plan file of one of these gardens."""
    body, latitude, site = GARDENS[name]
    return saved(folder, HEAD.format(site=text(site.strip()), latitude=latitude) + body)
