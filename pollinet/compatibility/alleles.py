"""S-alleles: name spaces, other names, mutants.

The same code means different alleles in different fruits (cherry S3, almond S3 and apricot S3
have nothing in common), so every question is put to the `AlleleBook` of one name space.
A pollen-part mutant (cherry S4', apricot Sc) passes every style as pollen, while its style still
stops the plain allele; a stylar-part mutant (almond Sf, nashi S4sm) stops nothing as style, while
its pollen is still that allele and is stopped wherever the plain allele stands.

References
----------
Muñoz-Sanz et al. 2017 (apricot Sc), Kodad et al. 2009 and Fernández i Martí et al. 2010 (almond
Sf), Schuster 2020 (cherry S3', S4'), Cutuli et al. 2007 (cherry S5'). Each fruit's table of
alleles says for every allele who calls it a mutant.
"""

from __future__ import annotations

import re
from collections.abc import Iterable, Iterator, Mapping
from dataclasses import dataclass
from functools import cache

from pollinet.domain import AlleleFact

PASSES = ""
"""What is seen of an allele that passes every style, or that as a style lets everything pass."""


@dataclass(frozen=True)
class AlleleBook:
    """What is special about the alleles of one name space; a name that is absent is ordinary."""

    name_space: str
    facts: Mapping[str, AlleleFact]


def allele_book(name_space: str, facts: Iterable[AlleleFact]) -> AlleleBook:
    """The facts of one name space, by allele."""
    return AlleleBook(name_space, {f.allele: f for f in facts if f.name_space == name_space})


@cache
def allele_order(allele: str) -> tuple[int, str]:
    """Sort key: by number, then by text (`S2`, `S10`, `S10'`, then letters)."""
    digits = re.search(r"\d+", allele)
    return (int(digits[0]) if digits else 10**6, allele)


def in_allele_order(alleles: Iterable[str]) -> tuple[str, ...]:
    """Different alleles, sorted."""
    return tuple(sorted(set(alleles), key=allele_order))


def facts_behind(allele: str, book: AlleleBook) -> Iterator[AlleleFact]:
    """The facts on a name and on the names under which it is compared."""
    seen: set[str] = set()
    while allele in book.facts and allele not in seen:
        seen.add(allele)
        fact = book.facts[allele]
        yield fact
        allele = fact.alias_of


def compared_name(allele: str, book: AlleleBook) -> str:
    """The name under which an allele is compared: `S4` for `S4'`, `S28` for an old `S19`.

    A primed name that no table explains is compared under its plain name and has no privilege:
    the careful side, as both its pollen and its style are then taken for normal.
    """
    name = allele
    for fact in facts_behind(allele, book):
        name = fact.alias_of or fact.allele
    return name.rstrip("'")


def mutant_part(allele: str, book: AlleleBook) -> str:
    """Which part of an allele is broken: `pollen`, `style` or empty."""
    return next((fact.mutant for fact in facts_behind(allele, book) if fact.mutant), "")


def pollen_identity(allele: str, book: AlleleBook) -> str:
    """What a style sees of a grain with this allele; `PASSES`: nothing."""
    if allele in book.facts and mutant_part(allele, book) == "pollen":
        return PASSES
    return compared_name(allele, book)


def style_identity(allele: str, book: AlleleBook, *, active: bool = False) -> str:
    """What a style with this allele stops; `PASSES`: nothing.

    active : take stylar-part mutants for working ones. Some varieties carry such an allele and
        are self-incompatible all the same (almonds Vivot and Ponç).
    """
    if not active and allele in book.facts and mutant_part(allele, book) == "style":
        return PASSES
    return compared_name(allele, book)
