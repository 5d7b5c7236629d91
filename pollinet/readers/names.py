"""Names as a person types them: found exactly, as a synonym, or not at all; never guessed."""

from __future__ import annotations

import re
import unicodedata
from collections.abc import Iterable, Mapping, Sequence
from functools import lru_cache

from pollinet.domain import Catalogue, Fruit, VarietyId
from pollinet.findings import Finding
from pollinet.messages import NOTHING, Message, joined, listing, mark, say

# Letters that have no decomposition into a base letter and an accent.
_PLAIN = str.maketrans({"ł": "l", "ø": "o", "đ": "d", "ı": "i", "æ": "ae", "œ": "oe"})


@lru_cache(maxsize=16384)
def fold(name: str) -> str:
    """A name without case, accents, apostrophes, spaces, hyphens and other punctuation."""
    bare = unicodedata.normalize("NFKD", name.casefold())
    bare = "".join(c for c in bare if not unicodedata.combining(c))
    return re.sub(r"[\W_]+", "", bare).translate(_PLAIN)


LIKE_A_PART, LIKE_A_WORD, LIKE_A_SLIP = 70, 60, 85
"""How like what was typed a name must be: one that may be longer; a word as a whole; one that was
surely meant. 100 is the same. Own convention."""


def suggest(
    name: str, known: Iterable[str], count: int = 4, *, least: int = LIKE_A_PART
) -> list[str]:
    """The known names nearest to `name`, best first; empty where none is near.

    Equally near names: those that begin with what was typed first, then short ones.

    least : how like a name must be; only at the first level may `name` be a part of it.
    """
    from rapidfuzz import fuzz, process

    wanted = fold(name)
    scored = process.extract(
        wanted,
        {one: fold(one) for one in sorted(known)},
        scorer=fuzz.WRatio if least == LIKE_A_PART else fuzz.ratio,
        limit=None,
        score_cutoff=least,
    )
    ranked = sorted(
        scored, key=lambda hit: (-hit[1], not hit[0].startswith(wanted), len(hit[0]), hit[2])
    )
    return [one for _, _, one in ranked[:count]]


def nearest_words(name: str, known: Iterable[str]) -> Message:
    """Known names nearest to `name`, as `; nearest: a, b`; empty where nothing is near."""
    near = suggest(name, known, 3, least=LIKE_A_WORD)
    return say("; nearest: {names}", names=listing(near)) if near else NOTHING


def nearest_first(near: Sequence[str], cure: Message) -> Message:
    """A cure with the nearest names before it, if there are any."""
    return say("Nearest: {names}. {cure}", names=listing(near), cure=cure) if near else cure


def one_of(text: str, known: Iterable[str], every: str = mark("there are: {names}")) -> Message:
    """What to type in place of a name that is none: the nearest ones, else all there are.

    every : marked pattern of what is told where none is near.
    """
    names = tuple(known)
    near = suggest(text, names, 3) if text else []
    if near:
        return say("nearest: {names}", names=listing(near))
    return say(every, names=listing(names) if names else say("none"))


def resolve_fruit(
    text: str, fruits: Mapping[str, Fruit], *, file: str = "", place: str = ""
) -> tuple[str | None, tuple[Finding, ...]]:
    """Name of the fruit meant by `text`: its own name, its Latin name or another name of it.

    None comes with an error finding `unknown-fruit` that names the nearest ones.
    """
    if text in fruits:
        return text, ()
    names = {
        fold(name): fruit.name
        for fruit in fruits.values()
        for name in (*fruit.other_names, fruit.latin, fruit.name)
    }
    found = names.get(fold(text))
    if found is not None:
        return found, ()
    near = suggest(text, {n for f in fruits.values() for n in (f.name, *f.other_names)})
    near = list(dict.fromkeys(names[fold(name)] for name in near))
    cure = nearest_first(
        near, say("The kinds of fruit are: {names}.", names=listing(sorted(fruits)))
    )
    message = say("'{text}' is no kind of fruit known here.", text=text)
    return None, (Finding("error", "unknown-fruit", message, file, place, cure=cure),)


def resolve_variety(
    text: str,
    species: str,
    catalogue: Catalogue,
    *,
    own: Iterable[str] = (),
    file: str = "",
    place: str = "",
) -> tuple[VarietyId | None, tuple[Finding, ...]]:
    """The variety of `species` that is meant by `text`.

    Looked up in this order: exactly; without case, accents, apostrophes, spaces and hyphens;
    as a synonym, which gives a note finding `synonym`. The names in `own` (varieties described
    in the plan) go before those of the catalogue.

    Returns
    -------
    The variety and no finding or a note; or None with an error finding: `unknown-variety`,
    which names the nearest ones, or `ambiguous-variety` where several are equally meant.
    """
    own_names = tuple(own)
    for exact in (name for name in own_names if name == text):
        return VarietyId(species, exact), ()
    if (typed := VarietyId(species, text)) in catalogue.varieties:
        return typed, ()
    wanted = fold(text)
    for names in (own_names, _names_of(catalogue.varieties, species)):
        alike = sorted({name for name in names if fold(name) == wanted})
        if len(alike) > 1:
            return None, (_ambiguous(text, alike, file, place),)
        if alike:
            return VarietyId(species, alike[0]), ()
    return _resolve_synonym(text, typed, catalogue, own_names, file, place)


def _resolve_synonym(
    text: str, typed: VarietyId, catalogue: Catalogue, own: tuple[str, ...], file: str, place: str
) -> tuple[VarietyId | None, tuple[Finding, ...]]:
    species = typed.species
    wanted = fold(text)
    meant = {catalogue.synonyms[typed]} if typed in catalogue.synonyms else set()
    if not meant:
        synonyms = catalogue.synonyms.items()
        meant = {v for s, v in synonyms if s.species == species and fold(s.name) == wanted}
    if len(meant) > 1:
        return None, (_ambiguous(text, sorted(v.name for v in meant), file, place),)
    if meant:
        variety = meant.pop()
        message = say(
            "{name} is a synonym; the catalogue has it as {proper}.", name=text, proper=variety.name
        )
        return variety, (Finding("note", "synonym", message, file, place),)
    known = {
        *own,
        *_names_of(catalogue.varieties, species),
        *_names_of(catalogue.synonyms, species),
    }
    near = suggest(text, known)
    take = say("Take a name from the catalogue, or describe the variety yourself.")
    cure = nearest_first(near, take)
    message = say("'{text}' is no variety of {fruit} known here.", text=text, fruit=say(species))
    if elsewhere := sorted(v.species for v in catalogue.varieties if fold(v.name) == wanted):
        message = say(
            "'{text}' is no variety of {fruit} known here; it is one of {fruits}.",
            text=text,
            fruit=say(species),
            fruits=joined([say(other) for other in elsewhere]),
        )
    return None, (Finding("error", "unknown-variety", message, file, place, cure=cure),)


def _names_of(varieties: Iterable[VarietyId], species: str) -> list[str]:
    return [variety.name for variety in varieties if variety.species == species]


def _ambiguous(text: str, alike: list[str], file: str, place: str) -> Finding:
    message = say("'{text}' may be any of: {names}.", text=text, names=listing(alike))
    cure = say("Type the name in full.")
    return Finding("error", "ambiguous-variety", message, file, place, cure=cure)
