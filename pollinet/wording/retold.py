"""Words that readers and stages made in English, for those who read another language.

Readers and stages say what they found in English and know no language. Their sentences stand here
once more, with named places, so that a catalogue can have them. What is not among them stays
English: errors in the input, above all.
"""

from __future__ import annotations

from pollinet.language import N_, retold, told
from pollinet.messages import Message

_LISTS = ("{first}; {rest}",)
"""Parts of a list, each of which is retold by itself."""

_FINDINGS = (
    N_("{name} is a synonym; the catalogue has it as {proper}."),
    N_("Converted to °C, mm and m/s: {units}."),
    N_("The heading names no unit for the temperatures; they were taken as °C."),
    N_("Lowest and highest temperature were taken from values within the day, in {clock}."),
    N_("the file's own clock time"),
    N_("local solar time (UTC{offset} h)"),
    N_("UTC, as the file names no longitude"),
    N_(
        "This is a typical year, pieced together from months of different years. It was cut to "
        "one season: nothing can be said about how winters differ."
    ),
    N_("Use a daily record of ten winters or more."),
    N_("{missing} of {all} days are missing; the longest gap is {gap} day from {date}."),
    N_("{missing} of {all} days are missing; the longest gap is {gap} days from {date}."),
    N_("Missing days are not invented: winters with long gaps are left out."),
    N_("A winter left out, by the year of bloom: {years}."),
    N_("Winters left out, by the year of bloom: {years}."),
    N_("{year}, the record covers only part of the season"),
    N_("{year}, {gap} days are missing in a row"),
    N_("{year}, {missing} days are missing"),
    N_("Fill the missing days from a neighbouring station."),
    N_("{number} missing days were bridged by a straight line (days by season {seasons})."),
    N_("The record is of another place than the site: {differences}."),
    N_("latitude {there} instead of {here}, longitude {east_there} instead of {east_here}"),
    N_("latitude {there} instead of {here}"),
    N_("longitude {there} instead of {here}"),
    N_("Use a record of the site, or correct the site's coordinates."),
    N_("The record holds for {there} m, the site lies at {here} m: about {degrees} °C too cold."),
    N_("The record holds for {there} m, the site lies at {here} m: about {degrees} °C too warm."),
    N_(
        "The warmest month has a mean of {mean} °C, below the {least} °C that trees need: the "
        "record is of a much higher or colder place."
    ),
    N_(
        "The mean over the year is {mean} °C, which is {degrees} °C colder than usual for the "
        "latitude at {height} m: the record seems to be of another height."
    ),
    N_(
        "The mean over the year is {mean} °C, which is {degrees} °C warmer than usual for the "
        "latitude at {height} m: the record seems to be of another height."
    ),
    N_(
        "Use a station at the site's height; a grid cell in the mountains is an average of heights."
    ),
    N_("The mean of {years} is more than {degrees} °C away from that of the other years."),
    N_("Check whether unit or station changed in these years."),
    N_("Temperatures that do not belong to their date here: {cases}."),
    N_("Remove invented or misread values; missing days are better than wrong ones."),
    N_("Values that stand still or lie on a straight line: {cases}."),
    N_("The same values day by day occur twice: {cases}."),
    N_("Take the invented values out of the file, so that the days count as missing."),
)

_BLOOM = (
    N_("bloom at {places} (from memory), timing borrowed"),
    N_("bloom at {places} (from memory)"),
    N_("bloom at {places}, timing borrowed"),
    N_("bloom at {places}"),
    N_("dates typed by the grower"),
)

_SOURCES = (
    N_("generated from monthly normals (of the plan)"),
    N_("generated from monthly normals ({source})"),
    N_("typed in the plan"),
    N_("{file}, from twelve invented monthly means, seed {seed}: no station measured this"),
)

_PROOFS = (
    N_("own search"),
    N_("every smaller set ruled out, size by size"),
    N_("integer programme with learnt coverage cuts"),
)


def finding_words(text: str) -> str:
    """The message or the cure of a finding."""
    return told(text) if isinstance(text, Message) else retold(text, (*_FINDINGS, *_LISTS))


def evidence_words(rests_on: str) -> str:
    """Where bloom dates come from."""
    return told(rests_on) if isinstance(rests_on, Message) else retold(rests_on, _BLOOM)


def source_words(source: str) -> str:
    """Where a weather record comes from."""
    return told(source) if isinstance(source, Message) else retold(source, _SOURCES)


def proof_words(method: str) -> str:
    """What proved a smallest set."""
    return told(method) if isinstance(method, Message) else retold(method, _PROOFS)
