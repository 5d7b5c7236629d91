"""Can this record be the weather of this site? Units, place, calendar, invented fillings.

Nothing is corrected here and nothing is left out: each doubt is a finding. Thresholds marked *own
estimate* lie outside all that was seen in six daily series: NASA POWER grid cells at Etoile,
Balandran (France), Jork (Germany), Čačak (Serbia) and Conthey (Switzerland), 20–35 years each, and
the GHCN-Daily station at Milwaukee airport (USA), 88 years; and of places named beside them, whose
climate is recalled (`memory`).
"""

from __future__ import annotations

from collections.abc import Sequence
from datetime import date

import numpy as np
from numpy.typing import NDArray

from pollinet.days import MONTHS, is_southern
from pollinet.domain import BoolArray, DailyWeather, FloatArray, Normals, Site
from pollinet.findings import Finding, Severity, has_errors
from pollinet.linear import product
from pollinet.messages import Message, listing, mark, say

WHOLE_YEAR_DAYS = 300
"""Days that a record must have before its annual course is judged. Own convention; a typical year
cut to one season has 304."""

LAPSE_C_PER_KM = 6.5
"""Fall of temperature with height. [°C/km] International Standard Atmosphere (ISO 2533:1975)."""

TREE_LINE_C = 10.0
"""Trees need a warmest month of this mean; below it lies tundra (type ET). [°C]
Köppen W. 1936. Das geographische System der Klimate."""

ZONAL_MEAN_C, ZONAL_FALL_C = 14.97, 28.0
"""Mean over the year at sea level and latitude φ: 14.97 − 28.0 P₂(sin φ). [°C] North G.R., Cahalan
R.F., Coakley J.A. 1981. Energy balance climate models. Rev. Geophys. 19:91-121 (from memory)."""

COLDER_MODERATE_C, COLDER_CONTINENTAL_C, COLDER_LOW_C, WARMER_C = -3.0, -5.0, -8.5, 12.0
"""How far a place may depart from that mean, reduced to its height. [°C] Own estimate: Etoile,
Balandran, Jork and Čačak +4 to +7, Bergen +11, St John's 0 (a moderate annual course, less than
25 °C); Vladivostok −4 (continental); Lima −8 (cold current, below 35° of latitude)."""

MODERATE_COURSE_C = 25.0
"""Warmest less coldest month that divides moderate from continental places. [°C] Own estimate."""

OTHER_UNIT_C = 15.0
"""A departure larger than this is a matter of units, not of height: °F converted twice is colder by
about 25 °C, °F taken for °C warmer by about 40. [°C] Own estimate."""

PLACE_DIFFERENCE_DEG = 1.0
"""Difference in latitude or longitude that is worth a warning: about 100 km. Own convention."""

HEMISPHERE_C = 2.0
"""January must not be warmer than July by more than this at a northern site. [°C] Own estimate;
between the tropics, where seasons hardly differ, nothing is asked."""

HIGH_SDS, LOW_SDS = 5.0, -6.0
"""Farthest from the mean for the calendar day, in SDs of the season. Own estimate: 4.0 and −4.8 in
the six series (heat of July 1995, cold of January 1985)."""

YEAR_STEP_C = 5.0
"""Difference of one year's mean from the median year that no climate makes. [°C] Own estimate: 3.0
in the six series (Milwaukee 2012)."""

STRAIGHT_DAYS = 5
"""Days on a straight line in lowest and highest temperature together. Own estimate: at most 3 in
the six series; the run of one that came nearest is in whole °F."""

STUCK_DAYS = 8
"""Days with the same lowest or the same highest temperature. Own estimate: at most 5."""

BLOCK_DAYS = 10
"""Length of a stretch of days that must not occur twice; none does in the six series. Own
estimate. [days]"""

SHOWN = 3

LEVEL_DOUBTS = frozenset({"wrong-elevation"})
"""Doubts about the temperature level alone, which a move of the record may settle."""


