"""Writing into the plan: which lines change, and whether the file was changed meanwhile."""

from __future__ import annotations

import difflib
from pathlib import Path

from flask import Blueprint, flash, redirect, render_template, request, url_for
from werkzeug.wrappers import Response

from pollinet import editing
from pollinet.errors import WrongChange
from pollinet.files import locked
from pollinet.findings import has_errors
from pollinet.page.desk import Desk, digest_of
from pollinet.page.links import asked, desk, to
from pollinet.page.tries import written
from pollinet.study import open_plan

screen = Blueprint("plan_file", __name__)

MOST_UNDONE = 10
"""Earlier texts of the plan that are kept to go back to: own convention."""


@screen.get("/write")
def show() -> str:
    """The lines of the plan that would change."""
    before = text_of_plan(desk().plan)
    after = written(before, asked().tries, desk().plan)
    return render_template(
        "write.html.j2",
        lines=changed_lines(before, after),
        digest=digest_of(desk().plan),
        file=desk().plan.name,
    )


@screen.post("/write")
def write() -> Response | tuple[str, int]:
    """Write what is tried, unless the file is another than the one that was shown."""
    table = desk()
    with locked(table.plan.resolve().parent):
        if digest_of(table.plan) != request.form.get("digest"):
            return render_template("changed_meanwhile.html.j2", file=table.plan.name), 409
        before = text_of_plan(table.plan)
        after = written(before, asked().tries, table.plan)
        plan, _catalogue, findings = open_plan(table.plan, after)
        if plan is None or has_errors(findings):
            raise WrongChange([one for one in findings if one.severity == "error"])
        _put(table, after)
        table.undo = [*table.undo, (before, after)][-MOST_UNDONE:]
    flash("written")
    return redirect(url_for("garden.show"))


@screen.post("/undo")
def undo() -> Response | tuple[str, int]:
    """Take back what was written last, unless the file was changed since."""
    table = desk()
    with locked(table.plan.resolve().parent):
        if not table.undo:
            return redirect(to("garden.show"))
        before, after = table.undo[-1]
        if text_of_plan(table.plan) != after:
            return render_template("changed_meanwhile.html.j2", file=table.plan.name), 409
        _put(table, before)
        table.undo.pop()
    return redirect(url_for("garden.show"))


def _put(table: Desk, text: str) -> None:
    if problem := editing.write_plan(table.plan, text):
        raise WrongChange([problem])


def text_of_plan(path: Path) -> str:
    """The text of a plan, without a mark of its encoding."""
    return path.read_bytes().decode("utf-8-sig")


def changed_lines(before: str, after: str) -> list[tuple[str, str]]:
    """Lines that go (`-`), come (`+`) or stand around (` `); `…` stands for what is left out."""
    found: list[tuple[str, str]] = []
    for line in list(difflib.unified_diff(before.splitlines(), after.splitlines(), n=2))[2:]:
        found.append(("…", "") if line.startswith("@@") else (line[0], line[1:]))
    return found
