"""Conditions on varieties as a person types them: `ploidy=3`, `s_genotype~S3`, `harvest_day<1 Sep`.

The grammar is one line: `PROPERTY [@PLACE] OPERATOR VALUE`.

- PROPERTY: one of `properties.csv`, or of `DERIVED`.
- @PLACE: only values from this place or context, such as `full_bloom_day@Etoile<5 Apr`.
- OPERATOR: `=` `!=` `<` `<=` `>` `>=`; `~` has (an allele, a part of a text), `!~` has not.
- VALUE: a number, a word, alleles, a day (`5 Apr`, `04-05`, `95`), or `unknown` after `=` or `!=`.

A variety of which the property is not known meets no condition but `PROPERTY=unknown`: not known is
neither yes nor no. Where a variety has several values, one that fits is enough, and for `!=` and
`!~` none may be the one that is ruled out.
"""

from __future__ import annotations

import operator
import re
from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass
from math import inf, isfinite, nextafter

from pollinet.domain import Fact, Fruit
from pollinet.findings import Finding
from pollinet.messages import NOTHING, listing, mark, say
from pollinet.readers.day_words import parse_day
from pollinet.readers.genotypes import parse_genotype
from pollinet.readers.names import fold, nearest_words
from pollinet.readers.text_tables import Field, number

DERIVED: Mapping[str, Field] = {
    known.name: known
    for known in (
        Field("name", "text", description="Name of the variety"),
        Field("clone_of", "text", description="The variety that it is a clone or sport of"),
        Field("self_fertile", "choice", allowed=frozenset({"yes", "no"}),
                 description="Whether its own pollen serves it"),
        Field("bloom", "choice", allowed=frozenset({"early", "mid", "late"}),
                 description="Against the middle variety of the fruit"),
        Field("bloom_relative_days", "number", "days",
                 description="Days of bloom after the middle variety of the fruit"),
    )
}  # fmt: skip
"""Properties that follow from others."""

UNKNOWN = "unknown"

_CONDITION = re.compile(
    r"\s*(?P<name>[^@<>=~!]+?)\s*(?:@\s*(?P<place>[^<>=~!]+?)\s*)?"
    r"(?P<sign><=|>=|!=|!~|=|<|>|~)(?P<value>.*)"
)
_COMPARE: Mapping[str, Callable[[float, float], bool]] = {
    "=": operator.eq,
    "!=": operator.ne,
    "<": operator.lt,
    "<=": operator.le,
    ">": operator.gt,
    ">=": operator.ge,
}
_SIGNS = {
    "number": tuple(_COMPARE),
    "integer": tuple(_COMPARE),
    "choice": ("=", "!="),
    "text": ("=", "!=", "~", "!~"),
    "genotype": ("=", "!=", "~", "!~"),
    "descent": ("=", "!=", "~", "!~"),
}
_CURE = say(
    'Write PROPERTY OPERATOR VALUE, such as "ploidy=3", "s_genotype~S3" or "chill_portions<40".'
)


@dataclass(frozen=True)
class Value:
    """One value of one property of one variety, and the places it may be asked for by.

    bounds : of a number, where a source gives only a limit: `(400, inf)` for more than 400.
    """

    text: str
    places: tuple[str, ...] = ()
    bounds: tuple[float, float] | None = None


@dataclass(frozen=True)
class Condition:
    """One condition; `wanted`: the number, the alleles or the folded word to compare with."""

    text: str
    property: Field
    place: str
    sign: str
    wanted: float | tuple[str, ...] | str

    def holds(self, values: Sequence[Value], fruit: Fruit) -> bool:
        """Whether a variety with these values of the property meets the condition."""
        here = [v for v in values if not self.place or fold(self.place) in map(fold, v.places)]
        if self.wanted == UNKNOWN:
            return bool(here) == (self.sign == "!=")
        found = [self._fits(value, fruit) for value in here]
        if self.sign in ("!=", "!~"):
            return bool(found) and all(found)
        return any(found)

    def _fits(self, value: Value, fruit: Fruit) -> bool:
        text = value.text
        if self.property.kind == "genotype":
            return self._genotype_fits(text, fruit)
        if isinstance(self.wanted, float):
            return self._number_fits(value.bounds or (float(text), float(text)), self.wanted)
        assert isinstance(self.wanted, str)
        found = self.wanted in fold(text) if "~" in self.sign else self.wanted == fold(text)
        return found != self.sign.startswith("!")

    def _number_fits(self, bounds: tuple[float, float], wanted: float) -> bool:
        """Whether every number within the bounds meets the condition."""
        low, high = bounds
        if self.sign == "!=" and low < wanted < high:
            return False
        return all(_COMPARE[self.sign](end, wanted) for end in bounds)

    def _genotype_fits(self, text: str, fruit: Fruit) -> bool:
        genotype, _ = parse_genotype(text, fruit)
        if genotype is None:
            return False
        has = set(self.wanted) <= set(genotype.alleles)  # type: ignore[arg-type]
        found = has if "~" in self.sign else self.wanted == genotype.alleles
        # An allele that is not known may be any: it settles neither `=` nor what is not there.
        settled = genotype.complete or (self.sign == "~" and has) or (self.sign[0] == "!" and has)
        return settled and found != self.sign.startswith("!")


