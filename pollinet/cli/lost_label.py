"""`pollinet lost-label`: which varieties a limb without a label may be."""

from __future__ import annotations

from pathlib import Path

import click

from pollinet.answers.lost_label import LostLabel, lost_label_of
from pollinet.cli.common import (
    csv_option,
    give,
    in_language,
    json_option,
    new_table,
    opened,
    plan_argument,
    plan_ids,
    print_lines,
    print_table,
    stop,
    weather_option,
)
from pollinet.findings import Finding
from pollinet.language import _
from pollinet.messages import say
from pollinet.readers.day_words import parse_day
from pollinet.study import Study
from pollinet.summary.lost_label import Asked, Label, label_of, unknown_limb
from pollinet.summary.named import varieties_named
from pollinet.wording.lost_label import cells, headings, label_notes, springs_words
from pollinet.wording.sentences import weather_words


@click.command(
    "lost-label",
    epilog="Example: pollinet lost-label plan.toml A-top --picked 09-20. Exit codes: 0 an answer, "
    "2 bad input.",
)
@plan_argument
@click.argument("limb", shell_complete=plan_ids)
@click.option("--picked", metavar="DAY", help="First pick: 09-20, 20 Sep.")
@click.option(
    "--sets-with", multiple=True, metavar="VARIETY",
    help="It set fruit by this variety's pollen alone (by hand, in a bag).",
)  # fmt: skip
@click.option(
    "--bare-with", multiple=True, metavar="VARIETY",
    help="It set none by this variety's pollen alone, on healthy flowers in good weather.",
)  # fmt: skip
@click.option(
    "--where", multiple=True, metavar="CONDITION",
    help="What you know of it, as for `pollinet varieties`: ploidy=3, crab=yes. A variety of which "
    "that is not known stays.",
)  # fmt: skip
@weather_option
@json_option
@csv_option
@in_language
def lost_label(
    plan: Path,
    limb: str,
    picked: str | None,
    sets_with: tuple[str, ...],
    bare_with: tuple[str, ...],
    where: tuple[str, ...],
    weather: Path | None,
    as_json: bool,
    csv: Path | None,
) -> int:
    """List the varieties that fit what was seen on LIMB, and what would tell them apart.

    Bloom counts as noted in the log (`pollinet record`), against limbs whose variety is known in
    the same springs; so do bagged clusters. In the plan such a limb has variety = "?".
    """
    study = opened(plan, weather, as_json=as_json)
    found, problems = unknown_limb(study, limb)
    if found is None:
        stop(problems, as_json)
    asked, problems = _asked(study, found.variety.species, picked, sets_with, bare_with, where)
    if problems:
        stop(problems, as_json)
    label, problems = label_of(study, found, asked)
    if label is None:
        stop(problems, as_json)
    answer = lost_label_of(label, study.findings)
    return give(answer, lambda: show_label(study, label, answer), as_json=as_json, csv=csv)


def _asked(
    study: Study, species: str, picked: str | None, sets_with: tuple[str, ...],
    bare_with: tuple[str, ...], where: tuple[str, ...],
) -> tuple[Asked, tuple[Finding, ...]]:  # fmt: skip
    day = None if picked is None else parse_day(picked)
    problems: tuple[Finding, ...] = ()
    if picked is not None and day is None:
        message = say("'{text}' is no day of the year", text=picked)
        cure = say("write it as 09-20 or 20 Sep")
        problems = (Finding("error", "wrong-date", message, place="--picked", cure=cure),)
    with_fruit, wrong = varieties_named(study, sets_with, species)
    without, more = varieties_named(study, bare_with, species)
    errors = tuple(one for one in (*problems, *wrong, *more) if one.severity == "error")
    return Asked(day, with_fruit, without, where), errors


def show_label(study: Study, label: Label, answer: LostLabel) -> None:
    """Print the answer, the shortlist, what would part it and what it does not tell."""
    print_lines([answer.answer, ""])
    table = new_table(*((heading, {}) for heading in headings(label)))
    for one in label.listed:
        table.add_row(*cells(label, one))
    print_table(table)
    if answer.further:
        looks = [f"- {look.how}" for look in answer.further]
        print_lines(["", _("What would tell them apart, most first:"), *looks])
    seen = springs_words(label.springs)
    print_lines(["", *seen, *label_notes(label), weather_words(study.record, study.winters)])
