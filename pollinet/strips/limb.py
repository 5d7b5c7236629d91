"""One limb: its own bloom on top, carried down through all that might serve it."""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass
from datetime import date
from typing import Literal, TypeAlias

from markupsafe import Markup

from pollinet.answers.donors import Looked, refused
from pollinet.domain import Node, VarietyId
from pollinet.language import N_, _
from pollinet.network.coverage import LimbVerdict
from pollinet.network.proximity import distance_m
from pollinet.strips.drawing import (
    NEED,
    NOTHING,
    Axis,
    band,
    bar,
    bloom_bar,
    dotted,
    grid,
    heading,
    joined,
    named,
    row,
    scale,
    strip,
    swatch,
    unknown_bloom,
)
from pollinet.study import Study
from pollinet.summary.limbs import (
    BloomSpan,
    CalendarRow,
    bloom_span,
    name_beside,
    nominal_start,
    shed_span,
)
from pollinet.summary.spring import shared_span, window_of
from pollinet.wording.calendar import span_dates
from pollinet.wording.network import refusal_short, service_short
from pollinet.wording.sentences import days, graft_name, metres, of_ten, refusal_words
from pollinet.wording.verdicts import verdict_sentence

MOST_GRAFTED, MOST_REFUSED = 6, 8
"""Varieties shown that could be grafted, and that are no donors: the best and the nearest."""

Kind: TypeAlias = Literal["donor", "could be grafted", "no donor"]


@dataclass(frozen=True)
class Beside:
    """Something beside the limb that might give it pollen.

    ids : limbs or neighbours of one variety; empty: it could be grafted. span : when it sheds
    pollen. told : what it does for the limb, in a few words. why : the same in a sentence.
    """

    kind: Kind
    label: str
    ids: tuple[str, ...]
    span: BloomSpan | None
    told: str
    why: str
    sheds: bool = False


@dataclass(frozen=True)
class LimbSpring:
    """One limb in bloom, and all beside it. start : the day from which all days are counted."""

    limb: str
    variety: str
    verdict: LimbVerdict
    span: BloomSpan | None
    start: date
    beside: tuple[Beside, ...]


def limb_spring(
    study: Study,
    looked: Looked,
    *,
    grafted: int = MOST_GRAFTED,
    refusals: int | None = MOST_REFUSED,
) -> LimbSpring:
    """What a limb's strip shows. grafted, refusals : how many rows of each at most; None: all."""
    nodes, limb = looked.network.nodes, looked.node
    donors = {share.node: share for share in looked.row.donors if nodes[share.node] != limb}
    here = [place for place in donors if nodes[place].kind != "candidate"]
    wood = [place for place in donors if nodes[place].kind == "candidate"]
    none = {
        refusal.node: refusal
        for refusal in refused(looked.row, nodes)
        if refusal.code not in ("same-variety", "not-self-fertile")
    }
    shown: list[tuple[Kind, list[list[int]]]] = [
        ("donor", _by_variety(nodes, here, limb)),
        ("could be grafted", _by_variety(nodes, wood, limb)[:grafted]),
        ("no donor", _by_variety(nodes, list(none), limb)[:refusals]),
    ]
    names = {nodes[places[0]].variety for _kind, groups in shown for places in groups}
    bloom = study.bloom_of(study.varieties(names))

    def beside(kind: Kind, places: list[int]) -> Beside:
        node, place = nodes[places[0]], places[0]
        apart = study.known[node.variety].sheds_apart
        span = (shed_span if apart else bloom_span)(bloom, node.variety)
        if place in donors:
            share = donors[place]
            told, winters = service_short(share), of_ten(share.reliability)
            why = _("a donor in {winters} winters; {reason}").format(
                winters=winters, reason=verdict_sentence(share.verdict)
            )
        else:
            told, why = (
                refusal_short(none[place]),
                refusal_words(none[place], nodes, looked.row.node),
            )
        ids = () if node.kind == "candidate" else tuple(nodes[place].id for place in places)
        return Beside(kind, _label(nodes, places, limb), ids, span, told, why, apart)

    return LimbSpring(
        limb.id,
        name_beside(limb.variety.name, [limb.id]),
        looked.now.verdict,
        bloom_span(bloom, limb.variety),
        nominal_start(bloom),
        tuple(beside(kind, places) for kind, groups in shown for places in groups),
    )


