"""What stands in the plan: trees, limbs, trees next door and wood, added, renamed and removed."""

from __future__ import annotations

import tomllib
from collections.abc import Mapping
from dataclasses import replace
from datetime import date
from pathlib import Path
from typing import Any

from flask import Blueprint, flash, redirect, render_template, request, url_for
from werkzeug.wrappers import Response

from pollinet import editing
from pollinet.editing import Change, Spot
from pollinet.errors import WrongChange
from pollinet.findings import Finding
from pollinet.language import _, told
from pollinet.messages import say
from pollinet.page.desk import digest_of
from pollinet.page.entries import KINDS, Filled, Read, filled, known_of, spot_of, standing
from pollinet.page.fields import add_context, choice_of, texts_of
from pollinet.page.links import desk
from pollinet.page.screens.plan_file import changed_meanwhile, rewritten, text_of_plan
from pollinet.readers.plan_bounds import DISTANCE_M, SPARE_LIMBS, YEARS
from pollinet.readers.plan_checks import late_years
from pollinet.readers.typed_numbers import number, whole
from pollinet.study import open_plan

screen = Blueprint("stock", __name__)

Page = str | Response | tuple[str, int]

NUMBERS = {"tree": "spare_limbs", "limb": "grafted", "neighbour": "distance_m"}
"""The number of an entry that a form can change, by its key in the plan."""


@screen.get("/stock")
def show() -> str:
    """All that stands in the plan."""
    return render_template("stock.html.j2", entries=standing(_data()))


# --- adding ------------------------------------------------------------------------------------


@screen.get("/stock/add/<kind>")
def add(kind: str) -> Page:
    """The form of one more entry."""
    return _add_page(kind, request.args) if kind in KINDS else redirect(url_for("stock.show"))


@screen.post("/stock/add/<kind>")
def added(kind: str) -> Page:
    """One more entry, if it can be."""
    if kind not in KINDS:
        return redirect(url_for("stock.show"))
    form, data = dict(request.form), _data()
    made = filled(kind, form, known_of(data, desk().plan.parent))
    if made.entry is None:
        return _add_page(kind, form, made), 422
    try:
        change = _addition(kind, made, data, form.get("tree", ""))
        return _written(change, made.findings)
    except WrongChange as wrong:
        return _add_page(kind, form, replace(made, findings=wrong.findings)), 422


def _addition(kind: str, made: Filled, data: Mapping[str, Any], tree: str) -> Change:
    """What a new entry changes in the plan, with the variety that it needs there."""
    assert made.entry is not None
    if kind == "limb":
        spot = spot_of(data, "tree", tree)
        assert isinstance(spot, Spot)
        change = editing.add_limb(spot.index, made.entry)
    else:
        change = editing.add_entry(kind, made.entry)
    if made.own is None:
        return change
    return editing.both(change, editing.add_entry("variety", made.own))


def _add_page(kind: str, values: Mapping[str, str], made: Filled | None = None) -> str:
    known = known_of(_data(), desk().plan.parent)
    return render_template(
        "stock_add.html.j2",
        **add_context(kind, values, known, made),
        action=url_for("stock.added", kind=kind, **choice_of(values)),
        hidden={"digest": values.get("digest") or digest_of(desk().plan)},
        back=url_for("stock.show"),
    )


# --- changing and removing ---------------------------------------------------------------------


@screen.get("/stock/entry")
def entry() -> Page:
    """One entry, to be renamed, moved or removed."""
    return _entry_page(request.args)


@screen.post("/stock/entry")
def changed() -> Page:
    """A change of one entry, if it can be."""
    form = request.form
    try:
        return _written(_change(form))
    except WrongChange as wrong:
        shown = _entry_page(form, wrong.findings)
        return (shown, 422) if isinstance(shown, str) else shown


