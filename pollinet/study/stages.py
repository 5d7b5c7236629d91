"""Stages of one garden, each with the results it has given: the same question is worked out once.

Every class here stands for inputs that do not change; what does change (a variety, how much warmer
it is, the notes that count) is asked with each question.
"""

from __future__ import annotations

from collections.abc import Hashable, Iterable, Mapping, Sequence
from dataclasses import dataclass, replace
from functools import cache

import numpy as np

from pollinet.domain import (
    BloomRecord,
    ChillRange,
    DailyWeather,
    FloatArray,
    NetworkInput,
    Run,
    Timing,
    Variety,
    Winters,
)
from pollinet.findings import Finding
from pollinet.network.coverage import Earlier, LimbCoverage, must_crop, table_coverage
from pollinet.network.donors import DonorTable, Known, donor_table, untouched
from pollinet.network.viability import present_of
from pollinet.phenology.adequacy import variety_chill_quality
from pollinet.phenology.bloom import (
    BloomRow,
    Ground,
    Peers,
    SharedErrors,
    bloom_rows,
    ground_of,
    shared_errors,
)
from pollinet.phenology.climate import Climate
from pollinet.phenology.flight import FlightHours, flight_hours, share_flown
from pollinet.phenology.positions import families
from pollinet.phenology.straggling import straggling_row
from pollinet.phenology.sums import SeasonSums, many_season_sums
from pollinet.phenology.supply import ChillSupply, chill_supply
from pollinet.study.store import Same
from pollinet.weather.winters import split_winters


class SiteWeather:
    """The winters of a record, as they were and made warmer, with what follows from them."""

    def __init__(self, record: DailyWeather, latitude: float) -> None:
        self.latitude = latitude
        self._split = split_winters(record, latitude)
        self.winters = cache(self._winters)
        self._sums: dict[float, SeasonSums] = {}
        self.climate = cache(self._climate)
        self.chill_supply = cache(self._chill_supply)
        self.flight = cache(self._flight)

    @property
    def findings(self) -> tuple[Finding, ...]:
        """What is wrong with the record."""
        return self._split[1]

    def _winters(self, warmer_c: float) -> Winters:
        """Hourly winters, every hour warmer by so much. [°C]"""
        winters = self._split[0]
        if warmer_c == 0:
            return winters
        return replace(winters, temperature_c=winters.temperature_c + warmer_c)

    def sums(self, warmer_c: float) -> SeasonSums:
        """Chill and heat of winters that are warmer by so much. [°C]"""
        self.prepare([warmer_c])
        return self._sums[warmer_c]

    def prepare(self, steps_c: Iterable[float]) -> None:
        """Work out the sums for several steps of warming at once. [°C]"""
        missing = [step for step in dict.fromkeys(steps_c) if step not in self._sums]
        if missing:
            made = many_season_sums([self.winters(step) for step in missing])
            self._sums |= dict(zip(missing, made, strict=True))

    def take(self, sums: Mapping[float, SeasonSums]) -> None:
        """Keep sums by steps of warming that were worked out together with those of others."""
        self._sums |= sums

    def _climate(self, warmer_c: float) -> Climate:
        return Climate(self.sums(warmer_c))

    def _chill_supply(self, warmer_c: float) -> ChillSupply:
        return chill_supply(self.winters(warmer_c))

    def _flight(self, warmer_c: float) -> FlightHours:
        return flight_hours(self.winters(warmer_c), self.latitude)


@dataclass(frozen=True, eq=False)
class VarietyRow:
    """All that one variety brings to the network, arrays of shape (S,); see `NetworkInput`.

    winters : of the S scenarios.
    dated : whether bloom, and pollen where it is shed apart, rest on evidence of its own.
    """

    winters: int
    dated: bool

    open_start_h: FloatArray
    open_end_h: FloatArray
    shed_start_h: FloatArray
    shed_end_h: FloatArray
    chill_quality: FloatArray
    flight_share: FloatArray


