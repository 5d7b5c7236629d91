"""Advice in a grower's words: the answer first, then why, then what to do."""

from __future__ import annotations

from collections.abc import Iterable

from pollinet.advice.computed import Compared
from pollinet.advice.diagnosis import CauseAnswer, TrialAnswer, Uncounted
from pollinet.advice.rules import Evidence, split
from pollinet.advice.suspicion import Ill
from pollinet.advice.trials import TRIAL_CLUSTERS, least_to_show
from pollinet.language import N_, _, ngettext, number, told
from pollinet.summary.advice import LimbDiagnosis
from pollinet.wording.notes import VALUES
from pollinet.wording.sentences import joined

STAGE_WORDS = {
    "A": N_("no or few flowers"),
    "B": N_("dead or malformed flowers"),
    "C": N_("no fruit set from sound flowers"),
    "D": N_("fruitlets lost after setting"),
}

SURE_WORDS = {
    "likely": N_("likely"),
    "possible": N_("possible"),
    "weak hint": N_("a weak hint"),
    "open": N_("open"),
    "unlikely": N_("unlikely"),
}
"""How sure a cause is, in words."""

SHOWN_CAUSES, SHOWN_QUESTIONS = 4, 3
"""Causes and questions shown; all of them are in the JSON."""

SELDOM = 0.2
"""Below this chance of an accepted partner in bloom, the answer begins with it."""


ILL_WORDS: dict[Ill, str] = {
    "fire blight": N_(
        "First: its tree is under suspicion of fire blight. Do not graft on this tree or collect "
        "from it; ask your plant-health service before you cut."
    ),
    "bacterial canker": N_(
        "First: its tree is under suspicion of bacterial canker. Do not graft on this tree or "
        "collect from it; ask your plant-health service before you cut."
    ),
}


def diagnosis_answer(view: LimbDiagnosis) -> str:
    """The answer in a few sentences, a disease that goes round before all else."""
    first = [] if view.suspicion is None else [_(ILL_WORDS[view.suspicion.ill])]
    return " ".join([*first, _failing(view)])


def _failing(view: LimbDiagnosis) -> str:
    """What failed, and the cause if it is decided."""
    stage = view.diagnosis.stage
    name, variety = view.limb.id, view.limb.variety.name
    who = name if name == variety else f"{name} ({variety})"
    if stage.sound:
        text = _("{limb} bore a full crop in {year}, by what is noted: nothing failed.")
        return text.format(limb=who, year=view.year)
    if not stage.decided and stage.possible == ("A",):
        text = _(
            "{limb} in {year}: the flowers that it had set fruit in full. Whether it had enough of "
            "them is not noted."
        )
        return text.format(limb=who, year=view.year)
    alone = view.measures.get("good_partner")
    if not stage.decided and alone is not None and alone.value < SELDOM:
        text = _(
            "{limb} in {year}: no variety whose pollen it accepts is in bloom with it long enough "
            "(chance of one: {percent} %). That can leave it without a crop by itself: pollinet "
            "cover PLAN says what to graft. Whether more is wrong cannot be said yet: tell what is "
            "asked below."
        )
        percent = number(100 * alone.value, ".0f")
        return text.format(limb=who, year=view.year, percent=percent)
    if not stage.decided:
        text = _(
            "{limb} in {year}: it cannot be said yet why it did not crop, nor whether pollination "
            "has to do with it. First tell what is asked below."
        )
        return text.format(limb=who, year=view.year)
    failed = _("; or ").join(_(STAGE_WORDS[letter]) for letter in stage.possible)
    text = _("{limb} in {year}: {failed}. {cause}")
    return text.format(limb=who, year=view.year, failed=failed, cause=_cause_words(view))


