"""The spring: when everything blooms, and what the others share with one limb."""

from __future__ import annotations

from flask import Blueprint, render_template, request

from pollinet.answers.donors import donors_of, look
from pollinet.findings import Finding
from pollinet.messages import say
from pollinet.page.links import asked, current_study
from pollinet.strips import all_beside, calendar_strip
from pollinet.study import Study
from pollinet.summary.named import limb_named
from pollinet.summary.spring import Spring, garden_spring, winter_spring

screen = Blueprint("spring", __name__)


@screen.get("/spring")
def show() -> str:
    """The bloom of the garden. `limb`, `winter` : chosen; empty: none, and the usual spring."""
    study = current_study()
    limb, problems = _limb(study, request.args.get("limb", ""))
    spring, more = _spring(study, request.args.get("winter", ""))
    before = asked().opened.study
    old = None if before is None or before is study else _same(before, spring)
    looked = None if limb is None else look(study, limb)
    donors = None if looked is None else donors_of(study, looked)
    chosen = "" if donors is None else donors.limb
    return render_template(
        "spring.html.j2",
        study=study,
        spring=spring,
        years=() if study.winters is None else study.winters.harvest_years,
        limb=chosen,
        donors=donors,
        problems=[*problems, *more],
        strip=calendar_strip(
            spring,
            chosen=chosen or None,
            before=old,
            looked=None if looked is None else all_beside(study, looked),
        ),
    )


def _same(study: Study, spring: Spring) -> Spring | None:
    """The same spring of another garden."""
    winter = spring.winter
    return garden_spring(study) if winter is None else winter_spring(study, winter)


def _limb(study: Study, text: str) -> tuple[int | None, tuple[Finding, ...]]:
    if not text:
        return None, ()
    found, problems = limb_named(study, text)
    return (found[0] if found else None), problems


def _spring(study: Study, text: str) -> tuple[Spring, tuple[Finding, ...]]:
    """The spring of a winter; with a finding the usual one, where there is no such winter."""
    if not text:
        return garden_spring(study), ()
    found = winter_spring(study, int(text)) if text.isdecimal() and text.isascii() else None
    if found is not None:
        return found, ()
    message = say("there is no winter before the spring of {year}", year=text)
    cure = say("shown is the usual spring; choose a winter of the list")
    return garden_spring(study), (Finding("error", "no-such-winter", message, cure=cure),)
