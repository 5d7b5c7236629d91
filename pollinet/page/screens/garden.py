"""The garden: which limbs have a donor, which not, what first."""

from __future__ import annotations

from flask import Blueprint, render_template

from pollinet.answers.check import check_of
from pollinet.page.links import asked
from pollinet.summary.limbs import limb_summaries, mend_of
from pollinet.wording.check import attention_first, why_words

screen = Blueprint("garden", __name__)


@screen.get("/")
def show() -> str:
    """The garden, what needs something first."""
    garden = asked().tried
    assert garden is not None
    study = garden.study
    limbs = attention_first(limb_summaries(study))
    told = check_of(study, limbs=limb_summaries(study))
    why = {limb.node.id: why_words(limb, study.network.nodes, 2) for limb in limbs}
    by_id = {limb.id: limb for limb in told.limbs}
    rows = [by_id[limb.node.id] for limb in limbs]
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
        mend=mend_of(study),
        spare=[tree for tree in study.plan.trees if tree.spare_limbs > 0],
    )


GROUPS = {"lacking": ("lacking",), "open": ("open",), "covered": ("likely", "sure")}
"""What stands under one heading, in their order."""
