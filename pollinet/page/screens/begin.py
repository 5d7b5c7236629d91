"""Beginning a garden: place, trees, limbs, neighbours, what wood is at hand.

What is told is kept in memory, by a random name in the address; nothing is on the disk before the
plan is written.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import replace
from datetime import date
from typing import Any

from flask import Blueprint, current_app, flash, redirect, render_template, request, url_for
from werkzeug.wrappers import Response

from pollinet.drafting import Draft, draft_text
from pollinet.errors import WrongChange
from pollinet.files import cannot_write, not_a_folder, would_overwrite, write_new
from pollinet.findings import Finding, has_errors
from pollinet.language import N_, _, told
from pollinet.messages import say
from pollinet.page.drafts import Drafts, Kept, data_of, with_entry, without_entry
from pollinet.page.entries import (
    KINDS,
    Filled,
    Known,
    Place,
    climate_at,
    filled,
    known_of,
    new_errors,
    place_of,
    spot_of,
    standing,
)
from pollinet.page.fields import add_context, choice_of, place_context, place_helped, texts_of
from pollinet.page.links import desk
from pollinet.readers.plan_checks import late_years
from pollinet.study import open_plan
from pollinet.study.station_winters import NAMED, SEASIDE_M, climate_findings

screen = Blueprint("begin", __name__)

Page = str | Response | tuple[str, int]

STEPS = {"place": N_("Place"), "trees": N_("Trees"), "neighbours": N_("Next door"),
         "scions": N_("Wood at hand"), "look": N_("Look and write")}  # fmt: skip
"""The steps of a beginning, in their order."""

STEP_OF = {"tree": "trees", "limb": "trees", "neighbour": "neighbours", "scion": "scions"}
"""On which step entries of a kind are."""


# --- the place ---------------------------------------------------------------------------------


@screen.get("/begin")
def show() -> Page:
    """The form of a new garden."""
    if desk().exists:
        return redirect(url_for("garden.show"))
    return _place_page({}, None)


@screen.post("/begin")
def begin() -> Page:
    """The place as it was typed: with towns of a name, with what is wrong, or on to the trees."""
    return _placed(None)


@screen.get("/begin/<key>/place")
def place(key: str) -> Page:
    """The place once more."""
    kept = _drafts().get(key)
    if kept is None:
        return _lost()
    draft = kept.draft
    told_so_far = {"name": draft.site, "latitude": draft.latitude, "longitude": draft.longitude,
                   "elevation_m": draft.elevation_m}  # fmt: skip
    return _place_page(texts_of(told_so_far), key)


@screen.post("/begin/<key>/place")
def place_again(key: str) -> Page:
    """Another place for the draft."""
    return _placed(key) if _drafts().get(key) else _lost()


def _placed(key: str | None) -> Page:
    values = dict(request.form)
    if answered := place_helped(values):
        return _place_page(values, key, **answered)
    found = place_of(values)
    if has_errors(found.findings):
        return _place_page(values, key, findings=found.findings), 422
    kept = _drafts().get(key) if key else None
    draft = replace(
        Draft() if kept is None else kept.draft,
        site=found.name or _("my garden"),
        latitude=found.latitude,
        longitude=found.longitude,
        elevation_m=found.elevation_m,
    )
    if kept is None:
        key = _drafts().begin(draft)
    else:
        kept.put(draft)
    return redirect(url_for("begin.step", key=key, step="trees"))


def _place_page(values: Mapping[str, str], key: str | None, **more: Any) -> str:
    return render_template(
        "begin_place.html.j2",
        **place_context(values),
        **more,
        action=url_for("begin.place_again", key=key) if key else url_for("begin.begin"),
        **_step_context(key, "place"),
    )


# --- the steps ---------------------------------------------------------------------------------


@screen.get("/begin/<key>/<step>")
def step(key: str, step: str) -> Page:
    """What has been told of trees, of neighbours or of wood; at last all of it, to be written."""
    kept = _drafts().get(key)
    if kept is None:
        return _lost()
    if step not in STEPS:
        return redirect(url_for("begin.step", key=key, step="trees"))
    return _look_page(key, kept) if step == "look" else _step_page(key, kept, step)


def _step_page(key: str, kept: Kept, step: str, findings: Sequence[Finding] = ()) -> str:
    kind = next(kind for kind, place in STEP_OF.items() if place == step)
    return render_template(
        "begin_step.html.j2",
        kind=kind,
        entries=standing(data_of(kept.draft))[step],
        findings=findings,
        number_now=kept.number,
        **_step_context(key, step),
    )


@screen.get("/begin/<key>/add/<kind>")
def add(key: str, kind: str) -> Page:
    """The form of one more entry."""
    kept = _drafts().get(key)
    if kept is None:
        return _lost()
    return _add_page(key, kept, kind, dict(request.args))


@screen.post("/begin/<key>/add/<kind>")
def added(key: str, kind: str) -> Page:
    """One more entry, if it can be."""
    kept = _drafts().get(key)
    if kept is None or kind not in KINDS:
        return _lost()
    if problem := _older(kept):
        return _add_page(key, kept, kind, dict(request.form), Filled(None, (problem,))), 409
    form = dict(request.form)
    made = filled(kind, form, _known(kept.draft))
    if made.entry is None:
        return _add_page(key, kept, kind, form, made), 422
    draft = with_entry(kept.draft, kind, made.entry, tree=form.get("tree", ""), own=made.own)
    problems = new_errors(_findings(kept.draft), _findings(draft))
    if problems:
        return _add_page(key, kept, kind, form, replace(made, findings=problems)), 422
    kept.put(draft)
    for finding in made.findings:
        flash(f"{told(finding.message)} {told(finding.cure)}".strip(), "note")
    return redirect(url_for("begin.step", key=key, step=STEP_OF[kind]))


@screen.post("/begin/<key>/remove")
def remove(key: str) -> Page:
    """An entry less."""
    kept = _drafts().get(key)
    if kept is None:
        return _lost()
    kind = request.form.get("kind", "")
    step = STEP_OF.get(kind, "trees")
    if problem := _older(kept):
        return _step_page(key, kept, step, (problem,)), 409
    try:
        spot = spot_of(data_of(kept.draft), kind, request.form.get("name", ""))
    except WrongChange as wrong:
        return _step_page(key, kept, step, wrong.findings), 422
    kept.put(without_entry(kept.draft, spot))
    return redirect(url_for("begin.step", key=key, step=step))


def _add_page(
    key: str, kept: Kept, kind: str, values: Mapping[str, str], made: Filled | None = None
) -> str:
    known = _known(kept.draft)
    return render_template(
        "begin_add.html.j2",
        **add_context(kind, values, known, made),
        action=url_for("begin.added", key=key, kind=kind, **choice_of(values)),
        hidden={"number": kept.number},
        back=url_for("begin.step", key=key, step=STEP_OF.get(kind, "trees")),
        **_step_context(key, STEP_OF.get(kind, "trees")),
    )


# --- the end -----------------------------------------------------------------------------------


@screen.post("/begin/<key>/write")
def write(key: str) -> Page:
    """Write the plan, never over a file, and open the garden."""
    kept = _drafts().get(key)
    if kept is None:
        return _lost()
    if problem := _older(kept):
        return _look_page(key, kept, (problem,)), 409
    if has_errors(_findings(kept.draft)):
        return _look_page(key, kept), 422
    file = desk().plan
    if file.parent.exists() and not file.parent.is_dir():
        return _look_page(key, kept, (not_a_folder(file.parent),)), 422
    try:
        file.parent.mkdir(parents=True, exist_ok=True)
        write_new(file, draft_text(kept.draft).encode())
    except FileExistsError:
        return _look_page(key, kept, (would_overwrite(file),)), 409
    except OSError as fault:
        return _look_page(key, kept, (cannot_write(fault),)), 422
    _drafts().forget(key)
    return redirect(url_for("garden.show"))


def _look_page(key: str, kept: Kept, problems: Sequence[Finding] = ()) -> str:
    draft, file = kept.draft, desk().plan
    findings = _findings(draft)
    place = Place(draft.site, draft.latitude, draft.longitude, draft.elevation_m)
    climate = climate_at(place)
    doubts = climate_findings(place.site, climate, file.name) if climate else ()
    return render_template(
        "begin_look.html.j2",
        findings=(*problems, *findings, *doubts),
        ready=not has_errors(findings),
        stations=climate.nearest[:NAMED] if climate else (),
        seaside=climate is not None and climate.elevation_m < SEASIDE_M,
        text=draft_text(draft),
        file=file,
        number_now=kept.number,
        **_step_context(key, "look"),
    )


# --- what all have in common -------------------------------------------------------------------


def _drafts() -> Drafts:
    found: Drafts = current_app.extensions.setdefault("pollinet-drafts", Drafts())
    return found


def _lost() -> Page:
    """The draft is no longer kept: it was written, or the server was started anew."""
    if desk().exists:
        return redirect(url_for("garden.show"))
    return render_template("begin_lost.html.j2"), 410


def _older(kept: Kept) -> Finding | None:
    """That a form is of an earlier state of the draft, such as one that was sent twice."""
    if request.form.get("number") == str(kept.number):
        return None
    message = say("this was sent from an older view of these answers; nothing was changed by it")
    cure = say("look at what is there now and repeat what you did, if it is missing")
    return Finding("error", "older-view", message, cure=cure)


def _step_context(key: str | None, step: str) -> dict[str, Any]:
    return {"key": key, "step": step, "steps": STEPS}


def _known(draft: Draft) -> Known:
    return known_of(data_of(draft), desk().plan.parent)


def _findings(draft: Draft) -> tuple[Finding, ...]:
    """All that is wrong in the plan as it would be written."""
    plan, _catalogue, findings = open_plan(desk().plan, draft_text(draft))
    return findings if plan is None else (*findings, *late_years(plan, date.today().year))
