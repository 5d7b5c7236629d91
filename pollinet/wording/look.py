"""How even the trees look in spring, in a grower's words."""

from __future__ import annotations

from collections.abc import Mapping

from pollinet.advice.look import Evenness
from pollinet.language import N_, _, joined, number
from pollinet.summary.advice import TreeLook
from pollinet.wording.sentences import days, first_of, of_ten

EVENNESS: tuple[Evenness, ...] = (N_("even"), N_("somewhat lopsided"), N_("lopsided"))  # type: ignore[assignment]
"""The words of `Evenness`, to be translated."""

WORDS: dict[Evenness | None, str] = {
    "lopsided": N_("Lopsided in bloom: {trees}."),
    "somewhat lopsided": N_("Somewhat lopsided in bloom: {trees}."),
    "even": N_("Even in bloom: {trees}."),
    None: N_("How even it looks in bloom is not judged, as too little is known of it: {trees}."),
}

SHOWN, NAMED = 8, 6
"""Trees told of one by one, and limbs named of one; all of them are in the JSON."""


def looks_answer(looks: Mapping[str, TreeLook]) -> str:
    """Which trees look even in bloom and which do not, the lopsided first; empty without trees."""
    said = []
    for word, text in WORDS.items():
        trees = [_tree_words(tree, look) for tree, look in looks.items() if look.bloom.word == word]
        if trees:
            said.append(_(text).format(trees=joined(trees)))
    return " ".join(said)


def _tree_words(tree: str, look: TreeLook) -> str:
    """A tree, with the limb that stands furthest apart where it does not look even."""
    found = look.bloom
    notes = []
    if found.word not in ("even", None):
        limb = max(found.lags, key=lambda name: abs(found.lags[name]))
        text = (
            _("{limb} {days} before the tree's middle")
            if found.lags[limb] < 0
            else _("{limb} {days} after the tree's middle")
        )
        notes.append(text.format(limb=limb, days=days(abs(found.lags[limb]))))
    if found.word is not None and found.unknown:
        notes.append(_("as far as known: without {limbs}").format(limbs=joined(found.unknown)))
    if found.word is None and found.unknown:
        unknown = first_of(found.unknown, NAMED, after_of=True)
        notes.append(_("no bloom dates of {limbs}").format(limbs=unknown))
    return f"{tree} ({'; '.join(notes)})" if notes else tree


def look_lines(looks: Mapping[str, TreeLook]) -> list[str]:
    """For each tree how it blooms and comes into leaf, what the words mean and how to find out."""
    shown = list(looks.items())[:SHOWN]
    if not shown:
        return []
    line = _("- {tree}: {bloom} {leafing}")
    lines = [
        line.format(tree=tree, bloom=_bloom_words(look), leafing=_leafing_words(look))
        for tree, look in shown
    ]
    if any(look.bloom.word is not None for look in looks.values()):
        lines.append(
            _("Even: on half of the days with blossom nearly all limbs (four in five) are in "
              "flower; lopsided: on less than a quarter. Counted on the likeliest dates.")
        )  # fmt: skip
    if any(look.leafing.word is not None for look in looks.values()):
        lines.append(_("Even in leaf: nearly all within 4 days; lopsided: not within 8."))
    undated = list(dict.fromkeys(x for look in looks.values() for x in look.bloom.unknown))
    if undated:
        text = _("To know how it looks in bloom, note one spring of {limbs}: pollinet record PLAN "
                 "LIMB --stage start.")  # fmt: skip
        lines.append(text.format(limbs=first_of(undated, NAMED, after_of=True)))
    if any(look.leafing.word is None for look in looks.values()):
        lines.append(
            _("To know how it comes into leaf, note of each limb the day of its first leaves: "
              "pollinet record PLAN LIMB --leafing DATE.")
        )  # fmt: skip
    return lines


def _bloom_words(look: TreeLook) -> str:
    found = look.bloom
    if found.word is None or found.together is None or found.even_share is None:
        return _("how it looks in bloom is not known.")
    text = _(
        "{word} in bloom: nearly all limbs flower on {together} days with blossom; it looks even "
        "in {even} winters."
    )
    return text.format(
        word=_(found.word), together=of_ten(found.together), even=of_ten(found.even_share)
    )


def _leafing_words(look: TreeLook) -> str:
    found = look.leafing
    if found.word is None or found.window_days is None:
        return _("Leafing not noted.")
    word, time = _(found.word).capitalize(), days(found.window_days)
    if found.unknown:
        text = _("{word} in leaf, by {days}; not noted: {limbs}.")
        return text.format(word=word, days=time, limbs=joined(found.unknown))
    return _("{word} in leaf, by {days}.").format(word=word, days=time)


def lag_text(lag_days: float | None) -> str:
    """Days from the tree's middle full bloom to a limb's, signed: `+3.5`, `−6`, `0`."""
    if lag_days is None:
        return ""
    return number(round(lag_days, 1), "+g").replace("-", "−") if round(lag_days, 1) else "0"
