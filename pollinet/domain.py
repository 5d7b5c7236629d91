"""Types shared by all stages: frozen, without behaviour beyond small derived properties.

*Unknown* is a state of its own everywhere: `None` in a field means that nobody has told us, and
no stage may turn it into yes, no or zero.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field
from datetime import date
from functools import cached_property
from math import ceil, floor
from typing import Any, Literal, NamedTuple, Protocol, Self, TypeAlias

import numpy as np
from numpy.typing import NDArray

FloatArray = NDArray[np.floating]
BoolArray = NDArray[np.bool_]

Position = tuple[float, float]
"""Metres east and north of a point that the grower chose. [m]"""

Status = Literal["published", "trade", "memory", "inferred", "plan", "invented"]
"""How far a value can be trusted: read in a source; read on the page of a nursery or a grower;
recalled and not confirmed; computed from another published measurement; typed by the grower; made
up for the demo."""

Stage = Literal["start", "full", "end"]
"""BBCH 61 (10 % of flowers open), BBCH 65 (full bloom), BBCH 67 (petal fall)."""


class VarietyId(NamedTuple):
    """A variety is known by its fruit and its name; the same name may serve two fruits."""

    species: str
    name: str


# --- facts and varieties ---------------------------------------------------------------------


@dataclass(frozen=True)
class Fact:
    """One value of one property of one variety, with where it comes from."""

    property: str
    value: str
    unit: str = ""
    context: str = ""
    source: str = ""
    status: Status = "published"
    note: str = ""


@dataclass(frozen=True)
class DisputedValue:
    """One of the values that sources give of one property of a variety.

    weight : chance that it is the right one, 0 to 1; 0: outweighed by the others, never used.
    told_by : who says so, each source with its status.
    note : why its weight is not that of its sources; empty where it is.
    """

    value: str
    weight: float
    told_by: tuple[tuple[str, Status], ...]
    note: str = ""


@dataclass(frozen=True)
class Dispute:
    """Values of one property of one variety that disagree, the likeliest first."""

    property: str
    values: tuple[DisputedValue, ...]


@dataclass(frozen=True)
class Genotype:
    """S-alleles of a variety, sorted, in the name space of its fruit (`("S3", "S4'")`).

    A homozygote carries its allele twice. `complete` is False where a source names only some of
    the alleles. `pollen_alleles` is what the pollen shows where that is not the same as the
    alleles of the tree (hazelnut); None: as in the style.
    """

    alleles: tuple[str, ...]
    complete: bool = True
    pollen_alleles: tuple[str, ...] | None = None


@dataclass(frozen=True)
class Alternative:
    """What a variety is if one side of what sources dispute is right.

    weight : chance that it is; the alternatives of a variety add up to 1.
    The others are those fields of `Fertility` that sources may disagree about.
    """

    weight: float
    genotype: Genotype | None = None
    ploidy: int | None = None
    self_fertile: bool | None = None
    pollen_ok: bool | None = None
    partly_self_fertile: bool = False

    @property
    def told(self) -> dict[str, Any]:
        """Those fields of `Fertility`."""
        return {name: value for name, value in vars(self).items() if name != "weight"}


@dataclass(frozen=True)
class Descent:
    """S-alleles of the two parents of a diploid; None for a parent whose alleles are not all known.

    told : whether it is known that the first is the seed parent, the second the pollen parent.
    """

    seed: tuple[str, str] | None
    pollen: tuple[str, str] | None
    told: bool = False


@dataclass(frozen=True)
class Fertility:
    """All that decides whether one variety's pollen serves another's flowers.

    clone : name of the variety whose clone or sport this is; its own name otherwise.
    ploidy : sets of chromosomes; None: not known.
    self_fertile : whether its own pollen can be counted on; None: not known.
    partly_self_fertile : a source says that its own pollen sets some fruit; `self_fertile` is then
        False.
    pollen_ok : None: not known. `pollen_ok` is a field of its own: some diploids
        have useless pollen, and a source may say that one triploid's pollen works.
    modifier_share : share of the pollen that is accepted whatever its S-allele (pollen-part
        modifiers outside the S-locus, as in some apricots); 0 where there is none.
    group : incompatibility group, used only where the genotype is missing.
    memory : names of those fields that rest on a `memory` value.
    inferred : names of those that were inferred and not observed (ploidy from marker genes).
    alternatives : what it may be where sources disagree, most likely first; empty where they do
        not. The fields above then hold what all alternatives agree on, and else that it is not
        known: of a disputed genotype the alleles that all of them have.
    descent : alleles of its parents, where its own are not all known; None: nothing follows.
    """

    id: VarietyId
    clone: str
    genotype: Genotype | None = None
    ploidy: int | None = None
    self_fertile: bool | None = None
    pollen_ok: bool | None = None
    modifier_share: float = 0.0
    group: str | None = None
    sources: tuple[str, ...] = ()
    memory: tuple[str, ...] = ()
    partly_self_fertile: bool = False
    inferred: tuple[str, ...] = ()
    alternatives: tuple[Alternative, ...] = ()
    descent: Descent | None = None

    @property
    def disputed(self) -> frozenset[str]:
        """Names of the fields that sources disagree about."""
        fields = ("genotype", "ploidy", "self_fertile", "pollen_ok")
        return frozenset(
            field for field in fields if len({getattr(one, field) for one in self.alternatives}) > 1
        )


@dataclass(frozen=True)
class BloomEvidence:
    """One observation of when a variety blooms at a place whose climate is known.

    stage : the stage that was dated.
    day : day of the year, no leap day; fractions allowed. [day of year]
    sd_days : how far this single value may be from the variety's usual date there. [days]
    place : key into the trial sites; `here` for the grower's own site.
    kind : `date` (a dated observation), `offset` (against a reference variety), `class`
        (early, mid, late …) or `typed` (the grower's usual dates).
    """

    stage: Stage
    day: float
    sd_days: float
    place: str
    kind: Literal["date", "offset", "class", "typed"]
    source: str
    status: Status = "published"
    context: str = ""


@dataclass(frozen=True)
class Run:
    """When the middle of a fruit's varieties blooms at a trial site: for those never dated.

    evidence : the day of that middle, and how far a variety is from it (SD over varieties).
    varieties : how many were dated there; 0: recalled.
    sheds : whether it is about the pollen shed of catkins, which have a time of their own.
    """

    evidence: BloomEvidence
    varieties: int
    sheds: bool = False


@dataclass(frozen=True)
class ChillRequirement:
    """Published winter chill that a variety needs, in chill portions of the Dynamic Model.

    method : `forced` (shoots cut in winter and kept warm until they break), `fitted` (on dates of
        bloom); empty: the source does not tell.
    """

    portions: float
    sd_portions: float
    source: str
    status: Status = "published"
    context: str = ""
    method: str = ""


@dataclass(frozen=True)
class ChillRange:
    """Winter chill that a fruit's varieties need, for those of which nothing is published.

    chill_class : `low`, `medium` or `high`: of the varieties that are called so; empty: of all.
    portions, sd_portions : middle, and spread of a variety about it. [chill portions]
    varieties : how many it was made from; 0: recalled.
    sd_studies : spread of studies of one variety by one method. [chill portions]
    """

    chill_class: str
    portions: float
    sd_portions: float
    varieties: int
    source: str
    status: Status = "published"
    sd_studies: float = 0.0


@dataclass(frozen=True)
class TypedBloom:
    """Bloom dates typed by the grower: one usual interval, or one for each of several springs.

    intervals : (first day, last day), both counted, day of the year. [day of year]
    sd_days : spread of the true dates about these; 0: exactly these dates. [days]
    """

    intervals: tuple[tuple[float, float], ...]
    sd_days: float | None = None


@dataclass(frozen=True)
class PickWindow:
    """When a variety is usually picked somewhere.

    first, last : day of the year. context : where and when; `here`: in the grower's own garden.
    """

    first: float
    last: float
    context: str
    source: str
    status: Status
    here: bool = False

    @property
    def days(self) -> tuple[int, int]:
        """Its first and last whole day."""
        return ceil(self.first), floor(self.last)


@dataclass(frozen=True)
class Variety:
    """A variety as the stages see it: fertility, bloom and chill evidence, and all raw facts.

    bloom, typed_bloom : when its flowers can be pollinated; they shed pollen at the same time
        unless `shed` or `typed_shed` tell otherwise (catkins of a hazelnut).
    disputes : what sources disagree about, for showing; what follows stands in `fertility`.
    """

    id: VarietyId
    fertility: Fertility
    bloom: tuple[BloomEvidence, ...] = ()
    bloom_length_days: float | None = None
    chill: tuple[ChillRequirement, ...] = ()
    typed_bloom: TypedBloom | None = None
    facts: tuple[Fact, ...] = ()
    shed: tuple[BloomEvidence, ...] = ()
    typed_shed: TypedBloom | None = None
    disputes: tuple[Dispute, ...] = ()
    picking: tuple[PickWindow, ...] = ()

    @property
    def sheds_apart(self) -> bool:
        """Whether it is known when its catkins shed pollen, apart from its flowers."""
        return bool(self.shed) or self.typed_shed is not None


@dataclass(frozen=True)
class Verdict:
    """May this donor's pollen serve this receiver's flowers?

    answer : `yes` (all pollen that is good), `half` (part of it), `no`, `unknown`.
    fraction : share of the donor's pollen that the style accepts, 0 to 1; None: unknown.
    probability : chance that any of the pollen is accepted; 1 or 0 where the answer is known.
    code : why, as a stable word for programs (`same-genotype`, `triploid-pollen`, …).
    accepted, refused : the donor's pollen alleles, sorted.
    memory : whether the answer rests on a value recalled and not confirmed.
    inferred : whether it rests on a value inferred and not observed.
    untold : sides whose S-alleles are not all known, where the answer hangs on them.
    """

    donor: VarietyId
    receiver: VarietyId
    answer: Literal["yes", "half", "no", "unknown"]
    fraction: float | None
    probability: float
    code: str
    accepted: tuple[str, ...] = ()
    refused: tuple[str, ...] = ()
    sources: tuple[str, ...] = ()
    memory: bool = False
    measured: tuple[str, ...] = ()
    inferred: bool = False
    untold: tuple[Literal["donor", "receiver"], ...] = ()


# --- the plan --------------------------------------------------------------------------------


@dataclass(frozen=True)
class Normals:
    """Twelve monthly means, January first. [°C]

    years : first and last year that they stand for; None: not told.
    """

    tmin_c: tuple[float, ...]
    tmax_c: tuple[float, ...]
    source: str = ""
    status: Status = "plan"
    years: tuple[int, int] | None = None


@dataclass(frozen=True)
class Site:
    """A place: latitude and longitude in degrees (south and west negative), elevation in m.

    latitude_known : False where a plan gives none and a northern one stands in; that will do for
        typed dates, and for nothing else.
    """

    name: str
    latitude: float
    longitude: float | None = None
    elevation_m: float | None = None
    normals: Normals | None = None
    latitude_known: bool = True


@dataclass(frozen=True)
class Aim:
    """What counts as covered. DEFAULTS.md tells where each default comes from.

    level : share of scenarios with a viable donor that a limb must reach.
    min_overlap_days : shortest shared bloom that makes a donor viable. [days]
    half_counts : whether half-compatible pollen makes a donor viable.
    donors : how many different viable donors a limb must have in the same scenario.
    near_m, far_m : a neighbour's tree counts in full up to the first distance and hardly at all at
        the second; None: as usual for the fruit. Advice differs, so both are settings. [m]
    draws, seed : size and seed of the ensemble.
    off_years : whether varieties whose crops tend to alternate, as the catalogue has it, are taken
        to flower every other year only.
    """

    level: float = 0.8
    min_overlap_days: float = 3.0
    half_counts: bool = True
    donors: int = 1
    near_m: float | None = None
    far_m: float | None = None
    draws: int = 32
    seed: int = 1
    off_years: bool = False


@dataclass(frozen=True)
class Limb:
    """A grafted limb, or the tree's own variety. `grafted`: year; None: long ago or unknown.

    typed : the name in the plan; empty: that of the variety.
    former_ids : ids that it had before; older notes in the log go by these.
    biennial : whether it flowers every other year only.
    known : False where its label is lost: it is any one of its fruit.
    """

    id: str
    tree: str
    variety: VarietyId
    grafted: int | None = None
    crops: bool = True
    former_ids: tuple[str, ...] = ()
    typed: str = ""
    biennial: bool = False
    known: bool = True


@dataclass(frozen=True)
class Tree:
    """A tree of the grower's own, with its limbs and how many more grafts it can carry.

    lost_limbs : ids of limbs that are gone; what the log has of these is passed over.
    position_m : where it stands; None: not told, beside the others.
    garden : in whose garden, where several are looked at together.
    rootstock : what it stands on, in the grower's words; empty: not told.
    """

    id: str
    species: str
    limbs: tuple[Limb, ...]
    spare_limbs: int = 0
    lost_limbs: tuple[str, ...] = ()
    position_m: Position | None = None
    garden: str = ""
    rootstock: str = ""


@dataclass(frozen=True)
class Neighbour:
    """A tree that is not the grower's own but whose pollen may arrive.

    typed : the name in the plan; empty: that of the variety.
    distance_m : from the garden; where only its position is told, from its nearest of that fruit.
    known : False where nobody knows such a variety: it is any one of its fruit.
    former_ids : ids that it had before; older notes in the log go by these.
    position_m : where it stands; None: not told.
    may_be_felled : whether limbs must do without it, too.
    biennial : whether it flowers every other year only.
    garden : to whose garden it is a neighbour, where several are looked at together.
    """

    id: str
    variety: VarietyId
    distance_m: float
    former_ids: tuple[str, ...] = ()
    typed: str = ""
    known: bool = True
    position_m: Position | None = None
    may_be_felled: bool = False
    biennial: bool = False
    garden: str = ""


@dataclass(frozen=True)
class Scion:
    """Wood that the grower could graft. `blocked`: why it must not be chosen; None: free.

    `crops` False: wanted for its pollen only. `cost`: weight in the smallest-set search.
    `source`, `rights`: where the wood comes from and who holds the rights, in the grower's words;
    None: not told.
    `biennial`: whether it flowers every other year only. `at_hand`: False where the wood must be
    ordered. `tree`: id of the tree it would go on; None: it is the same on any that has room.
    """

    variety: VarietyId
    blocked: str | None = None
    crops: bool = True
    cost: float = 1.0
    source: str | None = None
    rights: str | None = None
    biennial: bool = False
    at_hand: bool = True
    tree: str | None = None

    @property
    def graft(self) -> str:
        """What it is called among the candidates: its variety, and its tree where it matters."""
        return self.variety.name if self.tree is None else f"{self.variety.name} on {self.tree}"


@dataclass(frozen=True)
class Plan:
    """A garden as the plan file describes it. Names of varieties are already the resolved ones.

    lost_neighbours : ids of neighbours' trees that are gone, as `Tree.lost_limbs`.
    """

    site: Site
    aim: Aim
    trees: tuple[Tree, ...]
    neighbours: tuple[Neighbour, ...] = ()
    scions: tuple[Scion, ...] = ()
    own_varieties: tuple[Variety, ...] = ()
    weather_file: str | None = None
    file: str = ""
    lost_neighbours: tuple[str, ...] = ()

    @property
    def lost(self) -> frozenset[str]:
        """Ids of all that is gone; what the log has of these is passed over."""
        return frozenset(
            (*self.lost_neighbours, *(name for tree in self.trees for name in tree.lost_limbs))
        )

    @cached_property
    def limbs(self) -> tuple[Limb, ...]:
        """All limbs, in the order of the plan."""
        return tuple(limb for tree in self.trees for limb in tree.limbs)

    @property
    def presumed(self) -> tuple[Variety, ...]:
        """Varieties that stand for limbs and neighbours' trees of which nothing is known."""
        places: tuple[Limb | Neighbour, ...] = (*self.limbs, *self.neighbours)
        names = dict.fromkeys(place.variety for place in places if not place.known)
        return tuple(Variety(name, Fertility(name, clone=name.name)) for name in names)

    @cached_property
    def typed(self) -> Mapping[str, str]:
        """Names in the plan that are not those of the varieties, by id of limb or neighbour."""
        places: tuple[Limb | Neighbour, ...] = (*self.limbs, *self.neighbours)
        return {place.id: place.typed for place in places if place.typed}


# --- weather ---------------------------------------------------------------------------------


@dataclass(frozen=True)
class Spread:
    """How far the weather of a place strays from its monthly means, January first. [°C]

    sd_c : SD between years of the mean of a month.
    daily_sd_c : SD of the daily mean within a month.
    """

    sd_c: tuple[float, ...]
    daily_sd_c: tuple[float, ...]


@dataclass(frozen=True, eq=False)
class Stations:
    """Climates of S weather stations; months are the last axis, January first.

    ids, names, countries : S words; a country by its ISO 3166 code.
    latitude, longitude, elevation_m : shape (S,). [degrees, degrees, m]
    tmin_c, tmax_c : shape (S, 12), mean daily minimum and maximum. [°C]
    sd_c, daily_sd_c : shape (S, 12), as in `Spread`; NaN where nobody has reported them. [°C]
    """

    ids: tuple[str, ...]
    names: tuple[str, ...]
    countries: tuple[str, ...]
    latitude: FloatArray
    longitude: FloatArray
    elevation_m: FloatArray
    tmin_c: FloatArray
    tmax_c: FloatArray
    sd_c: FloatArray
    daily_sd_c: FloatArray


@dataclass(frozen=True)
class Moved:
    """By how much the temperatures of a record were moved, month by month, January first. [°C]

    to : `normals` typed in the plan, or the `height` of the site.
    """

    to: Literal["normals", "height"]
    tmin_c: tuple[float, ...]
    tmax_c: tuple[float, ...]


@dataclass(frozen=True, eq=False)
class DailyWeather:
    """A daily record without holes in its dates; missing values are NaN.

    dates : shape (days,), consecutive, `datetime64[D]`.
    tmin_c, tmax_c : shape (days,). [°C]
    rain_mm, wind_m_s : shape (days,) or None where the record has none. [mm, m/s mean of the day]
    generated : True where the values come out of a weather generator, not off an instrument.
    source : what it is, in words for the output.
    moved : what was done to the temperatures as they were measured; None: nothing.
    level_sd_c : how far all of them may be off alike, beside what the timing rules allow for. [°C]
    """

    dates: NDArray[np.datetime64]
    tmin_c: FloatArray
    tmax_c: FloatArray
    rain_mm: FloatArray | None = None
    wind_m_s: FloatArray | None = None
    generated: bool = False
    source: str = ""
    latitude: float | None = None
    longitude: float | None = None
    elevation_m: float | None = None
    moved: Moved | None = None
    level_sd_c: float = 0.0


@dataclass(frozen=True, eq=False)
class Winters:
    """Hourly temperature of whole seasons; one row a winter.

    harvest_years : shape (W,): the year in which each season blooms, ascending.
    starts : first day of each season.
    temperature_c : shape (W, 24 * season days), from 00:00 local solar time of the first day. [°C]
    rain_mm, wind_m_s : shape (W, season days) or None.
    dropped : (harvest year, reason) of the seasons left out.
    """

    harvest_years: tuple[int, ...]
    starts: tuple[date, ...]
    temperature_c: FloatArray
    rain_mm: FloatArray | None = None
    wind_m_s: FloatArray | None = None
    generated: bool = False
    dropped: tuple[tuple[int, str], ...] = ()


# --- bloom -----------------------------------------------------------------------------------


@dataclass(frozen=True, eq=False)
class Bloom:
    """Bloom of every variety in every scenario.

    varieties : V varieties, sorted.
    start_h, full_h, end_h : shape (V, K, W), draws by winters. Hours since the season's start;
        NaN: the variety does not bloom in that scenario. The end is exclusive: a typed interval
        10–12 April runs from 10 April 00:00 to 13 April 00:00. [h]
    shed_start_h, shed_end_h : shape (V, K, W), when pollen is shed; None: no variety sheds it at
        another time than that of its bloom. [h]
    starts : first day of each winter's season, length W.
    sd_days : shape (V,), standard deviation of the full bloom date here, all causes. [days]
    dated : shape (V,), whether a variety's bloom rests on evidence of its own (dates, classes or
        offsets of the catalogue, typed dates, own notes) and not on the run of its fruit.
    rests_on : for each variety, what its dates come from, in a few words.
    bulk_end_h : shape (V, K, W), when all but the stragglers are over that too little chill leaves
        behind, which are never counted for pollination; None: there are none. [h]
    shed_dated : shape (V,), `dated` for the pollen that is shed; None where `shed_start_h` is.
    """

    varieties: tuple[VarietyId, ...]
    start_h: FloatArray
    full_h: FloatArray
    end_h: FloatArray
    starts: tuple[date, ...]
    sd_days: FloatArray
    dated: BoolArray
    rests_on: tuple[str, ...] = ()
    shed_start_h: FloatArray | None = None
    shed_end_h: FloatArray | None = None
    bulk_end_h: FloatArray | None = None
    shed_dated: BoolArray | None = None


# --- timing ----------------------------------------------------------------------------------


@dataclass(frozen=True)
class TimingRule:
    """One plausible way in which a species times its bloom.

    forcing_day : day of the season, 0 its first, from whose beginning on heat counts. [days]
    k : how much one more portion lowers the logarithm of the heat needed. [1 / chill portion]
    weight : share of the draws that follow this rule; the weights of a species add up to 1.
    """

    forcing_day: float
    k: float
    weight: float


@dataclass(frozen=True)
class Timing:
    """How a species times its bloom, and how far that misses. All SDs in days.

    rules : plausible rules with their weights.
    site_sd_days : error shared by all varieties of the species at a site they are carried to.
    season_sd_days : error shared by all varieties of the species in one winter.
    own_sd_days : error of one variety in one winter.
    lead_days, tail_days : from 10 % open to full bloom, and from there to petal fall, in weather
        of 150 growing degree hours a day; inverse to the square root of that warmth.
    length_log_sd : SD between varieties of the logarithm of the length of bloom.
    borrowed : whether this is another species' timing, widened.
    carried_sd_days : error of one variety at a site it is carried to, beside that of all.
    length_site_log_sd, length_season_log_sd : errors of the logarithm of the length of bloom that
        all varieties share, at a site they are carried to and in one winter.
    """

    rules: tuple[TimingRule, ...]
    site_sd_days: float
    season_sd_days: float
    own_sd_days: float
    lead_days: float
    tail_days: float
    length_log_sd: float
    source: str = ""
    borrowed: bool = False
    carried_sd_days: float = 0.0
    length_site_log_sd: float = 0.0
    length_season_log_sd: float = 0.0


@dataclass(frozen=True)
class BloomRecord:
    """A bloom date that the grower wrote down in one spring.

    day : day of the year without leap day. [day of year]
    sd_days : how far the note may be off; None: the usual error of a note.
    """

    variety: VarietyId
    harvest_year: int
    stage: Stage
    day: float
    sd_days: float | None = None


# --- network ---------------------------------------------------------------------------------


@dataclass(frozen=True)
class Node:
    """A place pollen comes from or goes to.

    clone : name that all clones of one variety share; equal clones never pollinate each other.
    must_crop : whether it needs a donor itself (limbs that crop; candidates that are to crop).
    sheds_apart : whether its catkins have a time of their own, which is not that of its bloom.
    tree : of a candidate only where it matters on which of several trees it is grafted.
    position_m : where it stands; None: not told, see `network.proximity.distances_m`.
    at_hand : of a candidate, whether its wood is there; else it must be ordered.
    may_be_felled : of a neighbour's tree, whether limbs must do without it, too.
    biennial : whether it flowers every other year only.
    garden : in whose garden, or to whose, where several are looked at together.
    """

    id: str
    kind: Literal["limb", "neighbour", "candidate"]
    variety: VarietyId
    clone: str
    tree: str | None = None
    distance_m: float = 0.0
    must_crop: bool = True
    cost: float = 1.0
    sheds_apart: bool = False
    position_m: Position | None = None
    at_hand: bool = True
    may_be_felled: bool = False
    biennial: bool = False
    garden: str = ""

    @property
    def graft(self) -> str:
        """What a candidate is called, as `Scion.graft`."""
        return self.variety.name if self.tree is None else f"{self.variety.name} on {self.tree}"


class DrawnPairs(Protocol):
    """Pairs of nodes of which nobody knows whether the pollen is accepted, drawn.

    A pair is named by the indices of its nodes, and has a verdict that is unknown.
    """

    def fractions(self, donors: NDArray[np.int64], receivers: NDArray[np.int64]) -> FloatArray:
        """Share of the donor's pollen that is accepted in each draw, shape (P, K)."""
        ...

    def worst(self, donors: Sequence[int], receiver: int, least: float) -> BoolArray:
        """Which donors still serve in each worst case of what is not known, shape (C, D).

        least : a donor serves where at least this share of its pollen is accepted.
        """
        ...

    def best(self, donors: Sequence[int], receiver: int, least: float) -> BoolArray:
        """Which donors may serve in each best case of what is not known, shape (C, D)."""
        ...

    def kept(self, nodes: Sequence[int]) -> Self:
        """The same for some of the nodes, which get new numbers."""
        ...


@dataclass(frozen=True, eq=False)
class NetworkInput:
    """All that the network stage needs, as arrays over N nodes and S scenarios.

    Scenario s is (winter s % W, draw s // W): arrays of shape (K, W) are flattened row by row.

    nodes : N nodes; limbs first, then neighbours, then candidates, each sorted by the caller.
    open_start_h, open_end_h : shape (N, S). When flowers can be pollinated; NaN: no bloom. [h]
    shed_start_h, shed_end_h : shape (N, S). When pollen is shed; NaN: none. [h]
    verdicts : (donor index, receiver index) → verdict, for every pair of different nodes that
        could matter; a pair that is missing cannot pollinate (another kind of fruit).
    proximity : shape (N, N), 0 to 1, symmetric.
    chill_quality : shape (N, S), 0 to 1; 1 where the drawn requirement is met.
    drawn : what the pairs with an unknown verdict come to in each draw; None: no such pair is
        ever counted.
    dated : shape (N,), whether anything is known of when a node blooms; None: of all.
    flight_share : shape (N, S), share of the daylight hours of the node's bloom in which honey
        bees fly; 1 where nothing is known of the weather.
    resting : shape (N, S), where a node that flowers every other year gives others no pollen; None:
        all flower every year. As a receiver it is looked at as if it flowered: in a year without
        flowers it needs no donor.
    """

    nodes: tuple[Node, ...]
    open_start_h: FloatArray
    open_end_h: FloatArray
    shed_start_h: FloatArray
    shed_end_h: FloatArray
    verdicts: Mapping[tuple[int, int], Verdict]
    proximity: FloatArray
    chill_quality: FloatArray
    flight_share: FloatArray
    aim: Aim
    winters: int = 1
    min_chill_quality: float = 0.5
    min_proximity: float = 0.05
    drawn: DrawnPairs | None = None
    dated: BoolArray | None = None
    resting: BoolArray | None = None


# --- catalogue -------------------------------------------------------------------------------


@dataclass(frozen=True)
class Fruit:
    """One kind of fruit: how its fertility works and what is known of its timing.

    system : `gametophytic`, `sporophytic` or `class` (published self-fertility and pairs only).
    name_space : S-allele names mean the same only within one name space.
    folder : where its tables stand.
    pollen_by : what carries the pollen; wind asks for no bees.
    shed_apart : whether catkins shed pollen at another time than flowers can be pollinated.
    near_m, far_m : see `Aim`: how far its pollen is carried. [m]
    """

    name: str
    latin: str
    system: Literal["gametophytic", "sporophytic", "class"]
    name_space: str
    ploidy: int
    self_fertile_default: bool | None = None
    folder: str = ""
    other_names: tuple[str, ...] = ()
    pollen_by: Literal["bees", "wind"] = "bees"
    shed_apart: bool = False
    near_m: float = 18.0
    far_m: float = 100.0

    @property
    def genus(self) -> str:
        """First word of the Latin name."""
        return self.latin.partition(" ")[0]


@dataclass(frozen=True)
class MeasuredPair:
    """A cross that somebody made, or a source's plain statement about one."""

    species: str
    female: str
    male: str
    result: Literal["yes", "half", "no"]
    fruit_set_pct: str
    kind: str
    source: str
    status: Status
    note: str = ""


CrossingStrength = Literal["reliable", "possible", "not relied upon", "no", "unknown"]


@dataclass(frozen=True)
class CrossingRule:
    """Whether pollen of one fruit sets another fruit (`Japanese plum` on `peach`, …).

    strength : how far growers can count on it where both are in bloom; `possible` where the cross
        was made, `not relied upon` where sources advise against counting on it.
    """

    donor: str
    receiver: str
    strength: CrossingStrength
    source: str
    status: Status
    note: str = ""


@dataclass(frozen=True)
class AlleleFact:
    """What is special about one allele of one name space.

    alias_of : the name under which this allele is compared; empty: its own.
    mutant : `pollen` (its grains pass every style), `style` (the style lets it pass) or empty.
    """

    name_space: str
    allele: str
    alias_of: str = ""
    mutant: Literal["", "pollen", "style"] = ""
    source: str = ""
    status: Status = "published"
    note: str = ""


@dataclass(frozen=True)
class DominanceFact:
    """What the pollen of a plant with two alleles of one name space shows (hazelnut).

    shown : `first`: `allele` alone; `both`; `one`: whatever the other allele (`other` is empty),
        one of the two and never both.
    """

    name_space: str
    allele: str
    other: str
    shown: Literal["first", "both", "one"]
    source: str = ""
    status: Status = "published"
    note: str = ""


@dataclass(frozen=True)
class FertilityRules:
    """The tables that the fertility rules work with, for all fruits that were loaded."""

    fruits: Mapping[str, Fruit]
    alleles: tuple[AlleleFact, ...] = ()
    pairs: tuple[MeasuredPair, ...] = ()
    crossings: tuple[CrossingRule, ...] = ()
    allele_frequencies: Mapping[str, Mapping[str, float]] = field(default_factory=dict)
    usual: Mapping[str, UsualFertility] = field(default_factory=dict)
    dominance: tuple[DominanceFact, ...] = ()


@dataclass(frozen=True)
class UsualFertility:
    """What is usual among the varieties of one fruit: for those of which nothing is told.

    odd_ploidy : share of varieties with an odd number of sets, whose pollen is not good.
    unseen_alleles : chance that an S-allele is one that no variety of the tables carries.
    self_fertile : share of self-fertile ones among those of which it is told; None: of too few.
    """

    odd_ploidy: float = 0.0
    unseen_alleles: float = 0.0
    self_fertile: float | None = None


@dataclass(frozen=True)
class Catalogue:
    """The shipped tables (and the grower's own) of the fruits that were asked for.

    synonyms : varieties by their other names.
    trade_names : those of them under which fruit is sold; a way to find a variety, never told.
    also_named : what else a name of `synonyms` is used for.
    """

    varieties: Mapping[VarietyId, Variety]
    synonyms: Mapping[VarietyId, VarietyId]
    rules: FertilityRules
    sites: Mapping[str, Site]
    sources: Mapping[str, str]
    trade_names: frozenset[VarietyId] = frozenset()
    also_named: Mapping[VarietyId, tuple[VarietyId, ...]] = field(default_factory=dict)


# --- the log ---------------------------------------------------------------------------------


@dataclass(frozen=True)
class Observation:
    """One line of the log: what was seen on one limb.

    limb : id of a limb or neighbour of the plan; `all`: the whole garden.
    kind : a kind of `observations.csv`, such as `clusters` or `fruits`.
    year : the year in which the flowers that it is about opened.
    day : the date; None where only the year was written.
    number : the value in the kind's own unit; for a count out of a count, the first of the two.
    of : the second of the two; None: no such count.
    word : the value where it is a word (`full`, `ooze`).
    """

    limb: str
    kind: str
    year: int
    day: date | None = None
    number: float | None = None
    of: int | None = None
    word: str = ""
    unit: str = ""
    note: str = ""
    line: int = 0


@dataclass(frozen=True)
class Records:
    """The log of a garden: all that was seen, and its bloom dates for the bloom stage.

    named : ids that its rows name, also those of limbs that are gone or called otherwise now.
    left_out : notes that cannot be right; they stand in the log, and nothing is worked out of them.
    """

    observations: tuple[Observation, ...] = ()
    bloom: tuple[BloomRecord, ...] = ()
    named: frozenset[str] = frozenset()
    left_out: frozenset[Observation] = frozenset()

    @property
    def sound(self) -> tuple[Observation, ...]:
        """What was seen, without what is left out."""
        if not self.left_out:
            return self.observations
        return tuple(seen for seen in self.observations if seen not in self.left_out)


InputKind: TypeAlias = Literal["plan", "log", "weather", "own table"]


@dataclass(frozen=True)
class InputFile:
    """A file that a study was made from.

    file : as the plan names it, beside the plan where it does not say otherwise; a weather file
        given in place of the plan's own as it was given. sha256 : of its bytes, in hexadecimal.
    """

    kind: InputKind
    file: str
    sha256: str
