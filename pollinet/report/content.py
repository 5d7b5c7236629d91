"""What the report says, section by section, the answer first; layout is left to the writers."""

from __future__ import annotations

import platform
from collections.abc import Iterator
from importlib.metadata import version

from pollinet import __version__
from pollinet.charts.album import Chart, charts_of
from pollinet.cli.check import bloom_text
from pollinet.cli.cover_extras import concessions
from pollinet.domain import NetworkInput, VarietyId
from pollinet.network.cover import Cover
from pollinet.network.coverage import LimbCoverage, limb_coverage
from pollinet.network.resilience import losses
from pollinet.phenology.frost import frost_nights
from pollinet.readers.frost import load_frost_limits
from pollinet.report.blocks import Block, Bullets, Grid, Paragraph, Picture, Report, Section
from pollinet.report.scions import CUTTING, cautions, scions_answer, scions_wanted
from pollinet.study import Study
from pollinet.summary import LimbSummary, limb_chill, limb_summaries, memory_words
from pollinet.wording import (
    check_answer,
    chill_answer,
    count,
    cover_answer,
    days,
    donor_text,
    finding_text,
    joined,
    memory_text,
    miss_text,
    of_ten,
    reasons,
    weather_words,
)
from pollinet.wording_cover import COVER_HEADINGS, cover_notes, cover_rows
from pollinet.wording_network import losses_answer, named

LIBRARIES = ("numpy", "scipy", "networkx", "matplotlib")
"""Libraries whose versions could move a last digit."""


def report_of(study: Study, *, from_catalogue: bool = False) -> Report:
    """The report on a garden.

    from_catalogue : choose among all catalogue varieties, not only the scions of the plan.
    """
    network, cover = study.cover(from_catalogue=from_catalogue)
    chosen = [network.nodes[i].variety for i in cover.added or cover.partial]
    limbs = limb_summaries(study)
    charts: dict[str, list[Chart]] = {}
    for chart in charts_of(study):
        charts.setdefault(chart.name.split("-")[0], []).append(chart)
    pictures = {kind: tuple(map(Picture, drawn)) for kind, drawn in charts.items()}
    sections = (
        Section("answer", "The answer", tuple(_answer(study, network, cover, limbs))),
        Section("add", "What to add, and why", tuple(_add(study, network, cover, from_catalogue))),
        Section("bloom", "When each limb blooms", pictures.get("calendar", ())),
        Section("network", "Who pollinates whom", tuple(_network(pictures))),
        Section("limbs", "Limb by limb", tuple(_limbs(study, limbs, pictures))),
        Section("chill", "Winter chill", tuple(_chill(study, pictures))),
        Section("harvest", "Order of harvest", pictures.get("harvest", ())),
        Section("risks", "What could go wrong", tuple(_risks(study, limbs))),
        Section("sources", "What this rests on", tuple(_sources(study, limbs, chosen))),
        Section("repeat", "To repeat this report", tuple(_repeat(study, from_catalogue))),
    )
    return Report(
        f"Pollination report: {study.plan.site.name}",
        weather_words(study.record, study.winters),
        tuple(section for section in sections if section.blocks),
    )


# --- answer and advice -----------------------------------------------------------------------


def _answer(
    study: Study, network: NetworkInput, cover: Cover, limbs: tuple[LimbSummary, ...]
) -> Iterator[Block]:
    aim = study.plan.aim
    yield Paragraph(check_answer(study.coverage, aim.level), strong=True)
    yield Paragraph(cover_answer(cover, network.nodes, aim.level), strong=True)
    bare = [limb for limb in limbs if limb.coverage is not None and not limb.coverage.covered]
    if bare:
        yield Bullets(tuple(f"{named(limb.node)}: {_why(limb, study)}." for limb in bare))
    yield Paragraph(
        f"A donor counts in a winter when both bloom together for at least "
        f"{days(aim.min_overlap_days)} and its pollen is accepted."
    )


