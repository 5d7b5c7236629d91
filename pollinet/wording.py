"""Results → sentences. No layout and no decisions here: what is said follows from data."""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from typing import TYPE_CHECKING

import numpy as np

from pollinet.days import short_date
from pollinet.findings import Finding
from pollinet.network.coverage import Refusal
from pollinet.wording_verdicts import verdict_sentence

if TYPE_CHECKING:
    from pollinet.domain import DailyWeather, Node, Winters
    from pollinet.fitting import FitRow
    from pollinet.network.cover import Cover, Uncovered
    from pollinet.network.coverage import DonorShare, LimbCoverage
    from pollinet.summary import LimbChill


def count(number: int, noun: str) -> str:
    """`1 limb`, `2 limbs`."""
    return f"{number} {noun}" if number == 1 else f"{number} {noun}s"


def joined(words: Sequence[str], last: str = "and") -> str:
    """`a`, `a and b`, `a, b and c`."""
    return (
        f" {last} ".join([", ".join(words[:-1]), words[-1]]) if len(words) > 1 else "".join(words)
    )


def finding_text(finding: Finding) -> str:
    """One finding in one paragraph: severity, place, what was found, the cure."""
    where = f"{finding.where}: " if finding.where else ""
    cure = f"\n    → {finding.cure}" if finding.cure else ""
    return f"{finding.severity}: {where}{finding.message}{cure}"


def of_ten(share: float) -> str:
    """A share of winters as growers say it: `8.5 of 10`; never rounded up to certainty."""
    tenths = np.floor(share * 100 + 1e-6) / 10
    return f"{tenths:g} of 10"


def days(number: float) -> str:
    """`1 day`, `9 days`, `4.5 days`."""
    rounded = round(number, 1)
    return f"{rounded:g} day" if rounded == 1 else f"{rounded:g} days"


def date_range(first: int, last: int) -> str:
    """Two days of the year: `8–22 Apr`, `27 Mar – 4 May`."""
    start, end = short_date(first), short_date(last)
    if start.split()[1] == end.split()[1] and last >= first:
        return f"{start.split()[0]}–{end}"
    return f"{start} – {end}"


def check_answer(coverage: Sequence[LimbCoverage], level: float) -> str:
    """The one-sentence answer of `pollinet check`."""
    covered = sum(limb.covered for limb in coverage)
    winters = of_ten(level).replace(" of ", " winters of ")
    verb = "has" if covered == 1 else "have"
    return (
        f"{covered} of {count(len(coverage), 'limb')} {verb} a viable donor in at least {winters}."
    )


def outlook_words(warmer_c: float) -> str:
    """How a sentence on a climate so much warmer begins. [°C]"""
    side = "warmer" if warmer_c > 0 else "colder"
    return f"With every winter and spring {abs(warmer_c):g} °C {side}: "


def donor_text(donor: DonorShare, nodes: Sequence[Node], receiver: int) -> str:
    """The best donor in a table cell: its name, where it is if not in the garden, the days."""
    if donor.node == receiver:
        return f"itself, {days(donor.overlap_days)}"
    node = nodes[donor.node]
    where = {"neighbour": f" (next door, {node.distance_m:g} m)", "candidate": " (scion)"}
    half = ", half" if donor.verdict.answer == "half" else ""
    return f"{node.variety.name}{where.get(node.kind, '')}, {days(donor.overlap_days)}{half}"


def reasons(limb: LimbCoverage, nodes: Sequence[Node]) -> list[tuple[str, str]]:
    """Why a limb is not covered, as (code, sentence), the nearest to a donor first.

    A donor that works in some winters comes first, then the refused ones; trees of the same
    variety and the limb itself are named only where there is nothing else to name.
    """
    found = [
        ("too-few-winters", f"{nodes[d.node].variety.name} in {of_ten(d.reliability)} winters only")
        for d in limb.donors
    ]
    order = sorted(limb.refusals, key=refusal_order)
    others = [r for r in order if r.code not in ("not-self-fertile", "no-verdict")]
    others = [r for r in others if r.verdict is None or r.verdict.code != "other-fruit"]
    found += [(r.code, f"{nodes[r.node].variety.name}: {refusal_words(r, nodes)}") for r in others]
    if not found:
        found = [("no-donor", "no other variety of this fruit within reach")]
    return list(dict.fromkeys(found))


_NEARNESS = {
    "short-overlap": 0,
    "unknown-compatibility": 1,
    "half-only": 2,
    "chill": 3,
    "blooms-earlier": 4,
    "blooms-later": 4,
    "too-far": 5,
    "incompatible": 6,
    "no-bloom": 7,
    "same-variety": 8,
}


def refusal_order(refusal: Refusal) -> tuple[float, float]:
    """Key for sorting refused nodes, the nearest to a donor first."""
    return _NEARNESS.get(refusal.code, 99), abs(refusal.days or 0)


def refusal_words(refusal: Refusal, nodes: Sequence[Node]) -> str:
    """Why a node is no donor, without its name."""
    match refusal.code:
        case "blooms-earlier" | "blooms-later":
            side = "earlier" if refusal.code == "blooms-earlier" else "later"
            return f"blooms {days(abs(refusal.days or 0))} {side}"
        case "short-overlap":
            return f"shares only {days(refusal.overlap_days)} of bloom"
        case "too-far":
            return f"{nodes[refusal.node].distance_m:g} m away, too far"
        case "chill":
            return "not enough winter chill here"
        case "no-bloom":
            return "bloom time here not known"
        case "same-variety":
            return "the same variety or a clone of it"
        case "half-only":
            return "only half of its pollen is accepted"
        case _:
            return verdict_sentence(refusal.verdict) if refusal.verdict else refusal.code


