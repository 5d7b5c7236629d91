"""What the odd cases have in common: a sound garden, a case, and what each answer must keep to.

A case is a sound garden with one thing made odd, a command, and what must come of it. The sound
garden is answered without a word, so whatever is told is told of what is odd.
"""

from __future__ import annotations

import contextlib
import io
import json
import random
import shutil
import signal
import unicodedata
import zlib
from collections.abc import Callable, Iterable, Iterator, Mapping, Sequence
from dataclasses import dataclass, field, replace
from pathlib import Path
from typing import Any, Literal

import pytest

from pollinet.cli import main

Expect = Literal["refused", "told", "same", "any"]
"""refused : exit 2, and each error names the file, the place, what is wrong and the cure.
told : refused, or answered with a finding on it, so that nobody is left to think that it was meant.
same : what it says is plain; answered as the sound garden is.
any : damage whose sense a rule cannot tell; answered or refused, but never by a fault.
"""

LONGEST_S = 20
"""A case that works for longer counts as hung. The longest takes some two. [s of the processor]"""

LONGEST_WAIT_S = 120
"""A case that waits for longer, for a pipe or a lock, counts as hung, too. [s]"""

NAMES = ("PLAN", "LOG", "WEATHER", "FOLDER", "FILLED", "OUT")
"""Words of a command line that stand for files of the garden."""

PLACES = {
    "PLAN": "plan.toml",
    "LOG": "records.csv",
    "WEATHER": "weather.csv",
    "FOLDER": "catalogues",
    "FILLED": "filled.csv",
    "OUT": "out",
}


@dataclass(frozen=True)
class Case:
    """One thing odd.

    kind : what sort of oddity. files : what stands in the folder in place of the sound garden's.
    words : a command line; `PLAN` and the like stand for files. at : the file that must be named
    where it is refused; empty: it is on the command line. named : what must be named, too.
    kept : files that must be as they were. base : files of the sound garden that is compared with,
    where it has others than the usual. slow : tried in the long run alone.
    """

    kind: str
    name: str
    expect: Expect
    words: tuple[str, ...]
    files: Mapping[str, bytes | None] = field(default_factory=dict)
    at: str = ""
    named: str = ""
    kept: tuple[str, ...] = ("records.csv", "plan.toml")
    base: Mapping[str, bytes | None] = field(default_factory=dict)
    slow: bool = False

    @property
    def id(self) -> str:
        """How the test is called."""
        plain = f"{self.kind}-{self.name}".encode("ascii", "backslashreplace").decode()
        return "".join(x if x.isalnum() or x in "-_.+" else "_" for x in plain)[:90]


@dataclass(frozen=True)
class Ran:
    """What a command answered."""

    code: int
    out: str
    err: str


class Hung(BaseException):
    """A command took too long. No `Exception`, which the program would take for its own."""


@contextlib.contextmanager
def bounded() -> Iterator[None]:
    """Stop what takes longer."""

    def stop(*_: Any) -> None:
        raise Hung

    clocks = {
        signal.SIGPROF: (signal.ITIMER_PROF, LONGEST_S),
        signal.SIGALRM: (signal.ITIMER_REAL, LONGEST_WAIT_S),
    }
    before = {ring: signal.signal(ring, stop) for ring in clocks}
    for timer, seconds in clocks.values():
        signal.setitimer(timer, seconds)
    try:
        yield
    finally:
        for timer, _seconds in clocks.values():
            signal.setitimer(timer, 0)
        for ring, handler in before.items():
            signal.signal(ring, handler)


def laid_out(files: Mapping[str, bytes | None], folder: Path) -> None:
    """Write a garden into a folder, and nothing else: the sound one but for these files."""
    shutil.rmtree(folder, ignore_errors=True)
    for name, content in {**SOUND, **files}.items():
        if content is not None:
            path = folder / name
            path.parent.mkdir(parents=True, exist_ok=True)
            path.write_bytes(content)


def ran(words: Sequence[str], folder: Path) -> Ran:
    """Run a command line on the garden in a folder."""
    line = [str(folder / PLACES[word]) if word in PLACES else word for word in words]
    out, err = io.StringIO(), io.StringIO()
    # Names of files without a folder are taken from where the command runs.
    with (
        contextlib.chdir(folder),
        contextlib.redirect_stdout(out),
        contextlib.redirect_stderr(err),
        bounded(),
    ):
        code = main(line)
    return Ran(code, out.getvalue(), err.getvalue())


