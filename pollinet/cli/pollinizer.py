"""`pollinet pollinizer`: the one variety to add, and a jar of blossom until it flowers."""

from __future__ import annotations

from pathlib import Path

import click

from pollinet.advice.harvest import HARVEST_SD_DAYS
from pollinet.advice.pollinizer import Choice, is_crab
from pollinet.answers.pollinizer import (
    Found,
    chill_known,
    pollinizer_of,
    ranked_choices,
    trees_open,
)
from pollinet.cli.common import (
    csv_option,
    give,
    in_language,
    json_option,
    new_table,
    opened,
    plan_argument,
    print_lines,
    print_table,
    stop,
    weather_option,
)
from pollinet.cli.donors import source_option
from pollinet.language import _, ngettext, number
from pollinet.readers.bearing import load_bearing
from pollinet.study import Study
from pollinet.summary.named import trees_named
from pollinet.summary.scions import farthest_m, height_on
from pollinet.wording.grafting import grafting_lines
from pollinet.wording.network import (
    choice_reason,
    harvest_text,
    jar_lines,
    jar_notes,
    jar_title,
    placement_text,
    pollinizer_answer,
)
from pollinet.wording.scions import reach_text
from pollinet.wording.sentences import crab_note, graft_name, of_ten, weather_words

SHOWN = 5
"""Candidates shown in the text; all that help are in the JSON."""


@click.command(
    epilog="Example: pollinet pollinizer plan.toml --tree cherry --from catalogue. Exit codes: 0 "
    "every limb is covered with one added variety at most, 1 it takes more, 2 bad input."
)
@plan_argument
@click.option("--tree", metavar="TREE", help="Serve the limbs of this tree only, and graft on it.")
@source_option
@weather_option
@json_option
@csv_option
@in_language
def pollinizer(
    plan: Path,
    tree: str | None,
    source: str,
    weather: Path | None,
    as_json: bool,
    csv: Path | None,
) -> int:
    """Rank the varieties of which one limb would help most, and say where to graft it.

    Until the graft flowers, a jar of cut blossom can stand in: whose, and how.
    """
    study = opened(plan, weather, as_json=as_json)
    trees, problems = trees_named(study, tree)
    if problems:
        stop(problems, as_json)
    found = ranked_choices(study, trees, from_catalogue=source == "catalogue")
    answer = pollinizer_of(study, found)
    return give(answer, lambda: show_pollinizer(study, found), as_json=as_json, csv=csv)


# --- text ------------------------------------------------------------------------------------


def show_pollinizer(study: Study, found: Found) -> None:
    """Print the answer, the candidates, the place on the tree and the jar."""
    print_lines([pollinizer_answer(found.choices, found.uncovered, found.nodes, found.level)])
    if found.choices:
        print_lines([""])
        table = new_table(
            (_("Candidate"), {}),
            (_("Covers"), {"justify": "right"}),
            (_("Winters of 10, now → then (days shared)"), {"ratio": 1}),
            (_("Effective"), {"no_wrap": True, "justify": "right"}),
            (_("Its own"), {"no_wrap": True}),
            (_("Chill"), {"no_wrap": True}),
            (_("Harvest"), {}),
        )
        for choice in found.choices[:SHOWN]:
            table.add_row(*_cells(study, found, choice))
        print_table(table)
        print_lines(["", *_table_notes(found)])
    print_lines([*_place_lines(study, found), *_jar_lines(found)])
    print_lines(["", weather_words(study.record, study.outlook)])


def _cells(study: Study, found: Found, choice: Choice) -> tuple[str, ...]:
    node = found.nodes[choice.node]
    own = of_ten(choice.own) if node.must_crop else _("need not crop")
    chill = of_ten(choice.chill) if chill_known(study, node) else _("not known")
    harvest = harvest_text(found.harvests.get(node.variety))
    reason = choice_reason(choice, found.nodes)
    days = number(choice.effective_days, ".1f")
    return (graft_name(node), str(len(choice.covers)), reason, days, own, chill, harvest)


def _table_notes(found: Found) -> list[str]:
    more = len(found.choices) - SHOWN
    others = ngettext("{number} more that helps is in the JSON (--json).",
                      "{number} more that help are in the JSON (--json).", more)  # fmt: skip
    columns = _(
        "Covers: limbs that lack a donor now and would have one. Effective: shared days times "
        "accepted pollen, distance, bee weather and chill. Its own: winters in which the new limb "
        "has a donor itself. Chill: winters in which its chill requirement is met. Harvest: first "
        "pick, within about {days} days."
    )
    told = columns.format(days=number(HARVEST_SD_DAYS, ".0f"))
    return [others.format(number=more), told] if more > 0 else [told]


def _place_lines(study: Study, found: Found) -> list[str]:
    """On which tree, how high, and when it will flower."""
    if not found.choices:
        return []
    node = found.nodes[found.choices[0].node]
    trees = trees_open(study, found, node)
    free = [tree for tree in trees if tree.spare_limbs > 0]
    name = node.variety.name
    if free:
        one = _("{tree} ({number} to spare)")
        spare = "; ".join(one.format(tree=tree.id, number=tree.spare_limbs) for tree in free)
        why = ""
        if node.tree is not None:
            gained = [found.nodes[gain.node] for gain in found.choices[0].gains]
            why = f": {reach_text([limb.id for limb in gained], farthest_m(node, gained))}"
        height = placement_text(height_on(study, node, free[0]))
        text = _("Where: {variety} on {trees}{why}. {height}.")
        place = text.format(variety=name, trees=spare, why=why, height=height)
    else:
        text = _("Where: no limb to spare on {trees}: {variety} would take the place of another "
                 "limb.")  # fmt: skip
        place = text.format(trees=", ".join(tree.id for tree in trees), variety=name)
    age = load_bearing([node.variety.species], "graft on a bearing tree")[node.variety.species]
    sources = "; ".join(study.catalogue.sources.get(source, source) for source in age.sources)
    text = _("Grafts on a bearing tree mostly bear after {first} to {late} years ({sources}).")
    when = text.format(first=age.first, late=age.late, sources=sources)
    crab = [crab_note(name)] if is_crab(study.known[node.variety]) else []
    how = [] if found.grafting is None else grafting_lines([found.grafting])
    return ["", *(f"- {line}" for line in (place, *how, when, *crab))]


def _jar_lines(found: Found) -> list[str]:
    if not found.uncovered:
        return []
    lines = ["", f"{jar_title(found.jars, found.jar_nodes)}."]
    lines += [f"- {line}" for line in jar_lines(found.jars, found.jar_nodes, found.other_jars)]
    return [*lines, *jar_notes(found.jars, found.jar_nodes)]
