"""What is printed, saved or read in peace: report, labels, work, chill, season, weather."""

from __future__ import annotations

from collections.abc import Sequence
from datetime import date

from flask import Blueprint, render_template, request

from pollinet.answers.balance import balance_of
from pollinet.answers.chill import MODELS, chill_of
from pollinet.answers.weather import weather_of
from pollinet.answers.work import work_from, work_of
from pollinet.domain import Tree
from pollinet.errors import BadQuestion
from pollinet.findings import Finding
from pollinet.language import MONTHS, N_, _, number
from pollinet.messages import say
from pollinet.page.asking import view_of
from pollinet.page.links import current_study
from pollinet.page.paragraphs import parts_of
from pollinet.page.questions import question_of
from pollinet.readers.advice import advice_tables
from pollinet.summary.advice import garden_looks
from pollinet.wording.look import FLAGS, lag_text, look_lines, looks_answer
from pollinet.wording.suits import (
    caution_lines,
    gap_lines,
    suits_lines,
    task_dates,
    task_limbs,
    undated_lines,
)

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
    return render_template("papers.html.j2", pictures=PICTURES)


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
    cautions = {row["caution"]: row["text"] for row in advice_tables()["cautions"]}
    told = work_of(study, year)
    rows = [
        (task_dates(task), _(task.title), task_limbs(task), _(task.reason)) for task in year.tasks
    ]
    notes = [*undated_lines(year.undated), *gap_lines(year.gaps)]
    return render_template(
        "work.html.j2", found=told, rows=rows, first=first, notes=notes,
        cautions=caution_lines(year.tasks, cautions),
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
    return render_template(
        "balance.html.j2", found=balance_of(study, looks), looks=parts_of(look_lines(looks)),
        even=looks_answer(looks), flags=FLAGS, lag=lag_text,
    )  # fmt: skip


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
