"""Crosses that somebody made, and plain statements of sources, about one pair.

Only a cross that was made overrules a rule. A measured `yes` where the rule says half is
agreement: it often means that the cross set well, not that no allele is shared.
"""

from __future__ import annotations

from collections.abc import Iterable, Sequence

from pollinet.compatibility.outcome import Answer, Outcome
from pollinet.domain import MeasuredPair

MADE = frozenset({"measured cross", "published field cross"})
"""Kinds of rows (`MeasuredPair.kind`) that tell of a cross that was made."""

SAID = frozenset({"source statement"})
"""Kinds in which a source says plainly how a pair behaves, without having made the cross.

Recommendations of pollinizers and statements on bloom are neither: they mix in other reasons.
"""

_FRACTIONS: dict[str, float] = {"yes": 1.0, "half": 0.5, "no": 0.0}


def was_made(pair: MeasuredPair) -> bool:
    """Whether somebody made this cross."""
    return pair.kind in MADE


def was_said(pair: MeasuredPair) -> bool:
    """Whether a source says plainly how this pair behaves."""
    return pair.kind in SAID


def agreed(pairs: Iterable[MeasuredPair]) -> Answer | None:
    """The common result of several rows; None where there is none or they disagree."""
    results = {pair.result for pair in pairs}
    if results == {"yes", "half"}:
        return "half"
    return results.pop() if len(results) == 1 else None


def overruled(outcome: Outcome, pairs: Sequence[MeasuredPair]) -> Outcome:
    """The rule's outcome, or the measured one where that says something else.

    Made crosses overrule every rule; statements decide only where no rule does.
    """
    made = agreed(pair for pair in pairs if was_made(pair))
    if made is not None:
        return outcome if _fits(made, outcome) else _from_result(made, "measured-cross", outcome)
    said = agreed(pair for pair in pairs if was_said(pair))
    if said is not None and _open(outcome):
        return _from_result(said, "source-statement", outcome)
    return outcome


def measured_line(pair: MeasuredPair) -> str:
    """One row in short: `yes, 83 % fruit set (measured cross, JAHED2018)`."""
    fruit_set = f", {pair.fruit_set_pct} % fruit set" if pair.fruit_set_pct else ""
    return f"{pair.result}{fruit_set} ({pair.kind}, {pair.source})"


def _fits(measured: Answer, outcome: Outcome) -> bool:
    return measured == outcome.answer or (measured == "yes" and outcome.answer == "half")


def _open(outcome: Outcome) -> bool:
    """Whether no rule decides: not known, or only assumed for want of a table."""
    return outcome.answer == "unknown" or outcome.code == "assumed-compatible"


def _from_result(result: Answer, code: str, rule: Outcome) -> Outcome:
    fraction = _FRACTIONS[result]
    return Outcome(result, fraction, float(fraction > 0.0), code, rule.accepted, rule.refused)
