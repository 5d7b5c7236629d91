"""One limb: who pollinates it, why the others are none, and what would mend it."""

from __future__ import annotations

from flask import Blueprint, abort, render_template

from pollinet.answers.check import check_of
from pollinet.answers.donors import donors_of, look
from pollinet.page.links import asked
from pollinet.summary.named import limb_named

screen = Blueprint("limb", __name__)


@screen.get("/limb/<path:name>")
def show(name: str) -> str:
    """The limb of an id."""
    garden = asked().tried
    assert garden is not None
    study = garden.study
    found, problems = limb_named(study, name)
    if problems:
        abort(404)
    told = donors_of(study, look(study, found[0]))
    (row,) = (limb for limb in check_of(study).limbs if limb.id == told.limb)
    return render_template("limb.html.j2", told=told, row=row)
