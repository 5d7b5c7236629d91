"""Where a new graft could go: trees with room, those taken together that are the same to pollen."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass

from pollinet.domain import FloatArray, Tree


@dataclass(frozen=True)
class Place:
    """Trees of one fruit with room, from each of which pollen reaches all others alike.

    trees : most room first, and then in the order of the plan.
    """

    trees: tuple[Tree, ...]

    @property
    def room(self) -> int:
        """How many more grafts they can carry together."""
        return sum(tree.spare_limbs for tree in self.trees)

    @property
    def tree(self) -> Tree:
        """The tree that stands for all of them."""
        return self.trees[0]


def places_by_fruit(trees: Sequence[Tree], near: FloatArray) -> Mapping[str, tuple[Place, ...]]:
    """The places of each fruit that has room, in the order of the plan.

    near : shape (trees, N), how much pollen counts between each tree and all that stands.
    """
    groups: dict[str, dict[tuple[float, ...], list[Tree]]] = {}
    for tree, row in zip(trees, near.tolist(), strict=True):
        if tree.spare_limbs:
            groups.setdefault(tree.species, {}).setdefault(tuple(row), []).append(tree)
    return {
        species: tuple(
            Place(tuple(sorted(alike, key=lambda tree: -tree.spare_limbs)))
            for alike in by_row.values()
        )
        for species, by_row in groups.items()
    }


def graft_tree(
    trees: Sequence[Tree], places: Sequence[Place], tree: str | None, species: str
) -> Tree | None:
    """Where a candidate would stand: on its tree, else where there is room, else on any.

    tree : see `Scion.tree`. places : of the fruit.
    """
    if tree is not None:
        return next(one for one in trees if one.id == tree)
    if places:
        return places[0].tree
    return next((one for one in trees if one.species == species), None)
