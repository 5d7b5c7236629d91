"""Where pollinizer rows go in an orchard."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from typing import Annotated, Any, ClassVar

from pollinet.advice.rows import RowLayout
from pollinet.answers.base import About, Answer, columns_of, flat


@dataclass(frozen=True)
class Layout:
    """One way to lay out the rows."""

    name: str
    rows: Annotated[tuple[bool, ...], About("For each row: whether it is a pollinizer's.")]
    share: Annotated[float, About("Share of pollinizer rows.", 0, 1)]
    adjacent: Annotated[float, About("Share of main rows beside a pollinizer row.", 0, 1)]
    farthest_m: Annotated[float, About("From a main row to the nearest pollinizer row. [m]", 0)]
    drawing: Annotated[str, About("M main row, P pollinizer row.")]


@dataclass(frozen=True, repr=False)
class Rows(Answer):
    """Layouts of pollinizer rows."""

    NAME: ClassVar[str] = "rows"
    ROWS: ClassVar[str] = "layouts"
    ROW: ClassVar[type] = Layout

    layouts: Annotated[tuple[Layout, ...], About("Those with most main rows beside one first.")]

    @property
    def answer(self) -> str:
        """The layout that serves best, in one or two sentences."""
        best = self.layouts[0]
        return f"For a variety that sets shyly: {best.name}. {layout_words(best)}"

    def rows(self) -> list[dict[str, Any]]:
        """One row a layout; its rows are in the drawing."""
        return [
            {name: value for name, value in flat(one) if name != "rows"} for one in self.layouts
        ]

    @classmethod
    def columns(cls) -> list[str]:
        """Those of a layout but its rows."""
        return [name for name in columns_of(Layout) if name != "rows"]


def rows_of(found: Sequence[RowLayout]) -> Rows:
    """The answer, from what `layouts` has found, at least one."""
    return Rows(tuple(Layout(**vars(one), drawing=one.drawing) for one in found))


def layout_words(one: Layout) -> str:
    """How near the main rows are to a pollinizer row."""
    return (
        f"{100 * one.adjacent:.0f} % of the main rows have a pollinizer row beside them; the "
        f"farthest is {one.farthest_m:g} m away."
    )
