"""`pollinet chart`: the charts of a garden as pictures."""

from __future__ import annotations

from pathlib import Path

import click

from pollinet.cli.common import opened, plan_argument, print_lines, stop, weather_option
from pollinet.findings import Finding
from pollinet.readers.names import suggest
from pollinet.study import Study
from pollinet.wording.sentences import count, joined

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
    "--out", type=click.Path(path_type=Path), required=True,
    help="Folder to write the pictures into; made if it is missing.",
)  # fmt: skip
@click.option(
    "--format", "suffix", type=click.Choice(["svg", "png", "pdf"]), default="svg",
    show_default=True, help="Kind of file.",
)  # fmt: skip
@click.option("--winter", type=int, metavar="YEAR", help="Calendar of one winter: its spring.")
@click.option(
    "--against", metavar="LIMB", help="Hatch in the calendar what the others share with this limb."
)
@weather_option
def chart(
    plan: Path,
    kinds: tuple[str, ...],
    out: Path,
    suffix: str,
    winter: int | None,
    against: str | None,
    weather: Path | None,
) -> int:
    """Draw the charts of a garden.

    Kinds: calendar, network, matrix, winters, warming, tradeoff, chill, harvest, tree. They are
    readable in grey print and when reduced to A5.
    """
    if out.exists() and not out.is_dir():
        stop([Finding("error", "not-a-folder", "this is a file, not a folder", str(out))], False)
    study = opened(plan, weather)
    problems = _problems(study, winter, against)
    if problems:
        stop(problems, as_json=False)
    names = _draw(study, kinds, out, suffix, winter, against)
    told = f"{count(len(names), 'chart')} of {study.plan.site.name} written to {out}"
    print_lines([f"{told}: {joined(names)}." if names else "There is nothing to draw yet."])
    return 0


def _problems(study: Study, winter: int | None, against: str | None) -> list[Finding]:
    found = []
    years = study.winters.harvest_years if study.winters is not None else ()
    if winter is not None and winter not in years:
        cure = f"choose a year from {min(years)} to {max(years)}" if years else ""
        found.append(Finding(
            "error", "no-such-winter", f"there is no winter before the spring of {winter}",
            study.plan.file, cure=cure or "the dates are typed: leave --winter out",
        ))  # fmt: skip
    limbs = [limb.id for limb in study.plan.limbs]
    if against is not None and against not in limbs:
        near = suggest(against, limbs) or limbs
        found.append(Finding(
            "error", "unknown-limb", f'there is no limb "{against}"', study.plan.file,
            cure=f"the limbs are named {joined(near, 'or')}" if near else "",
        ))  # fmt: skip
    return found


def _draw(
    study: Study,
    kinds: tuple[str, ...],
    out: Path,
    suffix: str,
    winter: int | None,
    against: str | None,
) -> list[str]:
    from pollinet.charts.album import Wishes, charts_of
    from pollinet.charts.style import save

    out.mkdir(parents=True, exist_ok=True)
    names = []
    for drawn in charts_of(study, kinds or None, Wishes(winter, against)):
        file = out / f"{drawn.name}.{suffix}"
        save(drawn.figure, file, title=drawn.title, description=drawn.description)
        names.append(file.name)
    return names
