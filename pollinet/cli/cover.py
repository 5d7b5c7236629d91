"""`pollinet cover`: the smallest set of varieties to graft."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace
from datetime import date
from pathlib import Path
from typing import Any

import click

from pollinet.answers.cover import Cover as Answered
from pollinet.answers.cover import (
    Searched,
    Traded,
    Wishes,
    cover_of,
    garden_jars,
    outlook_answer,
    searched,
    traded,
    with_aim,
)
from pollinet.cli.common import (
    YEARS,
    FiniteRange,
    csv_option,
    give,
    in_language,
    json_option,
    new_table,
    opened,
    plan_argument,
    print_lines,
    print_table,
    warmer_option,
    weather_option,
)
from pollinet.cli.cover_extras import show_springs, show_traded
from pollinet.cli.donors import source_option
from pollinet.days import coming_spring
from pollinet.domain import Node
from pollinet.language import _
from pollinet.network.cover import Cover
from pollinet.network.time_limit import SEARCH_LIMIT_S
from pollinet.readers import plan_bounds
from pollinet.study import Study
from pollinet.summary.scions import grafts_wanted
from pollinet.wording.check import marks_note
from pollinet.wording.cover import (
    COVER_HEADINGS,
    best_answer,
    best_notes,
    cover_notes,
    cover_rows,
    jar_note,
    order_notes,
)
from pollinet.wording.scions import graft_lines
from pollinet.wording.sentences import (
    cover_answer,
    joined,
    miss_text,
    weather_words,
)
from pollinet.wording.uncertain_donors import cover_standing_notes


@click.command(
    epilog="Examples: pollinet cover plan.toml --from catalogue; pollinet cover plan.toml --must "
    "Kordia --survive-loss --years. Exit codes: 0 a smallest set or nothing to add, 1 some limb "
    "cannot be covered, 2 bad input."
)
@plan_argument
@source_option
@click.option("--must", multiple=True, metavar="NAME", help="Graft this variety in any case.")
@click.option("--never", multiple=True, metavar="NAME", help="Do not graft this variety.")
@click.option(
    "--pollen-only",
    multiple=True,
    metavar="NAME",
    help="A limb of this variety need not crop, and so needs no donor itself.",
)
@click.option(
    "--survive-loss",
    "survive",
    is_flag=True,
    help="Cover every limb also when any one other limb or neighbour's tree is lost.",
)
@click.option(
    "--sure",
    is_flag=True,
    help="Serve every limb in enough winters whatever the alleles are that nobody knows; without "
    "it they count at their chance.",
)
@click.option(
    "--add",
    type=click.IntRange(1, 20),
    metavar="N",
    help="Tell the best N varieties to add, in place of as few as possible.",
)
@click.option(
    "--prefer",
    type=click.Choice(["fewest", "at-hand"]),
    default="fewest",
    show_default=True,
    help="What comes first: as few varieties as possible, or as few as possible to order; the "
    "other decides between equals.",
)
@click.option(
    "--donors",
    type=click.IntRange(*plan_bounds.DONORS),
    help="Different viable donors that each limb must have; in place of the plan's own.",
)
@click.option(
    "--level",
    type=FiniteRange(*plan_bounds.LEVEL, min_open=True),
    help="Share of winters with a donor, such as 0.9; in place of the plan's own.",
)
@click.option(
    "--min-overlap",
    type=FiniteRange(*plan_bounds.OVERLAP_DAYS, min_open=True),
    metavar="DAYS",
    help="Shortest shared bloom that counts; in place of the plan's own.",
)
@click.option(
    "--most",
    type=click.IntRange(1, 1000),
    default=20,
    show_default=True,
    help="How many equally small sets are listed at most.",
)
@click.option(
    "--off-years",
    is_flag=True,
    default=None,
    help="Take varieties whose crops tend to alternate to flower every other year only.",
)
@click.option("--trade-off", is_flag=True, help="Tell also what more varieties or days would buy.")
@click.option("--years", is_flag=True, help="Tell also the coverage in each of the next springs.")
@click.option(
    "--spring",
    type=YEARS,
    metavar="YEAR",
    help="Spring of grafting for --years; the coming one if not given.",
)
@click.option(
    "--time-limit",
    "time_limit_s",
    type=FiniteRange(0, 86_400, min_open=True),
    default=SEARCH_LIMIT_S,
    show_default=True,
    metavar="SECONDS",
    help="Stop each search after so long; the answer then says what is not proven.",
)
@weather_option
@warmer_option
@json_option
@csv_option
@in_language
def cover(
    plan: Path,
    source: str,
    donors: int | None,
    level: float | None,
    min_overlap: float | None,
    off_years: bool | None,
    trade_off: bool,
    years: bool,
    spring: int | None,
    weather: Path | None,
    warmer: float,
    as_json: bool,
    csv: Path | None,
    **wishes: Any,
) -> int:
    """Find the smallest set of varieties to graft so that every limb has a viable donor.

    The set is closed: a variety that is added has a donor too. The search is exact.
    """
    study = opened(plan, weather, as_json=as_json, warmer_c=warmer)
    study = with_aim(
        study, donors=donors, level=level, min_overlap_days=min_overlap, off_years=off_years
    )
    for option in ("must", "never", "pollen_only"):
        wishes[option] = tuple(dict.fromkeys(wishes[option]))
    wished = Wishes(from_catalogue=source == "catalogue", **wishes)
    found = searched(study, wished)
    warmed = bool(warmer) and study.winters is not None
    later = searched(study.warmer(warmer), replace(wished, add=None)) if warmed else None
    ahead = coming_spring(study.plan.site.latitude, date.today())
    year = None if not years else spring or ahead
    trade = traded(study, found, wished) if trade_off else None
    told = cover_of(study, found, wished, later=later, spring=year, trade=trade)

    def show() -> None:
        show_cover(study, found)
        if later is not None:
            print_lines(["", outlook_answer(later, study)])
        _show_extras(found, wished, told, trade)
        if year is not None:
            show_springs(study, found.network, found.chosen, year, survive=wished.survive)

    return give(told, show, as_json=as_json, csv=csv)


def _show_extras(found: Searched, wishes: Wishes, told: Answered, trade: Traded | None) -> None:
    network, answer = found.network, found.answer
    print_lines(_wish_notes(wishes, answer, network.nodes))
    told_of = found.network, found.chosen
    print_lines(cover_standing_notes(*told_of, best=found.best is not None, survive=wishes.survive))
    for concession in told.concessions:
        text = _("It would work {concession}.").format(concession=concession.text)
        print_lines([f"- {text}"])
    if trade is not None:
        show_traded(network, *trade)


def _wish_notes(wishes: Wishes, answer: Cover, nodes: Sequence[Node]) -> list[str]:
    notes = order_notes(answer, nodes, wishes.prefer)
    if wishes.must:
        notes.append(_("Grafted in any case: {names}.").format(names=joined(wishes.must)))
    if wishes.survive and not answer.uncovered:
        notes.append(
            _("Every limb stays covered when any one other limb or neighbour's tree is lost.")
        )
    if wishes.pollen_only:
        text = _("For pollen only, without a donor of its own: {names}.")
        notes.append(text.format(names=joined(wishes.pollen_only)))
    return notes


def show_cover(study: Study, found: Searched) -> None:
    """Print the answer, what it changes limb by limb, the other sets and the proof."""
    network, answer, best = found.network, found.answer, found.best
    nodes, smallest = network.nodes, cover_answer(answer, network.nodes, study.plan.aim.level)
    print_lines([smallest if best is None else best_answer(best, nodes), ""])
    if found.chosen or answer.status != "nothing to add":
        whole: dict[str, Any] = {"no_wrap": True}
        styles: tuple[dict[str, Any], ...] = ({}, {}, whole, whole, {"ratio": 1})
        table = new_table(*zip(map(_, COVER_HEADINGS), styles, strict=True))
        for row in cover_rows(study.coverage, network, found.chosen):
            table.add_row(*row)
        print_table(table)
        print_lines(["", marks_note(table.cells)])
    print_lines([f"- {one}" for one in graft_lines(grafts_wanted(study, network, found.chosen))])
    if best is not None:
        print_lines([*best_notes(best, network), "", _("As few as possible:") + " " + smallest])
    print_lines(
        [
            *(f"- {miss_text(miss, nodes)}" for miss in answer.uncovered),
            *cover_notes(found.passed(), network, answer),
            *jar_note(*garden_jars(study, network)),
            weather_words(study.record, study.winters),
        ]
    )
