"""What a variety does without others, in a few words for a table."""

from __future__ import annotations

from collections.abc import Iterable, Mapping

from pollinet.language import N_, _
from pollinet.summary.alone import Alone, GivesPollen, OwnPollen

_OWN: Mapping[OwnPollen, str] = {
    "yes": N_("self-fertile"),
    "no": N_("not self-fertile"),
    "partly": N_("partly self-fertile, not counted on"),
    "disputed": N_("self-fertile or not: sources disagree"),
    "unknown": N_("not known whether self-fertile"),
}

_GIVES: Mapping[GivesPollen, str] = {
    "yes": "",
    "no": N_("gives no good pollen"),
    "disputed": N_("good pollen or not: sources disagree"),
}


def alone_words(alone: Alone) -> str:
    """`not self-fertile; gives no good pollen; may set fruit without seed`."""
    own = _(_OWN[alone.self_fertile])
    if alone.presumed:
        own = _("presumably {what}, as usual for the fruit").format(what=own)
    seedless = _("may set fruit without seed") if alone.seedless else ""
    if alone.seedless and alone.recalled:
        seedless = _("{what} (from memory)").format(what=seedless)
    return "; ".join(filter(None, [own, _(_GIVES[alone.gives_pollen]), seedless]))


def seedless_note(varieties: Iterable[Alone]) -> list[str]:
    """That fruit without seed is never counted on; nothing where no variety may set any."""
    text = _("Fruit without seed comes in some places and years only: it is never counted on.")
    return [text] if any(alone.seedless for alone in varieties) else []