class Sound:
    """How the sound garden is answered; each command is asked once."""

    def __init__(self) -> None:
        self.known: dict[object, Ran] = {}

    def __call__(self, case: Case, folder: Path) -> Ran:
        """The answer to the command of a case."""
        key = (case.words, tuple(case.base.items()))
        if key not in self.known:
            laid_out(case.base, folder)
            self.known[key] = ran(case.words, folder)
        return self.known[key]


def findings_of(answer: Ran) -> list[dict[str, Any]]:
    """The findings in an answer that was asked for as JSON."""
    told = json.loads(answer.out)
    # Not every answer has findings; what is refused has nothing else.
    found: list[dict[str, Any]] = told["findings"] if isinstance(told, dict) else []
    return found


def faults(case: Case, folder: Path, sound: Sound) -> list[str]:
    """What is not as it must be in how a case is answered; empty where all is well."""
    plain = sound(case, folder) if case.expect in ("told", "same") else None
    laid_out(case.files, folder)
    before = {name: _bytes(folder / name) for name in case.kept}
    try:
        answer = ran(case.words, folder)
    except Hung:
        return ["hung"]
    wrong = []
    if answer.code not in (0, 1, 2):
        wrong.append(f"exit code {answer.code}: {answer.err[-300:]}")
        return wrong
    if "Traceback" in answer.err:
        wrong.append("traceback")
    if steering := [x for x in answer.out + answer.err if steers(x)]:
        wrong.append(f"signs that steer a terminal: {steering[:3]!r}")
    if case.expect == "refused" and answer.code != 2:
        wrong.append(f"accepted: exit code {answer.code}")
    if case.expect == "same" and plain is not None and _said(answer) != _said(plain):
        wrong.append(f"not answered as if it were plain: {answer.code} {answer.err[:300]}")
    if answer.code == 2:
        wrong += _unclear(case, answer)
        if "--json" in case.words:
            wrong += _unclear_in_words(case, folder)
        changed = [name for name, old in before.items() if _bytes(folder / name) != old]
        wrong += [f"written in spite of it: {name}" for name in changed]
    elif plain is not None and case.expect == "told" and not _told(case, answer, plain):
        wrong.append(f"accepted in silence: exit code {answer.code}")
    return wrong


def _unclear_in_words(case: Case, folder: Path) -> list[str]:
    """What is wrong with the same refusal told in words."""
    laid_out(case.files, folder)
    answer = ran([word for word in case.words if word != "--json"], folder)
    wrong = [f"exit code {answer.code} in words"] * (answer.code != 2)
    wrong += ["told without end"] * (len(answer.err) > 20_000)
    return wrong + ["steers in words"] * any(map(steers, answer.out + answer.err))


_TURNS = ("LRE", "RLE", "LRO", "RLO", "PDF", "LRI", "RLI", "FSI", "PDI")


def steers(letter: str) -> bool:
    """Whether a letter steers a terminal, turns the writing round or is not seen; as the Unicode
    database of the standard library tells its category and its direction."""
    if letter in "\n\t":
        return False
    odd = unicodedata.category(letter) in ("Cc", "Cs", "Co", "Cn", "Zl", "Zp")
    return odd or unicodedata.bidirectional(letter) in _TURNS or letter in "\u200b\ufeff"


def _bytes(path: Path) -> bytes:
    return path.read_bytes() if path.is_file() else b""


def _said(answer: Ran) -> Ran:
    """An answer without the digests of the bytes that it was made of."""
    if not answer.out.startswith("{"):
        return answer
    told = json.loads(answer.out)
    told.pop("made_of", None)
    return replace(answer, out=json.dumps(told))


def _told(case: Case, answer: Ran, plain: Ran) -> bool:
    """Whether an answer tells of what is odd: a warning that the sound garden has not, or a note
    that names it."""
    if "--json" in case.words:
        known = [one["message"] for one in findings_of(plain)] if plain.code != 2 else []
        return "warning: " in answer.err or any(
            one["severity"] == "warning" or bool(case.named and case.named in str(one))
            for one in findings_of(answer)
            if one["message"] not in known
        )
    known = plain.err.split("\n")
    new = "\n".join(line for line in answer.err.split("\n") if line not in known)
    return "warning: " in new or bool(case.named and case.named in answer.err)


_WHOLE = (
    "missing-file",
    "wrong-encoding",
    "service-refused",
    "missing-folder",
    "unread-table",
    "unreadable-file",
    "broken-toml",
    "empty-weather",
    "empty-table",
    "unknown-weather-format",
    "missing-key",
    "no-tree",
    "broken-file",
    "wrong-unit",
    "tmin-above-tmax",
    "wrong-hemisphere",
    "missing-column",
    "several-stations",
    "nothing-seen",
    "no-complete-winter",
    "missing-weather",
    "no-bloom",
)
"""Findings on a file as a whole, or on a whole record."""


