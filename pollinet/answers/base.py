"""What all answers share: JSON to and fro, its schema, tidy rows and frames, and how they look."""

from __future__ import annotations

import json
from collections.abc import Callable, Iterator, Mapping
from dataclasses import Field, dataclass, fields, is_dataclass
from dataclasses import field as made_field
from datetime import date
from functools import cache
from typing import (
    TYPE_CHECKING,
    Annotated,
    Any,
    ClassVar,
    Self,
    get_args,
    get_origin,
    get_type_hints,
)

from pollinet.domain import InputKind
from pollinet.findings import Finding

if TYPE_CHECKING:
    import pandas as pd

WHEN_ASKED: Mapping[str, bool] = {"when_asked": True}
"""Metadata of an answer's own field that stands in the JSON only where it was asked for, and is
None else; a part of an answer has no such field."""

DIALECT = "https://json-schema.org/draft/2020-12/schema"


@dataclass(frozen=True)
class About:
    """What a field is, for its JSON Schema; `least` and `most`: bounds of a number."""

    text: str
    least: float | None = None
    most: float | None = None

    def __get_pydantic_json_schema__(self, core: Any, handler: Any) -> dict[str, Any]:
        bounds = {"minimum": self.least, "maximum": self.most}
        told = {name: bound for name, bound in bounds.items() if bound is not None}
        return {**handler(core), **told, "description": self.text}


Share = Annotated[float, About("Share of the scenarios (winters and draws), 0 to 1.", 0, 1)]
Typed = Annotated[str | None, About("The name as it was typed; null: it is that of the catalogue.")]
Told = Annotated[str, About("The answer in one sentence.")]
Recalled = Annotated[
    tuple[str, ...], About("Values that were recalled and not confirmed in a source.")
]
Findings = Annotated[
    tuple[Finding, ...],
    About("Problems in the input that did not stop the run, worst first."),
]


Sha256 = Annotated[str, About("SHA-256 of its bytes, in hexadecimal.")]


@dataclass(frozen=True)
class MadeFrom:
    """A file that an answer was made from."""

    kind: InputKind
    file: Annotated[str, About("As the plan names it, from the plan's folder.")]
    sha256: Sha256


@dataclass(frozen=True)
class Versions:
    """Versions of what worked an answer out."""

    pollinet: str
    numpy: str
    scipy: str


@dataclass(frozen=True)
class MadeOf:
    """What an answer was made of: with the same it can be worked out again."""

    command: Annotated[str, About("The command that was asked.")]
    options: Annotated[
        tuple[str, ...], About("What was asked of it beside the plan, as words of a command line.")
    ]
    plan: Annotated[str, About("The plan file, as it was typed.")]
    seed: Annotated[int, About("Seed of all that is drawn.")]
    inputs: tuple[MadeFrom, ...]
    catalogue_sha256: Annotated[str, About("SHA-256 of all shipped tables, in hexadecimal.")]
    versions: Versions


LAST: Mapping[str, bool] = {**WHEN_ASKED, "last": True}
"""Metadata of the field that stands last in the JSON, though all answers have it in common."""


