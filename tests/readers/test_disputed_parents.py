"""Parents whose alleles or sets of chromosomes are disputed: nothing follows from these."""

from __future__ import annotations

import pytest

from pollinet.domain import Alternative, Descent, Fertility, Genotype, Variety, VarietyId
from pollinet.readers.descent import with_descent
from pollinet.readers.text_tables import Row

MINE, OTHER = Genotype(("S1", "S2")), Genotype(("S3", "S5"))


def variety(name: str, genotype: Genotype | None, *sides: Alternative) -> Variety:
    own = VarietyId("apple", name)
    return Variety(own, Fertility(own, name, genotype=genotype, alternatives=sides))


@pytest.mark.parametrize(
    "sides",
    [
        (Alternative(0.8, MINE, 2), Alternative(0.2, MINE, 3)),
        (Alternative(0.5, MINE, 2), Alternative(0.5, OTHER, 2)),
    ],
)
def test_a_disputed_parent_gives_nothing_for_certain(sides: tuple[Alternative, ...]) -> None:
    row = Row({"value": "A x B", "source": "T", "status": "trade"}, "facts.csv", 2)
    told = {name: variety(name, MINE) for name in ("A", "B")} | {"C": variety("C", None)}
    rows = {"C": row}
    [child] = with_descent(told, rows, str)
    assert child.fertility.descent == Descent(("S1", "S2"), ("S1", "S2"), told=True)
    disputed = told | {"A": variety("A", MINE, *sides)}
    [child] = with_descent(disputed, rows, str)
    assert child.fertility.descent == Descent(None, ("S1", "S2"), told=True)
