"""The log → measures of one limb in one year. What is not in the log is not in the answer."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from statistics import fmean

from pollinet.advice.rules import Measure, Rows
from pollinet.advice.trials import ALPHA, at_most, fisher_p
from pollinet.domain import Limb, Observation, Plan, Records, Variety, VarietyId
from pollinet.messages import mark, say, say_number

BEFORE_BLOOM_MONTH_DAY = (3, 1)
"""Flowers cut open before this day of a northern spring are buds in winter. Own convention."""

SIGNS = ("ooze", "crook", "blackened", "canker", "mosaic")


@dataclass(frozen=True)
class Log:
    """The log with the plan it belongs to."""

    plan: Plan
    records: Records

    def seen(self, limb: str, kind: str, year: int | None = None) -> list[Observation]:
        """What was seen of one kind on a limb, in the order noted."""
        return [
            o for o in self.records.sound
            if o.limb == limb and o.kind == kind and year in (None, o.year)
        ]  # fmt: skip

    def last(self, limb: str, kind: str, year: int | None = None) -> Observation | None:
        """The last note of a kind."""
        seen = self.seen(limb, kind, year)
        return seen[-1] if seen else None

    def crops(self, limb: str) -> dict[int, float]:
        """Fruits picked in each year noted, all pickings together."""
        crops: dict[int, float] = {}
        for seen in self.seen(limb, "fruits"):
            crops[seen.year] = crops.get(seen.year, 0) + (seen.number or 0)
        return dict(sorted(crops.items()))


def alternation(crops: Mapping[int, float]) -> tuple[float, int]:
    """Alternate bearing index and the number of pairs of years it rests on.

    Mean of |difference| / sum over pairs of years that follow each other: 0 even crops, 1 every
    second year nothing; NaN without a pair. Pairs without any fruit do not count.

    References
    ----------
    Hoblyn, T. N. and others 1936. Journal of Pomology and Horticultural Science 14:39-76
    (from memory).
    """
    pairs = [
        abs(crops[year + 1] - crops[year]) / (crops[year + 1] + crops[year])
        for year in crops
        if year + 1 in crops and crops[year] + crops[year + 1] > 0
    ]
    return (fmean(pairs) if pairs else float("nan")), len(pairs)


def full_crop_share(fruit: str, table: Rows) -> float:
    """Share of the clusters that carry fruit in a full crop.

    Fruits that keep one a cluster: the fruits wanted over the clusters. Those that keep several:
    the clusters that have one or more, if every flower has the same chance.
    """
    row = _row_of(fruit, table)
    flowers, share = float(row["flowers_per_cluster"]), float(row["full_crop_share"])
    return 1 - (1 - share) ** flowers if row["keeps"] == "several" else min(flowers * share, 0.9)


def live_needed(fruit: str, table: Rows) -> float | None:
    """Share of live flowers that makes a full crop; None: not known."""
    share = _row_of(fruit, table)["live_needed"]
    return float(share) if share else None


def _row_of(fruit: str, table: Rows) -> Mapping[str, str]:
    rows = {row["fruit"]: row for row in table}
    return rows.get(fruit, rows["other"])


def observed(
    log: Log,
    limb: Limb,
    year: int,
    varieties: Mapping[VarietyId, Variety],
    tables: Mapping[str, Rows],
) -> dict[str, Measure]:
    """All measures that the log and the plan's years of grafting give for a limb in a year."""
    others = [x for x in log.plan.limbs if x.variety.species == limb.variety.species and x != limb]
    share = full_crop_share(limb.variety.species, tables["set"])
    row = _row_of(limb.variety.species, tables["set"])
    return {
        **_age(limb, year, tables["bearing"]),
        **_clusters(log, limb.id, year, others),
        **_growth(log, limb.id, year, others),
        **_flowers(log, limb.id, year),
        **_set(log, limb.id, year, share, row),
        **_history(log, limb.id, year, others),
        **_seeds(log, limb, year, varieties),
        **_trials(log, limb.id, year, share, others),
    }


def _age(limb: Limb, year: int, table: Rows) -> dict[str, Measure]:
    row = next((row for row in table if row["fruit"] == limb.variety.species), None)
    if limb.grafted is None or row is None:
        return {}
    age = year - limb.grafted
    first = limb.grafted + int(float(row["first_year"]))
    words = {"grafted": str(limb.grafted), "first": str(first)}
    return {
        "years_to_bearing": Measure(float(row["first_year"]) - age, None, "graft", words),
        "years_past_bearing": Measure(age - float(row["late_year"]), None, "graft", words),
    }


