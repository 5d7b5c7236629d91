"""What an answer was made of, and whether what is asked again says the same."""

from __future__ import annotations

import json
from collections import Counter
from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass
from importlib.metadata import version
from typing import Annotated, Any, ClassVar

from pollinet import __version__
from pollinet.answers.base import About, Answer, MadeFrom, MadeOf, Told, Versions
from pollinet.catalogue_files import catalogue_digest
from pollinet.study import Study
from pollinet.wording.verify import verified_answer

COMMANDS = (
    "balance", "check", "chill", "collection", "cover", "diagnose", "donors", "fit", "graph",
    "lost-label", "pollinizer", "report", "scions", "season", "suits", "triploids",
    "weather", "without", "work",
)  # fmt: skip
"""Commands that answer a question about a plan, or a folder of plans, and change nothing."""

MOST_DIFFERENCES = 20
"""How many values that differ are told: own convention."""

LONGEST = 60
"""Letters of a value that are told: own convention."""


def made_of(study: Study, command: str, options: Sequence[str], plan: str) -> MadeOf | None:
    """What an answer about a study is made of; None where that was changed in memory.

    options : words of the command line beside the plan. plan : its file, as it was typed.
    """
    if not study.inputs:
        return None
    return MadeOf(
        command,
        tuple(options),
        plan,
        study.plan.aim.seed,
        tuple(MadeFrom(one.kind, one.file, one.sha256) for one in study.inputs),
        catalogue_digest(),
        Versions(str(__version__), version("numpy"), version("scipy")),
    )


# --- asked again -------------------------------------------------------------------------------


@dataclass(frozen=True)
class Difference:
    """Something that is not as it was."""

    what: Annotated[str, About("An input, a library, or the path of a value in the answer.")]
    then: Annotated[str, About("What it was; empty: it was not there.")]
    now: Annotated[str, About("What it is; empty: it is gone.")]


@dataclass(frozen=True, repr=False)
class Verified(Answer):
    """Whether an answer of before is given again, and what differs."""

    NAME: ClassVar[str] = "verify"
    ROWS: ClassVar[str] = "values"
    ROW: ClassVar[type] = Difference

    answer: Told
    same: Annotated[bool, About("Whether all inputs and all values are the same.")]
    asked: Annotated[str, About("The question, as a command line.")]
    inputs: Annotated[
        tuple[Difference, ...], About("Inputs with another SHA-256, and those that came or went.")
    ]
    versions: Annotated[
        tuple[Difference, ...], About("Other versions; these alone make no difference.")
    ]
    values: Annotated[
        tuple[Difference, ...], About("Values of the answer that differ, the first twenty.")
    ]
    differing_values: Annotated[int, About("How many values differ in all.", 0)]

    @property
    def exit_code(self) -> int:
        """0 where all is the same, 1 where something differs."""
        return 0 if self.same else 1


def verified(then: Mapping[str, Any], now: Mapping[str, Any], told: MadeOf, asked: str) -> Verified:
    """An answer of before against the one that is given now.

    then, now : both as plain data, the one of now with its `made_of`. told : what the one of
    before was made of. asked : the question, as a command line.
    """
    made = now["made_of"]
    inputs = tuple(_listed(_digests(plain_made(told)), _digests(made)))
    versions = tuple(_listed(vars(told.versions), made["versions"]))
    beside = {"made_of", "schema"}
    values = list(
        differences(
            {key: value for key, value in then.items() if key not in beside},
            {key: value for key, value in now.items() if key not in beside},
        )
    )
    same = not inputs and not values
    return Verified(
        verified_answer(len(inputs), len(values), len(versions)),
        same,
        asked,
        inputs,
        versions,
        tuple(values[:MOST_DIFFERENCES]),
        len(values),
    )


def plain_made(made: MadeOf) -> dict[str, Any]:
    """What an answer was made of, as plain data."""
    from pollinet.answers.base import plain

    told: dict[str, Any] = plain(made)
    return told


def _digests(made: Mapping[str, Any]) -> dict[str, str]:
    """Digest of each input by its name; what there is one of, such as the weather, by its kind,
    wherever it stands."""
    often = Counter(one["kind"] for one in made["inputs"])
    found = {
        one["kind"]
        if one["kind"] in ("plan", "log", "weather") and often[one["kind"]] == 1
        else one["file"]: one["sha256"]
        for one in made["inputs"]
    }
    return {**found, "catalogue": made["catalogue_sha256"], "seed": str(made["seed"])}


def _listed(then: Mapping[str, str], now: Mapping[str, str]) -> Iterator[Difference]:
    for name in dict.fromkeys([*then, *now]):
        if then.get(name) != now.get(name):
            yield Difference(name, then.get(name, ""), now.get(name, ""))


def differences(then: Any, now: Any, path: str = "") -> Iterator[Difference]:
    """Where two trees of plain data differ; parts with an id are compared by it."""
    if isinstance(then, Mapping) and isinstance(now, Mapping):
        for key in dict.fromkeys([*then, *now]):
            below = f"{path}.{key}" if path else str(key)
            if key not in then or key not in now:
                yield Difference(below, _short(then, key), _short(now, key))
            else:
                yield from differences(then[key], now[key], below)
    elif isinstance(then, list) and isinstance(now, list):
        for name, one, other in _paired(then, now):
            below = f"{path}[{name}]"
            if not one or not other:
                told = [_text(part[0]) if part else "" for part in (one, other)]
                yield Difference(below, *told)
            else:
                yield from differences(one[0], other[0], below)
    elif type(then) is not type(now) or then != now:
        yield Difference(path, _text(then), _text(now))


def _paired(then: list[Any], now: list[Any]) -> Iterator[tuple[str, list[Any], list[Any]]]:
    """Parts that belong together, each in a list of its own that is empty where there is none."""
    ids = [[one.get("id") if isinstance(one, Mapping) else None for one in x] for x in (then, now)]
    if all(isinstance(one, str) for one in [*ids[0], *ids[1]]) and all(
        len(set(one)) == len(one) for one in ids
    ):
        parts = [
            dict(zip(names, x, strict=True)) for names, x in zip(ids, (then, now), strict=True)
        ]
        order = [one for one in ids[1] if one in parts[0]]
        if order == [one for one in ids[0] if one in parts[1]]:
            for name in dict.fromkeys([*ids[0], *ids[1]]):
                one, other = ([part[name]] if name in part else [] for part in parts)
                yield str(name), one, other
            return
    for i in range(max(len(then), len(now))):
        yield str(i), then[i : i + 1], now[i : i + 1]


def _short(tree: Mapping[str, Any], key: str) -> str:
    return _text(tree[key]) if key in tree else ""


def _text(value: Any) -> str:
    text = json.dumps(value, ensure_ascii=False)
    return text if len(text) <= LONGEST else f"{text[: LONGEST - 1]}…"