def _why(limb: LimbSummary, study: Study) -> str:
    if limb.coverage is None or limb.coverage.covered:
        return ""
    return "; ".join(text for _, text in reasons(limb.coverage, study.network.nodes))


def _add(
    study: Study, network: NetworkInput, cover: Cover, from_catalogue: bool
) -> Iterator[Block]:
    wanted = scions_wanted(study, network, cover)
    if wanted:
        yield Paragraph(scions_answer(wanted, cover), strong=True)
        rows = tuple(
            (s.variety.name, s.source, joined(s.trees, "or"), joined(s.serves)) for s in wanted
        )
        yield Grid(("Variety", "Wood", "Graft on", "Carries"), rows, (3, 2, 3, 4))
        then = cover_rows(study.coverage, network, cover)
        yield Grid(COVER_HEADINGS, then, (4, 4, 2, 2, 5))
    notes = [f"{miss_text(miss, network.nodes)}." for miss in cover.uncovered]
    notes += cover_notes(study.plan.scions, network, cover)
    if cover.uncovered:
        candidates = [i for i, node in enumerate(network.nodes) if node.kind == "candidate"]
        found = concessions(study, network, candidates, from_catalogue=from_catalogue)
        notes += [f"It would work {concession['text']}." for concession in found]
    yield Bullets(tuple(notes))
    if wanted:
        yield Paragraph(CUTTING)
        yield Bullets(cautions())


# --- limbs -----------------------------------------------------------------------------------


def _network(pictures: dict[str, tuple[Picture, ...]]) -> Iterator[Block]:
    yield from pictures.get("network", ())
    yield from pictures.get("winters", ())
    yield from pictures.get("tradeoff", ())


def _limbs(
    study: Study, limbs: tuple[LimbSummary, ...], pictures: dict[str, tuple[Picture, ...]]
) -> Iterator[Block]:
    headings = ("Limb", "Variety", "Usual bloom ± days", "Winters", "Best donor; if none, why")
    rows = tuple(_limb_row(limb, study) for limb in limbs)
    yield Grid(headings, rows, (4, 4, 4, 3, 6))
    if any(limb.coverage is not None and limb.coverage.strength == "weak" for limb in limbs):
        yield Paragraph(
            "Weak: enough days in bloom together, but too few once bee weather, distance, chill "
            "and the share of accepted pollen are counted."
        )
    yield from pictures.get("matrix", ())
    yield from pictures.get("tree", ())


def _limb_row(limb: LimbSummary, study: Study) -> tuple[str, ...]:
    row, head = limb.coverage, (limb.node.id, limb.node.variety.name, bloom_text(limb.bloom))
    if row is None:
        return (*head, "", "need not crop")
    nodes = study.network.nodes
    donor = donor_text(row.donors[0], nodes, row.node) if row.donors else "none"
    weak = ", weak" if row.strength == "weak" else ""
    why = f"; {_why(limb, study)}" if not row.covered else ""
    return (*head, of_ten(row.reliability) + weak, donor + why)


def _chill(study: Study, pictures: dict[str, tuple[Picture, ...]]) -> Iterator[Block]:
    if study.chill_supply is not None:
        yield Paragraph(chill_answer(limb_chill(study), study.plan.aim.level), strong=True)
        yield from pictures.get("chill", ())


# --- risks and sources -----------------------------------------------------------------------


def _risks(study: Study, limbs: tuple[LimbSummary, ...]) -> Iterator[Block]:
    nodes, found = study.network.nodes, losses(study.network)
    yield Paragraph(losses_answer(found, study.coverage, nodes), strong=True)
    items = [
        f"Without {named(nodes[loss.node])}: {joined([nodes[i].id for i in loss.uncovered])} "
        "would have no sure donor."
        for loss in found
        if loss.critical
    ]
    items += _without_neighbours(study)
    unsure = [named(limb.node) for limb in limbs if _turns_on_unknown(limb.coverage, study)]
    if unsure:
        items.append(
            f"S-alleles that nobody has published decide about {joined(unsure)}: it would be "
            "covered if the unknown pollen turned out to be accepted."
        )
    if items:
        yield Bullets(tuple(items))
    yield from _frost(study, limbs)