def _clusters(log: Log, limb: str, year: int, others: Sequence[Limb]) -> dict[str, Measure]:
    found: dict[str, Measure] = {}
    names = {"clusters": "clusters", "cluster-score": "cluster_score",
             "clusters-per-100-spurs": "clusters_per_100_spurs"}  # fmt: skip
    for kind, name in names.items():
        seen = log.last(limb, kind, year)
        if seen is None or seen.number is None:
            continue
        found[name] = Measure(seen.number, None, "clusters")
        beside = [o.number for x in others if (o := log.last(x.id, kind, year)) and o.number]
        if beside:
            ratio = seen.number / fmean(beside)
            words = {"against": _against(ratio, len(beside))}
            against = Measure(ratio, None, "clusters", words)
            found.setdefault("clusters_against_others", against)
    counted = [o.of for kind in ("set", "first-set", "open", "hand")
               if (o := log.last(limb, kind, year)) and o.of]  # fmt: skip
    noted = found.get("clusters")
    if counted and (noted is None or max(counted) > noted.value):
        found["clusters_counted"] = Measure(max(counted), None, "clusters")
    return found


def _against(ratio: float, others: int) -> str:
    """How its flower clusters compare with the mean of the other limbs that were counted."""
    if ratio > 2:
        return say_number(
            "its flower clusters are {times:.0f} times those of the one other limb counted",
            "its flower clusters are {times:.0f} times those of the {number} other limbs counted",
            others, times=ratio,
        )  # fmt: skip
    return say_number(
        "its flower clusters are {percent:.0f} % of those of the one other limb counted",
        "its flower clusters are {percent:.0f} % of those of the {number} other limbs counted",
        others, percent=100 * ratio,
    )  # fmt: skip


def _growth(log: Log, limb: str, year: int, others: Sequence[Limb]) -> dict[str, Measure]:
    found: dict[str, Measure] = {}
    # Shoots grow after bloom: those of the year before are what this bloom stands on.
    shoots = log.last(limb, "shoots", year) or log.last(limb, "shoots", year - 1)
    if shoots is not None and shoots.number is not None:
        found["shoots"] = Measure(shoots.number, None, "shoots")
        beside = [o.number for x in others if (o := log.last(x.id, "shoots", shoots.year))
                  and o.number]  # fmt: skip
        if beside:
            found["shoots_against_others"] = Measure(shoots.number / fmean(beside), None, "shoots")
    pruned = log.last(limb, "pruned", year)
    if pruned is not None:
        found["pruned_hard"] = Measure(float(pruned.word == "hard"))
    fed = log.last(limb, "nitrogen", year) or log.last(limb, "nitrogen", year - 1)
    if fed is not None:
        found["fed_much"] = Measure(float(fed.word == "much"), None, "nitrogen")
    sun = log.last(limb, "sun")
    if sun is not None and sun.number is not None:
        found["sun"] = Measure(sun.number)
    boron = log.last(limb, "boron", year) or log.last(limb, "boron", year - 1)
    if boron is not None and boron.number is not None:
        found["boron"] = Measure(boron.number)
    return found


def _flowers(log: Log, limb: str, year: int) -> dict[str, Measure]:
    found: dict[str, Measure] = {}
    for cut in log.seen(limb, "dead", year):
        winter = cut.day is not None and _is_winter(cut, log.plan.site.latitude)
        found["dead_buds" if winter else "dead_share"] = _share(cut)
    for kind, name in (("malformed", "malformed_share"), ("larvae", "larvae_share")):
        if (seen := log.last(limb, kind, year)) is not None:
            found[name] = _share(seen)
    if (habit := log.last(limb, "flowers-habit", year)) is not None:
        found["straggling"] = Measure(float(habit.word == "straggling"))
    signs = {seen.word for seen in log.seen(limb, "disease", year)}
    for sign in SIGNS:
        # One sign noted says nothing of the others; only that there is none does.
        if sign in signs or "none" in signs:
            found[sign] = Measure(float(sign in signs), None, "disease")
    bees = [o.number for x in (limb, "all") for o in log.seen(x, "bees", year)
            if o.number is not None]  # fmt: skip
    if bees:
        found["bees_seen"] = Measure(fmean(bees), len(bees))
    return found


