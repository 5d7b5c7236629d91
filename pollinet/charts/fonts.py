"""Letters that the house font lacks: drawn in any installed font that has them, or named.

The house font ships with matplotlib, so a drawing looks the same everywhere; it has the Latin,
Greek, Cyrillic, Hebrew and Arabic letters. Fonts for other scripts are too large to ship.
"""

from __future__ import annotations

import logging
import re
import unicodedata
from collections.abc import Iterable, Iterator, Mapping
from contextlib import contextmanager
from dataclasses import dataclass
from functools import cache
from pathlib import Path
from typing import TYPE_CHECKING

from pollinet.findings import Finding
from pollinet.messages import listing, say, say_number

if TYPE_CHECKING:
    from matplotlib.figure import Figure

HOUSE = "DejaVu Sans"

CODE = "DejaVu Sans Mono"
"""For commands on paper; ships with matplotlib, too."""

NOT_DRAWN = ("Cc", "Cf", "Cs", "Zl", "Zp", "Zs")
"""Categories of the Unicode Character Database that leave nothing on paper."""

NO_LETTER = 0xFDD0
"""A code that Unicode never gives to a letter; a font that has it draws boxes for anything."""

USUAL = 400
"""Weight of running text (OpenType, usWeightClass)."""

MOST_NAMED = 12
"""Letters named in a finding."""


@dataclass(frozen=True)
class Font:
    """A font file and the name that matplotlib knows it by."""

    name: str
    file: Path


@dataclass(frozen=True)
class Lent:
    """What stands in for the house font. missing : letters that no installed font has, sorted."""

    fonts: tuple[Font, ...]
    missing: str


def lent_for(text: Iterable[str]) -> Lent:
    """Fonts for the letters of a text that the house font lacks: few of them, in a fixed order."""
    return _lent("".join(sorted(set("".join(text)))))


@cache
def _lent(letters: str) -> Lent:
    wanted = {x for x in letters if unicodedata.category(x) not in NOT_DRAWN}
    fonts = _installed()
    wanted -= _letters(fonts[HOUSE].file) if HOUSE in fonts else set()
    chosen: list[Font] = []
    while wanted:
        # The font with most of the letters; among equals the first by its name.
        best = max(sorted(fonts), key=lambda name: len(wanted & _letters(fonts[name].file)))
        found = wanted & _letters(fonts[best].file)
        if not found:
            break
        chosen.append(fonts[best])
        wanted -= found
    return Lent(tuple(chosen), "".join(sorted(wanted)))


def _installed() -> Mapping[str, Font]:
    """Upright fonts by their names, of each the weight nearest to the usual one."""
    from matplotlib.font_manager import fontManager, weight_dict

    def heaviness(weight: int | str) -> int:
        known = weight_dict.get(weight, USUAL) if isinstance(weight, str) else weight
        return abs(known - USUAL)

    found: dict[str, Font] = {}
    for entry in sorted(fontManager.ttflist, key=lambda x: (heaviness(x.weight), x.fname)):
        # The second and later faces of a collection cannot be asked for in a PDF.
        if entry.style == "normal" and not getattr(entry, "index", 0):
            found.setdefault(entry.name, Font(entry.name, Path(entry.fname)))
    return found


@cache
def _letters(file: Path) -> frozenset[str]:
    """The letters that a font has; none where it cannot be read, or draws boxes for anything."""
    from matplotlib.font_manager import get_font

    try:
        codes = get_font(str(file)).get_charmap()
    except (OSError, RuntimeError):
        return frozenset()
    return frozenset() if NO_LETTER in codes else frozenset(map(chr, codes))


def lend_fonts(figure: Figure) -> None:
    """Give every text of a figure the fonts that its letters need."""
    from matplotlib.text import Text

    # That a font has no usual or no bold weight is no news to a grower.
    logging.getLogger("matplotlib.font_manager").setLevel(logging.ERROR)
    for text in figure.findobj(Text):
        assert isinstance(text, Text)
        lent = lent_for(text.get_text())
        if lent.fonts:
            text.set_fontfamily([HOUSE, *(font.name for font in lent.fonts)])


@contextmanager
def codes_for_missing(figure: Figure) -> Iterator[None]:
    """Show letters that no installed font has by their codes, not as boxes, for a while."""
    from matplotlib.text import Text

    changed = []
    for text in figure.findobj(Text):
        assert isinstance(text, Text)
        words = text.get_text()
        if missing := lent_for(words).missing:
            changed.append((text, words))
            text.set_text(spelled(words, missing))
    try:
        yield
    finally:
        for text, words in changed:
            text.set_text(words)


def spelled(words: str, missing: str) -> str:
    """Words with runs of these letters as codes: `[U+5BCC U+58EB]`."""
    letters = f"[{re.escape(missing)}]+"

    def codes(run: re.Match[str]) -> str:
        return f"[{' '.join(f'U+{ord(letter):04X}' for letter in run.group())}]"

    return re.sub(letters, codes, words)


def words_in(figure: Figure) -> str:
    """All text of a figure."""
    from matplotlib.text import Text

    return "".join(text.get_text() for text in figure.findobj(Text) if isinstance(text, Text))


def missing_letters(text: Iterable[str], file: str, instead: str = "") -> tuple[Finding, ...]:
    """A warning that a file shows boxes in place of letters that no installed font has.

    instead : suffix of a kind of file that is shown in its reader's own fonts.
    """
    letters = lent_for(text).missing
    if not letters:
        return ()
    named = [f"{letter} (U+{ord(letter):04X})" for letter in letters[:MOST_NAMED]]
    if len(letters) > MOST_NAMED:
        named.append("…")
    message = say_number(
        "no font on this computer has the letter {letters}: its code or a box stands for it",
        "no font on this computer has the letters {letters}: codes or boxes stand for them",
        len(letters),
        letters=listing(named),
    )
    cure = say("install a font for that script and write the file again")
    if instead:
        cure = say("{install}, or write {suffix}", install=cure, suffix=instead)
    return (Finding("warning", "missing-letters", message, file, cure=cure),)
