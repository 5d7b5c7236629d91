"""The one place that joins readers and stages: a plan file in, a `Study` out.

Every stage is computed once, when it is first asked for, and kept.
"""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass, field, replace
from functools import cache, cached_property
from pathlib import Path
from typing import TYPE_CHECKING

import numpy as np
from numpy.typing import NDArray

from pollinet.compatibility.verdict import verdicts
from pollinet.domain import (
    Bloom,
    BloomRecord,
    Catalogue,
    DailyWeather,
    FloatArray,
    Fruit,
    NetworkInput,
    Node,
    Plan,
    Records,
    Scion,
    Site,
    Variety,
    VarietyId,
    Winters,
)
from pollinet.findings import Finding, has_errors, in_order
from pollinet.messages import joined, listing, say, say_number
from pollinet.network.coverage import LimbCoverage, coverage_by_winter, limb_coverage
from pollinet.network.proximity import proximity
from pollinet.phenology.adequacy import chill_quality
from pollinet.phenology.bloom import bloom_ensemble, typed_bloom
from pollinet.phenology.flight import flight_share
from pollinet.phenology.straggling import bulk, with_stragglers
from pollinet.phenology.sums import SeasonSums, season_sums
from pollinet.phenology.supply import ChillSupply, chill_supply
from pollinet.readers.own_varieties import SOURCE as OWN_SOURCE
from pollinet.readers.plan import read_plan
from pollinet.readers.records import FILE_NAME as RECORDS_NAME
from pollinet.readers.records import read_records
from pollinet.readers.timing import load_timing
from pollinet.readers.weather import read_weather
from pollinet.weather.generated import generate_daily
from pollinet.weather.plausibility import plausible
from pollinet.weather.winters import split_winters

if TYPE_CHECKING:
    from pollinet.network.cover import Cover

GENERATED_WINTERS = 30
"""Winters made from twelve monthly means: the usual length of a climate normal (30 years, WMO)."""

FIRST_GENERATED_YEAR = 2001
"""Harvest year of the first generated winter: a label, not a claim about that year."""


WARMER_C = tuple(step / 2 for step in range(7))
"""Steps of warming that charts and report look at: own convention. [°C]"""


@dataclass(frozen=True)
class Opened:
    """What came of opening a plan: a study, or None where an error stands in the way."""

    study: Study | None
    findings: tuple[Finding, ...]


def open_plan(
    path: Path, text: str | None = None
) -> tuple[Plan | None, Catalogue | None, tuple[Finding, ...]]:
    """Read a plan with its names resolved, and the catalogues it needs; no weather, no log.

    text : what the file would hold, to be checked before it is written.
    """
    return read_plan(path, text)


def open_study(path: Path, *, weather: Path | None = None) -> Opened:
    """Read a plan and all it names, and check it.

    Parameters
    ----------
    path : the plan file; `records.csv` and a folder `catalogues` beside it are read too.
    weather : a weather file to use in place of the plan's own.
    """
    plan, catalogue, findings = open_plan(path)
    if plan is None or catalogue is None:
        return Opened(None, findings)
    records, log_findings = read_records(path.parent / RECORDS_NAME, plan)
    record, weather_findings = _weather(plan, path.parent, weather)
    findings = in_order(findings + log_findings + weather_findings)
    if has_errors(findings):
        return Opened(None, findings)
    study = Study(plan, catalogue, record, records=records)
    findings = in_order(findings + study.gaps())
    return Opened(None if has_errors(findings) else replace(study, findings=findings), findings)


def _weather(
    plan: Plan, folder: Path, given: Path | None
) -> tuple[DailyWeather | None, tuple[Finding, ...]]:
    """The record a plan runs on: the file given, its own file, generated winters, or none."""
    file = given or (folder / plan.weather_file if plan.weather_file else None)
    if file is None and plan.site.normals is None:
        return None, ()
    if not plan.site.latitude_known:
        return None, (
            Finding(
                "error", "missing-key", say('"{key}" is missing', key="latitude"), plan.file,
                "site",
                cure=say("add a line: latitude = 46.5 (south of the equator: negative); "
                         "the length of the days is computed from it"),
            ),
        )  # fmt: skip
    if file is None:
        return _generated(plan), ()
    record, findings = read_weather(file, latitude=plan.site.latitude)
    if record is not None:
        doubts = plausible(record, plan.site)
        findings += tuple(replace(doubt, file=file.name) for doubt in doubts)
    return record, findings


def _generated(plan: Plan) -> DailyWeather:
    assert plan.site.normals is not None
    return generate_daily(
        plan.site.normals,
        first_harvest_year=FIRST_GENERATED_YEAR,
        winters=GENERATED_WINTERS,
        latitude=plan.site.latitude,
        seed=plan.aim.seed,
    )


