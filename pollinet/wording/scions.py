"""The wood to cut or to order, in words, and what to mind with it."""

from __future__ import annotations

from pollinet.language import N_, _, joined
from pollinet.network.cover import Cover
from pollinet.readers.advice import advice_tables
from pollinet.summary.scions import ScionWanted

CUTTING = N_(
    "Cut last year's wood while it is dormant, in pieces with at least three buds and without the "
    "tip, and keep it moist and refrigerated until you graft (Kansas State University, "
    "horticulture newsletter)."
)


def wood_text(at_hand: bool) -> str:
    """Where the wood comes from, in a word."""
    return _("at hand") if at_hand else _("to order or swap")


def scions_answer(wanted: tuple[ScionWanted, ...], cover: Cover) -> str:
    """The list in one sentence."""
    if not wanted:
        return _("No scion here would help.") if cover.uncovered else _("No scions are needed.")
    ordered = joined([scion.variety.name for scion in wanted if not scion.at_hand])
    at_hand = joined([scion.variety.name for scion in wanted if scion.at_hand])
    if ordered and at_hand:
        return _("Cut {at_hand} and order {ordered}.").format(at_hand=at_hand, ordered=ordered)
    return (
        _("Cut {names}.").format(names=at_hand)
        if at_hand
        else _("Order {names}.").format(names=ordered)
    )


def cautions() -> tuple[str, ...]:
    """What to mind with wood from elsewhere; Pollinet clears nothing."""
    texts = {row["caution"]: row["text"] for row in advice_tables()["cautions"]}
    return tuple(_(text) for text in map(texts.get, ("scions", "blight", "knife")) if text)
