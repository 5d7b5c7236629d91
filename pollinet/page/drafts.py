"""Gardens that are being begun: kept in memory by a random name until they are written."""

from __future__ import annotations

import secrets
from collections import OrderedDict
from collections.abc import Sequence
from dataclasses import dataclass, field, replace
from typing import Any

from pollinet.drafting import Draft, Entry, draft_text
from pollinet.editing import Spot

MOST_DRAFTS = 16
"""Drafts that are kept; the one that rested longest is forgotten first. Own convention."""


@dataclass
class Kept:
    """A draft, and how often it was changed: by that a form that was shown before is known."""

    draft: Draft
    number: int = 0

    def put(self, draft: Draft) -> None:
        """Keep what a form has made of it."""
        self.draft, self.number = draft, self.number + 1


@dataclass
class Drafts:
    """All drafts of a server."""

    _kept: OrderedDict[str, Kept] = field(default_factory=OrderedDict)

    def begin(self, draft: Draft) -> str:
        """Keep a new draft; its name."""
        name = secrets.token_urlsafe(9)
        self._kept[name] = Kept(draft)
        while len(self._kept) > MOST_DRAFTS:
            self._kept.popitem(last=False)
        return name

    def get(self, name: str) -> Kept | None:
        """The draft of a name; None where it is no longer kept."""
        if name in self._kept:
            self._kept.move_to_end(name)
        return self._kept.get(name)

    def forget(self, name: str) -> None:
        """The draft was written."""
        self._kept.pop(name, None)


def data_of(draft: Draft) -> dict[str, Any]:
    """A draft as the plain data of its plan."""
    import tomllib

    return tomllib.loads(draft_text(draft))


def with_entry(
    draft: Draft, kind: str, entry: Entry, *, tree: str = "", own: Entry | None = None
) -> Draft:
    """A draft with one more entry. `tree` : the tree that carries a new limb."""
    if own is not None:
        draft = replace(draft, own=(*draft.own, own))
    if kind == "limb":
        return replace(draft, trees=[_grown(one, entry, tree) for one in draft.trees])
    if kind == "tree":
        return replace(draft, trees=(*draft.trees, entry))
    if kind == "neighbour":
        return replace(draft, neighbours=(*draft.neighbours, entry))
    return replace(draft, scions=(*draft.scions, entry))


def _grown(tree: Entry, limb: Entry, name: str) -> Entry:
    return {**tree, "limb": [*tree["limb"], limb]} if tree["id"] == name else tree


def without_entry(draft: Draft, spot: Spot | int) -> Draft:
    """A draft without a tree, a limb, a neighbour's tree, or the scion of a number.

    A tree that loses its last limb goes, too.
    """
    if isinstance(spot, int):
        draft = replace(draft, scions=_all_but(draft.scions, spot))
    elif spot.kind == "neighbour":
        draft = replace(draft, neighbours=_all_but(draft.neighbours, spot.index))
    elif spot.kind == "tree":
        draft = replace(draft, trees=_all_but(draft.trees, spot.index))
    else:
        trees = list(draft.trees)
        holder = trees[spot.tree]
        trees[spot.tree] = {**holder, "limb": _all_but(holder["limb"], spot.index)}
        draft = replace(draft, trees=[tree for tree in trees if tree["limb"]])
    return replace(draft, own=[one for one in draft.own if _used(draft, one)])


def _all_but(entries: Sequence[Entry], index: int) -> list[Entry]:
    return [one for place, one in enumerate(entries) if place != index]


def _used(draft: Draft, own: Entry) -> bool:
    named = [(tree["species"], limb["variety"]) for tree in draft.trees for limb in tree["limb"]]
    named += [(one["species"], one["variety"]) for one in (*draft.neighbours, *draft.scions)]
    return (own["species"], own["name"]) in named
