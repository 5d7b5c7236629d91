"""`pollinet chart`: the charts of a garden as pictures."""

from __future__ import annotations

from pathlib import Path

import click

from pollinet.cli.common import (
    FilePath,
    form_option,
    in_language,
    opened,
    plan_argument,
    print_lines,
    put_picture,
    show_findings,
    stop,
    weather_option,
)
from pollinet.files import not_a_folder
from pollinet.findings import Finding
from pollinet.language import _, joined, ngettext
from pollinet.messages import joined as listed
from pollinet.messages import say
from pollinet.readers.names import suggest
from pollinet.study import Study

KINDS = ("calendar", "network", "matrix", "winters", "warming", "tradeoff", "chill", "harvest",
         "tree")  # fmt: skip
"""As in `pollinet.charts.album`, which is slow to load."""


@click.command(
    epilog="Example: pollinet chart plan.toml network matrix --out pictures. Without a kind, all "
    "charts are drawn."
)
@plan_argument
@click.argument("kinds", type=click.Choice(KINDS), nargs=-1, metavar="[KIND]...")
@click.option(
    "--out", type=FilePath(), required=True,
    help="Folder to write the pictures into; made if it is missing.",
)  # fmt: skip
@click.option(
    "--format", "suffix", type=click.Choice(["svg", "png", "pdf"]), default="svg",
    show_default=True, help="Kind of file.",
)  # fmt: skip
@click.option("--winter", type=int, metavar="YEAR", help="Calendar of one winter: its spring.")
@click.option(
    "--against", metavar="LIMB", help="Fill in the calendar what the others share with this limb."
)
@form_option
@weather_option
@in_language
def chart(
    plan: Path,
    kinds: tuple[str, ...],
    out: Path,
    suffix: str,
    winter: int | None,
    against: str | None,
    form: str | None,
    weather: Path | None,
) -> int:
    """Draw the charts of a garden.

    Kinds: calendar, network, matrix, winters, warming, tradeoff, chill, harvest, tree. Dark is
    what needs attention; all are readable in grey print.
    """
    if out.exists() and not out.is_dir():
        stop([not_a_folder(out)], as_json=False)
    if not out.exists() and out.suffix.lower() in (".svg", ".png", ".pdf"):
        message = say("--out is a folder: the charts in it get names of their own")
        cure = say("give a folder, and the kind of file as --format {kind}",
                   kind=out.suffix[1:].lower())  # fmt: skip
        stop([Finding("error", "not-a-folder", message, str(out), cure=cure)], as_json=False)
    study = opened(plan, weather)
    problems = _problems(study, winter, against)
    if problems:
        stop(problems, as_json=False)
    wishes = (winter, against, form)
    names, missing = _draw(study, kinds or KINDS, out, suffix, wishes)
    print_lines([_written(study, names, out), *missing])
    return 0


def _written(study: Study, names: list[str], out: Path) -> str:
    if not names:
        return _("There is nothing to draw yet.")
    text = ngettext(
        "{number} chart of {site} written to {folder}: {files}.",
        "{number} charts of {site} written to {folder}: {files}.",
        len(names),
    )
    site = study.plan.site.name
    return text.format(number=len(names), site=site, folder=out, files=joined(names))


def _problems(study: Study, winter: int | None, against: str | None) -> list[Finding]:
    found = []
    years = study.winters.harvest_years if study.winters is not None else ()
    if winter is not None and winter not in years:
        cure = say("the dates are typed: leave --winter out")
        if years:
            first, last = min(years), max(years)
            cure = say("choose a year from {first} to {last}", first=first, last=last)
        found.append(Finding(
            "error", "no-such-winter",
            say("there is no winter before the spring of {year}", year=winter),
            study.plan.file, cure=cure,
        ))  # fmt: skip
    limbs = [limb.id for limb in study.plan.limbs]
    if against is not None and against not in limbs:
        near = suggest(against, limbs) or limbs
        found.append(Finding(
            "error", "unknown-limb", say('there is no limb "{limb}"', limb=against),
            study.plan.file,
            cure=say("the limbs are named {limbs}", limbs=listed(near, "or")) if near else "",
        ))  # fmt: skip
    return found


def _draw(
    study: Study,
    kinds: tuple[str, ...],
    out: Path,
    suffix: str,
    wishes: tuple[int | None, str | None, str | None],
) -> tuple[list[str], list[str]]:
    """Names of the files written, and why there is no chart of a kind."""
    from pollinet.charts.album import NOTHING, Wishes, charts_of, why_missing
    from pollinet.charts.fonts import missing_letters, words_in
    from pollinet.charts.style import form_of

    winter, against, form = wishes
    wanted = Wishes(winter=winter, against=against, form=form_of(form, f".{suffix}"))
    out.mkdir(parents=True, exist_ok=True)
    names: list[str] = []
    missing: list[str] = []
    words: list[str] = []
    for kind in (kind for kind in KINDS if kind in kinds):
        before = len(names)
        for drawn in charts_of(study, (kind,), wanted):
            file = out / f"{drawn.name}.{suffix}"
            told = drawn.description
            put_picture(drawn.figure, file, title=drawn.title, description=told, purpose=kind)
            names.append(file.name)
            words.append("" if suffix == "svg" else words_in(drawn.figure))
        if len(names) == before:
            text = _("No {kind}: {reason}.")
            missing.append(text.format(kind=kind, reason=why_missing(study, kind) or _(NOTHING)))
    show_findings(missing_letters(words, out.name, ".svg"))
    return names, missing