def plausible(weather: DailyWeather, site: Site) -> tuple[Finding, ...]:
    """All doubts about a record, in the order of the checks; empty where there is none.

    Parameters
    ----------
    weather : daily record; missing values (NaN) are passed over.
    site : the place that the record is used for; its elevation may be unknown (None).
    """
    findings = (*_place(weather, site), *_annual_course(weather, site))
    if has_errors(findings):  # with a wrong unit or hemisphere every other check fails as well
        return findings
    findings += (*_range(weather), *_years(weather), *_calendar(weather, site))
    return findings if weather.generated else findings + _fillings(weather)


def _doubt(
    severity: Severity, code: str, weather: DailyWeather, message: str, cure: str
) -> Finding:
    return Finding(severity, code, message, weather.source, cure=cure)


# --- normals as typed ------------------------------------------------------------------------

JUMP_C = 9.0
"""Farthest that a month's mean minimum or maximum lies from the mean of the months round it. [°C]
At the 2394 stations of `world_stations.csv`: 7.6."""

LEAST_COURSE_C, COURSE_LATITUDE = 3.0, 30.0
"""Least difference of warmest and coldest month beyond a latitude: 4.25 at those stations. [°C,
degrees]"""

TWO_SUMMERS = 0.5
"""Swing of half a year, as a share of that of the year: at most 0.28 at those stations beyond that
latitude."""

DAILY_RANGE_C = (1.5, 30.0)
"""Mean maximum less mean minimum of a month: 2.1 to 27.6 at those stations. [°C]"""


def plausible_normals(normals: Normals, made: DailyWeather, site: Site) -> tuple[Finding, ...]:
    """All doubts about twelve monthly means that were typed.

    Parameters
    ----------
    made : winters that were made of them.
    """
    low, high = np.array(normals.tmin_c), np.array(normals.tmax_c)
    findings = _annual_course(made, site)
    if has_errors(findings):
        return findings
    months = (low + high) / 2.0
    far = np.zeros(12)
    for values in (low, high):
        around = (np.roll(values, 1) + np.roll(values, -1)) / 2.0
        far = np.maximum(far, np.abs(values - around))
    cure = say("Compare them with the normals of the station; January comes first.")
    if far.max() > JUMP_C:
        month = say(MONTHS[int(far.argmax())])
        message = say("{month} does not belong between the months before and after it.",
                      month=month)  # fmt: skip
        findings += (_doubt("warning", "odd-month", made, message, cure),)
    span = high - low
    if span.min() < DAILY_RANGE_C[0] or span.max() > DAILY_RANGE_C[1]:
        odd = int(np.argmax(np.abs(span - np.mean(DAILY_RANGE_C))))
        message = say(
            "In {month} the mean highest and the mean lowest temperature are {degrees:.1f} °C "
            "apart; at no station is it less than {least:g} or more than {most:g}.",
            month=say(MONTHS[odd]),
            degrees=span[odd],
            least=DAILY_RANGE_C[0],
            most=DAILY_RANGE_C[1],
        )
        findings += (_doubt("warning", "odd-daily-range", made, message, cure),)
    if abs(site.latitude) > COURSE_LATITUDE and np.ptp(months) < LEAST_COURSE_C:
        message = say(
            "Warmest and coldest month differ by {degrees:.1f} °C only, which is not so at this "
            "latitude.",
            degrees=np.ptp(months),
        )
        findings += (_doubt("warning", "no-seasons", made, message, cure),)
    waves = np.abs(np.fft.rfft(months))
    if abs(site.latitude) > COURSE_LATITUDE and waves[2] > TWO_SUMMERS * waves[1]:
        message = say("The months go up and down more than once a year.")
        findings += (_doubt("warning", "no-order", made, message, cure),)
    return findings


# --- place and height ------------------------------------------------------------------------


