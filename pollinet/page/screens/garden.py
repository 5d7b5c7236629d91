"""The garden: which limbs have a donor, which not, what first, and what all that rests on."""

from __future__ import annotations

from collections.abc import Sequence
from datetime import date

from flask import Blueprint, render_template
from markupsafe import Markup

from pollinet.answers.check import check_of
from pollinet.answers.donors import look
from pollinet.domain import Node
from pollinet.page.links import current_study, desk
from pollinet.readers.names import names_together
from pollinet.strips import limb_spring, limb_strip
from pollinet.study import Study
from pollinet.summary.limbs import (
    LimbSummary,
    apart_fruits,
    limb_chill,
    limb_summaries,
    mend_of,
    young_donors,
)
from pollinet.wording.check import (
    attention_first,
    hangs_notes,
    weak_notes,
    why_words,
)
from pollinet.wording.sentences import donor_rule, memory_text, straggling_note, young_note
from pollinet.wording.verdicts import typed_lines

screen = Blueprint("garden", __name__)

GROUPS = {"lacking": ("lacking",), "open": ("open",), "covered": ("likely", "sure")}
"""What stands under one heading, in their order."""


@screen.get("/")
def show() -> str:
    """The garden, what needs something first."""
    study = current_study()
    summaries = limb_summaries(study)
    limbs = attention_first(summaries)
    told = check_of(study, limbs=summaries)
    why = {limb.node.id: why_words(limb, study.network.nodes, 2) for limb in limbs}
    by_id = {limb.id: limb for limb in told.limbs}
    rows = [by_id[limb.node.id] for limb in limbs]
    first = next((limb for limb in limbs if limb.coverage and not limb.coverage.covered), None)
    with_room = {tree.species for tree in study.open_trees if tree.spare_limbs > 0}
    mend = mend_of(study)
    return render_template(
        "garden.html.j2",
        site=study.plan.site.name,
        check=told,
        groups={
            verdict: [row for row in rows if row.verdict in verdicts]
            for verdict, verdicts in GROUPS.items()
        },
        resting=[row for row in rows if row.verdict is None],
        why=why,
        mend=[name for name in mend.scions if name.species in with_room] if mend else [],
        memory=len({value for limb in told.limbs for value in limb.rests_on_memory}),
        notes=notes(study, summaries, told.answer),
        first="" if first is None else first.node.id,
        strip="" if first is None else strip_of(study, first.node),
        findings=names_together(told.findings),
        can_undo=bool(desk().undo),
    )


def strip_of(study: Study, limb: Node) -> Markup:
    """The bloom of a limb, and of all that might serve it."""
    return limb_strip(limb_spring(study, look(study, study.network.nodes.index(limb))))


def notes(study: Study, limbs: Sequence[LimbSummary], said: str) -> list[str]:
    """How the figures are to be read, and what they hang on."""
    memory = sorted({value for limb in limbs for value in limb.memory})
    typed = {node.id: node.variety for node in study.network.nodes}
    return [
        donor_rule(study.plan.aim, apart_fruits(study)),
        *hangs_notes(limbs, said),
        *weak_notes(limbs, study.network.nodes),
        *young_note(young_donors(study, date.today().year)),
        *straggling_note(limb.short for limb in limb_chill(study)),
        *typed_lines((name, typed[place]) for place, name in study.plan.typed.items()),
        *([memory_text(memory)] if memory else ()),
    ]
