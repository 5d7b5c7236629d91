"""Names of varieties for a field that is being typed into."""

from __future__ import annotations

from flask import Blueprint, render_template, request

from pollinet.page.links import asked, desk
from pollinet.page.names import at_hand, offered
from pollinet.readers.catalogue import load_catalogue
from pollinet.readers.names import resolve_fruit
from pollinet.readers.own_tables import own_folder_beside
from pollinet.readers.shared_tables import fruits
from pollinet.study import Study

screen = Blueprint("names", __name__)


@screen.get("/names")
def show() -> str:
    """Options for a list of names; none where the fruit is not known.

    `q` or `variety` : what was typed. The fruit is that of `fruit` or `species`, else that of the
    limb or the tree that the form names.
    """
    given = request.args
    study = _study()
    fruit = _fruit(study)
    text = given.get("q", "") or given.get("variety", "")
    if fruit is None:
        return ""
    first = () if study is None else at_hand(study, fruit)
    if study is not None and any(tree.species == fruit for tree in study.plan.trees):
        catalogue = study.catalogue
    else:
        catalogue, _findings = load_catalogue([fruit], own_folder_beside(desk().plan.parent))
    return render_template("names.html.j2", names=offered(text, fruit, first, catalogue))


def _study() -> Study | None:
    if not desk().exists:
        return None
    found = asked().tried
    return None if found is None else found.study


def _fruit(study: Study | None) -> str | None:
    typed = request.args.get("fruit", "") or request.args.get("species", "")
    if typed:
        return resolve_fruit(typed, fruits(), place="fruit")[0]
    if study is None:
        return None
    limb, tree = request.args.get("limb"), request.args.get("tree")
    for one in study.plan.trees:
        if one.id == tree or any(limb == own.id for own in one.limbs):
            return one.species
    return None
