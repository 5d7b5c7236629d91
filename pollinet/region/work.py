"""A chunk of places in, arrays of answers out: the same for a place as its own study gives.

The stages share what they can: what hangs on no place is worked out once a process, and chill and
heat of several places at once. Nothing else goes from one place to the next.
"""

from __future__ import annotations

import gc
import pickle
from calendar import isleap
from collections.abc import Iterable, Iterator, Mapping, Sequence
from dataclasses import dataclass, fields, replace
from functools import lru_cache
from typing import Any, get_args

import numpy as np
from numpy.typing import NDArray

from pollinet.answers.bloom import points_of_bloom
from pollinet.answers.parts import standing
from pollinet.days import is_southern
from pollinet.domain import Bloom, DailyWeather, FloatArray, Site
from pollinet.findings import Finding, has_errors, in_order
from pollinet.messages import joined, say
from pollinet.network.answer import CoverStatus
from pollinet.network.coverage import LimbCoverage, LimbVerdict, Strength
from pollinet.phenology.chill import compiled, hour_by_hour
from pollinet.phenology.sums import many_season_sums
from pollinet.readers.places import Place
from pollinet.readers.weather import parse_weather
from pollinet.study import Study
from pollinet.study.elsewhere import moved
from pollinet.study.opening import on_record
from pollinet.summary.limbs import enough_chill
from pollinet.summary.sites import STANDINGS, PlaceStanding

VERDICTS: tuple[str, ...] = get_args(LimbVerdict)
STRENGTHS: tuple[str, ...] = get_args(Strength)
STATUSES: tuple[str, ...] = get_args(CoverStatus)
SHARES = ("sure", "expected", "possible", "expected_low", "expected_high", "expected_error")
"""Shares of winters of a limb, as `answers.parts.standing` names them."""

STAGES = ("start", "full", "end")
POINTS = ("early", "likeliest", "late")
"""10 %, 50 % and 90 % points of the draws."""

NONE = -1
"""Stands for a word where there is none."""

BLOCK, COMPILED_BLOCK = 8, 1
"""Winters of so many places, or steps of warming of one, are added up in one call: more are no
faster, and take more room. Compiled code wants arrays that are near at hand. Own estimates."""


@dataclass(frozen=True, eq=False)
class Question:
    """What is asked of every place.

    garden : as from `study.elsewhere.movable`.
    warmer_c : steps, the first of them 0. [°C]
    from_catalogue : whether the best set may hold any variety of the catalogue.
    time_limit_s : of each search for a best set.
    is_compiled : whether chill is added up by compiled code, where there is any.
    """

    garden: Study
    warmer_c: tuple[float, ...]
    from_catalogue: bool
    time_limit_s: float
    is_compiled: bool

    @property
    def limbs(self) -> tuple[str, ...]:
        """Ids of the limbs that are told of, in the order of the plan."""
        return tuple(limb.id for limb in self.garden.plan.limbs)


@dataclass(frozen=True, eq=False)
class Answers:
    """Answers for P places in C climates, of L limbs and V varieties; texts are English.

    latitude, longitude, elevation_m : shape (P,); NaN: not known. The height is that which the
        weather holds for, `told` whether it was given.
    generated : whether the winters were made up. winters : how many. km : to the nearest station,
        NaN: it has a record.
    standing : index into `STANDINGS`, shape (P, C).
    covered : 1, 0, or NONE where a limb need not crop or nothing is known; shape (P, C, L).
    verdict, strength : indices into `VERDICTS`, `STRENGTHS`. shares : shape (P, C, L, 6).
    chill : share of winters in which a limb has all its chill, shape (P, C, L); NaN: not known.
    best : varieties to graft, shape (P, C). status : index into `STATUSES`.
    uncovered : limbs that no set covers.
    bloom : mean day of the season over the winters in which it blooms, shape (P, C, V, stages,
        points), NaN: never. blooms : share of winters, shape (P, C, V).
    codes, findings : of each place.
    """

    name: NDArray[np.str_]
    latitude: FloatArray
    longitude: FloatArray
    elevation_m: FloatArray
    told: NDArray[np.bool_]
    generated: NDArray[np.bool_]
    winters: NDArray[np.int64]
    km: FloatArray
    standing: NDArray[np.int8]
    covered: NDArray[np.int8]
    verdict: NDArray[np.int8]
    strength: NDArray[np.int8]
    shares: FloatArray
    chill: FloatArray
    best: NDArray[np.str_]
    status: NDArray[np.int8]
    uncovered: NDArray[np.str_]
    bloom: FloatArray
    blooms: FloatArray
    codes: NDArray[np.str_]
    findings: NDArray[np.str_]


