"""What can be tried: in an address, on a study in memory, and in the text of a plan.

An address has one `try` for each, in the order in which they were made. The parts stand between
colons; a colon, percent sign or slash inside of a part is percent-encoded.
"""

from __future__ import annotations

from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass, fields
from pathlib import Path
from typing import Any, ClassVar, TypeAlias
from urllib.parse import quote, unquote

from pollinet import editing
from pollinet.answers.cover import with_aim
from pollinet.editing import Change
from pollinet.errors import WrongChange
from pollinet.findings import Finding
from pollinet.language import _, ngettext, number
from pollinet.messages import say
from pollinet.readers import plan_bounds
from pollinet.readers.plan_positions import typed_distance_m
from pollinet.readers.typed_numbers import value_of
from pollinet.study import Study
from pollinet.wording.sentences import days as days_words
from pollinet.wording.sentences import winters_of_ten

MOST_TRIES = 20
"""Longest stack of things tried at once: own convention."""

WARMEST_C = 6.0
"""Warmest climate that can be tried: own convention. [°C]"""


@dataclass(frozen=True)
class Regraft:
    """A limb with another variety."""

    limb: str
    variety: str

    def study(self, before: Study) -> Study:
        """The garden with it; raises `WrongChange`."""
        if all(one.id != self.limb for one in before.plan.limbs):
            raise WrongChange((_unknown_limb(self.limb, before),))
        return before.with_limb(self.limb, variety=self.variety)

    def change(self, data: Any, folder: Path) -> Change:
        """What it changes in a plan."""
        return editing.change_entry(_spot(data, self.limb, "limb"), {"variety": self.variety})

    def words(self, before: Study) -> str:
        """What is tried, from the garden before it."""
        old = next((one.variety.name for one in before.plan.limbs if one.id == self.limb), "?")
        text = _("{limb}: {old} → {new}")
        return text.format(limb=self.limb, old=old, new=self.variety)


@dataclass(frozen=True)
class Graft:
    """A new limb on a tree."""

    tree: str
    limb: str
    variety: str

    def study(self, before: Study) -> Study:
        """The garden with it; raises `WrongChange`."""
        if any(one.id == self.limb for one in before.plan.limbs):
            message = say('the plan has a limb "{limb}" already', limb=self.limb)
            cure = say("give the new limb another name")
            raise WrongChange((Finding("error", "taken-id", message, cure=cure),))
        return before.with_limb(self.limb, tree=self.tree, variety=self.variety)

    def change(self, data: Any, folder: Path) -> Change:
        """What it changes in a plan."""
        spot = _spot(data, self.tree, "tree")
        return editing.add_limb(spot.index, {"id": self.limb, "variety": self.variety})

    def words(self, before: Study) -> str:
        """What is tried."""
        return _("{variety} grafted on {tree}").format(variety=self.variety, tree=self.tree)


@dataclass(frozen=True)
class Move:
    """A limb on another tree."""

    limb: str
    tree: str

    def study(self, before: Study) -> Study:
        """The garden with it; raises `WrongChange`."""
        if all(one.id != self.limb for one in before.plan.limbs):
            raise WrongChange((_unknown_limb(self.limb, before),))
        if (left := _whole_tree(self.limb, before)) and left != self.tree:
            message = say("{limb} is all that grows on its tree", limb=self.limb)
            cure = say("graft its variety on the other tree instead, then lose it here")
            raise WrongChange((Finding("error", "empty-tree", message, cure=cure),))
        return before.with_limb(self.limb, tree=self.tree)

    def change(self, data: Any, folder: Path) -> Change:
        """What it changes in a plan."""
        return editing.move_limb(
            _spot(data, self.limb, "limb"), _spot(data, self.tree, "tree").index
        )

    def words(self, before: Study) -> str:
        """What is tried."""
        return _("{limb} on {tree}").format(limb=self.limb, tree=self.tree)


