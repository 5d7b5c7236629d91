"""Rules as data: a measure, a comparison, a threshold, points for or against, a sentence.

A measure that nobody has told or computed is simply not there, and no rule holds on it: what is
not known never counts as evidence.
"""

from __future__ import annotations

import operator
from collections.abc import Callable, Iterable, Mapping
from dataclasses import dataclass, field

from pollinet.messages import say

Rows = Iterable[Mapping[str, str]]

_COMPARE: dict[str, Callable[[float, float], bool]] = {
    "<": operator.lt,
    "<=": operator.le,
    "=": operator.eq,
    ">=": operator.ge,
    ">": operator.gt,
}


@dataclass(frozen=True)
class Measure:
    """One known thing about a limb in one year.

    sample : how many were counted; None: it is no count.
    fact : the observation it comes from; two measures of one fact are one piece of evidence.
    words : more for the sentences of the rules.
    """

    value: float
    sample: int | None = None
    fact: str = ""
    words: Mapping[str, object] = field(default_factory=dict)


Measures = Mapping[str, Measure]


@dataclass(frozen=True)
class Rule:
    """One row of `evidence.csv` or `stages.csv`.

    subject : the cause, or the stages. points : for (positive) or against; 0 in `stages.csv`.
    finding : `fails` or `sound` in `stages.csv`. fruits : empty: all fruits.
    least_sample : the rule holds only on a count of at least so many.
    """

    subject: str
    measure: str
    comparison: str
    threshold: float
    points: int
    finding: str
    fruits: tuple[str, ...]
    least_sample: int | None
    saying: str
    source: str
    status: str


@dataclass(frozen=True)
class Evidence:
    """A rule that holds, in words."""

    measure: str
    fact: str
    points: int
    text: str
    source: str
    status: str


def rules_from(rows: Rows, subject: str) -> tuple[Rule, ...]:
    """Rules from the rows of a table; `subject` names the column of what they are about."""
    return tuple(
        Rule(
            subject=row[subject],
            measure=row["measure"],
            comparison=row["is"],
            threshold=float(row["threshold"]),
            points=int(row.get("points") or 0),
            finding=row.get("finding") or "",
            fruits=split(row.get("fruits") or ""),
            least_sample=int(row["least_sample"]) if row["least_sample"] else None,
            saying=row["saying"],
            source=row["source"],
            status=row["status"],
        )
        for row in rows
    )


def split(text: str) -> tuple[str, ...]:
    """The words of a cell that holds several: `A|C`."""
    return tuple(filter(None, text.split("|")))


def holds(rule: Rule, measures: Measures, fruit: str) -> bool:
    """Whether a rule holds; never on what is not known or on too small a count."""
    measure = measures.get(rule.measure)
    if measure is None or (rule.fruits and fruit not in rule.fruits):
        return False
    if rule.least_sample is not None and (measure.sample or 0) < rule.least_sample:
        return False
    return compares(measure.value, rule.comparison, rule.threshold)


def compares(value: float, comparison: str, threshold: float) -> bool:
    """Whether a value stands to a threshold as a cell of the tables says."""
    return _COMPARE[comparison](value, threshold)


def said(rule: Rule, measures: Measures) -> Evidence:
    """The sentence of a rule that holds, filled with what was measured."""
    measure = measures[rule.measure]
    value, sample = measure.value, measure.sample or 0
    words = {"value": value, "percent": 100 * value, "sample": sample, **measure.words}
    return Evidence(
        rule.measure, measure.fact or rule.measure, rule.points,
        say(rule.saying, **words), rule.source, rule.status,
    )  # fmt: skip


def evidence(rules: Iterable[Rule], measures: Measures, fruit: str) -> tuple[Evidence, ...]:
    """All rules that hold, in the order of their table."""
    return tuple(said(rule, measures) for rule in rules if holds(rule, measures, fruit))
