"""How even the trees look in spring, in a grower's words."""

from __future__ import annotations

from collections.abc import Mapping

from pollinet.advice.look import Evenness
from pollinet.language import N_, _, joined
from pollinet.summary.advice import TreeLook
from pollinet.wording.sentences import days, of_ten

WORDS: dict[Evenness | None, str] = {
    "lopsided": N_("Lopsided in bloom: {trees}."),
    "somewhat lopsided": N_("Somewhat lopsided in bloom: {trees}."),
    "even": N_("Even in bloom: {trees}."),
    None: N_("Bloom not known of two limbs: {trees}."),
}

SHOWN = 8
"""Trees told of one by one; all of them are in the JSON."""

FLAGS = {
    "summer-prune": N_("strong: shorten in summer"),
    "crowded-out": N_("weak: give it light"),
    "alternates": N_("bears every second year"),
}
"""What stands out of a limb, in words."""


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
    return f"{tree} ({'; '.join(notes)})" if notes else tree


def look_lines(looks: Mapping[str, TreeLook]) -> list[str]:
    """For each tree how it blooms and comes into leaf, and what the words mean."""
    shown = list(looks.items())[:SHOWN]
    lines = [f"- {tree}: {_bloom_words(look)} {_leafing_words(look)}" for tree, look in shown]
    if not lines:
        return []
    return [
        *lines,
        "Even: on half of the days with blossom nearly all limbs (four in five) are in flower; "
        "lopsided: on less than a quarter. In leaf: nearly all within 4 days, or not within 8. "
        "Counted on the likeliest dates of every winter; own notes make them surer.",
    ]


def _bloom_words(look: TreeLook) -> str:
    found = look.bloom
    if found.word is None or found.together is None or found.even_share is None:
        return "how it looks in bloom is not known."
    return (
        f"{found.word} in bloom: nearly all limbs flower on {of_ten(found.together)} days with "
        f"blossom; it looks even in {of_ten(found.even_share)} winters."
    )


def _leafing_words(look: TreeLook) -> str:
    found = look.leafing
    if found.word is None or found.window_days is None:
        return "Leafing not noted."
    missing = f"; not noted: {joined(found.unknown)}" if found.unknown else ""
    return f"{found.word.capitalize()} in leaf, by {days(found.window_days)}{missing}."


def lag_text(lag_days: float | None) -> str:
    """Days from the tree's middle full bloom to a limb's, signed: `+3.5`, `−6`, `0`."""
    if lag_days is None:
        return ""
    return f"{round(lag_days, 1):+g}".replace("-", "−") if round(lag_days, 1) else "0"
