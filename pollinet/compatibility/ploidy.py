"""Sets of chromosomes: whose pollen is good, and which grains a variety makes.

References
----------
Adachi et al. 2009 (tetraploid apples), Hauck et al. 2006 (tetraploid sour cherry). That triploids
make too little good pollen to serve as donors is common practice; sources for exceptions stand
in `Fertility.pollen_ok`.
"""

from __future__ import annotations

from functools import lru_cache
from itertools import combinations

from pollinet.domain import Fertility, Fruit


def ploidy_of(fertility: Fertility, fruit: Fruit) -> int:
    """Sets of chromosomes: as told, else presumed as usual for the fruit.

    More alleles than the fruit usually has sets say at least that many sets (S2S3S9: triploid).
    """
    if fertility.ploidy is not None:
        return fertility.ploidy
    named = fertility.genotype.alleles if fertility.genotype and fruit.system != "class" else ()
    return max(fruit.ploidy, len(set(named)))


def pollen_fault(fertility: Fertility, fruit: Fruit) -> str | None:
    """Why the pollen is no good, as a code of `CODES`; None: presumed good.

    An odd number of sets spoils the pollen unless a source says that it works.
    """
    if fertility.pollen_ok is True:
        return None
    if ploidy_of(fertility, fruit) % 2:
        return "triploid-pollen"
    return "sterile-pollen" if fertility.pollen_ok is False else None


@lru_cache(maxsize=4096)
def grains(alleles: tuple[str, ...], ploidy: int) -> tuple[tuple[str, ...], ...]:
    """The equally likely pollen grains of a genotype, each a sorted tuple of alleles, with repeats.

    A grain carries half of the sets, drawn at random without double reduction. Of a triploid
    whose pollen works, only grains with one set are counted. Where fewer alleles are named than
    there are sets, the doses are taken as even as they can be (S1S2 at four sets: S1S1S2S2; of
    three alleles each in turn is the doubled one): an assumption, no source.
    """
    made = grain_places(len(alleles), ploidy)
    return tuple(sorted(tuple(sorted(alleles[place] for place in grain)) for grain in made))


def grain_places(count: int, ploidy: int) -> tuple[tuple[int, ...], ...]:
    """The same by the places of the alleles in a genotype that names `count` of them."""
    if not count:
        return ()
    alleles = tuple(range(count))
    copies, extra = divmod(ploidy, count)
    sets = (
        [alleles]
        if count > ploidy
        else [alleles * copies + more for more in combinations(alleles, extra)]
    )
    size = max(1, ploidy // 2)
    return tuple(grain for full in sets for grain in combinations(full, size))