LIMITS: Mapping[str, Callable[[float], tuple[float, float]]] = {
    "at most this": lambda value: (0.0, value),
    "more than this": lambda value: (nextafter(value, inf), inf),
}
"""Notes of the catalogue on a number that is only a limit, and the bounds that it stands for."""


def bounds_of(fact: Fact) -> tuple[float, float] | None:
    """The bounds of a number that a source gives as a limit only; None: it is the number itself."""
    limit = LIMITS.get(fact.note)
    return None if limit is None else limit(float(fact.value))


def parse_condition(
    text: str, properties: Mapping[str, Field], fruit: Fruit, places: Sequence[str]
) -> tuple[Condition | None, tuple[Finding, ...]]:
    """Read one condition; None comes with error findings.

    properties : what may be asked for, by name. places : what may stand after @.
    """
    parts = _CONDITION.fullmatch(text)
    if parts is None or not parts["value"].strip():
        message = say("'{text}' is no condition.", text=text)
        return None, (_problem("wrong-condition", message, text, _CURE),)
    name = re.sub(r"[\s-]+", "_", parts["name"].lower())
    known = properties.get(name)
    if known is None:
        near = nearest_words(name, properties)
        message = say("'{name}' is no property{nearest}.", name=name, nearest=near)
        cure = say("The properties are: {names}.", names=listing(sorted(properties)))
        return None, (_problem("unknown-property", message, text, cure),)
    place, sign, value = parts["place"] or "", parts["sign"], parts["value"].strip()
    if place and fold(place) not in map(fold, places):
        near = nearest_words(place, places)
        message = say("'{name}' is no place with such values{nearest}.", name=place, nearest=near)
        cure = say("They come from: {names}.", names=listing(sorted(places)))
        return None, (_problem("unknown-place", message, text, cure),)
    if fold(value) == UNKNOWN and sign in ("=", "!="):
        return Condition(text, known, place, sign, UNKNOWN), ()
    if sign not in _SIGNS[known.kind]:
        told = {"sign": sign, "property": name, "signs": listing(_SIGNS[known.kind], " ")}
        message = say("{sign} does not go with {property}; allowed: {signs}.", **told)
        return None, (_problem("wrong-condition", message, text),)
    wanted, problem = _wanted(value, known, fruit, text)
    if wanted is None or problem is not None:
        return None, (problem,) if problem else ()
    return Condition(text, known, place, sign, wanted), ()


def _wanted(
    value: str, known: Field, fruit: Fruit, text: str
) -> tuple[float | tuple[str, ...] | str | None, Finding | None]:
    if known.kind == "genotype":
        genotype, problems = parse_genotype(value, fruit, place=f"--where {text}")
        if genotype is None:
            message = say("'{value}' names no allele.", value=value)
            return None, next(iter(problems), _problem("wrong-condition", message, text))
        return genotype.alleles, None
    if known.kind in ("number", "integer"):
        day = parse_day(value) if known.unit == "day of year" else None
        wanted = number(value) if day is None else float(day)
        if isfinite(wanted):
            return wanted, None
        pattern = (
            mark("{property} is compared with a day such as 5 Apr; found: '{value}'.")
            if known.unit == "day of year"
            else mark("{property} is compared with a number; found: '{value}'.")
        )
        message = say(pattern, property=known.name, value=value)
        return None, _problem("wrong-type", message, text)
    if known.kind == "choice" and fold(value) not in map(fold, known.allowed):
        told = {"property": known.name, "value": value}
        near = nearest_words(value, known.allowed)
        message = say("{property} is never '{value}'{nearest}.", nearest=near, **told)
        cure = say("It is one of: {words}.", words=listing(sorted(known.allowed)))
        return None, _problem("not-allowed", message, text, cure)
    if not fold(value):
        message = say("'{value}' has no letter or number to look for.", value=value)
        return None, _problem("wrong-condition", message, text)
    return fold(value), None


def _problem(code: str, message: str, text: str, cure: str = NOTHING) -> Finding:
    return Finding("error", code, message, place=f"--where {text}", cure=cure)
