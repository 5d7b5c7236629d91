"""`pollinet season`: the order of ripening, and what a longer picking season costs."""

from __future__ import annotations

from pathlib import Path
from typing import Any

import click

from pollinet.answers.season import season_of
from pollinet.charts.style import SUFFIXES, form_of
from pollinet.cli.common import (
    FilePath,
    csv_option,
    give,
    in_language,
    json_option,
    new_table,
    opened,
    out_problem,
    plan_argument,
    print_lines,
    print_table,
    put_picture,
    show_findings,
    stop,
    weather_option,
    working,
)
from pollinet.cli.donors import source_option
from pollinet.files import made_by
from pollinet.language import _, ngettext
from pollinet.study import Study
from pollinet.summary.season import GardenSeason, garden_season
from pollinet.wording.season import (
    SHOWN,
    choice_cells,
    choice_label,
    ripening_cells,
    season_answer,
    season_notes,
    shown_choices,
)
from pollinet.wording.sentences import weather_words


@click.command(
    epilog="Examples: pollinet season plan.toml; pollinet season plan.toml --from catalogue "
    "--max 1 --chart season.svg. Exit codes: 0 an answer, 2 bad input."
)
@plan_argument
@source_option
@click.option(
    "--max", "most", type=click.IntRange(0, 100), metavar="N",
    help="Graft no more than N scions; without it: as many as the trees can carry.",
)  # fmt: skip
@click.option(
    "--chart", type=FilePath(), metavar="FILE",
    help="Draw the choices as a picture (svg, png, pdf).",
)  # fmt: skip
@weather_option
@json_option
@csv_option
@in_language
def season(
    plan: Path,
    source: str,
    most: int | None,
    chart: Path | None,
    weather: Path | None,
    as_json: bool,
    csv: Path | None,
) -> int:
    """Tell the order of ripening, and what a longer season costs in pollination.

    Lists the sets of scions that no other betters both in days with ripe fruit and in the winters
    in which the worst-off limb has a donor.
    """
    problem = None if chart is None else out_problem(chart, SUFFIXES, made_by("season").encode())
    if problem is not None:
        stop([problem], as_json)
    study = opened(plan, weather, as_json=as_json)
    with working(_("Looking through the sets of scions")):
        found = garden_season(study, from_catalogue=source == "catalogue", most=most)
    if chart is not None:
        save_chart(study, found, chart)

    def show() -> None:
        show_season(study, found)
        if chart is not None:
            print_lines(["", _("The chart is in {file}.").format(file=chart)])

    return give(season_of(study, found), show, as_json=as_json, csv=csv)


def save_chart(study: Study, found: GardenSeason, out: Path) -> None:
    """Draw the choices and write the picture."""
    from pollinet.charts.album import titled
    from pollinet.charts.fonts import missing_letters, words_in
    from pollinet.charts.season import Dot, draw_season, season_description

    today, *front = (
        Dot(choice_label(choice), choice.point.fruit_days, choice.point.reliability, choice.enough)
        for choice in shown_choices(found)
    )
    level = study.plan.aim.level
    title = titled(study, _("What a longer picking season costs"))
    axes = draw_season(today, front, level, title=title, form=form_of(None, out.suffix))
    figure = axes.get_figure(root=True)
    assert figure is not None
    if out.suffix.lower() != ".svg":
        show_findings(missing_letters(words_in(figure), out.name, ".svg"))
    told = season_description(today, front, level)
    put_picture(figure, out, title=title, description=told, purpose="season")


def show_season(study: Study, found: GardenSeason) -> None:
    """Print the answer, the choices, the order of ripening, and what the figures mean."""
    level = study.plan.aim.level
    print_lines([season_answer(found), ""])
    whole: dict[str, Any] = {"no_wrap": True}
    right: dict[str, Any] = {"justify": "right"}
    table = new_table(
        (_("Choice"), {"ratio": 1}), (_("Days with fruit"), right),
        (_("First – last pick"), whole), (_("Worst-off limb: winters"), {}),
        (_("Overlap, days"), right),
    )  # fmt: skip
    for choice in shown_choices(found):
        table.add_row(*choice_cells(choice))
    print_table(table)
    if ripening := found.dated:
        print_lines(["", _("Order of ripening as it stands, by estimated first pick:")])
        table = new_table(
            (_("When"), whole), (_("Limb"), {}), (_("Variety"), {}), ("", {"ratio": 1})
        )
        for row in ripening[:SHOWN]:
            table.add_row(*ripening_cells(row))
        print_table(table)
    more = len(ripening) - SHOWN
    text = ngettext("and {number} limb more: --json gives all.",
                    "and {number} limbs more: --json gives all.", more)  # fmt: skip
    left = [text.format(number=more)] if more > 0 else []
    weather = weather_words(study.record, study.winters)
    print_lines([*left, "", *season_notes(found, level), weather])
