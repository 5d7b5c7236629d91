"""`pollinet collection`: many gardens at once, across their fences."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace
from pathlib import Path

import click

from pollinet.answers.collection import collection_facts, collection_of
from pollinet.cli.common import (
    BadInput,
    FilePath,
    asks,
    csv_option,
    form_option,
    give,
    in_language,
    json_option,
    new_table,
    out_problem,
    print_lines,
    print_table,
    put_picture,
    show_findings,
    stop,
    working,
)
from pollinet.cli.donors import source_option
from pollinet.findings import Finding
from pollinet.language import _, joined, ngettext
from pollinet.study.collection import Collection, open_collection
from pollinet.study.under_suspicion import NOTED_CODE
from pollinet.summary.collection import GroupFacts
from pollinet.wording.collection import (
    MOST,
    alone_words,
    clash_words,
    collection_answer,
    garden_cells,
    garden_headings,
    limb_words,
    loss_words,
    same_words,
    set_words,
)

PICTURES = (".svg", ".png", ".pdf")

OWN_FINDINGS = frozenset(
    {"aims-differ", "told-otherwise", "other-weather", "felled-here", "apart", "no-place",
     "rough-place", NOTED_CODE}
)  # fmt: skip
"""Findings on what gardens have to do with each other; others are told by each plan's `check`."""


@click.command(
    epilog="Example: pollinet collection gardens --map gardens.svg. Exit codes: 0 every limb is "
    "covered, 1 some limb is not or a plan was left out, 2 bad input."
)
@click.argument("folder", type=FilePath())
@source_option
@click.option(
    "--map", "picture", type=FilePath(), metavar="FILE",
    help="Draw the gardens and the pollen that crosses fences (.svg, .png or .pdf).",
)  # fmt: skip
@form_option
@json_option
@csv_option
@in_language
def collection(
    folder: Path,
    source: str,
    picture: Path | None,
    form: str | None,
    as_json: bool,
    csv: Path | None,
) -> int:
    """Look at many gardens at once: who has pollen from whom across fences.

    FOLDER holds a plan for each garden, best in a folder of its own each. Whose trees are in reach
    of whose is told by latitude and longitude, from which position_m of a plan counts. Also told:
    which tree's loss leaves limbs bare, and the smallest set to graft for all.
    """
    if picture is not None and (problem := out_problem(picture, PICTURES, _mark())):
        stop([problem], as_json)
    with working("reading the plans"):
        opened = open_collection(folder)
    if not opened.groups:
        raise BadInput(opened.findings, as_json)
    if not as_json:
        show_findings(_shown(opened))
    with working("looking at the gardens"):
        facts = collection_facts(opened, from_catalogue=source == "catalogue")
    if picture is not None:
        _draw(facts, picture, form, as_json=as_json)
    answer = collection_of(opened, facts, folder)
    first = opened.groups[0].gardens[0].study
    asks(replace(first, inputs=opened.inputs))
    return give(answer, lambda: show_collection(opened, facts), as_json=as_json, csv=csv)


def _mark() -> bytes:
    from pollinet.files import made_by

    return made_by("map of gardens").encode()


def _shown(opened: Collection) -> list[Finding]:
    """What stands in the way, and what gardens have to do with each other."""
    return [
        found
        for found in opened.findings
        if found.severity == "error" or found.code in OWN_FINDINGS
    ]


def show_collection(opened: Collection, facts: Sequence[GroupFacts]) -> None:
    """Print the answer, the table of gardens, what needs something, losses and sets."""
    print_lines([collection_answer(facts, len(opened.left_out)), ""])
    table = new_table(*((heading, {}) for heading in garden_headings()))
    for garden in opened.gardens:
        one = next(o for o in facts if any(g.name == garden.name for g in o.group.gardens))
        table.add_row(*garden_cells(one, garden.name))
    print_table(table)
    limbs = [limb for one in facts for limb in one.limbs]
    bare = [limb for limb in limbs if not limb.together.covered]
    _section(_("Needs something:"), [limb_words(limb) for limb in bare])
    across = [limb for limb in limbs if limb.across]
    _section(_("Has a donor only across a fence:"), [limb_words(limb) for limb in across])
    losses = [loss_words(loss) for one in facts for loss in one.losses]
    _section(_("If one tree goes:"), losses)
    if bare:
        sets = [one for one in facts if any(not limb.together.covered for limb in one.limbs)]
        lines = [line for one in sets for line in set_words(one)]
        print_lines(["", _("The smallest set for all:"), *lines])
    print_lines(["", *_notes(opened)])


def _section(heading: str, lines: Sequence[str]) -> None:
    if not lines:
        return
    more = len(lines) - MOST
    rest = ngettext("and {number} more, see --json", "and {number} more, see --json", more)
    shown = [*lines[:MOST], rest.format(number=more)] if more > 0 else lines
    print_lines(["", heading, *shown])


def _notes(opened: Collection) -> list[str]:
    notes = [clash_words(clash) for group in opened.groups for clash in group.clashes]
    notes += [same_words(same) for group in opened.groups for same in group.same][:MOST]
    notes += [alone_words(opened.groups)] if len(opened.gardens) > 1 else []
    others = [found for found in opened.findings
              if found.severity != "error" and found.code not in OWN_FINDINGS]  # fmt: skip
    if others:
        files = sorted({found.file for found in others if found.file})
        named = joined(files[:MOST])
        notes.append(
            ngettext(
                "{number} warning or note on single gardens: `pollinet check` shows it ({files}).",
                "{number} warnings and notes on single gardens: `pollinet check` shows them "
                "({files}).",
                len(others),
            ).format(number=len(others), files=named)
        )
    notes.append(
        _("Before wood goes from garden to garden: look for disease on the mother tree, and ask "
          "whose permission the variety needs; local rules come first.")
    )  # fmt: skip
    return [note for note in notes if note]


def _draw(
    facts: Sequence[GroupFacts], out: Path, form: str | None, *, as_json: bool
) -> None:  # fmt: skip
    from pollinet.charts.collection_map import draw_collection
    from pollinet.charts.style import form_of

    axes, title, description = draw_collection(facts, form_of(form, out.suffix))
    figure = axes.get_figure(root=True)
    assert figure is not None
    put_picture(figure, out, title=title, description=description, purpose="map of gardens",
                as_json=as_json)  # fmt: skip
