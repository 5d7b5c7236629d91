"""The report as one HTML file that needs nothing else, on paper or on a telephone."""

from __future__ import annotations

import re
from importlib.resources import files
from typing import TYPE_CHECKING

from pollinet.charts.style import picture_bytes
from pollinet.language import _, chosen
from pollinet.report.blocks import Block, Picture, Report

if TYPE_CHECKING:
    from markupsafe import Markup


def html_of(report: Report) -> str:
    """The whole document; every text is escaped, only our own drawings are taken as they are."""
    from jinja2 import Environment, StrictUndefined

    environment = Environment(
        autoescape=True, undefined=StrictUndefined, keep_trailing_newline=True
    )
    text = files("pollinet.report").joinpath("page.html.j2").read_text(encoding="utf-8")
    return environment.from_string(text).render(
        report=report, kind=_kind, drawn=_drawn, language=chosen(), _=_
    )


def _kind(block: Block) -> str:
    return type(block).__name__


def _drawn(picture: Picture) -> Markup:
    from markupsafe import Markup

    return Markup(inline_svg(picture))


def inline_svg(picture: Picture) -> str:
    """A chart as SVG inside of a page: without prologue, its names made its own.

    Two drawings in one page may not share an `id`; matplotlib numbers each drawing from one.
    """
    chart = picture.chart
    svg = picture_bytes(chart.figure, ".svg", chart.title, chart.description).decode()
    svg = svg[svg.index("<svg ") :]
    svg = re.sub(r"<metadata>.*?</metadata>\s*", "", svg, flags=re.DOTALL)
    # Inside of a page a style rule would hold for the whole page.
    svg = re.sub(r'<style type="text/css">.*?</style>', "", svg, flags=re.DOTALL)
    svg = svg.replace("<svg ", '<svg style="stroke-linejoin: round" ', 1)
    return re.sub(r'(\bid="|url\(#|href="#)', rf"\g<1>{chart.name}-", svg)