def joined_answers(several: Sequence[Answers]) -> Answers:
    """The answers of several chunks as one."""
    return Answers(
        **{
            field.name: np.concatenate([getattr(one, field.name) for one in several])
            for field in fields(Answers)
        }
    )


@dataclass(frozen=True, eq=False)
class Task:
    """A chunk of places. weather : content of the files that they name; None: there is none."""

    places: tuple[Place, ...]
    weather: tuple[bytes | None, ...]


@lru_cache(maxsize=1)
def unpacked(question: bytes) -> Question:
    """A question that came as bytes; opened once a process, with what its places share."""
    told: Question = pickle.loads(question)
    # The catalogue stays to the end: looking for garbage in it again and again takes time.
    gc.freeze()
    return told


def answer_packed(question: bytes, task: Task) -> Answers:
    """`answer` for a process that a cluster started."""
    return answer(unpacked(question), task)


def answer(question: Question, task: Task) -> Answers:
    """Answers for a chunk of places; whatever is wrong with one is told of that one."""
    rows: list[dict[str, Any]] = []
    for places in _blocks(tuple(zip(task.places, task.weather, strict=True)), question):
        opened = [_opened(question.garden, place, content) for place, content in places]
        _add_up([study for study, _ in opened if study is not None], question)
        rows += [
            _row(question, place, study, findings)
            for (place, _), (study, findings) in zip(places, opened, strict=True)
        ]
    kinds = {field.name: field.type for field in fields(Answers)}
    texts = {name for name, kind in kinds.items() if "str_" in str(kind)}
    return Answers(
        **{name: np.array([row[name] for row in rows], dtype=np.str_ if name in texts else None)
           for name in kinds}
    )  # fmt: skip


_Told = tuple[Place, bytes | None]


