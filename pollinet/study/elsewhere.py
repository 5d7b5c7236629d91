"""The garden of a plan in other places: what stands in it, under another sky.

What holds for its own place alone stays at home: its weather and normals, the grower's notes, and
bloom dates that were typed or seen there. A variety without other evidence then blooms in the run
of its fruit.
"""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import replace

from pollinet.domain import BloomEvidence, Records, Site, Variety
from pollinet.findings import Finding
from pollinet.messages import joined, say
from pollinet.phenology.positions import HERE
from pollinet.study.garden import Study
from pollinet.study.store import Store


def movable(study: Study) -> tuple[Study, tuple[Finding, ...]]:
    """The garden without what holds for its own place alone, and notes on what was left behind."""
    catalogue, plan = study.catalogue, study.plan
    own = tuple(map(_without_home, plan.own_varieties))
    named = {variety.id for variety in study.varieties()}
    left = sorted(
        variety.id.name
        for variety in study.known.values()
        if variety.id in named and _without_home(variety) is not variety
    )
    bare = replace(
        study,
        plan=replace(
            plan, own_varieties=own, weather_file=None, site=replace(plan.site, normals=None)
        ),
        catalogue=replace(
            catalogue,
            varieties={name: _without_home(v) for name, v in catalogue.varieties.items()},
        ),
        record=None,
        climate=None,
        findings=(),
        records=Records(),
        store=Store(),
    )
    findings = []
    if left:
        message = say(
            "bloom dates of the plan's own garden do not hold elsewhere and are not used: {names}",
            names=joined(left),
        )
        cure = say("without other evidence a variety blooms in the run of its fruit, widely")
        findings.append(Finding("warning", "dates-stay-home", message, plan.file, cure=cure))
    if study.records.bloom:
        message = say("the notes of the log hold for the plan's own garden and are not used")
        findings.append(Finding("note", "notes-stay-home", message, plan.file))
    return bare, tuple(findings)


def moved(bare: Study, site: Site) -> Study:
    """A garden as from `movable` in another place, without weather yet.

    It shares with the others what hangs on no place, and nothing else: dropped, it is gone.
    """
    return replace(bare, plan=replace(bare.plan, site=site), store=bare.store.elsewhere())


def _without_home(variety: Variety) -> Variety:
    """The very same variety where none of its dates are of the plan's own garden."""
    bloom, shed = _from_elsewhere(variety.bloom), _from_elsewhere(variety.shed)
    typed = variety.typed_bloom is not None or variety.typed_shed is not None
    if not typed and len(bloom) == len(variety.bloom) and len(shed) == len(variety.shed):
        return variety
    return replace(variety, bloom=bloom, shed=shed, typed_bloom=None, typed_shed=None)


def _from_elsewhere(evidence: Iterable[BloomEvidence]) -> tuple[BloomEvidence, ...]:
    return tuple(one for one in evidence if one.place != HERE)
