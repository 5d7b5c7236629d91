"""`pollinet balance`: are the limbs of a tree in balance, and does it look even in spring."""

from __future__ import annotations

from dataclasses import asdict
from pathlib import Path
from typing import Any

import click

from pollinet.advice.balance import LimbBalance
from pollinet.cli.common import (
    findings_data,
    json_option,
    new_table,
    opened,
    plan_argument,
    print_json,
    print_lines,
    print_table,
)
from pollinet.summary.advice import TreeLook, garden_balance, garden_looks
from pollinet.wording.look import lag_text, look_lines, looks_answer
from pollinet.wording.sentences import count, joined

FLAGS = {
    "summer-prune": "strong: shorten in summer",
    "crowded-out": "weak: give it light",
    "alternates": "bears every second year",
}

NAMED = 12
"""Limbs that are named in a note."""


@click.command(
    epilog="Example: pollinet balance plan.toml. It lives on notes: pollinet record plan.toml "
    "A-top --diameter 31 --shoots 45. Exit codes: 0 an answer, 2 bad input."
)
@plan_argument
@json_option
def balance(plan: Path, as_json: bool) -> int:
    """Say which limbs grow away from the others, and how even the tree looks in spring.

    Also how many fruits each limb can carry.
    """
    study = opened(plan, as_json=as_json)
    found, looks = garden_balance(study), garden_looks(study)
    if as_json:
        print_json({"answer": balance_answer(found),
                    "trees": {tree: [_data(limb) for limb in limbs]
                              for tree, limbs in found.items()},
                    "looks": {tree: asdict(look) for tree, look in looks.items()},
                    "findings": findings_data(study.findings)}, schema="balance")  # fmt: skip
        return 0
    print_lines([balance_answer(found), *filter(None, [looks_answer(looks)]), ""])
    table = new_table(
        ("Limb", {}), ("Variety", {}), ("Vigour", {}), ("Grafted", {}),
        ("Part of the wood", {"justify": "right"}), ("Fruits to leave", {"justify": "right"}),
        ("Full bloom", {"justify": "right"}), ("What to do", {"ratio": 1}),
    )  # fmt: skip
    for tree, limbs in found.items():
        for limb in limbs:
            table.add_row(*_cells(limb, looks.get(tree)))
    print_table(table)
    print_lines(["", *look_lines(looks), "", *_notes(found)])
    return 0


def balance_answer(found: dict[str, tuple[LimbBalance, ...]]) -> str:
    """The answer in one sentence."""
    limbs = [limb for tree in found.values() for limb in tree]
    flagged = [limb.limb for limb in limbs if limb.flags]
    measured = sum(limb.area_mm2 is not None or limb.shoots_cm is not None for limb in limbs)
    if not measured:
        return "No limb is measured yet, so balance cannot be judged."
    judged = f"{measured} of {count(len(limbs), 'limb')} measured"
    if flagged:
        return f"To look at: {joined(flagged)} ({judged})."
    if measured < len(limbs):
        return f"Nothing stands out yet, but balance cannot be judged: {judged}."
    return f"In balance: all {count(len(limbs), 'limb')} measured."


def _cells(limb: LimbBalance, look: TreeLook | None) -> tuple[str, ...]:
    share = "" if limb.share is None else f"{limb.share * 100:.0f} %"
    fruits = "" if limb.fruits is None else f"{limb.fruits[0]}–{limb.fruits[1]}"
    grafted = "" if limb.grafted is None else str(limb.grafted)
    return (
        limb.limb, limb.variety.name, limb.vigour or "not known", grafted, share, fruits,
        lag_text(look, limb.limb), "; ".join(FLAGS[flag] for flag in limb.flags),
    )  # fmt: skip


def _notes(found: dict[str, tuple[LimbBalance, ...]]) -> list[str]:
    limbs = [limb for tree in found.values() for limb in tree]
    bare = [limb.limb for limb in limbs if limb.area_mm2 is None]
    notes = []
    if bare:
        more = f" and {len(bare) - NAMED} more" if len(bare) > NAMED else ""
        notes.append(f"Thickness not noted of {', '.join(bare[:NAMED])}{more}: pollinet record "
                     "PLAN LIMB --diameter MM, a hand's breadth from the trunk.")  # fmt: skip
    notes.append("Part of the wood: cross-section against that of all limbs of the tree. Fruits to "
                 "leave: 4 to 6 per cm² of cross-section, known for apple only. Full "
                 "bloom: days after (+) or before (−) the middle of the tree.")  # fmt: skip
    notes.append("Strong limbs: cut in summer, no more than a fifth of the crown a year; a "
                 "three-legged ladder on soil, sure footing before the saw.")  # fmt: skip
    return notes


def _data(limb: LimbBalance) -> dict[str, Any]:
    return {**asdict(limb), "variety": limb.variety.name}