@dataclass(frozen=True)
class Study:
    """A plan with all that follows from it; each stage computed once, when asked for."""

    plan: Plan
    catalogue: Catalogue
    record: DailyWeather | None
    findings: tuple[Finding, ...] = ()
    warmer_c: float = 0.0
    records: Records = field(default_factory=Records)

    # --- varieties ---

    @cached_property
    def known(self) -> dict[VarietyId, Variety]:
        """Every variety that can be named: the plan's own before the catalogue's."""
        return {
            **self.catalogue.varieties,
            **{variety.id: variety for variety in self.plan.own_varieties},
        }

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
            Scion(name)
            for name in sorted(self.known)
            if name.species in wanted
            and name not in at_hand | present
            and (self.known[name].bloom or self.known[name].typed_bloom)
        )
        return self.plan.scions + others

    # --- weather to bloom ---

    @cached_property
    def _split(self) -> tuple[Winters | None, tuple[Finding, ...]]:
        if self.record is None:
            return None, ()
        return split_winters(self.record, self.plan.site.latitude)

    @property
    def winters(self) -> Winters | None:
        """Hourly winters of the site; None for a plan with typed dates only."""
        return self._split[0]

    @cached_property
    def sums(self) -> SeasonSums | None:
        """Chill and heat of every winter of the site."""
        return None if self.winters is None else season_sums(self.winters)

    @cached_property
    def outlook(self) -> Winters | None:
        """The winters that answers are told for: the site's own, warmer by `warmer_c`."""
        if self.winters is None or self.warmer_c == 0:
            return self.winters
        return replace(self.winters, temperature_c=self.winters.temperature_c + self.warmer_c)

    @cached_property
    def outlook_sums(self) -> SeasonSums | None:
        """Chill and heat of the winters that answers are told for."""
        if self.outlook is None or self.warmer_c == 0:
            return self.sums
        return season_sums(self.outlook)

    def warmer(self, degrees_c: float) -> Study:
        """The same garden with every hour of every winter warmer by so much. [°C]"""
        return replace(self, warmer_c=degrees_c)

    @cached_property
    def chill_supply(self) -> ChillSupply | None:
        """Chill of every winter in every model; None for a plan with typed dates only."""
        return None if self.outlook is None else chill_supply(self.outlook)

    def site_sums(self, places: Iterable[str]) -> dict[str, SeasonSums]:
        """Chill and heat of the trial sites, from winters generated out of their normals."""
        return {
            place: trial_site_sums(self.catalogue.sites[place]) for place in sorted(set(places))
        }

    def bloom_of(
        self, varieties: tuple[Variety, ...], notes: Iterable[BloomRecord] | None = None
    ) -> Bloom:
        """Bloom of these varieties in every scenario of the site.

        varieties : of `known`.
        notes : own bloom dates to learn from; None: all in the log.
        """
        if notes is not None:
            return self._compute_bloom(varieties, notes)
        names = tuple(variety.id for variety in varieties)
        if names not in self._blooms:
            self._blooms[names] = self._compute_bloom(varieties, self.records.bloom)
        return self._blooms[names]

    @cached_property
    def _blooms(self) -> dict[tuple[VarietyId, ...], Bloom]:
        """What `bloom_of` has given by all notes in the log."""
        return {}

    def _compute_bloom(self, varieties: tuple[Variety, ...], notes: Iterable[BloomRecord]) -> Bloom:
        aim, latitude = self.plan.aim, self.plan.site.latitude
        if self.sums is None:
            return typed_bloom(varieties, draws=aim.draws, latitude=latitude, seed=aim.seed)
        species = {variety.id.species for variety in varieties}
        # What the grower tells of a variety by comparison says nothing new of trial sites.
        known = [v for v in self.catalogue.varieties.values() if v.id.species in species]
        peers = [v for v in known if all(e.source != OWN_SOURCE for e in v.bloom)]
        places = {
            evidence.place
            for variety in (*peers, *varieties)
            for evidence in (*variety.bloom, *variety.shed)
        }
        bloom = bloom_ensemble(
            varieties,
            self.sums,
            self.site_sums(places & set(self.catalogue.sites)),
            load_timing(species),
            draws=aim.draws,
            latitude=latitude,
            seed=aim.seed,
            records=notes,
            peers=peers,
            outlook=None if self.warmer_c == 0 else self.outlook_sums,
        )
        return with_stragglers(bloom, varieties, self._chill(varieties), seed=aim.seed)

    def _chill(self, varieties: tuple[Variety, ...]) -> FloatArray:
        """Quality of the flowers after each winter of a site with weather."""
        assert self.outlook_sums is not None
        aim = self.plan.aim
        return chill_quality(varieties, self.outlook_sums, draws=aim.draws, seed=aim.seed)

    @property
    def bloom(self) -> Bloom:
        """Bloom of all varieties of the plan, scions included."""
        return self.bloom_of(self.varieties())

    def gaps(self) -> tuple[Finding, ...]:
        """What is missing for an answer: weather for untyped bloom, unequal lists of springs."""
        findings = [replace(found, file=self.weather_name) for found in self._split[1]]
        springs = {
            (v.id.name, len(typed.intervals))
            for v in self.varieties()
            for typed in (v.typed_bloom, v.typed_shed)
            if typed is not None
        }
        findings += self._shed_gaps()
        if self.record is None:
            findings += self._untyped()
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
            ))  # fmt: skip
        elif several and self.record is not None:
            findings.append(self._error("springs-and-weather",
                say("bloom of several springs is typed and a weather record is given as well"),
                cure=say("remove the weather, or type one usual interval")))  # fmt: skip
        return tuple(findings)

    @property
    def weather_name(self) -> str:
        """What findings on the weather call its file."""
        return "" if self.record is None else self.record.source.partition(",")[0]

    def _shed_gaps(self) -> list[Finding]:
        """Varieties whose flowers are dated and whose catkins are not, though they differ."""
        gaps = [
            v.id.name
            for v in self.varieties()
            if (v.bloom or v.typed_bloom) and self._sheds_untold(v)
        ]
        if not gaps:
            return []
        message = say(
            "When the catkins shed pollen is not known of {names}; it is counted on for no other",
            names=joined(gaps),
        )
        cure = say(
            "in a [[variety]], bloom = the days on which the stigmas show; add pollen_shed = "
            '["01-10", "02-05"], the days on which the catkins dust'
        )
        return [Finding("warning", "no-pollen-shed", message, self.plan.file, cure=cure)]

    def _untyped(self) -> list[Finding]:
        names = [
            v.id.name for v in self.varieties() if v.typed_bloom is None and v.typed_shed is None
        ]
        if not names:
            return []
        return [
            self._error("no-weather",
                say("the plan gives no weather and no bloom dates for {names}",
                    names=listing(names)),
                cure=say('add weather = "file.csv" or [site.normals] with twelve monthly means '
                         "under [site], or type bloom dates in a [[variety]]"))
        ]  # fmt: skip

    def _error(self, code: str, message: str, cure: str) -> Finding:
        return Finding("error", code, message, self.plan.file, cure=cure)

    # --- network ---

    def nodes(self, scions: tuple[Scion, ...] = ()) -> tuple[Node, ...]:
        """Limbs, neighbours and candidates, each group in the order of the plan."""
        clone = {name: variety.fertility.clone for name, variety in self.known.items()}
        limbs = [
            Node(limb.id, "limb", limb.variety, clone[limb.variety], limb.tree, 0.0, limb.crops)
            for limb in self.plan.limbs
        ]
        neighbours = [
            Node(n.id, "neighbour", n.variety, clone[n.variety], None, n.distance_m, False)
            for n in self.plan.neighbours
        ]
        candidates = [
            Node(
                f"scion {s.variety.name}, {s.variety.species}",
                "candidate",
                s.variety,
                clone[s.variety],
                None,
                0.0,
                s.crops,
                s.cost,
            )
            for s in scions
        ]
        kinds = self.catalogue.rules.fruits
        return tuple(
            replace(node, sheds_apart=kinds[node.variety.species].shed_apart)
            for node in (*limbs, *neighbours, *candidates)
        )

    def network_of(self, scions: tuple[Scion, ...] = ()) -> NetworkInput:
        """The network of the garden with these scions as candidates."""
        nodes = self.nodes(scions)
        varieties = self.varieties(scion.variety for scion in scions)
        bloom = bulk(self.bloom_of(varieties))
        row = {variety.id: index for index, variety in enumerate(varieties)}
        rows = np.array([row[node.variety] for node in nodes], dtype=int)
        shed_start, shed_end = self._shed(varieties, bloom)
        chill, flight = self._quality(varieties, bloom)
        return NetworkInput(
            nodes=nodes,
            open_start_h=_scenarios(bloom.start_h, rows),
            open_end_h=_scenarios(bloom.end_h, rows),
            shed_start_h=_scenarios(shed_start, rows),
            shed_end_h=_scenarios(shed_end, rows),
            verdicts=verdicts(
                [self.known[n.variety].fertility for n in nodes], self.catalogue.rules
            ),
            proximity=self._proximity(nodes),
            chill_quality=_scenarios(chill, rows),
            flight_share=_scenarios(flight, rows),
            aim=self.plan.aim,
            winters=bloom.start_h.shape[2],
        )

    def _quality(
        self, varieties: tuple[Variety, ...], bloom: Bloom
    ) -> tuple[FloatArray, FloatArray]:
        if self.outlook_sums is None or self.outlook is None:
            ones = np.ones(bloom.start_h.shape)
            return ones, ones
        chill = self._chill(varieties)
        flight = flight_share(bloom, self.outlook, self.plan.site.latitude)
        flight[[self.fruit_of(variety).pollen_by == "wind" for variety in varieties]] = 1.0
        return chill, flight

    def _shed(self, varieties: tuple[Variety, ...], bloom: Bloom) -> tuple[FloatArray, FloatArray]:
        """When pollen is shed: with bloom, unless the fruit's catkins have a time of their own.

        Where that time is not known, none of such a fruit's pollen is counted on.
        """
        if bloom.shed_start_h is None or bloom.shed_end_h is None:
            start, end = bloom.start_h, bloom.end_h
        else:
            start, end = bloom.shed_start_h, bloom.shed_end_h
        unknown = [self._sheds_untold(variety) for variety in varieties]
        if not any(unknown):
            return start, end
        start, end = start.copy(), end.copy()
        start[unknown] = end[unknown] = np.nan
        return start, end

    def _sheds_untold(self, variety: Variety) -> bool:
        """Whether its catkins have a time of their own that is not known."""
        return self.fruit_of(variety).shed_apart and not variety.sheds_apart

    def fruit_of(self, variety: Variety) -> Fruit:
        """The kind of fruit of a variety."""
        return self.catalogue.rules.fruits[variety.id.species]

    def _proximity(self, nodes: tuple[Node, ...]) -> FloatArray:
        distance = np.array([node.distance_m for node in nodes])
        # Only the way to the grower's own trees matters; two neighbours' trees never need it.
        return proximity(np.maximum.outer(distance, distance), self.plan.aim)

    @cached_property
    def network(self) -> NetworkInput:
        """The network of the garden as it stands."""
        return self.network_of()

    @cached_property
    def coverage(self) -> tuple[LimbCoverage, ...]:
        """Coverage of every limb that is to crop, and of the others for information."""
        return limb_coverage(self.network)

    @cached_property
    def warming(self) -> FloatArray | None:
        """Share of scenarios in which each limb of `coverage` is covered, shape (limbs, steps).

        One step for each of `WARMER_C`; None for a plan with typed dates only.
        """
        if self.winters is None:
            return None
        steps = (self.warmer(degrees) if degrees else self for degrees in WARMER_C)
        return np.stack([coverage_by_winter(s.network)[1].mean(axis=1) for s in steps], axis=1)

    def free_scions(self, *, from_catalogue: bool = False) -> tuple[Scion, ...]:
        """Scions that may be chosen: not blocked, of a fruit that stands in the garden."""
        wanted = {tree.species for tree in self.plan.trees}
        scions = self.catalogue_scions() if from_catalogue else self.plan.scions
        blocked = {scion.variety for scion in scions if scion.blocked is not None}
        # Several sticks of one variety are one candidate.
        free = {s.variety: s for s in scions if s.variety not in blocked}
        return tuple(s for s in free.values() if s.variety.species in wanted)

    def cover(self, *, from_catalogue: bool = False) -> tuple[NetworkInput, Cover]:
        """Smallest set of scions that covers every limb, with the network it was found in."""
        from pollinet.network.cover import smallest_cover

        network = self.network_of(self.free_scions(from_catalogue=from_catalogue))
        candidates = [i for i, node in enumerate(network.nodes) if node.kind == "candidate"]
        preferences = self.tie_breakers(network)
        return network, smallest_cover(
            network, candidates, self.spare_limbs(), preferences=preferences
        )

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
        """How many more grafts the trees of each fruit can carry."""
        spare: dict[str, int] = {}
        for tree in self.plan.trees:
            spare[tree.species] = spare.get(tree.species, 0) + tree.spare_limbs
        return spare


@cache
def trial_site_sums(site: Site, winters: int = 20) -> SeasonSums:
    """Chill and heat of a trial site, from winters generated out of its normals.

    The seed is fixed: where a variety was tried does not change from plan to plan.
    """
    assert site.normals is not None
    daily = generate_daily(
        site.normals,
        first_harvest_year=FIRST_GENERATED_YEAR,
        winters=winters,
        latitude=site.latitude,
        seed=0,
    )
    made, _ = split_winters(daily, site.latitude)
    assert made is not None
    return season_sums(made)


def _scenarios(values: FloatArray, rows: NDArray[np.int64]) -> FloatArray:
    """(V, K, W) → (N, K·W): scenario s is winter s % W of draw s // W."""
    scenarios: FloatArray = values.reshape(values.shape[0], -1)[rows]
    return scenarios
