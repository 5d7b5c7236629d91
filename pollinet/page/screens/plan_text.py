"""The text of the plan: to be looked at and changed by hand, above all where it is unfit."""

from __future__ import annotations

from collections.abc import Sequence

from flask import Blueprint, flash, redirect, render_template, request, url_for
from werkzeug.wrappers import Response

from pollinet.errors import WrongChange
from pollinet.findings import Finding
from pollinet.language import _
from pollinet.page.desk import digest_of
from pollinet.page.links import desk
from pollinet.page.near_lines import Near, near_line
from pollinet.page.screens.plan_file import changed_meanwhile, rewritten, text_of_plan

screen = Blueprint("plan_text", __name__)

Page = str | Response | tuple[str, int]


@screen.get("/text")
def show() -> Page:
    """The text of the plan in a field."""
    if not desk().exists:
        return redirect(url_for("begin.show"))
    return text_page(desk().opened().findings)


@screen.post("/text")
def write() -> Page:
    """Write the text, if it is a plan; else show what is wrong in it."""
    if not desk().exists:
        return redirect(url_for("begin.show"))
    typed = request.form.get("text", "").replace("\r\n", "\n")
    try:
        if not rewritten(desk(), request.form.get("digest"), lambda before: _ends(typed, before)):
            return changed_meanwhile(url_for("plan_text.show"))
    except WrongChange as wrong:
        return text_page(wrong.findings, typed), 422
    flash(_("Written into the plan."), "written")
    return redirect(url_for("plan_text.show"))


def _ends(typed: str, before: str) -> str:
    """A text with the line ends that the plan had; a form does not keep them."""
    return typed.replace("\n", "\r\n") if "\r\n" in before else typed


def text_page(findings: Sequence[Finding], typed: str | None = None) -> str:
    """The plan's text with what is wrong in it. `typed` : a text that was not written."""
    plan = desk().plan
    text, readable = typed, True
    if text is None:
        try:
            text = text_of_plan(plan)
        except (OSError, UnicodeDecodeError):
            text, readable = "", False
    lines = text.splitlines()
    places: list[tuple[Finding, Near | None]]
    places = [(one, near_line(lines, one) if one.file == plan.name else None) for one in findings]
    return render_template(
        "plan_text.html.j2",
        places=places,
        unfit=any(one.severity == "error" for one in findings),
        written=typed is None,
        readable=readable,
        text=text,
        rows=min(max(len(lines) + 2, 8), 40),
        digest=request.form.get("digest") or digest_of(plan),
        file=plan.name,
    )
