"""`pollinet page`: the garden in the browser."""

from __future__ import annotations

from contextlib import suppress
from datetime import date
from pathlib import Path

import click

from pollinet.cli.common import FilePath, opened, out_problem, plan_files, print_lines, put, stop
from pollinet.files import reason_of
from pollinet.findings import Finding
from pollinet.language import ENGLISH, LANGUAGES, _, speaking
from pollinet.messages import say

FIRST_PLAN = Path("my-garden") / "plan.toml"
"""Where a garden is begun that has no plan yet."""


@click.command(
    epilog="Example: pollinet page plan.toml. Exit codes: 0 stopped, 2 it cannot be served."
)
@click.argument("plan", type=FilePath(), required=False, shell_complete=plan_files)
@click.option(
    "--port", type=click.IntRange(0, 65535), default=0, metavar="N",
    help="Port on this machine; 0, as without it: any that is free.",
)  # fmt: skip
@click.option("--no-open", is_flag=True, help="Do not open the browser; print the address alone.")
@click.option(
    "--language", type=click.Choice(LANGUAGES), default=None, envvar="POLLINET_LANGUAGE",
    show_envvar=True, help="Language of the page; without it: as the browser wishes.",
)  # fmt: skip
@click.option(
    "--take-along", type=FilePath(), metavar="FILE",
    help="Write the garden as one HTML file for the telephone, with a form for notes, and end.",
)  # fmt: skip
def page(
    plan: Path | None, port: int, no_open: bool, language: str | None, take_along: Path | None
) -> int:
    """Open the garden in the browser, until it is stopped with Ctrl+C.

    Only this machine can see the page, and it needs no network. Without PLAN, or where there is no
    such file, a garden can be begun on the page; it is then written there (my-garden/plan.toml).
    """
    if take_along is not None:
        with speaking(language or ENGLISH):
            return _take_along(plan or FIRST_PLAN, take_along)
    try:
        from pollinet.page.server import serve
    except ModuleNotFoundError as missing:
        message = say("the page needs {library}, which is not installed", library=missing.name)
        cure = say("run pip install 'pollinet[page]'")
        stop([Finding("error", "missing-library", message, cure=cure)], False)
    try:
        served = serve(plan or FIRST_PLAN, port=port, language=language)
    except OSError as problem:
        message = say("port {port} cannot be used: {reason}", port=port, reason=reason_of(problem))
        cure = say("give another port, or none: then one that is free is taken")
        stop([Finding("error", "port", message, cure=cure)], False)
    print(served.address, flush=True)
    if not no_open:
        import webbrowser

        webbrowser.open(served.address)
    with suppress(KeyboardInterrupt):
        served.run()
    return 0


def _take_along(plan: Path, out: Path) -> int:
    """Write the file for the telephone."""
    from pollinet.page.take_along import MARK, take_along_html

    if problem := out_problem(out, [".html"], MARK):
        stop([problem], False)
    study = opened(plan)
    put(out, lambda: take_along_html(study, date.today()).encode(), MARK)
    told = [
        _("The garden is in {file}. Send it to the telephone and open it there in a browser."),
        _("What is noted there comes home as text: `pollinet record PLAN --from notes.txt`."),
    ]
    print_lines([text.format(file=out) for text in told])
    return 0