@dataclass(frozen=True, repr=False)
class Answer:
    """Root of all answers: frozen dataclasses whose fields are the keys of their JSON, in order.

    NAME, VERSION : of its schema, `pollinet/check/1`; the version grows when a program that reads
        the answer would have to change.
    ROWS, ROW : the field that has one item for each row of `to_frame`, and the type of an item.
    exit_code : what a command that gives this answer ends with.
    made_of : see `MadeOf`; None in Python, where a question is no line that could be asked again.
    """

    made_of: Annotated[
        MadeOf | None, About("What it was made of; only where a command was asked of a plan.")
    ] = made_field(default=None, kw_only=True, metadata=LAST)

    NAME: ClassVar[str]
    VERSION: ClassVar[int] = 1
    ROWS: ClassVar[str] = ""
    ROW: ClassVar[type | None] = None

    @property
    def exit_code(self) -> int:
        """0 for an answer; 1 where some limb is not covered."""
        return 0

    @classmethod
    def title(cls) -> str:
        """Name and version of its schema."""
        return f"pollinet/{cls.NAME}/{cls.VERSION}"

    def to_data(self) -> Any:
        """The answer as plain data: an object with the name of its schema first."""
        return {"schema": self.title(), **plain(self)}

    def to_json(self) -> str:
        """The answer as JSON, with an end of line."""
        return json.dumps(self.to_data(), ensure_ascii=False, indent=2) + "\n"

    @classmethod
    def from_data(cls, data: Any) -> Self:
        """The answer that `to_data` has told; ValueError for data of another kind."""
        if data.get("schema") != cls.title():
            raise ValueError(f"not an answer of the schema {cls.title()}")
        told: Self = _adapter(cls).validate_python({k: v for k, v in data.items() if k != "schema"})
        return told

    @classmethod
    def from_json(cls, text: str) -> Self:
        """The answer that `to_json` has told."""
        return cls.from_data(json.loads(text))

    @classmethod
    def schema(cls) -> dict[str, Any]:
        """The JSON Schema (2020-12) of its JSON, made from the type."""
        made = _adapter(cls).json_schema(mode="serialization")
        key = {"const": cls.title(), "description": "Name and version of this schema."}
        asked = {f.name for f in fields(cls) if f.metadata.get("when_asked")}
        listed = {f.name: made["properties"][f.name] for f in _in_order(cls)}
        required = [name for name in listed if name not in asked]
        for part in made.get("$defs", {}).values():
            # A default is for those who make a part; those who read it find every key.
            part |= {"required": list(part["properties"])} if "properties" in part else {}
        return {
            "$schema": DIALECT,
            "$id": f"urn:{cls.title()}",
            **made,
            "title": f"pollinet {cls.NAME}: {_first_line(cls)}",
            "properties": {"schema": key, **listed},
            "required": ["schema", *required],
        }

    def rows(self) -> list[dict[str, Any]]:
        """One flat row for each item of the field `ROWS`; nested keys are joined by `_`."""
        return [dict(flat(item)) for item in getattr(self, self.ROWS)] if self.ROWS else []

    @classmethod
    def columns(cls) -> list[str]:
        """Names of the columns of `to_frame`, in order; empty: as the rows have them."""
        return [] if cls.ROW is None else columns_of(cls.ROW)

    def to_frame(self) -> pd.DataFrame:
        """The rows as a pandas frame: tidy, one row a thing."""
        import pandas as pd

        return pd.DataFrame(self.rows(), columns=self.columns() or None)

    def __repr__(self) -> str:
        """One line, whatever the size of the answer."""
        told = getattr(self, "answer", None)
        return f"<{type(self).__name__}: {told}>" if told else f"<{type(self).__name__}>"

    def with_picture(self, draw: Callable[[], str]) -> Self:
        """This answer, shown in a notebook with a picture above its rows.

        draw : gives HTML that needs nothing else; called each time it is shown.
        """
        # No field: what is told, compared and written stays the same.
        object.__setattr__(self, "_draw", draw)
        return self

    def _repr_html_(self) -> str:
        from html import escape

        told = f"<p>{escape(getattr(self, 'answer', None) or '')}</p>"
        table: str = self.to_frame().to_html(index=False, na_rep="")
        draw: Callable[[], str] | None = getattr(self, "_draw", None)
        if draw is None:
            return told + table
        head = f"<summary>{escape(type(self).__name__)}.to_frame()</summary>"
        return f"{told}{draw()}<details>{head}{table}</details>"


def plain(value: Any) -> Any:
    """An answer, or a part of one, as what JSON knows: objects, lists, numbers, words, null."""
    if is_dataclass(value):
        return {
            field.name: plain(getattr(value, field.name))
            for field in _in_order(value)
            if not (field.metadata.get("when_asked") and getattr(value, field.name) is None)
        }
    if isinstance(value, Mapping):
        return {key: plain(inner) for key, inner in value.items()}
    if isinstance(value, list | tuple):
        return [plain(inner) for inner in value]
    return value.isoformat() if isinstance(value, date) else value


def _in_order(value: Any) -> list[Field[Any]]:
    """The fields of a dataclass, or of one of its kind, in the order of their keys."""
    return sorted(fields(value), key=lambda one: bool(one.metadata.get("last")))


@cache
def _hints(row: Any) -> dict[str, Any]:
    """What the fields of a dataclass hold; looked up once a type, not once a row."""
    return get_type_hints(row)


def columns_of(row: type) -> list[str]:
    """Names of the columns that `Answer.rows` gives for a type of rows, nested ones included."""
    hints = _hints(row)
    found = []
    for field in fields(row):
        inner = _dataclass_in(hints[field.name])
        nested = [f"{field.name}_{name}" for name in columns_of(inner)] if inner else [field.name]
        found += nested
    return found


def _dataclass_in(hint: Any) -> type | None:
    """The dataclass that a hint, or its union with None, names; None: another kind of value."""
    kinds = [hint] if get_origin(hint) is None else list(get_args(hint))
    named = [kind for kind in kinds if isinstance(kind, type) and is_dataclass(kind)]
    return named[0] if named and get_origin(hint) is not tuple else None


def flat(item: Any, head: str = "") -> Iterator[tuple[str, Any]]:
    """(column, value) pairs of a row; lists of words become one text, lists of parts their count.

    A nested part that is None gives an empty cell for each of its columns.
    """
    kind: Any = type(item)
    hints = _hints(kind)
    for field in fields(item):
        name, value = f"{head}{field.name}", getattr(item, field.name)
        inner = _dataclass_in(hints[field.name])
        if inner is not None and value is None:
            yield from ((f"{name}_{column}", None) for column in columns_of(inner))
        elif inner is not None:
            yield from flat(value, f"{name}_")
        elif isinstance(value, tuple) and is_dataclass(get_args(hints[field.name])[0]):
            yield name, len(value)
        elif isinstance(value, tuple):
            yield name, "; ".join(map(str, value))
        else:
            yield name, value


def _adapter(cls: type) -> Any:
    from pydantic import TypeAdapter

    return TypeAdapter(cls)


def _first_line(cls: type) -> str:
    return (cls.__doc__ or "").strip().partition("\n")[0]
