"""What is said of donors that may be felled, and of those that flower every other year."""

from __future__ import annotations

from collections.abc import Sequence

from pollinet.domain import NetworkInput, Node
from pollinet.language import _, joined, ngettext
from pollinet.network.viability import felled_of
from pollinet.summary.uncertain_donors import Felling
from pollinet.wording.sentences import graft_name, named


def felling_notes(fellings: Sequence[Felling]) -> list[str]:
    """What would be lost with each tree that may be felled."""
    return [felling_text(felling) for felling in fellings]


def felling_text(felling: Felling) -> str:
    """The same of one tree."""
    tree, limbs = named(felling.tree), [limb.id for limb in felling.uncovers]
    if not limbs:
        text = _("{tree} may be felled: no limb would lack a donor then.")
        return text.format(tree=tree)
    text = ngettext(
        "{tree} may be felled: {limbs} would lack a donor then.",
        "{tree} may be felled: {limbs} would lack a donor then.",
        len(limbs),
    )
    return text.format(tree=tree, limbs=joined(limbs))


def off_year_note(nodes: Sequence[Node]) -> list[str]:
    """How what flowers every other year is counted; nothing where all flower every year."""
    if not nodes:
        return []
    text = _(
        "Flower every other year only: {limbs}. They give others pollen in one winter of two; "
        "which, nobody knows. In a year without flowers they need none themselves."
    )
    named = [graft_name(node) if node.kind == "candidate" else node.id for node in nodes]
    return [text.format(limbs=joined(named))]


def cover_standing_notes(
    network: NetworkInput, chosen: Sequence[int], *, best: bool, survive: bool
) -> list[str]:
    """What a set was asked to do without, and which of its donors have off-years.

    best : whether it is the best so many varieties, which are ranked with every tree standing.
    """
    nodes = network.nodes
    resting = [
        node
        for i, node in enumerate(nodes)
        if node.biennial and (node.kind != "candidate" or i in chosen)
    ]
    felled = joined([named(nodes[i]) for i in felled_of(network)], "or")
    notes = off_year_note(resting)
    if felled and best:
        notes.append(_("Counted as long as no tree is felled: {trees}.").format(trees=felled))
    elif felled and not survive:
        text = _("Asked for also when one of these is felled, one at a time: {trees}.")
        notes.append(text.format(trees=felled))
    return notes
