"""Sentences on donors, pollinizers, triploids, losses and coming springs."""

from __future__ import annotations

from collections.abc import Container, Iterable, Iterator, Mapping, Sequence

from pollinet.advice.harvest import Harvest
from pollinet.advice.pollinizer import Choice, Jar
from pollinet.advice.triploids import PollenlessLimb
from pollinet.compatibility.crossing import is_relied_upon
from pollinet.domain import Node
from pollinet.language import N_, _, ngettext, number, pgettext, short_date
from pollinet.network.coverage import DonorShare, LimbCoverage, Refusal
from pollinet.network.proximity import distance_m
from pollinet.network.resilience import Loss
from pollinet.network.tradeoff import Gain, Relaxation
from pollinet.network.years import SpringShare
from pollinet.wording.check import marked_winters
from pollinet.wording.sentences import (
    days,
    graft_name,
    has_or_have,
    joined,
    of_ten,
    tenths,
    whole_winters,
)
from pollinet.wording.sentences import named as named
from pollinet.wording.sentences import winters_of_ten as winters


def place_text(node: Node, receiver: Node) -> str:
    """Where a donor is: its limb, next door, wood at hand, or only in the catalogue."""
    away = distance_m(node, receiver)
    is_placed = node.position_m is not None and receiver.position_m is not None
    told = f"{number(away, '.0f' if is_placed else 'g')} m"
    if node.kind == "neighbour":
        return _("next door, {distance}").format(distance=told)
    where = node.id
    if node.kind == "candidate" and node.tree is None:
        where = _("scion") if node.at_hand else _("catalogue")
    elif node.kind == "candidate":
        text = _("scion on {tree}") if node.at_hand else _("catalogue on {tree}")
        where = text.format(tree=node.tree)
    return f"{where}, {told}" if is_placed and away else where


def overlap_text(donor: DonorShare) -> str:
    """Mean shared days, and those of eight scenarios in ten: `6.4 (2–9)`; not where these agree.

    The least and the most of hundreds of draws hang on their number: they are for the JSON alone.
    """
    mean = number(round(donor.overlap_days, 1))
    low, high = round(donor.overlap_low_days), round(donor.overlap_high_days)
    return mean if low == high else f"{mean} ({low}–{high})"


# --- donors ----------------------------------------------------------------------------------


def donors_answer(
    limb: Node,
    coverage: LimbCoverage,
    nodes: Sequence[Node],
    level: float,
    carrying: Container[int],
    together: float | None = None,
) -> str:
    """The one-sentence answer of `pollinet donors`: what stands, then what could be grafted.

    carrying : donors of which each would be enough alone. together : share of winters with any of
        those that stand; None: not told.
    """
    standing = [d for d in coverage.donors if nodes[d.node].kind != "candidate"]
    possible = [d for d in coverage.donors if nodes[d.node].kind == "candidate"]
    enough = [d for d in standing if d.node in carrying]
    sentences = [_standing_donors(limb, standing, enough, nodes, level, together)]
    if not enough and possible:
        best = possible[0]
        text = _("{variety} could be grafted: a donor in {winters}.")
        name, often = graft_name(nodes[best.node]), whole_winters(best.reliability)
        sentences.append(text.format(variety=name, winters=often))
    return " ".join(sentences)


def _standing_donors(
    limb: Node,
    standing: Sequence[DonorShare],
    enough: Sequence[DonorShare],
    nodes: Sequence[Node],
    level: float,
    together: float | None,
) -> str:
    if not standing:
        return _("{limb} has no donor here.").format(limb=named(limb))
    best = standing[0]
    who = _("itself") if nodes[best.node] is limb else named(nodes[best.node])
    if len(standing) == 1:
        text = _("{limb} has one donor here: {who}, in {share}.")
        if not enough:
            text = _("{limb} has one donor here: {who}, in {share}; the plan asks for {winters}.")
        share = whole_winters(best.reliability)
        return text.format(limb=named(limb), who=who, share=share, winters=winters(level))
    text = ngettext(
        "{limb} has {number} donors here, {enough} of them in at least {winters}; best: {who}, "
        "in {ten}.",
        "{limb} has {number} donors here, {enough} of them in at least {winters}; best: {who}, "
        "in {ten}.",
        len(standing),
    )
    if not enough and together is not None:
        text = _("{limb} has {number} donors here, {enough} of them in at least {winters}; best: "
                 "{who}, in {ten}; together in {together}.")  # fmt: skip
    return text.format(
        limb=named(limb), number=len(standing), enough=len(enough) or pgettext("donor", "none"),
        winters=winters(level), who=who, ten=of_ten(best.reliability),
        together=of_ten(together or 0),
    )  # fmt: skip


