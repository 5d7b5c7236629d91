"""Where the garden of a plan would do, in words."""

from __future__ import annotations

from pollinet.language import N_, _, ngettext, number
from pollinet.letters import shortened
from pollinet.summary.sites import SitesSeen

WORDS = {
    "has pollen": N_("every limb that is to crop has a donor in enough winters"),
    "lacks pollen": N_("some limb has none in enough winters"),
    "not known": N_("not known: no weather, or stations too far to tell it"),
}
"""What each standing of a place means."""


NAMED = 5
"""Places that a sentence names at most; the tables have all. Own convention."""


def climate_words(warmer_c: float) -> str:
    """A climate by how much warmer it is."""
    if warmer_c == 0:
        return _("today")
    return _("{degrees} °C").format(degrees=number(warmer_c, "+g"))


def sites_answer(seen: SitesSeen) -> str:
    """In how many places the garden has pollen, and its chill, in each climate."""
    places = len(seen.latitude)
    told = [_climate(seen, climate) for climate in range(len(seen.warmer_c))]
    head = ngettext("Of {number} place:", "Of {number} places:", places).format(number=places)
    return f"{head} {'; '.join(told)}."


def _climate(seen: SitesSeen, climate: int) -> str:
    counts = {word: seen.count(word, climate) for word in WORDS}  # type: ignore[arg-type]
    short = seen.short_of_chill(climate)
    pollen = str(counts["has pollen"])
    if short:
        pollen = _("{number} (in {short} of them some limb is short of chill)").format(
            number=counts["has pollen"], short=short
        )
    text = _("{climate} the garden has pollen in {pollen}, lacks it in {bare}")
    if counts["not known"]:
        text = _("{climate} the garden has pollen in {pollen}, lacks it in {bare}, not known of "
                 "{unknown}")  # fmt: skip
    return text.format(
        climate=climate_words(seen.warmer_c[climate]),
        pollen=pollen,
        bare=counts["lacks pollen"],
        unknown=counts["not known"],
    )


def not_asked() -> str:
    """What the answers leave open."""
    return _("Not asked: whether a place lies at sea, frost at bloom, winter cold, ripening.")


def lacking_words(seen: SitesSeen) -> str:
    """The first places that lack pollen today, by name; empty where none does."""
    rows = seen.lacking(0)
    if not rows:
        return ""
    names = ", ".join(shortened(seen.names[row]) for row in rows[:NAMED])
    if len(rows) > NAMED:
        return _("Pollen is lacking today in {names} and {number} more.").format(
            names=names, number=len(rows) - NAMED
        )
    return _("Pollen is lacking today in {names}.").format(names=names)
