"""What is told of a change of the plan: a sentence first, then what to mind."""

from __future__ import annotations

from pollinet.domain import Neighbour, Scion, Tree
from pollinet.files import LOG_NAME
from pollinet.wording.sentences import count

LOG_KEEPS = (
    f"{LOG_NAME} only grows and keeps the old id; the plan remembers it, so its notes stay good."
)
NOTES_STAY = f"The notes of it stay in {LOG_NAME} and are passed over."
OLD_LABELS = "Labels that were printed before bear the old id."


def limb_added(name: str, tree: Tree, *, place_assumed: bool) -> list[str]:
    """Of a new limb and its tree as it is now.

    place_assumed : by the plan the tree had no place for it, and nobody has said otherwise.
    """
    kind = next(limb.variety.name for limb in tree.limbs if limb.id == name)
    spares = f"It can carry {count(tree.spare_limbs, 'more graft')}; --spare says otherwise."
    if place_assumed:
        spares = (
            f"By the plan tree {tree.id} had no place for another graft (spare_limbs = 0); if it "
            "has, say with --spare how many it can still carry."
        )
    return [f"Limb {name} ({kind}) stands on tree {tree.id}.", spares]


def limb_removed(name: str, tree: Tree, *, in_log: bool) -> list[str]:
    """Of a limb that is gone, and its tree as it is now.

    in_log : whether the log has notes of it.
    """
    spares = f"spare_limbs stays {tree.spare_limbs}: raise it if a graft can take its place."
    return [f"Limb {name} is no longer on tree {tree.id}.", spares, *([NOTES_STAY] * in_log)]


def limb_moved(name: str, tree: str) -> list[str]:
    """Of a limb that stands on another tree now."""
    return [f"Limb {name} stands on tree {tree}."]


def renamed(old: str, new: str, *, labelled: bool, in_log: bool) -> list[str]:
    """Of another id. labelled : whether labels bear it, as a limb's; in_log : whether notes do."""
    return [f"{old} is called {new} now.", *([LOG_KEEPS] * in_log), *([OLD_LABELS] * labelled)]


def neighbour_added(new: Neighbour) -> list[str]:
    """Of a tree next door."""
    return [f"Neighbour's tree {new.id} ({new.variety.name}) stands {new.distance_m:g} m away."]


def neighbour_removed(name: str, *, in_log: bool) -> list[str]:
    """Of a tree next door that is gone. in_log : whether the log has notes of it."""
    return [f"Neighbour's tree {name} is no longer in the plan.", *([NOTES_STAY] * in_log)]


def scion_added(new: Scion) -> list[str]:
    """Of wood at hand."""
    return [f"{new.variety.name} is among the scions."]
