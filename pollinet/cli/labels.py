"""`pollinet labels`: tags for limbs and for bags of scions, to print and cut."""

from __future__ import annotations

import re
from datetime import date
from pathlib import Path

import click

from pollinet.cli.common import (
    FilePath,
    FiniteRange,
    in_language,
    opened,
    out_problem,
    plan_argument,
    print_lines,
    put,
    show_findings,
    stop,
    weather_option,
)
from pollinet.files import made_by
from pollinet.findings import Finding
from pollinet.language import _, ngettext
from pollinet.messages import say


class SizeMm(click.ParamType[tuple[float, float]]):
    """A size such as `70x37`: width and height in millimetres."""

    name = "WIDTHxHEIGHT"

    def convert(
        self, value: object, param: click.Parameter | None, ctx: click.Context | None
    ) -> tuple[float, float]:
        """The two numbers, or a usage error."""
        if isinstance(value, tuple):
            return value
        number = r"(\d{1,4}(?:\.\d+)?)"
        found = re.fullmatch(rf"{number}\s*[xX×]\s*{number}", str(value).strip())
        if found is None:
            self.fail(f'found "{value}", allowed is width x height in millimetres: 70x37')
        return float(found[1]), float(found[2])


@click.command(
    epilog="Example: pollinet labels plan.toml --out labels.pdf --size 63.5x38.1 --gap 2.5. Print "
    "at 100 %, not fitted to the page. Exit codes: 0 written, 2 bad input."
)
@plan_argument
@click.option("--out", type=FilePath(), required=True, help="PDF to write.")
@click.option(
    "--for",
    "kind",
    type=click.Choice(["all", "limbs", "scions"]),
    default="all",
    show_default=True,
    help="Tags for the limbs, labels for the bags of the plan's scions, or both.",
)
@click.option(
    "--size", type=SizeMm(), default="70x37", show_default=True, help="One label, in millimetres."
)
@click.option("--sheet", type=SizeMm(), default="210x297", show_default=True, help="The sheet: A4.")
@click.option(
    "--gap", type=FiniteRange(0, 50), default=0.0, show_default=True,
    help="Room between labels, in millimetres.",
)  # fmt: skip
@click.option(
    "--margin", type=FiniteRange(0, 30), default=5.0, show_default=True,
    help="Edge of the sheet that the printer does not reach, in millimetres.",
)  # fmt: skip
@weather_option
@in_language
def labels(
    plan: Path,
    out: Path,
    kind: str,
    size: tuple[float, float],
    sheet: tuple[float, float],
    gap: float,
    margin: float,
    weather: Path | None,
) -> int:
    """Write labels with variety, limb, graft year and donor, all of it as a QR code too.

    Those of scions tell fruit, source and rights, and why one must not be grafted. The code holds
    the text of the label and no address: it can be read without a network.
    """
    from pollinet.charts.fonts import missing_letters
    from pollinet.report.labels import Sheet, labels_pdf, limb_labels, scion_labels, sheet_problem

    paper = Sheet(*sheet, *size, gap, margin)
    problem = out_problem(out, (".pdf",), made_by("labels").encode())
    findings = [] if problem is None else [problem]
    if sheet_problem(paper):
        findings.append(Finding(
            "error", "wrong-size", sheet_problem(paper), place="--size",
            cure=say("give width x height in millimetres, such as --size 70x37"),
        ))  # fmt: skip
    if findings:
        stop(findings, as_json=False)
    study = opened(plan, weather)
    made = limb_labels(study, date.today()) if kind != "scions" else ()
    if kind != "limbs":
        made += scion_labels(study.plan.scions, date.today())
    if not made:
        print_lines([_("There is nothing to label: the plan names no scions.")])
        return 0
    title = _("Labels, {site}").format(site=study.plan.site.name)
    show_findings(missing_letters([label.text for label in made], out.name))
    put(out, lambda: labels_pdf(made, paper, title), made_by("labels").encode())
    sheets = -(-len(made) // (paper.columns * paper.rows))
    labelled = ngettext("{number} label", "{number} labels", len(made)).format(number=len(made))
    text = ngettext(
        "{labels} on {number} sheet written to {file}.",
        "{labels} on {number} sheets written to {file}.",
        sheets,
    )
    print_lines([text.format(labels=labelled, number=sheets, file=out)])
    return 0
