"""Weather, bloom and pollen of the study → measures of one limb in one year.

What belongs to one year comes only from weather that was measured in it; generated winters and
typed dates say what is usual, not what was.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, replace
from math import nan
from statistics import fmean, median

import numpy as np

from pollinet.advice.rules import Measure
from pollinet.days import season_start
from pollinet.domain import Limb, NetworkInput, Records, Variety, Verdict, Winters
from pollinet.messages import say
from pollinet.network.coverage import limb_coverage
from pollinet.network.overlap import signed_overlap_h
from pollinet.network.viability import present_of, unpack, viability
from pollinet.phenology.adequacy import often_enough
from pollinet.phenology.flight import flight_hours, share_flown

FrostLimits = Mapping[str, Mapping[str, tuple[float, float]]]
"""Temperatures that kill 10 % and 90 % of the flowers, by fruit and stage. [°C]"""

STAGE_WORDS = {
    "tight cluster": say("tight cluster"),
    "start": say("first flowers"),
    "full": say("full bloom"),
}

BAD_POLLEN = ("triploid-pollen", "sterile-pollen")

PINK_DAYS, TIGHT_DAYS, AFTER_DAYS = 5, 15, 7
"""From how many days before the first flowers buds are as tender as flowers and from when they
are in tight cluster, and until when after petal fall fruitlets are tender. Own convention."""


FULL_AT = 0.4
"""Share of the bloom that lies before full bloom, as for typed intervals."""

UNSURE = 0.05
"""How much pairs with an unknown verdict may add to the chance of a partner that is told, where it
lies on both sides of `OFTEN`. Own convention."""

OFTEN = 0.8
"""The chance of a partner on which the rules of `evidence.csv` turn."""


@dataclass(frozen=True, eq=False)
class Site:
    """What the study knows, for one limb.

    winters : None without weather. node : index of the limb in the network.
    chill_known, chill_drawn : whether a chill requirement is published for its variety, and whether
    one is drawn from the range of its fruit in its stead.
    noted : first, full and last day of its bloom in the year asked for, from its own notes, since
    the season's start; NaN: not noted.
    """

    network: NetworkInput
    winters: Winters | None
    latitude: float
    node: int
    chill_known: bool
    noted: tuple[float, float, float] = (nan, nan, nan)
    chill_drawn: bool = False


def computed(
    site: Site,
    limb: Limb,
    year: int,
    variety: Variety,
    records: Records,
    limits: FrostLimits,
) -> dict[str, Measure]:
    """All measures that weather, bloom and alleles give for a limb in a year."""
    site = as_noted(site, year, records)
    columns = _columns(site, year)
    return {
        **_chill(site, year),
        **_partners(site, columns),
        **_good_partner(site.network, site.node, columns),
        **_flight(site, year),
        **_temperatures(site, limb, year, records, limits),
        **_facts(variety),
    }


def winter_index(site: Site, year: int) -> int | None:
    """Row of the winter of a year; None where it was not measured."""
    winters = site.winters
    if winters is None or winters.generated or year not in winters.harvest_years:
        return None
    return winters.harvest_years.index(year)


def _columns(site: Site, year: int) -> np.ndarray:
    """Scenarios of the year, or all of them where the year was not measured."""
    scenarios = np.arange(site.network.open_start_h.shape[1])
    row = winter_index(site, year)
    return scenarios if row is None else scenarios[scenarios % site.network.winters == row]


def _chill(site: Site, year: int) -> dict[str, Measure]:
    if not (site.chill_known or site.chill_drawn) or site.winters is None:
        return {}
    quality = site.network.chill_quality[site.node]
    found = {"chill_usual": Measure(often_enough(quality), None, "chill")}
    if site.chill_known and winter_index(site, year) is not None:
        mean = float(quality[_columns(site, year)].mean())
        found["chill_quality"] = Measure(mean, None, "chill")
    return found


def _flight(site: Site, year: int) -> dict[str, Measure]:
    """Share of the daylight of its bloom in which bees could fly; missing: no bloom is known."""
    row = winter_index(site, year)
    if row is None or site.winters is None:
        return {}
    network, columns = site.network, _columns(site, year)
    columns = columns[np.isfinite(network.open_start_h[site.node, columns])]
    if not columns.size:
        return {}
    if np.isfinite(site.noted).all():
        start, full, end = (np.full((1, network.winters), 24 * day) for day in site.noted)
        hours = flight_hours(site.winters, site.latitude)
        return {"flight": Measure(float(share_flown(start, full, end, hours)[0, row]))}
    return {"flight": Measure(float(network.flight_share[site.node, columns].mean()))}


def _partners(site: Site, columns: np.ndarray) -> dict[str, Measure]:
    """Who is open with it, and whether their pollen is accepted."""
    network, node = site.network, site.node
    itself = network.verdicts.get((node, node))
    if itself is not None and itself.answer == "yes":
        served = {"partners": say("its own pollen serves it")}
        return {"open_partner": Measure(1.0, None, "partners", served),
                "refused_only": Measure(0.0, None, "partners", served),
                "bad_pollen_only": Measure(0.0, None, "partners", served)}  # fmt: skip
    if not np.isfinite(network.open_start_h[node]).any():
        return {}
    shared = {donor: _long_enough(network, donor, node, columns)
              for donor in possible_partners(network, node)}  # fmt: skip
    together = np.array(list(shared.values())).reshape(len(shared), len(columns))
    found = {"open_partner": Measure(float(together.any(axis=0).mean()), None, "partners")}
    open_ones = [donor for donor, flags in shared.items() if flags.mean() >= 0.5]
    return found | _pollen(network, node, open_ones)


def _good_partner(network: NetworkInput, node: int, columns: np.ndarray) -> dict[str, Measure]:
    """How sure pollen that it accepts is about while it blooms; missing: nobody can say.

    Pollen accepted by half sets fruit, whatever the plan asks of a donor. Scenarios in which the
    limb itself lacked chill say nothing of its partners, and pairs with an unknown verdict count at
    their chance, but where it would make a difference to the rules nothing is told.
    """
    chilled = network.chill_quality[node] >= network.min_chill_quality
    asked = columns[(chilled & np.isfinite(network.open_start_h[node]))[columns]]
    if not asked.size:
        return {}
    lenient = replace(network, aim=replace(network.aim, half_counts=True))
    present = np.array(present_of(network), dtype=np.int64)
    low, high = (
        float(unpack(found.given(0, present), found.scenarios)[:, asked].any(axis=0).mean())
        for found in (viability(lenient, [node], unknown=unknown) for unknown in (False, True))
    )  # fmt: skip
    known = high - low < UNSURE or (low < OFTEN) == (high < OFTEN)
    return {"good_partner": Measure(low, None, "partners")} if known else {}


def possible_partners(network: NetworkInput, node: int) -> list[int]:
    """Other varieties of fruits that may set it, near enough."""
    mine = network.nodes[node]
    return [
        i for i in present_of(network)
        if (i, node) in network.verdicts
        and (network.nodes[i].clone, network.nodes[i].variety.species)
        != (mine.clone, mine.variety.species)
        and network.verdicts[i, node].code != "other-fruit"
        and network.proximity[i, node] >= network.min_proximity
    ]  # fmt: skip


def _long_enough(network: NetworkInput, donor: int, node: int, columns: np.ndarray) -> np.ndarray:
    hours = signed_overlap_h(
        network.shed_start_h[donor, columns], network.shed_end_h[donor, columns],
        network.open_start_h[node, columns], network.open_end_h[node, columns],
    )  # fmt: skip
    return np.asarray(np.nan_to_num(hours) >= 24 * network.aim.min_overlap_days - 1e-6)


def _pollen(network: NetworkInput, node: int, open_ones: Sequence[int]) -> dict[str, Measure]:
    if not open_ones:
        return {}
    verdicts: list[Verdict] = [network.verdicts[donor, node] for donor in open_ones]
    names = sorted({network.nodes[donor].variety.name for donor in open_ones})
    words = {"partners": ", ".join(names)}
    if any(verdict.answer in ("yes", "half") for verdict in verdicts):
        good = sorted({v.donor.name for v in verdicts if v.answer in ("yes", "half")})
        words = {"partners": ", ".join(good)}
        return {"refused_only": Measure(0.0, None, "partners", words),
                "bad_pollen_only": Measure(0.0, None, "partners", words)}  # fmt: skip
    if any(verdict.answer == "unknown" for verdict in verdicts):
        return {}
    bad = [verdict.code in BAD_POLLEN for verdict in verdicts]
    return {
        "bad_pollen_only": Measure(float(all(bad)), None, "partners", words),
        **({} if all(bad) else {"refused_only": Measure(1.0, None, "partners", words)}),
    }


@dataclass(frozen=True)
class Compared:
    """A measure of one year against the other winters of the record.

    usual : their median. others : how many they are. below : how many of them had less.
    """

    measure: str
    value: float
    usual: float
    others: int
    below: int


FEWEST_WINTERS = 5
"""Other winters from which a comparison is told. Own convention."""


def against_winters(site: Site, year: int, known: Mapping[str, Measure]) -> tuple[Compared, ...]:
    """Chill and bee weather of a measured year against the other winters of its record."""
    row, network = winter_index(site, year), site.network
    if row is None or network.winters <= FEWEST_WINTERS:
        return ()
    of_winter = np.arange(network.open_start_h.shape[1]) % network.winters
    blooms = np.isfinite(network.open_start_h[site.node])
    found = []
    for name, values in (
        ("chill_quality", network.chill_quality),
        ("flight", network.flight_share),
    ):
        others = [
            float(values[site.node, asked].mean())
            for other in range(network.winters)
            if other != row and (asked := (of_winter == other) & blooms).any()
        ]
        if name in known and len(others) >= FEWEST_WINTERS:
            value = known[name].value
            below = sum(other < value for other in others)
            found.append(Compared(name, value, median(others), len(others), below))
    return tuple(found)


def _temperatures(
    site: Site, limb: Limb, year: int, records: Records, limits: FrostLimits
) -> dict[str, Measure]:
    """Frost at the limb's stage and heat at its full bloom."""
    start, full, end = bloom_days(site, year)
    found: dict[str, Measure] = {}
    row = winter_index(site, year)
    hourly = None if row is None or site.winters is None else site.winters.temperature_c[row]
    nights = logged_frosts(limb, year, records, site.latitude)
    measured = hourly is not None and np.isfinite(hourly).all()
    if measured and hourly is not None:
        lows = hourly.reshape(-1, 24).min(axis=1)
        nights += [(float(day), float(low)) for day, low in enumerate(lows)]
    worst = _worst(nights, (start, full, end), limits.get(limb.variety.species, {}))
    # A mild night in the log does not say that no other was colder.
    if worst is not None and (measured or worst.value >= 0.1):
        found["frost_kill"] = worst
    if measured and hourly is not None and np.isfinite(full):
        first = max(int(24 * (full - 1)), 0)
        found["bloom_heat"] = Measure(float(hourly[first : first + 96].max()))
    return found


