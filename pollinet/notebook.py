"""The Python interface: a garden that is opened once and asked many questions.

    import pollinet

    garden = pollinet.open("plan.toml")
    garden.check().to_frame()
    garden.with_limb("C-mid", variety="Kordia").check()

Every question gives a typed answer of `pollinet.answers`; a changed garden is a new one that shares
with the old all that does not hang on the change.

In a notebook a garden and `bloom()` show the bloom calendar, `check()` the winters of ten of each
limb, `donors()` the limb's bloom with all that might serve it; all other answers show their rows.
These pictures are the strips of the report and the page, each with its own style, without script.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import date
from pathlib import Path
from typing import TYPE_CHECKING, Literal

from pollinet.errors import BadPlan, BadQuestion
from pollinet.findings import Finding, has_errors
from pollinet.study import KEPT, Kept, Study, open_study

if TYPE_CHECKING:
    import networkx as nx
    import pandas as pd
    from matplotlib.axes import Axes

    from pollinet.answers.balance import Balance
    from pollinet.answers.bloom import BloomByWinter
    from pollinet.answers.check import Check
    from pollinet.answers.chill import Chill
    from pollinet.answers.collection import Collection
    from pollinet.answers.cover import Cover
    from pollinet.answers.cross import Cross
    from pollinet.answers.diagnose import Diagnose
    from pollinet.answers.donors import Donors, Looked
    from pollinet.answers.pollinizer import Pollinizer
    from pollinet.answers.season import Season
    from pollinet.answers.suits import Suits
    from pollinet.answers.triploids import Triploids
    from pollinet.answers.without import Without, WithoutEach
    from pollinet.answers.work import Work


def open_garden(
    plan: str | Path, *, weather: str | Path | None = None, warmer_c: float = 0.0
) -> Garden:
    """Open a plan file with all that it names.

    Parameters
    ----------
    plan : the plan file.
    weather : a weather file to use in place of the plan's own.
    warmer_c : how much warmer every hour of every winter is to be. [°C]

    Raises
    ------
    BadPlan : where something in the plan, or in a file that it names, must be put right; it
        carries all findings and shows them.
    """
    opened = open_study(Path(plan), weather=None if weather is None else Path(weather))
    if opened.study is None or has_errors(opened.findings):
        raise BadPlan(opened.findings)
    garden = Garden(opened.study)
    return garden.warmer(warmer_c) if warmer_c else garden


def cross(fruit: str, donor: str, receiver: str) -> Cross:
    """May one variety's pollen serve another's flowers, and the other way round?

    fruit : kind of fruit, by any of its names. Raises `BadQuestion` for names nobody knows.
    """
    from pollinet.answers.cross import cross_of, verdicts_between
    from pollinet.summary.varieties import find_varieties

    catalogue, ids, findings = find_varieties((donor, receiver), fruit)
    if len(ids) < 2 or has_errors(findings):
        raise BadQuestion(findings)
    return cross_of(verdicts_between(ids, catalogue), catalogue, findings)


def collection(folder: str | Path, *, from_catalogue: bool = False) -> Collection:
    """Many gardens at once: who has pollen from whom across fences, and one set for all.

    folder : holds a plan for each garden, or a folder with one.
    from_catalogue : whether any variety may be grafted; else those whose wood a garden has.

    Raises
    ------
    BadPlan : no plan of the folder can be used; plans with errors beside good ones are left out.
    """
    from pollinet.answers.collection import collection_facts, collection_of
    from pollinet.study.collection import open_collection

    opened = open_collection(Path(folder))
    if not opened.groups:
        raise BadPlan(opened.findings)
    facts = collection_facts(opened, from_catalogue=from_catalogue)
    return collection_of(opened, facts, Path(folder))


def varieties(fruit: str, *, where: Sequence[str] = ()) -> pd.DataFrame:
    """The varieties of a fruit, one row each, with what is known of them.

    where : conditions as of `pollinet varieties --where`. Raises `BadQuestion`.
    """
    from pollinet.answers.varieties import varieties_of
    from pollinet.summary.varieties import search

    found = search(fruit, where)
    if has_errors(found.findings):
        raise BadQuestion(found.findings)
    return varieties_of(found, where).to_frame()


@dataclass(frozen=True, repr=False)
class Garden:
    """A plan with all that follows from it. `study` : the stages behind the answers."""

    study: Study

    @property
    def findings(self) -> tuple[Finding, ...]:
        """What is doubtful in the plan and the files that it names, worst first."""
        return self.study.findings

    def __repr__(self) -> str:
        plan = self.study.plan
        warmer = f", {self.study.warmer_c:+g} °C" if self.study.warmer_c else ""
        trees, limbs = len(plan.trees), len(plan.limbs)
        return f"<Garden: {plan.site.name}, trees: {trees}, limbs: {limbs}{warmer}>"

    def _repr_html_(self) -> str:
        from html import escape

        return f"<p>{escape(repr(self))}</p>{self._calendar_html()}"

    def _calendar_html(self) -> str:
        from pollinet.strips import calendar_strip
        from pollinet.summary.spring import garden_spring

        return _alone(calendar_strip(garden_spring(self.study)))

    # --- questions ---

    def check(self, *, warmer_c: float = 0.0) -> Check:
        """The verdict for every limb; `warmer_c`: told for a warmer climate as well. [°C]"""
        from pollinet.answers.check import check_of

        told = check_of(self.study, self._outlook(warmer_c))
        return told.with_picture(lambda: _winters_html(told))

    def cover(
        self,
        *,
        from_catalogue: bool = False,
        must: Sequence[str] = (),
        never: Sequence[str] = (),
        pollen_only: Sequence[str] = (),
        survive_loss: bool = False,
        sure: bool = False,
        add: int | None = None,
        donors: int | None = None,
        level: float | None = None,
        min_overlap_days: float | None = None,
        prefer: Literal["fewest", "at-hand"] = "fewest",
        off_years: bool | None = None,
        trade_off: bool = False,
        time_limit_s: float | None = 20.0,
    ) -> Cover:
        """The smallest set of varieties to graft so that every limb has a viable donor.

        The wishes are those of `pollinet cover`; a name that is no candidate raises `BadQuestion`.

        add : tell also the best so many varieties to add.
        prefer : what comes first, as few varieties or as few to order as possible.
        time_limit_s : of each search; None: as long as it takes. [s]
        """
        from pollinet.answers.cover import Wishes, cover_of, searched, traded, with_aim

        aims = {"donors": donors, "level": level, "min_overlap_days": min_overlap_days}
        study = with_aim(self.study, off_years=off_years, **aims)
        wishes = Wishes(
            from_catalogue=from_catalogue,
            must=tuple(must),
            never=tuple(never),
            pollen_only=tuple(pollen_only),
            survive=survive_loss,
            sure=sure,
            add=add,
            prefer=prefer,
            time_limit_s=time_limit_s,
        )
        found = searched(study, wishes)
        trade = traded(study, found, wishes) if trade_off else None
        return cover_of(study, found, wishes, trade=trade)

    def donors(self, limb: str, *, from_catalogue: bool = False) -> Donors:
        """All donors of one limb, present and possible; raises `BadQuestion`."""
        from pollinet.answers.donors import donors_of, look
        from pollinet.summary.named import limb_named

        found, problems = limb_named(self.study, limb)
        _raise(problems)
        looked = look(self.study, found[0], from_catalogue=from_catalogue)
        told = donors_of(self.study, looked)
        return told.with_picture(lambda: _limb_html(self.study, looked))

    def diagnose(self, limb: str, *, year: int | None = None) -> Diagnose:
        """Why a limb does not crop; raises `BadQuestion`.

        year : of bloom; None: the last one noted of the limb, else the last of a measured record.
        """
        from pollinet.answers.diagnose import diagnose_of, look_at_limb
        from pollinet.summary.named import limb_named

        found, problems = limb_named(self.study, limb)
        _raise(problems)
        return diagnose_of(self.study, look_at_limb(self.study, found[0], year))

    def balance(self) -> Balance:
        """Which limbs grow away from the others, and how even the trees look in spring."""
        from pollinet.answers.balance import balance_of
        from pollinet.days import coming_spring
        from pollinet.summary.advice import garden_looks

        year = coming_spring(self.study.plan.site.latitude, date.today())
        return balance_of(self.study, garden_looks(self.study), year)

    def without(self, *names: str, from_catalogue: bool = False) -> Without | WithoutEach:
        """The plan after a loss; without a name the loss of each limb and neighbour in turn.

        A tree's id stands for all its limbs. Raises `BadQuestion`.
        """
        from pollinet.answers.without import every_loss, loss_of, without_each_of, without_of
        from pollinet.summary.named import places_named

        if not names:
            return without_each_of(self.study, every_loss(self.study))
        lost, problems = places_named(self.study, names)
        _raise(problems)
        after = loss_of(self.study, lost, from_catalogue=from_catalogue)
        return without_of(self.study, after)

    def pollinizer(self, *, tree: str | None = None, from_catalogue: bool = False) -> Pollinizer:
        """The varieties of which one limb would help most, best first; raises `BadQuestion`."""
        from pollinet.answers.pollinizer import pollinizer_of, ranked_choices
        from pollinet.summary.named import trees_named

        trees, problems = trees_named(self.study, tree)
        _raise(problems)
        found = ranked_choices(self.study, trees, from_catalogue=from_catalogue)
        return pollinizer_of(self.study, found)

    def triploids(self) -> Triploids:
        """For each triploid limb who serves it, who serves that donor, and what is missing."""
        from pollinet.answers.triploids import look_at_triploids, triploids_of

        return triploids_of(self.study, look_at_triploids(self.study))

    def bloom(self) -> BloomByWinter:
        """When every variety blooms in every winter, and how sure that is."""
        from pollinet.answers.bloom import bloom_by_winter_of

        return bloom_by_winter_of(self.study).with_picture(self._calendar_html)

    def chill(self, *, warmer_c: float = 0.0) -> Chill:
        """Winter chill against what the varieties need."""
        from pollinet.answers.chill import chill_of

        return chill_of(self.study, self._outlook(warmer_c))

    def season(self, *, from_catalogue: bool = False, most: int | None = None) -> Season:
        """The order of ripening, and what a longer picking season costs in pollination."""
        from pollinet.answers.season import season_of
        from pollinet.summary.season import garden_season

        found = garden_season(self.study, from_catalogue=from_catalogue, most=most)
        return season_of(self.study, found)

    def suits(self, *names: str, species: str | None = None) -> Suits:
        """How varieties would fare in this garden; raises `BadQuestion`.

        species : kind of fruit, where the plan has several.
        """
        from pollinet.answers.suits import suits_of
        from pollinet.summary.named import varieties_named
        from pollinet.summary.suits import suitability

        wanted, problems = varieties_named(self.study, names, species)
        _raise(problems)
        return suits_of(self.study, [suitability(self.study, name) for name in wanted])

    def work(self, first: date | None = None) -> Work:
        """The work of the twelve months from a day on; None: from today."""
        from pollinet.answers.work import work_of
        from pollinet.summary.work import work_from

        return work_of(self.study, work_from(self.study, first or date.today()))

    # --- changed gardens ---

    def with_limb(
        self,
        id: str,
        *,
        variety: str | None = None,
        tree: str | None = None,
        grafted: int | Kept | None = KEPT,
        crops: bool | Kept = KEPT,
    ) -> Garden:
        """The garden with a changed limb; with a new one, where `tree` is told for a new id.

        Raises `WrongChange`, with findings, where the plan could not hold it.
        """
        changed = self.study.with_limb(id, variety=variety, tree=tree, grafted=grafted, crops=crops)
        return Garden(changed)

    def with_neighbour(self, id: str, *, species: str, variety: str, distance_m: float) -> Garden:
        """The garden with a changed or new neighbour's tree; raises `WrongChange`. [m]"""
        changed = self.study.with_neighbour(
            id, species=species, variety=variety, distance_m=distance_m
        )
        return Garden(changed)

    def lose(self, *ids: str) -> Garden:
        """The garden without some limbs and neighbours' trees; raises `WrongChange`."""
        return Garden(self.study.lose(*ids))

    def warmer(self, degrees_c: float) -> Garden:
        """The same garden with every hour of every winter so much warmer than the record. [°C]

        A plan with typed dates only has no weather that could be warmer and stays as it is.
        """
        return self if self.study.winters is None else Garden(self.study.warmer(degrees_c))

    def _outlook(self, warmer_c: float) -> Study | None:
        if not warmer_c or self.study.winters is None:
            return None
        return self.study.warmer(warmer_c)

    # --- graph and picture ---

    def graph(self) -> nx.DiGraph[str]:
        """The donor graph: an edge goes from a pollen donor to the limb that receives it."""
        from pollinet.network.graph import donor_graph

        return donor_graph(self.study.network, coverage=self.study.coverage)

    def draw_calendar(self, ax: Axes | None = None) -> Axes:
        """Draw the bloom calendar on these axes, or on new ones."""
        from pollinet.charts.album import garden_calendar

        return garden_calendar(self.study, ax=ax)


def _raise(problems: Sequence[Finding]) -> None:
    if problems:
        raise BadQuestion(problems)


def _winters_html(told: Check) -> str:
    from pollinet.strips import winters_strip

    return _alone(winters_strip(told))


def _limb_html(study: Study, looked: Looked) -> str:
    from pollinet.strips import limb_spring, limb_strip

    return _alone(limb_strip(limb_spring(study, looked)))


def _alone(strip: str) -> str:
    """A strip with its style, which holds for nothing else in the notebook."""
    from pollinet.strips import style_sheet

    style = style_sheet().replace(":root", ".pollinet-strip")
    return f'<div class="pollinet-strip"><style>{style}</style>{strip}</div>'
