"""`pollinet calendar`: the bloom calendar as a picture."""

from __future__ import annotations

from pathlib import Path

import click

from pollinet.charts.style import SUFFIXES, form_of
from pollinet.cli.common import (
    FilePath,
    form_option,
    in_language,
    opened,
    out_problem,
    plan_argument,
    print_lines,
    put_picture,
    show_findings,
    stop,
    weather_option,
)
from pollinet.files import made_by
from pollinet.language import _
from pollinet.study import Study
from pollinet.summary.limbs import limb_chill
from pollinet.wording.sentences import straggling_note


@click.command(
    epilog="Example: pollinet calendar plan.toml --out calendar.svg. "
    "The suffix decides: .svg, .png or .pdf."
)
@plan_argument
@click.option("--out", type=FilePath(), required=True, help="File to write (svg, png, pdf).")
@form_option
@weather_option
@in_language
def calendar(plan: Path, out: Path, form: str | None, weather: Path | None) -> int:
    """Draw when every limb blooms: median winter and the spread over winters."""
    problem = out_problem(out, SUFFIXES, made_by("calendar").encode())
    if problem is not None:
        stop([problem], as_json=False)
    study = opened(plan, weather)
    save_calendar(study, out, form)
    text = _("Bloom calendar of {site} written to {file}.")
    short = straggling_note(limb.short for limb in limb_chill(study))
    print_lines([text.format(site=study.plan.site.name, file=out), *short])
    return 0


def save_calendar(study: Study, out: Path, form: str | None = None) -> None:
    """Draw the calendar of a study and write it."""
    from pollinet.charts.album import Wishes, charts_of
    from pollinet.charts.fonts import missing_letters, words_in

    (drawn,) = charts_of(study, ("calendar",), Wishes(whole=True, form=form_of(form, out.suffix)))
    if out.suffix.lower() != ".svg":
        show_findings(missing_letters(words_in(drawn.figure), out.name, ".svg"))
    put_picture(
        drawn.figure, out, title=drawn.title, description=drawn.description, purpose="calendar"
    )
