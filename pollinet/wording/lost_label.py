"""Sentences on a limb without a label: told as a shortlist, never as its name."""

from __future__ import annotations

from collections.abc import Mapping, Sequence

from pollinet.language import N_, _, joined, ngettext, number, short_date
from pollinet.summary.alone import OwnPollen
from pollinet.summary.lost_label import Candidate, Label, Spring, Test
from pollinet.wording.sentences import first_of
from pollinet.wording.verdicts import genotype_words

_OWN: Mapping[OwnPollen, str] = {
    "yes": N_("serves it"),
    "no": N_("does not"),
    "partly": N_("partly"),
    "disputed": N_("disputed"),
    "unknown": "",
}

_STAGES = {
    "start": N_("first flowers"),
    "full": N_("full bloom"),
    "end": N_("petal fall"),
}


def label_answer(label: Label) -> str:
    """How many varieties fit, which best, and that this is no name."""
    closely = [one.variety.id.name for one in label.listed if one.fit.closely]
    fruit = _(label.limb.variety.species)
    if label.more:
        text = _(
            "What is noted does not narrow it down: {number} of the {all} varieties of {fruit} "
            "that can be judged fit {limb}."
        )
        return text.format(
            number=len(label.candidates), all=label.looked_at, fruit=fruit,
            limb=label.limb.id,
        )  # fmt: skip
    text = ngettext(
        "{number} of the {all} varieties of {fruit} that can be judged fits what is known of "
        "{limb}: {names}.",
        "{number} of the {all} varieties of {fruit} that can be judged fit what is known of "
        "{limb}, best {names}.",
        len(label.candidates),
    )
    return text.format(
        number=len(label.candidates), all=label.looked_at, fruit=fruit, limb=label.limb.id,
        names=first_of(closely, 4, "or"),
    )  # fmt: skip


def headings(label: Label) -> tuple[str, ...]:
    """Those of `cells`, but for columns that would be empty."""
    beside = "" if label.beside is None else label.beside.id
    named = (
        _("Variety"), _("Fits"), _("Full bloom after {limb}").format(limb=beside),
        _("First pick"), _("Own pollen"), _("S-alleles"),
    )  # fmt: skip
    return tuple(name for name, is_kept in zip(named, _kept(label), strict=True) if is_kept)


def cells(label: Label, one: Candidate) -> tuple[str, ...]:
    """A row of the shortlist."""
    return tuple(cell for cell, is_kept in zip(_row(one), _kept(label), strict=True) if is_kept)


def _kept(label: Label) -> list[bool]:
    return [any(column) for column in zip(*map(_row, label.listed), strict=True)]


def _row(one: Candidate) -> tuple[str, ...]:
    also = f" ({first_of(one.also, 2)})" if one.also else ""
    after = ""
    if one.after is not None and one.after_sd is not None:
        after = _("{days} ± {sd} days").format(
            days=number(round(one.after), "+g") if round(one.after) else "0",
            sd=round(one.after_sd),
        )
    own, genotype = _OWN[one.own_pollen], one.variety.fertility.genotype
    return (
        one.variety.id.name + also,
        _("closely") if one.fit.closely else _("less closely"),
        after,
        "" if one.picked is None else short_date(round(one.picked)),
        _(own) if own else "",
        "" if genotype is None else genotype_words(genotype),
    )


def test_words(label: Label, test: Test) -> str:
    """A further look, and what the varieties of the shortlist would show."""
    if test == "bloom":
        beside = "" if label.beside is None else label.beside.id
        shown = _spread([(one, one.after) for one in label.candidates])
        text = _("Note full bloom beside {limb} in another spring: {first} first, {last} last.")
        return text.format(limb=beside, first=shown[0], last=shown[1])
    if test == "pick":
        shown = _spread([(one, one.picked) for one in label.candidates])
        return _("Note the first pick: {first} first, {last} last (`--picked`).").format(
            first=shown[0], last=shown[1]
        )
    if test == "bagged":
        fertile = [o.variety.id.name for o in label.candidates if o.own_pollen == "yes"]
        return _(
            "Put bags over some clusters before bloom and count those that set "
            "(`pollinet record … --bagged 4/30`): fruit in bags speaks for {names}."
        ).format(names=first_of(fertile, 4, "or"))
    return _("A laboratory can tell the S-alleles of a leaf; they differ within this list.")


def _spread(told: Sequence[tuple[Candidate, float | None]]) -> tuple[str, str]:
    known = [(value, one.variety.id.name) for one, value in told if value is not None]
    return min(known)[1], max(known)[1]


def springs_words(springs: Sequence[Spring]) -> list[str]:
    """What each note was held against."""
    return [_spring(one) for one in springs]


def _spring(one: Spring) -> str:
    stage = _(_STAGES[one.stage])
    if not one.beside:
        return _(
            "{year}, {stage}: by its date alone, as no other limb was noted then; a whole spring "
            "may be early or late, so this tells little."
        ).format(year=one.year, stage=stage)
    told = [_after(limb, days) for limb, days in one.after]
    return _("{year}, {stage}: {when}.").format(year=one.year, stage=stage, when=joined(told))


def _after(limb: str, days: int) -> str:
    if days > 0:
        text = ngettext("{number} day after {limb}", "{number} days after {limb}", days)
    elif days < 0:
        text = ngettext("{number} day before {limb}", "{number} days before {limb}", -days)
    else:
        text = _("on the day of {limb}")
    return text.format(number=abs(days), limb=limb)


def label_notes(label: Label) -> list[str]:
    """What the list does not tell."""
    fruit = _(label.limb.variety.species)
    notes = []
    if label.more:
        notes.append(
            ngettext(
                "The first {shown} are shown; {number} more fits, too (`--csv` has all).",
                "The first {shown} are shown; {number} more fit, too (`--csv` has all).",
                label.more,
            ).format(shown=len(label.listed), number=label.more)
        )
    if label.unjudged:
        notes.append(
            ngettext(
                "{number} more variety of {fruit} cannot be judged: nobody has told of it what was "
                "seen here.",
                "{number} more varieties of {fruit} cannot be judged: nobody has told of them what "
                "was seen here.",
                label.unjudged,
            ).format(number=label.unjudged, fruit=fruit)
        )
    if label.ruled_out:
        notes.append(
            ngettext(
                "{number} variety is ruled out by what you told.",
                "{number} varieties are ruled out by what you told.",
                label.ruled_out,
            ).format(number=label.ruled_out)
        )
    notes.append(
        _("This is a list of what fits, no name: it may be a variety that nobody has dated, or a "
          "seedling. Only fruit beside named fruit, or a comparison of its DNA with a reference "
          "collection, gives it one.")
    )  # fmt: skip
    return notes
