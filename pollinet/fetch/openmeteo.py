"""The daily archive of the open weather service Open-Meteo.

It gives a reanalysis (ERA5 and relatives), brought to the site's height where that is known; its
terms ask for attribution (CC BY 4.0, from memory), which goes into the record's source. Parameters
are those of the service's public description, from memory.
"""

from __future__ import annotations

from dataclasses import replace
from datetime import date, timedelta
from pathlib import Path

from pollinet.domain import DailyWeather, Site
from pollinet.fetch.http import Manners, get_text, missing_extra
from pollinet.fetch.store import default_folder, keep, kept, place_of
from pollinet.findings import Finding
from pollinet.messages import say
from pollinet.readers.weather import openmeteo

ARCHIVE_URL = "https://archive-api.open-meteo.com/v1/archive"

SETTLED_DAYS = 10
"""Days after which the archive is taken to be complete (its delay is about five days, from memory);
answers about younger days are not kept."""

Outcome = tuple[DailyWeather | None, tuple[Finding, ...]]


def fetch_daily(
    site: Site,
    first: date,
    last: date,
    *,
    today: date,
    base_url: str = ARCHIVE_URL,
    folder: Path | None = None,
    manners: Manners | None = None,
) -> Outcome:
    """Download the daily record of a site, or take it from the cache.

    Parameters
    ----------
    first, last : days, both included.
    today : decides whether an answer is final and may be kept.
    base_url : address of the archive; another one for a mirror or a test.
    folder : where answers are kept; None: the user's cache folder.

    Returns
    -------
    (record, findings) : the record is None where a finding is an error.
    """
    if refusal := _bad_question(site, first, last):
        return None, (refusal,)
    if missing := missing_extra():
        return None, (missing,)
    parameters = question(site, first, last)
    place = place_of(default_folder() if folder is None else folder, base_url, parameters)
    if (known := kept(place)) is not None:
        record, findings = _read(known)
        if record is not None:
            return record, findings
    text, failures = get_text(base_url, parameters, manners or Manners(), _is_whole)
    if text is None:
        return None, failures
    record, findings = _read(text)
    if record is not None and last <= today - timedelta(days=SETTLED_DAYS):
        keep(place, text)
    return record, findings


def question(site: Site, first: date, last: date) -> dict[str, str]:
    """The parameters of a request; coordinates to three decimals (about 100 m)."""
    parameters = {
        "latitude": f"{site.latitude:.3f}",
        "longitude": f"{site.longitude:.3f}",
        "start_date": first.isoformat(),
        "end_date": last.isoformat(),
        "daily": "temperature_2m_max,temperature_2m_min,precipitation_sum",
        "timezone": "auto",
    }
    if site.elevation_m is not None:
        parameters["elevation"] = f"{site.elevation_m:.0f}"
    return parameters


def _bad_question(site: Site, first: date, last: date) -> Finding | None:
    """What makes a question that no service can answer."""
    if site.longitude is None:
        cure = say("Add the longitude in degrees, west negative.")
        return Finding("error", "missing-longitude", say("The site has no longitude."), cure=cure)
    if first > last:
        message = say(
            "The first day, {first}, comes after the last, {last}.", first=first, last=last
        )
        return Finding("error", "bad-date", message)
    return None


def _is_whole(text: str) -> bool:
    """Whether an answer is one object of JSON, up to its last bracket."""
    return text.strip().startswith("{") and text.strip().endswith("}")


def _read(text: str) -> Outcome:
    """The record of an answer, with the attribution that the service asks for."""
    record, findings = openmeteo.read(text, "weather service")
    if record is None:
        return None, findings
    return replace(record, source="Open-Meteo archive (reanalysis), CC BY 4.0"), findings
