"""Varieties and rules made by hand for the tests of this folder."""

from __future__ import annotations

from collections.abc import Mapping

from pollinet.domain import AlleleFact, Fertility, FertilityRules, Fruit, Genotype, VarietyId

FRUITS = {
    fruit.name: fruit
    for fruit in (
        Fruit("apple", "Malus domestica", "gametophytic", "Malus", 2, False),
        Fruit("pear", "Pyrus communis", "gametophytic", "Pyrus communis", 2, False),
        Fruit("nashi", "Pyrus pyrifolia", "gametophytic", "Pyrus pyrifolia", 2, False),
        Fruit("pear hybrid", "Pyrus", "gametophytic", "Pyrus hybrid", 2, None),
        Fruit("sweet cherry", "Prunus avium", "gametophytic", "Prunus cerasus", 2, False),
        Fruit("sour cherry", "Prunus cerasus", "gametophytic", "Prunus cerasus", 4, None),
        Fruit("apricot", "Prunus armeniaca", "gametophytic", "Prunus armeniaca", 2, None),
        Fruit("almond", "Prunus dulcis", "gametophytic", "Prunus dulcis", 2, False),
        Fruit("Japanese plum", "Prunus salicina", "gametophytic", "Prunus salicina", 2, False),
        Fruit("European plum", "Prunus domestica", "class", "Prunus domestica", 6, None),
        Fruit("peach", "Prunus persica", "class", "Prunus persica", 2, True),
        Fruit("hazelnut", "Corylus avellana", "sporophytic", "Corylus", 2, None),
    )
}

# Sources: notes on the fertility systems, with Schuster 2020 (S3', S4'), Cutuli et al. 2007 (S5'),
# Muñoz-Sanz et al. 2017 (Sc), Kodad et al. 2009 (Sf), Halász et al. 2007 (Se); S4sm from memory.
ALLELES = (
    AlleleFact("Prunus cerasus", "S4'", "S4", "pollen", "SCHUSTER2020"),
    AlleleFact("Prunus cerasus", "S3'", "S3", "pollen", "SCHUSTER2020"),
    AlleleFact("Prunus cerasus", "S5'", "S5", "pollen", "CUTULI2007"),
    AlleleFact("Prunus armeniaca", "Sc", "", "pollen", "MUNOZSANZ2017"),
    AlleleFact("Prunus dulcis", "Sf", "", "style", "KODAD2009"),
    AlleleFact("Prunus salicina", "Se", "", "style", "HALASZ2007"),
    AlleleFact("Pyrus pyrifolia", "S4sm", "S4", "style", "MEM-NS", "memory"),
    AlleleFact("Malus", "S19", "S28", "", "MEM-S", "memory"),
)


def rules(**tables: object) -> FertilityRules:
    """The rules of all fruits; `tables` replaces pairs, crossings or allele_frequencies."""
    return FertilityRules(**{"fruits": FRUITS, "alleles": ALLELES, **tables})  # type: ignore[arg-type]


def variety(
    species: str, name: str, alleles: str | None = None, *, shown: str = "", **facts: object
) -> Fertility:
    """A variety; `alleles` in a row (`S1 S2`), with `?` at the end where more are not known."""
    genotype = None
    if alleles:
        known = tuple(alleles.split())
        complete = "?" not in known
        genotype = Genotype(
            tuple(a for a in known if a != "?"), complete, tuple(shown.split()) or None
        )
    options: dict[str, object] = {"clone": name, "genotype": genotype, **facts}
    return Fertility(VarietyId(species, name), **options)  # type: ignore[arg-type]


def frequencies(name_space: str, **shares: float) -> Mapping[str, Mapping[str, float]]:
    """Allele frequencies of one name space."""
    return {name_space: shares}
