"""By which varieties the trial sites are brought in line."""

from __future__ import annotations

from dataclasses import replace

import pytest
from gardens import HILL, saved, studied

from pollinet.domain import BloomEvidence, Fertility, Variety, VarietyId
from pollinet.study import Study


@pytest.fixture(scope="module")
def study(tmp_path_factory: pytest.TempPathFactory) -> Study:
    return studied(saved(tmp_path_factory.mktemp("peers"), HILL))


def with_stranger(study: Study, source: str) -> Study:
    """One more variety in the catalogue, told of two trial sites as no other variety blooms."""
    name = VarietyId("sweet cherry", "Stranger")
    told = tuple(
        BloomEvidence("full", day, 0.5, place, "date", source)
        for place, day in (("Balandran", 120.0), ("Jork", 90.0))
    )
    varieties = {**study.catalogue.varieties, name: Variety(name, Fertility(name, name.name), told)}
    return replace(study, catalogue=replace(study.catalogue, varieties=varieties))


def test_own_varieties_do_not_move_the_trial_sites(study: Study) -> None:
    (van,) = study.varieties()
    plain, own, trial = (
        s.bloom_of((van,)).full_h
        for s in (study, with_stranger(study, "own"), with_stranger(study, "a trial"))
    )
    assert own.tobytes() == plain.tobytes()
    # A trial of the same variety would have moved them.
    assert abs(trial - plain).max() > 1.0
