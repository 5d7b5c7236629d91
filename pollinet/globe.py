"""The Earth as a sphere: how large it is, and how far two places near each other are apart."""

from __future__ import annotations

from math import cos, radians

EARTH_RADIUS_M = 6_371_000.0
"""Mean radius of the Earth, (2a + b) / 3 of GRS 80: 6 371 008.8 m (Moritz 2000, Geodetic Reference
System), in whole kilometres. [m]"""


def offset_m(here: tuple[float, float], there: tuple[float, float]) -> tuple[float, float]:
    """Metres east and north from one latitude and longitude to another.

    Good to a few parts in ten thousand over the distances that pollen is carried.
    """
    north = radians(there[0] - here[0])
    east = radians((there[1] - here[1] + 180) % 360 - 180)
    width = cos(radians((here[0] + there[0]) / 2))
    return EARTH_RADIUS_M * east * width, EARTH_RADIUS_M * north