def service_short(donor: DonorShare) -> str:
    """How much of a donor's pollen the limb accepts, in a word."""
    if not donor.known:
        return _("pollen not known")
    if donor.verdict.answer == "half":
        return _("half its pollen")
    return _("all its pollen")


_REFUSED: Mapping[str, str] = {
    "triploid-pollen": N_("triploid pollen"),
    "sterile-pollen": N_("sterile pollen"),
    "same-group": N_("refused: same group"),
    "blooms-earlier": N_("too early"),
    "blooms-later": N_("too late"),
    "short-overlap": N_("too few days"),
    "too-far": N_("too far away"),
    "chill": N_("too little chill"),
    "no-bloom": N_("bloom not known"),
    "no-own-bloom": N_("bloom not known"),
    "half-only": N_("half its pollen"),
    "unknown-compatibility": N_("pollen not known"),
}


_ELSE = N_("refused")


def refusal_short(refusal: Refusal) -> str:
    """Why something is no donor, in a few words: `too late`, `refused S1S3`."""
    verdict = refusal.verdict
    if refusal.code == "incompatible" and verdict is not None:
        if verdict.refused:
            return _("refused {alleles}").format(alleles="".join(verdict.refused))
        return _(_REFUSED.get(verdict.code, _ELSE))
    if refusal.code == "unknown-compatibility" and verdict and not is_relied_upon(verdict):
        return _("not relied on")
    return _(_REFUSED.get(refusal.code, _ELSE))


# --- the one variety to add ------------------------------------------------------------------


def pollinizer_answer(
    ranked: Sequence[Choice], uncovered: Sequence[int], nodes: Sequence[Node], level: float
) -> str:
    """The one-sentence answer of `pollinet pollinizer`."""
    limbs = joined([nodes[i].id for i in uncovered])
    best = next((choice for choice in ranked if choice.closed), None)
    if not uncovered:
        return " ".join(_nothing_to_add(best, nodes, level))
    if best is not None and best.covers:
        return " ".join(_graft_it(best, ranked, uncovered, nodes, level))
    if ranked:
        return " ".join(_best_alone(ranked[0], uncovered, nodes))
    if not any(node.kind == "candidate" for node in nodes):
        text = _(
            "The plan has no scion that could serve {limbs}; --from catalogue looks among all "
            "varieties."
        )
        return text.format(limbs=limbs)
    if all(node.at_hand for node in nodes if node.kind == "candidate"):
        text = _(
            "Nothing at hand helps {limbs}: no scion of the plan adds a whole winter of 10; "
            "--from catalogue looks among all varieties."
        )
        return text.format(limbs=limbs)
    text = _("No single variety helps {limbs} by a whole winter of 10; `pollinet cover` looks for "
             "sets.")  # fmt: skip
    return text.format(limbs=limbs)


def _best_alone(best: Choice, uncovered: Sequence[int], nodes: Sequence[Node]) -> Iterator[str]:
    """What helps most where no variety is enough that has a donor itself."""
    variety = graft_name(nodes[best.node])
    if best.covers:
        text = (
            _("{variety} would cover {limbs}, but have a donor itself in {winters} only: graft it "
              "for its pollen only, or see `pollinet cover` for a set.")
            if best.own > 0
            else _("{variety} would cover {limbs}, but have no donor itself: graft it for its "
                   "pollen only, or see `pollinet cover` for a set.")
        )  # fmt: skip
        covered = joined([nodes[i].id for i in best.covers])
        yield text.format(variety=variety, limbs=covered, winters=whole_winters(best.own))
        rest = [nodes[i].id for i in uncovered if i not in best.covers]
        if rest:
            text = ngettext(
                "{limbs} would still lack a donor.", "{limbs} would still lack a donor.", len(rest)
            )
            yield text.format(limbs=joined(rest))
        return
    text = _("No single variety covers {limbs}; `pollinet cover` looks for sets.")
    yield text.format(limbs=joined([nodes[i].id for i in uncovered]))
    gain = _("{limb} {now} → {then}")
    gains = "; ".join(
        gain.format(limb=nodes[one.node].id, now=tenths(one.now), then=tenths(one.then))
        for one in best.gains
        if one.sought and one.helps
    )
    text = _("{variety} alone would help most: winters of 10, now → then: {gains}.")
    yield text.format(variety=variety, gains=gains)
    if not best.closed:
        text = _("{variety} itself would have a donor in {winters}.")
        yield text.format(variety=variety, winters=whole_winters(best.own))


