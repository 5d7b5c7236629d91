"""The report as one HTML file that needs nothing else, on a telephone or on paper."""

from __future__ import annotations

from importlib.resources import files

from markupsafe import Markup, escape

from pollinet.language import _, chosen
from pollinet.report.blocks import Block, Report
from pollinet.strips import style_sheet
from pollinet.wording.commands import with_code

UNFOLDED = ("answer", "do", "bloom")
"""Sections that are always open: the first page."""


def html_of(report: Report) -> str:
    """The whole document; every text is escaped, only our own strips are taken as they are.

    report : one that is not for paper.
    """
    from jinja2 import Environment, StrictUndefined

    environment = Environment(
        autoescape=True, undefined=StrictUndefined, keep_trailing_newline=True
    )
    own = files("pollinet.report")
    text = own.joinpath("page.html.j2").read_text(encoding="utf-8")
    style = style_sheet() + own.joinpath("page.css").read_text(encoding="utf-8")
    return environment.from_string(text).render(
        report=report,
        kind=_kind,
        coded=_coded,
        language=chosen(),
        style=Markup(style),
        script=Markup(folding_script()),
        unfolded=UNFOLDED,
        _=_,
    )


def folding_script() -> str:
    """The one script of the document, which folds its sections on a telephone."""
    return files("pollinet.report").joinpath("folding.js").read_text(encoding="utf-8")


def _coded(text: str) -> Markup:
    """A text with its commands set as code."""
    return Markup().join(
        Markup("<code>{}</code>").format(piece) if code else escape(piece)
        for piece, code in with_code(text)
    )


def _kind(block: Block) -> str:
    return type(block).__name__
