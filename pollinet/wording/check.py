"""What is said of the limbs of a garden: the gap first, then whom it serves, and what is open."""

from __future__ import annotations

from collections.abc import Callable, Iterable, Mapping, Sequence
from typing import Final, Literal, TypeAlias

from pollinet.domain import Node, VarietyId
from pollinet.language import N_, _, date_range, joined, ngettext, number, pgettext
from pollinet.network.coverage import LimbCoverage, LimbVerdict, Weakness
from pollinet.network.nearest_miss import different_misses
from pollinet.network.shortage import ChillLack
from pollinet.study import Study
from pollinet.summary.limbs import (
    ATTENTION,
    LimbSummary,
    Mend,
    SpringShift,
    is_vague,
    limb_summaries,
    mend_of,
    stands_apart,
    weakly_served,
)
from pollinet.summary.open_questions import OpenCode, OpenQuestion
from pollinet.wording.sentences import (
    away_words,
    chill_words,
    days,
    first_of,
    has_or_have,
    miss_words,
    named,
    of_limbs,
    of_ten,
    reasons,
    tenths,
    winters_of_ten,
)

MARKS: Final[Mapping[LimbVerdict, str]] = {
    "sure": "\N{BLACK CIRCLE}",
    "likely": "\N{CIRCLE WITH LEFT HALF BLACK}",
    "open": "?",
    "lacking": "\N{MULTIPLICATION X}",
}
"""One mark a verdict, told apart without colour."""

VERDICTS: Final[Mapping[LimbVerdict, str]] = {
    "sure": N_("sure"),
    "likely": N_("likely"),
    "open": N_("open: hangs on something not known"),
    "lacking": N_("lacks a donor"),
}
"""What each verdict says, as it stands alone."""

Kind: TypeAlias = LimbVerdict | Literal["need not crop", "next door"]
"""What a limb or tree is told to be."""

STATES: Mapping[Kind, str] = {
    **{verdict: VERDICTS[verdict] for verdict in VERDICTS},
    "need not crop": N_("need not crop"),
    "next door": N_("next door"),
}
"""The same of all that stands here."""

LEGEND = N_("● sure, ◐ likely, ? open: hangs on something not known, ✕ lacks a donor.")


def marks_note(cells: Iterable[str]) -> str:
    """What the marks say that stand before some cells of a table: `● sure, ✕ lacks a donor.`"""
    begin = {cell.partition(" ")[0] for cell in cells}
    told = [f"{mark} {_(VERDICTS[verdict])}" for verdict, mark in MARKS.items() if mark in begin]
    return f"{', '.join(told)}." if told else ""


_NAMED = 3
"""Limbs named in the first sentence; the others are counted."""


def spoken(labels: Sequence[str], verdicts: Sequence[LimbVerdict | None]) -> list[str]:
    """Labels of rows with each verdict in words; as they are without verdicts."""
    return _with_verdicts(labels, verdicts, lambda label, told: f"{label} ({_(STATES[told])})")


def marked(labels: Sequence[str], verdicts: Sequence[LimbVerdict | None]) -> list[str]:
    """Labels of rows with the mark of each verdict before them; as they are without verdicts."""
    return _with_verdicts(labels, verdicts, lambda label, told: f"{MARKS[told]} {label}")


def _with_verdicts(
    labels: Sequence[str],
    verdicts: Sequence[LimbVerdict | None],
    words: Callable[[str, LimbVerdict], str],
) -> list[str]:
    """Labels as they are told with a verdict, where there is one."""
    pairs = zip(labels, verdicts or [None] * len(labels), strict=True)
    return [label if verdict is None else words(label, verdict) for label, verdict in pairs]


def check_answer(
    coverage: Sequence[LimbCoverage],
    nodes: Sequence[Node],
    level: float,
    donors: int = 1,
    *,
    hangs_on: Mapping[int, Sequence[OpenQuestion]] | None = None,
    short: Mapping[int, ChillLack | None] | None = None,
    mend: str = "",
) -> str:
    """The answer of `pollinet check`: the limb that needs something first, then how many have it.

    donors : how many different ones each limb must have.
    hangs_on, short : by node, what open verdicts hang on, and as of a `LimbSummary`.
    mend : a sentence on what would help.
    """
    if not coverage:
        return _("No limb has to crop, so none needs a donor.")
    sentences = [*_gaps(coverage, nodes, short or {}), *_open(coverage, nodes, hangs_on or {})]
    return " ".join(filter(None, [*sentences, mend, _counts(coverage, level, donors)]))