def _nothing_to_add(best: Choice | None, nodes: Sequence[Node], level: float) -> Iterator[str]:
    text = _("Nothing has to be added: every limb has a donor in at least {winters}.")
    yield text.format(winters=winters(level))
    if best is not None:
        helped = joined([nodes[gain.node].id for gain in best.gains])
        text = _("{variety} would add most, to {limbs}.")
        yield text.format(variety=graft_name(nodes[best.node]), limbs=helped)


def _graft_it(
    best: Choice,
    ranked: Sequence[Choice],
    uncovered: Sequence[int],
    nodes: Sequence[Node],
    level: float,
) -> Iterator[str]:
    rest = [nodes[i].id for i in uncovered if i not in best.covers]
    text = ngettext(
        "Graft {variety}: then {limbs} has a donor in at least {winters}{left}.",
        "Graft {variety}: then {limbs} have a donor in at least {winters}{left}.",
        len(best.covers),
    )
    left = ngettext("; {limbs} still lacks one", "; {limbs} still lack one", len(rest))
    yield text.format(
        variety=graft_name(nodes[best.node]),
        limbs=joined([nodes[i].id for i in best.covers]),
        winters=winters(level),
        left=left.format(limbs=joined(rest)) if rest else "",
    )
    others = sum(c.closed and len(c.covers) == len(best.covers) for c in ranked) - 1
    if others:
        text = ngettext(
            "{number} other would cover as many.", "{number} others would cover as many.", others
        )
        yield text.format(number=others)


def choice_reason(choice: Choice, nodes: Sequence[Node]) -> str:
    """What a candidate does, limb by limb: `C-mid 0 → 9 (5 days)`, in winters of 10."""
    told = [gain for gain in choice.gains if gain.helps]
    listed = "; ".join(
        f"{nodes[gain.node].id} {tenths(gain.now)} → {tenths(gain.then)} "
        f"({days(gain.overlap_days)})"
        for gain in told
    )
    rest = [nodes[gain.node].id for gain in choice.gains if gain not in told]
    little = _("a little for {limbs}").format(limbs=joined(rest)) if rest else ""
    return "; ".join(filter(None, [listed, little]))


JAR_SOURCES = 3
"""Sources of blossom named for one limb."""


def jar_text(jar: Jar, nodes: Sequence[Node]) -> str:
    """Whose blossom would serve a limb: `C-mid: Sam (your scion's mother tree, 9 of 10) …`."""
    origin = {"neighbour": _("next door"), "candidate": _("your scion's mother tree")}
    source = _("{variety} ({place}, {ten} winters)")
    listed = [
        source.format(
            variety=nodes[d.node].variety.name,
            place=origin[nodes[d.node].kind],
            ten=of_ten(d.reliability),
        )
        for d in jar.sources[:JAR_SOURCES]
    ]
    return f"{named(nodes[jar.node])}: {joined(listed, 'or')}"


def jar_lines(
    jars: Sequence[Jar], nodes: Sequence[Node], others: Mapping[str, Sequence[str]]
) -> list[str]:
    """A line for each limb whose jar has a source, and one for all those that must ask around.

    others : varieties of the catalogue whose blossom would serve, by id of the limb.
    """
    lines = [jar_text(jar, nodes) for jar in jars if jar.sources]
    for kind in (False, True):
        bare = [j for j in jars if not j.sources and nodes[j.node].sheds_apart is kind]
        lines += _asking_lines([nodes[jar.node].id for jar in bare], others, catkins=kind)
    return lines


