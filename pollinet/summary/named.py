"""Names that a person typed: limbs, neighbours' trees, trees and candidates, with what is wrong."""

from __future__ import annotations

from collections.abc import Iterable, Mapping, Sequence

from pollinet.domain import Node, Scion, Tree, VarietyId
from pollinet.findings import Finding
from pollinet.messages import joined, listing, mark, say
from pollinet.readers.catalogue import load_catalogue
from pollinet.readers.names import (
    fold,
    nearest_first,
    one_of,
    resolve_fruit,
    resolve_variety,
    suggest,
)
from pollinet.readers.shared_tables import fruits
from pollinet.study import Study
from pollinet.summary.varieties import by_fruit

Named = tuple[tuple[int, ...], tuple[Finding, ...]]


def limb_named(study: Study, text: str) -> Named:
    """Place among the nodes of the limb that is meant; none where there is none."""
    limbs = [node for node in study.nodes() if node.kind == "limb"]
    return _found([text], {node.id: [node] for node in limbs}, limbs, "limb", study)


def places_named(study: Study, texts: Sequence[str]) -> Named:
    """Places of limbs and neighbours' trees; a tree of the plan stands for all its limbs."""
    nodes = study.nodes()
    known = {tree.id: [n for n in nodes if n.tree == tree.id] for tree in study.plan.trees}
    known |= {node.id: [node] for node in nodes}
    return _found(texts, known, nodes, "limb or neighbour", study)


def trees_named(study: Study, text: str | None) -> tuple[tuple[Tree, ...], tuple[Finding, ...]]:
    """The tree of an id, or all where none is told; with what is wrong."""
    trees = study.open_trees
    found = tuple(tree for tree in trees if text is None or tree.id == text)
    if found or text is None:
        return found, ()
    cure = one_of(text, [tree.id for tree in trees])
    message = say('the plan has no tree "{tree}"', tree=text)
    return (), (Finding("error", "unknown-tree", message, study.plan.file, "--tree", cure=cure),)


def varieties_named(
    study: Study, texts: Sequence[str], species: str | None = None
) -> tuple[tuple[VarietyId, ...], tuple[Finding, ...]]:
    """Varieties of the catalogue or the plan, each of one fruit only; with what is wrong.

    species : kind of fruit, by any of its names; None: any that stands in the garden.
    """
    planted = list(dict.fromkeys(tree.species for tree in study.plan.trees))
    if species is not None:
        fruit, problems = resolve_fruit(species, fruits(), place="--species")
        if fruit is None:
            return (), problems
        planted = [fruit]
    own = {fruit: [v.id.name for v in study.plan.own_varieties if v.id.species == fruit]
           for fruit in planted}  # fmt: skip
    found: list[VarietyId] = []
    findings: list[Finding] = []
    for text in dict.fromkeys(texts):
        tried = [resolve_variety(text, fruit, study.catalogue, own=own[fruit]) for fruit in planted]
        meant = [variety for variety, _ in tried if variety is not None]
        if len(meant) == 1:
            found += meant
        elif meant:
            message = say('"{name}" is a variety of several fruits: {fruits}', name=text,
                          fruits=listing([say(v.species) for v in meant]))  # fmt: skip
            cure = say("say which with --species")
            findings.append(Finding("error", "several-fruits", message, cure=cure))
        else:
            wrong = [f for _, told in tried for f in told if f.severity == "error"]
            findings += _no_variety(study, text, planted, wrong, anywhere=species is None)
    return tuple(found), tuple(findings)


def _no_variety(
    study: Study, text: str, asked: Sequence[str], wrong: Sequence[Finding], *, anywhere: bool
) -> Sequence[Finding]:
    """What is wrong with a name that no fruit has, said once.

    asked : fruits that were asked. wrong : what is wrong with the name in each of them.
    anywhere : whether any fruit would do.
    """
    if open_names := [one for one in wrong if one.code != "unknown-variety"]:
        return open_names
    # Of other kinds of fruit the study knows nothing.
    catalogue, _ = load_catalogue(fruits(), study.own_folder)
    known, standing = by_fruit(text, catalogue), {tree.species for tree in study.plan.trees}
    if known and not standing & {*known} and (anywhere or not standing & {*asked}):
        return [_not_planted(text, sorted(known))]
    if len(asked) > 1:
        return [_known_nowhere(study, text, asked)]
    told = [f for fruit in asked for f in resolve_variety(text, fruit, catalogue)[1]]
    return [one for one in told if one.severity == "error"] or wrong


def _not_planted(text: str, of: Sequence[str]) -> Finding:
    """That a variety is of a fruit that does not stand here."""
    message = say(
        '"{name}" is a variety of {fruits}: no such tree stands in the plan',
        name=text,
        fruits=joined([say(fruit) for fruit in of]),
    )
    cure = say(
        'add a [[tree]] with species = "{fruit}" to the plan, or see what is known of it: '
        "`pollinet variety NAME`",
        fruit=of[0],
    )
    return Finding("error", "not-planted", message, cure=cure)


