"""Winter chill of the site against what the varieties need."""

from __future__ import annotations

from dataclasses import dataclass, field
from typing import Annotated, ClassVar

from pollinet.answers.base import WHEN_ASKED, About, Answer, Findings, Share, Told
from pollinet.answers.parts import Fruit, Stations, stations_of
from pollinet.language import N_
from pollinet.study import Study
from pollinet.summary.limbs import limb_chill
from pollinet.wording.sentences import chill_answer

MODELS = {
    "portions": N_("chill portions (Dynamic Model)"),
    "hours": N_("hours below 7.2 °C"),
    "hours_above_0": N_("hours from 0 to 7.2 °C"),
    "utah": N_("Utah units"),
    "positive_utah": N_("positive Utah units"),
}
"""The models told, by their field in `ChillSupply`."""

Winters = Annotated[tuple[int, ...], About("Years of bloom.")]
Supply = Annotated[
    dict[str, tuple[float, ...]],
    About(
        "Chill of each winter by model: portions (Dynamic Model), hours below 7.2 °C, of these the "
        "ones from 0 °C up, Utah units from their lowest point on, Utah units with no day below "
        "0. Empty: no weather."
    ),
]


@dataclass(frozen=True)
class ChilledLimb:
    """What one limb needs and how often it gets it."""

    id: str
    variety: str
    species: Fruit
    needs_portions: Annotated[float | None, About("[chill portions]")]
    sd_portions: Annotated[float | None, About("[chill portions]")]
    enough: Annotated[
        Share | None, About("Winters with enough chill; null: the need is not known.")
    ]
    sources: tuple[str, ...]
    memory: Annotated[bool, About("Whether the need was recalled and not confirmed.")]
    drawn_portions: Annotated[
        float | None,
        About("Where none is published: mean of the range it is drawn from. [chill portions]"),
    ]
    drawn_sd_portions: Annotated[float | None, About("Its spread. [chill portions]")]
    drawn_enough: Annotated[
        Share | None, About("Winters with enough chill for what is drawn from there.")
    ]


@dataclass(frozen=True)
class WarmerChill:
    """The same with every hour warmer."""

    degrees_c: Annotated[float, About("How much warmer. [°C]")]
    answer: Told
    winters: Winters
    supply: Supply
    limbs: tuple[ChilledLimb, ...]
    findings: Findings


@dataclass(frozen=True, repr=False)
class Chill(Answer):
    """Winter chill against what the varieties need."""

    NAME: ClassVar[str] = "chill"
    ROWS: ClassVar[str] = "limbs"
    ROW: ClassVar[type] = ChilledLimb

    answer: Told
    winters: Winters
    supply: Supply
    limbs: tuple[ChilledLimb, ...]
    findings: Findings
    warmer: Annotated[
        WarmerChill | None, About("With --warmer: the same with every hour warmer.")
    ] = field(default=None, metadata=WHEN_ASKED)
    stations: Stations = field(default=None, metadata=WHEN_ASKED)


def chill_of(study: Study, outlook: Study | None = None) -> Chill:
    """Supply by winter and model, and the limbs; `outlook`: a warmer climate, to be told too."""
    then = None if outlook is None else chill_of(outlook)
    supply, limbs = study.chill_supply, limb_chill(study)
    return Chill(
        answer=chill_answer(limbs, study.plan.aim.level),
        winters=() if supply is None else tuple(supply.harvest_years),
        supply={}
        if supply is None
        else {f: tuple(round(float(v), 2) for v in getattr(supply, f)) for f in MODELS},
        limbs=tuple(
            ChilledLimb(
                limb.node.id,
                limb.node.variety.name,
                limb.node.variety.species,
                limb.needs,
                limb.sd,
                limb.enough,
                tuple(limb.sources),
                limb.memory,
                None if limb.assumed is None else limb.assumed.portions,
                None if limb.assumed is None else limb.assumed.sd_portions,
                limb.assumed_enough,
            )
            for limb in limbs
        ),
        findings=study.findings,
        warmer=None
        if then is None or outlook is None
        else WarmerChill(
            outlook.warmer_c, then.answer, then.winters, then.supply, then.limbs, then.findings
        ),
        stations=stations_of(study.climate),
    )
