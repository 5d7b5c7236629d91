"""One limb: who pollinates it, why the others are none, and what would mend it."""

from __future__ import annotations

from flask import Blueprint, render_template

from pollinet.answers.check import check_of
from pollinet.answers.donors import Donors, Looked, donors_of, look
from pollinet.answers.parts import Donor
from pollinet.domain import VarietyId
from pollinet.page.links import current_study, graft_text, new_limb, not_here
from pollinet.page.names import suggested
from pollinet.page.tries import Graft, Lose, text_of
from pollinet.strips import limb_spring, limb_strip
from pollinet.summary.limbs import carrying, limb_summaries
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
    wood, enough = wood_of(looked, told)
    room = any(tree.species == row.species and tree.spare_limbs > 0 for tree in study.open_trees)
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
        enough=enough,
        grafts={donor.variety: graft_of(donor) for donor in wood} if room else {},
        is_lost=not next(limb for limb in study.plan.limbs if limb.id == row.id).known,
        nameless={variety.id.name for variety in study.plan.presumed},
        lose=text_of(Lose(row.id)),
        memory=[memory_text(limbs[0].memory)] if limbs[0].memory else [],
        near=suggested(study, row.species),
    )  # fmt: skip


def wood_of(looked: Looked, told: Donors) -> tuple[list[Donor], bool]:
    """Wood at hand that serves a limb, each variety once, at its best place; whether it is enough.

    Wood that is enough alone stands without the other; where there is none, all of it is told.
    """
    pairs = list(zip(looked.row.donors, told.donors, strict=True))
    alone = carrying(looked.network, looked.row)
    best: dict[str, Donor] = {}
    for _share, donor in [pair for pair in pairs if pair[0].node in alone] or pairs:
        if donor.kind == "candidate":
            best.setdefault(donor.variety, donor)
    return list(best.values())[:MOST_WOOD], bool(best) and any(
        donor.kind == "candidate" and share.node in alone for share, donor in pairs
    )


def graft_of(donor: Donor) -> str:
    """Its wood as a new limb, as a text of `try`: on the tree that was looked at, if one was."""
    if donor.tree is None:
        return graft_text(VarietyId(donor.species, donor.variety))
    return text_of(Graft(donor.tree, new_limb(donor.tree, donor.variety), donor.variety))