def _cause_words(view: LimbDiagnosis) -> str:
    decided, causes = view.diagnosis.decided, view.diagnosis.causes
    if decided is not None:
        return _("Most likely: {cause}.").format(cause=_(decided.title))
    backed = [_(cause.title) for cause in causes if cause.points > 0][:3]
    if not backed:
        return _("Nothing noted speaks for any cause yet.")
    if len(backed) == 1:
        text = _("What is known points to one cause, but thinly: {cause}.")
        return text.format(cause=backed[0])
    return _("Not decided between: {causes}.").format(causes=joined(backed, "and"))


def diagnosis_lines(view: LimbDiagnosis) -> list[str]:
    """The whole diagnosis in at most some forty lines, the answer first."""
    return [diagnosis_answer(view), *diagnosis_reasons(view)]


def diagnosis_reasons(view: LimbDiagnosis, *, questions: bool = True) -> list[str]:
    """All that is told below the answer; questions : whether it says what is still to be told."""
    found = view.diagnosis
    lines = _pollination(view)
    if found.stage.said:
        noted = "; ".join(told(piece.text) for piece in found.stage.said)
        lines.append(_("Noted: {noted}.").format(noted=noted))
    if view.signs:
        # Whatever stage failed, a sign that was seen is not passed over.
        signs = joined([_(VALUES[sign]) for sign in view.signs])
        text = _("Signs of disease noted in {year}: {signs}.")
        lines.append(text.format(year=view.year, signs=signs))
    lines += _not_counted(found.not_counted)
    if found.causes and not found.stage.sound:
        lines += ["", _("Causes, by the points that speak for and against each:")]
        for cause in shown_causes(found.causes):
            lines += _cause_lines(cause)
        lines += _left_out(found.causes)
    if questions and found.questions and not found.stage.sound:
        lines += ["", _("Still missing:") if found.stage.decided else _("First tell me:")]
        lines += [f"- {_(question)}  {option}" for question, option in asked(view)]
    if found.test is not None and not found.stage.sound and found.stage.decided:
        lines += ["", *test_lines(found.test, confirming=found.decided is not None)]
    return [*lines, *_to_do(view), *_notes(view)]


def shown_causes(causes: Iterable[CauseAnswer]) -> list[CauseAnswer]:
    """The causes with evidence, best first; without any the first of the table are not shown."""
    backed = [c for c in causes if c.points > 0 or (c.points == 0 and c.evidence_for)]
    return backed[:SHOWN_CAUSES]


def asked(view: LimbDiagnosis) -> tuple[tuple[str, str], ...]:
    """The questions that tell most."""
    return view.diagnosis.questions[:SHOWN_QUESTIONS]


def _pollination(view: LimbDiagnosis) -> list[str]:
    stage = view.diagnosis.stage
    lines = []
    if stage.decided and not {"C"} & set(stage.possible):
        lines.append(
            _("Pollination, donors and bees cannot be judged on this: they matter only for sound "
              "flowers that set no fruit.")
        )  # fmt: skip
    if view.diagnosis.too_few is not None:
        counted, needed = view.diagnosis.too_few
        text = ngettext(
            "Pollination cannot be judged on {number} cluster: even none with fruit may be chance; "
            "watch {needed} or more.",
            "Pollination cannot be judged on {number} clusters: even none with fruit may be "
            "chance; watch {needed} or more.",
            counted,
        )
        lines.append(text.format(number=counted, needed=needed))
    if view.seeds is not None and view.seeds[0] >= 6 and _is_pome(view):
        text = _("Pollination was good in {year}: {seeds} good seeds a fruit.")
        lines.append(text.format(year=view.seeds[1], seeds=number(view.seeds[0])))
    return lines


def _not_counted(made: Iterable[Uncounted]) -> list[str]:
    few, even = [], []
    for one in made:
        if one.needed:
            text = _("{test} ({counted}, {needed} or more wanted)")
            words = {"counted": one.counted or 0, "needed": one.needed}
            few.append(text.format(test=_(one.title), **words))
        else:
            even.append(_(one.title))
    lines = []
    if few:
        lines.append(_("Too few to count as evidence: {tests}.").format(tests="; ".join(few)))
    if even:
        text = _("Noted, and speaks neither for a cause nor against one: {tests}.")
        lines.append(text.format(tests="; ".join(even)))
    return lines


