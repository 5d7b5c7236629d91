"""Commands within sentences, which papers and pages set otherwise than words."""

from __future__ import annotations

import re

COMMAND = re.compile(
    r"`pollinet ([\w-]+)[^`]*`|"
    r"\bpollinet (\w+)(?: (?:[A-ZÄÖÜ]{2,}|all|start|--[\w=-]+|\d+/\d+))+"
)
"""A command as a sentence names it: between backticks, or with places for words of its own."""

CODE = re.compile(rf"{COMMAND.pattern}|`[^`]+`")
"""What a paper sets as code: commands, and other words between backticks."""


def with_code(text: str) -> list[tuple[str, bool]]:
    """The pieces of a sentence in their order, without backticks; whether each is code."""
    pieces, done = [], 0
    for found in CODE.finditer(text):
        pieces += [(text[done : found.start()], False), (found[0].strip("`"), True)]
        done = found.end()
    return [piece for piece in [*pieces, (text[done:], False)] if piece[0]]


def plain(text: str) -> str:
    """A sentence without backticks, where code cannot be told from words."""
    return "".join(piece for piece, _code in with_code(text))
