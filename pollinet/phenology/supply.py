"""How much chill each winter gave, in every model that growers' tables use."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from pollinet.domain import FloatArray, Winters
from pollinet.phenology.adequacy import CHILL_DAYS
from pollinet.phenology.chill import (
    chill_hours,
    chill_portions,
    positive_utah_units,
    utah_units,
)


@dataclass(frozen=True, eq=False)
class ChillSupply:
    """Chill of W winters up to the day on which chill stops counting; arrays of shape (W,).

    portions : chill portions of the Dynamic Model. [portions]
    hours, hours_above_0 : hours below 7.2 °C, and of these the ones from 0 °C up. [h]
    utah, positive_utah : Utah units from their lowest point on, and with each day's sum held at
        0 or above. [units]
    """

    harvest_years: tuple[int, ...]
    portions: FloatArray
    hours: FloatArray
    hours_above_0: FloatArray
    utah: FloatArray
    positive_utah: FloatArray


def chill_supply(winters: Winters) -> ChillSupply:
    """Chill of every winter in every model, over the same days as `adequacy.chill_quality`.

    Utah units are counted from the day on which their running sum is lowest, as in the original
    (Richardson, Seeley & Walker 1974, HortScience 9:331-332; this rule from memory).
    """
    hourly = winters.temperature_c[:, : 24 * CHILL_DAYS]
    utah = utah_units(hourly)
    return ChillSupply(
        harvest_years=winters.harvest_years,
        portions=chill_portions(hourly)[:, -1],
        hours=chill_hours(hourly)[:, -1],
        hours_above_0=chill_hours(hourly, 0.0)[:, -1],
        utah=utah[:, -1] - np.minimum(utah.min(axis=1), 0),
        positive_utah=positive_utah_units(hourly)[:, -1],
    )
