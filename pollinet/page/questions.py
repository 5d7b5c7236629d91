"""Questions that a screen asks of the garden, as they stand in an address, and what is told.

A question of the scions at hand is answered at once, with `SHORT_S` for each search. One that may
take long is asked of `behind`, which works it out in a process of its own: `answered` is what runs
there. Both give the same: data that JSON knows, or the bytes of a file.
"""

from __future__ import annotations

import json
from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass, replace
from typing import TYPE_CHECKING, Any, TypeAlias

from pollinet.errors import BadQuestion
from pollinet.findings import Finding
from pollinet.language import N_
from pollinet.messages import say
from pollinet.readers import plan_bounds
from pollinet.readers.typed_numbers import value_of

if TYPE_CHECKING:
    from pollinet.answers.cover import Searched, Wishes
    from pollinet.domain import VarietyId
    from pollinet.study import Study

SHORT_S = 2.0
"""Longest search while the browser waits: own convention. [s]"""

FEW_SCIONS = 6
"""So many scions are looked through for the picking season while the browser waits: own convention.
"""

MOST_ADDED = 20
"""Most varieties of a best set, as of `pollinet cover --add`."""

Said: TypeAlias = Callable[[str], None]
"""Takes the words for what is being done now, in English."""

GATHERING = N_("working out bloom and pollen of the varieties")
SEARCHING = N_("looking through the sets of varieties")
RANKING = N_("looking at each variety")
WRITING = N_("writing the pages")


@dataclass(frozen=True)
class Question:
    """One question. kind : key of `ANSWERS`. values : of the form, by name, empty ones left out."""

    kind: str
    values: tuple[tuple[str, str], ...] = ()

    def get(self, name: str) -> str:
        """The value of a name; empty: not told."""
        return dict(self.values).get(name, "")

    def names(self, name: str) -> tuple[str, ...]:
        """Names that are typed between commas or semicolons."""
        parts = self.get(name).replace(";", ",").split(",")
        return tuple(filter(None, map(str.strip, parts)))

    @property
    def from_catalogue(self) -> bool:
        """Whether all varieties of the catalogue may be chosen."""
        return self.get("from") == "catalogue"


def question_of(kind: str, values: Mapping[str, str]) -> Question:
    """The question of an address or of a form; what the kind does not ask is left out."""
    told = {name: values.get(name, "").strip() for name in FIELDS[kind]}
    if told.get("from") == "scions":
        del told["from"]
    return Question(kind, tuple((name, value) for name, value in told.items() if value))


def is_long(study: Study, question: Question) -> bool:
    """Whether it is worked out behind: it looks through the catalogue, or draws many pages."""
    if question.kind == "season" and len(study.free_scions()) > FEW_SCIONS:
        return True
    return question.kind == "report" or question.from_catalogue or bool(question.get("long"))


def answered(study: Study, question: Question, said: Said = lambda words: None) -> bytes:
    """What is told, as JSON or as a file; raises `BadQuestion` for names nobody knows."""
    told = ANSWERS[question.kind](study, question, said)
    return told if isinstance(told, bytes) else json.dumps(told).encode()


# --- numbers of a form -------------------------------------------------------------------------


def number_of(question: Question, name: str, low: float, high: float) -> float | None:
    """The number of a field; None: not told. Raises `BadQuestion` where it is none, or outside."""
    text = question.get(name)
    if not text:
        return None
    value = value_of(text)
    if value is not None and low <= value <= high:
        return value
    message = say("found {value}; allowed is {low} to {high}", value=text, low=low, high=high)
    raise BadQuestion([Finding("error", "out-of-bounds", message)])


def whole_of(question: Question, name: str, low: int, high: int) -> int | None:
    """The whole number of a field; as `number_of`."""
    value = number_of(question, name, low, high)
    return None if value is None else round(value)


# --- the smallest set --------------------------------------------------------------------------