def _asking_lines(
    bare: Sequence[str], others: Mapping[str, Sequence[str]], *, catkins: bool
) -> list[str]:
    """Whose blossom or catkins to ask for round about, for limbs whose jar has no source."""
    lines = []
    asking: dict[tuple[str, ...], list[str]] = {}
    for limb in bare:
        asking.setdefault(tuple(others.get(limb, ())), []).append(limb)
    nobody = asking.pop((), None)
    if asking:
        each = (
            _("for {limbs} those of {varieties}")
            if catkins
            else _("for {limbs} that of {varieties}")
        )
        told = [
            each.format(limbs=joined(limbs), varieties=joined(names, "or"))
            for names, limbs in asking.items()
        ]
        text = (
            _("No mother tree of your scions and no tree next door would serve; ask round about "
              "for catkins: {each}")
            if catkins
            else _("No mother tree of your scions and no tree next door would serve; ask round "
                   "about for blossom: {each}")
        )  # fmt: skip
        lines.append(text.format(each="; ".join(told)))
    if nobody:
        text = (
            _("{limbs}: no catkins are known that would serve")
            if catkins
            else _("{limbs}: no blossom is known that would serve")
        )
        lines.append(text.format(limbs=joined(nobody)))
    return lines


def jar_title(jars: Iterable[Jar], nodes: Sequence[Node]) -> str:
    """What stands above the lines of jars: blossom of most fruits, catkins of hazel."""
    kinds = {nodes[jar.node].sheds_apart for jar in jars}
    if kinds == {True}:
        return _("Until the graft has catkins: a jar of cut catkins")
    if kinds == {True, False}:
        return _("Until the graft flowers: a jar of cut blossom, for hazel of cut catkins")
    return _("This spring, until the graft flowers: a jar of cut blossom")


_JAR_HOW = {
    False: N_(
        "How (common practice, no source, but for the buckets): cut branches whose first flowers "
        "are opening, stand them in water beside the limb or hang them in it while both bloom, and "
        "change them when their flowers fade. Orchards use large buckets between the trees (NIAB, "
        "floral bouquets). Bees must fly for it to work."
    ),
    True: N_(
        "How, with catkins (common practice, no source): cut them as they begin to stretch, stand "
        "them in water upwind of the limb while its red tufts show, and change them when they have "
        "dusted. The wind carries this pollen, bees do not: dry days are what it takes; shaking "
        "the catkins over the limb helps."
    ),
}
"""How a jar is used, by whether catkins go into it."""

_JAR_CAUTION = N_(
    "Caution: fire blight, viruses and other diseases travel with blossom and wood. Take it "
    "from healthy trees only, never out of an infected or quarantined place; ask the owner; "
    "clean the knife; the rules of your plant-health service go first. A knife cuts away from "
    "the hand."
)


def jar_notes(jars: Iterable[Jar], nodes: Sequence[Node]) -> list[str]:
    """How jars are used and what to mind; nothing without jars."""
    kinds = sorted({nodes[jar.node].sheds_apart for jar in jars})
    return [*(_(_JAR_HOW[kind]) for kind in kinds), *([_(_JAR_CAUTION)] if kinds else [])]


_PLACES = {
    "low": N_("It is stronger than the limbs there: low on the tree, and pruned in summer"),
    "high": N_("It is weaker than the limbs there: high, or where the light is best"),
    "beside": N_("It is about as strong as the limbs there: any free place with light"),
    "unknown": N_(
        "Its vigour beside the others is not known: a free place with light, not above a weak limb"
    ),
}


def placement_text(code: str) -> str:
    """Where on the tree a new limb goes, from its `placement` code."""
    return _(_PLACES[code])


def harvest_text(harvest: Harvest | None) -> str:
    """Estimated first pick here, `not known` where nothing is told."""
    if harvest is None:
        return _("not known")
    return _("about {date}").format(date=short_date(round(harvest.day)))


# --- triploids -------------------------------------------------------------------------------

MYTH = N_(
    "It is often said that a triploid always needs two donors. It needs one viable donor; the "
    "second is for that donor, unless that one is self-fertile, served by another limb, or "
    "stands next door."
)


def other_donor_lines(limbs: Sequence[PollenlessLimb], nodes: Sequence[Node]) -> list[str]:
    """Where the donor told is not the best of all, which is, and why another is told."""
    next_door = _("{limb}: {best} is the best donor of all, next door; {donor} is told, as it "
                  "stands in the garden and has a donor itself.")  # fmt: skip
    bare = _("{limb}: {best} is the best donor of all, but lacks a donor itself; so {donor} is "
             "told.")  # fmt: skip
    lines = []
    for limb in limbs:
        best, donor = limb.coverage.donors[:1], limb.donor
        if donor is not None and best and best[0].node != donor.node:
            outside = nodes[best[0].node].kind == "neighbour"
            lines.append(
                (next_door if outside else bare).format(
                    limb=named(nodes[limb.coverage.node]),
                    best=named(nodes[best[0].node]),
                    donor=named(nodes[donor.node]),
                )
            )
    return lines


