"""All charts of a study: what is handed to each, its title and its description."""

from __future__ import annotations

from collections.abc import Callable, Collection, Iterator, Mapping, Sequence
from dataclasses import dataclass
from typing import TYPE_CHECKING

from pollinet.advice.harvest import HARVEST_SD_DAYS
from pollinet.charts.calendar import calendar_sheets, draw_calendar
from pollinet.charts.chill import ChillNeed, chill_description, draw_chill
from pollinet.charts.harvest import BAR_IN as HARVEST_IN
from pollinet.charts.harvest import draw_harvest, harvest_description
from pollinet.charts.matrix import draw_matrix, matrices, matrix_description
from pollinet.charts.network import draw_network, network_description
from pollinet.charts.parties import MOST_PARTIES, receivers_of
from pollinet.charts.style import SCREEN, Form, sheets
from pollinet.charts.tradeoff import draw_tradeoff, tradeoff_description
from pollinet.charts.treeplan import Grown, draw_tree, place_of, tree_description
from pollinet.charts.verdicts import ATTENTION
from pollinet.charts.warming import BAR_IN as WARMING_IN
from pollinet.charts.warming import crossing, draw_warming, warming_description
from pollinet.charts.winters import CELL_IN as WINTER_IN
from pollinet.charts.winters import draw_winters, winters_description
from pollinet.domain import Limb, Tree, VarietyId
from pollinet.files import file_stem, file_stems
from pollinet.language import N_, _
from pollinet.network.coverage import coverage_by_winter
from pollinet.study import WARMER_C, Study
from pollinet.summary.limbs import (
    bloom_order,
    limb_chill,
    name_beside,
    tree_name,
)
from pollinet.summary.outlook import cover_steps, tradeoff_steps, warming_courses
from pollinet.summary.spring import against_limb, garden_spring, own_marks, winter_spring
from pollinet.summary.suits import garden_pickings
from pollinet.wording.calendar import calendar_description
from pollinet.wording.check import marked
from pollinet.wording.sentences import donor_place

if TYPE_CHECKING:
    from matplotlib.axes import Axes
    from matplotlib.figure import Figure


MOST_TREES = 2
"""With more trees than these, those alone are drawn that need something, where that is wished."""


@dataclass(frozen=True, eq=False)
class Chart:
    """One finished chart. name : stem of its file."""

    name: str
    title: str
    figure: Figure
    description: str


@dataclass(frozen=True)
class Wishes:
    """What is to be shown otherwise than by default.

    winter : one winter in the calendar, in place of all.
    against : limb; the calendar shows what the others share with it.
    whole : the calendar on one sheet, however high.
    form : what the pictures are drawn for.
    needing : winter by winter those limbs alone that need something; of many limbs and of many
        trees those pictures alone that show one.
    """

    winter: int | None = None
    against: str | None = None
    whole: bool = False
    form: Form = SCREEN
    needing: bool = False


def charts_of(
    study: Study, kinds: Collection[str] | None = None, wishes: Wishes | None = None
) -> Iterator[Chart]:
    """Draw the charts of these kinds (default: all) that the study has something for."""
    for kind, draw in KINDS.items():
        if (kinds is None or kind in kinds) and not why_missing(study, kind):
            yield from draw(study, wishes or Wishes())


def _chart(name: str, title: str, axes: Axes, description: str) -> Chart:
    figure = axes.get_figure(root=True)
    assert figure is not None
    return Chart(name, title, figure, description)


def titled(study: Study, text: str) -> str:
    """A chart's title: what it shows, where, and whether its winters are made up."""
    title = _("{what}, {site} (generated winters)") if _is_generated(study) else "{what}, {site}"
    return title.format(what=text, site=study.plan.site.name)


def _fruits(study: Study) -> list[str]:
    """Fruits of the trees."""
    return list(dict.fromkeys(limb.variety.species for limb in study.plan.limbs))


# --- one maker a kind ------------------------------------------------------------------------


def _calendar(study: Study, wishes: Wishes) -> Iterator[Chart]:
    name, text = "calendar", _("Bloom calendar")
    if wishes.winter is None:
        spring = garden_spring(study)
    else:
        single = winter_spring(study, wishes.winter)
        if single is None:
            return
        spring = single
        text = _("Bloom in {year}").format(year=wishes.winter)
        name = f"calendar-{wishes.winter}"
    rows, against, parts = spring.rows, None, [slice(None)]
    if wishes.against is not None:
        against = against_limb(rows, wishes.against)
        text = _("{calendar} against {limb}").format(calendar=text, limb=wishes.against)
        name = f"{name}-{file_stem(wishes.against)}"
    elif not wishes.whole:
        parts = calendar_sheets(rows, wishes.form, spring.shifts, len(spring.days))
    for part, sheet in _sheets(name, text, parts):
        title, shown = titled(study, sheet.title), rows[part]
        axes = draw_calendar(
            shown, spring.start, title=title, winter=wishes.winter is not None, against=against,
            marks=own_marks(study, shown, wishes.winter), strips=spring.days,
            shifts=spring.shifts, form=wishes.form,
        )  # fmt: skip
        told = calendar_description(shown, spring.start, spring.shifts)
        yield _chart(sheet.name, title, axes, told)