def _entry_page(values: Mapping[str, str], findings: tuple[Finding, ...] = ()) -> str | Response:
    kind, name = values.get("kind", ""), values.get("name", "")
    data = _data()
    listed = standing(data)
    trees = listed["trees"]
    everything = [*trees, *(limb for tree in trees for limb in tree.limbs),
                  *listed["neighbours"], *listed["scions"]]  # fmt: skip
    one = next((one for one in everything if (one.kind, one.name) == (kind, name)), None)
    if one is None:
        return redirect(url_for("stock.show"))
    holder = next((tree for tree in trees if one in tree.limbs), None)
    numbers = {"spare_limbs": one.spare, "grafted": one.grafted, "distance_m": one.metres}
    typed = {key: text for key, text in values.items() if key in ("new", "value")}
    return render_template(
        "stock_entry.html.j2",
        one=one,
        holder=holder,
        # A limb can stand only on a tree of its own fruit.
        others=[tree for tree in trees if holder and tree != holder and tree.fruit == one.fruit],
        values=texts_of({"new": one.name, "value": numbers.get(NUMBERS.get(kind, ""))}) | typed,
        findings=findings,
        digest=values.get("digest") or digest_of(desk().plan),
    )


def _change(form: Mapping[str, str]) -> Change:
    """What a form changes in the plan; raises `WrongChange`."""
    data, folder = _data(), desk().plan.parent
    kind, name, act = form.get("kind", ""), form.get("name", ""), form.get("act", "")
    spot = spot_of(data, kind, name)
    if act == "remove":
        return _removal(data, spot, name, folder)
    if isinstance(spot, int):
        raise WrongChange((Finding("error", "unknown-act", say("this can only be removed")),))
    if act == "rename":
        in_log = kind != "tree" and editing.in_log(folder, name)
        return editing.rename(spot, name, form.get("new", "").strip(), in_log=in_log)
    if act == "move":
        target = spot_of(data, "tree", form.get("tree", ""))
        assert isinstance(target, Spot)
        return editing.move_limb(spot, target.index)
    values: dict[str, Any] = {NUMBERS[spot.kind]: _value(spot, form.get("value", ""))}
    if spot.kind == "neighbour":
        # Another distance puts it in another place, which nobody has told.
        values["position_m"] = None
    return editing.change_entry(spot, values)


def _removal(data: Mapping[str, Any], spot: Spot | int, name: str, folder: Path) -> Change:
    if isinstance(spot, int):
        return editing.remove_entry("scion", spot)
    if spot.kind == "tree":
        limbs = [str(limb.get("id", "")) for limb in spot.entry(data).get("limb", [])]
        return editing.remove_tree(spot, in_log=[id for id in limbs if editing.in_log(folder, id)])
    in_log = editing.in_log(folder, name)
    if spot.kind == "limb":
        return editing.remove_limb(spot, in_log=in_log)
    return editing.remove_neighbour(spot, name, in_log=in_log)


def _value(spot: Spot, text: str) -> float:
    """The number of an entry as it was typed; raises `WrongChange`."""
    read: Read[float]
    if spot.kind == "neighbour":
        read = number(text, DISTANCE_M)
    else:
        read = whole(text, SPARE_LIMBS if spot.kind == "tree" else YEARS)
    value, problem = read
    if value is None:
        raise WrongChange([problem] if problem else [])
    return int(value) if float(value).is_integer() else value


# --- writing -----------------------------------------------------------------------------------


def _data() -> dict[str, Any]:
    return tomllib.loads(text_of_plan(desk().plan))


def _written(change: Change, notes: tuple[Finding, ...] = ()) -> Page:
    """The list again after a change of the plan; raises `WrongChange` where it cannot be made."""
    table, digest = desk(), request.form.get("digest")
    file = table.plan.name
    if not rewritten(table, digest, lambda text: editing.changed_text(text, change, file)):
        return changed_meanwhile(url_for("stock.show"))
    plan = open_plan(table.plan)[0]
    late = late_years(plan, date.today().year) if plan else ()
    for finding in (*notes, *late):
        flash(" ".join(filter(None, (finding.place, told(finding.message), told(finding.cure)))),
              "note")  # fmt: skip
    flash(_("Written into the plan."), "written")
    return redirect(url_for("stock.show"))
