"""`pollinet suits`: how a variety would fare in this garden."""

from __future__ import annotations

from pathlib import Path
from typing import Any

import click

from pollinet.answers.base import plain
from pollinet.answers.parts import usual_bloom
from pollinet.cli.common import (
    BadInput,
    findings_data,
    json_option,
    opened,
    plan_argument,
    print_json,
    print_lines,
    weather_option,
)
from pollinet.domain import VarietyId
from pollinet.findings import Finding, has_errors
from pollinet.messages import listing, say
from pollinet.readers.names import resolve_fruit, resolve_variety
from pollinet.readers.shared_tables import fruits
from pollinet.study import Study
from pollinet.summary.suits import WARMER_C, Suitability, suitability
from pollinet.wording.sentences import weather_words
from pollinet.wording.suits import suits_answer, suits_lines


@click.command(
    epilog="Example: pollinet suits plan.toml Kordia Sam. Exit codes: 0 an answer, 2 bad input."
)
@plan_argument
@click.argument("variety", nargs=-1, required=True)
@click.option("--species", metavar="FRUIT", help="Kind of fruit, where the plan has several.")
@weather_option
@json_option
def suits(
    plan: Path, variety: tuple[str, ...], species: str | None, weather: Path | None, as_json: bool
) -> int:
    """Say how each VARIETY would fare here: chill, bloom, pollen, harvest, frost, vigour."""
    study = opened(plan, weather, as_json=as_json)
    wanted = _named(study, variety, species, as_json)
    views = [suitability(study, name) for name in wanted]
    level = study.plan.aim.level
    if as_json:
        print_json({"varieties": [suits_data(view, level) for view in views],
                    "findings": findings_data(study.findings)}, schema="suits")  # fmt: skip
        return 0
    for number, view in enumerate(views):
        print_lines([""] * (number > 0) + suits_lines(view, level))
    print_lines(["", weather_words(study.record, study.winters)])
    return 0


def _named(
    study: Study, names: tuple[str, ...], species: str | None, as_json: bool
) -> list[VarietyId]:
    """The varieties that are meant, of a fruit that stands in the garden."""
    planted = list(dict.fromkeys(tree.species for tree in study.plan.trees))
    if species is not None:
        fruit, findings = resolve_fruit(species, fruits(), place="--species")
        if fruit is None:
            raise BadInput(findings, as_json)
        planted = [fruit]
    found: list[VarietyId] = []
    problems: list[Finding] = []
    for name in names:
        own = {fruit: [v.id.name for v in study.plan.own_varieties if v.id.species == fruit]
               for fruit in planted}  # fmt: skip
        tried = [resolve_variety(name, fruit, study.catalogue, own=own[fruit]) for fruit in planted]
        meant = [variety for variety, _ in tried if variety is not None]
        if len(meant) == 1:
            found += meant
        elif meant:
            message = say('"{name}" is a variety of several fruits: {fruits}', name=name,
                          fruits=listing([say(v.species) for v in meant]))  # fmt: skip
            cure = say("say which with --species")
            problems.append(Finding("error", "several-fruits", message, cure=cure))
        else:
            problems += [f for _, findings in tried for f in findings if f.severity == "error"]
    if has_errors(problems):
        raise BadInput(problems, as_json)
    return found


def suits_data(view: Suitability, level: float) -> dict[str, Any]:
    """How one variety would fare, as data."""
    nodes = view.network.nodes
    return {
        "answer": suits_answer(view, level),
        "variety": view.variety.id.name,
        "species": view.variety.id.species,
        "limb": view.limb,
        "enough_chill": view.enough_chill,
        "enough_chill_warmer": view.enough_chill_warmer,
        "warmer_c": WARMER_C,
        "bloom": plain(usual_bloom(view.bloom)),
        "bloom_warmer": plain(usual_bloom(view.bloom_warmer)),
        "reliability": view.coverage.reliability,
        "donors": [
            {"id": nodes[d.node].id, "variety": nodes[d.node].variety.name,
             "reliability": d.reliability, "overlap_days": round(d.overlap_days, 3)}
            for d in view.coverage.donors
        ],
        "serves": [
            {"limb": s.limb, "variety": s.variety.name, "reliability": s.reliability,
             "newly_covered": s.newly}
            for s in view.serves
        ],
        "harvest_day": None if view.harvest is None else round(view.harvest.day, 1),
        "harvest_rests_on": None if view.harvest is None else view.harvest.rests_on,
        "frost_one_in_ten": None if view.frost is None else view.frost[0],
        "frost_nine_in_ten": None if view.frost is None else view.frost[1],
        "vigour": view.vigour,
        "place": dict(view.place),
        "look": [
            {"tree": tree, "lag_days": then.lags.get(""), "together": then.together,
             "together_now": now.together}
            for tree, now, then in view.looks
        ],
        "genotype_known": view.variety.fertility.genotype is not None,
        "rests_on_memory": [f"{field} of {name}" for field, name in view.memory],
    }  # fmt: skip
