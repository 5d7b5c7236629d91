"""Asking for what takes long, and stopping it."""

from __future__ import annotations

from flask import Blueprint, abort, redirect, request
from werkzeug.wrappers import Response

from pollinet.page.asking import behind, order_of
from pollinet.page.links import to
from pollinet.page.questions import Question, question_of

screen = Blueprint("behind", __name__)

SHOWN_ON = {
    "cover": "cover.show",
    "pollinizer": "grafting.pollinizer",
    "donors": "grafting.donors",
    "without": "grafting.without",
    "season": "papers.season",
    "report": "papers.report",
}
"""The screen that shows each kind of question."""


@screen.post("/behind/ask/<kind>")
def ask(kind: str) -> Response:
    """Begin to work it out; the screen then tells how far it is."""
    question = _asked(kind)
    behind().ask(order_of(question))
    return _back(question)


@screen.post("/behind/stop/<kind>")
def stop(kind: str) -> Response:
    """End it at once."""
    question = _asked(kind)
    behind().stop(order_of(question))
    return _back(question)


def _asked(kind: str) -> Question:
    if kind not in SHOWN_ON:
        abort(404)
    return question_of(kind, {**request.args, **request.form})


def _back(question: Question) -> Response:
    return redirect(to(SHOWN_ON[question.kind], **dict(question.values)), 303)
