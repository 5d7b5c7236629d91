"""The smallest set of varieties to graft so that every limb has a viable donor."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import dataclass, field, replace
from functools import cache, partial
from math import isfinite
from time import monotonic
from typing import Annotated, ClassVar, Literal

from pollinet.advice.pollinizer import Jar, jars
from pollinet.answers.base import WHEN_ASKED, About, Answer, Findings, Share, Told
from pollinet.answers.parts import donor
from pollinet.answers.pollinizer import JarOfBlossom, mother_trees
from pollinet.domain import NetworkInput, Node, Scion
from pollinet.errors import BadQuestion
from pollinet.findings import Finding
from pollinet.language import _
from pollinet.messages import say
from pollinet.network.best_added import BestAdded, best_added
from pollinet.network.cover import Cover as Found
from pollinet.network.cover import Uncovered, smallest_cover
from pollinet.network.coverage import LimbVerdict
from pollinet.network.nearest_miss import never_covered
from pollinet.network.preferred import Prefer, preferred_cover
from pollinet.network.problem import CoverProblem, cover_problem, view_of
from pollinet.network.selection import keep_nodes
from pollinet.network.time_limit import SEARCH_LIMIT_S, TimeLeft, no_limit, part_of, time_left
from pollinet.network.tradeoff import Gain, Relaxation, gain_per_cost, relaxations
from pollinet.network.viability import Viability, present_of
from pollinet.network.years import (
    GraftMethod,
    SpringShare,
    coverage_by_spring,
    first_springs,
    graft_method,
)
from pollinet.readers.bearing import BearingAge, load_bearing
from pollinet.study import Study
from pollinet.summary.named import candidates_named
from pollinet.summary.passed_over import PassedCode, PassedOver, passed_over
from pollinet.summary.scions import ScionWanted, WhyThere, grafts_wanted
from pollinet.wording.cover import best_answer, passed_text
from pollinet.wording.network import relaxation_text
from pollinet.wording.scions import graft_text
from pollinet.wording.sentences import cover_answer, joined, miss_text, outlook_words, short_name
from pollinet.wording.verdicts import verdict_sentence

# --- the answer --------------------------------------------------------------------------------


@dataclass(frozen=True)
class NearestMiss:
    """The variety that comes nearest to serving a limb."""

    variety: str
    days: Annotated[float | None, About("How far bloom lies apart. [days]")]
    overlap_days: Annotated[float | None, About("[days]")]
    reliability: Share | None
    why: Annotated[str | None, About("What the alleles or the measured crosses say.")]
    unknown: Annotated[
        tuple[str, ...], About("Of limb and donor, those whose alleles or dates are not known.")
    ]


@dataclass(frozen=True)
class UncoveredLimb:
    """A limb that no set covers."""

    limb: str
    code: str
    reason: str
    nearest_miss: Annotated[NearestMiss | None, About("The variety that comes nearest.")]
    reachable: Annotated[
        Share | None,
        About("Scenarios covered with every candidate grafted; surely, where sure was asked for."),
    ]
    expected: Annotated[Share | None, About("The expected share of them in any case.")]
    verdict: Annotated[LimbVerdict, About("On the limb with every candidate grafted.")]


@dataclass(frozen=True)
class BlockedScion:
    """A scion that must not be chosen."""

    variety: str
    why: str


@dataclass(frozen=True)
class PassedScion:
    """A scion of the plan that no set can hold."""

    variety: str
    code: Annotated[
        PassedCode,
        About(
            "blocked; other-fruit: no tree of it; no-room: no limb to spare; no-bloom, no-shed: "
            "dates not known; own-donor: too few winters with a donor itself; idle: serves nobody."
        ),
    ]
    why: str


@dataclass(frozen=True)
class Graft:
    """Where one variety of the set goes, whether its wood is at hand, and why there."""

    variety: str
    at_hand: Annotated[bool, About("Among the plan's scions; else it must be ordered.")]
    tree: Annotated[str | None, About("Tree that it goes on; null: none has a limb to spare.")]
    spare_limbs: Annotated[int, About("How many more grafts that tree could carry before.")]
    other_trees: Annotated[tuple[str, ...], About("From which its pollen would do the same.")]
    height: Annotated[str, About("Where on the tree, by vigour: low, high, beside or unknown.")]
    why: Annotated[
        WhyThere,
        About(
            "only-room: no other tree of its fruit has room; alike: its pollen does the same from "
            "each that has; reach: its pollen reaches the limbs from there; no-room: none has."
        ),
    ]
    carries: Annotated[
        tuple[str, ...], About("Limbs that it carries alone or best, or that hang on it.")
    ]
    farthest_m: Annotated[
        float | None, About("How far the farthest of these is; null: no positions are told. [m]")
    ]
    text: str


@dataclass(frozen=True)
class SetProof:
    """Why no smaller set does."""

    solver: str
    method: str
    status: str
    bound: Annotated[float | None, About("No set is smaller than this.")]
    gap: Annotated[float | None, About("Distance of the answer from the bound.")]
    sizes: Annotated[dict[str, int], About("Candidates, limbs, scenarios and what was searched.")]


@dataclass(frozen=True)
class Concession:
    """What would make an infeasible plan feasible."""

    kind: Annotated[str, About("level, days, spare or candidates.")]
    value: float
    added: tuple[str, ...]
    text: str


@dataclass(frozen=True)
class BestOfSize:
    """The best set with at most so many varieties."""

    most_added: float
    added: tuple[str, ...]
    reliability: Annotated[Share, About("Scenarios of the worst limb.")]


@dataclass(frozen=True)
class BestProof:
    """Why no other set is better."""

    status: Annotated[
        Literal["optimal", "time limit"], About("time limit: the best found; may not be the best.")
    ]
    method: str
    candidates: Annotated[int, About("Candidates offered.")]
    looked: Annotated[int, About("Sets counted one by one; the others were ruled out.")]


@dataclass(frozen=True)
class BestSet:
    """The best varieties to add, when so many may be taken."""

    most: Annotated[int, About("So many may be taken.")]
    added: Annotated[tuple[str, ...], About("Fewer where more brings nothing.")]
    limbs: Annotated[int, About("Limbs of the garden that must crop.")]
    limbs_sure: Annotated[int, About("Of these, served surely.")]
    limbs_covered: Annotated[int, About("Of these, served surely or likely.")]
    worst_winters_expected: Annotated[Share, About("Of the limb that is worst off.")]
    alternatives: Annotated[
        tuple[tuple[str, ...], ...],
        About("Sets as good in limbs, worst limb and number, this one first."),
    ]
    all_alternatives_listed: bool
    proof: BestProof


@dataclass(frozen=True)
class SetByDays:
    """The smallest set when other days of shared bloom are asked for."""

    min_overlap_days: Annotated[float, About("[days]")]
    status: str
    added: tuple[str, ...]


@dataclass(frozen=True)
class TradeOff:
    """What more varieties or days would buy."""

    by_number: tuple[BestOfSize, ...]
    by_days: tuple[SetByDays, ...]


@dataclass(frozen=True)
class Spring:
    """Coverage of a limb in one of the springs to come."""

    spring: Annotated[int, About("Year.")]
    blooms: Literal["no", "perhaps", "yes"]
    cautious: Annotated[
        Share | None,
        About(
            "Scenarios covered if every young graft needs its latest usual age, and without the "
            "tree that it would miss most of those that may be felled; with --survive-loss, after "
            "the loss that is worst for it."
        ),
    ]
    hopeful: Annotated[Share | None, About("Scenarios covered if each needs its earliest.")]


@dataclass(frozen=True)
class LimbSprings:
    """The springs to come of one limb."""

    id: str
    variety: str
    springs: tuple[Spring, ...]


@dataclass(frozen=True)
class WarmerCover:
    """The smallest set with every hour warmer."""

    degrees_c: Annotated[float, About("How much warmer. [°C]")]
    answer: str
    status: str
    added: tuple[str, ...]
    alternatives: tuple[tuple[str, ...], ...]
    uncovered: Annotated[tuple[str, ...], About("Ids of limbs.")]


@dataclass(frozen=True)
class ChosenScion:
    """A variety in one of the smallest sets: a row of `to_frame`."""

    set: Annotated[int, About("1: the first of the smallest sets.")]
    variety: str


@dataclass(frozen=True, repr=False)
class Cover(Answer):
    """The smallest set of varieties to graft."""

    NAME: ClassVar[str] = "cover"
    ROW: ClassVar[type] = ChosenScion

    answer: Told
    status: str
    sure: Annotated[
        bool, About("Whether limbs must be served surely; else the expected winters count.")
    ]
    limbs_sure: Annotated[int, About("Limbs of the garden served surely with this set.")]
    limbs_covered: Annotated[int, About("Limbs of the garden served surely or likely with it.")]
    added: Annotated[
        tuple[str, ...],
        About("Varieties to graft: the first smallest set; `name on tree` where it matters."),
    ]
    grafts: Annotated[
        tuple[Graft, ...], About("The varieties told of first, one by one, with their trees.")
    ]
    to_order: Annotated[
        tuple[str, ...], About("Of the varieties told of first, those without wood at hand.")
    ]
    fewest_ordered: Annotated[
        bool, About("Whether it is proven that no set of its kind has less wood to order.")
    ]
    smaller: Annotated[
        tuple[str, ...],
        About("With --prefer at-hand: a smaller set with more wood to order, if there is one."),
    ]
    alternatives: Annotated[
        tuple[tuple[str, ...], ...], About("All smallest sets that were listed, the first first.")
    ]
    all_alternatives_listed: bool
    partial: Annotated[tuple[str, ...], About("Where no set covers all: the one that covers most.")]
    reliability: Annotated[Share | None, About("Scenarios of the worst limb.")]
    uncovered: tuple[UncoveredLimb, ...]
    blocked: Annotated[tuple[BlockedScion, ...], About("Scions that must not be chosen.")]
    passed_over: Annotated[
        tuple[PassedScion, ...], About("Scions that no set can hold, the blocked ones too.")
    ]
    jars: Annotated[
        tuple[JarOfBlossom, ...],
        About("For limbs without a donor now: whose cut branches to put in a jar this spring."),
    ]
    proof: Annotated[SetProof, About("Why no smaller set does.")]
    findings: Findings
    concessions: Annotated[
        tuple[Concession, ...], About("What would make it possible, where nothing does.")
    ]
    best: Annotated[
        BestSet | None, About("With --add: the best so many varieties; `answer` tells of them.")
    ] = field(default=None, metadata=WHEN_ASKED)
    trade_off: Annotated[TradeOff | None, About("With --trade-off.")] = field(
        default=None, metadata=WHEN_ASKED
    )
    springs: Annotated[
        tuple[LimbSprings, ...] | None, About("With --years: the springs after grafting.")
    ] = field(default=None, metadata=WHEN_ASKED)
    warmer: Annotated[
        WarmerCover | None, About("With --warmer: the set with every hour warmer.")
    ] = field(default=None, metadata=WHEN_ASKED)

    @property
    def exit_code(self) -> int:
        """1 where some limb cannot be covered, or is not by the best so many varieties."""
        if self.best is not None:
            return 1 if self.best.limbs_covered < self.best.limbs else 0
        unfinished = self.status == "time limit" and not self.added
        return 1 if self.uncovered or unfinished else 0

    def rows(self) -> list[dict[str, object]]:
        """One row a variety of each of the smallest sets; of the best part where none covers.

        Where the best so many varieties were asked for, of their sets.
        """
        sets = self.alternatives or (self.added or self.partial,)
        sets = sets if self.best is None else self.best.alternatives
        return [
            {"set": number, "variety": name}
            for number, names in enumerate(sets, start=1)
            for name in names
        ]


Traded = tuple[list[Gain], list[tuple[float, Found]]]
"""Gains by number of varieties, and the smallest set for each number of days."""

AFTERWARDS = 0.2
"""Share of the limit that is left for concessions where the search used up all of it."""

WIDER_S = 3.0
"""The catalogue is looked through only where so much time is left: it takes about that to state
what is asked. Measured; own convention. [s]"""

# --- the search --------------------------------------------------------------------------------


@dataclass(frozen=True)
class Wishes:
    """What is asked of the set beyond the plan; names as typed.

    add : tell also the best so many varieties to add. prefer : what comes first, see `Prefer`.
    wider : where no set of the scions does, look for one of the catalogue, which takes long.
    """

    from_catalogue: bool = False
    must: tuple[str, ...] = ()
    never: tuple[str, ...] = ()
    pollen_only: tuple[str, ...] = ()
    survive: bool = False
    sure: bool = False
    add: int | None = None
    most: int = 20
    prefer: Prefer = "fewest"
    time_limit_s: float | None = SEARCH_LIMIT_S
    wider: bool = True


def with_aim(study: Study, **changes: float | None) -> Study:
    """The study with some of the plan's aims replaced; None leaves the plan's own."""
    told = {key: value for key, value in changes.items() if value is not None}
    if not told:
        return study
    aim = replace(study.plan.aim, **told)  # type: ignore[arg-type]
    return replace(study, plan=replace(study.plan, aim=aim))


@dataclass(frozen=True)
class Searched:
    """A cover with the network and the candidates it was sought among.

    again : the cover with other demands.
    left : of the time for the search and for what would make it possible where nothing does.
    whole : the problem before anything was left out. passed : scions that no set can hold.
    best : the best so many, where asked for.
    """

    network: NetworkInput
    candidates: tuple[int, ...]
    answer: Found
    again: Callable[[NetworkInput], Found]
    whole: CoverProblem
    passed: Callable[[], tuple[PassedOver, ...]]
    left: TimeLeft = no_limit
    warmer_c: float = 0.0
    best: BestAdded | None = None

    @property
    def chosen(self) -> tuple[int, ...]:
        """The set that is told of first: the best so many varieties, or the smallest set."""
        best = self.best
        return self.answer.added or self.answer.partial if best is None else best.added


def searched(study: Study, wishes: Wishes) -> Searched:
    """Search the smallest set as wished.

    Raises `BadQuestion` where a name in the wishes is no candidate.
    """
    left = time_left(wishes.time_limit_s, monotonic)
    scions = list(study.free_scions(from_catalogue=wishes.from_catalogue))

    pollen_only, one = candidates_named(study, scions, wishes.pollen_only, "--pollen-only")
    must, two = candidates_named(study, scions, wishes.must, "--must", all_trees=False)
    never, three = candidates_named(study, scions, wishes.never, "--never", known_is_enough=True)
    if findings := one + two + three + _torn(study, scions, must, never) + _at_odds(study, wishes):
        raise BadQuestion(findings)
    for place in pollen_only:
        scions[place] = replace(scions[place], crops=False)
    network = study.network_of(tuple(scions))
    first = len(network.nodes) - len(scions)
    free = tuple(first + place for place in range(len(scions)) if place not in never)
    wanted = [first + place for place in must]
    plain = partial(
        smallest_cover,
        spare=study.spare_limbs(),
        must_include=wanted,
        survives_any_single_loss=wishes.survive,
        sure=wishes.sure,
        preferences=study.tie_breakers(network),
        max_alternatives=wishes.most,
        clock=monotonic,
    )

    seen = view_of(network, free, sure=wishes.sure)

    def search(changed: NetworkInput, left: TimeLeft) -> Found:
        here = seen if changed is network else None

        def one(some: Sequence[int], most_ordered: int | None) -> Found:
            return plain(
                changed, candidates=some, view=here, time_limit_s=left(), most_ordered=most_ordered
            )

        return preferred_cover(
            changed, free, one, must_include=wanted, prefer=wishes.prefer, most_sets=wishes.most
        )

    def again(changed: NetworkInput) -> Found:
        return search(changed, time_left(wishes.time_limit_s, monotonic))

    whole = cover_problem(
        network,
        free,
        study.spare_limbs(),
        must_include=wanted,
        sure=wishes.sure,
        view=seen,
    )

    # What was needed to state it counts, too.
    answer = search(network, left if wishes.add is None else part_of(left, 1 / 2))
    best = None
    if wishes.add is not None:
        best = best_added(
            network,
            free,
            wishes.add,
            study.spare_limbs(),
            must_include=wanted,
            sure=wishes.sure,
            preferences=study.tie_breakers(network),
            max_alternatives=wishes.most,
            time_limit_s=left(),
            clock=monotonic,
        )
    passed = cache(partial(passed_over, study, network, lambda: whole))
    return Searched(network, free, answer, again, whole, passed, left, study.warmer_c, best)


def _at_odds(study: Study, wishes: Wishes) -> tuple[Finding, ...]:
    """Wishes that cannot be had together."""
    if wishes.add is None or not wishes.survive:
        return ()
    message = say("the best so many varieties are not ranked by what a loss would leave")
    cure = say("ask for --add or for --survive-loss; the first answers without a loss")
    return (
        Finding("error", "add-and-loss", message, study.plan.file, "--survive-loss", cure=cure),
    )


def _torn(
    study: Study, scions: Sequence[Scion], must: Sequence[int], never: Sequence[int]
) -> tuple[Finding, ...]:
    """Varieties that are wanted in any case and refused in any case."""
    return tuple(
        Finding("error", "must-and-never",
                say("{variety} stands under --must and under --never",
                    variety=scions[place].variety.name),
                study.plan.file, "--must", cure=say("leave one of the two out"))
        for place in sorted(set(must) & set(never))
    )  # fmt: skip


def cover_of(
    study: Study,
    found: Searched,
    wishes: Wishes,
    *,
    later: Searched | None = None,
    spring: int | None = None,
    trade: Traded | None = None,
) -> Cover:
    """The answer, from what `searched` has found; varieties by name.

    later : the same search in a warmer climate. spring : of grafting, to tell the springs to come.
    trade : what `traded` has found.
    """
    network, answer = found.network, found.answer
    nodes = network.nodes

    def names(chosen: tuple[int, ...]) -> tuple[str, ...]:
        return tuple(nodes[i].graft for i in chosen)

    return Cover(
        answer=cover_answer(answer, nodes, study.plan.aim.level)
        if found.best is None
        else best_answer(found.best, nodes),
        status=answer.status,
        sure=answer.sure,
        limbs_sure=answer.tally.sure,
        limbs_covered=answer.tally.covered,
        added=names(answer.added),
        grafts=tuple(map(_graft, grafts_wanted(study, network, found.chosen))),
        to_order=names(tuple(i for i in found.chosen if not nodes[i].at_hand)),
        fewest_ordered=answer.fewest_ordered,
        smaller=names(answer.smaller),
        alternatives=tuple(map(names, answer.alternatives)),
        all_alternatives_listed=answer.all_listed,
        partial=names(answer.partial),
        reliability=answer.reliability,
        uncovered=tuple(
            UncoveredLimb(
                short_name(nodes[miss.node]),
                miss.code,
                miss_text(miss, nodes),
                _nearest(miss, nodes),
                miss.reachable,
                miss.expected,
                miss.standing,
            )
            for miss in answer.uncovered
        ),
        blocked=tuple(
            BlockedScion(scion.variety.name, scion.blocked)
            for scion in study.plan.scions
            if scion.blocked is not None
        ),
        passed_over=tuple(
            PassedScion(one.variety.name, one.code, passed_text(one)) for one in found.passed()
        ),
        jars=_jars(study, network),
        proof=SetProof(
            answer.proof.solver,
            answer.proof.method,
            answer.proof.status,
            _finite(answer.proof.bound),
            _finite(answer.proof.gap),
            dict(answer.proof.sizes),
        ),
        findings=study.findings,
        concessions=wished_concessions(study, found, wishes),
        best=None if found.best is None else _best(found.best, nodes),
        trade_off=None if trade is None else _trade_off(network, *trade),
        springs=None
        if spring is None
        else _springs(study, network, found.chosen, spring, survive=wishes.survive),
        warmer=None if later is None else _warmer(later, study),
    )


def _graft(one: ScionWanted) -> Graft:
    return Graft(
        one.variety.name,
        one.at_hand,
        one.tree,
        one.spare,
        tuple(name for name in one.trees if name != one.tree),
        one.height,
        one.why,
        one.serves,
        None if one.farthest_m is None else round(one.farthest_m, 1),
        graft_text(one),
    )


def garden_jars(study: Study, network: NetworkInput) -> tuple[tuple[Jar, ...], tuple[Node, ...]]:
    """Cut blossom for limbs that have no donor as the garden stands, and the nodes it names.

    Sources are neighbours' trees and the mother trees of the plan's own scions.
    """
    nodes = network.nodes
    bare = [row.node for row in study.coverage if not row.covered and nodes[row.node].must_crop]
    if not bare:
        return (), nodes
    at_hand, present = {scion.variety for scion in study.plan.scions}, present_of(network)
    mothers = mother_trees(nodes, at_hand)
    small = keep_nodes(network, (*present, *mothers))
    mothers_from = range(len(present), len(small.nodes))
    return jars(small, bare, mothers_from, study.suspected_ids), small.nodes


def _jars(study: Study, network: NetworkInput) -> tuple[JarOfBlossom, ...]:
    found, nodes = garden_jars(study, network)
    return tuple(
        JarOfBlossom(
            nodes[jar.node].id,
            tuple(donor(share, nodes[share.node], nodes[jar.node]) for share in jar.sources),
        )
        for jar in found
    )


def _best(best: BestAdded, nodes: Sequence[Node]) -> BestSet:
    return BestSet(
        most=best.most,
        added=tuple(nodes[i].graft for i in best.added),
        limbs=best.tally.limbs,
        limbs_sure=best.tally.sure,
        limbs_covered=best.tally.covered,
        worst_winters_expected=best.tally.worst,
        alternatives=tuple(tuple(nodes[i].graft for i in chosen) for chosen in best.alternatives),
        all_alternatives_listed=best.all_listed,
        proof=BestProof(
            "optimal" if best.proven else "time limit",
            say("sets counted on packed bits, the others ruled out by a bound"),
            best.offered,
            best.looked,
        ),
    )


def _nearest(miss: Uncovered, nodes: Sequence[Node]) -> NearestMiss | None:
    if miss.donor is None:
        return None
    sides = {"donor": miss.donor, "receiver": miss.node}
    untold = [sides[side] for side in miss.verdict.untold] if miss.verdict is not None else []
    unknown = dict.fromkeys(nodes[i].variety.name for i in (*untold, *miss.undated))
    return NearestMiss(
        nodes[miss.donor].variety.name,
        miss.days,
        miss.overlap_days,
        miss.reliability,
        None if miss.verdict is None else verdict_sentence(miss.verdict),
        tuple(unknown),
    )


def _finite(value: float) -> float | None:
    """JSON has no infinity: where no set was found there is neither bound nor gap."""
    return value if isfinite(value) else None


def outlook_answer(later: Searched, study: Study) -> str:
    """The answer for a warmer climate in one sentence."""
    answer = cover_answer(later.answer, later.network.nodes, study.plan.aim.level)
    return outlook_words(later.warmer_c) + answer


def _warmer(later: Searched, study: Study) -> WarmerCover:
    nodes, answer = later.network.nodes, later.answer
    return WarmerCover(
        degrees_c=later.warmer_c,
        answer=outlook_answer(later, study),
        status=answer.status,
        added=tuple(nodes[i].graft for i in answer.added),
        alternatives=tuple(tuple(nodes[i].graft for i in some) for some in answer.alternatives),
        uncovered=tuple(short_name(nodes[miss.node]) for miss in answer.uncovered),
    )


def wished_concessions(study: Study, found: Searched, wishes: Wishes) -> tuple[Concession, ...]:
    """What would make it possible where nothing does; none where more was wished."""
    # With further wishes the concessions would answer another question.
    plain = not (wishes.must or wishes.survive or wishes.never or wishes.pollen_only)
    if not found.answer.uncovered or not plain:
        return ()
    limit, view = wishes.time_limit_s, found.whole.view
    left = found.left()
    if limit is not None and left is not None:
        wishes = replace(wishes, time_limit_s=max(left, AFTERWARDS * limit))
    return tuple(concessions(study, found.network, found.candidates, wishes, view))


def _trade_off(
    network: NetworkInput, gains: Sequence[Gain], by_days: Sequence[tuple[float, Found]]
) -> TradeOff:
    names = network.nodes
    return TradeOff(
        tuple(
            BestOfSize(gain.cost, tuple(names[i].graft for i in gain.added), gain.reliability)
            for gain in gains
        ),
        tuple(
            SetByDays(days, cover.status, tuple(names[i].graft for i in cover.added))
            for days, cover in by_days
        ),
    )


def _springs(
    study: Study, network: NetworkInput, added: Sequence[int], spring: int, *, survive: bool
) -> tuple[LimbSprings, ...]:
    return tuple(
        LimbSprings(
            network.nodes[row[0].node].id,
            network.nodes[row[0].node].variety.name,
            tuple(Spring(e.spring, e.blooms, e.cautious, e.hopeful) for e in row),
        )
        for row in coming_springs(study, network, added, spring, survive=survive)
    )


# --- coming springs ---

SPRINGS = 6
"""Coming springs that are told; the slowest fruit blooms by then on a bearing tree."""

MOST_ADDED = 3
"""Most added varieties in the trade-off."""

TRADED_DAYS = (1.0, 2.0, 3.0, 4.0, 5.0)
"""Demanded days of shared bloom in the trade-off, beside the plan's own. [days]"""


