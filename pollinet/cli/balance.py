"""`pollinet balance`: are the limbs of a tree in balance, and does it look even in spring."""

from __future__ import annotations

from collections.abc import Mapping
from pathlib import Path

import click

from pollinet.answers.balance import Balance, BalancedLimb, balance_of
from pollinet.cli.common import (
    csv_option,
    give,
    json_option,
    new_table,
    opened,
    plan_argument,
    print_lines,
    print_table,
)
from pollinet.summary.advice import TreeLook, garden_looks
from pollinet.wording.look import FLAGS, lag_text, look_lines, looks_answer

NAMED = 12
"""Limbs that are named in a note."""


@click.command(
    epilog="Example: pollinet balance plan.toml. It lives on notes: pollinet record plan.toml "
    "A-top --diameter 31 --shoots 45. Exit codes: 0 an answer, 2 bad input."
)
@plan_argument
@json_option
@csv_option
def balance(plan: Path, as_json: bool, csv: Path | None) -> int:
    """Say which limbs grow away from the others, and how even the tree looks in spring.

    Also how many fruits each limb can carry.
    """
    study = opened(plan, as_json=as_json)
    looks = garden_looks(study)
    answer = balance_of(study, looks)
    return give(answer, lambda: show_balance(answer, looks), as_json=as_json, csv=csv)


def show_balance(answer: Balance, looks: Mapping[str, TreeLook]) -> None:
    """Print the answer, one row a limb, and how the trees look."""
    print_lines([answer.answer, *filter(None, [looks_answer(looks)]), ""])
    table = new_table(
        ("Limb", {}), ("Variety", {}), ("Vigour", {}), ("Grafted", {}),
        ("Part of the wood", {"justify": "right"}), ("Fruits to leave", {"justify": "right"}),
        ("Full bloom", {"justify": "right"}), ("What to do", {"ratio": 1}),
    )  # fmt: skip
    for tree, limbs in answer.trees.items():
        for limb in limbs:
            table.add_row(*_cells(limb, answer.lag_days(tree, limb.limb)))
    print_table(table)
    print_lines(["", *look_lines(looks), "", *_notes(answer)])


def _cells(limb: BalancedLimb, lag_days: float | None) -> tuple[str, ...]:
    share = "" if limb.share is None else f"{limb.share * 100:.0f} %"
    fruits = "" if limb.fruits is None else f"{limb.fruits[0]}–{limb.fruits[1]}"
    grafted = "" if limb.grafted is None else str(limb.grafted)
    return (
        limb.limb, limb.variety, limb.vigour or "not known", grafted, share, fruits,
        lag_text(lag_days), "; ".join(FLAGS[flag] for flag in limb.flags),
    )  # fmt: skip


def _notes(answer: Balance) -> list[str]:
    limbs = [limb for tree in answer.trees.values() for limb in tree]
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
