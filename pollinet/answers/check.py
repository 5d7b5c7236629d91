"""Which limb has a viable pollen donor, in how many winters, and why not."""

from __future__ import annotations

from dataclasses import dataclass, field
from typing import Annotated, Any, ClassVar

from pollinet.answers.base import (
    WHEN_ASKED,
    About,
    Answer,
    Findings,
    Recalled,
    Share,
    Told,
    Typed,
    flat,
)
from pollinet.answers.parts import (
    Fruit,
    Reason,
    Standing,
    Stations,
    UsualBloom,
    WintersError,
    WintersExpected,
    WintersHigh,
    WintersLow,
    WintersPossible,
    WintersSure,
    standing,
    stations_of,
    usual_bloom,
)
from pollinet.network.coverage import DonorShare, LimbVerdict
from pollinet.study import Study
from pollinet.summary.alone import Alone, GivesPollen, OwnPollen, alone_of
from pollinet.summary.limbs import LimbSummary, bloom_dates, limb_summaries
from pollinet.summary.open_questions import OpenCode, OpenQuestion
from pollinet.summary.uncertain_donors import fellings, with_off_years
from pollinet.wording.alone import alone_words
from pollinet.wording.check import garden_answer, settle_text
from pollinet.wording.sentences import outlook_words, reasons, weather_words


@dataclass(frozen=True)
class ViableDonor:
    """A viable donor of a limb."""

    id: str
    variety: str
    reliability: Annotated[Share, About("Scenarios in which it is a viable donor.")]
    overlap_days: Annotated[float, About("Usual shared bloom. [days]")]
    effective_days: Annotated[float, About("Weighted shared bloom. [days]")]
    compatible_fraction: Annotated[float | None, About("Share of its pollen that is accepted.")]


@dataclass(frozen=True)
class Hangs:
    """Something that nobody knows and that a verdict hangs on."""

    code: Annotated[OpenCode, About("What it is, as a stable word.")]
    varieties: Annotated[tuple[str, ...], About("Whose alleles, pollen or dates are not known.")]
    chance: Annotated[
        Share | None, About("Mean chance that a donor in question serves; null: dates.")
    ]
    settle: Annotated[str, About("The cheapest way to find out.")]


@dataclass(frozen=True)
class CheckedLimb:
    """The verdict for one limb."""

    id: str
    tree: Annotated[str, About("Id of the tree.")]
    variety: str
    typed: Typed
    species: Fruit
    crops: Annotated[bool, About("Whether it is meant to crop, and so needs a donor.")]
    covered: Annotated[
        bool | None,
        About("Whether a viable donor is there in enough scenarios; null: need not crop."),
    ]
    verdict: Standing
    reliability: Annotated[Share | None, About("Expected scenarios with a viable donor.")]
    winters_sure: WintersSure
    winters_expected: WintersExpected
    winters_possible: WintersPossible
    winters_expected_low: WintersLow
    winters_expected_high: WintersHigh
    winters_expected_error: WintersError
    strength: Annotated[str | None, About("strong, weak or none, by effective days.")]
    weak_by: Annotated[
        str | None, About("Where weak, what takes most: pollen, distance, bees or chill.")
    ]
    reliability_if_unknown_pollen_works: Annotated[
        Share | None, About("The same if all unknown pollen were good.")
    ]
    donors: Annotated[tuple[ViableDonor, ...], About("Viable donors, best first.")]
    bloom: Annotated[UsualBloom | None, About("Usual bloom here; null: not known.")]
    against_others_days: Annotated[
        float | None,
        About("Full bloom against the mean of the others of its fruit here; negative: earlier."),
    ]
    against_others_sd_days: Annotated[
        float | None, About("How far it strays from that: standard deviation. [days]")
    ]
    hangs_on: Annotated[
        tuple[Hangs, ...], About("What a verdict of likely or open hangs on that nobody knows.")
    ]
    reasons: Annotated[tuple[Reason, ...], About("Why it is not covered.")]
    rests_on_memory: Recalled
    self_fertile: Annotated[
        OwnPollen,
        About("Whether its own pollen can be counted on; partly: it sets some fruit by it."),
    ]
    gives_pollen: Annotated[GivesPollen, About("Whether its pollen is good for others.")]
    sets_without_seed: Annotated[
        bool | None,
        About("Whether a source says that fruit sets without seed; never counted; null: none."),
    ]
    alone: Annotated[str, About("These three in words.")]


@dataclass(frozen=True)
class WarmerLimb:
    """The verdict for one limb in a warmer climate."""

    id: str
    covered: bool
    verdict: Annotated[LimbVerdict, About("sure, likely, open or lacking, as for the limbs.")]
    reliability: Annotated[Share, About("Scenarios with a viable donor.")]
    bloom: Annotated[UsualBloom | None, About("Usual bloom here; null: not known.")]


@dataclass(frozen=True)
class WarmerCheck:
    """The verdicts with every hour of the record warmer."""

    degrees_c: Annotated[float, About("How much warmer. [°C]")]
    answer: Told
    limbs: tuple[WarmerLimb, ...]


@dataclass(frozen=True)
class FellingTold:
    """A neighbour's tree that may be felled."""

    tree: str
    uncovers: Annotated[tuple[str, ...], About("Limbs that would lack a donor then.")]


