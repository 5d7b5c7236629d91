"""What the report says, section by section, the answer first; layout is left to the writers."""

from __future__ import annotations

import platform
from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass
from datetime import date
from functools import cached_property
from importlib.metadata import version
from typing import TypeAlias

from pollinet import __version__, strips
from pollinet.advice.harvest import HARVEST_SD_DAYS
from pollinet.advice.work import LimbDates, Task, undated_grafts
from pollinet.answers.check import check_of
from pollinet.answers.cover import Wishes as CoverWishes
from pollinet.answers.cover import concessions
from pollinet.answers.donors import look
from pollinet.catalogue_files import catalogue_digest
from pollinet.charts.album import Wishes, charts_of
from pollinet.charts.parties import MOST_PARTIES
from pollinet.charts.style import PAGE
from pollinet.charts.verdicts import ATTENTION
from pollinet.charts.warming import crossing, degrees_words, warming_answer
from pollinet.days import NOMINAL_YEAR
from pollinet.domain import NetworkInput, VarietyId
from pollinet.language import ENGLISH, _, date_range, joined, ngettext, number, short_date, told
from pollinet.language import chosen as chosen_language
from pollinet.network.cover import Cover
from pollinet.network.coverage import LimbCoverage, limb_coverage
from pollinet.network.problem import cover_problem
from pollinet.network.resilience import losses
from pollinet.phenology.frost import frost_nights
from pollinet.readers.frost import load_frost_limits
from pollinet.readers.names import names_together
from pollinet.report.blocks import Block, Bullets, Grid, Paragraph, Picture, Report, Section, Strip
from pollinet.study import WARMER_C, Study
from pollinet.summary.advice import garden_looks
from pollinet.summary.limbs import (
    LimbSummary,
    apart_fruits,
    limb_chill,
    limb_summaries,
    memory_words,
    spring_shifts,
)
from pollinet.summary.outlook import tradeoff_steps, warming_courses
from pollinet.summary.passed_over import passed_over
from pollinet.summary.scions import ScionWanted, scions_wanted
from pollinet.summary.spring import garden_spring
from pollinet.summary.suits import garden_pickings
from pollinet.summary.work import GardenDates, garden_dates, wood_to_graft, year_of_work
from pollinet.wording.check import (
    LEGEND,
    MARKS,
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
from pollinet.wording.cover import COVER_HEADINGS, cover_rows, set_notes
from pollinet.wording.look import looks_answer
from pollinet.wording.network import losses_answer, named
from pollinet.wording.scions import CUTTING, cautions, wood_text
from pollinet.wording.sentences import (
    chill_answer,
    cover_answer,
    donor_rule,
    finding_texts,
    memory_text,
    miss_text,
    of_ten,
    proof_text,
    tenths,
    weather_words,
    why_joined,
)
from pollinet.wording.work import (
    at_once,
    caution_lines,
    dates_line,
    reason_lines,
    rests_lines,
    room_lines,
    undated_lines,
    which_lines,
)

LIBRARIES = ("numpy", "scipy", "networkx", "matplotlib")
"""Libraries whose versions could move a last digit."""

DIGITS = 12
"""Digits of a digest that are told on paper: enough to tell two files apart. Own convention."""

MOST_REASONS = 4
"""Reasons told of one limb that lacks a donor, the nearest to one first."""

MOST_STRIPS = 6
"""Limbs that need something of which a page shows the donors one by one; the others are told."""

Blocks: TypeAlias = Iterator[Block]


@dataclass(frozen=True)
class _Asked:
    """What the sections are made from, each worked out once.

    paper : whether the pictures are drawn for A4; else they are strips that fit their width.
    """

    study: Study
    network: NetworkInput
    cover: Cover
    limbs: tuple[LimbSummary, ...]
    from_catalogue: bool
    paper: bool

    @property
    def chosen(self) -> list[int]:
        """What is to be grafted, by its place among the nodes."""
        return list(self.cover.added or self.cover.partial)

    @cached_property
    def wanted(self) -> tuple[ScionWanted, ...]:
        """The wood for that."""
        return scions_wanted(self.study, self.network, self.cover)

    @cached_property
    def dates(self) -> GardenDates:
        """Usual dates of the limbs."""
        return garden_dates(self.study)

    @cached_property
    def tasks(self) -> tuple[Task, ...]:
        """The work of a usual year."""
        return year_of_work(self.dates.limbs, FIRST_DAY, wood_to_graft(self.network, self.cover))

    @cached_property
    def needing(self) -> tuple[LimbSummary, ...]:
        """Limbs that lack a donor or are open, the worst first."""
        rows = [x for x in self.limbs if x.coverage and x.coverage.verdict in ATTENTION]
        return tuple(attention_first(rows))

    @property
    def lacking(self) -> list[LimbCoverage]:
        """The coverage of limbs that lack a donor."""
        rows = [limb.coverage for limb in self.needing]
        return [row for row in rows if row is not None and row.verdict == "lacking"]

    def pictures(self, kind: str) -> Blocks:
        """Charts of a kind, for paper; of many limbs those that need something."""
        wishes = Wishes(form=PAGE, needing=True)
        yield from map(Picture, charts_of(self.study, (kind,), wishes))


def report_of(study: Study, *, from_catalogue: bool = False, paper: bool = False) -> Report:
    """The report on a garden: the answer, the calendar and what to do first, its sources last.

    from_catalogue : choose among all catalogue varieties, not only the scions of the plan.
    paper : with pictures for A4; else with strips for a page of HTML.
    """
    network, cover = study.cover(from_catalogue=from_catalogue)
    asked = _Asked(study, network, cover, limb_summaries(study), from_catalogue, paper)
    sections = (
        Section("answer", _("The answer"), tuple(_answer(asked))),
        Section("do", _("What to do"), tuple(_do(asked))),
        Section("bloom", _("When each limb blooms"), tuple(_bloom(asked))),
        Section("add", _("What to add, and why"), tuple(_add(asked))),
        Section("network", _("Who pollinates whom"), tuple(_network(asked))),
        Section("limbs", _("Limb by limb"), tuple(_limbs(asked))),
        Section("risks", _("What could go wrong"), tuple(_risks(asked))),
        Section("chill", _("Winter chill"), tuple(_chill(asked))),
        Section("warming", _("If winters grow warmer"), tuple(_warming(asked))),
        Section("harvest", _("Order of harvest"), tuple(_harvest(asked))),
        Section("work", _("The work of the year"), tuple(_work(asked))),
        Section("sources", _("What this rests on"), tuple(_sources(asked))),
        Section("repeat", _("To repeat this report"), tuple(_repeat(asked))),
    )
    return Report(
        _("Pollination report: {site}").format(site=study.plan.site.name),
        weather_words(study.record, study.winters),
        tuple(section for section in sections if section.blocks),
    )


# --- the first page --------------------------------------------------------------------------


def _answer(asked: _Asked) -> Blocks:
    study = asked.study
    yield Paragraph(garden_answer(study, asked.limbs), strong=True)
    if asked.needing or asked.cover.status != "nothing to add":
        cover = cover_answer(asked.cover, asked.network.nodes, study.plan.aim.level)
        yield Paragraph(cover, strong=True)


def _do(asked: _Asked) -> Blocks:
    """What helps the limbs that need something: the wood, when to graft, what stands in until then.

    Nothing where none does.
    """
    lines = [_graft(asked, scion) for scion in asked.wanted]
    lacking = {asked.study.network.nodes[row.node].id for row in asked.lacking}
    first: dict[tuple[str, str], list[str]] = {}
    for task in asked.tasks:
        if task.scions is None and task.scope == "uncovered" and task.limbs[0] in lacking:
            first.setdefault((task.title, date_range(*task.days_of_year)), []).append(task.limbs[0])
    text = _("{when}: {work}, at {limbs}.")
    lines += [
        text.format(when=when, work=_(title), limbs=joined(limbs))
        for (title, when), limbs in first.items()
    ]
    dated = bool(lines)
    lines += open_words(asked.limbs)
    if lines:
        yield Bullets(tuple(lines))
    # The report is the same on any day, so its days can have no year.
    notes = [_("Days of a usual year.")] if dated else []
    if asked.wanted:
        text = _("Take clean wood that is yours to take, mind ladders and knives: see {section}.")
        notes.append(text.format(section=_("The work of the year")))
    if notes:
        yield Paragraph(" ".join(notes))


def _graft(asked: _Asked, scion: ScionWanted) -> str:
    """`Kordia (at hand): graft on cherry, it carries …; cut scions 8 Jan – 22 Feb; …`.

    The first two dates, to cut and to graft; the later ones stand in the work of the year.
    """
    dated = [
        _("{work}: {when}").format(work=_(task.title), when=date_range(*task.days_of_year))
        for task in asked.tasks
        if task.scions is not None and scion.variety.name in task.scions
        and task.fruit == scion.variety.species
    ]  # fmt: skip
    text = _("{variety} ({wood}): graft on {trees}; it carries {limbs}.")
    told = text.format(
        variety=scion.variety.name, wood=wood_text(scion.at_hand),
        trees=joined(scion.trees, "or"), limbs=joined(scion.serves),
    )  # fmt: skip
    return f"{told} {'; '.join(dated[:2])}".strip()


def _bloom(asked: _Asked) -> Blocks:
    if asked.paper:
        yield from asked.pictures("calendar")
    else:
        yield Strip(strips.calendar_strip(garden_spring(asked.study)))


# --- what to add -----------------------------------------------------------------------------


def _add(asked: _Asked) -> Blocks:
    study, network, cover = asked.study, asked.network, asked.cover
    if asked.wanted:
        rows = cover_rows(study.coverage, network, asked.chosen)
        changed = tuple(row for row in rows if row[2] != row[3])
        yield Grid(tuple(map(_, COVER_HEADINGS)), changed, (4, 4, 2, 2, 5))
        if len(changed) < len(rows):
            yield Paragraph(_("All other limbs stay as they are."))
    steps = tradeoff_steps(study) if len(asked.chosen) > 1 or cover.uncovered else ()
    if len(steps) > 1:
        told = tuple((step.label, of_ten(step.reliability)) for step in steps)
        yield Grid(
            (_("Scions"), _("The worst-off limb has a donor in (rounded down)")), told, (3, 2)
        )
    notes = [f"{miss_text(miss, network.nodes)}." for miss in cover.uncovered]
    candidates = [i for i, node in enumerate(network.nodes) if node.kind == "candidate"]
    passed = passed_over(
        study, network, lambda: cover_problem(network, candidates, study.spare_limbs())
    )
    notes += set_notes(passed, network, cover)
    if cover.uncovered:
        found = concessions(study, network, candidates, CoverWishes(asked.from_catalogue))
        would = _("It would work {how}.")
        notes += [would.format(how=concession.text) for concession in found]
    if notes:
        yield Bullets(tuple(notes))


# --- limbs -----------------------------------------------------------------------------------


def _network(asked: _Asked) -> Blocks:
    """On paper all that pollinates; on a page the limbs that need something, one by one."""
    if asked.paper:
        yield from asked.pictures("network")
        return
    shown = asked.needing[:MOST_STRIPS]
    for place, limb in enumerate(shown, start=1):
        looked = look(asked.study, asked.study.network.nodes.index(limb.node))
        spring = strips.limb_spring(asked.study, looked)
        yield Strip(strips.limb_strip(spring, legend=place == len(shown)))
    if len(asked.needing) > len(shown):
        more = ", ".join(limb.node.id for limb in asked.needing[MOST_STRIPS:])
        yield Paragraph(_("More limbs that need something: {limbs}.").format(limbs=more))


def _limbs(asked: _Asked) -> Blocks:
    study, limbs, nodes = asked.study, asked.limbs, asked.study.network.nodes
    _mark, *headings, _why = limb_headings()
    rows = tuple(_limb_row(limb, study) for limb in attention_first(limbs))
    yield Grid(tuple(headings), rows, (12, 12, 12, 8, 8, 14))
    yield Paragraph(f"{_(LEGEND)} {of_ten_note()}")
    notes = [
        f"{named(nodes[row.node])}: {why_joined(row, nodes, MOST_REASONS)}."
        for row in asked.lacking
    ]
    notes += spring_note(spring_shifts(study))
    likely = [x for x in limbs if x.coverage is not None and x.coverage.verdict != "open"]
    notes += [*hangs_notes(likely), *weak_notes(limbs, nodes)]
    if notes:
        yield Bullets(tuple(notes))
    if look_words := looks_answer(garden_looks(study)):
        yield Paragraph(look_words)
    if asked.needing:
        if asked.paper:
            yield from asked.pictures("winters")
        else:
            ids = [limb.node.id for limb in asked.needing]
            yield Strip(strips.winters_strip(check_of(study, limbs=limbs), limbs=ids))
    if asked.paper:
        yield from asked.pictures("tree")


def _limb_row(limb: LimbSummary, study: Study) -> tuple[str, ...]:
    """The cells of `limb_cells`, with the mark before the limb: columns are few on paper."""
    mark, name, *cells, _why = limb_cells(limb, study.network.nodes)
    return (f"{mark} {name}".strip(), *cells)


def _chill(asked: _Asked) -> Blocks:
    """In a sentence; where some have too little, in a picture too."""
    study = asked.study
    if study.chill_supply is None:
        return
    found = limb_chill(study)
    yield Paragraph(chill_answer(found, study.plan.aim.level), strong=True)
    if not any(limb.short for limb in found):
        return
    if asked.paper:
        yield from asked.pictures("chill")
        return
    short = {limb.node.variety: limb for limb in found if limb.enough is not None}
    yield Strip(
        strips.chill_strip([
            strips.Tenths(name.name, limb.enough or 0.0, bool(limb.short))
            for name, limb in sorted(short.items())
        ])
    )  # fmt: skip


def _warming(asked: _Asked) -> Blocks:
    """In a sentence, and in a table those that do not stay as they are."""
    courses = warming_courses(asked.study)
    if not courses:
        return
    yield Paragraph(warming_answer(courses, WARMER_C), strong=True)
    rows = tuple(
        (course.label, *(f"{MARKS[verdict]} {tenths(share)}"
                         for verdict, share in zip(course.verdicts, course.shares, strict=True)))
        for course in crossing(courses)
    )  # fmt: skip
    if rows:
        yield Paragraph(_("Winters of ten with a donor, by how much warmer all winters are:"))
        headings = (_("Limb"), *(degrees_words(step) for step in WARMER_C))
        yield Grid(headings, rows, (3, *(1 for _step in WARMER_C)))


def _harvest(asked: _Asked) -> Blocks:
    pickings = garden_pickings(asked.study)
    if not pickings:
        return
    if not asked.paper:
        yield Strip(strips.harvest_strip(pickings, HARVEST_SD_DAYS))
    elif len(pickings) <= MOST_PARTIES:
        yield from asked.pictures("harvest")
    else:
        days: dict[str, list[str]] = {}
        for one in pickings:
            day = _("not known") if one.day is None else short_date(round(one.day))
            days.setdefault(day, []).append(one.label)
        headings = (_("First picked"), _("Variety and limbs"))
        yield Grid(headings, tuple((day, ", ".join(ones)) for day, ones in days.items()), (2, 9))
        text = _("Any date may be off by ± {days} days.")
        yield Paragraph(text.format(days=number(HARVEST_SD_DAYS)))


# --- the work of the year --------------------------------------------------------------------


FIRST_DAY = date(NOMINAL_YEAR, 1, 1)
"""The work is told from January on, in a year without leap day: the same report on any day."""


def _work(asked: _Asked) -> Blocks:
    """What is done when in a usual year, why, and what to mind."""
    shown = at_once(asked.tasks)
    mind = caution_lines(asked.tasks)
    if shown:
        coming = _("Those of the coming twelve months, with the year: `pollinet work`.")
        yield Paragraph(f"{dates_line(asked.tasks)} {coming}")
        rows = tuple(
            (date_range(*one.days_of_year), _(one.title), _where(alike, asked.dates.limbs))
            for one, alike in ((alike[0], alike) for alike in shown)
        )
        yield Grid((_("When"), _("What"), _("Where")), rows, (3, 5, 5))
        yield Bullets(tuple(reason_lines(asked.tasks)))
    notes = [
        *which_lines(asked.tasks),
        *room_lines(asked.tasks),
        *rests_lines(asked.tasks, asked.dates.undated),
        *undated_lines(undated_grafts(asked.dates.limbs)),
    ]
    if notes:
        yield Bullets(tuple(notes))
    if asked.wanted:
        fruits = {one.variety.species for one in asked.wanted}
        yield Paragraph(_(CUTTING))
        mind += [text for text in cautions(fruits) if text not in mind]
    if mind:
        yield Bullets(tuple(mind))


def _where(tasks: Sequence[Task], dates: Sequence[LimbDates]) -> str:
    """The limbs of the same tasks, the fruit alone where all are meant; of grafting, the scions."""
    task = tasks[0]
    if task.scions is not None:
        return f"{_(task.fruit)}: {joined(task.scions)}" if task.scions else _(task.fruit)
    limbs = tuple(limb.limb for limb in dates if limb.fruit == task.fruit)
    fruit, meant = _(task.fruit), tuple(limb for task in tasks for limb in task.limbs)
    where = fruit if meant == limbs else f"{fruit}: {joined(meant)}"
    if task.donors:
        text = _("{where}, with {donors}")
        return text.format(where=where, donors=joined(task.donors, "or"))
    return where


# --- risks and sources -----------------------------------------------------------------------


def _risks(asked: _Asked) -> Blocks:
    study = asked.study
    nodes, found = study.network.nodes, losses(study.network)
    yield Paragraph(losses_answer(found, study.coverage, nodes), strong=True)
    critical = [loss for loss in found if loss.critical]
    # One that is critical is told in the answer.
    items = [
        _without(named(nodes[loss.node]), [nodes[i].id for i in loss.uncovered])
        for loss in critical
        if len(critical) > 1
    ]
    items += _without_neighbours(study)
    if items:
        yield Bullets(tuple(items))
    yield from _frost(study, asked.limbs)


def _without(lost: str, limbs: list[str]) -> str:
    text = _("Without {lost}: {limbs} would lack a donor.")
    return text.format(lost=lost, limbs=joined(limbs))


def _frost(study: Study, limbs: tuple[LimbSummary, ...]) -> Blocks:
    """Shares of springs with a night in bloom that kills flowers; limbs alike in one row."""
    if study.winters is None:
        return
    nights = frost_nights(study.bloom, study.winters, load_frost_limits())
    alike: dict[str, dict[tuple[str, ...], list[str]]] = {}
    for limb in limbs:
        shares = nights.shares(study.bloom.varieties.index(limb.node.variety))
        if shares is not None:
            told_alike = alike.setdefault(_(limb.node.variety.species), {})
            told_alike.setdefault(tuple(map(of_ten, shares)), []).append(limb.node.id)
    if alike:
        yield Paragraph(_("Springs with a night in bloom cold enough to kill flowers:"))
        headings = (_("Fruit"), _("Limbs"), _("Some (one flower in ten)"), _("Most (nine in ten)"))
        rows = tuple(
            (fruit, ids, *shares) for fruit, found in alike.items()
            for ids, shares in _some_and_others(found)
        )  # fmt: skip
        yield Grid(headings, rows, (3, 7, 3, 3))
        yield Paragraph(
            _(
                "By the temperatures of the record; a frost hollow is some degrees colder, a limb "
                "in the warmth of a wall is not."
            )
        )


def _some_and_others(
    alike: Mapping[tuple[str, ...], list[str]],
) -> Iterator[tuple[str, tuple[str, ...]]]:
    """Names of limbs with what is told of them; the most that are alike are all others."""
    most = max(alike, key=lambda told_alike: len(alike[told_alike]))
    yield from ((", ".join(ids), told_alike) for told_alike, ids in alike.items()
                if told_alike != most)  # fmt: skip
    ids, many = alike[most], len(alike) > 1
    yield _("all others") if many and len(ids) > 1 else ids[0] if many else _("all limbs"), most


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


def _sources(asked: _Asked) -> Blocks:
    """How donors are counted, what rests on recall, and where all dates and values come from."""
    study = asked.study
    chosen = [asked.network.nodes[place].variety for place in asked.chosen]
    yield Paragraph(donor_rule(study.plan.aim, apart_fruits(study)))
    yield Paragraph(weather_words(study.record, study.winters))
    words = {word for limb in asked.limbs for word in limb.memory}
    memory = sorted(words.union(*(memory_words(study.known[name]) for name in chosen)))
    if memory:
        yield Paragraph(memory_text(memory), strong=True)
    rests: dict[str, dict[str, None]] = {}
    for limb in asked.limbs:
        if limb.bloom is not None and limb.bloom.rests_on:
            rests.setdefault(told(limb.bloom.rests_on), {})[limb.node.variety.name] = None
    if rests:
        headings = (_("Its bloom dates come from"), _("Varieties"))
        one = len(rests) == 1
        rows = tuple((source, _("all varieties") if one else ", ".join(names))
                     for source, names in rests.items())  # fmt: skip
        yield Grid(headings, rows, (6, 8))
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


def _repeat(asked: _Asked) -> Blocks:
    study = asked.study
    aim, scenarios = study.plan.aim, study.network.open_start_h.shape[1]
    chosen = " --from catalogue" if asked.from_catalogue else ""
    versions = ", ".join(f"{name} {version(name)}" for name in LIBRARIES)
    spoken = "" if chosen_language() == ENGLISH else f" --language {chosen_language()}"
    command = f"pollinet report {study.plan.file}{chosen}{spoken} --out FILE"
    yield Bullets(
        (
            proof_text(asked.cover, asked.network.nodes),
            _("Command: {command}").format(command=f"`{command}`"),
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
            *_digests(study),
        )
    )
    notes = tuple(
        text.replace("\n    ", " ") for text in finding_texts(names_together(study.findings))
    )
    if notes:
        yield Paragraph(_("What was noticed in the input:"))
        yield Bullets(notes)


def _digests(study: Study) -> Iterator[str]:
    """What the report is made from, each file with the first digits of its SHA-256."""
    if not study.inputs:
        # It is one of a garden that is only tried.
        return
    told = [f"{one.file} {one.sha256[:DIGITS]}" for one in study.inputs]
    line = _("Made from {files} and the catalogue {digest} (first digits of SHA-256).")
    yield line.format(files=", ".join(told), digest=catalogue_digest()[:DIGITS])