def _gaps(
    coverage: Sequence[LimbCoverage], nodes: Sequence[Node], short: Mapping[int, ChillLack | None]
) -> Iterable[str]:
    lacking = [row for row in coverage if row.verdict == "lacking"]
    warm = [row for row in lacking if (one := short.get(row.node)) and not one.mendable]
    bare = [row for row in lacking if row not in warm]
    if len(bare) == 1:
        text, (row,) = _("{limb} needs a donor: {why}."), bare
        why = reasons(row, nodes, short.get(row.node))[0][1]
        yield text.format(limb=named(nodes[row.node]), why=why)
    elif bare:
        text = _("{limbs} need a donor.")
        yield text.format(limbs=some_limbs([nodes[row.node] for row in bare]))
    if warm:
        text = ngettext(
            "{limbs} gets too little winter chill here, as far as its need is known: no donor "
            "mends that.",
            "{limbs} get too little winter chill here, as far as their need is known: no donor "
            "mends that.",
            len(warm),
        )
        yield text.format(limbs=some_limbs([nodes[row.node] for row in warm]))


def _open(
    coverage: Sequence[LimbCoverage],
    nodes: Sequence[Node],
    hangs_on: Mapping[int, Sequence[OpenQuestion]],
) -> Iterable[str]:
    # Limbs by what each hangs on most, so that no limb is told the question of another.
    groups: dict[OpenCode | None, list[LimbCoverage]] = {}
    for row in (row for row in coverage if row.verdict == "open"):
        own = unique(hangs_on.get(row.node, ()))
        groups.setdefault(own[0].code if own else None, []).append(row)
    # One question is enough before the table; below it stand all.
    told = next(((code, rows) for code, rows in groups.items() if code is not None), None)
    if told is not None:
        code, rows = told
        asked = unique(q for row in rows for q in hangs_on[row.node])
        question = next(question for question in asked if question.code == code)
        text = ngettext(
            "{limbs} is open: nobody knows {what}. {settle}",
            "{limbs} are open: nobody knows {what}. {settle}",
            len(rows),
        )
        if question.disputed:
            text = ngettext(
                "{limbs} is open: sources disagree about {what}. {settle}",
                "{limbs} are open: sources disagree about {what}. {settle}",
                len(rows),
            )
        yield text.format(
            limbs=some_limbs([nodes[row.node] for row in rows]),
            what=question_text(question),
            settle=settle_text(question),
        )
        del groups[code]
    others = [nodes[row.node] for rows in groups.values() for row in rows]
    if others:
        text = ngettext("{limbs} is open.", "{limbs} are open.", len(others))
        yield text.format(limbs=some_limbs(others))


def some_limbs(nodes: Sequence[Node]) -> str:
    """Limbs by id and variety; of many the first ones, and how many more."""
    return first_of([named(node) for node in nodes], _NAMED)


def _counts(coverage: Sequence[LimbCoverage], level: float, donors: int) -> str:
    covered = sum(limb.covered for limb in coverage)
    text = ngettext(
        "{covered} of {limbs} has a viable donor in at least {winters}",
        "{covered} of {limbs} have a viable donor in at least {winters}",
        has_or_have(covered, len(coverage)),
    )
    if donors == 2:
        text = ngettext(
            "{covered} of {limbs} has two different viable donors in at least {winters}",
            "{covered} of {limbs} have two different viable donors in at least {winters}",
            has_or_have(covered, len(coverage)),
        )
    told = text.format(
        covered=covered, limbs=of_limbs(len(coverage)), winters=winters_of_ten(level)
    )
    sure = sum(limb.verdict == "sure" for limb in coverage)
    if sure == covered:
        return f"{told}."
    return _("{told}: {sure} surely, {likely} likely.").format(
        told=told, sure=sure, likely=covered - sure
    )