def _unclear(case: Case, answer: Ran) -> list[str]:
    """What a refusal does not tell: the file, the place in it, what is wrong, the cure."""
    if "--json" not in case.words or not answer.out:
        told = " ".join(answer.err.split())
        lacks = [word for word in (case.at, case.named) if word and word not in told]
        return [f"not named: {lacks} in {told[:300]}"] * bool(lacks) + ["no word"] * (not told)
    errors = [one for one in findings_of(answer) if one["severity"] == "error"]
    wrong = [] if errors else ["exit code 2 without an error"]
    for one in errors:
        if not one["message"]:
            wrong.append("no message")
        if not one["file"] and not one["place"]:
            wrong.append(f"no place: {one['message']}")
        if one["file"] and one["line"] is None and not one["place"] and one["code"] not in _WHOLE:
            wrong.append(f"no place in the file: {one['code']} {one['message']}")
        if not one["cure"] and "allowed" not in one["message"]:
            wrong.append(f"no cure: {one['code']} {one['message'][:200]}")
    told = json.dumps(errors, ensure_ascii=False)
    for word in filter(None, (case.at, case.named)):
        if word not in told:
            wrong.append(f"not named: {word} in {told[:400]}")
    return wrong


# --- which are tried, and when -----------------------------------------------------------------

ALWAYS = (
    *("doubt", "place", "normals", "bloom", "year", "metres", "id", "depth", "many", "sheet"),
    *("JSON", "heading", "date", "document", "path", "row", "synonym", "folder", "pairs", "line"),
    *("name", "header"),
)
"""Kinds of which every case is tried on every run: few, and not like one another."""


def tried(cases: Iterable[Case], one_of: int) -> tuple[list[Case], list[Case]]:
    """The cases of every run, and those of the long one; drawn by their names, the same each time.

    one_of : of so many cases of a kind with many, one is tried on every run.
    """
    often: list[Case] = []
    seldom: list[Case] = []
    for case in cases:
        drawn = zlib.crc32(case.id.encode()) % one_of == 0
        (often if drawn or (case.kind in ALWAYS and not case.slow) else seldom).append(case)
    return often, seldom


def all_faults(cases: Iterable[Case], folder: Path) -> list[str]:
    """What is not as it must be in any of the cases, by their names."""
    sound = Sound()
    wrong = ((case, faults(case, folder / "garden", sound)) for case in cases)
    return [f"{case.id}: {'; '.join(told)}" for case, told in wrong if told]


def trials(
    cases: Callable[[], list[Case]], one_of: int, least: int
) -> tuple[Callable[[Path], None], Callable[[Path], None]]:
    """The test of every run and the long one of all other cases; one_of : see `tried`.

    least : so many cases are tried on every run at least. The tests stand in files of their own,
    as these are what is shared out to processes.
    """

    def often(tmp_path: Path) -> None:
        chosen, _ = tried(cases(), one_of)
        assert len(chosen) >= least, len(chosen)
        _without_fault(chosen, tmp_path)

    @pytest.mark.long
    def seldom(tmp_path: Path) -> None:
        _without_fault(tried(cases(), one_of)[1], tmp_path)

    return often, seldom


def _without_fault(cases: Iterable[Case], folder: Path) -> None:
    told = all_faults(cases, folder)
    assert told == [], "\n".join(told)


# --- how a file is made odd --------------------------------------------------------------------


def as_bytes(content: str | bytes) -> bytes:
    """A file's content; halves of letters, too, which no text should hold."""
    return content.encode("utf-8", "surrogatepass") if isinstance(content, str) else content


def flipped(sound: bytes, times: int, signs: bytes, chance: random.Random) -> bytes:
    """A file with bytes of it changed into some of these."""
    broken = bytearray(sound)
    for _ in range(times):
        broken[chance.randrange(len(broken))] = chance.choice(signs)
    return bytes(broken)


# --- the sound garden --------------------------------------------------------------------------


class Raw(str):
    """TOML as it stands, for what no value of Python would be written as."""


def toml_value(value: Any) -> str:
    """A value in TOML."""
    if isinstance(value, Raw):
        return value
    if isinstance(value, bool):
        return "true" if value else "false"
    if isinstance(value, str):
        return '"' + "".join(map(_letter, value)) + '"'
    if isinstance(value, list):
        return "[" + ", ".join(map(toml_value, value)) + "]"
    if isinstance(value, dict):
        return "{" + ", ".join(f"{key} = {toml_value(one)}" for key, one in value.items()) + "}"
    return repr(value)