def _frost(study: Study, limbs: tuple[LimbSummary, ...]) -> Iterator[Block]:
    """Shares of springs with a night in bloom that kills flowers."""
    if study.winters is None:
        return
    nights = frost_nights(study.bloom, study.winters, load_frost_limits())
    rows = []
    for limb in limbs:
        shares = nights.shares(study.bloom.varieties.index(limb.node.variety))
        if shares is not None:
            rows.append((limb.node.id, limb.node.variety.name, *(of_ten(s) for s in shares)))
    if rows:
        yield Paragraph("Springs with a night in bloom cold enough to kill flowers:")
        headings = ("Limb", "Variety", "Some (one flower in ten)", "Most (nine in ten)")
        yield Grid(headings, tuple(rows), (4, 4, 3, 3))
        yield Paragraph(
            "By the temperatures of the record; a frost hollow is some degrees colder, a limb in "
            "the warmth of a wall is not."
        )


def _without_neighbours(study: Study) -> list[str]:
    """Neighbours' trees are not the grower's own: what is left if all of them are gone."""
    if not study.plan.neighbours:
        return []
    own = [i for i, node in enumerate(study.network.nodes) if node.kind == "limb"]
    alone = limb_coverage(study.network, own)
    now = {row.node for row in study.coverage if row.covered}
    lost = [study.network.nodes[r.node].id for r in alone if r.node in now and not r.covered]
    if not lost:
        return ["Without any of the trees next door, the same limbs are covered."]
    return [f"Without any of the trees next door, {joined(lost)} would have no sure donor."]


def _turns_on_unknown(row: LimbCoverage | None, study: Study) -> bool:
    level = study.plan.aim.level
    return row is not None and not row.covered and row.possible_reliability >= level - 1e-12


def _sources(
    study: Study, limbs: tuple[LimbSummary, ...], chosen: list[VarietyId]
) -> Iterator[Block]:
    yield Paragraph(weather_words(study.record, study.winters))
    words = {word for limb in limbs for word in limb.memory}
    memory = sorted(words.union(*(memory_words(study.known[name]) for name in chosen)))
    if memory:
        yield Paragraph(memory_text(memory), strong=True)
    rests = [
        (limb.node.id, limb.node.variety.name, limb.bloom.rests_on)
        for limb in limbs
        if limb.bloom is not None and limb.bloom.rests_on
    ]
    if rests:
        yield Grid(("Limb", "Variety", "Its bloom dates come from"), tuple(rests), (3, 3, 8))
    cited = sorted(_cited(study, chosen))
    if cited:
        yield Bullets(tuple(f"{key}: {study.catalogue.sources.get(key, '')}" for key in cited))


def _cited(study: Study, chosen: list[VarietyId]) -> set[str]:
    """Keys of the sources of all values used for the varieties of the plan and those chosen."""
    keys: set[str] = set()
    for variety in study.varieties(chosen):
        keys |= set(variety.fertility.sources)
        keys |= {evidence.source for evidence in variety.bloom}
        keys |= {requirement.source for requirement in variety.chill}
    return keys & set(study.catalogue.sources)


def _repeat(study: Study, from_catalogue: bool) -> Iterator[Block]:
    aim, scenarios = study.plan.aim, study.network.open_start_h.shape[1]
    chosen = " --from catalogue" if from_catalogue else ""
    versions = ", ".join(f"{name} {version(name)}" for name in LIBRARIES)
    yield Bullets(
        (
            f"Command: pollinet report {study.plan.file}{chosen} --out FILE",
            f"Seed {aim.seed}, {count(aim.draws, 'draw')}, {count(scenarios, 'scenario')}.",
            f"Pollinet {__version__}, Python {platform.python_version()}, {versions}.",
        )
    )
    notes = tuple(finding_text(finding).replace("\n    ", " ") for finding in study.findings)
    if notes:
        yield Paragraph("What was noticed in the input:")
        yield Bullets(notes)