def _place(weather: DailyWeather, site: Site) -> tuple[Finding, ...]:
    """What the file says about its place, against the site; of heights see `level.at_height`."""
    apart = [
        say(pattern, there=there, here=here)
        for pattern, there, here in (
            (mark("latitude {there:.2f} instead of {here:.2f}"), weather.latitude, site.latitude),
            (
                mark("longitude {there:.2f} instead of {here:.2f}"),
                weather.longitude,
                site.longitude,
            ),
        )
        if there is not None and here is not None and abs(there - here) > PLACE_DIFFERENCE_DEG
    ]
    if not apart:
        return ()
    message = say(
        "The record is of another place than the site: {differences}.",
        differences=listing(apart),
    )
    cure = say("Use a record of the site, or correct the site's coordinates.")
    return (_doubt("warning", "other-place", weather, message, cure),)


_NEARER = say(
    "Use a station at the site's height; a grid cell in the mountains is an average of heights."
)


def zonal_mean_c(latitude: float, elevation_m: float) -> float:
    """Mean temperature over the year of all places of this latitude and height. [°C]"""
    sine = float(np.sin(np.radians(latitude)))
    legendre = (3.0 * sine**2 - 1.0) / 2.0
    return ZONAL_MEAN_C - ZONAL_FALL_C * legendre - LAPSE_C_PER_KM * elevation_m / 1000.0


def _annual_course(weather: DailyWeather, site: Site) -> tuple[Finding, ...]:
    """Mean and course of the year against latitude and height."""
    months = monthly_means_c(weather)
    if np.isnan(months).sum() > 2:
        return ()
    if wrong := _wrong_hemisphere(weather, site, months):
        return wrong
    course = float(np.nanmax(months) - np.nanmin(months))
    mean = float(
        (np.nanmax(months) + np.nanmin(months)) / 2 if np.isnan(months).any() else months.mean()
    )
    if unit := _other_unit(weather, site, mean):
        return unit
    if np.nanmax(months) < TREE_LINE_C:
        message = say(
            "The warmest month has a mean of {mean:.1f} °C, below the {least:.0f} °C that trees "
            "need: the record is of a much higher or colder place.",
            mean=np.nanmax(months),
            least=TREE_LINE_C,
        )
        return (_doubt("warning", "wrong-elevation", weather, message, _NEARER),)
    return _departure(weather, site, mean, course)


def monthly_means_c(weather: DailyWeather) -> FloatArray:
    """Mean temperature of each month, January first; NaN where a month has no day. [°C]"""
    means = (weather.tmin_c + weather.tmax_c) / 2
    month = weather.dates.astype("datetime64[M]").astype(np.int64) % 12
    known = ~np.isnan(means)
    counts = np.bincount(month[known], minlength=12)
    sums = np.bincount(month[known], weights=means[known], minlength=12)
    return np.where(counts > 0, sums / np.maximum(counts, 1), np.nan)


def _wrong_hemisphere(weather: DailyWeather, site: Site, months: FloatArray) -> tuple[Finding, ...]:
    """An error where summer and winter are exchanged: the seasons would be cut wrongly."""
    warmer = float(np.nanmean(months[5:8]) - np.nanmean(months[[0, 1, 11]]))
    expected = -1.0 if is_southern(site.latitude) else 1.0
    if abs(site.latitude) < 23.5 or warmer * expected >= -HEMISPHERE_C:
        return ()
    pattern = (
        mark(
            "June to August are {degrees:.0f} °C warmer than December to February, which cannot be "
            "at a southern site (latitude {latitude:g})."
        )
        if is_southern(site.latitude)
        else mark(
            "June to August are {degrees:.0f} °C colder than December to February, which cannot be "
            "at a northern site (latitude {latitude:g})."
        )
    )
    message = say(pattern, degrees=abs(warmer), latitude=float(site.latitude))
    cure = say("Check the sign of the latitude: south is negative.")
    return (_doubt("error", "wrong-hemisphere", weather, message, cure),)


