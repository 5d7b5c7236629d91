"""The file for the telephone, to be saved and sent there."""

from __future__ import annotations

from datetime import date
from unicodedata import normalize

from flask import Blueprint, Response

from pollinet.files import file_stem
from pollinet.page.links import asked
from pollinet.page.take_along import take_along_html

screen = Blueprint("take_along", __name__)


@screen.get("/take-along")
def show() -> Response:
    """The garden as it stands, as one file."""
    study = asked().opened.study
    assert study is not None
    answer = Response(take_along_html(study, date.today()), mimetype="text/html")
    plain = normalize("NFKD", study.plan.site.name).encode("ascii", "ignore").decode()
    name = file_stem(plain) if plain.strip() else "garden"
    answer.headers["Content-Disposition"] = f'attachment; filename="{name}.html"'
    return answer
