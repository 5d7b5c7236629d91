"""Verdicts on the pairs that ship with the catalogues: what sources measured or stated."""

from __future__ import annotations

from dataclasses import replace

import pytest

from pollinet.compatibility.measured import MADE, SAID
from pollinet.compatibility.verdict import cross_verdict
from pollinet.domain import Catalogue, MeasuredPair, VarietyId, Verdict
from pollinet.readers.catalogue import load_catalogue
from pollinet.readers.shared_tables import fruits

CATALOGUE, _ = load_catalogue(fruits())


def verdict(pair: MeasuredPair, catalogue: Catalogue = CATALOGUE) -> Verdict:
    male, female = (VarietyId(pair.species, name) for name in (pair.male, pair.female))
    donor, receiver = (catalogue.varieties[sex].fertility for sex in (male, female))
    return cross_verdict(donor, receiver, catalogue.rules)


def agree(result: str, answer: str) -> bool:
    """A published yes where the rule says half is agreement: it means that the cross set well."""
    return result == answer or (result, answer) == ("yes", "half")


@pytest.mark.parametrize(
    "pair", CATALOGUE.rules.pairs, ids=lambda p: f"{p.species}: {p.female} x {p.male}"
)
def test_shipped_pair(pair: MeasuredPair) -> None:
    """With the row itself the verdict agrees; without it the rule never contradicts it.

    Where sources disagree about a variety, a statement does not say which of them is right.
    """
    result = verdict(pair)
    if pair.kind in MADE or (pair.kind in SAID and result.code != "disputed"):
        assert agree(pair.result, result.answer), result
    assert any(pair.source in line for line in result.measured)
    alone = replace(CATALOGUE, rules=replace(CATALOGUE.rules, pairs=()))
    by_rule = verdict(pair, alone)
    assert by_rule.answer == "unknown" or agree(pair.result, by_rule.answer), by_rule


def test_most_pairs_are_decided_by_the_rule_alone() -> None:
    """Unknown must not be the way out: the rules decide most pairs by themselves.

    Recommended donors are left out: sources name them where nobody knows the alleles.
    """
    alone = replace(CATALOGUE, rules=replace(CATALOGUE.rules, pairs=()))
    told = [pair for pair in CATALOGUE.rules.pairs if pair.kind in MADE or pair.kind in SAID]
    answers = [verdict(pair, alone).answer for pair in told]
    assert answers.count("unknown") < len(answers) / 2
