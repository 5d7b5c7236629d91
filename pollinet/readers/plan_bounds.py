"""What a plan may hold, where more than one place must know: least and most of each value.

The plan's own table (`plan_table`) takes its bounds from here, and so do the commands that ask for
the same values; its defaults are those of the domain's types. Bounds are own convention: they
keep out slips, not gardens.
"""

from __future__ import annotations

LATITUDE = (-66, 70)
"""Fruit trees bloom between the polar circles, and a little beyond. [degrees]"""

LONGITUDE = (-180, 180)
"""[degrees]"""

ELEVATION_M = (-430, 4500)
"""From the shore of the Dead Sea to above the highest orchards. [m]"""

MONTHLY_MEAN_C = (-55, 48)
"""Monthly means of the 2394 stations of `world_stations.csv` go from −49.2 to 46.6 °C: beyond,
Fahrenheit was typed. [°C]"""

YEARS = (1800, 2200)
"""Years that a plan or a log may speak of."""

SPARE_LIMBS = (0, 200)
"""Further grafts that a tree can carry."""

DISTANCE_M = (0, 5000)
"""How far away a neighbour's tree may stand. [m]"""

POSITION_M = (-5000, 5000)
"""How far east or north of the chosen point a tree may stand. [m]"""

DONORS = (1, 2)
"""Donors that a limb may be asked to have."""

LEVEL = (0, 1)
"""Share of winters; above the first."""

OVERLAP_DAYS = (0, 30)
"""Shortest time in bloom together; above the first. [days]"""

COST = (0.001, 1_000_000)
"""Weight of a scion in the search for the smallest set; also its price in any money."""

SEED = (0, 2**64 - 1)
"""Of the random numbers."""
