"""Verdicts in a grower's words: one short sentence each, without a full stop."""

from __future__ import annotations

from collections.abc import Callable, Iterable, Sequence

from pollinet.domain import Alternative, Fertility, Fruit, Genotype, VarietyId, Verdict
from pollinet.language import N_, _, joined
from pollinet.readers.names import fold

_SENTENCES = {
    "compatible": N_("compatible: all of its pollen is accepted"),
    "some-grains-refused": N_("tetraploid pollen, of which {share} is accepted"),
    "modifier-pollen": N_("only the pollen with a self-compatible modifier is accepted: {share}"),
    "passes-known-part": N_("{accepted} accepted for certain, at least {share} of the pollen"),
    "by-descent": N_(
        "whatever the parents of {untold} gave it, at least {share} of the pollen is accepted"
    ),
    "by-descent, all": N_(
        "whatever the parents of {untold} gave it, all of the pollen is accepted"
    ),
    "all-alleles-refused": N_("{refused} refused: none of its pollen is accepted"),
    "pollen-in-stigma": N_("its pollen shows {refused}, which is in the stigma"),
    "same-variety": N_("the same variety or its sport, and not self-fertile"),
    "partly-self-fertile": N_(
        "the same variety or its sport, only partly self-fertile: not counted on"
    ),
    "self-fertile": N_("self-fertile: its own pollen serves it"),
    "self-fertility-unknown": N_(
        "the same variety, and nobody has said whether it is self-fertile"
    ),
    "disputed-self-fertility": N_(
        "the same variety, and sources disagree whether it is self-fertile (chance: {chance})"
    ),
    "disputed": N_("sources disagree about {untold} (chance that any pollen passes: {chance})"),
    "triploid-pollen": N_("triploid: its pollen is not good"),
    "sterile-pollen": N_("its pollen is sterile or useless"),
    "same-group": N_("same incompatibility group"),
    "unknown-genotype": N_(
        "S-alleles of {untold} are not known (chance that any pollen passes: {chance})"
    ),
    "unknown-dominance": N_("it is not known which of its alleles the pollen shows"),
    "assumed-compatible": N_(
        "nobody has told of this cross; most crosses of this fruit set ({chance})"
    ),
    "assumed-compatible, all": N_(
        "nobody has told of this cross; this fruit sets itself, and any pollen of it serves"
    ),
    "unmarked-mutation": N_(
        "self-fertile although its S-alleles do not tell why: they cannot judge this cross"
    ),
    "other-fruit": N_("another kind of fruit: its pollen does not set this one"),
    "unknown-fruit-cross": N_(
        "a related kind of fruit: not known whether its pollen sets this one"
    ),
    "species-cross-possible": N_(
        "another kind of fruit: possible, set in trials (taken as {chance})"
    ),
    "species-cross-not-relied-upon": N_(
        "another kind of fruit: not relied upon (taken as {chance})"
    ),
    "species-cross": N_("another kind of fruit, whose pollen sets this one: reliable"),
    "different-name-space": N_("the S-alleles of the two fruits cannot be compared"),
    "measured-cross": N_("crosses that were made say {result}"),
    "source-statement": N_("a source says {result}"),
}

_RESULTS = {
    "yes": N_("yes"),
    "half": N_("partly"),
    "no": N_("no"),
    "unknown": N_("not known"),
}


def typed_lines(names: Iterable[tuple[str, VarietyId]]) -> list[str]:
    """What was typed beside the name of the variety: `As typed: Bartlett = Williams.`

    names : as typed, with what they mean; those that are written otherwise only are passed over.
    """
    told = dict.fromkeys(f"{typed} = {v.name}" for typed, v in names if fold(typed) != fold(v.name))
    return [_("As typed: {names}.").format(names="; ".join(told))] if told else []


def verdict_sentence(verdict: Verdict) -> str:
    """Why a donor's pollen serves a receiver or does not: `same genotype S3S4`."""
    words = _sentence(verdict)
    if verdict.memory:
        return _("{words} (from memory, not confirmed)").format(words=words)
    if verdict.inferred:
        return _("{words} (inferred from marker genes, not counted)").format(words=words)
    return words


_ANSWERS = {
    "yes": "Yes, {donor} pollinates {receiver}",
    "half": "Partly, {donor} pollinates {receiver}",
    "no": "No, {donor} does not pollinate {receiver}",
    "likely": "Likely, {donor} pollinates {receiver}, though nobody has shown it",
    "unknown": "Not known whether {donor} pollinates {receiver}",
}

LIKELY = 0.8
"""Chance from which a cross of which nobody has told is called likely: eight in ten, as growers ask
of winters. Own convention."""


def _is_likely(verdict: Verdict) -> bool:
    return verdict.answer == "unknown" and verdict.probability >= LIKELY


def verdict_answer(verdict: Verdict) -> str:
    """The whole answer in one sentence: `No, Lambert does not pollinate Bing: same genotype …`."""
    donor, receiver = verdict.donor.name, verdict.receiver.name
    other = "itself" if verdict.donor == verdict.receiver else receiver
    known = "likely" if _is_likely(verdict) else verdict.answer
    answer = _ANSWERS[known].format(donor=donor, receiver=other)
    return f"{answer}: {verdict_sentence(verdict)}"


