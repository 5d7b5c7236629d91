"""`pollinet pollinizer`: the one variety to add, and a jar of blossom until it flowers."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from pathlib import Path
from typing import Any

import click

from pollinet.advice.balance import placement, vigour_of
from pollinet.advice.harvest import HARVEST_SD_DAYS, Harvest
from pollinet.advice.pollinizer import Choice, Jar, choices, jars
from pollinet.cli.common import (
    findings_data,
    json_option,
    new_table,
    opened,
    plan_argument,
    print_json,
    print_lines,
    print_table,
    stop,
    weather_option,
)
from pollinet.cli.donors import donor_data, node_data, source_option
from pollinet.days import month_and_day
from pollinet.domain import Node, Tree, VarietyId
from pollinet.findings import Finding
from pollinet.messages import say
from pollinet.network.selection import keep_nodes
from pollinet.network.viability import present_of
from pollinet.phenology.adequacy import is_chill_known
from pollinet.readers.bearing import load_bearing
from pollinet.readers.names import one_of
from pollinet.study import Study
from pollinet.summary.suits import garden_harvests
from pollinet.wording.network import (
    JAR_NOTES,
    choice_reason,
    harvest_text,
    jar_text,
    placement_text,
    pollinizer_answer,
)
from pollinet.wording.sentences import of_ten, weather_words

SHOWN = 10
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
def pollinizer(
    plan: Path, tree: str | None, source: str, weather: Path | None, as_json: bool
) -> int:
    """Rank the varieties of which one limb would help most, and say where to graft it.

    Until the graft flowers, a jar of cut blossom can stand in: whose, and how.
    """
    study = opened(plan, weather, as_json=as_json)
    trees = _trees(study, tree, as_json)
    found = ranked_choices(study, trees, from_catalogue=source == "catalogue")
    if as_json:
        print_json(pollinizer_data(study, found), schema="pollinizer")
    else:
        show_pollinizer(study, found)
    best = next((choice for choice in found.choices if choice.closed), None)
    left = set(found.uncovered) - set(best.covers if best else ())
    return 1 if left or (found.uncovered and not _has_room(found, best)) else 0


def _has_room(found: Found, best: Choice | None) -> bool:
    """Whether a tree of the proposed variety's fruit can carry one more limb."""
    species = None if best is None else found.nodes[best.node].variety.species
    return any(tree.spare_limbs > 0 for tree in found.trees if tree.species == species)


def _trees(study: Study, text: str | None, as_json: bool) -> tuple[Tree, ...]:
    trees = study.plan.trees
    if text is None:
        return trees
    found = tuple(tree for tree in trees if tree.id == text)
    if not found:
        cure = one_of(text, [tree.id for tree in trees])
        message = say('the plan has no tree "{tree}"', tree=text)
        stop([Finding("error", "unknown-tree", message, study.plan.file, "--tree", cure=cure)],
             as_json)  # fmt: skip
    return found


@dataclass(frozen=True)
class Found:
    """What was found: candidates that help, best first, in the numbers of `nodes`.

    uncovered : limbs that lack a donor now. jars : cut blossom for them. harvests : estimated
        harvest here of the candidates that help, where it is known.
    """

    nodes: tuple[Node, ...]
    trees: tuple[Tree, ...]
    uncovered: tuple[int, ...]
    choices: tuple[Choice, ...]
    jars: tuple[Jar, ...]
    harvests: Mapping[VarietyId, Harvest]
    level: float


def ranked_choices(study: Study, trees: Sequence[Tree], *, from_catalogue: bool) -> Found:
    """Rank the candidates for the limbs of some trees."""
    species = {tree.species for tree in trees}
    scions = [
        scion
        for scion in study.free_scions(from_catalogue=from_catalogue)
        if scion.variety.species in species
    ]
    network = study.network_of(tuple(scions))
    nodes, wanted = network.nodes, {tree.id for tree in trees}
    limbs = [i for i, n in enumerate(nodes) if n.kind == "limb" and n.must_crop]
    limbs = [i for i in limbs if nodes[i].tree in wanted]
    candidates = [i for i, node in enumerate(nodes) if node.kind == "candidate"]
    covered = {row.node for row in study.coverage if row.covered}
    uncovered = tuple(i for i in limbs if i not in covered)
    at_hand = {scion.variety for scion in study.plan.scions}
    mothers = [i for i in candidates if nodes[i].variety in at_hand]
    small = keep_nodes(network, (*present_of(network), *mothers))
    ranked = choices(network, candidates, limbs)
    helping = [study.known[nodes[choice.node].variety] for choice in ranked]
    bloom = study.bloom_of(study.varieties(variety.id for variety in helping))
    return Found(
        nodes,
        tuple(trees),
        uncovered,
        ranked,
        jars(small, uncovered, range(len(present_of(network)), len(small.nodes))),
        garden_harvests(study, helping, bloom),
        network.aim.level,
    )


# --- text ------------------------------------------------------------------------------------


