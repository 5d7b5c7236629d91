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


class Store:
    """Results by key. A key holds everything that its result hangs on, so that none is ever stale.

    Inputs that never change and are dear to compare stand in keys as `Same`.
    """

    def __init__(self) -> None:
        self._kept: dict[Hashable, Any] = {}

    def get(self, key: Hashable, make: Callable[[], _T]) -> _T:
        """The result of a key; made where it is not there yet."""
        if key not in self._kept:
            self._kept[key] = make()
        kept: _T = self._kept[key]
        return kept
