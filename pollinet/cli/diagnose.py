"""`pollinet diagnose`: why a limb does not crop."""

from __future__ import annotations

from pathlib import Path

import click

from pollinet.answers.diagnose import diagnose_of, look_at_limb
from pollinet.cli.common import (
    YEARS,
    csv_option,
    give,
    json_option,
    opened,
    plan_argument,
    plan_ids,
    print_lines,
    weather_option,
)
from pollinet.cli.places import limb_named
from pollinet.wording.advice import diagnosis_lines


@click.command(
    epilog="Example: pollinet diagnose plan.toml A-top --year 2026. What is noted with "
    "`pollinet record` is the evidence. Exit codes: 0 an answer, 2 bad input."
)
@plan_argument
@click.argument("limb", shell_complete=plan_ids)
@click.option(
    "--year", type=YEARS, metavar="YYYY", help="Year of bloom; without it: the last noted."
)
@weather_option
@json_option
@csv_option
def diagnose(
    plan: Path,
    limb: str,
    year: int | None,
    weather: Path | None,
    as_json: bool,
    csv: Path | None,
) -> int:
    """Say which causes fit a limb that does not crop, and which test would tell them apart."""
    study = opened(plan, weather, as_json=as_json)
    view = look_at_limb(study, limb_named(study, limb, as_json=as_json), year)
    return give(
        diagnose_of(study, view),
        lambda: print_lines(diagnosis_lines(view)),
        as_json=as_json,
        csv=csv,
    )