def garden_answer(study: Study, limbs: Sequence[LimbSummary] | None = None) -> str:
    """`check_answer` of a study, with what hangs on what, and what would mend it.

    limbs : as from `limb_summaries`, to save the work.
    """
    told = limb_summaries(study) if limbs is None else limbs
    hangs_on = {x.coverage.node: x.hangs_on for x in told if x.coverage is not None}
    aim, mend = study.plan.aim, mend_of(study)
    return check_answer(
        study.coverage, study.network.nodes, aim.level, aim.donors,
        hangs_on=hangs_on, short={x.coverage.node: x.short for x in told if x.coverage is not None},
        mend="" if mend is None else mend_text(mend),
    )  # fmt: skip


def mend_text(mend: Mend) -> str:
    """What would help limbs that lack a donor: a scion at hand, or where to look for one."""
    if not mend.scions:
        return _("What could be added: see `pollinet pollinizer`.")
    text = ngettext(
        "Graft {scion}: then {limbs} has one.",
        "Graft {scion}: then {limbs} have one.",
        len(mend.served),
    )
    names = first_of([name.name for name in mend.scions], _NAMED, "or")
    return text.format(scion=names, limbs=joined([node.id for node in mend.served]))


# --- what is open ----------------------------------------------------------------------------

_WHAT: Mapping[OpenCode, str] = {
    "own-alleles": N_("the S-alleles of {names}"),
    "donor-alleles": N_("the S-alleles of {names}"),
    "crosses": N_("whether pollen of {names} is accepted, as that of most varieties is"),
    "fruit-crosses": N_("whether pollen of {names}, of another kind of fruit, counts in a garden"),
    "own-pollen": N_("the self-fertility of {names}"),
    "own-dates": N_("the bloom dates of {names}"),
    "donor-dates": N_("the bloom dates of {names}"),
    "disputed-own-pollen": N_("the self-fertility of {names}"),
    "disputed-alleles": N_("the S-alleles of {names}"),
    "disputed-pollen": N_("the quality of the pollen of {names}"),
}

_SETTLE: Mapping[OpenCode, str] = {
    "own-alleles": N_(
        "To settle it: dab a donor's pollen on bagged flowers of it and see whether fruit sets; "
        "a laboratory test of its leaves comes last."
    ),
    "donor-alleles": N_(
        "To settle it: dab the donor's pollen on bagged flowers and see whether fruit sets; a "
        "laboratory test of leaves comes last."
    ),
    "crosses": N_(
        "To settle it: dab that donor's pollen on bagged flowers and see whether fruit sets."
    ),
    "fruit-crosses": N_(
        "To settle it: dab that donor's pollen on bagged flowers; do not count on it before."
    ),
    "own-pollen": N_("To settle it: bag some flowers before they open and see whether fruit sets."),
    "own-dates": N_("To settle it: note when it blooms, one spring (`pollinet record`)."),
    "donor-dates": N_("To settle it: note when it blooms, one spring (`pollinet record`)."),
    "disputed-own-pollen": N_(
        "To settle it: bag some flowers before they open and see whether fruit sets."
    ),
    "disputed-alleles": N_(
        "To settle it: ask who keeps it for a measured genotype, or dab a donor's pollen on "
        "bagged flowers and see whether fruit sets."
    ),
    "disputed-pollen": N_(
        "To settle it: dab its pollen on bagged flowers of another variety and see whether fruit "
        "sets."
    ),
}


def question_text(question: OpenQuestion) -> str:
    """What nobody knows, as it stands after `nobody knows` or `sources disagree about`."""
    return _(_WHAT[question.code]).format(names=some_names(question.about))


def settle_text(question: OpenQuestion) -> str:
    """The cheapest way to find out."""
    return _(_SETTLE[question.code])


def some_names(names: Sequence[VarietyId]) -> str:
    """Names of varieties as they stand after `of`; of many the first ones, and how many more."""
    return first_of([name.name for name in names], _NAMED, after_of=True)