def _is_winter(cut: Observation, latitude: float) -> bool:
    month, day = BEFORE_BLOOM_MONTH_DAY
    assert cut.day is not None
    shifted = (cut.day.month + (6 if latitude < 0 else 0) - 1) % 12 + 1
    return (shifted, cut.day.day) < (month, day) or shifted >= 10


def _share(seen: Observation) -> Measure:
    return Measure((seen.number or 0) / (seen.of or 1), seen.of, seen.kind)


def _set(
    log: Log, limb: str, year: int, share: float, row: Mapping[str, str]
) -> dict[str, Measure]:
    """Set against that of a full crop; a lack only where chance would hardly make it."""
    found: dict[str, Measure] = {}
    first, final = _fruiting(log, limb, year, "first-set"), _final(log, limb, year)
    if first is not None:
        found["first_set_low_p"] = _lack(first, share)
    if final is not None:
        found["set_low_p"] = _lack(final, share)
        found["set_ratio"] = _ratio(final, share)
    elif (picked := _picked(log, limb, year)) is not None:
        fruits, clusters = picked
        if row["keeps"] == "several":
            # Fruits against the flowers that the limb had: clusters that carry were not counted.
            flowers = round(clusters * float(row["flowers_per_cluster"]))
            counted, wanted = (min(fruits, flowers), flowers), float(row["full_crop_share"])
            found["picked_low_p"] = _lack(counted, wanted)
            found["picked_ratio"] = _ratio(counted, wanted)
        else:
            # At one fruit a cluster: the most clusters that can have borne.
            final = min(fruits, clusters), clusters
            found["set_low_p"] = _lack(final, share)
            found["set_ratio"] = _ratio(final, share)
    if first and final and at_most(*first, share) >= ALPHA > at_most(*final, share):
        lost = say(
            "{first} of {first_of} clusters carried fruit four weeks after bloom, {final} of "
            "{final_of} after the fruit drop of early summer",
            first=first[0], first_of=first[1], final=final[0], final_of=final[1],
        )  # fmt: skip
        differ = fisher_p(*first, *final) < ALPHA
        found["set_lost"] = Measure(float(differ), final[1], "set", {"lost": lost})
    return found


def _lack(counted: tuple[int, int], wanted: float) -> Measure:
    """How likely chance alone leaves so few where a full crop was to come."""
    words = {"fruiting": counted[0], "needed": 100 * wanted}
    return Measure(at_most(*counted, wanted), counted[1], "set", words)


def _ratio(counted: tuple[int, int], wanted: float) -> Measure:
    fruiting, of = counted
    return Measure(fruiting / of / wanted, of, "set", {"fruiting": fruiting})


def _fruiting(log: Log, limb: str, year: int, kind: str) -> tuple[int, int] | None:
    seen = log.last(limb, kind, year)
    return None if seen is None or not seen.of else (int(seen.number or 0), seen.of)


def _final(log: Log, limb: str, year: int) -> tuple[int, int] | None:
    """Clusters with fruit and clusters, as counted or left open in a trial."""
    for kind in ("set", "open"):
        if (counted := _fruiting(log, limb, year, kind)) is not None:
            return counted
    return None


def _picked(log: Log, limb: str, year: int) -> tuple[int, int] | None:
    """Fruits picked and clusters that bloomed."""
    clusters, fruits = log.last(limb, "clusters", year), log.crops(limb).get(year)
    if clusters is None or not clusters.number or fruits is None:
        return None
    return int(fruits), int(clusters.number)


def _history(log: Log, limb: str, year: int, others: Sequence[Limb]) -> dict[str, Measure]:
    found: dict[str, Measure] = {}
    crops = {y: n for y, n in log.crops(limb).items() if y <= year}
    before = {y: n for y, n in crops.items() if y < year}
    index, pairs = alternation(crops)
    if pairs:
        found["alternation"] = Measure(index, pairs, "crops")
    if year - 1 in before and len(crops) > 2 and any(n > 0 for n in crops.values()):
        ratio = before[year - 1] / fmean(crops.values())
        found["crop_before"] = Measure(ratio, None, "crops")
    earlier = _bloomed(log, limb, year)
    if before or earlier is not None:
        bore = any(n > 0 for n in before.values()) or bool(earlier)
        found["bloomed_before"] = Measure(float(bore), None, "crops before")
    indices = [alternation(log.crops(x.id)) for x in others]
    steady = [(i, n) for i, n in indices if n]
    if steady:
        pairs = min(n for _, n in steady)
        found["others_alternation"] = Measure(fmean(i for i, _ in steady), pairs, "others' crops")
    crop = [_bore(log, x.id, year) for x in others]
    known = [bore for bore in crop if bore is not None]
    if known:
        found["others_crop"] = Measure(fmean(known), len(known), "others")
    return found