def _other_unit(weather: DailyWeather, site: Site, mean: float) -> tuple[Finding, ...]:
    """An error where the mean is so far off that only another unit explains it."""
    height = site.elevation_m if site.elevation_m is not None else weather.elevation_m or 0.0
    expected = zonal_mean_c(site.latitude, height)
    if abs(mean - expected) <= OTHER_UNIT_C:
        return ()
    message = say(
        "The mean over the year is {mean:.1f} °C where about {expected:.0f} °C is usual for the "
        "latitude and height: the temperatures are hardly in °C.",
        mean=mean,
        expected=expected,
    )
    cure = say("Check the unit of the file, and the latitude and elevation of the site.")
    return (_doubt("error", "wrong-unit", weather, message, cure),)


def _departure(
    weather: DailyWeather, site: Site, mean: float, course: float
) -> tuple[Finding, ...]:
    """A warning where the mean does not fit the site's latitude and height."""
    if site.elevation_m is None:
        return ()
    departure = mean - zonal_mean_c(site.latitude, site.elevation_m)
    coldest = COLDER_MODERATE_C if course < MODERATE_COURSE_C else COLDER_CONTINENTAL_C
    coldest = coldest if abs(site.latitude) >= 35 else COLDER_LOW_C
    if coldest <= departure <= WARMER_C:
        return ()
    pattern = (
        mark(
            "The mean over the year is {mean:.1f} °C, which is {degrees:.0f} °C colder than usual "
            "for the latitude at {height:.0f} m: the record seems to be of another height."
        )
        if departure < 0
        else mark(
            "The mean over the year is {mean:.1f} °C, which is {degrees:.0f} °C warmer than usual "
            "for the latitude at {height:.0f} m: the record seems to be of another height."
        )
    )
    message = say(pattern, mean=mean, degrees=abs(departure), height=site.elevation_m)
    return (_doubt("warning", "wrong-elevation", weather, message, _NEARER),)


def _years(weather: DailyWeather) -> tuple[Finding, ...]:
    """Years whose mean leaves the others: another unit or another station from then on."""
    means = (weather.tmin_c + weather.tmax_c) / 2
    known = ~np.isnan(means)
    years, index = np.unique(weather.dates[known].astype("datetime64[Y]"), return_inverse=True)
    counts = np.bincount(index)
    yearly = np.bincount(index, weights=means[known]) / np.maximum(counts, 1)
    whole = counts >= 350  # a year that lacks its winter is warm without being wrong
    if whole.sum() < 2:
        return ()
    off = whole & (np.abs(yearly - np.median(yearly[whole])) > YEAR_STEP_C)
    if not off.any():
        return ()
    named = _listed([str(year) for year in years[off]])
    message = say(
        "The mean of {years} is more than {degrees:.0f} °C away from that of the other years.",
        years=named,
        degrees=YEAR_STEP_C,
    )
    cure = say("Check whether unit or station changed in these years.")
    return (_doubt("warning", "changed-record", weather, message, cure),)


# --- calendar --------------------------------------------------------------------------------


RANGELESS_SHARE = 0.1
"""Share of days without a range beyond which a record holds means. Own convention."""


def _range(weather: DailyWeather) -> tuple[Finding, ...]:
    """Lowest and highest temperatures that are the same: a mean was written into both columns."""
    known = np.isfinite(weather.tmin_c) & np.isfinite(weather.tmax_c)
    same = int((known & (weather.tmin_c == weather.tmax_c)).sum())
    if same <= RANGELESS_SHARE * int(known.sum()):
        return ()
    message = say(
        "On {number} of {days} days the lowest and the highest temperature are the same: chill, "
        "heat and frost cannot be told from means.",
        number=same,
        days=int(known.sum()),
    )
    cure = say("Use a record that has the lowest and the highest temperature of each day.")
    return (_doubt("warning", "no-daily-range", weather, message, cure),)


