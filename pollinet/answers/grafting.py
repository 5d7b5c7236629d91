"""How a variety is grafted, as a part of answers."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Annotated, Literal

from pollinet.advice.grafting import Union
from pollinet.advice.grafting import Wood as WoodWanted
from pollinet.answers.base import About, Share
from pollinet.answers.parts import month_day
from pollinet.summary.grafting import Grafting
from pollinet.wording.grafting import graft_on


@dataclass(frozen=True)
class Window:
    """When one step of the work is done, in a usual year here."""

    task: Annotated[str, About("As in the answer of `work`.")]
    first: Annotated[str, About("MM-DD.")]
    last: Annotated[str, About("MM-DD, the latest that makes sense.")]
    on: Annotated[str | None, About("What wood it is done on.")]
    source: str


@dataclass(frozen=True)
class HoldsOn:
    """Whether the variety lasts on a kind of wood."""

    stock: Annotated[str, About("A fruit, or a kind of rootstock.")]
    holds: Annotated[
        Literal["yes", "some", "no"], About("Of the fruit's varieties: nearly all, some, none.")
    ]
    parts: Annotated[bool, About("Whether this variety needs wood of another between.")]
    bridges: Annotated[tuple[str, ...], About("Varieties that are put between (interstems).")]
    saying: str
    source: str
    status: str


@dataclass(frozen=True)
class OtherTree:
    """A tree of another fruit with room, on which it holds."""

    tree: str
    holds_on: HoldsOn


@dataclass(frozen=True)
class Sticks:
    """How much wood one limb takes."""

    sticks: Annotated[int, About("To ask for, one to spare among them.")]
    grafts: Annotated[int, About("To be made for the one limb.")]
    take: Annotated[Share, About("Of grafts that take.")]
    method: Annotated[str, About("Which work of grafting that is.")]
    source: str


@dataclass(frozen=True)
class HowToGraft:
    """When, into what, with how much wood, and who has it."""

    variety: str
    windows: Annotated[tuple[Window, ...], About("Empty: nothing dates them.")]
    on_limbs: Annotated[HoldsOn | None, About("On wood of the tree's limbs; null: not told.")]
    on_rootstock: Annotated[
        HoldsOn | None, About("On the rootstock of its tree; null: not told, or nothing known.")
    ]
    graft_into: Annotated[
        tuple[str, ...], About("Limbs that carry it where it parts from the rootstock.")
    ]
    gives_way: Annotated[
        str | None, About("Where there is no room: the limb that is missed least.")
    ]
    other_trees: tuple[OtherTree, ...]
    wood: Annotated[Sticks | None, About("Null: not in the table.")]
    limbs_with_it: Annotated[tuple[str, ...], About("Limbs of the garden that have the variety.")]
    neighbours_with_it: Annotated[tuple[str, ...], About("Trees next door that have it.")]


def how_to_graft(one: Grafting) -> HowToGraft:
    """The part, from what was found."""
    return HowToGraft(
        variety=one.variety.name,
        windows=tuple(
            Window(
                task.task,
                month_day(task.days_of_year[0]),
                month_day(task.days_of_year[1]),
                graft_on(task) or None,
                task.source,
            )
            for task in one.windows
        ),
        on_limbs=_holds_on(one.limb_union),
        on_rootstock=_holds_on(one.root),
        graft_into=one.into,
        gives_way=one.gives_way,
        other_trees=tuple(
            OtherTree(tree, holds)
            for tree, union in one.elsewhere
            if (holds := _holds_on(union)) is not None
        ),
        wood=_sticks(one.wood),
        limbs_with_it=one.having.limbs,
        neighbours_with_it=one.having.neighbours,
    )


def _holds_on(union: Union | None) -> HoldsOn | None:
    if union is None:
        return None
    return HoldsOn(
        union.stock, union.holds, union.parts, union.bridges, union.saying, union.source,
        union.status,
    )  # fmt: skip


def _sticks(wood: WoodWanted | None) -> Sticks | None:
    if wood is None:
        return None
    return Sticks(wood.sticks, wood.grafts, wood.take, wood.method, wood.source)
