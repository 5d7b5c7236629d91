"""`pollinet cover`: the smallest set of varieties to graft."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import dataclass, replace
from datetime import date
from functools import partial
from pathlib import Path
from time import monotonic
from typing import Any

import click

from pollinet.cli.common import (
    YEARS,
    FiniteRange,
    findings_data,
    in_language,
    json_option,
    new_table,
    opened,
    plan_argument,
    print_json,
    print_lines,
    print_table,
    stop,
    warmer_option,
    weather_option,
)
from pollinet.cli.cover_extras import (
    TRADED_DAYS,
    by_number,
    concessions,
    show_springs,
    show_traded,
    springs_data,
    traded_data,
    with_days,
)
from pollinet.cli.donors import source_option
from pollinet.cli.places import candidates_named
from pollinet.days import coming_spring
from pollinet.domain import NetworkInput, Scion
from pollinet.findings import Finding
from pollinet.language import _
from pollinet.messages import say
from pollinet.network.cover import Cover, parties, smallest_cover
from pollinet.network.tradeoff import Gain
from pollinet.network.viability import Viability, pairs, viability
from pollinet.readers import plan_bounds
from pollinet.study import Study
from pollinet.wording.cover import COVER_HEADINGS, cover_notes, cover_rows
from pollinet.wording.sentences import (
    cover_answer,
    joined,
    miss_text,
    outlook_words,
    short_name,
    weather_words,
)


@dataclass(frozen=True)
class Wishes:
    """What is asked of the set beyond the plan; names as typed."""

    from_catalogue: bool = False
    must: tuple[str, ...] = ()
    never: tuple[str, ...] = ()
    pollen_only: tuple[str, ...] = ()
    survive: bool = False
    most: int = 20
    time_limit_s: float | None = None


@click.command(
    epilog="Examples: pollinet cover plan.toml --from catalogue; pollinet cover plan.toml --must "
    "Kordia --survive-loss --years. Exit codes: 0 a smallest set or nothing to add, 1 some limb "
    "cannot be covered, 2 bad input."
)
@plan_argument
@source_option
@click.option("--must", multiple=True, metavar="NAME", help="Graft this variety in any case.")
@click.option("--never", multiple=True, metavar="NAME", help="Do not graft this variety.")
@click.option(
    "--pollen-only",
    multiple=True,
    metavar="NAME",
    help="A limb of this variety need not crop, and so needs no donor itself.",
)
@click.option(
    "--survive-loss",
    "survive",
    is_flag=True,
    help="Cover every limb also when any one other limb or neighbour's tree is lost.",
)
@click.option(
    "--donors",
    type=click.IntRange(*plan_bounds.DONORS),
    help="Different viable donors that each limb must have; in place of the plan's own.",
)
@click.option(
    "--level",
    type=FiniteRange(*plan_bounds.LEVEL, min_open=True),
    help="Share of winters with a donor, such as 0.9; in place of the plan's own.",
)
@click.option(
    "--min-overlap",
    type=FiniteRange(*plan_bounds.OVERLAP_DAYS, min_open=True),
    metavar="DAYS",
    help="Shortest shared bloom that counts; in place of the plan's own.",
)
@click.option(
    "--most",
    type=click.IntRange(1, 1000),
    default=20,
    show_default=True,
    help="How many equally small sets are listed at most.",
)
@click.option("--trade-off", is_flag=True, help="Tell also what more varieties or days would buy.")
@click.option("--years", is_flag=True, help="Tell also the coverage in each of the next springs.")
@click.option(
    "--spring",
    type=YEARS,
    metavar="YEAR",
    help="Spring of grafting for --years; the coming one if not given.",
)
@click.option(
    "--time-limit",
    "time_limit_s",
    type=FiniteRange(0, min_open=True),
    metavar="SECONDS",
    help="Stop each search after so long; the answer then says what is not proven.",
)
@weather_option
@warmer_option
@json_option
@in_language
def cover(
    plan: Path,
    source: str,
    donors: int | None,
    level: float | None,
    min_overlap: float | None,
    trade_off: bool,
    years: bool,
    spring: int | None,
    weather: Path | None,
    warmer: float,
    as_json: bool,
    **wishes: Any,
) -> int:
    """Find the smallest set of varieties to graft so that every limb has a viable donor.

    The set is closed: a variety that is added has a donor too. The search is exact.
    """
    study = opened(plan, weather, as_json=as_json, warmer_c=warmer)
    study = with_aim(study, donors=donors, level=level, min_overlap_days=min_overlap)
    wished = Wishes(from_catalogue=source == "catalogue", **wishes)
    found = searched(study, wished, as_json=as_json)
    later = None
    if warmer and study.winters is not None:
        later = searched(study.warmer(warmer), wished, as_json=as_json)
    ahead = coming_spring(study.plan.site.latitude, date.today())
    year = None if not years else spring or ahead
    if as_json:
        outlook = {} if later is None else {"warmer": _outlook_data(later, study, warmer)}
        print_json(_whole_data(study, found, wished, year, trade_off) | outlook, schema="cover")
    else:
        show_cover(study, found.network, found.answer)
        if later is not None:
            print_lines(["", _outlook_words(later, study, warmer)])
        _show_extras(study, found, wished, year, trade_off)
    unfinished = found.answer.status == "time limit" and not found.answer.added
    return 1 if found.answer.uncovered or unfinished else 0


def _outlook_words(later: Searched, study: Study, warmer_c: float) -> str:
    answer = cover_answer(later.answer, later.network.nodes, study.plan.aim.level)
    return outlook_words(warmer_c) + answer


def _outlook_data(later: Searched, study: Study, warmer_c: float) -> dict[str, Any]:
    nodes, answer = later.network.nodes, later.answer
    return {
        "degrees_c": warmer_c,
        "answer": _outlook_words(later, study, warmer_c),
        "status": answer.status,
        "added": [nodes[i].variety.name for i in answer.added],
        "alternatives": [[nodes[i].variety.name for i in some] for some in answer.alternatives],
        "uncovered": [short_name(nodes[miss.node]) for miss in answer.uncovered],
    }


def with_aim(study: Study, **changes: float | None) -> Study:
    """The study with some of the plan's aims replaced; None leaves the plan's own."""
    told = {key: value for key, value in changes.items() if value is not None}
    if not told:
        return study
    aim = replace(study.plan.aim, **told)  # type: ignore[arg-type]
    return replace(study, plan=replace(study.plan, aim=aim))


@dataclass(frozen=True)
class Searched:
    """A cover with the network and the candidates it was sought among."""

    network: NetworkInput
    candidates: tuple[int, ...]
    answer: Cover
    view: Callable[[NetworkInput], Viability]
    again: Callable[[NetworkInput], Cover]


def searched(study: Study, wishes: Wishes, *, as_json: bool) -> Searched:
    """Search the smallest set as wished; names that are no candidates end the command."""
    scions = list(study.free_scions(from_catalogue=wishes.from_catalogue))

    pollen_only, one = candidates_named(study, scions, wishes.pollen_only, "--pollen-only")
    must, two = candidates_named(study, scions, wishes.must, "--must")
    never, three = candidates_named(study, scions, wishes.never, "--never", known_is_enough=True)
    if findings := one + two + three + _torn(study, scions, must, never):
        stop(findings, as_json)
    for place in pollen_only:
        scions[place] = replace(scions[place], crops=False)
    network = study.network_of(tuple(scions))
    first = len(network.nodes) - len(scions)
    free = tuple(first + place for place in range(len(scions)) if place not in never)
    receivers, donors = parties(network, free)
    # With other demands the same pairs are asked again; what their alleles say stays.
    view = partial(viability, receivers=receivers, table=pairs(network, receivers, donors))
    search = partial(
        smallest_cover,
        candidates=free,
        spare=study.spare_limbs(),
        must_include=[first + place for place in must],
        survives_any_single_loss=wishes.survive,
        preferences=study.tie_breakers(network),
        max_alternatives=wishes.most,
        time_limit_s=wishes.time_limit_s,
        clock=monotonic,
    )

    def again(changed: NetworkInput) -> Cover:
        return search(changed, view=view(changed))

    return Searched(network, free, again(network), view, again)


def _torn(
    study: Study, scions: Sequence[Scion], must: Sequence[int], never: Sequence[int]
) -> tuple[Finding, ...]:
    """Varieties that are wanted in any case and refused in any case."""
    return tuple(
        Finding("error", "must-and-never",
                say("{variety} stands under --must and under --never",
                    variety=scions[place].variety.name),
                study.plan.file, "--must", cure=say("leave one of the two out"))
        for place in sorted(set(must) & set(never))
    )  # fmt: skip


def _show_extras(
    study: Study, found: Searched, wishes: Wishes, year: int | None, trade_off: bool
) -> None:
    network, answer = found.network, found.answer
    print_lines(_wish_notes(wishes, answer))
    for concession in _concessions(study, found, wishes):
        text = _("It would work {concession}.").format(concession=concession["text"])
        print_lines([f"- {text}"])
    if trade_off:
        show_traded(network, *_traded(study, found, wishes))
    if year is not None:
        show_springs(study, network, answer.added or answer.partial, year)


def _traded(
    study: Study, found: Searched, wishes: Wishes
) -> tuple[list[Gain], list[tuple[float, Cover]]]:
    network, days = found.network, found.network.aim.min_overlap_days
    # The number of varieties is traded off freely; a set that is partly given has no such choice.
    free = not (wishes.must or wishes.survive)
    limit = wishes.time_limit_s
    view = found.view(network)
    gains = by_number(study, network, found.candidates, found.answer, limit, view) if free else []
    return gains, [
        (value, found.answer if value == days else found.again(with_days(network, value)))
        for value in sorted({*TRADED_DAYS, days})
    ]


def _wish_notes(wishes: Wishes, answer: Cover) -> list[str]:
    notes = []
    if wishes.must:
        notes.append(_("Grafted in any case: {names}.").format(names=joined(wishes.must)))
    if wishes.survive and not answer.uncovered:
        notes.append(
            _("Every limb stays covered when any one other limb or neighbour's tree is lost.")
        )
    if wishes.pollen_only:
        text = _("For pollen only, without a donor of its own: {names}.")
        notes.append(text.format(names=joined(wishes.pollen_only)))
    return notes


def _concessions(study: Study, found: Searched, wishes: Wishes) -> list[dict[str, Any]]:
    # With further wishes the concessions would answer another question.
    plain = not (wishes.must or wishes.survive or wishes.never or wishes.pollen_only)
    if not found.answer.uncovered or not plain:
        return []
    return concessions(study, found.network, found.candidates, from_catalogue=wishes.from_catalogue)


def _whole_data(
    study: Study, found: Searched, wishes: Wishes, year: int | None, trade_off: bool
) -> dict[str, Any]:
    network, answer = found.network, found.answer
    data = cover_data(study, network, answer)
    data["concessions"] = _concessions(study, found, wishes)
    if trade_off:
        data["trade_off"] = traded_data(network, *_traded(study, found, wishes))
    if year is not None:
        data["springs"] = springs_data(study, network, answer.added or answer.partial, year)
    return data


def show_cover(study: Study, network: NetworkInput, answer: Cover) -> None:
    """Print the answer, what it changes limb by limb, the other sets and the proof."""
    nodes = network.nodes
    print_lines([cover_answer(answer, nodes, study.plan.aim.level), ""])
    if answer.status != "nothing to add":
        whole: dict[str, Any] = {"no_wrap": True}
        styles: tuple[dict[str, Any], ...] = ({}, {}, whole, whole, {"ratio": 1})
        table = new_table(*zip(map(_, COVER_HEADINGS), styles, strict=True))
        for row in cover_rows(study.coverage, network, answer):
            table.add_row(*row)
        print_table(table)
        print_lines([""])
    print_lines(
        [
            *(f"- {miss_text(miss, nodes)}" for miss in answer.uncovered),
            *cover_notes(study.plan.scions, network, answer),
            weather_words(study.record, study.winters),
        ]
    )


def cover_data(study: Study, network: NetworkInput, answer: Cover) -> dict[str, Any]:
    """The answer as data; varieties by name, each list in the order of the plan."""
    nodes = network.nodes

    def names(chosen: tuple[int, ...]) -> list[str]:
        return [nodes[i].variety.name for i in chosen]

    return {
        "answer": cover_answer(answer, nodes, study.plan.aim.level),
        "status": answer.status,
        "added": names(answer.added),
        "alternatives": [names(chosen) for chosen in answer.alternatives],
        "all_alternatives_listed": answer.all_listed,
        "partial": names(answer.partial),
        "reliability": answer.reliability,
        "uncovered": [
            {
                "limb": short_name(nodes[miss.node]),
                "code": miss.code,
                "reason": miss_text(miss, nodes),
                "nearest_miss": None
                if miss.donor is None
                else {
                    "variety": nodes[miss.donor].variety.name,
                    "days": miss.days,
                    "overlap_days": miss.overlap_days,
                    "reliability": miss.reliability,
                },
                "reachable": miss.reachable,
            }
            for miss in answer.uncovered
        ],
        "blocked": [
            {"variety": scion.variety.name, "why": scion.blocked}
            for scion in study.plan.scions
            if scion.blocked is not None
        ],
        "proof": {
            "solver": answer.proof.solver,
            "method": answer.proof.method,
            "status": answer.proof.status,
            "bound": answer.proof.bound,
            "gap": answer.proof.gap,
            "sizes": dict(answer.proof.sizes),
        },
        "findings": findings_data(study.findings),
    }
