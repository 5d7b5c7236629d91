"""Make `catalogues/trial_site_sums.npz` anew, after any change of sites, normals, weather or chill.

python tests/catalogues/write_trial_sums.py
"""

from __future__ import annotations

from pathlib import Path

import numpy as np

from pollinet.readers.catalogue import load_catalogue
from pollinet.readers.trial_sums import FILE_NAME, Sums, sums_tables
from pollinet.study.trial_sites import made_up_sums

CATALOGUES = Path(__file__).resolve().parents[2] / "catalogues"

if __name__ == "__main__":
    sites = load_catalogue(())[0].sites
    made = {sites[place]: made_up_sums(sites[place]) for place in sorted(sites)}
    tables = sums_tables({site: Sums(one.portions, one.heat_gdh) for site, one in made.items()})
    np.savez_compressed(CATALOGUES / FILE_NAME, **tables)
