"""`pollinet suits`: how a variety would fare in this garden."""

from __future__ import annotations

from collections.abc import Sequence
from pathlib import Path

import click

from pollinet.answers.suits import suits_of
from pollinet.cli.common import (
    csv_option,
    give,
    in_language,
    json_option,
    opened,
    plan_argument,
    print_lines,
    stop,
    weather_option,
)
from pollinet.study import Study
from pollinet.summary.named import varieties_named
from pollinet.summary.suits import Suitability, suitability
from pollinet.wording.sentences import weather_words
from pollinet.wording.suits import suits_lines


@click.command(
    epilog="Example: pollinet suits plan.toml Kordia Sam. Exit codes: 0 an answer, 2 bad input."
)
@plan_argument
@click.argument("variety", nargs=-1, required=True)
@click.option("--species", metavar="FRUIT", help="Kind of fruit, where the plan has several.")
@weather_option
@json_option
@csv_option
@in_language
def suits(
    plan: Path,
    variety: tuple[str, ...],
    species: str | None,
    weather: Path | None,
    as_json: bool,
    csv: Path | None,
) -> int:
    """Say how each VARIETY would fare here: winter cold, chill, bloom, pollen, harvest, frost."""
    study = opened(plan, weather, as_json=as_json)
    wanted, problems = varieties_named(study, variety, species)
    if problems:
        stop(problems, as_json)
    found = [suitability(study, name) for name in wanted]
    return give(suits_of(study, found), lambda: show_suits(study, found), as_json=as_json, csv=csv)


def show_suits(study: Study, found: Sequence[Suitability]) -> None:
    """Print what is told of each variety, and what weather it rests on."""
    for number, view in enumerate(found):
        print_lines([""] * (number > 0) + suits_lines(view))
    print_lines(["", weather_words(study.record, study.winters)])