def hottest_c(latitude: float, days_of_year: FloatArray) -> FloatArray:
    """A temperature that no place of this latitude reaches on a day of the year. [°C]

    55 in midsummer; in midwinter 45 up to 25° of latitude and 0.75 less for each degree beyond:
    29 at 46°, 20 at 58°. Own estimate: some degrees above winter records that are recalled
    (35 at 34° N, 30 at 40° N, 20 at 58° N).
    """
    winter = 45.0 - 0.75 * max(abs(latitude) - 25.0, 0.0)
    summer_share = (1.0 - np.cos(2 * np.pi * (days_of_year - 15.0) / 365.25)) / 2.0
    if is_southern(latitude):
        summer_share = 1.0 - summer_share
    return np.asarray(winter + (55.0 - winter) * summer_share)


def _calendar(weather: DailyWeather, site: Site) -> tuple[Finding, ...]:
    """Days too hot or too cold for their date."""
    year_day = _year_day(weather.dates)
    bad = weather.tmax_c > hottest_c(site.latitude, year_day + 1.0)
    for values in (weather.tmin_c, weather.tmax_c):
        distance = seasonal_distance(values, year_day)
        bad |= (distance > HIGH_SDS) | (distance < LOW_SDS)
    if not bad.any():
        return ()
    cases = [
        say(
            "{date} ({lowest:.1f} to {highest:.1f} °C)",
            date=_written(weather.dates[i]),
            lowest=weather.tmin_c[i],
            highest=weather.tmax_c[i],
        )
        for i in np.flatnonzero(bad)
    ]
    message = say(
        "Temperatures that do not belong to their date here: {cases}.", cases=_listed(cases)
    )
    cure = say("Remove invented or misread values; missing days are better than wrong ones.")
    return (_doubt("warning", "impossible-for-date", weather, message, cure),)


def seasonal_distance(values: FloatArray, year_day: FloatArray) -> FloatArray:
    """Distance of each value from the mean for its calendar day, in SDs of the season.

    Mean and SD follow the year as two and one harmonics, fitted twice, the second time without the
    values that are farthest off. All zero for less than 300 days.

    Parameters
    ----------
    year_day : shape (days,), days since 1 January.
    """
    use = ~np.isnan(values)
    if use.sum() < WHOLE_YEAR_DAYS:
        return np.zeros_like(values)
    angle = 2 * np.pi * year_day / 365.25
    waves = np.stack(
        [np.ones_like(angle), np.cos(angle), np.sin(angle), np.cos(2 * angle), np.sin(2 * angle)],
        axis=-1,
    )
    distance = np.zeros_like(values)
    for _ in range(2):
        use = use & (np.abs(distance) < HIGH_SDS)
        mean = _fitted(waves[use], values[use])
        away = values - product(waves, mean)
        spread = _fitted(waves[use, :3], np.abs(away[use]))
        # the mean absolute deviation of a normal distribution is 0.798 SD
        distance = away / np.maximum(product(waves[:, :3], spread) / np.sqrt(2 / np.pi), 0.5)
    return np.nan_to_num(distance, nan=0.0)


def _fitted(waves: FloatArray, values: FloatArray) -> FloatArray:
    """Least squares; of several best fits, where part of the year is missing, the smallest."""
    normal = product(waves.T, waves)
    return np.asarray(np.linalg.lstsq(normal, product(waves.T, values), rcond=None)[0])


# --- invented fillings -----------------------------------------------------------------------


