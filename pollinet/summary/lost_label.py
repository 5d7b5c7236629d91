"""A limb without a label → the varieties that fit what was seen on it, and what would part them."""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass
from typing import Literal

import numpy as np

from pollinet.advice.harvest import HARVEST_SD_DAYS
from pollinet.advice.label import (
    Fit,
    SeenDay,
    bagged_likelihood,
    cross_likelihood,
    day_likelihood,
    fitting,
    harvest_likelihood,
    joint_shares,
    parting,
)
from pollinet.compatibility.verdict import cross_verdict
from pollinet.days import month_and_day
from pollinet.domain import (
    Bloom,
    FloatArray,
    Limb,
    Observation,
    Stage,
    Variety,
    VarietyId,
)
from pollinet.findings import Finding, has_errors
from pollinet.messages import mark, say
from pollinet.phenology.climate import days_into_season
from pollinet.phenology.notes import NOTE_SD_DAYS
from pollinet.phenology.positions import MORNING
from pollinet.readers.names import one_of
from pollinet.readers.observations import places
from pollinet.readers.records import bloom_records
from pollinet.readers.shared_tables import read_shared
from pollinet.study import Study
from pollinet.summary.alone import OwnPollen, alone_of
from pollinet.summary.suits import garden_harvests
from pollinet.summary.varieties import listed, parse_conditions, values_of

Test = Literal["bloom", "pick", "bagged", "alleles"]
"""What would tell varieties apart: full bloom beside a limb that is known, the week of the first
pick, fruit in bags, S-alleles by a laboratory."""

OWN_POLLEN: Mapping[OwnPollen, float] = {
    "yes": 0.97, "no": 0.03, "partly": 0.5, "disputed": 0.5, "unknown": float("nan")
}  # fmt: skip
"""Chance that a variety's own pollen serves it, by what is told; a table may be wrong. Own
convention."""


@dataclass(frozen=True)
class Asked:
    """What the grower tells beside the log.

    picked : day of the year of the first pick; None: not told.
    sets_with, bare_with : varieties whose pollen alone gave fruit, or none.
    where : conditions on what is known of a variety, such as `ploidy=3`.
    """

    picked: int | None = None
    sets_with: tuple[VarietyId, ...] = ()
    bare_with: tuple[VarietyId, ...] = ()
    where: tuple[str, ...] = ()


@dataclass(frozen=True)
class Spring:
    """One note of bloom on the limb. beside : limbs that were noted at the same stage that spring,
    with the days that it was after each; none: by its date alone. later : mean of these; or 0."""

    year: int
    stage: Stage
    after: tuple[tuple[str, int], ...]
    later: float

    @property
    def beside(self) -> tuple[str, ...]:
        """The limbs that it is compared with."""
        return tuple(limb for limb, _days in self.after)


@dataclass(frozen=True)
class Candidate:
    """A variety of the shortlist.

    also : clones of it, which bloom alike. after : days of full bloom after the limb of `Label`'s
    `beside`, with its SD; picked : first pick, day of the year. All None where not known.
    """

    fit: Fit
    variety: Variety
    also: tuple[str, ...]
    after: float | None
    after_sd: float | None
    picked: float | None
    own_pollen: OwnPollen


@dataclass(frozen=True)
class Label:
    """What a limb without a label may be.

    candidates : all that fit, best first; the list ends after `MOST`.
    looked_at : varieties that could be judged. unjudged : those of the fruit of which nothing is
    known that was seen. ruled_out : by the conditions. beside : the limb that full bloom of the
    candidates is told against; None: no other of its fruit is known.
    tests : what would part those that fit, best first, with how well: see `advice.label.parting`.
    """

    limb: Limb
    springs: tuple[Spring, ...]
    asked: Asked
    bagged: tuple[int, int] | None
    candidates: tuple[Candidate, ...]
    looked_at: int
    unjudged: int
    ruled_out: int
    beside: Limb | None
    tests: tuple[tuple[Test, float], ...]

    @property
    def listed(self) -> tuple[Candidate, ...]:
        """Those that are shown."""
        return self.candidates[:MOST]

    @property
    def more(self) -> int:
        """How many more fit."""
        return len(self.candidates) - len(self.listed)


MOST = 8
"""Varieties on a shortlist at most. Own convention."""


