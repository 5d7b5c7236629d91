"""The one variety to add, where, and a jar of blossom until it flowers."""

from __future__ import annotations

from collections.abc import Collection, Mapping, Sequence
from dataclasses import dataclass
from typing import Annotated, ClassVar, Literal

from pollinet.advice.balance import vigour_of
from pollinet.advice.harvest import Harvest
from pollinet.advice.pollinizer import Choice, Jar, choices, in_cover_order, is_crab, jars
from pollinet.answers.base import About, Answer, Findings, Share, Told
from pollinet.answers.grafting import HowToGraft, how_to_graft
from pollinet.answers.parts import Donor, Fruit, donor, month_day
from pollinet.domain import NetworkInput, Node, Tree, VarietyId
from pollinet.network.selection import keep_nodes
from pollinet.network.viability import present_of
from pollinet.phenology.adequacy import is_chill_known
from pollinet.study import Study
from pollinet.summary.grafting import Grafting, graftings
from pollinet.summary.scions import WhyThere, farthest_m, height_on, why_there
from pollinet.summary.suits import garden_harvests
from pollinet.summary.work import jar_donors
from pollinet.wording.network import pollinizer_answer


@dataclass(frozen=True)
class LimbGain:
    """What a limb gains by the variety."""

    limb: str
    now: Annotated[Share, About("Before.")]
    then: Annotated[Share, About("With it.")]
    overlap_days: Annotated[float, About("[days]")]


@dataclass(frozen=True)
class Picking:
    """When the variety ripens here."""

    day: Annotated[str, About("MM-DD.")]
    rests_on: str


@dataclass(frozen=True)
class GraftingPlace:
    """A tree on which it can be grafted."""

    tree: str
    spare_limbs: int
    height: Annotated[str, About("Where on the tree, by vigour.")]
    why: Annotated[
        WhyThere,
        About(
            "only-room: no other tree of its fruit has room; alike: its pollen does the same on "
            "each; reach: its pollen reaches the limbs from there; no-room: it has none."
        ),
    ]
    farthest_m: Annotated[
        float | None,
        About("How far the farthest limb that gains is; null: no positions are told. [m]"),
    ]


@dataclass(frozen=True)
class Candidate:
    """A variety that would help."""

    id: str
    kind: Literal["limb", "neighbour", "candidate"]
    variety: str
    species: Fruit
    covers: Annotated[tuple[str, ...], About("Limbs that it would cover.")]
    gains: tuple[LimbGain, ...]
    effective_days: Annotated[float, About("[days]")]
    own_reliability: Annotated[
        Share | None, About("Scenarios in which it has a donor itself; null: need not crop.")
    ]
    closed: Annotated[bool, About("Whether it would be covered itself.")]
    chill_met: Annotated[Share | None, About("Winters with enough chill; null: not known.")]
    harvest: Annotated[Picking | None, About("When it ripens.")]
    vigour: Annotated[str | None, About("Published vigour.")]
    crab: Annotated[bool | None, About("Whether it is a crab apple; null: nobody says.")]
    trees: Annotated[tuple[GraftingPlace, ...], About("Where it can be grafted.")]


@dataclass(frozen=True)
class JarOfBlossom:
    """Whose cut branches to put in a jar this spring."""

    limb: str
    sources: tuple[Donor, ...]


@dataclass(frozen=True, repr=False)
class Pollinizer(Answer):
    """The one variety to add."""

    NAME: ClassVar[str] = "pollinizer"
    ROWS: ClassVar[str] = "candidates"
    ROW: ClassVar[type] = Candidate

    answer: Told
    uncovered: Annotated[tuple[str, ...], About("Limbs without a viable donor now.")]
    candidates: Annotated[tuple[Candidate, ...], About("Best first.")]
    how: Annotated[
        HowToGraft | None,
        About(
            "Of the first candidate: when, into what, how much wood, whose; null: there is none."
        ),
    ]
    jars: Annotated[
        tuple[JarOfBlossom, ...], About("Whose cut branches to put in a jar this spring.")
    ]
    findings: Findings

    @property
    def exit_code(self) -> int:
        """1 where more than one added variety is needed, or no tree has room for it."""
        best = next((one for one in self.candidates if one.closed), None)
        left = set(self.uncovered) - set(best.covers if best else ())
        room = best is not None and any(place.spare_limbs > 0 for place in best.trees)
        return 1 if left or (self.uncovered and not room) else 0


@dataclass(frozen=True)
class Found:
    """What was found: candidates that help, best first, in the numbers of `nodes`.

    uncovered : limbs that lack a donor now. jars : cut blossom for them, in the numbers of
        `jar_nodes`, which are the same for limbs. harvests : estimated harvest here of the
        candidates that help, where it is known.
    grafting : how the first of them is grafted. other_jars : varieties of the catalogue whose
        blossom would serve, by id of limbs for which no jar has a source.
    """

    nodes: tuple[Node, ...]
    trees: tuple[Tree, ...]
    uncovered: tuple[int, ...]
    choices: tuple[Choice, ...]
    jars: tuple[Jar, ...]
    jar_nodes: tuple[Node, ...]
    harvests: Mapping[VarietyId, Harvest]
    level: float
    grafting: Grafting | None
    other_jars: Mapping[str, tuple[str, ...]]