# --- coming springs --------------------------------------------------------------------------


def coming_springs(
    study: Study, network: NetworkInput, added: Sequence[int], spring: int, *, survive: bool = False
) -> tuple[tuple[SpringShare, ...], ...]:
    """Coverage in each of the next springs when the set is grafted in one spring.

    survive : what is left of it after the loss that is worst for each limb.
    """
    grafted, ages = graft_years(study, network, added, spring)
    firsts = first_springs(grafted, {node: (age.first, age.late) for node, age in ages.items()})
    springs = range(spring + 1, spring + SPRINGS + 1)
    here = (*present_of(network), *added)
    return coverage_by_spring(network, here, firsts, springs, survive=survive)


def graft_years(
    study: Study, network: NetworkInput, added: Sequence[int], spring: int
) -> tuple[dict[int, int | None], dict[int, BearingAge]]:
    """Year of grafting of each limb (None: long ago) and how old it must be to flower."""
    methods: dict[int, GraftMethod] = {node: "graft on a bearing tree" for node in added}
    years: dict[int, int | None] = dict.fromkeys(added, spring)
    places = {node.id: i for i, node in enumerate(network.nodes) if node.kind == "limb"}
    for tree in study.plan.trees:
        for limb in tree.limbs:
            years[places[limb.id]] = limb.grafted
            methods[places[limb.id]] = graft_method(limb, tree)
    fruits = {network.nodes[node].variety.species for node in methods}
    tables = {method: load_bearing(fruits, method) for method in set(methods.values())}
    ages = {
        node: tables[method][network.nodes[node].variety.species]
        for node, method in methods.items()
    }
    return years, ages


