"""`pollinet rows`: where pollinizer rows go in an orchard."""

from __future__ import annotations

from dataclasses import asdict

import click

from pollinet.advice.rows import RowLayout, layouts
from pollinet.cli.common import FiniteRange, json_option, print_json, print_lines


@click.command(epilog="Example: pollinet rows 18 --spacing 4.5. Exit codes: 0 an answer.")
@click.argument("rows", type=click.IntRange(3, 500))
@click.option(
    "--spacing", type=FiniteRange(0.5, 50), default=4.5, show_default=True,
    help="From row to row, in metres.",
)  # fmt: skip
@json_option
def rows(rows: int, spacing: float, as_json: bool) -> int:
    """Compare layouts of pollinizer rows on the same land: how near is every main row to one."""
    found = layouts(rows, spacing)
    if as_json:
        print_json(
            {"layouts": [{**asdict(one), "drawing": one.drawing} for one in found]}, schema="rows"
        )
        return 0
    best = found[0]
    print_lines([f"For a variety that sets shyly: {best.name}. {layout_words(best)}", ""])
    for one in found:
        print_lines([f"- {one.name}, {100 * one.share:.0f} % of the rows. {layout_words(one)}"])
        print(f"    {one.drawing}")
    print_lines([
        "",
        "M main row, P pollinizer row. Take two pollinizer varieties: S-genotypes that differ from "
        "each other and from the main variety's, one blooming a little before it and one a little "
        "after, and no triploid. Check them with pollinet cross and pollinet check.",
    ])  # fmt: skip
    return 0


def layout_words(one: RowLayout) -> str:
    """How near the main rows are to a pollinizer row."""
    return (
        f"{100 * one.adjacent:.0f} % of the main rows have a pollinizer row beside them; the "
        f"farthest is {one.farthest_m:g} m away."
    )