def weather_words(record: DailyWeather | None, winters: Winters | None) -> str:
    """What the dates rest on: typed dates, generated winters or a record."""
    if record is None or winters is None:
        return "Dates: as typed in the plan; no weather was used."
    years = winters.harvest_years
    span = f"{count(len(years), 'winter')}, bloom of {years[0]} to {years[-1]}"
    if record.generated:
        made = record.source.replace("generated, ", "")
        return f"Weather: generated, not measured ({made}); {count(len(years), 'winter')}."
    return f"Weather: {record.source}; {span}."


def chill_answer(limbs: Sequence[LimbChill], level: float) -> str:
    """The one-sentence answer of `pollinet chill`."""
    known = [limb for limb in limbs if limb.enough is not None]
    enough = sum((limb.enough or 0.0) >= level for limb in known)
    winters = of_ten(level).replace(" of ", " winters of ")
    unknown = len(limbs) - len(known)
    rest = f" For {count(unknown, 'limb')} no requirement is known." if unknown else ""
    if not known:
        return f"Whether the limbs get enough chill is not known: no requirement is at hand.{rest}"
    return (
        f"{enough} of {count(len(known), 'limb')} with a known requirement get enough chill in at "
        f"least {winters}.{rest}"
    )


def fit_answer(rows: Sequence[FitRow]) -> str:
    """The one-sentence answer of `pollinet fit`."""
    if not rows:
        return (
            "There are no bloom notes to learn from, or no weather to compare them with: write "
            "some down with `pollinet record`."
        )
    from pollinet.fitting import rmse

    before = rmse([row.before - row.noted for row in rows])
    after = rmse([row.after - row.noted for row in rows])
    springs = len({row.record.harvest_year for row in rows})
    if springs == 1:
        return f"One spring of notes: the forecast was off by {days(before)} (root mean square)."
    return (
        f"Over {springs} springs the forecast is off by {days(before)} without notes and by "
        f"{days(after)} with the notes of the other years (root mean square)."
    )


def memory_text(values: Iterable[tuple[str, str]]) -> str:
    """What an answer rests on that was recalled and not confirmed, grouped by kind of value."""
    kinds: dict[str, list[str]] = {}
    for field, name in values:
        kinds.setdefault(field, []).append(name)
    listed = "; ".join(f"{field} of {joined(names)}" for field, names in kinds.items())
    return f"Rests on memory, to be confirmed: {listed}."


def cover_answer(cover: Cover, nodes: Sequence[Node], level: float) -> str:
    """The one-sentence answer of `pollinet cover`."""
    winters = of_ten(level).replace(" of ", " winters of ")
    names = joined([nodes[i].variety.name for i in cover.added])
    if cover.status == "nothing to add":
        return f"Nothing to add: every limb has a viable donor in at least {winters}."
    if cover.uncovered:
        limbs = joined([nodes[miss.node].id for miss in cover.uncovered])
        rest = joined([nodes[i].variety.name for i in cover.partial])
        best = f" For the other limbs, graft {rest}." if rest else ""
        return f"No choice of these varieties gives {limbs} a donor in {winters}.{best}"
    found = "" if cover.status == "optimal" else " (the best found within the time allowed)"
    return f"Graft {names}: then every limb has a viable donor in at least {winters}{found}."


def miss_text(miss: Uncovered, nodes: Sequence[Node]) -> str:
    """Why a limb cannot be covered, with its nearest miss."""
    limb = f"{nodes[miss.node].id} ({nodes[miss.node].variety.name})"
    if miss.code == "no-spare-limb":
        return f"{limb}: a donor could be grafted, but no tree of this fruit has a limb to spare"
    if miss.donor is None:
        return f"{limb}: no other variety of this fruit, here or among the candidates"
    if miss.code == "too-few-winters":
        together = of_ten(miss.reachable)
        return (
            f"{limb}: nearest is {nodes[miss.donor].variety.name}, in {of_ten(miss.reliability)} "
            f"winters; with every candidate grafted it would be {together}"
        )
    refusal = Refusal(miss.donor, miss.code, miss.verdict, miss.days, miss.overlap_days)
    name = nodes[miss.donor].variety.name
    return f"{limb}: nearest is {name}, but: {refusal_words(refusal, nodes)}"


def proof_text(cover: Cover, candidates: int) -> str:
    """How we know that no smaller set exists."""
    proof = cover.proof
    tried = proof.sizes.get("candidates", candidates)
    if cover.status == "nothing to add":
        return "Nothing is missing, so the empty set is the smallest."
    if cover.status == "time limit":
        return (
            f"Not proven: the search was stopped; no set costs less than {proof.bound:g}, the one "
            f"found costs {cover.cost:g} ({count(tried, 'candidate')}, {proof.solver})."
        )
    return (
        f"Exact search over {count(tried, 'candidate')}: no smaller set exists "
        f"({proof.solver}, {proof.method}; bound {proof.bound:g}, gap {proof.gap:g})."
    )
