"""The Flask application: screens joined, language, addresses in templates, errors as pages."""

from __future__ import annotations

import re
import secrets
from collections.abc import Collection
from http import HTTPStatus
from pathlib import Path
from typing import Any

from flask import (
    Flask,
    Response,
    current_app,
    g,
    make_response,
    redirect,
    render_template,
    request,
    url_for,
)
from markupsafe import Markup, escape
from werkzeug.exceptions import HTTPException
from werkzeug.wrappers import Response as AnyResponse

from pollinet.days import day_of_year
from pollinet.errors import Unfit
from pollinet.findings import has_errors
from pollinet.language import (
    ENGLISH,
    LANGUAGES,
    _,
    chosen,
    joined,
    ngettext,
    number,
    short_date,
    speaking,
    told,
)
from pollinet.page import guard
from pollinet.page.behind import LIMIT_S, Behind
from pollinet.page.commands import IN_WORDS, with_buttons
from pollinet.page.desk import Desk
from pollinet.page.links import (
    asked,
    desk,
    graft_text,
    own_address,
    scores,
    steps,
    texts,
    to,
    with_more,
    without,
    wrong_steps,
)
from pollinet.page.screens import SCREENS, plan_text
from pollinet.strips import style_sheet
from pollinet.summary.limbs import name_beside
from pollinet.wording.check import MARKS, VERDICTS
from pollinet.wording.commands import COMMAND
from pollinet.wording.notes import day_words, place_words, seen_words
from pollinet.wording.sentences import of_ten, tenths, winters_of_ten

LANGUAGE_COOKIE = "language"

STILL = ("static", "strips_sheet")
"""Files that are served as they are: they ask nothing of the garden."""

WORDS = {"en": "English", "de": "Deutsch"}
"""Names of the languages in themselves."""


def create_app(
    plan: Path, *, hosts: Collection[str], token: str | None = None, language: str | None = None
) -> Flask:
    """The application on one plan, which may still have to be begun.

    hosts : what may stand in Host, port included. token : that of the forms; None: a new one.
    language : None: as the browser wishes.
    """
    app = Flask("pollinet.page")
    app.config["MAX_CONTENT_LENGTH"] = guard.MOST_FILE_BYTES
    app.config["MAX_FORM_MEMORY_SIZE"] = guard.MOST_MEMORY_BYTES
    app.extensions["pollinet-desk"] = Desk(plan)
    app.extensions["pollinet-behind"] = Behind(plan)
    app.extensions["pollinet-token"] = token or secrets.token_urlsafe(32)
    app.secret_key = secrets.token_bytes(32)
    app.config["SESSION_COOKIE_SAMESITE"] = "Strict"
    app.jinja_options = {"trim_blocks": True, "lstrip_blocks": True}
    _speak(app, language)
    guard.guard(app, hosts=hosts, token=app.extensions["pollinet-token"])
    _hold(app)
    _need_a_garden(app)
    _fill(app)
    _fail(app)
    app.add_url_rule("/strips.css", "strips_sheet", strips_sheet)
    for screen in SCREENS:
        app.register_blueprint(screen)
    return app


def _speak(app: Flask, language: str | None) -> None:
    """Answer each request in the language of its cookie, of the command, or of the browser."""

    @app.before_request
    def begin() -> None:
        wished = request.cookies.get(LANGUAGE_COOKIE, "")
        best = request.accept_languages.best_match(LANGUAGES) or ENGLISH
        code = wished if wished in LANGUAGES else language or best
        g.speaking = speaking(code)
        g.speaking.__enter__()

    @app.teardown_request
    def end(_problem: BaseException | None) -> None:
        if "speaking" in g:
            g.pop("speaking").__exit__(None, None, None)

    @app.get("/language/<code>")
    def language_chosen(code: str) -> AnyResponse:
        back = request.args.get("back", "/")
        # An address of this page alone: one slash, and no other host behind two.
        answer = redirect(back if re.match(r"/(?![/\\])", back) else "/")
        if code in LANGUAGES:
            answer.set_cookie(LANGUAGE_COOKIE, code, httponly=True, samesite="Strict")
        return answer


