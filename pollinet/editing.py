"""Changes to the text of a plan: comments, order and line ends stay as the grower wrote them.

A change is a function that works on the plain data of a plan and on tomlkit's document of it
alike. It is made on both; the new text counts only where it reads as the changed data.
"""

from __future__ import annotations

import tomllib
from collections.abc import Callable, Iterable, Sequence
from dataclasses import dataclass
from pathlib import Path
from typing import TYPE_CHECKING, Any, Literal

from pollinet.errors import WrongChange
from pollinet.files import LOG_NAME, reason_of, write_whole
from pollinet.findings import Finding
from pollinet.messages import joined, listing, mark, say
from pollinet.readers.names import one_of
from pollinet.readers.records import log_rows

if TYPE_CHECKING:
    from tomlkit.items import Table

Change = Callable[[Any], None]
Kind = Literal["limb", "neighbour", "tree"]

_KINDS: dict[Kind, str] = {"limb": mark("limb"), "neighbour": mark("neighbour"),
                           "tree": mark("tree")}  # fmt: skip


# --- places in a plan --------------------------------------------------------------------------


@dataclass(frozen=True)
class Spot:
    """Where an entry stands: the how-manieth of its list, and of which tree; counted from 0."""

    kind: Kind
    index: int
    tree: int = 0

    def holder(self, data: Any) -> Any:
        """The table whose list holds the entry."""
        return data["tree"][self.tree] if self.kind == "limb" else data

    def entry(self, data: Any) -> Any:
        """The entry itself."""
        return self.holder(data)[self.kind][self.index]


def spots(data: Any) -> list[tuple[str, Spot]]:
    """All ids of a plan with where they stand, in its order: trees, their limbs, neighbours."""
    found = []
    for number, tree in enumerate(_entries(data, "tree")):
        found.append((str(tree.get("id", "")), Spot("tree", number)))
        found += [
            (str(limb.get("id", "")), Spot("limb", place, number))
            for place, limb in enumerate(_entries(tree, "limb"))
        ]
    found += [
        (str(entry.get("id") or f"neighbour-{number + 1}"), Spot("neighbour", number))
        for number, entry in enumerate(_entries(data, "neighbour"))
    ]
    return found


def _entries(holder: Any, key: str) -> list[Any]:
    """A list of tables; empty where the plan has something else there."""
    listed = holder.get(key, [])
    sound = isinstance(listed, list) and all(isinstance(entry, dict) for entry in listed)
    return listed if sound else []


def spot_named(data: Any, name: str, kinds: Iterable[Kind]) -> tuple[Spot | None, Finding | None]:
    """Where the entry of an id stands; None with what is wrong."""
    wanted = tuple(kinds)
    known = [(one, spot) for one, spot in spots(data) if spot.kind in wanted]
    found = [spot for one, spot in known if one == name]
    if len(found) == 1:
        return found[0], None
    if found:
        message = say(
            '"{name}" is the id of {number} entries: {kinds}',
            name=name,
            number=len(found),
            kinds=listing([say(_KINDS[spot.kind]) for spot in found]),
        )
        cure = say("say which with --kind, or change the id in the plan itself")
        return None, Finding("error", "ambiguous-id", message, cure=cure)
    message = say(
        'the plan has no {kinds} "{name}"',
        kinds=joined([say(_KINDS[kind]) for kind in wanted], "or"),
        name=name,
    )
    cure = one_of(name, [one for one, _ in known])
    return None, Finding("error", f"unknown-{wanted[0]}", message, cure=cure)


def in_log(folder: Path, name: str) -> bool:
    """Whether the log of the garden in a folder has anything of this id."""
    log = folder / LOG_NAME
    if not log.is_file():
        return False
    rows, _ = log_rows(log.read_bytes().decode("utf-8-sig", errors="replace"), LOG_NAME)
    return any(cells["limb"] == name for _, cells in rows)


# --- changes -----------------------------------------------------------------------------------


def change_entry(spot: Spot, values: dict[str, Any]) -> Change:
    """Other values of an entry, such as the variety of a limb; its other keys stay.

    None: the key goes.
    """

    def change(data: Any) -> None:
        entry = spot.entry(data)
        for key, value in values.items():
            if value is not None:
                _set(entry, key, value)
            elif key in entry:
                del entry[key]

    return change


def change_aim(values: dict[str, Any]) -> Change:
    """Other aims of the plan, which gets an [aim] where it has none."""

    def change(data: Any) -> None:
        if "aim" not in data:
            data["aim"] = dict(values)
        else:
            for key, value in values.items():
                _set(data["aim"], key, value)

    return change


def change_site(values: dict[str, Any]) -> Change:
    """Other values of [site], which a plan without one gets; None takes a key out."""

    def change(data: Any) -> None:
        if "site" not in data:
            data["site"] = {}
        for key, value in values.items():
            if value is not None:
                _set(data["site"], key, value)
            elif key in data["site"]:
                del data["site"][key]

    return change


def both(first: Change, second: Change) -> Change:
    """One change after the other."""

    def change(data: Any) -> None:
        first(data)
        second(data)

    return change