def unique(questions: Iterable[OpenQuestion]) -> list[OpenQuestion]:
    """Questions that are told in one way joined, what the verdict hangs on most first."""
    found: dict[OpenCode, list[OpenQuestion]] = {}
    for question in questions:
        found.setdefault(_TOLD_AS.get(question.code, question.code), []).append(question)
    joint = [
        OpenQuestion(
            code,
            tuple(sorted({name for one in several for name in one.about})),
            None if several[0].chance is None
            else sum(one.chance or 0.0 for one in several) / len(several),
        )
        for code, several in found.items()
    ]  # fmt: skip
    return sorted(joint, key=lambda question: question.doubt, reverse=True)


_TOLD_AS: Mapping[OpenCode, OpenCode] = {"own-alleles": "donor-alleles", "own-dates": "donor-dates"}
"""Whose alleles or dates are not known makes no difference to what is said below a table."""


def _hanging(limbs: Sequence[LimbSummary], question: OpenQuestion) -> list[LimbSummary]:
    """Limbs that hang on a question of `unique`."""
    return [x for x in limbs if question.code in {q.code for q in unique(x.hangs_on)}]


def hangs_notes(limbs: Sequence[LimbSummary], said: str = "") -> list[str]:
    """What verdicts of likely and open hang on, each reason once, with what would settle it.

    said : the answer above, which need not be said again.
    """
    notes = []
    for question in unique(q for limb in limbs for q in limb.hangs_on):
        about = _hanging(limbs, question)
        text = ngettext(
            "{number} limb hangs on {what}, which nobody knows",
            "{number} limbs hang on {what}, which nobody knows",
            len(about),
        )
        if question.disputed:
            text = ngettext(
                "{number} limb hangs on {what}: sources disagree",
                "{number} limbs hang on {what}: sources disagree",
                len(about),
            )
        told = text.format(number=len(about), what=question_text(question))
        if question.chance is not None:
            chance = number(round(question.chance * 100))
            told += " " + _("({chance} % that any one donor serves)").format(chance=chance)
        settle = settle_text(question)
        notes.append(f"{told}." if settle in said else f"{told}. {settle}")
    return notes


def open_words(limbs: Sequence[LimbSummary]) -> list[str]:
    """Which limbs are open, by what nobody knows of them, and what would settle it."""
    rows = [x for x in limbs if x.coverage is not None and x.coverage.verdict == "open"]
    told = []
    for question in unique(q for limb in rows for q in limb.hangs_on):
        about = [limb.node for limb in _hanging(rows, question)]
        text = _("Nobody knows {what}: that decides whether {limbs} can have a donor often enough.")
        if question.disputed:
            text = _(
                "Sources disagree about {what}: that decides whether {limbs} can have a donor "
                "often enough."
            )
        open_text = text.format(what=question_text(question), limbs=some_limbs(about))
        told.append(f"{open_text} {settle_text(question)}")
    return told


def why_words(limb: LimbSummary, nodes: Sequence[Node], most: int = 1) -> str:
    """Why a limb's verdict is not `sure`, for a table cell; empty where it is. most : reasons."""
    row = limb.coverage
    if row is None:
        return _("need not crop")
    if row.verdict == "sure":
        return ""
    if row.verdict == "lacking":
        chill = [] if limb.short is None else [chill_words(limb.short)]
        if limb.short is not None and not limb.short.besides:
            return chill[0]
        refused = different_misses(row, nodes)
        said = list(dict.fromkeys(miss_words(each, nodes, row.node) for each in refused))
        timing = [] if _own_pollen_serves(row) else [*_apart(limb), *_seldom(row)]
        found = [*chill, *timing, *said] or [reasons(row, nodes)[0][1]]
        if not row.donors and refused and {each.code for each in refused} <= _OF_POLLEN:
            # No spring will bring these together, whenever they bloom.
            found = [*said, *_apart(limb)]
        return "; ".join(found[:most])
    asked = sorted(limb.hangs_on, key=lambda question: question.doubt, reverse=True)
    if not asked:
        return ""
    what = joined([_short(question) for question in asked[:most]])
    return _("not known: {what}").format(what=what)


def _own_pollen_serves(row: LimbCoverage) -> bool:
    """Whether a limb is its own donor, so that it is in time whenever it blooms."""
    return any(
        donor.node == row.node and donor.verdict.answer == "yes"
        and donor.reliability <= row.reliability + 1e-9
        for donor in row.donors
    )  # fmt: skip


