"""Advice in a grower's words: the answer first, then why, then what to do."""

from __future__ import annotations

from collections.abc import Iterable, Sequence

from pollinet.advice.balance import LimbBalance
from pollinet.advice.diagnosis import CauseAnswer, TrialAnswer, Uncounted
from pollinet.advice.rules import Evidence
from pollinet.advice.trials import TRIAL_CLUSTERS, least_to_show
from pollinet.language import N_, _, number
from pollinet.summary.advice import LimbDiagnosis
from pollinet.wording.sentences import count, joined

STAGE_WORDS = {
    "A": N_("no or few flowers"),
    "B": N_("dead or malformed flowers"),
    "C": N_("no fruit set from sound flowers"),
    "D": N_("fruitlets lost after setting"),
}

SHOWN_CAUSES, SHOWN_QUESTIONS = 4, 3
"""Causes and questions shown; all of them are in the JSON."""

SELDOM = 0.2
"""Below this chance of an accepted partner in bloom, the answer begins with it."""


def diagnosis_answer(view: LimbDiagnosis) -> str:
    """The answer in one or two sentences."""
    stage = view.diagnosis.stage
    name, variety = view.limb.id, view.limb.variety.name
    who = name if name == variety else f"{name} ({variety})"
    if stage.sound:
        text = _("{limb} bore a full crop in {year}, by what is noted: nothing failed.")
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
        lines.append(f"Noted: {'; '.join(piece.text for piece in found.stage.said)}.")
    lines += _not_counted(found.not_counted)
    if found.causes and not found.stage.sound:
        lines += ["", "Causes, by the points that speak for and against each:"]
        for cause in shown_causes(found.causes):
            lines += _cause_lines(cause)
        lines += _left_out(found.causes)
    if questions and found.questions and not found.stage.sound:
        lines += ["", "First tell me:" if not found.stage.decided else "Still missing:"]
        lines += [f"- {question}  {option}" for question, option in asked(view)]
    if found.test is not None and not found.stage.sound and found.stage.decided:
        lines += ["", *test_lines(found.test, confirming=found.decided is not None)]
    return [*lines, *_to_do(view), *_notes(view)]


def shown_causes(causes: Iterable[CauseAnswer]) -> list[CauseAnswer]:
    """The causes with evidence, best first; without any the first of the table are not shown."""
    told = [c for c in causes if c.points > 0 or (c.points == 0 and c.evidence_for)]
    return told[:SHOWN_CAUSES]


def asked(view: LimbDiagnosis) -> tuple[tuple[str, str], ...]:
    """The questions that tell most."""
    return view.diagnosis.questions[:SHOWN_QUESTIONS]


def _pollination(view: LimbDiagnosis) -> list[str]:
    stage = view.diagnosis.stage
    lines = []
    if stage.decided and not {"C"} & set(stage.possible):
        lines.append(
            "Pollination, donors and bees cannot be judged on this: they matter only for sound "
            "flowers that set no fruit."
        )
    if view.diagnosis.too_few is not None:
        counted, needed = view.diagnosis.too_few
        word = "cluster" if counted == 1 else "clusters"
        lines.append(
            f"Pollination cannot be judged on {counted} {word}: even none with fruit may be "
            f"chance; watch {needed} or more."
        )
    if view.seeds is not None and view.seeds[0] >= 6 and _is_pome(view):
        lines.append(f"Pollination was good in {view.seeds[1]}: {view.seeds[0]:g} good seeds a "
                     "fruit.")  # fmt: skip
    return lines


def _not_counted(made: Iterable[Uncounted]) -> list[str]:
    few = [f"{x.title} ({x.counted or 0}, {x.needed} or more wanted)" for x in made if x.needed]
    even = [x.title for x in made if not x.needed]
    return [
        f"{head}: {'; '.join(listed)}."
        for head, listed in (("Too few to count as evidence", few),
                             ("Noted, and speaks neither for a cause nor against one", even))
        if listed
    ]  # fmt: skip


def _is_pome(view: LimbDiagnosis) -> bool:
    return view.limb.variety.species in ("apple", "pear")


def _cause_lines(cause: CauseAnswer) -> list[str]:
    lines = [f"- {cause.title}: {cause.confidence} ({cause.points:+d})"]
    for sign, found in (("for", cause.evidence_for), ("against", cause.evidence_against)):
        if found:
            # Two rules on one measure say the same in two strengths: the first is the stronger.
            once = {piece.measure: _evidence(piece) for piece in reversed(found)}
            lines.append(f"    {sign}: {'; '.join(reversed(once.values()))}")
    return lines


def _evidence(piece: Evidence) -> str:
    return piece.text + (" (from memory)" if piece.status == "memory" else "")


def _left_out(causes: tuple[CauseAnswer, ...]) -> list[str]:
    shown = {cause.cause for cause in shown_causes(causes)}
    against = [c for c in causes if c.cause not in shown and c.evidence_against]
    unknown = [c.title for c in causes if c.cause not in shown and not c.evidence_against]
    lines = []
    if against:
        listed = "; ".join(
            f"{c.title} ({min(c.evidence_against, key=lambda piece: piece.points).text})"
            for c in against
        )
        lines.append(f"- spoken against: {listed}")
    if unknown:
        lines.append(f"- nothing known yet of: {', '.join(unknown)}")
    return lines


