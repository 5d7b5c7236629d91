"""`pollinet balance`: are the limbs of a tree in balance, and does it look even in spring."""

from __future__ import annotations

from collections.abc import Mapping
from datetime import date
from pathlib import Path

import click

from pollinet.advice.balance import LimbBalance
from pollinet.answers.balance import Balance, balance_of
from pollinet.cli.common import (
    csv_option,
    give,
    in_language,
    json_option,
    new_table,
    opened,
    plan_argument,
    print_lines,
    print_table,
)
from pollinet.days import coming_spring
from pollinet.language import _, number
from pollinet.study import Study
from pollinet.summary.advice import TreeLook, garden_balance, garden_looks, garden_thinning
from pollinet.wording.balance import (
    balance_notes,
    flags_text,
    fruits_text,
    grafted_text,
    vigour_text,
)
from pollinet.wording.look import lag_text, look_lines, looks_answer


@click.command(
    epilog="Example: pollinet balance plan.toml. It lives on notes: pollinet record plan.toml "
    "A-top --diameter 31 --shoots 45. Exit codes: 0 an answer, 2 bad input."
)
@plan_argument
@json_option
@csv_option
@in_language
def balance(plan: Path, as_json: bool, csv: Path | None) -> int:
    """Say which limbs grow away from the others, and how even the tree looks in spring.

    Also how many fruits each limb can carry.
    """
    study = opened(plan, as_json=as_json)
    looks = garden_looks(study)
    year = coming_spring(study.plan.site.latitude, date.today())
    answer = balance_of(study, looks, year)
    return give(answer, lambda: show_balance(study, answer, looks, year), as_json=as_json, csv=csv)


def show_balance(
    study: Study, answer: Balance, looks: Mapping[str, TreeLook], year: int | None = None
) -> None:
    """Print the answer, one row a limb, and how the trees look."""
    print_lines([answer.answer, *filter(None, [looks_answer(looks)]), ""])
    right = {"justify": "right"}
    table = new_table(
        (_("Limb"), {}), (_("Variety"), {}), (_("Vigour"), {}), (_("Grafted"), {}),
        (_("Shoots"), right), (_("Part of the wood"), right), (_("Fruits to leave"), right),
        (_("Full bloom"), right), (_("What to do"), {"ratio": 1}),
    )  # fmt: skip
    found = garden_balance(study, year)
    for tree, limbs in found.items():
        for limb in limbs:
            table.add_row(*_cells(limb, answer.lag_days(tree, limb.limb)))
    print_table(table)
    told = balance_notes(found, garden_thinning(study))
    print_lines(["", *look_lines(looks), "", *told])


def _cells(limb: LimbBalance, lag_days: float | None) -> tuple[str, ...]:
    share = "" if limb.share is None else _("{percent} %").format(percent=f"{limb.share * 100:.0f}")
    shoots = "" if limb.shoots_cm is None else _("{cm} cm").format(cm=number(limb.shoots_cm))
    return (
        limb.limb, limb.variety.name, vigour_text(limb), grafted_text(limb), shoots, share,
        fruits_text(limb), lag_text(lag_days), flags_text(limb),
    )  # fmt: skip
