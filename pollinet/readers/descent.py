"""From the names of two parents to the alleles that a variety may have from them."""

from __future__ import annotations

from collections.abc import Callable, Iterator, Mapping
from dataclasses import replace

from pollinet.domain import Descent, Fertility, Variety
from pollinet.findings import Finding
from pollinet.messages import say
from pollinet.readers.names import fold
from pollinet.readers.text_tables import Row, parents_in

PARENTS = "parents"
"""The property that names the two parents of a variety."""


def with_descent(
    varieties: Mapping[str, Variety], rows: Mapping[str, Row], names: Callable[[str], str]
) -> Iterator[Variety]:
    """The varieties whose alleles are open, and of whose parents the alleles are known.

    rows : by variety, the row that names its parents. names : who is meant by a name.
    """
    for name, row in rows.items():
        own, told = varieties[name].fertility, parents_in(row["value"])
        if told is None or own.ploidy not in (None, 2) or (own.genotype and own.genotype.complete):
            continue
        first, second, roles = told
        both = [_parent(one, varieties, names) for one in (first, second)]
        alleles = [None if one is None else _two_alleles(one) for one in both]
        if not any(alleles):
            continue
        used = [one for one, two in zip(both, alleles, strict=True) if one is not None and two]
        recalled = row["status"] == "memory" or any("genotype" in one.memory for one in used)
        yield replace(
            varieties[name],
            fertility=replace(
                own,
                descent=Descent(alleles[0], alleles[1], roles),
                memory=tuple(sorted({*own.memory, *({"descent"} if recalled else ())})),
                sources=tuple(dict.fromkeys((*own.sources, row["source"]))),
            ),
        )


def descended_like(sport: Variety, parent: Variety) -> Variety:
    """A sport with what follows from the parents of its own parent."""
    own, other = sport.fertility, parent.fertility
    if other.descent is None:
        return sport
    return replace(
        sport,
        fertility=replace(
            own,
            descent=other.descent,
            memory=tuple(sorted({*own.memory, *({"descent"} & set(other.memory))})),
            sources=tuple(dict.fromkeys((*own.sources, *other.sources))),
        ),
    )


def _parent(
    name: str, varieties: Mapping[str, Variety], names: Callable[[str], str]
) -> Fertility | None:
    found = varieties.get(names(name))
    return None if found is None else found.fertility


def _alleles_of(
    name: str, varieties: Mapping[str, Variety], names: Callable[[str], str]
) -> tuple[str, str] | None:
    parent = _parent(name, varieties, names)
    return None if parent is None else _two_alleles(parent)


def _two_alleles(parent: Fertility) -> tuple[str, str] | None:
    """Both alleles of a diploid; None where they are not all known, or disputed."""
    genotype = parent.genotype
    if genotype is None or not genotype.complete or parent.ploidy not in (None, 2):
        return None
    if parent.disputed & {"genotype", "ploidy"}:
        return None
    alleles = genotype.alleles
    return (alleles[0], alleles[1]) if len(alleles) == 2 else None


def descent_problems(
    varieties: Mapping[str, Variety], rows: Mapping[str, Row], names: Callable[[str], str]
) -> Iterator[Finding]:
    """What is wrong with or notable in the parents that the grower's own tables name."""
    for name, row in rows.items():
        told = parents_in(row["value"]) if row.own else None
        if told is None:
            continue
        for one in told[:2]:
            if names(one) == name or fold(one) == fold(name):
                message = say("{name} cannot be a parent of itself.", name=name)
                yield Finding("error", "contradiction", message, row.file, "value", row.line)
            elif one != "?" and names(one) not in varieties:
                message = say("{name}, a parent of {child}, is not known here: nothing follows "
                              "from it.", name=one, child=name)  # fmt: skip
                yield Finding("note", "unknown-parent", message, row.file, "value", row.line)
        mine = _two_alleles(varieties[name].fertility)
        first, second = (_alleles_of(one, varieties, names) for one in told[:2])
        if mine is not None and not can_have(mine, first, second):
            message = say(
                "{name} with {alleles} cannot come from {parents}.",
                name=name, alleles="".join(mine), parents=row["value"],
            )  # fmt: skip
            cure = say("Correct the one that is wrong; until then the alleles are used.")
            yield Finding("warning", "descent-contradiction", message, row.file, "value",
                          row.line, cure)  # fmt: skip


def can_have(
    own: tuple[str, str], first: tuple[str, str] | None, second: tuple[str, str] | None
) -> bool:
    """Whether a child with these alleles has one of each parent; None: any."""
    return any(
        (first is None or one in first) and (second is None or other in second)
        for one, other in (own, own[::-1])
    )
