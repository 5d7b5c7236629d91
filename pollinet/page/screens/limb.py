"""One limb: who pollinates it, why the others are none, and what would mend it."""

from __future__ import annotations

from flask import Blueprint, render_template

from pollinet.answers.check import check_of
from pollinet.answers.donors import donors_of, look
from pollinet.domain import VarietyId
from pollinet.page.links import current_study, graft_text, not_here
from pollinet.page.names import suggested
from pollinet.page.tries import Lose, text_of
from pollinet.strips import limb_spring, limb_strip
from pollinet.summary.limbs import limb_summaries
from pollinet.summary.named import limb_named
from pollinet.wording.check import verdict_line, why_words
from pollinet.wording.sentences import memory_text

screen = Blueprint("limb", __name__)

MOST_SHOWN = 5
"""Donors that are shown at once; more are folded: own convention."""

MOST_WOOD = 6
"""Varieties at hand that are offered as try-outs: own convention."""


@screen.get("/limb/<path:name>")
def show(name: str) -> str | tuple[str, int]:
    """The limb of an id."""
    study = current_study()
    found, problems = limb_named(study, name)
    if problems:
        return not_here(problems)
    looked = look(study, found[0])
    told = donors_of(study, looked)
    limbs = tuple(limb for limb in limb_summaries(study) if limb.node.id == told.limb)
    (row,) = check_of(study, limbs=limbs).limbs
    tree = next(tree for tree in study.plan.trees if tree.id == row.tree)
    wood = [donor for donor in told.donors if donor.kind == "candidate"][:MOST_WOOD]
    return render_template(
        "limb.html.j2",
        donors=told,
        row=row,
        verdict=verdict_line(looked.now),
        why=why_words(limbs[0], study.network.nodes, 2),
        strip=limb_strip(limb_spring(study, looked)),
        most=MOST_SHOWN,
        here=[donor for donor in told.donors if donor.kind != "candidate"],
        wood=wood,
        grafts={
            donor.variety: graft_text(VarietyId(donor.species, donor.variety)) for donor in wood
        } if tree.spare_limbs > 0 else {},
        lose=text_of(Lose(row.id)),
        memory=[memory_text(limbs[0].memory)] if limbs[0].memory else [],
        near=suggested(study, row.species),
    )  # fmt: skip