def triploids_answer(
    limbs: Sequence[PollenlessLimb], nodes: Sequence[Node], givers: Container[int] = ()
) -> str:
    """The one-sentence answer of `pollinet triploids`; givers: limbs whose pollen is good."""
    if not limbs:
        return _("No limb here is known to be triploid or without good pollen.")
    short = [nodes[x.coverage.node].id for x in limbs if not x.coverage.covered]
    second = {x.donor.node for x in limbs if x.second == "needed" and x.donor is not None}
    covered = len(limbs) - len(short)
    answer = _pollenless(len(limbs), any(limb.coverage.node in givers for limb in limbs))
    has = ngettext(
        "{covered} of {limbs} has a donor",
        "{covered} of {limbs} have a donor",
        has_or_have(covered, len(limbs)),
    )
    told = has.format(covered=covered, limbs=answer)
    if short:
        lack = ngettext("; {limbs} lacks one", "; {limbs} lack one", len(short))
        told += lack.format(limbs=joined(short))
    if second:
        text = _("{answer}; a second donor is needed, for {donors}, which has none.")
        return text.format(answer=told, donors=joined([named(nodes[i]) for i in sorted(second)]))
    return f"{told}." if short else _("{answer}; no second donor is needed.").format(answer=told)


def _pollenless(limbs: int, give: bool) -> str:
    """So many limbs; give : some of them give pollen, being triploid only."""
    text = (
        ngettext("{number} limb that is triploid", "{number} limbs that are triploid", limbs)
        if give
        else ngettext("{number} limb without good pollen", "{number} limbs without good pollen",
                      limbs)
    )  # fmt: skip
    return text.format(number=limbs)


def pollen_lines(givers: Mapping[int, str], nodes: Sequence[Node]) -> list[str]:
    """Triploids that give pollen all the same, and who says so: the plan or a source."""
    said = {"plan": _("the plan says so (pollen_ok)"), "source": _("a source says so")}
    text = _("{limb} is triploid and counted as a donor: {who}.")
    return [text.format(limb=named(nodes[i]), who=said[who]) for i, who in givers.items()]


def second_text(limb: PollenlessLimb, nodes: Sequence[Node]) -> str:
    """Whether a second donor is needed, and why."""
    if limb.donor is None:
        return _("first of all it needs a donor")
    if limb.second == "no-first-donor":
        return _("its donors serve it in too few winters: that comes first")
    text = {
        "neighbours-tree": _("no: {donor} stands next door, its crop is not this plan's"),
        "need-not-crop": _("no: {donor} is there for its pollen and need not crop"),
        "self-fertile": _("no: {donor} is self-fertile (company may still help its set)"),
        "served": _("no: {donor} is served by {names}"),
    }.get(limb.second, _("yes, for {donor}: it has no donor in enough winters"))
    servers = joined([nodes[s.node].variety.name for s in limb.servers[:2]])
    return text.format(donor=nodes[limb.donor.node].variety.name, names=servers)


# --- the graph -------------------------------------------------------------------------------


def graph_answer(edges: int, nodes: int, file: str | None) -> str:
    """How many edges there are among how many nodes; file : where they were written."""
    among = ngettext("{number} limb and tree", "{number} limbs and trees", nodes)
    text = ngettext(
        "{number} edge from donor to receiver among {nodes}.",
        "{number} edges from donor to receiver among {nodes}.",
        edges,
    )
    if file is not None:
        text = ngettext(
            "{number} edge from donor to receiver among {nodes}, written to {file}.",
            "{number} edges from donor to receiver among {nodes}, written to {file}.",
            edges,
        )
    return text.format(number=edges, nodes=among.format(number=nodes), file=file)


# --- losses ----------------------------------------------------------------------------------