def _known_nowhere(study: Study, text: str, asked: Sequence[str]) -> Finding:
    """That no fruit of the garden has a variety of that name."""
    message = say(
        '"{name}" is no variety of {fruits} known here',
        name=text,
        fruits=joined([say(fruit) for fruit in asked], "or"),
    )
    names = (*study.known, *study.catalogue.varieties, *study.catalogue.synonyms)
    near = suggest(text, {name.name for name in names if name.species in asked})
    usual = say("Take a name from the catalogue, or describe the variety yourself.")
    return Finding("error", "unknown-variety", message, cure=nearest_first(near, usual))


def _found(
    texts: Sequence[str],
    known: Mapping[str, list[Node]],
    nodes: Sequence[Node],
    kind: str,
    study: Study,
) -> Named:
    found: list[Node] = []
    findings = []
    for text in texts:
        alike = [name for name in known if name == text] or [
            name for name in known if fold(name) == fold(text)
        ]
        if len(alike) == 1:
            found += known[alike[0]]
        else:
            findings.append(_unknown(text, known, nodes, kind, study.plan.file))
    all_nodes = study.nodes()
    return tuple(sorted({all_nodes.index(node) for node in found})), tuple(findings)


def _unknown(
    text: str, known: Iterable[str], nodes: Sequence[Node], kind: str, file: str
) -> Finding:
    code = f"unknown-{kind.split()[0]}"
    of_variety = [node.id for node in nodes if fold(node.variety.name) == fold(text)]
    cure = one_of(text, known)
    if of_variety:
        cure = say("limbs are called by their ids; {variety} is {limbs}", variety=text,
                   limbs=joined(of_variety, "or"))  # fmt: skip
    pattern = (
        mark('the plan has no limb "{limb}"')
        if kind == "limb"
        else mark('the plan has no limb or neighbour "{limb}"')
    )
    return Finding("error", code, say(pattern, limb=text), file, cure=cure)


def candidates_named(
    study: Study,
    scions: Sequence[Scion],
    texts: Iterable[str],
    option: str,
    *,
    known_is_enough: bool = False,
    all_trees: bool = True,
) -> tuple[tuple[int, ...], tuple[Finding, ...]]:
    """Places in `scions` of the varieties that are meant by an option such as `--must`.

    A name is the variety's own, a synonym of it, or `name, fruit` where it serves several fruits;
    `name on tree` where it matters on which tree it is grafted.

    known_is_enough : pass over a variety that is known and no candidate.
    all_trees : whether a variety is meant on all trees at once.
    """
    found: list[int] = []
    findings: list[Finding] = []
    for text in texts:
        meant = _varieties(study, text)
        alike = [i for i, scion in enumerate(scions) if scion.variety in meant] or [
            i for i, scion in enumerate(scions) if scion.tree and fold(text) == fold(scion.graft)
        ]
        several = len({scions[i].variety for i in alike}) > 1
        if len(alike) == 1 or (alike and all_trees and not several):
            found += alike
        elif alike and not several:
            ways = listing([f'"{scions[i].graft}"' for i in alike])
            message = say('which tree "{variety}" goes on makes a difference here', variety=text)
            cure = say("say which: {names}", names=ways)
            findings.append(
                Finding("error", "which-tree", message, study.plan.file, option, cure=cure)
            )
        elif alike or not (known_is_enough and meant):
            findings.append(_no_candidate(study, scions, text, option, several=bool(alike)))
    return tuple(found), tuple(findings)


def _varieties(study: Study, text: str) -> set[VarietyId]:
    def means(name: VarietyId) -> bool:
        return fold(text) in (fold(name.name), fold(f"{name.name}{name.species}"))

    synonyms = study.catalogue.synonyms
    return {v for v in study.known if means(v)} | {synonyms[s] for s in synonyms if means(s)}


def _no_candidate(
    study: Study, scions: Sequence[Scion], text: str, option: str, *, several: bool
) -> Finding:
    if several:
        message = say('several fruits have a candidate "{variety}"', variety=text)
        cure = say('write "{variety}, apple"', variety=text)
    else:
        message = say('"{variety}" is not among the candidates', variety=text)
        near = suggest(text, [scion.variety.name for scion in scions])
        blocked = [s.blocked for s in study.plan.scions
                   if s.variety in _varieties(study, text) and s.blocked is not None]  # fmt: skip
        cure = say("nearest: {names}", names=listing(near)) if near else (
            say("add it as a [[scion]], or choose --from catalogue")
            if _varieties(study, text)
            else say("add it as a [[scion]]")
        )  # fmt: skip
        if blocked:
            cure = say("it is blocked in the plan: {reason}", reason=blocked[0])
    return Finding("error", "unknown-candidate", message, study.plan.file, option, cure=cure)
