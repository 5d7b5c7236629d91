"""What the report says, section by section, the answer first; layout is left to the writers."""

from __future__ import annotations

import platform
from collections import Counter
from collections.abc import Iterator, Mapping, Sequence
from datetime import date
from importlib.metadata import version

from pollinet import __version__
from pollinet.advice.work import LimbDates, Task
from pollinet.answers.cover import Wishes as CoverWishes
from pollinet.answers.cover import concessions
from pollinet.charts.album import Chart, Wishes, charts_of
from pollinet.charts.style import PAGE
from pollinet.charts.warming import warming_answer
from pollinet.days import NOMINAL_YEAR, day_of_year
from pollinet.domain import NetworkInput, VarietyId
from pollinet.language import ENGLISH, _, date_range, ngettext, told
from pollinet.language import chosen as chosen_language
from pollinet.network.cover import Cover
from pollinet.network.coverage import limb_coverage
from pollinet.network.problem import cover_problem
from pollinet.network.resilience import losses
from pollinet.phenology.frost import frost_nights
from pollinet.readers.advice import advice_tables
from pollinet.readers.frost import load_frost_limits
from pollinet.report.blocks import Block, Bullets, Grid, Paragraph, Picture, Report, Section
from pollinet.study import WARMER_C, Study
from pollinet.summary.advice import garden_looks
from pollinet.summary.limbs import (
    LimbSummary,
    apart_fruits,
    limb_chill,
    limb_summaries,
    memory_words,
    spring_sd_days,
)
from pollinet.summary.outlook import warming_courses
from pollinet.summary.passed_over import passed_over
from pollinet.summary.scions import scions_wanted
from pollinet.summary.suits import limb_dates, scions_to_graft, year_of_work
from pollinet.wording.check import (
    LEGEND,
    attention_first,
    garden_answer,
    hangs_notes,
    limb_cells,
    limb_headings,
    of_ten_note,
    open_words,
    spring_note,
    weak_notes,
)
from pollinet.wording.cover import COVER_HEADINGS, cover_notes, cover_rows
from pollinet.wording.look import looks_answer
from pollinet.wording.network import losses_answer, named
from pollinet.wording.scions import CUTTING, cautions, scions_answer, wood_text
from pollinet.wording.sentences import (
    chill_answer,
    cover_answer,
    donor_rule,
    finding_text,
    joined,
    memory_text,
    miss_text,
    of_ten,
    weather_words,
    why_text,
)
from pollinet.wording.suits import caution_lines

LIBRARIES = ("numpy", "scipy", "networkx", "matplotlib")
"""Libraries whose versions could move a last digit."""

MOST_LIMBS = 40
"""Limbs of one fruit whose arrows and tables can still be read on paper: own convention."""

MOST_REASONS = 8
"""Reasons told of one limb under the answer; the table of limbs tells the first ones."""


def report_of(study: Study, *, from_catalogue: bool = False) -> Report:
    """The report on a garden.

    from_catalogue : choose among all catalogue varieties, not only the scions of the plan.
    """
    network, cover = study.cover(from_catalogue=from_catalogue)
    chosen = [network.nodes[i].variety for i in cover.added or cover.partial]
    limbs = limb_summaries(study)
    charts: dict[str, list[Chart]] = {}
    for chart in charts_of(study, wishes=Wishes(most_limbs=MOST_LIMBS, form=PAGE)):
        charts.setdefault(chart.name.split("-")[0], []).append(chart)
    pictures = {kind: tuple(map(Picture, drawn)) for kind, drawn in charts.items()}
    sections = (
        Section("answer", _("The answer"), tuple(_answer(study, network, cover))),
        Section(
            "add", _("What to add, and why"), tuple(_add(study, network, cover, from_catalogue))
        ),
        Section("bloom", _("When each limb blooms"), pictures.get("calendar", ())),
        Section("network", _("Who pollinates whom"), tuple(_network(study, pictures))),
        Section("limbs", _("Limb by limb"), tuple(_limbs(study, limbs, pictures))),
        Section("chill", _("Winter chill"), tuple(_chill(study, pictures))),
        Section("warming", _("If winters grow warmer"), tuple(_warming(study, pictures))),
        Section("harvest", _("Order of harvest"), pictures.get("harvest", ())),
        Section("risks", _("What could go wrong"), tuple(_risks(study, limbs))),
        Section(
            "work", _("The work of the year"), tuple(_work(study, scions_to_graft(network, cover)))
        ),
        Section("sources", _("What this rests on"), tuple(_sources(study, limbs, chosen))),
        Section("repeat", _("To repeat this report"), tuple(_repeat(study, from_catalogue))),
    )
    return Report(
        _("Pollination report: {site}").format(site=study.plan.site.name),
        weather_words(study.record, study.winters),
        tuple(section for section in sections if section.blocks),
    )


