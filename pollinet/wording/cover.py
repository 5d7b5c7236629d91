"""What the smallest set changes limb by limb, and what is told beside it."""

from __future__ import annotations

from collections.abc import Sequence

from pollinet.advice.pollinizer import Jar
from pollinet.domain import NetworkInput, Node
from pollinet.language import N_, _, ngettext, number, pgettext
from pollinet.network.best_added import BestAdded
from pollinet.network.cover import Cover
from pollinet.network.coverage import LimbCoverage, limb_coverage
from pollinet.network.preferred import Prefer
from pollinet.network.viability import present_of
from pollinet.summary.passed_over import PassedCode, PassedOver
from pollinet.wording.check import marked_winters
from pollinet.wording.network import JAR_SOURCES
from pollinet.wording.sentences import (
    best_donor,
    graft_name,
    has_or_have,
    joined,
    of_limbs,
    proof_text,
    short_name,
    tenths,
)
from pollinet.wording.verdicts import verdict_sentence

COVER_HEADINGS = (N_("Limb"), N_("Variety"), N_("Now"), N_("Then"), N_("Best donor then"))

SHOWN_SETS = 10
"""Alternative sets shown in the text; all that were listed are in the JSON."""


def cover_rows(
    before: Sequence[LimbCoverage], network: NetworkInput, added: Sequence[int]
) -> tuple[tuple[str, ...], ...]:
    """Every limb now and after the grafts have come into bloom, as `COVER_HEADINGS`."""
    nodes, now = network.nodes, {row.node: marked_winters(row) for row in before}
    after = limb_coverage(network, (*present_of(network), *added))
    return tuple(
        (
            pgettext("limb", "new") if nodes[row.node].kind == "candidate" else nodes[row.node].id,
            graft_name(nodes[row.node])
            if nodes[row.node].kind == "candidate"
            else nodes[row.node].variety.name,
            now.get(row.node, ""),
            marked_winters(row),
            best_donor(row, nodes),
        )
        for row in after
    )


def equally_small(sets: Sequence[Sequence[str]], *, all_listed: bool) -> list[str]:
    """The sets after the first, by names of varieties; nothing where there are none."""
    others = sets[1 : SHOWN_SETS + 1]
    if not others:
        return []
    more = len(sets) - 1 - len(others)
    text = _("Equally small: {sets}.") if all_listed else _("Equally small: {sets}; and others.")
    if more and not all_listed:
        text = _("Equally small: {sets}; and more than {number} others.")
    elif more:
        text = ngettext(
            "Equally small: {sets}; and {number} more.",
            "Equally small: {sets}; and {number} more.",
            more,
        )
    return [text.format(sets="; ".join(map(joined, others)), number=more)]


def likely_notes(network: NetworkInput, chosen: Sequence[int]) -> list[str]:
    """Of new grafts whom they serve only likely, and why; nothing where all of it is known."""
    nodes, limbs = network.nodes, dict[int, list[tuple[float, str, str]]]()
    for row in limb_coverage(network, (*present_of(network), *chosen)):
        for donor in row.donors:
            if donor.node in chosen and not donor.known:
                told = donor.verdict.probability, short_name(nodes[row.node])
                limbs.setdefault(donor.node, []).append((*told, verdict_sentence(donor.verdict)))
    notes = []
    for node, found in sorted(limbs.items()):
        _chance, limb, reason = min(found, key=lambda one: one[0])
        text = (
            _("{name} is a likely donor of {limbs}: {reason}.")
            if len(found) == 1
            else _("{name} is a likely donor of {limbs}; least likely of {limb}: {reason}.")
        )
        named = joined([name for _chance, name, _reason in found])
        name = graft_name(nodes[node])
        notes.append(text.format(name=name, limbs=named, limb=limb, reason=reason))
    return notes


def best_answer(best: BestAdded, nodes: Sequence[Node]) -> str:
    """The one-sentence answer to which varieties to add: which, and what limbs have then."""
    names, covered = joined([graft_name(nodes[i]) for i in best.added]), best.tally.covered
    text = (
        ngettext(
            "Take {names}: then {covered} of {limbs} is covered ({sure} surely), the worst in "
            "{tenths} winters of 10.",
            "Take {names}: then {covered} of {limbs} are covered ({sure} surely), the worst in "
            "{tenths} winters of 10.",
            has_or_have(covered, best.tally.limbs),
        )
        if names
        else ngettext(
            "Take none, as none makes it better: {covered} of {limbs} is covered ({sure} surely), "
            "the worst in {tenths} winters of 10.",
            "Take none, as none makes it better: {covered} of {limbs} are covered ({sure} surely), "
            "the worst in {tenths} winters of 10.",
            has_or_have(covered, best.tally.limbs),
        )
    )
    return text.format(
        names=names, covered=number(covered), limbs=of_limbs(best.tally.limbs),
        sure=number(best.tally.sure), tenths=tenths(best.tally.worst),
    )  # fmt: skip