# --- trade-offs ---


def traded(study: Study, found: Searched, wishes: Wishes) -> Traded:
    """What more varieties, and other demands of days, would buy."""
    network, days = found.network, found.network.aim.min_overlap_days
    # The number of varieties is traded off freely; a set that is partly given has no such choice.
    free = not (wishes.must or wishes.survive)
    limit = wishes.time_limit_s
    view = found.whole.view
    gains = by_number(study, network, found.candidates, found.answer, limit, view) if free else []
    return gains, [
        (value, found.answer if value == days else found.again(with_days(network, value)))
        for value in sorted({*TRADED_DAYS, days})
    ]


def by_number(
    study: Study,
    network: NetworkInput,
    candidates: Sequence[int],
    answer: Found,
    limit_s: float | None,
    view: Viability,
) -> list[Gain]:
    """Best worst limb for each number of added varieties; of equal sets the answer's own."""
    found = gain_per_cost(
        network,
        candidates,
        study.spare_limbs(),
        preferences=study.tie_breakers(network),
        most=MOST_ADDED,
        time_limit_s=limit_s,
        clock=monotonic,
        view=view,
    )
    own = answer.reliability if answer.status == "optimal" else -1.0
    return [
        replace(gain, added=answer.added)
        if gain.cost == answer.cost and abs(gain.reliability - own) < 1e-9
        else gain
        for gain in found
    ]


