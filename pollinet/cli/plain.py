"""Output where the terminal or the file has letters of its own alone: what it lacks is rewritten.

No mark becomes another one: a `?` for what lacks a donor would say that it is open.
"""

from __future__ import annotations

import codecs
import re
import sys

from pollinet.letters import HIDDEN, seen

REWRITTEN = "pollinet.rewritten"
"""Name of the error handler, for streams."""

_SIGNS = {
    "●": "*",
    "◐": "~",
    "✕": "x",
    "–": "-",
    "—": "-",
    "─": "-",
    "−": "-",
    "→": "->",
    "…": "...",
    "°": "",
    "±": "+/-",
    "×": "x",
    "²": "2",
    "½": "1/2",
    "“": '"',
    "”": '"',
    "„": '"',
    "’": "'",
    "‘": "'",
    "ä": "ae",
    "ö": "oe",
    "ü": "ue",
    "Ä": "Ae",
    "Ö": "Oe",
    "Ü": "Ue",
    "ß": "ss",
    "\xa0": " ",
}
"""What is nearest in plain letters; letters with accents lose them, all others become `?`."""


def rewrite_output() -> None:
    """Let standard output and error rewrite what they cannot hold, instead of failing."""
    for stream in (sys.stdout, sys.stderr):
        # Closed, it is None; in tests it is something else.
        if hasattr(stream, "reconfigure"):
            stream.reconfigure(errors=REWRITTEN)


def _rewritten(problem: UnicodeError) -> tuple[str, int]:
    if not isinstance(problem, UnicodeEncodeError):
        raise problem
    lacking = problem.object[problem.start : problem.end]
    return "".join(map(plain, lacking)), problem.end


codecs.register_error(REWRITTEN, _rewritten)


def plain(letter: str) -> str:
    """A letter in ASCII."""
    import unicodedata

    if letter in _SIGNS:
        return _SIGNS[letter]
    bare = unicodedata.normalize("NFKD", letter).encode("ascii", "ignore").decode()
    return bare or "?"


def output_letters(text: str) -> str:
    """A text as standard output will hold it: columns are as wide as what stands in them.

    Signs that would steer the terminal are written out.
    """
    encoding = getattr(sys.stdout, "encoding", None) or "utf-8"
    return seen(text).encode(encoding, REWRITTEN).decode(encoding)


def print_json(text: str, end: str = "") -> None:
    r"""Print JSON; what the output cannot hold or would steer it as `\u…`, which reads the same."""
    text = HIDDEN.sub(_escaped, text)
    try:
        text.encode(getattr(sys.stdout, "encoding", None) or "utf-8")
    except UnicodeEncodeError:
        text = re.sub(r"[^\x00-\x7f]", _escaped, text)
    print(text, end=end)


def _escaped(letter: re.Match[str]) -> str:
    if letter[0] == "\n":
        return "\n"
    units = letter[0].encode("utf-16-be", "surrogatepass")
    return "".join(f"\\u{units[i]:02x}{units[i + 1]:02x}" for i in range(0, len(units), 2))
