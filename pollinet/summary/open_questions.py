"""What the verdict on a limb hangs on that nobody knows, and what would settle it, as data."""

from __future__ import annotations

from collections.abc import Iterable, Iterator
from dataclasses import dataclass
from typing import Literal

import numpy as np

from pollinet.compatibility.disputed import DISPUTED
from pollinet.compatibility.dominance import dominance_order
from pollinet.compatibility.drawn import HANGS_ON_ALLELES
from pollinet.domain import VarietyId, Verdict
from pollinet.network.coverage import DonorShare, LimbCoverage
from pollinet.study import Study

OpenCode = Literal[
    "own-alleles", "donor-alleles", "crosses", "fruit-crosses", "own-pollen", "own-dates",
    "donor-dates", "disputed-own-pollen", "disputed-alleles", "disputed-pollen",
]  # fmt: skip
"""What is not known: S-alleles of the limb, or of its donors; whether varieties, or kinds of fruit,
of which no alleles decide set one another; whether the limb sets itself; when it or they bloom.
What sources disagree about: whether the limb sets itself, S-alleles, whether pollen is good."""

FRUIT_CROSSES = frozenset(
    {"species-cross-possible", "species-cross-not-relied-upon"}
    | {"unknown-fruit-cross", "different-name-space"}
)


@dataclass(frozen=True)
class OpenQuestion:
    """One thing that nobody knows, or that sources disagree about.

    about : the varieties whose alleles, pollen or dates are not known, sorted.
    chance : mean chance that a donor in question serves, 0 to 1; None for dates.
    """

    code: OpenCode
    about: tuple[VarietyId, ...]
    chance: float | None = None

    @property
    def disputed(self) -> bool:
        """Whether sources disagree about it."""
        return self.code.startswith("disputed")

    @property
    def doubt(self) -> float:
        """How much hangs on it, 0 to 1: dates are taken as even chances (own convention)."""
        return 0.5 if self.chance is None else 1.0 - self.chance


def open_questions(study: Study, coverage: LimbCoverage) -> tuple[OpenQuestion, ...]:
    """What a verdict of likely or open hangs on; nothing for the others."""
    if coverage.verdict not in ("likely", "open"):
        return ()
    return (*_pollen(study, coverage), *_dates(study, coverage))


def _pollen(study: Study, coverage: LimbCoverage) -> Iterator[OpenQuestion]:
    """Questions of pollen, those that matter most for most donors first."""
    nodes = study.network.nodes
    receiver = nodes[coverage.node].variety
    by_code: dict[OpenCode, dict[VarietyId, list[float]]] = {}
    for donor, verdict in _unknown(coverage):
        giver = nodes[donor].variety
        for code, about in _codes(study, verdict, giver, receiver):
            by_code.setdefault(code, {}).setdefault(about, []).append(verdict.probability)
    for code, found in by_code.items():
        chances = [chance for several in found.values() for chance in several]
        yield OpenQuestion(code, tuple(sorted(found)), float(np.mean(chances)))


def _unknown(coverage: LimbCoverage) -> Iterator[tuple[int, Verdict]]:
    """Donors in question: nodes that serve, or might, if only the pollen is accepted."""
    for share in coverage.donors:
        if not share.known:
            yield share.node, share.verdict
    for refusal in coverage.refusals:
        if refusal.possible > 0 and refusal.verdict is not None:
            yield refusal.node, refusal.verdict


def _codes(
    study: Study, verdict: Verdict, giver: VarietyId, receiver: VarietyId
) -> Iterable[tuple[OpenCode, VarietyId]]:
    """What is not known of a pair, and of whom: the variety whose facts are missing."""
    disputed = {name: study.known[name].fertility.disputed for name in (giver, receiver)}
    if giver == receiver:
        told = disputed[receiver] or verdict.code in DISPUTED
        return [("disputed-own-pollen" if told else "own-pollen", receiver)]
    if verdict.code in FRUIT_CROSSES:
        return [("fruit-crosses", giver)]
    if verdict.code not in HANGS_ON_ALLELES:
        return [("crosses", giver)]
    found: list[tuple[OpenCode, VarietyId]] = []
    codes: list[tuple[OpenCode, VarietyId]] = [("own-alleles", receiver), ("donor-alleles", giver)]
    by_alleles = study.catalogue.rules.fruits[receiver.species].system != "class"
    for code, about in codes:
        if "genotype" in disputed[about]:
            found.append(("disputed-alleles", about))
        elif by_alleles and not _is_told(study, about):
            found.append((code, about))
    if disputed[giver] & {"ploidy", "pollen_ok"}:
        found.append(("disputed-pollen", giver))
    # That a variety sets itself all the same makes its alleles doubtful for every cross.
    return found or [("disputed-own-pollen", name) for name, fields in disputed.items() if fields]


def _is_told(study: Study, name: VarietyId) -> bool:
    """Whether all alleles of a variety are known, and what its pollen shows of them."""
    genotype, rules = study.known[name].fertility.genotype, study.catalogue.rules
    if genotype is None or not genotype.complete:
        return False
    fruit = rules.fruits[name.species]
    if fruit.system != "sporophytic":
        return True
    order = dominance_order(fruit.name_space, rules.dominance)
    return order.shown_by(genotype) is not None


def _dates(study: Study, coverage: LimbCoverage) -> Iterator[OpenQuestion]:
    """Varieties whose bloom nobody has dated, where the limb does not serve itself."""
    network = study.network
    if network.dated is None or _serves_itself(coverage.donors, coverage.node):
        return
    if not network.dated[coverage.node]:
        yield OpenQuestion("own-dates", (network.nodes[coverage.node].variety,))
    undated = {network.nodes[d.node].variety for d in coverage.donors if not network.dated[d.node]}
    if undated:
        yield OpenQuestion("donor-dates", tuple(sorted(undated)))


def _serves_itself(donors: Iterable[DonorShare], node: int) -> bool:
    return any(donor.node == node and donor.known for donor in donors)