def fertility_lines(fertility: Fertility, fruit: Fruit | None = None) -> list[str]:
    """What is known of a variety's fertility: genotype, pollen, self-fertility, group.

    fruit : tells what is presumed of its own pollen where nothing is known.
    """
    usual = None if fruit is None else fruit.self_fertile_default

    def told(text: str, field: str) -> str:
        if field in fertility.memory:
            return _("{text} (from memory)").format(text=text)
        return _("{text} (inferred)").format(text=text) if field in fertility.inferred else text

    def known(field: str, words: Callable[[Fertility | Alternative], str]) -> str:
        if field in fertility.disputed:
            either = _(" or ").join(dict.fromkeys(map(words, fertility.alternatives)))
            return _("{text} (disputed)").format(text=either)
        return told(words(fertility), field)

    facts = [
        _("S-alleles {alleles}").format(
            alleles=known("genotype", lambda one: genotype_words(one.genotype))
        ),
        known("ploidy", lambda one: _(_PLOIDY.get(one.ploidy or 0, _USUAL_PLOIDY))),
        _("pollen {quality}").format(
            quality=known("pollen_ok", lambda one: _(_POLLEN[one.pollen_ok]))
        ),
        _("self-fertile: {answer}").format(
            answer=known("self_fertile", lambda one: _selfing_words(one, usual))
        ),
    ]
    if fertility.group and "genotype" not in fertility.disputed:
        text = _("incompatibility group {group}").format(group=fertility.group)
        facts.append(told(text, "group"))
    if fertility.modifier_share:
        text = _("modifier in {share} of its pollen")
        facts.append(text.format(share=share_words(fertility.modifier_share)))
    name = fertility.id.name
    if _is_sport(fertility):
        name = _("{name} (clone or sport of {parent})").format(name=name, parent=fertility.clone)
    return [f"{name}: {'; '.join(facts)}."]


def _selfing_words(fertility: Fertility | Alternative, usual: bool | None) -> str:
    if fertility.partly_self_fertile:
        whole = isinstance(fertility, Alternative)
        return _("partly") if whole else _("partly, not counted on")
    if fertility.self_fertile is None and usual is not None:
        if usual:
            return _("presumed yes, as usual for the fruit")
        return _("presumed no, as usual for the fruit")
    return _(_KNOWN[fertility.self_fertile])


def genotype_words(genotype: Genotype | None) -> str:
    """`S3S4'`, `S9S?` where one is missing, `not known`; what hazel pollen shows in brackets."""
    if genotype is None:
        return _("not known")
    text = "".join(genotype.alleles) + ("" if genotype.complete else "S?")
    shown = genotype.pollen_alleles
    if shown is None:
        return text
    return _("{text} (pollen shows {alleles})").format(text=text, alleles=alleles_words(shown))


def _is_sport(fertility: Fertility) -> bool:
    return fertility.clone != fertility.id.name


_PLOIDY = {
    2: N_("diploid"),
    3: N_("triploid"),
    4: N_("tetraploid"),
    5: N_("pentaploid"),
    6: N_("hexaploid"),
}
_USUAL_PLOIDY = N_("ploidy presumed usual")
_POLLEN = {True: N_("good"), False: N_("not good"), None: N_("presumed good")}
_KNOWN = {True: N_("yes"), False: N_("no"), None: N_("not known")}


def share_words(fraction: float | None) -> str:
    """A share of the pollen in words: `half`, `all`, `67 %`, `an unknown share`."""
    if fraction is None:
        return _("an unknown share")
    words = {0.0: N_("none"), 0.5: N_("half"), 1.0: N_("all")}
    return _(words[fraction]) if fraction in words else f"{fraction * 100:.0f} %"


def alleles_words(alleles: Sequence[str]) -> str:
    """Alleles in a row: `S3`, `S3 and S4`."""
    return joined(alleles)


def _sentence(verdict: Verdict) -> str:
    if verdict.code == "same-genotype":
        doubled = verdict.refused * 2 if len(verdict.refused) == 1 else verdict.refused
        return _("same genotype {alleles}").format(alleles="".join(doubled))
    if verdict.code == "shares-one-allele":
        shared = alleles_words(verdict.refused)
        text = _("shares {shared}: {share} of the pollen is accepted")
        return text.format(shared=shared, share=share_words(verdict.fraction))
    if verdict.code == "passes-known-part" and not verdict.accepted:
        return _("at least {share} of the pollen is accepted").format(
            share=share_words(verdict.fraction)
        )
    code = verdict.code
    if code == "by-descent" and verdict.answer == "yes":
        code = "by-descent, all"
    if code == "assumed-compatible" and verdict.answer == "yes":
        code = "assumed-compatible, all"
    sides = {"donor": verdict.donor, "receiver": verdict.receiver}
    return _(_SENTENCES.get(code, code)).format(
        accepted=alleles_words(verdict.accepted),
        refused=alleles_words(verdict.refused),
        share=share_words(verdict.fraction),
        chance=f"{verdict.probability * 100:.0f} %",
        untold=joined([sides[side].name for side in verdict.untold]),
        result=_(_RESULTS[verdict.answer]),
    )
