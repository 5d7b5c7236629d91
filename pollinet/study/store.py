"""Results kept by all that they hang on, shared by the studies derived from one another."""

from __future__ import annotations

from collections.abc import Callable, Hashable
from typing import Any, TypeVar

_T = TypeVar("_T")


class Same:
    """A key that is equal only to a key of the very same object, and keeps that object alive."""

    __slots__ = ("one",)

    def __init__(self, one: object) -> None:
        self.one = one

    def __eq__(self, other: object) -> bool:
        return isinstance(other, Same) and other.one is self.one

    def __hash__(self) -> int:
        return id(self.one)


class SameAll:
    """A key that is equal only to a key of the very same objects in the same order."""

    __slots__ = ("_hash", "all")

    def __init__(self, several: tuple[object, ...]) -> None:
        self.all = several
        self._hash = hash(tuple(map(id, several)))

    def __eq__(self, other: object) -> bool:
        return (
            isinstance(other, SameAll)
            and len(other.all) == len(self.all)
            and all(mine is theirs for mine, theirs in zip(self.all, other.all, strict=True))
        )

    def __hash__(self) -> int:
        return self._hash


SITELESS = frozenset(
    {"known", "told of", "trial site", "peers", "genotypes", "crossings", "verdicts"}
)
"""First words of keys whose results hang on the catalogue and the aim, and on no place."""


class Store:
    """Results by key. A key holds everything that its result hangs on, so that none is ever stale.

    Its first part is a word that says what is kept. Inputs that never change and are dear to
    compare stand in keys as `Same`.
    """

    def __init__(self, siteless: Store | None = None) -> None:
        self._kept: dict[Hashable, Any] = {}
        self._siteless = siteless

    @property
    def is_one_of_many(self) -> bool:
        """Whether it is of one of many places, which share something."""
        return self._siteless is not None

    def elsewhere(self) -> Store:
        """A store for the garden in another place, which shares all that hangs on none.

        Dropped, it takes with it what was worked out for that place.
        """
        return Store(self._siteless or self)

    def get(self, key: tuple[Hashable, ...], make: Callable[[], _T]) -> _T:
        """The result of a key; made where it is not there yet."""
        if self._siteless is not None and key[0] in SITELESS:
            return self._siteless.get(key, make)
        if key not in self._kept:
            self._kept[key] = make()
        kept: _T = self._kept[key]
        return kept
