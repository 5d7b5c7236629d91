"""S-genotypes as people write them, read into sorted allele names of one name space."""

from __future__ import annotations

import re
from functools import cache, lru_cache

from pollinet.domain import Fruit, Genotype
from pollinet.findings import Finding
from pollinet.messages import NOTHING, say
from pollinet.readers.names import nearest_words
from pollinet.readers.text_tables import shipped_rows

MAX_ALLELES = 6
"""A hexaploid has six; no cultivated fruit here has more chromosome sets."""

# `S` and a number with a variant (S104-1), a mutation mark (S4', S4sm) or a letter (Sc);
# `S?` and `S-` stand for an allele that is not known.
_TOKEN = re.compile(
    r"[Ss](?:(?P<number>\d+)(?P<variant>-\d)?(?P<mark>sm|m|[ab])?(?P<prime>'?)"
    r"|(?P<letter>[a-z])|(?P<unknown>[?-]))"
)
_PRIMES = str.maketrans(dict.fromkeys("’‘′`´ʹ*", "'"))
_GAPS = re.compile(r"[\s,;/|]+")


def parse_genotype(
    text: str, fruit: Fruit, *, file: str = "", place: str = "", line: int | None = None
) -> tuple[Genotype | None, tuple[Finding, ...]]:
    """Read a genotype such as `S1S5`, `S3 S4'`, `S1/S5`, `S104-1S105`, `ScSe` or `S1S?`.

    Parameters
    ----------
    text : what was typed. Empty, or only unknown alleles (`S?S?`): not known, no finding.
    fruit : decides which allele names there are: S1 of a nashi is not an allele of a pear.

    Returns
    -------
    The genotype with its alleles sorted (by number, then letters), incomplete where an allele
    is written `S?` or fewer are written than the fruit has chromosome sets; None where
    nothing is known or the text cannot be read, which is an error finding `unknown-genotype`.
    """
    tokens = _tokens(text)
    if tokens is None:
        return None, (_unreadable(text, fruit, file, place, line),)
    alleles = tuple(allele for allele in tokens if allele)
    pattern, _ = allele_names(fruit.name_space)
    strange = [allele for allele in alleles if not pattern.fullmatch(allele)]
    if strange:
        return None, (_other_name_space(strange[0], fruit, file, place, line),)
    if not alleles:
        return None, ()
    complete = len(alleles) == len(tokens) and len(alleles) >= fruit.ploidy
    return Genotype(alleles, complete), ()


def ploidy_problems(
    genotype: Genotype | None, ploidy: int | None, file: str, place: str
) -> tuple[Finding, ...]:
    """What is wrong with a genotype beside the ploidy told with it; None: not told.

    An allele that is written twice counts twice: each copy sits on a chromosome of its own.
    """
    if genotype is None or ploidy is None or len(genotype.alleles) <= ploidy:
        return ()
    message = say(
        "found {count} S-alleles and ploidy {ploidy}: no plant has more alleles than sets of "
        "chromosomes",
        count=len(genotype.alleles),
        ploidy=ploidy,
    )
    cure = say("correct one of the two")
    return (Finding("error", "too-many-alleles", message, file, place, cure=cure),)


@lru_cache(maxsize=4096)
def _tokens(text: str) -> tuple[str, ...] | None:
    """Allele names in order, empty ones for unknown alleles; None: cannot be read."""
    cleaned = _GAPS.sub("", text.translate(_PRIMES).replace("-prime", "'"))
    found = list(_TOKEN.finditer(cleaned))
    if "".join(token.group() for token in found) != cleaned or len(found) > MAX_ALLELES:
        return None
    names = ("" if token["unknown"] else _name(token) for token in found)
    return tuple(sorted(names, key=allele_order))


def allele_order(allele: str) -> tuple[int, str]:
    """Sort key of allele names: numbers by size, then letters."""
    digits = re.match(r"S(\d+)", allele)
    return (int(digits[1]) if digits else 10_000, allele)


def _name(token: re.Match[str]) -> str:
    if token["letter"]:
        return f"S{token['letter']}"
    parts = (token["number"].lstrip("0"), token["variant"], token["mark"], token["prime"])
    return "S" + "".join(part or "" for part in parts)


@cache
def allele_names(name_space: str) -> tuple[re.Pattern[str], str]:
    """Pattern of the allele names of a name space, and an example genotype, from fruits.csv.

    A name space without alleles matches nothing.
    """
    for row in shipped_rows("fruits.csv"):
        if row["name_space"] == name_space and row["allele_pattern"]:
            return re.compile(row["allele_pattern"]), row["allele_example"]
    return re.compile(r"(?!)"), ""


@cache
def known_alleles(name_space: str) -> frozenset[str]:
    """Alleles of the shipped genotypes of a name space, and other names of alleles."""
    told: list[str] = []
    for fruit in shipped_rows("fruits.csv"):
        if fruit["name_space"] == name_space:
            facts = shipped_rows(f"{fruit['folder']}/facts.csv")
            told += [row["value"] for row in facts if row["property"] == "s_genotype"]
            told += [row["allele"] for row in shipped_rows(f"{fruit['folder']}/alleles.csv")]
    tokens = (token for alleles in told for token in _TOKEN.finditer(alleles))
    return frozenset(_name(token) for token in tokens if not token["unknown"])


def _unreadable(text: str, fruit: Fruit, file: str, place: str, line: int | None) -> Finding:
    _, example = allele_names(fruit.name_space)
    message = say(
        "'{text}' cannot be read as the S-alleles of {fruit}.", text=text, fruit=say(fruit.name)
    )
    cure = (
        say("Write them as {example}, and S? for an allele that is not known.", example=example)
        if example
        else NOTHING
    )
    return Finding("error", "unknown-genotype", message, file, place, line, cure)


def _other_name_space(
    allele: str, fruit: Fruit, file: str, place: str, line: int | None
) -> Finding:
    _, example = allele_names(fruit.name_space)
    message = say(
        "{allele} is no allele name of {fruit}; {allowed}{nearest}.",
        allele=allele,
        fruit=say(fruit.name),
        allowed=say("its alleles are named as in {example}", example=example)
        if example
        else say("it has no allele names here"),
        nearest=nearest_words(allele, known_alleles(fruit.name_space)),
    )
    cure = say("Allele names of one fruit mean nothing in another; leave it out where unsure.")
    return Finding("error", "unknown-genotype", message, file, place, line, cure)