# --- answer and advice -----------------------------------------------------------------------


def _answer(study: Study, network: NetworkInput, cover: Cover) -> Iterator[Block]:
    aim = study.plan.aim
    yield Paragraph(garden_answer(study), strong=True)
    yield Paragraph(cover_answer(cover, network.nodes, aim.level), strong=True)
    nodes = study.network.nodes
    bare = [row for row in study.coverage if row.verdict == "lacking"]
    told = (f"{named(nodes[row.node])}: {why_text(row, nodes, MOST_REASONS)}." for row in bare)
    if bare:
        yield Bullets(tuple(told))
    yield Paragraph(donor_rule(aim, apart_fruits(study)))


def _add(
    study: Study, network: NetworkInput, cover: Cover, from_catalogue: bool
) -> Iterator[Block]:
    wanted = scions_wanted(study, network, cover)
    if wanted:
        yield Paragraph(scions_answer(wanted, cover), strong=True)
        rows = tuple(
            (s.variety.name, wood_text(s.at_hand), joined(s.trees, "or"), joined(s.serves))
            for s in wanted
        )
        headings = (_("Variety"), _("Wood"), _("Graft on"), _("Carries"))
        yield Grid(headings, rows, (3, 2, 3, 4))
        then = cover_rows(study.coverage, network, cover.added or cover.partial)
        yield Grid(tuple(map(_, COVER_HEADINGS)), then, (4, 4, 2, 2, 5))
    notes = [f"{miss_text(miss, network.nodes)}." for miss in cover.uncovered]
    candidates = [i for i, node in enumerate(network.nodes) if node.kind == "candidate"]
    passed = passed_over(
        study, network, lambda: cover_problem(network, candidates, study.spare_limbs())
    )
    notes += cover_notes(passed, network, cover)
    if cover.uncovered:
        found = concessions(study, network, candidates, CoverWishes(from_catalogue))
        would = _("It would work {how}.")
        notes += [would.format(how=concession.text) for concession in found]
    yield Bullets(tuple(notes))
    if wanted:
        yield Paragraph(_(CUTTING))
        yield Bullets(cautions())


# --- limbs -----------------------------------------------------------------------------------


def _network(study: Study, pictures: dict[str, tuple[Picture, ...]]) -> Iterator[Block]:
    yield from pictures.get("network", ())
    limbs = Counter(limb.variety.species for limb in study.plan.limbs)
    large = [_(fruit) for fruit, count in limbs.items() if count > MOST_LIMBS]
    if large:
        text = _(
            "{fruits}: the arrows and tables of more than {number} limbs cannot be read on paper; "
            "`pollinet chart` and `pollinet graph` write them."
        )
        yield Paragraph(text.format(fruits=joined(large), number=MOST_LIMBS))
    yield from pictures.get("winters", ())
    yield from pictures.get("tradeoff", ())


def _limbs(
    study: Study, limbs: tuple[LimbSummary, ...], pictures: dict[str, tuple[Picture, ...]]
) -> Iterator[Block]:
    _mark, *headings = limb_headings()
    rows = tuple(_limb_row(limb, study) for limb in attention_first(limbs))
    yield Grid(tuple(headings), rows, (12, 12, 12, 8, 8, 12, 16))
    yield Paragraph(f"{_(LEGEND)} {of_ten_note()}")
    notes = [*spring_note(spring_sd_days(study)), *hangs_notes(limbs),
             *weak_notes(limbs, study.network.nodes)]  # fmt: skip
    yield Bullets(tuple(notes))
    if look := looks_answer(garden_looks(study)):
        yield Paragraph(look)
    yield from pictures.get("matrix", ())
    yield from pictures.get("tree", ())


def _limb_row(limb: LimbSummary, study: Study) -> tuple[str, ...]:
    """The cells of `limb_cells`, with the mark before the limb: columns are few on paper."""
    mark, name, *cells = limb_cells(limb, study.network.nodes)
    return (f"{mark} {name}".strip(), *cells)


def _chill(study: Study, pictures: dict[str, tuple[Picture, ...]]) -> Iterator[Block]:
    if study.chill_supply is not None:
        yield Paragraph(chill_answer(limb_chill(study), study.plan.aim.level), strong=True)
        yield from pictures.get("chill", ())


def _warming(study: Study, pictures: dict[str, tuple[Picture, ...]]) -> Iterator[Block]:
    courses = warming_courses(study)
    if courses:
        yield Paragraph(warming_answer(courses, WARMER_C), strong=True)
        yield from pictures.get("warming", ())


# --- the work of the year --------------------------------------------------------------------


FIRST_DAY = date(NOMINAL_YEAR, 1, 1)
"""The work is told from January on, in a year without leap day: the same report on any day."""


