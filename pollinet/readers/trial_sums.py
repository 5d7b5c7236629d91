"""The shipped chill and heat of the trial sites, `trial_site_sums.npz`.

Adding up made-up winters takes a tenth of a second a site; what comes out hangs on the place and
its normals alone, so that it ships with them. `tests/catalogues/write_trial_sums.py` makes the
file.
"""

from __future__ import annotations

from collections.abc import Mapping
from typing import NamedTuple

import numpy as np

from pollinet.catalogue_files import catalogue_root
from pollinet.domain import FloatArray, Site

FILE_NAME = "trial_site_sums.npz"


class Sums(NamedTuple):
    """Chill portions and heat [GDH] of W made-up winters at their midnights, shape (W, D + 1)."""

    portions: FloatArray
    heat_gdh: FloatArray


def shipped_sums(site: Site) -> Sums | None:
    """What ships for a site of this place and these normals; None: nothing does."""
    file = catalogue_root().joinpath(FILE_NAME)
    if not file.is_file():
        return None
    with file.open("rb") as stream, np.load(stream) as tables:
        alike = np.flatnonzero((tables["sites"] == site_key(site)).all(axis=1))
        if not alike.size:
            return None
        return Sums(*(tables[f"{name}_{alike[0]}"] for name in Sums._fields))


def site_key(site: Site) -> FloatArray:
    """All that the sums of a site hang on, shape (26,): its place and its normals."""
    assert site.normals is not None
    east = np.nan if site.longitude is None else site.longitude
    return np.array([site.latitude, east, *site.normals.tmin_c, *site.normals.tmax_c])


def sums_tables(sums: Mapping[Site, Sums]) -> dict[str, FloatArray]:
    """The arrays of the file."""
    tables = {"sites": np.array([site_key(site) for site in sums])}
    for number, one in enumerate(sums.values()):
        tables |= {f"{name}_{number}": array for name, array in one._asdict().items()}
    return tables
