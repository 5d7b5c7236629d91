"""Names as a person types them: found exactly, as a synonym, or not at all; never guessed."""

from __future__ import annotations

import re
import unicodedata
from collections.abc import Callable, Collection, Iterable, Iterator, Mapping, Sequence
from dataclasses import replace
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


_SAME_WORDS = {
    **dict.fromkeys(("&", "+", "and", "und", "et", "the", "no", "nr", "number", "nummer"), ""),
    **dict.fromkeys(("saint", "sainte", "sankt", "sint", "ste"), "st"),
    "v": "von",
    "ii": "2",
    "iii": "3",
    "iv": "4",
    "vi": "6",
    "vii": "7",
    "viii": "8",
    "ix": "9",
    "xi": "11",
    "xii": "12",
    "xiv": "14",
    "xvi": "16",
}
"""Words that are written in several ways or left out."""


@lru_cache(maxsize=16384)
def spelling(name: str) -> str:
    """What is alike in all ways of writing a name, beside what `fold` leaves out.

    Umlauts as ae, oe and ue or plain, possessive and plural s, "&" and "and", "Saint" and "St.",
    "No." and numbers in Roman letters. Several names may have one spelling.
    """
    told = re.sub(r"[’'`´]", "", name.casefold())
    words = [fold(word) or word for word in re.findall(r"\w+|[&+]", told)]
    words = [_SAME_WORDS.get(word, word) for word in words]
    words = [word[:-1] if len(word) > 3 and word.endswith("s") else word for word in words]
    return re.sub("ae|oe|ue", lambda pair: pair[0][0], "".join(words))


def plurals(word: str) -> tuple[str, ...]:
    """An English or German word for a fruit, and what it may be in the plural, folded."""
    one = fold(word)
    ends = {"y": one[:-1] + "ies"} if one.endswith("y") else {}
    many = (*(one + ending for ending in ("s", "es", "n", "en", "e")), *ends.values())
    return (one, *many, *_GERMAN_PLURALS.get(one, ()))


_GERMAN_PLURALS = {"apfel": ("aepfel",), "haselnuss": ("haselnuesse",)}
"""Plurals with another vowel, which a plain keyboard writes in two letters."""


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
    found = names.get(fold(text)) or _by_plural(fruits).get(fold(text))
    if found is not None:
        return found, ()
    message = say("'{text}' is no kind of fruit known here.", text=text)
    if fold(text) in {form for name in _NEEDS_NO_DONOR for form in plurals(name)}:
        cure = say("It usually sets fruit without pollen of another: leave it out of the plan.")
        return None, (Finding("error", "unknown-fruit", message, file, place, cure=cure),)
    near = suggest(text, {n for f in fruits.values() for n in (f.name, *f.other_names)})
    near = list(dict.fromkeys(names[fold(name)] for name in near))
    cure = nearest_first(
        near, say("The kinds of fruit are: {names}.", names=listing(sorted(fruits)))
    )
    return None, (Finding("error", "unknown-fruit", message, file, place, cure=cure),)


_NEEDS_NO_DONOR = (
    *("quince", "medlar", "fig", "Quitte", "Mispel", "Feige"),
    *("Cydonia oblonga", "Mespilus germanica", "Ficus carica"),
)
"""Garden fruit that is not in the catalogue since it usually crops alone. Memory."""


def _by_plural(fruits: Mapping[str, Fruit]) -> dict[str, str]:
    return {
        many: fruit.name
        for fruit in fruits.values()
        for name in (*fruit.other_names, fruit.name)
        for many in plurals(name)
    }