def _work(study: Study, scions: Mapping[str, tuple[str, ...]]) -> Iterator[Block]:
    """What is done when in a usual year, why, and what to mind."""
    dates = limb_dates(study)
    found = year_of_work(dates, FIRST_DAY, scions)
    if not found:
        return
    yield Paragraph(_("Dates are those of usual bloom here, not a forecast: go by the tree."))
    rows = tuple((_when(task), _(task.title), _where(task, dates)) for task in found)
    yield Grid((_("When"), _("What"), _("Where")), rows, (3, 5, 5))
    yield Bullets(
        tuple(
            _("{work}: {reason}.").format(work=_(task.title), reason=_(task.reason))
            for task in {task.task: task for task in found}.values()
        )
    )
    cautions_by_name = {row["caution"]: row["text"] for row in advice_tables()["cautions"]}
    yield Bullets(tuple(_(text) for text in caution_lines(found, cautions_by_name)))


def _when(task: Task) -> str:
    first, last = (day_of_year(day.month, day.day) for day in (task.first, task.last))
    return date_range(first, last)


def _where(task: Task, dates: Sequence[LimbDates]) -> str:
    """The limbs of a task, the fruit alone where all are meant; of grafting, the scions."""
    if task.scions is not None:
        return f"{_(task.fruit)}: {joined(task.scions)}" if task.scions else _(task.fruit)
    limbs = tuple(limb.limb for limb in dates if limb.fruit == task.fruit)
    fruit = _(task.fruit)
    return fruit if task.limbs == limbs else f"{fruit}: {joined(task.limbs)}"


# --- risks and sources -----------------------------------------------------------------------


def _risks(study: Study, limbs: tuple[LimbSummary, ...]) -> Iterator[Block]:
    nodes, found = study.network.nodes, losses(study.network)
    yield Paragraph(losses_answer(found, study.coverage, nodes), strong=True)
    items = [
        _without(named(nodes[loss.node]), [nodes[i].id for i in loss.uncovered])
        for loss in found
        if loss.critical
    ]
    items += _without_neighbours(study)
    items += open_words(limbs)
    if items:
        yield Bullets(tuple(items))
    yield from _frost(study, limbs)


def _without(lost: str, limbs: list[str]) -> str:
    text = _("Without {lost}: {limbs} would lack a donor.")
    return text.format(lost=lost, limbs=joined(limbs))


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
        yield Paragraph(_("Springs with a night in bloom cold enough to kill flowers:"))
        headings = (_("Limb"), _("Variety"), _("Some (one flower in ten)"),
                    _("Most (nine in ten)"))  # fmt: skip
        yield Grid(headings, tuple(rows), (4, 4, 3, 3))
        yield Paragraph(
            _(
                "By the temperatures of the record; a frost hollow is some degrees colder, a limb "
                "in the warmth of a wall is not."
            )
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
        return [_("Without any of the trees next door, the same limbs are covered.")]
    text = _("Without any of the trees next door, {limbs} would lack a donor.")
    return [text.format(limbs=joined(lost))]


def _sources(
    study: Study, limbs: tuple[LimbSummary, ...], chosen: list[VarietyId]
) -> Iterator[Block]:
    yield Paragraph(weather_words(study.record, study.winters))
    words = {word for limb in limbs for word in limb.memory}
    memory = sorted(words.union(*(memory_words(study.known[name]) for name in chosen)))
    if memory:
        yield Paragraph(memory_text(memory), strong=True)
    rests = [
        (limb.node.id, limb.node.variety.name, told(limb.bloom.rests_on))
        for limb in limbs
        if limb.bloom is not None and limb.bloom.rests_on
    ]
    if rests:
        headings = (_("Limb"), _("Variety"), _("Its bloom dates come from"))
        yield Grid(headings, tuple(rests), (3, 3, 8))
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
    spoken = "" if chosen_language() == ENGLISH else f" --language {chosen_language()}"
    command = f"pollinet report {study.plan.file}{chosen}{spoken} --out FILE"
    yield Bullets(
        (
            _("Command: {command}").format(command=command),
            _("Seed {seed}, {draws}, {scenarios}.").format(
                seed=aim.seed,
                draws=ngettext("{number} draw", "{number} draws", aim.draws).format(
                    number=aim.draws
                ),
                scenarios=ngettext("{number} scenario", "{number} scenarios", scenarios).format(
                    number=scenarios
                ),
            ),
            f"Pollinet {__version__}, Python {platform.python_version()}, {versions}.",
        )
    )
    notes = tuple(finding_text(finding).replace("\n    ", " ") for finding in study.findings)
    if notes:
        yield Paragraph(_("What was noticed in the input:"))
        yield Bullets(notes)