@dataclass(frozen=True)
class Lose:
    """A limb or a neighbour's tree is gone; with a limb that is all of its tree, the tree."""

    name: str

    def study(self, before: Study) -> Study:
        """The garden without it; raises `WrongChange`."""
        whole = _whole_tree(self.name, before)
        if whole and len(before.plan.trees) > 1:
            return before.lose_tree(whole)
        return before.lose(self.name)

    def change(self, data: Any, folder: Path) -> Change:
        """What it changes in a plan."""
        spot, problem = editing.spot_named(data, self.name, ("limb", "neighbour"))
        if spot is None:
            raise WrongChange([problem] if problem else [])
        logged = editing.in_log(folder, self.name)
        if spot.kind == "limb":
            holder = spot.holder(data)
            if len(holder["limb"]) == 1 and len(data["tree"]) > 1:
                tree = _spot(data, holder["id"], "tree")
                return editing.remove_tree(tree, in_log=[self.name] if logged else [])
            return editing.remove_limb(spot, in_log=logged)
        return editing.remove_neighbour(spot, self.name, in_log=logged)

    def words(self, before: Study) -> str:
        """What is tried."""
        return _("without {name}").format(name=self.name)


@dataclass(frozen=True)
class NextDoor:
    """A tree next door: a new one, or what another of that id is to be. [m]"""

    id: str
    species: str
    variety: str
    distance_m: float

    def study(self, before: Study) -> Study:
        """The garden with it; raises `WrongChange`."""
        return before.with_neighbour(
            self.id, species=self.species, variety=self.variety, distance_m=self.distance_m
        )

    def change(self, data: Any, folder: Path) -> Change:
        """What it changes in a plan."""
        whole = self.distance_m.is_integer()
        values: dict[str, Any] = {
            "species": self.species,
            "variety": self.variety,
            "distance_m": int(self.distance_m) if whole else self.distance_m,
        }
        spot, _problem = editing.spot_named(data, self.id, ("neighbour",))
        if spot is not None:
            if typed_distance_m(data, spot.entry(data)) != self.distance_m:
                # Another distance puts it in another place, which nobody has told.
                values["position_m"] = None
            return editing.change_entry(spot, values)
        return editing.add_entry("neighbour", {"id": self.id, **values})

    def words(self, before: Study) -> str:
        """What is tried."""
        text = _("next door: {variety}, {metres} m away")
        return text.format(variety=self.variety, metres=number(self.distance_m))


@dataclass(frozen=True)
class Warmer:
    """Every hour of every winter warmer; a look ahead that no plan holds. [°C]"""

    degrees_c: float

    def study(self, before: Study) -> Study:
        """The garden in that climate; as it is where no weather is known."""
        if not 0 <= self.degrees_c <= WARMEST_C:
            raise WrongChange((_outside(self.degrees_c, 0, WARMEST_C),))
        return before if before.winters is None else before.warmer(self.degrees_c)

    def change(self, data: Any, folder: Path) -> None:
        """Nothing: the weather is not the grower's to write."""

    def words(self, before: Study) -> str:
        """What is tried."""
        return _("winters {degrees} °C warmer").format(degrees=number(self.degrees_c))


class _Aim:
    """Another aim of the plan: the one value of the try. `key`, `bounds` : of the plan's [aim].

    The least bound of `above` is none itself.
    """

    key: ClassVar[str]
    bounds: ClassVar[tuple[float, float]]
    above: ClassVar[bool] = True

    @property
    def value(self) -> float:
        """What is asked for."""
        (field,) = fields(self)  # type: ignore[arg-type]
        found: float = getattr(self, field.name)
        return found

    def study(self, before: Study) -> Study:
        """The garden judged by it; raises `WrongChange`."""
        least, most = self.bounds
        if not least <= self.value <= most or (self.above and self.value == least):
            raise WrongChange((_outside(self.value, least, most),))
        return with_aim(before, **{self.key: self.value})

    def change(self, data: Any, folder: Path) -> Change:
        """What it changes in a plan."""
        return editing.change_aim({self.key: self.value})


@dataclass(frozen=True)
class Level(_Aim):
    """Another share of winters that counts as covered."""

    share: float
    key = "level"
    bounds = plan_bounds.LEVEL

    def words(self, before: Study) -> str:
        """What is tried."""
        return _("covered means {winters}").format(winters=winters_of_ten(self.share))


@dataclass(frozen=True)
class Days(_Aim):
    """Another shortest time in bloom together that counts. [days]"""

    days: float
    key = "min_overlap_days"
    bounds = plan_bounds.OVERLAP_DAYS

    def words(self, before: Study) -> str:
        """What is tried."""
        return _("at least {days} in bloom together").format(days=days_words(self.days))