def add_entry(kind: str, entry: dict[str, Any]) -> Change:
    """A new neighbour or scion, after those that are there."""
    return lambda data: _append(data, kind, entry)


def add_limb(tree: int, entry: dict[str, Any], spare: int | None = None) -> Change:
    """A new limb, after the other limbs of its tree.

    spare : how many more grafts the tree can carry now; None: one less than before.
    """

    def change(data: Any) -> None:
        holder = data["tree"][tree]
        before = holder.get("spare_limbs", 0)
        after = max(before - 1, 0) if spare is None else spare
        if after != before:
            _set(holder, "spare_limbs", after)
        _append(holder, "limb", entry)

    return change


def remove_limb(spot: Spot, *, in_log: bool) -> Change:
    """The limb leaves the plan; where the log names it, the tree remembers its id."""

    def change(data: Any) -> None:
        tree, limb = spot.holder(data), spot.entry(data)
        names = [*limb.get("former_ids", ()), *([limb["id"]] if in_log else [])]
        if names:
            _set(tree, "lost_limbs", [*tree.get("lost_limbs", ()), *names])
        _take(tree, "limb", spot.index)

    return change


def remove_neighbour(spot: Spot, name: str, *, in_log: bool) -> Change:
    """The tree next door leaves the plan; where the log names it, the plan remembers its id.

    Trees below it that have no id were called by their place: they keep that name as their id.
    """

    def change(data: Any) -> None:
        below = list(enumerate(data["neighbour"], 1))[spot.index + 1 :]
        for place, entry in below:
            if not entry.get("id"):
                _set(entry, "id", f"neighbour-{place}")
        names = [*spot.entry(data).get("former_ids", ()), *([name] if in_log else [])]
        if names:
            site = data.setdefault("site", {})
            _set(site, "lost_neighbours", [*site.get("lost_neighbours", ()), *names])
        _take(data, "neighbour", spot.index)

    return change


def remove_tree(spot: Spot, *, in_log: Sequence[str]) -> Change:
    """The tree leaves the plan with all its limbs; another tree remembers what the log names.

    in_log : ids of its limbs that the log names.
    """

    def change(data: Any) -> None:
        tree = spot.entry(data)
        names = [*tree.get("lost_limbs", ())]
        for limb in tree.get("limb", ()):
            names += [*limb.get("former_ids", ()), *([limb["id"]] * (limb["id"] in in_log))]
        _take(data, "tree", spot.index)
        if names and data.get("tree"):
            heir = data["tree"][0]
            _set(heir, "lost_limbs", [*heir.get("lost_limbs", ()), *names])

    return change


def remove_entry(kind: str, index: int) -> Change:
    """A scion leaves the plan."""
    return lambda data: _take(data, kind, index)


def move_limb(spot: Spot, tree: int) -> Change:
    """The limb stands on another tree of the plan, after that tree's own limbs."""

    def change(data: Any) -> None:
        limb = _take(spot.holder(data), "limb", spot.index)
        _append(data["tree"][tree], "limb", limb)

    return change


def rename(spot: Spot, old: str, new: str, *, in_log: bool) -> Change:
    """A new id; where the log has the old one, the entry remembers that as a former id."""

    def change(data: Any) -> None:
        entry = spot.entry(data)
        _set(entry, "id", new)
        before = list(entry.get("former_ids", ()))
        former = [one for one in before if one != new] + ([old] if in_log else [])
        if former:
            _set(entry, "former_ids", former)
        elif before:
            del entry["former_ids"]

    return change


# --- the text ----------------------------------------------------------------------------------


def edited(text: str, change: Change) -> str | None:
    """The text of a plan after a change; None where its layout does not allow it to be made.

    text : valid TOML whose entries are where the change expects them.
    """
    import tomlkit

    end = "\r\n" if "\r\n" in text else "\n"
    plain = text.replace("\r\n", "\n")
    plain += "" if plain.endswith("\n") else "\n"
    expected, document = tomllib.loads(plain), tomlkit.parse(plain)
    if document.as_string() != plain:
        # Tables of one kind with others between them: tomlkit would bring them together.
        return None
    change(expected)
    try:
        change(document)
    except LookupError:
        return None
    made = document.as_string()
    return made.replace("\n", end) if _reads_as(made, expected) else None


def changed_text(text: str, change: Change, file: str) -> str:
    """The text of a plan after a change; raises `WrongChange` where it cannot be made."""
    made = edited(text, change)
    if made is None:
        raise WrongChange((scattered(file),))
    return made


def scattered(file: str) -> Finding:
    """That the layout of a plan does not allow it to be changed safely."""
    message = say("this layout cannot be changed safely")
    cure = say(
        "put all [[tree]] together, then all [[neighbour]], then all [[scion]]; or make the "
        "change in an editor"
    )
    return Finding("error", "scattered-tables", message, file, cure=cure)