def label_of(
    study: Study, limb: Limb, asked: Asked = Asked()
) -> tuple[Label | None, tuple[Finding, ...]]:
    """Look for the varieties that fit; None where nothing is noted that could tell them apart."""
    species = limb.variety.species
    notes = [seen for seen in study.records.sound if seen.limb == limb.id]
    days = [seen for seen in notes if seen.kind == "stage" and seen.day is not None]
    bags = [seen for seen in notes if seen.kind == "bagged" and seen.number is not None and seen.of]
    if study.winters is None:
        days = []
    if not (days or bags or asked.picked or asked.sets_with or asked.bare_with):
        return None, (_nothing(study, limb),)
    out, problems = _ruled_out(study, species, asked.where)
    if has_errors(problems):
        return None, problems
    known = [v for name, v in sorted(study.known.items())
             if name.species == species and name not in _nameless(study)]  # fmt: skip
    heads = _heads([v for v in known if v.id not in out])
    bloom = None if study.winters is None else _bloom(study, limb, list(heads))
    ripe = garden_harvests(study, list(heads), bloom) if bloom is not None else {}
    picks = np.array([ripe[v.id].day if v.id in ripe else np.nan for v in heads])
    selfed = [alone_of(study, v.id).self_fertile for v in heads]
    pieces: list[FloatArray] = []
    springs: tuple[Spring, ...] = ()
    if days and bloom is not None:
        seen, springs = _days(study, limb, days, bloom, [v.id for v in heads])
        is_dated = np.isin(np.arange(len(bloom.varieties)), np.flatnonzero(bloom.dated))
        rows = [bloom.varieties.index(v.id) for v in heads]
        pieces.append(np.where(is_dated[rows], day_likelihood(seen), np.nan))
    if asked.picked is not None and not _ripens(asked.picked, picks):
        return None, (_out_of_season(study, limb, picks),)
    if asked.picked is not None:
        off = (asked.picked - picks + 182) % 365 - 182
        pieces.append(harvest_likelihood(-off, 0.0, HARVEST_SD_DAYS))
    bagged = None
    if bags:
        bagged = sum(int(s.number or 0) for s in bags), sum(int(s.of or 0) for s in bags)
        chances = np.array([OWN_POLLEN[word] for word in selfed])
        pieces.append(bagged_likelihood(chances, *bagged))
    pieces += _crosses(study, list(heads), asked)
    # What alleles say of a variety of which no date is known would put it above those with dates.
    dates = pieces[: len(pieces) - len(asked.sets_with) - len(asked.bare_with) - bool(bags)]
    is_told = np.isfinite(np.array(dates or pieces)).any(axis=0)
    # A cross tells nothing of a variety whose alleles nobody knows: it is not judged by it.
    crosses = pieces[len(pieces) - len(asked.sets_with) - len(asked.bare_with) :]
    is_told &= np.isfinite(np.array([np.zeros(len(heads)), *crosses])).all(axis=0)
    judged = [v for v, told in zip(heads, is_told, strict=True) if told]
    if not judged:
        return None, (_nothing(study, limb),)
    shares = joint_shares([piece[is_told] for piece in pieces])
    fits = fitting([v.id for v in judged], shares)
    beside = _beside(study, limb, bloom)
    candidates = tuple(_candidates(fits, heads, bloom, beside, picks, selfed))
    return Label(
        limb, springs, asked, bagged, candidates, len(judged),
        len(heads) - len(judged), len(out), beside, tuple(_tests(candidates)),
    ), problems  # fmt: skip


FAR_DAYS = 35.0
"""A first pick so far from that of every variety of its fruit is a slip, such as of the hemisphere.
Own convention: three times the error of an estimated harvest. [days]"""


def _ripens(picked: int, picks: FloatArray) -> bool:
    """Whether any variety ripens about that day; nothing is said where no harvest is known."""
    off = np.abs((picked - picks + 182) % 365 - 182)
    return not np.isfinite(picks).any() or bool(np.nanmin(off) <= FAR_DAYS)


def _out_of_season(study: Study, limb: Limb, picks: FloatArray) -> Finding:
    """That no variety of the fruit is picked then, and when they are: by the densest half year."""
    days = np.sort(picks[np.isfinite(picks)] % 365)
    gap = int(np.argmax(np.diff(np.append(days, days[0] + 365))))
    first, last = days[(gap + 1) % len(days)], days[gap]
    message = say("no {fruit} of the catalogue ripens here about that day",
                  fruit=say(limb.variety.species))  # fmt: skip
    cure = say("here they are picked from {first} to {last}; give month and day, as 09-20",
               first=_day(first), last=_day(last))  # fmt: skip
    return Finding("error", "out-of-season", message, study.plan.file, "--picked", cure=cure)


def _day(day: float) -> str:
    return "{:02d}-{:02d}".format(*month_and_day(round(float(day))))