def _letter(letter: str) -> str:
    if letter in '"\\':
        return f"\\{letter}"
    return f"\\u{ord(letter):04x}" if ord(letter) < 32 or 127 <= ord(letter) < 160 else letter


def toml_text(plan: Mapping[str, Any]) -> str:
    """A plan as text: tables, lists of tables, and the limbs and normals within."""
    lines: list[str] = []

    def table(head: str, values: Mapping[str, Any]) -> None:
        lines.append(head)
        inner = {k: v for k, v in values.items() if k in ("limb", "normals") and not _plain(v)}
        lines.extend(f"{k} = {toml_value(v)}" for k, v in values.items() if k not in inner)
        for key, value in inner.items():
            if isinstance(value, dict):
                table(f"[site.{key}]", value)
            else:
                for one in value:
                    table(f"[[tree.{key}]]", one)

    tops = {k: v for k, v in plan.items() if _plain(v)}
    lines.extend(f"{key} = {toml_value(value)}" for key, value in tops.items())
    for key, value in plan.items():
        if key in tops:
            continue
        if isinstance(value, dict):
            table(f"[{key}]", value)
        else:
            for one in value:
                table(f"[[{key}]]", one)
    return "\n".join(lines) + "\n"


def _plain(value: Any) -> bool:
    """Whether a value stands in a line of its own, and not as a table or a list of tables."""
    if isinstance(value, dict):
        return "a" in value
    return not isinstance(value, list) or not value or not isinstance(value[0], dict)


def sound_plan() -> dict[str, Any]:
    """A plan with every key that a plan may have, but the weather; each value is sound."""
    cherry = "sweet cherry"
    return {
        "site": {
            "name": "a slope",
            "latitude": 46.4,
            "longitude": 7.2,
            "elevation_m": 420.0,
            "lost_neighbours": ["felled"],
        },
        "aim": {
            "level": 0.8,
            "min_overlap_days": 3.0,
            "half_counts": True,
            "donors": 1,
            "near_m": 20.0,
            "far_m": 60.0,
            "draws": 8,
            "seed": 7,
            "off_years": False,
        },
        "tree": [
            {
                "id": "cherry",
                "species": cherry,
                "spare_limbs": 2,
                "position_m": [0.0, 0.0],
                "lost_limbs": ["broken"],
                "limb": [
                    {
                        "id": "low",
                        "variety": "Van",
                        "grafted": 2015,
                        "crops": True,
                        "biennial": False,
                        "former_ids": ["lowest"],
                    },
                    {"id": "top", "variety": "Kordia"},
                ],
            }
        ],
        "neighbour": [
            {
                "species": cherry,
                "variety": "Regina",
                "distance_m": 30.0,
                "id": "fence",
                "may_be_felled": False,
                "biennial": False,
                "former_ids": ["hedge"],
            }
        ],
        "scion": [
            {
                "species": cherry,
                "variety": "Stella",
                "blocked": "not free",
                "crops": True,
                "biennial": False,
                "cost": 1.0,
                "source": "a friend",
                "rights": "nobody's",
            }
        ],
        "variety": [
            {
                "species": cherry,
                "name": "Van",
                "s_genotype": "S1S3",
                "ploidy": 2,
                "self_fertile": False,
                "pollen_ok": True,
                "bloom": ["04-10", "04-20"],
                "bloom_sd_days": 3.0,
                "chill_portions": 60.0,
            },
            {"species": cherry, "name": "Kordia", "bloom_days": [102, 112]},
            {"species": cherry, "name": "Regina", "bloom": ["04-14", "04-24"]},
            {"species": cherry, "name": "Stella", "bloom": ["04-08", "04-18"]},
            {
                "species": cherry,
                "name": "Our sport",
                "clone_of": "Van",
                "bloom": ["04-11", "04-21"],
            },
        ],
    }


SOUND_LOG = """\
date,limb,kind,value,unit,note
2024-04-09,low,stage,start,,
2024-04-14,low,stage,full,,the south side first
2024-04-21,low,stage,end,,
2024-06-10,low,set,14/20,,
2024-07-12,low,fruits,214,,
2024-04-12,all,frost,-1.5,,
"""

SOUND: Mapping[str, bytes] = {
    "plan.toml": toml_text(sound_plan()).encode(),
    "records.csv": SOUND_LOG.encode(),
}