def bloom_days(site: Site, year: int) -> tuple[float, float, float]:
    """First, full and last day of bloom since the season's start: as noted, else as computed."""
    if np.isfinite(site.noted).all():
        return site.noted
    columns = _columns(site, year)
    start, end = _usual_days(site.network, site.node, columns)
    return start, start + FULL_AT * (end - start), end


def as_noted(site: Site, year: int, records: Records) -> Site:
    """The same with the bloom of the year as it was noted, for every limb that has notes of it."""
    network, columns = site.network, _columns(site, year)
    hours = {
        name: getattr(network, name).copy()
        for name in ("open_start_h", "open_end_h", "shed_start_h", "shed_end_h")
    }
    noted = site.noted
    first = season_start(site.latitude, year)
    for node, party in enumerate(network.nodes):
        days = {
            seen.word: float((seen.day - first).days)
            for seen in records.sound
            if party.kind == "limb" and seen.limb == party.id
            and seen.kind == "stage" and seen.year == year and seen.day
        }  # fmt: skip
        start, full, end = noted_bloom(days, *_usual_days(network, node, columns))
        if not days or not np.isfinite((start, full, end)).all():
            continue
        kinds = ("open", "shed") if _sheds_as_open(network, node) else ("open",)
        for kind in kinds:
            hours[f"{kind}_start_h"][node, columns] = 24 * start
            hours[f"{kind}_end_h"][node, columns] = 24 * end
        noted = (start, full, end) if node == site.node else noted
    return replace(site, network=replace(network, **hours), noted=noted)