def write_plan(path: Path, text: str) -> Finding | None:
    """Put a new text in the place of a plan, whole; None, or why that cannot be.

    A link to a plan stays a link, and a mark of its encoding stays.
    """
    try:
        head = b"\xef\xbb\xbf" if path.read_bytes().startswith(b"\xef\xbb\xbf") else b""
        write_whole(path.resolve(), head + text.encode())
    except OSError as problem:
        message = say("the plan cannot be written: {reason}", reason=reason_of(problem))
        return Finding("error", "cannot-write", message, str(path))
    return None


def _reads_as(text: str, expected: dict[str, Any]) -> bool:
    try:
        return tomllib.loads(text) == expected
    except tomllib.TOMLDecodeError:
        return False


def _append(holder: Any, key: str, entry: Any) -> None:
    """Put an entry at the end of a list of tables, which is made if it is missing."""
    from tomlkit.container import Container
    from tomlkit.items import AoT, Table

    listed = holder.get(key)
    if listed is None and isinstance(holder, Container | Table):
        table, before = _as_table(entry), _last_body(holder)
        tail = _cut_tail(before)
        _add_text(before, "\n")
        holder.append(key, AoT([table]))
        _add_text(table.value.body, tail)
    elif isinstance(listed, AoT):
        table, before = _as_table(entry), _last_body(listed[-1])
        tail = _cut_tail(before)
        _add_text(before, "\n")
        _add_text(table.value.body, tail)
        listed.append(table)
    else:
        holder.setdefault(key, []).append(entry)


def _as_table(entry: Any) -> Table:
    import tomlkit
    from tomlkit.items import Table

    if isinstance(entry, Table):
        return entry
    table = tomlkit.table()
    for key, value in entry.items():
        table.add(key, value)
    return table


def _take(holder: Any, key: str, index: int) -> Any:
    """Take an entry out of a list of tables; what stands below it stays where it is."""
    from tomlkit.items import AoT

    listed = holder[key]
    entry = listed[index]
    if isinstance(listed, AoT):
        tail = _cut_tail(_last_body(entry))
        if index:
            before = _last_body(listed[index - 1])
            _cut_blank(before)
            _add_text(before, tail)
        elif "#" in tail:
            _add_text_before(holder, key, tail)
    del listed[index]
    if not len(listed):
        del holder[key]
    return entry


def _set(holder: Any, key: str, value: Any) -> None:
    """Set a value; a new key comes after the keys there are, before blank lines and remarks."""
    from tomlkit.items import AoT, Table

    if key in holder or not isinstance(holder, Table):
        holder[key] = value
        return
    body = holder.value.body
    if any(isinstance(item, AoT | Table) for _, item in body):
        # Tables inside follow the table's own keys: tomlkit puts a key before them by itself.
        holder[key] = value
        return
    tail = _cut_tail(body)
    holder[key] = value
    _add_text(body, tail)


# What stands between two tables, blank lines and remarks, belongs to the upper one in tomlkit.
# To a reader, all from the first blank line on belongs to what comes next.


def _body(holder: Any) -> list[Any]:
    """The items of a document or of a table."""
    from tomlkit.container import Container

    items: list[Any] = holder.body if isinstance(holder, Container) else holder.value.body
    return items


def _last_body(holder: Any) -> list[Any]:
    """The items after which the next table would begin: those of the last table inside."""
    from tomlkit.items import AoT, Table

    if isinstance(holder, AoT):
        return _last_body(holder[-1])
    body = _body(holder)
    last = next((item for key, item in reversed(body) if key is not None), None)
    return _last_body(last) if isinstance(last, AoT | Table) else body


def _cut_tail(body: list[Any]) -> str:
    """Take blank lines and remarks off the end, from the first blank line on."""
    from tomlkit.items import Whitespace

    start = len(body)
    while start and body[start - 1][0] is None:
        start -= 1
    while start < len(body) and not isinstance(body[start][1], Whitespace):
        start += 1
    tail = "".join(item.as_string() for _, item in body[start:])
    del body[start:]
    return tail


def _cut_blank(body: list[Any]) -> None:
    """Take blank lines alone off the end."""
    from tomlkit.items import Whitespace

    while body and body[-1][0] is None and isinstance(body[-1][1], Whitespace):
        if body[-1][1].as_string().strip():
            return
        body.pop()


def _add_text(body: list[Any], text: str) -> None:
    from tomlkit.items import Whitespace

    if text:
        body.append((None, Whitespace(text)))


def _add_text_before(holder: Any, key: str, text: str) -> None:
    """Put text before the first table of a list, without moving the items there are.

    Raises LookupError where the list stands first of all: there is nothing to put it behind.
    """
    from tomlkit.items import AoT, Table, Whitespace

    body = _body(holder)
    above = next(number for number, (name, _) in enumerate(body) if name == key) - 1
    if above < 0:
        raise LookupError(key)
    _, item = body[above]
    if isinstance(item, AoT | Table):
        last = _last_body(item)
        _cut_blank(last)
        _add_text(last, text)
    elif isinstance(item, Whitespace):
        body[above] = (None, Whitespace(item.as_string() + text.lstrip("\n")))
    else:
        item.trivia.trail += text
