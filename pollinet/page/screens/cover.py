"""What to graft: the smallest set, its alternatives to try, what stays without, the proof."""

from __future__ import annotations

from flask import Blueprint, render_template

from pollinet.page.asking import view_of
from pollinet.page.links import current_study, graft_texts
from pollinet.wording.cover import COVER_HEADINGS

screen = Blueprint("cover", __name__)

SHOWN_SETS = 10
"""Sets that can be tried from the screen; the others are named in words."""


@screen.get("/cover")
def show() -> tuple[str, int]:
    """The smallest set from the scions at hand, or as wished."""
    view = view_of("cover")
    sets = view.told["sets"][:SHOWN_SETS] if view.told else []
    page = render_template(
        "cover.html.j2",
        view=view,
        wished={name for name, _value in view.question.values} - {"from", "long"},
        found=view.told,
        sets=[([one["name"] for one in chosen], graft_texts(chosen)) for chosen in sets],
        headings=COVER_HEADINGS,
        limbs=current_study().plan.limbs,
    )
    return page, view.code
