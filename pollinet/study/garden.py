"""A plan with all that follows from it.

Every stage is computed once, when it is first asked for, and kept in a store that is shared by
the studies derived from this one: a changed limb costs what hangs on it alone.
"""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Mapping, Sequence
from dataclasses import dataclass, field, replace
from functools import cached_property
from pathlib import Path
from time import monotonic
from typing import TYPE_CHECKING, Any, Literal, NamedTuple

import numpy as np

from pollinet.advice.suspicion import Suspicion, suspicions
from pollinet.compatibility.drawn import DrawnCrosses, Genotypes
from pollinet.compatibility.tables import rule_index
from pollinet.compatibility.verdict_table import Crossings, VerdictTable
from pollinet.days import is_southern
from pollinet.domain import (
    Bloom,
    BloomRecord,
    BoolArray,
    Catalogue,
    DailyWeather,
    FloatArray,
    Fruit,
    InputFile,
    NetworkInput,
    Node,
    Plan,
    Records,
    Run,
    Scion,
    Tree,
    Variety,
    VarietyId,
    Winters,
)
from pollinet.errors import WrongChange
from pollinet.files import LOG_NAME
from pollinet.findings import Finding, has_errors, in_order
from pollinet.messages import joined, listing, mark, say, say_number
from pollinet.network.coverage import LimbCoverage, coverage_by_winter
from pollinet.network.problem import room_on
from pollinet.network.proximity import distances_m, proximity, reach
from pollinet.network.time_limit import SEARCH_LIMIT_S, time_left
from pollinet.phenology.bloom import (
    BloomRow,
    Peers,
    peers_of,
    stacked,
    typed_row,
    typed_scenarios,
    typed_starts,
)
from pollinet.phenology.climate import Climate
from pollinet.phenology.level import at_level
from pollinet.phenology.off_years import off_years, tends_to_alternate
from pollinet.phenology.sums import SeasonSums
from pollinet.phenology.supply import ChillSupply
from pollinet.readers.chill_ranges import load_chill_ranges
from pollinet.readers.own_varieties import SOURCE as OWN_SOURCE
from pollinet.readers.runs import load_runs
from pollinet.readers.timing import load_timing
from pollinet.study import changes
from pollinet.study.changes import KEPT, Changed, Kept
from pollinet.study.far_notes import far_notes
from pollinet.study.grafting_places import Place, graft_tree, places_by_fruit
from pollinet.study.kept_pairs import KeptCrosses, KeptVerdicts
from pollinet.study.stages import (
    Covered,
    GardenCoverage,
    SiteWeather,
    SpeciesBloom,
    VarietyRow,
    network_row,
)
from pollinet.study.station_winters import climate_findings, climate_of, winters_from_stations
from pollinet.study.store import Same, SameAll, Store
from pollinet.study.trial_sites import trial_site_sums
from pollinet.study.under_suspicion import under_suspicion
from pollinet.weather.station_climate import StationClimate

if TYPE_CHECKING:
    from pollinet.network.cover import Cover

WARMER_C = tuple(step / 2 for step in range(7))
"""Steps of warming that charts and report look at: own convention. [°C]"""