def best_notes(best: BestAdded, network: NetworkInput) -> list[str]:
    """Sets that are as good, whom the new grafts serve only likely, and the proof."""
    sets = [[graft_name(network.nodes[i]) for i in chosen] for chosen in best.alternatives]
    others = "; ".join(map(joined, sets[1 : SHOWN_SETS + 1]))
    whole = best.all_listed and len(sets) <= SHOWN_SETS + 1
    text = _("Equally good: {sets}.") if whole else _("Equally good: {sets}; and others.")
    notes = [text.format(sets=others)] if others else []
    proof = (
        ngettext(
            "Exact: of all sets of up to {most} of {number} candidate, {looked} were counted and "
            "the others ruled out by a bound, or equal to one of these.",
            "Exact: of all sets of up to {most} of {number} candidates, {looked} were counted and "
            "the others ruled out by a bound, or equal to one of these.",
            best.offered,
        )
        if best.proven
        else _("Not proven: the best found within the time allowed, after {looked} sets.")
    )
    proof = proof.format(most=best.most, number=best.offered, looked=best.looked)
    return [*notes, *likely_notes(network, best.added), proof]


PASSED_SHOWN = 5
"""Scions named that were passed over; all of them are in the JSON."""

_PASSED: dict[PassedCode, str] = {
    "other-fruit": N_("no tree of this fruit in the plan"),
    "no-room": N_("no limb to spare on the trees of this fruit"),
    "no-bloom": N_("bloom time here not known"),
    "no-shed": N_("not known when its catkins dust"),
    "own-donor": N_("would have a donor itself in too few winters"),
    "idle": N_("serves no limb here"),
}


def passed_text(passed: PassedOver) -> str:
    """Why a scion was passed over."""
    return passed.why if passed.code == "blocked" else _(_PASSED[passed.code])


def passed_note(passed: Sequence[PassedOver]) -> list[str]:
    """Which scions were passed over, and why; nothing where none was."""
    if not passed:
        return []
    named = [f"{one.variety.name} ({passed_text(one)})" for one in passed[:PASSED_SHOWN]]
    more = len(passed) - len(named)
    text = _("Passed over: {scions}.")
    if more:
        text = ngettext(
            "Passed over: {scions}; and {number} more.",
            "Passed over: {scions}; and {number} more.",
            more,
        )
    return [text.format(scions="; ".join(named), number=more)]


def order_notes(cover: Cover, nodes: Sequence[Node], prefer: Prefer) -> list[str]:
    """What was shown of wood to be ordered; nothing where there is none, or it was not asked."""
    if not cover.added:
        return []
    notes = []
    if prefer == "at-hand" or not all(nodes[i].at_hand for i in cover.added):
        if not cover.fewest_ordered:
            notes.append(_("Not proven that no set has less wood to order."))
        elif prefer == "at-hand":
            notes.append(_("Proven: no set has less wood to order."))
        else:
            notes.append(_("Proven: no set as small has less wood to order."))
    if cover.smaller:
        names = joined([graft_name(nodes[i]) for i in cover.smaller])
        text = _("With more wood to order fewer varieties do: {names}.")
        notes.append(text.format(names=names))
    return notes


def jar_note(jars: Sequence[Jar], nodes: Sequence[Node]) -> list[str]:
    """Whose cut blossom would serve limbs this spring, or cut catkins; nothing where nobody's."""
    told: dict[bool, list[str]] = {False: [], True: []}
    for jar in jars:
        if jar.sources:
            names = [nodes[d.node].variety.name for d in jar.sources[:JAR_SOURCES]]
            limb = nodes[jar.node]
            one = (
                _("for {limb} those of {names}")
                if limb.sheds_apart
                else _("for {limb} that of {names}")
            )
            told[limb.sheds_apart].append(one.format(limb=limb.id, names=joined(names, "or")))
    return [_(_STAND_IN[kind]).format(jars="; ".join(each)) for kind, each in told.items() if each]


_STAND_IN = {
    False: N_(
        "This spring, until grafts flower, cut blossom in a jar beside a limb can stand in: {jars}."
    ),
    True: N_(
        "Until grafts have catkins, cut catkins in water upwind of a limb can stand in: {jars}."
    ),
}
"""What stands in for a graft that does not flower yet, by whether its pollen comes by catkins."""


def set_notes(passed: Sequence[PassedOver], network: NetworkInput, cover: Cover) -> list[str]:
    """Other sets of the same size, scions passed over, and who is only likely."""
    sets = [[graft_name(network.nodes[i]) for i in chosen] for chosen in cover.alternatives]
    return [
        *equally_small(sets, all_listed=cover.all_listed),
        *_compared_note(cover),
        *passed_note(passed),
        *likely_notes(network, cover.added or cover.partial),
    ]


def _compared_note(cover: Cover) -> list[str]:
    """Where sets of one size were not all compared: that the first may not be the best of them."""
    if cover.status != "optimal" or cover.first_proven:
        return []
    text = _("The equally small sets were not all compared: the first is the best of at least "
             "{number}.")  # fmt: skip
    return [text.format(number=number(cover.compared, "d"))]


def cover_notes(passed: Sequence[PassedOver], network: NetworkInput, cover: Cover) -> list[str]:
    """Other sets of the same size, scions passed over, who is only likely, and the proof."""
    return [*set_notes(passed, network, cover), proof_text(cover, network.nodes)]
