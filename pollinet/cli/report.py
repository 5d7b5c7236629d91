"""`pollinet report`: everything on paper, the answer first."""

from __future__ import annotations

from dataclasses import replace
from pathlib import Path

import click

from pollinet.answers.report import written_report_of
from pollinet.cli.common import (
    FilePath,
    give,
    in_language,
    json_option,
    opened,
    out_problem,
    plan_argument,
    print_lines,
    put,
    show_findings,
    stop,
    weather_option,
)
from pollinet.cli.donors import source_option
from pollinet.files import made_by
from pollinet.language import _

MARKS = {".html": b'<meta name="generator" content="Pollinet">', ".pdf": made_by("report").encode()}
"""What tells a report of ours: only such a file is written over."""


@click.command(
    epilog="Example: pollinet report plan.toml --out report.html. The suffix decides: .html or "
    ".pdf. Exit codes: 0 written, 2 bad input."
)
@plan_argument
@click.option("--out", type=FilePath(), required=True, help="File to write (html, pdf).")
@source_option
@weather_option
@json_option
@in_language
def report(plan: Path, out: Path, source: str, weather: Path | None, as_json: bool) -> int:
    """Write the whole answer as a page to print on A4 or to read on a telephone."""
    problem = out_problem(out, tuple(MARKS), MARKS.get(out.suffix.lower()))
    if problem is not None:
        stop([problem], as_json)
    study = opened(plan, weather, as_json=as_json)
    from pollinet.report.content import report_of

    paper = out.suffix.lower() == ".pdf"
    pages = report_of(study, from_catalogue=source == "catalogue", paper=paper)
    if paper:
        from pollinet.charts.fonts import missing_letters
        from pollinet.report.blocks import words_of
        from pollinet.report.pdf import pdf_of

        missing = missing_letters(words_of(pages), out.name, ".html")
        study = replace(study, findings=(*study.findings, *missing))
        if not as_json:
            show_findings(missing)
        content = pdf_of(pages)
    else:
        from pollinet.report.html import html_of

        content = html_of(pages).encode()
    put(out, content, MARKS[out.suffix.lower()], as_json=as_json)
    answer = written_report_of(study, out, content)

    def show() -> None:
        written = _("The report on {site} is in {file}.")
        print_lines([answer.answer, written.format(site=study.plan.site.name, file=out)])

    return give(answer, show, as_json=as_json)
