"""Chill and heat of the trial sites."""

from __future__ import annotations

from pollinet.domain import Site
from pollinet.phenology.sums import SeasonSums, season_sums
from pollinet.weather.generated import generate_daily
from pollinet.weather.winters import split_winters

FIRST_GENERATED_YEAR = 2001
"""Harvest year of the first generated winter: a label, not a claim about that year."""

WINTERS = 20
"""Winters made up for a trial site. Own convention."""


def trial_site_sums(site: Site) -> SeasonSums:
    """Chill and heat of a trial site, from winters generated out of its normals.

    The seed is fixed: where a variety was tried does not change from plan to plan.
    """
    assert site.normals is not None
    daily = generate_daily(
        site.normals,
        first_harvest_year=FIRST_GENERATED_YEAR,
        winters=WINTERS,
        latitude=site.latitude,
        seed=0,
    )
    made, _ = split_winters(daily, site.latitude)
    return season_sums(made)