def test_lines(test: TrialAnswer, *, confirming: bool) -> list[str]:
    """How to make a test and how to read it."""
    head = "The test that would confirm it" if confirming else "The test that tells them apart"
    lines = [f"{head}: {test.title}.", f"- {test.how}."]
    if test.outcomes:
        meant: dict[str, list[str]] = {}
        for title, outcome in test.outcomes:
            meant.setdefault(outcome, []).append(title)
        reading = "; ".join(f"{sign}: {joined(titles, 'or')}" for sign, titles in meant.items())
        lines.append(f"- How to read it: {reading}.")
    if test.test in ("hand", "third-pollen"):
        lines.append(f"- {decision_words()}")
    return lines


def decision_words() -> str:
    """From which count on a trial of 20 against 20 clusters shows a difference."""
    steps = [f"{n} open, {least_to_show(n)} or more by hand" for n in (0, 2, 4, 6, 8)]
    return (
        f"With {TRIAL_CLUSTERS} clusters each, a difference is shown at (clusters with fruit): "
        f"{'; '.join(steps)}. A smaller one is not shown: repeat."
    )


def _to_do(view: LimbDiagnosis) -> list[str]:
    """Remedies of the cause decided, or of those that are likely or possible."""
    found = view.diagnosis
    if found.stage.sound or not found.stage.decided:
        return []
    told = [found.decided] if found.decided else [c for c in found.causes if c.points >= 2][:2]
    if not told:
        return []
    lines = ["", "What to do:"]
    for cause in told:
        lines.append(f"- {cause.remedy}." if found.decided else f"- if {cause.title}: "
                     f"{cause.remedy[0].lower()}{cause.remedy[1:]}.")  # fmt: skip
    words = [cause.caution for cause in told] + ([found.test.caution] if found.test else [])
    lines += [f"- Caution. {view.cautions[w]}" for w in dict.fromkeys(filter(None, words))]
    return lines


def _notes(view: LimbDiagnosis) -> list[str]:
    lines = []
    dead = view.measures.get("dead_share")
    if dead is not None and view.live_needed is not None and dead.value > 0:
        live = 1 - dead.value
        verdict = "it may still crop in full" if live >= view.live_needed else "a light crop"
        lines.append(
            f"{100 * live:.0f} % of the flowers live; in a rich bloom "
            f"{100 * view.live_needed:.0f} % make a full {view.limb.variety.species} crop: "
            f"{verdict}. Thin only after counting fruits."
        )
    seeds = view.measures.get("seeds")
    if seeds is not None and seeds.value < 6 and "seeds_low" not in view.measures:
        lines.append(
            f"{seeds.value:g} seeds a fruit are no sign of bad pollination here: few seeds count "
            "only in varieties known to be diploid (two sets of chromosomes) and never to set "
            "fruit without seed."
        )
    if view.alternates:
        lines += _thinning(view)
    if view.dependants:
        lines.append(f"As a donor it is missed: without it {joined(view.dependants)} would not be "
                     "covered; the plan must hold without it.")  # fmt: skip
    elif view.alternates:
        lines.append("As a donor it is missing every second year; no limb depends on it alone.")
    if not view.genotype_known:
        send = "" if view.in_catalogue else " If it has no sure name, send fruit and leaves to be "
        send += (
            "" if view.in_catalogue else "identified (fruit show, variety collection, gene test)."
        )
        lines.append(f"The S-alleles of {view.limb.variety.name} are not known: whom it can serve "
                     f"is likely, not known.{send}")  # fmt: skip
    if not view.year_measured and not view.diagnosis.stage.sound:
        lines.append(f"The weather of {view.year} is not in a measured record: frost, chill, heat "
                     "and bee weather of that year count only as noted.")  # fmt: skip
    return ["", *lines] if lines else []


def _thinning(view: LimbDiagnosis) -> list[str]:
    if view.fruits is None or view.diameter_mm is None:
        return [
            "Note the thickness of the limb (--diameter MM): it tells how many fruits to leave."
        ]
    low, high = view.fruits
    return [
        f"In its next heavy year leave {low} to {high} fruits on this limb ({view.diameter_mm:g} "
        "mm thick; 4 to 6 fruits per cm² of its cross-section), thinned by hand within 30 days of "
        "bloom."
    ]


# --- balance -------------------------------------------------------------------------------------


def balance_answer(limbs: Sequence[LimbBalance]) -> str:
    """The answer in one sentence: what stands out, or how far that can be said."""
    flagged = [limb.limb for limb in limbs if limb.flags]
    measured = sum(limb.area_mm2 is not None or limb.shoots_cm is not None for limb in limbs)
    if not measured:
        return "No limb is measured yet, so balance cannot be judged."
    judged = f"{measured} of {count(len(limbs), 'limb')} measured"
    if flagged:
        return f"To look at: {joined(flagged)} ({judged})."
    if measured < len(limbs):
        return f"Nothing stands out yet, but balance cannot be judged: {judged}."
    return f"In balance: all {count(len(limbs), 'limb')} measured."
