"""Rectangles of drawings and sheets: what stands where, and what covers what."""

from __future__ import annotations

from typing import NamedTuple, TypeAlias

Point: TypeAlias = tuple[float, float]
"""To the right and down."""


class Box(NamedTuple):
    """A part of a drawing or a sheet; all in one unit, which the drawing tells."""

    left: float
    top: float
    right: float
    bottom: float

    @property
    def width(self) -> float:
        """From left to right."""
        return self.right - self.left

    @property
    def height(self) -> float:
        """From top to bottom."""
        return self.bottom - self.top

    @property
    def middle(self) -> Point:
        """The point amid its corners."""
        return (self.left + self.right) / 2, (self.top + self.bottom) / 2

    def shared(self, other: Box) -> float:
        """How much of both lies over one another."""
        wide = min(self.right, other.right) - max(self.left, other.left)
        high = min(self.bottom, other.bottom) - max(self.top, other.top)
        return max(wide, 0.0) * max(high, 0.0)

    def holds(self, point: Point) -> bool:
        """Whether a point lies in it."""
        return self.left <= point[0] <= self.right and self.top <= point[1] <= self.bottom