def _is_pome(view: LimbDiagnosis) -> bool:
    return view.limb.variety.species in ("apple", "pear")


def _cause_lines(cause: CauseAnswer) -> list[str]:
    words = {"cause": _(cause.title), "how_sure": _(SURE_WORDS[cause.confidence])}
    lines = [_("- {cause}: {how_sure} ({points})").format(points=f"{cause.points:+d}", **words)]
    if cause.evidence_for:
        lines.append("    " + _("for: {evidence}").format(evidence=_evidence(cause.evidence_for)))
    if cause.evidence_against:
        told_against = _evidence(cause.evidence_against)
        lines.append("    " + _("against: {evidence}").format(evidence=told_against))
    return lines


def _evidence(found: Iterable[Evidence]) -> str:
    return "; ".join(
        _("{evidence} (from memory)").format(evidence=told(piece.text))
        if piece.status == "memory"
        else told(piece.text)
        for piece in found
    )


def _left_out(causes: tuple[CauseAnswer, ...]) -> list[str]:
    shown = {cause.cause for cause in shown_causes(causes)}
    against = [c for c in causes if c.cause not in shown and c.evidence_against]
    unknown = [_(c.title) for c in causes if c.cause not in shown and not c.evidence_against]
    lines = []
    if against:
        # What speaks against several is said once.
        by_reason: dict[str, list[str]] = {}
        for c in against:
            reason = told(min(c.evidence_against, key=lambda one: one.points).text)
            by_reason.setdefault(reason, []).append(_(c.title))
        listed = "; ".join(
            f"{joined(titles, 'or')} ({reason})" for reason, titles in by_reason.items()
        )
        lines.append(_("- spoken against: {causes}").format(causes=listed))
    if unknown:
        lines.append(_("- nothing known yet of: {causes}").format(causes=", ".join(unknown)))
    return lines


def test_lines(test: TrialAnswer, *, confirming: bool) -> list[str]:
    """How to make a test and how to read it."""
    head = (
        _("The test that would confirm it: {test}.")
        if confirming
        else _("The test that tells them apart: {test}.")
    )
    lines = [head.format(test=_(test.title)), f"- {_(test.how)}."]
    if test.outcomes:
        meant: dict[str, list[str]] = {}
        for title, outcome in test.outcomes:
            meant.setdefault(outcome, []).append(_(title))
        reading = "; ".join(f"{_(sign)}: {joined(titles, 'or')}" for sign, titles in meant.items())
        lines.append(_("- How to read it: {reading}.").format(reading=reading))
    if test.test in ("hand", "third-pollen"):
        lines.append(f"- {decision_words()}")
    return lines


def decision_words() -> str:
    """From which count on a trial of 20 against 20 clusters shows a difference."""
    step = _("{left} open, {hand} or more by hand")
    steps = [step.format(left=n, hand=least_to_show(n)) for n in (0, 2, 4, 6, 8)]
    text = _(
        "With {clusters} clusters each, a difference is shown at (clusters with fruit): {steps}. A "
        "smaller one is not shown: repeat."
    )
    return text.format(clusters=TRIAL_CLUSTERS, steps="; ".join(steps))


def _to_do(view: LimbDiagnosis) -> list[str]:
    """Remedies of the cause decided, or of those that are likely or possible."""
    found = view.diagnosis
    if found.stage.sound or not found.stage.decided:
        return []
    causes = [found.decided] if found.decided else [c for c in found.causes if c.points >= 2][:2]
    if not causes:
        return []
    lines = ["", _("What to do:")]
    for cause in causes:
        text = "- {remedy}." if found.decided else _("- if it is this: {cause}. {remedy}.")
        lines.append(text.format(cause=_(cause.title), remedy=_(cause.remedy)))
    words = [word for cause in causes for word in split(cause.caution)]
    words += [found.test.caution] if found.test else []
    texts = [view.cautions[word] for word in dict.fromkeys(words) if word in view.cautions]
    return lines + [_("- Caution. {caution}").format(caution=_(text)) for text in texts]


