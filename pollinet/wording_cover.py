"""What the smallest set changes limb by limb, and what is told beside it."""

from __future__ import annotations

from collections.abc import Iterable, Sequence

from pollinet.domain import NetworkInput, Scion
from pollinet.network.cover import Cover
from pollinet.network.coverage import LimbCoverage, limb_coverage
from pollinet.network.viability import present_of
from pollinet.wording import donor_text, joined, of_ten, proof_text

COVER_HEADINGS = ("Limb", "Variety", "Now", "Then", "Best donor then")

SHOWN_SETS = 10
"""Alternative sets shown in the text; all that were listed are in the JSON."""


def cover_rows(
    before: Sequence[LimbCoverage], network: NetworkInput, cover: Cover
) -> tuple[tuple[str, ...], ...]:
    """Every limb now and after the grafts have come into bloom, as `COVER_HEADINGS`."""
    nodes, now = network.nodes, {row.node: of_ten(row.reliability) for row in before}
    after = limb_coverage(network, (*present_of(network), *(cover.added or cover.partial)))
    return tuple(
        (
            "new" if nodes[row.node].kind == "candidate" else nodes[row.node].id,
            nodes[row.node].variety.name,
            now.get(row.node, ""),
            of_ten(row.reliability),
            donor_text(row.donors[0], nodes, row.node) if row.donors else "none",
        )
        for row in after
    )


def cover_notes(scions: Iterable[Scion], network: NetworkInput, cover: Cover) -> list[str]:
    """Other sets of the same size, wood that is blocked, and the proof."""
    nodes, notes = network.nodes, []
    others = cover.alternatives[1 : SHOWN_SETS + 1]
    if others:
        listed = "; ".join(joined([nodes[i].variety.name for i in chosen]) for chosen in others)
        more = len(cover.alternatives) - 1 - len(others)
        further = f"; and {more} more" if more else "" if cover.all_listed else "; and others"
        notes.append(f"Equally small: {listed}{further}.")
    notes += [
        f"Not considered: {scion.variety.name} ({scion.blocked})."
        for scion in scions
        if scion.blocked is not None
    ]
    return [*notes, proof_text(cover, nodes)]