_OF_POLLEN = {"same-variety", "incompatible", "half-only"}
"""Why a node is no donor whatever the weather."""


def _apart(limb: LimbSummary) -> list[str]:
    """That a limb blooms much before or after the others of its fruit."""
    if limb.against is None or not stands_apart(limb):
        return []
    text = (
        _("blooms {days} days after the others")
        if limb.against.days > 0
        else _("blooms {days} days before the others")
    )
    return [text.format(days=number(round(abs(limb.against.days))))]


def _seldom(row: LimbCoverage) -> list[str]:
    """That donors are there and bloom with it too seldom, or nobody knows how often."""
    if not row.donors:
        return []
    if is_vague(row):
        return [_("how it and its donors bloom here is not well known: note their dates")]
    return [_("too seldom in bloom with its donors")]


_SHORT: Mapping[OpenCode, str] = {
    "own-alleles": N_("its S-alleles"),
    "donor-alleles": N_("the donor's S-alleles"),
    "crosses": N_("crosses nobody has told of"),
    "fruit-crosses": N_("another kind of fruit: not relied on"),
    "own-pollen": N_("whether it is self-fertile"),
    "own-dates": N_("when it blooms"),
    "donor-dates": N_("when the donor blooms"),
    "disputed-own-pollen": N_("whether it is self-fertile (sources disagree)"),
    "disputed-alleles": N_("S-alleles (sources disagree)"),
    "disputed-pollen": N_("whether the donor's pollen is good (sources disagree)"),
}


def _short(question: OpenQuestion) -> str:
    return _(_SHORT[question.code])


# --- the table of limbs ----------------------------------------------------------------------


def attention_first(limbs: Iterable[LimbSummary]) -> list[LimbSummary]:
    """Limbs that need attention first, the others as in the plan."""
    urgency = {verdict: place for place, verdict in enumerate(ATTENTION)}

    def place(limb: LimbSummary) -> int:
        verdict = None if limb.coverage is None else limb.coverage.verdict
        return len(urgency) if verdict is None else urgency.get(verdict, len(urgency))

    return sorted(limbs, key=place)


def limb_headings() -> tuple[str, ...]:
    """What stands over `limb_cells`."""
    return ("", _("Limb"), _("Variety"), _("Usual bloom"), _("Others"), _("Of ten"), _("Donors"),
            _("Why"))  # fmt: skip


def limb_cells(limb: LimbSummary, nodes: Sequence[Node]) -> tuple[str, ...]:
    """One row: mark, limb, variety, usual bloom, against the others, winters, donors, why."""
    row, dates = limb.coverage, limb.bloom
    return (
        "" if row is None else MARKS[row.verdict],
        limb.node.id,
        # A limb that is called by its variety need not be named twice.
        "" if limb.node.id == limb.node.variety.name else limb.node.variety.name,
        _("not known") if dates is None else date_range(dates.start, dates.end),
        against_cell(limb),
        "" if row is None else winters_cell(row),
        donors_cell(row, nodes),
        why_words(limb, nodes),
    )


# --- figures in cells ------------------------------------------------------------------------


def marked_winters(row: LimbCoverage) -> str:
    """The mark of a limb's verdict and its winters: `● 9 of 10`."""
    return f"{MARKS[row.verdict]} {of_ten(row.reliability)}"


BRACKETS = N_(
    "in brackets where eight in ten guesses lie at what nobody knows, bloom dates included; the "
    "verdict (sure, likely …) averages dates and weighs S-alleles alone."
)
"""What the range beside an expected number is; `LimbCoverage.low` and `high`."""


def verdict_line(row: LimbCoverage) -> str:
    """The verdict on one limb with its shares: `◐ likely: expected in 9 winters of 10 …`.

    Where it has a range, what that is.
    """
    text = _(
        "{mark} {verdict}: expected in {expected} winters of 10, surely {sure}, at most {possible}."
    )
    told = text.format(
        mark=MARKS[row.verdict],
        verdict=_(_IN_A_WORD[row.verdict]),
        expected=winters_cell(row),
        sure=tenths(row.sure),
        possible=tenths(row.possible_reliability),
    )
    if winters_cell(row) == tenths(row.reliability):
        return told
    text = _("{verdict} Here, {brackets}")
    return text.format(verdict=told, brackets=_(BRACKETS))


