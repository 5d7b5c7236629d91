"""What notes changed: bloom dates and verdicts of a garden before and after."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace

from pollinet.domain import Records
from pollinet.network.coverage import LimbVerdict
from pollinet.study import Study
from pollinet.summary.limbs import LimbSummary, limb_summaries


@dataclass(frozen=True)
class MovedBloom:
    """A variety whose usual full bloom is another now. full : day of the year. [days]"""

    variety: str
    full: int
    days: int


@dataclass(frozen=True)
class JudgedAnew:
    """A limb whose verdict is another now."""

    limb: str
    before: LimbVerdict
    now: LimbVerdict


@dataclass(frozen=True)
class NoteEffect:
    """What is otherwise now."""

    moved: tuple[MovedBloom, ...]
    judged: tuple[JudgedAnew, ...]


def note_effect(before: Study, now: Study) -> NoteEffect:
    """The same garden with fewer and with more notes."""
    if before.records == now.records:
        return NoteEffect((), ())
    old = {limb.node.id: limb for limb in limb_summaries(before)}
    pairs = [(old[new.node.id], new) for new in limb_summaries(now) if new.node.id in old]
    return NoteEffect(_moved(pairs), _judged(pairs))


def without_notes(study: Study) -> Study:
    """The same garden, had nothing been noted."""
    return replace(study, records=Records())


def _moved(pairs: Sequence[tuple[LimbSummary, LimbSummary]]) -> tuple[MovedBloom, ...]:
    found = {}
    for old, new in pairs:
        if old.bloom is None or new.bloom is None or old.bloom.full == new.bloom.full:
            continue
        # The shorter way round the year: bloom in the south may lie on both sides of New Year.
        apart = (new.bloom.full - old.bloom.full + 182) % 365 - 182
        found[new.node.variety] = MovedBloom(new.node.variety.name, new.bloom.full, apart)
    return tuple(found.values())


def _judged(pairs: Sequence[tuple[LimbSummary, LimbSummary]]) -> tuple[JudgedAnew, ...]:
    return tuple(
        JudgedAnew(new.node.id, old.coverage.verdict, new.coverage.verdict)
        for old, new in pairs
        if old.coverage and new.coverage and old.coverage.verdict != new.coverage.verdict
    )
