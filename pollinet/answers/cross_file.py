"""May pollen serve flowers, for each pair of a table."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from pathlib import Path
from typing import Annotated, Any, ClassVar, Self, get_args

from pollinet.answers.base import About, Answer, plain
from pollinet.compatibility import outcome
from pollinet.compatibility.verdict import cross_verdict
from pollinet.domain import Catalogue, VarietyId
from pollinet.findings import Finding
from pollinet.readers.catalogue import load_catalogue
from pollinet.readers.names import resolve_fruit, resolve_variety
from pollinet.readers.pairs import PairRow
from pollinet.readers.shared_tables import fruits
from pollinet.wording.sentences import count
from pollinet.wording.verdicts import verdict_sentence


@dataclass(frozen=True)
class JudgedPair:
    """One row of the table, its names as they were typed, and its verdict."""

    species: str
    female: Annotated[str, About("Receiver of the pollen.")]
    male: Annotated[str, About("Donor of the pollen.")]
    verdict: Annotated[outcome.Answer, About("A name that nobody knows is unknown as well.")]
    fraction: Annotated[
        float | None, About("Share of the pollen that the style accepts; null: not known.")
    ]
    reason: str
    sources: tuple[str, ...]


@dataclass(frozen=True, repr=False)
class CrossFile(Answer):
    """A table of pairs; its JSON is a bare list, which cannot carry the name of the schema."""

    NAME: ClassVar[str] = "cross-file"
    ROWS: ClassVar[str] = "pairs"
    ROW: ClassVar[type] = JudgedPair

    pairs: Annotated[tuple[JudgedPair, ...], About("One entry for each row of the table.")]

    @property
    def answer(self) -> str:
        """How many pairs have which verdict."""
        found: list[str] = [pair.verdict for pair in self.pairs]
        told = ", ".join(f"{found.count(word)} {word}" for word in get_args(outcome.Answer))
        return f"{count(len(found), 'pair')}: {told}."

    def to_data(self) -> list[dict[str, Any]]:
        """The pairs as plain data."""
        return [plain(pair) for pair in self.pairs]

    @classmethod
    def from_data(cls, data: Any) -> Self:
        """The answer that `to_data` has told; ValueError for data of another kind."""
        if not isinstance(data, list):
            raise ValueError("not a list of pairs")
        return super().from_data({"schema": cls.title(), cls.ROWS: data})

    @classmethod
    def schema(cls) -> dict[str, Any]:
        """The JSON Schema of the bare list."""
        made = super().schema()
        head = {key: made[key] for key in ("$schema", "$id")}
        # A list has no room for what all other answers have in common.
        parts = {cls.ROW.__name__: made["$defs"][cls.ROW.__name__]}
        return {**head, "$defs": parts, **made["properties"][cls.ROWS], "title": made["title"]}


def cross_file_of(
    rows: Sequence[PairRow], file: str, own_folder: Path | None
) -> tuple[CrossFile, tuple[Finding, ...]]:
    """A verdict for each row, and a warning for each that has none for want of a known name.

    file : its name, for the warnings. own_folder : of the grower's own tables; None: there is none.
    """
    known = {
        text: resolve_fruit(text, fruits(), file=file, place="species")
        for text in {row.species for row in rows}
    }
    named = {fruit for fruit, _ in known.values() if fruit is not None}
    catalogue, _ = load_catalogue(named, own_folder)
    judged = [_judged(row, known, catalogue, file) for row in rows]
    pairs = tuple(pair for pair, _ in judged)
    return CrossFile(pairs), tuple(warning for _, warning in judged if warning is not None)


def _judged(
    row: PairRow,
    known: Mapping[str, tuple[str | None, tuple[Finding, ...]]],
    catalogue: Catalogue,
    file: str,
) -> tuple[JudgedPair, Finding | None]:
    fruit, findings = known[row.species]
    names = row.species, row.female, row.male
    ids: list[VarietyId] = []
    if fruit is not None:
        for sex, text in (("male", row.male), ("female", row.female)):
            found, more = resolve_variety(text, fruit, catalogue, file=file, place=sex)
            findings += more
            ids += [found] if found is not None else []
    if len(ids) == 2:
        donor, receiver = (catalogue.varieties[found_id].fertility for found_id in ids)
        verdict = cross_verdict(donor, receiver, catalogue.rules)
        reason, sources = verdict_sentence(verdict), tuple(verdict.sources)
        return JudgedPair(*names, verdict.answer, verdict.fraction, reason, sources), None
    wrong = next(finding for finding in findings if finding.severity == "error")
    warning = Finding("warning", wrong.code, wrong.message, file, wrong.place, row.line, wrong.cure)
    return JudgedPair(*names, "unknown", None, wrong.message, ()), warning