def _fillings(weather: DailyWeather) -> tuple[Finding, ...]:
    """Stretches that a thermometer does not write: straight, stuck or copied."""
    both = np.stack([weather.tmin_c, weather.tmax_c])
    straight = np.abs(np.diff(both, n=2)).max(axis=0) < 1e-6
    stretches = [(a, b + 2) for a, b in _runs(straight) if b + 2 - a >= STRAIGHT_DAYS]
    for values in both:
        stuck = np.abs(np.diff(values)) < 1e-6
        stretches += [(a, b + 1) for a, b in _runs(stuck) if b + 1 - a >= STUCK_DAYS]
    findings: tuple[Finding, ...] = ()
    cure = say("Take the invented values out of the file, so that the days count as missing.")
    if stretches:
        cases = [_span(weather.dates, a, b) for a, b in sorted(set(stretches))]
        message = say(
            "Values that stand still or lie on a straight line: {cases}.", cases=_listed(cases)
        )
        findings = (_doubt("warning", "invented-values", weather, message, cure),)
    if copies := _copies(both):
        cases = [
            say(
                "{span} as {date}",
                span=_span(weather.dates, again, again + length),
                date=_written(weather.dates[first]),
            )
            for first, again, length in copies
        ]
        message = say("The same values day by day occur twice: {cases}.", cases=_listed(cases))
        findings += (_doubt("warning", "repeated-values", weather, message, cure),)
    return findings


def _runs(true: BoolArray) -> list[tuple[int, int]]:
    """Start and end (exclusive) of each run of True."""
    edges = np.flatnonzero(np.diff(np.concatenate([[0], true.astype(np.int8), [0]])))
    return list(zip(edges[::2].tolist(), edges[1::2].tolist(), strict=True))


def _copies(both: FloatArray) -> list[tuple[int, int, int]]:
    """Stretches that occur twice: (first start, later start, length in days).

    Windows of `BLOCK_DAYS` days are compared bytewise; windows with a missing value and windows
    that stand still are left out (those are named as such).
    """
    days = both.shape[-1]
    if days < 2 * BLOCK_DAYS:
        return []
    windows = np.lib.stride_tricks.sliding_window_view(both, BLOCK_DAYS, axis=-1)
    usable = ~np.isnan(windows).any(axis=(0, 2)) & (np.ptp(windows, axis=-1) > 0).all(axis=0)
    places = np.flatnonzero(usable)
    if places.size == 0:
        return []
    rows = np.ascontiguousarray(np.moveaxis(windows, 1, 0)[places].reshape(places.size, -1)) + 0.0
    keys = rows.view(np.dtype((np.void, rows.dtype.itemsize * rows.shape[1]))).ravel()
    _, first, which = np.unique(keys, return_index=True, return_inverse=True)
    source = places[first[which]]
    lag = np.zeros(days, dtype=np.int64)
    lag[places] = places - source
    copied = []
    for start, end in _runs(lag > 0):
        steps = np.flatnonzero(np.diff(lag[start:end])) + start + 1
        for a, b in zip([start, *steps], [*steps, end], strict=True):
            copied.append((int(a - lag[a]), int(a), int(b - a + BLOCK_DAYS - 1)))
    return copied


# --- words -----------------------------------------------------------------------------------


def _year_day(dates: NDArray[np.datetime64]) -> FloatArray:
    """Days since 1 January of the same year."""
    return np.asarray(dates - dates.astype("datetime64[Y]").astype("datetime64[D]"), dtype=float)


def _written(day: np.datetime64) -> Message:
    """A date as people write it: 2 January 1997 is `2 Jan 1997`."""
    known: date = day.astype(object)
    month = say(MONTHS[known.month - 1])
    return say("{day} {month} {year}", day=known.day, month=month, year=known.year)


def _span(dates: NDArray[np.datetime64], start: int, end: int) -> Message:
    return say("{first} to {last}", first=_written(dates[start]), last=_written(dates[end - 1]))


def _listed(cases: Sequence[str]) -> Message:
    """The first cases, and how many more there are."""
    shown, rest = listing(cases[:SHOWN]), len(cases) - SHOWN
    return say("{cases} and {number} more", cases=shown, number=rest) if rest > 0 else shown
