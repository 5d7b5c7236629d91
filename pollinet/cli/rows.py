"""`pollinet rows`: where pollinizer rows go in an orchard."""

from __future__ import annotations

from pathlib import Path

import click

from pollinet.advice.rows import layouts
from pollinet.answers.rows import Rows, layout_words, rows_of
from pollinet.cli.common import FiniteRange, csv_option, give, json_option, print_lines


@click.command(
    epilog="Example: pollinet rows 18 --spacing 4.5. Exit codes: 0 an answer, 2 bad input."
)
@click.argument("rows", type=click.IntRange(3, 500))
@click.option(
    "--spacing", type=FiniteRange(0.5, 50), default=4.5, show_default=True,
    help="From row to row, in metres.",
)  # fmt: skip
@json_option
@csv_option
def rows(rows: int, spacing: float, as_json: bool, csv: Path | None) -> int:
    """Compare layouts of pollinizer rows on the same land: how near is every main row to one?"""
    answer = rows_of(layouts(rows, spacing))
    return give(answer, lambda: show_rows(answer), as_json=as_json, csv=csv)


def show_rows(answer: Rows) -> None:
    """Print the best layout, then all with their drawings."""
    print_lines([answer.answer, ""])
    for one in answer.layouts:
        print_lines([f"- {one.name}, {100 * one.share:.0f} % of the rows. {layout_words(one)}"])
        print(f"    {one.drawing}")
    print_lines([
        "",
        "M main row, P pollinizer row. Take two pollinizer varieties: S-genotypes that differ from "
        "each other and from the main variety's, one blooming a little before it and one a little "
        "after, and no triploid. Check them with pollinet cross and pollinet check.",
    ])  # fmt: skip
