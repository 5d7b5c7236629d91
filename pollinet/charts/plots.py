"""Outlines of gardens on a map, and where beside them their names have room."""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from math import cos, pi, sin

from pollinet.charts.boxes import Box, Point

ROUND = 24
"""Corners of a circle."""

_WAYS = sorted(
    ((sin(pi * i / 8), -cos(pi * i / 8)) for i in range(16)), key=lambda way: round(abs(way[0]), 6)
)
# Directions in which a name may stand beside an outline: above it and below come first.

GAPS_IN = (0.03, 0.12, 0.3)
"""How far from it a name may stand, the nearest first. [inch]"""


def outline(discs: Iterable[tuple[Point, float]]) -> tuple[Point, ...]:
    """The corners of what a cord round some discs would enclose; disc : middle and radius. [inch]

    Convex hull by a monotone chain: Andrew (1979), Information Processing Letters 9:216, `memory`.
    """
    points = sorted(
        (x + radius * cos(2 * pi * i / ROUND), y + radius * sin(2 * pi * i / ROUND))
        for (x, y), radius in discs
        for i in range(ROUND)
    )
    return (*_chain(points), *_chain(points[::-1]))


def _chain(points: Sequence[Point]) -> list[Point]:
    """One side of the hull of sorted points, without its last one."""
    kept: list[Point] = []
    for point in points:
        while len(kept) > 1 and _turn(kept[-2], kept[-1], point) <= 0:
            kept.pop()
        kept.append(point)
    return kept[:-1]


def _turn(a: Point, b: Point, c: Point) -> float:
    return (b[0] - a[0]) * (c[1] - a[1]) - (b[1] - a[1]) * (c[0] - a[0])


def name_box(
    corners: Sequence[Point],
    size: Point,
    ground: Box,
    taken: Sequence[Box],
    lines: Sequence[Point],
) -> Box:
    """Where beside an outline a name stands: over nothing that is taken, and over few lines.

    corners : of the outline. size : of the name, width and height. ground : what holds the name.
    taken : what must stay in sight. lines : points of other lines.
    """

    def cost(box: Box) -> tuple[float, int]:
        return sum(box.shared(one) for one in taken), sum(map(box.holds, lines))

    # Of equal ones the first: near the outline, above it or below.
    return min(_beside(corners, size, ground), key=cost)


def _beside(corners: Sequence[Point], size: Point, ground: Box) -> Iterable[Box]:
    wide, high = size
    for gap in GAPS_IN:
        for along in _WAYS:
            x, y = max(corners, key=lambda corner: corner[0] * along[0] + corner[1] * along[1])
            far = max(abs(along[0]), abs(along[1]))
            left = x + along[0] * (gap + wide / 2 / far) - wide / 2
            top = y + along[1] * (gap + high / 2 / far) - high / 2
            left = min(max(left, ground.left), ground.right - wide)
            top = min(max(top, ground.top), ground.bottom - high)
            yield Box(left, top, left + wide, top + high)


def along_arc(start: Point, end: Point, bend: float) -> list[Point]:
    """Points of an arrow that is bent as `arc3` of matplotlib bends it."""
    east, down = end[0] - start[0], end[1] - start[1]
    # The style counts upwards, these inches down.
    middle = start[0] + east / 2 - bend * down, start[1] + down / 2 + bend * east
    return [
        _between(_between(start, middle, part), _between(middle, end, part), part)
        for part in _PARTS
    ]


def along_outline(corners: Sequence[Point]) -> list[Point]:
    """Points of an outline."""
    sides = zip(corners, (*corners[1:], corners[0]), strict=True)
    return [_between(*side, part) for side in sides for part in _PARTS]


_PARTS = [step / 12 for step in range(13)]


def _between(start: Point, end: Point, part: float) -> Point:
    return start[0] + (end[0] - start[0]) * part, start[1] + (end[1] - start[1]) * part