_IN_A_WORD: Mapping[LimbVerdict, str] = {
    "sure": N_("sure"),
    "likely": N_("likely"),
    "open": N_("open"),
    "lacking": N_("lacking"),
}


def winters_cell(row: LimbCoverage) -> str:
    """Winters of ten, with what they may be for what is not known: `8`, `8 (6–10)`."""
    expected, low, high = (tenths(x) for x in (row.reliability, row.low, row.high))
    wide = row.high - row.low >= WIDE and low != high
    return f"{expected} ({low}–{high})" if wide else expected


WIDE = 0.2
"""From two winters in ten on, what is not known is told as a range: own convention."""


def against_cell(limb: LimbSummary) -> str:
    """Days of full bloom against the others of its fruit: `+3 ± 2`; empty without others."""
    if limb.against is None:
        return ""
    return f"{number(round(limb.against.days), '+d')} ± {number(round(limb.against.sd_days))}"


def donors_cell(row: LimbCoverage | None, nodes: Sequence[Node]) -> str:
    """The best donor of a limb, and how many more: `Jonathan +3`; `none`."""
    if row is None:
        return ""
    if not row.donors:
        return pgettext("donor", "none")
    best, more = _donor(row, 0, nodes), len(row.donors) - 1
    return f"{best} +{more}" if more and row.donors[0].node != row.node else best


def _donor(row: LimbCoverage, place: int, nodes: Sequence[Node]) -> str:
    share = row.donors[place]
    if share.node == row.node:
        return _("itself")
    node = nodes[share.node]
    name = away_words(node, nodes[row.node])
    if share.verdict.answer == "half":
        name = _("{name}, half").format(name=name)
    return name


def spring_note(shifts: Sequence[SpringShift]) -> list[str]:
    """How far a whole spring moves, said once; nothing for typed dates."""
    if not shifts:
        return []
    text = _(
        "A whole spring comes earlier or later than usual, eight springs in ten by up to {days}, "
        "for all limbs of a fruit alike; Others: days before (-) or after (+) the others of its "
        "fruit, ± how far it strays (one standard deviation)."
    )
    by_fruit = [
        _("{days} ({fruit})").format(days=days(round(shift.days)), fruit=_(shift.fruit))
        for shift in shifts
    ]
    return [text.format(days=joined(by_fruit)), *_little_known(shifts)]


def _little_known(shifts: Sequence[SpringShift]) -> list[str]:
    """Fruits whose springs seem to move far because little is known of when they bloom here."""
    text = _(
        "Springs alone would move {fruit} by {days}: the rest is how little is known of when it "
        "blooms in a climate like this; notes of its bloom narrow it."
    )
    return [
        text.format(fruit=_(shift.fruit), days=days(round(shift.own_days)))
        for shift in shifts
        if shift.little_known
    ]


def of_ten_note() -> str:
    """What the column of winters says."""
    return _("Of ten: so many winters of ten; {brackets}").format(brackets=_(BRACKETS))


def weak_notes(limbs: Sequence[LimbSummary], nodes: Sequence[Node]) -> list[str]:
    """Limbs that are clearly worse served than the others of their fruit, and poor bee weather."""
    weak, notes = weakly_served(limbs), []
    if weak.bees:
        text = _("Bees have few good hours while these limbs bloom: poor weather here, for all.")
        if any(limb.by_wind for limb in limbs):
            text = _(
                "Bees have few good hours during the bloom of {fruits}: poor weather here, for all."
            )
        notes.append(text.format(fruits=joined([_(fruit) for fruit in weak.bees])))
    for row in weak.rows:
        text = _("{limb} is weakly served beside the others: {what}.")
        what = _(_WEAK_BY[row.weak_by or "bees"])
        notes.append(text.format(limb=named(nodes[row.node]), what=what))
    return notes


_WEAK_BY: Mapping[Weakness, str] = {
    "pollen": N_("only a part of the pollen is accepted"),
    "distance": N_("the donor stands far away"),
    "bees": N_("bees have few good hours while it blooms"),
    "chill": N_("too little winter chill for good flowers"),
}