def ranked_choices(study: Study, trees: Sequence[Tree], *, from_catalogue: bool) -> Found:
    """Rank the candidates for the limbs of some trees."""
    species = {tree.species for tree in trees}
    scions = [
        scion
        for scion in study.free_scions(from_catalogue=from_catalogue)
        if scion.variety.species in species
    ]
    wanted = {tree.id for tree in trees}
    network = study.network_of(tuple(scions))
    nodes = network.nodes
    limbs = [i for i, n in enumerate(nodes) if n.kind == "limb" and n.must_crop]
    limbs = [i for i in limbs if nodes[i].tree in wanted]
    candidates = [
        i
        for i, node in enumerate(nodes)
        if node.kind == "candidate" and (node.tree is None or wanted & _ids(study, node))
    ]
    covered = {row.node for row in study.coverage if row.covered}
    uncovered = tuple(i for i in limbs if i not in covered)
    at_hand = {scion.variety for scion in study.plan.scions}
    mothers = mother_trees(nodes, at_hand)
    small = keep_nodes(network, (*present_of(network), *mothers))
    ranked = in_cover_order(
        [choice for choice in choices(network, candidates, limbs) if choice.helps],
        network, study.spare_limbs(), study.tie_breakers(network),
    )  # fmt: skip
    helping = [study.known[nodes[choice.node].variety] for choice in ranked]
    bloom = study.bloom_of(study.varieties(variety.id for variety in helping))
    mothers_from = range(len(present_of(network)), len(small.nodes))
    cut = jars(small, uncovered, mothers_from, study.suspected_ids)
    return Found(
        nodes,
        tuple(trees),
        uncovered,
        ranked,
        cut,
        small.nodes,
        garden_harvests(study, helping, bloom),
        network.aim.level,
        _grafting(study, network, trees, ranked),
        {} if all(jar.sources for jar in cut) else jar_donors(study),
    )


def _grafting(
    study: Study, network: NetworkInput, trees: Sequence[Tree], ranked: Sequence[Choice]
) -> Grafting | None:
    """How the first candidate is grafted on the first of the trees that have room for it."""
    if not ranked:
        return None
    node = ranked[0].node
    open_to = {tree.id for tree in study.trees_for(network.nodes[node])}
    tree = next((one.id for one in trees if one.id in open_to and one.spare_limbs > 0), None)
    return graftings(study, network, [node], {node: tree})[0]


def mother_trees(nodes: Sequence[Node], at_hand: Collection[VarietyId]) -> list[int]:
    """One candidate for each variety of which there is wood at hand."""
    first: dict[VarietyId, int] = {}
    for place, node in enumerate(nodes):
        if node.kind == "candidate" and node.variety in at_hand:
            first.setdefault(node.variety, place)
    return list(first.values())


def _ids(study: Study, node: Node) -> set[str]:
    return {tree.id for tree in study.trees_for(node)}


def trees_open(study: Study, found: Found, node: Node) -> list[Tree]:
    """Trees asked for on which a candidate can be grafted, the full ones too where it may."""
    here = None if node.tree is None else _ids(study, node)
    return [
        tree
        for tree in found.trees
        if tree.species == node.variety.species and (here is None or tree.id in here)
    ]


def chill_known(study: Study, node: Node) -> bool:
    """Whether the chill requirement of a candidate is published."""
    return study.sums is not None and bool(is_chill_known([study.known[node.variety]])[0])


def pollinizer_of(study: Study, found: Found) -> Pollinizer:
    """The answer, from what `ranked_choices` has found."""
    nodes, beside = found.nodes, found.jar_nodes
    return Pollinizer(
        answer=pollinizer_answer(found.choices, found.uncovered, nodes, found.level),
        uncovered=tuple(nodes[i].id for i in found.uncovered),
        candidates=tuple(_candidate(study, found, choice) for choice in found.choices),
        how=None if found.grafting is None else how_to_graft(found.grafting),
        jars=tuple(
            JarOfBlossom(
                beside[jar.node].id,
                tuple(donor(s, beside[s.node], beside[jar.node]) for s in jar.sources),
            )
            for jar in found.jars
        ),
        findings=study.findings,
    )


def _candidate(study: Study, found: Found, choice: Choice) -> Candidate:
    node, nodes = found.nodes[choice.node], found.nodes
    harvest = found.harvests.get(node.variety)
    return Candidate(
        id=node.id,
        kind=node.kind,
        variety=node.variety.name,
        species=node.variety.species,
        covers=tuple(nodes[i].id for i in choice.covers),
        gains=tuple(
            LimbGain(nodes[g.node].id, g.now, g.then, round(g.overlap_days, 3))
            for g in choice.gains
        ),
        effective_days=round(choice.effective_days, 3),
        own_reliability=choice.own if node.must_crop else None,
        closed=choice.closed,
        chill_met=choice.chill if chill_known(study, node) else None,
        harvest=None
        if harvest is None
        else Picking(month_day(round(harvest.day)), harvest.rests_on),
        vigour=vigour_of(study.known[node.variety]),
        crab=is_crab(study.known[node.variety]),
        trees=tuple(
            GraftingPlace(
                tree.id,
                tree.spare_limbs,
                height_on(study, node, tree),
                why_there(study, node, tree if tree.spare_limbs else None),
                farthest_m(node, [nodes[gain.node] for gain in choice.gains]),
            )
            for tree in trees_open(study, found, node)
        ),
    )