def without_answer(
    lost: Sequence[int],
    after: Sequence[LimbCoverage],
    before: Mapping[int, LimbCoverage],
    nodes: Sequence[Node],
) -> str:
    """The one-sentence answer of `pollinet without NAMES`; `after` in the numbers of before."""
    names = joined([named(nodes[i]) for i in lost])
    if not after:
        return _("Without {names}, no limb is left that must crop.").format(names=names)
    newly = [row.node for row in after if before[row.node].covered and not row.covered]
    short = [row.node for row in after if not before[row.node].covered]
    # What falls by less than shows beside the limbs is not counted either.
    falls = [row for row in after if marked_winters(row) != marked_winters(before[row.node])]
    number, limbs = len(falls), joined([nodes[i].id for i in newly])
    text = _("Without {names}, nothing that shows in whole winters changes for the others{still}.")
    if all(row.reliability == before[row.node].reliability for row in after):
        text = _("Without {names}, nothing changes for the others{still}.")
    if newly:
        text = ngettext("Without {names}, {limbs} loses cover{still}.",
                        "Without {names}, {limbs} lose cover{still}.", len(newly))  # fmt: skip
    elif falls:
        text = ngettext(
            "Without {names}, no limb loses cover, but {number} limb is served less{still}.",
            "Without {names}, no limb loses cover, but {number} limbs are served less{still}.",
            number,
        )
    bare = joined([nodes[i].id for i in short])
    still = _("; {limbs} had none before").format(limbs=bare) if short else ""
    return text.format(names=names, limbs=limbs, number=number, still=still)


def losses_answer(
    found: Sequence[Loss], coverage: Sequence[LimbCoverage], nodes: Sequence[Node]
) -> str:
    """The one-sentence answer of `pollinet without` with no name."""
    critical = [loss for loss in found if loss.critical]
    bare = [nodes[row.node].id for row in coverage if not row.covered]
    if not critical and not bare:
        return _("No single limb or neighbour is critical: no loss uncovers another limb.")
    if not critical:
        text = ngettext(
            "No single limb or neighbour is critical: no loss uncovers another limb; {limbs} "
            "lacks cover as it is.",
            "No single limb or neighbour is critical: no loss uncovers another limb; {limbs} "
            "lack cover as it is.",
            len(bare),
        )
        return text.format(limbs=joined(bare))
    names = joined([named(nodes[loss.node]) for loss in critical])
    if len(critical) == 1:
        text = _("{name} is critical: its loss uncovers {limbs}.")
        lost = joined([nodes[i].id for i in critical[0].uncovered])
        return text.format(name=names, limbs=lost)
    text = _("{names} are critical: each loss uncovers other limbs.")
    return text.format(names=names)


# --- cover: concessions, trade-offs, springs -------------------------------------------------


def relaxation_text(relaxation: Relaxation, nodes: Sequence[Node]) -> str:
    """What could be conceded so that a cover exists."""
    text = _relaxation(relaxation, nodes)
    if relaxation.proven:
        return text
    return _("{text} (less may do: the search was stopped)").format(text=text)


def _relaxation(relaxation: Relaxation, nodes: Sequence[Node]) -> str:
    value, added = relaxation.value, joined([graft_name(nodes[i]) for i in relaxation.added])
    graft = _("with {names}").format(names=added) if added else _("with nothing added")
    match relaxation.kind:
        case "level":
            text = _("asking for {winters} only, {graft}")
            return text.format(winters=winters(value), graft=graft)
        case "days":
            text = _("asking for {days} of shared bloom only, {graft}")
            return text.format(days=days(value), graft=graft)
        case _other:
            limbs = round(value)
            text = ngettext(
                "with {number} more limb to graft on, {graft}",
                "with {number} more limbs to graft on, {graft}",
                limbs,
            )
            return text.format(number=limbs, graft=graft)


def gain_cells(gain: Gain, nodes: Sequence[Node]) -> tuple[str, str, str]:
    """One row of the trade-off: most to add, winters of the worst limb, what is added."""
    added = joined([graft_name(nodes[i]) for i in gain.added]) or _("nothing")
    return f"{gain.cost:g}", of_ten(gain.reliability), added


def spring_text(entry: SpringShare) -> str:
    """One limb in one coming spring: tenths of winters, a range where ages are not certain."""
    if entry.hopeful is None or entry.cautious is None:
        return _("young")
    low, high = tenths(entry.cautious), tenths(entry.hopeful)
    text = low if low == high else f"{low}–{high}"
    return text if entry.blooms == "yes" else f"({text})"


SPRING_NOTE = N_(
    "Each number: winters of 10 with a donor. A range: from young grafts blooming at their latest "
    "usual age to their earliest. (…): the limb itself may not bloom yet. young: too young."
)

FELLED_NOTE = N_("The lower number holds also without a tree that may be felled.")
