"""A question as a screen shows it: answered at once, or how far it is behind."""

from __future__ import annotations

import json
from dataclasses import dataclass
from typing import Any

from flask import current_app, request

from pollinet.errors import BadQuestion
from pollinet.findings import Finding
from pollinet.language import chosen
from pollinet.page.behind import Behind, Job, Order
from pollinet.page.links import current_study, desk, texts
from pollinet.page.questions import Question, answered, is_long, question_of


@dataclass(frozen=True)
class View:
    """A question with what is told of it.

    told : None: not yet. job : how far it is, where it is worked out behind and was asked for.
    findings : what is wrong with the question.
    """

    question: Question
    long: bool
    told: Any = None
    job: Job | None = None
    findings: tuple[Finding, ...] = ()

    @property
    def code(self) -> int:
        """Of the answer to a browser."""
        return 422 if self.findings else 200


def behind() -> Behind:
    """What is worked out behind in this application."""
    found: Behind = current_app.extensions["pollinet-behind"]
    return found


def order_of(question: Question) -> Order:
    """The question, asked of the garden of this request."""
    return Order(desk().digest(), tuple(texts()), question, chosen())


def view_of(kind: str, **more: str) -> View:
    """The question of this address; more : what its path says."""
    question = question_of(kind, {**request.args, **more})
    study = current_study()
    if not is_long(study, question):
        try:
            return View(question, False, json.loads(answered(study, question)))
        except BadQuestion as problem:
            return View(question, False, findings=problem.findings)
    job = behind().look(order_of(question))
    if job is None or job.state != "done":
        return View(question, True, None, job, () if job is None else job.findings)
    return View(question, True, job.data if kind == "report" else json.loads(job.data), job)