def _gather(study: Study, said: Said, then: str, *, from_catalogue: bool) -> None:
    """Work out the bloom of all candidates, and say what comes then."""
    said(GATHERING)
    study.network_of(study.free_scions(from_catalogue=from_catalogue))
    said(then)


def cover_told(study: Study, question: Question, said: Said) -> dict[str, Any]:
    """The smallest set, or the best so many: the answer, its sets, each limb then, the proof."""
    from pollinet.answers.cover import cover_of, garden_jars, searched, with_aim
    from pollinet.wording.cover import best_notes, cover_notes, cover_rows, jar_note
    from pollinet.wording.sentences import cover_answer, miss_text

    winters = number_of(question, "level", 1, 10)
    study = with_aim(
        study,
        donors=whole_of(question, "donors", *plan_bounds.DONORS),
        level=None if winters is None else winters / 10,
        min_overlap_days=number_of(question, "overlap", *plan_bounds.OVERLAP_DAYS),
    )
    wishes = wishes_of(question, None if is_long(study, question) else SHORT_S)
    _gather(study, said, SEARCHING, from_catalogue=wishes.from_catalogue)
    try:
        found = searched(study, wishes)
    except BadQuestion as problem:
        raise BadQuestion([replace(one, place="") for one in problem.findings]) from problem
    network, cover, nodes = found.network, found.answer, found.network.nodes
    notes = cover_notes(found.passed(), network, cover)
    if found.best is not None:
        smallest = cover_answer(cover, nodes, study.plan.aim.level)
        notes = [*best_notes(found.best, network), smallest]
    return {
        "answer": cover_of(study, found, wishes).to_data(),
        "sets": [
            [{"species": one.species, "name": one.name} for one in chosen]
            for chosen in _sets(found)
        ],
        "rows": cover_rows(study.coverage, network, found.chosen),
        "misses": [miss_text(miss, nodes) for miss in cover.uncovered],
        "notes": [*notes, *jar_note(*garden_jars(study, network))],
    }


def _sets(found: Searched) -> list[list[VarietyId]]:
    """The sets that can be tried, the one told of first as the first."""
    sets = found.answer.alternatives if found.best is None else found.best.alternatives
    chosen = sets or ((found.chosen,) if found.chosen else ())
    return [[found.network.nodes[place].variety for place in one] for one in chosen if one]


def wishes_of(question: Question, limit_s: float | None) -> Wishes:
    """What is wished of a set; limit_s : of each search, None: the usual one. [s]"""
    from pollinet.answers.cover import Wishes
    from pollinet.network.time_limit import SEARCH_LIMIT_S

    return Wishes(
        from_catalogue=question.from_catalogue,
        must=question.names("must"),
        never=question.names("never"),
        pollen_only=question.names("pollen"),
        survive=bool(question.get("survive")),
        sure=bool(question.get("sure")),
        add=whole_of(question, "add", 1, MOST_ADDED),
        time_limit_s=SEARCH_LIMIT_S if limit_s is None else limit_s,
        wider=limit_s is None,
    )


# --- what else may be asked of the catalogue ---------------------------------------------------


def pollinizer_told(study: Study, question: Question, said: Said) -> dict[str, Any]:
    """The varieties of which one limb would help most, best first."""
    from pollinet.answers.pollinizer import pollinizer_of, ranked_choices
    from pollinet.summary.named import trees_named
    from pollinet.wording.grafting import grafting_lines
    from pollinet.wording.network import (
        choice_reason,
        harvest_text,
        jar_lines,
        jar_notes,
        jar_title,
        placement_text,
    )

    trees, problems = trees_named(study, question.get("tree") or None)
    _raise(problems)
    _gather(study, said, RANKING, from_catalogue=question.from_catalogue)
    found = ranked_choices(study, trees, from_catalogue=question.from_catalogue)
    answer = pollinizer_of(study, found)
    return {
        "answer": answer.to_data(),
        "reasons": [choice_reason(choice, found.nodes) for choice in found.choices],
        "harvests": [
            harvest_text(found.harvests.get(found.nodes[choice.node].variety))
            for choice in found.choices
        ],
        "heights": [
            [placement_text(place.height) for place in one.trees] for one in answer.candidates
        ],
        "how": [] if found.grafting is None else grafting_lines([found.grafting]),
        "jars": jar_lines(found.jars, found.jar_nodes, found.other_jars),
        "jar_title": jar_title(found.jars, found.jar_nodes),
        "jar_notes": jar_notes(found.jars, found.jar_nodes),
    }