@dataclass(frozen=True, repr=False)
class Check(Answer):
    """The verdict for every limb."""

    NAME: ClassVar[str] = "check"
    ROW: ClassVar[type] = CheckedLimb

    answer: Told
    level: Annotated[float, About("Share of scenarios that counts as covered.")]
    weather: Annotated[str, About("What weather the answer rests on.")]
    generated: Annotated[bool, About("Whether that weather was generated, not measured.")]
    limbs: Annotated[tuple[CheckedLimb, ...], About("In the order of the plan.")]
    findings: Findings
    warmer: Annotated[
        WarmerCheck | None, About("With --warmer: the answer with every hour warmer.")
    ] = field(default=None, metadata=WHEN_ASKED)
    stations: Stations = field(default=None, metadata=WHEN_ASKED)
    may_be_felled: Annotated[
        tuple[FellingTold, ...] | None,
        About("Only where the plan marks a neighbour's tree so: what its loss would do."),
    ] = field(default=None, metadata=WHEN_ASKED)
    flower_every_other_year: Annotated[
        tuple[str, ...] | None,
        About("Only where there are some: limbs and neighbours' trees counted so, by id."),
    ] = field(default=None, metadata=WHEN_ASKED)

    @property
    def exit_code(self) -> int:
        """1 where some limb that is to crop is not covered, now or in the warmer climate."""
        told = [limb.covered for limb in self.limbs if limb.covered is not None]
        told += [limb.covered for limb in self.warmer.limbs] if self.warmer else []
        return 0 if all(told) else 1

    def rows(self) -> list[dict[str, Any]]:
        """One row a limb; its donors by their ids, best first."""
        return [
            {
                **dict(flat(limb)),
                "donors": "; ".join(donor.id for donor in limb.donors),
                "reasons": "; ".join(reason.text for reason in limb.reasons),
            }
            for limb in self.limbs
        ]


def check_of(
    study: Study, outlook: Study | None = None, *, limbs: tuple[LimbSummary, ...] | None = None
) -> Check:
    """The verdicts of a study; `outlook`: the same garden in a warmer climate, to be told too.

    limbs : as from `limb_summaries`, to save the work.
    """
    aim, limbs = study.plan.aim, limb_summaries(study) if limbs is None else limbs
    return Check(
        answer=garden_answer(study, limbs),
        level=aim.level,
        weather=weather_words(study.record, study.winters),
        generated=bool(study.record is not None and study.record.generated),
        limbs=tuple(_limb(limb, study) for limb in limbs),
        findings=study.findings,
        warmer=None if outlook is None else _warmer(outlook),
        stations=stations_of(study.climate),
        may_be_felled=tuple(
            FellingTold(one.tree.id, tuple(limb.id for limb in one.uncovers))
            for one in fellings(study)
        )
        or None,
        flower_every_other_year=tuple(node.id for node in with_off_years(study)) or None,
    )


def _warmer(outlook: Study) -> WarmerCheck:
    nodes = outlook.network.nodes
    words = outlook_words(outlook.warmer_c) + garden_answer(outlook)
    limbs = tuple(
        WarmerLimb(
            nodes[limb.node].id,
            limb.covered,
            limb.verdict,
            limb.reliability,
            usual_bloom(bloom_dates(outlook.bloom, nodes[limb.node].variety)),
        )
        for limb in outlook.coverage
    )
    return WarmerCheck(outlook.warmer_c, words, limbs)


def _limb(limb: LimbSummary, study: Study) -> CheckedLimb:
    coverage, nodes, node = limb.coverage, study.network.nodes, limb.node
    why = () if coverage is None or coverage.covered else reasons(coverage, nodes, limb.short)
    return CheckedLimb(
        id=node.id,
        tree=node.tree or "",
        variety=node.variety.name,
        typed=study.plan.typed.get(node.id),
        species=node.variety.species,
        crops=node.must_crop,
        covered=None if coverage is None else coverage.covered,
        reliability=None if coverage is None else coverage.reliability,
        strength=None if coverage is None else coverage.strength,
        weak_by=None if coverage is None else coverage.weak_by,
        reliability_if_unknown_pollen_works=(
            None if coverage is None else coverage.possible_reliability
        ),
        donors=() if coverage is None else tuple(_donor(d, study) for d in coverage.donors),
        bloom=usual_bloom(limb.bloom),
        against_others_days=None if limb.against is None else round(limb.against.days, 2),
        against_others_sd_days=None if limb.against is None else round(limb.against.sd_days, 2),
        hangs_on=tuple(_hangs(question) for question in limb.hangs_on),
        reasons=tuple(Reason(code, text) for code, text in why),
        rests_on_memory=tuple(f"{field} of {name}" for field, name in limb.memory),
        **standing(coverage),
        **_alone(alone_of(study, node.variety)),
    )


def _alone(alone: Alone) -> dict[str, Any]:
    return {
        "self_fertile": alone.self_fertile,
        "gives_pollen": alone.gives_pollen,
        "sets_without_seed": alone.seedless,
        "alone": alone_words(alone),
    }


def _hangs(question: OpenQuestion) -> Hangs:
    names = tuple(name.name for name in question.about)
    return Hangs(question.code, names, question.chance, settle_text(question))


def _donor(donor: DonorShare, study: Study) -> ViableDonor:
    node = study.network.nodes[donor.node]
    return ViableDonor(
        node.id,
        node.variety.name,
        donor.reliability,
        round(donor.overlap_days, 3),
        round(donor.effective_days, 3),
        donor.compatible_fraction if donor.known else None,
    )
