"""Why a limb does not crop: which stage fails, which causes fit, what would tell them apart.

Stages: A no or few flowers, B dead or malformed flowers, C sound flowers and no set, D set and
then lost. Pollination can explain only C. The points of the rules are added up: a heuristic that
anyone can redo by hand, not a probability.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from itertools import combinations
from typing import Literal, get_args

from pollinet.advice.observed import full_crop_share
from pollinet.advice.rules import (
    Evidence,
    Measures,
    Rows,
    Rule,
    compares,
    evidence,
    holds,
    rules_from,
    split,
)
from pollinet.advice.rules import said as sentence_of
from pollinet.advice.trials import least_to_judge

Stage = Literal["A", "B", "C", "D"]
STAGES: tuple[Stage, ...] = get_args(Stage)
LIKELY, POSSIBLE, LEAD = 4, 2, 2
"""Points from which a cause is called likely or possible, and by which it must lead to be named
as the one. Own convention."""

Confidence = Literal["likely", "possible", "weak hint", "open", "unlikely"]


@dataclass(frozen=True)
class StageAnswer:
    """Where the crop was lost.

    possible : stages that may have failed, in order. decided : whether an observation says so.
    sound : True where what was noted is a full crop.
    """

    possible: tuple[Stage, ...]
    decided: bool
    sound: bool
    said: tuple[Evidence, ...]


@dataclass(frozen=True)
class CauseAnswer:
    """One cause with what speaks for it and against it."""

    cause: str
    title: str
    stages: tuple[str, ...]
    points: int
    confidence: Confidence
    evidence_for: tuple[Evidence, ...]
    evidence_against: tuple[Evidence, ...]
    meaning: str
    remedy: str
    caution: str
    source: str
    status: str


@dataclass(frozen=True)
class TrialAnswer:
    """A cheap test and what it would show under the leading causes."""

    test: str
    title: str
    how: str
    outcomes: tuple[tuple[str, str], ...]
    caution: str
    source: str


@dataclass(frozen=True)
class Uncounted:
    """A test that was made and is no evidence.

    counted : on how many; None: it is no count. needed : how many would do; None: it was made on
    enough, and what it showed speaks neither for a cause nor against one.
    """

    title: str
    counted: int | None
    needed: int | None


@dataclass(frozen=True)
class Diagnosis:
    """All that can be said about one limb in one year.

    causes : those that can explain a stage that may have failed, best first.
    decided : the cause that leads clearly on more than one fact; None: not decided.
    questions : (question, option of `pollinet record`), the most telling first.
    too_few : (clusters counted, clusters needed) where so few cannot show a lack of set.
    not_counted : tests that were made and are no evidence.
    """

    stage: StageAnswer
    causes: tuple[CauseAnswer, ...]
    decided: CauseAnswer | None
    test: TrialAnswer | None
    questions: tuple[tuple[str, str], ...]
    too_few: tuple[int, int] | None
    not_counted: tuple[Uncounted, ...] = ()


def diagnose(fruit: str, measures: Measures, tables: Mapping[str, Rows]) -> Diagnosis:
    """Stage, causes, test and questions from what is known of a limb.

    Parameters
    ----------
    fruit : kind of fruit, for rules that hold for some only.
    measures : what is known; what is missing is not known and counts for nothing.
    tables : the tables of the advice by name.
    """
    stage = failing_stage(fruit, measures, tables["stages"])
    rules = rules_from(tables["evidence"], "cause")
    causes = ranked(fruit, measures, stage.possible, tables["causes"], rules, tables["remedies"])
    decided = leading(causes) if stage.decided else None
    uncounted = not_counted(fruit, measures, tables)
    again = {name for name, made in uncounted.items() if made.needed}
    used = {name: measure for name, measure in measures.items() if name not in again}
    return Diagnosis(
        stage=stage,
        causes=causes,
        decided=decided,
        test=separating_test(causes, decided, used, tables),
        questions=open_questions(fruit, used, stage, causes, rules, tables),
        too_few=_too_few(fruit, measures, stage, tables["set"]),
        not_counted=tuple(uncounted.values()),
    )


def not_counted(fruit: str, measures: Measures, tables: Mapping[str, Rows]) -> dict[str, Uncounted]:
    """Tests that were made and on which no rule holds, by their measure."""
    rules = rules_from(tables["evidence"], "cause") + rules_from(tables["stages"], "stages")
    telling = {measures[r.measure].fact or r.measure for r in rules if holds(r, measures, fruit)}
    found = {}
    for row in tables["tests"]:
        measure = measures.get(name := row["measure"])
        if measure is not None and (measure.fact or name) not in telling:
            needed = max((r.least_sample or 0 for r in rules if r.measure == name), default=0)
            few = (measure.sample or 0) < needed
            found[name] = Uncounted(row["title"], measure.sample, needed if few else None)
    return found


def failing_stage(fruit: str, measures: Measures, table: Rows) -> StageAnswer:
    """The first stage that failed; those before it that nobody looked at stay possible."""
    said: list[Evidence] = []
    sound: set[str] = set()
    failed: tuple[Stage, ...] = ()
    for rule in rules_from(table, "stages"):
        light = rule.finding == "light"
        if failed or (light and "A" in sound) or not holds(rule, measures, fruit):
            continue
        said.append(sentence_of(rule, measures))
        if light:
            # Few flowers that all set leave a light crop; where set is not told it stays open.
            failed = ("A",) if {"C", "D"} <= sound else ()
        elif rule.finding == "fails":
            failed = tuple(s for s in STAGES if s in split(rule.subject))
        else:
            sound |= set(split(rule.subject))
    if failed:
        # Clusters were there to fail, but their flowers may have been dead all along.
        unseen: tuple[Stage, ...] = ("B",) if failed[0] in ("C", "D") and "B" not in sound else ()
        return StageAnswer((*unseen, *failed), True, False, tuple(said))
    # What has set was alive; a full crop needs flowers enough, too.
    sound |= {"B"} if {"C", "D"} <= sound else set()
    full_crop = {"A", "C", "D"} <= sound
    possible = tuple(s for s in STAGES if s not in sound)
    return StageAnswer(possible, False, full_crop, tuple(said))


def ranked(
    fruit: str,
    measures: Measures,
    stages: Sequence[str],
    table: Rows,
    rules: Sequence[Rule],
    remedies: Rows = (),
) -> tuple[CauseAnswer, ...]:
    """Causes that can explain one of the stages, most points first, then as in the table."""
    answers = [
        _cause(row, fruit, measures, rules, remedies)
        for row in table
        if set(split(row["stages"])) & set(stages)
        and (not row["fruits"] or fruit in split(row["fruits"]))
    ]
    return tuple(sorted(answers, key=lambda answer: -answer.points))


def _cause(
    row: Mapping[str, str],
    fruit: str,
    measures: Measures,
    rules: Sequence[Rule],
    remedies: Rows,
) -> CauseAnswer:
    found = once(evidence((r for r in rules if r.subject == row["cause"]), measures, fruit))
    points = sum(piece.points for piece in found)
    fors = tuple(piece for piece in found if piece.points > 0)
    against = tuple(piece for piece in found if piece.points < 0)
    return CauseAnswer(
        row["cause"], row["title"], split(row["stages"]), points, confidence(points, fors),
        fors, against, row["meaning"], _remedy(row, fruit, measures, remedies),
        row["caution"], row["source"], row["status"],
    )  # fmt: skip


def _remedy(row: Mapping[str, str], fruit: str, measures: Measures, remedies: Rows) -> str:
    """What to do in this fruit and on this site: the first row that fits, else the cause's own."""
    for other in remedies:
        known = measures.get(other["measure"])
        fits = not other["measure"] or (
            known is not None and compares(known.value, other["is"], float(other["threshold"]))
        )
        kinds = split(other["fruits"])
        if other["cause"] == row["cause"] and fits and (not kinds or fruit in kinds):
            return other["remedy"]
    return row["remedy"]


