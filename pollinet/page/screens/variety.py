"""A variety: what is known of it, whether it suits the garden; and adding what one knows."""

from __future__ import annotations

import re
from collections.abc import Iterable, Mapping
from dataclasses import dataclass

from flask import Blueprint, flash, redirect, render_template, request
from werkzeug.wrappers import Response

from pollinet.answers.suits import suits_of
from pollinet.answers.variety import KnownFact, look_at_variety, variety_page_of
from pollinet.domain import Fact, VarietyId
from pollinet.files import OWN_FOLDER, garden_locked
from pollinet.findings import Finding
from pollinet.language import N_, _, told
from pollinet.messages import say
from pollinet.page.links import current_study, desk, graft_text, not_here, to
from pollinet.page.names import suggested
from pollinet.readers.add_variety import add_variety
from pollinet.readers.own_tables import is_shipped
from pollinet.readers.own_varieties import OPTIONS, OwnVariety
from pollinet.readers.shared_tables import fruits, read_shared
from pollinet.study import Study
from pollinet.summary.named import varieties_named
from pollinet.summary.suits import suitability
from pollinet.wording.suits import suits_facts, suits_notes
from pollinet.wording.varieties import LABELS, dispute_line, fact_words

screen = Blueprint("variety", __name__)


@screen.get("/variety")
def find() -> str | Response | tuple[str, int]:
    """A form to look one up; with `variety` and `fruit` it leads there."""
    study = current_study()
    typed = request.args.get("variety", "").strip()
    if typed:
        return redirect(to("variety.show", name=typed, fruit=request.args.get("fruit") or None))
    fruits_here = list(dict.fromkeys(tree.species for tree in study.open_trees))
    return render_template(
        "varieties.html.j2",
        near={fruit: suggested(study, fruit) for fruit in fruits_here},
    )


@screen.get("/variety/<path:name>")
def show(name: str) -> str | tuple[str, int]:
    """The variety of a name; `fruit`: its kind, where several have the name."""
    study = current_study()
    found, problems = _named(study, name)
    if found is None:
        return not_here(problems)
    variety = study.known[found]
    suits = suitability(study, found)
    known = look_at_variety(variety, study.catalogue, read_shared(study.own_folder, []).grounds)
    page = variety_page_of(known, study.catalogue, ())
    limbs = [limb for limb in study.plan.limbs if limb.variety.species == found.species]
    room = any(t.species == found.species and t.spare_limbs > 0 for t in study.open_trees)
    return render_template(
        "variety.html.j2",
        suits=suits_of(study, [suits]).varieties[0],
        facts=suits_facts(suits),
        page=page,
        known=[told_fact(one) for one in known.facts],
        disputes=[dispute_line(dispute) for dispute in variety.disputes],
        graft=graft_text(found) if room else "",
        limbs=[limb for limb in limbs if limb.variety != found],
        notes=suits_notes(suits),
    )  # fmt: skip


def told_fact(known: KnownFact) -> tuple[str, str, Fact]:
    """A fact as it stands in a list: what it is, its value in words, and itself."""
    fact, context = known.fact, known.context
    words = fact_words(fact, known.evidence, context.reference_variety if context else "")
    return _(LABELS.get(fact.property, fact.property)), words, fact


def _named(study: Study, name: str) -> tuple[VarietyId | None, tuple[Finding, ...]]:
    """The variety meant by an address; None with what is wrong."""
    fruit = request.args.get("fruit") or request.form.get("fruit") or None
    found, problems = varieties_named(study, [name], fruit)
    return (found[0] if found else None), problems


# --- what the grower knows ---------------------------------------------------------------------


@dataclass(frozen=True)
class Field:
    """A field of the form. `name` : the option of `pollinet variety add` that it stands for."""

    name: str
    label: str
    hint: str = ""
    choices: tuple[str, ...] = ()


YES_NO = ("yes", "no")

