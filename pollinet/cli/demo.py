"""`pollinet demo`: an invented garden, and the main job on it."""

from __future__ import annotations

from pathlib import Path

import click

from pollinet.answers.check import check_of
from pollinet.answers.cover import Wishes, searched
from pollinet.cli.check import show_check
from pollinet.cli.common import FilePath, opened, print_lines, stop
from pollinet.cli.cover import show_cover
from pollinet.files import not_a_folder
from pollinet.findings import Finding
from pollinet.messages import say
from pollinet.summary.limbs import limb_summaries


@click.command(epilog="Example: pollinet demo --out my-garden")
@click.option(
    "--out",
    type=FilePath(),
    default=Path("pollinet-demo"),
    show_default=True,
    help="Folder to write the garden into; made if it is missing.",
)
@click.option(
    "--weather",
    type=FilePath(),
    metavar="FILE",
    help="Run the garden on this real daily record instead of generated winters.",
)
def demo(out: Path, weather: Path | None) -> int:
    """Write an invented garden (plan and weather) and run the main job on it."""
    from pollinet.cli.calendar import save_calendar
    from pollinet.demo import changed_files, demo_files, write_demo

    _stop_at(_folder_findings(out, weather))
    texts = demo_files(weather)
    _stop_at([_changed(out / name) for name in changed_files(out, texts)])
    plan = write_demo(out, texts)
    study = opened(plan, tells_names=True)
    print_lines([f"The demo garden is invented; its varieties are real. It stands in {plan}.", ""])
    print_lines([f"$ pollinet check {plan}", ""])
    limbs = limb_summaries(study)
    show_check(study, limbs, check_of(study, limbs=limbs))
    print_lines(["", f"$ pollinet cover {plan}", ""])
    show_cover(study, searched(study, Wishes()))
    picture = out / "calendar.svg"
    save_calendar(study, picture)
    print_lines(["", f"The bloom calendar is in {picture}. Now change the plan and check again."])
    return 0


def _folder_findings(out: Path, weather: Path | None) -> list[Finding]:
    findings = []
    if out.exists() and not out.is_dir():
        findings.append(not_a_folder(out))
    if weather is not None and not weather.is_file():
        missing = say("there is no such file")
        findings.append(Finding("error", "missing-file", missing, str(weather)))
    return findings


def _changed(file: Path) -> Finding:
    return Finding(
        "error",
        "would-overwrite",
        say("this file is not the demo's any more and is not written over"),
        str(file),
        cure=say(
            "check it with `pollinet check`, or give another folder: pollinet demo --out FOLDER"
        ),
    )


def _stop_at(findings: list[Finding]) -> None:
    """End the command where there are findings: then nothing has been written."""
    if findings:
        stop(findings, as_json=False)