def _nothing(study: Study, limb: Limb) -> Finding:
    message = say("nothing is known of {limb} that would tell varieties apart", limb=limb.id)
    cure = say(
        "note full bloom on it and, in the same spring, on limbs whose variety is known "
        "(`pollinet record`), or give --picked"
    )
    return Finding("error", "nothing-noted", message, study.plan.file, limb.id, cure=cure)


def _nameless(study: Study) -> set[VarietyId]:
    return {variety.id for variety in study.plan.presumed}


def _heads(varieties: Sequence[Variety]) -> dict[Variety, tuple[str, ...]]:
    """One variety for each that are clones of each other, with the names of the others."""
    groups: dict[str, list[Variety]] = {}
    for variety in varieties:
        groups.setdefault(variety.fertility.clone, []).append(variety)
    heads = {}
    for clone, group in groups.items():
        group.sort(key=lambda v: (v.id.name != clone, not v.bloom, v.id.name))
        heads[group[0]] = tuple(sorted(v.id.name for v in group[1:]))
    return heads


def _ruled_out(
    study: Study, species: str, where: Sequence[str]
) -> tuple[set[VarietyId], tuple[Finding, ...]]:
    """Varieties that do not meet a condition; what is not known of one rules nothing out."""
    if not where:
        return set(), ()
    fruit = study.catalogue.rules.fruits[species]
    shared = read_shared(study.own_folder, [])
    conditions, problems = parse_conditions(where, fruit, study.catalogue, shared)
    out = set()
    for row in listed(fruit, study.catalogue, shared) if not has_errors(problems) else ():
        values = values_of(row, shared)
        told = ((one, values.get(one.property.name, ())) for one in conditions)
        if any(known and not one.holds(known, fruit) for one, known in told):
            out.add(row.variety.id)
    return out, problems


# --- bloom --------------------------------------------------------------------------------------


def _bloom(study: Study, limb: Limb, heads: Sequence[Variety]) -> Bloom:
    """Bloom of the candidates and of the garden, learnt from the notes on all other limbs."""
    others = [seen for seen in study.records.sound if seen.limb != limb.id]
    nameless = _nameless(study)
    learnt = [one for one in bloom_records(others, study.plan) if one.variety not in nameless]
    return study.bloom_of(study.varieties(v.id for v in heads), learnt)


def _hours(bloom: Bloom, stage: Stage) -> FloatArray:
    return {"start": bloom.start_h, "full": bloom.full_h, "end": bloom.end_h}[stage]


def _days(
    study: Study, limb: Limb, days: Sequence[Observation], bloom: Bloom, heads: Sequence[VarietyId]
) -> tuple[list[SeenDay], tuple[Spring, ...]]:
    """Each note against the limbs of its fruit that were noted at the same stage that spring.

    Where there are none, against the date itself: in that winter if it is in the record, else in
    any, which tells little, as whole springs move.
    """
    variety_of, nameless = places(study.plan), _nameless(study)
    rows = [bloom.varieties.index(name) for name in heads]
    latitude, years = study.plan.site.latitude, study.outlook.harvest_years  # type: ignore[union-attr]
    seen, springs = [], []
    for note in days:
        assert note.day is not None
        stage: Stage = note.word  # type: ignore[assignment]
        hours = _hours(bloom, stage)
        beside = [
            other
            for other in study.records.sound
            if (other.kind, other.word, other.year) == ("stage", stage, note.year)
            and other.limb != limb.id and other.day is not None
            and (name := variety_of.get(other.limb)) is not None
            and name.species == limb.variety.species and name not in nameless
        ]  # fmt: skip
        dated = {
            o.limb: o for o in beside if bloom.dated[bloom.varieties.index(variety_of[o.limb])]
        }
        if dated:
            after = {name: (note.day - o.day).days for name, o in dated.items() if o.day}
            later = float(np.mean(list(after.values())))
            by = np.mean([hours[bloom.varieties.index(variety_of[name])] for name in dated], axis=0)
            sd = NOTE_SD_DAYS * (1 + 1 / len(dated)) ** 0.5
            seen.append(SeenDay((hours[rows] - by) / 24, later, sd))
            springs.append(Spring(note.year, stage, tuple(sorted(after.items())), later))
            continue
        there = [i for i, year in enumerate(years) if year == note.year] or list(range(len(years)))
        day = note.day.timetuple().tm_yday
        start = bloom.starts[there[0]]
        at = days_into_season(start, float(min(day, 365)), latitude) + MORNING[stage]
        seen.append(SeenDay(hours[rows][:, :, there] / 24, at, NOTE_SD_DAYS))
        springs.append(Spring(note.year, stage, (), 0.0))
    return seen, tuple(springs)


