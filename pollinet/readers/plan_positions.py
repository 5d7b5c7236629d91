"""Where trees stand in a plan: what is wrong with it, and how far neighbours' trees are away."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from math import dist
from typing import Any

from pollinet.domain import Position, Tree
from pollinet.findings import Finding
from pollinet.messages import joined, say
from pollinet.readers.plan_table import NeighbourTable, PlanTable

SLACK = 0.2
"""Share by which a distance may be off the positions and still agree with them: own convention."""

SLACK_M = 3.0
"""The least that it may be off: paces, and the width of a crown. Own convention. [m]"""


def position_of(typed: list[float]) -> Position | None:
    """A position as the plan types it; None: there is none."""
    return (float(typed[0]), float(typed[1])) if typed else None


def neighbour_distance_m(table: PlanTable, near: NeighbourTable) -> float | None:
    """How far a neighbour's tree is: as typed, else from the nearest tree of its fruit. [m]

    None: the plan does not tell.
    """
    if near.distance_m is not None:
        return near.distance_m
    return _nearest_m(_distances_m(table, near, near.species) or _distances_m(table, near))


def typed_distance_m(data: Any, near: Any) -> float | None:
    """`neighbour_distance_m` of an entry in the plain data of a plan without mistakes. [m]"""
    if "distance_m" in near or "position_m" not in near:
        return near.get("distance_m")  # type: ignore[no-any-return]
    placed = [tree for tree in data["tree"] if tree.get("position_m")]
    of_its_fruit = [tree for tree in placed if tree["species"] == near["species"]]
    ways = [dist(near["position_m"], tree["position_m"]) for tree in of_its_fruit or placed]
    return _nearest_m(ways)


def nearest_m(place: Position, trees: Sequence[Tree]) -> float | None:
    """How far the nearest of some trees is; None: no position of theirs is told. [m]"""
    return _nearest_m([dist(place, tree.position_m) for tree in trees if tree.position_m])


def _nearest_m(ways: Sequence[float]) -> float | None:
    return round(min(ways), 1) if ways else None


def _distances_m(table: PlanTable, near: NeighbourTable, species: str | None = None) -> list[float]:
    """From the grower's own trees whose position is told; none where its own is not. [m]

    species : of the trees that are looked at; None: all.
    """
    if not near.position_m:
        return []
    trees = [tree for tree in table.tree if species in (None, tree.species)]
    return [dist(near.position_m, tree.position_m) for tree in trees if tree.position_m]


def position_problems(table: PlanTable, file: str) -> Iterator[Finding]:
    """What is wrong with positions and distances."""
    for name, near in zip(table.neighbour_ids, table.neighbour, strict=True):
        yield from _neighbour_problems(table, near, name, file)
    placed = [tree.id for tree in table.tree if tree.position_m]
    left = [tree.id for tree in table.tree if not tree.position_m]
    if placed and left:
        message = say(
            "position_m is missing for {trees}: counted as standing beside every other tree",
            trees=joined([f'"{name}"' for name in left]),
        )
        cure = say("add position_m = [metres east, metres north] to each [[tree]], or to none")
        yield Finding("warning", "unplaced-tree", message, file, "tree, position_m", cure=cure)


def _neighbour_problems(
    table: PlanTable, near: NeighbourTable, name: str, file: str
) -> Iterator[Finding]:
    place = neighbour_place(name)
    ways = _distances_m(table, near)
    if near.distance_m is None and not ways:
        message = say("only its position is told, and no tree of your own has one to measure from")
        cure = say("add position_m to each [[tree]], or distance_m to this neighbour")
        yield Finding("error", "missing-key", message, file, place, cure=cure)
    elif near.distance_m is not None and ways:
        slack = max(SLACK_M, SLACK * near.distance_m)
        if not min(ways) - slack <= near.distance_m <= max(ways) + slack:
            message = say(
                "distance_m is {told:g}, but by position_m it stands {least:.0f} to {most:.0f} m "
                "from your trees; the position counts",
                told=near.distance_m, least=min(ways), most=max(ways),
            )  # fmt: skip
            cure = say("correct the wrong one, or leave distance_m out")
            yield Finding("warning", "distance-and-position", message, file, place, cure=cure)


def neighbour_place(name: str) -> str:
    """Where findings on the distance of a neighbour's tree belong."""
    return f'neighbour "{name}", distance_m'