def donors_told(study: Study, question: Question, said: Said) -> dict[str, Any]:
    """All donors of one limb, present and possible, and why the others are none."""
    from pollinet.answers.donors import donors_of, look
    from pollinet.summary.named import limb_named

    place, problems = limb_named(study, question.get("limb"))
    _raise(problems)
    said(GATHERING)
    looked = look(study, place[0], from_catalogue=question.from_catalogue)
    return {"answer": donors_of(study, looked).to_data()}


def without_told(study: Study, question: Question, said: Said) -> dict[str, Any]:
    """The garden after a loss, and what to add then."""
    from pollinet.answers.without import loss_of, without_of
    from pollinet.summary.named import places_named
    from pollinet.wording.cover import equally_small

    lost, problems = places_named(study, question.names("lost"))
    _raise(problems)
    _gather(study, said, SEARCHING, from_catalogue=question.from_catalogue)
    after = loss_of(study, lost, from_catalogue=question.from_catalogue)
    more = equally_small(after.alternatives, all_listed=after.all_listed)
    return {"answer": without_of(study, after).to_data(), "notes": more}


def season_told(study: Study, question: Question, said: Said) -> dict[str, Any]:
    """The order of ripening, and what a longer picking season costs in pollination."""
    from pollinet.answers.season import season_of
    from pollinet.summary.season import garden_season
    from pollinet.wording.season import (
        choice_cells,
        ripening_cells,
        season_notes,
        shown_choices,
    )

    most = whole_of(question, "max", 0, 100)
    _gather(study, said, SEARCHING, from_catalogue=question.from_catalogue)
    found = garden_season(study, from_catalogue=question.from_catalogue, most=most)
    return {
        "answer": season_of(study, found).to_data(),
        "choices": [choice_cells(choice) for choice in shown_choices(found)],
        "ripening": [ripening_cells(row) for row in found.dated],
        "notes": season_notes(found, study.plan.aim.level),
    }


def report_told(study: Study, question: Question, said: Said) -> bytes:
    """The whole report, as an HTML document or as a PDF."""
    from pollinet.report.content import report_of

    said(WRITING)
    paper = question.get("form") == "pdf"
    pages = report_of(study, from_catalogue=question.from_catalogue, paper=paper)
    if paper:
        from pollinet.report.pdf import pdf_of

        return pdf_of(pages)
    from pollinet.report.html import html_of

    return html_of(pages).encode()


def _raise(problems: Sequence[Finding]) -> None:
    if problems:
        raise BadQuestion(problems)


ANSWERS: Mapping[str, Callable[[Study, Question, Said], Any]] = {
    "cover": cover_told,
    "pollinizer": pollinizer_told,
    "donors": donors_told,
    "without": without_told,
    "season": season_told,
    "report": report_told,
}
"""What may be asked behind, by the kind of a question."""

FIELDS: Mapping[str, tuple[str, ...]] = {
    "cover": ("from", "must", "never", "pollen", "survive", "sure", "add", "donors", "level",
              "overlap", "long"),
    "pollinizer": ("tree", "from"),
    "donors": ("limb", "from"),
    "without": ("lost", "from"),
    "season": ("max", "from"),
    "report": ("form", "from"),
    "rows": ("rows", "spacing"),
    "year": ("year",),
    "suits": ("names",),
    "labels": ("of", "width", "height", "gap"),
}  # fmt: skip
"""What each kind of question takes from its address."""