def resolve_variety(
    text: str,
    species: str,
    catalogue: Catalogue,
    *,
    own: Iterable[str] = (),
    file: str = "",
    place: str = "",
    cure: Message = NOTHING,
    other_spellings: bool = True,
) -> tuple[VarietyId | None, tuple[Finding, ...]]:
    """The variety of `species` that is meant by `text`.

    Looked up in this order: exactly; without case, accents, apostrophes, spaces and hyphens; as
    another name, which gives a note `synonym` or `trade-name`; in another spelling, or with the
    name of the fruit beside it ("Fuji apple"), which gives a note `spelling`. The names in `own`
    (varieties described in the plan) go before those of the catalogue.

    cure : what to do where nobody knows the name; nothing: the usual.
    other_spellings : whether to look for other spellings, too.

    Returns
    -------
    The variety and no finding, a note, or a warning `ambiguous-name` that tells what else the
    name is used for; or None with an error finding: `unknown-variety`, which names the nearest
    ones, or `ambiguous-variety` where several are equally meant.
    """
    own_names = tuple(own)
    for exact in (name for name in own_names if name == text):
        return VarietyId(species, exact), ()
    if (typed := VarietyId(species, text)) in catalogue.varieties:
        return typed, ()
    known = (*own_names, *_names_of(catalogue.varieties, species))
    for names in (own_names, known):
        if alike := sorted({name for name in names if fold(name) == fold(text)}):
            return _the_one({VarietyId(species, name) for name in alike}, text, file, place)
    if synonyms := _synonyms(typed, catalogue, fold):
        return _called(text, synonyms, catalogue, file, place)
    fruit = catalogue.rules.fruits.get(species)
    for way in _ways_of_writing(text, fruit) if other_spellings else ():
        for key in (fold, spelling):
            direct = {VarietyId(species, name) for name in known if key(name) == key(way)}
            others = _synonyms(VarietyId(species, way), catalogue, key)
            if direct or others:
                meant = direct | {catalogue.synonyms[name] for name in others}
                found, findings = _the_one(meant, text, file, place)
                if found is not None and direct:
                    findings = (_told(_SPELLING, "spelling", text, found, file, place),)
                elif found is not None:
                    return _called(text, others, catalogue, file, place)
                return found, findings
    unknown = _unknown(text, typed, own_names, catalogue, cure)
    return None, (replace(unknown, file=file, place=place),)


_SYNONYM = mark("{name} = {proper}, its name in the catalogue.")
_SPELLING = mark("{name} = {proper}, as the catalogue writes it.")
_TRADE_NAME = mark("{name} = {proper}: fruit of this variety is sold under that name.")


def _synonyms(typed: VarietyId, catalogue: Catalogue, key: Callable[[str], str]) -> list[VarietyId]:
    """Other names of the catalogue that are written like this one; that very one alone."""
    if typed in catalogue.synonyms:
        return [typed]
    wanted = key(typed.name)
    of_fruit = (name for name in catalogue.synonyms if name.species == typed.species)
    return [name for name in of_fruit if key(name.name) == wanted]


_ANY = frozenset(
    {"any", "unknown", "unnamed", "wild", "feral", "crab", "seedling", "some", "old", "a", "an"}
    | {"irgendein", "irgendeine", "unbekannt", "unbekannter", "unbekannte", "wilder", "wilde"}
    | {"samling", "saemling", "wildling", "zierapfel", "holzapfel", "wildapfel", "wildbirne"}
)
"""Words that name no variety, in English and German, folded."""


def means_any(text: str, fruit: Fruit) -> bool:
    """Whether a name says no more than that it is one of its fruit: `?`, `wild plum`, `a crab`."""
    words = {fold(word) for word in re.split(r"[\s-]+", text)} - {""}
    return words <= _ANY | _words_for(fruit)


def _words_for(fruit: Fruit) -> set[str]:
    """Words for a fruit and its trees, in one number and the other, folded."""
    names = [name.split() for name in (fruit.name, *fruit.other_names)]
    first = {fold(word) for words in names for word in words[:-1]}
    last = {form for words in names for form in plurals(words[-1])}
    return {"tree", "trees", "baum", *first, *last, *(f"{form}baum" for form in last)}


def _ways_of_writing(text: str, fruit: Fruit | None) -> Iterator[str]:
    """What was typed, then what is left of it without words for the fruit or the tree."""
    yield text
    if fruit is None:
        return
    named = _words_for(fruit)
    words = re.split(r"[\s-]+", text.strip())
    end = len(words)
    while end > 1 and fold(words[end - 1]) in named:
        end -= 1
    start = 1 if end == len(words) > 1 and fold(words[0]) in named else 0
    if words[start:end] != words:
        yield " ".join(words[start:end])


