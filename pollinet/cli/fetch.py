"""`pollinet fetch`: download the daily record of the plan's site."""

from __future__ import annotations

from datetime import date
from pathlib import Path

import click

from pollinet.cli.common import (
    FilePath,
    out_problem,
    plan_argument,
    print_lines,
    show_findings,
    stop,
)
from pollinet.domain import Site
from pollinet.files import would_overwrite, write_new
from pollinet.findings import Finding, has_errors
from pollinet.messages import say
from pollinet.readers.plan import read_plan_table
from pollinet.wording.sentences import count


@click.command(
    epilog="Example: pollinet fetch plan.toml --from 1994 --to 2024 --out weather.csv. "
    "Needs the extra: pip install 'pollinet[fetch]'."
)
@plan_argument
@click.option(
    "--from",
    "first",
    type=click.IntRange(1940, 2200),
    required=True,
    metavar="YEAR",
    help="First year of bloom; the winter before it is downloaded too.",
)
@click.option("--to", "last", type=click.IntRange(1940, 2200), required=True, metavar="YEAR")
@click.option(
    "--out",
    type=FilePath(),
    required=True,
    metavar="FILE",
    help="File to write, in the house format; an existing one is not written over.",
)
@click.option("--service", metavar="URL", help="Address of another archive that speaks the same.")
def fetch(plan: Path, first: int, last: int, out: Path, service: str | None) -> int:
    """Download daily minimum and maximum of the plan's site from an open archive.

    The archive is a reanalysis for a grid cell, not a station; its name and terms go into the
    file's first line.
    """
    from pollinet.fetch.openmeteo import ARCHIVE_URL, fetch_daily
    from pollinet.saving import house_csv

    site, findings = _site(plan)
    if problem := out_problem(out, (".csv", ".txt")):
        findings += (problem,)
    elif out.exists():
        findings += (would_overwrite(out),)
    if site is None or has_errors(findings):
        stop(findings, as_json=False)
    today = date.today()
    days = date(first - 1, 7, 1), min(date(last, 12, 31), today)
    record, problems = fetch_daily(site, *days, today=today, base_url=service or ARCHIVE_URL)
    if record is None:
        stop(problems, as_json=False)
    show_findings(problems)
    write_new(out, house_csv(record).encode())
    span = f"{record.dates[0]} to {record.dates[-1]}"
    print_lines(
        [
            f"{count(record.dates.size, 'day')}, {span}, written to {out}.",
            f'Set weather = "{out.name}" under [site] in the plan.',
        ]
    )
    return 0


def _site(plan: Path) -> tuple[Site | None, tuple[Finding, ...]]:
    """Where the plan's garden is; all that is needed of a plan that has no weather yet."""
    table, findings = read_plan_table(plan)
    if table is None:
        return None, findings
    site = table.site
    missing = [key for key in ("latitude", "longitude") if getattr(site, key) is None]
    findings += tuple(
        Finding("error", "missing-key", say('"{key}" is missing', key=key), plan.name, "site",
                cure=say("add a line: {key} = …", key=key))
        for key in missing
    )  # fmt: skip
    if site.latitude is None or site.longitude is None:
        return None, findings
    return Site(site.name, site.latitude, site.longitude, site.elevation_m), findings
