"""`pollinet report`: everything on paper, the answer first."""

from __future__ import annotations

from pathlib import Path

import click

from pollinet.cli.common import (
    foreign_file,
    in_language,
    opened,
    out_problem,
    plan_argument,
    print_lines,
    show_findings,
    stop,
    weather_option,
)
from pollinet.cli.donors import source_option
from pollinet.language import _
from pollinet.wording.sentences import check_answer

MARKS = {".html": b'<meta name="generator" content="Pollinet">', ".pdf": b"/Creator (Pollinet)"}
"""What tells a report of ours: only such a file is written over."""


@click.command(
    epilog="Example: pollinet report plan.toml --out report.html. The suffix decides: .html or "
    ".pdf. Exit codes: 0 written, 2 bad input."
)
@plan_argument
@click.option(
    "--out", type=click.Path(path_type=Path), required=True, help="File to write (html, pdf)."
)
@source_option
@weather_option
@in_language
def report(plan: Path, out: Path, source: str, weather: Path | None) -> int:
    """Write the whole answer as a page to print on A4 or to read on a telephone."""
    problem = out_problem(out, tuple(MARKS)) or foreign_file(out, MARKS[out.suffix.lower()])
    if problem is not None:
        stop([problem], as_json=False)
    study = opened(plan, weather)
    from pollinet.report.content import report_of

    pages = report_of(study, from_catalogue=source == "catalogue")
    if out.suffix.lower() == ".pdf":
        from pollinet.charts.fonts import missing_letters
        from pollinet.report.blocks import words_of
        from pollinet.report.pdf import pdf_of

        show_findings(missing_letters(words_of(pages), out.name, ".html"))
        out.write_bytes(pdf_of(pages))
    else:
        from pollinet.report.html import html_of

        out.write_text(html_of(pages), encoding="utf-8")
    told = check_answer(study.coverage, study.plan.aim.level, study.plan.aim.donors)
    written = _("The report on {site} is in {file}.")
    print_lines([told, written.format(site=study.plan.site.name, file=out)])
    return 0
