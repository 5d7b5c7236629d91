"""Words that readers and stages made in English, for those who read another language.

Readers and stages say what they found in English and know no language. Their sentences stand here
once more, with named places, so that a catalogue can have them. What is not among them stays
English: errors in the input, above all.
"""

from __future__ import annotations

from pollinet.language import N_, retold, told
from pollinet.messages import Message

_FINDINGS = (N_("{name} is a synonym; the catalogue has it as {proper}."),)

_BLOOM = (
    N_("bloom at {places} (from memory), timing borrowed"),
    N_("bloom at {places} (from memory)"),
    N_("bloom at {places}, timing borrowed"),
    N_("bloom at {places}"),
    N_("dates typed by the grower"),
)


def finding_words(text: str) -> str:
    """The message or the cure of a finding."""
    return told(text) if isinstance(text, Message) else retold(text, _FINDINGS)


def evidence_words(rests_on: str) -> str:
    """Where bloom dates come from."""
    return told(rests_on) if isinstance(rests_on, Message) else retold(rests_on, _BLOOM)
