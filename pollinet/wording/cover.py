"""What the smallest set changes limb by limb, and what is told beside it."""

from __future__ import annotations

from collections.abc import Iterable, Sequence

from pollinet.domain import NetworkInput, Node, Scion
from pollinet.language import N_, _, ngettext, number, pgettext
from pollinet.network.best_added import BestAdded
from pollinet.network.cover import Cover
from pollinet.network.coverage import LimbCoverage, limb_coverage
from pollinet.network.viability import present_of
from pollinet.wording.sentences import (
    best_donor,
    joined,
    of_limbs,
    of_ten,
    proof_text,
    short_name,
    winters_of_ten,
)
from pollinet.wording.verdicts import verdict_sentence

COVER_HEADINGS = (N_("Limb"), N_("Variety"), N_("Now"), N_("Then"), N_("Best donor then"))

SHOWN_SETS = 10
"""Alternative sets shown in the text; all that were listed are in the JSON."""


def cover_rows(
    before: Sequence[LimbCoverage], network: NetworkInput, added: Sequence[int]
) -> tuple[tuple[str, ...], ...]:
    """Every limb now and after the grafts have come into bloom, as `COVER_HEADINGS`."""
    nodes, now = network.nodes, {row.node: of_ten(row.reliability) for row in before}
    after = limb_coverage(network, (*present_of(network), *added))
    return tuple(
        (
            pgettext("limb", "new") if nodes[row.node].kind == "candidate" else nodes[row.node].id,
            nodes[row.node].variety.name,
            now.get(row.node, ""),
            of_ten(row.reliability),
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
    nodes, limbs = network.nodes, dict[tuple[int, str], list[str]]()
    for row in limb_coverage(network, (*present_of(network), *chosen)):
        for donor in row.donors:
            if donor.node in chosen and not donor.known:
                reason = verdict_sentence(donor.verdict)
                limbs.setdefault((donor.node, reason), []).append(short_name(nodes[row.node]))
    text = _("{name} is a likely donor of {limbs}: {reason}.")
    return [
        text.format(name=nodes[node].variety.name, limbs=joined(named), reason=reason)
        for (node, reason), named in sorted(limbs.items())
    ]


def best_answer(best: BestAdded, nodes: Sequence[Node]) -> str:
    """The one-sentence answer to which varieties to add: which, and what limbs have then."""
    names, covered = joined([nodes[i].variety.name for i in best.added]), best.tally.covered
    text = (
        ngettext(
            "Take {names}: then {covered} of {limbs} is covered ({sure} surely), the worst in "
            "{winters}.",
            "Take {names}: then {covered} of {limbs} are covered ({sure} surely), the worst in "
            "{winters}.",
            covered,
        )
        if names
        else ngettext(
            "Take none, as none makes it better: {covered} of {limbs} is covered ({sure} surely), "
            "the worst in {winters}.",
            "Take none, as none makes it better: {covered} of {limbs} are covered ({sure} surely), "
            "the worst in {winters}.",
            covered,
        )
    )
    return text.format(
        names=names, covered=number(covered), limbs=of_limbs(best.tally.limbs),
        sure=number(best.tally.sure), winters=winters_of_ten(best.tally.worst),
    )  # fmt: skip


def best_notes(best: BestAdded, network: NetworkInput) -> list[str]:
    """Sets that are as good, whom the new grafts serve only likely, and the proof."""
    sets = [[network.nodes[i].variety.name for i in chosen] for chosen in best.alternatives]
    others = "; ".join(map(joined, sets[1 : SHOWN_SETS + 1]))
    whole = best.all_listed and len(sets) <= SHOWN_SETS + 1
    text = _("Equally good: {sets}.") if whole else _("Equally good: {sets}; and others.")
    notes = [text.format(sets=others)] if others else []
    proof = (
        ngettext(
            "Exact: of all sets of up to {most} of {number} candidate, {looked} were counted and "
            "the others ruled out by a bound.",
            "Exact: of all sets of up to {most} of {number} candidates, {looked} were counted and "
            "the others ruled out by a bound.",
            best.offered,
        )
        if best.proven
        else _("Not proven: the best found within the time allowed, after {looked} sets.")
    )
    proof = proof.format(most=best.most, number=best.offered, looked=best.looked)
    return [*notes, *likely_notes(network, best.added), proof]


def cover_notes(scions: Iterable[Scion], network: NetworkInput, cover: Cover) -> list[str]:
    """Other sets of the same size, wood that is blocked, who is only likely, and the proof."""
    nodes = network.nodes
    sets = [[nodes[i].variety.name for i in chosen] for chosen in cover.alternatives]
    notes = equally_small(sets, all_listed=cover.all_listed)
    notes += [
        _("Not considered: {name} ({reason}).").format(
            name=scion.variety.name, reason=scion.blocked
        )
        for scion in scions
        if scion.blocked is not None
    ]
    notes += likely_notes(network, cover.added or cover.partial)
    return [*notes, proof_text(cover, nodes)]