@dataclass(frozen=True)
class Donors(_Aim):
    """Another number of different donors that each limb must have."""

    number: int
    key = "donors"
    bounds = plan_bounds.DONORS
    above = False

    def words(self, before: Study) -> str:
        """What is tried."""
        text = ngettext("{number} donor for each limb", "{number} donors for each limb",
                        self.number)  # fmt: skip
        return text.format(number=self.number)


Try: TypeAlias = Regraft | Graft | Move | Lose | NextDoor | Warmer | Level | Days | Donors

KINDS: dict[str, type[Any]] = {
    "change": Regraft,
    "graft": Graft,
    "move": Move,
    "lose": Lose,
    "next": NextDoor,
    "warmer": Warmer,
    "level": Level,
    "days": Days,
    "donors": Donors,
}
"""What may be tried, by the word it has in an address."""


# --- in an address -----------------------------------------------------------------------------


def text_of(tried: Try) -> str:
    """A try as it stands in an address: `change:C-mid:Kordia`."""
    (word,) = (word for word, kind in KINDS.items() if type(tried) is kind)
    parts = (getattr(tried, field.name) for field in fields(tried))
    return ":".join([word, *(quote(_part(part), safe=" ") for part in parts)])


def subject_of(text: str) -> str:
    """What a text of `text_of` is about: of two about the same, the later takes the place."""
    word, *parts = text.split(":")
    about = {
        "change": 1,
        "move": 1,
        "next": 1,
        "warmer": 0,
        "level": 0,
        "days": 0,
        "donors": 0,
    }.get(word, len(parts))
    return ":".join([word, *parts[:about]])


def _part(value: str | float) -> str:
    return value if isinstance(value, str) else f"{value:g}"


def try_of(text: str) -> Try | None:
    """The try of a text of `text_of`; None for any other text."""
    word, *parts = text.split(":")
    kind = KINDS.get(word)
    if kind is None or len(parts) != len(fields(kind)):
        return None
    values = [
        READ[field.type](part)
        for field, part in zip(fields(kind), map(unquote, parts), strict=True)
    ]
    made: Try | None = None if None in values or "" in values else kind(*values)
    return made


def _whole(text: str) -> int | None:
    value = value_of(text)
    return int(value) if value is not None and value.is_integer() else None


READ: Mapping[Any, Callable[[str], str | float | None]] = {
    "str": str.strip, "float": value_of, "int": _whole
}  # fmt: skip
"""How a part of an address is read, by the type of its field; None: it cannot be."""


def tries_of(texts: Sequence[str]) -> tuple[Try, ...]:
    """All tries of an address that can be read, each once, no more than `MOST_TRIES`."""
    found = dict.fromkeys(made for text in texts if (made := try_of(text)) is not None)
    return tuple(found)[:MOST_TRIES]


# --- in the plan -------------------------------------------------------------------------------


def written(text: str, tries: Sequence[Try], path: Path) -> str:
    """The text of a plan with all that is tried; raises `WrongChange`."""
    import tomllib

    for one in tries:
        change = one.change(tomllib.loads(text.removeprefix("\ufeff")), path.parent)
        if change is not None:
            text = editing.changed_text(text, change, path.name)
    return text


def _spot(data: Any, name: str, kind: editing.Kind) -> editing.Spot:
    spot, problem = editing.spot_named(data, name, (kind,))
    if spot is None:
        raise WrongChange([problem] if problem else [])
    return spot


def _whole_tree(limb: str, study: Study) -> str:
    """The tree of which a limb is all that grows; empty: there is none."""
    trees = study.plan.trees
    return next((tree.id for tree in trees if [one.id for one in tree.limbs] == [limb]), "")


def _unknown_limb(name: str, study: Study) -> Finding:
    from pollinet.readers.names import one_of

    message = say('the plan has no limb "{limb}"', limb=name)
    cure = one_of(name, [limb.id for limb in study.plan.limbs])
    return Finding("error", "unknown-limb", message, study.plan.file, cure=cure)


def _outside(value: float, low: float, high: float) -> Finding:
    message = say("found {value}; allowed is {low} to {high}", value=value, low=low, high=high)
    return Finding("error", "out-of-bounds", message)
