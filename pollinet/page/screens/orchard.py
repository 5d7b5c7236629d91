"""In the orchard: what is seen under the tree goes into the log, and can be taken back."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from datetime import date
from pathlib import Path
from typing import Any

from flask import Blueprint, Response, redirect, render_template, request, session
from werkzeug.wrappers import Response as AnyResponse

from pollinet.answers.record import record_log_of
from pollinet.files import LOG_NAME, garden_locked
from pollinet.findings import Finding, has_errors
from pollinet.language import _, told
from pollinet.messages import say
from pollinet.noting import log_text, note_down, take_back, take_in
from pollinet.page.form_notes import noting, rows_of_form, wrong_rows
from pollinet.page.links import asked, desk, to
from pollinet.readers.observations import places
from pollinet.readers.records import COLUMNS
from pollinet.study import Study
from pollinet.summary.noted import note_effect
from pollinet.wording.notes import effect_words, taken_in_words

screen = Blueprint("orchard", __name__)

Shown = AnyResponse | str | tuple[str, int]

MOST_TEXT_BYTES = 1024 * 1024
"""Largest text of notes: ten thousand of them. Own convention. [bytes]"""

SHOWN_NOTES = 10
"""Notes that are listed below the form: own convention."""


@screen.get("/orchard")
def show() -> str:
    """The form, with what was noted lately."""
    return _page(request.args)


@screen.post("/orchard")
def note() -> Shown:
    """Write down what was seen."""
    study = _study()
    rows, problems = rows_of_form(request.form)
    problems = problems or wrong_rows(rows, study.plan)
    if not problems:
        with garden_locked(desk().plan):
            problems = note_down(_log(), rows, study.plan, date.today())
    if has_errors(problems):
        return _page(request.form, problems), 422
    _say(len(rows), study, problems)
    return redirect(_again(request.form))


@screen.post("/orchard/take-back")
def undo() -> Shown:
    """Take back one note."""
    study = _study()
    cells = {column: request.form.get(column, "") for column in COLUMNS}
    with garden_locked(desk().plan):
        problems = take_back(_log(), cells, study.plan)
    if has_errors(problems):
        return _page(request.form, problems), 422
    _say(0, study, (), _("Taken back."))
    back = request.form.get("back") == "notes" and "notes.show"
    return redirect(to(back) if back else _again(request.form))


@screen.post("/orchard/text")
def bring_home() -> Shown:
    """Take in the notes of a telephone, pasted or as a file, each once."""
    study = _study()
    sent = request.files.get("file")
    name, content = (sent.filename or "", sent.read(MOST_TEXT_BYTES + 1)) if sent else ("", b"")
    if len(content) > MOST_TEXT_BYTES:
        return _page({}, (_too_large(name),)), 422
    try:
        text = content.decode("utf-8-sig") or request.form.get("text", "")
    except UnicodeDecodeError:
        message, cure = say("this is not text in UTF-8"), say("give the file that was saved")
        return _page({}, (Finding("error", "no-text", message, name, cure=cure),)), 422
    with garden_locked(desk().plan):
        taken = take_in(_log(), text, study.plan, name, date.today())
    counted = taken_in_words(len(taken.written), taken.known, taken.wrong)
    if has_errors(taken.findings):
        return _page({"text": text}, taken.findings, counted), 422
    _say(len(taken.written), study, taken.findings, counted)
    return redirect(to("orchard.show"))


@screen.get("/orchard/text")
@screen.get("/orchard/take-back")
def again() -> AnyResponse:
    """The address of a form that was refused, when it is loaded again."""
    return redirect(to("orchard.show"))


@screen.get("/orchard/notes.txt")
def as_text() -> Response:
    """The whole log as text, for another place where this garden is kept."""
    answer = Response(log_text(_log(), _study().plan), mimetype="text/plain")
    answer.headers["Content-Disposition"] = 'attachment; filename="notes.txt"'
    return answer


def _study() -> Study:
    """The garden as it is: notes are of what stands there, whatever is tried."""
    study = asked().opened.study
    assert study is not None
    return study


def _log() -> Path:
    return desk().plan.parent / LOG_NAME


def _again(values: Mapping[str, str]) -> str:
    """The same form, at the same limb and day."""
    kept = {"limb": values.get("limb"), "day": values.get("day")}
    kept["day"] = None if kept["day"] == date.today().isoformat() else kept["day"]
    return to("orchard.show", **{name: value for name, value in kept.items() if value})


def _effect(before: Study) -> str:
    now = desk().opened().study
    return "" if now is None else effect_words(note_effect(before, now))


def _say(count: int, before: Study, doubts: Sequence[Finding], text: str = "") -> None:
    """Tell on the next screen what was kept."""
    session["noted"] = {
        "text": text or _("Kept."),
        "count": count,
        "effect": _effect(before),
        "doubts": [f"{told(one.message)}. {told(one.cure)}" for one in doubts[:SHOWN_NOTES]],
    }


def _page(typed: Mapping[str, str], findings: Sequence[Finding] = (), summed: str = "") -> str:
    study = _study()
    today = date.today()
    log = record_log_of(study.records.observations, LOG_NAME, ())
    latest = sorted(log.notes, key=lambda one: one.date, reverse=True)[:SHOWN_NOTES]
    values: dict[str, Any] = {
        **noting(study, typed.get("day") or today.isoformat()),
        "today": today.isoformat(),
        "typed": typed,
        "findings": findings,
        "summed": summed,
        "varieties": places(study.plan),
        "said": session.pop("noted", None),
        "latest": latest,
        "kept": record_log_of(study.records.observations, LOG_NAME, ()).notes,
    }
    return render_template("orchard.html.j2", **values)


def _too_large(name: str) -> Finding:
    message = say("this is too large for notes")
    return Finding("error", "too-large", message, name, cure=say("give the notes alone"))
