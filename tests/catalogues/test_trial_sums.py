"""The shipped sums of the trial sites against a recomputation from their normals."""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import pytest

from pollinet.domain import Site
from pollinet.readers.catalogue import load_catalogue
from pollinet.readers.trial_sums import shipped_sums
from pollinet.study.trial_sites import made_up_sums, trial_site_sums

SITES = load_catalogue(())[0].sites


@pytest.mark.parametrize("place", sorted(SITES))
def test_the_shipped_sums_are_current(place: str) -> None:
    """Else run `python tests/catalogues/write_trial_sums.py`."""
    site = SITES[place]
    shipped, made = trial_site_sums(site), made_up_sums(site)
    assert shipped_sums(site) is not None
    assert (shipped.harvest_years, shipped.starts, shipped.generated) == (
        made.harvest_years, made.starts, made.generated,
    )  # fmt: skip
    # Another linear algebra library may differ in the last digits.
    np.testing.assert_allclose(shipped.portions, made.portions, rtol=1e-9)
    np.testing.assert_allclose(shipped.heat_gdh, made.heat_gdh, rtol=1e-9)


def test_an_own_site_is_computed() -> None:
    site = SITES["Jork"]
    assert site.normals is not None
    warmer = tuple(value + 0.1 for value in site.normals.tmin_c)
    own: Site = replace(site, normals=replace(site.normals, tmin_c=warmer))
    assert shipped_sums(own) is None
    assert (trial_site_sums(own).heat_gdh[:, -1] > trial_site_sums(site).heat_gdh[:, -1]).all()
    assert shipped_sums(replace(site, latitude=site.latitude + 0.01)) is None


def test_a_place_may_have_another_name() -> None:
    site = SITES["Jork"]
    named = trial_site_sums(replace(site, name="our hill"))
    assert named.portions.tobytes() == trial_site_sums(site).portions.tobytes()
