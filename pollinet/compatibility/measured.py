"""Crosses that somebody made, and plain statements of sources, about one pair.

Only a cross that was made overrules a rule. A measured `yes` where the rule says half is
agreement: it often means that the cross set well, not that no allele is shared.
"""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import replace

from pollinet.compatibility.outcome import Answer
from pollinet.domain import MeasuredPair, Verdict

MADE = frozenset({"measured cross", "published field cross"})
"""Kinds of rows (`MeasuredPair.kind`) that tell of a cross that was made."""

SAID = frozenset({"source statement"})
"""Kinds in which a source says plainly how a pair behaves, without having made the cross.

Recommendations of pollinizers and statements on bloom are neither: they mix in other reasons.
"""

_FRACTIONS: dict[str, float] = {"yes": 1.0, "half": 0.5, "no": 0.0}


def crosses_made(pairs: Iterable[MeasuredPair]) -> list[MeasuredPair]:
    """The rows that tell of a cross that was made."""
    return [pair for pair in pairs if pair.kind in MADE]


def agreed(pairs: Iterable[MeasuredPair]) -> Answer | None:
    """The common result of several rows; None where there is none or they disagree."""
    results = {pair.result for pair in pairs}
    if results == {"yes", "half"}:
        return "half"
    return results.pop() if len(results) == 1 else None


def overruled(verdict: Verdict, pairs: Iterable[MeasuredPair]) -> Verdict:
    """The rule's verdict, or the measured one where that says something else.

    Made crosses overrule every rule; statements decide only where no rule does.
    """
    rows = list(pairs)
    made, said = crosses_made(rows), [pair for pair in rows if pair.kind in SAID]
    measured, stated = agreed(made), agreed(said)
    if measured is not None:
        fits = measured == verdict.answer or (measured, verdict.answer) == ("yes", "half")
        return verdict if fits else _decided(verdict, measured, "measured-cross", made)
    if stated is not None and verdict.answer == "unknown":
        return _decided(verdict, stated, "source-statement", said)
    return verdict


def behind(pairs: Iterable[MeasuredPair]) -> tuple[tuple[str, ...], bool]:
    """Sources of some rows, and whether any of them is only remembered."""
    rows = list(pairs)
    sources = tuple(dict.fromkeys(row.source for row in rows))
    return sources, any(row.status == "memory" for row in rows)


def measured_line(pair: MeasuredPair) -> str:
    """One row in short: `yes, 83 % fruit set (measured cross, JAHED2018)`."""
    fruit_set = f", {pair.fruit_set_pct} % fruit set" if pair.fruit_set_pct else ""
    return f"{pair.result}{fruit_set} ({pair.kind}, {pair.source})"


def _decided(verdict: Verdict, result: Answer, code: str, rows: Iterable[MeasuredPair]) -> Verdict:
    fraction = _FRACTIONS[result]
    sources, memory = behind(rows)
    return replace(
        verdict,
        answer=result,
        fraction=fraction,
        probability=float(fraction > 0.0),
        code=code,
        sources=sources,
        memory=memory,
    )
