"""A study → the diagnosis of a limb and the balance of its trees, for every presentation."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass

import numpy as np

from pollinet.advice.balance import (
    LimbBalance,
    Thinning,
    fruits_to_leave,
    thinning_of,
    tree_balance,
)
from pollinet.advice.computed import (
    Compared,
    FrostLimits,
    Site,
    against_winters,
    computed,
    dependants,
)
from pollinet.advice.diagnosis import Diagnosis, diagnose
from pollinet.advice.look import BloomLook, LeafingLook, bloom_look, leafing_look, likeliest
from pollinet.advice.observed import Log, alternation, live_needed, observed
from pollinet.advice.rules import Measure, split
from pollinet.advice.suspicion import Suspicion
from pollinet.compatibility.ploidy import pollen_fault
from pollinet.domain import Bloom, Limb, VarietyId
from pollinet.phenology.adequacy import assumed_range
from pollinet.readers.advice import advice_tables
from pollinet.readers.bearing import load_bearing
from pollinet.readers.chill_ranges import load_chill_ranges
from pollinet.readers.frost import load_frost_limits
from pollinet.study import Study


@dataclass(frozen=True)
class LimbDiagnosis:
    """The diagnosis of one limb with what else the garden says about it.

    year : the year of bloom that it is about. measures : all that is known.
    year_measured : whether the weather of that year was measured at the site.
    dependants : limbs that are covered only because of this one.
    fruits : fewest and most fruits to leave by its thickness. live_needed : share of live flowers
    that make a full crop. seeds : of the last fruits cut, with the year.
    alternates : whether its crops alternate. genotype_known, in_catalogue : of its variety. gives :
    whether its pollen is not known to be bad.
    cautions : texts that hold for its fruit. compared : its year against the others of the record.
    suspicion : of a disease, on its tree. signs : of disease, noted on the limb that year.
    """

    limb: Limb
    year: int
    diagnosis: Diagnosis
    measures: dict[str, Measure]
    year_measured: bool
    dependants: tuple[str, ...]
    fruits: tuple[int, int] | None
    diameter_mm: float | None
    live_needed: float | None
    seeds: tuple[float, int] | None
    alternates: bool
    genotype_known: bool
    in_catalogue: bool
    cautions: dict[str, str]
    compared: tuple[Compared, ...] = ()
    gives: bool = True
    suspicion: Suspicion | None = None
    signs: tuple[str, ...] = ()


def diagnosis_year(study: Study, limb: Limb) -> int | None:
    """The year of bloom to ask about: the last one noted for the limb, else the last measured.

    None: nothing is noted, and the weather was not measured.
    """
    years = [o.year for o in study.records.sound if o.limb == limb.id]
    if years:
        return max(years)
    winters = study.winters
    return None if winters is None or winters.generated else winters.harvest_years[-1]


def limb_diagnosis(study: Study, limb: Limb, year: int) -> LimbDiagnosis:
    """Why a limb did not crop in a year, from the log, the weather and the pollen."""
    tables, network = advice_tables(), study.network
    log = Log(study.plan, study.records)
    node = next(i for i, n in enumerate(network.nodes) if n.kind == "limb" and n.id == limb.id)
    variety = study.known[limb.variety]
    drawn = assumed_range(variety, load_chill_ranges(limb.variety.species)) is not None
    site = Site(
        network, study.winters, study.plan.site.latitude, node,
        chill_known=bool(variety.chill), chill_drawn=drawn,
    )  # fmt: skip
    measures = {
        **computed(site, limb, year, variety, study.records, frost_limits()),
        **observed(log, limb, year, study.known, tables),
    }
    fruit = limb.variety.species
    thick = log.last(limb.id, "diameter")
    diameter = None if thick is None else thick.number
    seeds = log.last(limb.id, "seeds")
    index, pairs = alternation(log.crops(limb.id))
    group = variety.fertility.group
    return LimbDiagnosis(
        limb=limb,
        year=year,
        diagnosis=diagnose(fruit, measures, tables),
        measures=measures,
        year_measured="flight" in measures,
        dependants=tuple(network.nodes[i].id for i in dependants(network, node)),
        fruits=None if diameter is None else fruits_to_leave(diameter, fruit, tables["load"]),
        diameter_mm=diameter,
        live_needed=live_needed(fruit, tables["set"]),
        seeds=None if seeds is None or seeds.number is None else (seeds.number, seeds.year),
        alternates=pairs >= 3 and index >= 0.5,
        genotype_known=variety.fertility.genotype is not None or group is not None,
        in_catalogue=limb.variety in study.catalogue.varieties,
        cautions={
            row["caution"]: row["text"]
            for row in tables["cautions"]
            if not row["fruits"] or fruit in split(row["fruits"])
        },
        compared=against_winters(site, year, measures),
        gives=pollen_fault(variety.fertility, study.fruit_of(variety)) is None,
        suspicion=next((one for one in study.suspected if one.holder == limb.tree), None),
        signs=tuple(
            dict.fromkeys(
                o.word for o in log.seen(limb.id, "disease", year) if o.word not in ("", "none")
            )
        ),
    )


def frost_limits() -> FrostLimits:
    """Killing temperatures by fruit and stage, tight cluster included."""
    limits: dict[str, dict[str, tuple[float, float]]] = {
        fruit: {str(stage): pair for stage, pair in stages.items()}
        for fruit, stages in load_frost_limits().items()
    }
    for row in advice_tables()["frost"]:
        pair = float(row["kill_10_c"]), float(row["kill_90_c"])
        limits.setdefault(row["fruit"], {})[row["stage"]] = pair
    return limits


def garden_balance(study: Study, year: int | None = None) -> dict[str, tuple[LimbBalance, ...]]:
    """Balance of every tree by its id.

    year : this one; None: each limb is judged by its age when it was last measured.
    """
    log, tables = Log(study.plan, study.records), advice_tables()
    ages = load_bearing({tree.species for tree in study.plan.trees}, "graft on a bearing tree")
    return {
        tree.id: tree_balance(tree, log, study.known, tables, ages[tree.species].late, year)
        for tree in study.plan.trees
    }


def garden_thinning(study: Study) -> dict[str, tuple[Thinning, ...]]:
    """How each kind of fruit of the garden is thinned, as sources say; empty: not known."""
    load = advice_tables()["load"]
    return {tree.species: thinning_of(tree.species, load) for tree in study.plan.trees}


@dataclass(frozen=True)
class TreeLook:
    """How even a tree looks in spring, in bloom and coming into leaf."""

    bloom: BloomLook
    leafing: LeafingLook


def garden_looks(study: Study) -> dict[str, TreeLook]:
    """The look of every tree with two limbs or more, by its id."""
    noted: dict[int, dict[str, float]] = {}
    for seen in study.records.sound:
        if seen.kind == "leafing" and seen.day is not None:
            noted.setdefault(seen.year, {})[seen.limb] = seen.day.toordinal()
    return {
        tree.id: TreeLook(
            tree_bloom_look(study.bloom, {limb.id: limb.variety for limb in tree.limbs}),
            leafing_look([limb.id for limb in tree.limbs], noted),
        )
        for tree in study.plan.trees
        if len(tree.limbs) > 1
    }


def tree_bloom_look(bloom: Bloom, limbs: Mapping[str, VarietyId]) -> BloomLook:
    """How even a tree with these limbs is in bloom, by the likeliest dates of every winter.

    That a variety's own dates are little known must not make a tree look uneven; one that nobody
    has dated is not known, whatever the run of its fruit.
    """
    rows = [bloom.varieties.index(variety) for variety in limbs.values()]
    undated = ~bloom.dated[rows]
    hours = [likeliest(values[rows]) for values in (bloom.start_h, bloom.full_h, bloom.end_h)]
    for values in hours:
        values[undated] = np.nan
    return bloom_look(list(limbs), *hours)