def _bloomed(log: Log, limb: str, year: int) -> bool | None:
    """Whether flowers were noted in an earlier year; None: nothing was noted."""
    kinds = ("clusters", "cluster-score", "clusters-per-100-spurs")
    seen = [o for kind in kinds for o in log.seen(limb, kind) if o.year < year]
    return any(o.number for o in seen) if seen else None


def _bore(log: Log, limb: str, year: int) -> bool | None:
    """Whether another limb bore fruit worth the name in a year; None: not noted."""
    crops = log.crops(limb)
    if year in crops:
        # A tenth of its best year is a failure. Own convention.
        return crops[year] > 0.1 * max(crops.values())
    counted = _final(log, limb, year) or _picked(log, limb, year)
    return None if counted is None else counted[0] > 0.1 * counted[1]


def _seeds(
    log: Log, limb: Limb, year: int, varieties: Mapping[VarietyId, Variety]
) -> dict[str, Measure]:
    seen = log.last(limb.id, "seeds", year)
    if seen is None or seen.number is None:
        return {}
    variety = varieties[limb.variety]
    seedless = {f.value for f in variety.facts if f.property == "parthenocarpy"}
    found = {"seeds": Measure(seen.number, None, "seeds")}
    # Few seeds mean nothing in a triploid, or where fruit may set without any.
    if variety.fertility.ploidy == 2 and "yes" not in seedless:
        words = {"seeds": seen.number}
        found["seeds_low"] = Measure(float(seen.number < 6), None, "seeds", words)
    return found


def _trials(
    log: Log, limb: str, year: int, share: float, others: Sequence[Limb]
) -> dict[str, Measure]:
    found: dict[str, Measure] = {}
    hand, left = (_fruiting(log, limb, year, kind) for kind in ("hand", "open"))
    if hand is not None and left is not None:
        gain = hand[0] / hand[1] > left[0] / left[1] and fisher_p(*hand, *left) < ALPHA
        pattern = (
            mark("by hand {hand} of {hand_of} clusters bore, left open {left} of {left_of}: a "
                 "difference is shown")
            if gain
            else mark("by hand {hand} of {hand_of} clusters bore, left open {left} of {left_of}: "
                      "no difference is shown")
        )  # fmt: skip
        words = {"trial": say(pattern, hand=hand[0], hand_of=hand[1], left=left[0],
                              left_of=left[1])}  # fmt: skip
        small = min(hand[1], left[1])
        found["hand_better"] = Measure(float(gain), small, "hand trial", words)
        low = at_most(*hand, share) < ALPHA
        found["hand_no_gain"] = Measure(float(not gain and low), small, "hand trial", words)
    if hand is not None:
        found["hand_good"] = Measure(float(hand[0] / hand[1] >= share), hand[1], "hand trial")
    bagged = _fruiting(log, limb, year, "bagged")
    if bagged is not None and left is not None:
        shown = left[0] / left[1] > bagged[0] / bagged[1] and fisher_p(*left, *bagged) < ALPHA
        words = {"bag": say("in bags {bagged} of {bagged_of} clusters bore, left open {left} of "
                            "{left_of}", bagged=bagged[0], bagged_of=bagged[1], left=left[0],
                            left_of=left[1])}  # fmt: skip
        sample = min(bagged[1], left[1])
        found["bagged_like_open"] = Measure(float(not shown), sample, "bags", words)
    forced = _fruiting(log, limb, year, "forced")
    beside = [f for x in others if (f := _fruiting(log, x.id, year, "forced")) is not None]
    if forced is not None and beside:
        control = (sum(n for n, _ in beside), sum(of for _, of in beside))
        worse = forced[0] / forced[1] < control[0] / control[1]
        shown = worse and fisher_p(*forced, *control) < ALPHA
        sample = min(forced[1], control[1])
        found["forced_worse"] = Measure(float(shown), sample, "forced shoots")
    return found
