"""Winters of a place that has no record: from typed normals, or from the stations around it.

What stations do not know of a place's own climate is one error that all its winters share. The
winters carry it: each has a draw of it, evenly spread, beside weather of its own. Answers are
shares over winters and draws, and in the mean such a share is the same whether every winter has an
error of its own or all have one that is drawn; kept apart, each draw would need all hours of all
winters anew. The price: what is told of single winters (their spread, and how far two of them lie
apart) holds the place's error too, and own notes cannot take it away. In the overlap of two
varieties it cancels nearly, in chill it does not: there it must not be left out.
"""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import replace

from pollinet.domain import DailyWeather, Normals, Site, Spread
from pollinet.findings import Finding
from pollinet.messages import Message, joined, listing, say
from pollinet.phenology.streams import shuffled_normals, stream
from pollinet.weather.generated import generate_daily
from pollinet.weather.level import REACH_KM
from pollinet.weather.station_climate import (
    DEVIATES,
    StationClimate,
    level_errors,
    spread_like,
    spread_near,
    station_climate,
)

GENERATED_WINTERS = 30
"""Winters made up for a garden: the usual length of a climate normal (30 years, WMO)."""

FIRST_GENERATED_YEAR = 2001
"""Harvest year of the first generated winter: a label, not a claim about that year."""

SEASIDE_M = 200
"""Height below which stations inland may miss the sea's part in a climate. Own convention. [m]"""

AMID_KM = 100
"""Distance to a station below which a place with another sign may be the one that was meant. Own
convention. [km]"""

NAMED = 3
"""Nearest stations that are named in a sentence."""

POLAR, TROPIC, WEAK_SD_C = 66.5, 23.5, 2.0
"""Where stations tell a place's climate weakly, beside beyond `REACH_KM`: latitudes [degrees], and
SD of a month's mean. Own conventions; of stations left out in turn, 8 in 100 have such an SD."""


def climate_of(site: Site) -> StationClimate | None:
    """Climate of a site as the stations around it tell it; None: nobody told where it is."""
    if site.longitude is None or not site.latitude_known:
        return None
    from pollinet.readers.stations import load_stations

    return station_climate(load_stations(), site.latitude, site.longitude, site.elevation_m)


def spread_of(site: Site) -> Spread:
    """How far the weather of a site strays from its normals: as near it, or in climates like it."""
    from pollinet.readers.stations import load_stations

    assert site.normals is not None
    if site.longitude is not None and site.latitude_known:
        return spread_near(load_stations(), site.latitude, site.longitude)
    return spread_like(load_stations(), site.normals.tmin_c, site.normals.tmax_c, site.latitude)


def winters_from_normals(site: Site, seed: int, winters: int = GENERATED_WINTERS) -> DailyWeather:
    """Winters made up from the normals of a site."""
    assert site.normals is not None
    return generate_daily(
        site.normals,
        spread_of(site),
        first_harvest_year=FIRST_GENERATED_YEAR,
        winters=winters,
        latitude=site.latitude,
        seed=seed,
    )


def winters_from_stations(site: Site, climate: StationClimate, seed: int) -> DailyWeather:
    """Winters made up from the climate of the stations near a site, its error among them."""
    rng = stream(seed, "level of the climate")
    made = generate_daily(
        Normals(climate.tmin_c, climate.tmax_c),
        climate.spread,
        first_harvest_year=FIRST_GENERATED_YEAR,
        winters=GENERATED_WINTERS,
        latitude=site.latitude,
        seed=seed,
        level_c=level_errors(climate, shuffled_normals(GENERATED_WINTERS, rng, DEVIATES)),
    )
    source = say(
        "no weather file: made from the climate of {number} stations, monthly means give or take "
        "{error:.1f} °C; nearest {stations}",
        number=climate.used,
        error=_error_c(climate),
        stations=_nearest(climate),
    )
    return replace(made, source=source, longitude=site.longitude, elevation_m=climate.elevation_m)


def climate_findings(site: Site, climate: StationClimate, file: str) -> Iterator[Finding]:
    """What makes winters from stations weak at this place.

    `no-elevation` and `weak-climate` are warnings.
    """
    cure = say(
        'better is weather = "file.csv" under [site] (`pollinet fetch` downloads a record), or '
        "[site.normals] with the monthly means of a station that you trust"
    )
    if site.elevation_m is None:
        message = say(
            "the height of the garden is not told; that of the stations near it stands in, "
            "{height:.0f} m, give or take {sd:.0f} m",
            height=climate.elevation_m,
            sd=climate.elevation_sd_m,
        )
        add = say("add a line: elevation_m = … (metres above the sea)")
        yield Finding("warning", "no-elevation", message, file, "site", cure=add)
    reasons = list(_weaknesses(site, climate))
    if reasons:
        message = say(
            "winters made from weather stations are weak here: {reasons}", reasons=joined(reasons)
        )
        asked = _other_sign(site) if climate.nearest[0].km > REACH_KM else None
        if asked:
            cure = say("{question} If it is: {cure}", question=asked, cure=cure)
        yield Finding("warning", "weak-climate", message, file, "site", cure=cure)


def _other_sign(site: Site) -> Message | None:
    """Where the site would lie amid stations with another sign; None: nowhere."""
    from pollinet.readers.stations import load_stations

    north, east = site.latitude, site.longitude or 0.0
    for latitude, longitude in ((-north, east), (north, -east), (-north, -east)):
        nearest = station_climate(load_stations(), latitude, longitude, None).nearest[0]
        if nearest.km < AMID_KM:
            return say(
                "Is the sign right? South and west are negative; latitude = {latitude:g}, "
                "longitude = {longitude:g} is {km:.0f} km from {name} ({country}).",
                latitude=latitude,
                longitude=longitude,
                km=nearest.km,
                name=nearest.name,
                country=nearest.country,
            )
    return None


def _weaknesses(site: Site, climate: StationClimate) -> Iterator[Message]:
    nearest = climate.nearest[0]
    if nearest.km > REACH_KM:
        yield say("the nearest, {name}, is {km:.0f} km away", name=nearest.name, km=nearest.km)
    if abs(site.latitude) > POLAR:
        yield say("the stations are those of milder latitudes")
    if abs(site.latitude) < TROPIC:
        yield say("in the tropics trees do not follow winter chill and spring heat alone")
    if site.elevation_m is not None and _error_c(climate) > WEAK_SD_C:
        yield say(
            "their monthly means may miss those of the garden by {error:.1f} °C and more",
            error=_error_c(climate),
        )


def _error_c(climate: StationClimate) -> float:
    """SD of a month's mean minimum or maximum, whichever is told worse."""
    return max(climate.tmin_sd_c, climate.tmax_sd_c)


def _nearest(climate: StationClimate) -> Message:
    return listing(
        [
            say("{name} ({country}), {km:.0f} km", name=s.name, country=s.country, km=s.km)
            for s in climate.nearest[:NAMED]
        ],
        "; ",
    )
