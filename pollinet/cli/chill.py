"""`pollinet chill`: winter chill of the site against what the varieties need."""

from __future__ import annotations

from pathlib import Path

import click
import numpy as np

from pollinet.answers.chill import MODELS, chill_of
from pollinet.cli.common import (
    csv_option,
    give,
    json_option,
    new_table,
    opened,
    plan_argument,
    print_lines,
    print_table,
    warmer_option,
    weather_option,
)
from pollinet.study import Study
from pollinet.summary.limbs import LimbChill, limb_chill
from pollinet.wording.sentences import chill_answer, of_ten, straggling_note, weather_words


@click.command(epilog="Example: pollinet chill plan.toml. Exit codes: 0 an answer, 2 bad input.")
@plan_argument
@weather_option
@warmer_option
@json_option
@csv_option
def chill(plan: Path, weather: Path | None, warmer: float, as_json: bool, csv: Path | None) -> int:
    """Compare the chill of every winter with what the planned varieties need.

    Requirements are compared in chill portions only: hours and units of other models cannot be
    turned into one another.
    """
    study = opened(plan, weather, as_json=as_json, warmer_c=warmer)
    outlook = study.warmer(warmer) if warmer and study.winters is not None else None

    def show() -> None:
        show_chill(study)
        if outlook is not None:
            print_lines(["", f"The same with every hour {warmer:+g} °C:", ""])
            show_chill(outlook)

    return give(chill_of(study, outlook), show, as_json=as_json, csv=csv)


def show_chill(study: Study) -> None:
    """Print the answer, the supply in every model, and the limbs."""
    limbs = limb_chill(study)
    print_lines([chill_answer(limbs, study.plan.aim.level), ""])
    if study.chill_supply is None:
        print_lines([weather_words(study.record, study.winters)])
        return
    table = new_table(
        ("Supply, 1 October to 31 March" if study.plan.site.latitude >= 0 else
         "Supply, 1 April to 29 September", {}),
        *((name, {"justify": "right"}) for name in ("Lowest", "Worst of 10", "Median", "Highest")),
    )  # fmt: skip
    for field, words in MODELS.items():
        supply = getattr(study.chill_supply, field)
        table.add_row(words, *(f"{v:.0f}" for v in np.quantile(supply, (0, 0.1, 0.5, 1))))
    print_table(table)
    print_lines([""])
    table = new_table(
        ("Limb", {}), ("Variety", {}), ("Needs (portions)", {}), ("Enough in", {}), ("From", {})
    )
    for limb in limbs:
        table.add_row(*_cells(limb))
    print_table(table)
    short = straggling_note(limb.short for limb in limbs)
    print_lines(["", *_notes(study), *short])


def _cells(limb: LimbChill) -> tuple[str, ...]:
    name = (limb.node.id, limb.node.variety.name)
    if limb.assumed is not None:
        drawn = f"{limb.assumed.portions:.0f} ± {limb.assumed.sd_portions:.0f}"
        return (*name, drawn, of_ten(limb.assumed_enough or 0.0), "not published: usual range")
    if limb.needs is None:
        return (*name, "not published", "not known", "")
    spread = f" ± {limb.sd:.0f}" if limb.sd else ""
    return (*name, f"{limb.needs:.0f}{spread}", of_ten(limb.enough or 0.0), ", ".join(limb.sources))


def _notes(study: Study) -> list[str]:
    return [
        weather_words(study.record, study.winters),
        "Worst of 10: one winter in ten gives less. Portions, hours and units of different models "
        "do not convert into one another; a requirement holds only in its own model.",
        "Published requirements of one variety differ by tens of portions between places: read "
        "them as an order, not as a threshold.",
    ]
