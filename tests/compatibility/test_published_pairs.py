"""The rules against published crosses and incompatibility groups (tests/literature/pairs.csv).

Each row names its source. Rows come from measured crosses, published groups and pairs that the
sources derive from genotypes; measured results are NOT given to the rules here.
"""

from __future__ import annotations

import csv
from pathlib import Path

import pytest
from crosses import rules, variety

from pollinet.compatibility.verdict import cross_verdict
from pollinet.domain import Fertility, Verdict

TABLE = Path(__file__).resolve().parent.parent / "literature" / "pairs.csv"
ROWS = list(csv.DictReader(TABLE.read_text(encoding="utf-8").splitlines()))

UNDECIDED = {
    ("Wepster", "McDonald"): "which alleles McDonald's pollen shows is not published in the table",
    ("York", "McDonald"): "which alleles McDonald's pollen shows is not published in the table",
}
"""Rows in which the rule says `unknown`, with the reason; the result is never contradicted."""


def side(row: dict[str, str], sex: str) -> Fertility:
    """One parent as the row describes it."""
    selfing = row["female"] == row["male"]
    ploidy = row["male_ploidy"] if sex == "male" or selfing else ""
    return variety(
        row["fruit"],
        row[sex],
        row[f"{sex}_alleles"] or None,
        shown=row["male_shown"] if sex == "male" else "",
        ploidy=int(ploidy) if ploidy else None,
        pollen_ok=False if sex == "male" and row["male_pollen"] == "sterile" else None,
        modifier_share=float(row["male_modifier_share"] or 0) if sex == "male" else 0.0,
        self_fertile={"yes": True, "no": False}.get(row["female_self_fertile"])
        if sex == "female"
        else None,
    )


def answer(row: dict[str, str]) -> Verdict:
    return cross_verdict(side(row, "male"), side(row, "female"), rules())


def agrees(row: dict[str, str], verdict: Verdict) -> bool:
    """A `yes` of a source often means `set well`, so half of the pollen agrees with it.

    A self-fertile variety is a yes although only part of its grains passes (`half` in the table).
    """
    if row["female"] == row["male"] and row["result"] == "half":
        return verdict.answer == "yes" and verdict.fraction == 0.5
    return verdict.answer == row["result"] or (row["result"], verdict.answer) == ("yes", "half")


@pytest.mark.parametrize("row", ROWS, ids=lambda row: f"{row['female']} x {row['male']}")
def test_rule_agrees_with_published_pair(row: dict[str, str]) -> None:
    verdict = answer(row)
    if (row["female"], row["male"]) in UNDECIDED:
        assert verdict.answer == "unknown"
    else:
        assert agrees(row, verdict), (verdict.answer, verdict.code)


def test_half_is_told_from_full() -> None:
    """Rows that say half must not be full, and pairs that share no allele must not be half."""
    for row in ROWS:
        shared = set(row["female_alleles"].split()) & set(row["male_alleles"].split())
        if row["result"] == "yes" and not shared and row["female_alleles"] and row["male_alleles"]:
            assert answer(row).fraction == 1.0, row


def test_table_is_large_enough_to_mean_something() -> None:
    results = [row["result"] for row in ROWS]
    assert len(ROWS) > 100
    assert min(results.count(result) for result in ("yes", "half", "no")) > 20