def _the_one(
    meant: Collection[VarietyId], text: str, file: str, place: str
) -> tuple[VarietyId | None, tuple[Finding, ...]]:
    if len(meant) == 1:
        return next(iter(meant)), ()
    return None, (_ambiguous(text, sorted(v.name for v in meant), file, place),)


def _called(
    text: str, names: Sequence[VarietyId], catalogue: Catalogue, file: str, place: str
) -> tuple[VarietyId | None, tuple[Finding, ...]]:
    """The variety behind another name, and what is to be told of that name."""
    found, findings = _the_one({catalogue.synonyms[name] for name in names}, text, file, place)
    if found is None:
        return None, findings
    also = sorted({other.name for name in names for other in catalogue.also_named.get(name, ())})
    if also:
        told = {"name": text, "proper": found.name, "others": joined(also, "or")}
        message = say("{name} is taken as {proper}; the name is used for {others} too.", **told)
        cure = say("Type the one that you mean.")
        return found, (Finding("warning", "ambiguous-name", message, file, place, cure=cure),)
    if all(name in catalogue.trade_names for name in names):
        return found, (_told(_TRADE_NAME, "trade-name", text, found, file, place),)
    return found, (_told(_SYNONYM, "synonym", text, found, file, place),)


def _told(pattern: str, code: str, text: str, found: VarietyId, file: str, place: str) -> Finding:
    message = say(pattern, name=text, proper=found.name)
    return Finding("note", code, message, file, place)


_TOGETHER = {
    "synonym": mark("{name} = {proper}"),
    "spelling": mark("{name} = {proper}"),
    "trade-name": mark("{name} (trade name) = {proper}"),
}
"""How a note on a name stands among others, by its code."""

ON_NAMES = frozenset(_TOGETHER)
"""Codes of notes that tell what was meant by a name."""


def is_other_name(finding: Finding) -> bool:
    """Whether a note tells a name that stands in the catalogue; a spelling might be a slip."""
    return finding.severity == "note" and finding.code in ON_NAMES - {"spelling"}


def names_sentence(findings: Iterable[Finding]) -> Message:
    """All notes on names in one sentence, each name once; empty where there is none."""
    told = dict.fromkeys(
        say(_TOGETHER[one.code], **{key: one.message.values[key] for key in ("name", "proper")})
        for one in findings
        if one.severity == "note" and one.code in ON_NAMES and isinstance(one.message, Message)
    )
    if not told:
        return NOTHING
    return say("Names as the catalogue has them: {names}.", names=listing(tuple(told), "; "))


def names_together(findings: Iterable[Finding]) -> tuple[Finding, ...]:
    """Findings for a reader: several notes on other names are a single one, the last."""
    every = tuple(findings)
    notes = [one for one in every if is_other_name(one)]
    if len(notes) < 2:
        return every
    files = {one.file for one in notes}
    file = files.pop() if len(files) == 1 else ""
    together = Finding("note", "names", names_sentence(notes), file)
    return (*(one for one in every if not is_other_name(one)), together)


def _unknown(
    text: str, typed: VarietyId, own: Iterable[str], catalogue: Catalogue, cure: Message
) -> Finding:
    species, wanted = typed.species, fold(text)
    known = {
        *own,
        *_names_of(catalogue.varieties, species),
        *_names_of(catalogue.synonyms, species),
    }
    usual = say("Take a name from the catalogue, or describe the variety yourself.")
    cure = nearest_first(suggest(text, known), cure or usual)
    message = say("'{text}' is no variety of {fruit} known here.", text=text, fruit=say(species))
    if elsewhere := sorted(v.species for v in catalogue.varieties if fold(v.name) == wanted):
        message = say(
            "'{text}' is no variety of {fruit} known here; it is one of {fruits}.",
            text=text,
            fruit=say(species),
            fruits=joined([say(other) for other in elsewhere]),
        )
    return Finding("error", "unknown-variety", message, cure=cure)


def _names_of(varieties: Iterable[VarietyId], species: str) -> list[str]:
    return [variety.name for variety in varieties if variety.species == species]


def _ambiguous(text: str, alike: list[str], file: str, place: str) -> Finding:
    message = say("'{text}' may be any of: {names}.", text=text, names=listing(alike))
    cure = say("Type the name in full.")
    return Finding("error", "ambiguous-variety", message, file, place, cure=cure)
