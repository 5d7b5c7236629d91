"""Beside the smallest set: the one variety, the wood, all donors of a limb, what a loss does."""

from __future__ import annotations

from flask import Blueprint, render_template, request

from pollinet.advice.rows import layouts
from pollinet.answers.rows import layout_words, rows_of
from pollinet.answers.scions import scions_of
from pollinet.answers.triploids import look_at_triploids, triploids_of
from pollinet.answers.without import every_loss, without_each_of
from pollinet.page.asking import view_of
from pollinet.page.links import current_study, graft_texts
from pollinet.page.questions import number_of, question_of
from pollinet.wording.network import MYTH
from pollinet.wording.scions import CUTTING, wood_text
from pollinet.wording.sentences import tenths

screen = Blueprint("grafting", __name__)

FEWEST_ROWS, MOST_ROWS = 3, 500
NARROWEST_M, WIDEST_M = 0.5, 50.0
"""Bounds of an orchard's rows and of the room between them, as of `pollinet rows`. [m]"""

SHOWN = 15
"""Varieties told of on one screen."""


@screen.get("/pollinizer")
def pollinizer() -> tuple[str, int]:
    """The varieties of which one limb would help most."""
    view = view_of("pollinizer")
    tries = {}
    if view.told:
        for one in view.told["answer"]["candidates"][:SHOWN]:
            variety = {"species": one["species"], "name": one["variety"]}
            tries[one["id"]] = graft_texts([variety])
    page = render_template(
        "pollinizer.html.j2",
        view=view, found=view.told, tries=tries, shown=SHOWN, trees=current_study().plan.trees,
    )  # fmt: skip
    return page, view.code


@screen.get("/donors")
def donors() -> tuple[str, int]:
    """All donors of one limb, present and possible."""
    view = view_of("donors")
    page = render_template(
        "donors.html.j2", view=view, found=view.told, shown=SHOWN, limbs=current_study().plan.limbs
    )
    return page, view.code


@screen.get("/wood")
def wood() -> str:
    """Which wood to cut or to order for the smallest set, and what to mind."""
    study = current_study()
    told = scions_of(study, *study.cover())
    return render_template("wood.html.j2", found=told, cutting=CUTTING, wood_text=wood_text)


@screen.get("/triploids")
def triploids() -> str:
    """Limbs without good pollen, their donors, and who serves these."""
    study = current_study()
    told = triploids_of(study, look_at_triploids(study))
    return render_template("triploids.html.j2", found=told, myth=MYTH)


@screen.get("/without")
def without() -> tuple[str, int]:
    """What breaks if each is lost; or the garden after one loss."""
    study = current_study()
    places = [*study.plan.limbs, *study.plan.neighbours]
    if not request.args.get("lost", "").strip():
        each = without_each_of(study, every_loss(study))
        losses = [
            (loss, [fall for fall in loss.falls if tenths(fall.now) != tenths(fall.then)])
            for loss in sorted(each.losses, key=lambda loss: not loss.uncovers)
        ]
        page = render_template(
            "without_each.html.j2",
            found=each,
            losses=[(loss, falls) for loss, falls in losses if loss.uncovers or falls],
            harmless=[loss.lost for loss, falls in losses if not (loss.uncovers or falls)],
        )
        return page, 200
    view = view_of("without")
    return render_template("without.html.j2", view=view, found=view.told, places=places), view.code


@screen.get("/rows")
def rows() -> str:
    """Layouts of pollinizer rows in an orchard."""
    question = question_of("rows", request.args)
    number = number_of(question, "rows", FEWEST_ROWS, MOST_ROWS)
    spacing = number_of(question, "spacing", NARROWEST_M, WIDEST_M) or 4.5
    told = None if number is None else rows_of(layouts(round(number), spacing))
    return render_template(
        "rows.html.j2", found=told, words=layout_words, number=number, spacing=spacing
    )
