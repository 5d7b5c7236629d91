"""Writing into the plan: which lines change, and whether the file was changed meanwhile."""

from __future__ import annotations

import difflib
from collections.abc import Callable
from pathlib import Path

from flask import Blueprint, flash, redirect, render_template, request, url_for
from werkzeug.wrappers import Response

from pollinet import editing
from pollinet.errors import WrongChange
from pollinet.files import garden_locked
from pollinet.findings import has_errors
from pollinet.page.desk import Desk, digest_of
from pollinet.page.links import asked, desk, to
from pollinet.page.tries import Try, written
from pollinet.study import open_plan

screen = Blueprint("plan_file", __name__)

MOST_UNDONE = 10
"""Earlier texts of the plan that are kept to go back to: own convention."""


@screen.get("/write")
def show() -> str:
    """The lines of the plan that would change."""
    before = text_of_plan(desk().plan)
    after = written(before, standing_tries(), desk().plan)
    return render_template(
        "write.html.j2",
        lines=changed_lines(before, after),
        digest=digest_of(desk().plan),
        file=desk().plan.name,
    )


def standing_tries() -> list[Try]:
    """What is tried and can be: what is told as left out is not written, either."""
    this = asked().tried
    return [one for one, _before in this.steps] if this else []


@screen.post("/write")
def write() -> Response | tuple[str, int]:
    """Write what is tried, unless the file is another than the one that was shown."""
    table = desk()
    tries = standing_tries()
    if not rewritten(
        table, request.form.get("digest"), lambda text: written(text, tries, table.plan)
    ):
        return changed_meanwhile(to("tryout.show"))
    flash("written")
    return redirect(url_for("garden.show"))


@screen.post("/undo")
def undo() -> Response | tuple[str, int]:
    """Take back what was written last, unless the file was changed since."""
    table = desk()
    with garden_locked(table.plan):
        if not table.undo:
            return redirect(to("garden.show"))
        before, after = table.undo[-1]
        if text_of_plan(table.plan) != after:
            return changed_meanwhile(to("tryout.show"))
        _put(table, before)
        table.undo.pop()
    return redirect(url_for("garden.show"))


def rewritten(table: Desk, digest: str | None, make: Callable[[str], str]) -> bool:
    """Write the plan anew; False where its file is another than the one that was shown.

    digest : of the file that was shown. make : from the text of the plan to the new one.
    Raises `WrongChange` where that could not be a plan.
    """
    with garden_locked(table.plan):
        if digest_of(table.plan) != digest:
            return False
        before = text_of_plan(table.plan)
        after = make(before)
        plan, _catalogue, findings = open_plan(table.plan, after)
        if plan is None or has_errors(findings):
            raise WrongChange([one for one in findings if one.severity == "error"])
        _put(table, after)
        table.undo = [*table.undo, (before, after)][-MOST_UNDONE:]
    return True


def changed_meanwhile(back: str) -> tuple[str, int]:
    """That nothing was written, as the plan is another one by now. `back` : where to look again."""
    text = render_template("changed_meanwhile.html.j2", file=desk().plan.name, back=back)
    return text, 409


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
