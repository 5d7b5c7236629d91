"""Names of varieties while they are typed: those at hand first, then the catalogue's."""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from dataclasses import dataclass

from pollinet.domain import Catalogue
from pollinet.readers.names import fold, suggest
from pollinet.study import Study

MOST = 20
"""Names offered at once: own convention."""

LEAST_LETTERS = 2
"""Letters from which the whole catalogue is looked through: own convention."""


@dataclass(frozen=True)
class Offered:
    """A name to choose. `meaning` : the catalogue's own name of it; empty: it is that."""

    name: str
    meaning: str = ""


def at_hand(study: Study, fruit: str) -> tuple[str, ...]:
    """Varieties whose wood is at hand, those described by the grower, and those that stand here."""
    plan = study.plan
    wood = [scion.variety for scion in plan.scions if scion.blocked is None]
    own = [one.id for one in plan.own_varieties]
    here = [limb.variety for limb in plan.limbs if limb.known]
    here += [one.variety for one in plan.neighbours]
    names = [one.name for one in (*wood, *own, *here) if one.species == fruit]
    return tuple(dict.fromkeys(names))


def suggested(study: Study, fruit: str) -> list[Offered]:
    """What is offered before anything is typed."""
    return [Offered(name) for name in at_hand(study, fruit)[:MOST]]


def offered(text: str, fruit: str, first: Sequence[str], catalogue: Catalogue) -> list[Offered]:
    """Names for what has been typed so far: those that begin with it before those that hold it.

    Where there is none, those that are near. first : names that go before all others.
    """
    wanted = fold(text)
    if len(wanted) < LEAST_LETTERS:
        return [Offered(name) for name in first if fold(name).startswith(wanted)][:MOST]
    own = [one.name for one in catalogue.varieties if one.species == fruit]
    meanings = {
        one.name: proper.name
        for one, proper in catalogue.synonyms.items()
        if one.species == fruit and one.name not in own
    }
    known = list(dict.fromkeys([*first, *sorted(own), *sorted(meanings)]))
    found = _holding(wanted, known) or suggest(text, known, MOST)
    return [Offered(name, meanings.get(name, "")) for name in found[:MOST]]


def _holding(wanted: str, known: Iterable[str]) -> list[str]:
    folded = [(name, fold(name)) for name in known]
    begin = [name for name, text in folded if text.startswith(wanted)]
    return begin + [name for name, text in folded if wanted in text[1:] and name not in begin]