def once(found: Sequence[Evidence]) -> tuple[Evidence, ...]:
    """Of several rules that hold on one fact the strongest alone: a fact counts once."""
    strongest: dict[str, Evidence] = {}
    for piece in found:
        held = strongest.get(piece.fact)
        if held is None or abs(piece.points) > abs(held.points):
            strongest[piece.fact] = piece
    return tuple(piece for piece in found if strongest[piece.fact] is piece)


def confidence(points: int, fors: Sequence[Evidence]) -> Confidence:
    """How sure: likely only on more than one fact; without any evidence open."""
    if points >= LIKELY and len({piece.fact for piece in fors}) > 1:
        return "likely"
    if points >= POSSIBLE:
        return "possible"
    if points > 0:
        return "weak hint"
    return "unlikely" if points < 0 else "open"


def leading(causes: Sequence[CauseAnswer]) -> CauseAnswer | None:
    """The cause that is likely and leads all others clearly; None: not decided."""
    if not causes or causes[0].confidence != "likely":
        return None
    second = causes[1].points if len(causes) > 1 else 0
    return causes[0] if causes[0].points - second >= LEAD else None


def separating_test(
    causes: Sequence[CauseAnswer],
    decided: CauseAnswer | None,
    measures: Measures,
    tables: Mapping[str, Rows],
) -> TrialAnswer | None:
    """The test not made yet that tells most pairs of the leading causes apart.

    Where none does: the test that tells most of them from another cause that is not spoken
    against. With one cause decided: the test that would confirm it. Tests stand in the table from
    the cheapest on.
    """
    outcomes: dict[str, dict[str, str]] = {}
    for row in tables["test_outcomes"]:
        outcomes.setdefault(row["test"], {})[row["cause"]] = row["outcome"]
    left = [row for row in tables["tests"] if row["measure"] not in measures]
    if decided is not None:
        confirming = {row["cause"]: row["test"] for row in tables["causes"]}[decided.cause]
        rows = [row for row in left if row["test"] == confirming]
        return _test(rows[0], causes[:1], outcomes) if rows else None
    top = max((cause.points for cause in causes), default=0)
    standing = [cause for cause in causes if cause.points >= 0]
    near = [c for c in standing if c.points >= top - LEAD and c.evidence_for] or standing
    for candidates in (near, standing):
        told = [_told_apart(near, candidates, outcomes.get(row["test"], {})) for row in left]
        if any(told):
            # The first of equally good ones is the cheapest.
            return _test(left[told.index(max(told))], candidates, outcomes)
    return None