def garden_calendar(study: Study, *, ax: Axes | None = None) -> Axes:
    """Draw the calendar of a study on one sheet, on `ax` or on new axes."""
    spring = garden_spring(study)
    return draw_calendar(
        spring.rows, spring.start, title=titled(study, _("Bloom calendar")), marks=spring.marks,
        strips=spring.days, shifts=spring.shifts, ax=ax,
    )  # fmt: skip


@dataclass(frozen=True)
class _Sheet:
    """One of several charts that are one."""

    name: str
    title: str


def _sheets(name: str, title: str, parts: Sequence[slice]) -> Iterator[tuple[slice, _Sheet]]:
    """Each part with the name and title of its chart; numbered where there are several."""
    if len(parts) == 1:
        yield parts[0], _Sheet(name, title)
        return
    text = _("{title}, sheet {number} of {all}")
    for number, part in enumerate(parts, start=1):
        told = text.format(title=title, number=number, all=len(parts))
        yield part, _Sheet(f"{name}-{number}", told)


def _network(study: Study, wishes: Wishes) -> Iterator[Chart]:
    network, coverage, order = study.network, study.coverage, bloom_order(study)
    for fruit in _fruits(study):
        receivers = receivers_of(network, coverage, fruit, order)
        if wishes.needing and len(receivers) > MOST_PARTIES and not any(r.needs for r in receivers):
            continue
        title = titled(study, _("Who pollinates whom: {fruit}").format(fruit=_(fruit)))
        axes = draw_network(network, coverage, order, species=fruit, title=title, form=wishes.form)
        told = network_description(network, coverage, fruit)
        yield _chart(f"network-{file_stem(fruit)}", title, axes, told)


def _matrix(study: Study, wishes: Wishes) -> Iterator[Chart]:
    network, coverage, order = study.network, study.coverage, bloom_order(study)
    for fruit in _fruits(study):
        tables = matrices(network, coverage, order, fruit, wishes.form)
        for number, table in enumerate(tables, start=1):
            text = _("Pollen given and received: {fruit}")
            if len(tables) > 1:
                text = _("Pollen given and received: {fruit}, table {number} of {all}")
            told = text.format(fruit=_(fruit), number=number, all=len(tables))
            title = titled(study, told)
            axes = draw_matrix(network, coverage, table, title=title, form=wishes.form)
            name = f"matrix-{file_stem(fruit)}" + (f"-{number}" if len(tables) > 1 else "")
            told = matrix_description(network, coverage, table)
            yield _chart(name, title, axes, told)


def _chill(study: Study, wishes: Wishes) -> Iterator[Chart]:
    if study.chill_supply is None:
        return
    supply, years = study.chill_supply.portions, _dated(study)
    limbs = {limb.node.variety: limb for limb in limb_chill(study)}
    needs = [
        ChillNeed(
            f"{name.name} ({_(name.species)})",
            limb.needs,
            limb.sd or 0.0,
            limb.enough,
            bool(limb.short),
        )
        for name, limb in sorted(limbs.items())
    ]
    title = titled(study, _("Winter chill"))
    axes = draw_chill(years, supply, needs, title=title, form=wishes.form)
    yield _chart("chill", title, axes, chill_description(years, supply, needs))


def _is_generated(study: Study) -> bool:
    return study.record is not None and study.record.generated


def _dated(study: Study) -> list[str]:
    """The year of each winter; nothing for winters that are made up."""
    supply = study.chill_supply
    years = () if supply is None else supply.harvest_years
    return ["" if _is_generated(study) else str(year) for year in years]


def _springs(study: Study, count: int) -> list[str]:
    """What each winter is called: by its year, those that are made up or typed by numbers."""
    if study.winters is not None and not _is_generated(study):
        return [str(year) for year in study.winters.harvest_years]
    return [str(number) for number in range(1, count + 1)]


def _winters(study: Study, wishes: Wishes) -> Iterator[Chart]:
    nodes, shares = coverage_by_winter(study.network)
    if not nodes:
        return
    network, order = study.network, bloom_order(study)
    fruits = dict.fromkeys(network.nodes[node].variety.species for node in nodes)
    rows = [row for fruit in fruits
            for row in receivers_of(network, study.coverage, fruit, order)
            if row.needs or not wishes.needing]  # fmt: skip
    if not rows:
        return
    rows.sort(key=lambda row: (not row.needs, row.row.reliability))
    shares = shares[[nodes.index(row.row.node) for row in rows]]
    steps = cover_steps(shares, study.plan.aim.level)
    labels, verdicts = [row.label for row in rows], [row.row.verdict for row in rows]
    springs = _springs(study, shares.shape[1])
    text = _("Which limb has a donor in which winter")
    for part, sheet in _sheets("winters", text, sheets(marked(labels, verdicts), WINTER_IN,
                                                       wishes.form)):  # fmt: skip
        title, shown = titled(study, sheet.title), (labels[part], springs, shares[part])
        axes = draw_winters(
            *shown, steps[part], title=title, verdicts=verdicts[part], form=wishes.form
        )
        yield _chart(sheet.name, title, axes, winters_description(*shown, verdicts[part]))