FIELDS = (
    Field("bloom", N_("Bloom"), N_('In your garden: "8 Apr - 18 Apr"; or "4 days after" and the '
                                   "name of another variety")),
    Field("pick", N_("Picked"), N_('In your garden: "8 Sep - 20 Sep"')),
    Field("s-genotype", N_("S-alleles"), N_("Such as S1S5, or S1S? where one is not known")),
    Field("self-fertile", N_("Own pollen sets a crop"), "", (*YES_NO, "partial")),
    Field("pollen-ok", N_("Its pollen works"), "", YES_NO),
    Field("ploidy", N_("Sets of chromosomes"), N_("2 for most; 3 is a triploid")),
    Field("chill-portions", N_("Winter chill needed"), N_("In chill portions")),
    Field("pollen-shed", N_("Catkins shed pollen"), N_('Such as "8 Jan - 2 Feb" (hazelnut)')),
    Field("parents", N_("Parents"), N_('The seed parent first, with an x between; ? for one that '
                                       "is not known")),
    Field("keeping-weeks", N_("Weeks that it keeps"), N_("In a cool cellar")),
    Field("hardiness-zone", N_("Hardiness zone"), "1–13"),
    Field("crab", N_("Crab apple"), "", YES_NO),
    Field("sport-of", N_("Sport or clone of")),
    Field("note", N_("Where you know it from")),
)  # fmt: skip
"""What a grower may know of a variety, in the order of what helps most."""

CHOICES: Mapping[str, str] = {"yes": N_("yes"), "no": N_("no"), "partial": N_("partly")}


@screen.get("/know/<path:name>")
def know(name: str) -> str | tuple[str, int]:
    """The form for what one knows of a variety."""
    study = current_study()
    found, problems = _named(study, name)
    if found is None:
        return not_here(problems)
    return _form(found, {}, ())


@screen.post("/know/<path:name>")
def add(name: str) -> Response | tuple[str, int]:
    """Write what one knows into the own tables beside the plan."""
    study = current_study()
    variety, problems = _named(study, name)
    if variety is None:
        return not_here(problems)
    typed = {field.name: " ".join(request.form.get(field.name, "").split()) for field in FIELDS}
    home = desk().plan.parent / OWN_FOLDER
    if is_shipped(home):
        message = say("This is the folder of the shipped catalogues, which stay as they are.")
        return _form(variety, typed, [Finding("error", "shipped-folder", message)]), 422
    own = _described(variety, typed)
    if not (own.properties or own.bloom or own.shed or own.pick or own.clone_of):
        message = say("Say something about the variety, at least one value.")
        return _form(variety, typed, [Finding("error", "nothing", message)]), 422
    with garden_locked(home):
        catalogue, findings = add_variety(own, home)
    if catalogue is None:
        return _form(variety, typed, findings), 422
    flash("added")
    return redirect(to("variety.show", name=variety.name, fruit=variety.species))


def _described(variety: VarietyId, typed: Mapping[str, str]) -> OwnVariety:
    properties = {name: typed[option] for name, option in OPTIONS.items() if typed[option]}
    bloom = (typed["bloom"],) if typed["bloom"] else ()
    fruit = fruits()[variety.species]
    return OwnVariety(
        variety.name, fruit, properties, bloom, typed["sport-of"], typed["note"],
        typed["pollen-shed"], typed["pick"],
    )  # fmt: skip


def _form(variety: VarietyId, typed: Mapping[str, str], findings: Iterable[Finding]) -> str:
    apart = fruits()[variety.species].shed_apart
    return render_template(
        "know.html.j2",
        variety=variety,
        fields=[field for field in FIELDS
                if (apart or field.name != "pollen-shed")
                and (variety.species == "apple" or field.name != "crab")],
        typed=typed,
        choices=CHOICES,
        problems=[
            (one.severity, in_labels(told(one.message)), in_labels(told(one.cure)), _label(one))
            for one in findings
        ],
    )  # fmt: skip


def _label(finding: Finding) -> str:
    """The field that a finding is about; empty: none of them."""
    found = [field for field in FIELDS if finding.place.startswith(f"--{field.name}")]
    return _(found[0].label) if found else ""


def in_labels(text: str) -> str:
    """A sentence with the labels of the form in place of the options of a command."""
    labels = {field.name: _(field.label) for field in FIELDS}
    return re.sub(r"--([a-z-]+)", lambda found: labels.get(found.group(1), found.group()), text)