@dataclass(frozen=True)
class Study:
    """A plan with all that follows from it; each stage computed once, when asked for.

    climate : where the winters of `record` were made from stations, what these tell.
    inputs : the files that it was made from; none where it was changed in memory.
    """

    plan: Plan
    catalogue: Catalogue
    record: DailyWeather | None
    findings: tuple[Finding, ...] = ()
    warmer_c: float = 0.0
    records: Records = field(default_factory=Records)
    own_folder: Path | None = None
    climate: StationClimate | None = None
    inputs: tuple[InputFile, ...] = field(default=(), compare=False)
    store: Store = field(default_factory=Store, repr=False, compare=False)

    # --- varieties ---

    @cached_property
    def known(self) -> dict[VarietyId, Variety]:
        """Every variety that can be named: the plan's own before the catalogue's."""
        own, presumed = self.plan.own_varieties, self.plan.presumed
        names = tuple(variety.id for variety in presumed)
        more = {variety.id: variety for variety in (*presumed, *own)}
        return self.store.get(
            ("known", Same(self.catalogue), Same(own), names),
            lambda: {**self.catalogue.varieties, **more},
        )

    def varieties(self, candidates: Iterable[VarietyId] = ()) -> tuple[Variety, ...]:
        """The varieties of the plan and the candidates, sorted, each once."""
        plan = self.plan
        named = {limb.variety for limb in plan.limbs}
        named |= {neighbour.variety for neighbour in plan.neighbours}
        named |= {scion.variety for scion in plan.scions}
        return tuple(self.known[name] for name in sorted(named | set(candidates)))

    def catalogue_scions(self) -> tuple[Scion, ...]:
        """A scion of every variety of the trees' fruits whose bloom is known, own wood first."""
        at_hand = {scion.variety for scion in self.plan.scions}
        present = {limb.variety for limb in self.plan.limbs}
        wanted = {tree.species for tree in self.plan.trees}
        others = tuple(
            Scion(name, at_hand=False)
            for name in sorted(self.known)
            if name.species in wanted
            and name not in at_hand | present
            and (self.known[name].bloom or self.known[name].typed_bloom)
        )
        return self.plan.scions + others

    # --- trees ---

    @cached_property
    def suspected(self) -> tuple[Suspicion, ...]:
        """Trees, also next door, that the log puts under suspicion of a disease of the wood."""
        return suspicions(self.plan, self.records.observations)

    @property
    def suspected_ids(self) -> frozenset[str]:
        """Ids of these trees."""
        return frozenset(one.holder for one in self.suspected)

    @cached_property
    def open_trees(self) -> tuple[Tree, ...]:
        """The trees of the plan; those under suspicion carry no new graft."""
        return tuple(
            replace(tree, spare_limbs=0) if tree.id in self.suspected_ids else tree
            for tree in self.plan.trees
        )

    # --- weather to bloom ---

    @cached_property
    def _weather(self) -> SiteWeather | None:
        record, latitude = self.record, self.plan.site.latitude
        if record is None:
            return None
        return self.store.get(
            ("weather", Same(record), latitude), lambda: SiteWeather(record, latitude)
        )

    def on_station_winters(self) -> Study:
        """The same on winters made from the stations near it, where it needs and can have them.

        A plan that types the bloom of all its varieties needs none, and one that types several
        springs can have none: its springs are its winters.
        """
        typed = [variety.typed_bloom or variety.typed_shed for variety in self.varieties()]
        several = any(one is not None and len(one.intervals) > 1 for one in typed)
        climate = None if several or all(typed) else climate_of(self.plan.site)
        if climate is None:
            return replace(self, record=None, climate=None)
        site, seed = self.plan.site, self.plan.aim.seed
        record, climate = self.store.get(
            ("station winters", site, seed),
            lambda: (winters_from_stations(site, climate, seed), climate),
        )
        return replace(self, record=record, climate=climate)

    def take_sums(self, sums: Mapping[float, SeasonSums]) -> None:
        """Take over chill and heat, by steps of warming, worked out with those of other places."""
        if self._weather is not None:
            self._weather.take(sums)

    @property
    def winters(self) -> Winters | None:
        """Hourly winters of the site; None for a plan with typed dates only."""
        return None if self._weather is None else self._weather.winters(0.0)

    @property
    def sums(self) -> SeasonSums | None:
        """Chill and heat of every winter of the site."""
        return None if self._weather is None else self._weather.sums(0.0)

    @property
    def outlook(self) -> Winters | None:
        """The winters that answers are told for: the site's own, warmer by `warmer_c`."""
        return None if self._weather is None else self._weather.winters(self.warmer_c)

    @property
    def chill_supply(self) -> ChillSupply | None:
        """Chill of every winter in every model; None for a plan with typed dates only."""
        return None if self._weather is None else self._weather.chill_supply(self.warmer_c)

    def bloom_of(
        self, varieties: tuple[Variety, ...], notes: Iterable[BloomRecord] | None = None
    ) -> Bloom:
        """Bloom of these varieties in every scenario of the site.

        varieties : of `known`.
        notes : own bloom dates to learn from; None: all in the log.
        """
        if notes is not None:
            return self._stacked(self._bloom_rows(varieties, tuple(notes)))
        names = tuple(variety.id for variety in varieties)
        if names not in self._blooms:
            self._blooms[names] = self._stacked(self._bloom_rows(varieties))
        return self._blooms[names]

    @property
    def bloom(self) -> Bloom:
        """Bloom of all varieties of the plan, scions included."""
        return self.bloom_of(self.varieties())

    @cached_property
    def _blooms(self) -> dict[tuple[VarietyId, ...], Bloom]:
        """What `bloom_of` has given by all notes in the log."""
        return {}

    def _stacked(self, rows: list[BloomRow]) -> Bloom:
        if self.sums is not None:
            return stacked(rows, self.sums.starts)
        springs = rows[0].hours.shape[2] if rows else 1
        return stacked(rows, typed_starts(self.plan.site.latitude, springs))

    def _bloom_rows(
        self, varieties: Iterable[Variety], notes: tuple[BloomRecord, ...] | None = None
    ) -> list[BloomRow]:
        """Bloom of each of these varieties, sorted.

        notes : own bloom dates to learn from, for this question alone; None: all in the log.
        """
        ordered = sorted(varieties, key=lambda v: v.id)
        if self._weather is None:
            return self._typed_rows(ordered)
        told = self.records.bloom if notes is None else notes
        rows: list[BloomRow] = []
        for species in dict.fromkeys(variety.id.species for variety in ordered):
            own = [variety for variety in ordered if variety.id.species == species]
            bloom = self._species(species)
            rows += bloom.rows(own, self.warmer_c, told, keep=notes is None)
        return rows

    def _typed_rows(self, varieties: list[Variety]) -> list[BloomRow]:
        aim, latitude = self.plan.aim, self.plan.site.latitude
        draws, springs = typed_scenarios(varieties, aim.draws)
        if draws == 1 and (self._alternates or self._is_open(varieties)):
            draws = aim.draws

        def row(variety: Variety) -> BloomRow:
            return self.store.get(
                ("typed", Same(variety), draws, springs, latitude, aim.seed),
                lambda: typed_row(variety, draws, springs, latitude=latitude, seed=aim.seed),
            )

        return [row(variety) for variety in varieties]

    @cached_property
    def _alternates(self) -> bool:
        """Whether anything in the plan flowers every other year only, nobody knows which."""
        return any(node.biennial for node in self.nodes(self.plan.scions))

    def _is_open(self, varieties: Sequence[Variety]) -> bool:
        """Whether it is unknown of any pair of them, or of one alone, if the pollen is accepted."""
        return VerdictTable([v.fertility for v in varieties], self._crossings).is_open()

    def site_shift_days(self, species: str) -> FloatArray | None:
        """How much later the site makes a fruit bloom than its record, as the notes have it, (K,).

        None where there is no weather, or no note on a variety of that fruit in the garden.
        """
        varieties = [v for v in self.varieties() if v.id.species == species]
        names = {variety.id for variety in varieties}
        about = tuple(note for note in self.records.bloom if note.variety in names)
        if self._weather is None or not about:
            return None
        return self._species(species).site_shift_days(varieties, about)

    def _species(self, species: str) -> SpeciesBloom:
        """Bloom of one species here; a site with weather only."""
        aim = self.plan.aim
        key = ("bloom of", species, Same(self.catalogue), Same(self._weather), aim.draws, aim.seed)
        return self.store.get(key, lambda: self._species_bloom(species))

    def _species_bloom(self, species: str) -> SpeciesBloom:
        """The same by what it hangs on: catalogues of other fruits beside it share it."""
        weather, aim, sites = self._weather, self.plan.aim, self.catalogue.sites
        assert weather is not None and self.record is not None
        told, level_sd_c = self._told(species), self.record.level_sd_c
        key = (Same(weather), Same(sites), SameAll(told.peers), told.places, aim.draws, aim.seed)
        return self.store.get(
            ("species", species, *key),
            lambda: SpeciesBloom(
                species,
                weather,
                self._trial_climates(told),
                at_level(load_timing([species])[species], level_sd_c),
                self._peers(species, told),
                told.runs,
                load_chill_ranges(species),
                draws=aim.draws,
                seed=aim.seed,
            ),
        )

    def _told(self, species: str) -> _Told:
        key = ("told of", species, Same(self.catalogue))
        return self.store.get(key, lambda: _told_of(self.catalogue, species))

    def _peers(self, species: str, told: _Told) -> Peers:
        south = is_southern(self.plan.site.latitude)
        key = (Same(self.catalogue.sites), SameAll(told.peers), told.places, south)
        return self.store.get(
            ("peers", species, *key),
            lambda: peers_of(
                species,
                told.peers,
                -1.0 if south else 1.0,
                self._trial_climates(told),
                load_timing([species])[species],
            ),
        )

    def _trial_climates(self, told: _Told) -> dict[str, Climate]:
        return {place: self._trial_climate(place) for place in told.places}

    def _trial_climate(self, place: str) -> Climate:
        site = self.catalogue.sites[place]
        return self.store.get(("trial site", site), lambda: Climate(trial_site_sums(site)))

    @cached_property
    def gaps(self) -> tuple[Finding, ...]:
        """What is missing for an answer, or casts doubt on it: weather, springs, far notes."""
        weather = () if self._weather is None else self._weather.findings
        findings = [replace(found, file=self.weather_name) for found in weather]
        springs = {
            (v.id.name, len(typed.intervals))
            for v in self.varieties()
            for typed in (v.typed_bloom, v.typed_shed)
            if typed is not None
        }
        findings += self._shed_gaps()
        findings += [under_suspicion(one) for one in self.suspected]
        if self.record is None:
            findings += self._untyped()
        if self.climate is not None:
            findings += climate_findings(self.plan.site, self.climate, self.plan.file)
        several = max((number for _, number in springs), default=1) > 1
        if several and len({number for _, number in springs}) > 1:
            told = [
                say_number("{name} {number} spring", "{name} {number} springs", number, name=name)
                for name, number in sorted(springs)
            ]
            findings.append(self._error("unequal-springs",
                say("the varieties have bloom typed for different numbers of springs: {springs}",
                    springs=listing(told)),
                cure=say("type the same springs for each of them, or one usual interval for each"),
                place="variety",
            ))  # fmt: skip
        elif several and self.record is not None:
            findings.append(self._error("springs-and-weather",
                say("bloom of several springs is typed and a weather record is given as well"),
                cure=say("remove the weather, or type one usual interval")))  # fmt: skip
        if not has_errors(findings):
            findings += self._far_notes()
        return tuple(findings)

    def _far_notes(self) -> tuple[Finding, ...]:
        notes = self.records.bloom
        # Without notes nobody asks for the sums, which many places have worked out together.
        sums = self.sums if notes else None
        if sums is None:
            return ()
        # Notes were made in the winters as they were.
        now, names = self.warmer(0.0), {note.variety for note in notes}
        noted = tuple(variety for variety in self.varieties() if variety.id in names)
        key = notes, SameAll(noted), Same(self._weather), self.plan.aim.draws, self.plan.aim.seed
        return self.store.get(
            ("far notes", *key, Same(self.catalogue)),
            lambda: far_notes(
                notes, now.bloom_of(noted, ()), now.bloom_of(noted), sums,
                self.plan.site.latitude, LOG_NAME,
            ),
        )  # fmt: skip

    @property
    def weather_name(self) -> str:
        """What findings on the weather call its file."""
        return "" if self.record is None else self.record.source.partition(",")[0]

    def _shed_gaps(self) -> list[Finding]:
        """Varieties whose flowers are dated and whose catkins are not, though they differ."""
        gaps = [
            v.id.name
            for v in self.varieties()
            if (v.bloom or v.typed_bloom) and self.fruit_of(v).shed_apart and not v.sheds_apart
        ]
        if not gaps:
            return []
        pattern = mark("When the catkins shed pollen is not known of {names}; they are taken to "
                       "shed as those of other varieties of the fruit, widely")  # fmt: skip
        if self.record is None:
            pattern = mark("When the catkins shed pollen is not known of {names}; it is counted on "
                           "for no other")  # fmt: skip
        message = say(pattern, names=joined(gaps))
        cure = say(
            "in a [[variety]], bloom = the days on which the stigmas show; add pollen_shed = "
            '["01-10", "02-05"], the days on which the catkins dust'
        )
        return [Finding("warning", "no-pollen-shed", message, self.plan.file, cure=cure)]

    def _untyped(self) -> list[Finding]:
        untyped = [v for v in self.varieties() if v.typed_bloom is None and v.typed_shed is None]
        presumed = {variety.id for variety in self.plan.presumed}
        alone = [v for v in untyped if v.id not in presumed and self._serves_itself(v)]
        findings = []
        if names := [v.id.name for v in untyped if v not in alone and v.id not in presumed]:
            findings.append(self._error("no-weather",
                say("the plan gives no weather and no bloom dates for {names}",
                    names=listing(names)),
                cure=say("say under [site] where the garden is (latitude, longitude, elevation_m): "
                         "winters are then made from the weather stations near it; or add weather "
                         '= "file.csv", or type bloom dates in a [[variety]]')))  # fmt: skip
        cure = say(
            "add latitude, longitude and elevation_m under [site], or type bloom dates in a "
            "[[variety]]"
        )
        if presumed:
            message = say(
                "Without weather, nobody can tell when these bloom here: {names}; they are counted "
                "on for no other",
                names=joined([name.name for name in sorted(presumed)]),
            )
            findings.append(Finding("warning", "no-dates", message, self.plan.file, cure=cure))
        if alone:
            message = say(
                "Nobody has told when these bloom here: {names}; self-fertile, they need no other, "
                "and are counted on for no other",
                names=joined([v.id.name for v in alone]),
            )
            findings.append(Finding("warning", "no-dates", message, self.plan.file, cure=cure))
        return findings

    def _serves_itself(self, variety: Variety) -> bool:
        """Whether its own pollen is known to set it."""
        own = variety.fertility
        return self._crossings.verdict(own, own).answer in ("yes", "half")

    def _error(self, code: str, message: str, cure: str, place: str = "") -> Finding:
        return Finding("error", code, message, self.plan.file, place, cure=cure)

    # --- network ---

    def nodes(self, scions: tuple[Scion, ...] = ()) -> tuple[Node, ...]:
        """Limbs, neighbours and candidates, each group in the order of the plan."""
        return (*self._standing, *map(self._candidate, scions))

    @cached_property
    def _standing(self) -> tuple[Node, ...]:
        plan = self.plan
        limbs = [
            self._node(
                limb.id, "limb", limb.variety, tree=limb.tree, must_crop=limb.crops,
                position_m=tree.position_m, biennial=limb.biennial, garden=tree.garden,
            )
            for tree in plan.trees
            for limb in tree.limbs
        ]  # fmt: skip
        neighbours = [
            self._node(
                n.id, "neighbour", n.variety, distance_m=n.distance_m, must_crop=False,
                position_m=n.position_m, may_be_felled=n.may_be_felled, biennial=n.biennial,
                garden=n.garden,
            )
            for n in plan.neighbours
        ]  # fmt: skip
        return (*limbs, *neighbours)

    def _candidate(self, scion: Scion) -> Node:
        name, species = scion.variety.name, scion.variety.species
        on = "" if scion.tree is None else f" on {scion.tree}"
        places = self.places.get(species, ())
        on_tree = graft_tree(self.plan.trees, places, scion.tree, species)
        return self._node(
            f"scion {name}, {species}{on}", "candidate", scion.variety, tree=scion.tree,
            must_crop=scion.crops, cost=scion.cost, at_hand=scion.at_hand,
            biennial=scion.biennial,
            position_m=None if on_tree is None else on_tree.position_m,
            garden="" if on_tree is None else on_tree.garden,
        )  # fmt: skip

    def _node(
        self,
        name: str,
        kind: Literal["limb", "neighbour", "candidate"],
        variety: VarietyId,
        biennial: bool,
        **more: Any,
    ) -> Node:
        clone = self.known[variety].fertility.clone
        apart = self.catalogue.rules.fruits[variety.species].shed_apart
        rests = biennial or (self.plan.aim.off_years and tends_to_alternate(self.known[variety]))
        return Node(name, kind, variety, clone, sheds_apart=apart, biennial=rests, **more)

    @cached_property
    def places(self) -> Mapping[str, tuple[Place, ...]]:
        """By fruit, where a new graft could go and reaches others with its pollen alike."""
        standing = self._standing
        near = self._proximity(standing)
        first = {node.tree: i for i, node in reversed(list(enumerate(standing)))}
        trees = self.open_trees
        return places_by_fruit(trees, near[[first[tree.id] for tree in trees]])

    def network_of(self, scions: tuple[Scion, ...] = ()) -> NetworkInput:
        """The network of the garden with these scions as candidates."""
        nodes = self.nodes(scions)
        rows = (
            self._network_rows(self.varieties(scion.variety for scion in scions))
            if scions
            else self._own_rows
        )
        own = [rows[node.variety] for node in nodes]
        opens, closes = _scenarios([(row.open_start_h, row.open_end_h) for row in own])
        sheds, ends = opens, closes
        if any(row.shed_start_h is not row.open_start_h for row in own):
            sheds, ends = _scenarios([(row.shed_start_h, row.shed_end_h) for row in own])
        chill, flight = _scenarios([(row.chill_quality, row.flight_share) for row in own])
        draws = opens.shape[1] // own[0].winters
        verdicts, drawn = self._pairs(nodes, draws, is_standing=not scions)
        return NetworkInput(
            nodes=nodes,
            open_start_h=opens,
            open_end_h=closes,
            shed_start_h=sheds,
            shed_end_h=ends,
            verdicts=verdicts,
            proximity=self._proximity(nodes),
            chill_quality=chill,
            flight_share=flight,
            aim=self.plan.aim,
            winters=next(iter(rows.values())).winters,
            drawn=drawn,
            dated=np.array([row.dated for row in own], dtype=bool),
            resting=self._resting(nodes, draws, own[0].winters),
        )

    def _pairs(
        self, nodes: Sequence[Node], draws: int, *, is_standing: bool
    ) -> tuple[VerdictTable, DrawnCrosses]:
        """Verdicts among nodes, and what is drawn where nobody knows; kept for other places."""
        each = [self.known[node.variety].fertility for node in nodes]
        if not (is_standing and self.store.is_one_of_many):
            table = VerdictTable(each, self._crossings)
            return table, DrawnCrosses(table, self._genotypes(draws))

        def made() -> tuple[VerdictTable, DrawnCrosses]:
            kept = KeptVerdicts(each, self._crossings)
            return kept, KeptCrosses(kept, self._genotypes(draws))

        names, seed = tuple(node.variety for node in nodes), self.plan.aim.seed
        key = (Same(self.catalogue.rules), Same(self.known), names, draws, seed)
        return self.store.get(("verdicts", *key), made)

    def _resting(self, nodes: Sequence[Node], draws: int, winters: int) -> BoolArray | None:
        """When nodes that flower every other year give no pollen, shape (N, S)."""
        if not any(node.biennial for node in nodes):
            return None
        years = range(winters) if self.outlook is None else self.outlook.harvest_years
        seed, found = self.plan.aim.seed, np.zeros((len(nodes), draws * winters), dtype=bool)
        for place, node in enumerate(nodes):
            if node.biennial:
                found[place] = off_years(node.variety, years, draws=draws, seed=seed).ravel()
        return found

    def _genotypes(self, draws: int) -> Genotypes:
        rules, known, seed = self.catalogue.rules, self.known, self.plan.aim.seed
        return self.store.get(
            ("genotypes", Same(rules), Same(known), draws, seed),
            lambda: Genotypes(
                rule_index(rules),
                {name: variety.fertility for name, variety in known.items()},
                draws=draws,
                seed=seed,
            ),
        )

    @property
    def _crossings(self) -> Crossings:
        rules = self.catalogue.rules
        return self.store.get(("crossings", Same(rules)), lambda: Crossings(rule_index(rules)))

    def _network_rows(self, varieties: tuple[Variety, ...]) -> dict[VarietyId, VarietyRow]:
        """What each of these varieties brings to the network."""
        rows = self._bloom_rows(varieties)
        return {v.id: self._network_row(v, row) for v, row in zip(varieties, rows, strict=True)}

    @cached_property
    def _own_rows(self) -> dict[VarietyId, VarietyRow]:
        return self._network_rows(self.varieties())

    def _network_row(self, variety: Variety, row: BloomRow) -> VarietyRow:
        fruit = self.fruit_of(variety)

        def made() -> VarietyRow:
            is_shed_known = row.shed is not None or not fruit.shed_apart
            if self._weather is None:
                return network_row(row, None, None, is_shed_known=is_shed_known)
            quality = self._species(fruit.name).chill_quality(variety, self.warmer_c)
            flight = None if fruit.pollen_by == "wind" else self._weather.flight(self.warmer_c)
            return network_row(row, quality, flight, is_shed_known=is_shed_known)

        return self.store.get(("row", row, fruit.shed_apart, fruit.pollen_by), made)

    def fruit_of(self, variety: Variety) -> Fruit:
        """The kind of fruit of a variety."""
        return self.catalogue.rules.fruits[variety.id.species]

    def _proximity(self, nodes: tuple[Node, ...]) -> FloatArray:
        fruits = self.catalogue.rules.fruits
        reaches = [reach(fruits[node.variety.species], self.plan.aim) for node in nodes]
        near, far = np.array(reaches).reshape(-1, 2, 1).transpose(1, 0, 2)
        return proximity(distances_m(nodes), near, far)

    @cached_property
    def network(self) -> NetworkInput:
        """The network of the garden as it stands."""
        return self.network_of()

    @cached_property
    def coverage(self) -> tuple[LimbCoverage, ...]:
        """Coverage of every limb that is to crop, and of the others for information."""
        return self._covered.coverage

    @cached_property
    def _covered(self) -> Covered:
        rows = self._own_rows
        keys = [
            (
                node.id,
                node.distance_m,
                node.position_m,
                node.garden,
                node.biennial,
                rows[node.variety],
            )
            for node in self.network.nodes
        ]
        rules = self.catalogue.rules
        seen = self.store.get(
            ("coverage", self.plan.aim, Same(rules), self.warmer_c), GardenCoverage
        )
        return seen.of(self.network, keys)

    @cached_property
    def warming(self) -> FloatArray | None:
        """Share of scenarios in which each limb of `coverage` is covered, shape (limbs, steps).

        One step for each of `WARMER_C`; None for a plan with typed dates only.
        """
        if self._weather is None:
            return None
        self._weather.prepare(WARMER_C)
        steps = (self if d == self.warmer_c else self.warmer(d) for d in WARMER_C)
        return np.stack([coverage_by_winter(s.network)[1].mean(axis=1) for s in steps], axis=1)

    # --- changes ---

    def warmer(self, degrees_c: float) -> Study:
        """The same garden with every hour of every winter warmer by so much. [°C]"""
        return replace(self, warmer_c=degrees_c)

    def with_limb(
        self,
        id: str,
        *,
        variety: str | None = None,
        tree: str | None = None,
        grafted: int | Kept | None = KEPT,
        crops: bool | Kept = KEPT,
    ) -> Study:
        """The garden with a changed limb, or with a new one.

        Parameters
        ----------
        id : a limb of the plan, which is changed; or a new id, with the tree and the variety.
        variety : its name as in a plan; None: as it is.
        tree : id of the tree that it is to stand on; None: where it stands.
        grafted : year; None: long ago or unknown.

        Raises
        ------
        WrongChange : the plan file would be wrong; all that is wrong stands in its findings.
        """
        return self._changed(changes.with_limb(self._ground, id, variety, tree, grafted, crops))

    def with_neighbour(self, id: str, *, species: str, variety: str, distance_m: float) -> Study:
        """The garden with a changed or new neighbour's tree; raises `WrongChange`. [m]"""
        changed = changes.with_neighbour(self._ground, id, species, variety, distance_m)
        return self._changed(changed)

    def lose(self, *ids: str) -> Study:
        """The garden without some limbs and neighbours' trees; raises `WrongChange`."""
        return self._changed(changes.without(self._ground, ids, self.records.named))

    def lose_tree(self, id: str) -> Study:
        """The garden without a tree of its own and all its limbs; raises `WrongChange`."""
        return self._changed(changes.without_tree(self._ground, id, self.records.named))

    @property
    def _ground(self) -> changes.Ground:
        return changes.Ground(self.plan, self.catalogue, self.own_folder)

    def _changed(self, changed: Changed) -> Study:
        """The study that opening the changed plan file would give."""
        plan = changed.plan
        study = replace(
            self,
            plan=plan,
            catalogue=changed.catalogue,
            records=changes.changed_records(self.records, plan),
            inputs=(),
        )
        if self.record is None or self.climate is not None:
            study = study.on_station_winters()
        gaps = study.gaps
        if has_errors(gaps):
            raise WrongChange(tuple(found for found in gaps if found.severity == "error"))
        before = {*self.gaps, *changes.catalogue_findings(self._ground, changed)[0]}
        kept = [
            found
            for found in self.findings
            if found not in before
            and (found.file, found.place) not in {(plan.file, place) for place in changed.places}
        ]
        new = (*changed.findings, *gaps, *changes.catalogue_findings(self._ground, changed)[1])
        return replace(study, findings=in_order((*kept, *new)))

    # --- scions ---

    def free_scions(self, *, from_catalogue: bool = False) -> tuple[Scion, ...]:
        """Scions that may be chosen: not blocked, of a fruit that stands in the garden.

        One for each place that it could go to, where it matters to pollen which.
        """
        wanted = {tree.species for tree in self.plan.trees}
        scions = self.catalogue_scions() if from_catalogue else self.plan.scions
        blocked = {scion.variety for scion in scions if scion.blocked is not None}
        # Several sticks of one variety are one candidate.
        free = {s.variety: s for s in scions if s.variety not in blocked}
        return tuple(
            one for s in free.values() if s.variety.species in wanted for one in self._placed(s)
        )

    def trees_for(self, candidate: Node) -> tuple[Tree, ...]:
        """Trees with room on which a candidate's pollen does the same, in the order of the plan."""
        places = self.places.get(candidate.variety.species, ())
        here = {
            tree.id
            for place in places
            if candidate.tree in (None, place.tree.id)
            for tree in place.trees
        }
        return tuple(tree for tree in self.open_trees if tree.id in here)

    def _placed(self, scion: Scion) -> Iterator[Scion]:
        places = self.places.get(scion.variety.species, ())
        if len(places) < 2:
            yield scion
        else:
            yield from (replace(scion, tree=place.tree.id) for place in places)

    def cover(
        self, *, from_catalogue: bool = False, time_limit_s: float = SEARCH_LIMIT_S
    ) -> tuple[NetworkInput, Cover]:
        """Smallest set of scions that covers every limb, with the network it was found in.

        time_limit_s : how long it may take. [s]
        """
        from pollinet.network.cover import smallest_cover
        from pollinet.network.preferred import preferred_cover

        left = time_left(time_limit_s, monotonic)
        network = self.network_of(self.free_scions(from_catalogue=from_catalogue))
        candidates = [i for i, node in enumerate(network.nodes) if node.kind == "candidate"]
        preferences = self.tie_breakers(network)

        def search(free: Sequence[int], most_ordered: int | None) -> Cover:
            return smallest_cover(
                network, free, self.spare_limbs(), preferences=preferences, clock=monotonic,
                time_limit_s=left(), most_ordered=most_ordered,
            )  # fmt: skip

        return network, preferred_cover(network, candidates, search)

    def cover_with_room(self, network: NetworkInput, time_limit_s: float = 5.0) -> Cover:
        """The smallest cover by the candidates of a network if every tree had room enough."""
        from pollinet.network.cover import smallest_cover

        candidates = [i for i, node in enumerate(network.nodes) if node.kind == "candidate"]
        return smallest_cover(
            network, candidates, None, preferences=self.tie_breakers(network), clock=monotonic,
            time_limit_s=time_limit_s,
        )  # fmt: skip

    def tie_breakers(self, network: NetworkInput) -> tuple[dict[int, float], ...]:
        """Penalties that decide between equally good sets: vigour mismatch, harvest bunching."""
        from pollinet.advice.preferences import preferences

        candidates = {
            i: self.known[node.variety]
            for i, node in enumerate(network.nodes)
            if node.kind == "candidate"
        }
        return preferences(candidates, [self.known[limb.variety] for limb in self.plan.limbs])

    def spare_limbs(self) -> dict[str, int]:
        """How many more grafts the trees of each fruit, and each place, can carry: `room_of`."""
        spare: dict[str, int] = {}
        for tree in self.open_trees:
            spare[tree.species] = spare.get(tree.species, 0) + tree.spare_limbs
        for species, places in self.places.items():
            spare |= {room_on(species, place.tree.id): place.room for place in places}
        return spare


class _Told(NamedTuple):
    """What the catalogue tells of a species: by whom trial sites are brought in line, and which.

    runs : rows of the table on when its varieties bloom.
    """

    peers: tuple[Variety, ...]
    places: tuple[str, ...]
    runs: tuple[Run, ...]


def _told_of(catalogue: Catalogue, species: str) -> _Told:
    known = [v for v in catalogue.varieties.values() if v.id.species == species]
    # What the grower tells of a variety by comparison says nothing new of trial sites.
    peers = (v for v in known if all(e.source != OWN_SOURCE for e in v.bloom))
    runs = load_runs(species, catalogue.sites)
    places = {e.place for variety in known for e in (*variety.bloom, *variety.shed)}
    places |= {run.evidence.place for run in runs}
    return _Told(tuple(peers), tuple(sorted(places & set(catalogue.sites))), runs)


def _scenarios(rows: Sequence[tuple[FloatArray, FloatArray]]) -> tuple[FloatArray, FloatArray]:
    """Two arrays of each node, each as one array of shape (N, S)."""
    first, second = zip(*rows, strict=True)
    return np.stack(first), np.stack(second)
