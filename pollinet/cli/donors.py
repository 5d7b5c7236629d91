"""`pollinet donors`: all donors of one limb, present and possible."""

from __future__ import annotations

from collections.abc import Sequence
from pathlib import Path

import click

from pollinet.answers.donors import Looked, donors_of, look, refused
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
    weather_option,
)
from pollinet.cli.places import limb_named
from pollinet.domain import Node, Verdict
from pollinet.language import _, ngettext, number
from pollinet.network.coverage import DonorShare, LimbCoverage
from pollinet.study import Study
from pollinet.wording.check import verdict_line
from pollinet.wording.network import overlap_text, place_text
from pollinet.wording.sentences import names_note, of_ten, refusal_words, weather_words
from pollinet.wording.verdicts import share_words, verdict_sentence

SHOWN = 15
"""Donors and refused varieties shown in the text, beside all that stand or are at hand; all of
them are in the JSON."""

source_option = click.option(
    "--from",
    "source",
    type=click.Choice(["scions", "catalogue"]),
    default="scions",
    show_default=True,
    help="Look among the plan's scions, or among all catalogue varieties as well.",
)


@click.command(
    epilog="Example: pollinet donors plan.toml C-mid --from catalogue. Exit codes: 0 the limb is "
    "covered or need not crop, 1 it is not covered, 2 bad input."
)
@plan_argument
@click.argument("limb", shell_complete=plan_ids)
@source_option
@weather_option
@json_option
@csv_option
@in_language
def donors(
    plan: Path, limb: str, source: str, weather: Path | None, as_json: bool, csv: Path | None
) -> int:
    """List all donors of LIMB, in the garden and to be grafted, and why the others are none."""
    study = opened(plan, weather, as_json=as_json, tells_names=True)
    receiver = limb_named(study, limb, as_json=as_json)
    looked = look(study, receiver, from_catalogue=source == "catalogue")
    answer = donors_of(study, looked)
    give(answer, lambda: show_donors(study, looked), as_json=as_json, csv=csv)
    return 0 if answer.covered or not study.nodes()[receiver].must_crop else 1


def show_donors(study: Study, looked: Looked) -> None:
    """Print the answer, the donors and the refused."""
    nodes, row = looked.network.nodes, looked.row
    print_lines([looked.answer, verdict_line(looked.now), ""])
    if row.donors:
        table = new_table(
            (_("Donor"), {}),
            (_("Where"), {}),
            (_("Winters"), {"no_wrap": True}),
            (_("Days together"), {"no_wrap": True}),
            (_("Effective"), {"no_wrap": True, "justify": "right"}),
            (_("Pollen"), {"no_wrap": True}),
            (_("Why"), {"ratio": 1}),
        )
        for donor in _shown(row, nodes):
            table.add_row(*_cells(donor, nodes, row.node))
        print_table(table)
        print_lines([""])
    print_lines([*_refused_lines(row, nodes), *_notes(study, row, nodes)])


def _shown(row: LimbCoverage, nodes: Sequence[Node]) -> list[DonorShare]:
    return [
        donor for rank, donor in enumerate(row.donors) if rank < SHOWN or nodes[donor.node].at_hand
    ]


def _cells(donor: DonorShare, nodes: Sequence[Node], receiver: int) -> tuple[str, ...]:
    node = nodes[donor.node]
    return (
        _("itself") if donor.node == receiver else node.variety.name,
        place_text(node, nodes[receiver]),
        of_ten(donor.reliability),
        overlap_text(donor),
        number(donor.effective_days, ".1f"),
        share_words(donor.compatible_fraction),
        _why(donor.verdict),
    )


def _why(verdict: Verdict) -> str:
    """Nothing where all of the pollen is accepted for certain: the column before tells that."""
    plain = verdict.code == "compatible" and not (verdict.memory or verdict.inferred)
    return "" if plain else verdict_sentence(verdict)


def _refused_lines(row: LimbCoverage, nodes: Sequence[Node]) -> list[str]:
    none = refused(row, nodes)
    if not none:
        return []
    lines = [_("No donors:")]
    lines += [
        f"- {nodes[r.node].variety.name} ({place_text(nodes[r.node], nodes[row.node])}): "
        f"{refusal_words(r, nodes, row.node)}"
        for r in none[:SHOWN]
    ]
    more = len(none) - SHOWN
    text = ngettext("and {number} more (all with --json)", "and {number} more (all with --json)",
                    more)  # fmt: skip
    return [*lines, f"- {text.format(number=more)}"] if more > 0 else lines


def _notes(study: Study, row: LimbCoverage, nodes: Sequence[Node]) -> list[str]:
    notes = [""] if refused(row, nodes) else []
    hidden = len(row.donors) - len(_shown(row, nodes))
    if hidden:
        text = ngettext(
            "{number} more donor from the catalogue is in the JSON (--json).",
            "{number} more donors from the catalogue are in the JSON (--json).",
            hidden,
        )
        notes.append(text.format(number=hidden))
    return [
        *notes,
        _(
            "Days together: mean over winters (where eight scenarios in ten lie). Effective: these "
            "days times accepted pollen, distance, bee weather and chill. Pollen: what part of it "
            "is accepted."
        ),
        weather_words(study.record, study.outlook),
        *names_note(study.findings),
    ]