def _hold(app: Flask) -> None:
    """One question at a time: studies share what they have worked out."""

    @app.before_request
    def begin() -> None:
        if request.endpoint not in STILL:
            desk().lock.acquire()
            g.held = True

    @app.teardown_request
    def end(_problem: BaseException | None) -> None:
        if g.pop("held", False):
            desk().lock.release()


def _need_a_garden(app: Flask) -> None:
    """Screens that need a garden are shown one; else what is missing."""

    @app.before_request
    def fit() -> AnyResponse | Response | None:
        free = (None, "begin", "names", "plan_text")
        if request.blueprint in free or request.endpoint in STILL:
            return None
        if not desk().exists:
            return redirect(url_for("begin.show"))
        found = asked().opened
        if found.study is None or has_errors(found.findings):
            return make_response(plan_text.text_page(found.findings), 422)
        return None


def _fill(app: Flask) -> None:
    """What every template may use."""
    app.jinja_env.globals.update(
        _=_, ngettext=ngettext, number=number, told=told, to=to, tries_without=without,
        tries_with=with_more, of_ten=of_ten, tenths=tenths, winters_of_ten=winters_of_ten,
        MARKS=MARKS, VERDICTS=VERDICTS, tried_steps=steps, tried_wrong=wrong_steps,
        graft_text=graft_text, seen_words=seen_words, place_words=place_words,
        day_words=day_words,
        tried_scores=scores, endpoints=app.view_functions,
        own_address=own_address, name_beside=name_beside,
        short_day=short_day, joined=joined, limit_s=round(LIMIT_S),
    )  # fmt: skip
    app.jinja_env.filters["say"] = said
    # Templates take the place of words of the text that Jinja itself would not escape.
    app.jinja_env.autoescape = True

    @app.context_processor
    def each() -> dict[str, Any]:
        others = [(code, WORDS[code]) for code in LANGUAGES if code != chosen()]
        return {
            "language": chosen(),
            "languages": others,
            "token": app.extensions["pollinet-token"],
            "try_texts": texts(),
        }


def strips_sheet() -> Response:
    """The style sheet of the strips, which holds the colours of all pages."""
    return Response(style_sheet(), mimetype="text/css", headers={"Cache-Control": "no-cache"})


def short_day(month_day: str) -> str:
    """A day of an answer, MM-DD, as a grower writes it: `10 Apr`."""
    month, day = map(int, month_day.split("-"))
    return short_date(day_of_year(month, day))


def said(text: str) -> Markup:
    """A sentence of an answer: a link to the screen of a command, the button of an option."""
    out, done = Markup(), 0
    for found in COMMAND.finditer(text):
        part = found[1] or found[2]
        out += escape(with_buttons(text[done : found.start()]))
        done = found.end()
        if part in IN_WORDS and IN_WORDS[part][0] in current_app.view_functions:
            endpoint, words = IN_WORDS[part]
            out += Markup('<a href="{}">{}</a>').format(to(endpoint), _(words))
        else:
            out += Markup("<code>pollinet {}</code>").format(part)
    return out + escape(with_buttons(text[done:]))


def _fail(app: Flask) -> None:
    """What goes wrong is a page, too: what, and what to do."""

    @app.errorhandler(HTTPException)
    def failed(problem: HTTPException) -> Response:
        code = problem.code or 500
        words = {
            HTTPStatus.NOT_FOUND: _("There is nothing at this address."),
            HTTPStatus.FORBIDDEN: _(
                "This was refused: it did not come from a form of this page. Load the page again "
                "and repeat what you did."
            ),
            HTTPStatus.REQUEST_ENTITY_TOO_LARGE: _("That is larger than can be taken in here."),
        }
        text = words.get(HTTPStatus(code), _("That could not be done."))
        return make_response(render_template("problem.html.j2", text=text), code)

    @app.errorhandler(Unfit)
    def unfit(problem: Unfit) -> Response:
        return make_response(
            render_template(
                "problem.html.j2",
                text=_("That cannot be done as it stands."),
                findings=problem.findings,
            ),
            422,
        )
