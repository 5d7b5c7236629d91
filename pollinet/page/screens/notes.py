"""Own notes: what they changed, and how far the forecast is off with and without them."""

from __future__ import annotations

from flask import Blueprint, render_template, session

from pollinet.answers.fit import fit_of
from pollinet.answers.record import record_log_of
from pollinet.files import LOG_NAME
from pollinet.page.links import asked
from pollinet.readers.observations import places
from pollinet.summary.fitting import fit_rows, site_offsets, variety_fits
from pollinet.summary.noted import note_effect, without_notes
from pollinet.wording.fitting import fit_words, site_offset_text, variety_fit_text
from pollinet.wording.notes import effect_words
from pollinet.wording.sentences import weather_words

screen = Blueprint("notes", __name__)


@screen.get("/notes")
def show() -> str:
    """All notes, and what is otherwise with them."""
    study = asked().opened.study
    assert study is not None
    rows = fit_rows(study)
    return render_template(
        "notes.html.j2",
        varieties=places(study.plan),
        said=session.pop("noted", None),
        fit=fit_of(study, rows),
        effect=effect_words(note_effect(without_notes(study), study)) if rows else "",
        rows=fit_words(rows),
        sites=[site_offset_text(one) for one in site_offsets(study)],
        by_variety=[variety_fit_text(one) for one in variety_fits(rows)],
        weather=weather_words(study.record, study.winters),
        kept=record_log_of(study.records.observations, LOG_NAME, ()).notes,
    )
