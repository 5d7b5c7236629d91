"""What holds on what, and how much wood a graft takes: the tables `grafts`, `rootstocks`, `takes`.

Pure sums and look-ups; what the tables do not tell is `None`.
"""

from __future__ import annotations

from collections.abc import Collection
from dataclasses import dataclass
from math import ceil, log
from typing import Literal

from pollinet.advice.rules import Rows, split

Holds = Literal["yes", "some", "no"]
"""Whether a fruit lasts on a stock: nearly all its varieties, some of them, none."""

SURE = 0.95
"""Chance that at least one graft takes, for which grafts are made. Own convention."""

SPARE_STICKS = 1
"""Sticks above those that the grafts use: one dries out or breaks. Common practice, no source."""


@dataclass(frozen=True)
class Union:
    """A scion on a stock.

    stock : kind of wood that it is grafted into, such as `quince`.
    parts : whether this variety is one of those that part from the stock in time, and needs wood of
        another between (an interstem). bridges : varieties that are used for that.
    """

    scion: str
    stock: str
    holds: Holds
    saying: str
    source: str
    status: str
    parts: bool = False
    bridges: tuple[str, ...] = ()


@dataclass(frozen=True)
class Wood:
    """How much wood a graft of one limb takes.

    take : share of grafts that take. grafts : to be made for the one limb. sticks : to ask for.
    """

    method: str
    take: float
    grafts: int
    sticks: int
    source: str


def stock_kind(rows: Rows, fruit: str, rootstock: str) -> str | None:
    """What kind of wood the rootstock of a tree is; None: not in the table, or not told."""
    typed = _plain(rootstock)
    for row in rows:
        if typed and fruit in split(row["of"]) and typed in map(_plain, split(row["names"])):
            return row["stock"]
    return None


def union_of(rows: Rows, fruit: str, names: Collection[str], stock: str) -> Union | None:
    """A variety on a stock; None: nothing is told of the two.

    names : of the variety, and of that whose sport it is.
    """
    for row in rows:
        if row["scions"] == fruit and stock in split(row["stock"]):
            listed = split(row["except"])
            holds: Holds = row["holds"]  # type: ignore[assignment]
            return Union(
                scion=fruit,
                stock=stock,
                holds=holds,
                saying=row["saying"],
                source=row["source"],
                status=row["status"],
                parts=listed == ("*",) or any(name in listed for name in names),
                bridges=split(row["bridges"]),
            )
    return None


def wood_for(rows: Rows, fruit: str) -> Wood | None:
    """How much wood a limb of a fruit takes: see `grafts_to_make`; None: not in the table."""
    for row in rows:
        if fruit in split(row["fruits"]):
            take = float(row["take"])
            grafts = grafts_to_make(take)
            sticks = ceil(grafts / int(row["sticks_give"])) + SPARE_STICKS
            return Wood(row["method"], take, grafts, sticks, row["source"])
    return None


def grafts_to_make(take: float) -> int:
    """Fewest grafts of which at least one takes at a chance of `SURE`, one by one alike.

    take : share that takes, above 0 and below 1.
    """
    # Rounded, so that a share such as 0.776… that meets it exactly is not asked for one more.
    return max(ceil(round(log(1 - SURE) / log(1 - take), 9)), 1)


def _plain(name: str) -> str:
    """A name without spaces, marks and capitals: `M.9` and `m 9` are one."""
    return "".join(sign for sign in name.casefold() if sign.isalnum())