def all_beside(study: Study, looked: Looked) -> LimbSpring:
    """What each of the garden is to a limb, for `calendar_strip`."""
    return limb_spring(study, looked, grafted=0, refusals=None)


def _by_variety(nodes: Sequence[Node], places: Sequence[int], limb: Node) -> list[list[int]]:
    """Places of one variety, and of one distance, together; in the order of the first of each."""
    found: dict[tuple[VarietyId, float], list[int]] = {}
    for place in places:
        away = distance_m(nodes[place], limb)
        found.setdefault((nodes[place].variety, away), []).append(place)
    return list(found.values())


def _label(nodes: Sequence[Node], places: Sequence[int], limb: Node) -> str:
    """`Elstar · A-top, A-low`; of a neighbour how far away it stands, of a scion its name alone."""
    node = nodes[places[0]]
    if node.kind == "candidate":
        return graft_name(node)
    ids = [nodes[place].id for place in places]
    name = name_beside(node.variety.name, ids)
    if node.kind == "neighbour":
        away = _("{distance} m away").format(distance=metres(node, limb))
        return f"{name} · {away}"
    return f"{name} · {', '.join(ids)}"


# --- the strip -----------------------------------------------------------------------------------


def limb_strip(spring: LimbSpring, *, legend: bool = True) -> Markup:
    """One limb's bloom, as a pale band through the rows of its donors and the others."""
    spans = [spring.span, *(one.span for one in spring.beside)]
    seen = [CalendarRow("", "", span) for span in spans if span is not None]
    first, last = window_of(seen, (), ())
    axis = Axis(first, last, spring.start)
    key = list(_key(spring)) if legend else []
    return strip("limb", _rows(spring, axis), key)


_HEADINGS: Mapping[Kind, str] = {
    "donor": N_("Donors here"),
    "could be grafted": N_("Could be grafted"),
    "no donor": N_("No donors"),
}


def _rows(spring: LimbSpring, axis: Axis) -> Iterator[Markup]:
    own = spring.span
    lines = grid(axis)
    behind = lines if own is None else joined((band(axis, own.start, own.end), lines))
    yield scale(axis)
    label = f"{spring.variety} · {spring.limb}"
    yield row(
        named(label, spring.verdict), _dated(label, own, spring.start),
        _bar(axis, own, _own_kind(spring.verdict)), behind,
        kind="chosen need" if spring.verdict in NEED else "chosen",
    )  # fmt: skip
    kind = None
    for one in spring.beside:
        if one.kind != kind:
            yield heading(_(_HEADINGS[one.kind]))
            kind = one.kind
        shared = shared_span(own, one.span)
        filled = NOTHING
        if shared is not None:
            filled = bar(axis, *shared, "bloom" if one.kind == "no donor" else "shared")
        drawn = _bar(axis, one.span, "catkins" if one.sheds else "behind", filled)
        words = _("{variety}: {why}").format(
            variety=_dated(one.label, one.span, spring.start), why=one.why
        )
        yield row(named(one.label), words, drawn, behind, _told(one, shared))


def _own_kind(verdict: LimbVerdict) -> str:
    return verdict if verdict in NEED else "bloom"


def _bar(axis: Axis, span: BloomSpan | None, kind: str, over: Markup = NOTHING) -> Markup:
    if span is None:
        return unknown_bloom()
    if kind == "catkins":
        return joined((dotted(axis, span.start, span.end, kind), over))
    return bloom_bar(axis, span, kind, over)


def _dated(label: str, span: BloomSpan | None, start: date) -> str:
    if span is None:
        return _("{limb}: bloom time not known").format(limb=label)
    text = _("{limb}: {first} to {last}, full bloom {full}")
    return text.format(limb=label, **span_dates(span, start))


def _told(one: Beside, shared: tuple[float, float] | None) -> str:
    """The days that are shared, and what the pollen does; of no donor only why."""
    if one.kind == "no donor":
        return one.told
    time = days(round(shared[1] - shared[0])) if shared is not None else days(0)
    return _("{days}, {pollen}").format(days=time, pollen=one.told)


def _key(spring: LimbSpring) -> Iterator[Markup]:
    yield swatch("bloom", _("in bloom, usually (white: full)"))
    yield swatch("band", _("the days of this limb"))
    kinds = {one.kind for one in spring.beside}
    if kinds & {"donor", "could be grafted"}:
        yield swatch("shared", _("days shared with a donor"))
    if any(one.sheds for one in spring.beside):
        yield swatch("catkins", _("catkins shed pollen"))
