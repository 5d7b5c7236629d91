"""How much a pollen source counts at a distance."""

from __future__ import annotations

from collections.abc import Sequence
from math import dist, inf

import numpy as np
from numpy.typing import ArrayLike

from pollinet.domain import Aim, FloatArray, Fruit, Node

FAR_SHARE = 0.05
"""Share left at the far distance: a low bonus, not a promise. Own estimate; sources differ."""


def reach(fruit: Fruit, aim: Aim) -> tuple[float, float]:
    """How far pollen of a fruit is carried, near and far: as the plan says, else as usual. [m]

    Half of a far distance that is typed is the most that a near one is taken for.
    """
    far = fruit.far_m if aim.far_m is None else aim.far_m
    return min(fruit.near_m, far / 2) if aim.near_m is None else aim.near_m, far


def proximity(distance_m: ArrayLike, near_m: ArrayLike, far_m: ArrayLike) -> FloatArray:
    """Weight of a pollen source by its distance, 0 to 1.

    1 up to `near_m`, falling straight to 0.05 at `far_m`, 0 beyond. Any shapes that fit.

    References
    ----------
    A garden guideline gives 18 m as the distance to be really effective (Royal Horticultural
    Society, "Fruit pollination" beginner's guide); a growers' guide sees efficiency fall above
    15-20 m (NIAB, "Number of trees of a pollinating variety", citing Mišić 1994 and Free &
    Spencer-Booth 1964); a magazine allows up to 100 m (Kraut & Rüben, "Kernobst"). The straight
    line between the two is our own convention.
    """
    distance, near, far = (np.asarray(x, dtype=float) for x in (distance_m, near_m, far_m))
    falling = FAR_SHARE + (1 - FAR_SHARE) * (far - distance) / (far - near)
    return np.where(distance <= near, 1.0, np.where(distance <= far, falling, 0.0))


def distance_m(one: Node, other: Node) -> float:
    """How far two nodes stand apart; see `distances_m`. [m]"""
    if one.position_m is not None and other.position_m is not None:
        return dist(one.position_m, other.position_m)
    return max(one.distance_m, other.distance_m) if one.garden == other.garden else inf


def distances_m(nodes: Sequence[Node]) -> FloatArray:
    """How far each two of N nodes stand apart, shape (N, N). [m]

    By their positions where both have one. Else what is the grower's own stands in one place, and
    a neighbour's tree as far from it as is told; two neighbours' trees never need it. What only one
    of several gardens tells a distance to is out of reach of the others.
    """
    told = np.array([node.distance_m for node in nodes])
    distance: FloatArray = np.maximum.outer(told, told)
    if len({node.garden for node in nodes}) > 1:
        gardens = np.array([node.garden for node in nodes])
        distance[np.not_equal.outer(gardens, gardens)] = inf
    placed = [i for i, node in enumerate(nodes) if node.position_m is not None]
    if placed:
        east, north = np.array([nodes[i].position_m for i in placed]).T
        between = np.hypot(np.subtract.outer(east, east), np.subtract.outer(north, north))
        distance[np.ix_(placed, placed)] = between
    return distance
