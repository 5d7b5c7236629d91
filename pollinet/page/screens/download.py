"""Files to keep: the same bytes as the commands write, under names that are safe everywhere."""

from __future__ import annotations

import io
import zipfile
from collections.abc import Sequence
from datetime import date

from flask import Blueprint, Response, abort, request, send_file

from pollinet.answers.graph import GRAPH_SUFFIXES, graph_text
from pollinet.errors import BadQuestion
from pollinet.files import file_stem
from pollinet.findings import Finding
from pollinet.language import _
from pollinet.messages import say
from pollinet.network.graph import donor_graph
from pollinet.page.asking import view_of
from pollinet.page.links import asked, current_study, desk
from pollinet.page.policy import policy_digest
from pollinet.page.questions import number_of, question_of
from pollinet.page.screens.papers import PICTURES, first_day
from pollinet.page.screens.plan_file import text_of_plan
from pollinet.page.tries import written
from pollinet.report.html import folding_script
from pollinet.summary.work import work_from

screen = Blueprint("download", __name__)

REPORT_POLICY = "; ".join(
    (
        "default-src 'none'",
        "style-src 'unsafe-inline'",
        f"script-src '{policy_digest(folding_script())}'",
        "img-src data:",
        "base-uri 'none'",
        "form-action 'none'",
        "frame-ancestors 'none'",
    )
)
"""A report brings its own style and the one script that folds it; it asks for nothing."""

TYPES = {
    ".svg": "image/svg+xml",
    ".png": "image/png",
    ".pdf": "application/pdf",
    ".zip": "application/zip",
    ".ics": "text/calendar",
    ".toml": "application/toml",
    ".html": "text/html",
    ".graphml": "application/graphml+xml",
    ".json": "application/json",
    ".csv": "text/csv",
}

MADE = (1980, 1, 1, 0, 0, 0)
"""Date of all that stands in an archive, so that the same pictures give the same bytes."""

SMALLEST_MM, LARGEST_MM = 10.0, 300.0
"""Sizes of a label that can be asked for: own convention. [mm]"""


def given(data: bytes, stem: str, suffix: str, *, saved: bool = True) -> Response:
    """A file for the browser; saved : to keep it, else to show it."""
    return send_file(
        io.BytesIO(data),
        mimetype=TYPES[suffix],
        as_attachment=saved,
        download_name=f"{file_stem(stem)}{suffix}",
    )


@screen.get("/download/report.<form>")
def report(form: str) -> Response:
    """The report that was worked out, to be read or kept."""
    if form not in ("html", "pdf"):
        abort(404)
    view = view_of("report", form="" if form == "html" else form)
    if not isinstance(view.told, bytes):
        abort(404)
    answer = given(view.told, "report", f".{form}", saved="keep" in request.args)
    if form == "html":
        answer.headers["Content-Security-Policy"] = REPORT_POLICY
    return answer


@screen.get("/download/labels.pdf")
def labels() -> Response:
    """Tags for limbs, and labels for bags of scions."""
    from pollinet.report.labels import Sheet, labels_pdf, limb_labels, scion_labels, sheet_problem

    study, asking = current_study(), question_of("labels", request.args)
    width = number_of(asking, "width", SMALLEST_MM, LARGEST_MM)
    height = number_of(asking, "height", SMALLEST_MM, LARGEST_MM)
    gap = number_of(asking, "gap", 0, 50)
    sheet = Sheet(label_width=width or 70.0, label_height=height or 37.0, gap=gap or 0.0)
    if problem := sheet_problem(sheet):
        raise BadQuestion([Finding("error", "wrong-size", problem)])
    made = limb_labels(study, date.today()) if asking.get("of") != "scions" else ()
    if asking.get("of") != "limbs":
        made += scion_labels(study.plan.scions, date.today())
    if not made:
        message = say("There is nothing to label: the plan names no scions.")
        raise BadQuestion([Finding("error", "nothing-to-label", message)])
    title = _("Labels, {site}").format(site=study.plan.site.name)
    return given(labels_pdf(made, sheet, title), "labels", ".pdf")


@screen.get("/download/work.ics")
def work() -> Response:
    """The work of a year for the calendar of a telephone or computer."""
    from pollinet.report.calendar_file import calendar_bytes

    study, first = current_study(), first_day()
    found = work_from(study, first).tasks
    return given(calendar_bytes(found, study, first), "work", ".ics")


@screen.get("/download/work.pdf")
def work_sheet() -> Response:
    """The work of a year on one sheet for the shed door."""
    from pollinet.report.work_sheet import sheet_of, sheet_pdf

    study, first = current_study(), first_day()
    return given(sheet_pdf(sheet_of(study, work_from(study, first))), "work", ".pdf")


@screen.get("/download/picture/<kind>.<form>")
def picture(kind: str, form: str) -> Response:
    """The chart of a kind; where there are several, all of them in one archive."""
    if kind not in PICTURES or form not in ("svg", "png", "pdf"):
        abort(404)
    from pollinet.charts.album import NOTHING, Wishes, charts_of, why_missing
    from pollinet.charts.style import form_of, picture_bytes

    suffix = f".{form}"
    drawn = {
        one.name: picture_bytes(one.figure, suffix, one.title, one.description, kind)
        for one in charts_of(current_study(), (kind,), Wishes(form=form_of(None, suffix)))
    }
    if not drawn:
        message = say(
            "No {kind}: {reason}.",
            kind=kind,
            reason=why_missing(current_study(), kind) or _(NOTHING),
        )
        raise BadQuestion([Finding("error", "nothing-to-draw", message)])
    if len(drawn) == 1:
        ((name, data),) = drawn.items()
        return given(data, name, suffix)
    return given(_archive([(f"{name}{suffix}", data) for name, data in drawn.items()]), kind,
                 ".zip")  # fmt: skip


def _archive(members: Sequence[tuple[str, bytes]]) -> bytes:
    made = io.BytesIO()
    with zipfile.ZipFile(made, "w", zipfile.ZIP_DEFLATED) as archive:
        for name, data in members:
            archive.writestr(zipfile.ZipInfo(name, MADE), data, zipfile.ZIP_DEFLATED)
    return made.getvalue()


@screen.get("/download/plan.toml")
def plan_file() -> Response:
    """The plan as its file is; with what is tried written into it, where something is."""
    before = desk().plan.read_bytes()
    tries = asked().tries
    text = written(text_of_plan(desk().plan), tries, desk().plan).encode() if tries else before
    return given(text, desk().plan.stem, ".toml")


@screen.get("/download/graph.<form>")
def graph(form: str) -> Response:
    """The donor graph for other programs."""
    if f".{form}" not in GRAPH_SUFFIXES:
        abort(404)
    study = current_study()
    made = donor_graph(study.network, coverage=study.coverage)
    return given(graph_text(made, f".{form}").encode(), "garden", f".{form}")
