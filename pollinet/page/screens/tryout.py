"""What changes if something is tried: before and now, and two try-outs side by side."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, fields
from typing import Any
from urllib.parse import quote

from flask import Blueprint, redirect, render_template, request, url_for
from werkzeug.wrappers import Response

from pollinet.answers.check import Check, CheckedLimb, check_of
from pollinet.answers.donors import look
from pollinet.page.desk import Tried
from pollinet.page.links import asked, desk, new_limb, new_neighbour, score_of, texts, to, with_more
from pollinet.page.names import suggested
from pollinet.page.tries import (
    KINDS,
    Graft,
    Move,
    NextDoor,
    Regraft,
    Try,
    text_of,
    tries_of,
    try_of,
)
from pollinet.strips import all_beside, calendar_strip
from pollinet.study import Study
from pollinet.summary.spring import garden_spring
from pollinet.wording.sentences import tenths

screen = Blueprint("tryout", __name__)

LEVELS = (0.5, 0.6, 0.7, 0.8, 0.9, 1.0)
"""Shares of winters that are offered to be asked for: own convention."""


@screen.get("/try")
def show(*, unread: bool = False) -> str:
    """What is tried, before and now. unread : a form was sent that is not filled in."""
    this = asked()
    assert this.tried is not None and this.opened.study is not None
    before, now = this.opened.study, this.tried.study
    chosen = in_question(this.tries, now)
    return render_template(
        "tryout.html.j2",
        compared=compared(desk().of_plan("check", check_of), check_of(now)),
        before=score_of(before),
        now=score_of(now),
        study=now,
        wrong=this.tried.wrong,
        unread=unread,
        unknown=len(request.args.getlist("try")) - len(this.tries),
        strip=calendar_strip(
            garden_spring(now),
            chosen=chosen,
            before=desk().of_plan("spring", garden_spring),
            looked=None if chosen is None else all_beside(now, look(now, place_of(chosen, now))),
        ),
        instead=instead(this.tries, now),
        fruits=list(dict.fromkeys(tree.species for tree in now.plan.trees)),
        near={tree.species: suggested(now, tree.species) for tree in now.plan.trees},
        levels=LEVELS,
    )


@screen.get("/try/add")
def add() -> Response | str:
    """From a form: the same screen with one more thing tried, which its address then holds."""
    made = from_form(request.args)
    if made is None:
        return show(unread=True)
    return redirect(to("tryout.show", tries=with_more(made)))


def from_form(values: Mapping[str, str]) -> Try | None:
    """What a form asks to try; None where it is not filled in."""
    kind = KINDS.get(values.get("kind", ""))
    if kind is None:
        return None
    given = {field.name: values.get(field.name, "").strip() for field in fields(kind)}
    if values["kind"] == "graft" and given["variety"]:
        given["limb"] = given["limb"] or new_limb(given["tree"], given["variety"])
    if values["kind"] == "next":
        given["id"] = given["id"] or new_neighbour(given["variety"])
    return try_of(":".join([values["kind"], *(quote(part, safe=" ") for part in given.values())]))


# --- before and now ----------------------------------------------------------------------------


@dataclass(frozen=True)
class Pair:
    """A limb before and now; None: not there. `turned` : whether its verdict is another."""

    old: CheckedLimb | None
    new: CheckedLimb | None

    @property
    def turned(self) -> bool:
        """Whether the verdict on it is another."""
        return _verdict(self.old) != _verdict(self.new)


def compared(old: Check, new: Check) -> dict[str, Any]:
    """Before and now, limb by limb: those whose verdict changed first."""
    pairs = [Pair(*pair) for pair in side_by_side(old, new)]
    changed = [pair for pair in pairs if _shown(pair.old) != _shown(pair.new)]
    return {
        "before": old,
        "now": new,
        "changed": sorted(changed, key=lambda pair: not pair.turned),
        "same": [pair for pair in pairs if pair not in changed],
        "possible": [
            sum(limb.verdict not in (None, "lacking") for limb in one.limbs) for one in (old, new)
        ],
        "open": any(limb.verdict == "open" for one in (old, new) for limb in one.limbs),
    }


def side_by_side(*checks: Check) -> list[list[CheckedLimb | None]]:
    """Every limb of some gardens, a row each: as it is in each, None where it is not there."""
    found = [{limb.id: limb for limb in one.limbs} for one in checks]
    # What is grafted stands with its tree: the order of the fullest garden, then what it lacks.
    names = dict.fromkeys(name for one in reversed(found) for name in one)
    return [[one.get(name) for one in found] for name in names]


def _verdict(limb: CheckedLimb | None) -> str | None:
    return None if limb is None else limb.verdict


def _shown(limb: CheckedLimb | None) -> object:
    """What of a limb a person sees change."""
    if limb is None:
        return None
    winters = None if limb.winters_expected is None else tenths(limb.winters_expected)
    return limb.variety, limb.tree, limb.verdict, winters, [d.id for d in limb.donors][:1]


# --- two side by side --------------------------------------------------------------------------


@dataclass(frozen=True)
class Side:
    """One of two try-outs. `words` : what it tries. `texts` : the same as an address has it."""

    tried: Tried
    words: list[str]
    texts: list[str]
    check: Check


@screen.get("/compare")
def compare() -> str | Response:
    """Two try-outs beside the plan as it is: `a` and `b`, as `try` elsewhere."""
    study = asked().opened.study
    assert study is not None
    plan = desk().of_plan("check", check_of)
    sides = [_side(tries_of(request.args.getlist(name))) for name in ("a", "b")]
    rows = side_by_side(plan, *(side.check for side in sides))
    differs = [row for row in rows if len({str(_shown(limb)) for limb in row}) > 1]
    return render_template(
        "compare.html.j2",
        plan=score_of(study),
        sides=[(side, score_of(side.tried.study)) for side in sides],
        rows=differs,
        same=len(rows) - len(differs),
    )


def _side(tries: Sequence[Try]) -> Side:
    tried = desk().tried(tries)
    assert tried is not None
    words = [one.words(before) for one, before in tried.steps]
    words += [one.words(tried.study) for one, _findings in tried.wrong]
    return Side(tried, words, [text_of(one) for one in tries], check_of(tried.study))


@screen.get("/compare/add")
def beside() -> Response | str:
    """From a form: what is tried now, beside the same with another variety in its last step."""
    values = request.args
    last = try_of(values.get("last", ""))
    variety = values.get("variety", "").strip()
    if last is None or not variety:
        return show(unread=True)
    other = from_form({**_values(last), "variety": variety})
    mine = texts()
    old = text_of(last)
    theirs = [text for text in mine if text != old] + ([text_of(other)] if other else [])
    return redirect(url_for("tryout.compare", a=mine, b=theirs))


def _values(tried: Try) -> dict[str, str]:
    """What the form of a try would hold; a new limb and a new tree get names of their own."""
    (kind,) = (word for word, one in KINDS.items() if type(tried) is one)
    values = {field.name: str(getattr(tried, field.name)) for field in fields(tried)}
    new = {"graft": "limb", "next": "id"}.get(kind)
    return {"kind": kind, **{name: text for name, text in values.items() if name != new}}


def in_question(tries: Sequence[Try], study: Study) -> str | None:
    """The limb that was tried last, where it stands; None: there is none."""
    standing = {limb.id for limb in study.plan.limbs}
    names = [one.limb for one in tries if isinstance(one, Regraft | Graft | Move)]
    return names[-1] if names and names[-1] in standing else None


def place_of(limb: str, study: Study) -> int:
    """The place of a limb that stands, among the nodes."""
    return next(i for i, node in enumerate(study.network.nodes) if node.id == limb)


@dataclass(frozen=True)
class Instead:
    """The last thing tried that is about a variety, of which another could be tried instead."""

    text: str
    variety: str
    fruit: str


def instead(tries: Sequence[Try], study: Study) -> Instead | None:
    """What another variety could take the place of; None: nothing."""
    standing = {limb.id: limb.variety.species for limb in study.plan.limbs}
    standing |= {one.id: one.variety.species for one in study.plan.neighbours}
    for one in reversed(tries):
        match one:
            case Regraft(limb=name) | Graft(limb=name) | NextDoor(id=name) if name in standing:
                return Instead(text_of(one), one.variety, standing[name])
    return None