def noted_bloom(
    days: Mapping[str, float], usual_start: float, usual_end: float
) -> tuple[float, float, float]:
    """First, full and last day of a bloom of which some stages were noted.

    days : noted days by stage. What was not noted follows from two that were, or from one and the
    usual length; NaN where neither tells it.
    """
    place = {"start": 0.0, "full": FULL_AT, "end": 1.0}
    told = sorted((place[stage], day) for stage, day in days.items() if stage in place)
    if not told:
        return nan, nan, nan
    length = usual_end - usual_start
    if len(told) > 1:
        length = (told[-1][1] - told[0][1]) / (told[-1][0] - told[0][0])
    start = told[0][1] - told[0][0] * length
    filled = {stage: days.get(stage, start + share * length) for stage, share in place.items()}
    return filled["start"], filled["full"], filled["end"]


def _usual_days(network: NetworkInput, node: int, columns: np.ndarray) -> tuple[float, float]:
    opens, ends = (hours[node, columns] / 24
                   for hours in (network.open_start_h, network.open_end_h))  # fmt: skip
    if not np.isfinite(opens).any():
        return nan, nan
    return float(np.nanmedian(opens)), float(np.nanmedian(ends))


def _sheds_as_open(network: NetworkInput, node: int) -> bool:
    """Whether it gives pollen while its flowers are open; not so in hazel."""
    return np.array_equal(network.shed_start_h[node], network.open_start_h[node], equal_nan=True)