def _told_apart(
    near: Sequence[CauseAnswer], candidates: Sequence[CauseAnswer], outcomes: Mapping[str, str]
) -> int:
    """How many pairs of causes, one of them leading, a test tells apart."""
    return sum(
        outcomes[a.cause] != outcomes[b.cause]
        for a, b in combinations(candidates, 2)
        if a.cause in outcomes and b.cause in outcomes and (a in near or b in near)
    )


def _test(
    row: Mapping[str, str],
    causes: Sequence[CauseAnswer],
    outcomes: Mapping[str, Mapping[str, str]],
) -> TrialAnswer:
    told = outcomes.get(row["test"], {})
    shown = tuple((cause.title, told[cause.cause]) for cause in causes if cause.cause in told)
    return TrialAnswer(row["test"], row["title"], row["how"], shown, row["caution"], row["source"])


def open_questions(
    fruit: str,
    measures: Measures,
    stage: StageAnswer,
    causes: Sequence[CauseAnswer],
    rules: Sequence[Rule],
    tables: Mapping[str, Rows],
) -> tuple[tuple[str, str], ...]:
    """What to tell first: what decides the stage, then what weighs most among the open causes."""
    weight: dict[str, int] = {}
    if not stage.sound and not stage.decided:
        weight = dict.fromkeys(_stage_questions(stage), 1000)
    elif {"C", "D"} <= set(stage.possible):
        weight = {"first_set_low_p": 1000}
    open_ones = {cause.cause for cause in causes if cause.points > -LIKELY}
    for rule in rules:
        if rule.subject in open_ones and (not rule.fruits or fruit in rule.fruits):
            weight[rule.measure] = weight.get(rule.measure, 0) + abs(rule.points)
    asked = [row for row in tables["questions"] if row["measure"] in weight]
    asked = [row for row in asked if row["measure"] not in measures]
    asked.sort(key=lambda row: -weight[row["measure"]])
    return tuple(dict.fromkeys((row["question"], row["option"]) for row in asked))


def _stage_questions(stage: StageAnswer) -> tuple[str, ...]:
    asks = {"A": "clusters", "B": "dead_share", "C": "set_low_p", "D": "first_set_low_p"}
    if "A" in stage.possible:
        return (asks["A"], asks["C"])
    return tuple(asks[letter] for letter in stage.possible)


def _too_few(
    fruit: str, measures: Measures, stage: StageAnswer, table: Rows
) -> tuple[int, int] | None:
    if not {"C", "D"} & set(stage.possible):
        return None
    needed = least_to_judge(full_crop_share(fruit, table))
    counted = measures.get("set_low_p") or measures.get("first_set_low_p")
    if counted is not None:
        clusters = counted.sample or 0
    elif "clusters" in measures and measures["clusters"].value >= 1:
        clusters = int(measures["clusters"].value)
    else:
        return None
    return (clusters, needed) if clusters < needed else None