def _warming(study: Study, wishes: Wishes) -> Iterator[Chart]:
    courses, level = warming_courses(study), study.plan.aim.level
    if not courses:
        return
    rows = crossing(courses)
    steady = [course for course in courses if course not in rows]
    text, labels = _("Donors when winters grow warmer"), [course.label for course in rows]
    parts = sheets(labels, WARMING_IN, wishes.form) if rows else [slice(None)]
    for part, sheet in _sheets("warming", text, parts):
        title, shown = titled(study, sheet.title), rows[part]
        axes = draw_warming(shown, WARMER_C, level, title=title, steady=steady, form=wishes.form)
        told = warming_description([*shown, *steady], WARMER_C)
        yield _chart(sheet.name, title, axes, told)


def _tradeoff(study: Study, wishes: Wishes) -> Iterator[Chart]:
    steps = tradeoff_steps(study)
    if not steps:
        return
    title = titled(study, _("What grafting more scions buys"))
    level = study.plan.aim.level
    axes = draw_tradeoff(steps, level, title=title, form=wishes.form)
    yield _chart("tradeoff", title, axes, tradeoff_description(steps, level))


def _harvest(study: Study, wishes: Wishes) -> Iterator[Chart]:
    pickings = garden_pickings(study)
    if not pickings:
        return
    parts = sheets([picking.label for picking in pickings], HARVEST_IN, wishes.form)
    for part, sheet in _sheets("harvest", _("Order of harvest, estimated"), parts):
        title, shown = titled(study, sheet.title), pickings[part]
        axes = draw_harvest(shown, HARVEST_SD_DAYS, title=title, form=wishes.form)
        yield _chart(sheet.name, title, axes, harvest_description(shown))


def _tree(study: Study, wishes: Wishes) -> Iterator[Chart]:
    stems = file_stems(tree.id for tree in study.plan.trees)
    for tree, stem in zip(study.plan.trees, stems, strict=True):
        limbs = [_grown(study, limb, tree.id) for limb in tree.limbs]
        needs = any(limb.kind in ATTENTION for limb in limbs)
        if wishes.needing and len(study.plan.trees) > MOST_TREES and not needs:
            continue
        if not _tells_places(tree):
            continue
        name = tree_name(tree.id, VarietyId(tree.species, ""))
        text = _("Seen from above: {tree}, {site}")
        title = text.format(tree=name, site=study.plan.site.name)
        axes = draw_tree(limbs, title=title, form=wishes.form)
        yield _chart(f"tree-{stem}", title, axes, tree_description(limbs))


def _tells_places(tree: Tree) -> bool:
    """Whether the name of some limb tells where on the tree it grows."""
    places = [place_of(limb.id) for limb in tree.limbs]
    return any(place is not None and place.bearing is not None for place in places)


def _grown(study: Study, limb: Limb, tree: str) -> Grown:
    """A limb with its verdict and its best donor."""
    nodes = study.network.nodes
    rows = {nodes[row.node].id: row for row in study.coverage}
    row, name = rows.get(limb.id), name_beside(limb.variety.name, [limb.id])
    if row is None:
        return Grown(limb.id, name, "need not crop")
    if not row.donors:
        return Grown(limb.id, name, row.verdict)
    donor = nodes[row.donors[0].node]
    if donor.id == limb.id:
        return Grown(limb.id, name, row.verdict, _("itself"))
    within = donor.id if donor.tree == tree else None
    return Grown(limb.id, name, row.verdict, donor_place(donor, nodes[row.node]), within)


KINDS: Mapping[str, Callable[[Study, Wishes], Iterator[Chart]]] = {
    "calendar": _calendar,
    "network": _network,
    "matrix": _matrix,
    "winters": _winters,
    "warming": _warming,
    "tradeoff": _tradeoff,
    "chill": _chill,
    "harvest": _harvest,
    "tree": _tree,
}
"""Every kind of chart, in the order of the questions they answer."""

NO_WEATHER = N_("the bloom dates are typed, without weather")
_MISSING: Mapping[str, tuple[Callable[[Study], bool], str]] = {
    "warming": (lambda study: study.winters is None, NO_WEATHER),
    "chill": (lambda study: study.winters is None, NO_WEATHER),
    "tradeoff": (
        lambda study: not study.free_scions(),
        N_("the plan names no scion that may be grafted"),
    ),
    "harvest": (
        lambda study: not garden_pickings(study),
        N_("nobody has published when these varieties ripen"),
    ),
    "tree": (
        lambda study: not any(map(_tells_places, study.plan.trees)),
        N_("the names of the limbs do not tell where they grow, as A-low-south does"),
    ),
}
"""Of some kinds: whether a study has nothing for them, and why."""

NOTHING = N_("there is nothing to draw yet")


def why_missing(study: Study, kind: str) -> str:
    """Why a study has nothing for a chart of this kind, without drawing it; else nothing."""
    if kind not in _MISSING:
        return ""
    lacks, why = _MISSING[kind]
    return _(why) if lacks(study) else ""