def show_pollinizer(study: Study, found: Found) -> None:
    """Print the answer, the candidates, the place on the tree and the jar."""
    print_lines([pollinizer_answer(found.choices, found.uncovered, found.nodes, found.level), ""])
    if found.choices:
        table = new_table(
            ("Candidate", {}),
            ("Covers", {"justify": "right"}),
            ("Winters of 10, now → then (days shared)", {"ratio": 1}),
            ("Effective", {"no_wrap": True, "justify": "right"}),
            ("Its own", {"no_wrap": True}),
            ("Chill", {"no_wrap": True}),
            ("Harvest", {}),
        )
        for choice in found.choices[:SHOWN]:
            table.add_row(*_cells(study, found, choice))
        print_table(table)
        print_lines(["", *_table_notes(found)])
    print_lines([*_place_lines(study, found), *_jar_lines(study, found)])
    print_lines(["", weather_words(study.record, study.outlook)])


def _cells(study: Study, found: Found, choice: Choice) -> tuple[str, ...]:
    node = found.nodes[choice.node]
    own = of_ten(choice.own) if node.must_crop else "need not crop"
    chill = of_ten(choice.chill) if _chill_known(study, node) else "not known"
    harvest = harvest_text(found.harvests.get(node.variety))
    reason = choice_reason(choice, found.nodes)
    days = f"{choice.effective_days:.1f}"
    return (node.variety.name, str(len(choice.covers)), reason, days, own, chill, harvest)


def _chill_known(study: Study, node: Node) -> bool:
    varieties = [v for v in study.known.values() if v.id.species == node.variety.species]
    known = dict(zip(sorted(v.id for v in varieties), is_chill_known(varieties), strict=True))
    return study.sums is not None and bool(known[node.variety])


def _table_notes(found: Found) -> list[str]:
    more = len(found.choices) - SHOWN
    return [
        *([f"{more} more that help are in the JSON (--json)."] if more > 0 else []),
        "Covers: limbs that lack a donor now and would have one. Effective: shared days times "
        "accepted pollen, distance, bee weather and chill. Its own: winters in which the new limb "
        "has a donor itself. Chill: winters in which its chill requirement is met. Harvest: first "
        f"pick, within about {HARVEST_SD_DAYS:.0f} days.",
    ]


def _place_lines(study: Study, found: Found) -> list[str]:
    """On which tree, how high, and when it will flower."""
    if not found.choices:
        return []
    node = found.nodes[found.choices[0].node]
    trees = [tree for tree in found.trees if tree.species == node.variety.species]
    free = [tree for tree in trees if tree.spare_limbs > 0]
    name = node.variety.name
    if free:
        spare = "; ".join(f"{tree.id} ({tree.spare_limbs} to spare)" for tree in free)
        place = f"Where: {name} on {spare}. {placement_text(_placement(study, node, free[0]))}."
    else:
        full = ", ".join(tree.id for tree in trees)
        place = f"Where: no limb to spare on {full}: {name} would take the place of another limb."
    age = load_bearing([node.variety.species], "graft on a bearing tree")[node.variety.species]
    sources = "; ".join(study.catalogue.sources.get(source, source) for source in age.sources)
    when = f"When: grafts on a bearing tree mostly bear after {age.first} to {age.late} years"
    return ["", place, f"{when} ({sources})."]


def _placement(study: Study, node: Node, tree: Tree) -> str:
    beside = [vigour_of(study.known[limb.variety]) for limb in tree.limbs]
    return placement(vigour_of(study.known[node.variety]), beside)


def _jar_lines(study: Study, found: Found) -> list[str]:
    if not found.uncovered:
        return []
    lines = ["", "This spring, until the graft flowers: a jar of cut blossom."]
    lines += [f"- {jar_text(jar, found.nodes)}" for jar in found.jars]
    return [*lines, *JAR_NOTES]


# --- data ------------------------------------------------------------------------------------


def pollinizer_data(study: Study, found: Found) -> dict[str, Any]:
    """The answer as data, candidates best first."""
    nodes = found.nodes
    return {
        "answer": pollinizer_answer(found.choices, found.uncovered, nodes, found.level),
        "uncovered": [nodes[i].id for i in found.uncovered],
        "candidates": [_choice_data(study, found, choice) for choice in found.choices],
        "jars": [
            {
                "limb": nodes[jar.node].id,
                "sources": [donor_data(donor, nodes) for donor in jar.sources],
            }
            for jar in found.jars
        ],
        "findings": findings_data(study.findings),
    }


def _harvest_data(harvest: Harvest | None) -> dict[str, str] | None:
    if harvest is None:
        return None
    month, day = month_and_day(round(harvest.day))
    return {"day": f"{month:02d}-{day:02d}", "rests_on": harvest.rests_on}


def _choice_data(study: Study, found: Found, choice: Choice) -> dict[str, Any]:
    node = found.nodes[choice.node]
    return {
        **node_data(node),
        "covers": [found.nodes[i].id for i in choice.covers],
        "gains": [
            {
                "limb": found.nodes[g.node].id,
                "now": g.now,
                "then": g.then,
                "overlap_days": round(g.overlap_days, 3),
            }
            for g in choice.gains
        ],
        "effective_days": round(choice.effective_days, 3),
        "own_reliability": choice.own if node.must_crop else None,
        "closed": choice.closed,
        "chill_met": choice.chill if _chill_known(study, node) else None,
        "harvest": _harvest_data(found.harvests.get(node.variety)),
        "vigour": vigour_of(study.known[node.variety]),
        "trees": [
            {
                "tree": tree.id,
                "spare_limbs": tree.spare_limbs,
                "height": _placement(study, node, tree),
            }
            for tree in found.trees
            if tree.species == node.variety.species
        ],
    }
