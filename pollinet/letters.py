"""Texts of one line that a person typed: what cannot be meant in them, and how they are shown.

Signs that steer a terminal, turn the writing round or are not seen have no place in a name; those
that a script needs (joiners, marks of direction) have.
"""

from __future__ import annotations

import re

from pollinet.messages import Message, say

MOST_LETTERS = 500
"""Longest name, and longest text of a plan. Own convention."""

_HIDDEN = (
    "\x00-\x1f\x7f-\x9f"  # control characters (Unicode category Cc)
    "\u200b\u2028-\u202e\u2060-\u2064\u2066-\u206f\ufeff"  # ends of lines, turns, no width
    "\ud800-\udfff\ue000-\uf8ff\ufff9-\uffff"  # halves, private use, no letters
    "\U000e0000-\U000e00ff\U000e01f0-\U000effff"  # tags, no letters
    "\U000ffffe-\U000fffff\U0010fffe-\U0010ffff"  # no letters
)
"""Code points by the Unicode Standard: categories Cc, Cs, Cn and the older Co, whose signs differ
from font to font; of Cf what no script needs."""

HIDDEN = re.compile(f"[{_HIDDEN}]")
"""One such sign."""


def hidden_in(text: str, allowed: str = "") -> bool:
    """Whether a text holds a sign that steers a terminal or is not seen."""
    return any(one not in allowed for one in HIDDEN.findall(text))


def seen(text: str, allowed: str = "\n\t") -> str:
    r"""A text with such signs written out: `\x1b`, `\u202e`."""

    def written(sign: re.Match[str]) -> str:
        if sign[0] in allowed:
            return sign[0]
        code = ord(sign[0])
        return f"\\x{code:02x}" if code < 256 else f"\\u{code:04x}"

    return HIDDEN.sub(written, text)


LONGEST_SHOWN = 60
"""So many letters of a long text are shown. Own convention."""


def shortened(text: str) -> str:
    """What was typed, as it is shown in a sentence."""
    return seen(text[:LONGEST_SHOWN] + "…" if len(text) > LONGEST_SHOWN + 20 else text, "")


def odd_line(text: str) -> Message | None:
    """What is wrong with a text of one line, which may not be blank; None where it is sound."""
    if hidden_in(text):
        return say("a text in one line, without signs that are not seen")
    if not text.strip():
        return say("a text that is not empty")
    if len(text) > MOST_LETTERS:
        return say("a text of at most {number} letters", number=MOST_LETTERS)
    return None


def odd_id(text: str) -> Message | None:
    """What is wrong with a text as the id of something; None where it is sound.

    What begins with `-` a command takes for an option, and the log what begins with `#` for a
    remark; blanks at the edges of a cell are not read.
    """
    if problem := odd_line(text):
        return problem
    if text != text.strip() or text.startswith(("-", "#")):
        return say("an id that begins with no - or # and has no blank at its edges")
    return None
