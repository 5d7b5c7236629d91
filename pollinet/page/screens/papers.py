"""What is printed, saved or read in peace: report, labels, work, chill, season, weather."""

from __future__ import annotations

from collections.abc import Sequence
from datetime import date

from flask import Blueprint, render_template, request

from pollinet.advice.balance import LimbBalance
from pollinet.answers.balance import balance_of
from pollinet.answers.chill import MODELS, chill_of
from pollinet.answers.weather import weather_of
from pollinet.answers.work import work_of
from pollinet.days import coming_spring
from pollinet.domain import Tree
from pollinet.errors import BadQuestion
from pollinet.findings import Finding
from pollinet.language import MONTHS, N_, _, number
from pollinet.messages import say
from pollinet.page.asking import view_of
from pollinet.page.links import current_study
from pollinet.page.paragraphs import parts_of
from pollinet.page.questions import question_of
from pollinet.summary.advice import garden_balance, garden_looks, garden_thinning
from pollinet.summary.work import work_from
from pollinet.wording.balance import (
    balance_notes,
    flags_text,
    fruits_text,
    grafted_text,
    vigour_text,
)
from pollinet.wording.look import lag_text, look_lines, looks_answer
from pollinet.wording.suits import suits_lines
from pollinet.wording.work import caution_lines, work_notes, work_rows

screen = Blueprint("papers", __name__)

PICTURES = {
    "calendar": N_("When each limb blooms"),
    "network": N_("Who pollinates whom"),
    "matrix": N_("Every pair and why"),
    "winters": N_("Winter by winter"),
    "warming": N_("If it gets warmer"),
    "tradeoff": N_("What more varieties would buy"),
    "chill": N_("Winter chill and needs"),
    "harvest": N_("When each is picked"),
    "tree": N_("The tree with its limbs"),
}
"""The kinds of charts, as in `pollinet.charts.album`, which is slow to load."""


@screen.get("/papers")
def show() -> str:
    """All that can be printed or saved."""
    from pollinet.charts.album import why_missing

    missing = {kind: why_missing(current_study(), kind) for kind in PICTURES}
    return render_template("papers.html.j2", pictures=PICTURES, missing=missing)


@screen.get("/papers/report")
def report() -> tuple[str, int]:
    """The report: how far it is, and where it can be read."""
    view = view_of("report")
    return render_template("report.html.j2", view=view), view.code


@screen.get("/papers/labels")
def labels() -> str:
    """The form for tags and labels."""
    return render_template("labels.html.j2")


@screen.get("/papers/work")
def work() -> str:
    """The work of the twelve months from a day on."""
    study, first = current_study(), first_day()
    year = work_from(study, first)
    told = work_of(study, year)
    return render_template(
        "work.html.j2", found=told, rows=work_rows(year.tasks, first), first=first,
        notes=work_notes(year),
        cautions=caution_lines(year.tasks),
    )  # fmt: skip


def first_day() -> date:
    """The day of the address from which the work is told; today where none is."""
    text = request.args.get("first", "").strip()
    if not text:
        return date.today()
    try:
        return date.fromisoformat(text)
    except ValueError as wrong:
        message = say('"{date}" is no date', date=text)
        cure = say("write it as 2026-04-12")
        raise BadQuestion([Finding("error", "wrong-date", message, cure=cure)]) from wrong


@screen.get("/papers/chill")
def chill() -> str:
    """Winter chill against what the varieties need."""
    import numpy as np

    study = current_study()
    told = chill_of(study)
    supply = [
        (_(words), *(f"{value:.0f}" for value in np.quantile(told.supply[model], (0, 0.1, 0.5, 1))))
        for model, words in MODELS.items()
        if model in told.supply
    ]
    return render_template("chill.html.j2", found=told, supply=supply)


@screen.get("/papers/season")
def season() -> tuple[str, int]:
    """The order of ripening, and what a longer picking season costs in pollination."""
    view = view_of("season")
    return render_template("season.html.j2", view=view, found=view.told), view.code


@screen.get("/papers/balance")
def balance() -> str:
    """Which limbs grow away from the others, and how even the trees look in spring."""
    study = current_study()
    looks = garden_looks(study)
    year = coming_spring(study.plan.site.latitude, date.today())
    found = balance_of(study, looks, year)
    trees = garden_balance(study, year)
    facts = {
        limb.limb: _limb_facts(limb, found.lag_days(tree, limb.limb))
        for tree, limbs in trees.items()
        for limb in limbs
    }
    return render_template(
        "balance.html.j2", found=found, trees=trees, facts=facts, what=flags_text,
        looks=parts_of(look_lines(looks)), even=looks_answer(looks),
        notes=balance_notes(trees, garden_thinning(study)),
    )  # fmt: skip


def _limb_facts(limb: LimbBalance, lag_days: float | None) -> str:
    """All that is known of a limb's strength, in a row; empty: nothing."""
    facts = {
        _("vigour: {word}"): vigour_text(limb),
        _("grafted: {word}"): grafted_text(limb),
        _("shoots: {word} cm"): "" if limb.shoots_cm is None else number(limb.shoots_cm),
        _("{word} % of the wood"): "" if limb.share is None else number(100 * limb.share, ".0f"),
        _("fruits to leave: {word}"): fruits_text(limb),
        _("full bloom {word} days from the middle of the tree"): lag_text(lag_days),
    }
    return "; ".join(text.format(word=word) for text, word in facts.items() if word)


@screen.get("/papers/suits")
def suits() -> tuple[str, int]:
    """How varieties would fare in this garden."""
    from pollinet.summary.named import varieties_named
    from pollinet.summary.suits import suitability

    study = current_study()
    names = question_of("suits", request.args).names("names")
    wanted, findings = varieties_named(study, names, request.args.get("species") or None)
    told = [parts_of(suits_lines(suitability(study, name))) for name in wanted]
    page = render_template(
        "suits.html.j2", found=told, names=", ".join(names), findings=findings,
        fruits=_fruits(study.plan.trees),
    )  # fmt: skip
    return page, 422 if findings else 200


def _fruits(trees: Sequence[Tree]) -> list[str]:
    return list(dict.fromkeys(tree.species for tree in trees))


@screen.get("/papers/weather")
def weather() -> str:
    """The weather record at a glance."""
    told = weather_of(current_study())
    months = [
        (_(month), *("" if value is None else number(value, ".1f") for value in vars(row).values()))
        for month, row in zip(MONTHS, told.months or (), strict=False)
    ]
    return render_template("weather.html.j2", found=told, months=months)
