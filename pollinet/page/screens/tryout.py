"""The try-out: what changes if a limb or a neighbour's tree is changed, added, moved or lost."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import fields
from typing import Any
from urllib.parse import quote

from flask import Blueprint, redirect, render_template, request
from werkzeug.wrappers import Response

from pollinet.answers.check import CheckedLimb, check_of
from pollinet.page.links import asked, to, with_more
from pollinet.page.tries import KINDS, Try, try_of
from pollinet.study import Study

screen = Blueprint("tryout", __name__)


@screen.get("/try")
def show() -> str:
    """What is tried, before and now."""
    this = asked()
    assert this.tried is not None and this.opened.study is not None
    return render_template(
        "tryout.html.j2",
        compared=compared(this.opened.study, this.tried.study),
        study=this.tried.study,
        wrong=this.tried.wrong,
    )


@screen.get("/try/add")
def add() -> Response | str:
    """From a form: the same screen with one more thing tried, which its address then holds."""
    made = from_form(request.args)
    if made is None:
        return show()
    return redirect(to("tryout.show", tries=with_more(made)))


def from_form(values: Mapping[str, str]) -> Try | None:
    """What a form asks to try; None where it is not filled in."""
    kind = KINDS.get(values.get("kind", ""))
    if kind is None:
        return None
    parts = [quote(values.get(field.name, "").strip(), safe=" ") for field in fields(kind)]
    return try_of(":".join([values["kind"], *parts]))


def compared(before: Study, now: Study) -> dict[str, Any]:
    """Before and now, limb by limb: those that changed first."""
    old, new = check_of(before), check_of(now)
    was = {limb.id: limb for limb in old.limbs}
    names = [limb.id for limb in new.limbs]
    rows: list[tuple[CheckedLimb | None, CheckedLimb | None]]
    rows = [(was.get(limb.id), limb) for limb in new.limbs]
    rows += [(limb, None) for limb in old.limbs if limb.id not in names]
    changed = [(a, b) for a, b in rows if _shown(a) != _shown(b)]
    return {
        "before": old,
        "now": new,
        "changed": changed,
        "same": [pair for pair in rows if pair not in changed],
    }


def _shown(limb: CheckedLimb | None) -> object:
    """What of a limb a person sees change."""
    if limb is None:
        return None
    return limb.variety, limb.verdict, [donor.id for donor in limb.donors][:1]