def with_days(network: NetworkInput, days: float) -> NetworkInput:
    """The network when other days of shared bloom are demanded. [days]"""
    return replace(network, aim=replace(network.aim, min_overlap_days=days))


# --- concessions -----------------------------------------------------------------------------


def concessions(
    study: Study,
    network: NetworkInput,
    candidates: Sequence[int],
    wishes: Wishes,
    view: Viability | None = None,
) -> list[Concession]:
    """What would make an infeasible plan feasible: kind, value, what is added, and the words."""
    left = time_left(wishes.time_limit_s, monotonic)
    found = [
        _concession(relaxation, network)
        for relaxation in relaxations(
            network,
            candidates,
            study.spare_limbs(),
            preferences=study.tie_breakers(network),
            sure=wishes.sure,
            time_limit_s=left(),
            clock=monotonic,
            view=view,
        )
    ]
    rest = left()
    if wishes.from_catalogue or not wishes.wider or (rest is not None and rest < WIDER_S):
        return found
    return found + _wider(study, replace(wishes, time_limit_s=rest))


def _concession(relaxation: Relaxation, network: NetworkInput) -> Concession:
    return Concession(
        relaxation.kind,
        relaxation.value,
        tuple(network.nodes[i].graft for i in relaxation.added),
        relaxation_text(relaxation, network.nodes),
    )


def _wider(study: Study, wishes: Wishes) -> list[Concession]:
    """A smallest set when every catalogue variety may be chosen."""
    if study.record is None:
        # Without weather the catalogue's varieties have no bloom here.
        return []
    network = study.network_of(study.free_scions(from_catalogue=True))
    present = len(present_of(network))
    candidates = range(present, len(network.nodes))
    left = time_left(wishes.time_limit_s, monotonic)
    view = view_of(network, candidates, sure=wishes.sure)
    whole = cover_problem(network, candidates, study.spare_limbs(), sure=wishes.sure, view=view)
    if never_covered(whole):
        # No set is enough: the smallest for the other limbs, which takes long, is not asked for.
        return []
    cover = smallest_cover(
        network, candidates, study.spare_limbs(),
        preferences=study.tie_breakers(network), max_alternatives=1, sure=wishes.sure,
        time_limit_s=left(), clock=monotonic, view=view,
    )  # fmt: skip
    if cover.status != "optimal":
        return []
    added = [network.nodes[i].variety.name for i in cover.added]
    text = _("with other wood, such as {names} (--from catalogue lists more)")
    text = text.format(names=joined(added))
    return [Concession("candidates", len(added), tuple(added), text)]