class SpeciesBloom:
    """Bloom of one species at a site with weather; each variety is worked out once."""

    def __init__(
        self,
        species: str,
        weather: SiteWeather,
        sites: Mapping[str, Climate],
        timing: Timing,
        peers: Peers,
        runs: Sequence[Run],
        chill_ranges: Sequence[ChillRange],
        *,
        draws: int,
        seed: int,
    ) -> None:
        self.weather = weather
        self.chill_ranges = chill_ranges
        self.ground: Ground = ground_of(
            species, weather.climate(0.0), sites, timing, peers,
            draws=draws, latitude=weather.latitude, seed=seed, runs=runs,
        )  # fmt: skip
        self._shared: dict[Hashable, SharedErrors] = {}
        self._rows: dict[Hashable, BloomRow] = {}
        self._quality: dict[Hashable, FloatArray] = {}

    def rows(
        self,
        varieties: Sequence[Variety],
        warmer_c: float,
        notes: Iterable[BloomRecord],
        *,
        keep: bool = True,
    ) -> list[BloomRow]:
        """Bloom of some varieties of the species, in their order.

        notes : those on other varieties than these are passed over.
        keep : whether what is worked out shall be kept.
        """
        shared = self._shared_errors(varieties, notes, keep=keep)
        keys = [(Same(variety), warmer_c, shared) for variety in varieties]
        rows = [self._rows.get(key) for key in keys]
        missing = [v for v, row in zip(varieties, rows, strict=True) if row is None]
        if not missing:
            return [row for row in rows if row is not None]
        told = self.weather.climate(warmer_c)
        made = {
            row.variety: row for row in bloom_rows(missing, self.ground, told, shared)
        }  # fmt: skip
        seed = self.ground.seed
        fresh = [
            straggling_row(made[v.id], v, self.chill_quality(v, warmer_c), seed=seed)
            if row is None
            else row
            for v, row in zip(varieties, rows, strict=True)
        ]
        if keep:
            self._rows |= dict(zip(keys, fresh, strict=True))
        return fresh

    def site_shift_days(
        self, varieties: Sequence[Variety], notes: Iterable[BloomRecord]
    ) -> FloatArray:
        """Drawn error of the site as the notes have it, shape (K,); + is later. [days]"""
        shared = self._shared_errors(varieties, notes, keep=True)
        return self.ground.timing.site_sd_days * shared.site

    def _shared_errors(
        self, varieties: Sequence[Variety], notes: Iterable[BloomRecord], *, keep: bool
    ) -> SharedErrors:
        names = {variety.id for variety in varieties}
        about = tuple(note for note in notes if note.variety in names)
        key: Hashable = ()
        if about:
            # What is learnt hangs on the notes and on the families that they are about, in order.
            noted = {note.variety for note in about}
            members = ((v for v in group.members if v.id in noted) for group in families(varieties))
            key = about, tuple(tuple(map(Same, some)) for some in members)
        shared = self._shared.get(key)
        if shared is None:
            shared = shared_errors(varieties, self.ground, about)
            if keep:
                self._shared[key] = shared
        return shared

    def chill_quality(self, variety: Variety, warmer_c: float) -> FloatArray:
        """Quality of a variety's flowers after each winter, shape (K, W)."""
        key = Same(variety), warmer_c
        if key not in self._quality:
            sums, ground = self.weather.sums(warmer_c), self.ground
            self._quality[key] = variety_chill_quality(
                variety, sums, draws=ground.draws, seed=ground.seed, ranges=self.chill_ranges
            )
        return self._quality[key]


def network_row(
    row: BloomRow,
    chill_quality: FloatArray | None,
    flight: FlightHours | None,
    *,
    is_shed_known: bool,
) -> VarietyRow:
    """What a variety brings to the network; without stragglers, which are never counted.

    chill_quality : shape (K, W); None: 1.
    flight : None: bees are not asked for.
    is_shed_known : where it is not, none of its pollen is counted on.
    """
    start, full, end = row.hours
    if row.bulk_end_h is not None:
        end = row.bulk_end_h
    shed_start, shed_end = (start, end) if row.shed is None else row.shed
    apart = row.shed is not None or not is_shed_known
    if not is_shed_known:
        shed_start = shed_end = np.full(start.shape, np.nan)
    quality = np.ones(start.shape) if chill_quality is None else chill_quality
    flown = np.ones(start.shape) if flight is None else share_flown(start, full, end, flight)
    opens, closes = start.ravel(), end.ravel()
    sheds = (shed_start.ravel(), shed_end.ravel()) if apart else (opens, closes)
    dated = row.dated and (row.shed_dated or not apart)
    return VarietyRow(
        start.shape[1], dated, opens, closes, *sheds, quality.ravel(), flown.ravel()
    )  # fmt: skip


@dataclass(frozen=True, eq=False)
class Covered:
    """A garden that was looked at: its donors and what they come to, by what makes up a node."""

    nodes: frozenset[Hashable]
    places: Mapping[Hashable, int]
    table: DonorTable
    coverage: tuple[LimbCoverage, ...]


class GardenCoverage:
    """Coverage of gardens under one aim and one set of rules; pairs of before are taken over."""

    GARDENS = 4
    """How many gardens are kept to take over from. Own convention: one to come back to, and some
    tried beside it."""

    def __init__(self) -> None:
        self._recent: list[Covered] = []

    def of(self, network: NetworkInput, keys: Sequence[Hashable]) -> Covered:
        """Coverage of the limbs of a garden without candidates.

        keys : for each node all that a pair with it hangs on: equal only to those of the very same
            node with the very same bloom.
        """
        here = present_of(network)
        limbs = must_crop(network, here)
        nodes = frozenset(keys)
        alike = [len(nodes & old.nodes) for old in self._recent]
        best = self._recent[alike.index(max(alike))] if any(alike) else None
        if best is None:
            table = donor_table(network, limbs, here)
            found = Covered(nodes, _places(keys), table, table_coverage(network, table))
        else:
            known = _known(best, keys, limbs, here)
            table = donor_table(network, limbs, here, known)
            was = [None if row < 0 else best.coverage[row] for row in known.rows.tolist()]
            earlier = Earlier(was, untouched(table, known))
            found = Covered(nodes, _places(keys), table, table_coverage(network, table, earlier))
        used = [] if best is None else [best]
        others = [old for old in self._recent if old is not best]
        self._recent = [found, *used, *others][: self.GARDENS]
        return found


def _places(keys: Sequence[Hashable]) -> dict[Hashable, int]:
    return {key: place for place, key in enumerate(keys)}


def _known(
    old: Covered, keys: Sequence[Hashable], limbs: Sequence[int], here: Sequence[int]
) -> Known:
    before = [old.places.get(key, -1) for key in keys]
    rows = {node: row for row, node in enumerate(old.table.receivers)}
    columns = {node: column for column, node in enumerate(old.table.donors)}
    return Known(
        old.table,
        np.array([rows.get(before[limb], -1) for limb in limbs], dtype=np.int64),
        np.array([columns.get(before[node], -1) for node in here], dtype=np.int64),
    )
