"""Winter chill by four models, hour by hour, each as a running sum.

All functions take hourly temperature with time as the last axis [°C] and return an array of the
same shape: the sum up to and including each hour.

References
----------
Fishman, S., Erez, A., Couvillon, G. A. 1987. The temperature dependence of dormancy breaking in
plants. Journal of Theoretical Biology 126:309-321 (Dynamic Model; constants as in Luedeling et
al. 2009).
Richardson, E. A., Seeley, S. D., Walker, D. R. 1974. A model for estimating the completion of
rest for 'Redhaven' and 'Elberta' peach trees. HortScience 9:331-332 (Utah units).
Linsley-Noakes, G. C., Louw, M., Allan, P. 1995: Utah units without negative days.
Weinberger, J. H. 1950; Bennett, J. P. 1949: hours below 7.2 °C, or from 0 to 7.2 °C.
"""

from __future__ import annotations

from collections.abc import Callable

import numpy as np

from pollinet.domain import FloatArray
from pollinet.errors import ShapeError

_KELVIN = 273.15
_E0, _E1 = 4153.5, 12888.8
_A0, _A1 = 139_500.0, 2.567e18
_SLOPE, _FREEZE_K = 1.6, 277.0

_UTAH_EDGES_C = np.array([1.4, 2.4, 9.1, 12.4, 15.9, 17.9])
_UTAH_UNITS = np.array([0.0, 0.5, 1.0, 0.5, 0.0, -0.5, -1.0])


Recurrence = Callable[[FloatArray, FloatArray, FloatArray, FloatArray], None]
"""Fills in the product after each hour but the first, see `hour_by_hour`."""


def hour_by_hour(
    keep: FloatArray, share: FloatArray, gain: FloatArray, product: FloatArray
) -> None:
    """The product of each hour from that of the hour before, all of shape (hours, columns)."""
    keep_after_portion = keep[1:] * (1 - share[:-1])
    before, one = product[0], np.ones(len(product[0]))
    is_full = np.empty(before.shape, dtype=bool)
    hours = zip(keep[1:], keep_after_portion, gain[1:], product[1:], strict=True)
    # Looked up once, for thousands of hours.
    put, multiply, add, reaches = np.copyto, np.multiply, np.add, np.greater_equal
    for usual, after_portion, gained, now in hours:
        reaches(before, one, is_full)
        put(usual, after_portion, where=is_full)
        multiply(before, usual, now)
        add(now, gained, now)
        before = now


def compiled() -> Recurrence | None:
    """`hour_by_hour` as machine code, the same to the byte; None: numba is not installed.

    To compile it takes a second, and saves some ten milliseconds of each site.
    """
    try:
        from numba import njit
    except ImportError:
        return None

    def by_cell(keep: FloatArray, share: FloatArray, gain: FloatArray, product: FloatArray) -> None:
        hours, columns = keep.shape
        for hour in range(1, hours):
            for column in range(columns):
                before, kept = product[hour - 1, column], keep[hour, column]
                if before >= 1:
                    kept = kept * (1 - share[hour - 1, column])
                product[hour, column] = before * kept + gain[hour, column]

    # Without `fastmath` no sum is joined to its product: each is rounded as numpy rounds it.
    made: Recurrence = njit(by_cell)
    return made


def chill_portions(temperature_c: FloatArray, recurrence: Recurrence = hour_by_hour) -> FloatArray:
    """Chill portions of the Dynamic Model; many winters and sites cost little more than one.

    The intermediate product is zero at the end of the first hour: that hour is not integrated.
    When a portion is made, the share that stays behind is set by the hour before. Portions never
    fall. A NaN hour makes everything after it NaN.

    recurrence : `hour_by_hour`, or `compiled`.
    """
    shape = temperature_c.shape
    by_hour = np.ascontiguousarray(temperature_c.reshape(-1, shape[-1]).T, dtype=float)
    keep, gain, share = _rates(by_hour)
    product = np.zeros_like(by_hour)
    recurrence(keep, share, gain, product)
    portions = np.multiply(share, product, share)
    portions[product < 1] = 0.0
    return np.ascontiguousarray(np.cumsum(portions, axis=0, out=portions).T).reshape(shape)


def _rates(temperature_c: FloatArray) -> tuple[FloatArray, FloatArray, FloatArray]:
    """Per hour: share of the product that stays, product gained, share that becomes a portion."""
    inverse = 1 / (temperature_c + _KELVIN)
    keep, gain = inverse * -_E1, inverse * (_E1 - _E0)
    np.exp(keep, out=keep)
    keep *= -_A1
    np.exp(keep, out=keep)
    np.exp(gain, out=gain)
    gain *= _A0 / _A1
    gain *= 1 - keep
    share = inverse
    share *= _FREEZE_K
    share -= 1
    share *= _SLOPE * _FREEZE_K
    np.exp(share, out=share)
    share += 1
    np.divide(1, share, out=share)
    return keep, gain, share


def chill_hours(temperature_c: FloatArray, above_c: float = -np.inf) -> FloatArray:
    """Hours below 7.2 °C; with `above_c=0`, hours from 0 to 7.2 °C, both counted."""
    if above_c == -np.inf:
        return np.asarray(np.cumsum(temperature_c < 7.2, axis=-1, dtype=float))
    inside = (temperature_c >= above_c) & (temperature_c <= 7.2)
    return np.asarray(np.cumsum(inside, axis=-1, dtype=float))


def utah_units(temperature_c: FloatArray) -> FloatArray:
    """Utah chill units: warm hours take away. Classes are closed at their warm end."""
    return np.asarray(np.cumsum(_utah(temperature_c), axis=-1))


def positive_utah_units(temperature_c: FloatArray) -> FloatArray:
    """Utah units where warmth cancels only chill of the same day.

    Given at the end of each day: within a day the sum of the day before stands. The series must
    be whole days from 00:00.
    """
    if temperature_c.shape[-1] % 24:
        raise ShapeError(f"{temperature_c.shape[-1]} hours are not whole days")
    by_day = _utah(temperature_c).reshape(*temperature_c.shape[:-1], -1, 24)
    units = np.zeros_like(by_day)
    units[..., -1] = np.maximum(by_day.sum(axis=-1), 0)
    return np.asarray(np.cumsum(units.reshape(temperature_c.shape), axis=-1))


def _utah(temperature_c: FloatArray) -> FloatArray:
    return np.asarray(_UTAH_UNITS[np.searchsorted(_UTAH_EDGES_C, temperature_c)])