def _beside(study: Study, limb: Limb, bloom: Bloom | None) -> Limb | None:
    """The limb beside which a further note would tell most: the best dated one of its fruit."""
    if bloom is None:
        return None
    nameless = _nameless(study)
    others = [
        (float(bloom.sd_days[row]), other.id, other)
        for other in study.plan.limbs
        if other.id != limb.id and other.variety.species == limb.variety.species
        and other.variety not in nameless
        and bloom.dated[row := bloom.varieties.index(other.variety)]
    ]  # fmt: skip
    return min(others)[2] if others else None


# --- crosses ------------------------------------------------------------------------------------


def _crosses(study: Study, heads: Sequence[Variety], asked: Asked) -> Iterator[FloatArray]:
    rules = study.catalogue.rules
    for names, has_set in ((asked.sets_with, True), (asked.bare_with, False)):
        for name in names:
            donor = study.known[name].fertility
            verdicts = [cross_verdict(donor, v.fertility, rules) for v in heads]
            accepted = [np.nan if v.answer == "unknown" else v.probability for v in verdicts]
            yield cross_likelihood(np.array(accepted), has_set)


# --- the shortlist ------------------------------------------------------------------------------


def _candidates(
    fits: Sequence[Fit],
    heads: Mapping[Variety, tuple[str, ...]],
    bloom: Bloom | None,
    beside: Limb | None,
    picks: FloatArray,
    selfed: Sequence[OwnPollen],
) -> Iterator[Candidate]:
    at = {variety.id: place for place, variety in enumerate(heads)}
    varieties = list(heads)
    for fit in fits:
        place = at[fit.variety]
        variety = varieties[place]
        after = sd = None
        if bloom is not None and beside is not None:
            row, other = (bloom.varieties.index(v) for v in (fit.variety, beside.variety))
            if bloom.dated[row]:
                apart = (bloom.full_h[row] - bloom.full_h[other]) / 24
                after, sd = float(np.nanmean(apart)), float(np.nanstd(apart))
        day = float(picks[place])
        yield Candidate(
            fit, variety, heads[variety], after, sd, None if np.isnan(day) else day % 365,
            selfed[place],
        )  # fmt: skip


def _tests(candidates: Sequence[Candidate]) -> list[tuple[Test, float]]:
    """What would part them, best first; what would tell next to nothing is left out."""
    if len(candidates) < 2:
        return []
    shares = np.array([one.fit.share for one in candidates])

    def told(values: Sequence[float | None]) -> FloatArray:
        return np.array([np.nan if value is None else value for value in values])

    spreads = [one.after_sd for one in candidates if one.after_sd is not None]
    noise = (float(np.mean(spreads)) ** 2 + 2 * NOTE_SD_DAYS**2) ** 0.5 if spreads else 1.0
    genotypes = [one.variety.fertility.genotype for one in candidates]
    kinds = {g.alleles: float(i) for i, g in enumerate(genotypes) if g is not None and g.complete}
    known = [kinds[g.alleles] for g in genotypes if g is not None and g.complete]
    selfed = [OWN_POLLEN[one.own_pollen] for one in candidates]
    is_fertile = any(one.own_pollen == "yes" for one in candidates)
    found: list[tuple[Test, float]] = [
        ("bloom", parting(told([one.after for one in candidates]), shares, noise)),
        ("pick", parting(told([one.picked for one in candidates]), shares, HARVEST_SD_DAYS)),
        ("bagged", parting(np.array(selfed), shares, 0.2) if is_fertile else 0.0),
        ("alleles", ALLELES * len(known) / len(candidates) if len(set(known)) > 1 else 0.0),
    ]
    return sorted((one for one in found if one[1] >= WORTH), key=lambda one: -one[1])


ALLELES = 3.0
"""How well S-alleles part varieties that have different ones, in errors of a look; as much less as
of fewer of the list they are known. Own convention."""

WORTH = 0.3
"""Least spread of the shortlist, in errors of a look, at which the look is worth its while. Own
convention."""


def unknown_limb(study: Study, text: str) -> tuple[Limb | None, tuple[Finding, ...]]:
    """The limb of an id; with what is wrong."""
    found = next((limb for limb in study.plan.limbs if limb.id == text), None)
    if found is not None:
        return found, ()
    cure = one_of(text, [limb.id for limb in study.plan.limbs], mark("the limbs are: {names}"))
    message = say('the plan has no limb "{limb}"', limb=text)
    return None, (Finding("error", "unknown-limb", message, study.plan.file, "LIMB", cure=cure),)
