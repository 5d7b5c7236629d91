"""Chill and heat of the trial sites."""

from __future__ import annotations

from pollinet.days import season_start
from pollinet.domain import Site
from pollinet.phenology.sums import SeasonSums, season_sums
from pollinet.readers.trial_sums import shipped_sums
from pollinet.study.station_winters import FIRST_GENERATED_YEAR, winters_from_normals
from pollinet.weather.winters import split_winters

WINTERS = 20
"""Winters made up for a trial site. Own convention."""


def trial_site_sums(site: Site) -> SeasonSums:
    """Chill and heat of a trial site: as shipped; of an own site from winters made up here."""
    shipped = shipped_sums(site)
    if shipped is None:
        return made_up_sums(site)
    years = tuple(range(FIRST_GENERATED_YEAR, FIRST_GENERATED_YEAR + WINTERS))
    starts = tuple(season_start(site.latitude, year) for year in years)
    return SeasonSums(years, starts, *shipped, generated=True)


def made_up_sums(site: Site) -> SeasonSums:
    """Chill and heat of a trial site, from winters generated out of its normals.

    The seed is fixed: where a variety was tried does not change from plan to plan.
    """
    daily = winters_from_normals(site, seed=0, winters=WINTERS)
    made, _ = split_winters(daily, site.latitude)
    return season_sums(made)