def logged_frosts(
    limb: Limb, year: int, records: Records, latitude: float
) -> list[tuple[float, float]]:
    """(day since the season's start, lowest temperature) of the frost nights in the log."""
    first = season_start(latitude, year)
    return [
        (float((seen.day - first).days), seen.number)
        for seen in records.sound
        if seen.kind == "frost" and seen.limb in (limb.id, "all") and seen.year == year
        and seen.day is not None and seen.number is not None
    ]  # fmt: skip


def stage_on(day: float, start: float, full: float, end: float) -> str:
    """Stage of the flowers on a day, as in the table of limits; empty: none of them."""
    if full <= day <= end + AFTER_DAYS:
        return "full"
    if start - PINK_DAYS <= day < full:
        return "start"
    return "tight cluster" if start - TIGHT_DAYS <= day < start - PINK_DAYS else ""


def frost_kill(low_c: float, kill10_c: float, kill90_c: float) -> float:
    """Share of the flowers killed by half an hour at a temperature, a straight line.

    The line runs through 10 and 90 %, the two points that are published, from 0 to 1.
    """
    return float(np.clip(0.1 + 0.8 * (kill10_c - low_c) / (kill10_c - kill90_c), 0, 1))


def _worst(
    nights: Sequence[tuple[float, float]],
    bloom: tuple[float, float, float],
    limits: Mapping[str, tuple[float, float]],
) -> Measure | None:
    """The night that killed most, with the share it usually kills."""
    found: list[tuple[float, float, Measure]] = []
    for day, low in nights:
        stage = stage_on(day, *bloom) if np.isfinite(bloom).all() else ""
        if stage in limits:
            killed = frost_kill(low, *limits[stage])
            words = {"frost": low, "stage": STAGE_WORDS[stage]}
            found.append((killed, -low, Measure(killed, None, "frost", words)))
    return max(found, key=lambda entry: entry[:2])[2] if found else None


def _facts(variety: Variety) -> dict[str, Measure]:
    found: dict[str, Measure] = {}
    facts = {fact.property: fact for fact in variety.facts}
    if (tendency := facts.get("biennial_tendency")) is not None:
        found["biennial_tendency"] = Measure(float(tendency.value == "yes"))
    periods = [
        float(f.value) for f in variety.facts if f.property == "effective_pollination_period"
    ]
    if periods:
        found["receptive_days"] = Measure(fmean(periods))
    return found


def dependants(network: NetworkInput, node: int) -> tuple[int, ...]:
    """Limbs that are covered now and would not be without this one."""
    present = present_of(network)
    rest = [i for i in present if i != node]
    now = {limb.node for limb in limb_coverage(network, present) if limb.covered}
    left = {limb.node for limb in limb_coverage(network, rest) if limb.covered}
    return tuple(sorted(now - left - {node}))