def _notes(view: LimbDiagnosis) -> list[str]:
    lines = [] if view.diagnosis.stage.sound else [_compared(one, view) for one in view.compared]
    dead = view.measures.get("dead_share")
    if dead is not None and view.live_needed is not None and dead.value > 0:
        live = 1 - dead.value
        text = (
            _("{live} % of the flowers live; in a rich bloom {needed} % make a full crop of this "
              "fruit: it may still crop in full. Thin only after counting fruits.")
            if live >= view.live_needed
            else _("{live} % of the flowers live; in a rich bloom {needed} % make a full crop of "
                   "this fruit: a light crop. Thin only after counting fruits.")
        )  # fmt: skip
        shares = {
            "live": number(100 * live, ".0f"),
            "needed": number(100 * view.live_needed, ".0f"),
        }
        lines.append(text.format(**shares))
    seeds = view.measures.get("seeds")
    if seeds is not None and seeds.value < 6 and "seeds_low" not in view.measures:
        text = _(
            "{seeds} seeds a fruit are no sign of bad pollination here: few seeds count only in "
            "varieties known to be diploid (two sets of chromosomes) and never to set fruit "
            "without seed."
        )
        lines.append(text.format(seeds=number(seeds.value)))
    if view.alternates:
        lines += _thinning(view)
    if view.dependants:
        text = _(
            "As a donor it is missed: without it {limbs} would not be covered; the plan must hold "
            "without it."
        )
        lines.append(text.format(limbs=joined(view.dependants)))
    elif view.alternates:
        lines.append(_("As a donor it is missing every second year; no limb depends on it alone."))
    if not view.genotype_known:
        text = (
            _("The S-alleles of {variety} are not known: whom it can serve is likely, not known.")
            if view.gives
            else _(
                "The S-alleles of {variety} are not known: who can serve it is likely, not known; "
                "its own pollen serves nobody."
            )
        )
        lines.append(text.format(variety=view.limb.variety.name))
        if not view.in_catalogue:
            lines[-1] += " " + _(
                "If it has no sure name, send fruit and leaves to be identified (fruit show, "
                "variety collection, gene test)."
            )
    if not view.year_measured and not view.diagnosis.stage.sound:
        text = _(
            "The weather of {year} is not in a measured record: frost, chill, heat and bee weather "
            "of that year count only as noted."
        )
        lines.append(text.format(year=view.year))
    return ["", *lines] if lines else []


def _compared(one: Compared, view: LimbDiagnosis) -> str:
    """One measure of the year against the other winters of the record."""
    patterns = {
        "chill_quality": _(
            "Chill in {year}: its flowers reach {value} % of their quality, usually {usual} % "
            "({below} of the {others} other winters of the record gave less)."
        ),
        "flight": _(
            "Bee weather in {year}: bees could fly in {value} % of the daylight of its bloom, "
            "usually {usual} % ({below} of the {others} other springs of the record gave less)."
        ),
    }
    value, usual = (number(100 * share, ".0f") for share in (one.value, one.usual))
    words = {"value": value, "usual": usual, "below": one.below, "others": one.others}
    return patterns[one.measure].format(year=view.year, **words)


def _thinning(view: LimbDiagnosis) -> list[str]:
    if view.fruits is None or view.diameter_mm is None:
        return [
            _("Note the thickness of the limb (--diameter MM): it tells how many fruits to leave.")
        ]
    low, high = view.fruits
    text = _(
        "In its next heavy year leave {low} to {high} fruits on this limb ({diameter} mm thick; 4 "
        "to 6 fruits per cm² of its cross-section), thinned by hand within 30 days of bloom."
    )
    return [text.format(low=low, high=high, diameter=number(view.diameter_mm))]