def _blocks(places: Sequence[_Told], question: Question) -> Iterator[Sequence[_Told]]:
    is_fast = question.is_compiled and _compiled() is not None
    each = max(1, (COMPILED_BLOCK if is_fast else BLOCK) // len(question.warmer_c))
    for first in range(0, len(places), each):
        yield places[first : first + each]


# --- a place -----------------------------------------------------------------------------------


def _opened(
    garden: Study, place: Place, content: bytes | None
) -> tuple[Study | None, tuple[Finding, ...]]:
    """The garden in a place with its weather; None where nothing can be told."""
    if place.problem is not None:
        return None, (place.problem,)
    if place.weather is None:
        return _checked(_in(garden, place).on_station_winters(), ())
    if content is None:
        message = say("There is no weather file {path}.", path=place.weather.name)
        return None, (Finding("error", "missing-file", message, place.weather.name),)
    record, findings = parse_weather(content, place.weather.name, latitude=place.latitude)
    if record is None:
        return None, findings
    site = _told_by(place, record)
    if site.latitude is None or site.longitude is None:
        message = say("the file does not tell where it holds")
        cure = say("name it in a table of places, with its latitude and longitude")
        found = Finding("error", "no-place", message, place.weather.name, cure=cure)
        return None, in_order((*findings, found))
    study, doubts = on_record(_in(garden, site), record, place.weather.name)
    return _checked(study, findings + doubts)


def _told_by(place: Place, record: DailyWeather) -> Place:
    """A place with what its weather file tells of it, where nothing else does."""
    told = {
        name: getattr(record, name)
        for name in ("latitude", "longitude", "elevation_m")
        if getattr(place, name) is None
    }
    return replace(place, **told)


def _in(garden: Study, place: Place) -> Study:
    assert place.latitude is not None
    site = Site(garden.plan.site.name, place.latitude, place.longitude, place.elevation_m)
    return moved(garden, site)


def _checked(
    study: Study, findings: tuple[Finding, ...]
) -> tuple[Study | None, tuple[Finding, ...]]:
    findings = in_order(findings)
    if has_errors(findings):
        return None, findings
    findings = in_order(findings + study.gaps)
    if study.winters is None and not has_errors(findings):
        message = say("there is no weather for this place")
        findings = (Finding("error", "no-weather", message), *findings)
    return None if has_errors(findings) else study, findings


def _add_up(studies: Sequence[Study], question: Question) -> None:
    """Chill and heat of several places and steps of warming, in one call for all."""
    recurrence = (_compiled() if question.is_compiled else None) or hour_by_hour
    steps = question.warmer_c
    told = [study.warmer(step).outlook for study in studies for step in steps]
    winters = [one for one in told if one is not None]
    if not winters:
        return
    sums = many_season_sums(winters, recurrence)
    for place, study in enumerate(studies):
        own = sums[place * len(steps) : (place + 1) * len(steps)]
        study.take_sums(dict(zip(steps, own, strict=True)))


_compiled = lru_cache(maxsize=1)(compiled)
"""Compiled once a process."""


def _row(
    question: Question, place: Place, study: Study | None, findings: tuple[Finding, ...]
) -> dict[str, Any]:
    """What `Answers` has for one place."""
    climates = [_silent(question)] * len(question.warmer_c)
    row: dict[str, Any] = {
        "latitude": np.nan if place.latitude is None else place.latitude,
        "longitude": np.nan if place.longitude is None else place.longitude,
        "elevation_m": np.nan if place.elevation_m is None else place.elevation_m,
        "generated": False, "winters": 0, "km": np.nan,
    }  # fmt: skip
    if study is not None:
        assert study.record is not None and study.winters is not None
        weak = any(found.code == "weak-climate" for found in findings)
        climates = [_climate(question, study.warmer(c), weak=weak) for c in question.warmer_c]
        shares = zip(study.varieties(), climates[0]["blooms"], strict=True)
        never = [variety.id.name for variety, share in shares if share == 0]
        if never:
            message = say("too warm or too cold: no bloom in any winter of {names}",
                          names=joined(never))  # fmt: skip
            findings = in_order((*findings, Finding("warning", "no-bloom", message)))
        height = study.record.elevation_m
        row |= {
            "latitude": study.plan.site.latitude,
            "longitude": study.plan.site.longitude,
            "elevation_m": _first(study.plan.site.elevation_m, height),
            "generated": study.record.generated,
            "winters": len(study.winters.harvest_years),
            "km": np.nan if study.climate is None else study.climate.nearest[0].km,
        }
    return {
        **row,
        "name": place.name,
        "told": study is not None and study.plan.site.elevation_m is not None,
        "codes": "; ".join(dict.fromkeys(found.code for found in findings)),
        "findings": "; ".join(dict.fromkeys(str(found.message) for found in findings)),
        **{key: np.array([climate[key] for climate in climates]) for key in climates[0]},
    }


def _first(*values: float | None) -> float:
    return next((value for value in values if value is not None), float("nan"))


def _silent(question: Question) -> dict[str, Any]:
    """What is told of a climate of which nothing is known."""
    limbs, varieties = len(question.limbs), len(question.garden.varieties())
    none = np.full(limbs, NONE, dtype=np.int8)
    return {
        "standing": np.int8(STANDINGS.index("not known")),
        "covered": none, "verdict": none, "strength": none,
        "shares": np.full((limbs, len(SHARES)), np.nan),
        "chill": np.full(limbs, np.nan),
        "best": "", "status": np.int8(NONE), "uncovered": "",
        "bloom": np.full((varieties, len(STAGES), len(POINTS)), np.nan),
        "blooms": np.full(varieties, np.nan),
    }  # fmt: skip


def _climate(question: Question, study: Study, *, weak: bool) -> dict[str, Any]:
    """What is told of a garden in one climate."""
    nodes = study.network.nodes
    rows = {nodes[row.node].id: row for row in study.coverage}
    limbs = [rows.get(name) for name in question.limbs]
    must = [row for row in limbs if row is not None]
    whole = all(row.covered for row in must)
    state: PlaceStanding = "not known" if weak else "has pollen" if whole else "lacks pollen"
    bloom, blooms = mean_bloom(study.bloom, study.plan.site.latitude)
    return {
        "standing": np.int8(STANDINGS.index(state)),
        "covered": np.array([NONE if row is None else row.covered for row in limbs], dtype=np.int8),
        "verdict": _words(limbs, "verdict", VERDICTS),
        "strength": _words(limbs, "strength", STRENGTHS),
        "shares": np.array([_shares(row) for row in limbs]),
        "chill": _chill(question, study),
        **_best(question, study, whole=whole),
        "bloom": bloom,
        "blooms": blooms,
    }


def _words(
    limbs: Iterable[LimbCoverage | None], name: str, words: Sequence[str]
) -> NDArray[np.int8]:
    found = [NONE if row is None else words.index(getattr(row, name)) for row in limbs]
    return np.array(found, dtype=np.int8)


def _chill(question: Question, study: Study) -> FloatArray:
    told = enough_chill(study)
    shares = [told.get(name) for name in question.limbs]
    return np.array([np.nan if share is None else share for share in shares])


def _shares(row: LimbCoverage | None) -> list[float]:
    told = standing(row)
    return [np.nan if row is None else told[f"winters_{name}"] for name in SHARES]


def _best(question: Question, study: Study, *, whole: bool) -> Mapping[str, Any]:
    """The smallest set to graft; where every limb is covered it is the empty one, unsought."""
    if whole:
        return {"best": "", "uncovered": "", "status": np.int8(STATUSES.index("nothing to add"))}
    network, found = study.cover(
        from_catalogue=question.from_catalogue, time_limit_s=question.time_limit_s
    )
    nodes = network.nodes
    return {
        "best": "; ".join(nodes[i].graft for i in found.added or found.partial),
        "uncovered": "; ".join(nodes[miss.node].id for miss in found.uncovered),
        "status": np.int8(STATUSES.index(found.status)),
    }


def mean_bloom(bloom: Bloom, latitude: float) -> tuple[FloatArray, FloatArray]:
    """Mean day over the winters with bloom, (V, stages, points), and their share, (V,).

    Days of the season without a leap day, of the dates that `bloom_by_winter_of` tells; NaN: never.
    """
    days = np.floor(np.stack(points_of_bloom(bloom)) / 24)  # (stages, points, V, W)
    # In the north a leap day lies behind from 29 February on, which counts as 1 March.
    leaps = [not is_southern(latitude) and isleap(start.year + 1) for start in bloom.starts]
    days -= np.array(leaps) & (days > LAST_OF_FEBRUARY)
    known = np.isfinite(days)
    count = known.sum(axis=-1)
    sums = np.where(known, days, 0.0).sum(axis=-1)
    mean = np.where(count > 0, sums / np.maximum(count, 1), np.nan)
    return np.moveaxis(mean, -1, 0), known[1, 1].mean(axis=-1)


LAST_OF_FEBRUARY = 151
"""Day of a northern season, 0 its first, on which 29 February or 1 March falls."""


def least_chill(answers: Answers) -> FloatArray:
    """Share of winters of the limb that has all its chill least often, (P, C); NaN: not known."""
    told = np.where(np.isnan(answers.chill), np.inf, answers.chill).min(axis=2, initial=np.inf)
    return np.where(np.isinf(told), np.nan, told)
