"""A limb without a label: the varieties that fit what was seen, and what would tell them apart."""

from __future__ import annotations

from flask import Blueprint, render_template, request

from pollinet.answers.lost_label import lost_label_of
from pollinet.page.links import current_study, not_here
from pollinet.page.tries import Regraft, text_of
from pollinet.readers.day_words import parse_day
from pollinet.summary.lost_label import Asked, label_of, unknown_limb
from pollinet.wording.lost_label import cells, headings, label_notes, springs_words

screen = Blueprint("lost_label", __name__)


@screen.get("/lost-label/<path:name>")
def show(name: str) -> str | tuple[str, int]:
    """What the limb of an id may be; `picked` in the address: its first pick."""
    study = current_study()
    limb, problems = unknown_limb(study, name)
    if limb is None:
        return not_here(problems)
    typed = request.args.get("picked", "").strip()
    picked = parse_day(typed) if typed else None
    label, problems = label_of(study, limb, Asked(picked=picked))
    return render_template(
        "lost_label.html.j2",
        limb=limb,
        label=label,
        found=None if label is None else lost_label_of(label, study.findings),
        problems=problems if label is None else (),
        picked=typed,
        is_no_day=bool(typed) and picked is None,
        headings=() if label is None else headings(label),
        rows=[] if label is None else [cells(label, one) for one in label.listed],
        tries={} if label is None else {
            one.variety.id.name: text_of(Regraft(limb.id, one.variety.id.name))
            for one in label.listed
        },
        notes=[] if label is None else [*springs_words(label.springs), *label_notes(label)],
    )  # fmt: skip
