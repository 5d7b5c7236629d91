"""The form for notes, on the page and in the file for the telephone: its parts, and its rows."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, replace
from itertools import groupby
from typing import Any

from pollinet.domain import Plan, Tree
from pollinet.findings import Finding
from pollinet.language import _
from pollinet.messages import say
from pollinet.readers.observations import WHOLE_GARDEN, Kind, kinds, observation
from pollinet.readers.records import COLUMNS
from pollinet.study import Study
from pollinet.summary.limbs import name_beside
from pollinet.wording.notes import KINDS, STAGE_BUTTONS, UNITS, VALUES

FIRST = ("frost", "clusters", "fruits")
"""Kinds that stand open in the form; the others fold. Own convention."""

OF_THE_GARDEN = ("frost",)
"""Kinds that the form notes of the whole garden, whatever limb is chosen."""


@dataclass(frozen=True)
class Field:
    """One thing that can be filled in.

    name : in words; label : the same with what is expected. form : as in `Kind`. garden : whether
    it is of the whole garden. choices : words with what they say.
    """

    kind: str
    name: str
    label: str
    form: str
    garden: bool
    choices: tuple[tuple[str, str], ...] = ()


@dataclass(frozen=True)
class Tiles:
    """What stands together: a tree with its limbs, or the neighbours; ids with their varieties."""

    name: str
    limbs: tuple[tuple[str, str], ...]


def noting(study: Study, day: str) -> dict[str, Any]:
    """What the form needs of a garden. day : that it begins with, as text."""
    rest = [kind for kind in kinds() if kind not in (*FIRST, "stage")]
    return {
        "garden": study.plan.site.name,
        "day": day,
        "tiles": tiles_of(study.plan),
        "stages": [(word, _(said)) for word, said in STAGE_BUTTONS.items()],
        "first_fields": [_field(kinds()[kind]) for kind in FIRST],
        "more_fields": [_field(kinds()[kind]) for kind in rest],
    }


def tiles_of(plan: Plan) -> tuple[Tiles, ...]:
    """Limbs tree by tree, then what stands next door.

    Neighbouring trees of one fruit with a limb each stand together: one under the other they would
    be a long way to scroll.
    """
    found: list[Tiles] = []
    for (fruit, alone), several in groupby(
        plan.trees, lambda tree: (tree.species, len(tree.limbs) == 1)
    ):
        trees = list(several)
        if alone and len(trees) > 1:
            found.append(Tiles(_(fruit), tuple(one for tree in trees for one in _names(tree))))
        else:
            found += [Tiles(tree.id, _names(tree)) for tree in trees]
    next_door = tuple(
        (tree.id, tree.variety.name if tree.known else _("unknown")) for tree in plan.neighbours
    )
    return tuple(one for one in (*found, Tiles(_("next door"), next_door)) if one.limbs)


def _names(tree: Tree) -> tuple[tuple[str, str], ...]:
    return tuple((limb.id, name_beside(limb.variety.name, [limb.id])) for limb in tree.limbs)


def _field(kind: Kind) -> Field:
    label, unit = _(KINDS[kind.name]), _(UNITS[kind.unit]) if kind.unit in UNITS else ""
    if kind.form == "share":
        hint = _("such as 14/20")
    elif kind.name == "frost":
        hint = _("lowest in °C, such as -1.5")
    else:
        hint = unit
    if kind.form == "word":
        words = tuple((word, _(VALUES.get(word, KINDS[kind.name]))) for word in kind.allowed)
        return Field(kind.name, label, label, kind.form, False, words)
    text = _("{label} ({hint})").format(label=label, hint=hint) if hint else label
    return Field(kind.name, label, text, kind.form, kind.name in OF_THE_GARDEN)


def rows_of_form(
    values: Mapping[str, str],
) -> tuple[list[dict[str, str]], tuple[Finding, ...]]:
    """Rows of the log for all that is filled in, and for the stage whose button was pressed."""
    seen = [("stage", values["seen"])] if values.get("seen") else []
    seen += [(kind, values[kind].strip()) for kind in kinds() if values.get(kind, "").strip()]
    limb, words = values.get("limb", ""), values.get("note", "").strip()
    if not seen:
        message, cure = say("what was seen is missing"), say("press or fill in what you saw")
        return [], (Finding("error", "nothing-seen", message, cure=cure),)
    if not limb and any(kind not in OF_THE_GARDEN for kind, _value in seen):
        message, cure = say("the limb is missing"), say("choose the limb that you looked at")
        return [], (Finding("error", "no-limb", message, cure=cure),)
    rows = []
    for kind, value in seen:
        place = WHOLE_GARDEN if kind in OF_THE_GARDEN else limb
        cells = (values.get("day", ""), place, kind, value, "", words)
        rows.append(dict(zip(COLUMNS, cells, strict=True)))
    return rows, ()


def wrong_rows(rows: Sequence[Mapping[str, str]], plan: Plan) -> tuple[Finding, ...]:
    """What is wrong with rows, each by the name of the field that it was typed into."""
    found = [(row["kind"], observation(row, plan)[1]) for row in rows]
    return tuple(
        replace(problem, place=_(KINDS[kind]) if problem.place == "value" else "")
        for kind, problem in found
        if problem is not None
    )
